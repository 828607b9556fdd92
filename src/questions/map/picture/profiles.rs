//! The deviation along the axis and across the mid-plane.

use crate::paper::{Axis, Chart, Figure, panels};
use crate::questions::map::{FieldMap, Profile};
use crate::units::unit;

/// Draws the profiles of a map.
pub fn profiles(map: &FieldMap) -> Figure {
    let points = |profile: &Profile| -> Vec<[f64; 2]> {
        profile.distance_m.iter().zip(&profile.deviation).map(|(x, d)| [*x, *d]).collect()
    };
    let deviation = || Axis::new("deviation", unit::PERCENT).from_zero();
    let mut along = Chart::new("Along the axis", Axis::new("z", unit::MILLIMETRE), deviation());
    along.curve("", points(&map.axis_profile));
    along.level("", 0.0);
    let mut across = Chart::new(
        "Across the mid-plane",
        Axis::new("distance from the centre", unit::MILLIMETRE),
        deviation(),
    );
    if map.x_profile.deviation == map.y_profile.deviation {
        across.curve("", points(&map.x_profile));
    } else {
        across.curve("along x", points(&map.x_profile));
        across.curve("along y", points(&map.y_profile));
    }
    across.level("", 0.0);
    panels(&map.provenance.spec_title, &[&along, &across], 1, &map.provenance.to_string())
}
