//! The field of a winding of rectangular section near it, on its surface and inside it.
//!
//! The radial and axial integrals of Biot and Savart's law over a section of uniform current density J are done in
//! closed form, the azimuth φ by quadrature. With the section's corners at (a_i, z_j), ζ_j = z − z_j:
//!
//! ```text
//! x = a − ρ cos φ    b = ρ sin φ    h² = b² + ζ²    w = √(x² + h²)
//! B_ρ = (μ0 J/2π) ∫₀^π cos φ { [w + ρ cos φ arsinh(x/h)] at ζ₂ − at ζ₁ } dφ
//! B_z = (μ0 J/2π) ∫₀^π { [ζ arsinh(x/h) − b arctan(x ζ/(b w)) − ρ cos φ artanh(ζ/w)] at ζ₁ − at ζ₂ } dφ
//! ```
//!
//! each bracket taken between a₁ and a₂. The four corners collapse to three logarithms and two arc tangents:
//!
//! ```text
//! Λ_j = arsinh(x₂/h_j) − arsinh(x₁/h_j)          one logarithm, free of cancellation for every sign of x
//! A_j = arctan(x₂ζ_j/(b w₂_j)) − arctan(x₁ζ_j/(b w₁_j))    the angle of a product of two complex numbers
//! T   = the corner sum of artanh(ζ/w)                       one logarithm
//! ```
//!
//! **The nodes.** The integrand is singular at w = 0, x² + b² = 0 and b² + ζ² = 0. There φ is imaginary (or beyond 2π)
//! and no nearer to zero than about s = (distance from the section's boundary)/√(ρ max(ρ, a₁)). The map φ = σ sinh u,
//! with σ ≤ s, puts all these singularities on or beyond the lines Im u = ±π/2, whatever the distances. On the u axis,
//! from 0 to 2L = arsinh(π/σ), the integrand is as smooth far from φ = 0 as near to it, and n Gauss–Legendre nodes err
//! by about ϱ^(−2n) with ln ϱ = arsinh(π/2L), or arcosh(arsinh(2π/σ)/L − 1) where φ = 2π is nearer than those lines
//! (Trefethen, Approximation Theory and Approximation Practice, 2013, theorem 19.3; the map as in Johnston and Elliott,
//! Int. J. Numer. Meth. Engng 62, 564 (2005), from memory). On the boundary itself s = 0 and the integrand has a
//! logarithm at φ = 0; there σ is not made smaller than the φ below which the integrand no longer matters.
//!
//! The x are formed from a − ρ and 1 − cos φ, so short distances keep their digits. The remaining cancellation grows as
//! mean radius over section size; thread-thin sections therefore use this method at close points only.
//!
//! Derived here by integrating the Biot–Savart kernel; checked to 1e-22 against the double integral over loops by
//! `tests/data/make_field_tables.py` and against its table in the tests of `winding.rs`.

use crate::numeric::lanes::{InstructionSet, Lanes, WIDEST};
use crate::numeric::quadrature::gauss_legendre;
use pulp::{Simd, WithSimd};
use std::f64::consts::PI;
use std::sync::{LazyLock, OnceLock};

/// The corners of a section, seen from a point: everything the integrand needs.
#[derive(Clone, Copy, Debug)]
pub(super) struct Corners {
    /// Radii of the section's inner and outer face.
    pub radius_m: [f64; 2],
    /// Half the section's width.
    pub half_width_m: f64,
    /// μ0 J/2π, T/m.
    pub front_tesla_per_m: f64,
}

/// Number of halvings of σ, from 1, that have tables.
const HALVINGS: usize = 54;
/// Nodes come in whole registers of the widest kind.
const NODES_A_STEP: usize = WIDEST;
/// The most such steps of one table.
const MOST_STEPS: usize = 24;
/// The factor before the error's exponential; 2 is enough on the points of the tests.
const BOUND: f64 = 10.0;
/// The part left out below σ for a point on the boundary, over σ ρ/(the section's shorter side).
const BELOW: f64 = 0.05;

/// Nodes of one order for one σ.
#[derive(Debug)]
struct Nodes {
    versine: Vec<f64>,
    sine: Vec<f64>,
    weight: Vec<f64>,
}

