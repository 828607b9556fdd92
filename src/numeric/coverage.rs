//! From standard uncertainties to an expanded one: effective degrees of freedom and the coverage factor; and how far two values
//! differ in units of their expanded uncertainties.

use super::student::two_sided_quantile;

/// The coverage probability of every expanded uncertainty of this crate: that of two standard uncertainties of a normal
/// distribution.
pub(crate) const COVERAGE_PROBABILITY: f64 = 0.9545;
/// Above this many effective degrees of freedom the coverage factor is 2; Student's t would be at most 2.05 (common
/// practice, no source).
pub(crate) const PLAIN_ABOVE: f64 = 50.0;

/// One contribution to a combined standard uncertainty.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Contribution {
    /// |sensitivity| × standard uncertainty, in the unit of the result.
    pub standard_uncertainty: f64,
    /// Its degrees of freedom; `None` if the uncertainty is known exactly, as for a stated limit.
    pub degrees_of_freedom: Option<f64>,
}

/// √Σ contribution², the contributions independent (JCGM 100:2008, equation 11a).
pub(crate) fn combined_standard_uncertainty(contributions: &[Contribution]) -> f64 {
    contributions.iter().map(|part| part.standard_uncertainty.powi(2)).sum::<f64>().sqrt()
}

/// ν_eff = u⁴ / Σ (contribution⁴ / ν) (Welch–Satterthwaite; JCGM 100:2008, equation G.2b); `None` if every contribution
/// is known exactly.
pub(crate) fn effective_degrees_of_freedom(contributions: &[Contribution]) -> Option<f64> {
    let combined = combined_standard_uncertainty(contributions);
    // Each part relative to the whole, so that tiny units do not underflow in the fourth power.
    let sum: f64 = contributions
        .iter()
        .filter_map(|part| Some((part.standard_uncertainty / combined).powi(4) / part.degrees_of_freedom?))
        .sum();
    (sum > 0.0).then(|| 1.0 / sum)
}

/// The coverage factor at `COVERAGE_PROBABILITY`: 2 if the effective degrees of freedom exceed `PLAIN_ABOVE`, else
/// Student's t at the next lower whole number (JCGM 100:2008, G.4.1 note 1 and G.6.4).
pub fn coverage_factor(degrees_of_freedom: Option<f64>) -> f64 {
    coverage_factor_for(COVERAGE_PROBABILITY, degrees_of_freedom).unwrap_or(2.0)
}

/// Student's t for a probability, the degrees of freedom cut to a whole number; `None` if the factor is 2.
fn coverage_factor_for(probability: f64, degrees_of_freedom: Option<f64>) -> Option<f64> {
    let nu = degrees_of_freedom.filter(|nu| *nu <= PLAIN_ABOVE)?;
    two_sided_quantile(probability, nu.floor().max(1.0)).ok()
}

/// E_n = (x − y)/√(U(x)² + U(y)²), U the expanded uncertainties (ISO 13528:2022, 9.7); beyond 1 in size the two values differ by
/// more than both leave open. `None` if either U is not known, or if both are zero.
pub(crate) fn normalised_difference(
    values: [f64; 2],
    expanded_uncertainties: [Option<f64>; 2],
) -> Option<f64> {
    let [first, second] = expanded_uncertainties;
    let normalised = (values[0] - values[1]) / first?.hypot(second?);
    normalised.is_finite().then_some(normalised)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::{assert_abs_diff_eq, assert_relative_eq};

    /// Contributions of the end gauge in nanometres, from the unrounded inputs of JCGM 100:2008, annex H.1.
    fn end_gauge() -> Vec<Contribution> {
        let (length_nm, alpha_per_kelvin, theta_kelvin) = (50.000_623e6, 11.5e-6, -0.1);
        let part = |standard_uncertainty: f64, degrees_of_freedom| Contribution {
            standard_uncertainty,
            degrees_of_freedom,
        };
        vec![
            part(25.0, Some(18.0)),
            // Three parts of the comparison: repeatability 5.8 nm (24), comparator 3.9 nm (5) and 6.7 nm (8).
            part(9.7, Some(25.6)),
            part(length_nm * theta_kelvin * 0.58e-6, Some(50.0)),
            part(length_nm * alpha_per_kelvin * 0.029, Some(2.0)),
        ]
    }

    #[test]
    fn the_end_gauge_of_the_gum_comes_out_as_printed() {
        // Source: JCGM 100:2008, annex H.1: u_c = 32 nm, ν_eff = 16.7, t_99(16) = 2.92, U_99 = 93 nm.
        let parts = end_gauge();
        let combined = combined_standard_uncertainty(&parts);
        assert_abs_diff_eq!(combined, 32.0, epsilon = 0.5);
        let effective = effective_degrees_of_freedom(&parts).unwrap();
        assert_abs_diff_eq!(effective, 16.7, epsilon = 0.05);
        let factor = coverage_factor_for(0.99, Some(effective)).unwrap();
        assert_abs_diff_eq!(factor, 2.92, epsilon = 0.005);
        assert_abs_diff_eq!(factor * combined.round(), 93.0, epsilon = 0.5);
    }

    #[test]
    fn one_contribution_keeps_its_own_degrees_of_freedom() {
        let one = [Contribution { standard_uncertainty: 3e-90, degrees_of_freedom: Some(7.0) }];
        assert_relative_eq!(effective_degrees_of_freedom(&one).unwrap(), 7.0, max_relative = 1e-14);
        let stated = [Contribution { standard_uncertainty: 3.0, degrees_of_freedom: None }];
        assert_eq!(effective_degrees_of_freedom(&stated), None);
    }

    #[test]
    fn the_factor_is_plainly_two_above_fifty_and_students_below() {
        assert_eq!(coverage_factor(None), 2.0);
        assert_eq!(coverage_factor(Some(50.1)), 2.0);
        // JCGM 100:2008, table G.2, 95.45 %: 2.05 at 50, 2.28 at 10, 13.97 at 1.
        assert_abs_diff_eq!(coverage_factor(Some(50.0)), 2.05, epsilon = 0.005);
        assert_abs_diff_eq!(coverage_factor(Some(10.9)), 2.28, epsilon = 0.005);
        assert_abs_diff_eq!(coverage_factor(Some(0.4)), 13.97, epsilon = 0.005);
    }

    #[test]
    fn a_difference_is_compared_with_what_both_values_leave_open_only_if_that_is_known() {
        // By hand: 10 over √(3² + 4²) is 2.
        assert_eq!(normalised_difference([15.0, 5.0], [Some(3.0), Some(4.0)]), Some(2.0));
        assert_eq!(normalised_difference([5.0, 15.0], [Some(5.0), Some(0.0)]), Some(-2.0));
        assert_eq!(normalised_difference([15.0, 5.0], [Some(3.0), None]), None);
        assert_eq!(normalised_difference([15.0, 5.0], [None, Some(4.0)]), None);
        assert_eq!(normalised_difference([15.0, 5.0], [Some(0.0), Some(0.0)]), None);
        assert_eq!(normalised_difference([5.0, 5.0], [Some(0.0), Some(0.0)]), None);
    }

    #[test]
    fn nothing_uncertain_has_no_degrees_of_freedom() {
        assert_eq!(effective_degrees_of_freedom(&[]), None);
        assert_eq!(combined_standard_uncertainty(&[]), 0.0);
    }
}
