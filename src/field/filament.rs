//! Circular filaments: the field of many loops at many points, in coordinates about their common axis.
//!
//! With the current's direction right-handed about +ζ, a the radius of a loop and ζ the point's height over its
//! plane:
//!
//! ```text
//! d = a − ρ        α² = d² + ζ²     (shortest and longest distance from the loop)
//! e = a + ρ        β² = e² + ζ²
//! k = (β − α)/(β + α) = 4aρ/(α + β)²     m = k²     w = tau(m)/(α + β)²
//! F = μ0 I a² KK(m)/(α² β² (α + β))
//! B_ρ = F ρ ζ [2 − (α² + β²) w]
//! B_ζ = F [ζ² + d e + 2 ρ² w (ζ² − d e)]
//! ```
//!
//! Near the wire w and tau would cancel against what they are added to, and eps = E/K takes their place:
//!
//! ```text
//! 2 − (α² + β²) w         = [(1 + m) eps − (1 − m)]/m
//! ζ² + d e + 2 ρ² w (…)   = ζ² (1 + g) + d e (1 − g)         g = (1 − eps) (α + β)²/4a²
//! 4a² (1 − g)             = (α + β)² eps + 2 (d e − ζ² − αβ)
//! ```
//!
//! KK, tau and eps are those of [`elliptic`](crate::numeric::elliptic). Nothing cancels: ρ = 0 comes out exact, the
//! radial component keeps its own relative accuracy down to the axis, and the distance from the wire enters as d
//! and ζ. Source: the closed form with K(k²) and E(k²) (e.g. Jackson, Classical Electrodynamics, 3rd ed. 1999,
//! problem 5.10; Smythe 1968, 7.10) after one descending Landen step; the tests compare with 25-digit values of
//! that closed form and with direct Biot–Savart quadrature.

use crate::constants::MU_0;
use crate::numeric::elliptic::{Tier, by_landen, kk_and_tau_by_polynomial};
use crate::numeric::lanes::{InstructionSet, Lanes, WIDEST};
use pulp::{Simd, WithSimd};

/// One circular filament about the common axis.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Filament {
    /// Its radius.
    pub radius_m: f64,
    /// Height of its plane on the axis.
    pub height_m: f64,
    /// Its current, A.
    pub current_ampere: f64,
}

/// Points about an axis and the field there, padded to whole registers.
#[derive(Clone, Debug, Default)]
pub(super) struct AxialPoints {
    pub rho_m: Vec<f64>,
    pub zeta_m: Vec<f64>,
    pub b_rho_tesla: Vec<f64>,
    pub b_zeta_tesla: Vec<f64>,
}

impl AxialPoints {
    /// Forgets all points.
    pub fn clear(&mut self) {
        for column in [&mut self.rho_m, &mut self.zeta_m, &mut self.b_rho_tesla, &mut self.b_zeta_tesla] {
            column.clear();
        }
    }

    /// Adds a point with no field yet.
    pub fn push(&mut self, rho_m: f64, zeta_m: f64) {
        self.rho_m.push(rho_m);
        self.zeta_m.push(zeta_m);
    }

    /// Repeats the last point until whole registers are full, and sets every field to zero.
    pub fn pad(&mut self) {
        if let (Some(&rho), Some(&zeta)) = (self.rho_m.last(), self.zeta_m.last()) {
            while !self.rho_m.len().is_multiple_of(WIDEST) {
                self.push(rho, zeta);
            }
        }
        self.b_rho_tesla.clear();
        self.b_rho_tesla.resize(self.rho_m.len(), 0.0);
        self.b_zeta_tesla.clear();
        self.b_zeta_tesla.resize(self.rho_m.len(), 0.0);
    }

    /// Adds the field of filaments. `tier` must suit every pair of filament and point, see [`tier_for`]; a point on
    /// a filament itself has no finite field and must have been treated before.
    pub fn add(&mut self, filaments: &[Filament], tier: Tier, set: InstructionSet) {
        debug_assert!(self.b_zeta_tesla.len() == self.rho_m.len() && self.rho_m.len().is_multiple_of(WIDEST));
        let points = self;
        match tier {
            Tier::To0_06 => set.run(Add::<0> { points, filaments }),
            Tier::To0_15 => set.run(Add::<1> { points, filaments }),
            Tier::To0_36 => set.run(Add::<2> { points, filaments }),
            Tier::TwoSteps => set.run(Add::<3> { points, filaments }),
            Tier::FourSteps => set.run(Add::<4> { points, filaments }),
            Tier::SixSteps => set.run(Add::<5> { points, filaments }),
        }
    }
}

