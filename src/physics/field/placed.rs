//! A winding placed in space.

use super::section::Section;
use crate::pair::circuit::current_shares_of;
use crate::pair::{Bench, Coil};
use nalgebra::{Rotation3, Vector3};

/// One winding with its position and axis.
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
    /// A winding on the z axis, its centre at z = `height_m`, its current that of the ammeter.
    pub const fn on_axis(section: Section, turns: f64, height_m: f64) -> Self {
        let (centre_m, axis) = (Vector3::new(0.0, 0.0, height_m), Vector3::new(0.0, 0.0, 1.0));
        Self { section, turns, centre_m, axis, current_share: 1.0 }
    }

    /// A pair of coils connected as the bench says, coil a at −spacing/2 and coil b at +spacing/2 plus their offsets.
    pub fn pair(bench: &Bench, coils: &[Coil; 2], spacing_m: f64) -> [Self; 2] {
        let shares = current_shares_of(bench, coils);
        let half = 0.5 * spacing_m;
        let place = |coil: &Coil, z: f64, share: f64| Self {
            section: Section {
                mean_radius_m: coil.mean_radius_m,
                width_m: coil.width_m,
                depth_m: coil.depth_m,
            },
            turns: coil.turns,
            centre_m: Vector3::new(0.0, 0.0, z) + coil.offset_m,
            axis: Rotation3::new(Vector3::new(coil.tilt_rad[0], coil.tilt_rad[1], 0.0)) * Vector3::z(),
            current_share: share * coil.sense,
        };
        [place(&coils[0], -half, shares[0]), place(&coils[1], half, shares[1])]
    }
}
