//! A file of measurements of a pair: for `identify`, for the check before a lesson, and on delivery.

mod check;
mod table;

use crate::constants::Conductor;
use crate::error::diagnosis::Stage;
use crate::files::spec::checks::Checks;
use crate::files::spec::measured_file::{
    CoilReadingsFile, InductanceReading, LengthReading, MassReading, MeasuredFile, OffsetReading,
    PointReading, ResistanceReading, TiltReading, WoundFrom,
};
use crate::files::spec::source::Source;
use crate::files::spec::structured::{diagnosed, structured};
use crate::files::spec::{structure, syntax};
use crate::pair::{Connection, Meter};
use crate::{Document, Result};
use check::check;
use nalgebra::Vector3;
use serde::Serialize;
use std::path::Path;
pub use table::read_measured;

/// What was measured on a pair, read from a file and checked.
#[derive(Clone, Debug)]
pub struct Measured {
    /// The title, as written.
    pub title: String,
    /// First 12 hex digits of the SHA-256 of the file, CRLF read as LF and BOM dropped.
    pub digest: String,
    /// How the coils were connected while resistance, field and inductance were measured.
    pub connection: Option<Connection>,
    /// Whether one reel held the wire of both coils.
    pub wound_from: WoundFrom,
    /// Resistance of the pair as connected, at the copper's temperature.
    pub resistance_ohm: Option<MeasuredValue>,
    /// The copper's temperature then. If its uncertainty is stated, the uncertainty of the resistance includes it.
    pub resistance_at_celsius: f64,
    /// Length of wire in that reading beyond both windings.
    pub free_ends_m: Option<f64>,
    /// Whether that temperature was stated without uncertainty.
    pub temperature_taken_as_exact: bool,
    /// Wire diameter over the enamel.
    pub overall_wire_diameter_m: Option<MeasuredValue>,
    /// Inner diameter of the wound copper.
    pub inner_diameter_m: Option<MeasuredValue>,
    /// Outer diameter of the wound copper.
    pub outer_diameter_m: Option<MeasuredValue>,
    /// Width of the wound copper along the axis.
    pub width_m: Option<MeasuredValue>,
    /// Distance between the centre planes of the coils.
    pub spacing_m: Option<MeasuredValue>,
    /// Field at the centre per ampere through the ammeter.
    pub field_tesla_per_ampere: Option<MeasuredValue>,
    /// The current at which that was read.
    pub field_current_ampere: Option<f64>,
    /// Its standard uncertainty, if stated.
    pub field_current_uncertainty_ampere: Option<f64>,
    /// Inductance of the pair as connected.
    pub inductance_henry: Option<MeasuredValue>,
    /// Inductance of both coils in series with one of them reversed.
    pub opposed_inductance_henry: Option<MeasuredValue>,
    /// Mutual inductance of the coils.
    pub mutual_inductance_henry: Option<MeasuredValue>,
    /// Mass of the conductor in both coils together.
    pub conductor_mass_kg: Option<MeasuredValue>,
    /// The conductor according to the mass entries; copper if they do not state it.
    pub conductor: Conductor,
    /// Each coil alone, a then b.
    pub coils: [CoilReadings; 2],
    /// The field at points, in the order of the file.
    pub fields: Vec<FieldReading>,
    /// The hottest surface after a time at a current.
    pub surface_temperature: Option<SurfaceReading>,
    /// The voltage at the pair's terminals after a time at a current.
    pub warm_voltage: Option<VoltageReading>,
    /// Largest less smallest distance of the coils round the rim.
    pub spacing_difference: Option<RimReading>,
    /// Step from rim to rim.
    pub rim_step_m: Option<MeasuredValue>,
    /// The insulation.
    pub insulation: Option<InsulationReading>,
}

