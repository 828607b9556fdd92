//! Fits the model, driven by a test's currents, to the test's resistances.

use super::point::{WarmUpPoint, temperature_by_resistance_celsius};
use super::readings::WarmUpReading;
use crate::constants::Conductor;
use crate::numeric::least_squares::{self, FitEnd, Search};
use crate::physics::heat::circuit::Drive;
use crate::physics::heat::pair::HeatedPair;
use crate::physics::heat::transient::ThermalState;
use crate::{Error, Result};
use nalgebra::{Matrix3, Vector3};
use std::f64::consts::LN_10;

/// Surface and heat capacity factors between a tenth and ten, changed by at most a factor of two in a step.
const SEARCH: Search<3> = Search {
    start: Vector3::new(0.0, 0.0, 0.0),
    held: [false; 3],
    bounds: [[-LN_10, LN_10], [-LN_10, LN_10], [f64::NEG_INFINITY, f64::INFINITY]],
    longest_step: 0.7,
    settled: 1e-5,
    may_grow: 1e-12,
    rounds: 30,
};

/// Lower bound for the relative scatter of a resistance: half a digit in the fourth place of a meter. Otherwise a few
/// rows that agree by chance would seem to determine the factors.
const LEAST_SCATTER: f64 = 3e-4;

/// A test, and the model that is to follow it.
#[derive(Clone)]
pub(super) struct Run {
    pub(super) pair: HeatedPair,
    pub(super) blocks: Vec<WarmUpReading>,
    pub(super) conductor: Conductor,
    /// Of the coils alone, at each block.
    pub(super) measured_ohm: Vec<f64>,
}

/// Which factors are fitted; the others are held at 1. The cold resistance is always fitted.
#[derive(Clone, Copy, Debug)]
pub(super) struct Free {
    pub(super) surface: bool,
    pub(super) capacity: bool,
}

impl Free {
    fn holds(self, parameter: usize) -> bool {
        match parameter {
            0 => !self.surface,
            1 => !self.capacity,
            _ => false,
        }
    }

    /// Number of fitted parameters.
    pub(super) fn unknowns(self) -> usize {
        (0..3).filter(|parameter| !self.holds(*parameter)).count()
    }
}

/// The result of the least squares.
pub(super) struct Least {
    /// Surface factor, heat capacity factor.
    pub(super) factors: [f64; 2],
    /// Relative standard uncertainties of surface factor, heat capacity factor, cold resistance.
    pub(super) deviation: [f64; 3],
    pub(super) cold_ohm: f64,
    pub(super) degrees_of_freedom: usize,
    /// Weighted sum of squares of measured over modelled resistance minus 1.
    pub(super) square: f64,
    pub(super) points: Vec<WarmUpPoint>,
}

impl Run {
    pub(super) fn new(pair: HeatedPair, blocks: Vec<WarmUpReading>, conductor: Conductor) -> Self {
        let mut run = Self { pair, blocks, conductor, measured_ohm: Vec::new() };
        run.measured_ohm = run.blocks.iter().map(|block| run.resistance_ohm(block)).collect();
        run
    }

    /// The run without one block: its weight is zero, and its current is interpolated between its neighbours.
    pub(super) fn without(&self, index: usize) -> Self {
        let mut run = self.clone();
        let neighbour = |at: Option<usize>| at.and_then(|at| self.blocks.get(at));
        let here = self.blocks[index];
        run.blocks[index].rows = 0.0;
        run.blocks[index].current_ampere = match (neighbour(index.checked_sub(1)), neighbour(Some(index + 1)))
        {
            (Some(before), Some(after)) => {
                let way = (here.time_s - before.time_s) / (after.time_s - before.time_s);
                before.current_ampere + way * (after.current_ampere - before.current_ampere)
            }
            (Some(only), None) | (None, Some(only)) => only.current_ampere,
            (None, None) => here.current_ampere,
        };
        run
    }

    pub(super) fn resistance_ohm(&self, block: &WarmUpReading) -> f64 {
        block.voltage_volt / block.current_ampere - self.pair.circuit.lead_resistance_ohm
    }

    pub(super) fn coils_ohm(&self, celsius: [f64; 2]) -> f64 {
        self.pair.circuit.total_ohm(celsius) - self.pair.circuit.lead_resistance_ohm
    }

    /// Refuses a test in which the copper cools.
    pub(super) fn refuse_cooling(&self) -> Result<()> {
        let ohms = &self.measured_ohm;
        let (first, last) = (ohms[0], ohms[ohms.len() - 1]);
        if first <= 0.0 {
            return Err(Error::value_with_hint(
                format!(
                    "the warm-up test gives {:.4} ohm, and the leads alone have {} ohm",
                    first + self.pair.circuit.lead_resistance_ohm,
                    self.pair.circuit.lead_resistance_ohm
                ),
                "check `leads.resistance` in the spec and the units in the table",
            ));
        }
        if last <= first {
            return Err(Error::value_with_hint(
                format!(
                    "the resistance does not rise: {first:.4} ohm at {:.0} s, {last:.4} ohm at {:.0} s",
                    self.blocks[0].time_s,
                    self.blocks[self.blocks.len() - 1].time_s
                ),
                "start with the coils at room temperature and keep the current up: cooling coils show nothing here",
            ));
        }
        Ok(())
    }

