//! The spread of the builds as two histograms.

use super::{Histogram, Summary, Tolerance};
use crate::paper::{Axis, Chart, Figure, panels};
use crate::units::unit;

/// Draws the field constants and the worst deviations of the builds, with the limits wished.
pub(crate) fn tolerance_spread(record: &Tolerance) -> Figure {
    let nominal = record.field_constant_tesla_per_ampere;
    let mut constant = Chart::new(
        "Field constant over the computed one",
        Axis::new("difference", unit::PERCENT),
        Axis::new("share of the builds", unit::PERCENT).from_zero(),
    );
    let spread = &record.monte_carlo.field_constant_tesla_per_ampere;
    constant.curve("", bars(spread, record.monte_carlo.builds, |value| value / nominal - 1.0));
    if let Some(within) = record.wish.field_constant_within_fraction {
        constant.upright("limit", within);
        constant.upright("limit", -within);
    }
    let title = format!("{} builds: {}", record.monte_carlo.builds, record.provenance.spec_title);
    let footer = record.provenance.to_string();
    let Some(worst) = &record.monte_carlo.worst_beam_deviation else {
        return panels(&title, &[&constant], 1, &footer);
    };
    let mut deviation = Chart::new(
        "Size of the worst deviation over the beam",
        Axis::new("worst deviation", unit::PERCENT),
        Axis::new("share of the builds", unit::PERCENT).from_zero(),
    );
    deviation.curve("", bars(worst, record.monte_carlo.builds, |value| value));
    if let Some(limit) = record.wish.beam_deviation {
        deviation.upright("limit", limit);
    }
    if let Some(nominal) = record.worst_beam_deviation {
        deviation.upright("no errors", nominal.abs());
    }
    panels(&title, &[&constant, &deviation], 1, &footer)
}

/// The outline of a histogram.
fn bars(summary: &Summary, builds: usize, place: impl Fn(f64) -> f64) -> Vec<[f64; 2]> {
    let Histogram { from, to, counts } = &summary.histogram;
    let edge = |i: usize| place(from + (to - from) * i as f64 / counts.len() as f64);
    let mut outline = vec![[edge(0), 0.0]];
    for (i, count) in counts.iter().enumerate() {
        let share = f64::from(*count) / builds as f64;
        outline.push([edge(i), share]);
        outline.push([edge(i + 1), share]);
    }
    outline.push([edge(counts.len()), 0.0]);
    outline
}
