//! `sheet SPEC`: a data sheet of the pair on one page.

use super::export::DateArgs;
use super::line::{RegisterLineArgs, UsedLine};
use super::output;
use super::quantity::SpecArgs;
use coilwright::Result;
use coilwright::physics::room;
use coilwright::questions::register::words::origin;
use coilwright::questions::sheet;
use coilwright::questions::sheet::{CalibratedConstant, Request, words};

#[derive(clap::Args)]
pub struct SheetArgs {
    #[command(flatten)]
    spec: SpecArgs,
    /// Add the room's field to the field at the current limit
    #[arg(long)]
    with_room: bool,
    #[command(flatten)]
    register: RegisterLineArgs,
    #[command(flatten)]
    date: DateArgs,
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
    let date = arguments.date.day()?;
    let calibrated = arguments.register.read(&bench, date)?.as_ref().map(calibrated);
    let record = sheet::sheet(&bench, &Request { room_field, calibrated, date })?;
    if arguments.json { output::print_json(&record) } else { output::print(&words::text(&record)) }
}

/// The line in force, for the sheet.
fn calibrated(used: &UsedLine) -> CalibratedConstant {
    let slope = &used.line.slope;
    let from = slope.from.name();
    let entry = used.in_force.as_ref().map(|found| format!("{from}, {}", origin(found)));
    // A line that is not in force has no day on which the next calibration is due: it is due at once.
    let in_force = used.in_force.as_ref().filter(|found| found.in_spite_of.is_none());
    let next_due = in_force.and_then(|found| Some(found.next_due?.date));
    CalibratedConstant::of(slope, entry.unwrap_or_else(|| from.into()), next_due)
}
