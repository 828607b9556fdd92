//! The pair after a supply has stayed on for a time. `size` and `compare` judge by it whether a field can be held.

use super::circuit::Drive;
use super::pair::{CEILING_CELSIUS, HeatedPair};
use super::transient::{Moment, ThermalState};
use crate::Result;
use crate::numeric::roots::brent_root;

/// The time for which the largest field is to be held.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum HeldFor {
    /// No wish states a time: the copper counts as at room temperature.
    SwitchOn,
    /// A time in seconds, from cold.
    Seconds(f64),
    /// Indefinitely: the wishes state a surface temperature but no time.
    Ever,
}

/// The pair at the end of that time.
#[derive(Clone, Copy, Debug)]
pub struct Carried {
    /// Currents, heat flows and heat generated.
    pub moment: Moment,
    /// Temperatures.
    pub state: ThermalState,
}

impl Carried {
    /// Mean temperature of the hotter winding.
    pub(crate) fn copper_celsius(&self) -> f64 {
        self.state.mean_celsius[0].max(self.state.mean_celsius[1])
    }

    /// Heat generated in both coils.
    pub(crate) fn coils_watt(&self) -> f64 {
        self.moment.made_watt.iter().sum()
    }
}

/// Relative accuracy of the largest current held.
const CURRENT_TOLERANCE: f64 = 1e-6;

impl HeatedPair {
    /// The pair after a supply, switched on with the pair cold, has stayed on for the time `held_for`. `None` if a
    /// winding passes [`CEILING_CELSIUS`] before. A hundred time constants or more count as indefinitely.
    pub(crate) fn carried(&self, drive: &Drive, held_for: HeldFor) -> Result<Option<Carried>> {
        let cold = ThermalState::uniform(self.room_celsius);
        let at = |state: ThermalState| Carried { moment: self.moment(drive, &state), state };
        let seconds = match held_for {
            HeldFor::SwitchOn => return Ok(Some(at(cold))),
            HeldFor::Seconds(seconds) if seconds < 100.0 * self.rough_time_constant_s() => seconds,
            _ => return Ok(self.steady(drive).map(|steady| at(ThermalState::of_steady(&steady)))),
        };
        let too_hot = |_: &dyn Fn() -> Moment, state: &ThermalState| {
            state.mean_celsius[0].max(state.mean_celsius[1]) - CEILING_CELSIUS
        };
        let run = self.follow_from_cold(drive, seconds, &too_hot)?;
        Ok((!run.stopped_early()).then(|| at(run.end_state())))
    }

    /// The hottest surface after the time `held_for`; `None` if [`Self::carried`] gives `None`.
    pub(crate) fn hottest_surface_celsius_after(
        &self,
        drive: &Drive,
        carried_s: Option<f64>,
    ) -> Result<Option<f64>> {
        let carried = self.carried(drive, carried_s.map_or(HeldFor::Ever, HeldFor::Seconds))?;
        Ok(carried.map(|carried| carried.moment.hottest_surface_celsius()))
    }

    /// The largest current that a supply with these limits can hold for the whole time; `None` if neither limit is
    /// known.
    pub(crate) fn largest_held_ampere(
        &self,
        current_limit_ampere: Option<f64>,
        voltage_limit_volt: Option<f64>,
        held_for: HeldFor,
    ) -> Result<Option<f64>> {
        let Some(voltage_limit_volt) = voltage_limit_volt else { return Ok(current_limit_ampere) };
        let cold = voltage_limit_volt / self.circuit.total_ohm([self.room_celsius; 2]);
        let most = current_limit_ampere.unwrap_or(f64::INFINITY).min(cold);
        let mut failure = None;
        let mut excess = |current_ampere: f64| match self.carried(&Drive::held(current_ampere), held_for) {
            Ok(Some(carried)) => carried.moment.currents.supply_volt / voltage_limit_volt - 1.0,
            // A winding past the ceiling counts as needing far too high a voltage.
            Ok(None) => 10.0,
            Err(error) => {
                failure.get_or_insert(error);
                f64::NAN
            }
        };
        let held = if held_for == HeldFor::SwitchOn || excess(most) <= 0.0 {
            most
        } else {
            // At zero current no voltage is needed, so the root lies between.
            brent_root(&mut excess, 0.0, most, CURRENT_TOLERANCE * most).at
        };
        failure.map_or(Ok(Some(held)), Err)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    use crate::physics::heat::example;
    use approx::assert_relative_eq;

    fn pair() -> HeatedPair {
        HeatedPair::of(&example::bench()).unwrap()
    }

    #[test]
    fn what_is_carried_lies_between_the_cold_pair_and_the_steady_one() {
        let pair = pair();
        let drive = Drive::held(2.5);
        let after = |held_for| pair.carried(&drive, held_for).unwrap().unwrap().copper_celsius();
        let cold = after(HeldFor::SwitchOn);
        assert_eq!(cold, 22.0);
        let [minutes, hour, ever] =
            [HeldFor::Seconds(600.0), HeldFor::Seconds(3600.0), HeldFor::Ever].map(after);
        assert!(cold < minutes && minutes < hour && hour < ever);
        assert_relative_eq!(ever, pair.steady(&drive).unwrap().hottest_mean_celsius(), max_relative = 1e-12);
        // A current with no steady state can be held only for a limited time.
        let wild = Drive::held(1.2 * pair.critical_current_ampere());
        assert!(pair.carried(&wild, HeldFor::Ever).unwrap().is_none());
        assert!(pair.carried(&wild, HeldFor::Seconds(10.0)).unwrap().is_some());
    }

    #[test]
    fn the_largest_current_held_takes_the_whole_voltage_at_the_end() {
        let pair = pair();
        let cold_ohm = pair.circuit.total_ohm([22.0; 2]);
        let mut before = f64::INFINITY;
        for held_for in [HeldFor::SwitchOn, HeldFor::Seconds(900.0), HeldFor::Seconds(7200.0), HeldFor::Ever]
        {
            let held = pair.largest_held_ampere(Some(9.0), Some(2.5 * cold_ohm), held_for).unwrap().unwrap();
            let carried = pair.carried(&Drive::held(held), held_for).unwrap().unwrap();
            assert_relative_eq!(carried.moment.currents.supply_volt, 2.5 * cold_ohm, max_relative = 1e-5);
            assert!(held < before, "{held_for:?}: {held} A");
            before = held;
        }
        assert_eq!(pair.largest_held_ampere(Some(1.0), Some(100.0), HeldFor::Ever).unwrap(), Some(1.0));
        assert_eq!(pair.largest_held_ampere(Some(3.0), None, HeldFor::Ever).unwrap(), Some(3.0));
        assert_eq!(pair.largest_held_ampere(None, None, HeldFor::Ever).unwrap(), None);
    }
}
