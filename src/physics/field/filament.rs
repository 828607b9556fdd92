//! Circular filaments: the field of many loops at many points, in coordinates about their common axis.
//!
//! With the current's direction right-handed about +ζ, a the radius of a loop and ζ the point's height over its
//! plane:
//!
//! ```text
//! d = a − ρ        α² = d² + ζ²     (shortest and longest distance from the loop)
//! e = a + ρ        β² = e² + ζ²
//! r = 1/(α + β)    k = (β − α) r    m = k²
//! F = μ0 I a²/(α² β² (α + β))
//! B_ρ = F ρ ζ [2 KK − (1 + m) DD/2]
//! B_ζ = F [(ζ² + d e) KK + 2 (ρ r)² (ζ² − d e) DD]
//! ```
//!
//! Near the wire these brackets cancel, and eps = E/K takes the place of DD = KK tau:
//!
//! ```text
//! 2 − (1 + m) tau/2             = [(1 + m) eps − (1 − m)]/m         k = 4aρ r²
//! ζ² + d e + 2 (ρ r)² (…) tau   = ζ² (1 + g) + d e (1 − g)         g = (1 − eps) (α + β)²/4a²
//! 4a² (1 − g)                   = (α + β)² eps + 2 (d e − ζ² − αβ)
//! ```
//!
//! KK, DD and eps are those of [`elliptic`](crate::numeric::elliptic). Nothing cancels in these forms: ρ = 0 gives the
//! exact value, the radial component keeps its relative accuracy down to the axis, and the distance from the wire
//! enters as d and ζ. Source: the closed form with K(k²) and E(k²) (e.g. Jackson, Classical Electrodynamics, 3rd ed.
//! 1999, problem 5.10; Smythe 1968, 7.10) after one descending Landen step; the tests compare with 25-digit values of
//! that closed form and with direct Biot–Savart quadrature.
//!
//! Points are computed in blocks, each filament in two passes over a block. The first pass does the roots and the
//! division, the second the polynomials, registers side by side. A single pass would wait for its own results most of
//! the time. The largest m of the block decides which polynomials are used.

use crate::constants::MU_0;
use crate::numeric::elliptic::{MOST_BY_POLYNOMIAL, Polynomials, by_landen};
use crate::numeric::lanes::{InstructionSet, Lanes, SIDE_BY_SIDE, WIDEST};
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

/// Points about an axis and the field there, padded to whole pairs of registers.
#[derive(Clone, Debug, Default)]
pub(super) struct AxialPoints {
    pub rho_m: Vec<f64>,
    pub zeta_m: Vec<f64>,
    pub b_rho_tesla: Vec<f64>,
    pub b_zeta_tesla: Vec<f64>,
}

impl AxialPoints {
    /// Removes all points.
    pub(super) fn clear(&mut self) {
        for column in [&mut self.rho_m, &mut self.zeta_m, &mut self.b_rho_tesla, &mut self.b_zeta_tesla] {
            column.clear();
        }
    }

    /// Adds a point with no field yet.
    pub(super) fn push(&mut self, rho_m: f64, zeta_m: f64) {
        self.rho_m.push(rho_m);
        self.zeta_m.push(zeta_m);
    }

    /// Repeats the last point until whole pairs of registers are full, and sets every field to zero.
    pub(crate) fn pad(&mut self) {
        let padded = self.rho_m.len().next_multiple_of(SIDE_BY_SIDE * WIDEST);
        for column in [&mut self.rho_m, &mut self.zeta_m] {
            column.resize(padded, column.last().copied().unwrap_or(0.0));
        }
        for column in [&mut self.b_rho_tesla, &mut self.b_zeta_tesla] {
            column.clear();
            column.resize(padded, 0.0);
        }
    }

    /// Adds the field of filaments. On a filament itself the field is not finite.
    pub(super) fn add(&mut self, filaments: &[Filament], set: InstructionSet) {
        let at = (&self.rho_m[..], &self.zeta_m[..]);
        set.run(Add { filaments, at, field: (&mut self.b_rho_tesla, &mut self.b_zeta_tesla) });
    }
}

