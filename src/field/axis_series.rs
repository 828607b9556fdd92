//! The field of coaxial windings about a point of their axis, as a series of zonal harmonics.
//!
//! On the axis the field is a power series, off it each power becomes a solid harmonic:
//!
//! ```text
//! B_z(0, z) = Σ b_n z^n                     b_n = (μ0/2) Σ I a²/c³ · C_n(u)/c^n
//! B_z = Σ b_n r^n P_n(cos θ)                c² = a² + h², u = h/c, h the height of a loop over the point
//! B_ρ = −Σ b_n/(n + 1) r^n sin θ P_n'(cos θ)
//! ```
//!
//! C_n is the Gegenbauer polynomial of order 3/2, n C_n = (2n + 1) u C_{n−1} − (n + 1) C_{n−2}; I the current of a loop of
//! radius a, summed over the Gauss product of each section. Source: W. R. Smythe, Static and Dynamic Electricity, 3rd
//! ed. 1968, 7.13 (from memory; the tests derive it again from the exact coefficients of the ideal pair).
//!
//! **What is left out.** |C_n(u)| √(1 − u²) ≤ n + 1 (Bernstein's inequality for P_{n+1}), so a winding of N I ampere-turns
//! whose nearest conductor is c away has |b_n| ≤ (μ0/2) N I (n + 1)/c^(n+1); and a zonal harmonic's gradient is largest
//! on the axis but for a factor √((n + 2)/(n + 1)). With q = r/c the terms beyond n = N therefore sum to less than
//!
//! ```text
//! √2 (μ0/2) Σ|N I|/c · q^(N+1) [(N + 2) − (N + 1) q]/(1 − q)²
//! ```
//!
//! That bounds what lies beyond the terms that are computed at all; of those, a point takes as many as leave out, by
//! their own |b_n| q^n √((n + 2)/(n + 1)), no more than the tolerance times a quarter of Σ|B| of the windings at the
//! centre; the quarter because Σ|B| may be smaller elsewhere in the sphere.

use super::filament::Filament;
use crate::constants::MU_0;
use crate::numeric::lanes::{InstructionSet, Lanes, WIDEST};
use pulp::{Simd, WithSimd};

/// Terms computed, odd and even; for a tolerance of 1e-12 they serve points up to about q = 0.66.
pub(super) const MOST_TERMS: usize = 84;

/// Coefficients b_n scale^n of loops about points of their axis at the given heights, T: term by term, the heights of
/// each term together, padded to whole registers.
pub(super) fn coefficients(
    filaments: &[Filament],
    heights_m: &[f64],
    scale_m: &[f64],
    terms: usize,
    set: InstructionSet,
) -> Vec<f64> {
    debug_assert!(heights_m.len().is_multiple_of(WIDEST) && heights_m.len() == scale_m.len());
    let mut out = vec![0.0; terms * heights_m.len()];
    set.run(Coefficients { filaments, heights_m, scale_m, out: &mut out });
    out
}

struct Coefficients<'a> {
    filaments: &'a [Filament],
    heights_m: &'a [f64],
    scale_m: &'a [f64],
    out: &'a mut [f64],
}

impl WithSimd for Coefficients<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) {
        let splat = |value: f64| Lanes::splat(simd, value);
        let heights = S::as_simd_f64s(self.heights_m).0;
        let scales = S::as_simd_f64s(self.scale_m).0;
        let out = S::as_mut_simd_f64s(self.out).0;
        let terms = out.len() / heights.len();
        for (column, (&height, &scale)) in heights.iter().zip(scales).enumerate() {
            let (height, scale) = (Lanes::new(simd, height), Lanes::new(simd, scale));
            for filament in self.filaments {
                let a = splat(filament.radius_m);
                let above = splat(filament.height_m) - height;
                let inverse = splat(1.0) / a.mul_add(a, above * above);
                // u t and t², t = scale/c.
                let (ut, t2) = (above * scale * inverse, scale * scale * inverse);
                let front = splat(0.5 * MU_0 * filament.current_ampere) * a * a * inverse * inverse.sqrt();
                let (mut before, mut here) = (splat(0.0), front);
                for n in 0..terms {
                    let sum = &mut out[n * heights.len() + column];
                    *sum = (Lanes::new(simd, *sum) + here).value();
                    // (n + 1) C_{n+1} = (2n + 3) u C_n − (n + 2) C_{n−1}.
                    let m = (n + 1) as f64;
                    let next = (splat((2.0 * m + 1.0) / m) * ut)
                        .mul_add(here, -(splat((m + 1.0) / m) * t2 * before));
                    (before, here) = (here, next);
                }
            }
        }
    }
}

