//! The field near the origin of many pairs that differ a little from a reference pair: eight pairs at a time, one per
//! lane.
//!
//! Each coil, at any offset and tilt, has its own zonal series about its foot, the point of its axis nearest to the
//! origin ([`axis_series`](super::axis_series) has the formulas and the truncation bound). The field is exact in offset
//! and tilt: they only move the foot and turn the axis. It is fast because the order of quadrature and the number of
//! terms are chosen once, for the worst pair within stated limits. A pair beyond the limits is not served; use
//! [`Assembly`](super::Assembly) for it.

use super::axis_series::{least_in_sphere, truncation};
use super::placed::PlacedWinding;
use super::section::{OrderChoice, Section};
use crate::constants::MU_0;
use crate::numeric::lanes::{InstructionSet, Lanes, WIDEST};
use pulp::{Simd, WithSimd};
use std::f64::consts::SQRT_2;

/// One number of each of eight pairs.
pub(crate) type Eight = [f64; WIDEST];
/// A vector of each of eight pairs.
pub(crate) type EightVectors = [Eight; 3];

/// Number of pairs computed together.
pub(crate) const TOGETHER: usize = WIDEST;

/// Error allowed, over the sum of the coils' |B|: the default tolerance of [`Assembly`](super::Assembly).
const TOLERANCE: f64 = 1e-12;
/// Error allowed in a first look, relative in the same way.
pub(crate) const ROUGH_TOLERANCE: f64 = 1e-6;
/// The most terms; with more, [`Assembly`](super::Assembly) would be as fast.
const MOST_TERMS: usize = 64;
/// Points computed side by side, to hide the latency of the instructions.
const ABREAST: usize = 2;

/// The limits within which a coil must lie to be served, and the nodes that serve all such coils.
#[derive(Clone, Debug)]
struct CoilRule {
    least_radius_m: f64,
    most_width_m: f64,
    most_depth_m: f64,
    /// Smallest |height| of the winding's centre over the foot.
    least_height_m: f64,
    most_foot_m: f64,
    /// Offsets from the middle of the section in half depths and half widths, and the weights, which sum to 1.
    nodes: Vec<[f64; 3]>,
}

/// Pairs near a reference pair, seen from points near the origin.
#[derive(Clone, Debug)]
pub(crate) struct NearPairs {
    coils: [CoilRule; 2],
    /// Unit of length of the series.
    scale_m: f64,
    terms: usize,
    rough_terms: usize,
    set: InstructionSet,
}

/// Eight pairs, prepared for computing their fields.
#[derive(Clone, Debug)]
pub(crate) struct EightPairs {
    coils: [CoilSeries; 2],
    served: [bool; TOGETHER],
    scale_m: f64,
    rough_terms: usize,
    set: InstructionSet,
}

/// The series of one coil of each pair.
#[derive(Clone, Debug)]
struct CoilSeries {
    foot_m: EightVectors,
    axis: EightVectors,
    /// Coefficients of the monic polynomials in B_ζ and in B_ρ scale/ρ, term by term.
    terms: Vec<[Eight; 2]>,
}

impl NearPairs {
    /// Serves pairs whose radii, sides, heights and offsets each differ by at most `spread_m` from those of the
    /// reference, at points up to `reach_m` from the origin. Accuracy: 1e-12 of the sum of the coils' fields (see
    /// [`Accuracy`]; the test against [`Assembly`](super::Assembly) finds 1e-13). `None` if the points come too near
    /// to a winding for a short series.
    ///
    /// [`Accuracy`]: super::Accuracy
    pub(crate) fn around(reference: &[PlacedWinding; 2], spread_m: f64, reach_m: f64) -> Option<Self> {
        let limits = reference.each_ref().map(|winding| Limits::of(winding, spread_m));
        let scale_m = limits.iter().map(Limits::clearance_m).fold(f64::INFINITY, f64::min);
        let most_foot_m = limits.iter().map(|limits| limits.most_foot_m).fold(0.0, f64::max);
        let q = (reach_m + most_foot_m) / scale_m;
        // NaN gives `None` as well.
        if !((0.0..0.9).contains(&q) && scale_m > 0.0 && scale_m.is_finite()) {
            return None;
        }
        let left_out = |terms: usize| {
            let worst = limits.iter().map(Limits::centre_loss).fold(0.0, f64::max);
            worst * truncation(terms - 1, q) / least_in_sphere(q)
        };
        let enough = |tolerance: f64| (2..=MOST_TERMS).find(|terms| left_out(*terms) <= tolerance);
        let (terms, rough_terms) = (enough(TOLERANCE)?, enough(ROUGH_TOLERANCE)?);
        let [a, b] = limits.map(|limits| limits.rule(q * scale_m));
        Some(Self { coils: [a?, b?], scale_m, terms, rough_terms, set: InstructionSet::Fastest })
    }