/// The field of circular filaments on one axis at many points about it, T: B_ρ and B_ζ, in the order of the points.
/// This is the kernel under [`Assembly`](super::Assembly), for callers who place their own loops.
///
/// Accuracy for one filament: 2e-15 of |B|, never worse than 1e-14. This holds on the axis (where B_ρ is exactly zero),
/// near the wire down to 1e-12 of the radius, and a thousand radii away. B_ρ near the axis is accurate to 1e-13 of
/// itself. Coordinates must lie within 1e40 m. A point exactly on a filament gets an infinite B_ζ.
///
/// ```
/// use coilwright::physics::field::{Filament, filaments_field};
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
    // Whole pairs of registers are computed in place; the rest is padded.
    let whole = rho_m.len() - rho_m.len() % (SIDE_BY_SIDE * WIDEST);
    let (mut b_rho_tesla, mut b_zeta_tesla) = (vec![0.0; rho_m.len()], vec![0.0; rho_m.len()]);
    set.run(Add {
        filaments,
        at: (&rho_m[..whole], &zeta_m[..whole]),
        field: (&mut b_rho_tesla[..whole], &mut b_zeta_tesla[..whole]),
    });
    let mut rest = AxialPoints::default();
    rho_m[whole..].iter().zip(&zeta_m[whole..]).for_each(|(&rho, &zeta)| rest.push(rho, zeta));
    rest.pad();
    rest.add(filaments, set);
    b_rho_tesla[whole..].copy_from_slice(&rest.b_rho_tesla[..rho_m.len() - whole]);
    b_zeta_tesla[whole..].copy_from_slice(&rest.b_zeta_tesla[..rho_m.len() - whole]);
    // Without a branch per point this check costs next to nothing.
    let is_all_finite = b_zeta_tesla.iter().fold(true, |all, b| all & b.is_finite());
    if !is_all_finite {
        set_on_filaments(filaments, (rho_m, zeta_m), (&mut b_rho_tesla, &mut b_zeta_tesla));
    }
    (b_rho_tesla, b_zeta_tesla)
}

/// Sets the field at points on a filament to the limit from inside the loop: infinite along the axis.
fn set_on_filaments(
    filaments: &[Filament],
    (rho_m, zeta_m): (&[f64], &[f64]),
    (b_rho_tesla, b_zeta_tesla): (&mut [f64], &mut [f64]),
) {
    for k in 0..rho_m.len() {
        let on = filaments.iter().filter(|f| f.radius_m == rho_m[k] && f.height_m == zeta_m[k]);
        let current: f64 = on.map(|f| f.current_ampere).sum();
        if current != 0.0 && !b_zeta_tesla[k].is_finite() {
            (b_rho_tesla[k], b_zeta_tesla[k]) = (0.0, f64::INFINITY.copysign(current));
        }
    }
}

/// Points of one block; its intermediate results stay in the first-level cache.
const BLOCK: usize = 64;

/// Adds the field of filaments at (ρ, ζ) to (B_ρ, B_ζ); the length of each list is a whole number of register pairs.
struct Add<'a> {
    filaments: &'a [Filament],
    at: (&'a [f64], &'a [f64]),
    field: (&'a mut [f64], &'a mut [f64]),
}

/// Results of the first pass for the second, for one block: m, and F times the factor of each integral.
#[repr(align(64))]
struct Between([[f64; BLOCK]; 4]);

/// Sums over the filaments of one block: B_ρ/ρ and B_ζ.
#[repr(align(64))]
struct Sums([[f64; BLOCK]; 2]);

