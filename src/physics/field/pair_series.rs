//! The field of a symmetric pair about its centre as a series of even zonal harmonics.
//!
//! A filament of radius a at height h, r² = a² + h², u = h/r, has on its axis the field (mu0/2) (a²/r³) Σ C_n(u)
//! (z/r)^n, C_n the Gegenbauer polynomial of order 3/2; off the axis z^n becomes s^n P_n(cos θ). In a mirror-symmetric
//! pair the odd terms cancel and the even ones double. The section is averaged by a Gauss–Legendre rule. Source: W. R.
//! Smythe, *Static and Dynamic Electricity*, 3rd ed., 7.13 (from memory); checked below against the exact series
//! coefficients of the ideal pair.
//!
//! This is the fast method for a search over thousands of pairs. For offset, tilted or unequal coils use
//! [`Assembly`](super::Assembly).

use super::Section;
use crate::constants::MU_0;
use crate::numeric::lanes::{InstructionSet, Lanes, WIDEST};
use crate::numeric::quadrature::gauss_legendre;
use crate::pair::Tube;
use pulp::{Simd, WithSimd};
use std::sync::LazyLock;

/// Highest even order; reached only if a region comes within a twentieth of the winding's distance.
const HIGHEST_ORDER: usize = 400;
/// Highest Gauss–Legendre order across a section.
const HIGHEST_RULE: usize = 24;

static RULES: LazyLock<Vec<Vec<(f64, f64)>>> =
    LazyLock::new(|| (0..=HIGHEST_RULE).map(gauss_legendre).collect());

/// The even zonal harmonics of one turn in each of the two coils.
#[derive(Clone, Debug)]
pub struct PairSeries {
    /// Coefficients of (s/reach)^(2k) P_2k(cos θ), tesla per ampere-turn of one coil.
    terms: Vec<f64>,
    reach_m: f64,
}

impl PairSeries {
    /// The series of a pair of equal sections at ±spacing/2, good to about `tolerance` of the centre field at every
    /// point within `reach_m` of the centre; `None` if a point at that distance comes too near to a winding.
    pub fn of(section: &Section, spacing_m: f64, reach_m: f64, tolerance: f64) -> Option<Self> {
        let half_gap = 0.5 * (spacing_m - section.width_m).max(0.0);
        let inner_radius = section.mean_radius_m - 0.5 * section.depth_m;
        let nearest = inner_radius.hypot(half_gap);
        let order = highest_order(reach_m / nearest, tolerance)?;
        let middle = section.mean_radius_m.hypot(0.5 * spacing_m);
        let axial = rule_for(0.5 * section.width_m, middle - reach_m, tolerance)?;
        let radial = rule_for(0.5 * section.depth_m, middle - reach_m, tolerance)?;
        let mut nodes = Nodes::with_room_for(radial.len() * axial.len());
        for (x, weight_x) in radial {
            for (y, weight_y) in axial {
                let a = section.mean_radius_m + 0.5 * section.depth_m * x;
                let h = 0.5 * spacing_m + 0.5 * section.width_m * y;
                let inverse2 = 1.0 / (a * a + h * h);
                let inverse = inverse2.sqrt();
                nodes.ut.push(h * reach_m * inverse2);
                nodes.t2.push(reach_m * reach_m * inverse2);
                nodes.first.push(0.25 * weight_x * weight_y * MU_0 * a * a * inverse2 * inverse);
            }
        }
        nodes.pad();
        let mut terms = vec![0.0; order / 2 + 1];
        InstructionSet::Fastest.run(Terms { nodes: &nodes, terms: &mut terms });
        Some(Self { terms, reach_m })
    }

    /// Field at the centre, tesla per ampere-turn of one coil.
    #[cfg(test)]
    pub(crate) fn centre_tesla_per_ampere_turn(&self) -> f64 {
        self.terms[0]
    }

    /// Coefficient of (z/reach)^(2k) on the axis, over the centre field.
    pub(crate) fn relative_term(&self, k: usize) -> f64 {
        self.terms.get(k).map_or(0.0, |term| term / self.terms[0])
    }
}

/// The loops that replace a section, with t = reach/r: u t, t², and twice (mu0/2) (a²/r³) times the weight.
struct Nodes {
    ut: Vec<f64>,
    t2: Vec<f64>,
    first: Vec<f64>,
}

impl Nodes {
    fn with_room_for(count: usize) -> Self {
        let room = || Vec::with_capacity(count.next_multiple_of(WIDEST));
        Self { ut: room(), t2: room(), first: room() }
    }

