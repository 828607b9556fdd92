//! The uniformity of a pair as text.

use super::page::Page;
use crate::spec::Model;
use crate::uniformity::{RegionDeviation, Uniformity};
use crate::units::{Dimension, display, fixed, unit};

/// The page for people.
pub fn text(record: &Uniformity) -> String {
    let mut page = Page::new(&record.provenance.spec_title, &record.provenance.to_string());
    page.paragraph(model_sentence(record.model));
    if record.with_room {
        page.paragraph("The room's field is added to the coils' field.");
    }
    let [_, _, z] = record.centre_field_tesla_per_ampere;
    page.section("Field");
    page.row("field constant", &display(z, Dimension::FieldConstant, 6));

    page.section(&format!("Reach: |deviation| within {}", percent(record.limit_fraction)));
    page.row("mid-plane radius", &fixed(record.reach.mid_plane_radius_m, unit::MILLIMETRE, 1));
    page.row("axial half-length", &fixed(record.reach.axial_half_length_m, unit::MILLIMETRE, 1));
    page.row("centred sphere, radius", &fixed(record.reach.sphere_radius_m, unit::MILLIMETRE, 1));

    region(&mut page, "Beam region", record.beam.as_ref());
    region(&mut page, "Bulb", record.bulb.as_ref());
    if !record.beam_circles.is_empty() {
        page.section("Effective field of a beam circle, over the centre field");
    }
    for circle in &record.beam_circles {
        page.row(
            &format!("radius {}", fixed(circle.beam_radius_m, unit::MILLIMETRE, 1)),
            &format!(
                "{:.5}; with the centre field in its place e/m comes out {} off",
                circle.effective_field_ratio,
                signed_percent(circle.charge_to_mass_bias_fraction)
            ),
        );
    }
    page.into_text()
}

/// Which geometry the numbers describe.
pub(super) fn model_sentence(model: Model) -> &'static str {
    match model {
        Model::AsBuilt => "Geometry: as built where the spec says so, else as designed.",
        Model::Nominal => "Geometry: as designed; `as_built` is ignored.",
    }
}

/// The rows of one region.
pub(super) fn region(page: &mut Page, heading: &str, deviation: Option<&RegionDeviation>) {
    let Some(deviation) = deviation else { return };
    page.section(heading);
    page.row(
        "worst deviation",
        &format!("{} at {}", signed_percent(deviation.worst_deviation), place(deviation.worst_at_m)),
    );
    page.row("rms deviation", &percent(deviation.rms_deviation));
    // What rounding leaves in a plane where symmetry keeps the direction exactly right.
    let direction = match deviation.worst_direction_error_rad {
        angle if angle < 1e-9 => "none".into(),
        angle => display(angle, Dimension::Angle, 2),
    };
    page.row("largest error of direction", &direction);
}

/// A fraction as percent, three significant digits.
pub(super) fn percent(fraction: f64) -> String {
    display(fraction, Dimension::Fraction, 3)
}

/// A fraction as percent with its sign.
pub(super) fn signed_percent(fraction: f64) -> String {
    let sign = if fraction > 0.0 { "+" } else { "" };
    format!("{sign}{}", percent(fraction))
}

/// A point in millimetres.
pub(super) fn place(point_m: [f64; 3]) -> String {
    let [x, y, z] =
        point_m.map(|coordinate| fixed(coordinate, unit::MILLIMETRE, 1).trim_end_matches(" mm").to_owned());
    format!("({x}, {y}, {z}) mm")
}
