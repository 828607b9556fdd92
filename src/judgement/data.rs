//! The measured data, with all uncertainties that do not depend on the fault.

use crate::numeric::quadrature::gauss_legendre;
use crate::{Error, Result};
use nalgebra::{DMatrix, DVector};

/// Residuals (measured value minus the value of a bench without fault), their covariance, and the quantities fitted
/// under every hypothesis.
///
/// ```text
/// d = Σ free_j ν_j + Σ shared_k ζ_k + fault + ε,   ζ_k ~ N(0, 1),   ε ~ N(0, scale² own)
/// ```
///
/// ν_j (a slope, an intercept) has a flat prior, the same under every hypothesis, so its constant cancels; ζ_k is a
/// systematic error in units of its standard uncertainty. All data must have the same unit, which can be any.
#[derive(Clone, Debug)]
pub struct Data {
    residuals: DVector<f64>,
    own: DMatrix<f64>,
    shared: Vec<DVector<f64>>,
    free: Vec<DVector<f64>>,
    scale: Scale,
}

/// How well the data's own covariance is known.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Scale {
    /// As given.
    Stated,
    /// As given; or, with a small probability, larger by a factor that is log-uniform up to `up_to`.
    Doubtful {
        /// Probability that the stated uncertainties are too small.
        probability: f64,
        /// Largest factor by which they are too small.
        up_to: f64,
    },
    /// Estimated from the data: log-uniform (Jeffreys) between these factors. Wide bounds give Student's t; the lower
    /// bound prevents a false accusation by data that agree by luck or rounding.
    Unknown {
        /// Smallest factor.
        low: f64,
        /// Largest factor.
        high: f64,
    },
}

impl Data {
    /// Independent data with their standard uncertainties (only their ratios count if the scale is unknown).
    ///
    /// Refused: lists of different length, numbers that are not finite, uncertainties not above zero.
    pub fn independent(residuals: &[f64], standard_uncertainties: &[f64]) -> Result<Self> {
        let variances = DVector::from_iterator(
            standard_uncertainties.len(),
            standard_uncertainties.iter().map(|uncertainty| uncertainty * uncertainty),
        );
        if standard_uncertainties.iter().any(|uncertainty| uncertainty.is_nan() || *uncertainty <= 0.0) {
            return Err(Error::value("a datum without uncertainty cannot be judged by"));
        }
        Self::correlated(residuals, DMatrix::from_diagonal(&variances))
    }

    /// Data with this covariance, which must be symmetric and positive definite.
    pub(crate) fn correlated(residuals: &[f64], covariance: DMatrix<f64>) -> Result<Self> {
        let n = residuals.len();
        let finite = residuals.iter().chain(covariance.iter()).all(|value| value.is_finite());
        if covariance.shape() != (n, n) || !finite {
            return Err(Error::value(format!(
                "{n} residuals need a finite covariance of that size, not {} by {}",
                covariance.nrows(),
                covariance.ncols()
            )));
        }
        Ok(Self {
            residuals: DVector::from_column_slice(residuals),
            own: covariance,
            shared: Vec::new(),
            free: Vec::new(),
            scale: Scale::Stated,
        })
    }

    /// Adds a systematic error: the effect of one standard uncertainty of it on each datum.
    #[must_use]
    pub(crate) fn sharing(mut self, effect: Vec<f64>) -> Self {
        self.shared.push(DVector::from_vec(effect));
        self
    }

    /// Adds a quantity that is fitted under every hypothesis: the effect of a unit of it on each datum.
    #[must_use]
    pub(crate) fn fitting(mut self, effect: Vec<f64>) -> Self {
        self.free.push(DVector::from_vec(effect));
        self
    }

    /// Sets how well the data's own covariance is known; the default is [`Scale::Stated`].
    #[must_use]
    pub fn scaled(mut self, scale: Scale) -> Self {
        self.scale = scale;
        self
    }

    /// Number of data.
    pub fn len(&self) -> usize {
        self.residuals.len()
    }

    /// Whether there are no data.
    pub fn is_empty(&self) -> bool {
        self.residuals.is_empty()
    }

