//! Changes that move all runs in the same way.

/// A shared change of the quantities that the runs depend on.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Shift {
    pub slope: f64,
    pub current_gain: f64,
    /// Added to the magnitude of every current: the zero of a meter before the reversal.
    pub current_size_ampere: f64,
    /// Added to every current with its sign: the zero of a meter after the reversal.
    pub current_ampere: f64,
    pub voltage_gain: f64,
    pub voltage_volt: f64,
    pub radius: f64,
    /// Added to the room's axial field.
    pub room_tesla: f64,
}

impl Shift {
    pub(super) fn none() -> Self {
        Self::default()
    }
}
