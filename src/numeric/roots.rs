//! Roots and minima of a function of one variable, by Brent's methods.
//!
//! R. P. Brent, *Algorithms for Minimization without Derivatives*, Prentice-Hall 1973, chapters 4 and 5.

use crate::{Error, Result};

/// Why an iteration stopped.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SearchEnd {
    /// The answer is known to within the tolerance.
    Tolerance,
    /// The function is exactly zero there.
    ExactZero,
    /// The ends have values of the same sign, so there may be no root between them.
    NoSignChange,
    /// The function, or an end of the interval, is not a finite number.
    NotFinite,
    /// The evaluations allowed were used up.
    EvaluationLimit,
}

/// The result of a search, and why it ended.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Located {
    /// The best argument found.
    pub at: f64,
    /// The function there.
    pub value: f64,
    /// Largest distance of the true place from `at`.
    pub error_estimate: f64,
    /// Number of evaluations of the function.
    pub evaluations: u32,
    /// Why the search stopped.
    pub stopped: SearchEnd,
}

impl Located {
    /// Whether `at` is the answer to within the tolerance.
    pub(crate) fn converged(&self) -> bool {
        matches!(self.stopped, SearchEnd::Tolerance | SearchEnd::ExactZero)
    }

    /// The argument found, or an error that carries the best one.
    pub fn place(&self, what: &'static str) -> Result<f64> {
        if self.converged() {
            Ok(self.at)
        } else {
            Err(Error::NotConverged { what, best: self.at, error_estimate: self.error_estimate })
        }
    }
}

const EVALUATION_LIMIT: u32 = 200;

/// A root of `function` between `from` and `to`, to within `tolerance` (absolute, plus 4 ε |root|).
///
/// Combines bisection, secant and inverse quadratic interpolation. On return with [`SearchEnd::Tolerance`] the
/// function changes sign within `error_estimate` of `at`. A tolerance of 0 asks for all digits.
///
/// ```
/// let root = coilwright::numeric::roots::brent_root(|x| x * x - 2.0, 0.0, 2.0, 1e-12);
/// assert!((root.at - 2f64.sqrt()).abs() < 1e-12);
/// ```
pub fn brent_root(mut function: impl FnMut(f64) -> f64, from: f64, to: f64, tolerance: f64) -> Located {
    let (mut a, mut b) = (from, to);
    let (mut fa, mut fb) = (function(a), function(b));
    let mut evaluations = 2;
    let located = |at, value, error_estimate: f64, evaluations, stopped| Located {
        at,
        value,
        error_estimate: error_estimate.abs(),
        evaluations,
        stopped,
    };
    if ![a, b, fa, fb].iter().all(|value| value.is_finite()) {
        return located(a, fa, f64::INFINITY, evaluations, SearchEnd::NotFinite);
    }
    for (at, value) in [(a, fa), (b, fb)] {
        if value == 0.0 {
            return located(at, value, 0.0, evaluations, SearchEnd::ExactZero);
        }
    }
    if fa.signum() == fb.signum() {
        let (at, value) = if fa.abs() < fb.abs() { (a, fa) } else { (b, fb) };
        return located(at, value, b - a, evaluations, SearchEnd::NoSignChange);
    }
    // b is the best point, c the point across the root, a the previous b.
    let (mut c, mut fc) = (a, fa);
    let (mut step, mut previous_step) = (b - a, b - a);
    loop {
        if fc.abs() < fb.abs() {
            (a, b, c) = (b, c, b);
            (fa, fb, fc) = (fb, fc, fb);
        }
        let least_step = 2.0 * f64::EPSILON * b.abs() + 0.5 * tolerance.max(0.0);
        let half = 0.5 * (c - b);
        if fb == 0.0 {
            return located(b, fb, 0.0, evaluations, SearchEnd::ExactZero);
        }
        if half.abs() <= least_step {
            return located(b, fb, c - b, evaluations, SearchEnd::Tolerance);
        }
        if evaluations >= EVALUATION_LIMIT {
            return located(b, fb, c - b, evaluations, SearchEnd::EvaluationLimit);
        }
        let interpolated = if previous_step.abs() >= least_step && fa.abs() > fb.abs() {
            interpolate((a, fa), (b, fb), (c, fc), half)
        } else {
            None
        };
        let worth_it = |p: f64, q: f64| {
            2.0 * p < (3.0 * half * q - (least_step * q).abs()).min((previous_step * q).abs())
        };
        match interpolated.filter(|&(p, q)| worth_it(p, q)) {
            Some((p, q)) => (previous_step, step) = (step, p / q),
            None => (previous_step, step) = (half, half),
        }
        (a, fa) = (b, fb);
        b += if step.abs() > least_step { step } else { least_step.copysign(half) };
        fb = function(b);
        evaluations += 1;
        if !fb.is_finite() {
            return located(a, fa, c - a, evaluations, SearchEnd::NotFinite);
        }
        if fb.signum() == fc.signum() {
            (c, fc) = (a, fa);
            (step, previous_step) = (b - a, b - a);
        }
    }
}

