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
//! The integrand's nearest singularity lies about s = (distance from the section's boundary)/√(ρ max(ρ, a₁)) from
//! φ = 0, so panels shrink fourfold toward φ = 0 down to that scale: with n nodes a panel the error falls as
//! 3^(−2n). The x are formed from a − ρ and 1 − cos φ, so no distance is lost. What remains of cancellation grows as
//! mean radius over section size, which is why thread-thin sections use this close by only.
//!
//! Derived here by integrating the Biot–Savart kernel; checked to 1e-22 against the double integral over loops by
//! `tools/make_field_tables.py` and against its table in the tests of `winding.rs`.

use crate::numeric::lanes::{InstructionSet, Lanes};
use crate::numeric::quadrature::gauss_legendre;
use pulp::{Simd, WithSimd};
use std::f64::consts::PI;
use std::sync::LazyLock;

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

/// Nodes a panel, in order of accuracy.
const ORDERS: [usize; 2] = [8, 16];
/// Panels that shrink fourfold from π: enough for a point 1e-16 from the boundary.
const PANELS: usize = 27;

/// Nodes of one panel; each column as long as the order.
struct Panel {
    versine: Vec<f64>,
    sine: Vec<f64>,
    weight: Vec<f64>,
}

/// All panels of one order.
struct Rule {
    /// From π/4^(k+1) to π/4^k.
    graded: Vec<Panel>,
    /// From 0 to π/4^k.
    closing: Vec<Panel>,
}

static RULES: LazyLock<[Rule; 2]> = LazyLock::new(|| {
    ORDERS.map(|order| {
        let rule = gauss_legendre(order);
        let panel = |low: f64, high: f64| {
            let angles = rule.iter().map(|(t, _)| low + 0.5 * (high - low) * (1.0 + t));
            Panel {
                versine: angles.clone().map(|phi| 2.0 * (0.5 * phi).sin().powi(2)).collect(),
                sine: angles.map(f64::sin).collect(),
                weight: rule.iter().map(|(_, weight)| 0.5 * (high - low) * weight).collect(),
            }
        };
        let edge = |k: usize| PI * 0.25f64.powi(k as i32);
        Rule {
            graded: (0..PANELS).map(|k| panel(edge(k + 1), edge(k))).collect(),
            closing: (0..=PANELS).map(|k| panel(0.0, edge(k))).collect(),
        }
    })
});

/// How far the azimuth is divided for one point.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct AzimuthOrder {
    panels: usize,
    rule: usize,
}

impl AzimuthOrder {
    /// For a point at `distance_m` from the boundary of the section, to a relative tolerance.
    pub fn new(corners: &Corners, rho_m: f64, distance_m: f64, tolerance: f64) -> Self {
        let scale = distance_m / (rho_m * rho_m.max(corners.radius_m[0])).sqrt();
        // The closing panel may reach as far as the singularity is away: 0.5 · 4^(-panels) π ≤ scale.
        let panels = (0.5 * (PI / scale).log2()).ceil().clamp(1.0, PANELS as f64);
        Self {
            panels: if panels.is_nan() { PANELS } else { panels as usize },
            rule: usize::from(tolerance < 1e-6),
        }
    }

    /// Nodes in all.
    pub fn nodes(self) -> usize {
        ORDERS[self.rule] * (self.panels + 1)
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
    let (b_rho, b_zeta) = set.run(Integral { corners, rho_m, zeta_m: zeta_m.abs(), order });
    let front = corners.front_tesla_per_m;
    (front * b_rho * if zeta_m < 0.0 { -1.0 } else { 1.0 }, front * b_zeta)
}

struct Integral<'a> {
    corners: &'a Corners,
    rho_m: f64,
    zeta_m: f64,
    order: AzimuthOrder,
}

impl WithSimd for Integral<'_> {
    type Output = (f64, f64);

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) -> (f64, f64) {
        let rule = &RULES[self.order.rule];
        let zero = Lanes::splat(simd, 0.0);
        let mut sum = (zero, zero);
        let panels = rule.graded[..self.order.panels].iter();
        for panel in panels.chain(std::iter::once(&rule.closing[self.order.panels])) {
            let versine = S::as_simd_f64s(&panel.versine).0;
            let sine = S::as_simd_f64s(&panel.sine).0;
            let weight = S::as_simd_f64s(&panel.weight).0;
            for ((&versine, &sine), &weight) in versine.iter().zip(sine).zip(weight) {
                let weight = Lanes::new(simd, weight);
                let (f_rho, f_zeta) = self.integrand(simd, Lanes::new(simd, versine), Lanes::new(simd, sine));
                sum = (weight.mul_add(f_rho, sum.0), weight.mul_add(f_zeta, sum.1));
            }
        }
        (sum.0.sum(), sum.1.sum())
    }
}

impl Integral<'_> {
    /// The two braces at azimuths given by 1 − cos φ and sin φ.
    #[inline(always)]
    fn integrand<S: Simd>(&self, simd: S, versine: Lanes<S>, sine: Lanes<S>) -> (Lanes<S>, Lanes<S>) {
        // No closures here: code for the widest registers does not reach into them.
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
            (g21 * g22 * q1 / (g11 * g12 * q2)).ln()
        } else {
            (g21 * g12 / (g11 * g22)).ln()
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
    let straddles = g1 * g2 / zeta.mul_add(zeta, b2);
    // x₁ < x₂, so the three cases of sign are: x₁ ≥ 0, x₂ < 0, and one of each.
    let alike = x2.if_less(zero, g1, g2) / x2.if_less(zero, g2, g1);
    x1.if_less(zero, x2.if_less(zero, alike, straddles), alike).ln()
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