/// What was measured on one coil alone.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct CoilReadings {
    /// Turns; the uncertainty of a count is 0.
    pub turns: Option<MeasuredValue>,
    /// Resistance, at the copper's temperature.
    pub resistance_ohm: Option<MeasuredValue>,
    /// The copper's temperature then; 20 °C if not stated.
    pub resistance_at_celsius: f64,
    /// Length of wire in that reading beyond the winding.
    pub free_ends_m: Option<f64>,
    /// Inner diameter of the wound copper.
    pub inner_diameter_m: Option<MeasuredValue>,
    /// Outer diameter of the wound copper.
    pub outer_diameter_m: Option<MeasuredValue>,
    /// Width of the wound copper.
    pub width_m: Option<MeasuredValue>,
    /// Its own inductance.
    pub inductance_henry: Option<MeasuredValue>,
    /// Its drop between two frequencies.
    pub inductance_drop: Option<DropReading>,
    /// Mass of its conductor.
    pub conductor_mass_kg: Option<MeasuredValue>,
    /// Displacement of its centre from its nominal position, along x and y.
    pub offset_m: [Option<MeasuredValue>; 2],
    /// Its tilt about x and y.
    pub tilt_rad: [Option<MeasuredValue>; 2],
    /// Whether the temperature of its copper was stated without uncertainty.
    pub temperature_taken_as_exact: bool,
}

/// The field along the axis at a point, at a current.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FieldReading {
    /// The field, without the room's.
    pub tesla: MeasuredValue,
    /// The current through the ammeter.
    pub current_ampere: f64,
    /// Its standard uncertainty, if stated.
    pub current_uncertainty_ampere: Option<f64>,
    /// The point.
    pub at_m: Vector3<f64>,
}

/// The hottest surface after a time at a current, from cold.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SurfaceReading {
    /// The temperature; its uncertainty is in kelvins.
    pub celsius: MeasuredValue,
    /// The current held.
    pub current_ampere: f64,
    /// Its standard uncertainty, if stated.
    pub current_uncertainty_ampere: Option<f64>,
    /// How long it was held.
    pub after_s: f64,
    /// Temperature of the room's air, if stated.
    pub room_celsius: Option<f64>,
}

/// The voltage at the pair's terminals after a time at a current, from cold.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct VoltageReading {
    /// The voltage, leads left out.
    pub volt: MeasuredValue,
    /// The current held.
    pub current_ampere: f64,
    /// Its standard uncertainty, if stated.
    pub current_uncertainty_ampere: Option<f64>,
    /// How long it was held.
    pub after_s: f64,
    /// Temperature of the room's air, if stated.
    pub room_celsius: Option<f64>,
}

/// How far the distance of the coils differs round the rim.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RimReading {
    /// Largest less smallest distance.
    pub difference_m: MeasuredValue,
    /// Diameter of the circle of places.
    pub across_m: f64,
}

/// The drop of a coil's inductance between two frequencies.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DropReading {
    /// The drop over the inductance at the lower frequency.
    pub fraction: MeasuredValue,
    /// The lower and the higher frequency.
    pub hertz: [f64; 2],
}

/// An insulation resistance with its test voltage.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct InsulationReading {
    /// The resistance.
    pub ohm: MeasuredValue,
    /// The test voltage.
    pub test_volt: f64,
}

impl Measured {
    /// A file of measurements with this title and no measurements.
    pub fn nothing(title: &str) -> Self {
        let at_celsius = crate::constants::REFERENCE_TEMPERATURE_CELSIUS;
        let coil = CoilReadings {
            resistance_at_celsius: at_celsius,
            temperature_taken_as_exact: true,
            ..CoilReadings::default()
        };
        Self {
            title: title.into(),
            digest: String::new(),
            connection: None,
            wound_from: WoundFrom::OneReel,
            resistance_ohm: None,
            resistance_at_celsius: at_celsius,
            free_ends_m: None,
            temperature_taken_as_exact: true,
            overall_wire_diameter_m: None,
            inner_diameter_m: None,
            outer_diameter_m: None,
            width_m: None,
            spacing_m: None,
            field_tesla_per_ampere: None,
            field_current_ampere: None,
            field_current_uncertainty_ampere: None,
            inductance_henry: None,
            opposed_inductance_henry: None,
            mutual_inductance_henry: None,
            conductor_mass_kg: None,
            conductor: Conductor::Copper,
            coils: [coil; 2],
            fields: Vec::new(),
            surface_temperature: None,
            warm_voltage: None,
            spacing_difference: None,
            rim_step_m: None,
            insulation: None,
        }
    }

