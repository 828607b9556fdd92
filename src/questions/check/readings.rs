//! A reading as it is judged, and the readings of a file in the order of the quantities.

use super::record::LimitsFrom;
use super::subject::{CoilQuantity, Quantity, Subject};
use crate::files::spec::{CoilReadings, Measured, MeasuredValue};
use crate::judgement::limit::Limits;

/// A reading with the spec's value and limits.
pub(super) struct Reading {
    pub(super) subject: Subject,
    pub(super) value: MeasuredValue,
    pub(super) expected: Option<f64>,
    pub(super) limits: Limits,
    pub(super) limits_from: LimitsFrom,
}

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