/// What the terms beyond `highest` may sum to at r = q c, over √2 (μ0/2) Σ|N I|/c.
pub(super) fn truncation(highest: usize, q: f64) -> f64 {
    let n = highest as f64;
    q.powf(n + 1.0) * ((n + 2.0) - (n + 1.0) * q) / ((1.0 - q) * (1.0 - q))
}

/// The largest q at which a rising bound is within `limit`.
pub(super) fn largest_ratio(bound: impl Fn(f64) -> f64, limit: f64) -> f64 {
    let (mut low, mut high) = (0.0, 0.99);
    for _ in 0..16 {
        let middle = 0.5 * (low + high);
        if bound(middle) <= limit {
            low = middle;
        } else {
            high = middle;
        }
    }
    low
}

/// One parity of one component: Σ c_k times polynomials that obey
/// p_{k+1} = (ζ² − A_k r²) p_k − B_k r⁴ p_{k−1}, p_0 = 1.
#[derive(Clone, Debug)]
struct Parity {
    /// c_k, A_k, B_{k+1}.
    terms: Vec<[f64; 3]>,
}

impl Parity {
    /// Every other polynomial of the monic family p_{n+1} = ζ p_n − γ_n r² p_{n−1}, from p_`first` (0, or 1 divided by
    /// ζ) on, with the coefficients of the monic polynomials.
    fn new(coefficients: impl Iterator<Item = f64>, first: usize, gamma: fn(f64) -> f64) -> Self {
        let terms = coefficients.enumerate().map(|(k, c)| {
            let n = (first + 2 * k) as f64;
            let below = |n: f64| if n > 0.0 { gamma(n) } else { 0.0 };
            [c, gamma(n + 1.0) + below(n), gamma(n + 2.0) * gamma(n + 1.0)]
        });
        Self { terms: terms.collect() }
    }

    /// Clenshaw's summation of the first `count` terms.
    #[inline(always)]
    fn sum<S: Simd, const U: usize>(&self, count: usize, point: &[ZonalPoint<S>; U]) -> [Lanes<S>; U] {
        let zero = point[0].zeta.all(0.0);
        let (mut here, mut above) = ([zero; U], [zero; U]);
        for &[c, a, b] in self.terms[..count.min(self.terms.len())].iter().rev() {
            for i in 0..U {
                let p = &point[i];
                let factor = p.minus_r2.mul_add(zero.all(a), p.zeta2);
                let rest = (p.minus_r4 * above[i]).mul_add(zero.all(b), zero.all(c));
                above[i] = here[i];
                here[i] = factor.mul_add(here[i], rest);
            }
        }
        here
    }
}

/// γ of the monic Legendre polynomials.
fn legendre_gamma(n: f64) -> f64 {
    n * n / ((2.0 * n - 1.0) * (2.0 * n + 1.0))
}

/// γ of the monic Gegenbauer polynomials of order 3/2.
fn gegenbauer_gamma(n: f64) -> f64 {
    n * (n + 2.0) / ((2.0 * n + 3.0) * (2.0 * n + 1.0))
}

#[derive(Clone, Copy)]
struct ZonalPoint<S: Simd> {
    zeta: Lanes<S>,
    zeta2: Lanes<S>,
    minus_r2: Lanes<S>,
    minus_r4: Lanes<S>,
}

/// The series about one point, lengths in units of the distance to the nearest conductor.
#[derive(Clone, Debug)]
pub(super) struct ZonalSeries {
    axial: [Parity; 2],
    radial: [Parity; 2],
    /// Whether the odd terms vanish, as in a pair that mirrors itself.
    even_only: bool,
}

