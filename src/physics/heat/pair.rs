//! The coil pair in thermal balance: the steady state for a current, a voltage or a temperature.

use super::circuit::{Circuit, Currents, Drive};
use super::coil::{CoilTemperatures, HeatedCoil, SurfaceGuess};
use crate::Result;
use crate::error::Refused;
use crate::numeric::roots::brent_root;
use crate::pair::{AxisPosition, Bench, Connection};

/// Mean winding temperature up to which a steady state is sought: twice the highest thermal class, a temperature that
/// neither enamel nor solder survives.
pub(crate) const CEILING_CELSIUS: f64 = 500.0;
/// Temperature up to which the second coil of an unequal pair is followed.
const BEYOND_CELSIUS: f64 = 1000.0;
/// Accuracy to which temperatures are located.
const TEMPERATURE_TOLERANCE_KELVIN: f64 = 1e-7;

/// Both coils of a bench as a thermal model.
#[derive(Clone, Debug)]
pub struct HeatedPair {
    /// Coil a, coil b.
    pub coils: [HeatedCoil; 2],
    /// Their connection and resistances.
    pub circuit: Circuit,
    /// Temperature of the room's air and walls.
    pub room_celsius: f64,
}

/// The pair in the steady state: the heat generated equals the heat lost.
#[derive(Clone, Copy, Debug)]
pub struct SteadyPair {
    /// Coil a, coil b.
    pub coils: [CoilTemperatures; 2],
    /// The currents that keep it there.
    pub currents: Currents,
}

/// Room temperatures for which the model holds.
const ALLOWED_ROOM_CELSIUS: [f64; 2] = [-50.0, 100.0];

impl HeatedPair {
    /// The pair of a bench. The room is at 20 °C if the bench does not state it.
    pub fn of(bench: &Bench) -> Result<Self> {
        let room_celsius = bench.room_temperature_celsius();
        let [least, most] = ALLOWED_ROOM_CELSIUS;
        if !(least..=most).contains(&room_celsius) {
            return Err(Refused::RoomTemperature {
                celsius: room_celsius,
                allowed_celsius: ALLOWED_ROOM_CELSIUS,
            }
            .into());
        }
        let [a, b] = bench.coils();
        let upright = bench.axis == AxisPosition::Horizontal;
        Ok(Self {
            coils: [
                HeatedCoil::of(bench, &a, false, room_celsius)?,
                HeatedCoil::of(bench, &b, !upright, room_celsius)?,
            ],
            circuit: Circuit::of(bench),
            room_celsius,
        })
    }

    /// The same pair with its surface coefficients and heat capacities multiplied by the factors from a warm-up test.
    pub(crate) fn with_factors(&self, surface_factor: f64, heat_capacity_factor: f64) -> Self {
        Self {
            coils: [0, 1].map(|coil| self.coils[coil].with_factors(surface_factor, heat_capacity_factor)),
            ..self.clone()
        }
    }

    /// The same pair in a room of another temperature.
    pub(crate) fn in_room(&self, room_celsius: f64) -> Self {
        let mut pair = self.clone();
        pair.room_celsius = room_celsius;
        for coil in &mut pair.coils {
            coil.room_celsius = room_celsius;
        }
        pair
    }

    /// The same pair with the lowest published conductivity of its wire packs, for judging the insulation.
    pub(crate) fn badly_conducting(&self) -> Self {
        let mut pair = self.clone();
        for coil in &mut pair.coils {
            coil.pack.conductivity_watt_per_m_kelvin = coil.pack.worst_watt_per_m_kelvin();
        }
        pair
    }

    /// Whether both coils warm alike, so that one can represent both.
    pub(crate) fn coils_alike(&self) -> bool {
        let [a, b] = self.circuit.coil_at_20_celsius_ohm;
        a == b && self.coils[0] == self.coils[1]
    }

    /// The pair in balance with coil a at a given mean temperature; every steady state is one of these.
    pub(crate) fn settled(&self, coil_a_mean_celsius: f64) -> SteadyPair {
        self.settled_near(coil_a_mean_celsius, &Default::default())
    }

