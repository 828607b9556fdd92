//! Resistance, current split, inductance, force.

use crate::spec::{Bench, Coil, Connection, Model};
use std::f64::consts::TAU;

/// Length of wire in one coil: turns times the mean turn.
pub fn wire_length_m(coil: &Coil) -> f64 {
    TAU * coil.mean_radius_m * coil.turns
}

/// Resistance of one coil at 20 °C, leads not counted: measured where the spec has it, else ρ ℓ / A.
pub fn coil_resistance_at_20_celsius_ohm(bench: &Bench, coil: &Coil) -> f64 {
    let wire = &bench.winding.wire;
    match coil.resistance {
        Some(measured) => measured.ohm / wire.conductor.resistance_ratio(measured.at_celsius),
        None => {
            wire.conductor.resistivity_at_20_celsius_ohm_m() * wire_length_m(coil) / wire.conductor_area_m2()
        }
    }
}

/// Each coil's current per ampere of the supply: 1 in series; in parallel split by the coils' resistances.
pub fn current_shares(bench: &Bench, model: Model) -> [f64; 2] {
    match bench.connection {
        Connection::Series => [1.0, 1.0],
        Connection::Parallel => {
            let [a, b] = bench.coils(model).map(|coil| coil_resistance_at_20_celsius_ohm(bench, &coil));
            [b / (a + b), a / (a + b)]
        }
    }
}
