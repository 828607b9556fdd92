//! Predicts each measurement from a wire and a turn count, and computes the likelihood of the measured values.

use super::dimensions::Dimensions;
use crate::files::spec::Measured;
use crate::pair::{Connection, Wire, resistivity_of_wire};
use crate::physics::field::{Assembly, PlacedWinding, mutual_inductance_henry, self_inductance_henry};
use crate::{Error, Result};
use nalgebra::{SMatrix, SVector, Vector3};
use std::f64::consts::TAU;

/// Standard uncertainty of a stock wire's bare diameter, a rectangular ±1 % (IEC 60317-0-1, conductor tolerance).
const BARE_DIAMETER_RELATIVE: f64 = 0.01 / 1.732_050_807_568_877_2;
/// Diameter over the enamel, relative to the largest that the standard allows (from memory: real wire stays 1 to 3 %
/// below), and its relative standard uncertainty.
pub(super) const OVERALL_BELOW_LARGEST: f64 = 0.985;
pub(super) const OVERALL_RELATIVE: f64 = 0.01;
/// Turns times overall diameter squared, over the section's area. Below three quarters a winding is loose; above 2/√3
/// round wires cannot be packed.
pub(super) const OCCUPANCY: [f64; 2] = [0.75, 1.154_700_538_379_251_5];
/// Prior probability of a loose winding, relative to a full one (common practice, no source). The measurements can
/// still favour it.
pub(super) const LOOSE: f64 = 0.02;

/// Number of quantities predicted: resistance, field, inductance, mass, diameter over the enamel.
pub(super) const QUANTITIES: usize = 5;
/// Number of uncertain inputs: inner and outer diameter, width, spacing, bare diameter, overall diameter, resistivity.
const CAUSES: usize = 7;
pub(super) type Observed = SVector<f64, QUANTITIES>;
pub(super) type Covariance = SMatrix<f64, QUANTITIES, QUANTITIES>;

/// Field and inductance for one turn in each coil.
#[derive(Clone, Copy, Debug)]
pub(super) struct PerTurn {
    pub(super) mean_radius_m: f64,
    /// T per ampere of the supply.
    field: f64,
    /// H of the pair as connected.
    inductance: f64,
}

/// One wire and turn count with its score.
#[derive(Clone, Copy)]
pub(super) struct Scored {
    pub(super) wire: usize,
    pub(super) turns: u32,
    pub(super) log_likelihood: f64,
    pub(super) chi_square: f64,
    pub(super) probability: f64,
}

/// Fewest turns of a bench pair (common practice, no source).
const LEAST_TURNS: u32 = 10;

/// Every wire and turn count with its score.
pub(super) fn scores(prediction: &Prediction, wires: &[Wire]) -> Vec<Scored> {
    let of_wire = |(number, wire)| {
        (LEAST_TURNS..=prediction.most_turns(wire)).map(move |turns| prediction.scored(number, wire, turns))
    };
    wires.iter().enumerate().flat_map(of_wire).collect()
}

/// What the predictions need.
pub(super) struct Prediction<'a> {
    pub(super) measured: &'a Measured,
    pub(super) dimensions: Dimensions,
    pub(super) connection: Connection,
    pub(super) per_turn: PerTurn,
    /// Relative change of each quantity for one standard uncertainty of each input.
    pub(super) causes: SMatrix<f64, QUANTITIES, CAUSES>,
    pub(super) observed: Observed,
    uncertainty: Observed,
    pub(super) used: [bool; QUANTITIES],
}

