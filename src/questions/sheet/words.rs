//! The sheet as text.

use super::{Sheet, SupplyReach};
use crate::paper::page::Page;
use crate::physics::safety::SafetyFigures;
use crate::physics::spacing::Spacings;
use crate::questions::uniformity::words::{axis_terms, region};
use crate::questions::words::cautions;
use crate::questions::words::cautions::Caution;
use crate::questions::words::notes::{Told, told};
use crate::questions::words::origin::on_page;
use crate::questions::words::phrases::{model_sentence, percent, signed_percent, with_expanded};
use crate::units::{Dimension, display, fixed, fixed_down, fixed_up, length, uncertain, unit};

/// The page for people.
pub fn text(record: &Sheet) -> String {
    let mut page = Page::new(&record.provenance.spec_title, &on_page(&record.provenance));
    page.paragraph(model_sentence(record.model));
    field(&mut page, record);
    region(&mut page, "Deviation over the beam region", record.beam.as_ref());
    region(&mut page, "Deviation over the bulb", record.bulb.as_ref());
    winding(&mut page, record);
    circuit(&mut page, record);
    heat(&mut page, record);
    page.notes(&told(&record.notes));
    page.section("Cautions");
    let figures = SafetyFigures {
        reliable_continuous_current_ampere: Some(record.continuous_current_range_ampere[0]),
        caution_distance_m: record.caution_distance_m,
    };
    page.list(cautions::sentences_with(&Caution::ALL, &figures).iter().map(String::as_str));
    page.into_text()
}

fn field(page: &mut Page, record: &Sheet) {
    page.section("Field");
    let constant = record.field_constant_tesla_per_ampere;
    match record.field_constant_standard_uncertainty_tesla_per_ampere {
        Some(u) => page.row(
            "field constant",
            &format!("{}, standard uncertainty", uncertain(constant, u, Dimension::FieldConstant)),
        ),
        None => page.row(
            "field constant",
            &format!(
                "{} (no `build_tolerance`, no uncertainty)",
                display(constant, Dimension::FieldConstant, 5)
            ),
        ),
    }
    if let Some(calibrated) = &record.calibrated {
        let slope = &calibrated.slope;
        let constant = with_expanded(slope.tesla_per_ampere, slope.expanded_uncertainty());
        let factor = slope.uncertainty.map_or(String::new(), |uncertainty| {
            format!(", U, coverage factor {:.2}", uncertainty.coverage_factor)
        });
        let due = calibrated.next_due.map_or(String::new(), |due| format!("; next due {due}"));
        page.row("calibrated", &format!("{constant}{factor}: {}{due}", calibrated.origin));
    }
    if let (Some(limit), Some(field)) = (record.current_limit_ampere, record.field_at_current_limit_tesla) {
        let room = match record.room_axial_tesla {
            Some(room) => format!(", of which the room's {}", display(room, Dimension::FluxDensity, 3)),
            None => String::new(),
        };
        page.row(
            "field at the current limit",
            &format!(
                "{} at {}{room}",
                display(field, Dimension::FluxDensity, 4),
                display(limit, Dimension::Current, 3)
            ),
        );
    }
    axis_terms(page, record.axis_terms.as_ref());
    if let Some(spacings) = &record.spacings {
        spacing(page, spacings);
    }
    if let Some(distance) = record.caution_distance_m {
        page.row(
            "under 0.5 mT beyond",
            &format!(
                "{} from the centre, at the current limit, the room's field added",
                fixed_up(distance, unit::METRE, 2)
            ),
        );
    }
}

fn spacing(page: &mut Page, spacings: &Spacings) {
    let with_worst = |spacing_m: f64, worst: Option<f64>| {
        let spacing = length(spacing_m, 1);
        match worst {
            Some(worst) => format!("{spacing}; worst over the beam, as designed, {}", signed_percent(worst)),
            None => spacing,
        }
    };
    if let Some(worst) = spacings.worst_beam_deviation_at_one_radius {
        page.row(
            "spacing of one radius",
            &format!("worst over the beam, as designed, {}", signed_percent(worst)),
        );
    }
    page.row(
        "spacing, second order nil",
        &with_worst(spacings.spacing_second_order_m, spacings.worst_beam_deviation_at_second_order),
    );
    if let Some(optimum) = spacings.spacing_beam_optimum_m {
        page.row(
            "spacing, best for the beam",
            &with_worst(optimum, spacings.worst_beam_deviation_at_beam_optimum),
        );
    }
}

