//! The room between the coils.

use super::{Bench, Coil};
use nalgebra::{Rotation3, Vector3};

impl Bench {
    /// Radius of the largest bulb about a centre that fits between the coils, with the walls of their formers as far as the
    /// spec states them.
    pub fn room_for_bulb_m(&self, centre_m: &Vector3<f64>) -> f64 {
        let wall_m = self.former.as_ref().and_then(|former| former.wall_m).unwrap_or(0.0);
        self.distances_to_coils_m(wall_m, centre_m).into_iter().fold(f64::INFINITY, f64::min)
    }

    /// Distances from a point to the nearest part of coil a and of coil b, with a wall of this thickness under and beside
    /// the windings.
    pub(crate) fn distances_to_coils_m(&self, wall_m: f64, point_m: &Vector3<f64>) -> [f64; 2] {
        let [a, b] = self.coils();
        let half = 0.5 * self.spacing_m;
        [(a, -half), (b, half)].map(|(coil, z)| distance_to_coil(&coil, z, wall_m, point_m))
    }
}

/// Distance from a point to the nearest part of a coil, with a wall of this thickness under and beside its winding.
fn distance_to_coil(coil: &Coil, nominal_z_m: f64, wall_m: f64, point_m: &Vector3<f64>) -> f64 {
    let centre = Vector3::new(0.0, 0.0, nominal_z_m) + coil.offset_m;
    let axis = Rotation3::new(Vector3::new(coil.tilt_rad[0], coil.tilt_rad[1], 0.0)) * Vector3::z();
    let from_centre = point_m - centre;
    let along = from_centre.dot(&axis);
    let radial = (from_centre - axis * along).norm();
    let inner = coil.mean_radius_m - 0.5 * coil.depth_m - wall_m;
    let outer = coil.mean_radius_m + 0.5 * coil.depth_m;
    let beside = (along.abs() - 0.5 * coil.width_m - wall_m).max(0.0);
    let across = (inner - radial).max(radial - outer).max(0.0);
    across.hypot(beside)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pair::{Cheeks, Former};

    #[test]
    fn the_nearest_part_of_a_coil_is_an_edge_of_its_section() {
        let mut winding = Bench::thin_pair().winding;
        (winding.mean_radius_m, winding.width_m, winding.depth_m) = (0.15, 0.02, 0.01);
        // From the origin to the inner edge: 145 mm outward and 65 mm along the axis.
        let distance = distance_to_coil(&winding.designed_coil(), 0.075, 0.0, &Vector3::zeros());
        assert!((distance - 0.145f64.hypot(0.065)).abs() < 1e-15);
        let with_wall = distance_to_coil(&winding.designed_coil(), 0.075, 0.005, &Vector3::zeros());
        assert!((with_wall - 0.14f64.hypot(0.06)).abs() < 1e-15);
    }

    #[test]
    fn the_room_for_a_bulb_ends_at_the_wall_of_the_former() {
        let mut bench = Bench::thin_pair();
        let winding = &mut bench.winding;
        (winding.mean_radius_m, winding.width_m, winding.depth_m) = (0.158, 0.020, 0.0096);
        bench.spacing_m = 0.158;
        let room = |bench: &Bench| bench.room_for_bulb_m(&Vector3::zeros());
        // By hand: 69 mm along the axis and 153.2 mm outward; with a wall of 4 mm 65 and 149.2.
        assert!((room(&bench) - 0.1532f64.hypot(0.069)).abs() < 1e-12);
        bench.former = Some(Former {
            material: None,
            wall_m: Some(0.004),
            cheeks: Cheeks::Both,
            expansion_per_kelvin: None,
        });
        assert!((room(&bench) - 0.1492f64.hypot(0.065)).abs() < 1e-12);
    }
}
