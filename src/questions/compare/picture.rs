//! Options side by side as bars: one panel a need with the need as a line across it, and one for each figure that is none.

use super::needs::from_to;
use super::words::{SHOWN, short_provenance};
use super::{Comparison, NeedVerdict, PairOption};
use crate::paper::palette::{COPPER, GRID, INK, QUIET};
use crate::paper::{Figure, Rect, Stroke, Text};
use crate::units::{Dimension, display};

const WIDTH: f64 = 1000.0;
const COLUMNS: usize = 3;
const MARGIN: f64 = 28.0;
/// An option's name above its bar.
const ROW_HEIGHT: f64 = 40.0;
const HEADING: f64 = 48.0;
const TITLE: f64 = 60.0;
/// The longest name that a panel has room for, characters.
const LONGEST_NAME: usize = 34;

/// One panel.
struct Panel {
    name: String,
    /// What is needed: in words, and as a number.
    need: Option<(String, f64)>,
    bars: Vec<Bar>,
}

/// One option in a panel.
struct Bar {
    /// Both ends of the value, the same where it is known.
    ends: Option<[f64; 2]>,
    words: String,
}

/// Figures of the pair that have a panel where no need asks for them.
const WITHOUT_NEED: [(&str, &str); 5] = [
    ("largest_field_tesla", "largest field"),
    ("worst_beam_deviation", "beam deviation"),
    ("continuous_field_tesla", "field for as long as one likes"),
    ("power_watt", "power at the working current"),
    ("conductor_mass_kg", "copper mass"),
];

fn panels(record: &Comparison) -> Vec<Panel> {
    let of_needs = record.needs.iter().map(|need| Panel {
        name: need.name.into(),
        need: Some((need.wanted.clone(), need.wanted_si)),
        bars: need
            .results
            .iter()
            .map(|result| Bar {
                ends: result.found_within_si.or(result.found_si.map(|found| [found, found])),
                words: match result.verdict {
                    NeedVerdict::Met | NeedVerdict::NotKnown => result.found.clone(),
                    NeedVerdict::Missed => format!("{} MISSED", result.found),
                    NeedVerdict::TooCloseToTell => format!("{} too close", result.found),
                    NeedVerdict::Doubtful => format!("{} doubtful", result.found),
                },
            })
            .collect(),
    });
    let of_figures = WITHOUT_NEED
        .iter()
        .filter(|(_, name)| record.needs.iter().all(|need| need.name != *name))
        .map(|(key, name)| Panel {
            name: (*name).into(),
            need: None,
            bars: record.options.iter().map(|option| bar(option, key)).collect(),
        });
    of_needs.chain(of_figures).chain(costs(record)).collect()
}

fn bar(option: &PairOption, key: &str) -> Bar {
    let dimension =
        SHOWN.iter().find(|figure| figure.key == key).map_or(Dimension::Number, |it| it.dimension);
    let value = SHOWN.iter().find(|figure| figure.key == key).and_then(|figure| (figure.of)(option));
    let ends = option.bounds.get(key).copied().or(value.map(|value| [value, value]));
    let ends = ends.map(|[one, other]| {
        let (one, other) = (one.abs(), other.abs());
        [one.min(other), one.max(other)]
    });
    let words = match ends {
        Some([low, high]) => from_to(display(low, dimension, 3), display(high, dimension, 3)),
        None => "not known".into(),
    };
    Bar { ends, words }
}

/// What the options cost, where no need asks for it: bars only where all are in one currency.
fn costs(record: &Comparison) -> Option<Panel> {
    if record.needs.iter().any(|need| need.name == "cost") {
        return None;
    }
    let cost = |option: &PairOption| match (option.cost, &record.currency, option.price, &option.currency) {
        (Some(cost), Some(currency), ..) => {
            Bar { ends: Some([cost, cost]), words: format!("{cost:.0} {currency}") }
        }
        (None, _, Some(price), Some(currency)) => {
            Bar { ends: None, words: format!("{price:.0} {currency}, no rate") }
        }
        (None, _, Some(price), None) => Bar { ends: None, words: format!("{price:.0}, which currency?") },
        _ => Bar { ends: None, words: "not stated".into() },
    };
    Some(Panel { name: "price".into(), need: None, bars: record.options.iter().map(cost).collect() })
}

