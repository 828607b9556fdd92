//! Whether the bulb fits between the coils and the beam's circles fit into the bulb.

use super::bench::*;
use super::physical::Checks;
use super::tube::*;
use crate::units::{Dimension, display};
use nalgebra::{Rotation3, Vector3};

fn length(si: f64) -> String {
    display(si, Dimension::Length, 4)
}

/// The bulb must not reach into a coil; it should not reach into a former either.
pub(super) fn bulb_clear_of_coils(checks: &mut Checks, bench: &Bench, tube: &Tube) {
    let coils = ["winding.mean_radius", "winding.width", "winding.depth", "spacing", "as_built"];
    if !checks.sound(&coils) || !checks.sound(&["tube.bulb_radius", "tube.bulb_centre"]) {
        return;
    }
    let models: &[Model] =
        if bench.as_built.is_some() { &[Model::Nominal, Model::AsBuilt] } else { &[Model::Nominal] };
    for model in models {
        let room = |wall_m: f64| {
            let half = 0.5 * bench.spacing_m;
            let rooms = bench
                .coils(*model)
                .into_iter()
                .zip([-half, half])
                .map(|(coil, z)| distance_to_coil(&coil, z, wall_m, &tube.bulb_centre_m));
            rooms.zip(["a", "b"]).min_by(|one, other| one.0.total_cmp(&other.0)).unwrap_or((f64::MAX, "a"))
        };
        let as_built = if *model == Model::AsBuilt { " as built" } else { "" };
        let (distance, name) = room(0.0);
        if distance < tube.bulb_radius_m {
            checks.disagree(
                "tube.bulb_radius",
                format!(
                    "the bulb of radius {} hits coil {name}{as_built}, {} from its centre",
                    length(tube.bulb_radius_m),
                    length(distance)
                ),
                format!("a bulb here has room for a radius of {}", length(distance)),
            );
            return;
        }
        let wall = bench.former.as_ref().and_then(|former| former.wall_m).unwrap_or(0.0);
        let (distance, name) = room(wall);
        if distance < tube.bulb_radius_m {
            checks.warn(
                "tube.bulb_radius",
                format!(
                    "the bulb of radius {} reaches into the former of coil {name}{as_built}, {} from its centre",
                    length(tube.bulb_radius_m),
                    length(distance)
                ),
                format!("with walls of {} a bulb here has room for {}", length(wall), length(distance)),
            );
            return;
        }
    }
}

/// From a point to the nearest part of a coil, with so much wall under and beside its winding.
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

/// The circles that the beam makes at positive current must stay inside the bulb.
pub(super) fn circles_inside_bulb(checks: &mut Checks, tube: &Tube) {
    let Some(radii) = tube.beam_radius_m.filter(|_| checks.sound(&["tube"])) else { return };
    for (at, radius) in radii.into_iter().enumerate() {
        let farthest = farthest_from_bulb_centre(tube, radius);
        if farthest <= tube.bulb_radius_m {
            continue;
        }
        let hint = if farthest_from_bulb_centre(tube, -radius) <= tube.bulb_radius_m {
            "at negative current the circle lies on the other side of the gun and stays inside: turn \
             `gun_direction` round, or move `gun_exit` to the other side"
                .to_owned()
        } else {
            format!(
                "the largest circle from this gun exit that stays inside has a radius of {}",
                length(largest_radius_inside(tube))
            )
        };
        checks.disagree(
            &format!("tube.beam_radius[{at}]"),
            format!(
                "a beam circle of radius {} leaves the bulb: it reaches {} from the centre of a bulb of radius {}",
                length(radius),
                length(farthest),
                length(tube.bulb_radius_m)
            ),
            hint,
        );
        return;
    }
}

/// How far the farthest point of a beam circle lies from the bulb's centre; a negative radius for negative
/// current.
fn farthest_from_bulb_centre(tube: &Tube, radius_m: f64) -> f64 {
    let from_bulb = tube.circle_centre_m(radius_m) - tube.bulb_centre_m;
    (from_bulb.xy().norm() + radius_m.abs()).hypot(from_bulb.z)
}

/// The largest circle at positive current that stays inside; the reach grows with the radius.
fn largest_radius_inside(tube: &Tube) -> f64 {
    let (mut inside, mut outside) = (0.0, tube.bulb_radius_m);
    // Fifty halvings leave nothing of the bulb's radius.
    for _ in 0..50 {
        let middle = 0.5 * (inside + outside);
        if farthest_from_bulb_centre(tube, middle) <= tube.bulb_radius_m {
            inside = middle;
        } else {
            outside = middle;
        }
    }
    inside
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tube(gun_direction: Vector3<f64>) -> Tube {
        Tube {
            bulb_radius_m: 0.08,
            bulb_centre_m: Vector3::zeros(),
            gun_exit_m: Vector3::new(0.05, 0.0, 0.0),
            gun_direction,
            gun_voltage_volt: None,
            gun_voltage_offset_volt: None,
            beam_radius_m: None,
        }
    }

    #[test]
    fn a_circle_through_the_gun_exit_reaches_as_far_as_its_far_side() {
        // Upwards from x = 50 mm: the centre lies at 50 mm − r, the far side at 50 mm − 2 r.
        let tube = tube(Vector3::y());
        assert!((farthest_from_bulb_centre(&tube, 0.06) - 0.07).abs() < 1e-15);
        assert!((farthest_from_bulb_centre(&tube, -0.01) - 0.07).abs() < 1e-15);
        // 50 mm − 2 r = −80 mm.
        assert!((largest_radius_inside(&tube) - 0.065).abs() < 1e-12);
    }

    #[test]
    fn the_nearest_part_of_a_coil_is_an_edge_of_its_section() {
        let mut winding = Bench::thin_pair().winding;
        (winding.mean_radius_m, winding.width_m, winding.depth_m) = (0.15, 0.02, 0.01);
        // From the origin to the inner edge: 145 mm out and 65 mm along.
        let distance = distance_to_coil(&winding.designed_coil(), 0.075, 0.0, &Vector3::zeros());
        assert!((distance - 0.145f64.hypot(0.065)).abs() < 1e-15);
        let with_wall = distance_to_coil(&winding.designed_coil(), 0.075, 0.005, &Vector3::zeros());
        assert!((with_wall - 0.14f64.hypot(0.06)).abs() < 1e-15);
    }
}
