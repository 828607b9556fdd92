//! Complete elliptic integrals of the parameter m = k², in the two combinations that do not cancel.
//!
//! ```text
//! KK(m) = 2 K(m)/π                        1 at m = 0
//! DD(m) = 4 (K(m) − E(m))/(π m)           1 at m = 0, as K(m) (1 − E/K) = m π/4 + …
//! ```
//!
//! For small m both are computed as polynomials ([`elliptic_fit`](super::elliptic_fit)). Larger m are reduced by
//! descending Landen steps, started from k' = √(1 − m) so that no digit of 1 − m is lost. Near m = 1 the ratio
//! eps = E/K is small and must keep its digits. With tau = DD/KK = 2 (1 − E/K)/m:
//!
//! ```text
//! q = 1/(1 + k')   e = m q²   m₂ = e²   k'₂ = 2 q √k'
//! KK(m) = 2 q KK(m₂)   tau(m) = 1 + e tau(m₂)/2   eps(m) = eps(m₂) (1 + k')²/2 − k'
//! ```
//!
//! Source: DLMF 19.8.12 and 19.8.13 (descending Landen), rewritten in these variables and checked against the table of
//! 30-digit values in `tests/data/elliptic.csv`.

use super::elliptic_fit::{
    DD_TO_0_06, DD_TO_0_15, DD_TO_0_36, DD_TO_0_60, KK_TO_0_06, KK_TO_0_15, KK_TO_0_36, KK_TO_0_60,
};
use super::lanes::{Lanes, two_polynomials};
use pulp::Simd;

/// The largest parameter the polynomials serve. Up to there they are cheaper than a Landen step's root and division.
pub(crate) const MOST_BY_POLYNOMIAL: f64 = 0.6;

/// Polynomials for KK and DD, of equal length.
///
/// The length is a run-time value on purpose: with fixed arrays the compiler unrolls Horner's rule and serialises
/// registers that should go side by side.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Polynomials {
    kk: &'static [f64],
    dd: &'static [f64],
}

impl Polynomials {
    const TO_0_06: Self = Self { kk: &KK_TO_0_06, dd: &DD_TO_0_06 };
    const TO_0_15: Self = Self { kk: &KK_TO_0_15, dd: &DD_TO_0_15 };
    const TO_0_36: Self = Self { kk: &KK_TO_0_36, dd: &DD_TO_0_36 };
    /// The longest polynomials; they serve every parameter up to [`MOST_BY_POLYNOMIAL`].
    pub(crate) const LONGEST: Self = Self { kk: &KK_TO_0_60, dd: &DD_TO_0_60 };

    /// The shortest polynomials that serve every parameter from 0 to `m`. `None` if `m` is beyond the longest or NaN.
    #[inline(always)]
    pub(crate) fn up_to(m: f64) -> Option<Self> {
        match m {
            _ if m <= 0.06 => Some(Self::TO_0_06),
            _ if m <= 0.15 => Some(Self::TO_0_15),
            _ if m <= 0.36 => Some(Self::TO_0_36),
            _ if m <= MOST_BY_POLYNOMIAL => Some(Self::LONGEST),
            _ => None,
        }
    }

    /// KK and DD of the parameters in `U` registers side by side.
    #[inline(always)]
    pub(crate) fn kk_and_dd<S: Simd, const U: usize>(
        self,
        m: &[Lanes<S>; U],
    ) -> ([Lanes<S>; U], [Lanes<S>; U]) {
        two_polynomials(self.kk, self.dd, m)
    }
}

/// KK, tau and eps = E/K of one parameter; tau is the more accurate for k' > 0.1, eps for smaller k'.
#[derive(Clone, Copy)]
pub(crate) struct ByLanden<S: Simd> {
    pub kk: Lanes<S>,
    pub tau: Lanes<S>,
    pub eps: Lanes<S>,
}

/// KK, tau and eps from m and k' = √(1 − m) ≥ 1e-24, both given to full accuracy; takes as many Landen steps as the
/// smallest k' needs.
#[inline(always)]
pub(crate) fn by_landen<S: Simd>(m: Lanes<S>, complementary_modulus: Lanes<S>) -> ByLanden<S> {
    // A NaN counts as the smallest k', so that the other lanes get enough steps.
    let zero = m.all(0.0);
    let count = match zero.if_less(complementary_modulus, complementary_modulus, zero).smallest() {
        kc if kc >= 0.12 => 2,
        kc if kc >= 3e-6 => 4,
        _ => 6,
    };
    let (one, half) = (m.all(1.0), m.all(0.5));
    let (mut m, mut kc, mut factor) = (m, complementary_modulus, one);
    let mut steps = [(one, one); 6];
    for step in &mut steps[..count] {
        let q = one / (one + kc);
        let e = m * q * q;
        *step = (kc, e);
        m = e * e;
        factor = factor * (q + q);
        kc = (q + q) * kc.sqrt();
    }
    let ([kk], [dd]) = Polynomials::TO_0_06.kk_and_dd(&[m]);
    let mut tau = dd / kk;
    let mut eps = one - half * m * tau;
    for (kc, e) in steps[..count].iter().rev() {
        let sum = one + *kc;
        eps = (half * sum * sum).mul_add(eps, -*kc);
        tau = (half * *e).mul_add(tau, one);
    }
    ByLanden { kk: factor * kk, tau, eps }
}

