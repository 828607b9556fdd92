//! `calibrate`: the calibration line, its uncertainty, and the tables for the labs.

use super::output::{self, FolderArgs};
use super::quantity::{SpecArgs, quantity};
use coilwright::calibration::{self, Calibration, Request};
use coilwright::plot;
use coilwright::report::calibration as report;
use coilwright::report::files::OutputFolder;
use coilwright::report::table_file::NumberFormat;
use coilwright::units::Dimension;
use coilwright::{Error, Result, spec};

/// The arguments of `calibrate`.
#[derive(clap::Args)]
pub struct CalibrateArgs {
    #[command(flatten)]
    spec: SpecArgs,
    #[command(flatten)]
    folder: FolderArgs,
    /// Step of both tables; by default the ammeter's resolution sets it
    #[arg(long, value_parser = quantity(Dimension::Current), allow_hyphen_values = true)]
    step: Option<f64>,
    /// How the CSV files write numbers
    #[arg(long, value_enum, default_value_t = Decimal::Point)]
    number_format: Decimal,
    /// Date to print, as 2026-03-01; none by default
    #[arg(long, value_name = "YYYY-MM-DD")]
    date: Option<String>,
    /// Print one JSON document
    #[arg(long)]
    json: bool,
}

/// How numbers are written.
#[derive(Clone, Copy, clap::ValueEnum)]
enum Decimal {
    /// 0.5, cells parted by commas
    Point,
    /// 0,5, cells parted by semicolons
    Comma,
}

/// The files that `--out` makes.
const FILES: [&str; 5] =
    ["calibration.csv", "current.csv", "calibration.json", "calibration.svg", "calibration.png"];

/// Calibrates, writes the files, and prints the page.
pub fn run(arguments: &CalibrateArgs) -> Result<()> {
    let request = Request {
        step_ampere: arguments.step,
        date: arguments.date.as_deref().map(calibration::check_date).transpose()?,
    };
    let bench = spec::read_bench(&arguments.spec.spec)?;
    let mut folder = arguments.folder.open(&FILES)?;
    let record = calibration::calibrate(&bench, arguments.spec.model(), &request)?;
    if let Some(folder) = &mut folder {
        write(folder, &record, arguments.number_format)?;
    }
    folder.map(OutputFolder::finish).transpose()?;
    if arguments.json { output::print_json(&record) } else { output::print(&report::text(&record)) }
}

fn write(folder: &mut OutputFolder, record: &Calibration, decimal: Decimal) -> Result<()> {
    let format = match decimal {
        Decimal::Point => NumberFormat::Point,
        Decimal::Comma => NumberFormat::Comma,
    };
    let mut json = serde_json::to_vec_pretty(record)
        .map_err(|error| Error::value(format!("cannot write the calibration as JSON: {error}")))?;
    json.push(b'\n');
    let picture = plot::calibration_line(record);
    folder.write("calibration.csv", report::field_csv(record, format).as_bytes())?;
    folder.write("current.csv", report::current_csv(record, format).as_bytes())?;
    folder.write("calibration.json", &json)?;
    folder.write("calibration.svg", picture.svg().as_bytes())?;
    folder.write("calibration.png", &picture.png()?)
}
