//! `orbit`: the path of the beam, the expected radius, and the bias of e/m due to the bench.

use super::export::{DateArgs, NumberFormatArgs};
use super::line::{LineArgs, UsedLine};
use super::output;
use super::output::{Files, FolderArgs, naming};
use super::quantity::{Quantities, SpecArgs, currents, quantities, quantity};
use coilwright::files::out::csv::NumberFormat;
use coilwright::physics::beam::{BeamBench, Setting};
use coilwright::questions::files::FileTable;
use coilwright::questions::orbit::files::{OrbitInBench, bias_files, chart_files, orbit_files, scale_files};
use coilwright::questions::orbit::words::chart as beam_chart;
use coilwright::questions::orbit::{
    Request, SettingsRequest, bias_table, chart, orbit, reading_scale, words,
};
use coilwright::units::Dimension;
use coilwright::{Error, Result};
use serde::Serialize;
use std::path::Path;

/// The arguments of `orbit`.
#[derive(clap::Args)]
#[command(group = clap::ArgGroup::new("question").args(["chart", "bias", "scale"]))]
#[command(mut_arg("out", |out| naming(out, &[
    orbit_files().help(),
    chart_files().help_for("--chart"),
    bias_files().help_for("--bias"),
    scale_files().help_for("--scale"),
])))]
pub struct OrbitArgs {
    #[command(flatten)]
    spec: SpecArgs,
    /// Gun voltage as the voltmeter shows it; several for --chart, --bias and --scale
    #[arg(long, value_name = "VOLTAGE", allow_hyphen_values = true, value_parser = quantities(Dimension::Voltage))]
    gun_voltage: Vec<Quantities>,
    /// Coil current as the ammeter shows it, negative for the other direction; several for --bias and --scale
    #[arg(long, value_name = "CURRENT", allow_hyphen_values = true, value_parser = currents())]
    current: Vec<Quantities>,
    /// Tilt of the gun out of the beam plane, positive toward +z
    #[arg(long, value_name = "ANGLE", default_value = "0 deg", allow_hyphen_values = true,
          value_parser = quantity(Dimension::Angle))]
    gun_tilt: f64,
    /// Revolutions to follow a beam that strikes nothing
    #[arg(long, value_name = "TURNS", default_value_t = 1, value_parser = clap::value_parser!(u32).range(1..=1000))]
    revolutions: u32,
    /// Draw beam radius against current for several gun voltages, with the table of values
    #[arg(long)]
    chart: bool,
    /// Calculate the e/m that error-free reading would give on this bench, with each cause of its bias
    #[arg(long)]
    bias: bool,
    /// Draw a true-size scale to print, with the expected circles; needs --out
    #[arg(long, requires = "out")]
    scale: bool,
    #[command(flatten)]
    line: LineArgs,
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

/// Reads the bench, answers the one question asked, writes it.
pub fn run(arguments: &OrbitArgs) -> Result<()> {
    let (date, format) = (arguments.date.day()?, arguments.numbers.format());
    let bench = arguments.spec.read()?;
    let used = arguments.line.read(&bench, date)?;
    let beams = BeamBench::prepare(&bench, used.as_ref().map(UsedLine::field_line))?;
    let inputs = output::inputs([Some(&arguments.spec.spec), arguments.line.input()]);
    let all =
        |lists: &[Quantities]| lists.iter().flat_map(|list| list.0.iter().copied()).collect::<Vec<f64>>();
    let settings = SettingsRequest {
        gun_voltages_volt: all(&arguments.gun_voltage),
        currents_ampere: all(&arguments.current),
        gun_tilt_rad: arguments.gun_tilt,
        date,
    };
    let currents = &settings.currents_ampere;
    let folder = Folder { arguments, inputs: &inputs, format };
    if arguments.chart {
        refuse("--chart", "--current", !currents.is_empty())?;
        refuse("--chart", "--gun-tilt", arguments.gun_tilt != 0.0)?;
        folder.answer(chart_files(), beam_chart::chart_text, || chart(&beams, &settings))
    } else if arguments.bias {
        folder.answer(bias_files(), beam_chart::bias_text, || bias_table(&beams, &settings))
    } else if arguments.scale {
        refuse("--scale", "--gun-tilt", arguments.gun_tilt != 0.0)?;
        folder.answer(scale_files(), beam_chart::scale_text, || reading_scale(&beams, &settings))
    } else {
        let setting = Setting {
            gun_voltage_volt: only_one("--gun-voltage", "200 V", &settings.gun_voltages_volt)?,
            current_ampere: only_one("--current", "1.4 A", currents)?,
            gun_tilt_rad: arguments.gun_tilt,
        };
        let text = |drawn: &OrbitInBench<'_>| words::text(&drawn.orbit);
        folder.answer(orbit_files(), text, || {
            let request = Request { setting, revolutions: arguments.revolutions, date };
            let orbit = orbit(&beams, &request)?;
            Ok(OrbitInBench { orbit, beams: &beams })
        })
    }
}

/// The folder for the files.
struct Folder<'a> {
    arguments: &'a OrbitArgs,
    inputs: &'a [&'a Path],
    format: NumberFormat,
}

impl Folder<'_> {
    /// Asks the question, writes the files and prints the answer.
    fn answer<R: Serialize + Sync>(
        &self,
        table: FileTable<(), R>,
        text: impl FnOnce(&R) -> String,
        question: impl FnOnce() -> Result<R>,
    ) -> Result<()> {
        let files = Files { table, asked: &(), inputs: self.inputs, format: self.format };
        let (record, written) = self.arguments.folder.answer(files, question)?;
        match self.arguments.json {
            true => output::print_json(&record),
            false => output::print(&(text(&record) + &output::written_lines(&written))),
        }
    }
}

fn refuse(question: &str, argument: &str, given: bool) -> Result<()> {
    if !given {
        return Ok(());
    }
    Err(Error::Usage {
        message: format!("{question} does not take {argument}"),
        hint: Some(format!("leave out {argument}")),
    })
}

fn only_one(argument: &str, example: &str, given: &[f64]) -> Result<f64> {
    match given {
        [one] => Ok(*one),
        [] => Err(Error::Usage {
            message: format!("{argument} is missing"),
            hint: Some(format!(
                "one orbit needs {argument} \"{example}\"; --chart, --bias and --scale find their own settings"
            )),
        }),
        several => Err(Error::Usage {
            message: format!("{argument} is given {} times", several.len()),
            hint: Some("one orbit has one setting; --chart, --bias and --scale take several".into()),
        }),
    }
}