impl<'a> Prediction<'a> {
    /// `opposed`: one coil is connected against the other.
    pub(super) fn of(measured: &'a Measured, dimensions: Dimensions, opposed: bool) -> Result<Self> {
        let readings = [
            measured.resistance_ohm,
            measured.field_tesla_per_ampere,
            measured.inductance_henry,
            measured.conductor_mass_kg,
            measured.overall_wire_diameter_m,
        ];
        if readings[..4].iter().all(Option::is_none) {
            return Err(Error::value_with_hint(
                "nothing was measured that determines the turns",
                "measure the resistance, the field at a known current, the inductance or the mass of the copper",
            ));
        }
        let connection = measured.connection.unwrap_or_default();
        let per_turn = PerTurn::of(&dimensions, connection, opposed);
        let mut causes = SMatrix::zeros();
        for (cause, uncertainty) in dimensions.uncertainties().into_iter().enumerate() {
            // A step of a hundredth keeps the section's dimensions positive if an uncertainty is large.
            let step = 0.01 * uncertainty;
            let [up, down] =
                [step, -step].map(|by| PerTurn::of(&dimensions.with(cause, by), connection, opposed));
            let change = |of: fn(&PerTurn) -> f64| {
                if step > 0.0 {
                    (of(&up) - of(&down)) / (2.0 * step) * uncertainty / of(&per_turn)
                } else {
                    0.0
                }
            };
            causes[(0, cause)] = change(|turn| turn.mean_radius_m);
            causes[(1, cause)] = change(|turn| turn.field);
            causes[(2, cause)] = change(|turn| turn.inductance);
            causes[(3, cause)] = change(|turn| turn.mean_radius_m);
        }
        causes[(0, 4)] = -2.0 * BARE_DIAMETER_RELATIVE;
        causes[(3, 4)] = 2.0 * BARE_DIAMETER_RELATIVE;
        causes[(4, 5)] = OVERALL_RELATIVE;
        let [_, of_resistivity] = resistivity_of_wire(measured.conductor);
        causes[(0, 6)] = of_resistivity;
        Ok(Self {
            measured,
            dimensions,
            connection,
            per_turn,
            causes,
            observed: Observed::from_iterator(readings.map(|it| it.map_or(0.0, |it| it.value.abs()))),
            uncertainty: Observed::from_iterator(
                readings.map(|it| it.map_or(0.0, |it| it.standard_uncertainty)),
            ),
            used: readings.map(|it| it.is_some()),
        })
    }

    /// Most turns of a wire that the section could hold, within its uncertainty.
    pub(super) fn most_turns(&self, wire: &Wire) -> u32 {
        let (area, relative) = self.area();
        let largest = area * (1.0 + 3.0 * relative) * OCCUPANCY[1];
        (largest / (OVERALL_BELOW_LARGEST * wire.overall_diameter_m).powi(2)).min(20_000.0) as u32
    }

    /// The section's area and its relative standard uncertainty.
    fn area(&self) -> (f64, f64) {
        let d = &self.dimensions;
        let depth = d.depth_m();
        let depth_uncertainty =
            0.5 * d.inner_diameter_m.standard_uncertainty.hypot(d.outer_diameter_m.standard_uncertainty);
        let relative = (d.width_m.standard_uncertainty / d.width_m.value).hypot(depth_uncertainty / depth);
        (d.width_m.value * depth, relative)
    }

    /// The predictions for a wire and a turn count.
    pub(super) fn predicted(&self, wire: &Wire, turns: f64) -> Observed {
        let length = TAU * self.per_turn.mean_radius_m * turns;
        let area = wire.conductor_area_m2();
        let [resistivity, _] = resistivity_of_wire(wire.conductor);
        // The wire beyond the windings, as far as the reading states it, half of it at each coil.
        let with_ends = length + 0.5 * self.measured.free_ends_m.unwrap_or(0.0);
        let coil_ohm = resistivity * wire.conductor.resistivity_at_20_celsius_ohm_m() * with_ends / area
            * wire.conductor.resistance_ratio(self.measured.resistance_at_celsius);
        let pair_ohm = match self.connection {
            Connection::Series => 2.0 * coil_ohm,
            Connection::Parallel => 0.5 * coil_ohm,
        };
        Observed::from([
            pair_ohm,
            self.per_turn.field * turns,
            self.per_turn.inductance * turns * turns,
            2.0 * length * area * wire.conductor.density_kg_per_m3(),
            OVERALL_BELOW_LARGEST * wire.overall_diameter_m,
        ])
    }

