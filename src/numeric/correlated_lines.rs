//! A straight line through points that share errors, so that their covariance matrices are full.
//!
//! An error that several points share is a quantity ζ of its own, in units of its standard uncertainty, known before the
//! points to be 0 ± 1. It is estimated beside the line. The covariance matrix that it stands for is never built.

use super::line_fit::{Intercept, LinePoint, ParallelLines, check, line_count, start_slope, variance};
use crate::{Error, Result};
use nalgebra::{DMatrix, DVector};

/// Changes of the slope relative to it that end the iteration, by how long it has run.
const ROUNDING: [(usize, f64); 3] = [(100, 1e-15), (200, 1e-13), (500, 1e-10)];

/// An error that points share: the change of each abscissa and ordinate for one standard uncertainty of the error. It
/// is zero for points that the error does not affect.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct SharedError {
    /// Effect on each x.
    pub x: Vec<f64>,
    /// Effect on each y.
    pub y: Vec<f64>,
}

/// Lines fitted to points that share errors.
#[derive(Clone, Debug)]
pub(crate) struct CorrelatedLines {
    /// The lines. The residuals are y − a − b x; the weighted ones are without what the shared errors explain.
    pub lines: ParallelLines,
    /// Each shared error as the points show it, in standard uncertainties of it.
    pub shared: Vec<f64>,
    /// How much each point pulls the fit towards itself, 0 to 1.
    pub leverages: Vec<f64>,
    normal: Normal,
    /// Of the intercepts, the slope and the shared errors.
    covariance: DMatrix<f64>,
}

impl CorrelatedLines {
    /// The lines with the uncertainties that they have where the points' own errors are `factor` times as large and the shared
    /// ones are as stated. With C the covariance and S its part from the shared errors, it becomes f² (C − S) + S.
    pub(crate) fn with_own_errors_enlarged(&self, factor: f64, shared: &[SharedError]) -> ParallelLines {
        let count = self.lines.lines.len();
        let mut covariance = factor * factor * self.covariance.view((0, 0), (count + 1, count + 1));
        for error in shared {
            let moved = DVector::from_fn(error.y.len(), |i, _| error.y[i] - self.lines.slope * error.x[i]);
            let followed = &self.covariance * self.normal.weighted.tr_mul(&moved);
            let followed = followed.rows(0, count + 1);
            covariance.ger(1.0 - factor * factor, &followed, &followed, 1.0);
        }
        let uncertainty = |i: usize| covariance[(i, i)].max(0.0).sqrt();
        let intercepts = self.lines.lines.iter().enumerate();
        ParallelLines {
            slope_uncertainty: uncertainty(count),
            lines: intercepts
                .map(|(i, line)| Intercept {
                    uncertainty: uncertainty(i),
                    covariance_with_slope: covariance[(i, count)],
                    ..*line
                })
                .collect(),
            between: Some(covariance.view((0, 0), (count, count)).into_owned()),
            ..self.lines.clone()
        }
    }

    /// How slope and intercepts follow where each y is moved by so much.
    pub(crate) fn following(&self, moved: &[f64]) -> Option<(f64, Vec<f64>)> {
        let solved = self.normal.solved(moved)?;
        let lines = self.lines.lines.len();
        Some((solved[lines], solved.rows(0, lines).iter().copied().collect()))
    }
}

/// Fits lines of one common slope to points with errors of their own and shared ones (ISO/TS 28037:2010, clauses 9 and 10).
///
/// With the points' own errors as in [`fit_parallel_lines`](super::line_fit::fit_parallel_lines) and shared errors that do
/// p and q to x and y, the residual covariance at slope b is
///
/// ```text
/// V(b) = diag(u_y² + b² u_x² − 2 b c) + Σ_g (q_g − b p_g)(q_g − b p_g)ᵀ
/// ```
///
/// and the sum rᵀV(b)⁻¹r is least where both 1 and the adjusted abscissas ξ = x − (own and shared errors of x) are
/// orthogonal to V⁻¹r. Each round solves that for a, b and ζ with weights and ξ of the last.
///
/// Refused: what `fit_parallel_lines` refuses.
pub(crate) fn fit_correlated_lines(
    points: &[LinePoint],
    line_of: &[usize],
    shared: &[SharedError],
) -> Result<CorrelatedLines> {
    check(points, line_of)?;
    let mut slope = start_slope(points, line_of);
    let mut adjusted: Vec<f64> = points.iter().map(|point| point.x).collect();
    let ordinates: Vec<f64> = points.iter().map(|point| point.y).collect();
    let lines = line_count(line_of);
    let mut error_estimate = f64::INFINITY;
    for iteration in 1..=ROUNDING[2].0 {
        let normal = Normal::of(points, line_of, shared, slope, &adjusted);
        let solved = normal.solved(&ordinates).ok_or_else(undetermined)?;
        let change = (solved[lines] - slope).abs();
        let relative = change / slope.abs();
        slope = solved[lines];
        error_estimate = change;
        adjusted = adjusted_abscissas(points, line_of, shared, &solved);
        let enough =
            ROUNDING.iter().find(|(until, _)| iteration <= *until).map_or(0.0, |(_, enough)| *enough);
        if relative <= enough {
            return Normal::of(points, line_of, shared, slope, &adjusted)
                .finish(points, line_of, shared, slope, iteration);
        }
    }
    Err(Error::NotConverged { what: "the slope of the line", best: slope, error_estimate })
}

