//! A straight line through measured points, with uncertainty in y alone or in both quantities.
//!
//! Model y = a + b x. The points' standard uncertainties are taken as known, so the uncertainties of a and b come from
//! them alone and are *not* scaled by the scatter; chi-square says whether the scatter agrees with them. If the points'
//! uncertainties are unknown, [`fit_line_equal_scatter`] takes one common uncertainty from the scatter.

use crate::error::Refused;
use crate::{Error, Result};
use nalgebra::DMatrix;
use serde::Serialize;

/// A point to fit a line to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LinePoint {
    /// Abscissa.
    pub x: f64,
    /// Ordinate.
    pub y: f64,
    /// Standard uncertainty of the abscissa; zero if it is exact.
    pub x_uncertainty: f64,
    /// Standard uncertainty of the ordinate.
    pub y_uncertainty: f64,
    /// Covariance of the two.
    pub covariance: f64,
}

/// A fitted line y = intercept + slope x.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LineFit {
    /// b.
    pub slope: f64,
    /// u(b).
    pub slope_uncertainty: f64,
    /// a.
    pub intercept: f64,
    /// u(a).
    pub intercept_uncertainty: f64,
    /// cov(a, b).
    pub covariance: f64,
    /// Σ (weighted residual)².
    pub chi_square: f64,
    /// Points minus two.
    pub degrees_of_freedom: usize,
    /// y − a − b x of each point.
    pub residuals: Vec<f64>,
    /// Each residual over its own standard uncertainty √(u_y² + b² u_x² − 2 b cov).
    pub weighted_residuals: Vec<f64>,
    /// How often the slope was improved.
    pub iterations: usize,
}

impl LineFit {
    /// The x at which the line reaches `y`, and its standard uncertainty (ISO/TS 28037:2010, 11.1).
    pub fn inverse(&self, y: f64, y_uncertainty: f64) -> (f64, f64) {
        let x = (y - self.intercept) / self.slope;
        let variance = y_uncertainty.powi(2)
            + self.intercept_uncertainty.powi(2)
            + (x * self.slope_uncertainty).powi(2)
            + 2.0 * x * self.covariance;
        (x, variance.max(0.0).sqrt() / self.slope.abs())
    }
}

/// Lines of one common slope, each with its own intercept.
#[derive(Clone, Debug, PartialEq)]
pub struct ParallelLines {
    /// b.
    pub slope: f64,
    /// u(b).
    pub slope_uncertainty: f64,
    /// The intercept of each line.
    pub lines: Vec<Intercept>,
    /// Σ (weighted residual)².
    pub chi_square: f64,
    /// Points minus one minus the number of lines.
    pub degrees_of_freedom: usize,
    /// y − a − b x of each point, with the a of its own line.
    pub residuals: Vec<f64>,
    /// Each residual over its own standard uncertainty √(u_y² + b² u_x² − 2 b cov).
    pub weighted_residuals: Vec<f64>,
    /// How often the slope was improved.
    pub iterations: usize,
    /// Covariances of the intercepts where the points share errors.
    pub(super) between: Option<DMatrix<f64>>,
}

/// The y at which one of several parallel lines crosses x = 0.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Intercept {
    /// a.
    pub value: f64,
    /// u(a).
    pub uncertainty: f64,
    /// cov(a, b).
    pub covariance_with_slope: f64,
}

impl ParallelLines {
    /// Covariance of the intercepts of two different lines, which comes from the common slope alone unless the points share
    /// errors.
    pub(crate) fn intercept_covariance(&self, one: usize, other: usize) -> f64 {
        if let Some(between) = &self.between {
            return between[(one, other)];
        }
        let product = self.lines[one].covariance_with_slope * self.lines[other].covariance_with_slope;
        product / self.slope_uncertainty.powi(2)
    }

    /// The same lines for points whose uncertainties are all `factor` times as large.
    fn scaled(self, factor: f64) -> Self {
        let mut scaled = self.with_covariance_enlarged(factor);
        scaled.weighted_residuals.iter_mut().for_each(|residual| {
            *residual = if factor > 0.0 { *residual / factor } else { 0.0 };
        });
        scaled
    }

