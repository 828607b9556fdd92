//! The pair in time: warming, cooling, and the time to a limit.

use super::circuit::{Currents, Drive};
use super::coil::{CoilFlows, SurfaceGuess};
use super::limits::{TemperatureLimit, TemperatureLimits};
use super::pair::{CEILING_CELSIUS, HeatedPair, SteadyPair};
use crate::numeric::ode::{
    Crossing, Event, IntegrationEnd, Options, Solution, State, USUAL_PARTS, integrate,
};
use crate::{Error, Result};

/// For each coil the winding and the walls of bore, facing and away side; then heat generated and heat given away.
const UNKNOWNS: usize = 10;
const HEAT_IN: usize = 8;
const HEAT_OUT: usize = 9;
/// Error allowed in one step.
const STEP_TOLERANCE_KELVIN: f64 = 1e-6;
/// Error allowed in one step for rough results on many pairs, relative to the rise.
const ROUGH_TOLERANCE: f64 = 1e-4;

/// How most stretches of time are followed.
const ACCURATE: Options = Options {
    relative_tolerance: 1e-8,
    absolute_tolerance: STEP_TOLERANCE_KELVIN,
    longest_step: f64::INFINITY,
    step_limit: 100_000,
};

/// The temperatures that change with time, of coil a and coil b.
pub(super) type Temperatures = nalgebra::SVector<f64, 8>;

/// Temperatures of both coils at one moment.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ThermalState {
    /// Mean of each winding.
    pub mean_celsius: [f64; 2],
    /// Middle of each side's wall, for coil a and coil b; meaningless if no wall covers the side.
    pub wall_celsius: [[f64; 4]; 2],
}

/// A function of the state that ends the integration when it rises through zero. The flows are passed as a closure,
/// because they cost more than everything else and not every function needs them.
pub(crate) type Watch<'a> = &'a dyn Fn(&dyn Fn() -> Moment, &ThermalState) -> f64;

/// A watched function, and how often in a step it is looked at.
#[derive(Clone, Copy)]
struct Until<'a> {
    function: Watch<'a>,
    parts_of_step: u32,
}

/// An integrated stretch of time.
#[derive(Clone, Debug)]
pub struct Transient {
    solution: Solution<UNKNOWNS>,
    room_celsius: f64,
    heat_capacity_joule_per_kelvin: f64,
}

/// Both coils' flows and the currents at one moment.
#[derive(Clone, Copy, Debug)]
pub struct Moment {
    /// Currents and voltage.
    pub currents: Currents,
    /// Coil a, coil b.
    pub coils: [CoilFlows; 2],
    /// Heat generated in each coil.
    pub made_watt: [f64; 2],
}

impl Moment {
    /// The hottest surface of either coil.
    pub(crate) fn hottest_surface_celsius(&self) -> f64 {
        self.coils.iter().flat_map(|coil| coil.surface_celsius).fold(f64::NEG_INFINITY, f64::max)
    }
}

impl ThermalState {
    /// Both coils at one temperature throughout.
    pub fn uniform(celsius: f64) -> Self {
        Self { mean_celsius: [celsius; 2], wall_celsius: [[celsius; 4]; 2] }
    }

    /// The state of a steady pair.
    pub(crate) fn of_steady(pair: &SteadyPair) -> Self {
        Self {
            mean_celsius: pair.coils.map(|coil| coil.mean_celsius),
            wall_celsius: pair.coils.map(|coil| coil.wall_celsius),
        }
    }

    /// The temperatures that change with time: of each coil the winding, then bore, facing and away side.
    pub(super) fn temperatures(&self) -> Temperatures {
        Temperatures::from_fn(|index, _| match index % 4 {
            0 => self.mean_celsius[index / 4],
            side => self.wall_celsius[index / 4][side],
        })
    }

    /// The state with these temperatures; the rest of the state is taken from `like`.
    pub(super) fn of_temperatures(temperatures: &Temperatures, like: &Self) -> Self {
        let mut state = *like;
        for coil in 0..2 {
            state.mean_celsius[coil] = temperatures[4 * coil];
            state.wall_celsius[coil][1..]
                .copy_from_slice(&temperatures.as_slice()[4 * coil + 1..4 * coil + 4]);
        }
        state
    }

    fn unknowns(&self, room_celsius: f64) -> State<UNKNOWNS> {
        let mut unknowns = State::<UNKNOWNS>::zeros();
        for coil in 0..2 {
            unknowns[4 * coil] = self.mean_celsius[coil] - room_celsius;
            for side in 1..4 {
                unknowns[4 * coil + side] = self.wall_celsius[coil][side] - room_celsius;
            }
        }
        unknowns
    }

