//! The readings of a file in the order of the quantities.

use super::subject::{CoilQuantity, Quantity};
use crate::files::spec::{CoilReadings, Measured, MeasuredValue};

/// The readings of the pair, in the order of [`Quantity::ALL`].
pub(super) fn pair_readings(measured: &Measured) -> [Option<MeasuredValue>; Quantity::COUNT] {
    [
        measured.resistance_ohm,
        measured.field_tesla_per_ampere,
        measured.inductance_henry,
        measured.conductor_mass_kg,
        measured.overall_wire_diameter_m,
        measured.inner_diameter_m,
        measured.outer_diameter_m,
        measured.width_m,
        measured.spacing_m,
    ]
}

/// The readings of one coil, in the order of [`CoilQuantity::ALL`].
pub(super) fn coil_readings(coil: &CoilReadings) -> [Option<MeasuredValue>; CoilQuantity::COUNT] {
    [
        coil.turns,
        coil.resistance_ohm,
        coil.inner_diameter_m,
        coil.outer_diameter_m,
        coil.width_m,
        coil.inductance_henry,
        coil.conductor_mass_kg,
        coil.offset_m[0],
        coil.offset_m[1],
        coil.tilt_rad[0],
        coil.tilt_rad[1],
    ]
}
