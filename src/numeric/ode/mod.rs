//! Ordinary differential equations: DOP853 with dense output and event location.
//!
//! The explicit Runge–Kutta method of order 8 of Dormand and Prince with step control by its fifth- and
//! third-order companions and a seventh-order polynomial inside each step. Source: E. Hairer, S. P. Nørsett,
//! G. Wanner, *Solving Ordinary Differential Equations I*, 2nd ed., Springer 1993, sections II.4 to II.6.

mod event;
mod options;
mod step;
mod tableau;

pub use event::{Crossing, Event, Hit, USUAL_PARTS};
pub use options::{Options, State};
pub use step::Step;
pub use tableau::{Tableau, tableau};

use crate::numeric::dop853_tableau::{DENSE_STAGES, STAGES};
use event::{Watch, find_hits};
use step::{Trial, rms, tolerances};

/// Why an integration stopped.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum IntegrationEnd {
    /// The end time was reached.
    EndTime,
    /// The event with this number ended the integration.
    Event(usize),
    /// The steps allowed were used up.
    StepLimit,
    /// No step was short enough to meet the tolerance: the tolerance asks for more digits than an f64 has.
    StepTooShort,
    /// The derivative or the start is not finite.
    NotFinite,
}

/// Cost and accuracy of the integration.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Statistics {
    /// Steps taken.
    pub accepted: u32,
    /// Steps rejected.
    pub rejected: u32,
    /// Evaluations of the derivative.
    pub evaluations: u64,
    /// Sum over the accepted steps of the estimated local error in units of the tolerance.
    pub summed_error_in_tolerances: f64,
}

/// A whole integration.
#[derive(Clone, Debug)]
pub struct Solution<const N: usize> {
    /// The steps in the order taken. The last may reach past `end_time` if an event ended the integration.
    pub steps: Vec<Step<N>>,
    /// The crossings found, in order of time.
    pub hits: Vec<Hit<N>>,
    /// Where it ended.
    pub end_time: f64,
    /// The state there.
    pub end_state: State<N>,
    /// Why it ended.
    pub stopped: IntegrationEnd,
    /// Cost and accuracy.
    pub statistics: Statistics,
}

impl<const N: usize> Solution<N> {
    /// The state at `time`; a time outside the integration gives the state at the nearest end.
    pub fn at(&self, time: f64) -> State<N> {
        let Some(first) = self.steps.first() else {
            return self.end_state;
        };
        let sense = first.length.signum();
        if (time - self.end_time) * sense >= 0.0 {
            return self.end_state;
        }
        if (time - first.time) * sense <= 0.0 {
            return first.start;
        }
        let after = self.steps.partition_point(|step| (step.time - time) * sense <= 0.0);
        self.steps[after.saturating_sub(1)].at(time)
    }
}