    /// Fills the last registers with currentless loops.
    fn pad(&mut self) {
        let padded = self.first.len().next_multiple_of(WIDEST);
        for list in [&mut self.ut, &mut self.t2, &mut self.first] {
            list.resize(padded, 0.0);
        }
    }
}

/// Sums weight · C_n(u) (reach/r)^n over the loops for every even n: p_{n+1} = u p_n − γ_n p_{n−1} are the polynomials of
/// leading coefficient 1, so the C_n need no division.
struct Terms<'a> {
    nodes: &'a Nodes,
    terms: &'a mut [f64],
}

impl WithSimd for Terms<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) {
        let (ut, t2) = (S::as_simd_f64s(&self.nodes.ut).0, S::as_simd_f64s(&self.nodes.t2).0);
        let first = S::as_simd_f64s(&self.nodes.first).0;
        for ((&ut, &t2), &first) in ut.iter().zip(t2).zip(first) {
            let (ut, t2) = (Lanes::new(simd, ut), Lanes::new(simd, t2));
            let mut even = Lanes::new(simd, first);
            let mut odd = ut * even;
            for (k, term) in self.terms.iter_mut().enumerate() {
                *term += even.sum();
                even = ut.mul_add(odd, -(ut.all(MONIC.gamma[2 * k + 1]) * t2 * even));
                odd = ut.mul_add(even, -(ut.all(MONIC.gamma[2 * k + 2]) * t2 * odd));
            }
        }
        for (k, term) in self.terms.iter_mut().enumerate() {
            *term *= MONIC.leading[k];
        }
    }
}

/// γ_n = n (n + 2)/((2n + 3)(2n + 1)) of the Gegenbauer polynomials of order 3/2, and the leading coefficients of every
/// other one, C_n = (2n + 1)/n C_{n−1} … .
struct Monic {
    gamma: [f64; HIGHEST_ORDER + 3],
    leading: [f64; HIGHEST_ORDER / 2 + 1],
}

const MONIC: Monic = {
    let (mut gamma, mut leading) = ([0.0; HIGHEST_ORDER + 3], [1.0; HIGHEST_ORDER / 2 + 1]);
    let (mut n, mut product) = (1, 1.0);
    while n < HIGHEST_ORDER + 3 {
        let m = n as f64;
        gamma[n] = m * (m + 2.0) / ((2.0 * m + 3.0) * (2.0 * m + 1.0));
        product *= (2.0 * m + 1.0) / m;
        if n % 2 == 0 && n <= HIGHEST_ORDER {
            leading[n / 2] = product;
        }
        n += 1;
    }
    Monic { gamma, leading }
};

/// The even order past which the terms, each at most (n + 1)(n + 2)/2 ratio^n, sum to less than the tolerance.
fn highest_order(ratio: f64, tolerance: f64) -> Option<usize> {
    if ratio.is_nan() || ratio >= 0.95 {
        return None;
    }
    let ratio2 = ratio * ratio;
    // ratio^(n + 2)
    let mut power = ratio2 * ratio2 * ratio2;
    (4..=HIGHEST_ORDER).step_by(2).find(|order| {
        let n = *order as f64;
        let rest = 0.5 * (n + 3.0) * (n + 4.0) * power / (1.0 - ratio2);
        power *= ratio2;
        rest < tolerance
    })
}

/// The Gauss–Legendre rule across an extent of ±half, when the nearest singularity of the integrand is `distance`
/// from its middle: error about (x + √(x² − 1))^(−2n), x = distance/half.
fn rule_for(half: f64, distance: f64, tolerance: f64) -> Option<&'static [(f64, f64)]> {
    let x = distance / half.max(1e-12 * distance);
    if x.is_nan() || x <= 1.05 {
        return None;
    }
    let ellipse = x + (x * x - 1.0).sqrt();
    let n = (-tolerance.ln() / (2.0 * ellipse.ln())).ceil().clamp(1.0, HIGHEST_RULE as f64) as usize;
    Some(&RULES[n])
}

/// Adds rows of samples, each with its weight.
struct WeightedRows<'a> {
    weights: &'a [f64],
    rows: &'a [f64],
    sums: &'a mut [f64; PADDED],
}

impl WithSimd for WeightedRows<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) {
        let sums = S::as_mut_simd_f64s(self.sums).0;
        for (weight, row) in self.weights.iter().zip(self.rows.chunks_exact(PADDED)) {
            let weight = Lanes::splat(simd, *weight);
            for (sum, value) in sums.iter_mut().zip(S::as_simd_f64s(row).0) {
                *sum = weight.mul_add(Lanes::new(simd, *value), Lanes::new(simd, *sum)).value();
            }
        }
    }
}

