//! The room's field added to the coils' field at a current.

use crate::Result;
use crate::error::Refused;
use nalgebra::Vector3;

/// The whole field at a point: b I + B_room. b is the coils' field there per ampere (T/A), I the current through the
/// ammeter (A), B_room the room's field (T), all in bench axes.
pub fn whole_field_tesla(
    coils_tesla_per_ampere: &Vector3<f64>,
    current_ampere: f64,
    room_tesla: &Vector3<f64>,
) -> Vector3<f64> {
    coils_tesla_per_ampere * current_ampere + room_tesla
}

/// The room's field, and the coil current at which it is added to the coils' field.
///
/// ```
/// use coilwright::physics::room::RoomAdded;
/// use nalgebra::Vector3;
/// let room = RoomAdded::new(Vector3::new(0.0, -40e-6, 20e-6), 2.0)?;
/// let whole = room.at(&Vector3::new(0.0, 0.0, 800e-6));
/// assert!((whole - Vector3::new(0.0, -40e-6, 1620e-6)).norm() < 1e-18);
/// assert!(RoomAdded::new(Vector3::zeros(), 0.0).is_err());
/// # Ok::<(), coilwright::Error>(())
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RoomAdded {
    field_tesla: Vector3<f64>,
    current_ampere: f64,
}

impl RoomAdded {
    /// The room's field `field_tesla` (T, bench axes) beside the coils' at `current_ampere` (A), which is negative for the
    /// reversed current.
    ///
    /// # Errors
    /// - [`Refused::NoCurrentForRoom`]: the current is zero, so the coils make no field to compare with, or is not finite.
    /// - [`Refused::RoomFieldNotFinite`]: a component of the room's field is not finite.
    pub fn new(field_tesla: Vector3<f64>, current_ampere: f64) -> Result<Self> {
        if current_ampere == 0.0 || !current_ampere.is_finite() {
            return Err(Refused::NoCurrentForRoom { current_ampere }.into());
        }
        if !field_tesla.iter().all(|component| component.is_finite()) {
            return Err(Refused::RoomFieldNotFinite { field_tesla: field_tesla.into() }.into());
        }
        Ok(Self { field_tesla, current_ampere })
    }

    /// The room's field, T, bench axes.
    pub fn field_tesla(&self) -> Vector3<f64> {
        self.field_tesla
    }

    /// The coil current, A; finite and not zero.
    pub fn current_ampere(&self) -> f64 {
        self.current_ampere
    }

    /// The room's field over the current, T/A: what adds to the coils' field per ampere.
    pub fn per_ampere(&self) -> Vector3<f64> {
        self.field_tesla / self.current_ampere
    }

    /// The whole field (T) at a point where the coils make `coils_tesla_per_ampere` (T/A).
    pub fn at(&self, coils_tesla_per_ampere: &Vector3<f64>) -> Vector3<f64> {
        whole_field_tesla(coils_tesla_per_ampere, self.current_ampere, &self.field_tesla)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Error;

    #[test]
    fn the_whole_field_over_the_current_is_the_coils_field_and_the_rooms_part() {
        let (coils, room) = (Vector3::new(1e-5, -2e-5, 8e-4), Vector3::new(3e-6, -4e-5, 2e-5));
        for current in [-2.5, 0.3, 10.0] {
            let added = RoomAdded::new(room, current).unwrap();
            let difference = added.at(&coils) / current - (coils + added.per_ampere());
            assert!(difference.norm() < 1e-15 * coils.norm().max(room.norm() / 0.3), "{current} A");
        }
    }

    #[test]
    fn no_current_or_a_field_that_is_no_number_is_refused_by_name() {
        for current in [0.0, -0.0, f64::NAN, f64::INFINITY] {
            let refused = RoomAdded::new(Vector3::z(), current).unwrap_err();
            assert!(
                matches!(refused, Error::Refused(Refused::NoCurrentForRoom { .. })),
                "{current} A: {refused}"
            );
        }
        let refused = RoomAdded::new(Vector3::z() * f64::NAN, 1.0).unwrap_err();
        assert!(matches!(refused, Error::Refused(Refused::RoomFieldNotFinite { .. })), "{refused}");
    }
}
