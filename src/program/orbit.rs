//! `orbit`: where the beam goes, what radius to expect, what the bench itself does to e/m.

use super::export::{DateArgs, NumberFormatArgs};
use super::output;
use super::output::FolderArgs;
use super::quantity::{Quantities, SpecArgs, currents, quantities, quantity};
use coilwright::files::out::csv::NumberFormat;
use coilwright::files::out::folder::OutputFolder;
use coilwright::physics::beam::{BeamBench, FieldLine, Setting};
use coilwright::questions::calibrate::read_adopted_line;
use coilwright::questions::orbit::words::chart as beam_chart;
use coilwright::questions::orbit::{
    BiasTable, Orbit, RadiusChart, ReadingScale, bias_table, chart, orbit, picture, reading_scale,
    words as report,
};
use coilwright::units::Dimension;
use coilwright::{Error, Result};
use serde::Serialize;
use std::path::PathBuf;

/// The arguments of `orbit`.
#[derive(clap::Args)]
#[command(group = clap::ArgGroup::new("question").args(["chart", "bias", "scale"]))]
pub struct OrbitArgs {
    #[command(flatten)]
    spec: SpecArgs,
    /// What the voltmeter shows; several for --chart, --bias and --scale
    #[arg(long, value_name = "VOLTAGE", allow_hyphen_values = true, value_parser = quantities(Dimension::Voltage))]
    gun_voltage: Vec<Quantities>,
    /// What the ammeter shows, negative for the other direction; several for --bias and --scale
    #[arg(long, value_name = "CURRENT", allow_hyphen_values = true, value_parser = currents())]
    current: Vec<Quantities>,
    /// The gun turned out of the beam plane, positive toward +z
    #[arg(long, value_name = "ANGLE", default_value = "0 deg", allow_hyphen_values = true,
          value_parser = quantity(Dimension::Angle))]
    gun_tilt: f64,
    /// Turns to follow a beam that strikes nothing
    #[arg(long, value_name = "TURNS", default_value_t = 1, value_parser = clap::value_parser!(u32).range(1..=1000))]
    revolutions: u32,
    /// Beam radius against current for several gun voltages, and the table behind it
    #[arg(long)]
    chart: bool,
    /// What e/m a perfect reader gets from this bench, and why
    #[arg(long)]
    bias: bool,
    /// A true-size scale to print, with the circles to expect; needs --out
    #[arg(long, requires = "out")]
    scale: bool,
    /// Take the line B = k I from this calibration instead of the spec
    #[arg(long, value_name = "FILE")]
    calibration: Option<PathBuf>,
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
    let (date, format) = (arguments.date.checked()?, arguments.numbers.format());
    let bench = arguments.spec.read()?;
    let line = match &arguments.calibration {
        Some(path) => Some(FieldLine::from(&read_adopted_line(path)?)),
        None => None,
    };
    let beams = BeamBench::prepare(&bench, line)?;
    let inputs = output::inputs([Some(&arguments.spec.spec), arguments.calibration.as_ref()]);
    let all =
        |lists: &[Quantities]| lists.iter().flat_map(|list| list.0.iter().copied()).collect::<Vec<f64>>();
    let (voltages, currents) = (&all(&arguments.gun_voltage)[..], &all(&arguments.current)[..]);
    if arguments.chart {
        refuse("--chart", "--current", !currents.is_empty())?;
        refuse("--chart", "--gun-tilt", arguments.gun_tilt != 0.0)?;
        let mut record = chart(&beams, voltages)?;
        record.provenance.date = date;
        let names = ["beam-radius.svg", "beam-radius.png", "beam-radius.csv", "beam-radius.json"];
        let folder = arguments.folder.open(&names, &inputs)?;
        arguments.answer(&record, &beam_chart::chart_text(&record), folder, |folder, record| {
            write_chart(folder, record, format)
        })
    } else if arguments.bias {
        let mut record = bias_table(&beams, voltages, currents, arguments.gun_tilt)?;
        record.provenance.date = date;
        let folder = arguments.folder.open(&["bias.csv", "bias.json"], &inputs)?;
        arguments.answer(&record, &beam_chart::bias_text(&record), folder, |folder, record| {
            write_bias(folder, record, format)
        })
    } else if arguments.scale {
        refuse("--scale", "--gun-tilt", arguments.gun_tilt != 0.0)?;
        let mut record = reading_scale(&beams, voltages, currents)?;
        record.provenance.date = date;
        let folder = arguments.folder.open(&["reading-scale.svg", "reading-scale.json"], &inputs)?;
        arguments.answer(&record, &beam_chart::scale_text(&record), folder, write_scale)
    } else {
        let setting = Setting {
            gun_voltage_volt: only_one("--gun-voltage", "200 V", voltages)?,
            current_ampere: only_one("--current", "1.4 A", currents)?,
            gun_tilt_rad: arguments.gun_tilt,
        };
        let names = ["orbit-plane", "orbit-side", "orbit-third"]
            .map(|name| [".svg", ".png"].map(|end| format!("{name}{end}")));
        let mut names: Vec<&str> = names.iter().flatten().map(String::as_str).collect();
        names.extend(["orbit-path.csv", "orbit.json"]);
        let folder = arguments.folder.open(&names, &inputs)?;
        let mut record = orbit(&beams, &setting, arguments.revolutions)?;
        record.provenance.date = date;
        arguments.answer(&record, &report::text(&record), folder, |folder, record| {
            write_orbit(folder, record, &beams, format)
        })
    }
}

