//! Student's t and chi-square: how far to trust a small number of readings.
//!
//! Both use the incomplete beta and gamma functions of the `special` crate. Its inverse incomplete beta loses digits as
//! the degrees of freedom grow (3.5e-6 at 1e5). Above `SERIES_FROM` the quantile therefore comes from the normal one by
//! an expansion in 1/ν; below it a few Newton steps restore the digits.

use crate::{Error, Result};
use special::{Beta, Error as _, Gamma};

/// Degrees of freedom from which the expansion in 1/ν is used.
const SERIES_FROM: f64 = 200.0;

/// The t for which a Student-distributed number lies within ±t with the given probability.
///
/// `degrees_of_freedom` need not be whole and may be infinite (the normal distribution). Relative error under
/// 1e-10 for probabilities from 0.5 to 0.9973 and 0.5 or more degrees of freedom, on both sides of the switch
/// at 200. Source: JCGM 100:2008, G.3; the expansion: Abramowitz and Stegun, 26.7.5.
///
/// ```
/// use coilwright::numeric::student::two_sided_quantile;
/// // JCGM 100:2008, table G.2: t_95(10) = 2.23, and 1.96 for the normal distribution.
/// assert!((two_sided_quantile(0.95, 10.0)? - 2.228).abs() < 1e-3);
/// assert!((two_sided_quantile(0.95, f64::INFINITY)? - 1.960).abs() < 1e-3);
/// # Ok::<(), coilwright::Error>(())
/// ```
pub fn two_sided_quantile(probability: f64, degrees_of_freedom: f64) -> Result<f64> {
    if !(probability > 0.0 && probability < 1.0) {
        return Err(Error::value(format!("the probability {probability} must lie between 0 and 1")));
    }
    if degrees_of_freedom.is_nan() || degrees_of_freedom < 0.5 {
        return Err(Error::value(format!(
            "{degrees_of_freedom} degrees of freedom are too few; at least 0.5 are needed"
        )));
    }
    let normal = 2f64.sqrt() * probability.inv_error();
    if degrees_of_freedom >= SERIES_FROM {
        return Ok(series(normal, degrees_of_freedom));
    }
    Ok(polished(probability, degrees_of_freedom))
}

/// t = z + g1(z)/ν + g2(z)/ν² + g3(z)/ν³ + g4(z)/ν⁴, z the normal quantile (Abramowitz and Stegun, 26.7.5).
fn series(z: f64, nu: f64) -> f64 {
    let z2 = z * z;
    let g1 = z * (z2 + 1.0) / 4.0;
    let g2 = z * ((5.0 * z2 + 16.0) * z2 + 3.0) / 96.0;
    let g3 = z * (((3.0 * z2 + 19.0) * z2 + 17.0) * z2 - 15.0) / 384.0;
    let g4 = z * ((((79.0 * z2 + 776.0) * z2 + 1482.0) * z2 - 1920.0) * z2 - 945.0) / 92160.0;
    z + (g1 + (g2 + (g3 + g4 / nu) / nu) / nu) / nu
}

/// P(|T| > t) = I_x(ν/2, 1/2) with x = ν/(ν + t²), inverted by `special` and polished by Newton in ln t.
fn polished(probability: f64, nu: f64) -> f64 {
    let outside = 1.0 - probability;
    let (p, q) = (0.5 * nu, 0.5);
    let ln_beta = p.ln_beta(q);
    let x = outside.inv_inc_beta(p, q, ln_beta);
    let mut t = (nu * (1.0 - x) / x).sqrt();
    for _ in 0..4 {
        let x = nu / (nu + t * t);
        // d P(|T| > t) / dt = −2 f(t), f the density: x^((ν+1)/2) / (√ν B(ν/2, 1/2)).
        let density = (0.5 * (nu + 1.0) * x.ln() - ln_beta).exp() / nu.sqrt();
        let step = (x.inc_beta(p, q, ln_beta) - outside) / (2.0 * density * t);
        if !step.is_finite() {
            break;
        }
        t *= step.exp();
    }
    t
}