    /// The lines with their uncertainties times `factor`, for points that share no errors.
    pub(crate) fn with_covariance_enlarged(mut self, factor: f64) -> Self {
        self.slope_uncertainty *= factor;
        for line in &mut self.lines {
            line.uncertainty *= factor;
            line.covariance_with_slope *= factor * factor;
        }
        self
    }
}

/// Fits the line that minimises the sum of the squared weighted residuals.
///
/// This is weighted least squares if every x is exact (ISO/TS 28037:2010, clause 6), and generalised distance
/// regression if x is uncertain too (clause 7) or x and y are correlated (clause 8). All use York's iteration (York,
/// Evensen, Martinez, Delgado 2004, Am. J. Phys. 72, 367, equations 13): with
///
/// ```text
/// W = 1 / (u_y² + b² u_x² − 2 b c),  x̄ = ΣWx/ΣW,  U = x − x̄,  V = y − ȳ
/// β = W (U u_y² + V b u_x² − (b U + V) c),   b = ΣWβV / ΣWβU,   a = ȳ − b x̄
/// ```
///
/// The certified digits of the NIST Norris set are met to 1e-12 of each (tests). Refused: fewer than two points,
/// equal abscissas, a point without a finite positive uncertainty.
pub fn fit_line(points: &[LinePoint]) -> Result<LineFit> {
    Ok(single(fit_parallel_lines(points, &vec![0; points.len()])?))
}

/// Fits lines of one common slope to points that belong to different lines, as when the origin of y moved between two
/// sets of readings. The iteration is the same; each line's points are measured from that line's own means.
///
/// `line_of` numbers each point's line from 0; every number up to the largest must occur.
pub fn fit_parallel_lines(points: &[LinePoint], line_of: &[usize]) -> Result<ParallelLines> {
    check(points, line_of)?;
    let mut slope = start_slope(points, line_of);
    for iteration in 1..=500 {
        let next = Sums::of(points, line_of, slope).slope();
        if !next.is_finite() {
            break;
        }
        let change = (next - slope).abs();
        slope = next;
        // The iteration contracts by a constant factor until rounding dominates; then the change stops falling. Points that lie
        // far from any line leave more of it.
        let rounding = match iteration {
            0..=100 => 1e-15,
            101..=200 => 1e-13,
            _ => 1e-10,
        };
        let settled = change <= rounding * slope.abs();
        if settled {
            return Ok(finish(points, line_of, sensible(points, line_of, slope), iteration));
        }
    }
    let error_estimate = (Sums::of(points, line_of, slope).slope() - slope).abs();
    Err(Error::NotConverged { what: "the slope of the line", best: slope, error_estimate })
}

/// Fits a line to points of one common but unknown uncertainty, estimated from the scatter with n − 2 degrees of
/// freedom (ISO/TS 28037:2010, annex E). `chi_square` is then the sum of squared residuals, in y², and the weighted
/// residuals are in units of the common standard uncertainty. Needs at least three points.
pub fn fit_line_equal_scatter(points: &[(f64, f64)]) -> Result<LineFit> {
    Ok(single(fit_parallel_lines_equal_scatter(points, &vec![0; points.len()])?))
}

/// Fits lines of one common slope to points of one common but unknown uncertainty, as [`fit_line_equal_scatter`] does
/// for a single line. See [`fit_parallel_lines`].
pub fn fit_parallel_lines_equal_scatter(points: &[(f64, f64)], line_of: &[usize]) -> Result<ParallelLines> {
    let needed = 2 + line_count(line_of);
    if points.len() < needed {
        return Err(Refused::TooFewPointsForScatter { points: points.len(), needed }.into());
    }
    let unit: Vec<LinePoint> = points
        .iter()
        .map(|(x, y)| LinePoint { x: *x, y: *y, x_uncertainty: 0.0, y_uncertainty: 1.0, covariance: 0.0 })
        .collect();
    let fit = fit_parallel_lines(&unit, line_of)?;
    let common = (fit.chi_square / fit.degrees_of_freedom as f64).sqrt();
    Ok(fit.scaled(common))
}

/// One line as a record of its own.
fn single(fit: ParallelLines) -> LineFit {
    let line = fit.lines[0];
    LineFit {
        slope: fit.slope,
        slope_uncertainty: fit.slope_uncertainty,
        intercept: line.value,
        intercept_uncertainty: line.uncertainty,
        covariance: line.covariance_with_slope,
        chi_square: fit.chi_square,
        degrees_of_freedom: fit.degrees_of_freedom,
        residuals: fit.residuals,
        weighted_residuals: fit.weighted_residuals,
        iterations: fit.iterations,
    }
}

