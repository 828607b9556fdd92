//! The files of a map.

use super::picture::{picture, profiles::profiles};
use super::words::{GridTable, profiles_csv};
use super::{FieldMap, MapGrid, MappedField, Plane};
use crate::files::out::csv::NumberFormat;
use crate::files::out::folder::FillFailure;
use crate::pair::Bench;
use crate::physics::field::{Assembly, Deviation};
use crate::questions::files::{FileRow, FileTable};
use std::io::Write;

/// The grids to be written.
#[derive(Clone, Debug)]
pub enum Grids {
    /// Of the two planes.
    Planes {
        /// y = 0.
        axial: MapGrid,
        /// z = 0.
        mid: MapGrid,
    },
    /// Of the bulb.
    Bulb(MapGrid),
}

impl Grids {
    /// Points of all of them.
    pub fn points(&self) -> u64 {
        match self {
            Self::Planes { axial, mid } => axial.points() + mid.points(),
            Self::Bulb(grid) => grid.points(),
        }
    }

    fn axial(&self) -> Option<&MapGrid> {
        match self {
            Self::Planes { axial, .. } => Some(axial),
            Self::Bulb(_) => None,
        }
    }

    fn mid(&self) -> Option<&MapGrid> {
        match self {
            Self::Planes { mid, .. } => Some(mid),
            Self::Bulb(_) => None,
        }
    }

    fn bulb(&self) -> Option<&MapGrid> {
        match self {
            Self::Planes { .. } => None,
            Self::Bulb(grid) => Some(grid),
        }
    }
}

/// A map with the bench it is drawn in and the grids that are computed block by block while they are written: they may be
/// larger than memory.
pub struct MapWithGrids<'a> {
    /// The map.
    pub map: FieldMap,
    /// The bench.
    pub bench: &'a Bench,
    /// Its coils.
    pub assembly: &'a Assembly,
    /// The coils' deviation, what else is added included.
    pub deviation: Deviation<'a>,
    /// The grids.
    pub grids: &'a Grids,
    /// What the grids' field columns hold.
    pub field: MappedField,
    /// Hears how many more points of a grid are written.
    pub advance: &'a (dyn Fn(u64) + Sync),
}

impl std::fmt::Debug for MapWithGrids<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("MapWithGrids").field("map", &self.map).finish_non_exhaustive()
    }
}

impl MapWithGrids<'_> {
    fn write(
        &self,
        grid: Option<&MapGrid>,
        format: NumberFormat,
        out: &mut dyn Write,
    ) -> std::result::Result<(), FillFailure> {
        let Some(grid) = grid else { return Ok(()) };
        let provenance = &self.map.provenance;
        let within = self.map.within.as_ref();
        let table =
            GridTable { grid, deviation: &self.deviation, field: self.field, within, provenance, format };
        table.write(out, self.advance)
    }
}

/// The table of the files.
pub fn files<'a>() -> FileTable<Grids, MapWithGrids<'a>> {
    let planes = |grids: &Grids| matches!(grids, Grids::Planes { .. });
    FileTable(vec![
        FileRow::figure("axial-plane", "the plane y = 0", |drawn: &MapWithGrids<'a>| {
            Some(picture(&drawn.map, Plane::Axial, drawn.bench, drawn.assembly))
        }),
        FileRow::figure("mid-plane", "the plane z = 0", |drawn: &MapWithGrids<'a>| {
            Some(picture(&drawn.map, Plane::Mid, drawn.bench, drawn.assembly))
        }),
        FileRow::figure("profiles", "along the axis and across the mid-plane", |drawn: &MapWithGrids<'a>| {
            Some(profiles(&drawn.map, drawn.bench))
        }),
        FileRow::csv("profiles.csv", "the profiles, point by point", |drawn: &MapWithGrids<'a>, format| {
            Some(profiles_csv(&drawn.map, format))
        }),
        FileRow::streamed_csv(
            "axial-plane.csv",
            "the grid of the plane y = 0",
            |drawn: &MapWithGrids<'a>, format, out| drawn.write(drawn.grids.axial(), format, out),
        )
        .when("without --volume", planes),
        FileRow::streamed_csv(
            "mid-plane.csv",
            "the grid of the plane z = 0",
            |drawn: &MapWithGrids<'a>, format, out| drawn.write(drawn.grids.mid(), format, out),
        )
        .when("without --volume", planes),
        FileRow::streamed_csv(
            "volume.csv",
            "the grid of the bulb",
            |drawn: &MapWithGrids<'a>, format, out| drawn.write(drawn.grids.bulb(), format, out),
        )
        .when("with --volume", |grids| matches!(grids, Grids::Bulb(_))),
    ])
}
