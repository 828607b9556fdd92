//! Options side by side, as rows of cells: the one source of text, CSV, page and workbook.

use super::{Comparison, NeedResult, PairOption};
use crate::files::out::csv::{NumberFormat, TableFile};
use crate::paper::columns::columns;
use crate::paper::page::Page;
use crate::questions::words::phrases::{percent_of, signed_percent};
use crate::units::{Dimension, display, length};

/// A row of the comparison for people: what it is, and one cell an option.
pub struct Row {
    /// What the row tells.
    pub name: String,
    /// One cell an option.
    pub cells: Vec<String>,
}

/// The rows of figures.
pub fn rows(record: &Comparison) -> Vec<Row> {
    let row = |name: &str, of: &dyn Fn(&PairOption) -> String| Row {
        name: name.into(),
        cells: record.options.iter().map(of).collect(),
    };
    let optional = |value: Option<f64>, show: &dyn Fn(f64) -> String| value.map_or_else(|| "-".into(), show);
    let in_unit = |dimension: Dimension| move |value: f64| display(value, dimension, 3);
    // At a working current the copper may warm without end.
    let then = |option: &PairOption, value: Option<f64>, dimension: Dimension| match value {
        None if option.working_current_ampere.is_some() => "no end".into(),
        value => optional(value, &in_unit(dimension)),
    };
    let millimetres = |value: f64| length(value, 1);
    vec![
        row("field constant", &|o| display(o.field_constant_tesla_per_ampere, Dimension::FieldConstant, 4)),
        row("its standard uncertainty", &|o| {
            optional(o.field_constant_standard_uncertainty_tesla_per_ampere, &|u| {
                percent_of(u / o.field_constant_tesla_per_ampere.abs(), 2)
            })
        }),
        row("largest field", &|o| optional(o.largest_field_tesla, &in_unit(Dimension::FluxDensity))),
        row(
            "beam radii at highest voltage",
            &|o| match (o.smallest_beam_radius_m, o.largest_beam_radius_m) {
                (Some([_, smallest]), Some(largest)) if smallest <= largest => {
                    format!("{} to {}", millimetres(smallest), millimetres(largest))
                }
                (Some(_), Some(_)) => "none inside the bulb".into(),
                _ => "-".into(),
            },
        ),
        row("worst deviation over beam", &|o| optional(o.worst_beam_deviation, &signed_percent)),
        row("bias of e/m over beam", &|o| match o.charge_to_mass_bias_fraction {
            Some([low, high]) => format!("{} to {}", signed_percent(low), signed_percent(high)),
            None => "-".into(),
        }),
        row("working current", &|o| optional(o.working_current_ampere, &in_unit(Dimension::Current))),
        row("copper then", &|o| then(o, o.copper_temperature_celsius, Dimension::Temperature)),
        row("voltage then", &|o| then(o, o.voltage_volt, Dimension::Voltage)),
        row("power then", &|o| then(o, o.power_watt, Dimension::Power)),
        row("warm-up drift then", &|o| match (o.warm_up_drift_fraction, o.working_current_ampere) {
            (Some(drift), _) => signed_percent(drift),
            (None, Some(_)) => "no steady state".into(),
            (None, None) => "-".into(),
        }),
        row("surface then", &|o| optional(o.surface_temperature_celsius, &in_unit(Dimension::Temperature))),
        row("continuous current", &|o| display(o.continuous_current_ampere, Dimension::Current, 3)),
        row("limited by", &|o| o.limited_by.clone()),
        row("field at that current", &|o| display(o.continuous_field_tesla, Dimension::FluxDensity, 3)),
        row("copper mass", &|o| display(o.conductor_mass_kg, Dimension::Mass, 3)),
        row("outer diameter", &|o| millimetres(o.outer_diameter_m)),
        row("length along the axis", &|o| millimetres(o.overall_length_m)),
        row("price", &|o| match (o.price, &o.currency) {
            (Some(price), Some(currency)) => format!("{price:.2} {currency}"),
            (Some(price), None) => format!("{price:.2}"),
            _ => "not stated".into(),
        }),
    ]
}

/// The rows of needs; a need missed is said in words, so that no colour is needed.
pub fn need_rows(record: &Comparison) -> Vec<Row> {
    record
        .needs
        .iter()
        .map(|need| Row {
            name: format!("{}, {}", need.name, need.wanted),
            cells: need.results.iter().map(verdict).collect(),
        })
        .collect()
}

