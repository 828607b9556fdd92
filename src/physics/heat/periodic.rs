//! The cycle that repeats itself when the pair is switched on and off periodically.
//!
//! One cycle maps the temperatures x at switch-on to those one cycle later, F(x). The periodic steady state is
//! F(x) = x. A short cycle changes the winding's temperature very little, so following cycles one by one would take
//! thousands. Newton's method needs a few: x ← x + (1 − J)⁻¹ (F(x) − x), J the derivative of F by finite differences.
//! The size of that step is also the estimate of the error in x, for any length of the cycle.

use super::circuit::Drive;
use super::duty::{Cycle, Duty};
use super::pair::{CEILING_CELSIUS, HeatedPair};
use super::transient::{Moment, Temperatures, ThermalState};
use crate::{Error, Result};
use nalgebra::SMatrix;
use rayon::prelude::*;

/// Largest distance of a cycle's start from that of the cycle which repeats itself.
const TOLERANCE_KELVIN: f64 = 1e-4;
/// Most steps of Newton's method. The derivative is computed anew if a step is longer than a third of the one before.
const NEWTON_LIMIT: usize = 30;
/// Most cycles followed one by one if Newton's method does not settle.
const CYCLE_LIMIT: usize = 400;
/// Difference for the derivative. It is large compared with the integration's 1e-6 K and small compared with any rise.
/// It is negative, away from the ceiling.
const NUDGE_KELVIN: f64 = -0.5;
/// Most halvings of a step to keep the cycle below the ceiling.
const HALVINGS: usize = 6;

type Derivative = SMatrix<f64, 8, 8>;

/// A cycle followed from a start.
struct Followed {
    start: ThermalState,
    cycle: Cycle,
}

impl Followed {
    fn end(&self) -> ThermalState {
        self.cycle.off.end_state()
    }

    /// F(x) − x.
    fn change(&self) -> Temperatures {
        self.end().temperatures() - self.start.temperatures()
    }
}

impl HeatedPair {
    /// The cycle that repeats itself within 1e-4 K. `None` if the pair reaches [`CEILING_CELSIUS`] on the way.
    ///
    /// If neither Newton's method nor following 400 cycles settles, the error carries the best start of a cycle and its
    /// possible distance. In practice this happens only extremely close to thermal runaway.
    pub(crate) fn periodic(&self, drive: &Drive, duty: &Duty) -> Result<Option<Cycle>> {
        // The steady state at the mean power is near the answer.
        let mean_drive = drive.times(duty.fraction().sqrt());
        let Some(steady) = self.steady(&mean_drive) else { return Ok(None) };
        let Some(first) = self.cycle_from(drive, duty, ThermalState::of_steady(&steady))? else {
            return Ok(None);
        };
        match self.by_newton(drive, duty, first)? {
            Some(cycle) => Ok(Some(cycle)),
            None => self.cycle_by_cycle(drive, duty, ThermalState::of_steady(&steady)),
        }
    }

    /// One cycle from `start`; `None` if the pair reaches the ceiling in it.
    fn cycle_from(&self, drive: &Drive, duty: &Duty, start: ThermalState) -> Result<Option<Followed>> {
        let too_hot = |_: &dyn Fn() -> Moment, state: &ThermalState| {
            state.mean_celsius[0].max(state.mean_celsius[1]) - CEILING_CELSIUS
        };
        let on = self.follow(&|_| *drive, &start, duty.on_s(), Some(&too_hot))?;
        if on.stopped_early() {
            return Ok(None);
        }
        let off = self.follow(&|_| Drive::OFF, &on.end_state(), duty.off_s(), None)?;
        Ok(Some(Followed { start, cycle: Cycle { on, off } }))
    }