/// Integrates dy/dt = `derivative`(t, y) from `start` at `from` to `to`, which may lie before it.
///
/// Each step's estimated error, component by component, is at most `absolute_tolerance + relative_tolerance |y|` in the
/// root mean square; the error at the end grows with the number of steps. Events are located to the accuracy of the
/// steps themselves, not of the polynomial. Pairs of crossings within one of [`Event::parts_of_step`] are missed.
///
/// ```
/// use coilwright::numeric::ode::{Options, State, integrate};
/// // dy/dt = -y, y(0) = 1: y(1) = 1/e
/// let decay = integrate(|_, y: &State<1>| -y, 0.0, State::<1>::new(1.0), 1.0, &Options::with_tolerance(1e-10), &[]);
/// assert!((decay.end_state[0] - (-1f64).exp()).abs() < 1e-9);
/// ```
pub fn integrate<const N: usize>(
    mut derivative: impl FnMut(f64, &State<N>) -> State<N>,
    from: f64,
    start: State<N>,
    to: f64,
    options: &Options,
    events: &[Event<'_, N>],
) -> Solution<N> {
    let mut run = Solution {
        steps: Vec::new(),
        hits: Vec::new(),
        end_time: from,
        end_state: start,
        stopped: IntegrationEnd::EndTime,
        statistics: Statistics::default(),
    };
    if from == to {
        return run;
    }
    let mut watches: Vec<Watch> =
        events.iter().map(|event| Watch::starting((event.function)(from, &start))).collect();
    let mut slope = derivative(from, &start);
    run.statistics.evaluations = 1;
    if !(from.is_finite() && to.is_finite() && is_finite(&start) && is_finite(&slope)) {
        run.stopped = IntegrationEnd::NotFinite;
        return run;
    }
    let sense = (to - from).signum();
    let mut length = sense
        * first_step_length(&mut derivative, from, &start, &slope, sense, options)
            .min((to - from).abs())
            .min(options.longest_step);
    run.statistics.evaluations += 1;
    let mut just_rejected = false;
    loop {
        if run.statistics.accepted + run.statistics.rejected >= options.step_limit {
            run.stopped = IntegrationEnd::StepLimit;
            return run;
        }
        let (time, state) = (run.end_time, run.end_state);
        if length.abs() <= 4.0 * f64::EPSILON * time.abs().max((to - from).abs()) {
            run.stopped =
                if is_finite(&slope) { IntegrationEnd::StepTooShort } else { IntegrationEnd::NotFinite };
            return run;
        }
        let last = (time + length - to) * sense >= -1e-14 * length.abs();
        if last {
            length = to - time;
        }
        let trial = Trial::take(&mut derivative, time, &state, &slope, length);
        run.statistics.evaluations += STAGES as u64;
        let error = trial.error_in_tolerances(&state, options);
        if error.is_nan() || error > 1.0 {
            run.statistics.rejected += 1;
            length *= if error.is_finite() { (0.9 * error.powf(-0.125)).max(0.333) } else { 0.1 };
            just_rejected = true;
            continue;
        }
        let step = trial.dense(&mut derivative, &state);
        run.statistics.evaluations += (DENSE_STAGES - STAGES - 1) as u64;
        run.statistics.accepted += 1;
        run.statistics.summed_error_in_tolerances += error;
        run.steps.push(step);
        let hits = find_hits(&mut derivative, &step, &state, &trial, events, &mut watches);
        run.statistics.evaluations += hits.evaluations;
        for hit in hits.found {
            run.hits.push(hit);
            watches[hit.event].count += 1;
            if events[hit.event].stop_at == Some(watches[hit.event].count) {
                (run.end_time, run.end_state) = (hit.time, hit.state);
                run.stopped = IntegrationEnd::Event(hit.event);
                return run;
            }
        }
        run.end_time = if last { to } else { time + length };
        run.end_state = trial.end;
        slope = trial.stages[STAGES];
        if last {
            return run;
        }
        let growth = if error == 0.0 { 6.0 } else { (0.9 * error.powf(-0.125)).clamp(0.333, 6.0) };
        length *= if just_rejected { growth.min(1.0) } else { growth };
        length = sense * length.abs().min(options.longest_step);
        just_rejected = false;
    }
}

fn is_finite<const N: usize>(state: &State<N>) -> bool {
    state.iter().all(|value| value.is_finite())
}

/// A first guess at the step from the sizes of the state, its slope and its curvature (Hairer et al., II.4).
fn first_step_length<const N: usize>(
    derivative: &mut impl FnMut(f64, &State<N>) -> State<N>,
    time: f64,
    state: &State<N>,
    slope: &State<N>,
    sense: f64,
    options: &Options,
) -> f64 {
    let scale = tolerances(state, state, options);
    let size = rms(&state.component_div(&scale));
    let steepness = rms(&slope.component_div(&scale));
    let guess = if size < 1e-5 || steepness < 1e-5 { 1e-6 } else { 0.01 * size / steepness };
    let ahead = derivative(time + sense * guess, &(state + slope * (sense * guess)));
    let curvature = rms(&(ahead - slope).component_div(&scale)) / guess;
    let largest = steepness.max(curvature);
    let second = if largest <= 1e-15 { (1e-3 * guess).max(1e-6) } else { (0.01 / largest).powf(0.125) };
    if second.is_finite() { second.min(100.0 * guess) } else { guess }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::{PI, TAU};

    fn turning(_: f64, y: &State<2>) -> State<2> {
        State::<2>::new(y[1], -y[0])
    }

    fn two_bodies(_: f64, y: &State<4>) -> State<4> {
        let r3 = y[0].hypot(y[1]).powi(3);
        State::<4>::new(y[2], y[3], -y[0] / r3, -y[1] / r3)
    }

    #[test]
    fn halving_fixed_steps_divides_the_error_by_two_to_the_eighth() {
        let error = |steps: u32| {
            let mut state = State::<2>::new(0.0, 1.0);
            let length = 2.0 / f64::from(steps);
            for step in 0..steps {
                let time = length * f64::from(step);
                let slope = turning(time, &state);
                state = Trial::take(&mut turning, time, &state, &slope, length).end;
            }
            (state - State::<2>::new(2f64.sin(), 2f64.cos())).norm()
        };
        let order = (error(2) / error(4)).log2();
        assert!((7.5..9.5).contains(&order), "order {order}");
    }

    #[test]
    fn the_error_follows_the_tolerance_down_to_rounding() {
        // Kepler ellipse of eccentricity 0.6: back at the start after 2π (exact). An error in energy becomes an
        // error in phase, so a few hundred tolerances remain; scipy 1.17 DOP853 ends within 1.78e-10 at 1e-12.
        let start = State::<4>::new(0.4, 0.0, 0.0, 2.0);
        for tolerance in [1e-4, 1e-6, 1e-8, 1e-10, 1e-12, 1e-14] {
            let options = Options::with_tolerance(tolerance);
            let run = integrate(two_bodies, 0.0, start, TAU, &options, &[]);
            assert_eq!(run.stopped, IntegrationEnd::EndTime);
            let error = (run.end_state - start).norm();
            assert!(error < 500.0 * tolerance + 1e-13, "tolerance {tolerance:e}: error {error:e}");
            let back = integrate(two_bodies, TAU, run.end_state, 0.0, &options, &[]);
            let error = (back.end_state - start).norm();
            assert!(error < 500.0 * tolerance + 1e-13, "tolerance {tolerance:e}, and back: error {error:e}");
        }
    }

    #[test]
    fn dense_output_is_as_good_as_the_steps() {
        let start = State::<2>::new(0.0, 1.0);
        let run = integrate(turning, 0.0, start, 10.0, &Options::with_tolerance(1e-10), &[]);
        for i in 0..=1000 {
            let time = 0.01 * f64::from(i);
            assert!(
                (run.at(time)[0] - time.sin()).abs() < 2e-8,
                "at {time}: {}",
                run.at(time)[0] - time.sin()
            );
        }
        assert_eq!(run.at(-1.0), start);
        assert_eq!(run.at(11.0), run.end_state);
    }

    #[test]
    fn crossings_are_found_in_order_and_only_in_the_sense_asked_for() {
        let event =
            |function, crossing, stop_at, parts_of_step| Event { function, crossing, stop_at, parts_of_step };
        let events = [
            // A step is shorter than the half turn between two crossings.
            event(&|_, y: &State<2>| y[0], Crossing::Falling, None, 1),
            event(&|_, y: &State<2>| y[1], Crossing::Either, Some(4), USUAL_PARTS),
        ];
        for sense in [1.0, -1.0] {
            let start = State::<2>::new(0.0, sense);
            let run = integrate(turning, 0.0, start, 100.0 * sense, &Options::with_tolerance(1e-12), &events);
            assert_eq!(run.stopped, IntegrationEnd::Event(1));
            let wanted = [(1, 0.5), (0, 1.0), (1, 1.5), (1, 2.5), (0, 3.0), (1, 3.5)];
            let found: Vec<_> = run.hits.iter().map(|hit| (hit.event, hit.time * sense)).collect();
            assert_eq!(found.len(), wanted.len(), "{found:?}");
            for ((event, time), (wanted_event, halves)) in found.iter().zip(wanted) {
                assert_eq!(*event, wanted_event);
                assert!((time - halves * PI).abs() < 3e-11, "{time} {halves}");
            }
            assert!((run.end_time - 3.5 * PI * sense).abs() < 3e-11);
        }
    }

    #[test]
    fn what_cannot_be_integrated_says_why() {
        let one = State::<1>::new(1.0);
        let options = Options::with_tolerance(1e-9);
        // y' = y², y(0) = 1 has no solution beyond t = 1.
        let blow_up = integrate(|_, y: &State<1>| y.component_mul(y), 0.0, one, 2.0, &options, &[]);
        assert!(
            matches!(blow_up.stopped, IntegrationEnd::StepTooShort | IntegrationEnd::NotFinite),
            "{:?}",
            blow_up.stopped
        );
        assert!((blow_up.end_time - 1.0).abs() < 1e-3);
        let nonsense = integrate(|_, y: &State<1>| y * f64::NAN, 0.0, one, 1.0, &options, &[]);
        assert_eq!(nonsense.stopped, IntegrationEnd::NotFinite);
        let few = Options { step_limit: 3, ..options };
        let long = integrate(|t, _: &State<1>| State::<1>::new(t.cos()), 0.0, one, 1e4, &few, &[]);
        assert_eq!(long.stopped, IntegrationEnd::StepLimit);
    }
}
