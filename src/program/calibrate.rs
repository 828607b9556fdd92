//! `calibrate`: the calibration line, its uncertainty, and the tables for the labs.

use super::export::{DateArgs, NumberFormatArgs};
use super::output;
use super::output::FolderArgs;
use super::progress::Progress;
use super::quantity::{SpecArgs, current, quantity, quantity_within};
use coilwright::files::out::csv::NumberFormat;
use coilwright::files::out::folder::OutputFolder;
use coilwright::pair::{Bench, Provenance};
use coilwright::questions::calibrate as calibration;
use coilwright::questions::calibrate::files::{handout, tables as calibration_tables, workbook};
use coilwright::questions::calibrate::picture::Against;
use coilwright::questions::calibrate::plan::{PlanRequest, plan};
use coilwright::questions::calibrate::words::plan as calibration_plan;
use coilwright::questions::calibrate::{
    AdoptedFrom, Calibration, Outcome, Refusal, Request, picture, words as page,
};
use coilwright::units::Dimension;
use coilwright::{Error, Result};
use serde::Serialize;
use std::path::PathBuf;

/// The arguments of `calibrate`.
#[derive(clap::Args)]
pub struct CalibrateArgs {
    #[command(flatten)]
    spec: SpecArgs,
    #[command(flatten)]
    folder: FolderArgs,
    /// Readings to fit the line to: CSV, .xlsx or .ods with columns current_A and field_mT, or other units
    #[arg(long, value_name = "CSV")]
    readings: Option<PathBuf>,
    /// Adopt this line whatever the readings say; without it they decide
    #[arg(long, value_name = "LINE", requires = "readings")]
    adopt: Option<Adopt>,
    /// The same as --adopt combined
    #[arg(long, requires = "readings", conflicts_with = "adopt")]
    combine: bool,
    /// Let the errors of the readings' ammeter cancel in the tables: the lessons use the same one
    #[arg(long, requires = "readings")]
    same_ammeter: bool,
    /// Check the uncertainty budget by propagating the distributions with N samples
    #[arg(long, value_name = "N")]
    monte_carlo: Option<u64>,
    /// An older calibration.json to compare with
    #[arg(long, value_name = "JSON")]
    previous: Option<PathBuf>,
    /// Say which readings to take for a wanted uncertainty; with --out, write the blank file
    #[arg(long, conflicts_with_all = ["readings", "monte_carlo", "previous", "step"])]
    plan: bool,
    /// Expanded uncertainty of the slope that --plan should reach
    #[arg(long, value_name = "FRACTION", requires = "plan", default_value = "1 %",
        value_parser = quantity(Dimension::Fraction), allow_hyphen_values = true)]
    want: f64,
    /// Standard deviation of one field reading, for --plan
    #[arg(long, value_name = "FIELD", requires = "plan",
        value_parser = quantity_within(Dimension::FluxDensity, 1e-12, 1.0), allow_hyphen_values = true)]
    scatter: Option<f64>,
    /// Step of both tables; by default the ammeter's resolution sets it
    #[arg(long, value_name = "CURRENT", value_parser = current(),
        allow_hyphen_values = true)]
    step: Option<f64>,
    #[command(flatten)]
    numbers: NumberFormatArgs,
    #[command(flatten)]
    date: DateArgs,
    /// Print one JSON document
    #[arg(long)]
    json: bool,
}

/// The lines that can be adopted.
#[derive(Clone, Copy, Debug, clap::ValueEnum)]
enum Adopt {
    /// From the geometry
    Computed,
    /// From the readings
    Fit,
    /// From both, by least squares
    Combined,
}

impl CalibrateArgs {
    fn adopted(&self) -> Option<AdoptedFrom> {
        match self.adopt {
            None => self.combine.then_some(AdoptedFrom::Combined),
            Some(Adopt::Computed) => Some(AdoptedFrom::Computed),
            Some(Adopt::Fit) => Some(AdoptedFrom::Fit),
            Some(Adopt::Combined) => Some(AdoptedFrom::Combined),
        }
    }
}

