//! The gun: exit and direction of the beam, and the body that may stop it.

use crate::Result;
use crate::error::Refused;
use crate::pair::{Tube, direction_of};
use nalgebra::{UnitVector3, Vector3};

/// Radius of the gun's body behind its exit, m: common practice, no source; a spec does not describe it.
pub const GUN_BODY_RADIUS_M: f64 = 5e-3;
/// Length of the gun's body behind its exit, m: common practice, no source.
pub const GUN_BODY_LENGTH_M: f64 = 30e-3;

/// Exit and direction of the beam.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gun {
    /// Where the beam leaves the gun.
    pub exit_m: Vector3<f64>,
    /// Direction in which it leaves.
    pub direction: UnitVector3<f64>,
}

impl Gun {
    /// A gun whose beam leaves `exit_m` (m, bench axes) along `direction`, a vector of any length.
    ///
    /// # Errors
    /// [`Refused::NoDirection`] if the direction is zero or not finite, [`Refused::GunNotUsable`] if the exit is not
    /// finite.
    pub fn new(exit_m: Vector3<f64>, direction: Vector3<f64>) -> Result<Self> {
        let gun = Self { exit_m, direction: direction_of(direction)? };
        gun.checked().map(|()| gun)
    }

    /// Refuses an exit that is not finite and a direction that is not of length one, which unchecked constructors of
    /// [`UnitVector3`] let through.
    pub(super) fn checked(&self) -> Result<()> {
        /// A normalised vector has length one within rounding.
        const ROUNDING: f64 = 1e-9;
        let unit = (self.direction.norm() - 1.0).abs() < ROUNDING;
        match unit && self.exit_m.iter().all(|part| part.is_finite()) {
            true => Ok(()),
            false => Err(Refused::GunNotUsable {
                exit_m: self.exit_m.into(),
                direction: self.direction.into_inner().into(),
            }
            .into()),
        }
    }

    /// The gun of a tube, turned out of the beam plane by `tilt_rad`, positive toward +z. A gun along the axis stays as
    /// it is.
    pub fn of(tube: &Tube, tilt_rad: f64) -> Self {
        let flat = in_beam_plane(&tube.gun_direction);
        let elevation = tube.gun_direction.z.clamp(-1.0, 1.0).asin() + tilt_rad;
        let direction = match flat {
            Some(flat) => UnitVector3::new_unchecked(flat * elevation.cos() + Vector3::z() * elevation.sin()),
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
        let aside = (from_exit - self.direction.into_inner() * ahead).norm();
        (aside - GUN_BODY_RADIUS_M).max(ahead).max(-ahead - GUN_BODY_LENGTH_M)
    }
}

/// The direction's part in the beam plane as a unit vector; `None` if it points along the axis.
pub(super) fn in_beam_plane(direction: &Vector3<f64>) -> Option<Vector3<f64>> {
    Vector3::new(direction.x, direction.y, 0.0).try_normalize(1e-9)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Error;
    use crate::physics::beam::{Electron, PathLength, PathOptions, trace};

    #[test]
    fn the_radius_does_not_depend_on_the_length_of_the_direction_given() {
        let electron = Electron::after(200.0).unwrap();
        let options = PathOptions::in_the_open(PathLength::HalfCircle);
        let radius_m = |direction: Vector3<f64>| {
            let gun = Gun::new(Vector3::x() * 0.05, direction).unwrap();
            trace(|_| Vector3::z() * 1e-3, &electron, &gun, &options).unwrap().read_radius_m().unwrap()
        };
        let expected = electron.radius_in_uniform_field_m(1e-3);
        for length in [0.5, 1.0, 2.0] {
            let found = radius_m(Vector3::y() * length);
            // The integrator's tolerance is 1e-12.
            assert!((found / expected - 1.0).abs() < 1e-11, "{length}: {found} m, wanted {expected} m");
        }
    }

    #[test]
    fn a_direction_of_another_length_that_came_in_unchecked_is_refused() {
        let electron = Electron::after(200.0).unwrap();
        let options = PathOptions::in_the_open(PathLength::HalfCircle);
        for (exit_m, direction) in [
            (Vector3::x() * 0.05, UnitVector3::new_unchecked(Vector3::y() * 2.0)),
            (Vector3::x() * 0.05, UnitVector3::new_normalize(Vector3::zeros())),
            (Vector3::x() * f64::NAN, Vector3::y_axis()),
        ] {
            let gun = Gun { exit_m, direction };
            let refused = trace(|_| Vector3::z() * 1e-3, &electron, &gun, &options).unwrap_err();
            assert!(matches!(refused, Error::Refused(Refused::GunNotUsable { .. })), "{gun:?}: {refused}");
        }
        assert!(Gun::new(Vector3::x() * f64::NAN, Vector3::y()).is_err());
        assert!(Gun::new(Vector3::zeros(), Vector3::zeros()).is_err());
    }
}
