//! The result of a search for windings, as text and CSV.

use super::{Choice, Sizing};
use crate::files::out::csv::{NumberFormat, TableFile};
use crate::paper::columns::columns;
use crate::paper::page::Page;
use crate::physics::test_limits::OF_RISE;
use crate::questions::words::cautions;
use crate::questions::words::cautions::Caution;
use crate::questions::words::notes::{Told, held_words, told};
use crate::questions::words::phrases::percent;
use crate::units::{Dimension, display, fixed, significant, unit};

/// A number of windings; from a million on with three digits.
fn count(number: u64) -> String {
    match number {
        0..1_000_000 => number.to_string(),
        _ => format!("{} million", significant(number as f64 / 1e6, unit::ONE, 3)),
    }
}

/// The page for people.
pub fn text(record: &Sizing) -> String {
    let mut page = Page::new(&record.source.title, &provenance(record));
    let field = |tesla: f64| display(tesla, Dimension::FluxDensity, 4);
    page.section("Wanted");
    page.row("largest field", &field(record.largest_field_tesla));
    if let Some(smallest) = record.smallest_field_tesla {
        page.row("smallest field", &field(smallest));
    }
    page.row("best is", &format!("least {}", record.prefer.name()));
    page.row(
        "looked at",
        &format!(
            "{} windings: {} wires, {} mean radii {} apart",
            count(record.searched),
            record.looked.wires,
            record.looked.mean_radii,
            display(record.looked.mean_radius_step_m, Dimension::Length, 2)
        ),
    );
    page.row("meet every wish", &record.feasible.to_string());
    if !record.best.is_empty() {
        page.section("Best of each wire and connection");
        page.block(&numbered(&record.best, 1));
        let copper = match held_words(record.held) {
            Some(held) => format!("V and W with the copper as warm as it is in the end when held {held}"),
            None => "V and W with the copper at the room's temperature".into(),
        };
        page.paragraph(&format!(
            "At the largest field; {copper}. sp: spacing; dev: worst deviation over the beam; surface: hottest after the \
             time wished. Mass is the conductor's in both coils. Number N is written as winding-N.json."
        ));
    }
    page.list(surface_margin(record).as_deref());
    if !record.along_front.is_empty() {
        page.section("Along the front: more copper, less power");
        page.block(&numbered(&record.along_front, record.best.len() + 1));
    }
    if let Some(conflict) = &record.conflict {
        page.section("Nothing meets every wish");
        page.list(told(&conflict.reasons).iter().map(String::as_str));
        if let Some(nearest) = &conflict.nearest {
            page.block(&table(std::slice::from_ref(nearest)));
        }
    }
    if !record.near_misses.is_empty() {
        page.section("What stopped the near misses");
        let sentences: Vec<String> = record
            .near_misses
            .iter()
            .map(|near| format!("{} ({} windings miss this alone)", near.sentence(), near.stopped_alone))
            .collect();
        page.list(sentences.iter().map(String::as_str));
    }
    page.notes(&told(&record.notes));
    page.section("Winding practice taken");
    page.list(told(&record.looked.practice).iter().map(String::as_str));
    if record.looked.skipped_counts {
        page.list(["the ranges are so wide that turns in a layer or layers were taken in steps"]);
    }
    page.section("Cautions");
    let best = record.safety.as_ref().and_then(|safety| cautions::figures_of("The best winding", safety));
    page.list(best.as_deref());
    let all = [Caution::HotCoils, Caution::InductiveKick, Caution::GunVoltage, Caution::Implants];
    page.list(cautions::sentences(&all));
    page.into_text()
}

/// Which of the windings listed keep the limit of their surface also where the heat model is low.
fn surface_margin(record: &Sizing) -> Option<String> {
    let limit = record.surface_limit_celsius?;
    let listed = record.best.iter().chain(&record.along_front).zip(1..);
    let keeps =
        |choice: &Choice| choice.surface_temperature_upper_celsius.is_some_and(|upper| upper <= limit);
    let numbers: Vec<String> =
        listed.filter(|(choice, _)| keeps(choice)).map(|(_, number)| number.to_string()).collect();
    let all = record.best.len() + record.along_front.len();
    let part = percent(OF_RISE);
    match numbers.len() {
        _ if all == 0 => None,
        0 => Some(format!(
            "The heat model is good to {part} of the rise, and no winding listed keeps the surface's limit by so much: \
             `compare` will call it too close to tell. Wish for a lower limit to find windings that do."
        )),
        count if count == all => None,
        _ => Some(format!(
            "The heat model is good to {part} of the rise. By so much the surface's limit is kept by number {}; of the \
             others `compare` will say that it is too close to tell.",
            numbers.join(", ")
        )),
    }
}

fn table(choices: &[Choice]) -> String {
    let (headings, rows) = cells(choices);
    columns(&headings, &[0, 6], &rows)
}

/// The table of windings numbered as their files are.
fn numbered(choices: &[Choice], first: usize) -> String {
    let (mut headings, mut rows) = cells(choices);
    headings.insert(0, "no.");
    for (row, number) in rows.iter_mut().zip(first..) {
        row.insert(0, number.to_string());
    }
    columns(&headings, &[1, 7], &rows)
}