pub(super) fn line_count(line_of: &[usize]) -> usize {
    line_of.iter().max().map_or(0, |last| last + 1)
}

pub(super) fn check(points: &[LinePoint], line_of: &[usize]) -> Result<()> {
    let lines = line_count(line_of);
    if points.len() < 1 + lines.max(1) {
        return Err(Refused::TooFewPoints { points: points.len(), lines, needed: 1 + lines.max(1) }.into());
    }
    for (index, point) in points.iter().enumerate() {
        let finite = [point.x, point.y, point.x_uncertainty, point.y_uncertainty, point.covariance]
            .iter()
            .all(|number| number.is_finite());
        let positive = point.y_uncertainty >= 0.0
            && point.x_uncertainty >= 0.0
            && point.x_uncertainty + point.y_uncertainty > 0.0;
        let possible =
            point.covariance.abs() < point.x_uncertainty * point.y_uncertainty || point.covariance == 0.0;
        if !(finite && positive && possible) {
            return Err(Refused::PointWithoutUncertainty {
                number: index + 1,
                x: [point.x, point.x_uncertainty],
                y: [point.y, point.y_uncertainty],
                covariance: point.covariance,
            }
            .into());
        }
    }
    // The slope of parallel lines comes from the spread of x within each line.
    let mut first_x = vec![None; lines];
    let spread = points.iter().zip(line_of).any(|(point, line)| {
        let first = *first_x[*line].get_or_insert(point.x);
        point.x != first
    });
    if !spread {
        return Err(Refused::NoSlopeFromOneAbscissa { x: points[0].x }.into());
    }
    Ok(())
}

/// A line steeper than the points' spread by this factor passes through points that lie on no line.
const STEEPEST: f64 = 3.0;

/// The slope, or that of the weighted line about the start where the iteration ran off to a line steeper than any that the
/// points' spread can have. It does so if the points lie on no line at all and x is uncertain: the steeper the line, the
/// less any distance along y counts.
fn sensible(points: &[LinePoint], line_of: &[usize], slope: f64) -> f64 {
    let spread = |of: fn(&LinePoint) -> f64| {
        let each = |line: usize| {
            let of_line = points.iter().zip(line_of).filter(move |(_, its)| **its == line);
            let (low, high) = of_line.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), (point, _)| {
                (l.min(of(point)), h.max(of(point)))
            });
            high - low
        };
        (0..line_count(line_of)).map(each).fold(0.0, f64::max)
    };
    let steepest = STEEPEST * spread(|point| point.y) / spread(|point| point.x);
    let x_is_uncertain = points.iter().any(|point| point.x_uncertainty > 0.0);
    if x_is_uncertain && slope.abs() > steepest {
        return Sums::of(points, line_of, start_slope(points, line_of)).slope();
    }
    slope
}

/// The slope with all points weighted alike, as the start.
pub(super) fn start_slope(points: &[LinePoint], line_of: &[usize]) -> f64 {
    let alike: Vec<LinePoint> = points
        .iter()
        .map(|point| LinePoint { x_uncertainty: 0.0, y_uncertainty: 1.0, covariance: 0.0, ..*point })
        .collect();
    Sums::of(&alike, line_of, 0.0).slope()
}

/// What one round of the iteration needs, at a trial slope.
struct Sums {
    weights: Vec<f64>,
    beta: Vec<f64>,
    means: Vec<Means>,
    numerator: f64,
    denominator: f64,
}

/// Weighted means of the points of one line.
#[derive(Clone, Copy)]
struct Means {
    weight: f64,
    x: f64,
    y: f64,
}

impl Sums {
    fn of(points: &[LinePoint], line_of: &[usize], slope: f64) -> Self {
        let weights: Vec<f64> = points.iter().map(|point| 1.0 / variance(point, slope)).collect();
        let means: Vec<Means> =
            (0..line_count(line_of)).map(|line| Means::of(points, &weights, line_of, line)).collect();
        let (mut numerator, mut denominator) = (0.0, 0.0);
        let beta = (0..points.len())
            .map(|i| {
                let (point, mean) = (&points[i], means[line_of[i]]);
                let (u, v) = (point.x - mean.x, point.y - mean.y);
                let beta = weights[i]
                    * (u * point.y_uncertainty.powi(2) + v * slope * point.x_uncertainty.powi(2)
                        - (slope * u + v) * point.covariance);
                numerator += weights[i] * beta * v;
                denominator += weights[i] * beta * u;
                beta
            })
            .collect();
        Self { weights, beta, means, numerator, denominator }
    }

