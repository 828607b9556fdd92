//! A winding placed in space.

use super::section::Section;
use nalgebra::Vector3;

/// One winding where it stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PlacedWinding {
    /// Its section.
    pub section: Section,
    /// Its turns.
    pub turns: f64,
    /// Its centre.
    pub centre_m: Vector3<f64>,
    /// Unit vector along its axis; positive current makes field along it.
    pub axis: Vector3<f64>,
    /// Its current per ampere through the ammeter; negative for a coil connected backwards.
    pub current_share: f64,
}

impl PlacedWinding {
    /// A winding on the z axis, its centre `height_m` up, its current that of the ammeter.
    pub const fn on_axis(section: Section, turns: f64, height_m: f64) -> Self {
        let (centre_m, axis) = (Vector3::new(0.0, 0.0, height_m), Vector3::new(0.0, 0.0, 1.0));
        Self { section, turns, centre_m, axis, current_share: 1.0 }
    }
}
