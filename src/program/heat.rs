//! `heat`: how much current, how long, how hot.

use super::export::{DateArgs, NumberFormatArgs};
use super::output;
use super::output::FolderArgs;
use super::quantity::{SpecArgs, current, quantity_within};
use coilwright::files::out::csv::NumberFormat;
use coilwright::files::out::folder::OutputFolder;
use coilwright::physics::heat::duty::Duty;
use coilwright::questions::heat::warm_up::WarmUpTest;
use coilwright::questions::heat::{HeatRequest, HeatStudy, picture, study, words as report};
use coilwright::units::Dimension;
use coilwright::{Error, Result};
use std::path::PathBuf;

/// The arguments of `heat`.
#[derive(clap::Args)]
pub struct HeatArgs {
    #[command(flatten)]
    spec: SpecArgs,
    #[command(flatten)]
    folder: FolderArgs,
    /// Current at switch-on; the supply's limit by default, and never more than that
    #[arg(long, value_parser = current(), allow_hyphen_values = true)]
    current: Option<f64>,
    /// Switch on and off for ever, as in "10 min/20 min"
    #[arg(long, value_name = "ON/OFF", allow_hyphen_values = true)]
    duty: Option<String>,
    /// Table of a warm-up test (CSV, .xlsx or .ods): time_s or time_min, voltage_V, current_A, perhaps room_temperature_degC
    #[arg(long, value_name = "CSV")]
    warm_up: Option<PathBuf>,
    /// A surface temperature of your own, kept beside the standards' limits
    #[arg(long, value_name = "TEMPERATURE", value_parser = quantity_within(Dimension::Temperature, 0.0, 250.0), allow_hyphen_values = true)]
    surface_limit: Option<f64>,
    #[command(flatten)]
    numbers: NumberFormatArgs,
    #[command(flatten)]
    date: DateArgs,
    /// Print one JSON document
    #[arg(long)]
    json: bool,
}

impl HeatArgs {
    /// The files that `--out` makes.
    fn files(&self, with_current: bool) -> Vec<&'static str> {
        let mut files = vec!["heat.json", "heat-table.csv", "heat-current.svg", "heat-current.png"];
        if with_current {
            files.extend(["heat-curve.csv", "heat-cooling.csv", "heat-time.svg", "heat-time.png"]);
        }
        if self.duty.is_some() && with_current {
            files.extend(["heat-duty.csv", "heat-duty.svg", "heat-duty.png"]);
        }
        if self.warm_up.is_some() {
            files.extend(["heat-warm-up.csv", "heat-warm-up.svg", "heat-warm-up.png"]);
        }
        files
    }
}

/// Answers, writes the files, and prints the page.
pub fn run(arguments: &HeatArgs) -> Result<()> {
    let bench = arguments.spec.read()?;
    let request = HeatRequest {
        current_ampere: arguments.current,
        duty: arguments.duty.as_deref().map(str::parse::<Duty>).transpose()?,
        warm_up: arguments.warm_up.as_ref().map(WarmUpTest::read).transpose()?,
        surface_limit_celsius: arguments.surface_limit,
        date: arguments.date.checked()?,
    };
    let with_current = arguments.current.is_some() || bench.current_limit_ampere().is_ok();
    let mut folder = arguments.folder.open(
        &arguments.files(with_current),
        &output::inputs([Some(&arguments.spec.spec), arguments.warm_up.as_ref()]),
    )?;
    let record = study(&bench, &request)?;
    if let Some(folder) = &mut folder {
        write(folder, &record, arguments.numbers.format())?;
    }
    folder.map(OutputFolder::finish).transpose()?;
    if arguments.json { output::print_json(&record) } else { output::print(&report::text(&record)) }
}

fn write(folder: &mut OutputFolder, record: &HeatStudy, format: NumberFormat) -> Result<()> {
    let mut json = serde_json::to_vec_pretty(record)
        .map_err(|error| Error::value(format!("cannot write the result as JSON: {error}")))?;
    json.push(b'\n');
    folder.write("heat.json", &json)?;
    folder.write("heat-table.csv", report::table_csv(record, format).as_bytes())?;
    if let Some(at) = &record.at_current {
        folder.write("heat-curve.csv", report::curve_csv(record, &at.curve, format).as_bytes())?;
        folder.write("heat-cooling.csv", report::curve_csv(record, &at.cooling, format).as_bytes())?;
    }
    if let Some(duty) = record.duty.as_ref().filter(|duty| !duty.cycle.is_empty()) {
        folder.write("heat-duty.csv", report::curve_csv(record, &duty.cycle, format).as_bytes())?;
    }
    if let Some(fit) = &record.warm_up {
        folder.write("heat-warm-up.csv", report::warm_up_csv(record, fit, format).as_bytes())?;
    }
    for (name, figure) in picture::figures(record) {
        folder.write(&format!("{name}.svg"), figure.svg().as_bytes())?;
        folder.write(&format!("{name}.png"), &figure.png()?)?;
    }
    Ok(())
}