    /// Modelled resistance over cold resistance, and temperature, at each block.
    fn modelled(&self, parameters: &Vector3<f64>) -> Result<Vec<(f64, f64)>> {
        let [surface, capacity, cold_ohm] = [parameters[0].exp(), parameters[1].exp(), parameters[2].exp()];
        let mut pair = self.pair.with_factors(surface, capacity);
        let spec_ohm = self.coils_ohm([pair.room_celsius; 2]);
        for ohm in &mut pair.circuit.coil_at_20_celsius_ohm {
            *ohm *= cold_ohm / spec_ohm;
        }
        let mut state = ThermalState::uniform(pair.room_celsius);
        let mut before = WarmUpReading { time_s: 0.0, ..self.blocks[0] };
        let mut modelled = Vec::with_capacity(self.blocks.len());
        for block in &self.blocks {
            let span = block.time_s - before.time_s;
            if span > 0.0 {
                let drive = |time: f64| {
                    Drive::held(
                        (before.current_ampere
                            + (block.current_ampere - before.current_ampere) * time / span)
                            .abs(),
                    )
                };
                state = pair.follow(&drive, &state, span, None)?.end_state();
            }
            let ohm = pair.circuit.total_ohm(state.mean_celsius) - pair.circuit.lead_resistance_ohm;
            modelled.push((ohm, 0.5 * (state.mean_celsius[0] + state.mean_celsius[1])));
            before = *block;
        }
        Ok(modelled)
    }

    /// Measured over modelled resistance, minus 1, each times the root of the number of rows in its block.
    fn residuals(&self, parameters: &Vector3<f64>) -> Result<Vec<f64>> {
        let modelled = self.modelled(parameters)?;
        let found = self.measured_ohm.iter().zip(&modelled).zip(&self.blocks);
        Ok(found.map(|((found, (model, _)), block)| block.rows.sqrt() * (found / model - 1.0)).collect())
    }

    /// Slopes of the residuals by small changes of the parameters.
    fn slopes(&self, here: &Vector3<f64>, residuals: &[f64], free: Free) -> Result<Vec<Vector3<f64>>> {
        const NUDGE: f64 = 1e-3;
        let mut rows = vec![Vector3::zeros(); residuals.len()];
        for index in (0..3).filter(|index| !free.holds(*index)) {
            let mut nudged = *here;
            nudged[index] += NUDGE;
            let there = self.residuals(&nudged)?;
            for ((row, a), b) in rows.iter_mut().zip(residuals).zip(there) {
                row[index] = (a - b) / NUDGE;
            }
        }
        Ok(rows)
    }

    /// Fits the free factors and the cold resistance by least squares of measured over modelled resistance. The
    /// parameters are ln surface factor, ln capacity factor, ln cold resistance.
    pub(super) fn least_squares(&self, free: Free) -> Result<Least> {
        let first = self.blocks.iter().position(|block| block.rows > 0.0).unwrap_or(0);
        let search = Search {
            start: Vector3::new(0.0, 0.0, self.measured_ohm[first].ln()),
            held: [0, 1, 2].map(|index| free.holds(index)),
            ..SEARCH
        };
        let found = least_squares::least_squares(
            &search,
            |parameters| self.residuals(parameters),
            |parameters, residuals| self.slopes(parameters, residuals, free),
        )?;
        match found.ending {
            FitEnd::Settled | FitEnd::NoStepLower => {
                let inverse = found.covariance().unwrap_or(Matrix3::from_element(f64::INFINITY));
                self.least(&found.parameters, found.square, inverse, free)
            }
            FitEnd::Singular | FitEnd::OutOfRounds => Err(Error::NotConverged {
                what: "the fit of the warm-up test",
                best: found.parameters[0].exp(),
                error_estimate: found.square.sqrt(),
            }),
        }
    }

    /// The model as predicted, starting from the first resistance.
    pub(super) fn unfitted(&self) -> Result<Least> {
        let here = Vector3::new(0.0, 0.0, self.measured_ohm[0].ln());
        let square = self.residuals(&here)?.iter().map(|residual| residual * residual).sum();
        self.least(&here, square, Matrix3::identity(), Free { surface: false, capacity: false })
    }

    /// The result, from the covariance for residuals of unit variance.
    fn least(&self, here: &Vector3<f64>, square: f64, inverse: Matrix3<f64>, free: Free) -> Result<Least> {
        let modelled = self.modelled(here)?;
        let counted = self.blocks.iter().filter(|block| block.rows > 0.0).count();
        let degrees_of_freedom = counted.saturating_sub(free.unknowns());
        // Without a degree of freedom the uncertainties are infinite or NaN: nothing is determined.
        let variance = (square / degrees_of_freedom as f64).max(LEAST_SCATTER * LEAST_SCATTER);
        let covariance = inverse * variance;
        let cold_ohm = here[2].exp();
        let point = |((block, ohm), (_, model_celsius)): ((&WarmUpReading, &f64), &(f64, f64))| WarmUpPoint {
            time_s: block.time_s,
            resistance_ohm: *ohm,
            temperature_celsius: temperature_by_resistance_celsius(
                self.conductor,
                ohm / cold_ohm,
                self.pair.room_celsius,
            ),
            model_temperature_celsius: *model_celsius,
        };
        Ok(Least {
            factors: [here[0].exp(), here[1].exp()],
            deviation: [0, 1, 2].map(|i| covariance[(i, i)].sqrt()),
            cold_ohm,
            degrees_of_freedom,
            square,
            points: self.blocks.iter().zip(&self.measured_ohm).zip(&modelled).map(point).collect(),
        })
    }
}