    fn of_unknowns(unknowns: &State<UNKNOWNS>, room_celsius: f64) -> Self {
        let at = |index: usize| unknowns[index] + room_celsius;
        Self {
            mean_celsius: [at(0), at(4)],
            // No wall covers the outer side.
            wall_celsius: [[at(0), at(1), at(2), at(3)], [at(4), at(5), at(6), at(7)]],
        }
    }
}

impl HeatedPair {
    /// Flows and currents in a state under a drive.
    pub fn moment(&self, drive: &Drive, state: &ThermalState) -> Moment {
        self.moment_near(drive, state, &Default::default())
    }

    fn moment_near(&self, drive: &Drive, state: &ThermalState, guesses: &[SurfaceGuess; 2]) -> Moment {
        let currents = self.circuit.currents(drive, state.mean_celsius);
        let flows = |coil: usize| {
            self.coils[coil].flows_near(state.mean_celsius[coil], state.wall_celsius[coil], &guesses[coil])
        };
        let a = flows(0);
        let same = state.mean_celsius[0] == state.mean_celsius[1]
            && state.wall_celsius[0] == state.wall_celsius[1]
            && self.coils_alike();
        let b = if same { a } else { flows(1) };
        let made_watt = [0, 1].map(|coil| {
            currents.coil_ampere[coil].powi(2) * self.circuit.coil_ohm(coil, state.mean_celsius[coil])
        });
        Moment { currents, coils: [a, b], made_watt }
    }

    /// Heat capacity of both coils.
    pub(crate) fn heat_capacity_joule_per_kelvin(&self) -> f64 {
        self.coils.iter().map(|coil| coil.heat_capacity_joule_per_kelvin()).sum()
    }

    /// Heat stored in a state, above that of the pair at room temperature.
    pub(crate) fn stored_joule(&self, state: &ThermalState) -> f64 {
        let of_coil = |coil: usize| {
            let model = &self.coils[coil];
            let walls: f64 = (0..4)
                .map(|side| {
                    model.wall_joule_per_kelvin[side] * (state.wall_celsius[coil][side] - self.room_celsius)
                })
                .sum();
            model.winding_joule_per_kelvin * (state.mean_celsius[coil] - self.room_celsius) + walls
        };
        of_coil(0) + of_coil(1)
    }

    /// Approximate time constant of the pair: heat capacity over conductance at a rise of 30 K.
    pub(crate) fn rough_time_constant_s(&self) -> f64 {
        let coil = &self.coils[0];
        let rise = 30.0;
        coil.heat_capacity_joule_per_kelvin() * rise / coil.settled(self.room_celsius + rise).loss_watt
    }

    /// Follows the pair from `start` for `duration_s` under a drive that may change with time, or until `until` passes
    /// zero from below.
    pub fn follow(
        &self,
        drive: &dyn Fn(f64) -> Drive,
        start: &ThermalState,
        duration_s: f64,
        until: Option<Watch<'_>>,
    ) -> Result<Transient> {
        let until = until.map(|function| Until { function, parts_of_step: USUAL_PARTS });
        self.integrated(drive, start, duration_s, until, &ACCURATE)
    }

    /// Follows the pair, cold at first, under a drive that stays. All temperatures only rise then, so that a limit is
    /// looked for at the end of each step alone.
    pub(crate) fn follow_from_cold(
        &self,
        drive: &Drive,
        duration_s: f64,
        until: Watch<'_>,
    ) -> Result<Transient> {
        let cold = ThermalState::uniform(self.room_celsius);
        let until = Until { function: until, parts_of_step: 1 };
        self.integrated(&|_| *drive, &cold, duration_s, Some(until), &ACCURATE)
    }

    /// The pair, cold at first, after a current has been held for a time. Accurate to a hundredth of a kelvin; for
    /// computing many pairs.
    pub(crate) fn roughly_after(&self, current_ampere: f64, duration_s: f64) -> Result<ThermalState> {
        let options = Options {
            relative_tolerance: ROUGH_TOLERANCE,
            absolute_tolerance: ROUGH_TOLERANCE,
            longest_step: f64::INFINITY,
            step_limit: 100_000,
        };
        let cold = ThermalState::uniform(self.room_celsius);
        let run = self.integrated(&|_| Drive::held(current_ampere), &cold, duration_s, None, &options)?;
        Ok(run.end_state())
    }

