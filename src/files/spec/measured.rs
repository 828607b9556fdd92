//! The file that says what was measured on a pair: for `identify`, and for the check before a lesson.

use super::checks::Checks;
use super::limits::Limits;
use super::measured_file::LengthReading;
use super::measured_file::MeasuredFile;
use super::source::Source;
use super::structured::{diagnosed, structured};
use super::{limits, structure, syntax};
use crate::constants::Conductor;
use crate::error::diagnosis::Stage;
use crate::pair::Connection;
use crate::units::{Dimension, brief};
use crate::{Document, Result};
use serde::Serialize;
use std::path::Path;

/// What was measured on a pair, read from a file and checked.
#[derive(Clone, Debug)]
pub struct Measured {
    /// The title, as written.
    pub title: String,
    /// First 12 hex digits of the SHA-256 of the file, CRLF read as LF and BOM dropped.
    pub digest: String,
    /// How the coils were connected while resistance, field and inductance were measured.
    pub connection: Option<Connection>,
    /// Resistance of the pair as connected, at the copper's temperature.
    pub resistance_ohm: Option<MeasuredValue>,
    /// The copper's temperature then.
    pub resistance_at_celsius: f64,
    /// Wire diameter over the enamel.
    pub overall_wire_diameter_m: Option<MeasuredValue>,
    /// Inner diameter of the wound copper.
    pub inner_diameter_m: Option<MeasuredValue>,
    /// Outer diameter of the wound copper.
    pub outer_diameter_m: Option<MeasuredValue>,
    /// Width of the wound copper along the axis.
    pub width_m: Option<MeasuredValue>,
    /// Centre plane to centre plane.
    pub spacing_m: Option<MeasuredValue>,
    /// Field at the centre per ampere through the ammeter.
    pub field_tesla_per_ampere: Option<MeasuredValue>,
    /// Inductance of the pair as connected.
    pub inductance_henry: Option<MeasuredValue>,
    /// Mass of the conductor in both coils together.
    pub conductor_mass_kg: Option<MeasuredValue>,
    /// What the conductor is, as the mass entry says; copper where it does not.
    pub conductor: Conductor,
}

/// A measured value and its standard uncertainty.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct MeasuredValue {
    /// The value.
    pub value: f64,
    /// Its standard uncertainty.
    pub standard_uncertainty: f64,
}

const LENGTH: Limits = Limits { dimension: Dimension::Length, least: 1e-6, most: 20.0 };
const FIELD: Limits = Limits { dimension: Dimension::FluxDensity, least: -1.0, most: 1.0 };
const CURRENT: Limits = Limits { dimension: Dimension::Current, least: -1e4, most: 1e4 };
const INDUCTANCE: Limits = Limits { dimension: Dimension::Inductance, least: 1e-8, most: 1e3 };

/// Reads measurements from text already at hand; `name` stands for the file in messages.
pub fn measured_from_text(name: &str, text: &str) -> Result<Measured> {
    measured_of(&Source::from_bytes(Path::new(name), text.as_bytes())?)
}

/// The JSON Schema (draft 2020-12) of a file of measurements.
pub fn measured_schema() -> serde_json::Value {
    structure::schema_of::<MeasuredFile>().to_value()
}

/// What a text says, checked.
pub(super) fn measured_of(source: &Source) -> Result<Measured> {
    let tree =
        syntax::tree(&source.text).map_err(|problem| diagnosed(source, Stage::Syntax, vec![*problem]))?;
    let file: MeasuredFile = structured(source, &tree, Document::Measurements)?;
    let mut checks = Checks::new(&tree);
    check(&mut checks, &file);
    if checks.problems.is_empty() {
        Ok(resolved(file, source.digest.clone()))
    } else {
        Err(diagnosed(source, Stage::Physics, checks.problems))
    }
}

fn check(checks: &mut Checks, file: &MeasuredFile) {
    checks.title(&file.title);
    if let Some(reading) = &file.resistance {
        check_reading(checks, "resistance", reading.value.0, reading.uncertainty.0, limits::COIL_RESISTANCE);
        checks.within_if("resistance.at", reading.at.map(|at| at.0), limits::COPPER_TEMPERATURE);
    }
    for (path, reading) in [
        ("overall_wire_diameter", &file.overall_wire_diameter),
        ("inner_diameter", &file.inner_diameter),
        ("outer_diameter", &file.outer_diameter),
        ("width", &file.width),
        ("spacing", &file.spacing),
    ] {
        if let Some(reading) = reading {
            check_reading(checks, path, reading.value.0, reading.uncertainty.0, LENGTH);
        }
    }
    if let (Some(inner), Some(outer)) = (&file.inner_diameter, &file.outer_diameter)
        && checks.sound(&["inner_diameter", "outer_diameter"])
        && inner.value.0 >= outer.value.0
    {
        checks.refuse(
            "outer_diameter.value",
            format!(
                "the outer diameter is {} and the inner one {}",
                brief(outer.value.0, Dimension::Length),
                brief(inner.value.0, Dimension::Length)
            ),
            "the outer diameter must be the larger one",
        );
    }
    if let Some(reading) = &file.field {
        check_reading(checks, "field", reading.value.0, reading.uncertainty.0, FIELD);
        checks.within("field.current", reading.current.0, CURRENT);
        if reading.current.0 == 0.0 {
            checks.refuse(
                "field.current",
                "`field.current` is 0 A",
                "a field tells about the coils only while a current flows",
            );
        }
    }
    if let Some(reading) = &file.inductance {
        check_reading(checks, "inductance", reading.value.0, reading.uncertainty.0, INDUCTANCE);
    }
    if let Some(reading) = &file.mass {
        check_reading(checks, "mass", reading.value.0, reading.uncertainty.0, limits::MASS);
    }
}

