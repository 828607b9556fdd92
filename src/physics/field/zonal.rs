//! The field of one winding about a point of its own axis, as numbers that another program can sum.
//!
//! ```text
//! B_ζ = Σ b_n r^n P_n(cos θ)        B_ρ = −Σ b_n/(n + 1) r^n sin θ P_n'(cos θ)
//! b_n = (μ0/2) Σ I a²/c³ · C_n(u)/c^n
//! ```
//!
//! The symbols, the source and the bound on what is left out stand in [`axis_series`](super::axis_series), the engine's
//! own use of the same series.

use super::axis_series::truncation;
use super::placed::PlacedWinding;
use crate::constants::MU_0;
use crate::numeric::quadrature::gauss_legendre;
use nalgebra::Vector3;
use serde::Serialize;

/// Gauss nodes along each side of the section: they serve 400 terms of a section a third as deep as its radius.
const NODES: usize = 24;
/// The most terms.
const MOST_TERMS: usize = 400;

/// One winding's field, per ampere through the ammeter.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct ZonalExpansion {
    /// The point of the winding's axis that is nearest to the point asked for.
    pub foot_m: [f64; 3],
    /// Unit vector along the axis.
    pub axis: [f64; 3],
    /// Distance from the foot to the nearest conductor. The series converges nearer than that.
    pub scale_m: f64,
    /// b_n scale^n, T/A, from n = 0 on.
    pub terms_tesla_per_ampere: Vec<f64>,
}

impl ZonalExpansion {
    /// The expansion of a winding for points up to `reach_m` from `centre_m`: terms are taken until their bound is
    /// `tolerance` of the field at the foot, 400 at most. `None` if the winding leaves no room round its axis.
    pub fn of(
        winding: &PlacedWinding,
        centre_m: &Vector3<f64>,
        reach_m: f64,
        tolerance: f64,
    ) -> Option<Self> {
        let above = (winding.centre_m - centre_m).dot(&winding.axis);
        let foot_m = winding.centre_m - winding.axis * above;
        let scale_m = clearance_m(winding, centre_m)?;
        let q = ((foot_m - centre_m).norm() + reach_m) / scale_m;
        let terms = (1..MOST_TERMS)
            .find(|terms| q < 1.0 && truncation(*terms, q) <= tolerance)
            .map_or(MOST_TERMS, |highest| highest + 1);
        Some(Self {
            foot_m: foot_m.into(),
            axis: winding.axis.into(),
            scale_m,
            terms_tesla_per_ampere: coefficients(winding, above, scale_m, terms),
        })
    }

    /// The field at a point, T/A: what a program that carries the numbers finds.
    pub fn field_per_ampere(&self, point_m: &Vector3<f64>) -> Vector3<f64> {
        let axis = Vector3::from(self.axis);
        let from_foot = (point_m - Vector3::from(self.foot_m)) / self.scale_m;
        let (zeta, r2) = (from_foot.dot(&axis), from_foot.norm_squared());
        // s_n = r^n P_n and t_n = r^(n−1) P_n', upward.
        let (mut s, mut t) = ([0.0, 1.0], [0.0, 0.0]);
        let (mut axial, mut radial) = (0.0, 0.0);
        for (n, b) in self.terms_tesla_per_ampere.iter().enumerate() {
            axial += b * s[1];
            radial -= b * t[1] / (n + 1) as f64;
            let m = (n + 1) as f64;
            s = [s[1], ((2.0 * m - 1.0) * zeta * s[1] - (m - 1.0) * r2 * s[0]) / m];
            t = match n {
                0 => [0.0, 1.0],
                _ => [t[1], ((2.0 * m - 1.0) * zeta * t[1] - m * r2 * t[0]) / (m - 1.0)],
            };
        }
        (from_foot - axis * zeta) * radial + axis * axial
    }
}

/// Distance from the point of the winding's axis nearest to `centre_m` to the nearest conductor. `None` if the winding
/// leaves no room round its axis.
pub(crate) fn clearance_m(winding: &PlacedWinding, centre_m: &Vector3<f64>) -> Option<f64> {
    let section = winding.section;
    let above = (winding.centre_m - centre_m).dot(&winding.axis);
    let inner_m = section.mean_radius_m - 0.5 * section.depth_m;
    let beyond_m = (above.abs() - 0.5 * section.width_m).max(0.0);
    (inner_m > 0.0).then(|| inner_m.hypot(beyond_m))
}

/// b_n scale^n, summed over the Gauss product of the section, which lies `above` over the foot.
fn coefficients(winding: &PlacedWinding, above_m: f64, scale_m: f64, terms: usize) -> Vec<f64> {
    let section = winding.section;
    let mut sums = vec![0.0; terms];
    let nodes = gauss_legendre(NODES);
    for (u, along) in &nodes {
        for (v, across) in &nodes {
            let a = section.mean_radius_m + 0.5 * section.depth_m * u;
            let height = above_m + 0.5 * section.width_m * v;
            let inverse = 1.0 / a.hypot(height);
            let weight = 0.25 * along * across * winding.turns * winding.current_share;
            let front = 0.5 * MU_0 * weight * a * a * inverse.powi(3);
            let (x, s2) = (height * inverse * scale_m * inverse, (scale_m * inverse).powi(2));
            let (mut before, mut here) = (0.0, front);
            for (n, sum) in sums.iter_mut().enumerate() {
                *sum += here;
                let m = (n + 1) as f64;
                (before, here) = (here, ((2.0 * m + 1.0) * x * here - (m + 1.0) * s2 * before) / m);
            }
        }
    }
    sums
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::physics::field::{Assembly, Section};
    use nalgebra::Rotation3;

    #[test]
    fn a_tilted_winding_off_the_origin_has_the_engines_field_as_near_as_nine_tenths_of_the_clearance() {
        // The engine is the second method: filaments with elliptic integrals where its own series does not reach.
        for (width_m, depth_m, height_m) in [(0.015, 0.01, 0.08), (0.04, 0.05, 0.07), (1e-4, 1e-4, 0.0)] {
            let winding = PlacedWinding {
                section: Section { mean_radius_m: 0.16, width_m, depth_m },
                turns: 150.0,
                centre_m: Vector3::new(1e-3, -2e-3, height_m),
                axis: Rotation3::new(Vector3::new(0.01, -0.02, 0.0)) * Vector3::z(),
                current_share: -0.5,
            };
            let centre_m = Vector3::new(0.004, 0.0, 0.002);
            let reach_m = 0.88 * clearance_m(&winding, &centre_m).unwrap();
            let expansion = ZonalExpansion::of(&winding, &centre_m, reach_m, 1e-10).unwrap();
            assert!(expansion.terms_tesla_per_ampere.len() < MOST_TERMS);
            let engine = Assembly::new(vec![winding]);
            let at_foot = engine.field_per_ampere(&Vector3::from(expansion.foot_m)).norm();
            for i in 0..60 {
                // A spiral over the ball.
                let (z, turn) = (f64::from(2 * i - 59) / 60.0, 2.4 * f64::from(i));
                let across = (1.0 - z * z).sqrt();
                let point = centre_m
                    + Vector3::new(across * turn.cos(), across * turn.sin(), z)
                        * (reach_m * (f64::from(i % 7) / 6.0).sqrt());
                let (got, wanted) = (expansion.field_per_ampere(&point), engine.field_per_ampere(&point));
                let off = (got - wanted).norm() / at_foot;
                assert!(off < 2e-10, "{width_m} {height_m} {point:?}: {off:e}");
            }
        }
    }
}
