//! The functions of the fuzz targets, in plain Rust. Each takes any bytes; it must not panic, and no answer may contain
//! NaN or infinity.
//!
//! `fuzz_corpus.rs` beside it runs the kept corpus through the same functions.

use arbitrary::Unstructured;
use coilwright::files::register::Chain;
use coilwright::files::spec;
use coilwright::files::tables::PointReader;
use coilwright::pair::Bench;
use coilwright::physics::beam::{BeamBench, Setting};
use coilwright::physics::field::PreparedPair;
use coilwright::questions::build as papers;
use coilwright::questions::calibrate::{self as calibration, calibrate};
use coilwright::questions::heat::warm_up::WarmUpTest;
use coilwright::questions::heat::{self as heating, HeatRequest};
use coilwright::questions::map as maps;
use coilwright::questions::orbit as orbits;
use coilwright::questions::register as registers;
use coilwright::questions::sheet::{self as sheets, sheet};
use coilwright::questions::tender as tenders;
use coilwright::questions::tolerance::{self as tolerances, tolerance};
use coilwright::questions::uniformity::{self as evenness, uniformity};
use coilwright::questions::weigh::Runs;
use coilwright::units::{self, Dimension, inert};
use coilwright::{Error, Result};
use nalgebra::Vector3;
use serde_json::{Value, json};
use std::cell::OnceCell;
use std::io::Cursor;
use std::path::Path;

/// The function of a target on its bytes.
type Ask = fn(&[u8]);

/// Every target by its name.
pub const TARGETS: [(&str, Ask); 11] = [
    ("spec", bench),
    ("wanted", wanted),
    ("measured", measured),
    ("runs", runs),
    ("warm_up", warm_up),
    ("points", points),
    ("readings", readings),
    ("calibration_json", calibration_json),
    ("register", register),
    ("quantity", quantity),
    ("question", question),
];

/// An error's message and hint are one line each, inert, and contain no NaN or infinity.
fn answered<T>(result: Result<T>) -> Option<T> {
    let error = match result {
        Ok(answer) => return Some(answer),
        Err(error) => error,
    };
    let said = inert::line(&error.to_string()).into_owned();
    assert!(!said.is_empty());
    if let Error::Diagnosed { diagnosis, .. } = &error {
        assert!(!diagnosis.draw(false).is_empty());
    }
    None
}

/// A spec.
pub fn bench(data: &[u8]) {
    let Ok(text) = std::str::from_utf8(data) else { return };
    if let Some(bench) = answered(spec::bench_from_text("fuzz.json", text)) {
        let written = spec::spec_text(&bench);
        let again = spec::bench_from_text("again.json", &written);
        assert!(again.is_ok(), "what was read is not read again: {written}");
    }
    if let Some(quote) = answered(spec::quote_from_text("fuzz.json", text)) {
        assert!(!inert::line(&quote.title).is_empty() || quote.title.is_empty());
        if quote.gaps.is_empty() {
            answered(quote.filled(&[]));
        }
    }
}

/// A file of wishes, and the request for quotation that it makes.
pub fn wanted(data: &[u8]) {
    let Ok(text) = std::str::from_utf8(data) else { return };
    let wanted = answered(spec::wanted_from_text("fuzz.json", text));
    said(wanted.map(|wanted| tenders::tender(&wanted, None)), tenders::words::text);
}

/// A file of measurements.
pub fn measured(data: &[u8]) {
    let Ok(text) = std::str::from_utf8(data) else { return };
    answered(spec::measured_from_text("fuzz.json", text));
}

/// A table of runs.
pub fn runs(data: &[u8]) {
    let Ok(text) = std::str::from_utf8(data) else { return };
    answered(Runs::from_text("fuzz.csv", text));
}

/// A warm-up test, without the fit, which takes long.
pub fn warm_up(data: &[u8]) {
    let Ok(text) = std::str::from_utf8(data) else { return };
    answered(WarmUpTest::from_text("fuzz.csv", text));
}

