//! The files that `map` writes: pictures, profiles and grids.

use super::picture::{picture, profiles::profiles};
use super::words::profiles_csv;
use super::written::{WrittenGrid, image_arrays};
use super::{FieldMap, MapGrid, MappedField, Plane};
use crate::files::out::folder::FillFailure;
use crate::physics::field::{Deviation, PreparedPair};
use crate::questions::files::{FileRow, FileTable};

/// The grids to write.
#[derive(Clone, Debug)]
pub enum Grids {
    /// One grid for each of the two planes through the centre.
    Planes {
        /// The plane y = 0.
        axial: MapGrid,
        /// The plane z = 0.
        mid: MapGrid,
    },
    /// One grid of the points inside the bulb.
    Bulb(MapGrid),
}

/// Which grids to write, and in which formats.
#[derive(Clone, Debug)]
pub struct AskedGrids {
    /// The grids.
    pub grids: Grids,
    /// Whether to write numpy arrays as well as CSV.
    pub arrays: bool,
    /// Whether a limit on |deviation| was given.
    pub limited: bool,
}

impl AskedGrids {
    /// Number of points written, summed over all files.
    pub fn points(&self) -> u64 {
        let times = 1 + u64::from(self.arrays);
        match &self.grids {
            Grids::Planes { axial, mid } => times * (axial.points() + mid.points()),
            Grids::Bulb(grid) => {
                let in_box: u64 = grid.counts().iter().product();
                times * grid.points() + image_arrays(self.limited) * in_box
            }
        }
    }
}

impl Grids {
    /// Number of points, summed over the grids.
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

/// A map, its bench and the grids to write. A grid may be larger than memory: it is computed block by block while it is
/// written.
pub struct MapWithGrids<'a> {
    /// The map.
    pub map: FieldMap,
    /// The bench and its coils.
    pub pair: &'a PreparedPair<'a>,
    /// The deviation, with the room's field if it was added.
    pub deviation: Deviation<'a>,
    /// The grids.
    pub grids: &'a Grids,
    /// Which field the grids' field columns hold.
    pub field: MappedField,
    /// Called with the number of further points written.
    pub advance: &'a (dyn Fn(u64) + Sync),
}

impl std::fmt::Debug for MapWithGrids<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("MapWithGrids").field("map", &self.map).finish_non_exhaustive()
    }
}

impl MapWithGrids<'_> {
    /// Writes a grid. Does nothing if `grid` is `None`.
    fn write(
        &self,
        grid: Option<&MapGrid>,
        write: impl FnOnce(WrittenGrid<'_>) -> std::result::Result<(), FillFailure>,
    ) -> std::result::Result<(), FillFailure> {
        let Some(grid) = grid else { return Ok(()) };
        write(WrittenGrid {
            grid,
            deviation: &self.deviation,
            field: self.field,
            within: self.map.within.as_ref(),
            provenance: &self.map.provenance,
            advance: self.advance,
        })
    }
}

/// The table of files: name, purpose and content of each.
pub fn files<'a>() -> FileTable<AskedGrids, MapWithGrids<'a>> {
    type Drawn<'a> = MapWithGrids<'a>;
    let planes = |asked: &AskedGrids| matches!(asked.grids, Grids::Planes { .. });
    let plane_arrays = |asked: &AskedGrids| asked.arrays && matches!(asked.grids, Grids::Planes { .. });
    let bulb = |asked: &AskedGrids| matches!(asked.grids, Grids::Bulb(_));
    let bulb_array = |asked: &AskedGrids| asked.arrays && matches!(asked.grids, Grids::Bulb(_));
    FileTable(vec![
        FileRow::figure("axial-plane", "the plane y = 0", |drawn: &Drawn<'a>| {
            Some(picture(&drawn.map, Plane::Axial, drawn.pair))
        }),
        FileRow::figure("mid-plane", "the plane z = 0", |drawn: &Drawn<'a>| {
            Some(picture(&drawn.map, Plane::Mid, drawn.pair))
        }),
        FileRow::figure("profiles", "along the axis and across the mid-plane", |drawn: &Drawn<'a>| {
            Some(profiles(&drawn.map, drawn.pair.bench()))
        }),
        FileRow::csv("profiles.csv", "the profiles, point by point", |drawn: &Drawn<'a>, format| {
            Some(profiles_csv(&drawn.map, format))
        }),
        FileRow::streamed(
            "axial-plane.csv",
            "the grid of the plane y = 0",
            |drawn: &Drawn<'a>, format, out| drawn.write(drawn.grids.axial(), |grid| grid.csv(format, out)),
        )
        .when("without --volume", planes),
        FileRow::streamed("axial-plane.npy", "the same as an array", |drawn: &Drawn<'a>, _, out| {
            drawn.write(drawn.grids.axial(), |grid| grid.npy(out))
        })
        .when("with --npy", plane_arrays),
        FileRow::streamed(
            "mid-plane.csv",
            "the grid of the plane z = 0",
            |drawn: &Drawn<'a>, format, out| drawn.write(drawn.grids.mid(), |grid| grid.csv(format, out)),
        )
        .when("without --volume", planes),
        FileRow::streamed("mid-plane.npy", "the same as an array", |drawn: &Drawn<'a>, _, out| {
            drawn.write(drawn.grids.mid(), |grid| grid.npy(out))
        })
        .when("with --npy", plane_arrays),
        FileRow::streamed("volume.csv", "the grid of the bulb", |drawn: &Drawn<'a>, format, out| {
            drawn.write(drawn.grids.bulb(), |grid| grid.csv(format, out))
        })
        .when("with --volume", bulb),
        FileRow::streamed("volume.npy", "the same as an array", |drawn: &Drawn<'a>, _, out| {
            drawn.write(drawn.grids.bulb(), |grid| grid.npy(out))
        })
        .when("with --volume and --npy", bulb_array),
        FileRow::streamed(
            "volume.vti",
            "the box round the bulb for visualisation programs (VTK image data)",
            |drawn: &Drawn<'a>, _, out| drawn.write(drawn.grids.bulb(), |grid| grid.image_data(out)),
        )
        .when("with --volume", bulb),
    ])
}