impl WithSimd for Add<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) {
        let mut between = Between([[0.0; BLOCK]; 4]);
        let [m, for_kk, for_dd, for_radial] = &mut between.0;
        let mut first = First::<S> {
            m: S::as_mut_simd_f64s(m).0,
            for_kk: S::as_mut_simd_f64s(for_kk).0,
            for_dd: S::as_mut_simd_f64s(for_dd).0,
            for_radial: S::as_mut_simd_f64s(for_radial).0,
        };
        let mut sums = Sums([[0.0; BLOCK]; 2]);
        let [radial, axial] = &mut sums.0;
        let (radial, axial) = (S::as_mut_simd_f64s(radial).0, S::as_mut_simd_f64s(axial).0);
        let (rho, zeta) = (S::as_simd_f64s(self.at.0).0, S::as_simd_f64s(self.at.1).0);
        let (b_rho, b_zeta) = (S::as_mut_simd_f64s(self.field.0).0, S::as_mut_simd_f64s(self.field.1).0);
        let block = BLOCK / S::F64_LANES;
        let zero = simd.splat_f64s(0.0);
        for (((rho, zeta), b_rho), b_zeta) in rho
            .chunks(block)
            .zip(zeta.chunks(block))
            .zip(b_rho.chunks_mut(block))
            .zip(b_zeta.chunks_mut(block))
        {
            let count = rho.len();
            radial[..count].fill(zero);
            axial[..count].fill(zero);
            for filament in self.filaments {
                if filament.current_ampere == 0.0 {
                    continue;
                }
                match Polynomials::up_to(first.pass(simd, filament, rho, zeta)) {
                    Some(polynomials) => first.second_pass(simd, polynomials, count, radial, axial),
                    None => first.mixed_pass(simd, filament, (rho, zeta), radial, axial),
                }
            }
            for i in 0..count {
                let radial = Lanes::new(simd, radial[i]);
                b_rho[i] = radial.mul_add(Lanes::new(simd, rho[i]), Lanes::new(simd, b_rho[i])).value();
                b_zeta[i] = (Lanes::new(simd, axial[i]) + Lanes::new(simd, b_zeta[i])).value();
            }
        }
    }
}

/// The registers of [`Between`].
struct First<'a, S: Simd> {
    m: &'a mut [S::f64s],
    for_kk: &'a mut [S::f64s],
    for_dd: &'a mut [S::f64s],
    for_radial: &'a mut [S::f64s],
}