    fn slope(&self) -> f64 {
        self.numerator / self.denominator
    }
}

impl Means {
    fn of(points: &[LinePoint], weights: &[f64], line_of: &[usize], line: usize) -> Self {
        let members = || (0..points.len()).filter(|i| line_of[*i] == line);
        let weight: f64 = members().map(|i| weights[i]).sum();
        let mean = |value: fn(&LinePoint) -> f64| {
            // Measured from the first point, so that a large common part costs no digits.
            let first = members().next().map_or(0.0, |i| value(&points[i]));
            first + members().map(|i| weights[i] * (value(&points[i]) - first)).sum::<f64>() / weight
        };
        Self { weight, x: mean(|point| point.x), y: mean(|point| point.y) }
    }
}

/// Variance of y − a − b x of one point.
pub(super) fn variance(point: &LinePoint, slope: f64) -> f64 {
    point.y_uncertainty.powi(2) + (slope * point.x_uncertainty).powi(2) - 2.0 * slope * point.covariance
}

/// u(b)² = 1/ΣW u², u(a)² = 1/ΣW + x̄² u(b)², cov(a, b) = −x̄ u(b)², with the adjusted abscissas x̄ + β and their
/// mean (York 2004, equations 13).
fn finish(points: &[LinePoint], line_of: &[usize], slope: f64, iterations: usize) -> ParallelLines {
    let sums = Sums::of(points, line_of, slope);
    let indices = 0..points.len();
    let mut shifts = vec![0.0; sums.means.len()];
    for i in indices.clone() {
        shifts[line_of[i]] += sums.weights[i] * sums.beta[i] / sums.means[line_of[i]].weight;
    }
    let spread: f64 =
        indices.clone().map(|i| sums.weights[i] * (sums.beta[i] - shifts[line_of[i]]).powi(2)).sum();
    let slope_variance = 1.0 / spread;
    let lines = sums.means.iter().zip(&shifts).map(|(mean, shift)| {
        let adjusted = mean.x + shift;
        Intercept {
            value: mean.y - slope * mean.x,
            uncertainty: (1.0 / mean.weight + adjusted * adjusted * slope_variance).sqrt(),
            covariance_with_slope: -adjusted * slope_variance,
        }
    });
    let residuals: Vec<f64> = indices
        .map(|i| {
            // Measured from the weighted means, so that no large numbers cancel.
            let mean = sums.means[line_of[i]];
            (points[i].y - mean.y) - slope * (points[i].x - mean.x)
        })
        .collect();
    let weighted_residuals: Vec<f64> =
        residuals.iter().zip(&sums.weights).map(|(residual, weight)| residual * weight.sqrt()).collect();
    ParallelLines {
        slope,
        slope_uncertainty: slope_variance.sqrt(),
        lines: lines.collect(),
        chi_square: weighted_residuals.iter().map(|residual| residual * residual).sum(),
        degrees_of_freedom: points.len() - 1 - sums.means.len(),
        residuals,
        weighted_residuals,
        iterations,
        between: None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::{assert_abs_diff_eq, assert_relative_eq};

    const X_WHOLE: [f64; 6] = [1.0, 2.0, 3.0, 4.0, 5.0, 6.0];
    const X_BOTH: [f64; 6] = [1.2, 1.9, 2.9, 4.0, 4.7, 5.9];
    const Y_BOTH: [f64; 6] = [3.4, 4.4, 7.2, 8.5, 10.8, 13.5];
    const U_Y_BOTH: [f64; 6] = [0.2, 0.2, 0.2, 0.4, 0.4, 0.4];

    fn points(x: [f64; 6], y: [f64; 6], u_x: f64, u_y: [f64; 6], covariance: f64) -> Vec<LinePoint> {
        (0..6)
            .map(|i| LinePoint { x: x[i], y: y[i], x_uncertainty: u_x, y_uncertainty: u_y[i], covariance })
            .collect()
    }

    /// Compares with values printed to a few decimals: half a unit of the last one.
    fn assert_printed(fit: &LineFit, printed: [f64; 6], unit: f64) {
        let got = [
            fit.intercept,
            fit.slope,
            fit.intercept_uncertainty,
            fit.slope_uncertainty,
            fit.covariance,
            fit.chi_square,
        ];
        for (got, printed) in got.iter().zip(printed) {
            assert!((got - printed).abs() <= 0.5001 * unit, "got {got}, printed {printed}");
        }
    }

    #[test]
    fn points_on_no_line_get_no_steeper_one_than_their_spread() {
        // Two lines of opposite slope through the origin: no slope is better than none. The abscissas are uncertain by
        // 1 % and a little, the ordinates almost exact.
        let readings: Vec<LinePoint> = [-2.4, -1.8, -1.2, -0.6, 0.6, 1.2, 1.8, 2.4]
            .into_iter()
            .flat_map(|x: f64| {
                [1.0, -1.0].map(|sign| LinePoint {
                    x,
                    y: sign * 0.84e-3 * x + 1e-5,
                    x_uncertainty: 0.01 * x.abs() + 0.005,
                    y_uncertainty: 1.5e-6,
                    covariance: 0.0,
                })
            })
            .collect();
        let fit = fit_line(&readings).unwrap();
        assert!(fit.slope.abs() < 1e-4, "{fit:?}");
        assert!((fit.intercept - 1e-5).abs() < 1e-5);
        assert!(fit.chi_square > 1e4);
    }

    #[test]
    fn weighted_lines_agree_with_iso_28037_clause_6() {
        // Source: ISO/TS 28037:2010, 6.3, examples 1 and 2, and 11.1 for the inverse.
        let y = [3.3, 5.6, 7.1, 9.3, 10.7, 12.1];
        let equal = fit_line(&points(X_WHOLE, y, 0.0, [0.5; 6], 0.0)).unwrap();
        assert_printed(&equal, [1.867, 1.757, 0.465, 0.120, -0.050, 1.665], 1e-3);
        let (x, u) = equal.inverse(10.5, 0.5);
        assert_abs_diff_eq!(x, 4.913, epsilon = 5e-4);
        assert_abs_diff_eq!(u, 0.322, epsilon = 5e-4);

        let y = [3.2, 4.3, 7.6, 8.6, 11.7, 12.8];
        let unequal = fit_line(&points(X_WHOLE, y, 0.0, [0.5, 0.5, 0.5, 1.0, 1.0, 1.0], 0.0)).unwrap();
        assert_printed(&unequal, [0.885, 2.057, 0.530, 0.178, -0.082, 4.131], 1e-3);
        let (x, u) = unequal.inverse(10.5, 1.0);
        assert_abs_diff_eq!(x, 4.674, epsilon = 5e-4);
        assert_abs_diff_eq!(u, 0.533, epsilon = 5e-4);
    }

    #[test]
    fn a_line_with_uncertainty_in_both_agrees_with_iso_28037_clause_7() {
        // Source: ISO/TS 28037:2010, 7.4. Its printed slope 2.159 is 2.15966 cut, not rounded.
        let fit = fit_line(&points(X_BOTH, Y_BOTH, 0.2, U_Y_BOTH, 0.0)).unwrap();
        assert_printed(&fit, [0.5788, 2.1597, 0.4764, 0.1355, -0.0577, 2.743], 1e-3);
        // Independent: York's equations and a joint fit in 30-digit arithmetic.
        for (got, wanted) in [
            (fit.intercept, 0.578822122149),
            (fit.slope, 2.1596565674),
            (fit.intercept_uncertainty, 0.476420629622),
            (fit.slope_uncertainty, 0.135547927468),
            (fit.covariance, -0.0577169390985),
            (fit.chi_square, 2.74267678973),
        ] {
            assert_relative_eq!(got, wanted, max_relative = 1e-9);
        }
    }

    #[test]
    fn a_line_with_correlated_uncertainties_agrees_with_a_high_precision_solution() {
        // Data: ISO/TS 28037:2010, clause 8 (cov(x, y) = 0.036 for every point). Values: York's equations in
        // 30-digit arithmetic; the standard's own printed result was not seen.
        let fit = fit_line(&points(X_BOTH, Y_BOTH, 0.2, U_Y_BOTH, 0.036)).unwrap();
        for (got, wanted) in [
            (fit.intercept, 0.5815919),
            (fit.slope, 2.1699955),
            (fit.intercept_uncertainty, 0.2856448),
            (fit.slope_uncertainty, 0.0901913),
            (fit.covariance, -0.0228373),
            (fit.chi_square, 6.482691),
        ] {
            assert_relative_eq!(got, wanted, max_relative = 2e-6);
        }
    }

    #[test]
    fn an_unknown_common_uncertainty_comes_from_the_scatter_as_in_iso_28037_annex_e() {
        // Source: ISO/TS 28037:2010, annex E: a 1.172, b 1.964, u(a) 0.159, u(b) 0.041, cov −0.006. The sum of
        // squares is 0.1165 (computed from the data).
        let y = [3.014, 5.225, 7.004, 9.061, 11.201, 12.762];
        let data: Vec<(f64, f64)> = X_WHOLE.into_iter().zip(y).collect();
        let fit = fit_line_equal_scatter(&data).unwrap();
        assert_printed(&fit, [1.172, 1.964, 0.159, 0.041, -0.006, 0.1165], 1e-3);
        assert_relative_eq!(fit.chi_square, 0.116498285714, max_relative = 1e-10);
        assert!(fit_line_equal_scatter(&data[..2]).is_err());
    }

    #[test]
    fn pearsons_data_with_yorks_weights_give_yorks_line() {
        // Source: York et al. 2004, Am. J. Phys. 72, 367: a = 5.47991, b = −0.480533, 0.295, 0.058; more digits
        // from 30-digit arithmetic, in the head of the data file.
        let points: Vec<LinePoint> =
            include_str!(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/data/pearson_york.csv"))
                .lines()
                .skip(2)
                .map(|line| {
                    let cell: Vec<f64> = line.split(',').map(|cell| cell.parse().unwrap()).collect();
                    LinePoint {
                        x: cell[0],
                        y: cell[1],
                        x_uncertainty: cell[2].sqrt().recip(),
                        y_uncertainty: cell[3].sqrt().recip(),
                        covariance: 0.0,
                    }
                })
                .collect();
        let fit = fit_line(&points).unwrap();
        for (got, wanted) in [
            (fit.intercept, 5.47991022403287),
            (fit.slope, -0.480533407446202),
            (fit.intercept_uncertainty, 0.294970735493109),
            (fit.slope_uncertainty, 0.0579850090007744),
            (fit.covariance, -0.0164725446581158),
            (fit.chi_square, 11.8663531940614),
        ] {
            assert_relative_eq!(got, wanted, max_relative = 1e-12);
        }
    }

    #[test]
    fn the_norris_set_is_met_to_its_certified_digits() {
        // Source: NIST Statistical Reference Datasets, Norris, certified values.
        let data: Vec<(f64, f64)> =
            include_str!(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/data/norris.csv"))
                .lines()
                .skip(2)
                .map(|line| {
                    let (y, x) = line.split_once(',').unwrap();
                    (x.parse().unwrap(), y.parse().unwrap())
                })
                .collect();
        assert_eq!(data.len(), 36);
        let fit = fit_line_equal_scatter(&data).unwrap();
        // The intercept is small against the data, so its last digits go first: 1e-12.
        assert_relative_eq!(fit.intercept, -0.262323073774029, max_relative = 1e-12);
        assert_relative_eq!(fit.slope, 1.00211681802045, max_relative = 1e-14);
        assert_relative_eq!(fit.intercept_uncertainty, 0.232818234301152, max_relative = 1e-12);
        assert_relative_eq!(fit.slope_uncertainty, 0.429796848199937e-3, max_relative = 1e-12);
        assert_relative_eq!((fit.chi_square / 34.0).sqrt(), 0.884796396144373, max_relative = 1e-12);
    }

    #[test]
    fn exchanging_the_axes_gives_the_same_line() {
        // An invariant of generalised distance regression: x = (y − a)/b.
        let forward = points(X_BOTH, Y_BOTH, 0.2, U_Y_BOTH, 0.01);
        let exchanged: Vec<LinePoint> = forward
            .iter()
            .map(|p| LinePoint {
                x: p.y,
                y: p.x,
                x_uncertainty: p.y_uncertainty,
                y_uncertainty: p.x_uncertainty,
                covariance: p.covariance,
            })
            .collect();
        let (one, other) = (fit_line(&forward).unwrap(), fit_line(&exchanged).unwrap());
        assert_relative_eq!(other.slope, 1.0 / one.slope, max_relative = 1e-12);
        assert_relative_eq!(other.intercept, -one.intercept / one.slope, max_relative = 1e-11);
        assert_relative_eq!(other.chi_square, one.chi_square, max_relative = 1e-12);
    }

    #[test]
    fn parallel_lines_share_their_slope_and_keep_their_intercepts() {
        // Independent: the normal equations of y = b x + a_1 or a_2 solved by hand for four points a line;
        // line 1: x 0..3, y 1 + 2x ± 0.1; line 2: x −3..0, y −4 + 2x ± 0.1, the same pattern.
        let pattern = [0.1, -0.1, -0.1, 0.1];
        let mut points = Vec::new();
        for (start, intercept) in [(0.0, 1.0), (-3.0, -4.0)] {
            for (i, scatter) in pattern.iter().enumerate() {
                let x = start + i as f64;
                let y = intercept + 2.0 * x + scatter;
                points.push(LinePoint { x, y, x_uncertainty: 0.0, y_uncertainty: 0.1, covariance: 0.0 });
            }
        }
        let fit = fit_parallel_lines(&points, &[0, 0, 0, 0, 1, 1, 1, 1]).unwrap();
        assert_relative_eq!(fit.slope, 2.0, max_relative = 1e-12);
        assert_relative_eq!(fit.lines[0].value, 1.0, max_relative = 1e-12);
        assert_relative_eq!(fit.lines[1].value, -4.0, max_relative = 1e-12);
        // Σ(x − x̄)² is 5 in each line: u(b) = 0.1/√10; u(a)² = 0.01/4 + 1.5² u(b)²; the rest likewise.
        assert_relative_eq!(fit.slope_uncertainty, 0.1 / 10f64.sqrt(), max_relative = 1e-12);
        assert_relative_eq!(
            fit.lines[0].uncertainty,
            (0.0025f64 + 2.25 * 0.001).sqrt(),
            max_relative = 1e-12
        );
        assert_relative_eq!(fit.intercept_covariance(0, 1), -2.25 * 0.001, max_relative = 1e-12);
        assert_relative_eq!(fit.chi_square, 8.0, max_relative = 1e-10);
        assert_eq!(fit.degrees_of_freedom, 5);
    }

    #[test]
    fn uncertainty_in_x_alone_is_the_line_with_the_axes_exchanged() {
        let x_alone = points(X_BOTH, Y_BOTH, 0.2, [0.0; 6], 0.0);
        let y_alone: Vec<LinePoint> = x_alone
            .iter()
            .map(|p| LinePoint { x: p.y, y: p.x, x_uncertainty: 0.0, y_uncertainty: 0.2, covariance: 0.0 })
            .collect();
        let (one, other) = (fit_line(&x_alone).unwrap(), fit_line(&y_alone).unwrap());
        assert_relative_eq!(one.slope, 1.0 / other.slope, max_relative = 1e-12);
        assert_relative_eq!(one.chi_square, other.chi_square, max_relative = 1e-12);
    }

    #[test]
    fn points_that_make_no_line_are_refused() {
        let good = points(X_WHOLE, Y_BOTH, 0.0, [0.5; 6], 0.0);
        assert!(fit_line(&good[..1]).is_err());
        for spoil in [
            |point: &mut LinePoint| (point.x_uncertainty, point.y_uncertainty) = (0.0, 0.0),
            |point: &mut LinePoint| point.y = f64::NAN,
            |point: &mut LinePoint| point.x_uncertainty = -0.1,
            |point: &mut LinePoint| point.covariance = 1.0,
        ] {
            let mut bad = good.clone();
            spoil(&mut bad[3]);
            assert!(fit_line(&bad).unwrap_err().to_string().contains("point 4"));
        }
        let same: Vec<LinePoint> = good.iter().map(|point| LinePoint { x: 2.0, ..*point }).collect();
        assert!(fit_line(&same).unwrap_err().to_string().contains("same x"));
    }
}
