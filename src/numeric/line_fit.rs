//! A straight line through measured points, with uncertainty in y alone or in both quantities.
//!
//! Model y = a + b x. The points' standard uncertainties are taken as known, so the uncertainties of a and b come
//! from them alone and are *not* scaled by the scatter; chi-square says whether the scatter fits them. Where
//! nothing is known of the points, [`fit_line_equal_scatter`] takes one common uncertainty from the scatter.

use crate::{Error, Result};
use serde::Serialize;

/// A point to lay a line through.
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

/// Lays the line that minimises Σ of the squared weighted residuals.
///
/// Weighted least squares where every x is exact (ISO/TS 28037:2010, clause 6), generalised distance regression
/// where x is uncertain too (clause 7) and where x and y are correlated (clause 8), all by York's iteration
/// (York, Evensen, Martinez, Delgado 2004, Am. J. Phys. 72, 367, equations 13): with
///
/// ```text
/// W = 1 / (u_y² + b² u_x² − 2 b c),  x̄ = ΣWx/ΣW,  U = x − x̄,  V = y − ȳ
/// β = W (U u_y² + V b u_x² − (b U + V) c),   b = ΣWβV / ΣWβU,   a = ȳ − b x̄
/// ```
///
/// The certified digits of the NIST Norris set are met to 1e-12 of each (tests). Refused: fewer than two points,
/// equal abscissas, a point without a finite positive uncertainty.
pub fn fit_line(points: &[LinePoint]) -> Result<LineFit> {
    check(points)?;
    let mut slope = start_slope(points);
    for iteration in 1..=500 {
        let sums = Sums::of(points, slope);
        let next = sums.slope();
        if !next.is_finite() {
            break;
        }
        let change = (next - slope).abs();
        slope = next;
        if change <= 1e-15 * slope.abs() || change == 0.0 {
            return Ok(finish(points, slope, iteration));
        }
        // The iteration contracts by a constant factor, so once rounding rules, the change stops falling.
        if iteration > 100 && change <= 1e-13 * slope.abs() {
            return Ok(finish(points, slope, iteration));
        }
    }
    let error_estimate = (Sums::of(points, slope).slope() - slope).abs();
    Err(Error::NotConverged { what: "the slope of the line", best: slope, error_estimate })
}

/// Lays a line through points of one common but unknown uncertainty, taken from the scatter with n − 2 degrees
/// of freedom (ISO/TS 28037:2010, annex E). `chi_square` is then the sum of squared residuals, in y², and the
/// weighted residuals are in units of the common standard uncertainty. Needs three points at least.
pub fn fit_line_equal_scatter(points: &[(f64, f64)]) -> Result<LineFit> {
    if points.len() < 3 {
        return Err(Error::value(format!(
            "{} points leave no scatter to take an uncertainty from; at least 3 are needed",
            points.len()
        )));
    }
    let unit: Vec<LinePoint> = points
        .iter()
        .map(|(x, y)| LinePoint { x: *x, y: *y, x_uncertainty: 0.0, y_uncertainty: 1.0, covariance: 0.0 })
        .collect();
    let mut fit = fit_line(&unit)?;
    let common = (fit.chi_square / fit.degrees_of_freedom as f64).sqrt();
    fit.slope_uncertainty *= common;
    fit.intercept_uncertainty *= common;
    fit.covariance *= common * common;
    fit.weighted_residuals.iter_mut().for_each(|residual| {
        *residual = if common > 0.0 { *residual / common } else { 0.0 };
    });
    Ok(fit)
}

fn check(points: &[LinePoint]) -> Result<()> {
    if points.len() < 2 {
        return Err(Error::value(format!("{} points make no line; at least 2 are needed", points.len())));
    }
    for (index, point) in points.iter().enumerate() {
        let finite = [point.x, point.y, point.x_uncertainty, point.y_uncertainty, point.covariance]
            .iter()
            .all(|number| number.is_finite());
        let positive = point.y_uncertainty > 0.0 && point.x_uncertainty >= 0.0;
        let possible =
            point.covariance.abs() < point.x_uncertainty * point.y_uncertainty || point.covariance == 0.0;
        if !(finite && positive && possible) {
            return Err(Error::value(format!(
                "point {} has no usable uncertainty: x {} ± {}, y {} ± {}, covariance {}",
                index + 1,
                point.x,
                point.x_uncertainty,
                point.y,
                point.y_uncertainty,
                point.covariance
            )));
        }
    }
    if points.iter().all(|point| point.x == points[0].x) {
        return Err(Error::value(format!("all points have the same x, {}; no slope follows", points[0].x)));
    }
    Ok(())
}