impl<S: Simd> First<'_, S> {
    /// The first pass of one filament. Returns the largest m, or 1 if an m is beyond the polynomials or NaN.
    #[inline(always)]
    fn pass(&mut self, simd: S, filament: &Filament, rho: &[S::f64s], zeta: &[S::f64s]) -> f64 {
        let a = Lanes::splat(simd, filament.radius_m);
        let height = Lanes::splat(simd, filament.height_m);
        let front =
            Lanes::splat(simd, MU_0 * filament.current_ampere * filament.radius_m * filament.radius_m);
        let one = Lanes::splat(simd, 1.0);
        // Slices of one length, so that the loop needs no bounds checks.
        let count = rho.len();
        let zeta = &zeta[..count];
        let (m_out, for_kk) = (&mut self.m[..count], &mut self.for_kk[..count]);
        let (for_dd, for_radial) = (&mut self.for_dd[..count], &mut self.for_radial[..count]);
        for i in 0..count {
            let rho = Lanes::new(simd, rho[i]);
            let zeta = Lanes::new(simd, zeta[i]) - height;
            let (d, e) = (a - rho, a + rho);
            let (zeta2, de) = (zeta * zeta, d * e);
            let (alpha2, beta2) = (d.mul_add(d, zeta2), e.mul_add(e, zeta2));
            let (alpha, beta) = (alpha2.sqrt(), beta2.sqrt());
            let product = alpha2 * beta2;
            // One division gives 1/(α²β²(α + β)) and, times α²β², 1/(α + β).
            let inverse = one / (product * (alpha + beta));
            let r = inverse * product;
            let k = (beta - alpha) * r;
            let m = k * k;
            let (front, rho_r) = (front * inverse, rho * r);
            m_out[i] = m.value();
            for_kk[i] = (front * (zeta2 + de)).value();
            for_dd[i] = (front * ((zeta2 - de) * (rho_r * (rho_r + rho_r)))).value();
            for_radial[i] = (front * zeta).value();
        }
        let limit = one.all(MOST_BY_POLYNOMIAL);
        let mut largest = [one.all(0.0); SIDE_BY_SIDE];
        for i in (0..count).step_by(SIDE_BY_SIDE) {
            for k in 0..SIDE_BY_SIDE {
                let m = Lanes::new(simd, m_out[i + k]);
                largest[k] = largest[k].max(m.if_less(limit, m, one));
            }
        }
        largest[0].max(largest[1]).largest()
    }

    /// The second pass: adds B_ρ/ρ and B_ζ of the first `count` registers.
    #[inline(always)]
    fn second_pass(
        &self,
        simd: S,
        polynomials: Polynomials,
        count: usize,
        radial: &mut [S::f64s],
        axial: &mut [S::f64s],
    ) {
        let (radial, axial) = (&mut radial[..count], &mut axial[..count]);
        let twice = count - count % (2 * SIDE_BY_SIDE);
        for i in (0..twice).step_by(2 * SIDE_BY_SIDE) {
            self.add_by_polynomial::<{ 2 * SIDE_BY_SIDE }>(simd, polynomials, i, radial, axial);
        }
        if twice < count {
            self.add_by_polynomial::<SIDE_BY_SIDE>(simd, polynomials, twice, radial, axial);
        }
    }

    #[inline(always)]
    fn add_by_polynomial<const U: usize>(
        &self,
        simd: S,
        polynomials: Polynomials,
        first: usize,
        radial: &mut [S::f64s],
        axial: &mut [S::f64s],
    ) {
        let here = first..first + U;
        let (radial, axial) = (&mut radial[here.clone()], &mut axial[here.clone()]);
        let (for_kk, for_dd) = (&self.for_kk[here.clone()], &self.for_dd[here.clone()]);
        let for_radial = &self.for_radial[here.clone()];
        let mut m = [Lanes::splat(simd, 0.0); U];
        for (m, &value) in m.iter_mut().zip(&self.m[here]) {
            *m = Lanes::new(simd, value);
        }
        let (kk, dd) = polynomials.kk_and_dd(&m);
        let minus_half = Lanes::splat(simd, -0.5);
        for i in 0..U {
            let bracket = m[i].mul_add(minus_half, minus_half).mul_add(dd[i], kk[i] + kk[i]);
            let sum = Lanes::new(simd, radial[i]);
            radial[i] = Lanes::new(simd, for_radial[i]).mul_add(bracket, sum).value();
            let by_dd = Lanes::new(simd, for_dd[i]).mul_add(dd[i], Lanes::new(simd, axial[i]));
            axial[i] = Lanes::new(simd, for_kk[i]).mul_add(kk[i], by_dd).value();
        }
    }

    /// The second pass if some points of the block are near the wire.
    #[inline(always)]
    fn mixed_pass(
        &self,
        simd: S,
        filament: &Filament,
        (rho, zeta): (&[S::f64s], &[S::f64s]),
        radial: &mut [S::f64s],
        axial: &mut [S::f64s],
    ) {
        let (one, limit) = (Lanes::splat(simd, 1.0), Lanes::splat(simd, MOST_BY_POLYNOMIAL));
        for i in 0..rho.len() {
            let m = Lanes::new(simd, self.m[i]);
            let before = (Lanes::new(simd, radial[i]), Lanes::new(simd, axial[i]));
            self.add_by_polynomial::<1>(simd, Polynomials::LONGEST, i, radial, axial);
            if m.if_less(limit, m, one).largest() < MOST_BY_POLYNOMIAL {
                continue;
            }
            // Chosen lane by lane, so that a point near the wire does not change its neighbours.
            let (rho, zeta) = (Lanes::new(simd, rho[i]), Lanes::new(simd, zeta[i]));
            let near = field_near(simd, filament, rho, zeta);
            radial[i] = m.if_less(limit, Lanes::new(simd, radial[i]), before.0 + near.0).value();
            axial[i] = m.if_less(limit, Lanes::new(simd, axial[i]), before.1 + near.1).value();
        }
    }
}