/// Points along a curve at which the largest deviation of a symmetric pair is sought. The curve is a piece of the axis
/// or the beam region, taken at one azimuth, since the pair's field is the same at every azimuth.
#[derive(Clone, Debug)]
pub struct SampledRegion {
    reach_m: f64,
    /// (s/reach)^(2k) P_2k(cos θ), for each k all samples.
    basis: Vec<f64>,
}

/// Samples along the curve; a parabola through the largest and its neighbours refines the result.
const SAMPLES: usize = 33;
/// The samples, padded to whole registers.
const PADDED: usize = SAMPLES.next_multiple_of(WIDEST);

impl SampledRegion {
    /// Every circle that a beam of the tube's radii makes from the gun exit. `None` if the tube states no radii or its
    /// gun points along the axis.
    pub(crate) fn of_beam(tube: &Tube) -> Option<Self> {
        let [smallest, largest] = tube.beam_radius_m?;
        if tube.towards_circle_centre().norm() == 0.0 {
            return None;
        }
        const CIRCLES: usize = 65;
        let (mut nearest, mut farthest) = (f64::INFINITY, 0.0_f64);
        let mut sides = [false; 2];
        for i in 0..CIRCLES {
            let radius = smallest + (largest - smallest) * i as f64 / (CIRCLES - 1) as f64;
            let centre = tube.circle_centre_m(radius).xy().norm();
            nearest = nearest.min((centre - radius).abs());
            farthest = farthest.max(centre + radius);
            sides[usize::from(centre > radius)] = true;
        }
        // Some circles enclose the axis and some do not, so one between them passes through the axis.
        if sides == [true; 2] {
            nearest = 0.0;
        }
        Some(Self::along((nearest, farthest), |rho| (rho, tube.gun_exit_m.z)))
    }

    /// The axis from the centre to `half_length_m`.
    pub fn on_axis(half_length_m: f64) -> Self {
        Self::along((0.0, half_length_m), |z| (0.0, z))
    }

    /// Largest distance of a sample from the centre.
    pub(crate) fn reach_m(&self) -> f64 {
        self.reach_m
    }

    /// The curve that `place` (radius from the axis, height over the beam plane) describes as its parameter runs from
    /// `from` to `to`.
    pub fn along((from, to): (f64, f64), place: impl Fn(f64) -> (f64, f64)) -> Self {
        let places: Vec<(f64, f64)> =
            (0..SAMPLES).map(|i| place(from + (to - from) * i as f64 / (SAMPLES - 1) as f64)).collect();
        let reach_m = places.iter().map(|(rho, z)| rho.hypot(*z)).fold(f64::MIN_POSITIVE, f64::max);
        let mut basis = vec![0.0; (HIGHEST_ORDER / 2 + 1) * PADDED];
        for (i, (rho, z)) in places.iter().enumerate() {
            // s^n P_n(cos θ) by n P_n = (2n − 1) z P_{n−1} − (n − 1) s² P_{n−2}, all lengths over the reach.
            let (z, s2) = (z / reach_m, (rho * rho + z * z) / (reach_m * reach_m));
            let (mut before, mut here) = (1.0, z);
            basis[i] = 1.0;
            for k in 1..=HIGHEST_ORDER / 2 {
                let n = (2 * k) as f64;
                let even = ((2.0 * n - 1.0) * z * here - (n - 1.0) * s2 * before) / n;
                let odd = ((2.0 * n + 1.0) * z * even - n * s2 * here) / (n + 1.0);
                basis[k * PADDED + i] = even;
                (before, here) = (even, odd);
            }
        }
        Self { reach_m, basis }
    }

    /// The deviation of largest size in the region, with its sign; the series must have been made for the same reach.
    pub fn worst_deviation(&self, series: &PairSeries) -> f64 {
        worst_of(&self.sums(series)) / series.terms[0]
    }

    /// The deviations at every sample, for [`blended`] and [`worst_of`]; the series must have been made for this reach.
    pub(crate) fn deviations(&self, series: &PairSeries) -> Samples {
        self.sums(series).map(|sum| sum / series.terms[0])
    }

    /// The field at every sample less that at the centre.
    fn sums(&self, series: &PairSeries) -> Samples {
        debug_assert_eq!(self.reach_m, series.reach_m);
        blended(&series.terms[1..], &self.basis[PADDED..])
    }
}

/// One value a sample of a [`SampledRegion`], in whole registers.
pub(crate) type Samples = [f64; PADDED];

/// The sum of rows of samples, one after the other in `rows`, each with its weight.
pub(crate) fn blended(weights: &[f64], rows: &[f64]) -> Samples {
    let mut sums = [0.0; PADDED];
    InstructionSet::Fastest.run(WeightedRows { weights, rows, sums: &mut sums });
    sums
}