    /// Newton's method from a first cycle; `None` if it does not settle.
    fn by_newton(&self, drive: &Drive, duty: &Duty, first: Followed) -> Result<Option<Cycle>> {
        let mut here = first;
        let Some(mut inverse) = self.inverse_of_one_less_derivative(drive, duty, &here)? else {
            return Ok(None);
        };
        let mut before = f64::INFINITY;
        for _ in 0..NEWTON_LIMIT {
            let step = inverse * here.change();
            if !step.iter().all(|kelvin| kelvin.is_finite()) {
                return Ok(None);
            }
            if step.amax() < TOLERANCE_KELVIN {
                return Ok(Some(here.cycle));
            }
            if step.amax() > before / 3.0 {
                let Some(anew) = self.inverse_of_one_less_derivative(drive, duty, &here)? else {
                    return Ok(None);
                };
                inverse = anew;
                before = f64::INFINITY;
            } else {
                before = step.amax();
            }
            let Some(there) = self.after_step(drive, duty, &here, &step)? else { return Ok(None) };
            here = there;
        }
        Ok(None)
    }

    /// The cycle after a step, which is shortened until the pair is nowhere colder than the room and stays below the
    /// ceiling.
    fn after_step(
        &self,
        drive: &Drive,
        duty: &Duty,
        here: &Followed,
        step: &Temperatures,
    ) -> Result<Option<Followed>> {
        let mut share = 1.0;
        for _ in 0..HALVINGS {
            let mut there = here.start.temperatures() + step * share;
            for celsius in there.iter_mut() {
                *celsius = celsius.max(self.room_celsius);
            }
            if there.max() < CEILING_CELSIUS
                && let Some(followed) =
                    self.cycle_from(drive, duty, ThermalState::of_temperatures(&there, &here.start))?
            {
                return Ok(Some(followed));
            }
            share *= 0.5;
        }
        Ok(None)
    }

    /// (1 − J)⁻¹ at the start of a cycle.
    ///
    /// The temperatures of both coils are changed together. The effect of one coil's temperature on the other, which
    /// acts through the currents alone, is left out of J. Newton's steps are then slightly less accurate but take half
    /// the evaluations.
    fn inverse_of_one_less_derivative(
        &self,
        drive: &Drive,
        duty: &Duty,
        here: &Followed,
    ) -> Result<Option<Derivative>> {
        let end = here.end().temperatures();
        let mut one_less = Derivative::identity();
        let has_own = |node: &usize| {
            *node == 0 || self.coils.iter().any(|coil| coil.wall_joule_per_kelvin[*node] > 0.0)
        };
        let nodes: Vec<usize> = (0..4).filter(has_own).collect();
        let ends: Result<Vec<Option<Temperatures>>> = nodes
            .par_iter()
            .map(|node| {
                let mut nudged = here.start.temperatures();
                for coil in 0..2 {
                    nudged[4 * coil + node] += NUDGE_KELVIN;
                }
                let nudged = ThermalState::of_temperatures(&nudged, &here.start);
                Ok(self.cycle_from(drive, duty, nudged)?.map(|followed| followed.end().temperatures()))
            })
            .collect();
        for (node, nudged) in nodes.into_iter().zip(ends?) {
            let Some(nudged) = nudged else { return Ok(None) };
            let slopes = (nudged - end) / NUDGE_KELVIN;
            for coil in 0..2 {
                for row in 0..4 {
                    one_less[(4 * coil + row, 4 * coil + node)] -= slopes[4 * coil + row];
                }
            }
        }
        // A side without a wall has no temperature of its own, so its step is zero.
        for (coil, model) in self.coils.iter().enumerate() {
            for node in 1..4 {
                if model.wall_joule_per_kelvin[node] <= 0.0 {
                    let index = 4 * coil + node;
                    one_less.row_mut(index).fill(0.0);
                    one_less.column_mut(index).fill(0.0);
                    one_less[(index, index)] = 1.0;
                }
            }
        }
        Ok(one_less.try_inverse())
    }

    /// Follows cycle after cycle.
    fn cycle_by_cycle(&self, drive: &Drive, duty: &Duty, start: ThermalState) -> Result<Option<Cycle>> {
        let mut start = start;
        let mut change = [0.0; 2];
        for _ in 0..CYCLE_LIMIT {
            let Some(followed) = self.cycle_from(drive, duty, start)? else { return Ok(None) };
            change = [change[1], followed.change().amax()];
            if still_to_go_kelvin(change) < TOLERANCE_KELVIN {
                return Ok(Some(followed.cycle));
            }
            start = followed.end();
        }
        Err(Error::NotConverged {
            what: "the periodic temperature under duty",
            best: start.mean_celsius[0],
            error_estimate: still_to_go_kelvin(change),
        })
    }
}

