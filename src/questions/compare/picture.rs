//! Options side by side as bars: one panel for each need, with a line at the wanted value, and one for each other
//! figure.

use super::figures::{Figure as PairFigure, of_key};
use super::sentences::from_to;
use super::words::short_provenance;
use super::{Comparison, NeedKind, NeedVerdict, PairOption};
use crate::paper::palette::{COPPER, GRID, INK, QUIET};
use crate::paper::{Figure, Rect, Stroke, Text};
use crate::units::display;

const WIDTH: f64 = 900.0;
const COLUMNS: usize = 3;
const MARGIN: f64 = 28.0;
/// Gap between panels.
const GUTTER: f64 = 24.0;
/// An option's name above its bar.
const ROW_HEIGHT: f64 = 40.0;
/// A line for the verdicts below the bars, if they do not fit beside them.
const MARK_HEIGHT: f64 = 15.0;
/// Space between a bar and its words.
const APART: f64 = 6.0;
/// Least part of a panel's width for its longest bar.
const LEAST_BAR: f64 = 0.2;
const HEADING: f64 = 48.0;
const TITLE: f64 = 60.0;
/// Each further line of the title.
const TITLE_LINE: f64 = 26.0;
/// Most characters of a name in a panel.
const LONGEST_NAME: usize = 34;

/// One panel.
struct Panel {
    name: String,
    /// The wanted value, in words and as a number.
    need: Option<(String, Vec<f64>)>,
    bars: Vec<Bar>,
}

/// One option in a panel.
struct Bar {
    /// Smallest and largest value, equal if the value is known.
    ends: Option<[f64; 2]>,
    words: String,
    /// The verdict, if the need is not met.
    mark: Option<&'static str>,
}

impl Bar {
    /// The words with the verdict.
    fn whole(&self) -> String {
        self.mark.map_or_else(|| self.words.clone(), |mark| format!("{} {mark}", self.words))
    }
}

/// Figures that get a panel of their own unless a need asks for them.
const WITHOUT_NEED: [(&str, &str, Option<NeedKind>); 5] = [
    ("largest_field_tesla", "largest field", Some(NeedKind::LargestField)),
    ("worst_beam_deviation", "beam deviation", Some(NeedKind::BeamDeviation)),
    ("continuous_field_tesla", "field for as long as one likes", None),
    ("power_watt", "power at the working current", None),
    ("conductor_mass_kg", "copper mass", None),
];

fn panels(record: &Comparison) -> Vec<Panel> {
    let of_needs = record.needs.iter().map(|need| Panel {
        name: need.name.words().into(),
        need: Some((need.wanted.to_string(), need.wanted.limits().stated().collect())),
        bars: need
            .results
            .iter()
            .map(|result| Bar {
                ends: result.found_within_si.or(result.found_si.map(|found| [found, found])),
                words: result.found.to_string(),
                mark: match result.verdict {
                    NeedVerdict::Met | NeedVerdict::NotKnown => None,
                    NeedVerdict::Missed => Some("MISSED"),
                    NeedVerdict::TooCloseToTell => Some("too close to tell"),
                    NeedVerdict::Doubtful => Some("doubtful"),
                },
            })
            .collect(),
    });
    let of_figures = WITHOUT_NEED
        .iter()
        .filter(|(_, _, need)| record.needs.iter().all(|it| Some(it.name) != *need))
        .filter_map(|(key, name, _)| Some((of_key(key)?, name)))
        .map(|(figure, name)| Panel {
            name: (*name).into(),
            need: None,
            bars: record.options.iter().map(|option| bar(option, figure)).collect(),
        });
    of_needs.chain(of_figures).chain(costs(record)).collect()
}

fn bar(option: &PairOption, figure: &PairFigure) -> Bar {
    let dimension = figure.dimension;
    let ends =
        option.bounds.get(figure.key).copied().or((figure.of)(option).map(|value| [value, value])).map(sizes);
    let words = match ends {
        Some([low, high]) => from_to(display(low, dimension, 3), display(high, dimension, 3)),
        None => "not known".into(),
    };
    Bar { ends, words, mark: None }
}

