//! `sheet SPEC`: everything about this pair on one page.

use super::output;
use super::quantity::SpecArgs;
use coilwright::Result;
use coilwright::physics::room;
use coilwright::questions::sheet;
use coilwright::questions::sheet::words;

#[derive(clap::Args)]
pub struct SheetArgs {
    #[command(flatten)]
    spec: SpecArgs,
    /// Add the room's field to the field at the current limit
    #[arg(long)]
    with_room: bool,
    /// Print one JSON document
    #[arg(long)]
    json: bool,
}

pub fn run(arguments: &SheetArgs) -> Result<()> {
    let bench = arguments.spec.read()?;
    let room_field = match arguments.with_room {
        true => Some(room::required_field_tesla(&bench)?),
        false => None,
    };
    let record = sheet::sheet(&bench, room_field)?;
    if arguments.json { output::print_json(&record) } else { output::print(&words::text(&record)) }
}