    /// The readings whose uncertainties include that of their currents: the stated one, or that of `ammeter` where none is
    /// stated. A field and a voltage follow the current, the rise of a surface above `room_celsius` its square.
    #[must_use]
    pub(crate) fn counting_currents(&self, ammeter: Option<Meter>, room_celsius: f64) -> Self {
        let part = |ampere: f64, stated: Option<f64>| {
            let u = stated.or(ammeter.map(|meter| meter.standard_uncertainty(ampere))).unwrap_or(0.0);
            u / ampere.abs()
        };
        let with = |reading: MeasuredValue, more: f64| MeasuredValue {
            standard_uncertainty: reading.standard_uncertainty.hypot(more),
            ..reading
        };
        let mut counting = self.clone();
        if let Some((reading, ampere)) = self.field_tesla_per_ampere.zip(self.field_current_ampere) {
            let part = part(ampere, self.field_current_uncertainty_ampere);
            counting.field_tesla_per_ampere = Some(with(reading, reading.value * part));
        }
        for reading in &mut counting.fields {
            let part = part(reading.current_ampere, reading.current_uncertainty_ampere);
            reading.tesla = with(reading.tesla, reading.tesla.value * part);
        }
        if let Some(reading) = &mut counting.warm_voltage {
            let part = part(reading.current_ampere, reading.current_uncertainty_ampere);
            reading.volt = with(reading.volt, reading.volt.value * part);
        }
        if let Some(reading) = &mut counting.surface_temperature {
            let rise = reading.celsius.value - reading.room_celsius.unwrap_or(room_celsius);
            let part = part(reading.current_ampere, reading.current_uncertainty_ampere);
            reading.celsius = with(reading.celsius, 2.0 * rise * part);
        }
        counting
    }

    /// Whether some reading states no uncertainty of its current.
    pub(crate) fn has_current_without_uncertainty(&self) -> bool {
        (self.field_current_ampere.is_some() && self.field_current_uncertainty_ampere.is_none())
            || self.fields.iter().any(|it| it.current_uncertainty_ampere.is_none())
            || self.warm_voltage.is_some_and(|it| it.current_uncertainty_ampere.is_none())
            || self.surface_temperature.is_some_and(|it| it.current_uncertainty_ampere.is_none())
    }
}

/// A measured value and its standard uncertainty.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct MeasuredValue {
    /// The value.
    pub value: f64,
    /// Its standard uncertainty.
    pub standard_uncertainty: f64,
}

/// Reads measurements from text; `name` stands for the file in messages.
pub fn measured_from_text(name: &str, text: &str) -> Result<Measured> {
    measured_of(&Source::from_bytes(Path::new(name), text.as_bytes())?)
}

/// The JSON Schema (draft 2020-12) of a file of measurements.
pub fn measured_schema() -> &'static serde_json::Value {
    structure::schema_of::<MeasuredFile>().as_value()
}