/// The sum of the changes to come if they go on in the ratio r of the last two: d r/(1 − r), and at least d.
fn still_to_go_kelvin([before, last]: [f64; 2]) -> f64 {
    let ratio = if before > 0.0 { last / before } else { 1.0 };
    match ratio < 1.0 {
        true => last.max(last * ratio / (1.0 - ratio)),
        false => CEILING_CELSIUS.max(last),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::spec;
    use crate::physics::heat::limits::TemperatureLimits;
    use proptest::prelude::*;

    const EXAMPLES: [&str; 4] = ["window-bench", "quote-parallel", "quote-thick", "quote-used"];

    fn example(index: usize) -> crate::pair::Bench {
        let path = format!("{}/coil-specs/{}.json", env!("CARGO_MANIFEST_DIR"), EXAMPLES[index]);
        spec::read_bench(std::path::Path::new(&path)).unwrap()
    }

    /// The cycle at `ampere` repeats itself, keeps the energy, and lies round the steady state of the mean power.
    fn repeats(index: usize, ampere: f64, duty: Duty) {
        let bench = example(index);
        let pair = HeatedPair::of(&bench).unwrap();
        let drive = Drive::held(ampere);
        let cycle = match pair.periodic(&drive, &duty) {
            Ok(Some(cycle)) => cycle,
            other => panic!("{} at {ampere} A, {duty:?}: {other:?}", EXAMPLES[index]),
        };
        let (start, end) = (cycle.on.state_at(0.0), cycle.off.end_state());
        let room = pair.room_celsius;
        for coil in 0..2 {
            let off = (end.mean_celsius[coil] - start.mean_celsius[coil]).abs();
            assert!(off < 2e-4, "{} {duty:?} coil {coil}: {off} K after a cycle", EXAMPLES[index]);
            assert!(
                start.mean_celsius[coil] > room - 1e-3,
                "{} {duty:?}: colder than the room",
                EXAMPLES[index]
            );
        }
        // The heat generated in a cycle is given away in it.
        let made = cycle.on.heat_made_joule(duty.on_s());
        let given = cycle.on.heat_given_joule(duty.on_s()) + cycle.off.heat_given_joule(duty.off_s());
        let stored = pair.stored_joule(&end) - pair.stored_joule(&start);
        assert!((made - given - stored).abs() < 1e-5 * made, "{duty:?}: {made} J made, {given} J given");
        assert!((made - given).abs() < 1e-3 * made + 1.0, "{duty:?}: {made} J made, {given} J given");
    }

    #[test]
    fn the_cycles_people_ask_for_settle_on_every_example() {
        for index in 0..EXAMPLES.len() {
            for (on_s, off_s) in [(60.0, 60.0), (120.0, 120.0), (30.0, 30.0), (1.0, 1.0), (600.0, 1200.0)] {
                repeats(index, 1.5, Duty::new(on_s, off_s).unwrap());
            }
        }
    }

    #[test]
    fn an_allowed_current_is_found_for_short_cycles() {
        let bench = example(1);
        let pair = HeatedPair::of(&bench).unwrap();
        let temperatures = TemperatureLimits::of(&bench);
        let continuous = pair.limits(&temperatures, None).continuous_current_ampere;
        for (on_s, off_s) in [(60.0, 60.0), (2.0, 2.0)] {
            let duty = Duty::new(on_s, off_s).unwrap();
            let (ampere, _) = pair.duty_current(&duty, &temperatures, continuous).unwrap().unwrap();
            // Cycles far shorter than the pair's time constant heat like the mean power: √2 times the current, less the
            // ripple.
            let ratio = ampere / continuous;
            assert!((1.3..1.4143).contains(&ratio), "{on_s} s/{off_s} s: {ratio}");
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig { cases: 12, ..ProptestConfig::default() })]

        #[test]
        fn any_cycle_of_an_ordinary_current_settles(
            index in 0..EXAMPLES.len(),
            ampere in 0.2f64..2.0,
            ln_on in 0.0f64..10.0,
            ln_off in 0.0f64..10.0,
        ) {
            repeats(index, ampere, Duty::new(ln_on.exp(), ln_off.exp()).unwrap());
        }
    }
}