/// Smallest and largest magnitude between two values: from zero if they have opposite signs.
fn sizes([low, high]: [f64; 2]) -> [f64; 2] {
    let least = if low < 0.0 && high > 0.0 { 0.0 } else { low.abs().min(high.abs()) };
    [least, low.abs().max(high.abs())]
}

/// The costs, unless a need asks for them. There are bars only if all are in one currency.
fn costs(record: &Comparison) -> Option<Panel> {
    if record.needs.iter().any(|need| need.name == NeedKind::Cost) {
        return None;
    }
    let cost = |option: &PairOption| match (option.cost, &record.currency, option.price, &option.currency) {
        (Some(cost), Some(currency), ..) => {
            Bar { ends: Some([cost, cost]), words: format!("{cost:.0} {currency}"), mark: None }
        }
        (None, _, Some(price), Some(currency)) => {
            Bar { ends: None, words: format!("{price:.0} {currency}, no rate"), mark: None }
        }
        (None, _, Some(price), None) => {
            Bar { ends: None, words: format!("{price:.0}, which currency?"), mark: None }
        }
        _ => Bar { ends: None, words: "not stated".into(), mark: None },
    };
    Some(Panel { name: "price".into(), need: None, bars: record.options.iter().map(cost).collect() })
}

/// Draws the panels.
pub fn comparison(record: &Comparison) -> Figure {
    let panels = panels(record);
    let rows = panels.len().div_ceil(COLUMNS);
    let panel_width = (WIDTH - 2.0 * MARGIN) / COLUMNS as f64;
    let marks_below = panels.iter().any(|panel| !fits_beside(panel, panel_width - GUTTER));
    let row_height = if marks_below { ROW_HEIGHT + MARK_HEIGHT } else { ROW_HEIGHT };
    let panel_height = HEADING + row_height * record.options.len() as f64 + 22.0;
    let title = match &record.needs_title {
        Some(needs) => format!("Options against: {needs}"),
        None => "Options side by side".into(),
    };
    let lines = title_lines(&title);
    let below_title = TITLE + TITLE_LINE * (lines.len() as f64 - 1.0);
    let height = below_title + rows as f64 * panel_height + 30.0;
    let mut figure =
        Figure::new(WIDTH, height, &title, "Bars of each option's figures; a dashed line marks a need.");
    for (number, line) in lines.into_iter().enumerate() {
        figure.text(heading(line, 34.0 + TITLE_LINE * number as f64));
    }
    for (number, panel) in panels.iter().enumerate() {
        let (column, row) = (number % COLUMNS, number / COLUMNS);
        let left = MARGIN + panel_width * column as f64;
        let top = below_title + panel_height * row as f64;
        let rect = Rect::new(left, top, panel_width - GUTTER, panel_height);
        draw(&mut figure, panel, record, rect, marks_below);
    }
    figure.footer(&short_provenance(record));
    figure
}

fn heading(line: String, y: f64) -> Text {
    Text::new(line, [MARGIN, y], 20.0).bold().coloured(INK)
}

/// The title in lines as wide as the picture, broken between words, or within one that is wider.
fn title_lines(title: &str) -> Vec<String> {
    let fits = |line: &str| heading(line.to_owned(), 0.0).width() <= WIDTH - 2.0 * MARGIN;
    let mut lines = vec![String::new()];
    for word in title.split_inclusive(' ') {
        let in_line = lines.last().map_or("", String::as_str).to_owned() + word;
        if fits(in_line.trim_end()) {
            lines.pop();
            lines.push(in_line);
            continue;
        }
        lines.push(String::new());
        for letter in word.chars() {
            let longer = lines.last().map_or("", String::as_str).to_owned() + &letter.to_string();
            if fits(&longer) || letter == ' ' {
                lines.pop();
                lines.push(longer);
            } else {
                lines.push(letter.to_string());
            }
        }
    }
    lines.retain(|line| !line.is_empty());
    lines.into_iter().map(|line| line.trim_end().to_owned()).collect()
}

