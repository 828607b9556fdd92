//! Least squares of a model that is not linear in its parameters, by the Gauss–Newton method with shortened steps.
//!
//! The search finds the parameters p that minimise S = Σ r², r the residuals over their standard uncertainties. With
//! the slopes J = −∂r/∂p a step Δ solves
//!
//! ```text
//! JᵀJ Δ = Jᵀ r
//! ```
//!
//! and is halved until S is no larger than before (Å. Björck, *Numerical Methods for Least Squares Problems*, SIAM
//! 1996, section 9.2, from memory). The inverse of JᵀJ is the covariance of p if every r has unit variance.

use crate::Result;
use nalgebra::{SMatrix, SVector};

/// Most halvings of a step.
const HALVINGS: usize = 8;

/// Smallest share, 1 − R², of a parameter's information that the other parameters may leave. Below it the data cannot
/// tell the parameter from the others.
const LEAST_OWN_SHARE: f64 = 1e-10;

/// Where to search and when to stop. Scale the parameters so that a change of 1 is a large one: use logarithms, or
/// parts of a typical value.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Search<const N: usize> {
    /// Where to start.
    pub start: SVector<f64, N>,
    /// Which parameters are held at their start.
    pub held: [bool; N],
    /// Lowest and highest value of each parameter; infinite if there is none.
    pub bounds: [[f64; 2]; N],
    /// Largest change of a parameter in one step.
    pub longest_step: f64,
    /// A step that changes no parameter by more than this ends the search.
    pub settled: f64,
    /// The part by which S may grow in a step: it allows for rounding, and for slopes that are not exactly those of the
    /// model.
    pub may_grow: f64,
    /// Most steps.
    pub rounds: usize,
}

/// Why a search ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum FitEnd {
    /// The last step was small enough.
    Settled,
    /// Even a small part of the step does not lower S: the minimum is reached within rounding, or the slopes are wrong.
    NoStepLower,
    /// The data cannot tell the parameters apart, or a residual is NaN.
    Singular,
    /// All rounds are used up.
    OutOfRounds,
}

/// The result of a search.
#[derive(Clone, Debug)]
pub(crate) struct Least<const N: usize> {
    /// The parameters.
    pub parameters: SVector<f64, N>,
    /// The residuals there.
    pub residuals: Vec<f64>,
    /// Their sum of squares.
    pub square: f64,
    /// JᵀJ at the start of the last step; a held parameter has 1 on the diagonal and 0 elsewhere.
    pub normal: SMatrix<f64, N, N>,
    /// The largest change of a parameter by the last step, or by the step that could not be taken; infinite before the
    /// first.
    pub last_step: f64,
    /// Why it ended.
    pub ending: FitEnd,
}

impl<const N: usize> Least<N> {
    /// The inverse of JᵀJ. `None` if it is singular.
    pub(crate) fn covariance(&self) -> Option<SMatrix<f64, N, N>> {
        self.normal.try_inverse()
    }
}

/// Finds the parameters with the least sum of squared residuals.
///
/// `residuals` gives r, always of the same length; `slopes` gives the rows of J = −∂r/∂p from p and the r there. Errors
/// come from these two functions only; [`Least::ending`] says whether the search settled.
pub(crate) fn least_squares<const N: usize>(
    search: &Search<N>,
    residuals: impl Fn(&SVector<f64, N>) -> Result<Vec<f64>>,
    slopes: impl Fn(&SVector<f64, N>, &[f64]) -> Result<Vec<SVector<f64, N>>>,
) -> Result<Least<N>> {
    let start = search.bounded(search.start);
    let first = residuals(&start)?;
    let mut found = Least {
        parameters: start,
        square: square(&first),
        residuals: first,
        normal: SMatrix::identity(),
        last_step: f64::INFINITY,
        ending: FitEnd::OutOfRounds,
    };
    for _ in 0..search.rounds {
        let rows = slopes(&found.parameters, &found.residuals)?;
        let (normal, pull) = search.normal_equations(&rows, &found.residuals);
        found.normal = normal;
        let Some(step) = solved(&normal, &pull) else {
            return Ok(Least { ending: FitEnd::Singular, ..found });
        };
        if !search.take(&mut found, &step, &residuals)? {
            return Ok(Least { last_step: step.amax(), ending: FitEnd::NoStepLower, ..found });
        }
        if found.last_step < search.settled {
            return Ok(Least { ending: FitEnd::Settled, ..found });
        }
    }
    Ok(found)
}

