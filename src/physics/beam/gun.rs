//! The gun: exit and direction of the beam, and the body that may stop it.

use crate::pair::Tube;
use nalgebra::Vector3;

/// Radius of the gun's body behind its exit, m: common practice, no source; a spec does not describe it.
pub const GUN_BODY_RADIUS_M: f64 = 5e-3;
/// Length of the gun's body behind its exit, m: common practice, no source.
pub const GUN_BODY_LENGTH_M: f64 = 30e-3;

/// Exit and direction of the beam.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gun {
    /// Where the beam leaves the gun.
    pub exit_m: Vector3<f64>,
    /// Unit vector along which it leaves.
    pub direction: Vector3<f64>,
}

impl Gun {
    /// The gun of a tube, turned out of the beam plane by `tilt_rad`, positive toward +z.
    pub fn of(tube: &Tube, tilt_rad: f64) -> Self {
        let flat = in_beam_plane(&tube.gun_direction);
        let elevation = tube.gun_direction.z.clamp(-1.0, 1.0).asin() + tilt_rad;
        let direction = match flat {
            Some(flat) => flat * elevation.cos() + Vector3::z() * elevation.sin(),
            None => tube.gun_direction,
        };
        Self { exit_m: tube.gun_exit_m, direction }
    }

    /// Share of the momentum that lies across the axis of the pair.
    pub(crate) fn transverse_share(&self) -> f64 {
        self.direction.x.hypot(self.direction.y)
    }

    /// Distance to the gun's body, a cylinder behind the exit; negative inside it.
    pub(super) fn distance_to_body_m(&self, point_m: &Vector3<f64>) -> f64 {
        let from_exit = point_m - self.exit_m;
        let ahead = from_exit.dot(&self.direction);
        let aside = (from_exit - self.direction * ahead).norm();
        (aside - GUN_BODY_RADIUS_M).max(ahead).max(-ahead - GUN_BODY_LENGTH_M)
    }
}

/// The direction's part in the beam plane as a unit vector; `None` if it points along the axis.
pub(super) fn in_beam_plane(direction: &Vector3<f64>) -> Option<Vector3<f64>> {
    Vector3::new(direction.x, direction.y, 0.0).try_normalize(1e-9)
}