/// What is refused where the shared errors leave nothing to tell the line by.
fn undetermined() -> Error {
    Error::value_with_hint(
        "the readings with what they share do not determine a line",
        "state smaller shared uncertainties, or let more readings share each",
    )
}

/// Residual of a point without what the shared errors explain.
fn own_residual(
    point: &LinePoint,
    place: usize,
    line: usize,
    shared: &[SharedError],
    solved: &DVector<f64>,
) -> f64 {
    let lines = solved.len() - 1 - shared.len();
    let slope = solved[lines];
    let explained: f64 = shared
        .iter()
        .enumerate()
        .map(|(g, error)| (error.y[place] - slope * error.x[place]) * solved[lines + 1 + g])
        .sum();
    point.y - solved[line] - slope * point.x - explained
}

/// Abscissas less their own errors and shared ones, as the points show them.
fn adjusted_abscissas(
    points: &[LinePoint],
    line_of: &[usize],
    shared: &[SharedError],
    solved: &DVector<f64>,
) -> Vec<f64> {
    let lines = solved.len() - 1 - shared.len();
    let slope = solved[lines];
    let of_point = |(place, point): (usize, &LinePoint)| {
        let residual = own_residual(point, place, line_of[place], shared, solved);
        let own =
            (point.covariance - slope * point.x_uncertainty.powi(2)) / variance(point, slope) * residual;
        let common: f64 =
            shared.iter().enumerate().map(|(g, error)| error.x[place] * solved[lines + 1 + g]).sum();
        point.x - own - common
    };
    points.iter().enumerate().map(of_point).collect()
}

/// The equations of one round. Unknowns: the intercepts, the slope, the shared errors.
#[derive(Clone, Debug)]
struct Normal {
    /// What each equation weighs each point by, one row a point.
    weighted: DMatrix<f64>,
    /// The equations for the line through the abscissas as read.
    matrix: DMatrix<f64>,
    /// The equations for the line through the adjusted abscissas. They are symmetric; the inverse is the covariance of
    /// the unknowns.
    information: DMatrix<f64>,
}

impl Normal {
    fn of(
        points: &[LinePoint],
        line_of: &[usize],
        shared: &[SharedError],
        slope: f64,
        adjusted: &[f64],
    ) -> Self {
        let lines = line_count(line_of);
        let unknowns = lines + 1 + shared.len();
        let mut weighted = DMatrix::zeros(points.len(), unknowns);
        let mut matrix = DMatrix::zeros(unknowns, unknowns);
        let mut information = DMatrix::zeros(unknowns, unknowns);
        let mut row = DVector::zeros(unknowns);
        for (place, point) in points.iter().enumerate() {
            row.fill(0.0);
            row[line_of[place]] = 1.0;
            row[lines] = adjusted[place];
            for (g, error) in shared.iter().enumerate() {
                row[lines + 1 + g] = error.y[place] - slope * error.x[place];
            }
            let weight = 1.0 / variance(point, slope);
            weighted.row_mut(place).copy_from(&(weight * row.transpose()));
            information.ger(weight, &row, &row, 1.0);
            let instrument = row.clone();
            row[lines] = point.x;
            matrix.ger(weight, &instrument, &row, 1.0);
        }
        // What is known of the shared errors before the points.
        for g in lines + 1..unknowns {
            matrix[(g, g)] += 1.0;
            information[(g, g)] += 1.0;
        }
        Self { weighted, matrix, information }
    }

    /// The unknowns for these ordinates; `None` if the points do not determine them.
    fn solved(&self, ordinates: &[f64]) -> Option<DVector<f64>> {
        let pull = self.weighted.tr_mul(&DVector::from_column_slice(ordinates));
        self.matrix
            .clone()
            .full_piv_lu()
            .solve(&pull)
            .filter(|solved| solved.iter().all(|one| one.is_finite()))
    }

