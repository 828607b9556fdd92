//! Options side by side, as rows of cells: the one source of text, CSV, page and workbook.

mod asked;
mod verdicts;

pub use asked::questions;
pub(crate) use asked::{questions_to, remarks};
use verdicts::cost;
pub(crate) use verdicts::verdict_key;
pub use verdicts::{verdict, verdicts};

use super::figures::{FIGURES, Figure, shown};
use super::sentences::from_to;
use super::{Comparison, PairOption};
use crate::files::out::csv::{NumberFormat, TableFile};
use crate::paper::columns::columns;
use crate::paper::page::Page;
use crate::questions::words::cautions::{Caution, figures_of, sentences};
use crate::questions::words::notes::{Told, told};
use crate::questions::words::phrases::{percent_of, signed_percent};
use crate::units::{Dimension, brief, display, length, period};

/// One row of the comparison: its name, and one cell for each option.
#[derive(Debug)]
pub struct Row {
    /// Its name.
    pub name: String,
    /// One cell an option.
    pub cells: Vec<String>,
}

impl Figure {
    fn words(&self, value: f64) -> String {
        match self.dimension {
            Dimension::Fraction => signed_percent(value),
            Dimension::Length => length(value, self.digits),
            dimension => display(value, dimension, self.digits),
        }
    }

    fn cell(&self, option: &PairOption) -> String {
        if let Some([low, high]) = option.bounds.get(self.key) {
            return from_to(self.words(*low), self.words(*high));
        }
        match (self.of)(option) {
            Some(value) => self.words(value),
            None if option.has_open_gap() => "gap".into(),
            // At a working current the copper may warm without end.
            None if option.working_current_ampere.is_some() => match self.key {
                "copper_temperature_celsius" | "voltage_volt" | "power_watt" => "no end".into(),
                "warm_up_drift_fraction" => "no steady state".into(),
                _ => "-".into(),
            },
            None => "-".into(),
        }
    }
}

/// The rows of figures.
pub fn rows(record: &Comparison) -> Vec<Row> {
    let row = |name: &str, of: &dyn Fn(&PairOption) -> String| Row {
        name: name.into(),
        cells: record.options.iter().map(of).collect(),
    };
    let mut rows: Vec<Row> = shown().map(|(name, figure)| row(name, &|option| figure.cell(option))).collect();
    let mut after = |name: &str, new: Row| {
        let at = rows.iter().position(|row| row.name == name).map_or(rows.len(), |at| at + 1);
        rows.insert(at, new);
    };
    after(
        "field constant",
        row("its standard uncertainty", &|o| {
            let u = o.field_constant_standard_uncertainty_tesla_per_ampere;
            u.zip(o.field_constant_tesla_per_ampere)
                .map_or_else(|| "-".into(), |(u, constant)| percent_of(u / constant.abs(), 2))
        }),
    );
    after(
        "largest field",
        row(
            "beam radii at highest voltage",
            &|o| match (o.smallest_beam_radius_m, o.largest_beam_radius_m) {
                (Some([_, smallest]), Some(largest)) if smallest <= largest => {
                    format!("{} to {}", length(smallest, 1), length(largest, 1))
                }
                (Some(_), Some(_)) => "none inside the bulb".into(),
                _ => "-".into(),
            },
        ),
    );
    after(
        "worst deviation over beam",
        row("bias of e/m over beam", &|o| match o.charge_to_mass_bias_fraction {
            Some([low, high]) => format!("{} to {}", signed_percent(low), signed_percent(high)),
            None => "-".into(),
        }),
    );
    after(
        "continuous current",
        row("limited by", &|o| o.limited_by.map_or_else(|| "-".into(), |limit| limit.sentence())),
    );
    rows.push(row("price", &price));
    let says_of_terms = |option: &PairOption| {
        option.carriage.is_some()
            || option.tax_fraction.is_some()
            || ["price.carriage", "price.tax_rate"].iter().any(|key| option.is_unclear(key))
    };
    if record.options.iter().any(says_of_terms) {
        rows.push(row("carriage", &|o| {
            o.carriage.map_or_else(|| unstated(o, "price.carriage"), |value| format!("{value:.2}"))
        }));
        let tax = |rate: f64| if rate == 0.0 { "included".into() } else { percent_of(rate, 3) };
        rows.push(row("tax on top", &|o| o.tax_fraction.map_or_else(|| unstated(o, "price.tax_rate"), tax)));
        rows.push(row("cost in all", &|o| cost(record, o)));
    }
    let days = |o: &PairOption, key: &str, value: Option<f64>| value.map_or_else(|| unstated(o, key), period);
    if record.options.iter().any(|option| option.delivery_days.is_some() || option.warranty_days.is_some()) {
        rows.push(row("delivery", &|o| match (o.shortest_delivery_days, o.delivery_days) {
            (Some(from), Some(to)) => from_to(period(from), period(to)),
            (_, delivery) => days(o, "price.delivery", delivery),
        }));
        rows.push(row("warranty", &|o| days(o, "price.warranty", o.warranty_days)));
    }
    if record.options.iter().any(|option| option.valid_until.is_some()) {
        let day = |o: &PairOption| {
            o.valid_until.map_or_else(|| unstated(o, "price.valid_until"), |day| day.to_string())
        };
        rows.push(row("holds until", &day));
    }
    rows.extend(stated_rows(record));
    rows
}

