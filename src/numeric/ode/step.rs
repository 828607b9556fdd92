//! One step of the method, its error and its dense output.

use super::options::{Options, State};
use crate::numeric::dop853_tableau::{A, C, D, DENSE_STAGES, E3, E5, Row, STAGES};

/// One accepted step and its dense output.
#[derive(Clone, Copy, Debug)]
pub struct Step<const N: usize> {
    /// The time at its start.
    pub time: f64,
    /// Its length; negative when integrating backwards.
    pub length: f64,
    pub(super) start: State<N>,
    polynomial: [State<N>; 7],
}

impl<const N: usize> Step<N> {
    /// The state at `time` inside the step, from the seventh-order polynomial.
    pub fn at(&self, time: f64) -> State<N> {
        let x = (time - self.time) / self.length;
        let mut sum = State::<N>::zeros();
        for (index, coefficient) in self.polynomial.iter().rev().enumerate() {
            sum = (sum + coefficient) * if index % 2 == 0 { x } else { 1.0 - x };
        }
        self.start + sum
    }
}

pub(super) fn weighted<const N: usize>(row: Row, stages: &[State<N>]) -> State<N> {
    row.iter().fold(State::zeros(), |sum, &(stage, weight)| sum + stages[stage] * weight)
}

pub(super) fn tolerances<const N: usize>(a: &State<N>, b: &State<N>, options: &Options) -> State<N> {
    a.zip_map(b, |a, b| options.absolute_tolerance + options.relative_tolerance * a.abs().max(b.abs()))
}

pub(super) fn rms<const N: usize>(vector: &State<N>) -> f64 {
    (vector.norm_squared() / N.max(1) as f64).sqrt()
}

/// A trial step.
pub(super) struct Trial<const N: usize> {
    time: f64,
    length: f64,
    pub(super) stages: [State<N>; DENSE_STAGES],
    pub(super) end: State<N>,
}

impl<const N: usize> Trial<N> {
    pub(super) fn take(
        derivative: &mut impl FnMut(f64, &State<N>) -> State<N>,
        time: f64,
        state: &State<N>,
        slope: &State<N>,
        length: f64,
    ) -> Self {
        let mut stages = [State::<N>::zeros(); DENSE_STAGES];
        stages[0] = *slope;
        for stage in 1..STAGES {
            let at = state + weighted(A[stage], &stages) * length;
            stages[stage] = derivative(time + C[stage] * length, &at);
        }
        let end = state + weighted(A[STAGES], &stages) * length;
        stages[STAGES] = derivative(time + length, &end);
        Self { time, length, stages, end }
    }

    /// Estimated local error over the allowed error: |h| e5²/√(e5² + 0.01 e3²) in the root mean square.
    pub(super) fn error_in_tolerances(&self, start: &State<N>, options: &Options) -> f64 {
        let scale = tolerances(start, &self.end, options);
        let fifth = rms(&weighted(E5, &self.stages).component_div(&scale));
        let third = rms(&weighted(E3, &self.stages).component_div(&scale));
        if fifth == 0.0 && third == 0.0 {
            return 0.0;
        }
        self.length.abs() * fifth * fifth / (fifth * fifth + 0.01 * third * third).sqrt()
    }

    /// The seventh-order polynomial of the step; it takes three more stages.
    pub(super) fn dense(
        &self,
        derivative: &mut impl FnMut(f64, &State<N>) -> State<N>,
        start: &State<N>,
    ) -> Step<N> {
        let mut stages = self.stages;
        for stage in STAGES + 1..DENSE_STAGES {
            let at = start + weighted(A[stage], &stages) * self.length;
            stages[stage] = derivative(self.time + C[stage] * self.length, &at);
        }
        let change = self.end - start;
        let (first, last) = (stages[0] * self.length, stages[STAGES] * self.length);
        let [d3, d4, d5, d6] = D.map(|row| weighted(row, &stages) * self.length);
        let polynomial = [change, first - change, change * 2.0 - (last + first), d3, d4, d5, d6];
        Step { time: self.time, length: self.length, start: *start, polynomial }
    }
}