    fn integrated(
        &self,
        drive: &dyn Fn(f64) -> Drive,
        start: &ThermalState,
        duration_s: f64,
        until: Option<Until<'_>>,
        options: &Options,
    ) -> Result<Transient> {
        let heat_capacity_joule_per_kelvin = self.heat_capacity_joule_per_kelvin();
        let guesses = Default::default();
        let derivative = |time: f64, unknowns: &State<UNKNOWNS>| {
            let state = ThermalState::of_unknowns(unknowns, self.room_celsius);
            let moment = self.moment_near(&drive(time), &state, &guesses);
            let mut rates = State::<UNKNOWNS>::zeros();
            for (coil, flows) in moment.coils.iter().enumerate() {
                let model = &self.coils[coil];
                rates[4 * coil] =
                    (moment.made_watt[coil] - flows.from_winding_watt) / model.winding_joule_per_kelvin;
                for side in 1..4 {
                    if model.wall_joule_per_kelvin[side] > 0.0 {
                        rates[4 * coil + side] =
                            flows.wall_gain_watt[side] / model.wall_joule_per_kelvin[side];
                    }
                }
                rates[HEAT_IN] += moment.made_watt[coil] / heat_capacity_joule_per_kelvin;
                rates[HEAT_OUT] += flows.to_room_watt / heat_capacity_joule_per_kelvin;
            }
            rates
        };
        let unknowns = start.unknowns(self.room_celsius);
        let watched = |time: f64, unknowns: &State<UNKNOWNS>| {
            let state = ThermalState::of_unknowns(unknowns, self.room_celsius);
            let moment = || self.moment_near(&drive(time), &state, &guesses);
            until.map_or(-1.0, |until| (until.function)(&moment, &state))
        };
        let event = Event {
            function: &watched,
            crossing: Crossing::Rising,
            stop_at: Some(1),
            parts_of_step: until.map_or(1, |until| until.parts_of_step),
        };
        let events = if until.is_some() { std::slice::from_ref(&event) } else { &[] };
        let solution = integrate(derivative, 0.0, unknowns, duration_s, options, events);
        match solution.stopped {
            IntegrationEnd::EndTime | IntegrationEnd::Event(_) => {
                Ok(Transient { solution, room_celsius: self.room_celsius, heat_capacity_joule_per_kelvin })
            }
            _ => Err(Error::NotConverged {
                what: "the coils' temperature in time",
                best: solution.end_time,
                error_estimate: duration_s - solution.end_time,
            }),
        }
    }

    /// The excess of the hotter coil over a temperature limit at one moment.
    pub(crate) fn excess_kelvin(
        &self,
        temperatures: &TemperatureLimits,
        limit: TemperatureLimit,
        moment: &Moment,
        state: &ThermalState,
    ) -> f64 {
        (0..2)
            .map(|coil| {
                let flows = &moment.coils[coil];
                let surfaces = std::array::from_fn(|side| {
                    (flows.surface_celsius[side], self.coils[coil].faces[side].surface.touch)
                });
                let mean = state.mean_celsius[coil];
                let hot_spot_celsius = match limit {
                    TemperatureLimit::Insulation => flows.hot_spot_celsius(),
                    _ => mean,
                };
                temperatures.excess_kelvin(limit, mean, hot_spot_celsius, surfaces)
            })
            .fold(f64::NEG_INFINITY, f64::max)
    }

    /// The time (s) for which the pair, starting at room temperature, may stay switched on until it reaches a temperature
    /// limit, and that limit. 0 s if a limit lies below the room's temperature; `None` if no limit is ever reached.
    ///
    /// The insulation is judged with the lowest published conductivity of the wire pack, the surfaces with the assumed
    /// one. Temperatures are followed to 1e-6 K a step.
    ///
    /// # Errors
    /// [`Error::NotConverged`] if the temperatures cannot be followed in time.
    pub fn time_to_limit(
        &self,
        drive: &Drive,
        temperatures: &TemperatureLimits,
    ) -> Result<Option<(f64, TemperatureLimit)>> {
        let surfaces =
            self.time_to_one_of(&temperatures.of_surfaces(), drive, temperatures, f64::INFINITY)?;
        let insulation = [TemperatureLimit::Insulation];
        // Only the earlier of the two is asked for.
        let within_s = surfaces.map_or(f64::INFINITY, |(time_s, _)| time_s);
        let insulation =
            self.badly_conducting().time_to_one_of(&insulation, drive, temperatures, within_s)?;
        Ok(insulation.or(surfaces))
    }

