//! The pair as a load: what current each coil carries when the coils have warmed.

use crate::electrical;
use crate::spec::{Bench, Connection, Model, Regulation, Supply};

/// Two coils, their leads, and how their resistance grows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Circuit {
    /// Series or parallel.
    pub connection: Connection,
    /// Between supply and pair; taken to stay at room temperature.
    pub lead_resistance_ohm: f64,
    /// Each coil at 20 °C.
    pub coil_at_20_celsius_ohm: [f64; 2],
    /// Temperature coefficient at 20 °C.
    pub coefficient_per_kelvin: f64,
}

/// What a supply is set to: it gives the smaller of a current and what a voltage drives.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Drive {
    /// The current it holds, or at most gives.
    pub current_ampere: f64,
    /// The voltage it holds, or at most gives; infinite where nothing limits it.
    pub voltage_volt: f64,
}

impl Drive {
    /// Switched off.
    pub const OFF: Self = Self::held(0.0);

    /// A current held whatever voltage it takes.
    pub const fn held(current_ampere: f64) -> Self {
        Self { current_ampere, voltage_volt: f64::INFINITY }
    }
}

/// The currents at one moment.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Currents {
    /// Through the ammeter.
    pub supply_ampere: f64,
    /// Through each coil.
    pub coil_ampere: [f64; 2],
    /// At the supply's terminals.
    pub supply_volt: f64,
}

impl Circuit {
    /// The circuit of a bench.
    pub fn of(bench: &Bench, model: Model) -> Self {
        Self {
            connection: bench.connection,
            lead_resistance_ohm: bench.lead_resistance_ohm.unwrap_or(0.0),
            coil_at_20_celsius_ohm: bench
                .coils(model)
                .map(|coil| electrical::coil_resistance_at_20_celsius_ohm(bench, &coil)),
            coefficient_per_kelvin: bench.winding.wire.conductor.resistance_coefficient_per_kelvin(),
        }
    }

    /// Resistance of one coil at a mean temperature: R₂₀ (1 + α (t − 20 °C)).
    pub fn coil_ohm(&self, coil: usize, celsius: f64) -> f64 {
        self.coil_at_20_celsius_ohm[coil]
            * (1.0
                + self.coefficient_per_kelvin * (celsius - crate::constants::REFERENCE_TEMPERATURE_CELSIUS))
    }

    /// Resistance at the supply's terminals.
    pub fn total_ohm(&self, celsius: [f64; 2]) -> f64 {
        let [a, b] = [self.coil_ohm(0, celsius[0]), self.coil_ohm(1, celsius[1])];
        self.lead_resistance_ohm
            + match self.connection {
                Connection::Series => a + b,
                Connection::Parallel => a * b / (a + b),
            }
    }

    /// The currents that a supply drives through coils of the given mean temperatures.
    pub fn currents(&self, drive: &Drive, celsius: [f64; 2]) -> Currents {
        let total_ohm = self.total_ohm(celsius);
        let supply_ampere = drive.current_ampere.min(drive.voltage_volt / total_ohm);
        let coil_ampere = match self.connection {
            Connection::Series => [supply_ampere; 2],
            Connection::Parallel => {
                let [a, b] = [self.coil_ohm(0, celsius[0]), self.coil_ohm(1, celsius[1])];
                [supply_ampere * b / (a + b), supply_ampere * a / (a + b)]
            }
        };
        Currents { supply_ampere, coil_ampere, supply_volt: supply_ampere * total_ohm }
    }

    /// The setting that gives `switch_on_ampere` at the moment of switching on, for a supply that holds current or
    /// voltage; its other limit stays in force where it is known. Without a supply a current is held whatever it takes.
    pub fn drive(&self, supply: Option<&Supply>, switch_on_ampere: f64, room_celsius: f64) -> Drive {
        let cold_volt = switch_on_ampere * self.total_ohm([room_celsius; 2]);
        match supply {
            None => Drive::held(switch_on_ampere),
            Some(supply) => match supply.regulation {
                Regulation::Current => {
                    let voltage_volt = supply.voltage_limit_volt.unwrap_or(f64::INFINITY);
                    Drive { current_ampere: switch_on_ampere, voltage_volt }
                }
                Regulation::Voltage => Drive {
                    current_ampere: supply
                        .current_limit_ampere
                        .map_or(f64::INFINITY, |limit| limit.max(switch_on_ampere)),
                    voltage_volt: cold_volt,
                },
            },
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn circuit(connection: Connection) -> Circuit {
        Circuit {
            connection,
            lead_resistance_ohm: 0.5,
            coil_at_20_celsius_ohm: [4.0, 6.0],
            coefficient_per_kelvin: 0.00393,
        }
    }

    #[test]
    fn ohms_law_and_the_current_rule_hold_for_coils_of_unequal_warmth() {
        let drive = Drive::held(2.0);
        let celsius = [70.0, 40.0];
        for connection in [Connection::Series, Connection::Parallel] {
            let circuit = circuit(connection);
            let currents = circuit.currents(&drive, celsius);
            let drop = |coil: usize| currents.coil_ampere[coil] * circuit.coil_ohm(coil, celsius[coil]);
            match connection {
                Connection::Series => {
                    assert_eq!(currents.coil_ampere, [2.0, 2.0]);
                    assert_relative_eq!(currents.supply_volt, drop(0) + drop(1) + 1.0, max_relative = 1e-14);
                }
                Connection::Parallel => {
                    assert_relative_eq!(drop(0), drop(1), max_relative = 1e-14);
                    assert_relative_eq!(currents.coil_ampere.iter().sum::<f64>(), 2.0, max_relative = 1e-14);
                    assert_relative_eq!(currents.supply_volt, drop(0) + 1.0, max_relative = 1e-14);
                }
            }
        }
    }

    #[test]
    fn a_voltage_supply_gives_less_as_the_copper_warms_and_a_current_supply_stops_at_its_voltage() {
        let circuit = circuit(Connection::Series);
        let supply = |regulation| Supply {
            voltage_limit_volt: Some(22.0),
            current_limit_ampere: Some(3.0),
            regulation,
        };
        let held_voltage = circuit.drive(Some(&supply(Regulation::Voltage)), 2.0, 20.0);
        assert_relative_eq!(
            circuit.currents(&held_voltage, [20.0; 2]).supply_ampere,
            2.0,
            max_relative = 1e-14
        );
        // 10 Ω of copper 50 K warmer: 2 A × 10.5 / (10 × 1.1965 + 0.5).
        let warm = circuit.currents(&held_voltage, [70.0; 2]).supply_ampere;
        assert_relative_eq!(warm, 2.0 * 10.5 / 12.465, max_relative = 1e-12);
        let held_current = circuit.drive(Some(&supply(Regulation::Current)), 2.0, 20.0);
        assert_relative_eq!(
            circuit.currents(&held_current, [30.0; 2]).supply_ampere,
            2.0,
            max_relative = 1e-14
        );
        let starved = circuit.currents(&held_current, [70.0; 2]);
        assert_relative_eq!(starved.supply_volt, 22.0, max_relative = 1e-14);
        assert!(starved.supply_ampere < 2.0);
    }
}