/// Rows for what makers state and nothing here computes, one for each thing that any of them states.
fn stated_rows(record: &Comparison) -> Vec<Row> {
    let row = |name: &str, of: &dyn Fn(&PairOption) -> Option<String>| {
        let cells: Vec<Option<String>> = record.options.iter().map(of).collect();
        cells.iter().any(Option::is_some).then(|| Row {
            name: name.into(),
            cells: cells.into_iter().map(|cell| cell.unwrap_or_else(|| "not stated".into())).collect(),
        })
    };
    let shown = |value: Option<f64>, dimension| value.map(|value| brief(value, dimension));
    [
        row("hottest surface as stated", &|o| {
            shown(o.stated_hottest_surface_celsius, Dimension::Temperature)
        }),
        row("insulation tested at", &|o| shown(o.insulation_test_voltage_volt, Dimension::Voltage)),
        row("insulation, at least", &|o| shown(o.insulation_resistance_ohm, Dimension::Resistance)),
        row("standards declared", &|o| o.standards.clone()),
        row("terminals", &|o| o.terminals.clone()),
        row("coils held by", &|o| o.held_by.clone()),
    ]
    .into_iter()
    .flatten()
    .collect()
}

/// The rows of needs. A missed need is marked in words, not by colour alone.
pub(crate) fn need_rows(record: &Comparison) -> Vec<Row> {
    record
        .needs
        .iter()
        .map(|need| Row {
            name: format!("{}, {}", need.name, need.wanted),
            cells: need.results.iter().map(verdict).collect(),
        })
        .collect()
}

fn price(option: &PairOption) -> String {
    match (option.price, &option.currency) {
        (Some(price), Some(currency)) => format!("{price:.2} {currency}"),
        (Some(price), None) => format!("{price:.2}"),
        _ => unstated(option, "price.amount"),
    }
}

/// The words for a term that is not known.
fn unstated(option: &PairOption, key: &str) -> String {
    if option.is_unclear(key) { "not clear".into() } else { "not stated".into() }
}

/// Program, needs and options with their digests.
pub fn provenance(record: &Comparison) -> String {
    let mut parts = vec![record.program.clone()];
    if let (Some(title), Some(digest)) = (&record.needs_title, &record.needs_digest) {
        parts.push(format!("needs \"{title}\", {digest}"));
    }
    parts.extend(record.options.iter().map(|option| format!("{}: {}", option.label, option.digest)));
    parts.extend(record.date.map(|date| date.to_string()));
    parts.join("; ")
}

/// Program and needs, without the options' digests, which the page lists beside the picture.
pub(super) fn short_provenance(record: &Comparison) -> String {
    let needs = record.needs_digest.as_ref().map(|digest| format!("needs {digest}"));
    let parts = [Some(record.program.clone()), needs, record.date.map(|date| date.to_string())];
    parts.into_iter().flatten().collect::<Vec<_>>().join("; ")
}

/// The provenance of a letter about one option; it names no other option.
pub(crate) fn provenance_of(record: &Comparison, option: &PairOption) -> String {
    let needs = record.needs_digest.as_ref().map(|digest| format!("needs {digest}"));
    let parts = [Some(record.program.clone()), Some(format!("quote {}", option.digest)), needs];
    parts.into_iter().flatten().collect::<Vec<_>>().join("; ")
}

/// The heading of what the suppliers wrote beside the fields of their forms and below them.
pub(crate) const REMARKS: &str = "Written by the suppliers beside their values";

/// The page for people.
pub fn text(record: &Comparison) -> String {
    let mut page = Page::new("Options side by side", &provenance(record));
    let said = verdicts(record);
    if !said.is_empty() {
        page.section("Verdict");
        page.list(said.iter().map(String::as_str));
    }
    page.section("Options");
    for option in &record.options {
        page.row(&option.label, &option.title);
    }
    if !record.needs.is_empty() {
        table(&mut page, "Needs", record, &need_rows(record));
    }
    table(&mut page, "Figures", record, &rows(record));
    let asked = questions(record);
    if !asked.is_empty() {
        page.section("To ask before ordering");
        page.list(asked.iter().map(String::as_str));
    }
    let remarks = remarks(record);
    if !remarks.is_empty() {
        page.section(REMARKS);
        page.list(remarks.iter().map(String::as_str));
    }
    page.section("Notes");
    page.list(told(&record.notes).iter().map(String::as_str));
    page.section("Cautions");
    page.list(caution_sentences(record).iter().map(String::as_str));
    page.into_text()
}

