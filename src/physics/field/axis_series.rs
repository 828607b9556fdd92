//! The field of coaxial windings about a point of their axis, as a series of zonal harmonics.
//!
//! On the axis the field is a power series; off the axis each power becomes a solid harmonic:
//!
//! ```text
//! B_z(0, z) = Σ b_n z^n                     b_n = (μ0/2) Σ I a²/c³ · C_n(u)/c^n
//! B_z = Σ b_n r^n P_n(cos θ)                c² = a² + h², u = h/c, h the height of a loop over the point
//! B_ρ = −Σ b_n/(n + 1) r^n sin θ P_n'(cos θ)
//! ```
//!
//! C_n is the Gegenbauer polynomial of order 3/2, n C_n = (2n + 1) u C_{n−1} − (n + 1) C_{n−2}; I the current of a loop of
//! radius a, summed over the Gauss product of each section. Along the axis the sum can be done in closed form: a sheet of
//! current I from height h₁ to h₂ = h₁ + w has on the axis
//!
//! ```text
//! B_z(z) = (μ0/2) (I/w) [f(z − h₁) − f(z − h₂)]     f(t) = t/√(a² + t²)     f'(t) = a²/(a² + t²)^(3/2)
//! ```
//!
//! and f' is the field of a loop, so the two ends replace all the nodes between them. Source: W. R. Smythe, Static and
//! Dynamic Electricity, 3rd ed. 1968, 7.13 (from memory; the tests derive it again from the exact coefficients of the
//! ideal pair).
//!
//! **What is left out.** |C_n(u)| √(1 − u²) ≤ n + 1 (Bernstein's inequality for P_{n+1}), so a winding of N I
//! ampere-turns whose nearest conductor is c away has |b_n| ≤ (μ0/2) N I (n + 1)/c^(n+1); and a zonal harmonic's
//! gradient is largest on the axis, up to a factor √((n + 2)/(n + 1)). With q = r/c the terms beyond n = N therefore
//! sum to less than
//!
//! ```text
//! √2 (μ0/2) Σ|N I|/c · q^(N+1) [(N + 2) − (N + 1) q]/(1 − q)²
//! ```
//!
//! This bounds the terms never computed. Each point then drops further terms while their sum, each bounded by its own
//! |b_n| q^n √((n + 2)/(n + 1)), stays below half the tolerance times the smallest possible Σ|B| of the windings in its
//! sphere. That smallest value is Σ|B| at the centre times [`least_in_sphere`].

use super::filament::Filament;
use crate::constants::MU_0;
use crate::numeric::lanes::{InstructionSet, Lanes, WIDEST};
use pulp::{Simd, WithSimd};

/// Terms computed, odd and even; for a tolerance of 1e-12 they serve points up to about q = 0.69.
pub(super) const MOST_TERMS: usize = 100;

/// The currents that make the field on the axis.
#[derive(Clone, Debug, Default)]
pub(super) struct AxisSources {
    pub loops: Vec<Filament>,
    /// The ends of current sheets. Their `current_ampere` is the sheet's current over its width, A/m, negative for the
    /// upper end.
    pub ends: Vec<Filament>,
}

/// Coefficients b_n scale^n about points of the axis at the given heights, T. They are listed term by term, for each
/// term all heights, padded to whole registers.
pub(super) fn coefficients(
    sources: &AxisSources,
    heights_m: &[f64],
    scale_m: &[f64],
    terms: usize,
    set: InstructionSet,
) -> Vec<f64> {
    debug_assert!(heights_m.len().is_multiple_of(WIDEST) && heights_m.len() == scale_m.len());
    let mut out = vec![0.0; terms * heights_m.len()];
    if !sources.ends.is_empty() {
        set.run(Coefficients::<true> { filaments: &sources.ends, heights_m, scale_m, out: &mut out });
    }
    if !sources.loops.is_empty() {
        let mut by_loops = vec![0.0; out.len()];
        let out_of_loops = &mut by_loops;
        set.run(Coefficients::<false> { filaments: &sources.loops, heights_m, scale_m, out: out_of_loops });
        out.iter_mut().zip(by_loops).for_each(|(sum, term)| *sum += term);
    }
    out
}