    /// The data with their own uncertainties multiplied, whitened, with the fitted quantities projected out.
    pub(super) fn whitened_at(&self, times: f64) -> Result<Whitened> {
        Whitened::of(self, times, 0.0)
    }

    /// The data at every relevant scale, whitened, with the fitted quantities projected out.
    pub(super) fn whitened(&self) -> Result<Vec<Whitened>> {
        self.scale
            .nodes()
            .into_iter()
            .map(|(scale, ln_weight)| Whitened::of(self, scale, ln_weight))
            .collect()
    }
}

/// Gauss–Legendre nodes for each factor of two of an unknown scale: the likelihood of ν data is 1/√(2ν) wide in ln
/// scale, which eight nodes resolve up to some hundreds of data.
const NODES_PER_OCTAVE: usize = 8;

impl Scale {
    /// Scales with the logarithms of their prior weights.
    fn nodes(self) -> Vec<(f64, f64)> {
        match self {
            Self::Stated => vec![(1.0, 0.0)],
            Self::Doubtful { probability, up_to } => {
                let mut nodes = vec![(1.0, (-probability).ln_1p())];
                nodes.extend(
                    log_uniform(1.0, up_to).into_iter().map(|(scale, ln)| (scale, ln + probability.ln())),
                );
                nodes
            }
            Self::Unknown { low, high } => log_uniform(low, high),
        }
    }
}

fn log_uniform(low: f64, high: f64) -> Vec<(f64, f64)> {
    let (from, to) = (low.ln(), high.ln());
    let panels = ((to - from) / std::f64::consts::LN_2).ceil().max(1.0);
    let half = 0.5 * (to - from) / panels;
    let rule = gauss_legendre(NODES_PER_OCTAVE);
    (0..panels as usize)
        .flat_map(|panel| {
            let middle = from + (2.0 * panel as f64 + 1.0) * half;
            rule.iter()
                .map(move |(x, w)| ((middle + half * x).exp(), (0.5 * w / panels).ln()))
                .collect::<Vec<_>>()
        })
        .collect()
}

/// Data in units of their uncertainty, with the fitted quantities projected out, so that hypotheses differ only in
/// their effects.
#[derive(Clone, Debug)]
pub(super) struct Whitened {
    pub(super) residuals: DVector<f64>,
    /// ln of the prior weight of this scale.
    pub(super) ln_weight: f64,
    /// ln of the likelihood's constant: −½ ln det V − ½ ln det(NᵀV⁻¹N), without the powers of 2π.
    pub(super) ln_constant: f64,
    lower: DMatrix<f64>,
    fitted: DMatrix<f64>,
}

/// Variance over the largest one, below which rounding hides what belongs to one datum alone.
const HIDDEN: f64 = 1e-12;

/// The lower Cholesky factor. Data stated as so exact that their own errors vanish beside the shared ones are taken as
/// exact to 1e-6 of the largest error.
fn cholesky(mut covariance: DMatrix<f64>, has_shared: bool) -> Result<DMatrix<f64>> {
    if let Some(factor) = covariance.clone().cholesky() {
        return Ok(factor.unpack());
    }
    let hidden = if has_shared { HIDDEN * covariance.diagonal().max() } else { 0.0 };
    for i in 0..covariance.nrows() {
        covariance[(i, i)] += hidden;
    }
    covariance
        .cholesky()
        .map(|factor| factor.unpack())
        .ok_or_else(|| Error::value("the covariance of the data is not positive definite"))
}

