//! Checks the numbers of a file of measurements.

use crate::files::spec::checks::Checks;
use crate::files::spec::limits;
use crate::files::spec::limits::Limits;
use crate::files::spec::measured_file::{
    CoilReadingsFile, DropReading, InductanceReading, LengthReading, MassReading, MeasuredFile,
    ResistanceReading,
};
use crate::files::spec::quantity::Current;
use crate::units::{Dimension, brief};

const FREE_ENDS: Limits = Limits { dimension: Dimension::Length, least: 0.0, most: 100.0 };
const LENGTH: Limits = Limits { dimension: Dimension::Length, least: 1e-6, most: 20.0 };
const FIELD: Limits = Limits { dimension: Dimension::FluxDensity, least: -1.0, most: 1.0 };
const CURRENT: Limits = Limits { dimension: Dimension::Current, least: -1e4, most: 1e4 };
const CURRENT_UNCERTAINTY: Limits = Limits { dimension: Dimension::Current, least: 0.0, most: 1e4 };
const INDUCTANCE: Limits = Limits { dimension: Dimension::Inductance, least: 1e-8, most: 1e3 };
const TEST_VOLTAGE: Limits = Limits { dimension: Dimension::Voltage, least: 1.0, most: 1e4 };
const WARM_VOLTAGE: Limits = Limits { dimension: Dimension::Voltage, least: -1e5, most: 1e5 };
const STEP: Limits = Limits { dimension: Dimension::Length, least: 0.0, most: 20.0 };
const DROP: Limits = Limits { dimension: Dimension::Fraction, least: -1.0, most: 1.0 };
const FREQUENCY: Limits = Limits { dimension: Dimension::Frequency, least: 1.0, most: 1e6 };
const CARRIED: Limits = Limits { dimension: Dimension::Time, least: 1.0, most: 1e7 };

pub(super) fn check(checks: &mut Checks, file: &MeasuredFile) {
    checks.title(&file.title);
    check_resistance(checks, "resistance", file.resistance.as_ref());
    for (path, reading) in [
        ("overall_wire_diameter", &file.overall_wire_diameter),
        ("width", &file.width),
        ("spacing", &file.spacing),
    ] {
        check_length(checks, path, reading.as_ref());
    }
    check_diameters(checks, "", file.inner_diameter.as_ref(), file.outer_diameter.as_ref());
    if let Some(reading) = &file.field {
        check_reading(checks, "field", reading.value.0, reading.uncertainty.0, FIELD);
        check_current(checks, "field", reading.current.0);
        check_current_uncertainty(checks, "field", reading.current_uncertainty.as_ref());
    }
    check_inductance(checks, "inductance", file.inductance.as_ref());
    check_inductance(checks, "opposed_inductance", file.opposed_inductance.as_ref());
    check_inductance(checks, "mutual_inductance", file.mutual_inductance.as_ref());
    check_mass(checks, "mass", file.mass.as_ref());
    for (name, coil) in [("coil_a", &file.coil_a), ("coil_b", &file.coil_b)] {
        if let Some(coil) = coil {
            check_coil(checks, name, coil);
        }
    }
    check_conductors(checks, file);
    for (at, reading) in file.fields.iter().flatten().enumerate() {
        let path = format!("fields[{at}]");
        check_reading(checks, &path, reading.value.0, reading.uncertainty.0, FIELD);
        check_current(checks, &path, reading.current.0);
        check_current_uncertainty(checks, &path, reading.current_uncertainty.as_ref());
        if let Some(place) = &reading.at {
            checks.each_within(&format!("{path}.at"), &place.map(|length| length.0), limits::PLACE);
        }
    }
    if let Some(reading) = &file.surface_temperature {
        let path = "surface_temperature";
        checks.within(&format!("{path}.value"), reading.value.0, limits::COPPER_TEMPERATURE);
        check_uncertainty(checks, path, reading.uncertainty.0, Dimension::TemperatureDifference);
        check_current(checks, path, reading.current.0);
        check_current_uncertainty(checks, path, reading.current_uncertainty.as_ref());
        checks.within(&format!("{path}.after"), reading.after.0, CARRIED);
        checks.within_if(&format!("{path}.room"), reading.room.map(|room| room.0), limits::ROOM_TEMPERATURE);
    }
    if let Some(reading) = &file.warm_voltage {
        let path = "warm_voltage";
        check_reading(checks, path, reading.value.0, reading.uncertainty.0, WARM_VOLTAGE);
        check_current(checks, path, reading.current.0);
        check_current_uncertainty(checks, path, reading.current_uncertainty.as_ref());
        checks.within(&format!("{path}.after"), reading.after.0, CARRIED);
        checks.within_if(&format!("{path}.room"), reading.room.map(|room| room.0), limits::ROOM_TEMPERATURE);
    }
    if let Some(reading) = &file.spacing_difference {
        check_reading(checks, "spacing_difference", reading.value.0, reading.uncertainty.0, STEP);
        checks.within("spacing_difference.across", reading.across.0, LENGTH);
    }
    if let Some(reading) = &file.rim_step {
        check_reading(checks, "rim_step", reading.value.0, reading.uncertainty.0, STEP);
    }
    if let Some(reading) = &file.insulation_resistance {
        let path = "insulation_resistance";
        check_reading(checks, path, reading.value.0, reading.uncertainty.0, limits::INSULATION_RESISTANCE);
        checks.within(&format!("{path}.test_voltage"), reading.test_voltage.0, TEST_VOLTAGE);
    }
}