/// Computes the coefficients of loops, or of the ends of sheets.
struct Coefficients<'a, const ENDS: bool> {
    filaments: &'a [Filament],
    heights_m: &'a [f64],
    scale_m: &'a [f64],
    out: &'a mut [f64],
}

impl<const ENDS: bool> WithSimd for Coefficients<'_, ENDS> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) {
        let heights = S::as_simd_f64s(self.heights_m).0;
        let scales = S::as_simd_f64s(self.scale_m).0;
        let out = S::as_mut_simd_f64s(self.out).0;
        let terms = out.len() / heights.len();
        let zero = Lanes::splat(simd, 0.0);
        // Term n of an end is term n − 1 of a loop, integrated; term 0 is computed separately.
        let shift = usize::from(ENDS);
        for (column, (&height, &scale)) in heights.iter().zip(scales).enumerate() {
            let (height, scale) = (Lanes::new(simd, height), Lanes::new(simd, scale));
            // Two loops side by side hide the latency of the recurrence.
            for pair in self.filaments.chunks(2) {
                let one = Start::new(simd, &pair[0], height, scale);
                let other = match pair.get(1) {
                    Some(filament) => Start::new(simd, filament, height, scale),
                    None => Start { ut: zero, t2: zero, front: zero, end: zero },
                };
                if ENDS {
                    let sum = Lanes::new(simd, out[column]);
                    out[column] = (sum + (one.end + other.end)).value();
                }
                let (mut before, mut here) = ([zero; 2], [one.front, other.front]);
                for n in 0..terms - shift {
                    let sum = &mut out[(n + shift) * heights.len() + column];
                    *sum = (Lanes::new(simd, *sum) + (here[0] + here[1])).value();
                    let gamma = zero.all(MONIC.gamma[n]);
                    let next = [
                        one.ut.mul_add(here[0], -(gamma * one.t2 * before[0])),
                        other.ut.mul_add(here[1], -(gamma * other.t2 * before[1])),
                    ];
                    (before, here) = (here, next);
                }
            }
            for n in 0..terms - shift {
                let factor = zero.all(MONIC.leading[n]);
                let factor = if ENDS { factor * scale / zero.all((n + 1) as f64) } else { factor };
                let sum = &mut out[(n + shift) * heights.len() + column];
                *sum = (Lanes::new(simd, *sum) * factor).value();
            }
        }
    }
}

/// Start values of one loop's recurrence, with t = scale/c: u t, t², (μ0/2) I a²/c³ and, if it is an end, (μ0/2) I f.
struct Start<S: Simd> {
    ut: Lanes<S>,
    t2: Lanes<S>,
    front: Lanes<S>,
    end: Lanes<S>,
}

impl<S: Simd> Start<S> {
    #[inline(always)]
    fn new(simd: S, filament: &Filament, height: Lanes<S>, scale: Lanes<S>) -> Self {
        let a = Lanes::splat(simd, filament.radius_m);
        let above = Lanes::splat(simd, filament.height_m) - height;
        let inverse2 = a.all(1.0) / a.mul_add(a, above * above);
        let inverse = inverse2.sqrt();
        let front = a.all(0.5 * MU_0 * filament.current_ampere);
        Self {
            ut: above * scale * inverse2,
            t2: scale * scale * inverse2,
            front: front * (a * a * inverse2 * inverse),
            end: -(front * (above * inverse)),
        }
    }
}

/// The Gegenbauer polynomials of order 3/2 as monic polynomials, p_{n+1} = u p_n − γ_n p_{n−1}, times their leading
/// coefficients.
struct Monic {
    gamma: [f64; MOST_TERMS],
    leading: [f64; MOST_TERMS],
}

const MONIC: Monic = {
    let (mut gamma, mut leading) = ([0.0; MOST_TERMS], [1.0; MOST_TERMS]);
    let mut n = 1;
    while n < MOST_TERMS {
        gamma[n] = gegenbauer_gamma(n as f64);
        leading[n] = leading[n - 1] * (2 * n + 1) as f64 / n as f64;
        n += 1;
    }
    Monic { gamma, leading }
};

