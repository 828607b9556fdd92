//! The pair after one current was held for one time, for a page on which both can be changed.

use crate::pair::Bench;
use crate::physics::heat::carried::HeldFor;
use crate::physics::heat::pair::HeatedPair;
use crate::{Error, Result};

/// The pair after a current was held for a time, switched on cold.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct Held {
    /// The supply's current at that moment. It is less than was set if a limit of the supply is reached.
    pub current_ampere: f64,
    /// Mean temperature of the hotter winding.
    pub copper_celsius: f64,
    /// The hottest place of the surface.
    pub surface_celsius: f64,
    /// The supply's voltage at that moment.
    pub supply_volt: f64,
    /// Heat made in both coils.
    pub coils_watt: f64,
}

/// The pair after the supply was set to this current and left on for this time, within the supply's limits. `None` if a
/// winding passes 500 °C before. The predicted cooling is used, without a warm-up test.
///
/// # Errors
/// The spec lacks what the heat needs, or current or time is negative or not finite.
pub fn held(bench: &Bench, current_ampere: f64, time_s: f64) -> Result<Option<Held>> {
    if !(time_s.is_finite() && time_s >= 0.0 && current_ampere.is_finite()) {
        return Err(Error::value("a current is held for a time from 0 s on, and both are finite"));
    }
    let pair = HeatedPair::of(bench)?;
    let drive = pair.circuit.drive(bench.supply.as_ref(), current_ampere.abs(), pair.room_celsius);
    let carried = pair.carried(&drive, HeldFor::Seconds(time_s))?;
    Ok(carried.map(|carried| Held {
        current_ampere: carried.moment.currents.supply_ampere,
        copper_celsius: carried.copper_celsius(),
        surface_celsius: carried.moment.hottest_surface_celsius(),
        supply_volt: carried.moment.currents.supply_volt,
        coils_watt: carried.coils_watt(),
    }))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::spec::bench_from_text;

    #[test]
    fn a_held_current_warms_the_pair_from_the_rooms_temperature_to_its_steady_state() {
        let text = include_str!("../../../coil-specs/window-bench.json");
        let bench = bench_from_text("window-bench.json", text).unwrap();
        let at = |time_s| held(&bench, 2.2, time_s).unwrap().unwrap();
        let room = bench.room_temperature_celsius();
        assert!((at(0.0).copper_celsius - room).abs() < 1e-9);
        let [early, late, ever] = [600.0, 6000.0, 1e6].map(at);
        assert!(room < early.copper_celsius && early.copper_celsius < late.copper_celsius);
        assert!((late.copper_celsius - ever.copper_celsius).abs() < 0.1 * (ever.copper_celsius - room));
        // The mean of a winding lies above its surface, and warm copper needs more volts for the same current.
        assert!(late.surface_celsius < late.copper_celsius && late.supply_volt > at(0.0).supply_volt);
        assert!(held(&bench, 2.2, -1.0).is_err() && held(&bench, f64::NAN, 1.0).is_err());
        // At its voltage limit the supply gives less; without a supply nothing stops the current.
        let limited = held(&bench, 2.8, 6000.0).unwrap().unwrap();
        assert!(limited.current_ampere < 2.8 && (limited.supply_volt - 30.0).abs() < 1e-6, "{limited:?}");
        let without = Bench { supply: None, ..bench };
        assert_eq!(held(&without, 200.0, 6000.0).unwrap(), None);
    }
}