fn winding(page: &mut Page, record: &Sheet) {
    let layout = &record.layout;
    page.section("Winding");
    let assumed = if layout.assumed { " (assumed: the densest whole-layer winding)" } else { "" };
    page.row("layers × turns per layer", &format!("{} × {}{assumed}", layout.layers, layout.turns_per_layer));
    page.row("fill factor", &format!("{:.3}, copper over section", layout.fill_factor));
    page.row(
        "section taken",
        &format!("{} by the wires with enamel, each in its square", percent(layout.occupancy)),
    );
    page.row(
        "section needed",
        &format!("{} wide, {} deep", length(layout.needed_width_m, 2), length(layout.needed_depth_m, 2)),
    );
    page.row("mean radius if at the bottom", &length(layout.bottom_mean_radius_m, 2));
    page.row("wire, both coils", &fixed(record.wire_length_m, unit::METRE, 1));
    page.row("conductor mass, both coils", &display(record.conductor_mass_kg, Dimension::Mass, 3));
}

fn circuit(page: &mut Page, record: &Sheet) {
    page.section("Circuit");
    page.row("connected in", record.connection.word());
    page.row("resistance at 20 °C", &display(record.resistance_at_20_celsius_ohm, Dimension::Resistance, 4));
    page.row(
        &format!("resistance at {}", fixed(record.room_temperature_celsius, unit::CELSIUS, 1)),
        &format!(
            "{}, and leads {}",
            display(record.resistance_at_room_temperature_ohm, Dimension::Resistance, 4),
            display(record.lead_resistance_ohm, Dimension::Resistance, 3)
        ),
    );
    for drive in &record.drives {
        page.row(&format!("supply, coils in {}", drive.connection.word()), &drive_sentence(drive));
    }
    page.row("inductance", &display(record.inductance_henry, Dimension::Inductance, 4));
    page.row("one coil alone", &display(record.coil_self_inductance_henry, Dimension::Inductance, 4));
    page.row("mutual inductance", &display(record.mutual_inductance_henry, Dimension::Inductance, 4));
    page.row("time constant L/R", &display(record.time_constant_s, Dimension::Time, 3));
    if let Some(energy) = record.stored_energy_joule {
        page.row("energy at the current limit", &display(energy, Dimension::Energy, 3));
    }
    let per_square = record.axial_force_newton_per_ampere_squared;
    let kind = if per_square >= 0.0 { "attract" } else { "repel" };
    let at_limit = match record.axial_force_newton {
        Some(force) => format!(", {} at the current limit", display(force.abs(), Dimension::Force, 3)),
        None => String::new(),
    };
    page.row(
        "force between the coils",
        &format!("{}/A²{at_limit}; they {kind}", display(per_square.abs(), Dimension::Force, 3)),
    );
}

fn heat(page: &mut Page, record: &Sheet) {
    page.section("Heat");
    let heating = &record.heating;
    page.row(
        "continuous current",
        &format!(
            "{}, limited by {}",
            fixed_down(heating.continuous_current_ampere, unit::AMPERE, 2),
            heating.limited_by.sentence()
        ),
    );
    let [low, high] = record.continuous_current_range_ampere;
    page.row(
        "to rely on",
        &format!(
            "{}, the lower end: over all that is assumed up to {}; a warm-up test is better than any prediction",
            fixed_down(low, unit::AMPERE, 2),
            fixed(high, unit::AMPERE, 2)
        ),
    );
}

fn drive_sentence(drive: &SupplyReach) -> String {
    let needs = match (drive.voltage_at_current_limit_volt, drive.power_at_current_limit_watt) {
        (Some(volt), Some(watt)) => format!(
            "{} and {} at the current limit",
            display(volt, Dimension::Voltage, 3),
            display(watt, Dimension::Power, 3)
        ),
        _ => "current limit not known".into(),
    };
    let gives = format!(
        "{} gives {}",
        display(drive.largest_current_ampere, Dimension::Current, 3),
        display(drive.largest_field_tesla, Dimension::FluxDensity, 4)
    );
    match drive.reaches_current_limit {
        Some(true) => format!("reaches its current limit ({needs}); {gives}"),
        Some(false) => format!("cannot reach its current limit ({needs}); at most {gives}"),
        None if drive.voltage_at_current_limit_volt.is_some() => {
            format!("voltage limit not known ({needs}); if it is enough, {gives}")
        }
        None => format!("{needs}; at most {gives}"),
    }
}