/// The headings and the cells of the table of windings; the connection has no heading.
pub fn cells(choices: &[Choice]) -> (Vec<&'static str>, Vec<Vec<String>>) {
    let priced = choices.iter().any(|choice| choice.price.is_some());
    let mut headings = vec![
        "wire", "turns", "layers", "radius", "section", "sp", "", "mT/A", "A", "V", "W", "kg", "dev",
        "surface",
    ];
    if priced {
        headings.push("price");
    }
    let millimetres = |si: f64, decimals| fixed(si, unit::MILLIMETRE, decimals).replace(" mm", "");
    let rows: Vec<Vec<String>> = choices
        .iter()
        .map(|choice| {
            let mut row = vec![
                choice.wire.clone(),
                choice.turns.to_string(),
                choice.layers.to_string(),
                millimetres(choice.mean_radius_m, 1),
                format!("{} x {}", millimetres(choice.width_m, 1), millimetres(choice.depth_m, 1)),
                millimetres(choice.spacing_m, 1),
                choice.connection.word().to_owned(),
                significant(choice.field_constant_tesla_per_ampere, unit::MILLITESLA_PER_AMPERE, 4),
                significant(choice.current_ampere, unit::AMPERE, 3),
                significant(choice.voltage_volt, unit::VOLT, 3),
                format!("{:.1}", choice.power_watt),
                format!("{:.2}", choice.conductor_mass_kg),
                choice
                    .worst_beam_deviation
                    .map_or_else(String::new, |worst| display(worst, Dimension::Fraction, 2)),
                choice
                    .surface_temperature_celsius
                    .map_or_else(|| "no end".into(), |celsius| display(celsius, Dimension::Temperature, 3)),
            ];
            if priced {
                row.push(match (&choice.price, &choice.currency) {
                    (Some(price), Some(currency)) => format!("{price:.2} {currency}"),
                    (Some(price), None) => format!("{price:.2}"),
                    _ => String::new(),
                });
            }
            row
        })
        .collect();
    (headings, rows)
}

/// Everything about one winding, as names with their values.
pub fn facts(choice: &Choice) -> Vec<(&'static str, String)> {
    let millimetres = |si: f64| fixed(si, unit::MILLIMETRE, 1);
    let temperature = |celsius: Option<f64>| {
        celsius.map_or_else(|| "no end".into(), |celsius| display(celsius, Dimension::Temperature, 3))
    };
    let section = format!("{} x {}", millimetres(choice.width_m), millimetres(choice.depth_m));
    let mut facts = vec![
        ("wire", choice.wire.clone()),
        (
            "turns per coil",
            format!("{} in {} layers of {}", choice.turns, choice.layers, choice.turns_per_layer),
        ),
        ("mean radius", millimetres(choice.mean_radius_m)),
        ("section, width x depth", section),
        ("spacing", millimetres(choice.spacing_m)),
        ("connection", choice.connection.word().into()),
        ("field constant", display(choice.field_constant_tesla_per_ampere, Dimension::FieldConstant, 4)),
        ("current at the largest field", display(choice.current_ampere, Dimension::Current, 3)),
        ("voltage then", display(choice.voltage_volt, Dimension::Voltage, 3)),
        ("power then", fixed(choice.power_watt, unit::WATT, 1)),
        ("copper then", temperature(choice.copper_temperature_celsius)),
        ("hottest surface", temperature(choice.surface_temperature_celsius)),
        ("mass of the conductor", fixed(choice.conductor_mass_kg, unit::KILOGRAM, 2)),
        ("length of the wire", display(choice.wire_length_m, Dimension::Length, 3)),
    ];
    facts.extend(
        choice
            .worst_beam_deviation
            .map(|worst| ("worst deviation over the beam", display(worst, Dimension::Fraction, 2))),
    );
    facts.extend(choice.price.map(|price| {
        let currency = choice.currency.as_deref().unwrap_or_default();
        ("price of the wire", format!("{price:.2} {currency}").trim_end().to_owned())
    }));
    facts
}

/// The best windings as CSV, SI with the unit in the heading.
pub fn csv(record: &Sizing, format: NumberFormat) -> String {
    const HEADINGS: [&str; 20] = [
        "wire",
        "connection",
        "currency",
        "turns",
        "layers",
        "turns_per_layer",
        "mean_radius_m",
        "width_m",
        "depth_m",
        "spacing_m",
        "field_constant_tesla_per_ampere",
        "current_ampere",
        "copper_temperature_celsius",
        "voltage_volt",
        "power_watt",
        "conductor_mass_kg",
        "wire_length_m",
        "worst_beam_deviation",
        "surface_temperature_celsius",
        "price",
    ];
    let mut file = TableFile::new(format, &[provenance(record)], &HEADINGS);
    for choice in &record.best {
        let mut cells = vec![
            format.text(&choice.wire),
            format.text(choice.connection.word()),
            format.text(choice.currency.as_deref().unwrap_or_default()),
        ];
        let numbers = [
            Some(f64::from(choice.turns)),
            Some(f64::from(choice.layers)),
            Some(f64::from(choice.turns_per_layer)),
            Some(choice.mean_radius_m),
            Some(choice.width_m),
            Some(choice.depth_m),
            Some(choice.spacing_m),
            Some(choice.field_constant_tesla_per_ampere),
            Some(choice.current_ampere),
            choice.copper_temperature_celsius,
            Some(choice.voltage_volt),
            Some(choice.power_watt),
            Some(choice.conductor_mass_kg),
            Some(choice.wire_length_m),
            choice.worst_beam_deviation,
            choice.surface_temperature_celsius,
            choice.price,
        ];
        cells.extend(numbers.map(|number| format.number(number)));
        file.row(&cells);
    }
    file.into_text()
}

/// Program, wishes and date.
fn provenance(record: &Sizing) -> String {
    let date = record.date.as_ref().map(|date| format!("; {date}")).unwrap_or_default();
    record.source.on_page("wishes") + &date
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_of_windings_has_no_more_digits_than_people_read() {
        let counts = [8_259_748, 123_456_789, 999_999, 12].map(count);
        assert_eq!(counts, ["8.26 million", "123 million", "999999", "12"]);
    }
}