fn width_of(text: &str) -> f64 {
    Text::new(text, [0.0; 2], 12.0).width()
}

/// Whether the verdicts of a panel fit beside the words after its longest bar.
fn fits_beside(panel: &Panel, width: f64) -> bool {
    panel.bars.iter().all(|bar| width_of(&bar.whole()) + APART <= (1.0 - LEAST_BAR) * width)
}

fn draw(figure: &mut Figure, panel: &Panel, record: &Comparison, rect: Rect, marks_below: bool) {
    let row_height = if marks_below { ROW_HEIGHT + MARK_HEIGHT } else { ROW_HEIGHT };
    figure.text(Text::new(&panel.name, [rect.left, rect.top + 18.0], 13.0).bold().coloured(INK));
    if let Some((wanted, _)) = &panel.need {
        figure.text(Text::new(wanted, [rect.left, rect.top + 35.0], 12.0).coloured(QUIET));
    }
    let wanted: &[f64] = panel.need.as_ref().map_or(&[], |(_, wanted)| wanted);
    let ends = panel.bars.iter().filter_map(|bar| bar.ends.map(|[_, high]| high));
    let largest = ends.chain(wanted.iter().copied()).fold(0.0, f64::max);
    // Leaves room for the text after the longest bar.
    let beside = |bar: &Bar| if marks_below { bar.words.clone() } else { bar.whole() };
    let widest = panel.bars.iter().map(|bar| width_of(&beside(bar))).fold(0.0, f64::max);
    let longest = (rect.width - APART - widest).clamp(LEAST_BAR * rect.width, 0.5 * rect.width);
    let scale = if largest > 0.0 { longest / largest } else { 0.0 };
    let start = rect.left;
    for (number, (option, bar)) in record.options.iter().zip(&panel.bars).enumerate() {
        let top = rect.top + HEADING + row_height * number as f64;
        let name = shortened_name(&option.label);
        figure.text(Text::new(name, [start + 4.0, top + 13.0], 12.0).coloured(INK));
        let baseline = top + 31.0;
        // The words start after the last line.
        let line = wanted.iter().map(|wanted| start + wanted * scale).reduce(f64::max);
        let words = Text::new(beside(bar), [start, baseline], 12.0);
        if let Some(mark) = bar.mark.filter(|_| marks_below) {
            let at = [start + APART, baseline + MARK_HEIGHT];
            figure.text(Text::new(mark, at, 12.0).coloured(INK));
        }
        let Some([low, high]) = bar.ends else {
            let left = words_left(start, None, line, words.width());
            figure.text(Text { at: [left, baseline], ..words }.coloured(QUIET));
            continue;
        };
        let of = |value: f64| (value.max(0.0) * scale).max(1.0);
        figure.area(Rect::new(start, top + 19.0, of(low), 16.0).corners(), COPPER);
        if high > low {
            // An outline from the smallest to the largest possible value.
            let open = Rect::new(start + of(low), top + 19.0, of(high) - of(low), 16.0);
            let mut corners: Vec<[f64; 2]> = open.corners().into_iter().collect();
            corners.push(corners[0]);
            figure.line(corners, Stroke::solid(COPPER, 1.2));
        }
        let left = words_left(start, Some(start + of(high)), line, words.width());
        figure.text(Text { at: [left, baseline], ..words }.coloured(INK));
    }
    let bottom = rect.top + HEADING + row_height * record.options.len() as f64;
    figure.line([[start, rect.top + HEADING], [start, bottom]], Stroke::solid(GRID, 1.0));
    for wanted in wanted {
        // Drawn beside the bars only, so that the line crosses no name.
        let x = start + wanted * scale;
        for number in 0..record.options.len() {
            let top = rect.top + HEADING + row_height * number as f64;
            figure.line([[x, top + 18.0], [x, top + 36.0]], Stroke::dashed(INK, 1.6));
        }
    }
}

