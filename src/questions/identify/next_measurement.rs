//! Which further measurement would decide best.

use super::prediction::{Prediction, QUANTITIES, Scored};
use crate::numeric::quadrature::gauss_legendre;
use crate::pair::Wire;
use serde::Serialize;
use std::f64::consts::TAU;

/// A measurement that would distinguish the candidates.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct NextMeasurement {
    /// The quantity to measure.
    pub quantity: ToMeasure,
    /// Its relative standard uncertainty.
    pub relative_standard_uncertainty: f64,
    /// Expected information in bits, out of [`Self::open_bits`].
    pub expected_bits: f64,
    /// Missing information before it: the entropy of the candidates.
    pub open_bits: f64,
}

/// A quantity that a further measurement would give, and the means.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum ToMeasure {
    /// The resistance, with four wires.
    Resistance,
    /// The field at the centre, with a calibrated probe.
    Field,
    /// The inductance, at a low frequency.
    Inductance,
    /// The mass of the copper.
    Mass,
    /// The diameter over the enamel, with a micrometer.
    WireDiameter,
}

impl ToMeasure {
    /// In the order of the predictions.
    const ALL: [Self; QUANTITIES] =
        [Self::Resistance, Self::Field, Self::Inductance, Self::Mass, Self::WireDiameter];

    /// Relative standard uncertainty of a careful measurement with ordinary means (common practice, no source).
    const fn relative_standard_uncertainty(self) -> f64 {
        match self {
            Self::Resistance => 0.002,
            Self::Field => 0.003,
            Self::Inductance => 0.005,
            Self::Mass => 0.003,
            Self::WireDiameter => 0.005,
        }
    }
}

impl Prediction<'_> {
    /// The expected information of each measurement, made well, best first.
    pub(super) fn next_measurements(&self, wires: &[Wire], all: &[Scored]) -> Vec<NextMeasurement> {
        let open_bits: f64 = all
            .iter()
            .filter(|it| it.probability > 0.0)
            .map(|it| -it.probability * it.probability.log2())
            .sum();
        let mut next: Vec<NextMeasurement> = ToMeasure::ALL
            .into_iter()
            .enumerate()
            .map(|(at, quantity)| {
                let relative = quantity.relative_standard_uncertainty();
                let expected_bits = self.expected_bits(wires, all, at, relative).min(open_bits);
                NextMeasurement {
                    quantity,
                    relative_standard_uncertainty: relative,
                    expected_bits,
                    open_bits,
                }
            })
            .filter(|next| next.expected_bits > 0.01)
            .collect();
        next.sort_by(|a, b| b.expected_bits.total_cmp(&a.expected_bits));
        next
    }

    /// Mutual information of candidates and one more measurement, in bits: the entropy of the mixture of predictions
    /// minus that of a single prediction.
    fn expected_bits(&self, wires: &[Wire], all: &[Scored], quantity: usize, relative: f64) -> f64 {
        let normals: Vec<(f64, f64, f64)> = all
            .iter()
            .filter(|scored| scored.probability > 1e-4)
            .map(|scored| {
                let (mean, deviation) = self.foreseen(&wires[scored.wire], scored.turns, quantity, relative);
                (scored.probability, mean, deviation)
            })
            .collect();
        let weight: f64 = normals.iter().map(|(weight, ..)| weight).sum();
        let density = |x: f64| {
            normals
                .iter()
                .map(|(w, mean, deviation)| {
                    w / weight * (-0.5 * ((x - mean) / deviation).powi(2)).exp() / (deviation * TAU.sqrt())
                })
                .sum::<f64>()
        };
        let rule = gauss_legendre(24);
        let entropy_of_mixture: f64 = normals
            .iter()
            .map(|(w, mean, deviation)| {
                // −∫ p_i ln p over ±6 standard deviations of each.
                let sum: f64 = rule
                    .iter()
                    .map(|(x, node)| {
                        let t = 6.0 * x;
                        6.0 * node * (-0.5 * t * t).exp() / TAU.sqrt() * density(mean + t * deviation).ln()
                    })
                    .sum();
                -w / weight * sum
            })
            .sum();
        let entropy_of_one: f64 =
            normals.iter().map(|(w, _, deviation)| w / weight * (0.5 + (deviation * TAU.sqrt()).ln())).sum();
        ((entropy_of_mixture - entropy_of_one) / std::f64::consts::LN_2).max(0.0)
    }

    /// Prediction of a candidate for one more measurement, given those made: mean and standard deviation, relative to a
    /// scale common to all candidates.
    fn foreseen(&self, wire: &Wire, turns: u32, quantity: usize, relative: f64) -> (f64, f64) {
        let predicted = self.predicted(wire, f64::from(turns));
        let residual = self.residual(&predicted);
        let covariance = self.covariance(&predicted);
        let row = self.causes.row(quantity);
        let own = (row * row.transpose())[0] + relative * relative;
        let mut with_used = (self.causes * row.transpose()).column(0).into_owned();
        for i in 0..QUANTITIES {
            if !self.used[i] {
                with_used[i] = 0.0;
            }
        }
        let (shift, known) = match covariance.cholesky() {
            Some(cholesky) => {
                (with_used.dot(&cholesky.solve(&residual)), with_used.dot(&cholesky.solve(&with_used)))
            }
            None => (0.0, 0.0),
        };
        let scale = if self.used[quantity] { self.observed[quantity] } else { 1.0 };
        let mean = predicted[quantity] * (1.0 + shift) / scale;
        let deviation = predicted[quantity] * (own - known).max(relative * relative).sqrt() / scale;
        (mean, deviation)
    }
}