impl ZonalSeries {
    /// From b_n scale^n. Odd terms that sum to less than `negligible` at the rim of the sphere are dropped.
    pub fn new(b: &[f64], negligible: f64) -> Self {
        // P_n = κ_n p_n and P_n' = n κ_n g_{n−1}, p and g monic.
        let mut leading = vec![1.0; b.len()];
        for n in 1..b.len() {
            leading[n] = leading[n - 1] * (2 * n - 1) as f64 / n as f64;
        }
        let odd: f64 = b.iter().skip(1).step_by(2).map(|b| b.abs()).sum();
        let axial = |first: usize| (first..b.len()).step_by(2).map(|n| b[n] * leading[n]).collect::<Vec<_>>();
        let radial = |first: usize| {
            let term = |n: usize| -b[n] * n as f64 * leading[n] / (n + 1) as f64;
            (first..b.len()).step_by(2).map(term).collect::<Vec<_>>()
        };
        Self {
            axial: [0, 1].map(|first| Parity::new(axial(first).into_iter(), first, legendre_gamma)),
            // Even n has the odd g_1, g_3, …; odd n the even g_0, g_2, ….
            radial: [(2, 1), (1, 0)]
                .map(|(n, first)| Parity::new(radial(n).into_iter(), first, gegenbauer_gamma)),
            even_only: odd <= negligible,
        }
    }

    /// The field of the terms up to n = `highest` at heights ζ and squared distances r² in units of the scale: B_ζ and
    /// B_ρ/ρ. All lists are padded to whole registers.
    pub fn field(
        &self,
        highest: usize,
        (zeta, r2): (&[f64], &[f64]),
        (axial, radial_over_rho): (&mut [f64], &mut [f64]),
        set: InstructionSet,
    ) {
        set.run(Evaluate { series: self, highest, zeta, r2, axial, radial_over_rho });
    }
}

struct Evaluate<'a> {
    series: &'a ZonalSeries,
    highest: usize,
    zeta: &'a [f64],
    r2: &'a [f64],
    axial: &'a mut [f64],
    radial_over_rho: &'a mut [f64],
}

impl WithSimd for Evaluate<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) {
        let (series, highest) = (self.series, self.highest);
        let zeta = S::as_simd_f64s(self.zeta).0;
        let r2 = S::as_simd_f64s(self.r2).0;
        let axial = S::as_mut_simd_f64s(self.axial).0;
        let radial = S::as_mut_simd_f64s(self.radial_over_rho).0;
        let mut start = 0;
        // Three registers at once hide the latency of the recurrence.
        while start + 3 <= zeta.len() {
            let points = [
                zonal_point(simd, zeta[start], r2[start]),
                zonal_point(simd, zeta[start + 1], r2[start + 1]),
                zonal_point(simd, zeta[start + 2], r2[start + 2]),
            ];
            series.at(highest, &points, &mut axial[start..start + 3], &mut radial[start..start + 3]);
            start += 3;
        }
        for i in start..zeta.len() {
            series.at(highest, &[zonal_point(simd, zeta[i], r2[i])], &mut axial[i..=i], &mut radial[i..=i]);
        }
    }
}

#[inline(always)]
fn zonal_point<S: Simd>(simd: S, zeta: S::f64s, r2: S::f64s) -> ZonalPoint<S> {
    let (zeta, r2) = (Lanes::new(simd, zeta), Lanes::new(simd, r2));
    ZonalPoint { zeta, zeta2: zeta * zeta, minus_r2: -r2, minus_r4: -(r2 * r2) }
}

impl ZonalSeries {
    #[inline(always)]
    fn at<S: Simd, const U: usize>(
        &self,
        highest: usize,
        points: &[ZonalPoint<S>; U],
        axial_out: &mut [S::f64s],
        radial_out: &mut [S::f64s],
    ) {
        let mut axial = self.axial[0].sum(highest / 2 + 1, points);
        let mut radial = self.radial[0].sum(highest / 2, points);
        for i in 0..U {
            radial[i] = radial[i] * points[i].zeta;
        }
        if !self.even_only {
            let odd = self.axial[1].sum(highest.div_ceil(2), points);
            let even = self.radial[1].sum(highest.div_ceil(2), points);
            for i in 0..U {
                axial[i] = points[i].zeta.mul_add(odd[i], axial[i]);
                radial[i] = radial[i] + even[i];
            }
        }
        for i in 0..U {
            axial_out[i] = axial[i].value();
            radial_out[i] = radial[i].value();
        }
    }
}