    /// These pairs, computed with another instruction set.
    #[cfg(test)]
    fn with_instruction_set(self, set: InstructionSet) -> Self {
        Self { set, ..self }
    }

    /// Memory for eight pairs, to be filled and refilled by [`fill`](Self::fill).
    pub(crate) fn room(&self) -> EightPairs {
        let coil = || CoilSeries {
            foot_m: [[0.0; TOGETHER]; 3],
            axis: [[0.0; TOGETHER]; 3],
            terms: vec![[[0.0; TOGETHER]; 2]; self.terms],
        };
        EightPairs {
            coils: [coil(), coil()],
            served: [false; TOGETHER],
            scale_m: self.scale_m,
            rough_terms: self.rough_terms,
            set: self.set,
        }
    }

    /// Prepares up to eight pairs; the lanes beyond them are not served.
    pub(crate) fn fill(&self, pairs: &[[PlacedWinding; 2]], room: &mut EightPairs) {
        room.served = std::array::from_fn(|lane| {
            pairs
                .get(lane)
                .is_some_and(|pair| pair.iter().zip(&self.coils).all(|(winding, rule)| rule.serves(winding)))
        });
        let fallback = pairs.iter().zip(room.served).find(|(_, served)| *served).map(|(pair, _)| pair);
        let Some(fallback) = fallback else { return };
        for (index, (rule, series)) in self.coils.iter().zip(&mut room.coils).enumerate() {
            // Lanes that are not served repeat one that is.
            let of = |lane: usize| {
                let pair = if room.served[lane] { &pairs[lane] } else { fallback };
                LaneCoil::of(&pair[index])
            };
            let lanes: [LaneCoil; TOGETHER] = std::array::from_fn(of);
            let each = |of: &dyn Fn(&LaneCoil) -> f64| -> Eight { std::array::from_fn(|i| of(&lanes[i])) };
            for k in 0..3 {
                series.foot_m[k] = each(&|lane| lane.foot_m[k]);
                series.axis[k] = each(&|lane| lane.axis[k]);
            }
            self.set.run(Coefficients {
                nodes: &rule.nodes,
                scale_m: self.scale_m,
                radius_m: &each(&|lane| lane.radius_m),
                half_depth_m: &each(&|lane| lane.half_depth_m),
                half_width_m: &each(&|lane| lane.half_width_m),
                height_m: &each(&|lane| lane.height_m),
                ampere_turns: &each(&|lane| lane.ampere_turns),
                terms: &mut series.terms,
            });
        }
    }
}

/// The worst case of a winding near the reference.
#[derive(Clone, Copy, Debug)]
struct Limits {
    section: Section,
    least_height_m: f64,
    most_height_m: f64,
    most_radius_m: f64,
    most_foot_m: f64,
}

impl Limits {
    fn of(winding: &PlacedWinding, spread_m: f64) -> Self {
        let lane = LaneCoil::of(winding);
        let section = &winding.section;
        Self {
            section: Section {
                mean_radius_m: section.mean_radius_m - spread_m,
                width_m: section.width_m + spread_m,
                depth_m: section.depth_m + spread_m,
            },
            least_height_m: (lane.height_m.abs() - spread_m).max(0.0),
            most_height_m: lane.height_m.abs() + spread_m,
            most_radius_m: section.mean_radius_m + spread_m,
            most_foot_m: norm(&lane.foot_m) + spread_m,
        }
    }

    /// Distance from the foot to the nearest conductor.
    fn clearance_m(&self) -> f64 {
        let (inner, beyond) = self.nearest_corner();
        if inner > 0.0 { inner.hypot(beyond) } else { f64::NAN }
    }