/// KK and DD of the parameters of one register, given m and k' = √(1 − m) ≥ 1e-24, both to full accuracy.
#[inline(always)]
pub(crate) fn kk_and_dd<S: Simd>(m: Lanes<S>, complementary_modulus: Lanes<S>) -> (Lanes<S>, Lanes<S>) {
    let limit = m.all(MOST_BY_POLYNOMIAL);
    match Polynomials::up_to(m.if_less(limit, m, m.all(1.0)).largest()) {
        Some(polynomials) => {
            let ([kk], [dd]) = polynomials.kk_and_dd(&[m]);
            (kk, dd)
        }
        None => {
            let near = by_landen(m, complementary_modulus);
            (near.kk, near.kk * near.tau)
        }
    }
}

/// KK and DD of one number.
pub(crate) fn kk_and_dd_of(m: f64, complementary_modulus: f64) -> (f64, f64) {
    let simd = pulp::Scalar::new();
    let (kk, dd) = kk_and_dd(Lanes::splat(simd, m), Lanes::splat(simd, complementary_modulus));
    (kk.value(), dd.value())
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    /// KK and DD by the arithmetic–geometric mean from k': K = π/(2 agm), 1 − E/K = Σ 2^(n−1) c_n² (DLMF 19.8.5 and
    /// 19.8.6).
    fn by_agm(m: f64, kc: f64) -> (f64, f64) {
        let (mut a, mut g, mut sum, mut weight, mut c2) = (1.0, kc, 0.5 * m, 0.5, m);
        for _ in 0..12 {
            let next = 0.5 * (a + g);
            c2 = c2 * c2 / (16.0 * next * next);
            weight *= 2.0;
            sum += weight * c2;
            (a, g) = (next, (a * g).sqrt());
        }
        (1.0 / a, 2.0 * sum / m / a)
    }

    #[test]
    fn every_length_agrees_with_the_arithmetic_geometric_mean_on_both_sides_of_its_limits() {
        let mut lengths = std::collections::BTreeSet::new();
        for i in 1..20_000 {
            let kc = 10f64.powf(-24.0 * (f64::from(i) / 20_000.0).powi(3));
            // Exact to rounding: for kc near 1, 1 − kc² would lose digits of m.
            let m = (1.0 - kc) * (1.0 + kc);
            lengths.insert(Polynomials::up_to(m).map(|polynomials| polynomials.kk.len()));
            let (got, wanted) = (kk_and_dd_of(m, kc), by_agm(m, kc));
            assert!((got.0 / wanted.0 - 1.0).abs() < 2e-15, "KK at k' = {kc}: {got:?} {wanted:?}");
            assert!((got.1 / wanted.1 - 1.0).abs() < 2e-15, "DD at k' = {kc}: {got:?} {wanted:?}");
        }
        assert_eq!(lengths.len(), 5);
        for kc in [0.97, 0.93, 0.81, 0.79, 0.64, 0.63, 0.121, 0.119, 3.1e-6, 2.9e-6, 1e-24] {
            let m = (1.0 - kc) * (1.0 + kc);
            let (got, wanted) = (kk_and_dd_of(m, kc), by_agm(m, kc));
            assert!((got.0 / wanted.0 - 1.0).abs() < 2e-15 && (got.1 / wanted.1 - 1.0).abs() < 2e-15, "{kc}");
        }
    }

    #[test]
    fn k_and_e_agree_with_the_30_digit_table() {
        // Source: tests/data/elliptic.csv, mpmath 45 digits; its values at 0.1 to 0.99 are those of Abramowitz &
        // Stegun 1964, table 17.1.
        let mut rows = 0;
        for line in include_str!(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/data/elliptic.csv"))
            .lines()
            .skip_while(|l| !l.starts_with("0."))
        {
            let cells: Vec<f64> = line.split(',').take(4).map(|cell| cell.parse().unwrap()).collect();
            let [m, kc, k, e] = cells[..] else { panic!("{line}") };
            let (kk, dd) = kk_and_dd_of(m, kc);
            let (got_k, got_e) = (0.5 * PI * kk, 0.5 * PI * (kk - 0.5 * m * dd));
            assert!((got_k / k - 1.0).abs() < 1e-15, "{line}: K {got_k}");
            // E comes from K by a subtraction, which magnifies the rounding by K/E.
            assert!((got_e / e - 1.0).abs() < 1e-15 * k / e, "{line}: E {got_e}");
            rows += 1;
        }
        assert!(rows >= 10);
    }
}