/// Bound of the sum of the terms beyond `highest` at r = q c, over √2 (μ0/2) Σ|N I|/c.
pub(super) fn truncation(highest: usize, q: f64) -> f64 {
    let n = highest as f64;
    q.powf(n + 1.0) * ((n + 2.0) - (n + 1.0) * q) / ((1.0 - q) * (1.0 - q))
}

/// The smallest |B| of a loop in the sphere of radius q c about a point of its axis, over |B| at that point; c is the
/// distance from the point to the loop. The value is reached on the axis, away from a distant loop, where |B| falls as
/// the cube of the distance. That |B| is nowhere smaller is a numerical finding of the test.
pub(super) fn least_in_sphere(q: f64) -> f64 {
    (1.0 + q).powi(-3)
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

/// The even or the odd terms of both components: Σ c_k p_k with polynomials that obey
/// p_{k+1} = (ζ² − A_k r²) p_k − B_k r⁴ p_{k−1}, p_0 = 1.
#[derive(Clone, Debug)]
struct Parity {
    /// c_k, A_k, B_{k+1} of the axial component and of the radial one.
    terms: Vec<[[f64; 3]; 2]>,
}

impl Parity {
    /// From the coefficients of every other polynomial of the monic families p_{n+1} = ζ p_n − γ_n r² p_{n−1}: the
    /// axial ones, and as many radial ones or one less. `first` is the n at which each begins: 0, or 1 with the
    /// polynomials divided by ζ.
    fn new(axial: &[f64], radial: &[f64], first: [usize; 2]) -> Self {
        let term = |k: usize| {
            let axial = Self::term(axial[k], first[0] + 2 * k, legendre_gamma);
            let radial = radial.get(k).copied().unwrap_or(0.0);
            [axial, Self::term(radial, first[1] + 2 * k, gegenbauer_gamma)]
        };
        Self { terms: (0..axial.len()).map(term).collect() }
    }

    fn term(coefficient: f64, n: usize, gamma: fn(f64) -> f64) -> [f64; 3] {
        let n = n as f64;
        let below = |n: f64| if n > 0.0 { gamma(n) } else { 0.0 };
        [coefficient, gamma(n + 1.0) + below(n), gamma(n + 2.0) * gamma(n + 1.0)]
    }

    /// Clenshaw's summation of the first `count` terms. The two components go side by side: one alone would wait for
    /// its own results.
    #[inline(always)]
    fn sum<S: Simd, const U: usize>(&self, count: usize, point: &[ZonalPoint<S>; U]) -> [[Lanes<S>; U]; 2] {
        let zero = point[0].zeta.all(0.0);
        let (mut here, mut above) = ([[zero; U]; 2], [[zero; U]; 2]);
        for term in self.terms[..count.min(self.terms.len())].iter().rev() {
            for component in 0..2 {
                let [c, a, b] = term[component].map(|value| zero.all(value));
                let (here, above) = (&mut here[component], &mut above[component]);
                for i in 0..U {
                    let p = &point[i];
                    let factor = p.minus_r2.mul_add(a, p.zeta2);
                    let rest = (p.minus_r4 * b).mul_add(above[i], c);
                    above[i] = here[i];
                    here[i] = factor.mul_add(here[i], rest);
                }
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
const fn gegenbauer_gamma(n: f64) -> f64 {
    n * (n + 2.0) / ((2.0 * n + 3.0) * (2.0 * n + 1.0))
}

/// Heights and distances of one register of points, in units of the scale.
#[derive(Clone, Copy)]
pub(super) struct ZonalPoint<S: Simd> {
    pub zeta: Lanes<S>,
    zeta2: Lanes<S>,
    minus_r2: Lanes<S>,
    minus_r4: Lanes<S>,
}

impl<S: Simd> ZonalPoint<S> {
    #[inline(always)]
    pub(super) fn new(zeta: Lanes<S>, r2: Lanes<S>) -> Self {
        Self { zeta, zeta2: zeta * zeta, minus_r2: -r2, minus_r4: -(r2 * r2) }
    }
}

/// The series about one point, lengths in units of the distance to the nearest conductor.
#[derive(Clone, Debug)]
pub(super) struct ZonalSeries {
    even: Parity,
    /// `None` if the odd terms vanish, as in a mirror-symmetric pair.
    odd: Option<Parity>,
}

impl ZonalSeries {
    /// From b_n scale^n. Odd terms that sum to less than `negligible` at the rim of the sphere are dropped.
    pub(super) fn new(b: &[f64], negligible: f64) -> Self {
        // P_n = κ_n p_n and P_n' = n κ_n g_{n−1}, p and g monic.
        let mut leading = vec![1.0; b.len()];
        for n in 1..b.len() {
            leading[n] = leading[n - 1] * (2 * n - 1) as f64 / n as f64;
        }
        let odd: f64 = b.iter().skip(1).step_by(2).map(|b| b.abs()).sum();
        let every_other = |first: usize, of: &dyn Fn(usize) -> f64| -> Vec<f64> {
            (first..b.len()).step_by(2).map(of).collect()
        };
        let axial = |n: usize| b[n] * leading[n];
        let radial = |n: usize| -b[n] * n as f64 * leading[n] / (n + 1) as f64;
        // Even n has the odd g_1, g_3, …; odd n the even g_0, g_2, ….
        let even = Parity::new(&every_other(0, &axial), &every_other(2, &radial), [0, 1]);
        let odd = (odd > negligible)
            .then(|| Parity::new(&every_other(1, &axial), &every_other(1, &radial), [1, 0]));
        Self { even, odd }
    }

    /// The field of the terms up to n = `highest` at the points of `U` registers: B_ζ and B_ρ/ρ.
    #[inline(always)]
    pub(super) fn field<S: Simd, const U: usize>(
        &self,
        highest: usize,
        points: &[ZonalPoint<S>; U],
    ) -> ([Lanes<S>; U], [Lanes<S>; U]) {
        let [mut axial, mut radial] = self.even.sum(highest / 2 + 1, points);
        for i in 0..U {
            radial[i] = radial[i] * points[i].zeta;
        }
        if let Some(odd) = &self.odd {
            let [odd, even] = odd.sum(highest.div_ceil(2), points);
            for i in 0..U {
                axial[i] = points[i].zeta.mul_add(odd[i], axial[i]);
                radial[i] = radial[i] + even[i];
            }
        }
        (axial, radial)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::physics::field::filaments_field;
    use std::f64::consts::PI;

    #[test]
    fn a_loops_field_in_a_sphere_is_nowhere_below_the_least_and_comes_near_it() {
        let mut least_ratio = f64::INFINITY;
        for i in 0..120 {
            // The loop from the sphere's middle plane to a hundred radii away.
            let height = 10f64.powf(f64::from(i) / 119.0 * 4.0 - 2.0);
            let turn = [Filament { radius_m: 1.0, height_m: height, current_ampere: 1.0 }];
            let clearance = height.hypot(1.0);
            let centre = filaments_field(&turn, &[0.0], &[0.0], InstructionSet::Scalar).1[0];
            for q in [0.1, 0.3, 0.5, 0.66, 0.8, 0.95] {
                let (mut rho, mut zeta) = (Vec::new(), Vec::new());
                for (share, step) in [0.25, 0.5, 0.75, 0.9, 1.0].into_iter().zip([60, 60, 90, 120, 360]) {
                    for k in 0..=step {
                        let angle = PI * f64::from(k) / f64::from(step);
                        rho.push(share * q * clearance * angle.sin());
                        zeta.push(share * q * clearance * angle.cos());
                    }
                }
                let field = filaments_field(&turn, &rho, &zeta, InstructionSet::Fastest);
                for (b_rho, b_zeta) in field.0.iter().zip(&field.1) {
                    let ratio = b_rho.hypot(*b_zeta) / centre / least_in_sphere(q);
                    least_ratio = least_ratio.min(ratio);
                }
            }
        }
        assert!((1.0 - 1e-12..1.001).contains(&least_ratio), "{least_ratio}");
    }
}