    fn nearest_corner(&self) -> (f64, f64) {
        let inner = self.section.mean_radius_m - 0.5 * self.section.depth_m;
        (inner, (self.least_height_m - 0.5 * self.section.width_m).max(0.0))
    }

    /// The factor of [`truncation`], over the winding's own field at its foot.
    fn centre_loss(&self) -> f64 {
        let a2 = self.section.mean_radius_m.powi(2);
        let size2 = self.most_radius_m.powi(2) + self.most_height_m.powi(2);
        SQRT_2 * size2 * size2.sqrt() / (a2 * self.clearance_m())
    }

    /// The product rule for points up to `reach_m` from the foot; `None` if none serves.
    fn rule(&self, reach_m: f64) -> Option<CoilRule> {
        let choice = OrderChoice::new(self.section, 0.1 * TOLERANCE);
        // The point of the sphere nearest to the section.
        let (inner, beyond) = self.nearest_corner();
        let shrink = reach_m / self.clearance_m();
        let order = choice.at(inner * shrink, self.least_height_m - beyond * shrink)?;
        Some(CoilRule {
            least_radius_m: self.section.mean_radius_m,
            most_width_m: self.section.width_m,
            most_depth_m: self.section.depth_m,
            least_height_m: self.least_height_m,
            most_foot_m: self.most_foot_m,
            nodes: choice.relative_nodes(order),
        })
    }
}

impl CoilRule {
    fn serves(&self, winding: &PlacedWinding) -> bool {
        let section = &winding.section;
        let lane = LaneCoil::of(winding);
        let is_conductor = (section.width_m > 0.0) == (section.depth_m > 0.0);
        // The comparisons are written so that NaN is not served.
        is_conductor
            && section.mean_radius_m >= self.least_radius_m
            && (0.0..=self.most_width_m).contains(&section.width_m)
            && (0.0..=self.most_depth_m).contains(&section.depth_m)
            && lane.height_m.abs() >= self.least_height_m
            && lane.ampere_turns.is_finite()
            && norm(&lane.foot_m) <= self.most_foot_m
    }
}

/// One coil as the series sees it.
struct LaneCoil {
    foot_m: [f64; 3],
    axis: [f64; 3],
    radius_m: f64,
    half_depth_m: f64,
    half_width_m: f64,
    height_m: f64,
    ampere_turns: f64,
}

impl LaneCoil {
    #[inline]
    fn of(winding: &PlacedWinding) -> Self {
        let height_m = winding.centre_m.dot(&winding.axis);
        Self {
            foot_m: (winding.centre_m - winding.axis * height_m).into(),
            axis: winding.axis.into(),
            radius_m: winding.section.mean_radius_m,
            half_depth_m: 0.5 * winding.section.depth_m,
            half_width_m: 0.5 * winding.section.width_m,
            height_m,
            ampere_turns: winding.turns * winding.current_share,
        }
    }
}

fn norm(vector: &[f64; 3]) -> f64 {
    vector.iter().map(|x| x * x).sum::<f64>().sqrt()
}

/// Coefficients of one coil of each of eight pairs.
struct Coefficients<'a> {
    nodes: &'a [[f64; 3]],
    scale_m: f64,
    radius_m: &'a Eight,
    half_depth_m: &'a Eight,
    half_width_m: &'a Eight,
    height_m: &'a Eight,
    ampere_turns: &'a Eight,
    terms: &'a mut [[Eight; 2]],
}

