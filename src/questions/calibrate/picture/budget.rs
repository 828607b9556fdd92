//! The uncertainty budget of the slope as bars, the longest first.

use super::Calibration;
use crate::paper::palette::{GRID, INK, QUIET, series_colour};
use crate::paper::{Figure, Rect, Stroke, Text};
use crate::physics::slope::BudgetEntry;
use crate::questions::calibrate::words::NEGLIGIBLE;
use crate::questions::words::phrases::percent;
use crate::units::{significant, unit};

const MARGIN: f64 = 28.0;
const WIDTH: f64 = 800.0;
/// From one bar to the next.
const ROW: f64 = 30.0;
const BAR: f64 = 18.0;
const NAME_SIZE: f64 = 13.0;
/// Room for a value to the right of the longest bar.
const VALUE_WIDTH: f64 = 150.0;
/// Room for the title and the line below it.
const HEAD: f64 = 86.0;

/// Draws each contribution that the page lists as a bar, and all of them together as a frame; `None` without a budget.
pub(crate) fn calibration_budget(calibration: &Calibration) -> Option<Figure> {
    let slope = &calibration.slope;
    let whole = slope.standard_uncertainty()?;
    let mut entries: Vec<&BudgetEntry> = (slope.budget.iter())
        .filter(|entry| entry.contribution_tesla_per_ampere > NEGLIGIBLE * whole)
        .collect();
    entries.sort_by(|a, b| b.contribution_tesla_per_ampere.total_cmp(&a.contribution_tesla_per_ampere));
    if entries.is_empty() {
        return None;
    }
    let mut bars: Vec<(String, f64)> =
        entries.iter().map(|entry| (entry.name(), entry.contribution_tesla_per_ampere)).collect();
    bars.push(("together".into(), whole));
    let value = |contribution: f64| {
        let of_slope = percent((contribution / slope.tesla_per_ampere).abs());
        format!("{} µT/A, {of_slope}", significant(contribution, unit::MICROTESLA_PER_AMPERE, 3))
    };
    let title = super::titled(
        "Uncertainty budget of the slope",
        calibration.is_in_dispute(),
        &calibration.provenance,
    );
    let said: Vec<String> =
        bars.iter().map(|(name, contribution)| format!("{name} {}", value(*contribution))).collect();
    let description = format!("Contributions to the standard uncertainty as bars: {}.", said.join("; "));
    let height = HEAD + ROW * bars.len() as f64 + 56.0;
    let mut figure = Figure::new(WIDTH, height, &title, description);
    let heading = Text::new(&title, [MARGIN, MARGIN + 14.0], 18.0).bold();
    let size = 18.0 * ((WIDTH - 2.0 * MARGIN) / heading.width()).min(1.0);
    figure.text(Text { size, ..heading });
    let beneath = "Standard uncertainties; together they are the root of the sum of their squares.";
    figure.text(Text::new(beneath, [MARGIN, MARGIN + 36.0], 12.5).coloured(QUIET));
    draw_bars(&mut figure, &bars, value);
    figure.footer(&calibration.provenance.to_string());
    Some(figure)
}

fn draw_bars(figure: &mut Figure, bars: &[(String, f64)], value: impl Fn(f64) -> String) {
    let name = |name: &str, at| Text::new(name, at, NAME_SIZE);
    let widest = bars.iter().map(|(text, _)| name(text, [0.0; 2]).width()).fold(0.0, f64::max);
    let left = MARGIN + widest + 12.0;
    let longest = bars.iter().map(|(_, contribution)| *contribution).fold(f64::MIN_POSITIVE, f64::max);
    let per_unit = (WIDTH - MARGIN - VALUE_WIDTH - left).max(1.0) / longest;
    let bottom = HEAD + ROW * bars.len() as f64;
    figure.line([[left, HEAD - 6.0], [left, bottom]], Stroke::solid(INK, 0.9));
    for (place, (text, contribution)) in bars.iter().enumerate() {
        let top = HEAD + ROW * place as f64;
        let bar = Rect::new(left, top + 0.5 * (ROW - BAR), per_unit * contribution, BAR);
        let baseline = top + 0.5 * ROW + 0.36 * NAME_SIZE;
        let is_whole = place + 1 == bars.len();
        if is_whole {
            // The sum is not one of the parts, so it is drawn as a frame below a line, in grey.
            figure.line([[MARGIN, top], [WIDTH - MARGIN, top]], Stroke::solid(GRID, 1.0));
            figure.outline(bar.corners(), Stroke::solid(series_colour(0), 1.6));
        } else {
            figure.area(bar.corners(), series_colour(0));
        }
        figure.text(name(text, [left - 8.0, baseline]).ending());
        figure.text(name(&value(*contribution), [bar.right() + 8.0, baseline]));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::spec::read_bench;
    use crate::questions::calibrate::{Request, calibrate};

    fn record(spec: &str) -> Calibration {
        let path = format!("{}/coil-specs/{spec}", env!("CARGO_MANIFEST_DIR"));
        calibrate(&read_bench(path).unwrap(), &Request::default()).unwrap()
    }

    #[test]
    fn every_listed_contribution_has_a_bar_as_long_as_it_is_large_and_its_value_in_words() {
        let record = record("window-bench.json");
        let figure = calibration_budget(&record).unwrap();
        assert_eq!(figure.struck_texts(), Vec::<String>::new());
        let svg = figure.svg();
        let whole = record.slope.standard_uncertainty().unwrap();
        let listed = record.slope.budget.iter().filter(|it| it.contribution_tesla_per_ampere > 0.01 * whole);
        for entry in listed {
            assert!(svg.contains(&format!(">{}<", entry.name())), "{}", entry.name());
            let words = significant(entry.contribution_tesla_per_ampere, unit::MICROTESLA_PER_AMPERE, 3);
            let description = svg.split("<desc id=\"description\">").nth(1).unwrap();
            assert!(description.split("</desc>").next().unwrap().contains(&words), "{words}");
        }
        // The length of a bar is proportional to its contribution, to the digits of the file. The frame of the sum
        // comes last.
        let widths: Vec<f64> = svg
            .lines()
            .filter(|line| line.starts_with("<polygon") && line.to_lowercase().contains("0e4f94"))
            .map(|line| {
                let points = line.split("points=\"").nth(1).unwrap().split('"').next().unwrap();
                let across =
                    points.split_whitespace().map(|p| p.split(',').next().unwrap().parse::<f64>().unwrap());
                let (low, high) =
                    across.fold((f64::MAX, f64::MIN), |(low, high), x| (low.min(x), high.max(x)));
                high - low
            })
            .collect();
        let mut wanted: Vec<f64> = (record.slope.budget.iter())
            .map(|entry| entry.contribution_tesla_per_ampere)
            .filter(|contribution| *contribution > NEGLIGIBLE * whole)
            .collect();
        wanted.sort_by(|a, b| b.total_cmp(a));
        assert!(wanted.len() > 2 && widths.len() >= wanted.len(), "{widths:?}");
        for (width, contribution) in widths.iter().zip(&wanted) {
            assert!((width / widths[0] - contribution / wanted[0]).abs() < 2e-4, "{widths:?} {wanted:?}");
        }
    }

    #[test]
    fn without_a_budget_there_are_no_bars() {
        let mut record = record("window-bench.json");
        record.slope.budget.clear();
        assert!(calibration_budget(&record).is_none());
    }
}
