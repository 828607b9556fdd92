//! The list of stock wires as text.

use crate::pair::wires::{WireList, WireRecord};
use crate::paper::page::Page;
use crate::units::{Dimension, brief, length, significant, unit};
use std::fmt::Write;

/// The list for people: one line for each size with its two builds, and the sources of the figures below.
pub fn text(list: &WireList) -> String {
    let title = match list.near_m {
        Some(near) => format!("Stock copper wires nearest to {} bare", brief(near, Dimension::Length)),
        None => "Stock copper wires".to_owned(),
    };
    let mut page = Page::new(
        &title,
        "Diameter over the enamel is the largest that the standard allows. Mass is the bare conductor's, and \
         resistance is at 20 °C. A spec may also give both diameters itself.",
    );
    let gauges = |gauge: bool| list.wires.iter().filter(move |record| is_gauge(record) == gauge);
    for (gauge, heading, builds) in
        [(true, "Gauges", ["single", "heavy"]), (false, "Metric sizes", ["grade 1", "grade 2"])]
    {
        let records: Vec<_> = gauges(gauge).collect();
        if records.is_empty() {
            continue;
        }
        page.section(heading);
        page.block(&table(&records, builds));
        page.paragraph("");
        if gauge {
            page.list([list.gauge_source]);
        }
        for origin in origins(&records) {
            page.list([origin.as_str()]);
        }
    }
    page.into_text()
}

fn is_gauge(record: &WireRecord) -> bool {
    record.wire.size.starts_with("AWG")
}

/// One line for each size.
fn table(records: &[&WireRecord], builds: [&str; 2]) -> String {
    let mut text = format!(
        "  {:<10}{:>10}{:>14}{:>14}{:>10}{:>10}\n",
        "size",
        "bare mm",
        format!("{} mm", builds[0]),
        format!("{} mm", builds[1]),
        "g/m",
        "mΩ/m"
    );
    for record in records {
        let overall = |build: &str| {
            let of_build = records
                .iter()
                .find(|other| other.wire.size == record.wire.size && other.wire.build.name() == build);
            of_build.map_or_else(String::new, |other| millimetres(other.wire.overall_diameter_m))
        };
        // Both builds of a size are on the line of the first.
        if record.wire.build.name() != builds[0] {
            continue;
        }
        let _ = writeln!(
            text,
            "  {:<10}{:>10}{:>14}{:>14}{:>10}{:>10}",
            record.wire.size,
            millimetres(record.wire.bare_diameter_m),
            overall(builds[0]),
            overall(builds[1]),
            significant(record.conductor_kg_per_m, unit::GRAM_PER_METRE, 4),
            significant(record.resistance_at_20_celsius_ohm_per_m, unit::MILLIOHM_PER_METRE, 4),
        );
    }
    text
}

/// In whole micrometres, as in wire tables.
fn millimetres(metres: f64) -> String {
    let text = length(metres, 3);
    text.trim_end_matches(" mm").to_owned()
}

/// Each source once, with how its figures were obtained and for which sizes.
fn origins(records: &[&WireRecord]) -> Vec<String> {
    let mut seen: Vec<(&str, &str, Vec<&str>)> = Vec::new();
    for record in records {
        let wire = &record.wire;
        match seen.iter_mut().find(|(source, status, _)| (*source, *status) == (wire.source, wire.status)) {
            Some((_, _, sizes)) if sizes.last() == Some(&wire.size.as_str()) => {}
            Some((_, _, sizes)) => sizes.push(&wire.size),
            None => seen.push((wire.source, wire.status, vec![&wire.size])),
        }
    }
    let sizes_of = |sizes: &[&str]| match sizes {
        [] => String::new(),
        _ if sizes.len() <= 4 => sizes.join(", "),
        [first, .., last] => format!("{} sizes from {first} to {last}", sizes.len()),
        [only] => (*only).to_owned(),
    };
    seen.iter().map(|(source, status, sizes)| format!("{source}: {status} ({})", sizes_of(sizes))).collect()
}
