//! `build`: files for the workshop.

use super::export::{DateArgs, NumberFormatArgs};
use super::output;
use super::output::{Files, FolderArgs, naming};
use super::quantity::{Quantities, quantities, quantity, quantity_within, read_spec};
use clap::builder::TypedValueParser;
use coilwright::Result;
use coilwright::files::spec;
use coilwright::questions::build::files::files;
use coilwright::questions::build::{Projection, Request, ToleranceClass, build_papers, words};
use coilwright::questions::tolerance::Wish;
use coilwright::units::Dimension;
use std::path::PathBuf;

/// The arguments of `build`.
#[derive(clap::Args)]
#[command(mut_arg("out", |out| naming(out, &[files().help()])))]
pub struct BuildArgs {
    /// The spec file; its design is built, `as_built` is ignored
    spec: PathBuf,
    /// Temperature of the copper while winding; the room's by default
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true,
          value_parser = quantity_within(Dimension::Temperature, -40.0, 100.0))]
    winding_temperature: Option<f64>,
    /// Thickness of the insulation between layers
    #[arg(long, value_name = "LENGTH", default_value = "0 mm",
          value_parser = quantity_within(Dimension::Length, 0.0, 0.01))]
    interlayer: f64,
    /// Clearance between winding and channel, along the axis
    #[arg(long, value_name = "LENGTH", default_value = "0.5 mm",
          value_parser = quantity_within(Dimension::Length, 0.0, 0.02))]
    allowance: f64,
    /// Sizes of reels that can be bought, as kilograms of wire
    #[arg(long, value_name = "MASS", default_value = "0.1 kg,0.25 kg,0.5 kg,1 kg,2 kg,5 kg,10 kg",
          value_parser = quantities(Dimension::Mass))]
    reel: Vec<Quantities>,
    /// Wire added for waste
    #[arg(long, value_name = "FRACTION", default_value = "5 %",
          value_parser = quantity_within(Dimension::Fraction, 0.0, 1.0))]
    waste: f64,
    /// Wire left free at each end of a coil
    #[arg(long, value_name = "LENGTH", default_value = "0.5 m",
          value_parser = quantity_within(Dimension::Length, 0.0, 20.0))]
    lead_out: f64,
    /// Current for the field test; by default a round value that the coils can carry continuously
    #[arg(long, value_name = "CURRENT", value_parser = quantity_within(Dimension::Current, 1e-6, 1e4))]
    test_current: Option<f64>,
    /// Direct voltage of the insulation test; by default that of the spec, or else 500 V
    #[arg(long, value_name = "VOLTAGE", value_parser = quantity_within(Dimension::Voltage, 50.0, 5000.0))]
    insulation_test: Option<f64>,
    /// Largest allowed difference of the field constant from the computed one, for the tolerances worth holding
    #[arg(long, value_parser = quantity(Dimension::Fraction), allow_hyphen_values = true)]
    within: Option<f64>,
    /// A file of wishes; its `beam_deviation` decides the tolerances worth holding
    #[arg(long, value_name = "WANTED")]
    needs: Option<PathBuf>,
    /// How the views are arranged
    #[arg(long, value_enum, default_value_t = Angle::First)]
    projection: Angle,
    /// Class of general tolerances, ISO 2768-1
    #[arg(long, value_enum, default_value_t = Class::M)]
    tolerance_class: Class,
    /// Scale of the drawings: 1:1, 1:2, 1:5, 1:10, 1:20, 1:50, 2:1, 5:1, 10:1 or 20:1
    #[arg(long, value_name = "SCALE", default_value = "1:1", value_parser = scale())]
    scale: f64,
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

/// How views are arranged.
#[derive(Clone, Copy, clap::ValueEnum)]
enum Angle {
    /// First angle: the view from the left stands on the right
    First,
    /// Third angle: the view from the right stands on the right
    Third,
}

/// Classes of ISO 2768-1.
#[derive(Clone, Copy, clap::ValueEnum)]
enum Class {
    /// Fine
    F,
    /// Medium
    M,
    /// Coarse
    C,
    /// Very coarse
    V,
}

/// The scales of ISO 5455 that drawings of coils need.
const SCALES: [(&str, f64); 10] = [
    ("1:1", 1.0),
    ("1:2", 0.5),
    ("1:5", 0.2),
    ("1:10", 0.1),
    ("1:20", 0.05),
    ("1:50", 0.02),
    ("2:1", 2.0),
    ("5:1", 5.0),
    ("10:1", 10.0),
    ("20:1", 20.0),
];

fn scale() -> impl TypedValueParser<Value = f64> {
    clap::builder::PossibleValuesParser::new(SCALES.map(|(name, _)| name))
        .map(|chosen| SCALES.iter().find(|(name, _)| *name == chosen).map_or(1.0, |(_, scale)| *scale))
}

/// Answers, writes the files, and prints the page.
pub fn run(arguments: &BuildArgs) -> Result<()> {
    let date = arguments.date.day()?;
    let bench = read_spec(&arguments.spec)?;
    let needs = arguments.needs.as_ref().map(spec::read_wanted).transpose()?;
    let request = Request {
        winding_celsius: arguments.winding_temperature,
        wish: Wish {
            field_constant_within_fraction: arguments.within,
            beam_deviation: needs.and_then(|needs| needs.beam_deviation),
        },
        reels_kg: arguments.reel.iter().flat_map(|list| list.0.iter().copied()).collect(),
        waste_fraction: arguments.waste,
        lead_out_m: arguments.lead_out,
        interlayer_m: arguments.interlayer,
        width_allowance_m: arguments.allowance,
        test_current_ampere: arguments.test_current,
        insulation_test_volt: arguments.insulation_test,
        projection: match arguments.projection {
            Angle::First => Projection::First,
            Angle::Third => Projection::Third,
        },
        general_tolerance: match arguments.tolerance_class {
            Class::F => ToleranceClass::Fine,
            Class::M => ToleranceClass::Medium,
            Class::C => ToleranceClass::Coarse,
            Class::V => ToleranceClass::VeryCoarse,
        },
        drawing_scale: arguments.scale,
        date,
    };
    let files = Files {
        table: files(),
        asked: &(),
        inputs: &output::inputs([Some(&arguments.spec), arguments.needs.as_ref()]),
        format: arguments.numbers.format(),
    };
    let (record, written) = arguments.folder.answer(files, || build_papers(&bench, &request))?;
    match arguments.json {
        true => output::print_json(&record),
        false => output::print(&(words::text(&record) + &output::written_lines(&written))),
    }
}
