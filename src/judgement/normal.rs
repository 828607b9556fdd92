//! Probabilities of the normal distribution as logarithms, so that far tails neither underflow nor cancel.

use special::Error as _;
use std::f64::consts::{FRAC_1_SQRT_2, LN_2, PI};

/// From this x on the tail is computed from a continued fraction; erfc itself underflows at 38.
const FRACTION_FROM: f64 = 12.0;

/// ln Q(x), Q(x) = ½ erfc(x/√2) the probability above x; relative error of Q under 1e-11.
///
/// From 12 on Q = φ(x)/(x + 1/(x + 2/(x + 3/(x + ...)))) (Abramowitz and Stegun, 26.2.14).
pub(super) fn ln_upper_tail(x: f64) -> f64 {
    if x < FRACTION_FROM {
        return (x * FRAC_1_SQRT_2).compl_error().ln() - LN_2;
    }
    // Thirty steps give 1e-16 from 12 on.
    let fraction = (1..=30).rev().fold(x, |below, k| x + f64::from(k) / below);
    -0.5 * x * x - 0.5 * (2.0 * PI).ln() - fraction.ln()
}

/// ln of the probability between `low` and `high`, which may be infinite; −∞ if the interval is empty.
pub(super) fn ln_between(low: f64, high: f64) -> f64 {
    if low.is_nan() || high.is_nan() || low >= high {
        return f64::NEG_INFINITY;
    }
    if high <= 0.0 {
        return ln_between(-high, -low);
    }
    if low < 0.0 {
        let outside = ln_upper_tail(-low).exp() + ln_upper_tail(high).exp();
        return (-outside).ln_1p();
    }
    let (near, far) = (ln_upper_tail(low), ln_upper_tail(high));
    // 1 − e^(far − near), without cancellation if the interval is narrow.
    near + (-(far - near).exp_m1()).ln()
}

/// The coverage factor at which `many` independent comparisons together raise a false alarm no more often than one does
/// at `coverage`: α is replaced by 1 − (1 − α)^(1/n), two-sided (Šidák 1967, Journal of the American Statistical
/// Association 62, 626, from memory).
pub(crate) fn coverage_of_many(coverage: f64, many: usize) -> f64 {
    let alpha = 2.0 * ln_upper_tail(coverage).exp();
    let ln_of_one = (-(((-alpha).ln_1p() / many.max(1) as f64).exp_m1()) / 2.0).ln();
    let (mut low, mut high) = (coverage, coverage + 10.0);
    // Bisected until no number lies between: 10/2^60.
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if ln_upper_tail(middle) > ln_of_one { low = middle } else { high = middle }
    }
    0.5 * (low + high)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn tails_agree_with_30_digit_arithmetic_on_both_sides_of_the_switch() {
        // Source: mpmath, 30 digits, log(erfc(x/sqrt(2))/2).
        for (x, wanted) in [
            (-3.0, -0.001_350_809_964_748_202),
            (0.0, -std::f64::consts::LN_2),
            (1.0, -1.841_021_645_009_264),
            (5.0, -15.064_998_393_988_72),
        ] {
            assert_relative_eq!(ln_upper_tail(x), wanted, max_relative = 1e-11);
        }
        // The two branches meet.
        let direct = (11.9_f64 * FRAC_1_SQRT_2).compl_error().ln() - LN_2;
        let fraction = (1..=30).rev().fold(11.9_f64, |below, k| 11.9 + f64::from(k) / below);
        let series = -0.5 * 11.9 * 11.9 - 0.5 * (2.0 * PI).ln() - fraction.ln();
        assert_relative_eq!(direct, series, max_relative = 1e-12);
        // Far out, −x²/2 dominates.
        assert_relative_eq!(
            ln_upper_tail(1e4),
            -5e7 - 0.5 * (2.0 * PI).ln() - 1e4_f64.ln(),
            max_relative = 1e-12
        );
    }

    #[test]
    fn narrow_and_far_intervals_keep_their_digits() {
        // φ(x) dx for a narrow one.
        let (x, width) = (8.0, 1e-7);
        let density = -0.5 * x * x - 0.5 * (2.0 * PI).ln() + f64::ln(width);
        assert_relative_eq!(ln_between(x - 0.5 * width, x + 0.5 * width), density, max_relative = 1e-8);
        assert_relative_eq!(ln_between(-3.0, 3.0).exp(), 0.997_300_203_936_74, max_relative = 1e-12);
        assert_relative_eq!(ln_between(-40.0, -39.0), ln_between(39.0, 40.0), max_relative = 1e-14);
        assert_eq!(ln_between(2.0, 1.0), f64::NEG_INFINITY);
        assert_eq!(ln_between(f64::NEG_INFINITY, f64::INFINITY), 0.0);
    }

    #[test]
    fn many_comparisons_together_are_as_careful_as_one() {
        assert_relative_eq!(coverage_of_many(2.0, 1), 2.0, max_relative = 1e-12);
        for many in [2, 7, 30] {
            let beyond = 2.0 * ln_upper_tail(coverage_of_many(2.0, many)).exp();
            let none = (1.0 - beyond).powi(many as i32);
            // 2 Q(2) = 4.55 %.
            assert_relative_eq!(1.0 - none, 0.045_500_263_896_358, max_relative = 1e-10);
        }
    }
}
