//! One orbit in words: as a text page, and its path as CSV.

pub mod chart;

use crate::files::out::csv::{NumberFormat, TableFile};
use crate::paper::page::Page;
use crate::physics::beam::{Bias, FieldLine, Halt};
use crate::physics::safety::SafetyFigures;
use crate::questions::orbit::{Orbit, PathRow};
use crate::questions::words::cautions::{Caution, sentences_with};
use crate::questions::words::notes::told;
use crate::questions::words::origin::on_page;
use crate::questions::words::phrases::{
    line_origin, model_sentence, percent_of, place, signed_percent, volts,
};
use crate::units::{Dimension, display, fixed, length, scientific, unit};

/// Cautions for a bench whose beam is on.
pub(super) const BEAM_CAUTIONS: [Caution; 4] =
    [Caution::GunVoltage, Caution::EvacuatedGlass, Caution::HotCoils, Caution::Implants];

/// The orbit as a text page.
pub fn text(orbit: &Orbit) -> String {
    let mut page = Page::new(&orbit.provenance.spec_title, &on_page(&orbit.provenance));
    page.paragraph(model_sentence(orbit.model));
    page.section("Setting");
    page.row("gun voltage, as the meter shows", &volts(orbit.gun_voltage_volt));
    if orbit.beam_voltage_volt != orbit.gun_voltage_volt {
        page.row("what the beam gets of it", &volts(orbit.beam_voltage_volt));
    }
    page.row("current", &display(orbit.current_ampere, Dimension::Current, 4));
    page.row("gun tilt", &display(orbit.gun_tilt_rad, Dimension::Angle, 3));
    page.row("coil field at the centre", &display(orbit.centre_field_tesla, Dimension::FluxDensity, 5));
    line_row(&mut page, &orbit.line);
    page.row("room field (x, y, z)", &room_field(orbit.room_field_tesla));
    electron(&mut page, orbit);
    circle(&mut page, orbit);
    page.section("Where it ends");
    page.paragraph(&ending(orbit));
    if let Some(bias) = &orbit.bias {
        page.section("e/m from this setting, read without error");
        bias_rows(&mut page, bias, &orbit.line);
    }
    page.section("Accuracy");
    page.paragraph(&format!(
        "Integrated in {} steps to a local tolerance of {}; kinetic energy conserved to {}.",
        orbit.integration_steps,
        scientific(orbit.tolerance, 1),
        scientific(orbit.energy_drift, 1)
    ));
    notes(&mut page, &told(&orbit.notes), &orbit.safety);
    page.into_text()
}

/// Adds a row on the line B = k I if it comes from a calibration.
pub(crate) fn line_row(page: &mut Page, line: &FieldLine) {
    if line.calibration.is_some() {
        page.row(
            "line B = k I",
            &format!(
                "k = {} ({})",
                display(line.slope.tesla_per_ampere, Dimension::FieldConstant, 5),
                line_origin(line)
            ),
        );
    }
}

fn electron(page: &mut Page, orbit: &Orbit) {
    page.section("Electron");
    page.row("speed", &format!("{} m/s", scientific(orbit.speed_m_per_s, 6)));
    page.row("kinetic energy", &format!("{} J", scientific(orbit.kinetic_energy_joule, 6)));
    page.row("momentum", &format!("{} kg m/s", scientific(orbit.momentum_kg_m_per_s, 6)));
}

