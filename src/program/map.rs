//! `map`: the uniformity of the field as pictures and grid.

use super::engine::EngineArgs;
use super::export::{DateArgs, NumberFormatArgs};
use super::output;
use super::output::{Files, FolderArgs, naming};
use super::progress::Progress;
use super::quantity::{SpecArgs, current, quantity};
use coilwright::Result;
use coilwright::pair::Bench;
use coilwright::physics::field::{Deviation, PreparedPair};
use coilwright::physics::room::{self, RoomAdded};
use coilwright::questions::map::files::{AskedGrids, Grids, MapWithGrids, files};
use coilwright::questions::map::words::text;
use coilwright::questions::map::{FieldMap, Fineness, MapGrid, MapRanges, MappedField, Request, field_map};
use coilwright::units::Dimension;
use serde::Serialize;

/// Default number of points along the longest side of the grid in the two planes.
const PLANE_POINTS: u64 = 201;
/// Default number of points across the grid in the bulb.
const VOLUME_POINTS: u64 = 81;

/// The arguments of `map`.
#[derive(clap::Args)]
#[command(mut_arg("out", |out| naming(out, &[files().help()])))]
pub struct MapArgs {
    #[command(flatten)]
    spec: SpecArgs,
    #[command(flatten)]
    folder: FolderArgs,
    #[command(flatten)]
    numbers: NumberFormatArgs,
    #[command(flatten)]
    date: DateArgs,
    /// Write the grid of the whole bulb instead of the two planes
    #[arg(long)]
    volume: bool,
    /// Write the grids as arrays in numpy's .npy format too, with the columns of the CSV
    #[arg(long)]
    npy: bool,
    /// Step of the grid; its points are multiples of the step
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true, conflicts_with = "grid",
          value_parser = quantity(Dimension::Length))]
    step: Option<f64>,
    /// Number of grid points along the longest side
    #[arg(long, value_name = "NUMBER")]
    grid: Option<u64>,
    /// Draw only the boundary at which |deviation| reaches this limit
    ///
    /// The page gives the share of the bulb's volume within the limit, and how far from the centre it reaches. Tables get a
    /// column `within`, 1 or 0, and the profiles show the limit. From 1e-9 to 0.5.
    #[arg(long, value_name = "FRACTION", value_parser = quantity(Dimension::Fraction))]
    within: Option<f64>,
    /// Add the room's field to the coils'
    #[arg(long)]
    with_room: bool,
    /// Coil current at which the room's field is added
    #[arg(long, default_value = "1 A", allow_hyphen_values = true, requires = "with_room",
          value_parser = current())]
    current: f64,
    #[command(flatten)]
    engine: EngineArgs,
    /// Print one JSON document
    #[arg(long)]
    json: bool,
}

/// The record for scripts: the map and the paths of its files.
#[derive(Serialize)]
struct MapRecord {
    #[serde(flatten)]
    map: FieldMap,
    grid_points: u64,
    files: Vec<String>,
}

/// Maps the bench and writes pictures, profiles and grid.
pub fn run(arguments: &MapArgs) -> Result<()> {
    let date = arguments.date.day()?;
    let bench = arguments.spec.read()?;
    let pair = arguments.engine.pair(&bench);
    let field = arguments.field(&bench)?;
    let request = Request { field, within_fraction: arguments.within, date, ..Request::default() };
    let asked = AskedGrids {
        grids: arguments.grids(&pair)?,
        arrays: arguments.npy,
        limited: arguments.within.is_some(),
    };
    let grids = &asked.grids;
    arguments.folder.must_be_named()?;
    let progress = Progress::towards(asked.points(), "mapping points");
    let advance = |more| progress.advance(more);
    let files = Files {
        table: files(),
        asked: &asked,
        inputs: &output::inputs([Some(&arguments.spec.spec)]),
        format: arguments.numbers.format(),
    };
    let (answer, written) = arguments.folder.answer(files, || {
        Ok(MapWithGrids {
            map: field_map(&pair, &request)?,
            pair: &pair,
            deviation: Deviation::new(pair.assembly(), field.background_per_ampere())?,
            grids,
            field,
            advance: &advance,
        })
    })?;
    let map = answer.map;
    drop(progress);
    let files = written.iter().map(|path| path.display().to_string()).collect();
    match arguments.json {
        true => output::print_json(&MapRecord { map, grid_points: grids.points(), files }),
        false => output::print(&text(&map, &files)),
    }
}

impl MapArgs {
    fn field(&self, bench: &Bench) -> Result<MappedField> {
        if !self.with_room {
            return Ok(MappedField::PerAmpere);
        }
        let room_tesla = room::required_field_tesla(bench)?;
        Ok(MappedField::WithRoom(RoomAdded::new(room_tesla, self.current)?))
    }

    /// The grid to write.
    fn grids(&self, pair: &PreparedPair) -> Result<Grids> {
        let fineness = |usual: u64| match (self.step, self.grid) {
            (Some(step_m), _) => Fineness::Step(step_m),
            (None, Some(points)) => Fineness::Points(points),
            (None, None) => Fineness::RoundStep(usual),
        };
        if self.volume {
            let bulb = pair.bench().bulb()?;
            let grid = MapGrid::in_ball(bulb.centre_m, bulb.radius_m, fineness(VOLUME_POINTS))?;
            return Ok(Grids::Bulb(grid));
        }
        let extent = MapRanges::of(pair);
        let on_plane = |zero| MapGrid::on_plane(zero, extent.ranges_m, fineness(PLANE_POINTS));
        Ok(Grids::Planes { axial: on_plane(1)?, mid: on_plane(2)? })
    }
}