impl WithSimd for Coefficients<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) {
        for register in 0..WIDEST / S::F64_LANES {
            let load = |list: &Eight| Lanes::<S>::new(simd, S::as_simd_f64s(list).0[register]);
            let (radius, half_depth) = (load(self.radius_m), load(self.half_depth_m));
            let (height, half_width) = (load(self.height_m), load(self.half_width_m));
            let front = load(self.ampere_turns) * Lanes::splat(simd, 0.5 * MU_0);
            let scale = Lanes::splat(simd, self.scale_m);
            let zero = Lanes::splat(simd, 0.0);
            let mut sums = [zero; MOST_TERMS];
            let sums = &mut sums[..self.terms.len()];
            // Two nodes side by side hide the latency of the recurrence; a single last node is paired with itself at
            // weight 0.
            for pair in self.nodes.chunks(2) {
                let other = pair.get(1).copied().unwrap_or([pair[0][0], pair[0][1], 0.0]);
                let mut start = [(zero, zero, zero); 2];
                for (start, [u, v, weight]) in start.iter_mut().zip([pair[0], other]) {
                    let a = half_depth.mul_add(zero.all(u), radius);
                    let above = half_width.mul_add(zero.all(v), height);
                    let inverse2 = zero.all(1.0) / a.mul_add(a, above * above);
                    let first = front * zero.all(weight) * (a * a * inverse2 * inverse2.sqrt());
                    *start = (above * scale * inverse2, scale * scale * inverse2, first);
                }
                let [(ut, t2, one), (other_ut, other_t2, other)] = start;
                let (mut before, mut here) = ([zero; 2], [one, other]);
                for (n, sum) in sums.iter_mut().enumerate() {
                    *sum = *sum + (here[0] + here[1]);
                    let gamma = zero.all(FAMILIES.axis[n]);
                    let next = [
                        ut.mul_add(here[0], -(gamma * t2 * before[0])),
                        other_ut.mul_add(here[1], -(gamma * other_t2 * before[1])),
                    ];
                    (before, here) = (here, next);
                }
            }
            for (n, (sum, [axial, radial])) in sums.iter().zip(self.terms.iter_mut()).enumerate() {
                let (axial, radial) = (S::as_mut_simd_f64s(axial).0, S::as_mut_simd_f64s(radial).0);
                axial[register] = (*sum * zero.all(FAMILIES.axial_factor[n])).value();
                radial[register] = (*sum * zero.all(FAMILIES.radial_factor[n])).value();
            }
        }
    }
}

/// Constants of the polynomials p_{n+1} = x p_n − γ_n p_{n−1}.
struct Families {
    /// γ of the Gegenbauer polynomials of order 3/2, for the coefficients and, shifted by one, for B_ρ.
    axis: [f64; MOST_TERMS + 1],
    /// γ of the Legendre polynomials, for B_ζ.
    legendre: [f64; MOST_TERMS + 1],
    /// b_n over the recurrence's sum, times the leading coefficient of P_n.
    axial_factor: [f64; MOST_TERMS],
    /// `axial_factor` times −n/(n + 1), for P_n'/(n + 1).
    radial_factor: [f64; MOST_TERMS],
}

const FAMILIES: Families = {
    let (mut axis, mut legendre) = ([0.0; MOST_TERMS + 1], [0.0; MOST_TERMS + 1]);
    let (mut axial_factor, mut radial_factor) = ([1.0; MOST_TERMS], [0.0; MOST_TERMS]);
    let mut n = 1;
    while n <= MOST_TERMS {
        let m = n as f64;
        axis[n] = m * (m + 2.0) / ((2.0 * m + 3.0) * (2.0 * m + 1.0));
        legendre[n] = m * m / ((2.0 * m - 1.0) * (2.0 * m + 1.0));
        if n < MOST_TERMS {
            // Leading coefficients of C_n over C_{n−1}, (2n + 1)/n, and of P_n over P_{n−1}, (2n − 1)/n.
            axial_factor[n] = axial_factor[n - 1] * ((2.0 * m + 1.0) / m) * ((2.0 * m - 1.0) / m);
            radial_factor[n] = -axial_factor[n] * m / (m + 1.0);
        }
        n += 1;
    }
    Families { axis, legendre, axial_factor, radial_factor }
};

impl EightPairs {
    /// Whether the pair in a lane lies within the limits. The fields of a lane that is not served are meaningless.
    pub(crate) fn serves(&self, lane: usize) -> bool {
        self.served[lane]
    }

    /// The fields of the eight pairs per ampere through the ammeter, each at its own points, T/A. `fields` sets the
    /// number of points.
    pub(crate) fn fields(&self, points_m: &[EightVectors], fields: &mut [EightVectors]) {
        self.set.run(Fields { pairs: self, points_m, fields, terms: usize::MAX });
    }

    /// The fields as [`fields`](Self::fields) gives them, about twice as fast. The error of each coil is at most
    /// [`ROUGH_TOLERANCE`] of its field at its foot.
    pub(crate) fn fields_roughly(&self, points_m: &[EightVectors], fields: &mut [EightVectors]) {
        self.set.run(Fields { pairs: self, points_m, fields, terms: self.rough_terms });
    }