impl<const N: usize> Search<N> {
    fn bounded(&self, mut parameters: SVector<f64, N>) -> SVector<f64, N> {
        for (value, [low, high]) in parameters.iter_mut().zip(self.bounds) {
            *value = value.clamp(low, high);
        }
        parameters
    }

    /// JᵀJ and Jᵀ r; the equation of a held parameter is Δ = 0.
    fn normal_equations(
        &self,
        rows: &[SVector<f64, N>],
        residuals: &[f64],
    ) -> (SMatrix<f64, N, N>, SVector<f64, N>) {
        let mut normal = SMatrix::<f64, N, N>::zeros();
        let mut pull = SVector::<f64, N>::zeros();
        for (row, residual) in rows.iter().zip(residuals) {
            let row = SVector::<f64, N>::from_fn(|i, _| if self.held[i] { 0.0 } else { row[i] });
            normal += row * row.transpose();
            pull += row * *residual;
        }
        for i in (0..N).filter(|i| self.held[*i]) {
            normal[(i, i)] = 1.0;
        }
        (normal, pull)
    }

    /// Takes the step, halved until S does not grow; `false` if S grows even with the smallest part of the step.
    fn take(
        &self,
        found: &mut Least<N>,
        step: &SVector<f64, N>,
        residuals: impl Fn(&SVector<f64, N>) -> Result<Vec<f64>>,
    ) -> Result<bool> {
        let mut share = (self.longest_step / step.amax()).min(1.0);
        for _ in 0..HALVINGS {
            let parameters = self.bounded(found.parameters + step * share);
            let there = residuals(&parameters)?;
            let square = square(&there);
            if square <= found.square * (1.0 + self.may_grow) {
                (found.parameters, found.residuals, found.square) = (parameters, there, square);
                found.last_step = step.amax() * share;
                return Ok(true);
            }
            share *= 0.5;
        }
        Ok(false)
    }
}

fn square(residuals: &[f64]) -> f64 {
    residuals.iter().map(|residual| residual * residual).sum()
}

