//! The model driven by a test's currents, and the factors that bring it nearest to the test's resistances.

use super::readings::Reading;
use super::{WarmUpPoint, temperature_by_resistance_celsius};
use crate::constants::Conductor;
use crate::heating::circuit::Drive;
use crate::heating::pair::HeatedPair;
use crate::heating::transient::ThermalState;
use crate::{Error, Result};
use nalgebra::{Matrix3, Vector3};

const ROUNDS: usize = 30;

/// Factors are sought between a tenth and ten.
const WIDEST_LN: f64 = std::f64::consts::LN_10;

/// A test and the model that is to follow it.
pub(super) struct Run {
    pub(super) pair: HeatedPair,
    pub(super) blocks: Vec<Reading>,
    pub(super) conductor: Conductor,
}

/// Where the least squares ended.
pub(super) struct Least {
    /// Surface, heat capacity.
    pub(super) factors: [f64; 2],
    /// Relative standard uncertainties of surface factor, heat capacity factor, cold resistance.
    pub(super) deviation: [f64; 3],
    pub(super) cold_ohm: f64,
    pub(super) degrees_of_freedom: usize,
    pub(super) points: Vec<WarmUpPoint>,
}

impl Run {
    pub(super) fn resistance_ohm(&self, block: &Reading) -> f64 {
        block.voltage_volt / block.current_ampere - self.pair.circuit.lead_resistance_ohm
    }

    pub(super) fn coils_ohm(&self, celsius: [f64; 2]) -> f64 {
        self.pair.circuit.total_ohm(celsius) - self.pair.circuit.lead_resistance_ohm
    }

    /// Refuses a test in which the copper cools.
    pub(super) fn refuse_cooling(&self) -> Result<()> {
        let ohms: Vec<f64> = self.blocks.iter().map(|block| self.resistance_ohm(block)).collect();
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
        let mut before = Reading { time_s: 0.0, ..self.blocks[0] };
        let mut modelled = Vec::with_capacity(self.blocks.len());
        for block in &self.blocks {
            let span = block.time_s - before.time_s;
            if span > 0.0 {
                let drive = |time: f64| Drive {
                    current_ampere: (before.current_ampere
                        + (block.current_ampere - before.current_ampere) * time / span)
                        .abs(),
                    voltage_volt: f64::INFINITY,
                };
                state = pair.follow(&drive, &state, span, None)?.end_state();
            }
            let ohm = pair.circuit.total_ohm(state.mean_celsius) - pair.circuit.lead_resistance_ohm;
            modelled.push((ohm, 0.5 * (state.mean_celsius[0] + state.mean_celsius[1])));
            before = *block;
        }
        Ok(modelled)
    }

    pub(super) fn least_squares(&self, with_surface: bool) -> Result<Least> {
        let measured: Vec<f64> = self.blocks.iter().map(|block| self.resistance_ohm(block)).collect();
        let mut parameters = Vector3::new(0.0, 0.0, measured[0].ln());
        let residuals = |modelled: &[(f64, f64)]| -> Vec<f64> {
            measured.iter().zip(modelled).map(|(found, (model, _))| found / model - 1.0).collect()
        };
        let weighted_square = |residuals: &[f64]| -> f64 {
            residuals.iter().zip(&self.blocks).map(|(r, block)| block.rows * r * r).sum()
        };
        let mut modelled = self.modelled(&parameters)?;
        let mut square = weighted_square(&residuals(&modelled));
        let mut normal = Matrix3::identity();
        let mut converged = false;
        for _ in 0..ROUNDS {
            const NUDGE: f64 = 1e-3;
            let now = residuals(&modelled);
            let mut slopes = Vec::new();
            for index in 0..3 {
                let mut nudged = parameters;
                nudged[index] += NUDGE;
                let there =
                    if index == 0 && !with_surface { modelled.clone() } else { self.modelled(&nudged)? };
                let moved = residuals(&there);
                slopes.push(now.iter().zip(&moved).map(|(a, b)| (a - b) / NUDGE).collect::<Vec<f64>>());
            }
            normal = Matrix3::from_fn(|i, j| {
                (0..now.len()).map(|n| self.blocks[n].rows * slopes[i][n] * slopes[j][n]).sum()
            });
            let pull = Vector3::from_fn(|i, _| {
                (0..now.len()).map(|n| self.blocks[n].rows * slopes[i][n] * now[n]).sum()
            });
            if !with_surface {
                // A held parameter: its own equation says "no step".
                normal[(0, 0)] = 1.0;
            }
            let Some(step) = normal.lu().solve(&pull) else { break };
            // No step larger than a factor of two, halved until the sum of squares falls.
            let mut fraction = (0.7 / step.amax()).min(1.0);
            let mut improved = false;
            for _ in 0..8 {
                let mut tried = parameters + step * fraction;
                for factor in 0..2 {
                    tried[factor] = tried[factor].clamp(-WIDEST_LN, WIDEST_LN);
                }
                let there = self.modelled(&tried)?;
                let tried_square = weighted_square(&residuals(&there));
                if tried_square <= square * (1.0 + 1e-12) {
                    (parameters, modelled, square) = (tried, there, tried_square);
                    improved = true;
                    break;
                }
                fraction *= 0.5;
            }
            if !improved || (step * fraction).amax() < 1e-5 {
                converged = true;
                break;
            }
        }
        if !converged {
            return Err(Error::NotConverged {
                what: "the fit of the warm-up test",
                best: parameters[0].exp(),
                error_estimate: square.sqrt(),
            });
        }
        let unknowns = if with_surface { 3 } else { 2 };
        let degrees_of_freedom = self.blocks.len() - unknowns;
        let variance = square / degrees_of_freedom as f64;
        let covariance =
            normal.try_inverse().map_or(Matrix3::from_element(f64::INFINITY), |inverse| inverse * variance);
        let cold_ohm = parameters[2].exp();
        let points = self
            .blocks
            .iter()
            .zip(&measured)
            .zip(&modelled)
            .map(|((block, ohm), (_, model_celsius))| WarmUpPoint {
                time_s: block.time_s,
                resistance_ohm: *ohm,
                temperature_celsius: temperature_by_resistance_celsius(
                    self.conductor,
                    ohm / cold_ohm,
                    self.pair.room_celsius,
                ),
                model_temperature_celsius: *model_celsius,
            })
            .collect();
        Ok(Least {
            factors: [parameters[0].exp(), parameters[1].exp()],
            deviation: [0, 1, 2].map(|i| covariance[(i, i)].sqrt()),
            cold_ohm,
            degrees_of_freedom,
            points,
        })
    }
}