/// Calibrates, writes the files, and prints the page.
pub fn run(arguments: &CalibrateArgs) -> Result<()> {
    let date = arguments.date.checked()?;
    let bench = arguments.spec.read()?;
    if arguments.plan {
        return run_plan(arguments, &bench, date.as_deref());
    }
    let request = Request {
        step_ampere: arguments.step,
        date,
        readings: arguments.readings.as_deref().map(calibration::read_readings).transpose()?,
        adopt: arguments.adopted(),
        same_ammeter: arguments.same_ammeter,
        monte_carlo_samples: arguments.monte_carlo,
        previous: arguments.previous.as_deref().map(calibration::read_adopted_line).transpose()?,
    };
    let mut folder = arguments.folder.open(
        &file_names(&bench, request.readings.is_some()),
        &output::inputs([
            Some(&arguments.spec.spec),
            arguments.readings.as_ref(),
            arguments.previous.as_ref(),
        ]),
    )?;
    let progress = Progress::towards(arguments.monte_carlo.unwrap_or(0), "drawing samples");
    let advance = |samples| progress.advance(samples);
    let outcome = calibration::outcome_telling(&bench, &request, &advance)?;
    drop(progress);
    let record = match outcome {
        Outcome::Calibrated(record) => record,
        Outcome::Refused(refusal) => return refuse(&refusal, arguments.json),
    };
    if let Some(folder) = &mut folder {
        write(folder, &record, arguments.numbers.format())?;
    }
    folder.map(OutputFolder::finish).transpose()?;
    if arguments.json { output::print_json(&record) } else { output::print(&page::text(&record)) }
}

/// Says why there is no line; the error sets the exit status.
fn refuse(refusal: &Refusal, json: bool) -> Result<()> {
    if json {
        output::print_json(refusal)?
    } else {
        output::print(&page::refusal::text(refusal))?
    }
    Err(page::refusal::error(refusal))
}

/// The files that `--out` makes.
fn file_names(bench: &Bench, with_readings: bool) -> Vec<&'static str> {
    let mut names = vec![
        "handout.html",
        "calibration.csv",
        "current.csv",
        "calibration.json",
        "calibration.xlsx",
        "calibration.svg",
        "calibration.png",
    ];
    if with_readings {
        names.extend([
            "residuals.csv",
            "residuals.svg",
            "residuals.png",
            "residuals-order.svg",
            "residuals-order.png",
        ]);
    }
    if bench.tube.as_ref().is_some_and(|tube| tube.beam_radius_m.is_some()) {
        names.push("beam_correction.csv");
    }
    names
}

fn write(folder: &mut OutputFolder, record: &Calibration, format: NumberFormat) -> Result<()> {
    let mut json = serde_json::to_vec_pretty(record)
        .map_err(|error| Error::value(format!("cannot write the calibration as JSON: {error}")))?;
    json.push(b'\n');
    let line = picture::calibration_line(record);
    folder.write("calibration.csv", calibration_tables::field_csv(record, format).as_bytes())?;
    folder.write("current.csv", calibration_tables::current_csv(record, format).as_bytes())?;
    folder.write("calibration.json", &json)?;
    folder.write("calibration.xlsx", &workbook::xlsx(record)?)?;
    folder.write("handout.html", handout::html(record)?.as_bytes())?;
    folder.write("calibration.svg", line.svg().as_bytes())?;
    folder.write("calibration.png", &line.png()?)?;
    for (name, against) in [("residuals", Against::Current), ("residuals-order", Against::Order)] {
        if let Some(residuals) = picture::calibration_residuals(record, against) {
            folder.write(&format!("{name}.svg"), residuals.svg().as_bytes())?;
            folder.write(&format!("{name}.png"), &residuals.png()?)?;
        }
    }
    if let Some(table) = calibration_tables::residuals_csv(record, format) {
        folder.write("residuals.csv", table.as_bytes())?;
    }
    if let Some(table) = calibration_tables::beam_correction_csv(record, format) {
        folder.write("beam_correction.csv", table.as_bytes())?;
    }
    Ok(())
}

/// What scripts read of a plan.
#[derive(Serialize)]
struct PlanRecord {
    provenance: Provenance,
    #[serde(flatten)]
    plan: calibration::plan::Plan,
}

fn run_plan(arguments: &CalibrateArgs, bench: &Bench, date: Option<&str>) -> Result<()> {
    let mut folder =
        arguments.folder.open(&["readings.csv"], &output::inputs([Some(&arguments.spec.spec)]))?;
    let slope = calibration::computed_slope_tesla_per_ampere(bench)?;
    let computed = calibration::computed(bench)?;
    let request = PlanRequest { wanted_fraction: arguments.want, reading_scatter_tesla: arguments.scatter };
    let record = PlanRecord {
        provenance: Provenance::of(bench, date),
        plan: plan(bench, slope, computed.as_ref(), &request)?,
    };
    if let Some(folder) = &mut folder {
        let blank = calibration_plan::blank_csv(&record.plan, &record.provenance, arguments.numbers.format());
        folder.write("readings.csv", blank.as_bytes())?;
    }
    folder.map(OutputFolder::finish).transpose()?;
    if arguments.json {
        output::print_json(&record)
    } else {
        output::print(&calibration_plan::text(&record.plan, &record.provenance))
    }
}
