//! Whether two values agree, if the comparison could have shown a difference; and whether scatter is larger than
//! stated.

use crate::numeric::coverage;
use crate::numeric::student::chi_square_tail;
use crate::{Error, Result};
use serde::Serialize;

/// The possible results of comparing two values of one quantity.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Agreement {
    /// They differ by no more than U of their difference, and U is smaller than a difference that would matter.
    Agree,
    /// They differ by more than U of their difference.
    Disagree,
    /// They differ by no more than U of their difference, but U is larger than a difference that would matter.
    CannotTell,
}

/// The comparison of two values.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct ValueComparison {
    /// The result.
    pub verdict: Agreement,
    /// First minus second.
    pub difference: f64,
    /// Expanded uncertainty (k = 2) of the difference.
    pub expanded_uncertainty: f64,
    /// E_n = difference/U; beyond 1 in size the values disagree (ISO 13528:2022, 9.7). `None` if U is zero.
    pub normalised_difference: Option<f64>,
}

/// k in U = k u of the difference, about 95 % (ISO 13528:2022, 9.7).
const COVERAGE_FACTOR: f64 = 2.0;

/// Compares two values by E_n, and judges whether the comparison could have shown a difference of `mattering`.
///
/// `covariance` is that of the two values: shared errors cancel. All numbers are in one unit. Refused: numbers that are
/// not finite, a covariance larger than the uncertainties allow, a `mattering` not above zero. Two values without
/// uncertainty disagree unless they are equal.
///
/// ```
/// use coilwright::judgement::agreement::{Agreement, compare};
/// // 0.860(4) and 0.866(5) mT/A; 3 % of 0.86 would matter: U = 2 × 0.0064 = 0.0128 is less.
/// let compared = compare([0.860, 0.866], [0.004, 0.005], 0.0, 0.03 * 0.86)?;
/// assert_eq!(compared.verdict, Agreement::Agree);
/// // With ten times the uncertainty they would have "agreed" at any difference.
/// assert_eq!(compare([0.860, 0.866], [0.04, 0.05], 0.0, 0.03 * 0.86)?.verdict, Agreement::CannotTell);
/// # Ok::<(), coilwright::Error>(())
/// ```
pub fn compare(
    values: [f64; 2],
    standard_uncertainties: [f64; 2],
    covariance: f64,
    mattering: f64,
) -> Result<ValueComparison> {
    let [first, second] = standard_uncertainties;
    let variance = first * first + second * second - 2.0 * covariance;
    let finite = values.iter().chain(&standard_uncertainties).all(|value| value.is_finite());
    let allowed = covariance.abs() <= first * second * (1.0 + 1e-9);
    if !finite || !allowed || first < 0.0 || second < 0.0 || mattering.is_nan() || mattering <= 0.0 {
        return Err(Error::value(format!(
            "values {values:?} with standard uncertainties {standard_uncertainties:?} and covariance {covariance} \
             cannot be compared"
        )));
    }
    let difference = values[0] - values[1];
    let expanded_uncertainty = COVERAGE_FACTOR * variance.max(0.0).sqrt();
    let normalised_difference =
        coverage::normalised_difference(values, [Some(expanded_uncertainty), Some(0.0)]);
    let differ = normalised_difference.map_or(difference != 0.0, |normalised| normalised.abs() > 1.0);
    let verdict = if differ {
        Agreement::Disagree
    } else if expanded_uncertainty <= mattering {
        Agreement::Agree
    } else {
        Agreement::CannotTell
    };
    Ok(ValueComparison { verdict, difference, expanded_uncertainty, normalised_difference })
}

/// Scatter compared with the stated uncertainties.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Scatter {
    /// R = √(chi²/ν).
    pub birge_ratio: f64,
    /// Probability of a chi-square at least this large if the stated uncertainties are right.
    pub probability: f64,
    /// Factor by which to enlarge the part of an uncertainty that comes from the scatter: R if the scatter is
    /// improbable and R > 1, else 1.
    pub factor: f64,
}

/// Scatter less probable than this does not count as chance (the usual 5 %; common practice, no source).
pub(crate) const IMPROBABLE: f64 = 0.05;

/// The Birge ratio of a fit with `degrees_of_freedom` (Birge, R. T. 1932, Phys. Rev. 40, 207).
///
/// `factor` scales the *whole* covariance of the fitted parameters, slope, intercept and their correlation alike,
/// because every datum's own uncertainty is taken as too small by one factor. It does not scale errors that the data
/// share (gains, zeros), of which the scatter says nothing. It never makes an uncertainty smaller.
pub(crate) fn birge(chi_square: f64, degrees_of_freedom: usize) -> Result<Scatter> {
    let nu = degrees_of_freedom as f64;
    let probability = chi_square_tail(chi_square, nu)?;
    let birge_ratio = (chi_square / nu).sqrt();
    let factor = if probability < IMPROBABLE { birge_ratio.max(1.0) } else { 1.0 };
    Ok(Scatter { birge_ratio, probability, factor })
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn values_too_vague_to_differ_never_agree() {
        let verdict = |difference, u, mattering| {
            compare([1.0 + difference, 1.0], [u, 0.0], 0.0, mattering).unwrap().verdict
        };
        assert_eq!(verdict(0.01, 0.01, 0.03), Agreement::Agree);
        assert_eq!(verdict(0.01, 0.02, 0.03), Agreement::CannotTell);
        assert_eq!(verdict(0.05, 0.02, 0.03), Agreement::Disagree);
        assert_eq!(verdict(0.0, 0.0, 0.03), Agreement::Agree);
        assert_eq!(verdict(0.001, 0.0, 0.03), Agreement::Disagree);
    }

    #[test]
    fn what_both_share_cancels() {
        // Both with u = 0.05, 0.04² of it common: U = 2 √(2 (0.0025 − 0.0016)).
        let compared = compare([1.0, 1.06], [0.05, 0.05], 0.0016, 0.03).unwrap();
        assert_relative_eq!(compared.expanded_uncertainty, 2.0 * 0.0018_f64.sqrt(), max_relative = 1e-12);
        assert!(compare([1.0, 1.0], [0.05, 0.05], 0.01, 0.03).is_err());
        assert!(compare([f64::NAN, 1.0], [0.05, 0.05], 0.0, 0.03).is_err());
        assert!(compare([1.0, 1.0], [0.05, 0.05], 0.0, 0.0).is_err());
    }

    #[test]
    fn the_birge_ratio_enlarges_only_where_the_scatter_is_no_chance() {
        // χ²(8) exceeds 15.51 in 5 % (any table of chi-square).
        assert_eq!(birge(15.4, 8).unwrap().factor, 1.0);
        assert_relative_eq!(birge(32.0, 8).unwrap().factor, 2.0, max_relative = 1e-12);
        assert_eq!(birge(1.0, 8).unwrap().factor, 1.0);
        assert!(birge(1.0, 0).is_err());
    }
}