    /// The fields at the origin, T/A.
    pub(crate) fn fields_at_origin(&self) -> EightVectors {
        let mut field = [[[0.0; TOGETHER]; 3]];
        self.fields(&[[[0.0; TOGETHER]; 3]], &mut field);
        field[0]
    }
}

struct Fields<'a> {
    pairs: &'a EightPairs,
    points_m: &'a [EightVectors],
    fields: &'a mut [EightVectors],
    terms: usize,
}

impl WithSimd for Fields<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) {
        for register in 0..WIDEST / S::F64_LANES {
            let count = self.points_m.len().min(self.fields.len());
            for first in (0..count).step_by(ABREAST) {
                // A single last point is computed twice.
                let at: [usize; ABREAST] = std::array::from_fn(|i| (first + i).min(count - 1));
                let mut sums = [[Lanes::splat(simd, 0.0); 3]; ABREAST];
                for coil in &self.pairs.coils {
                    let terms = &coil.terms[..self.terms.min(coil.terms.len())];
                    let place = (self.pairs.scale_m, register);
                    add_coil(simd, (coil, terms), place, &at, self.points_m, &mut sums);
                }
                for (at, sum) in at.into_iter().zip(sums) {
                    for (list, sum) in self.fields[at].iter_mut().zip(sum) {
                        S::as_mut_simd_f64s(list).0[register] = sum.value();
                    }
                }
            }
        }
    }
}