    fn finish(
        self,
        points: &[LinePoint],
        line_of: &[usize],
        shared: &[SharedError],
        slope: f64,
        iterations: usize,
    ) -> Result<CorrelatedLines> {
        let lines = line_count(line_of);
        let ordinates: Vec<f64> = points.iter().map(|point| point.y).collect();
        let solved = self.solved(&ordinates).ok_or_else(undetermined)?;
        let covariance =
            self.information.clone().cholesky().map(|factor| factor.inverse()).ok_or_else(undetermined)?;
        let places = 0..points.len();
        let residuals =
            places.clone().map(|i| points[i].y - solved[line_of[i]] - slope * points[i].x).collect();
        let weighted_residuals: Vec<f64> = places
            .map(|i| {
                own_residual(&points[i], i, line_of[i], shared, &solved) / variance(&points[i], slope).sqrt()
            })
            .collect();
        let shared: Vec<f64> = solved.rows(lines + 1, shared.len()).iter().copied().collect();
        let square = |values: &[f64]| values.iter().map(|value| value * value).sum::<f64>();
        let intercept = |line: usize| Intercept {
            value: solved[line],
            uncertainty: covariance[(line, line)].sqrt(),
            covariance_with_slope: covariance[(line, lines)],
        };
        let leverages = (0..points.len())
            .map(|i| {
                // Weighted is the row of the point times its weight.
                let row = self.weighted.row(i);
                (row * &covariance * row.transpose())[(0, 0)] * variance(&points[i], slope)
            })
            .collect();
        let between = covariance.view((0, 0), (lines, lines)).into_owned();
        let lines = ParallelLines {
            slope: solved[lines],
            slope_uncertainty: covariance[(lines, lines)].sqrt(),
            lines: (0..lines).map(intercept).collect(),
            between: Some(between),
            chi_square: square(&weighted_residuals) + square(&shared),
            degrees_of_freedom: points.len() - 1 - lines,
            residuals,
            weighted_residuals,
            iterations,
        };
        Ok(CorrelatedLines { lines, shared, leverages, normal: self, covariance })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::numeric::line_fit::fit_parallel_lines;
    use approx::assert_relative_eq;

    const X: [f64; 6] = [1.2, 1.9, 2.9, 4.0, 4.7, 5.9];
    const Y: [f64; 6] = [3.4, 4.4, 7.2, 8.5, 10.8, 13.5];
    const U_Y: [f64; 6] = [0.2, 0.2, 0.2, 0.4, 0.4, 0.4];
    const NONE: [f64; 6] = [0.0; 6];

    fn points(u_x: f64, correlation: f64) -> Vec<LinePoint> {
        (0..6)
            .map(|i| LinePoint {
                x: X[i],
                y: Y[i],
                x_uncertainty: u_x,
                y_uncertainty: U_Y[i],
                covariance: correlation * u_x * U_Y[i],
            })
            .collect()
    }

    fn halves() -> Vec<SharedError> {
        let y = [[0.3, 0.3, 0.3, 0.0, 0.0, 0.0], [0.0, 0.0, 0.0, 0.5, 0.5, 0.5]];
        y.into_iter().map(|y| SharedError { x: NONE.to_vec(), y: y.to_vec() }).collect()
    }

    fn of_x(x: [f64; 6]) -> SharedError {
        SharedError { x: x.to_vec(), y: NONE.to_vec() }
    }

    #[test]
    fn lines_with_full_covariance_matrices_are_those_of_the_reference_table() {
        // tests/data/make_correlated_lines.py: the whole covariance matrix, minimised over the abscissas too, 50 digits.
        let table = include_str!("../../tests/data/correlated_lines.csv");
        let with_x = |x| [halves(), vec![of_x(x)]].concat();
        let cases = [
            (points(0.2, 0.45), Vec::new()),
            (points(0.0, 0.0), halves()),
            (points(0.2, 0.0), with_x([0.15; 6])),
            (points(0.2, -0.3), with_x([0.25, 0.0, 0.25, 0.0, 0.25, 0.0])),
        ];
        let rows: Vec<&str> = table.lines().skip(2).collect();
        assert_eq!(rows.len(), cases.len());
        for ((points, shared), row) in cases.iter().zip(rows) {
            let (name, numbers) = row.rsplit_once("\",").unwrap();
            let wanted: Vec<f64> = numbers.split(',').map(|number| number.parse().unwrap()).collect();
            let CorrelatedLines { lines, .. } = fit_correlated_lines(points, &[0; 6], shared).unwrap();
            let line = lines.lines[0];
            let got = [
                line.value,
                lines.slope,
                line.uncertainty,
                lines.slope_uncertainty,
                line.covariance_with_slope,
                lines.chi_square,
            ];
            for (got, wanted) in got.into_iter().zip(wanted) {
                assert!((got / wanted - 1.0).abs() < 1e-12, "{name}: got {got}, wanted {wanted}");
            }
        }
    }

    #[test]
    fn without_shared_errors_it_is_the_fit_of_independent_points() {
        let points = points(0.2, 0.3);
        let line_of = [0, 1, 0, 1, 0, 1];
        let plain = fit_parallel_lines(&points, &line_of).unwrap();
        let CorrelatedLines { lines, .. } = fit_correlated_lines(&points, &line_of, &[]).unwrap();
        assert_relative_eq!(lines.slope, plain.slope, max_relative = 1e-13);
        assert_relative_eq!(lines.slope_uncertainty, plain.slope_uncertainty, max_relative = 1e-13);
        assert_relative_eq!(lines.chi_square, plain.chi_square, max_relative = 1e-12);
        for (one, other) in lines.lines.iter().zip(&plain.lines) {
            assert_relative_eq!(one.value, other.value, max_relative = 1e-12);
            assert_relative_eq!(one.uncertainty, other.uncertainty, max_relative = 1e-12);
        }
        assert_relative_eq!(
            lines.intercept_covariance(0, 1),
            plain.intercept_covariance(0, 1),
            max_relative = 1e-12
        );
    }

    #[test]
    fn own_errors_are_enlarged_and_shared_ones_stay() {
        // This equals stating the larger own errors in a case where the estimate does not depend on the weights: an
        // offset common to all.
        let larger: Vec<LinePoint> = points(0.0, 0.0)
            .into_iter()
            .map(|point| LinePoint { y_uncertainty: 3.0 * point.y_uncertainty, ..point })
            .collect();
        let offset = [SharedError { x: NONE.to_vec(), y: vec![0.7; 6] }];
        let line_of = [0, 0, 1, 1, 0, 1];
        let wanted = fit_correlated_lines(&larger, &line_of, &offset).unwrap().lines;
        let stated = fit_correlated_lines(&points(0.0, 0.0), &line_of, &offset).unwrap();
        let enlarged = stated.with_own_errors_enlarged(3.0, &offset);
        assert_relative_eq!(enlarged.slope_uncertainty, wanted.slope_uncertainty, max_relative = 1e-12);
        for (one, other) in enlarged.lines.iter().zip(&wanted.lines) {
            assert_relative_eq!(one.uncertainty, other.uncertainty, max_relative = 1e-12);
            assert_relative_eq!(
                one.covariance_with_slope,
                other.covariance_with_slope,
                max_relative = 1e-10,
                epsilon = 1e-14
            );
        }
        let between = |lines: &ParallelLines| lines.intercept_covariance(0, 1);
        assert_relative_eq!(between(&enlarged), between(&wanted), max_relative = 1e-12);
        // A gain of y that all share: its part of the slope, 0.02 of it, is there once.
        let gain = [SharedError { x: NONE.to_vec(), y: X.map(|x| 0.02 * 2.2 * x).to_vec() }];
        let stated = fit_correlated_lines(&points(0.0, 0.0), &[0; 6], &gain).unwrap();
        let plain = fit_parallel_lines(&points(0.0, 0.0), &[0; 6]).unwrap();
        let enlarged = stated.with_own_errors_enlarged(3.0, &gain);
        let wanted = (3.0 * plain.slope_uncertainty).hypot(0.02 * 2.2);
        assert_relative_eq!(enlarged.slope_uncertainty, wanted, max_relative = 1e-12);
    }

    #[test]
    fn an_offset_that_all_share_widens_the_intercept_alone() {
        let points = points(0.0, 0.0);
        let plain = fit_parallel_lines(&points, &[0; 6]).unwrap();
        let offset = SharedError { x: NONE.to_vec(), y: vec![0.7; 6] };
        let fitted = fit_correlated_lines(&points, &[0; 6], &[offset]).unwrap();
        assert_relative_eq!(fitted.lines.slope, plain.slope, max_relative = 1e-12);
        assert_relative_eq!(fitted.lines.slope_uncertainty, plain.slope_uncertainty, max_relative = 1e-12);
        assert_relative_eq!(
            fitted.lines.lines[0].uncertainty,
            plain.lines[0].uncertainty.hypot(0.7),
            max_relative = 1e-12
        );
        // Nothing shows it, so nothing is said of it.
        assert!(fitted.shared[0].abs() < 1e-12);
    }

    #[test]
    fn lines_follow_what_moves_the_points() {
        let fitted = fit_correlated_lines(&points(0.0, 0.0), &[0; 6], &halves()).unwrap();
        let moved: Vec<f64> = X.iter().map(|x| 2.0 * x - 1.0).collect();
        let (slope, intercepts) = fitted.following(&moved).unwrap();
        assert_relative_eq!(slope, 2.0, max_relative = 1e-12);
        assert_relative_eq!(intercepts[0], -1.0, max_relative = 1e-12);
    }
}
