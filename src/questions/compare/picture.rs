//! Options side by side as bars, one panel a figure, with the need as a line across them.

use super::words::provenance;
use super::{Comparison, PairOption};
use crate::paper::palette::{COPPER, GRID, INK, QUIET};
use crate::paper::{Figure, Rect, Stroke, Text};
use crate::units::{Dimension, display};

const WIDTH: f64 = 1000.0;
const COLUMNS: usize = 3;
const MARGIN: f64 = 28.0;
const ROW_HEIGHT: f64 = 27.0;
const HEADING: f64 = 48.0;
const TITLE: f64 = 60.0;

/// One panel: what it shows, how to read it off an option, and the need that belongs to it.
struct Panel {
    name: &'static str,
    dimension: Option<Dimension>,
    of: fn(&PairOption) -> Option<f64>,
    need: Option<&'static str>,
}

const PANELS: [Panel; 6] = [
    Panel {
        name: "largest field",
        dimension: Some(Dimension::FluxDensity),
        of: |option| option.largest_field_tesla,
        need: Some("largest field"),
    },
    Panel {
        name: "field for as long as one likes",
        dimension: Some(Dimension::FluxDensity),
        of: |option| Some(option.continuous_field_tesla),
        need: None,
    },
    Panel {
        name: "size of worst deviation over the beam",
        dimension: Some(Dimension::Fraction),
        of: |option| option.worst_beam_deviation.map(f64::abs),
        need: Some("beam deviation"),
    },
    Panel {
        name: "power at the working current",
        dimension: Some(Dimension::Power),
        of: |option| option.power_watt,
        need: None,
    },
    Panel {
        name: "copper mass",
        dimension: Some(Dimension::Mass),
        of: |option| Some(option.conductor_mass_kg),
        need: None,
    },
    Panel { name: "price", dimension: None, of: |option| option.price, need: None },
];

/// Draws the panels.
pub fn comparison(record: &Comparison) -> Figure {
    let rows = PANELS.len().div_ceil(COLUMNS);
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
    for (number, panel) in PANELS.iter().enumerate() {
        let (column, row) = (number % COLUMNS, number / COLUMNS);
        let left = MARGIN + panel_width * column as f64;
        let top = TITLE + panel_height * row as f64;
        draw(&mut figure, panel, record, Rect::new(left, top, panel_width - 24.0, panel_height));
    }
    figure.footer(&provenance(record));
    figure
}

fn draw(figure: &mut Figure, panel: &Panel, record: &Comparison, rect: Rect) {
    let need = panel.need.and_then(|name| record.needs.iter().find(|need| need.name == name));
    figure.text(Text::new(panel.name, [rect.left, rect.top + 18.0], 13.0).bold().coloured(INK));
    if let Some(need) = need {
        figure.text(Text::new(&need.wanted, [rect.left, rect.top + 35.0], 12.0).coloured(QUIET));
    }
    let values: Vec<Option<f64>> = record.options.iter().map(panel.of).collect();
    let wanted = need.map(|need| need.wanted_si);
    let largest = values.iter().flatten().copied().chain(wanted).fold(0.0, f64::max);
    // Room for the value written behind the longest bar.
    let scale = if largest > 0.0 { 0.62 * (rect.width - 20.0) / largest } else { 0.0 };
    let start = rect.left + 20.0;
    for (number, (option, value)) in record.options.iter().zip(&values).enumerate() {
        let top = rect.top + HEADING + ROW_HEIGHT * number as f64;
        let baseline = top + 0.68 * ROW_HEIGHT;
        figure.text(Text::new(&option.label, [rect.left, baseline], 13.0).coloured(INK));
        let Some(value) = value else {
            figure.text(Text::new("not stated", [start, baseline], 13.0).coloured(QUIET));
            continue;
        };
        let bar = Rect::new(start, top + 5.0, (value * scale).max(1.0), ROW_HEIGHT - 10.0);
        figure.area(bar.corners(), COPPER);
        let label = match (panel.dimension, &option.currency) {
            (Some(dimension), _) => display(*value, dimension, 3),
            (None, Some(currency)) => format!("{value:.0} {currency}"),
            (None, None) => format!("{value:.0}"),
        };
        let missed = need.is_some_and(|need| need.results[number].met == Some(false));
        let label = if missed { format!("{label} MISSED") } else { label };
        let behind = bar.right().max(wanted.map_or(0.0, |wanted| start + wanted * scale)) + 6.0;
        figure.text(Text::new(label, [behind, baseline], 13.0).coloured(INK));
    }
    let bottom = rect.top + HEADING + ROW_HEIGHT * record.options.len() as f64;
    figure.line([[start, rect.top + HEADING], [start, bottom]], Stroke::solid(GRID, 1.0));
    if let Some(wanted) = wanted {
        let x = start + wanted * scale;
        figure.line([[x, rect.top + HEADING - 4.0], [x, bottom + 4.0]], Stroke::dashed(INK, 1.6));
    }
}