/// The checked measurements of a text.
pub(in crate::files::spec) fn measured_of(source: &Source) -> Result<Measured> {
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

fn resolved(file: MeasuredFile, digest: String) -> Measured {
    let weighed = [&file.coil_a, &file.coil_b].into_iter().flatten().map(|coil| &coil.mass);
    let conductor = weighed.chain([&file.mass]).flatten().filter_map(|mass| mass.of).next_back();
    let conductor = conductor.unwrap_or(Conductor::Copper);
    Measured {
        title: crate::units::inert::line(&file.title).into_owned(),
        digest,
        connection: file.connection,
        wound_from: file.wound_from.unwrap_or_default(),
        resistance_at_celsius: at_celsius(file.resistance.as_ref()),
        free_ends_m: free_ends(file.resistance.as_ref()),
        temperature_taken_as_exact: is_taken_as_exact(file.resistance.as_ref()),
        resistance_ohm: ohm(file.resistance.as_ref(), conductor),
        overall_wire_diameter_m: length(file.overall_wire_diameter),
        inner_diameter_m: length(file.inner_diameter),
        outer_diameter_m: length(file.outer_diameter),
        width_m: length(file.width),
        spacing_m: length(file.spacing),
        field_current_ampere: file.field.as_ref().map(|it| it.current.0),
        field_current_uncertainty_ampere: file
            .field
            .as_ref()
            .and_then(|it| Some(it.current_uncertainty.as_ref()?.0)),
        field_tesla_per_ampere: file.field.map(|it| MeasuredValue {
            value: it.value.0 / it.current.0,
            standard_uncertainty: it.uncertainty.0 / it.current.0.abs(),
        }),
        inductance_henry: henry(file.inductance),
        opposed_inductance_henry: henry(file.opposed_inductance),
        mutual_inductance_henry: henry(file.mutual_inductance),
        conductor,
        conductor_mass_kg: kilogram(file.mass),
        coils: [file.coil_a, file.coil_b].map(|coil| resolved_coil(coil, conductor)),
        fields: file.fields.into_iter().flatten().map(resolved_field).collect(),
        surface_temperature: file.surface_temperature.map(|it| SurfaceReading {
            celsius: reading(it.value.0, it.uncertainty.0),
            current_ampere: it.current.0,
            current_uncertainty_ampere: it.current_uncertainty.map(|u| u.0),
            after_s: it.after.0,
            room_celsius: it.room.map(|room| room.0),
        }),
        warm_voltage: file.warm_voltage.map(|it| VoltageReading {
            volt: reading(it.value.0, it.uncertainty.0),
            current_ampere: it.current.0,
            current_uncertainty_ampere: it.current_uncertainty.map(|u| u.0),
            after_s: it.after.0,
            room_celsius: it.room.map(|room| room.0),
        }),
        spacing_difference: file.spacing_difference.map(|it| RimReading {
            difference_m: reading(it.value.0, it.uncertainty.0),
            across_m: it.across.0,
        }),
        rim_step_m: file.rim_step.map(|it| reading(it.value.0, it.uncertainty.0)),
        insulation: file.insulation_resistance.map(|it| InsulationReading {
            ohm: reading(it.value.0, it.uncertainty.0),
            test_volt: it.test_voltage.0,
        }),
    }
}

fn resolved_coil(file: Option<CoilReadingsFile>, conductor: Conductor) -> CoilReadings {
    let Some(file) = file else { return Measured::nothing("").coils[0] };
    CoilReadings {
        turns: file.turns.map(|it| reading(it.value, it.uncertainty.unwrap_or(0.0))),
        resistance_at_celsius: at_celsius(file.resistance.as_ref()),
        free_ends_m: free_ends(file.resistance.as_ref()),
        temperature_taken_as_exact: is_taken_as_exact(file.resistance.as_ref()),
        resistance_ohm: ohm(file.resistance.as_ref(), conductor),
        inner_diameter_m: length(file.inner_diameter),
        outer_diameter_m: length(file.outer_diameter),
        width_m: length(file.width),
        inductance_henry: henry(file.inductance),
        inductance_drop: file.inductance_drop.map(|it| DropReading {
            fraction: reading(it.value.0, it.uncertainty.0),
            hertz: [it.from.0, it.to.0],
        }),
        conductor_mass_kg: kilogram(file.mass),
        offset_m: [file.offset_x, file.offset_y]
            .map(|it: Option<OffsetReading>| it.map(|it| reading(it.value.0, it.uncertainty.0))),
        tilt_rad: [file.tilt_x, file.tilt_y]
            .map(|it: Option<TiltReading>| it.map(|it| reading(it.value.0, it.uncertainty.0))),
    }
}

fn resolved_field(file: PointReading) -> FieldReading {
    FieldReading {
        tesla: reading(file.value.0, file.uncertainty.0),
        current_ampere: file.current.0,
        current_uncertainty_ampere: file.current_uncertainty.map(|u| u.0),
        at_m: file.at.map_or_else(Vector3::zeros, |place| Vector3::from(place.map(|length| length.0))),
    }
}

fn reading(value: f64, standard_uncertainty: f64) -> MeasuredValue {
    MeasuredValue { value, standard_uncertainty }
}

fn length(file: Option<LengthReading>) -> Option<MeasuredValue> {
    file.map(|it| reading(it.value.0, it.uncertainty.0))
}

/// A resistance with its uncertainty: that of the meter, combined with that of the temperature times α R/(1 + α (t − 20
/// °C)).
fn ohm(file: Option<&ResistanceReading>, conductor: Conductor) -> Option<MeasuredValue> {
    let per_kelvin =
        |celsius: f64| conductor.resistance_coefficient_per_kelvin() / conductor.resistance_ratio(celsius);
    file.map(|it| {
        let kelvin = it.at_uncertainty.map_or(0.0, |u| u.0);
        let of_temperature = per_kelvin(at_celsius(Some(it))) * it.value.0 * kelvin;
        reading(it.value.0, it.uncertainty.0.hypot(of_temperature))
    })
}

fn is_taken_as_exact(file: Option<&ResistanceReading>) -> bool {
    file.is_none_or(|it| it.at_uncertainty.is_none())
}

fn at_celsius(file: Option<&ResistanceReading>) -> f64 {
    file.and_then(|it| it.at).map_or(crate::constants::REFERENCE_TEMPERATURE_CELSIUS, |at| at.0)
}

fn free_ends(file: Option<&ResistanceReading>) -> Option<f64> {
    file.and_then(|it| it.free_ends.as_ref()).map(|length| length.0)
}

fn henry(file: Option<InductanceReading>) -> Option<MeasuredValue> {
    file.map(|it| reading(it.value.0, it.uncertainty.0))
}

fn kilogram(file: Option<MassReading>) -> Option<MeasuredValue> {
    file.map(|it| reading(it.value.0, it.uncertainty.0))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Error;

    const MEASURED: &str = r#"{
        "title": "Unlabelled pair from the cellar",
        "connection": "series", "wound_from": "several_reels",
        "resistance": { "value": "7.4 ohm", "uncertainty": "0.04 ohm", "at": "22 degC", "at_uncertainty": "1 K" },
        "overall_wire_diameter": { "value": "1.01 mm", "uncertainty": "0.01 mm" },
        "inner_diameter": { "value": "292 mm", "uncertainty": "1 mm" },
        "outer_diameter": { "value": "311 mm", "uncertainty": "1 mm" },
        "width": { "value": "20 mm", "uncertainty": "0.5 mm" },
        "spacing": { "value": "151 mm", "uncertainty": "0.5 mm" },
        "field": { "value": "1.6 mT", "uncertainty": "0.008 mT", "current": "2 A" },
        "inductance": { "value": "27 mH", "uncertainty": "1 mH" },
        "mass": { "value": "1.9 kg", "uncertainty": "0.05 kg", "of": "copper" },
        "coil_a": {
            "turns": { "value": 130 },
            "resistance": { "value": "3.71 ohm", "uncertainty": "0.02 ohm", "at": "23 degC" },
            "inner_diameter": { "value": "292.2 mm", "uncertainty": "0.5 mm" },
            "inductance_drop": { "value": "0.2 %", "uncertainty": "0.3 %", "from": "100 Hz", "to": "1 kHz" }
        },
        "coil_b": { "mass": { "value": "0.95 kg", "uncertainty": "0.02 kg" },
            "offset_y": { "value": "-0.4 mm", "uncertainty": "0.1 mm" },
            "tilt_x": { "value": "0.2 deg", "uncertainty": "0.1 deg" } },
        "fields": [
            { "value": "0.8 mT", "uncertainty": "4 uT", "current": "1 A", "at": ["0 mm", "0 mm", "30 mm"] },
            { "value": "-1.6 mT", "uncertainty": "8 uT", "current": "-2 A" }
        ],
        "surface_temperature": {
            "value": "41 degC", "uncertainty": "0.5 K", "current": "2 A", "after": "30 min", "room": "22 degC"
        },
        "warm_voltage": {
            "value": "15.9 V", "uncertainty": "0.05 V", "current": "2 A", "current_uncertainty": "10 mA", "after": "30 min"
        },
        "spacing_difference": { "value": "0 mm", "uncertainty": "0.05 mm", "across": "330 mm" },
        "rim_step": { "value": "0.3 mm", "uncertainty": "0.05 mm" },
        "insulation_resistance": { "value": "250 Mohm", "uncertainty": "10 Mohm", "test_voltage": "250 V" }
    }"#;

    #[test]
    fn every_measurement_of_the_format_is_read() {
        let measured = measured_from_text("pair.json", MEASURED).unwrap();
        let field = measured.field_tesla_per_ampere.unwrap();
        assert!((field.value - 0.8e-3).abs() < 1e-18 && (field.standard_uncertainty - 4e-6).abs() < 1e-18);
        assert_eq!(measured.resistance_at_celsius, 22.0);
        assert_eq!(measured.conductor_mass_kg.unwrap().value, 1.9);
        // 1 K changes the resistance by 0.393 % of its value at 20 °C: 7.4 × 0.00393/1.00786 = 0.028 855 Ω, combined
        // with 0.04.
        let u = measured.resistance_ohm.unwrap().standard_uncertainty;
        assert!((u - 0.049_323).abs() < 2e-6 && !measured.temperature_taken_as_exact, "{u}");
        assert_eq!(measured.coils[1].offset_m.map(|it| it.map(|it| it.value)), [None, Some(-0.4e-3)]);
        assert_eq!(measured.coils[1].tilt_rad[0].unwrap().value, 0.2f64.to_radians());
        let [a, b] = measured.coils;
        // 10 mA of 2 A is 0.5 % of 15.9 V: 0.0795 V, combined with 0.05 V. The surface's rise of 19 K goes with the square: by
        // an ammeter of 1 % of reading 2 × 19 K × 1 %/√3 = 0.219 K, combined with 0.5 K.
        let one_percent = Meter { accuracy_of_reading: Some(0.01), accuracy_digits: 0.0, resolution: None };
        let counting = measured.counting_currents(Some(one_percent), 20.0);
        let u = counting.warm_voltage.unwrap().volt.standard_uncertainty;
        assert!((u - 0.093_917).abs() < 1e-6, "{u}");
        let u = counting.surface_temperature.unwrap().celsius.standard_uncertainty;
        assert!((u - 0.546_016).abs() < 1e-6, "{u}");
        let drop = a.inductance_drop.unwrap();
        assert!((drop.fraction.value - 2e-3).abs() < 1e-18 && drop.hertz == [100.0, 1000.0]);
        let warm = measured.warm_voltage.unwrap();
        assert_eq!((warm.volt.value, warm.after_s, warm.room_celsius), (15.9, 1800.0, None));
        assert_eq!(measured.spacing_difference.unwrap().across_m, 0.33);
        assert_eq!(measured.rim_step_m.unwrap().value, 0.3e-3);
        assert_eq!((a.turns.unwrap().standard_uncertainty, a.resistance_at_celsius), (0.0, 23.0));
        assert_eq!((b.resistance_at_celsius, b.conductor_mass_kg.unwrap().value), (20.0, 0.95));
        assert_eq!(measured.fields[0].at_m.z, 0.03);
        assert_eq!((measured.fields[1].at_m.z, measured.fields[1].current_ampere), (0.0, -2.0));
        assert_eq!(measured.surface_temperature.unwrap().after_s, 1800.0);
        assert_eq!(measured.insulation.unwrap().ohm.value, 250e6);
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
            (
                "\"0.02 kg\" }",
                "\"0.02 kg\", \"of\": \"aluminium\" }",
                "`coil_b.mass.of` is aluminium and `mass.of` is copper",
            ),
            ("\"-2 A\"", "\"0 A\"", "`fields[1].current` is 0 A"),
            ("\"292.2 mm\"", "\"2922 m\"", "`coil_a.inner_diameter.value` is 2922 m"),
            ("\"0.5 K\"", "\"0 K\"", "`surface_temperature.uncertainty` is 0 K"),
            ("\"10 Mohm\"", "\"10 mm\"", "is a length, not a resistance"),
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
