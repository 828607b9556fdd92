//! `uniformity SPEC`: how far off-centre the beam may go.

use super::engine::EngineArgs;
use super::export::DateArgs;
use super::output;
use super::quantity::{SpecArgs, current, quantity};
use coilwright::Result;
use coilwright::physics::room::{self, RoomAdded};
use coilwright::questions::uniformity::words;
use coilwright::questions::uniformity::{self, Request};
use coilwright::units::Dimension;

#[derive(clap::Args)]
pub struct UniformityArgs {
    #[command(flatten)]
    spec: SpecArgs,
    /// Largest |deviation| allowed
    #[arg(long, default_value = "1%", value_parser = quantity(Dimension::Fraction), allow_hyphen_values = true)]
    within: f64,
    /// Add the room's field to the coils'
    #[arg(long)]
    with_room: bool,
    /// Coil current at which the room's field is added
    #[arg(long, default_value = "1 A", allow_hyphen_values = true, requires = "with_room",
          value_parser = current())]
    current: f64,
    #[command(flatten)]
    date: DateArgs,
    #[command(flatten)]
    engine: EngineArgs,
    /// Print one JSON document
    #[arg(long)]
    json: bool,
}

pub fn run(arguments: &UniformityArgs) -> Result<()> {
    let date = arguments.date.day()?;
    let bench = arguments.spec.read()?;
    let room = match arguments.with_room {
        true => Some(RoomAdded::new(room::required_field_tesla(&bench)?, arguments.current)?),
        false => None,
    };
    let request = Request { limit_fraction: arguments.within, room, date };
    let record = uniformity::uniformity(&arguments.engine.pair(&bench), &request)?;
    if arguments.json { output::print_json(&record) } else { output::print(&words::text(&record)) }
}