    /// The time until one of some limits is reached, and that limit. `None` if none is reached, or none within
    /// `within_s`.
    fn time_to_one_of(
        &self,
        limits: &[TemperatureLimit],
        drive: &Drive,
        temperatures: &TemperatureLimits,
        within_s: f64,
    ) -> Result<Option<(f64, TemperatureLimit)>> {
        if let Some(steady) = self.steady(drive) {
            let safe = |limit: &TemperatureLimit| {
                // At the continuous current itself the limit is approached but never reached.
                self.steady_excess_kelvin(temperatures, *limit, &steady) < 1e-4
            };
            if limits.iter().all(safe) {
                return Ok(None);
            }
        }
        let worst = |moment: &Moment, state: &ThermalState| {
            limits
                .iter()
                .map(|limit| (self.excess_kelvin(temperatures, *limit, moment, state), *limit))
                .max_by(|a, b| a.0.total_cmp(&b.0))
                .unwrap_or((f64::NEG_INFINITY, TemperatureLimit::Insulation))
        };
        let cold = ThermalState::uniform(self.room_celsius);
        let (excess, limit) = worst(&self.moment(drive, &cold), &cold);
        if excess >= 0.0 {
            return Ok(Some((0.0, limit)));
        }
        let until = |moment: &dyn Fn() -> Moment, state: &ThermalState| worst(&moment(), state).0;
        let horizon_s = within_s.min(100.0 * self.rough_time_constant_s());
        let run = self.follow_from_cold(drive, horizon_s, &until)?;
        if !run.stopped_early() {
            return Ok(None);
        }
        let end = run.end_state();
        Ok(Some((run.end_time_s(), worst(&self.moment(drive, &end), &end).1)))
    }

    /// Follows the pair from cold until it has settled to a thousandth of its rise, or reaches
    /// `CEILING_CELSIUS`.
    pub fn warm_up(&self, drive: &Drive, steady: Option<&SteadyPair>) -> Result<Transient> {
        let goal_celsius = match steady {
            Some(steady) => self.room_celsius + 0.999 * (steady.hottest_mean_celsius() - self.room_celsius),
            None => CEILING_CELSIUS,
        };
        let until = |_: &dyn Fn() -> Moment, state: &ThermalState| {
            state.mean_celsius[0].max(state.mean_celsius[1]) - goal_celsius
        };
        self.follow_from_cold(drive, 100.0 * self.rough_time_constant_s(), &until)
    }
}

impl Transient {
    /// Whether the watched function ended it.
    pub(crate) fn stopped_early(&self) -> bool {
        matches!(self.solution.stopped, IntegrationEnd::Event(_))
    }

    /// Its duration.
    pub(crate) fn end_time_s(&self) -> f64 {
        self.solution.end_time
    }

    /// The state at its end.
    pub fn end_state(&self) -> ThermalState {
        ThermalState::of_unknowns(&self.solution.end_state, self.room_celsius)
    }

    /// The state at a time.
    pub(crate) fn state_at(&self, time_s: f64) -> ThermalState {
        ThermalState::of_unknowns(&self.solution.at(time_s), self.room_celsius)
    }

    /// Heat generated in the coils up to a time.
    pub(crate) fn heat_made_joule(&self, time_s: f64) -> f64 {
        self.solution.at(time_s)[HEAT_IN] * self.heat_capacity_joule_per_kelvin
    }

    /// Heat given to the room up to a time.
    pub(crate) fn heat_given_joule(&self, time_s: f64) -> f64 {
        self.solution.at(time_s)[HEAT_OUT] * self.heat_capacity_joule_per_kelvin
    }