/// A table of points, all of it.
pub fn points(data: &[u8]) {
    let Some(mut reader) = answered(PointReader::from_reader("fuzz.csv", Cursor::new(data.to_vec()))) else {
        return;
    };
    loop {
        let mut read: Vec<Vector3<f64>> = Vec::new();
        let outcome = answered(reader.fill(&mut read, 1000));
        assert!(read.iter().flatten().all(|coordinate| coordinate.is_finite()));
        if outcome.is_none() || read.is_empty() {
            return;
        }
    }
}

/// A table of readings.
pub fn readings(data: &[u8]) {
    as_file(data, |path| answered(calibration::read_readings(path)).map(drop));
}

/// A `calibration.json`.
pub fn calibration_json(data: &[u8]) {
    as_file(data, |path| answered(calibration::read_adopted_line(path)).map(drop));
}

/// A register, damaged or not, and what is told of it.
pub fn register(data: &[u8]) {
    let chain = Chain::of(data);
    let overview = answered(registers::overview(&chain, &registers::Request::default()));
    said(overview, registers::words::text);
}

/// Writes the bytes to a file of this thread, for readers that take a path.
fn as_file(data: &[u8], read: impl FnOnce(&Path) -> Option<()>) {
    thread_local!(static FOLDER: OnceCell<tempfile::TempDir> = const { OnceCell::new() });
    FOLDER.with(|folder| {
        let folder = folder.get_or_init(|| tempfile::tempdir().expect("a folder for the fuzzed file"));
        let path = folder.path().join("fuzz");
        std::fs::write(&path, data).expect("a file for the fuzzed bytes");
        read(&path);
    });
}

/// A quantity of every dimension.
pub fn quantity(data: &[u8]) {
    let Ok(text) = std::str::from_utf8(data) else { return };
    for dimension in [
        Dimension::Length,
        Dimension::Angle,
        Dimension::Current,
        Dimension::Voltage,
        Dimension::Resistance,
        Dimension::FluxDensity,
        Dimension::FieldConstant,
        Dimension::Temperature,
        Dimension::Time,
        Dimension::Mass,
        Dimension::Inductance,
        Dimension::Fraction,
        Dimension::Number,
    ] {
        match units::parse(text, dimension) {
            Ok(value) => {
                assert!(value.is_finite());
                let shown = units::brief(value, dimension);
                assert!(!shown.contains("NaN") && !shown.contains("inf"), "{shown}");
            }
            Err(error) => assert!(!error.message.is_empty() && !error.hint.is_empty()),
        }
    }
}

/// Whole questions behind a sound spec, of a pair drawn from the bytes.
pub fn question(data: &[u8]) {
    let mut bytes = Unstructured::new(data);
    let Ok((document, question)) = drawn_spec(&mut bytes) else { return };
    let Some(bench) = answered(spec::bench_from_text("fuzz.json", &document.to_string())) else { return };
    match question % 8 {
        0 => said(answered(sheet(&bench, &Default::default())), sheets::words::text),
        1 => {
            let asked = uniformity(&PreparedPair::of(&bench), &evenness::Request::within(0.01));
            said(answered(asked), evenness::words::text);
        }
        2 => {
            let request = calibration::Request::default();
            said(answered(calibrate(&bench, &request)), calibration::words::text);
        }
        3 => {
            let within_fraction = bytes.arbitrary::<bool>().is_ok_and(|yes| yes).then_some(0.01);
            let request = maps::Request { within_fraction, ..maps::Request::default() };
            let map = maps::field_map(&PreparedPair::of(&bench), &request);
            said(answered(map), |map| maps::words::text(map, &[]));
        }
        4 => {
            let request = tolerances::Request { wish: tolerances::Wish::default(), builds: 50, date: None };
            said(answered(tolerance(&bench, &request, |_| ())), tolerances::words::text);
        }
        5 => {
            let papers = papers::build_papers(&bench, &papers::Request::default());
            said(answered(papers), papers::words::text);
        }
        6 => said(answered(orbit(&bench, &mut bytes)), orbits::words::text),
        _ => said(answered(heat(&bench, &mut bytes)), heating::words::text),
    }
}