/// The tier for loops and points whose distances α and β are in no smaller ratio than the given one.
pub(super) fn tier_for(smallest_alpha_over_beta: f64) -> Tier {
    // k' = 2 √(αβ)/(α + β).
    let ratio = smallest_alpha_over_beta.min(1.0);
    Tier::for_complementary_modulus(2.0 * ratio.sqrt() / (1.0 + ratio))
}

/// Points that share a tier in [`filaments_field`].
const BLOCK: usize = 64;

/// The field of circular filaments on one axis at many points about it, T: B_ρ and B_ζ, in the order of the points. This
/// is the bare kernel under [`Assembly`](super::Assembly), for those who place their own loops.
///
/// Accuracy: 2e-15 of |B| for one filament, never worse than 1e-14, on the axis (where B_ρ is exactly zero), near the
/// wire down to 1e-12 of the radius and a thousand radii away; B_ρ near the axis keeps 1e-13 of itself. Coordinates
/// must lie within 1e40 m. A point exactly on a filament gets an infinite B_ζ.
///
/// ```
/// use coilwright::field::{Filament, filaments_field};
/// use coilwright::numeric::lanes::InstructionSet;
/// let turn = Filament { radius_m: 1.0, height_m: 0.0, current_ampere: 1.0 };
/// let (b_rho, b_zeta) = filaments_field(&[turn], &[0.0], &[0.0], InstructionSet::Fastest);
/// assert_eq!(b_rho[0], 0.0);
/// assert!((b_zeta[0] / coilwright::constants::MU_0 - 0.5).abs() < 1e-15);
/// ```
///
/// # Panics
/// If the two lists of coordinates differ in length.
pub fn filaments_field(
    filaments: &[Filament],
    rho_m: &[f64],
    zeta_m: &[f64],
    set: InstructionSet,
) -> (Vec<f64>, Vec<f64>) {
    assert_eq!(rho_m.len(), zeta_m.len(), "as many heights as radii");
    let mut field = (Vec::with_capacity(rho_m.len()), Vec::with_capacity(rho_m.len()));
    let mut block = AxialPoints::default();
    let mut order: Vec<(Tier, Filament)> = Vec::with_capacity(filaments.len());
    for (rho, zeta) in rho_m.chunks(BLOCK).zip(zeta_m.chunks(BLOCK)) {
        block.clear();
        block.rho_m.extend_from_slice(rho);
        block.zeta_m.extend_from_slice(zeta);
        block.pad();
        // Each filament in the tier that suits it for all points of the block.
        let bounds = Bounds::of(rho, zeta);
        let least = |filament: &Filament| bounds.alpha_over_beta(filament, rho, zeta);
        order.clear();
        order.extend(filaments.iter().map(|filament| (tier_for(least(filament).max(1e-45)), *filament)));
        order.sort_by_key(|(tier, _)| *tier);
        for run in order.chunk_by(|one, other| one.0 == other.0) {
            let filaments: Vec<Filament> = run.iter().map(|(_, filament)| *filament).collect();
            block.add(&filaments, run[0].0, set);
        }
        if order.last().is_some_and(|(tier, _)| *tier == Tier::SixSteps) {
            for (k, (&rho, &zeta)) in rho.iter().zip(zeta).enumerate() {
                let on = filaments.iter().filter(|f| f.radius_m == rho && f.height_m == zeta);
                if let Some(sign) = on.map(|f| f.current_ampere.signum()).reduce(|sum, sign| sum + sign) {
                    (block.b_rho_tesla[k], block.b_zeta_tesla[k]) = (0.0, f64::INFINITY.copysign(sign));
                }
            }
        }
        field.0.extend_from_slice(&block.b_rho_tesla[..rho.len()]);
        field.1.extend_from_slice(&block.b_zeta_tesla[..rho.len()]);
    }
    field
}

/// The rectangle that holds the points of a block.
struct Bounds {
    rho_m: [f64; 2],
    zeta_m: [f64; 2],
}

