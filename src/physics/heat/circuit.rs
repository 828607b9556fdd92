//! The pair as a load: the current in each coil as the coils warm.

use crate::Result;
use crate::error::Refused;
use crate::pair::circuit;
use crate::pair::{Bench, Connection, Regulation, Supply};

/// Two coils and their leads, with the growth of the coils' resistance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Circuit {
    /// Series or parallel.
    pub connection: Connection,
    /// Resistance between supply and pair, assumed to stay at room temperature.
    pub lead_resistance_ohm: f64,
    /// Resistance of each coil at 20 °C.
    pub coil_at_20_celsius_ohm: [f64; 2],
    /// Temperature coefficient at 20 °C.
    pub coefficient_per_kelvin: f64,
}

/// The setting of a supply: it gives the current it is set to, or less if its voltage drives less.
///
/// Both values are magnitudes, because the heat does not depend on the current's direction.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Drive {
    current_ampere: f64,
    voltage_volt: f64,
}

impl Drive {
    /// Switched off.
    pub const OFF: Self = Self::held(0.0);

    /// A supply that holds a current of `current_ampere` (A) until that takes more than `voltage_volt` (V), and then
    /// holds this voltage. Infinity means that nothing limits the quantity. Only the magnitudes count.
    ///
    /// ```
    /// use coilwright::physics::heat::circuit::Drive;
    /// let drive = Drive::new(-2.0, f64::INFINITY)?;
    /// assert_eq!(drive.current_ampere(), 2.0);
    /// # Ok::<(), coilwright::Error>(())
    /// ```
    ///
    /// # Errors
    /// [`Refused::SupplySetting`] if a value is NaN, or if neither is finite.
    pub fn new(current_ampere: f64, voltage_volt: f64) -> Result<Self> {
        let drive = Self { current_ampere: current_ampere.abs(), voltage_volt: voltage_volt.abs() };
        let usable = !current_ampere.is_nan()
            && !voltage_volt.is_nan()
            && drive.current_ampere.min(drive.voltage_volt).is_finite();
        match usable {
            true => Ok(drive),
            false => Err(Refused::SupplySetting { current_ampere, voltage_volt }.into()),
        }
    }

    /// A current held at any voltage. The current must be a number, which is not checked.
    pub(crate) const fn held(current_ampere: f64) -> Self {
        Self { current_ampere: current_ampere.abs(), voltage_volt: f64::INFINITY }
    }

    /// The current it holds, or its largest current, A; infinite if nothing limits it.
    pub fn current_ampere(&self) -> f64 {
        self.current_ampere
    }

    /// The voltage it holds, or its largest voltage, V; infinite if nothing limits it.
    pub fn voltage_volt(&self) -> f64 {
        self.voltage_volt
    }

    /// Current and voltage multiplied by a factor that is not negative.
    pub(super) fn times(&self, factor: f64) -> Self {
        Self { current_ampere: self.current_ampere * factor, voltage_volt: self.voltage_volt * factor }
    }
}

/// The currents at one moment.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Currents {
    /// Through the ammeter.
    pub supply_ampere: f64,
    /// Through each coil.
    pub coil_ampere: [f64; 2],
    /// Voltage at the supply's terminals.
    pub supply_volt: f64,
}

impl Circuit {
    /// The circuit of a bench.
    pub fn of(bench: &Bench) -> Self {
        Self {
            connection: bench.connection,
            lead_resistance_ohm: bench.lead_resistance_ohm.unwrap_or(0.0),
            coil_at_20_celsius_ohm: bench
                .coils()
                .map(|coil| circuit::coil_resistance_at_20_celsius_ohm(bench, &coil)),
            coefficient_per_kelvin: bench.winding.wire.conductor.resistance_coefficient_per_kelvin(),
        }
    }

    /// Resistance of one coil at a mean temperature: R₂₀ (1 + α (t − 20 °C)).
    pub(crate) fn coil_ohm(&self, coil: usize, celsius: f64) -> f64 {
        self.coil_at_20_celsius_ohm[coil]
            * (1.0
                + self.coefficient_per_kelvin * (celsius - crate::constants::REFERENCE_TEMPERATURE_CELSIUS))
    }

