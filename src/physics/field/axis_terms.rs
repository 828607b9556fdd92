//! The power series of an assembly's field along its axis: the terms by which a builder judges a pair.

use super::assembly::{Accuracy, Assembly};
use nalgebra::Vector3;
use serde::Serialize;
use std::f64::consts::PI;

/// Points on the axis; the polynomial through them has this many terms.
const POINTS: usize = 24;

/// The axial field near the centre, B_z(0, 0, z)/B_z(0, 0, 0) = 1 + c₁ z + c₂ z² + c₃ z³ + c₄ z⁴ + …
///
/// In a pair with spacing equal to the mean radius R, c₂ nearly vanishes and c₄ is −1.152/R⁴. The same terms give the
/// field off the axis, where z^n becomes r^n P_n(cos θ).
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct AxisTerms {
    /// Axial field at the centre per ampere through the ammeter.
    pub centre_tesla_per_ampere: f64,
    /// c₁: zero in a mirror-symmetric pair.
    pub first_order_per_m: f64,
    /// c₂: zero if the spacing suits the section.
    pub second_order_per_m2: f64,
    /// c₃: zero in a mirror-symmetric pair.
    pub third_order_per_m3: f64,
    /// c₄: what remains of a good pair.
    pub fourth_order_per_m4: f64,
}

impl Assembly {
    /// The terms about the origin along z, from the polynomial through 24 Chebyshev points within `reach_m` (m, above 0)
    /// of it. A third of the distance to the nearest conductor suits; c₂ reach² is then accurate to about 1e-12 and
    /// c₄ reach⁴ to 1e-10. `None` if the field at the centre vanishes or is not finite, or if no finite terms follow.
    ///
    /// ```
    /// use coilwright::physics::field::{Assembly, PlacedWinding, Section};
    /// let section = Section { mean_radius_m: 0.15, width_m: 1e-4, depth_m: 1e-4 };
    /// let coil = |z_m| PlacedWinding::on_axis(section, 136.0, z_m);
    /// let terms = Assembly::new(vec![coil(-0.075), coil(0.075)]).axis_terms(0.05).unwrap();
    /// // c₄ = −1.152/R⁴ for thin coils one radius apart.
    /// assert!((terms.fourth_order_per_m4 * 0.15f64.powi(4) + 1.152).abs() < 1e-4);
    /// ```
    pub fn axis_terms(&self, reach_m: f64) -> Option<AxisTerms> {
        let node = |k: usize| (PI * (k as f64 + 0.5) / POINTS as f64).cos();
        let points: Vec<Vector3<f64>> =
            (0..POINTS).map(|k| Vector3::new(0.0, 0.0, reach_m * node(k))).collect();
        // Differences of values magnify the error that the tolerance leaves.
        let exact = self.clone().with_accuracy(Accuracy::of_rounding());
        let values: Vec<f64> = exact.field_per_ampere_at(&points).iter().map(|field| field.z).collect();
        // Chebyshev coefficients, then the powers of t = z/reach up to the fourth by T_{j+1} = 2 t T_j − T_{j−1}.
        let (mut before, mut here) = ([0.0; 5], [1.0, 0.0, 0.0, 0.0, 0.0]);
        let mut power = [0.0; 5];
        for j in 0..POINTS {
            let sum: f64 = values
                .iter()
                .enumerate()
                .map(|(k, value)| value * (PI * j as f64 * (k as f64 + 0.5) / POINTS as f64).cos())
                .sum();
            let coefficient = sum * if j == 0 { 1.0 } else { 2.0 } / POINTS as f64;
            for (power, term) in power.iter_mut().zip(here) {
                *power += coefficient * term;
            }
            let factor = if j == 0 { 1.0 } else { 2.0 };
            let mut next = [0.0; 5];
            for n in 0..5 {
                next[n] = if n > 0 { factor * here[n - 1] } else { 0.0 } - before[n];
            }
            (before, here) = (here, next);
        }
        let centre = power[0];
        if centre == 0.0 || !power.iter().all(|term| term.is_finite()) {
            return None;
        }
        let order = |n: usize| power[n] / centre / reach_m.powi(n as i32);
        Some(AxisTerms {
            centre_tesla_per_ampere: centre,
            first_order_per_m: order(1),
            second_order_per_m2: order(2),
            third_order_per_m3: order(3),
            fourth_order_per_m4: order(4),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::physics::field::{PlacedWinding, Section};

    fn pair(spacing: f64, width: f64, depth: f64) -> Assembly {
        let winding = |z: f64| {
            PlacedWinding::on_axis(Section { mean_radius_m: 1.0, width_m: width, depth_m: depth }, 1.0, z)
        };
        Assembly::new(vec![winding(-0.5 * spacing), winding(0.5 * spacing)])
    }

    #[test]
    fn an_ideal_pair_has_no_second_order_and_the_published_fourth() {
        // −144/125: Ruark and Peters, JOSA 13, 205 (1926) (from memory); exact by sympy.
        let terms = pair(1.0, 1e-6, 1e-6).axis_terms(0.35).unwrap();
        assert!(terms.second_order_per_m2.abs() < 1e-11, "{terms:?}");
        assert!((terms.fourth_order_per_m4 + 1.152).abs() < 1e-9, "{terms:?}");
        // Rounding of the values, 1e-16, grows as the square and the fourth power of the number of points.
        assert!(terms.first_order_per_m.abs() < 1e-12 && terms.third_order_per_m3.abs() < 1e-10, "{terms:?}");
    }

    #[test]
    fn maxwells_section_leaves_almost_no_second_order() {
        // c₂ = (62 c² − 72 b²)/125 to second order in the section, b the width and c the depth (Maxwell, Treatise art.
        // 713, from memory: c : b = √36 : √31); the remaining c₂ at b = 0.1 is −3.23e-5 by exact expansion.
        let depth = 0.1 * (36.0_f64 / 31.0).sqrt();
        let terms = pair(1.0, 0.1, depth).axis_terms(0.35).unwrap();
        assert!((terms.second_order_per_m2 + 3.23e-5).abs() < 2e-7, "{terms:?}");
        let inverse = pair(1.0, 0.1, 0.1 * (31.0_f64 / 36.0).sqrt()).axis_terms(0.35).unwrap();
        assert!((inverse.second_order_per_m2 + 1.51e-3).abs() < 1e-5, "{inverse:?}");
        // The spacings that null it exactly: sympy and mpmath, b = c = 0.1, and b = 0.2, c = 0.1.
        for (spacing, width, depth) in
            [(1.000_431_265_64, 0.1, 0.1), (1.009_475_784_21, 0.2, 0.1), (0.992_718_641_391, 0.1, 0.2)]
        {
            let terms = pair(spacing, width, depth).axis_terms(0.35).unwrap();
            assert!(terms.second_order_per_m2.abs() < 1e-10, "{spacing}: {terms:?}");
        }
    }

    #[test]
    fn coils_that_cancel_have_no_terms() {
        let mut windings = pair(1.0, 0.1, 0.1).windings().to_vec();
        windings[0].current_share = 0.0;
        windings[1].current_share = 0.0;
        assert_eq!(Assembly::new(windings).axis_terms(0.3), None);
    }
}