impl Whitened {
    fn of(data: &Data, scale: f64, ln_weight: f64) -> Result<Self> {
        let n = data.len();
        let mut covariance = &data.own * (scale * scale);
        for effect in &data.shared {
            if effect.len() != n {
                return Err(Error::value(format!("a shared error acts on {} of {n} data", effect.len())));
            }
            covariance += effect * effect.transpose();
        }
        let lower = cholesky(covariance, !data.shared.is_empty())?;
        let mut ln_constant = -lower.diagonal().iter().map(|value| value.ln()).sum::<f64>();
        // Gram–Schmidt, twice because of rounding: an orthonormal base of the fitted quantities.
        let mut base: Vec<DVector<f64>> = Vec::new();
        for effect in &data.free {
            let white = lower
                .solve_lower_triangular(effect)
                .ok_or_else(|| Error::value("the covariance of the data is not positive definite"))?;
            let length = white.norm();
            let mut rest = white;
            for _ in 0..2 {
                for known in &base {
                    let along = known.dot(&rest);
                    rest.axpy(-along, known, 1.0);
                }
            }
            // A quantity that is a combination of the others, within rounding, is left out.
            let left = rest.norm();
            if left > 1e-9 * length {
                ln_constant -= left.ln();
                base.push(rest / left);
            }
        }
        let fitted = DMatrix::from_fn(n, base.len(), |i, j| base[j][i]);
        let mut whitened = Self { residuals: DVector::zeros(n), ln_weight, ln_constant, lower, fitted };
        whitened.residuals = whitened.effect(data.residuals.as_slice());
        Ok(whitened)
    }

    /// Data less quantities fitted.
    pub(super) fn degrees_of_freedom(&self) -> usize {
        self.fitted.nrows().saturating_sub(self.fitted.ncols())
    }

    /// An effect on the data, whitened, with the fitted quantities projected out.
    pub(super) fn effect(&self, effect: &[f64]) -> DVector<f64> {
        let mut white = DVector::from_column_slice(effect);
        self.lower.solve_lower_triangular_mut(&mut white);
        let along = self.fitted.tr_mul(&white);
        white - &self.fitted * along
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn weights_of_a_scale_sum_to_one() {
        for scale in [
            Scale::Stated,
            Scale::Doubtful { probability: 0.02, up_to: 4.0 },
            Scale::Unknown { low: 0.05, high: 7.0 },
        ] {
            let sum: f64 = scale.nodes().iter().map(|(_, ln)| ln.exp()).sum();
            assert_relative_eq!(sum, 1.0, max_relative = 1e-12);
        }
    }

    #[test]
    fn what_is_fitted_is_gone_and_a_shared_error_weighs_less() {
        let data =
            Data::independent(&[1.0, 2.0, 3.0], &[0.5, 0.5, 0.5]).unwrap().fitting(vec![1.0, 1.0, 1.0]);
        let white = &data.whitened().unwrap()[0];
        // By hand: minus the mean 2, over 0.5.
        for (got, wanted) in white.residuals.iter().zip([-2.0, 0.0, 2.0]) {
            assert_relative_eq!(*got, wanted, epsilon = 1e-12);
        }
        assert!(white.effect(&[4.0, 4.0, 4.0]).norm() < 1e-12);
        // An offset shared with u = 1 by four data of u = 0.1: their common part counts as 1.0025, not 0.05.
        let shared = Data::independent(&[1.0; 4], &[0.1; 4]).unwrap().sharing(vec![1.0; 4]);
        let white = &shared.whitened().unwrap()[0];
        assert_relative_eq!(white.residuals.norm_squared(), 1.0 / 1.0025, max_relative = 1e-12);
    }

    #[test]
    fn data_as_exact_as_rounding_beside_a_shared_error_are_whitened_all_the_same() {
        for own in [1e-9, 1e-12, 1e-200] {
            let data = Data::independent(&[1.0; 4], &[own; 4]).unwrap().sharing(vec![1.0; 4]);
            // By hand, 4/(4 + u²): what they have in common is the shared error.
            let white = &data.whitened().unwrap()[0];
            assert_relative_eq!(white.residuals.norm_squared(), 1.0, max_relative = 1e-3);
        }
    }

    #[test]
    fn data_that_mean_nothing_are_refused() {
        assert!(Data::independent(&[1.0], &[0.0]).is_err());
        assert!(Data::independent(&[1.0], &[1.0, 2.0]).is_err());
        assert!(Data::independent(&[f64::NAN], &[1.0]).is_err());
        assert!(Data::correlated(&[1.0, 1.0], DMatrix::from_element(2, 2, 1.0)).unwrap().whitened().is_err());
    }
}