/// Longest line of a table with all options side by side.
const WIDEST: usize = 140;

/// A table of all options side by side, or one option after the other if the lines get too long.
fn table(page: &mut Page, heading: &str, record: &Comparison, rows: &[Row]) {
    let labels: Vec<&str> = record.options.iter().map(|option| option.label.as_str()).collect();
    let of = |which: &[usize]| {
        let headings: Vec<&str> = std::iter::once("").chain(which.iter().map(|at| labels[*at])).collect();
        let cells = |row: &Row| {
            std::iter::once(row.name.clone()).chain(which.iter().map(|at| row.cells[*at].clone())).collect()
        };
        columns(&headings, &[0], &rows.iter().map(cells).collect::<Vec<Vec<String>>>())
    };
    let all = of(&(0..labels.len()).collect::<Vec<_>>());
    page.section(heading);
    if all.lines().all(|line| line.chars().count() <= WIDEST) {
        page.block(&all);
        return;
    }
    for at in 0..labels.len() {
        page.block(&of(&[at]));
    }
}

/// The cautions, and the figures of each option.
pub(crate) fn caution_sentences(record: &Comparison) -> Vec<String> {
    let general = sentences(&[Caution::HotCoils, Caution::InductiveKick, Caution::Implants]);
    let figures = record.options.iter().filter_map(|option| figures_of(&option.label, &option.safety));
    figures.chain(general.into_iter().map(str::to_owned)).collect()
}

/// CSV: one row for each option, the verdict first; SI units in the headings.
pub fn csv(record: &Comparison, format: NumberFormat) -> String {
    let named = record.options.first().map(figures).unwrap_or_default();
    let mut headings = vec!["label", "verdict", "title", "digest"];
    headings.extend(named.iter().map(|(heading, _)| *heading));
    headings.extend(["limited_by", "currency", "bounds"]);
    let above: Vec<String> = std::iter::once(provenance(record)).chain(verdicts(record)).collect();
    let mut file = TableFile::new(format, &above, &headings);
    for option in &record.options {
        let mut cells: Vec<String> =
            [option.label.as_str(), option.verdict.map_or("", verdict_key), &option.title, &option.digest]
                .map(|text| format.text(text))
                .into();
        cells.extend(figures(option).into_iter().map(|(_, value)| format.number(value)));
        cells.push(format.text(&option.limited_by.map_or_else(String::new, |limit| limit.sentence())));
        cells.push(format.text(option.currency.as_deref().unwrap_or_default()));
        let bounds = option.bounds.iter().map(|(key, [low, high])| format!("{key}: {low:e} to {high:e}"));
        cells.push(format.text(&bounds.collect::<Vec<_>>().join("; ")));
        file.row(&cells);
    }
    file.into_text()
}

/// The numbers of an option, each under its JSON key.
pub fn figures(option: &PairOption) -> Vec<(&'static str, Option<f64>)> {
    let pair = |range: Option<[f64; 2]>, end: usize| range.map(|range| range[end]);
    let mut all = Vec::new();
    for figure in FIGURES {
        all.push((figure.key, (figure.of)(option)));
        match figure.key {
            "largest_field_tesla" => all.extend([
                ("smallest_beam_radius_at_lowest_voltage_m", pair(option.smallest_beam_radius_m, 0)),
                ("smallest_beam_radius_at_highest_voltage_m", pair(option.smallest_beam_radius_m, 1)),
                ("largest_beam_radius_m", option.largest_beam_radius_m),
            ]),
            "worst_beam_deviation" => all.extend([
                ("smallest_charge_to_mass_bias_fraction", pair(option.charge_to_mass_bias_fraction, 0)),
                ("largest_charge_to_mass_bias_fraction", pair(option.charge_to_mass_bias_fraction, 1)),
            ]),
            _ => {}
        }
    }
    all.extend([
        ("price", option.price),
        ("carriage", option.carriage),
        ("tax_fraction", option.tax_fraction),
        ("cost", option.cost.filter(|_| option.has_whole_terms())),
        // Of an option that leaves out carriage or tax.
        ("cost_at_least", option.cost.filter(|_| !option.has_whole_terms())),
        ("delivery_days", option.delivery_days),
        ("warranty_days", option.warranty_days),
    ]);
    all
}
