//! Checks that the bulb fits between the coils and the beam's circles fit into the bulb.

use super::checks::Checks;
use crate::pair::*;
use crate::units::{Dimension, display};

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
            let rooms = bench.distances_to_coils_m(wall_m, &centre_m).into_iter().zip(["a", "b"]);
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
    use nalgebra::Vector3;

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
}