/// Where the text of an option starts: after its bar and the line of the need. Without a bar it starts at the left, or
/// after the line if the line would cross it.
fn words_left(start: f64, bar_end: Option<f64>, line: Option<f64>, width: f64) -> f64 {
    match (bar_end, line) {
        (Some(end), line) => end.max(line.unwrap_or(end)) + APART,
        (None, Some(line)) if line < start + APART + width + APART => line.max(start) + APART,
        (None, _) => start + APART,
    }
}

/// A name shortened to fit a panel, in its middle: names that begin alike often end differently.
fn shortened_name(name: &str) -> String {
    let letters: Vec<char> = name.chars().collect();
    if letters.len() <= LONGEST_NAME {
        return name.to_owned();
    }
    let end = LONGEST_NAME / 2;
    let (start, end) = (&letters[..LONGEST_NAME - 1 - end], &letters[letters.len() - end..]);
    start.iter().chain(&['…']).chain(end).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_words_are_struck_through_by_the_line_of_a_need() {
        let start = 30.0;
        for line in (0..60).map(|step| start + 3.0 * f64::from(step)) {
            for width in [10.0, 55.0, 140.0] {
                for bar in [None, Some(start + 1.0), Some(start + 70.0), Some(start + 150.0)] {
                    let left = words_left(start, bar, Some(line), width);
                    assert!(left > bar.unwrap_or(start), "{bar:?}: {left}");
                    assert!(line < left - 3.0 || line > left + width + 3.0, "{line} in {left} + {width}");
                }
            }
        }
    }

    #[test]
    fn a_long_title_is_broken_and_nothing_of_it_is_lost() {
        let long = format!("Options against: {}", "what the lessons need in the old building ".repeat(5));
        let word = format!("Options against: {}", "Elektronenstrahlablenkung".repeat(8));
        for title in [long.trim_end(), &word] {
            let lines = title_lines(title);
            assert!(lines.len() > 1);
            assert!(lines.iter().all(|line| heading(line.clone(), 0.0).width() <= WIDTH - 2.0 * MARGIN));
            assert_eq!(lines.concat().replace(' ', ""), title.replace(' ', ""));
        }
        assert_eq!(title_lines("Options side by side"), ["Options side by side"]);
    }

    #[test]
    fn a_verdict_goes_below_its_bar_where_it_would_reach_into_the_next_panel() {
        let panel = |words: &str, mark| Panel {
            name: "beam deviation".into(),
            need: None,
            bars: vec![Bar { ends: Some([0.1, 1.0]), words: words.into(), mark }],
        };
        let width = (WIDTH - 2.0 * MARGIN) / COLUMNS as f64 - GUTTER;
        assert!(fits_beside(&panel("0.598 %", Some("too close to tell")), width));
        assert!(!fits_beside(&panel("0.598 % to 0.742 %", Some("too close to tell")), width));
        assert!(fits_beside(&panel("0.598 % to 0.742 %", None), width));
    }

    #[test]
    fn long_names_that_differ_at_their_ends_stay_apart() {
        let of = |number: u32| {
            shortened_name(&format!("supplier-with-a-very-long-name-number-{number}-of-twelve"))
        };
        assert_ne!(of(1), of(2));
        assert_eq!(of(1).chars().count(), LONGEST_NAME);
        assert_eq!(shortened_name("short"), "short");
    }

    #[test]
    fn a_size_between_two_signs_starts_from_nought() {
        assert_eq!(sizes([-0.003, 0.002]), [0.0, 0.003]);
        assert_eq!(sizes([-0.003, -0.002]), [0.002, 0.003]);
        assert_eq!(sizes([0.002, 0.003]), [0.002, 0.003]);
    }
}