    /// Resistance at the supply's terminals.
    pub(crate) fn total_ohm(&self, celsius: [f64; 2]) -> f64 {
        let [a, b] = [self.coil_ohm(0, celsius[0]), self.coil_ohm(1, celsius[1])];
        self.lead_resistance_ohm + self.connection.of_two_ohm(a, b)
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
    /// voltage. Its limits, if known, stay in force, so that less may flow. Without a supply the current is held at any
    /// voltage. Current and limit are those of the supply; each of two coils in parallel carries a part.
    pub(crate) fn drive(&self, supply: Option<&Supply>, switch_on_ampere: f64, room_celsius: f64) -> Drive {
        let Some(supply) = supply else { return Drive::held(switch_on_ampere) };
        let current_limit_ampere = supply.current_limit_ampere.unwrap_or(f64::INFINITY);
        let voltage_limit_volt = supply.voltage_limit_volt.unwrap_or(f64::INFINITY);
        match supply.regulation {
            Regulation::Current => Drive {
                current_ampere: switch_on_ampere.min(current_limit_ampere),
                voltage_volt: voltage_limit_volt,
            },
            Regulation::Voltage => {
                let cold_volt = switch_on_ampere * self.total_ohm([room_celsius; 2]);
                Drive {
                    current_ampere: current_limit_ampere,
                    voltage_volt: cold_volt.min(voltage_limit_volt),
                }
            }
        }
    }

    /// The quantity that a supply with this setting holds at the moment of switching on, and the one whose limit keeps
    /// it below the current asked for, if any.
    pub(crate) fn held_at_switch_on(
        &self,
        drive: &Drive,
        regulation: Option<Regulation>,
        asked_ampere: f64,
        room_celsius: f64,
    ) -> (Regulation, Option<Regulation>) {
        // A setting exactly at the limit does not count as limited, whatever the rounding.
        const ROUNDING: f64 = 1e-12;
        let by_voltage = drive.voltage_volt / self.total_ohm([room_celsius; 2]);
        let held = if by_voltage < drive.current_ampere * (1.0 - ROUNDING) {
            Regulation::Voltage
        } else if drive.current_ampere < by_voltage * (1.0 - ROUNDING) {
            Regulation::Current
        } else {
            regulation.unwrap_or(Regulation::Current)
        };
        let held_back = by_voltage.min(drive.current_ampere) < asked_ampere * (1.0 - ROUNDING);
        (held, held_back.then_some(held))
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
    fn a_setting_counts_by_its_magnitude_and_one_that_is_no_number_is_refused() {
        assert_eq!(Drive::new(-2.0, f64::INFINITY).unwrap(), Drive::held(2.0));
        assert_eq!(Drive::held(-2.0), Drive::held(2.0));
        assert_eq!(Drive::new(f64::INFINITY, -5.0).unwrap().voltage_volt(), 5.0);
        for [current, voltage] in
            [[f64::NAN, 5.0], [f64::NAN, f64::INFINITY], [2.0, f64::NAN], [f64::INFINITY, f64::NEG_INFINITY]]
        {
            let refused = Drive::new(current, voltage).unwrap_err();
            assert!(
                matches!(refused, crate::Error::Refused(Refused::SupplySetting { .. })),
                "{current} A, {voltage} V: {refused}"
            );
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

    #[test]
    fn no_supply_gives_more_than_its_current_limit_and_the_limit_is_that_of_both_coils_together() {
        let supply = |regulation, volt| Supply {
            voltage_limit_volt: Some(volt),
            current_limit_ampere: Some(3.0),
            regulation,
        };
        let parallel = circuit(Connection::Parallel);
        for regulation in [Regulation::Current, Regulation::Voltage] {
            let drive = parallel.drive(Some(&supply(regulation, 22.0)), 20.0, 20.0);
            let currents = parallel.currents(&drive, [20.0; 2]);
            // 2.4 Ω and 0.5 Ω: 22 V would drive 7.6 A.
            assert_relative_eq!(currents.supply_ampere, 3.0, max_relative = 1e-14);
            assert_relative_eq!(currents.coil_ampere.iter().sum::<f64>(), 3.0, max_relative = 1e-14);
            let held = parallel.held_at_switch_on(&drive, Some(regulation), 20.0, 20.0);
            assert_eq!(held, (Regulation::Current, Some(Regulation::Current)));
            // 10.5 Ω on 22 V: the voltage limit comes first.
            let series = circuit(Connection::Series);
            let drive = series.drive(Some(&supply(regulation, 22.0)), 20.0, 20.0);
            assert_relative_eq!(series.currents(&drive, [20.0; 2]).supply_ampere, 22.0 / 10.5);
            let held = series.held_at_switch_on(&drive, Some(regulation), 20.0, 20.0);
            assert_eq!(held, (Regulation::Voltage, Some(Regulation::Voltage)));
            // Exactly at the limit nothing is limited, and the supply holds the quantity it regulates.
            let drive = series.drive(Some(&supply(regulation, 31.5)), 3.0, 20.0);
            assert_eq!(series.held_at_switch_on(&drive, Some(regulation), 3.0, 20.0), (regulation, None));
        }
        assert_eq!(parallel.drive(None, 20.0, 20.0), Drive::held(20.0));
    }
}