fn orbit(bench: &Bench, bytes: &mut Unstructured<'_>) -> Result<orbits::Orbit> {
    let current = bytes.int_in_range(-5000..=5000).unwrap_or(1000);
    let setting = Setting {
        gun_voltage_volt: f64::from(bytes.int_in_range(20..=400).unwrap_or(200)),
        current_ampere: f64::from(current) * 1e-3,
        gun_tilt_rad: f64::from(bytes.int_in_range(-80..=80).unwrap_or(0)).to_radians(),
    };
    let request = orbits::Request { revolutions: 2, ..orbits::Request::at(setting) };
    orbits::orbit(&BeamBench::prepare(bench, None)?, &request)
}

fn heat(bench: &Bench, bytes: &mut Unstructured<'_>) -> Result<heating::HeatStudy> {
    let current = bytes.int_in_range(1..=5000).unwrap_or(1000);
    let request = HeatRequest { current_ampere: Some(f64::from(current) * 1e-3), ..HeatRequest::default() };
    heating::study(bench, &request)
}

/// No sentence and no number of an answer is infinite or NaN.
fn said<R: serde::Serialize>(record: Option<R>, text: impl Fn(&R) -> String) {
    let Some(record) = record else { return };
    let page = text(&record);
    let odd = page.split(|c: char| !c.is_ascii_alphanumeric()).find(|word| matches!(*word, "NaN" | "inf"));
    assert!(odd.is_none(), "{page}");
    assert!(serde_json::to_string(&record).is_ok());
}

/// A spec in the ranges that `check` allows, with sizes in tenths of a millimetre and any optional parts left out.
fn drawn_spec(bytes: &mut Unstructured<'_>) -> arbitrary::Result<(Value, u8)> {
    let question = bytes.int_in_range(0..=255)?;
    let mut tenths = |least: u32, most: u32| -> arbitrary::Result<String> {
        Ok(format!("{} mm", f64::from(bytes.int_in_range(least..=most)?) / 10.0))
    };
    let (radius, width, depth) = (tenths(200, 6000)?, tenths(10, 800)?, tenths(10, 800)?);
    let (spacing, exit, bulb) = (tenths(100, 9000)?, tenths(0, 900)?, tenths(100, 2000)?);
    let bare = bytes.int_in_range(5..=300)?;
    let turns = f64::from(bytes.int_in_range(1u32..=4000)?) / 4.0;
    let mut document = json!({
        "title": "Drawn", "spacing": spacing,
        "winding": { "mean_radius": radius, "width": width, "depth": depth, "turns": turns,
            "wire": { "conductor": "copper", "bare_diameter": format!("{} mm", f64::from(bare) / 100.0),
                "overall_diameter": format!("{} mm", f64::from(bare) * 1.1 / 100.0) } },
    });
    let mut part = |key: &str, value: Value| -> arbitrary::Result<()> {
        if bytes.arbitrary::<bool>()? {
            document[key] = value;
        }
        Ok(())
    };
    part("connection", json!("parallel"))?;
    part("axis", json!("vertical"))?;
    part(
        "tube",
        json!({ "bulb_radius": bulb, "gun_exit": [exit, "0 mm", "0 mm"], "gun_direction": [0, 1, 0.1],
        "gun_voltage": ["80 V", "300 V"], "beam_radius": ["25 mm", "52 mm"] }),
    )?;
    part("supply", json!({ "voltage_limit": "30 V", "current_limit": "3 A", "regulation": "voltage" }))?;
    part("former", json!({ "material": "aluminium", "wall": "2 mm", "cheeks": "both" }))?;
    part(
        "as_built",
        json!({ "a": { "offset": ["0 mm", "2 mm", "1 mm"], "tilt": ["1 deg", "0 deg"] }, "b": { "sense": -1 } }),
    )?;
    part("build_tolerance", json!({ "mean_radius": "0.5 mm", "spacing": "0.5 mm", "tilt": "0.3 deg" }))?;
    Ok((document, question))
}
