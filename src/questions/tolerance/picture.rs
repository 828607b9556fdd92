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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::spec::read_bench;
    use crate::pair::Bench;
    use crate::questions::tolerance::{Request, Wish, tolerance};

    /// The window bench and the three quoted pairs.
    fn benches() -> Vec<Bench> {
        let names = ["window-bench", "quote-parallel", "quote-thick", "quote-used"];
        let path = |name: &str| format!("{}/coil-specs/{name}.json", env!("CARGO_MANIFEST_DIR"));
        names.iter().map(|name| read_bench(path(name)).unwrap()).collect()
    }

    #[test]
    fn no_label_of_a_limit_touches_a_bar_a_line_or_another_label() {
        for bench in benches() {
            for (within, deviation) in [(0.002, 0.005), (0.01, 0.01), (0.02, 0.03)] {
                let wish =
                    Wish { field_constant_within_fraction: Some(within), beam_deviation: Some(deviation) };
                let request = Request { wish, builds: 400, date: None };
                let record = tolerance(&bench, &request, |_| ()).unwrap();
                let struck = tolerance_spread(&record).struck_texts();
                assert_eq!(struck, Vec::<String>::new(), "{} {within}", bench.title);
            }
        }
    }
}