/// All masses must be of one conductor.
fn check_conductors(checks: &mut Checks, file: &MeasuredFile) {
    let coil = |coil: &Option<CoilReadingsFile>| coil.as_ref().and_then(|coil| coil.mass.as_ref()?.of);
    let stated = [
        ("mass.of", file.mass.as_ref().and_then(|mass| mass.of)),
        ("coil_a.mass.of", coil(&file.coil_a)),
        ("coil_b.mass.of", coil(&file.coil_b)),
    ];
    let mut stated = stated.into_iter().filter_map(|(path, of)| Some((path, of?)));
    let Some((first, of)) = stated.next() else { return };
    if let Some((path, other)) = stated.find(|(_, other)| *other != of) {
        checks.refuse(
            path,
            format!("`{path}` is {} and `{first}` is {}", other.name(), of.name()),
            "both coils are wound of one conductor",
        );
    }
}

fn check_coil(checks: &mut Checks, name: &str, coil: &CoilReadingsFile) {
    let path = |key: &str| format!("{name}.{key}");
    if let Some(turns) = &coil.turns {
        checks.within(&path("turns.value"), turns.value, limits::TURNS);
        checks.within_if(&path("turns.uncertainty"), turns.uncertainty, limits::TURNS_TOLERANCE);
    }
    check_resistance(checks, &path("resistance"), coil.resistance.as_ref());
    check_length(checks, &path("width"), coil.width.as_ref());
    check_diameters(checks, &format!("{name}."), coil.inner_diameter.as_ref(), coil.outer_diameter.as_ref());
    check_inductance(checks, &path("inductance"), coil.inductance.as_ref());
    check_drop(checks, &path("inductance_drop"), coil.inductance_drop.as_ref());
    check_mass(checks, &path("mass"), coil.mass.as_ref());
    for (key, offset) in [("offset_x", &coil.offset_x), ("offset_y", &coil.offset_y)] {
        if let Some(it) = offset {
            check_reading(checks, &path(key), it.value.0, it.uncertainty.0, limits::OFFSET);
        }
    }
    for (key, tilt) in [("tilt_x", &coil.tilt_x), ("tilt_y", &coil.tilt_y)] {
        if let Some(it) = tilt {
            check_reading(checks, &path(key), it.value.0, it.uncertainty.0, limits::TILT);
        }
    }
}

fn check_resistance(checks: &mut Checks, path: &str, reading: Option<&ResistanceReading>) {
    let Some(reading) = reading else { return };
    check_reading(checks, path, reading.value.0, reading.uncertainty.0, limits::COIL_RESISTANCE);
    checks.within_if(&format!("{path}.at"), reading.at.map(|at| at.0), limits::COPPER_TEMPERATURE);
    checks.within_if(
        &format!("{path}.at_uncertainty"),
        reading.at_uncertainty.map(|u| u.0),
        limits::TEMPERATURE_UNCERTAINTY,
    );
    checks.within_if(&format!("{path}.free_ends"), reading.free_ends.map(|length| length.0), FREE_ENDS);
}