impl Nodes {
    fn new(sigma: f64, order: usize) -> Self {
        let end = (PI / sigma).asinh();
        let rule = gauss_legendre(order);
        let u = rule.iter().map(|(t, _)| 0.5 * end * (1.0 + t));
        let angles = u.clone().map(|u| sigma * u.sinh());
        Self {
            versine: angles.clone().map(|phi| 2.0 * (0.5 * phi).sin().powi(2)).collect(),
            sine: angles.map(f64::sin).collect(),
            weight: rule
                .iter()
                .zip(u)
                .map(|((_, weight), u)| 0.5 * end * weight * sigma * u.cosh())
                .collect(),
        }
    }
}

/// Tables, each made when first asked for.
static NODES: [[OnceLock<Nodes>; MOST_STEPS]; HALVINGS] =
    [const { [const { OnceLock::new() }; MOST_STEPS] }; HALVINGS];

/// How many nodes each σ needs for one tolerance.
#[derive(Clone, Debug)]
pub(super) struct AzimuthChoice {
    inner_radius_m: f64,
    /// ρ times the σ below which the integrand no longer matters.
    negligible_m: f64,
    steps: [u8; HALVINGS],
}

/// How the azimuth is divided for one point.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct AzimuthOrder {
    halvings: u8,
    steps: u8,
    /// Whether something is left out below σ.
    is_on_boundary: bool,
}

impl AzimuthChoice {
    /// For the points about a section, to a relative tolerance.
    pub(super) fn new(corners: &Corners, tolerance: f64) -> Self {
        let shorter = (2.0 * corners.half_width_m).min(corners.radius_m[1] - corners.radius_m[0]);
        let steps = |halvings: usize| {
            let nodes = (BOUND / tolerance).ln() / FALL_PER_NODE[halvings];
            (nodes / NODES_A_STEP as f64).ceil().clamp(1.0, MOST_STEPS as f64) as u8
        };
        Self {
            inner_radius_m: corners.radius_m[0],
            negligible_m: tolerance * shorter / BELOW,
            steps: std::array::from_fn(steps),
        }
    }

    /// For a point at `distance_m` from the boundary of the section.
    pub(super) fn at(&self, rho_m: f64, distance_m: f64) -> AzimuthOrder {
        let negligible = self.negligible_m / rho_m;
        let scale = distance_m / (rho_m * rho_m.max(self.inner_radius_m)).sqrt();
        let is_on_boundary = scale < negligible;
        // The exponent counts the halvings, rounded so that σ stays below the scale. On the axis the scale is infinite,
        // or NaN if the section reaches the axis.
        let halvings = 1023 - ((scale.max(negligible).to_bits() >> 52) & 0x7ff) as i64;
        let halvings = if scale.is_nan() { HALVINGS as i64 - 1 } else { halvings };
        let halvings = halvings.clamp(0, HALVINGS as i64 - 1) as usize;
        AzimuthOrder { halvings: halvings as u8, steps: self.steps[halvings], is_on_boundary }
    }
}

/// The error falls by a factor e to this power with every node.
static FALL_PER_NODE: LazyLock<[f64; HALVINGS]> = LazyLock::new(|| {
    std::array::from_fn(|halvings| {
        let inverse = 2f64.powi(halvings as i32);
        let length = 0.5 * (PI * inverse).asinh();
        let by_lines = (0.5 * PI / length).asinh();
        let by_next_period = ((2.0 * PI * inverse).asinh() / length - 1.0).acosh();
        2.0 * by_lines.min(by_next_period)
    })
});

impl AzimuthOrder {
    /// Nodes in all.
    pub(super) fn nodes(self) -> usize {
        NODES_A_STEP * usize::from(self.steps)
    }

    /// Bound of the error relative to the field, from the nodes alone.
    pub(crate) fn truncation(self) -> f64 {
        BOUND * (-FALL_PER_NODE[usize::from(self.halvings)] * self.nodes() as f64).exp()
    }

    /// Whether the point is so near to the boundary that the part left out below σ counts. It is less than a third of
    /// the tolerance, relative to μ0 J times the shorter side.
    pub(crate) fn is_on_boundary(self) -> bool {
        self.is_on_boundary
    }