impl Bounds {
    fn of(rho: &[f64], zeta: &[f64]) -> Self {
        let span = |list: &[f64]| {
            let fold = |[low, high]: [f64; 2], x: &f64| [low.min(*x), high.max(*x)];
            list.iter().fold([f64::INFINITY, f64::NEG_INFINITY], fold)
        };
        Self { rho_m: span(rho), zeta_m: span(zeta) }
    }

    /// A lower bound of α/β over the points; exact where it is small.
    fn alpha_over_beta(&self, filament: &Filament, rho: &[f64], zeta: &[f64]) -> f64 {
        let (a, h) = (filament.radius_m, filament.height_m);
        let outside = |[low, high]: [f64; 2], x: f64| (low - x).max(x - high).max(0.0);
        let (across, along) = (outside(self.rho_m, a), outside(self.zeta_m, h));
        let far = (self.zeta_m[0] - h).abs().max((self.zeta_m[1] - h).abs());
        let beta = a + self.rho_m[1];
        let square = (across * across + along * along) / (beta * beta + far * far);
        if square > 0.06 * 0.06 {
            return square.sqrt();
        }
        let of = |(&rho, &zeta): (&f64, &f64)| (a - rho).hypot(zeta - h) / (a + rho).hypot(zeta - h);
        rho.iter().zip(zeta).map(of).fold(1.0, f64::min)
    }
}

struct Add<'a, const TIER: u8> {
    points: &'a mut AxialPoints,
    filaments: &'a [Filament],
}

impl<const TIER: u8> WithSimd for Add<'_, TIER> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) {
        let rho = S::as_simd_f64s(&self.points.rho_m).0;
        let zeta = S::as_simd_f64s(&self.points.zeta_m).0;
        let b_rho = S::as_mut_simd_f64s(&mut self.points.b_rho_tesla).0;
        let b_zeta = S::as_mut_simd_f64s(&mut self.points.b_zeta_tesla).0;
        for (((&rho, &zeta), b_rho), b_zeta) in rho.iter().zip(zeta).zip(b_rho).zip(b_zeta) {
            let (rho, zeta) = (Lanes::new(simd, rho), Lanes::new(simd, zeta));
            let mut sum = (Lanes::new(simd, *b_rho), Lanes::new(simd, *b_zeta));
            for filament in self.filaments {
                sum = add_one::<S, TIER>(simd, filament, rho, zeta, sum);
            }
            (*b_rho, *b_zeta) = (sum.0.value(), sum.1.value());
        }
    }
}

/// `sum` plus the field of one filament, by the formula at the head of this file.
#[inline(always)]
fn add_one<S: Simd, const TIER: u8>(
    simd: S,
    filament: &Filament,
    rho: Lanes<S>,
    zeta: Lanes<S>,
    sum: (Lanes<S>, Lanes<S>),
) -> (Lanes<S>, Lanes<S>) {
    let splat = |value: f64| Lanes::splat(simd, value);
    let a = filament.radius_m;
    let zeta = zeta - splat(filament.height_m);
    let (d, e) = (splat(a) - rho, splat(a) + rho);
    let zeta2 = zeta * zeta;
    let (alpha2, beta2) = (d.mul_add(d, zeta2), e.mul_add(e, zeta2));
    let (alpha, beta) = (alpha2.sqrt(), beta2.sqrt());
    let (product, total) = (alpha2 * beta2, alpha + beta);
    // One division gives 1/(α²β²(α + β)) and, times α²β², 1/(α + β).
    let inverse = splat(1.0) / (product * total);
    let inverse_total = inverse * product;
    let r2 = inverse_total * inverse_total;
    let k = splat(4.0 * a) * rho * r2;
    let (m, de) = (k * k, d * e);
    let front = splat(MU_0 * filament.current_ampere * a * a) * inverse;
    let kc = splat(2.0) * (alpha * beta).sqrt() * inverse_total;
    let (kk, radial, axial);
    if TIER <= Tier::TwoSteps as u8 {
        let tau;
        (kk, tau) = if TIER < Tier::TwoSteps as u8 {
            kk_and_tau_by_polynomial::<S, TIER>(m)
        } else {
            by_landen::<S, 2>(m, kc).kk_and_tau()
        };
        let w = r2 * tau;
        radial = splat(2.0) - (alpha2 + beta2) * w;
        axial = (splat(2.0) * rho * rho * w).mul_add(zeta2 - de, zeta2 + de);
    } else {
        let near =
            if TIER == Tier::FourSteps as u8 { by_landen::<S, 4>(m, kc) } else { by_landen::<S, 6>(m, kc) };
        kk = near.kk;
        // Pairs of loop and point that are not near keep the other form: here m may be zero.
        let limit = splat(0.3);
        let w = r2 * near.tau;
        let plain_radial = splat(2.0) - (alpha2 + beta2) * w;
        let near_radial = ((splat(1.0) + m).mul_add(near.eps, -(kc * kc))) / m;
        radial = m.if_less(limit, plain_radial, near_radial);
        let (total2, quarter) = (total * total, splat(0.25 / (a * a)));
        let g = total2 * quarter * (splat(1.0) - near.eps);
        let one_minus_g = quarter * total2.mul_add(near.eps, splat(2.0) * (de - zeta2 - alpha * beta));
        let plain_axial = (splat(2.0) * rho * rho * w).mul_add(zeta2 - de, zeta2 + de);
        axial = m.if_less(limit, plain_axial, (splat(1.0) + g).mul_add(zeta2, one_minus_g * de));
    }
    let front = front * kk;
    ((front * (rho * zeta)).mul_add(radial, sum.0), front.mul_add(axial, sum.1))
}

