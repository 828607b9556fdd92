//! The field vector at these points.

#[cfg(feature = "paper")]
pub mod words;

use nalgebra::Vector3;

/// The field at a coil current, from the coils' field per ampere and the field of the room, which is zero where it is left
/// out. In tesla, from tesla per ampere and ampere.
pub fn at_current(per_ampere: &Vector3<f64>, current_ampere: f64, room_tesla: &Vector3<f64>) -> Vector3<f64> {
    per_ampere * current_ampere + room_tesla
}