    fn table(self) -> &'static Nodes {
        NODES[usize::from(self.halvings)][usize::from(self.steps) - 1]
            .get_or_init(|| Nodes::new(0.5f64.powi(i32::from(self.halvings)), self.nodes()))
    }
}

/// (B_ρ, B_ζ) at (ρ, ζ) about the section's centre, T.
pub(super) fn winding_field(
    corners: &Corners,
    rho_m: f64,
    zeta_m: f64,
    order: AzimuthOrder,
    set: InstructionSet,
) -> (f64, f64) {
    // Mirror symmetry: only ζ ≥ 0 is computed.
    let nodes = order.table();
    let (b_rho, b_zeta) = set.run(Integral { corners, rho_m, zeta_m: zeta_m.abs(), nodes });
    let front = corners.front_tesla_per_m;
    (front * b_rho * if zeta_m < 0.0 { -1.0 } else { 1.0 }, front * b_zeta)
}

struct Integral<'a> {
    corners: &'a Corners,
    rho_m: f64,
    zeta_m: f64,
    nodes: &'a Nodes,
}

impl WithSimd for Integral<'_> {
    type Output = (f64, f64);

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) -> (f64, f64) {
        let zero = Lanes::splat(simd, 0.0);
        let mut sum = (zero, zero);
        let versine = S::as_simd_f64s(&self.nodes.versine).0;
        let sine = S::as_simd_f64s(&self.nodes.sine).0;
        let weight = S::as_simd_f64s(&self.nodes.weight).0;
        for ((&versine, &sine), &weight) in versine.iter().zip(sine).zip(weight) {
            let weight = Lanes::new(simd, weight);
            let (f_rho, f_zeta) = self.integrand(simd, Lanes::new(simd, versine), Lanes::new(simd, sine));
            sum = (weight.mul_add(f_rho, sum.0), weight.mul_add(f_zeta, sum.1));
        }
        (sum.0.sum(), sum.1.sum())
    }
}

impl Integral<'_> {
    /// The two braces at azimuths given by 1 − cos φ and sin φ.
    #[inline(always)]
    fn integrand<S: Simd>(&self, simd: S, versine: Lanes<S>, sine: Lanes<S>) -> (Lanes<S>, Lanes<S>) {
        // No closures here: the compiler does not use the widest registers inside them.
        let [a1, a2] = self.corners.radius_m;
        let rho = Lanes::splat(simd, self.rho_m);
        let zeta1 = Lanes::splat(simd, self.zeta_m + self.corners.half_width_m);
        let zeta2 = Lanes::splat(simd, self.zeta_m - self.corners.half_width_m);
        let cos = rho.all(1.0) - versine;
        let b = rho * sine;
        let b2 = b * b;
        let x1 = rho.mul_add(versine, rho.all(a1 - self.rho_m));
        let x2 = rho.mul_add(versine, rho.all(a2 - self.rho_m));
        let (q1, q2) = (x1.mul_add(x1, b2), x2.mul_add(x2, b2));
        let (w11, w21) = (zeta1.mul_add(zeta1, q1).sqrt(), zeta1.mul_add(zeta1, q2).sqrt());
        let (w12, w22) = (zeta2.mul_add(zeta2, q1).sqrt(), zeta2.mul_add(zeta2, q2).sqrt());
        let (lambda1, lambda2) = (lambda(x1, x2, w11, w21, b2, zeta1), lambda(x1, x2, w12, w22, b2, zeta2));
        let (arc1, arc2) = (arc(x1, x2, w11, w21, b, zeta1), arc(x1, x2, w12, w22, b, zeta2));

        // T: artanh(ζ/w) = sign(ζ) ln((w + |ζ|)/√q); ζ₁ > 0 always.
        let (g11, g21) = (w11 + zeta1, w21 + zeta1);
        let (g12, g22) = (w12 + zeta2.abs(), w22 + zeta2.abs());
        let t = if self.zeta_m < self.corners.half_width_m {
            (g21 * g22 * q1).ln_of_ratio_to(g11 * g12 * q2)
        } else {
            (g21 * g12).ln_of_ratio_to(g11 * g22)
        };

        let rho_cos = rho * cos;
        let roots = (w22 - w12) - (w21 - w11);
        let f_rho = cos * rho_cos.mul_add(lambda2 - lambda1, roots);
        let f_zeta = zeta1 * lambda1 - zeta2 * lambda2 - b * (arc1 - arc2) - rho_cos * t;
        (f_rho, f_zeta)
    }
}