#[cfg(test)]
mod tests {
    use super::*;

    const UNIT: Filament = Filament { radius_m: 1.0, height_m: 0.0, current_ampere: 1.0 };

    /// Rows of a table: the group, then numbers.
    fn rows(table: &str) -> impl Iterator<Item = (&str, Vec<f64>)> {
        table.lines().filter(|line| !line.starts_with('#')).skip(1).map(|line| {
            let (group, rest) = line.split_once(',').unwrap();
            (group, rest.split(',').map(|cell| cell.parse().unwrap()).collect())
        })
    }

    fn field(set: InstructionSet, rho: f64, zeta: f64) -> (f64, f64) {
        let mut point = AxialPoints::default();
        point.push(rho, zeta);
        point.pad();
        point.add(&[UNIT], tier_for((1.0 - rho).hypot(zeta) / (1.0 + rho).hypot(zeta)), set);
        (point.b_rho_tesla[0], point.b_zeta_tesla[0])
    }

    #[test]
    fn a_loop_agrees_with_the_25_digit_table_away_from_the_wire() {
        // Source: tests/data/loop_field_mpmath.csv, 90-digit arithmetic, closed form checked by quadrature. Its
        // points near the wire are not doubles; those of loop_field_random.csv are.
        let mut count = 0;
        for (group, row) in rows(include_str!("../../tests/data/loop_field_mpmath.csv")) {
            if group == "near_wire" {
                continue;
            }
            for set in [InstructionSet::Fastest, InstructionSet::Avx2, InstructionSet::Scalar] {
                let (radial, axial) = field(set, row[0], row[1]);
                let error = (radial - row[4]).hypot(axial - row[5]) / row[4].hypot(row[5]);
                assert!(error < 2e-15, "{set:?} {group} {row:?}: relative error {error:e}");
            }
            count += 1;
        }
        assert!(count > 50);
    }

    #[test]
    fn a_loop_agrees_with_800_random_60_digit_values_to_6e_15_near_the_wire_near_the_axis_and_far_away() {
        // Source: tests/data/loop_field_random.csv, made by tools/make_field_tables.py.
        let (mut count, mut square_sum) = (0.0, 0.0);
        for (group, row) in rows(include_str!("../../tests/data/loop_field_random.csv")) {
            let wanted = (MU_0 * row[2], MU_0 * row[3]);
            for set in [InstructionSet::Fastest, InstructionSet::Avx2, InstructionSet::Scalar] {
                let got = field(set, row[0], row[1]);
                let error = (got.0 - wanted.0).hypot(got.1 - wanted.1) / wanted.0.hypot(wanted.1);
                assert!(error < 6e-15, "{set:?} {group} {row:?}: relative error {error:e}");
                (count, square_sum) = (count + 1.0, square_sum + error * error);
                if group == "near_axis" {
                    let error = (got.0 / wanted.0 - 1.0).abs();
                    assert!(error < 1e-14, "{set:?} {group} {row:?}: error of B_rho alone {error:e}");
                }
            }
        }
        assert_eq!(count, 2400.0);
        let rms = f64::sqrt(square_sum / count);
        assert!(rms < 1e-15, "rms error {rms:e}");
    }