    /// The times at which the steps of the integration end.
    #[cfg(test)]
    pub(crate) fn step_times_s(&self) -> impl Iterator<Item = f64> {
        self.solution.steps.iter().map(|step| step.time).chain([self.solution.end_time])
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pair::AxisPosition;
    use crate::physics::heat::example;
    use approx::assert_relative_eq;

    #[test]
    fn heat_made_is_heat_given_and_heat_stored_all_along() {
        for axis in [AxisPosition::Horizontal, AxisPosition::Vertical] {
            for material in ["plywood", "aluminium"] {
                let mut bench = example::bench();
                bench.axis = axis;
                if let Some(former) = &mut bench.former {
                    former.material = Some(material.into());
                }
                let pair = HeatedPair::of(&bench).unwrap();
                let drive = Drive::held(2.4);
                let run = pair.warm_up(&drive, pair.steady(&drive).as_ref()).unwrap();
                for time in run.step_times_s().skip(1) {
                    let made = run.heat_made_joule(time);
                    let out = run.heat_given_joule(time) + pair.stored_joule(&run.state_at(time));
                    assert_relative_eq!(made, out, max_relative = 1e-6);
                }
            }
        }
    }

    #[test]
    fn without_radiation_and_temperature_dependence_it_is_the_exact_exponential() {
        let mut pair = crate::physics::heat::pair::linear_pair(14.0);
        pair.circuit.coefficient_per_kelvin = 0.0;
        let coil = &pair.coils[0];
        let conductance: f64 = coil.faces.iter().map(|face| 14.0 * face.surface.area_m2).sum();
        let tau = coil.heat_capacity_joule_per_kelvin() / conductance;
        let rise = 2.0f64.powi(2) * pair.circuit.coil_at_20_celsius_ohm[0] / conductance;
        let run = pair.follow(&|_| Drive::held(2.0), &ThermalState::uniform(22.0), 5.0 * tau, None).unwrap();
        for fraction in [0.01, 0.3, 1.0, 2.7, 5.0] {
            let expected = rise * -f64::exp_m1(-fraction);
            let found = run.state_at(fraction * tau).mean_celsius[0] - 22.0;
            // Steps are accurate to 1e-6 K; the section's own conduction, 1e7 W/(m K), adds 1e-7 of the rise.
            assert!((found - expected).abs() < 3e-6 * rise, "{found} K, wanted {expected} K");
        }
        let cooling = pair.follow(&|_| Drive::held(0.0), &run.end_state(), tau, None).unwrap();
        let start = run.end_state().mean_celsius[0] - 22.0;
        assert_relative_eq!(
            cooling.end_state().mean_celsius[0] - 22.0,
            start * (-1f64).exp(),
            max_relative = 3e-6
        );
    }

    #[test]
    fn the_transient_ends_in_the_steady_state_found_by_its_root() {
        let mut bench = example::bench();
        bench.axis = AxisPosition::Vertical;
        let pair = HeatedPair::of(&bench).unwrap();
        let steady = pair.steady(&Drive::held(2.0)).unwrap();
        let tau = pair.rough_time_constant_s();
        let run = pair.follow(&|_| Drive::held(2.0), &ThermalState::uniform(22.0), 25.0 * tau, None).unwrap();
        for coil in 0..2 {
            let (found, expected) = (run.end_state().mean_celsius[coil], steady.coils[coil].mean_celsius);
            assert!((found - expected).abs() < 1e-4, "{found} °C, wanted {expected} °C");
        }
    }

    #[test]
    fn a_limit_is_reached_in_time_or_never() {
        let bench = example::bench();
        let pair = HeatedPair::of(&bench).unwrap();
        let temperatures = TemperatureLimits::of(&bench);
        let continuous = pair.limits(&temperatures, None).continuous_current_ampere;
        assert_eq!(pair.time_to_limit(&Drive::held(continuous), &temperatures).unwrap(), None);
        assert_eq!(pair.time_to_limit(&Drive::held(0.0), &temperatures).unwrap(), None);
        let mut before = f64::INFINITY;
        for factor in [1.01, 1.2, 2.0, 4.0, 8.0] {
            let (time, limit) =
                pair.time_to_limit(&Drive::held(factor * continuous), &temperatures).unwrap().unwrap();
            assert!(time > 0.0 && time < before, "{factor}: {time} s");
            before = time;
            if factor < 3.0 {
                assert_eq!(limit, TemperatureLimit::TouchForAMinute);
            }
        }
        // At eight times the current the winding gives hardly any heat away: the time is at least C ΔT / P.
        let cold_ohm = pair.circuit.coil_ohm(0, 22.0);
        let made = (8.0 * continuous).powi(2) * cold_ohm;
        let adiabatic = pair.coils[0].winding_joule_per_kelvin * 29.0 / made;
        assert!(before > 0.8 * adiabatic && before < 2.0 * adiabatic, "{before} s, adiabatic {adiabatic} s");
    }

    #[test]
    fn a_current_past_any_steady_state_is_followed_to_the_ceiling() {
        let pair = HeatedPair::of(&example::bench()).unwrap();
        let drive = Drive::held(1.2 * pair.critical_current_ampere());
        assert!(pair.steady(&drive).is_none());
        let run = pair.warm_up(&drive, None).unwrap();
        assert!(run.stopped_early());
        assert_relative_eq!(run.end_state().mean_celsius[0], CEILING_CELSIUS, max_relative = 1e-6);
    }
}
