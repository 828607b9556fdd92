//! The pair as a circuit: the resistance of its coils, and the split of the current between them.

use super::{Bench, Coil, Connection, Layout, Winding};
use crate::Result;
use std::f64::consts::TAU;

impl Connection {
    /// The other way to connect two coils.
    pub(crate) const fn other(self) -> Self {
        match self {
            Self::Series => Self::Parallel,
            Self::Parallel => Self::Series,
        }
    }

    /// Resistance of two resistances connected in this way: R = a + b in series, 1/R = 1/a + 1/b in parallel.
    pub(crate) fn of_two_ohm(self, a: f64, b: f64) -> f64 {
        match self {
            Self::Series => a + b,
            Self::Parallel => a * b / (a + b),
        }
    }
}

/// Length of wire in one coil, without its free ends: turns times the mean turn. If the winding states its layers and the
/// last one is not full, the mean turn lies inside the middle of the section.
pub fn wire_length_m(winding: &Winding, coil: &Coil) -> f64 {
    TAU * Layout::wound(winding, coil).mean_radius_m * coil.turns
}

/// Resistance of one coil at 20 °C without leads: the measured value if the spec has one, else ρ ℓ / A.
pub(crate) fn coil_resistance_at_20_celsius_ohm(bench: &Bench, coil: &Coil) -> f64 {
    let wire = &bench.winding.wire;
    match coil.resistance {
        Some(measured) => measured.ohm / wire.conductor.resistance_ratio(measured.at_celsius),
        None => {
            wire.conductor.resistivity_at_20_celsius_ohm_m() * wire_length_m(&bench.winding, coil)
                / wire.conductor_area_m2()
        }
    }
}

/// Resistance of the two coils as connected, at 20 °C, without leads.
pub fn pair_resistance_at_20_celsius_ohm(bench: &Bench) -> f64 {
    let [a, b] = bench.coils().map(|coil| coil_resistance_at_20_celsius_ohm(bench, &coil));
    bench.connection.of_two_ohm(a, b)
}

/// The resistance at the supply with the copper at `celsius`: the warm coils as connected plus the leads, which stay at
/// room temperature.
pub fn circuit_resistance_ohm(bench: &Bench, celsius: f64) -> f64 {
    let warm = bench.winding.wire.conductor.resistance_ratio(celsius);
    pair_resistance_at_20_celsius_ohm(bench) * warm + bench.lead_resistance_ohm.unwrap_or(0.0)
}

/// The largest current that the supply drives: its current limit, or less if its voltage limit drives less through the
/// coils at room temperature.
///
/// # Errors
/// The spec states no current limit.
pub fn largest_current_ampere(bench: &Bench) -> Result<f64> {
    let limit = bench.current_limit_ampere()?;
    let by_voltage = bench.supply.and_then(|supply| supply.voltage_limit_volt);
    let cold_ohm = circuit_resistance_ohm(bench, bench.room_temperature_celsius());
    Ok(by_voltage.map_or(limit, |volt| limit.min(volt / cold_ohm)))
}

/// Each coil's current per ampere of the supply: 1 in series; in parallel split by the coils' resistances.
pub(crate) fn current_shares(bench: &Bench) -> [f64; 2] {
    current_shares_of(bench, &bench.coils())
}

/// Each coil's current per ampere of the supply, for other coils with the bench's connection and wire.
pub(crate) fn current_shares_of(bench: &Bench, coils: &[Coil; 2]) -> [f64; 2] {
    match bench.connection {
        Connection::Series => [1.0, 1.0],
        Connection::Parallel => {
            let [a, b] = coils.each_ref().map(|coil| coil_resistance_at_20_celsius_ohm(bench, coil));
            [b / (a + b), a / (a + b)]
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_resistances_add_in_series_and_their_conductances_in_parallel() {
        assert_eq!(Connection::Series.of_two_ohm(3.0, 6.0), 9.0);
        // 1/3 S + 1/6 S = 1/2 S.
        assert_eq!(Connection::Parallel.of_two_ohm(3.0, 6.0), 2.0);
        assert_eq!(Connection::Parallel.of_two_ohm(6.0, 3.0), 2.0);
        // Beside a short circuit nothing else counts.
        assert_eq!(Connection::Parallel.of_two_ohm(0.0, 6.0), 0.0);
    }
}