    fn settled_near(&self, coil_a_mean_celsius: f64, guesses: &[SurfaceGuess; 2]) -> SteadyPair {
        let a = self.coils[0].settled_near(coil_a_mean_celsius, &guesses[0]);
        let a_ohm = self.circuit.coil_ohm(0, coil_a_mean_celsius);
        let a_ampere = (a.loss_watt.max(0.0) / a_ohm).sqrt();
        let b = match self.coils_alike() {
            true => a,
            false => self.second_coil(a_ampere, a_ampere * a_ohm, &guesses[1]),
        };
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
    fn second_coil(&self, a_ampere: f64, a_volt: f64, guess: &SurfaceGuess) -> CoilTemperatures {
        let excess_watt = |celsius: f64| {
            let ohm = self.circuit.coil_ohm(1, celsius);
            let made = match self.circuit.connection {
                Connection::Series => a_ampere * a_ampere * ohm,
                Connection::Parallel => a_volt * a_volt / ohm,
            };
            made - self.coils[1].settled_near(celsius, guess).loss_watt
        };
        let found = brent_root(excess_watt, self.room_celsius, BEYOND_CELSIUS, TEMPERATURE_TOLERANCE_KELVIN);
        self.coils[1].settled_near(if found.converged() { found.at } else { BEYOND_CELSIUS }, guess)
    }

    /// The steady state at which `test`, which grows with temperature, passes zero. The cold pair if `test` is already
    /// positive when cold; `None` if it is still negative at `CEILING_CELSIUS`.
    pub(crate) fn steady_where(&self, test: impl Fn(&SteadyPair) -> f64) -> Option<SteadyPair> {
        let guesses = Default::default();
        let value = |celsius: f64| {
            let pair = self.settled_near(celsius, &guesses);
            let hotter = pair.hottest_mean_celsius();
            // An unequal coil b may pass the ceiling first; then every test counts as passed.
            if hotter > CEILING_CELSIUS { test(&pair).abs().max(1e-9) } else { test(&pair) }
        };
        if value(self.room_celsius) >= 0.0 {
            return Some(self.settled(self.room_celsius));
        }
        let found = brent_root(value, self.room_celsius, CEILING_CELSIUS, TEMPERATURE_TOLERANCE_KELVIN);
        let pair = self.settled_near(found.at, &guesses);
        (found.converged() && pair.hottest_mean_celsius() <= CEILING_CELSIUS).then_some(pair)
    }

    /// The steady state that a supply brings the pair to. `None` if the heat generated exceeds the cooling at every mean
    /// winding temperature up to 500 °C.
    ///
    /// Temperatures are located to 1e-7 K. Currents and voltage of the result are magnitudes.
    pub fn steady(&self, drive: &Drive) -> Option<SteadyPair> {
        let (current_ampere, voltage_volt) = (drive.current_ampere(), drive.voltage_volt());
        if current_ampere == 0.0 || voltage_volt == 0.0 {
            return Some(self.settled(self.room_celsius));
        }
        self.steady_where(|pair| {
            let current = pair.currents.supply_ampere / current_ampere - 1.0;
            current.max(pair.currents.supply_volt / voltage_volt - 1.0)
        })
    }

    /// The current above which there is no steady state below `CEILING_CELSIUS`.
    pub(crate) fn critical_current_ampere(&self) -> f64 {
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
    /// Mean temperature of the hotter winding, °C.
    pub fn hottest_mean_celsius(&self) -> f64 {
        self.coils[0].mean_celsius.max(self.coils[1].mean_celsius)
    }

    /// The hottest place in either winding, °C.
    pub fn hot_spot_celsius(&self) -> f64 {
        self.coils[0].hot_spot_celsius().max(self.coils[1].hot_spot_celsius())
    }

    /// The hottest surface of either coil, °C.
    pub fn hottest_surface_celsius(&self) -> f64 {
        self.coils.iter().flat_map(|coil| coil.surface_celsius).fold(f64::NEG_INFINITY, f64::max)
    }
}

/// The example without radiation, with Newton's law on every side and no thermal resistance inside.
#[cfg(test)]
pub(super) fn linear_pair(coefficient_watt_per_m2_kelvin: f64) -> HeatedPair {
    let mut bench = super::example::bench();
    bench.former = None;
    let mut pair = HeatedPair::of(&bench).expect("the example is sound");
    for coil in &mut pair.coils {
        coil.pack.conductivity_watt_per_m_kelvin = 1e7;
        for face in &mut coil.faces {
            face.surface.convection =
                super::convection::Convection::Constant { coefficient_watt_per_m2_kelvin };
            face.surface.emissivity = 0.0;
        }
    }
    pair
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::physics::heat::example;
    use approx::assert_relative_eq;

    #[test]
    fn under_newtons_law_the_steady_state_and_the_runaway_follow_their_closed_forms() {
        // I² R₂₀ (1 + α (T − 20)) = G (T − T₀), so T = [G T₀ + I² R₂₀ (1 − 20 α)] / (G − I² R₂₀ α), which has no
        // solution from I² = G / (R₂₀ α) on.
        let pair = linear_pair(14.0);
        let conductance: f64 = pair.coils[0].faces.iter().map(|face| 14.0 * face.surface.area_m2).sum();
        let (cold, alpha) = (pair.circuit.coil_at_20_celsius_ohm[0], pair.circuit.coefficient_per_kelvin);
        let runaway_ampere = (conductance / (cold * alpha)).sqrt();
        for fraction in [0.1, 0.4, 0.7] {
            let current = fraction * runaway_ampere;
            let made = current * current * cold;
            let expected = (conductance * 22.0 + made * (1.0 - 20.0 * alpha)) / (conductance - made * alpha);
            let steady = pair.steady(&Drive::held(current)).unwrap();
            assert_relative_eq!(steady.coils[0].mean_celsius, expected, max_relative = 1e-6);
        }
        assert!(pair.steady(&Drive::held(1.001 * runaway_ampere)).is_none());
        // Below the ceiling the runaway is not quite reached: G (500 − 22) / (R₂₀ (1 + 480 α)).
        let critical = (conductance * 478.0 / (cold * (1.0 + 480.0 * alpha))).sqrt();
        assert_relative_eq!(pair.critical_current_ampere(), critical, max_relative = 1e-6);
        assert!(pair.steady(&Drive::held(0.999 * critical)).is_some());
        assert!(pair.steady(&Drive::held(1.001 * critical)).is_none());
    }

    #[test]
    fn heat_made_equals_heat_lost_in_both_coils_of_an_unequal_pair() {
        for connection in [Connection::Series, Connection::Parallel] {
            let mut bench = example::bench();
            bench.connection = connection;
            let [a, mut b] = [bench.nominal_coil(), bench.nominal_coil()];
            b.turns = 150.0;
            b.mean_radius_m = 0.170;
            bench.as_built = Some([a, b]);
            bench.lead_resistance_ohm = Some(0.3);
            let pair = HeatedPair::of(&bench).unwrap();
            assert!(!pair.coils_alike());
            let steady = pair.steady(&Drive::held(2.2)).unwrap();
            assert_relative_eq!(steady.currents.supply_ampere, 2.2, max_relative = 1e-8);
            for (index, coil) in steady.coils.iter().enumerate() {
                let made = steady.currents.coil_ampere[index].powi(2)
                    * pair.circuit.coil_ohm(index, coil.mean_celsius);
                assert_relative_eq!(made, coil.loss_watt, max_relative = 1e-7);
            }
            let means = steady.coils.map(|coil| coil.mean_celsius);
            let again = pair.circuit.currents(&Drive::held(2.2), means);
            assert_relative_eq!(again.coil_ampere[1], steady.currents.coil_ampere[1], max_relative = 1e-8);
            assert_relative_eq!(again.supply_volt, steady.currents.supply_volt, max_relative = 1e-8);
        }
    }

    #[test]
    fn a_held_voltage_always_has_a_steady_state_at_less_current_than_it_began_with() {
        let pair = HeatedPair::of(&example::bench()).unwrap();
        let cold_ohm = pair.circuit.total_ohm([22.0; 2]);
        let drive = Drive::new(10.0, 2.5 * cold_ohm).unwrap();
        let steady = pair.steady(&drive).unwrap();
        assert!(steady.currents.supply_ampere < 2.5);
        let warm_ohm = pair.circuit.total_ohm([steady.coils[0].mean_celsius; 2]);
        assert_relative_eq!(steady.currents.supply_ampere * warm_ohm, 2.5 * cold_ohm, max_relative = 1e-8);
    }

    #[test]
    fn the_reversed_current_heats_alike() {
        let pair = HeatedPair::of(&example::bench()).unwrap();
        let mean = |ampere: f64| {
            let drive = Drive::new(ampere, f64::INFINITY).unwrap();
            pair.steady(&drive).unwrap().hottest_mean_celsius()
        };
        assert_eq!(mean(-2.0), mean(2.0));
        assert!(mean(-2.0) > 22.0);
    }

    #[test]
    fn no_current_leaves_the_coils_at_room_temperature() {
        let pair = HeatedPair::of(&example::bench()).unwrap();
        let steady = pair.steady(&Drive::held(0.0)).unwrap();
        assert_eq!(steady.hottest_mean_celsius(), 22.0);
        assert_eq!(steady.hot_spot_celsius(), 22.0);
        assert_eq!(steady.hottest_surface_celsius(), 22.0);
    }
}
