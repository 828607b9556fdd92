//! Checks that the bulb fits between the coils and the beam's circles fit into the bulb.

use super::checks::Checks;
use crate::pair::*;
use crate::units::{Dimension, display};
use nalgebra::{Rotation3, Vector3};

fn length(si: f64) -> String {
    display(si, Dimension::Length, 4)
}

/// The bulb must not overlap a coil, and should not overlap a former.
pub(super) fn bulb_clear_of_coils(checks: &mut Checks, bench: &Bench, tube: &StatedTube) {
    let Some(Bulb { centre_m, radius_m }) = tube.bulb() else { return };
    let coils = ["winding.mean_radius", "winding.width", "winding.depth", "spacing", "as_built"];
    if !checks.sound(&coils) || !checks.sound(&["tube.bulb_radius", "tube.bulb_centre"]) {
        return;
    }
    let designed = bench.clone().as_designed();
    let seen = if bench.as_built.is_some() { vec![&designed, bench] } else { vec![&designed] };
    for bench in seen {
        let room = |wall_m: f64| {
            let rooms = distances_to_coils(bench, wall_m, &centre_m).into_iter().zip(["a", "b"]);
            rooms.min_by(|one, other| one.0.total_cmp(&other.0)).unwrap_or((f64::MAX, "a"))
        };
        let as_built = if bench.model == Model::AsBuilt { " as built" } else { "" };
        let (distance, name) = room(0.0);
        if distance < radius_m {
            checks.disagree(
                "tube.bulb_radius",
                format!(
                    "the bulb of radius {} hits coil {name}{as_built}, {} from its centre",
                    length(radius_m),
                    length(distance)
                ),
                format!("a bulb here has room for a radius of {}", length(distance)),
            );
            return;
        }
        let wall = bench.former.as_ref().and_then(|former| former.wall_m).unwrap_or(0.0);
        let (distance, name) = room(wall);
        if distance < radius_m {
            checks.warn(
                "tube.bulb_radius",
                format!(
                    "the bulb of radius {} reaches into the former of coil {name}{as_built}, {} from its centre",
                    length(radius_m),
                    length(distance)
                ),
                format!("with walls of {} a bulb here has room for {}", length(wall), length(distance)),
            );
            return;
        }
    }
}

impl Bench {
    /// Radius of the largest bulb about a centre that fits between the coils, with the walls of their formers as far as the
    /// spec states them.
    pub fn room_for_bulb_m(&self, centre_m: &Vector3<f64>) -> f64 {
        let wall_m = self.former.as_ref().and_then(|former| former.wall_m).unwrap_or(0.0);
        distances_to_coils(self, wall_m, centre_m).into_iter().fold(f64::INFINITY, f64::min)
    }
}

/// Distances from a point to the nearest part of coil a and of coil b, with a wall of this thickness under and beside
/// the windings.
fn distances_to_coils(bench: &Bench, wall_m: f64, point_m: &Vector3<f64>) -> [f64; 2] {
    let [a, b] = bench.coils();
    let half = 0.5 * bench.spacing_m;
    [(a, -half), (b, half)].map(|(coil, z)| distance_to_coil(&coil, z, wall_m, point_m))
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

/// The beam's circles at positive current must stay inside the bulb.
pub(super) fn circles_inside_bulb(checks: &mut Checks, stated: &StatedTube) {
    let (Some(tube), Some(bulb), Some(radii)) = (stated.with_gun(), stated.bulb(), stated.beam_radius_m)
    else {
        return;
    };
    let Some(largest) = tube.largest_radius_in_bulb_m(1.0).filter(|_| checks.sound(&["tube"])) else {
        return;
    };
    for (at, radius) in radii.into_iter().enumerate() {
        if radius <= largest {
            continue;
        }
        let fits_on_the_other_side = tube.largest_radius_in_bulb_m(-1.0).is_some_and(|other| radius <= other);
        let hint = if fits_on_the_other_side {
            "at negative current the circle lies on the other side of the gun and stays inside: turn \
             `gun_direction` round, or move `gun_exit` to the other side"
                .to_owned()
        } else {
            format!(
                "the largest circle from this gun exit that stays inside has a radius of {}",
                length(largest)
            )
        };
        checks.disagree(
            &format!("tube.beam_radius[{at}]"),
            format!(
                "a beam circle of radius {} leaves the bulb: it reaches {} from the centre of a bulb of radius {}",
                length(radius),
                length(farthest_from_bulb_centre(&tube, radius)),
                length(bulb.radius_m)
            ),
            hint,
        );
        return;
    }
}

/// Distance of the farthest point of a beam circle at positive current from the bulb's centre.
fn farthest_from_bulb_centre(tube: &Tube, radius_m: f64) -> f64 {
    let from_bulb = tube.circle_centre_m(radius_m) - tube.bulb_centre_m;
    (from_bulb.xy().norm() + radius_m).hypot(from_bulb.z)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_circle_through_the_gun_exit_reaches_as_far_as_its_far_side() {
        // Upwards from x = 50 mm: the centre is at 50 mm − r, the far side at 50 mm − 2 r.
        let tube = Tube {
            bulb_radius_m: Some(0.08),
            bulb_centre_m: Vector3::zeros(),
            gun_exit_m: Vector3::new(0.05, 0.0, 0.0),
            gun_direction: Vector3::y_axis(),
            gun_voltage_volt: None,
            gun_voltage_offset_volt: None,
            beam_radius_m: None,
        };
        assert!((farthest_from_bulb_centre(&tube, 0.06) - 0.07).abs() < 1e-15);
    }

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
