//! The uniformity of a pair as text.

use super::{RegionDeviation, Uniformity};
use crate::paper::page::Page;
use crate::physics::field::AxisTerms;
use crate::questions::words::notes::told;
use crate::questions::words::origin::on_page;
use crate::questions::words::phrases::{model_sentence, percent, place, signed_percent};
use crate::units::{Dimension, display, length, significant, unit};

/// The page for people.
pub fn text(record: &Uniformity) -> String {
    let mut page = Page::new(&record.provenance.spec_title, &on_page(&record.provenance));
    page.paragraph(model_sentence(record.model));
    if let Some(room) = &record.room {
        page.paragraph(&format!(
            "The room's field is added to the coils' field at {}; errors of direction are against the coils' own field.",
            display(room.current_ampere, Dimension::Current, 3)
        ));
    }
    let [_, _, z] = record.centre_field_tesla_per_ampere;
    page.section("Field");
    page.row("field constant", &display(z, Dimension::FieldConstant, 6));
    if let Some(room) = &record.room {
        let [x, y, z] = room.centre_field_tesla;
        page.row(
            "centre field, room included",
            &format!(
                "{}, {} off the coils' own",
                display(x.hypot(y).hypot(z), Dimension::FluxDensity, 4),
                display(room.direction_error_rad, Dimension::Angle, 2)
            ),
        );
    }
    axis_terms(&mut page, record.axis_terms.as_ref());

    page.section(&format!("Reach: |deviation| within {}", percent(record.limit_fraction)));
    page.row("mid-plane radius", &length(record.reach.mid_plane_radius_m, 1));
    page.row("axial half-length", &length(record.reach.axial_half_length_m, 1));
    page.row("centred sphere, radius", &length(record.reach.sphere_radius_m, 1));

    region(&mut page, "Beam region", record.beam.as_ref());
    region(&mut page, "Bulb", record.bulb.as_ref());
    if !record.beam_circles.is_empty() {
        page.section("Effective field of a beam circle, over the centre field");
    }
    for circle in &record.beam_circles {
        page.row(
            &format!("radius {}", length(circle.beam_radius_m, 1)),
            &format!(
                "{:.5}; using the centre field instead shifts e/m by {}",
                circle.effective_field_ratio,
                signed_percent(circle.charge_to_mass_bias_fraction)
            ),
        );
    }
    page.notes(&told(&record.notes));
    page.into_text()
}

/// The row that describes a pair to its builder: the second- and fourth-order terms along the axis, and the odd ones of
/// an unequal pair.
pub(crate) fn axis_terms(page: &mut Page, terms: Option<&AxisTerms>) {
    let Some(terms) = terms else { return };
    let term = |coefficient: f64, power: &str| {
        let sign = if coefficient < 0.0 { '−' } else { '+' };
        format!(" {sign} {} {power}", significant(coefficient.abs(), unit::ONE, 3))
    };
    // The odd terms of a mirror-symmetric pair are only rounding errors.
    let odd = |coefficient: f64, power: &str, negligible: f64| {
        if coefficient.abs() < negligible { String::new() } else { term(coefficient, power) }
    };
    let series = [
        odd(terms.first_order_per_m, "z", 1e-6),
        term(terms.second_order_per_m2, "z²"),
        odd(terms.third_order_per_m3, "z³", 1e-4),
        term(terms.fourth_order_per_m4, "z⁴"),
    ];
    page.row("along the axis, z in metres", &format!("B/B_centre = 1{} + …", series.concat()));
}

/// The rows of one region.
pub(crate) fn region(page: &mut Page, heading: &str, deviation: Option<&RegionDeviation>) {
    let Some(deviation) = deviation else { return };
    page.section(heading);
    page.row(
        "worst deviation",
        &format!("{} at {}", signed_percent(deviation.worst_deviation), place(deviation.worst_at_m)),
    );
    page.row("rms deviation", &percent(deviation.rms_deviation));
    // Below this there is only rounding, in a plane where symmetry keeps the direction exact.
    let direction = match deviation.worst_direction_error_rad {
        angle if angle < 1e-9 => "none".into(),
        angle => display(angle, Dimension::Angle, 2),
    };
    page.row("largest error of direction", &direction);
}