/// The probability that a chi-square-distributed number exceeds `chi_square`.
///
/// Absolute error under 1e-12. Zero degrees of freedom are an error.
///
/// ```
/// use coilwright::numeric::student::chi_square_tail;
/// // The 5 % point of one degree of freedom is the square of the normal 1.96.
/// assert!((chi_square_tail(3.841_459, 1.0)? - 0.05).abs() < 1e-6);
/// # Ok::<(), coilwright::Error>(())
/// ```
pub fn chi_square_tail(chi_square: f64, degrees_of_freedom: f64) -> Result<f64> {
    if !(degrees_of_freedom > 0.0 && degrees_of_freedom.is_finite()) {
        return Err(Error::value(format!(
            "{degrees_of_freedom} degrees of freedom leave nothing to judge by"
        )));
    }
    if chi_square.is_nan() || chi_square < 0.0 {
        return Err(Error::value(format!(
            "a chi-square of {chi_square} is impossible; it is a sum of squares"
        )));
    }
    if chi_square == f64::INFINITY {
        return Ok(0.0);
    }
    Ok((1.0 - (0.5 * chi_square).inc_gamma(0.5 * degrees_of_freedom)).clamp(0.0, 1.0))
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::{assert_abs_diff_eq, assert_relative_eq};

    #[test]
    fn the_quantile_reproduces_table_g_2_of_the_gum() {
        // Source: tests/data/student_t.csv (scipy, agreeing with JCGM 100:2008 table G.2 to its rounding).
        let mut cells = 0;
        let text = include_str!(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/data/student_t.csv"));
        let mut lines = text.lines().filter(|line| !line.starts_with('#'));
        let heading: Vec<&str> = lines.next().unwrap().split(',').skip(1).collect();
        for line in lines {
            let row: Vec<f64> = line.split(',').map(|cell| cell.parse().unwrap()).collect();
            for (probability, wanted) in heading.iter().zip(&row[1..]) {
                let got = two_sided_quantile(probability.parse().unwrap(), row[0]).unwrap();
                assert_abs_diff_eq!(got, *wanted, epsilon = 5.1e-6);
                cells += 1;
            }
        }
        assert!(cells >= 150, "only {cells}");
    }

    #[test]
    fn the_quantile_holds_at_odd_and_large_degrees_of_freedom() {
        // Source: mpmath, 30 digits, root of the regularised incomplete beta function; the last two rows by the
        // expansion, whose next term is below 1e-16 there.
        for (nu, probability, wanted) in [
            (0.5, 0.6827, 4.04945577541644),
            (0.5, 0.9973, 56432.98525475433),
            (1.5, 0.9545, 6.418215002495249),
            (2.5, 0.9973, 12.2417720408116),
            (16.7, 0.9545, 2.161322954929572),
            (199.0, 0.6827, 1.002540706585456),
            (199.0, 0.9545, 2.012642996189567),
            (199.0, 0.9973, 3.038104060950874),
            (200.0, 0.6827, 1.002528080131274),
            (200.0, 0.9545, 2.012579405071286),
            (200.0, 0.9973, 3.037911220212986),
            (1e3, 0.9545, 2.002505517218673),
            (1e5, 0.9973, 3.000051992817866),
            (1e8, 0.6827, 1.000021718323216),
            (1e12, 0.9545, 2.000002443902104),
        ] {
            assert_relative_eq!(two_sided_quantile(probability, nu).unwrap(), wanted, max_relative = 1e-10);
        }
    }

    #[test]
    fn infinite_degrees_of_freedom_give_the_normal_distribution() {
        // Two standard uncertainties hold 95.45 %: 2.000 (JCGM 100:2008, table G.2).
        assert_abs_diff_eq!(two_sided_quantile(0.9545, f64::INFINITY).unwrap(), 2.0, epsilon = 1e-5);
    }

    #[test]
    fn the_chi_square_tail_agrees_with_30_digit_arithmetic() {
        // Source: mpmath, 30 digits, regularised upper incomplete gamma function.
        for (chi_square, nu, wanted) in [
            (3.841458820694124, 1.0, 0.05000000000000006),
            (11.8663531940614, 8.0, 0.1572672286912605),
            (4.13080168776, 4.0, 0.3885930985382635),
            (0.5, 3.0, 0.9188914116546759),
            (1000.0, 1000.0, 0.4940528538292396),
            (300.0, 8.0, 0.0),
            (0.0, 3.0, 1.0),
        ] {
            assert_abs_diff_eq!(chi_square_tail(chi_square, nu).unwrap(), wanted, epsilon = 1e-12);
        }
    }

    #[test]
    fn impossible_questions_are_refused() {
        assert!(two_sided_quantile(1.0, 5.0).is_err());
        assert!(two_sided_quantile(0.95, 0.0).is_err());
        assert!(two_sided_quantile(0.95, f64::NAN).is_err());
        assert!(chi_square_tail(1.0, 0.0).is_err());
        assert!(chi_square_tail(f64::NAN, 2.0).is_err());
        assert_eq!(chi_square_tail(f64::INFINITY, 2.0).unwrap(), 0.0);
    }
}