impl OrbitArgs {
    fn answer<R: Serialize>(
        &self,
        record: &R,
        text: &str,
        folder: Option<OutputFolder>,
        write: impl FnOnce(&mut OutputFolder, &R) -> Result<()>,
    ) -> Result<()> {
        let mut text = text.to_owned();
        if let Some(mut folder) = folder {
            write(&mut folder, record)?;
            for path in folder.finish()? {
                text += &format!("wrote {}\n", coilwright::error::shown(&path));
            }
        }
        if self.json { output::print_json(record) } else { output::print(&text) }
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

fn write_orbit(
    folder: &mut OutputFolder,
    record: &Orbit,
    beams: &BeamBench<'_>,
    format: NumberFormat,
) -> Result<()> {
    for (name, figure) in picture::figures(record, beams) {
        folder.write(&format!("{name}.svg"), figure.svg().as_bytes())?;
        folder.write(&format!("{name}.png"), &figure.png()?)?;
    }
    folder.write_with("orbit-path.csv", |out| Ok(report::path_csv(record, out, format)?))?;
    folder.write("orbit.json", output::json_text(record)?.as_bytes())
}

fn write_chart(folder: &mut OutputFolder, record: &RadiusChart, format: NumberFormat) -> Result<()> {
    let figure = picture::chart::figure(record);
    folder.write("beam-radius.svg", figure.svg().as_bytes())?;
    folder.write("beam-radius.png", &figure.png()?)?;
    folder.write_with("beam-radius.csv", |out| Ok(beam_chart::chart_csv(record, out, format)?))?;
    folder.write("beam-radius.json", output::json_text(record)?.as_bytes())
}

fn write_bias(folder: &mut OutputFolder, record: &BiasTable, format: NumberFormat) -> Result<()> {
    folder.write_with("bias.csv", |out| Ok(beam_chart::bias_csv(record, out, format)?))?;
    folder.write("bias.json", output::json_text(record)?.as_bytes())
}

fn write_scale(folder: &mut OutputFolder, record: &ReadingScale) -> Result<()> {
    folder.write("reading-scale.svg", picture::scale::svg(record).as_bytes())?;
    folder.write("reading-scale.json", output::json_text(record)?.as_bytes())
}
