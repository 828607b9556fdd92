//! Options side by side, as rows of cells: the one source of text, CSV, page and workbook.

use super::{Comparison, NeedResult, NeedVerdict, OptionVerdict, PairOption, Question};
use crate::files::out::csv::{NumberFormat, TableFile};
use crate::paper::columns::columns;
use crate::paper::page::Page;
use crate::questions::words::cautions::{Caution, figures_of, sentences};
use crate::questions::words::notes::Told;
use crate::questions::words::phrases::{percent_of, signed_percent};
use crate::units::{Dimension, display, length};

/// A row of the comparison for people: what it is, and one cell an option.
#[derive(Debug)]
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
        row("limited by", &|o| o.limited_by.sentence()),
        row("field at that current", &|o| display(o.continuous_field_tesla, Dimension::FluxDensity, 3)),
        row("copper mass", &|o| display(o.conductor_mass_kg, Dimension::Mass, 3)),
        row("outer diameter", &|o| millimetres(o.outer_diameter_m)),
        row("length along the axis", &|o| millimetres(o.overall_length_m)),
        row("price", &price),
    ]
}

/// The rows of needs; a need missed is said in words, so that no colour is needed.
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

/// How a need is met, in words.
pub fn verdict(result: &NeedResult) -> String {
    match (result.verdict, &result.missed_by, &result.guard_band_words) {
        (NeedVerdict::Met, ..) => format!("met: {}", result.found),
        (NeedVerdict::Missed, Some(missed), _) => format!("MISSED by {missed}: {}", result.found),
        (NeedVerdict::Missed, None, _) => format!("MISSED: {}", result.found),
        (NeedVerdict::TooCloseToTell, _, Some(guard)) => {
            format!("too close to tell: {}, {guard}", result.found)
        }
        (NeedVerdict::TooCloseToTell, ..) => format!("too close to tell: {}", result.found),
        (NeedVerdict::Doubtful, ..) => format!("doubtful: {}", result.found),
        (NeedVerdict::NotKnown, ..) => "not known".into(),
    }
}

/// Who passes, and the cheapest of them: one sentence an option, then one for all; empty where nothing is judged.
pub fn verdicts(record: &Comparison) -> Vec<String> {
    let mut said: Vec<String> =
        record.options.iter().filter_map(|option| of_option(record, option)).collect();
    let passing = record.options.iter().filter(|it| it.verdict == Some(OptionVerdict::Passes)).count();
    let cheapest = record.options.iter().find(|it| Some(&it.label) == record.cheapest_that_passes.as_ref());
    match (cheapest, passing) {
        _ if record.needs.is_empty() => {}
        (Some(option), _) => said.push(format!("cheapest that passes: {}, {}", option.label, price(option))),
        (None, 0) => said.push("none passes".into()),
        (None, _) => {
            said.push("which is the cheapest that passes cannot be told from the prices stated".into())
        }
    }
    said
}

fn of_option(record: &Comparison, option: &PairOption) -> Option<String> {
    let number = record.options.iter().position(|other| other.label == option.label)?;
    let named = |verdict: NeedVerdict| -> String {
        let of = record.needs.iter().filter(|need| need.results[number].verdict == verdict);
        of.map(|need| need.name).collect::<Vec<_>>().join(", ")
    };
    let label = &option.label;
    Some(match option.verdict? {
        OptionVerdict::Passes => match &option.tightest {
            Some(tightest) => {
                format!("{label} passes; smallest margin: {} of {}", tightest.margin_words, tightest.need)
            }
            None => format!("{label} passes"),
        },
        OptionVerdict::Fails => format!("{label} FAILS: {}", named(NeedVerdict::Missed)),
        OptionVerdict::Undecided => {
            let open = [named(NeedVerdict::TooCloseToTell), named(NeedVerdict::NotKnown)];
            let open: Vec<String> = open.into_iter().filter(|names| !names.is_empty()).collect();
            format!("{label} is undecided: {}", open.join(", "))
        }
        OptionVerdict::Doubtful => {
            let doubtful = named(NeedVerdict::Doubtful);
            let what = if doubtful.is_empty() { "its resistance" } else { &doubtful };
            format!("{label} is DOUBTFUL: its spec contradicts itself, and that decides {what}")
        }
    })
}

fn price(option: &PairOption) -> String {
    match (option.price, &option.currency) {
        (Some(price), Some(currency)) => format!("{price:.2} {currency}"),
        (Some(price), None) => format!("{price:.2}"),
        _ => "not stated".into(),
    }
}

/// What to ask before ordering, with the label of the option it is asked about.
pub fn questions(record: &Comparison) -> Vec<String> {
    let of = |option: &PairOption| -> Vec<String> {
        option
            .questions
            .iter()
            .map(|question| format!("{}: {}", option.label, question_sentence(question)))
            .collect()
    };
    record.options.iter().flat_map(of).collect()
}

fn question_sentence(question: &Question) -> String {
    match question {
        Question::WhichResistance(contradiction) => format!("{contradiction}; which of the two is right?"),
        Question::Price => "what does it cost?".into(),
        Question::Currency => "in which currency is the price?".into(),
        Question::BuildTolerance => {
            "within what is it built? 0.5 mm for each dimension is taken (common practice, no source)".into()
        }
        Question::Guarantee { need, found, wanted } => {
            format!("{need}: computed {found}, needed {wanted}; what is measured or guaranteed?")
        }
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
    let said = verdicts(record);
    if !said.is_empty() {
        page.section("Verdict");
        page.list(said.iter().map(String::as_str));
    }
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
    let asked = questions(record);
    if !asked.is_empty() {
        page.section("To ask before ordering");
        page.list(asked.iter().map(String::as_str));
    }
    page.section("Notes");
    page.list(record.notes.iter().map(String::as_str));
    page.section("Cautions");
    page.list(caution_sentences(record).iter().map(String::as_str));
    page.into_text()
}

/// The cautions, and the figures of each option.
pub(crate) fn caution_sentences(record: &Comparison) -> Vec<String> {
    let general = sentences(&[Caution::HotCoils, Caution::InductiveKick, Caution::Implants]);
    let figures = record.options.iter().filter_map(|option| figures_of(&option.label, &option.safety));
    figures.chain(general.into_iter().map(str::to_owned)).collect()
}

/// One row an option, SI with the unit in the heading.
pub fn csv(record: &Comparison, format: NumberFormat) -> String {
    let named = record.options.first().map(figures).unwrap_or_default();
    let mut headings = vec!["label", "title", "digest"];
    headings.extend(named.iter().map(|(heading, _)| *heading));
    headings.extend(["limited_by", "currency", "verdict"]);
    let mut file = TableFile::new(format, &[provenance(record)], &headings);
    for option in &record.options {
        let mut cells =
            vec![format.text(&option.label), format.text(&option.title), format.text(&option.digest)];
        cells.extend(figures(option).into_iter().map(|(_, value)| format.number(value)));
        cells.push(format.text(&option.limited_by.sentence()));
        cells.push(format.text(option.currency.as_deref().unwrap_or_default()));
        cells.push(format.text(option.verdict.map_or("", verdict_key)));
        file.row(&cells);
    }
    file.into_text()
}

/// The verdict as scripts read it.
pub(crate) fn verdict_key(verdict: OptionVerdict) -> &'static str {
    match verdict {
        OptionVerdict::Passes => "passes",
        OptionVerdict::Fails => "fails",
        OptionVerdict::Undecided => "undecided",
        OptionVerdict::Doubtful => "doubtful",
    }
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