fn check_length(checks: &mut Checks, path: &str, reading: Option<&LengthReading>) {
    if let Some(reading) = reading {
        check_reading(checks, path, reading.value.0, reading.uncertainty.0, LENGTH);
    }
}

/// `of` is the path of the object with the diameters, including its final point.
fn check_diameters(
    checks: &mut Checks,
    of: &str,
    inner: Option<&LengthReading>,
    outer: Option<&LengthReading>,
) {
    let [inner_path, outer_path] = ["inner_diameter", "outer_diameter"].map(|key| format!("{of}{key}"));
    check_length(checks, &inner_path, inner);
    check_length(checks, &outer_path, outer);
    if let (Some(inner), Some(outer)) = (inner, outer)
        && checks.sound(&[&inner_path, &outer_path])
        && inner.value.0 >= outer.value.0
    {
        checks.refuse(
            &format!("{outer_path}.value"),
            format!(
                "the outer diameter is {} and the inner one {}",
                brief(outer.value.0, Dimension::Length),
                brief(inner.value.0, Dimension::Length)
            ),
            "the outer diameter must be the larger one",
        );
    }
}

fn check_current(checks: &mut Checks, of: &str, current_ampere: f64) {
    let path = format!("{of}.current");
    checks.within(&path, current_ampere, CURRENT);
    if current_ampere == 0.0 {
        let message = format!("`{path}` is 0 A");
        let hint = match of {
            "warm_voltage" => "a voltage tells about the coils only while a current flows",
            "surface_temperature" => "a surface tells about the coils only while a current flows",
            _ => "a field tells about the coils only while a current flows",
        };
        checks.refuse(&path, message, hint);
    }
}

fn check_current_uncertainty(checks: &mut Checks, of: &str, uncertainty: Option<&Current>) {
    checks.within_if(&format!("{of}.current_uncertainty"), uncertainty.map(|it| it.0), CURRENT_UNCERTAINTY);
}

fn check_inductance(checks: &mut Checks, path: &str, reading: Option<&InductanceReading>) {
    if let Some(reading) = reading {
        check_reading(checks, path, reading.value.0, reading.uncertainty.0, INDUCTANCE);
    }
}

fn check_drop(checks: &mut Checks, path: &str, reading: Option<&DropReading>) {
    let Some(reading) = reading else { return };
    check_reading(checks, path, reading.value.0, reading.uncertainty.0, DROP);
    let [from, to] = ["from", "to"].map(|key| format!("{path}.{key}"));
    checks.within(&from, reading.from.0, FREQUENCY);
    checks.within(&to, reading.to.0, FREQUENCY);
    if checks.sound(&[&from, &to]) && reading.from.0 >= reading.to.0 {
        checks.refuse(
            &to,
            format!("`{to}` is not above `{from}`"),
            "a shorted turn shows at the higher of two frequencies, such as 100 Hz and 1 kHz",
        );
    }
}

fn check_mass(checks: &mut Checks, path: &str, reading: Option<&MassReading>) {
    if let Some(reading) = reading {
        check_reading(checks, path, reading.value.0, reading.uncertainty.0, limits::MASS);
    }
}

fn check_reading(checks: &mut Checks, path: &str, value: f64, uncertainty: f64, limits: Limits) {
    checks.within(&format!("{path}.value"), value, limits);
    check_uncertainty(checks, path, uncertainty, limits.dimension);
}

fn check_uncertainty(checks: &mut Checks, path: &str, uncertainty: f64, dimension: Dimension) {
    let allowed = uncertainty > 0.0 && uncertainty.is_finite();
    if !allowed {
        checks.refuse(
            &format!("{path}.uncertainty"),
            format!("`{path}.uncertainty` is {}", brief(uncertainty, dimension)),
            "every measurement has a standard uncertainty; write one larger than zero",
        );
    }
}
