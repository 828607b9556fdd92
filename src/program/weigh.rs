//! `weigh`: e/m and the electron's mass from the class's runs.

use super::export::{DateArgs, NumberFormatArgs};
use super::line::{LineArgs, UsedLine};
use super::output;
use super::output::{Files, FolderArgs, naming};
use super::quantity::{SpecArgs, quantity};
use coilwright::Result;
use coilwright::physics::beam::BeamBench;
use coilwright::questions::weigh::files::files;
use coilwright::questions::weigh::{Request, Runs, weigh, words};
use coilwright::units::Dimension;
use std::path::PathBuf;

/// The arguments of `weigh`.
#[derive(clap::Args)]
#[command(mut_arg("out", |out| naming(out, &[files().help()])))]
pub struct WeighArgs {
    #[command(flatten)]
    spec: SpecArgs,
    /// The runs: CSV, .xlsx or .ods with gun_voltage_V, current_A, and either radius_mm or diameter_mm as read on the
    /// scale (corrected for parallax by the spec's `reading`), or radius_in_beam_plane_mm, already corrected
    #[arg(long, value_name = "FILE")]
    runs: PathBuf,
    #[command(flatten)]
    line: LineArgs,
    /// Standard uncertainty of the scale, as a fraction of the radius, common to all runs
    #[arg(long, value_name = "FRACTION", value_parser = quantity(Dimension::Fraction), allow_hyphen_values = true)]
    scale_uncertainty: Option<f64>,
    /// Leave out the run with this label ("line 7" for a run without one); may be given several times
    #[arg(long, value_name = "LABEL")]
    without: Vec<String>,
    #[command(flatten)]
    folder: FolderArgs,
    #[command(flatten)]
    numbers: NumberFormatArgs,
    #[command(flatten)]
    date: DateArgs,
    /// Print one JSON document
    #[arg(long)]
    json: bool,
}

/// Reads bench and runs, evaluates them, and writes the results.
pub fn run(arguments: &WeighArgs) -> Result<()> {
    let date = arguments.date.day()?;
    let bench = arguments.spec.read()?;
    let used = arguments.line.read(&bench, date)?;
    let beams = BeamBench::prepare(&bench, used.as_ref().map(UsedLine::field_line))?;
    let runs = Runs::read(&arguments.runs)?.without(&arguments.without)?;
    let request = Request { scale_uncertainty_fraction: arguments.scale_uncertainty, date };
    let files = Files {
        table: files(),
        asked: &(),
        inputs: &output::inputs([Some(&arguments.spec.spec), Some(&arguments.runs), arguments.line.input()]),
        format: arguments.numbers.format(),
    };
    let (weighing, written) = arguments.folder.answer(files, || weigh(&beams, &runs, &request))?;
    match arguments.json {
        true => output::print_json(&words::document(&weighing)),
        false => output::print(&(words::text(&weighing) + &output::written_lines(&written))),
    }
}