/// The step. `None` if a parameter has no information of its own, or a number is NaN.
fn solved<const N: usize>(normal: &SMatrix<f64, N, N>, pull: &SVector<f64, N>) -> Option<SVector<f64, N>> {
    // In units of the parameter's own information, its pivot is 1 − R² of its regression on the parameters before it.
    let unit = normal.diagonal().map(|information| 1.0 / information.sqrt());
    let scaled = SMatrix::<f64, N, N>::from_fn(|i, j| normal[(i, j)] * unit[i] * unit[j]);
    let factor = scaled.cholesky()?;
    let pivots = factor.l_dirty().diagonal();
    if pivots.iter().any(|pivot| pivot * pivot <= LEAST_OWN_SHARE) {
        return None;
    }
    let step = factor.solve(&pull.component_mul(&unit)).component_mul(&unit);
    step.iter().all(|part| part.is_finite()).then_some(step)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    const FREE: [[f64; 2]; 2] = [[f64::NEG_INFINITY, f64::INFINITY]; 2];

    /// NIST Statistical Reference Datasets, nonlinear regression, Misra1a (J. D. Misra 1978, dental adsorption): x, y.
    const MISRA: [[f64; 2]; 14] = [
        [77.6, 10.07],
        [114.9, 14.73],
        [141.1, 17.94],
        [190.8, 23.93],
        [239.9, 29.61],
        [289.0, 35.18],
        [332.8, 40.02],
        [378.4, 44.82],
        [434.8, 50.76],
        [477.3, 55.05],
        [536.8, 61.01],
        [593.1, 66.40],
        [689.1, 75.47],
        [760.0, 81.78],
    ];

    /// y = b₁ (1 − exp(−b₂ x)) from the logarithms of b₁ and b₂.
    fn misra(start: [f64; 2], held: [bool; 2]) -> Least<2> {
        let search = Search {
            start: SVector::from(start.map(f64::ln)),
            held,
            bounds: FREE,
            longest_step: 0.7,
            settled: 1e-13,
            may_grow: 1e-12,
            rounds: 100,
        };
        let residuals = |p: &SVector<f64, 2>| {
            Ok(MISRA.iter().map(|[x, y]| y - p[0].exp() * (1.0 - (-p[1].exp() * x).exp())).collect())
        };
        let slopes = |p: &SVector<f64, 2>, _: &[f64]| {
            let (b1, b2) = (p[0].exp(), p[1].exp());
            let row = |[x, _]: &[f64; 2]| {
                let fall = (-b2 * x).exp();
                SVector::from([b1 * (1.0 - fall), b1 * b2 * x * fall])
            };
            Ok(MISRA.iter().map(row).collect())
        };
        least_squares(&search, residuals, slopes).unwrap()
    }

    #[test]
    fn the_certified_values_of_a_reference_set_are_met_from_both_of_its_starts() {
        // Certified by NIST: b₁ 238.94212918, b₂ 5.5015643181e-4, their standard deviations 2.7070075241 and 7.2668688436e-6,
        // residual sum of squares 0.12455138894 (from memory). Eleven digits are certified.
        for start in [[500.0, 1e-4], [250.0, 5e-4]] {
            let found = misra(start, [false; 2]);
            assert!(matches!(found.ending, FitEnd::Settled | FitEnd::NoStepLower), "{found:?}");
            let [b1, b2] = [found.parameters[0].exp(), found.parameters[1].exp()];
            assert_relative_eq!(b1, 238.942_129_18, max_relative = 1e-10);
            assert_relative_eq!(b2, 5.501_564_318_1e-4, max_relative = 1e-10);
            assert_relative_eq!(found.square, 0.124_551_388_94, max_relative = 1e-10);
            let variance = found.square / (MISRA.len() - 2) as f64;
            let covariance = found.covariance().unwrap() * variance;
            // The normal equations are those at the start of the last step, at most 1e-13 away.
            assert_relative_eq!(b1 * covariance[(0, 0)].sqrt(), 2.707_007_524_1, max_relative = 1e-9);
            assert_relative_eq!(b2 * covariance[(1, 1)].sqrt(), 7.266_868_843_6e-6, max_relative = 1e-9);
        }
    }

    #[test]
    fn a_held_parameter_stays_and_the_other_is_the_least_beside_it() {
        let found = misra([230.0, 5e-4], [true, false]);
        assert_eq!(found.parameters[0], 230.0_f64.ln());
        let square_at = |b2: f64| -> f64 {
            MISRA.iter().map(|[x, y]| (y - 230.0 * (1.0 - (-b2 * x).exp())).powi(2)).sum()
        };
        let b2 = found.parameters[1].exp();
        assert!(square_at(b2 * 1.001) > found.square && square_at(b2 * 0.999) > found.square);
    }

    #[test]
    fn parameters_that_the_data_cannot_part_are_told() {
        let search = Search {
            start: SVector::from([0.0, 0.0]),
            held: [false; 2],
            bounds: FREE,
            longest_step: 1.0,
            settled: 1e-12,
            may_grow: 1e-12,
            rounds: 20,
        };
        // The residuals depend only on the sum of the two.
        let residuals = |p: &SVector<f64, 2>| Ok(vec![1.0 - p[0] - p[1], 1.1 - p[0] - p[1]]);
        let slopes = |_: &SVector<f64, 2>, _: &[f64]| Ok(vec![SVector::from([1.0, 1.0]); 2]);
        assert_eq!(least_squares(&search, residuals, slopes).unwrap().ending, FitEnd::Singular);
        // NaN residuals do not settle either.
        let nothing = |_: &SVector<f64, 2>| Ok(vec![f64::NAN]);
        let slopes = |_: &SVector<f64, 2>, _: &[f64]| Ok(vec![SVector::from([1.0, f64::NAN])]);
        assert_eq!(least_squares(&search, nothing, slopes).unwrap().ending, FitEnd::Singular);
    }

    #[test]
    fn slopes_of_the_wrong_sign_end_the_search_and_never_raise_the_sum() {
        let search = Search {
            start: SVector::from([0.0]),
            held: [false],
            bounds: [[-10.0, 10.0]],
            longest_step: 1.0,
            settled: 1e-12,
            may_grow: 0.0,
            rounds: 20,
        };
        let residuals = |p: &SVector<f64, 1>| Ok(vec![3.0 - p[0]]);
        let slopes = |_: &SVector<f64, 1>, _: &[f64]| Ok(vec![SVector::from([-1.0])]);
        let found = least_squares(&search, residuals, slopes).unwrap();
        assert_eq!((found.ending, found.square), (FitEnd::NoStepLower, 9.0));
    }

    #[test]
    fn a_bound_is_kept() {
        let search = Search {
            start: SVector::from([0.0]),
            held: [false],
            bounds: [[0.0, 2.0]],
            longest_step: 10.0,
            settled: 1e-12,
            may_grow: 1e-12,
            rounds: 20,
        };
        let residuals = |p: &SVector<f64, 1>| Ok(vec![3.0 - p[0]]);
        let slopes = |_: &SVector<f64, 1>, _: &[f64]| Ok(vec![SVector::from([1.0])]);
        assert_eq!(least_squares(&search, residuals, slopes).unwrap().parameters[0], 2.0);
    }
}
