//! A field map as text, and its profiles as CSV.

use super::{FieldMap, Profile, Within, WorstOnPlane};
use crate::files::out::csv::{NumberFormat, TableFile};
use crate::paper::page::Page;
use crate::questions::words::notes::told;
use crate::questions::words::origin::on_page;
use crate::questions::words::phrases::model_sentence;
use crate::units::{Dimension, brief, display, fixed, fixed_down, length, unit};

/// The text page. `written` lists the files that were written.
pub fn text(map: &FieldMap, written: &[String]) -> String {
    let mut page = Page::new(&map.provenance.spec_title, &on_page(&map.provenance));
    page.paragraph(model_sentence(map.model));
    if let Some(current) = map.with_room_at_ampere {
        page.paragraph(&format!(
            "The room's field is added to the coils' field at {}.",
            display(current, Dimension::Current, 4)
        ));
    }
    let [x, y, z] = map.centre_field_tesla_per_ampere;
    page.section("Field");
    page.row("at the centre", &display(x.hypot(y).hypot(z), Dimension::FieldConstant, 6));
    page.section("Largest deviation in the bulb");
    match (map.worst_on_axial_plane, map.worst_on_mid_plane) {
        (None, None) => {
            page.paragraph("The spec gives no bulb: the map covers the coils and the space between them.")
        }
        (axial, mid) => {
            worst(&mut page, "axial plane, y = 0", axial);
            worst(&mut page, "mid-plane, z = 0", mid);
        }
    }
    if let Some(within) = &map.within {
        within_section(&mut page, within);
    }
    page.notes(&told(&map.notes));
    if !written.is_empty() {
        page.section("Files");
        written.iter().for_each(|path| page.block(&format!("  {path}")));
    }
    page.into_text()
}

fn worst(page: &mut Page, label: &str, worst: Option<WorstOnPlane>) {
    let value = match worst {
        Some(WorstOnPlane { deviation, at_m }) => {
            let [x, y, z] = at_m.map(|c| length(c, 1).trim_end_matches(" mm").to_owned());
            format!("{} at ({x}, {y}, {z}) mm", fixed(deviation, unit::PERCENT, 3))
        }
        None => "the plane does not cut the bulb".into(),
    };
    page.row(label, &value);
}

/// The limit as the user gave it.
pub(crate) fn limit(within: &Within) -> String {
    brief(within.limit_fraction, Dimension::Fraction)
}

fn within_section(page: &mut Page, within: &Within) {
    page.section(&format!("Within {}, yes or no", limit(within)));
    if let Some(share) = within.bulb_volume_share {
        page.row("share of the bulb's volume within", &fixed_down(share, unit::PERCENT, 1));
    }
    page.row("reach from the centre, mid-plane", &length(within.reach.mid_plane_radius_m, 1));
    page.row("reach from the centre, along the axis", &length(within.reach.axial_half_length_m, 1));
    page.row("centred sphere within, radius", &length(within.reach.sphere_radius_m, 1));
}

/// What lies within the limit, as one line for the head of a table and the key of a picture.
pub(crate) fn within_line(within: &Within) -> String {
    match within.bulb_volume_share {
        Some(share) => format!(
            "|deviation| within {}: {} of the bulb's volume",
            limit(within),
            fixed_down(share, unit::PERCENT, 1)
        ),
        None => format!(
            "|deviation| within {}: a centred sphere of radius {}",
            limit(within),
            length(within.reach.sphere_radius_m, 1)
        ),
    }
}

/// The heading, with a column `within` added if a limit was given.
pub(super) fn with_verdict<'a>(heading: &[&'a str], within: Option<&Within>) -> Vec<&'a str> {
    [heading, if within.is_some() { &["within"] } else { &[] }].concat()
}

/// Adds a row whose last number is the deviation. If a limit was given, a cell 1 or 0 follows: within or not.
pub(super) fn row(table: &mut TableFile, numbers: &[f64], within: Option<&Within>) {
    let cells = numbers.iter().copied().map(Some);
    match within.zip(numbers.last()) {
        None => table.exact(cells),
        Some((within, deviation)) => {
            table.exact_and_text(cells, if within.holds(*deviation) { "1" } else { "0" });
        }
    }
}

/// The profiles as CSV, at full precision.
pub(crate) fn profiles_csv(map: &FieldMap, format: NumberFormat) -> String {
    let within = map.within.as_ref();
    let comments: Vec<String> =
        std::iter::once(map.provenance.to_string()).chain(within.map(within_line)).collect();
    let heading = with_verdict(&["x_m", "y_m", "z_m", "deviation"], within);
    let mut file = TableFile::new(format, &comments, &heading);
    for Profile { direction, distance_m, deviation } in [&map.axis_profile, &map.x_profile, &map.y_profile] {
        for (distance, deviation) in distance_m.iter().zip(deviation) {
            let [x, y, z] = direction.map(|part| part * distance + 0.0);
            row(&mut file, &[x, y, z, *deviation], within);
        }
    }
    file.into_text()
}