    #[test]
    fn every_instruction_set_gives_the_same_field_to_3e_15() {
        for i in 0..4000 {
            let t = f64::from(i);
            let (rho, zeta) = (2.0 * (t * 0.618_034).fract(), 3.0 * (t * 0.754_878).fract() - 1.5);
            let scalar = field(InstructionSet::Scalar, rho, zeta);
            for set in [InstructionSet::Fastest, InstructionSet::Avx2] {
                let got = field(set, rho, zeta);
                let difference = (got.0 - scalar.0).hypot(got.1 - scalar.1) / scalar.0.hypot(scalar.1);
                assert!(difference < 3e-15, "{set:?} ({rho}, {zeta}): {difference:e}");
            }
        }
    }

    #[test]
    fn points_on_a_filament_and_blocks_of_near_and_far_points_have_defined_answers() {
        let other = Filament { radius_m: 0.5, height_m: 0.3, current_ampere: -2.0 };
        let rho = [1.0, 0.0, 1.0 + 1e-9, 0.5, 300.0];
        let zeta = [0.0, 0.0, 0.0, 0.3, 0.0];
        let (b_rho, b_zeta) = filaments_field(&[UNIT, other], &rho, &zeta, InstructionSet::Fastest);
        assert_eq!((b_rho[0], b_zeta[0]), (0.0, f64::INFINITY));
        assert_eq!((b_rho[3], b_zeta[3]), (0.0, f64::NEG_INFINITY));
        for i in [1, 2, 4] {
            let alone = filaments_field(&[UNIT, other], &rho[i..=i], &zeta[i..=i], InstructionSet::Scalar);
            let scale = alone.0[0].hypot(alone.1[0]);
            let difference = (b_rho[i] - alone.0[0]).hypot(b_zeta[i] - alone.1[0]);
            assert!(difference < 1e-14 * scale, "point {i}: {difference:e} of {scale:e}");
        }
        assert_eq!(b_rho[1], 0.0);
        assert!(filaments_field(&[], &[], &[], InstructionSet::Fastest).0.is_empty());
    }

    #[test]
    fn a_tier_is_as_good_on_its_limit_as_the_next_one() {
        // α/β = x at ζ = 0 is ρ = (1 − x)/(1 + x).
        for x in [0.606, 0.442, 0.25, 0.0036, 2.25e-12] {
            for x in [x * 0.999, x * 1.001] {
                let rho = (1.0 - x) / (1.0 + x);
                let mut point = AxialPoints::default();
                point.push(rho, 0.0);
                point.pad();
                point.add(&[UNIT], Tier::SixSteps, InstructionSet::Fastest);
                let (got, wanted) = (field(InstructionSet::Fastest, rho, 0.0).1, point.b_zeta_tesla[0]);
                assert!((got / wanted - 1.0).abs() < 3e-15, "{x}: {got} {wanted}");
            }
        }
    }

    #[test]
    fn a_loop_agrees_with_direct_biot_savart_quadrature() {
        // B = (μ0 I/4π) ∮ dl × r/|r|³; the trapezoidal rule on a period converges exponentially.
        for (rho, zeta) in [(0.3, 0.2), (0.7, -0.4), (1.6, 0.3), (3.0, 2.0), (0.0, 0.5)] {
            let (mut radial, mut axial) = (0.0, 0.0);
            let steps = 400;
            for i in 0..steps {
                let cos = (std::f64::consts::TAU * f64::from(i) / f64::from(steps)).cos();
                let cube = (rho * rho + 1.0 - 2.0 * rho * cos + zeta * zeta).powf(1.5);
                radial += zeta * cos / cube;
                axial += (1.0 - rho * cos) / cube;
            }
            let scale = 0.5 * MU_0 / f64::from(steps);
            let got = field(InstructionSet::Fastest, rho, zeta);
            let error = (got.0 - scale * radial).hypot(got.1 - scale * axial) / got.0.hypot(got.1);
            // The sum of 400 terms rounds to a few 1e-15.
            assert!(error < 1e-14, "({rho}, {zeta}): {error:e}");
        }
    }
}