/// Adds one coil's field at [`ABREAST`] points by Clenshaw's summation of both components.
#[inline(always)]
fn add_coil<S: Simd>(
    simd: S,
    (coil, terms): (&CoilSeries, &[[Eight; 2]]),
    (scale_m, register): (f64, usize),
    at: &[usize; ABREAST],
    points_m: &[EightVectors],
    sums: &mut [[Lanes<S>; 3]; ABREAST],
) {
    let zero = Lanes::splat(simd, 0.0);
    let inverse_scale = zero.all(1.0 / scale_m);
    let mut axis = [zero; 3];
    for (axis, list) in axis.iter_mut().zip(&coil.axis) {
        *axis = Lanes::new(simd, S::as_simd_f64s(list).0[register]);
    }
    let mut from_foot = [[zero; 3]; ABREAST];
    let (mut zeta, mut minus_r2) = ([zero; ABREAST], [zero; ABREAST]);
    for i in 0..ABREAST {
        for k in 0..3 {
            let point = Lanes::new(simd, S::as_simd_f64s(&points_m[at[i]][k]).0[register]);
            let foot = Lanes::new(simd, S::as_simd_f64s(&coil.foot_m[k]).0[register]);
            from_foot[i][k] = (point - foot) * inverse_scale;
        }
        let [u, v, w] = from_foot[i];
        zeta[i] = u.mul_add(axis[0], v.mul_add(axis[1], w * axis[2]));
        minus_r2[i] = -u.mul_add(u, v.mul_add(v, w * w));
    }
    let (mut axial, mut axial_above) = ([zero; ABREAST], [zero; ABREAST]);
    let (mut radial, mut radial_above) = ([zero; ABREAST], [zero; ABREAST]);
    for (n, [axial_term, radial_term]) in terms.iter().enumerate().rev() {
        let a = Lanes::new(simd, S::as_simd_f64s(axial_term).0[register]);
        let b = Lanes::new(simd, S::as_simd_f64s(radial_term).0[register]);
        let (legendre, gegenbauer) = (zero.all(FAMILIES.legendre[n + 1]), zero.all(FAMILIES.axis[n]));
        for i in 0..ABREAST {
            let next = zeta[i].mul_add(axial[i], (minus_r2[i] * legendre).mul_add(axial_above[i], a));
            (axial_above[i], axial[i]) = (axial[i], next);
            // B_ρ has polynomials one degree lower: its first term is n = 1.
            if n > 0 {
                let next = zeta[i].mul_add(radial[i], (minus_r2[i] * gegenbauer).mul_add(radial_above[i], b));
                (radial_above[i], radial[i]) = (radial[i], next);
            }
        }
    }
    for i in 0..ABREAST {
        // B = (ρ/scale) · (B_ρ scale/ρ) away from the axis, and B_ζ along it.
        let along = axial[i] - zeta[i] * radial[i];
        for k in 0..3 {
            sums[i][k] = sums[i][k] + from_foot[i][k].mul_add(radial[i], axis[k] * along);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::numeric::random::SampleGenerator;
    use crate::physics::field::Assembly;
    use nalgebra::{Rotation3, Vector3};

    /// Sections and spacings of pairs: an ordinary one, a thread, a thick square, a flat disc, a long solenoid.
    const PAIRS: [(f64, f64, f64, f64); 5] = [
        (0.16, 0.015, 0.010, 0.16),
        (0.16, 0.0, 0.0, 0.16),
        (0.15, 0.045, 0.045, 0.17),
        (0.20, 0.004, 0.060, 0.18),
        (0.12, 0.090, 0.006, 0.14),
    ];

    fn reference((radius, width, depth, spacing): (f64, f64, f64, f64)) -> [PlacedWinding; 2] {
        let section = Section { mean_radius_m: radius, width_m: width, depth_m: depth };
        [-0.5, 0.5].map(|side| PlacedWinding::on_axis(section, 150.0, side * spacing))
    }

    /// A pair at random whose every length differs by up to `spread_m` and whose tilts are `spread_m` over the spacing.
    fn varied(
        pair: &[PlacedWinding; 2],
        spread_m: f64,
        generator: &mut SampleGenerator,
    ) -> [PlacedWinding; 2] {
        let thread = pair[0].section.width_m == 0.0;
        pair.map(|mut winding| {
            let mut by = |most: f64| generator.rectangular(most);
            winding.section.mean_radius_m += by(spread_m);
            if !thread {
                winding.section.width_m = (winding.section.width_m + by(spread_m)).abs();
                winding.section.depth_m = (winding.section.depth_m + by(spread_m)).abs();
            }
            winding.centre_m += Vector3::new(by(0.5 * spread_m), by(0.5 * spread_m), by(0.5 * spread_m));
            winding.turns += by(2.0);
            let tilt = spread_m / winding.centre_m.norm() * 0.3;
            winding.axis = Rotation3::new(Vector3::new(by(tilt), by(tilt), 0.0)) * winding.axis;
            winding
        })
    }

    /// The largest difference from [`Assembly`], over the sum of the coils' fields, and the number of lanes served.
    fn worst(near: &NearPairs, pairs: &[[PlacedWinding; 2]], points: &[Vector3<f64>]) -> (f64, usize) {
        let mut room = near.room();
        near.fill(pairs, &mut room);
        let every = points.iter().map(|p| [[p.x; TOGETHER], [p.y; TOGETHER], [p.z; TOGETHER]]);
        let every: Vec<EightVectors> = every.collect();
        let mut fields = vec![[[0.0; TOGETHER]; 3]; points.len()];
        room.fields(&every, &mut fields);
        let served: Vec<usize> = (0..pairs.len()).filter(|lane| room.serves(*lane)).collect();
        let mut most = 0.0_f64;
        for &lane in &served {
            let wanted = Assembly::new(pairs[lane].to_vec()).without_series(points);
            for ((wanted, scale), got) in wanted.into_iter().zip(&fields) {
                let got = Vector3::new(got[0][lane], got[1][lane], got[2][lane]);
                most = most.max((got - wanted).norm() / scale);
            }
        }
        (most, served.len())
    }

    fn points_within(reach_m: f64, generator: &mut SampleGenerator) -> Vec<Vector3<f64>> {
        let mut points = vec![Vector3::zeros()];
        for _ in 0..12 {
            let direction = Vector3::from_fn(|_, _| generator.normal(1.0)).normalize();
            points.push(direction * reach_m);
            points.push(direction * reach_m * generator.unit());
        }
        points
    }

    #[test]
    fn varied_pairs_agree_with_the_engine_up_to_the_edge_of_the_reach() {
        let mut generator = SampleGenerator::new(5, 0);
        for (index, pair) in PAIRS.into_iter().enumerate() {
            let pair = reference(pair);
            for (spread, reach) in [(0.0005, 0.0), (0.004, 0.0), (0.0005, 0.055), (0.004, 0.055)] {
                let near = NearPairs::around(&pair, spread, reach).unwrap();
                for set in [InstructionSet::Fastest, InstructionSet::Scalar] {
                    let near = near.clone().with_instruction_set(set);
                    let pairs =
                        std::array::from_fn::<_, TOGETHER, _>(|_| varied(&pair, spread, &mut generator));
                    let points = points_within(reach, &mut generator);
                    let (most, served) = worst(&near, &pairs, &points);
                    // 1e-12 is the default tolerance of [`Assembly`].
                    assert!(most < 1e-12, "pair {index}, {spread} m, {reach} m, {set:?}: {most:e}");
                    assert!(served > 0, "pair {index}, {spread} m, {reach} m");
                }
            }
        }
    }

    #[test]
    fn a_rough_look_errs_by_no_more_than_it_says() {
        let mut generator = SampleGenerator::new(7, 0);
        for pair in PAIRS.map(reference) {
            let near = NearPairs::around(&pair, 0.001, 0.055).unwrap();
            assert!(near.rough_terms < near.terms);
            let pairs = std::array::from_fn::<_, TOGETHER, _>(|_| varied(&pair, 0.001, &mut generator));
            let mut room = near.room();
            near.fill(&pairs, &mut room);
            let points = points_within(0.055, &mut generator);
            let points = points.iter().map(|p| [[p.x; TOGETHER], [p.y; TOGETHER], [p.z; TOGETHER]]);
            let points: Vec<EightVectors> = points.collect();
            let mut exact = vec![[[0.0; TOGETHER]; 3]; points.len()];
            let mut rough = exact.clone();
            room.fields(&points, &mut exact);
            room.fields_roughly(&points, &mut rough);
            for lane in (0..TOGETHER).filter(|lane| room.serves(*lane)) {
                let at_foot = |winding: &PlacedWinding| {
                    let foot = Vector3::from(LaneCoil::of(winding).foot_m);
                    Assembly::new(vec![*winding]).field_per_ampere(&foot).norm()
                };
                let allowed = ROUGH_TOLERANCE * pairs[lane].iter().map(at_foot).sum::<f64>();
                for (exact, rough) in exact.iter().zip(&rough) {
                    let error: f64 = (0..3).map(|k| (exact[k][lane] - rough[k][lane]).powi(2)).sum();
                    assert!(error.sqrt() < allowed, "{error:e} {allowed:e}");
                }
            }
        }
    }

    #[test]
    fn a_pair_just_within_the_limits_is_served_and_one_just_beyond_is_not() {
        let pair = reference(PAIRS[0]);
        let spread = 0.001;
        let near = NearPairs::around(&pair, spread, 0.05).unwrap();
        type Change = fn(&mut PlacedWinding, f64);
        let moves: [(&str, Change); 5] = [
            ("radius", |winding, by| winding.section.mean_radius_m -= by),
            ("width", |winding, by| winding.section.width_m += by),
            ("depth", |winding, by| winding.section.depth_m += by),
            ("offset", |winding, by| winding.centre_m.x += by),
            ("height", |winding, by| winding.centre_m.z -= by * winding.centre_m.z.signum()),
        ];
        let points = points_within(0.05, &mut SampleGenerator::new(6, 0));
        for (name, change) in moves {
            let moved = |by: f64| {
                let mut moved = pair;
                moved.iter_mut().for_each(|winding| change(winding, by));
                moved
            };
            let (most, served) = worst(&near, &[moved(0.999 * spread), moved(1.001 * spread)], &points);
            assert_eq!(served, 1, "{name}");
            assert!(most < 1e-12, "{name}: {most:e}");
        }
        for bad in [f64::NAN, f64::INFINITY] {
            let mut moved = pair;
            moved[1].centre_m.y = bad;
            assert_eq!(worst(&near, &[moved], &points).1, 0);
        }
    }

    #[test]
    fn points_too_near_to_a_winding_have_no_short_series() {
        let pair = reference(PAIRS[0]);
        assert!(NearPairs::around(&pair, 0.001, 0.09).is_some());
        for reach in [0.14, 0.3, f64::NAN, f64::INFINITY] {
            assert!(NearPairs::around(&pair, 0.001, reach).is_none(), "{reach}");
        }
        assert!(NearPairs::around(&pair, 0.2, 0.0).is_none());
    }
}
