//! The coil pair in thermal balance: the steady state for a current, a voltage or a temperature.

use super::circuit::{Circuit, Currents, Drive};
use super::coil::{CoilTemperatures, HeatedCoil};
use crate::numeric::roots::brent_root;
use crate::spec::{AxisPosition, Bench, Connection, Model};
use crate::{Error, Result};

/// Mean winding temperature up to which a steady state is sought: twice the highest thermal class, where neither
/// enamel nor solder is left.
pub const CEILING_CELSIUS: f64 = 500.0;
/// Where the second coil of an unequal pair stops being followed.
const BEYOND_CELSIUS: f64 = 1000.0;
/// How closely temperatures are located.
const TEMPERATURE_TOLERANCE_KELVIN: f64 = 1e-7;

/// Both coils of a bench as a thermal model.
#[derive(Clone, Debug)]
pub struct HeatedPair {
    /// Coil a, coil b.
    pub coils: [HeatedCoil; 2],
    /// How they are connected and what they resist.
    pub circuit: Circuit,
    /// Air and walls of the room.
    pub room_celsius: f64,
}

/// The pair with its heat made equal to its heat lost.
#[derive(Clone, Copy, Debug)]
pub struct SteadyPair {
    /// Coil a, coil b.
    pub coils: [CoilTemperatures; 2],
    /// What must flow for it.
    pub currents: Currents,
}

impl HeatedPair {
    /// The pair of a bench. The room is at 20 °C where the bench does not say.
    pub fn of(bench: &Bench, model: Model) -> Result<Self> {
        let room_celsius = bench.room_temperature_celsius();
        if !(-50.0..=100.0).contains(&room_celsius) {
            return Err(Error::value_with_hint(
                format!(
                    "the room is at {room_celsius} °C, and the heating model holds from -50 °C to 100 °C"
                ),
                r#"write the air temperature, as in "room": { "temperature": "22 degC" }"#,
            ));
        }
        let [a, b] = bench.coils(model);
        let upright = bench.axis == AxisPosition::Horizontal;
        Ok(Self {
            coils: [
                HeatedCoil::of(bench, &a, false, room_celsius)?,
                HeatedCoil::of(bench, &b, !upright, room_celsius)?,
            ],
            circuit: Circuit::of(bench, model),
            room_celsius,
        })
    }

    /// The same pair with its surface coefficients and heat capacities multiplied by what a test has found.
    pub fn with_factors(&self, surface_factor: f64, heat_capacity_factor: f64) -> Self {
        Self {
            coils: [0, 1].map(|coil| self.coils[coil].with_factors(surface_factor, heat_capacity_factor)),
            ..self.clone()
        }
    }

    /// Whether both coils warm alike, so that one stands for both.
    pub fn coils_alike(&self) -> bool {
        let [a, b] = self.circuit.coil_at_20_celsius_ohm;
        a == b && self.coils[0] == self.coils[1]
    }

    /// The pair settled with coil a at a mean temperature: every steady state is one of these.
    pub fn settled(&self, coil_a_mean_celsius: f64) -> SteadyPair {
        let a = self.coils[0].settled(coil_a_mean_celsius);
        let a_ohm = self.circuit.coil_ohm(0, coil_a_mean_celsius);
        let a_ampere = (a.loss_watt.max(0.0) / a_ohm).sqrt();
        let b = if self.coils_alike() { a } else { self.second_coil(a_ampere, a_ampere * a_ohm) };
        let b_ohm = self.circuit.coil_ohm(1, b.mean_celsius);
        let (supply_ampere, coil_ampere, coils_volt) = match self.circuit.connection {
            Connection::Series => (a_ampere, [a_ampere; 2], a_ampere * (a_ohm + b_ohm)),
            Connection::Parallel => {
                let b_ampere = a_ampere * a_ohm / b_ohm;
                (a_ampere + b_ampere, [a_ampere, b_ampere], a_ampere * a_ohm)
            }
        };
        let supply_volt = coils_volt + supply_ampere * self.circuit.lead_resistance_ohm;
        SteadyPair { coils: [a, b], currents: Currents { supply_ampere, coil_ampere, supply_volt } }
    }

    /// Coil b with coil a's current (series) or coil a's voltage (parallel).
    fn second_coil(&self, a_ampere: f64, a_volt: f64) -> CoilTemperatures {
        let excess_watt = |celsius: f64| {
            let ohm = self.circuit.coil_ohm(1, celsius);
            let made = match self.circuit.connection {
                Connection::Series => a_ampere * a_ampere * ohm,
                Connection::Parallel => a_volt * a_volt / ohm,
            };
            made - self.coils[1].settled(celsius).loss_watt
        };
        let found = brent_root(excess_watt, self.room_celsius, BEYOND_CELSIUS, TEMPERATURE_TOLERANCE_KELVIN);
        self.coils[1].settled(if found.converged() { found.at } else { BEYOND_CELSIUS })
    }

    /// The steady state where `test`, which grows with temperature, passes zero; none where it is still negative at
    /// [`CEILING_CELSIUS`]. Where it is positive already in a cold coil that is the cold coil.
    pub fn steady_where(&self, test: impl Fn(&SteadyPair) -> f64) -> Option<SteadyPair> {
        let value = |celsius: f64| {
            let pair = self.settled(celsius);
            let hotter = pair.hottest_mean_celsius();
            // An unequal coil b may run past the ceiling first: then every test counts as passed.
            if hotter > CEILING_CELSIUS { test(&pair).abs().max(1e-9) } else { test(&pair) }
        };
        if value(self.room_celsius) >= 0.0 {
            return Some(self.settled(self.room_celsius));
        }
        let found = brent_root(value, self.room_celsius, CEILING_CELSIUS, TEMPERATURE_TOLERANCE_KELVIN);
        let pair = self.settled(found.at);
        (found.converged() && pair.hottest_mean_celsius() <= CEILING_CELSIUS).then_some(pair)
    }

    /// What a supply brings the pair to in the end; none where the loss outruns the cooling below
    /// [`CEILING_CELSIUS`].
    pub fn steady(&self, drive: &Drive) -> Option<SteadyPair> {
        self.steady_where(|pair| {
            let current = pair.currents.supply_ampere / drive.current_ampere - 1.0;
            current.max(pair.currents.supply_volt / drive.voltage_volt - 1.0)
        })
    }

    /// The current past which there is no steady state below [`CEILING_CELSIUS`].
    pub fn critical_current_ampere(&self) -> f64 {
        let hottest = self.settled(CEILING_CELSIUS);
        if hottest.hottest_mean_celsius() <= CEILING_CELSIUS {
            return hottest.currents.supply_ampere;
        }
        let excess = |celsius: f64| self.settled(celsius).hottest_mean_celsius() - CEILING_CELSIUS;
        let found = brent_root(excess, self.room_celsius, CEILING_CELSIUS, 1e-4);
        self.settled(found.at).currents.supply_ampere
    }
}

impl SteadyPair {
    /// Mean temperature of the hotter winding.
    pub fn hottest_mean_celsius(&self) -> f64 {
        self.coils[0].mean_celsius.max(self.coils[1].mean_celsius)
    }

    /// The hottest place in either winding.
    pub fn hot_spot_celsius(&self) -> f64 {
        self.coils[0].hot_spot_celsius().max(self.coils[1].hot_spot_celsius())
    }

    /// The hottest surface of either coil.
    pub fn hottest_surface_celsius(&self) -> f64 {
        self.coils.iter().flat_map(|coil| coil.surface_celsius).fold(f64::NEG_INFINITY, f64::max)
    }
}