/// The value of largest size along the samples, with its sign: a parabola through the largest and its neighbours.
pub(crate) fn worst_of(deviation: &Samples) -> f64 {
    let largest = deviation[..SAMPLES].iter().fold(0.0, |largest: f64, value| largest.max(value.abs()));
    let worst = deviation[..SAMPLES].iter().position(|value| value.abs() == largest).unwrap_or(0);
    let mut value = deviation[worst];
    if worst > 0 && worst + 1 < SAMPLES {
        let (left, right) = (deviation[worst - 1], deviation[worst + 1]);
        let curvature = left - 2.0 * value + right;
        if curvature != 0.0 {
            value -= (right - left).powi(2) / (8.0 * curvature);
        }
    }
    value
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pair::Bench;
    use crate::physics::field::{Assembly, Deviation};
    use approx::assert_relative_eq;
    use nalgebra::Vector3;

    const THREAD: Section = Section { mean_radius_m: 1.0, width_m: 1e-9, depth_m: 1e-9 };

    #[test]
    fn the_ideal_pair_has_its_published_coefficients() {
        // Exact (sympy) from the on-axis field of the ideal pair; z^4 as in Ruark and Peters, JOSA 13, 205 (1926)
        // (from memory).
        let series = PairSeries::of(&THREAD, 1.0, 0.5, 1e-15).unwrap();
        assert_relative_eq!(
            series.centre_tesla_per_ampere_turn(),
            0.715_541_752_799_932_7 * MU_0,
            max_relative = 1e-14
        );
        for (k, wanted) in [
            (1, 0.0),
            (2, -144.0 / 125.0),
            (3, 19712.0 / 15625.0),
            (4, -29952.0 / 78125.0),
            (5, -5_812_224.0 / 9_765_625.0),
            (6, 44_355_584.0 / 48_828_125.0),
        ] {
            let found = series.relative_term(k) * 4f64.powi(k as i32);
            assert!((found - wanted).abs() < 1e-12, "z^{}: {found} for {wanted}", 2 * k);
        }
    }

    #[test]
    fn a_section_weakens_the_centre_and_tilts_the_second_order_as_derived() {
        // Source: exact expansion of the section average (sympy): B0 (1 − c²/(60 a²)) and the coefficient of z²
        // at spacing = mean radius, both over the field of the ideal pair; b the width and c the depth.
        let ideal = PairSeries::of(&THREAD, 1.0, 0.5, 1e-14).unwrap().centre_tesla_per_ampere_turn();
        for (width, depth, second) in [
            (0.1, 0.1, -0.000_826_981_267_498_765),
            (0.1, 0.107_763_181_216_065, -3.233_618_919_146_34e-5),
            (0.2, 0.1, -0.017_949_202_043_422_8),
            (0.1, 0.2, 0.014_081_105_272_337_2),
        ] {
            let section = Section { mean_radius_m: 1.0, width_m: width, depth_m: depth };
            let series = PairSeries::of(&section, 1.0, 0.5, 1e-14).unwrap();
            let centre = series.centre_tesla_per_ampere_turn() / ideal;
            let found = 4.0 * series.relative_term(1) * centre;
            // 1e-5: fourth order in the section.
            assert!(
                (centre - 1.0 + depth * depth / 60.0).abs() < 1e-5 + width.powi(4),
                "{width} x {depth}: {centre}"
            );
            assert!((found - second).abs() < 1e-11, "{width} x {depth}: {found} for {second}");
        }
    }

    #[test]
    fn the_series_agrees_with_the_sum_over_filaments() {
        let mut bench = Bench::thin_pair();
        bench.winding.width_m = 0.02;
        bench.winding.depth_m = 0.015;
        let assembly = Assembly::of(&bench);
        let deviation = Deviation::new(&assembly, Vector3::zeros()).unwrap();
        let section = assembly.windings()[0].section;
        for half_length in [0.03, 0.05, 0.08] {
            let region = SampledRegion::on_axis(half_length);
            let series = PairSeries::of(&section, bench.spacing_m, region.reach_m(), 1e-10).unwrap();
            let wanted = deviation.at(&Vector3::new(0.0, 0.0, half_length));
            // 2e-8: the assembly's own four-point rule.
            assert!((region.worst_deviation(&series) - wanted).abs() < 2e-8, "{half_length}");
        }
    }

    #[test]
    fn a_region_in_the_copper_has_no_series() {
        assert!(PairSeries::of(&THREAD, 1.0, 1.2, 1e-8).is_none());
        assert!(PairSeries::of(&THREAD, 1.0, f64::NAN, 1e-8).is_none());
    }
}
