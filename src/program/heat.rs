//! `heat`: how much current, how long, how hot.

use super::export::{DateArgs, NumberFormatArgs};
use super::output;
use super::output::{Files, FolderArgs, naming};
use super::quantity::{SpecArgs, current, quantity_within};
use coilwright::error::Refused;
use coilwright::physics::heat::duty::Duty;
use coilwright::questions::heat::files::{Asked, files};
use coilwright::questions::heat::warm_up::WarmUpTest;
use coilwright::questions::heat::{HeatRequest, study, words};
use coilwright::units::{self, Dimension};
use coilwright::{Error, Result};
use std::path::PathBuf;

/// The arguments of `heat`.
#[derive(clap::Args)]
#[command(mut_arg("out", |out| naming(out, &[files().help()])))]
pub struct HeatArgs {
    #[command(flatten)]
    spec: SpecArgs,
    #[command(flatten)]
    folder: FolderArgs,
    /// Current at switch-on; by default the supply's limit, which it may not exceed
    #[arg(long, value_parser = current(), allow_hyphen_values = true)]
    current: Option<f64>,
    /// Switch on and off periodically, as in "10 min/20 min"
    #[arg(long, value_name = "ON/OFF", allow_hyphen_values = true)]
    duty: Option<String>,
    /// Table of a warm-up test (CSV, .xlsx or .ods): time_s or time_min, voltage_V, current_A and optionally
    /// room_temperature_degC
    #[arg(long, value_name = "CSV")]
    warm_up: Option<PathBuf>,
    /// A limit of your own to the surface temperature, kept in addition to the standards' limits
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

/// Answers, writes the files, and prints the page.
pub fn run(arguments: &HeatArgs) -> Result<()> {
    let bench = arguments.spec.read()?;
    let request = HeatRequest {
        current_ampere: arguments.current,
        duty: arguments.duty.as_deref().map(duty).transpose()?,
        warm_up: arguments.warm_up.as_ref().map(WarmUpTest::read).transpose()?,
        surface_limit_celsius: arguments.surface_limit,
        date: arguments.date.day()?,
    };
    let files = Files {
        table: files(),
        asked: &Asked::of(&bench, &request),
        inputs: &output::inputs([Some(&arguments.spec.spec), arguments.warm_up.as_ref()]),
        format: arguments.numbers.format(),
    };
    let (record, _) = arguments.folder.answer(files, || study(&bench, &request))?;
    if arguments.json { output::print_json(&record) } else { output::print(&words::text(&record)) }
}

/// Reads `10 min/20 min`.
fn duty(text: &str) -> Result<Duty> {
    let usage = |message| Error::Usage {
        message,
        hint: Some("write on-time and off-time with their units, such as `10 min/20 min`".into()),
    };
    let Some((on, off)) = text.split_once('/') else {
        return Err(usage(format!("`{text}` is not a duty cycle: it has no `/`")));
    };
    let seconds =
        |text: &str| units::parse(text.trim(), Dimension::Time).map_err(|error| usage(error.message));
    Duty::new(seconds(on)?, seconds(off)?).map_err(|error| match error {
        Error::Refused(Refused::DutyTime { part, allowed_s: [least, most], .. }) => {
            let written = if part == "on-time" { on } else { off };
            usage(format!("an {part} of `{}` is not {least} s to {} h", written.trim(), most / 3600.0))
        }
        other => other,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_duty_is_read_with_its_units_or_refused_with_the_way_to_write_it() {
        assert_eq!(duty("10 min / 20 min").unwrap(), Duty::new(600.0, 1200.0).unwrap());
        assert_eq!(duty("90s/1 h").unwrap(), Duty::new(90.0, 3600.0).unwrap());
        for wrong in ["10 min", "10/20", "0 s/1 min", "-1 min/2 min", "nan s/1 s", "1 min/", "1 A/2 A", ""] {
            let error = duty(wrong).unwrap_err();
            assert_eq!(error.exit_status(), 2, "{wrong}");
            assert!(error.hint().unwrap().contains("10 min/20 min"), "{wrong}");
        }
        assert_eq!(duty("1 min/0 s").unwrap_err().to_string(), "an off-time of `0 s` is not 1 s to 720 h");
    }
}