/// How a need is met, in words.
pub fn verdict(result: &NeedResult) -> String {
    match (result.met, &result.missed_by) {
        (Some(true), _) => format!("met: {}", result.found),
        (Some(false), Some(missed)) => format!("MISSED by {missed}: {}", result.found),
        (Some(false), None) => format!("MISSED: {}", result.found),
        (None, _) => "not known".into(),
    }
}

/// Where the comparison comes from.
pub fn provenance(record: &Comparison) -> String {
    let mut parts = vec![record.program.clone()];
    if let (Some(title), Some(digest)) = (&record.needs_title, &record.needs_digest) {
        parts.push(format!("needs \"{title}\", {digest}"));
    }
    parts.extend(record.options.iter().map(|option| format!("{}: {}", option.label, option.digest)));
    parts.extend(record.date.clone());
    parts.join("; ")
}

/// The page for people.
pub fn text(record: &Comparison) -> String {
    let mut page = Page::new("Options side by side", &provenance(record));
    page.section("Options");
    for option in &record.options {
        page.row(&option.label, &option.title);
    }
    let mut headings = vec![""];
    headings.extend(record.options.iter().map(|option| option.label.as_str()));
    let table = |rows: Vec<Row>| {
        let rows: Vec<Vec<String>> =
            rows.into_iter().map(|row| std::iter::once(row.name).chain(row.cells).collect()).collect();
        columns(&headings, &[0], &rows)
    };
    if !record.needs.is_empty() {
        page.section("Needs");
        page.block(&table(need_rows(record)));
    }
    page.section("Figures");
    page.block(&table(rows(record)));
    page.section("Notes");
    page.list(record.notes.iter().map(String::as_str));
    page.into_text()
}

/// One row an option, SI with the unit in the heading.
pub fn csv(record: &Comparison, format: NumberFormat) -> String {
    let named = record.options.first().map(figures).unwrap_or_default();
    let mut headings = vec!["label", "title", "digest"];
    headings.extend(named.iter().map(|(heading, _)| *heading));
    headings.extend(["limited_by", "currency"]);
    let mut file = TableFile::new(format, &[provenance(record)], &headings);
    for option in &record.options {
        let mut cells =
            vec![format.text(&option.label), format.text(&option.title), format.text(&option.digest)];
        cells.extend(figures(option).into_iter().map(|(_, value)| format.number(value)));
        cells.push(format.text(&option.limited_by));
        cells.push(format.text(option.currency.as_deref().unwrap_or_default()));
        file.row(&cells);
    }
    file.into_text()
}

/// The numbers of an option, each under its JSON key.
pub fn figures(option: &PairOption) -> Vec<(&'static str, Option<f64>)> {
    let pair = |range: Option<[f64; 2]>, end: usize| range.map(|range| range[end]);
    vec![
        ("field_constant_tesla_per_ampere", Some(option.field_constant_tesla_per_ampere)),
        (
            "field_constant_standard_uncertainty_tesla_per_ampere",
            option.field_constant_standard_uncertainty_tesla_per_ampere,
        ),
        ("largest_current_ampere", option.largest_current_ampere),
        ("largest_field_tesla", option.largest_field_tesla),
        ("smallest_beam_radius_at_lowest_voltage_m", pair(option.smallest_beam_radius_m, 0)),
        ("smallest_beam_radius_at_highest_voltage_m", pair(option.smallest_beam_radius_m, 1)),
        ("largest_beam_radius_m", option.largest_beam_radius_m),
        ("worst_beam_deviation", option.worst_beam_deviation),
        ("smallest_charge_to_mass_bias_fraction", pair(option.charge_to_mass_bias_fraction, 0)),
        ("largest_charge_to_mass_bias_fraction", pair(option.charge_to_mass_bias_fraction, 1)),
        ("working_current_ampere", option.working_current_ampere),
        ("copper_temperature_celsius", option.copper_temperature_celsius),
        ("voltage_volt", option.voltage_volt),
        ("power_watt", option.power_watt),
        ("warm_up_drift_fraction", option.warm_up_drift_fraction),
        ("surface_temperature_celsius", option.surface_temperature_celsius),
        ("continuous_current_ampere", Some(option.continuous_current_ampere)),
        ("continuous_field_tesla", Some(option.continuous_field_tesla)),
        ("conductor_mass_kg", Some(option.conductor_mass_kg)),
        ("outer_diameter_m", Some(option.outer_diameter_m)),
        ("overall_length_m", Some(option.overall_length_m)),
        ("room_for_bulb_m", option.room_for_bulb_m),
        ("price", option.price),
    ]
}