fn check_reading(checks: &mut Checks, path: &str, value: f64, uncertainty: f64, limits: Limits) {
    checks.within(&format!("{path}.value"), value, limits);
    let allowed = uncertainty > 0.0 && uncertainty.is_finite();
    if !allowed {
        checks.refuse(
            &format!("{path}.uncertainty"),
            format!("`{path}.uncertainty` is {}", brief(uncertainty, limits.dimension)),
            "every measurement has one: write its standard uncertainty, larger than nothing",
        );
    }
}

fn resolved(file: MeasuredFile, digest: String) -> Measured {
    let length = |reading: Option<LengthReading>| {
        reading.map(|it| MeasuredValue { value: it.value.0, standard_uncertainty: it.uncertainty.0 })
    };
    Measured {
        title: crate::units::inert::line(&file.title).into_owned(),
        digest,
        connection: file.connection,
        resistance_at_celsius: file
            .resistance
            .as_ref()
            .and_then(|it| it.at)
            .map_or(crate::constants::REFERENCE_TEMPERATURE_CELSIUS, |at| at.0),
        resistance_ohm: file
            .resistance
            .map(|it| MeasuredValue { value: it.value.0, standard_uncertainty: it.uncertainty.0 }),
        overall_wire_diameter_m: length(file.overall_wire_diameter),
        inner_diameter_m: length(file.inner_diameter),
        outer_diameter_m: length(file.outer_diameter),
        width_m: length(file.width),
        spacing_m: length(file.spacing),
        field_tesla_per_ampere: file.field.map(|it| MeasuredValue {
            value: it.value.0 / it.current.0,
            standard_uncertainty: it.uncertainty.0 / it.current.0.abs(),
        }),
        inductance_henry: file
            .inductance
            .map(|it| MeasuredValue { value: it.value.0, standard_uncertainty: it.uncertainty.0 }),
        conductor: file.mass.as_ref().and_then(|it| it.of).unwrap_or(Conductor::Copper),
        conductor_mass_kg: file
            .mass
            .map(|it| MeasuredValue { value: it.value.0, standard_uncertainty: it.uncertainty.0 }),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Error;

    const MEASURED: &str = r#"{
        "title": "Unlabelled pair from the cellar",
        "connection": "series",
        "resistance": { "value": "7.4 ohm", "uncertainty": "0.04 ohm", "at": "22 degC" },
        "overall_wire_diameter": { "value": "1.01 mm", "uncertainty": "0.01 mm" },
        "inner_diameter": { "value": "292 mm", "uncertainty": "1 mm" },
        "outer_diameter": { "value": "311 mm", "uncertainty": "1 mm" },
        "width": { "value": "20 mm", "uncertainty": "0.5 mm" },
        "spacing": { "value": "151 mm", "uncertainty": "0.5 mm" },
        "field": { "value": "1.6 mT", "uncertainty": "0.008 mT", "current": "2 A" },
        "inductance": { "value": "27 mH", "uncertainty": "1 mH" },
        "mass": { "value": "1.9 kg", "uncertainty": "0.05 kg", "of": "copper" }
    }"#;

    #[test]
    fn every_measurement_of_the_format_is_read() {
        let measured = measured_from_text("pair.json", MEASURED).unwrap();
        let field = measured.field_tesla_per_ampere.unwrap();
        assert!((field.value - 0.8e-3).abs() < 1e-18 && (field.standard_uncertainty - 4e-6).abs() < 1e-18);
        assert_eq!(measured.resistance_at_celsius, 22.0);
        assert_eq!(measured.conductor_mass_kg.unwrap().value, 1.9);
        let nothing = measured_from_text("pair.json", r#"{ "title": "Nothing yet" }"#).unwrap();
        assert!(nothing.resistance_ohm.is_none() && nothing.connection.is_none());
    }

    #[test]
    fn what_is_wrong_is_told_with_its_place() {
        for (from, to, wanted) in [
            ("\"0.04 ohm\"", "\"0 ohm\"", "`resistance.uncertainty` is 0 Ω"),
            ("\"2 A\"", "\"0 A\"", "`field.current` is 0 A"),
            ("\"311 mm\"", "\"290 mm\"", "the outer diameter is 290 mm"),
            ("\"7.4 ohm\"", "\"7.4\"", "has no unit"),
            ("\"mass\"", "\"masse\"", "did you mean `mass`"),
        ] {
            let text = MEASURED.replacen(from, to, 1);
            assert_ne!(text, MEASURED);
            let error = measured_from_text("pair.json", &text).unwrap_err();
            let Error::Diagnosed { diagnosis, .. } = &error else { panic!("{error}") };
            let drawn = diagnosis.draw(false);
            assert!(drawn.contains(wanted), "{to}: {drawn}");
        }
    }
}