/// Draws the panels.
pub fn comparison(record: &Comparison) -> Figure {
    let panels = panels(record);
    let rows = panels.len().div_ceil(COLUMNS);
    let panel_height = HEADING + ROW_HEIGHT * record.options.len() as f64 + 22.0;
    let height = TITLE + rows as f64 * panel_height + 30.0;
    let title = match &record.needs_title {
        Some(needs) => format!("Options against: {needs}"),
        None => "Options side by side".into(),
    };
    let mut figure =
        Figure::new(WIDTH, height, &title, "Bars of each option's figures; a dashed line marks a need.");
    figure.text(Text::new(title, [MARGIN, 34.0], 20.0).bold().coloured(INK));
    let panel_width = (WIDTH - 2.0 * MARGIN) / COLUMNS as f64;
    for (number, panel) in panels.iter().enumerate() {
        let (column, row) = (number % COLUMNS, number / COLUMNS);
        let left = MARGIN + panel_width * column as f64;
        let top = TITLE + panel_height * row as f64;
        draw(&mut figure, panel, record, Rect::new(left, top, panel_width - 24.0, panel_height));
    }
    figure.footer(&short_provenance(record));
    figure
}

fn draw(figure: &mut Figure, panel: &Panel, record: &Comparison, rect: Rect) {
    figure.text(Text::new(&panel.name, [rect.left, rect.top + 18.0], 13.0).bold().coloured(INK));
    if let Some((wanted, _)) = &panel.need {
        figure.text(Text::new(wanted, [rect.left, rect.top + 35.0], 12.0).coloured(QUIET));
    }
    let wanted = panel.need.as_ref().map(|(_, wanted)| *wanted);
    let ends = panel.bars.iter().filter_map(|bar| bar.ends.map(|[_, high]| high));
    let largest = ends.chain(wanted).fold(0.0, f64::max);
    // Room for the words behind the longest bar.
    let scale = if largest > 0.0 { 0.5 * rect.width / largest } else { 0.0 };
    let start = rect.left;
    for (number, (option, bar)) in record.options.iter().zip(&panel.bars).enumerate() {
        let top = rect.top + HEADING + ROW_HEIGHT * number as f64;
        let name = shortened_name(&option.label);
        figure.text(Text::new(name, [start + 4.0, top + 13.0], 12.0).coloured(INK));
        let baseline = top + 31.0;
        let Some([low, high]) = bar.ends else {
            figure.text(Text::new(&bar.words, [start + 4.0, baseline], 12.0).coloured(QUIET));
            continue;
        };
        let of = |value: f64| (value.max(0.0) * scale).max(1.0);
        figure.area(Rect::new(start, top + 19.0, of(low), 16.0).corners(), COPPER);
        if high > low {
            // From the smallest to the largest that it may be: an outline.
            let open = Rect::new(start + of(low), top + 19.0, of(high) - of(low), 16.0);
            let mut corners: Vec<[f64; 2]> = open.corners().into_iter().collect();
            corners.push(corners[0]);
            figure.line(corners, Stroke::solid(COPPER, 1.2));
        }
        let behind = start + of(high).max(wanted.map_or(0.0, |wanted| wanted * scale)) + 6.0;
        figure.text(Text::new(&bar.words, [behind, baseline], 12.0).coloured(INK));
    }
    let bottom = rect.top + HEADING + ROW_HEIGHT * record.options.len() as f64;
    figure.line([[start, rect.top + HEADING], [start, bottom]], Stroke::solid(GRID, 1.0));
    if let Some(wanted) = wanted {
        // Beside the bars only, so that it strikes through no name.
        let x = start + wanted * scale;
        for number in 0..record.options.len() {
            let top = rect.top + HEADING + ROW_HEIGHT * number as f64;
            figure.line([[x, top + 18.0], [x, top + 36.0]], Stroke::dashed(INK, 1.6));
        }
    }
}

/// A name as long as a panel has room for.
fn shortened_name(name: &str) -> String {
    match name.chars().count() > LONGEST_NAME {
        true => format!("{}…", name.chars().take(LONGEST_NAME - 1).collect::<String>()),
        false => name.to_owned(),
    }
}
