//! `map`: where is the field how uniform, as picture and grid.

use super::engine::EngineArgs;
use super::export::{DateArgs, NumberFormatArgs};
use super::output;
use super::output::FolderArgs;
use super::progress::Progress;
use super::quantity::{SpecArgs, current, quantity};
use coilwright::Result;
use coilwright::pair::Bench;
use coilwright::physics::field::{Assembly, Deviation};
use coilwright::physics::room;
use coilwright::questions::map::picture::profiles;
use coilwright::questions::map::words::{
    GridField, GridTable, file_names, plane_csv_name, profiles_csv, text,
};
use coilwright::questions::map::{
    FieldMap, Fineness, MapGrid, MapRanges, Plane, field_map, picture as map_picture,
};
use coilwright::units::Dimension;
use nalgebra::Vector3;
use rayon::prelude::*;
use serde::Serialize;

/// Points along the longest side of the two planes' grid, at most, where nothing else is asked.
const PLANE_POINTS: u64 = 201;
/// The same for the bulb.
const VOLUME_POINTS: u64 = 81;

/// The arguments of `map`.
#[derive(clap::Args)]
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
    /// Step of the grid, whose points are its multiples
    #[arg(long, value_name = "LENGTH", allow_hyphen_values = true, conflicts_with = "grid",
          value_parser = quantity(Dimension::Length))]
    step: Option<f64>,
    /// Points of the grid along its longest side
    #[arg(long, value_name = "NUMBER")]
    grid: Option<u64>,
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

/// What scripts read: the map and the files it went to.
#[derive(Serialize)]
struct MapRecord {
    #[serde(flatten)]
    map: FieldMap,
    grid_points: u64,
    files: Vec<String>,
}

/// Maps the bench and writes pictures, profiles and grid.
pub fn run(arguments: &MapArgs) -> Result<()> {
    let (date, format) = (arguments.date.checked()?, arguments.numbers.format());
    let bench = arguments.spec.read()?;
    let assembly = arguments.engine.assembly(&bench);
    let field = arguments.grid_field(&bench)?;
    let background = match field {
        GridField::PerAmpere => Vector3::zeros(),
        GridField::WithRoom { current_ampere, room_tesla } => room_tesla / current_ampere,
    };
    let grids = arguments.grids(&bench, &assembly)?;
    let points = grids.iter().map(|(_, grid)| grid.points()).sum();
    let mut folder = arguments
        .folder
        .required(&file_names(arguments.volume), &output::inputs([Some(&arguments.spec.spec)]))?;

    let at_current = arguments.with_room.then_some(arguments.current);
    let mut map = field_map(&bench, &assembly, background, at_current)?;
    map.provenance.date = date;
    for Picture { name, svg, png } in pictures(&map, &bench, &assembly)? {
        folder.write(&format!("{name}.svg"), svg.as_bytes())?;
        folder.write(&format!("{name}.png"), &png)?;
    }
    folder.write_with("profiles.csv", |file| profiles_csv(&map, file, format))?;

    let deviation = Deviation::new(&assembly, background)?;
    let progress = Progress::towards(points, "mapping points");
    for (name, grid) in &grids {
        folder.write_with(name, |file| {
            let provenance = &map.provenance;
            let table = GridTable { grid, deviation: &deviation, field, provenance, format };
            table.write(file, &|more| progress.advance(more))
        })?;
    }
    drop(progress);
    let files = folder.finish()?.iter().map(|path| path.display().to_string()).collect();
    match arguments.json {
        true => output::print_json(&MapRecord { map, grid_points: points, files }),
        false => output::print(&text(&map, &files)),
    }
}

/// One picture as the two files it goes to.
struct Picture {
    name: &'static str,
    svg: String,
    png: Vec<u8>,
}

/// The pictures, drawn side by side.
fn pictures(map: &FieldMap, bench: &Bench, assembly: &Assembly) -> Result<Vec<Picture>> {
    let drawn: Vec<Result<Picture>> = ["axial-plane", "mid-plane", "profiles"]
        .into_par_iter()
        .map(|name| {
            let figure = match name {
                "axial-plane" => map_picture::picture(map, Plane::Axial, bench, assembly),
                "mid-plane" => map_picture::picture(map, Plane::Mid, bench, assembly),
                _ => profiles::profiles(map),
            };
            let (svg, png) = rayon::join(|| figure.svg(), || figure.png());
            Ok(Picture { name, svg, png: png? })
        })
        .collect();
    drawn.into_iter().collect()
}

impl MapArgs {
    fn grid_field(&self, bench: &Bench) -> Result<GridField> {
        if !self.with_room {
            return Ok(GridField::PerAmpere);
        }
        let room_tesla = room::required_field_tesla(bench)?;
        let current_ampere = output::non_zero_current(self.current)?;
        Ok(GridField::WithRoom { current_ampere, room_tesla })
    }

    /// The grids to write, each with its file's name.
    fn grids(&self, bench: &Bench, assembly: &Assembly) -> Result<Vec<(&'static str, MapGrid)>> {
        let fineness = |usual: u64| match (self.step, self.grid) {
            (Some(step_m), _) => Fineness::Step(step_m),
            (None, Some(points)) => Fineness::Points(points),
            (None, None) => Fineness::RoundStep(usual),
        };
        if self.volume {
            let bulb = bench.bulb()?;
            let grid = MapGrid::in_ball(bulb.centre_m, bulb.radius_m, fineness(VOLUME_POINTS))?;
            return Ok(vec![("volume.csv", grid)]);
        }
        let extent = MapRanges::of(bench, assembly);
        [(Plane::Axial, 1), (Plane::Mid, 2)]
            .into_iter()
            .map(|(plane, zero)| {
                let grid = MapGrid::on_plane(zero, extent.ranges_m, fineness(PLANE_POINTS))?;
                Ok((plane_csv_name(plane), grid))
            })
            .collect()
    }
}
