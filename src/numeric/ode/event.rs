//! Events: functions of time and state, and the places where they pass zero.

use super::options::State;
use super::step::{Step, Trial};
use crate::numeric::dop853_tableau::STAGES;
use crate::numeric::roots::brent_root;

/// The direction in which an event's function must pass zero.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Crossing {
    /// From below.
    Rising,
    /// From above.
    Falling,
    /// Either way.
    Either,
}

/// A function of time and state to watch for its zeros.
pub struct Event<'a, const N: usize> {
    /// The function watched. A zero at the start is no crossing.
    pub function: &'a dyn Fn(f64, &State<N>) -> f64,
    /// Which crossings count.
    pub crossing: Crossing,
    /// Ends the integration at the crossing with this number (1 = the first). `None` only records the crossings.
    pub stop_at: Option<u32>,
    /// Parts of each step after which the function is looked at, at least 1; two crossings within one part are missed. A
    /// function that crosses zero only once needs no more than 1.
    pub parts_of_step: u32,
}

/// Parts for a function that may turn back.
pub const USUAL_PARTS: u32 = 8;

impl<const N: usize> std::fmt::Debug for Event<'_, N> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let Self { function: _, crossing, stop_at, parts_of_step } = self;
        f.debug_struct("Event")
            .field("crossing", crossing)
            .field("stop_at", stop_at)
            .field("parts_of_step", parts_of_step)
            .finish_non_exhaustive()
    }
}

/// One crossing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hit<const N: usize> {
    /// The event's number, counted from 0.
    pub event: usize,
    /// The time of the crossing.
    pub time: f64,
    /// The state then.
    pub state: State<N>,
    /// The event's function there, which shows how accurately the crossing was located.
    pub residual: f64,
}

/// The state of one event during the integration.
pub(super) struct Watch {
    /// Last nonzero sign of the function; 0 before the first.
    sign: f64,
    /// Crossings so far.
    pub(super) count: u32,
}

impl Watch {
    pub(super) fn starting(value: f64) -> Self {
        Self { sign: sign(value), count: 0 }
    }
}

fn sign(value: f64) -> f64 {
    if value > 0.0 {
        1.0
    } else if value < 0.0 {
        -1.0
    } else {
        0.0
    }
}

pub(super) struct HitsOfStep<const N: usize> {
    pub(super) found: Vec<Hit<N>>,
    pub(super) evaluations: u64,
}

pub(super) fn find_hits<const N: usize>(
    derivative: &mut impl FnMut(f64, &State<N>) -> State<N>,
    step: &Step<N>,
    start: &State<N>,
    trial: &Trial<N>,
    events: &[Event<'_, N>],
    watches: &mut [Watch],
) -> HitsOfStep<N> {
    let mut hits = HitsOfStep { found: Vec::new(), evaluations: 0 };
    for (index, (event, watch)) in events.iter().zip(watches).enumerate() {
        let value = |time: f64| (event.function)(time, &step.at(time));
        let mut before = step.time;
        let parts = event.parts_of_step.max(1);
        for part in 1..=parts {
            let time = step.time + step.length * f64::from(part) / f64::from(parts);
            let reached = sign(if part == parts { (event.function)(time, &trial.end) } else { value(time) });
            // A zero exactly at the end of a part counts as crossed.
            let now = if reached == 0.0 { -watch.sign } else { reached };
            let wanted = match event.crossing {
                Crossing::Rising => now > 0.0,
                Crossing::Falling => now < 0.0,
                Crossing::Either => true,
            };
            if wanted && watch.sign != 0.0 && now != watch.sign {
                let rough = brent_root(value, before, time, 1e-12 * step.length.abs());
                let hit = sharpen(derivative, step, start, &trial.stages[0], event, index, rough.at);
                hits.evaluations += hit.1;
                hits.found.push(hit.0);
            }
            watch.sign = now;
            before = time;
        }
    }
    let sense = step.length.signum();
    hits.found.sort_by(|a, b| (a.time * sense).total_cmp(&(b.time * sense)));
    hits
}

/// Newton steps on the event's function; each evaluates a full eighth-order step from the step's start.
fn sharpen<const N: usize>(
    derivative: &mut impl FnMut(f64, &State<N>) -> State<N>,
    step: &Step<N>,
    start: &State<N>,
    slope: &State<N>,
    event: &Event<'_, N>,
    index: usize,
    rough: f64,
) -> (Hit<N>, u64) {
    let mut exact = |time: f64| {
        let state = Trial::take(derivative, step.time, start, slope, time - step.time).end;
        Hit { event: index, time, state, residual: (event.function)(time, &state) }
    };
    let delta = 1e-4 * step.length;
    let rate = ((event.function)(rough + delta, &step.at(rough + delta))
        - (event.function)(rough - delta, &step.at(rough - delta)))
        / (2.0 * delta);
    let mut best = exact(rough);
    let mut evaluations = STAGES as u64;
    for _ in 0..4 {
        let next = best.time - best.residual / rate;
        let nearby = (next - rough).abs() <= 0.01 * step.length.abs();
        if !nearby || next == best.time {
            break;
        }
        let trial = exact(next);
        evaluations += STAGES as u64;
        if trial.residual.abs() < best.residual.abs() {
            best = trial;
        } else {
            break;
        }
    }
    (best, evaluations)
}
