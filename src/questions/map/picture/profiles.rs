//! The picture of the profiles: deviation along the axis and across the mid-plane, with the bulb, the beam and the
//! limit if one was given.

use crate::pair::{Bench, Tube};
use crate::paper::{Axis, Chart, Figure, panels};
use crate::questions::map::words::limit;
use crate::questions::map::{FieldMap, Profile};
use crate::units::unit;

/// Draws the profiles of a map. `bench` must be the bench of the map.
pub fn profiles(map: &FieldMap, bench: &Bench) -> Figure {
    let points = |profile: &Profile| -> Vec<[f64; 2]> {
        profile.distance_m.iter().zip(&profile.deviation).map(|(x, d)| [*x, *d]).collect()
    };
    let range = deviations_shown(map);
    let deviation = || Axis::new("deviation", unit::PERCENT).over(range);
    let mut along = Chart::new("Along the axis", Axis::new("z", unit::MILLIMETRE), deviation());
    along.curve("", points(&map.axis_profile));
    let mut across = Chart::new(
        "Across the mid-plane",
        Axis::new("distance from the axis", unit::MILLIMETRE),
        deviation(),
    );
    if map.x_profile.deviation == map.y_profile.deviation {
        across.curve("", points(&map.x_profile));
    } else {
        across.curve("along x", points(&map.x_profile));
        across.curve("along y", points(&map.y_profile));
    }
    let tube = bench.tube_with_beam().ok();
    for (chart, profile) in [(&mut along, &map.axis_profile), (&mut across, &map.x_profile)] {
        chart.level("", 0.0);
        limits(chart, map);
        if bench.bulb().is_ok() {
            ends(profile).into_iter().for_each(|end_m| chart.upright("bulb", end_m));
        }
    }
    if let Some(tube) = &tube {
        along.upright("beam plane", tube.gun_exit_m.z);
        if let Some(farthest_m) = beam_reach_m(tube) {
            [-farthest_m, farthest_m].into_iter().for_each(|end_m| across.upright("beam, farthest", end_m));
        }
    }
    panels(&map.provenance.spec_title, &[&along, &across], 1, &map.provenance.to_string())
}

/// Range of the deviation axis: all deviations, zero and the limit, with room for the names of lines.
fn deviations_shown(map: &FieldMap) -> [f64; 2] {
    const ROOM: f64 = 0.12;
    let profiles = [&map.axis_profile, &map.x_profile, &map.y_profile];
    let limit = map.within.map_or(0.0, |within| within.limit_fraction);
    let all = profiles.iter().flat_map(|profile| profile.deviation.iter().copied()).chain([limit, -limit]);
    let [least, most] = all.fold([0.0; 2], |[least, most], d| [f64::min(least, d), f64::max(most, d)]);
    let room = ROOM * (most - least).max(1e-12);
    [least - room, most + room]
}

/// Draws the limit on both sides of zero, if one was given.
fn limits(chart: &mut Chart, map: &FieldMap) {
    if let Some(within) = &map.within {
        let name = limit(within);
        chart.level(format!("limit +{name}"), within.limit_fraction);
        chart.level(format!("limit −{name}"), -within.limit_fraction);
    }
}

/// First and last distance of a profile. With a bulb in the spec these are its walls.
fn ends(profile: &Profile) -> [f64; 2] {
    [profile.distance_m.first(), profile.distance_m.last()].map(|end| end.copied().unwrap_or_default())
}

/// Largest distance from the axis that the beam's circles reach. `None` if the spec gives no beam radii or the gun
/// points along the axis.
fn beam_reach_m(tube: &Tube) -> Option<f64> {
    let radii = tube.beam_radius_m.filter(|_| tube.towards_circle_centre().norm() > 0.0)?;
    let reach = |radius_m: f64| tube.circle_centre_m(radius_m).xy().norm() + radius_m;
    Some(radii.map(reach).into_iter().fold(0.0, f64::max))
}
