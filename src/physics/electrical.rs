//! Resistance, current split, inductance, force: what the supply sees of a pair.

use super::field;
use super::field::Assembly;
use crate::pair::{Bench, Coil, Connection};
use serde::Serialize;
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

/// Resistance of the two coils as connected, at 20 °C, leads not counted.
pub fn pair_resistance_at_20_celsius_ohm(bench: &Bench) -> f64 {
    let [a, b] = bench.coils().map(|coil| coil_resistance_at_20_celsius_ohm(bench, &coil));
    match bench.connection {
        Connection::Series => a + b,
        Connection::Parallel => a * b / (a + b),
    }
}

/// What the supply sees with the copper at `celsius`: the coils as connected, warm, and the leads, which stay at
/// room temperature.
pub fn circuit_resistance_ohm(bench: &Bench, celsius: f64) -> f64 {
    let warm = bench.winding.wire.conductor.resistance_ratio(celsius);
    pair_resistance_at_20_celsius_ohm(bench) * warm + bench.lead_resistance_ohm.unwrap_or(0.0)
}

/// Each coil's current per ampere of the supply: 1 in series; in parallel split by the coils' resistances.
pub fn current_shares(bench: &Bench) -> [f64; 2] {
    match bench.connection {
        Connection::Series => [1.0, 1.0],
        Connection::Parallel => {
            let [a, b] = bench.coils().map(|coil| coil_resistance_at_20_celsius_ohm(bench, &coil));
            [b / (a + b), a / (a + b)]
        }
    }
}

/// Inductances of a pair and what follows from them.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Inductances {
    /// Self-inductance of coil a and of coil b.
    pub self_henry: [f64; 2],
    /// Mutual inductance, positive when the coils' fields help each other.
    pub mutual_henry: f64,
    /// Inductance of the pair as connected.
    pub pair_henry: f64,
}

/// Inductances of the coils of `bench`.
///
/// In series L = L_a + L_b + 2 M. In parallel L = (L_a L_b − M²)/(L_a + L_b − 2 M): what an inductance meter shows
/// when the coils' resistances matter little.
pub fn inductances(bench: &Bench, assembly: &Assembly) -> Inductances {
    let [a, b] = bench.coils();
    let [winding_a, winding_b] = [&assembly.windings()[0], &assembly.windings()[1]];
    let self_a = field::self_inductance_henry(&winding_a.section, winding_a.turns);
    let self_b = field::self_inductance_henry(&winding_b.section, winding_b.turns);
    let mutual = a.sense * b.sense * field::mutual_inductance_henry(winding_a, winding_b);
    let pair = match bench.connection {
        Connection::Series => self_a + self_b + 2.0 * mutual,
        Connection::Parallel => (self_a * self_b - mutual * mutual) / (self_a + self_b - 2.0 * mutual),
    };
    Inductances { self_henry: [self_a, self_b], mutual_henry: mutual, pair_henry: pair }
}

/// Energy stored in the pair's field at a steady supply current: ½ Σ L_ij I_i I_j, the currents split by resistance.
pub fn stored_energy_joule(bench: &Bench, inductances: &Inductances, current_ampere: f64) -> f64 {
    let [a, b] = current_shares(bench).map(|share| share * current_ampere);
    let [self_a, self_b] = inductances.self_henry;
    0.5 * (self_a * a * a + self_b * b * b) + inductances.mutual_henry * a * b
}

/// Force between the two coils along the axis, per square of the supply's current; positive when they attract.
pub fn axial_force_newton_per_ampere_squared(assembly: &Assembly) -> f64 {
    let [a, b] = [&assembly.windings()[0], &assembly.windings()[1]];
    // The force on b points toward a, along −z, when they attract.
    -field::force_and_torque(b, a).force_newton_per_ampere_squared.z * a.current_share * b.current_share
}
