//! `calibrate`: the calibration line, its uncertainty, and the tables for the labs.

use super::export::{DateArgs, NumberFormatArgs};
use super::issue::{IssueArgs, enter};
use super::output;
use super::output::{Files, FolderArgs, naming};
use super::progress::Progress;
use super::quantity::{SpecArgs, current, quantity, quantity_within};
use coilwright::Result;
use coilwright::numeric::calendar::Day;
use coilwright::pair::Bench;
use coilwright::questions::calibrate as calibration;
use coilwright::questions::calibrate::files::{Asked, files, plan_files};
use coilwright::questions::calibrate::plan::PlanRequest;
use coilwright::questions::calibrate::words::plan as calibration_plan;
use coilwright::questions::calibrate::{AdoptedFrom, InputFile, Outcome, Refusal, Request, words as page};
use coilwright::questions::register::Entering;
use coilwright::units::Dimension;
use std::path::PathBuf;

/// The arguments of `calibrate`.
#[derive(clap::Args)]
#[command(mut_arg("out", |out| naming(out, &[files().help(), plan_files().help_for("--plan")])))]
pub struct CalibrateArgs {
    #[command(flatten)]
    spec: SpecArgs,
    #[command(flatten)]
    folder: FolderArgs,
    /// Readings to fit the line to: CSV, .xlsx or .ods with columns current_A and field_mT, or other units
    #[arg(long, value_name = "CSV")]
    readings: Option<PathBuf>,
    /// Adopt this line; by default the readings decide which
    #[arg(long, value_name = "LINE", requires = "readings")]
    adopt: Option<Adopt>,
    /// Short for --adopt combined
    #[arg(long, requires = "readings", conflicts_with = "adopt")]
    combine: bool,
    /// The lessons use the ammeter of the readings, so its errors cancel in the tables
    #[arg(long, requires = "readings")]
    same_ammeter: bool,
    /// Check the uncertainty budget by propagating the distributions with N samples
    #[arg(long, value_name = "N")]
    monte_carlo: Option<u64>,
    /// An older calibration.json to compare with
    #[arg(long, value_name = "JSON")]
    previous: Option<PathBuf>,
    /// Plan the readings for a wanted uncertainty; with --out, also write a blank table for them
    #[arg(long, conflicts_with_all = ["readings", "monte_carlo", "previous", "step", "register"])]
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
    issue: IssueArgs,
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
    let date = arguments.date.day()?;
    let bench = arguments.spec.read()?;
    if arguments.plan {
        return run_plan(arguments, &bench, date);
    }
    let issue = arguments.issue.issue(date)?;
    arguments.issue.check_day(date)?;
    let request = Request {
        step_ampere: arguments.step,
        date,
        readings: arguments.readings.as_deref().map(calibration::read_readings).transpose()?,
        adopt: arguments.adopted(),
        same_ammeter: arguments.same_ammeter,
        monte_carlo_samples: arguments.monte_carlo,
        previous: arguments.previous.as_deref().map(calibration::read_adopted_line).transpose()?,
        inputs: input_files(arguments)?,
        issue,
    };
    let open = arguments.folder.open(
        files(),
        &Asked::of(&bench, &request),
        &output::inputs([
            Some(&arguments.spec.spec),
            arguments.readings.as_ref(),
            arguments.previous.as_ref(),
            arguments.issue.register(),
        ]),
    )?;
    let progress = Progress::towards(arguments.monte_carlo.unwrap_or(0), "drawing samples");
    let advance = |samples| progress.advance(samples);
    let outcome = calibration::outcome_telling(&bench, &request, &advance)?;
    drop(progress);
    let mut record = match outcome {
        Outcome::Calibrated(record) => record,
        Outcome::Refused(refusal) => return refuse(&refusal, arguments.json),
    };
    let format = arguments.numbers.format();
    let entered = match arguments.issue.register() {
        None => {
            output::write(open, &record, format)?;
            String::new()
        }
        Some(register) => enter(Entering { bench: &bench, register }, &mut record, |record| {
            open.map(|open| open.fill(record, format)).transpose()
        })?,
    };
    let printed = match arguments.json {
        true => output::print_json(&record),
        false => output::print(&(page::text(&record) + &entered)),
    };
    printed.inspect_err(|_| {
        if let Some(registered) = &record.issue.registered {
            output::warn(
                &format!("the calibration is entry {} of the register all the same", registered.entry),
                "say the same call again: it finds its entry and writes the files",
            );
        }
    })
}

/// The input files, with their digests.
fn input_files(arguments: &CalibrateArgs) -> Result<Vec<InputFile>> {
    let spec = InputFile::of("spec", &arguments.spec.spec)?;
    let readings = arguments.readings.as_deref().map(|path| InputFile::of("readings", path)).transpose()?;
    Ok(spec.into_iter().chain(readings.flatten()).collect())
}

/// Says why there is no line. The error sets the exit status.
fn refuse(refusal: &Refusal, json: bool) -> Result<()> {
    if json {
        output::print_json(refusal)?
    } else {
        output::print(&page::refusal::text(refusal))?
    }
    Err(page::refusal::error(refusal))
}

/// Says which readings to take, and writes a blank table for them.
fn run_plan(arguments: &CalibrateArgs, bench: &Bench, date: Option<Day>) -> Result<()> {
    let files = Files {
        table: plan_files(),
        asked: &(),
        inputs: &output::inputs([Some(&arguments.spec.spec)]),
        format: arguments.numbers.format(),
    };
    let request =
        PlanRequest { wanted_fraction: arguments.want, reading_scatter_tesla: arguments.scatter, date };
    let (record, _) = arguments.folder.answer(files, || calibration::planned(bench, &request))?;
    match arguments.json {
        true => output::print_json(&record),
        false => output::print(&calibration_plan::text(&record.plan, &record.provenance)),
    }
}