/// B_ρ/ρ and B_ζ of one filament by the form that keeps its digits near the wire, where m is not small.
#[inline(always)]
fn field_near<S: Simd>(simd: S, filament: &Filament, rho: Lanes<S>, zeta: Lanes<S>) -> (Lanes<S>, Lanes<S>) {
    let a = filament.radius_m;
    let (one, two) = (Lanes::splat(simd, 1.0), Lanes::splat(simd, 2.0));
    let zeta = zeta - Lanes::splat(simd, filament.height_m);
    let (d, e) = (Lanes::splat(simd, a) - rho, Lanes::splat(simd, a) + rho);
    let (zeta2, de) = (zeta * zeta, d * e);
    let (alpha2, beta2) = (d.mul_add(d, zeta2), e.mul_add(e, zeta2));
    let (alpha, beta) = (alpha2.sqrt(), beta2.sqrt());
    let (product, total) = (alpha2 * beta2, alpha + beta);
    let inverse = one / (product * total);
    let inverse_total = inverse * product;
    let k = Lanes::splat(simd, 4.0 * a) * rho * (inverse_total * inverse_total);
    let m = k * k;
    let kc = two * (alpha * beta).sqrt() * inverse_total;
    let near = by_landen(m, kc);

    let radial = ((one + m).mul_add(near.eps, -(kc * kc))) / m;
    let (total2, quarter) = (total * total, Lanes::splat(simd, 0.25 / (a * a)));
    let g = total2 * quarter * (one - near.eps);
    let one_minus_g = quarter * total2.mul_add(near.eps, two * (de - zeta2 - alpha * beta));
    let axial = (one + g).mul_add(zeta2, one_minus_g * de);

    let front = Lanes::splat(simd, MU_0 * filament.current_ampere * a * a) * inverse * near.kk;
    (front * zeta * radial, front * axial)
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
        point.add(&[UNIT], set);
        (point.b_rho_tesla[0], point.b_zeta_tesla[0])
    }

    #[test]
    fn neighbours_in_a_list_change_nothing_not_even_one_on_the_wire_or_a_nan() {
        let nan = f64::NAN;
        let points =
            [(1.0, 1e-12), (1.611_403_508_771_929_8, 0.1), (0.5, 0.1), (1.001, 0.0), (0.7, 0.7), (2.0, 1.0)];
        for set in [InstructionSet::Fastest, InstructionSet::Avx2, InstructionSet::Scalar] {
            for beside in [(1.0, 0.0), (nan, 0.0), (0.3, nan), (1.0 + 1e-9, 0.0), (0.3, 0.3)] {
                for (rho, zeta) in points {
                    let alone = filaments_field(&[UNIT], &[rho], &[zeta], set);
                    for place in 0..8 {
                        let (mut rhos, mut zetas) = (vec![beside.0; 8], vec![beside.1; 8]);
                        (rhos[place], zetas[place]) = (rho, zeta);
                        let got = filaments_field(&[UNIT], &rhos, &zetas, set);
                        let size = alone.0[0].hypot(alone.1[0]);
                        let off = (got.0[place] - alone.0[0]).hypot(got.1[place] - alone.1[0]);
                        assert!(
                            off <= 4e-15 * size,
                            "{set:?} {rho} {zeta} beside {beside:?}: {off:e} of {size:e}"
                        );
                    }
                }
            }
        }
    }

    #[test]
    fn a_loop_agrees_with_the_25_digit_table_away_from_the_wire() {
        // Source: tests/data/loop_field_mpmath.csv, 90-digit arithmetic, closed form checked by quadrature. Its
        // points near the wire are not doubles; those of loop_field_random.csv are.
        let mut count = 0;
        for (group, row) in
            rows(include_str!(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/data/loop_field_mpmath.csv")))
        {
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
        // Source: tests/data/loop_field_random.csv, made by tests/data/make_field_tables.py.
        let (mut count, mut square_sum) = (0.0, 0.0);
        for (group, row) in
            rows(include_str!(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/data/loop_field_random.csv")))
        {
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
        for x in [0.606, 0.442, 0.25, 0.127, 0.0036, 2.25e-12] {
            for x in [x * 0.999, x * 1.001] {
                let rho = (1.0 - x) / (1.0 + x);
                // Beside a point on the wire, all of a register is done by six Landen steps.
                let mut points = AxialPoints::default();
                points.push(rho, 0.0);
                points.push(1.0, 1e-15);
                points.pad();
                points.add(&[UNIT], InstructionSet::Fastest);
                let (got, wanted) = (field(InstructionSet::Fastest, rho, 0.0).1, points.b_zeta_tesla[0]);
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
