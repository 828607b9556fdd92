//! Finds the readings that stand out from the others.

use super::lines::Prepared;
use super::tested::Tested;
use crate::numeric::line_fit::ParallelLines;
use crate::numeric::student::two_sided_quantile;

/// Probability that any reading of a sound set is called an outlier.
const OUTLIER_LEVEL: f64 = 0.05;

impl Prepared<'_> {
    /// Tests each reading against a line through the others. The residual over √(1 − h), with h the leverage of the reading, is
    /// compared with the normal distribution if uncertainties were stated, else with Student's t by the scatter of the others.
    /// All readings share [`OUTLIER_LEVEL`] (Bonferroni).
    pub(super) fn outliers(&self, lines: &ParallelLines, tested: &Tested, known: bool) -> Vec<bool> {
        let n = self.points.len();
        let nu = lines.degrees_of_freedom as f64;
        if nu < if known { 1.0 } else { 2.0 } {
            return vec![false; n];
        }
        let probability = 1.0 - OUTLIER_LEVEL / n as f64;
        let others = if known { f64::INFINITY } else { nu - 1.0 };
        let Ok(limit) = two_sided_quantile(probability, others) else { return vec![false; n] };
        // If the readings lie on the line to the last digit, only rounding remains to compare.
        let rounding = 1e-12 * self.points.iter().map(|point| point.y.abs()).fold(0.0, f64::max);
        (0..n)
            .map(|i| {
                let square = tested.weighted_residuals[i].powi(2) / (1.0 - tested.leverages[i]).max(1e-9);
                let scale = if known { 1.0 } else { ((nu - square) / others).max(0.0) };
                lines.residuals[i].abs() > rounding && square > limit * limit * scale
            })
            .collect()
    }

    /// Leverage of each reading: W/ΣW + W (x − x̄)²/ΣW (x − x̄)², between 0 and 1.
    pub(super) fn pulls(&self, lines: &ParallelLines, known: bool) -> Vec<f64> {
        let weights: Vec<f64> = (0..self.points.len())
            .map(|i| if known { self.own_uncertainty(lines, i).powi(-2) } else { 1.0 })
            .collect();
        let mut totals = vec![0.0; self.directions.len()];
        let mut means = vec![0.0; self.directions.len()];
        for (i, point) in self.points.iter().enumerate() {
            totals[self.line_of[i]] += weights[i];
            means[self.line_of[i]] += weights[i] * point.x;
        }
        let from_mean = |i: usize| self.points[i].x - means[self.line_of[i]] / totals[self.line_of[i]];
        let spread: f64 = (0..weights.len()).map(|i| weights[i] * from_mean(i).powi(2)).sum();
        (0..weights.len())
            .map(|i| weights[i] / totals[self.line_of[i]] + weights[i] * from_mean(i).powi(2) / spread)
            .collect()
    }
}