/// Numerator (not negative) and denominator of the interpolated step from b.
fn interpolate(
    (a, fa): (f64, f64),
    (b, fb): (f64, f64),
    (c, fc): (f64, f64),
    half: f64,
) -> Option<(f64, f64)> {
    let s = fb / fa;
    let (p, q) = if a == c {
        (2.0 * half * s, 1.0 - s)
    } else {
        let (q, r) = (fa / fc, fb / fc);
        (s * (2.0 * half * q * (q - r) - (b - a) * (r - 1.0)), (q - 1.0) * (r - 1.0) * (s - 1.0))
    };
    let (p, q) = if p > 0.0 { (p, -q) } else { (-p, q) };
    (q != 0.0).then_some((p, q))
}

/// A local minimum of `function` between `from` and `to`, to within `tolerance`.
///
/// Combines golden section and parabolic interpolation. `tolerance` is absolute; a minimum cannot be located better
/// than about 1.5e-8 of |at| (the square root of ε), which is added to it. The ends are approached to within the
/// tolerance but never evaluated.
///
/// ```
/// let lowest = coilwright::numeric::roots::brent_minimum(|x| (x - 0.3) * (x - 0.3), 0.0, 1.0, 1e-9);
/// assert!((lowest.at - 0.3).abs() < 1e-8);
/// ```
pub fn brent_minimum(mut function: impl FnMut(f64) -> f64, from: f64, to: f64, tolerance: f64) -> Located {
    const GOLDEN: f64 = 0.381_966_011_250_105_15; // (3 - sqrt 5)/2
    let (mut low, mut high) = (from.min(to), from.max(to));
    let mut x = low + GOLDEN * (high - low);
    let mut fx = function(x);
    let mut evaluations = 1;
    // w is the second best point, v the previous w.
    let (mut w, mut fw, mut v, mut fv) = (x, fx, x, fx);
    let (mut step, mut previous_step) = (0.0_f64, 0.0_f64);
    loop {
        let error_estimate = (high - x).max(x - low);
        let stopped = |stopped| Located { at: x, value: fx, error_estimate, evaluations, stopped };
        if !fx.is_finite() || !error_estimate.is_finite() {
            return stopped(SearchEnd::NotFinite);
        }
        let middle = 0.5 * (low + high);
        let least_step = f64::EPSILON.sqrt() * x.abs() + tolerance.max(0.0) / 3.0 + f64::MIN_POSITIVE;
        if (x - middle).abs() + 0.5 * (high - low) <= 2.0 * least_step {
            return stopped(SearchEnd::Tolerance);
        }
        if evaluations >= EVALUATION_LIMIT {
            return stopped(SearchEnd::EvaluationLimit);
        }
        // The parabola through x, w, v has its vertex at x + p/q.
        let (r, q) = ((x - w) * (fx - fv), (x - v) * (fx - fw));
        let p = (x - v) * q - (x - w) * r;
        let q = 2.0 * (q - r);
        let (p, q) = if q > 0.0 { (-p, q) } else { (p, -q) };
        let parabola_holds = previous_step.abs() > least_step
            && p.abs() < (0.5 * q * previous_step).abs()
            && p > q * (low - x)
            && p < q * (high - x);
        if parabola_holds {
            (previous_step, step) = (step, p / q);
            let u = x + step;
            if u - low < 2.0 * least_step || high - u < 2.0 * least_step {
                step = least_step.copysign(middle - x);
            }
        } else {
            previous_step = if x < middle { high - x } else { low - x };
            step = GOLDEN * previous_step;
        }
        let u = x + if step.abs() >= least_step { step } else { least_step.copysign(step) };
        let fu = function(u);
        evaluations += 1;
        if fu <= fx {
            if u < x {
                high = x
            } else {
                low = x
            }
            (v, fv, w, fw, x, fx) = (w, fw, x, fx, u, fu);
        } else {
            if u < x {
                low = u
            } else {
                high = u
            }
            if fu <= fw || w == x {
                (v, fv, w, fw) = (w, fw, u, fu);
            } else if fu <= fv || v == x || v == w {
                (v, fv) = (u, fu);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn roots_of_the_standard_hard_cases_are_found_to_the_tolerance_asked_for() {
        type Case = (fn(f64) -> f64, f64, f64, f64);
        let cases: [Case; 5] = [
            (|x| x.cos() - x, 0.0, 1.0, 0.739_085_133_215_160_6), // Dottie number, OEIS A003957
            (|x| x.exp() - 2.0, 0.0, 3.0, std::f64::consts::LN_2),
            (|x| (x - 1.0).powi(9), 0.0, 3.0, 1.0),
            (|x| if x < 0.3 { -1.0 } else { 1.0 }, 0.0, 1.0, 0.3),
            (|x| 1e-200 * (x - 0.25), -1.0, 1.0, 0.25),
        ];
        for (case, (function, from, to, wanted)) in cases.into_iter().enumerate() {
            for tolerance in [1e-3, 1e-6, 1e-9, 1e-12] {
                for (from, to) in [(from, to), (to, from)] {
                    let root = brent_root(function, from, to, tolerance);
                    assert!(root.converged(), "case {case}: {root:?}");
                    assert!(root.error_estimate <= tolerance + 1e-15, "case {case}: {root:?}");
                    // The ninth power is zero to rounding within (1e-16)^(1/9) of its root; 1e-3 covers case 2.
                    let slack = if case == 2 && root.stopped == SearchEnd::ExactZero { 1e-3 } else { 0.0 };
                    let error = (root.at - wanted).abs();
                    assert!(error <= tolerance + slack + 1e-15, "case {case}, {tolerance}: {root:?}");
                }
            }
        }
    }

    #[test]
    fn a_root_that_cannot_be_found_says_why() {
        assert_eq!(brent_root(|x| x * x + 1.0, -1.0, 1.0, 1e-9).stopped, SearchEnd::NoSignChange);
        assert_eq!(brent_root(|x| x.sqrt() - 1.0, -1.0, 2.0, 1e-9).stopped, SearchEnd::NotFinite);
        assert_eq!(brent_root(|x| x, f64::NAN, 1.0, 1e-9).stopped, SearchEnd::NotFinite);
        let lost = brent_root(|x| x * x + 1.0, -1.0, 1.0, 1e-9).place("a root");
        assert!(matches!(lost, Err(Error::NotConverged { .. })));
    }

    #[test]
    fn minima_are_found_to_the_tolerance_asked_for() {
        for tolerance in [1e-3, 1e-5, 1e-7] {
            let lowest = brent_minimum(|x| -x.sin(), 0.0, 3.0, tolerance);
            assert!(lowest.converged());
            assert!((lowest.at - std::f64::consts::FRAC_PI_2).abs() <= tolerance + 5e-8, "{lowest:?}");
            assert!(lowest.error_estimate <= tolerance + 1e-7, "{lowest:?}");
        }
        let at_end = brent_minimum(|x| x, 2.0, 5.0, 1e-6);
        assert!((at_end.at - 2.0).abs() < 1e-6, "{at_end:?}");
        assert_eq!(brent_minimum(|_| f64::NAN, 0.0, 1.0, 1e-6).stopped, SearchEnd::NotFinite);
    }

    proptest! {
        #[test]
        fn a_cubic_with_one_known_root_gives_it_back(root in -10.0..10.0f64, width in 0.1..20.0f64) {
            let found = brent_root(|x| (x - root) * (1.0 + (x - root).powi(2)), root - width, root + 1.3 * width, 1e-11);
            prop_assert!(found.converged());
            prop_assert!((found.at - root).abs() <= 1e-11 + 1e-14);
        }
    }
}