    /// Relative covariance of the measurements about the predictions. A quantity not measured gets variance one and no
    /// correlation.
    pub(super) fn covariance(&self, predicted: &Observed) -> Covariance {
        let mut covariance = self.causes * self.causes.transpose();
        for i in 0..QUANTITIES {
            if self.used[i] {
                covariance[(i, i)] += (self.uncertainty[i] / predicted[i]).powi(2);
            } else {
                covariance.row_mut(i).fill(0.0);
                covariance.column_mut(i).fill(0.0);
                covariance[(i, i)] = 1.0;
            }
        }
        covariance
    }

    pub(super) fn residual(&self, predicted: &Observed) -> Observed {
        Observed::from_fn(|i, _| if self.used[i] { self.observed[i] / predicted[i] - 1.0 } else { 0.0 })
    }

    pub(super) fn scored(&self, number: usize, wire: &Wire, turns: u32) -> Scored {
        let predicted = self.predicted(wire, f64::from(turns));
        let residual = self.residual(&predicted);
        let none = Scored {
            wire: number,
            turns,
            log_likelihood: f64::NEG_INFINITY,
            chi_square: f64::INFINITY,
            probability: 0.0,
        };
        // If any single measurement is far off, no correlation can compensate for it.
        let covariance = self.covariance(&predicted);
        if (0..QUANTITIES).any(|i| residual[i].powi(2) > 100.0 * covariance[(i, i)]) {
            return none;
        }
        let Some(cholesky) = covariance.cholesky() else { return none };
        let chi_square = residual.dot(&cholesky.solve(&residual));
        let half_log_determinant: f64 = cholesky.l_dirty().diagonal().iter().map(|entry| entry.ln()).sum();
        let scale: f64 = (0..QUANTITIES).filter(|i| self.used[*i]).map(|i| predicted[i].ln()).sum();
        let log_likelihood =
            -0.5 * chi_square - half_log_determinant - scale + self.log_occupancy(wire, f64::from(turns));
        Scored { log_likelihood, chi_square, ..none }
    }

    /// ln of the prior for filling the section: zero for an ordinary filling. It falls off with the section's
    /// uncertainty for turns that do not fit, and for loose ones down to that of [`LOOSE`].
    fn log_occupancy(&self, wire: &Wire, turns: f64) -> f64 {
        let (area, relative) = self.area();
        let relative = relative.hypot(0.03);
        let filled = turns * (OVERALL_BELOW_LARGEST * wire.overall_diameter_m).powi(2) / area;
        let fall = |ratio: f64| -0.5 * (ratio.ln() / relative).powi(2);
        match filled {
            _ if filled > OCCUPANCY[1] => fall(filled / OCCUPANCY[1]),
            _ if filled < OCCUPANCY[0] => fall(OCCUPANCY[0] / filled).max(LOOSE.ln()),
            _ => 0.0,
        }
    }
}

impl PerTurn {
    pub(super) fn of(dimensions: &Dimensions, connection: Connection, opposed: bool) -> Self {
        let section = dimensions.section();
        let half = 0.5 * dimensions.spacing_m.value;
        let placed = |z: f64| PlacedWinding::on_axis(section, 1.0, z);
        let [a, b] = [placed(-half), placed(half)];
        let mutual = mutual_inductance_henry(&a, &b) * if opposed { -1.0 } else { 1.0 };
        let own = self_inductance_henry(&section, 1.0);
        let field = Assembly::new(vec![a, b]).field_once_per_ampere(&Vector3::zeros()).z;
        let (field, inductance) = match connection {
            Connection::Series => (field, 2.0 * (own + mutual)),
            Connection::Parallel => (0.5 * field, 0.5 * (own + mutual)),
        };
        Self { mean_radius_m: section.mean_radius_m, field, inductance }
    }
}