/// The slope that takes every x as exact.
fn start_slope(points: &[LinePoint]) -> f64 {
    let exact: Vec<LinePoint> =
        points.iter().map(|point| LinePoint { x_uncertainty: 0.0, covariance: 0.0, ..*point }).collect();
    Sums::of(&exact, 0.0).slope()
}

/// What one round of the iteration needs, at a trial slope.
struct Sums {
    weights: Vec<f64>,
    beta: Vec<f64>,
    x_mean: f64,
    y_mean: f64,
    numerator: f64,
    denominator: f64,
}

impl Sums {
    fn of(points: &[LinePoint], slope: f64) -> Self {
        let weights: Vec<f64> = points.iter().map(|point| 1.0 / variance(point, slope)).collect();
        let total: f64 = weights.iter().sum();
        let mean = |value: fn(&LinePoint) -> f64| {
            // Centred on the first point, so that a large common part costs no digits.
            let first = value(&points[0]);
            let sum: f64 =
                points.iter().zip(&weights).map(|(point, weight)| weight * (value(point) - first)).sum();
            first + sum / total
        };
        let (x_mean, y_mean) = (mean(|point| point.x), mean(|point| point.y));
        let (mut numerator, mut denominator) = (0.0, 0.0);
        let beta: Vec<f64> = points
            .iter()
            .zip(&weights)
            .map(|(point, weight)| {
                let (u, v) = (point.x - x_mean, point.y - y_mean);
                let beta = weight
                    * (u * point.y_uncertainty.powi(2) + v * slope * point.x_uncertainty.powi(2)
                        - (slope * u + v) * point.covariance);
                numerator += weight * beta * v;
                denominator += weight * beta * u;
                beta
            })
            .collect();
        Self { weights, beta, x_mean, y_mean, numerator, denominator }
    }

    fn slope(&self) -> f64 {
        self.numerator / self.denominator
    }
}

/// Variance of y − a − b x of one point.
fn variance(point: &LinePoint, slope: f64) -> f64 {
    point.y_uncertainty.powi(2) + (slope * point.x_uncertainty).powi(2) - 2.0 * slope * point.covariance
}

fn finish(points: &[LinePoint], slope: f64, iterations: usize) -> LineFit {
    let sums = Sums::of(points, slope);
    let total: f64 = sums.weights.iter().sum();
    // u(b)² = 1/ΣW u², u(a)² = 1/ΣW + x̄² u(b)², with the adjusted abscissas x̄ + β (York 2004, equations 13).
    let shift = sums.beta.iter().zip(&sums.weights).map(|(beta, weight)| weight * beta).sum::<f64>() / total;
    let spread: f64 =
        sums.beta.iter().zip(&sums.weights).map(|(beta, weight)| weight * (beta - shift).powi(2)).sum();
    let slope_variance = 1.0 / spread;
    let adjusted_mean = sums.x_mean + shift;
    let intercept = sums.y_mean - slope * sums.x_mean;
    let residuals: Vec<f64> = points
        .iter()
        // Measured from the weighted means, where the residual is small against nothing.
        .map(|point| (point.y - sums.y_mean) - slope * (point.x - sums.x_mean))
        .collect();
    let weighted_residuals: Vec<f64> =
        residuals.iter().zip(&sums.weights).map(|(residual, weight)| residual * weight.sqrt()).collect();
    LineFit {
        slope,
        slope_uncertainty: slope_variance.sqrt(),
        intercept,
        intercept_uncertainty: (1.0 / total + adjusted_mean * adjusted_mean * slope_variance).sqrt(),
        covariance: -adjusted_mean * slope_variance,
        chi_square: weighted_residuals.iter().map(|residual| residual * residual).sum(),
        degrees_of_freedom: points.len() - 2,
        residuals,
        weighted_residuals,
        iterations,
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
        let points: Vec<LinePoint> = include_str!("../../tests/data/pearson_york.csv")
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
        let data: Vec<(f64, f64)> = include_str!("../../tests/data/norris.csv")
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
    fn points_that_make_no_line_are_refused() {
        let good = points(X_WHOLE, Y_BOTH, 0.0, [0.5; 6], 0.0);
        assert!(fit_line(&good[..1]).is_err());
        for spoil in [
            |point: &mut LinePoint| point.y_uncertainty = 0.0,
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