fn circle(page: &mut Page, orbit: &Orbit) {
    let millimetres = |known_m: Option<f64>| match known_m {
        Some(length_m) => length(length_m, 2),
        None => "none".into(),
    };
    let pair = |real: String, uniform: Option<String>| match uniform {
        Some(uniform) => format!("{real}; in a uniform field {uniform}"),
        None => real,
    };
    page.section("Circle");
    page.row(
        "radius in the beam plane",
        &pair(millimetres(orbit.read_radius_m), Some(millimetres(orbit.uniform_field_radius_m))),
    );
    page.row("radius from √(2 m V/e)/(k I)", &millimetres(orbit.textbook_radius_m));
    if orbit.scale_radius_m != orbit.read_radius_m {
        page.row("radius as read on the scale", &millimetres(orbit.scale_radius_m));
    }
    page.row("diameter as read on the scale", &millimetres(orbit.scale_diameter_m));
    page.row("radius of curvature at the gun", &millimetres(orbit.start_curvature_radius_m));
    page.row("helix radius at the gun", &millimetres(orbit.helix_radius_m));
    let doubled = if orbit.whole_turn { "" } else { " (twice the first half turn)" };
    if let Some(pitch_m) = orbit.pitch_m {
        let real = format!("{}{doubled}", millimetres(Some(pitch_m)));
        page.row(
            "pitch, along +z",
            &pair(real, orbit.uniform_field_pitch_m.map(|pitch| millimetres(Some(pitch)))),
        );
    }
    if let Some(period_s) = orbit.period_s {
        let nanoseconds = |time| display(time, Dimension::Time, 5);
        let real = format!("{}{doubled}", nanoseconds(period_s));
        page.row("time of one turn", &pair(real, orbit.uniform_field_period_s.map(nanoseconds)));
    }
}

fn ending(orbit: &Orbit) -> String {
    let strike = orbit.strikes.as_ref().map(|strike| place([strike.x_m, strike.y_m, strike.z_m]));
    let at = strike.unwrap_or_default();
    match orbit.halt {
        Halt::Bulb => format!("The beam strikes the glass at {at}."),
        Halt::Gun => format!("The beam comes round and strikes the gun from behind at {at}."),
        Halt::GoneRound => "The beam makes the turns asked for without striking anything.".into(),
        Halt::LengthLimit => {
            "The beam neither comes round nor strikes anything as far as it was followed.".into()
        }
    }
}

/// Adds the rows on the bias at one setting, part by part.
fn bias_rows(page: &mut Page, bias: &Bias, line: &FieldLine) {
    page.row(
        "with the centre field constant",
        &format!(
            "{} C/kg, {} off (k = {}, {})",
            scientific(bias.apparent_charge_to_mass_coulomb_per_kg, 6),
            signed_percent(bias.bias_fraction),
            display(line.slope.tesla_per_ampere, Dimension::FieldConstant, 6),
            line_origin(line)
        ),
    );
    if let Some(corrected) = bias.with_beam_radius_correction_fraction {
        page.row("with the beam-radius correction", &format!("{} off", signed_percent(corrected)));
    }
    for (cause, part) in bias.parts.named() {
        page.row(&format!("  from {cause}"), &signed_percent(part));
    }
    if bias.standard_uncertainty_fraction > 0.0 {
        page.row("u from meters and line", &percent_of(bias.standard_uncertainty_fraction, 2));
    }
}

/// Adds the notes and cautions with which every page about the beam ends.
pub(crate) fn notes(page: &mut Page, notes: &[String], safety: &SafetyFigures) {
    page.notes(notes);
    page.section("Cautions");
    page.list(sentences_with(&BEAM_CAUTIONS, safety).iter().map(String::as_str));
}

fn room_field(field: Option<[f64; 3]>) -> String {
    match field {
        None => "not known; taken as none".into(),
        Some(field) => {
            let [x, y, z] =
                field.map(|part| fixed(part, unit::MICROTESLA, 1).trim_end_matches(" µT").to_owned());
            format!("({x}, {y}, {z}) µT")
        }
    }
}

/// The path as CSV, at full precision.
pub(crate) fn path_csv(orbit: &Orbit, format: NumberFormat) -> String {
    let heading = ["time_s", "x_m", "y_m", "z_m", "vx_m_per_s", "vy_m_per_s", "vz_m_per_s"];
    let mut file = TableFile::new(format, &[orbit.provenance.to_string()], &heading);
    for row in &orbit.path {
        let PathRow { time_s, x_m, y_m, z_m, vx_m_per_s, vy_m_per_s, vz_m_per_s } = *row;
        file.exact([time_s, x_m, y_m, z_m, vx_m_per_s, vy_m_per_s, vz_m_per_s].map(Some));
    }
    file.into_text()
}