/// Λ_j: arsinh(x/h) = sign(x) ln((|x| + w)/h), with h² = b² + ζ².
#[inline(always)]
fn lambda<S: Simd>(
    x1: Lanes<S>,
    x2: Lanes<S>,
    w1: Lanes<S>,
    w2: Lanes<S>,
    b2: Lanes<S>,
    zeta: Lanes<S>,
) -> Lanes<S> {
    let zero = x1.all(0.0);
    let (g1, g2) = (x1.abs() + w1, x2.abs() + w2);
    let h2 = zeta.mul_add(zeta, b2);
    // x₁ < x₂, so the three cases of sign are: x₁ ≥ 0, x₂ < 0, and one of each.
    let numerator = x1.if_less(zero, x2.if_less(zero, g1, g1 * g2), g2);
    let denominator = x1.if_less(zero, x2.if_less(zero, g2, h2), g1);
    numerator.ln_of_ratio_to(denominator)
}

/// A_j: the angle of (b w₂ + i x₂ ζ)(b w₁ − i x₁ ζ), over b².
#[inline(always)]
fn arc<S: Simd>(
    x1: Lanes<S>,
    x2: Lanes<S>,
    w1: Lanes<S>,
    w2: Lanes<S>,
    b: Lanes<S>,
    zeta: Lanes<S>,
) -> Lanes<S> {
    let y = zeta * b * (x2 * w1 - x1 * w2);
    y.atan2((b * b * w1).mul_add(w2, x1 * x2 * (zeta * zeta)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_number_of_halvings_gives_what_half_its_sigma_and_more_nodes_give() {
        let corners = Corners { radius_m: [0.925, 1.075], half_width_m: 0.075, front_tesla_per_m: 1.0 };
        let choice = AzimuthChoice::new(&corners, 1e-12);
        let mut seen = std::collections::BTreeSet::new();
        for i in 0..200 {
            // From far away to a hair off the outer face, its middle and near its edge, and the same inside.
            let distance = 10f64.powf(1.0 - f64::from(i / 4) * 0.24);
            let zeta = if i % 2 == 0 { 0.01 } else { 0.0749 };
            let rho = if i % 4 < 2 { 1.075 + distance } else { 1.075 - distance.min(0.07) };
            let order = choice.at(rho, (rho - 1.075).abs().min(0.075 - zeta));
            seen.insert(order.halvings);
            let finer = AzimuthOrder {
                halvings: (order.halvings + 1).min(HALVINGS as u8 - 1),
                steps: (order.steps + 3).min(MOST_STEPS as u8),
                ..order
            };
            let [got, wanted] = [order, finer]
                .map(|order| winding_field(&corners, rho, zeta, order, InstructionSet::Fastest));
            let error = (got.0 - wanted.0).hypot(got.1 - wanted.1);
            // Rounding grows with the lengths in the integral, which far away are larger than the field.
            let allowed = 2e-13 * wanted.0.hypot(wanted.1) + 2e-15 * (2.0 + rho);
            assert!(error < allowed, "{order:?} at {rho}, {zeta}: {error:e}");
        }
        assert!(seen.len() > 30, "{seen:?}");
    }

    #[test]
    fn an_order_costs_less_where_the_tolerance_is_looser_and_more_near_the_boundary() {
        let corners = Corners { radius_m: [0.925, 1.075], half_width_m: 0.075, front_tesla_per_m: 1.0 };
        let nodes =
            |tolerance: f64, distance: f64| AzimuthChoice::new(&corners, tolerance).at(1.0, distance).nodes();
        assert!(nodes(1e-6, 0.01) < nodes(1e-9, 0.01) && nodes(1e-9, 0.01) < nodes(1e-12, 0.01));
        assert!(nodes(1e-12, 0.1) < nodes(1e-12, 1e-4) && nodes(1e-12, 1e-4) < nodes(1e-12, 0.0));
        assert!(nodes(1e-13, 0.0) <= NODES_A_STEP * MOST_STEPS);
    }
}
