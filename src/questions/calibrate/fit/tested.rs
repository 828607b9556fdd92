//! What the tests of the scatter look at: the distances from the line that only the readings' own errors explain.

use super::line::{AmmeterZeroSeen, AmmeterZeroTakenOut, Residual};
use super::lines::{FittedLines, Prepared};
use crate::numeric::correlated_lines::{CorrelatedLines, SharedError, fit_correlated_lines};
use crate::numeric::line_fit::ParallelLines;

/// A zero of the ammeter is seen if it takes more than this off chi-square (two standard uncertainties).
const SEEN: f64 = 4.0;
/// A zero that turns the slope by more than this fraction explains no readings of a line.
const MOST_TURN: f64 = 0.2;

/// Distances from the line, in units of what the readings' own errors explain.
pub(super) struct Tested {
    /// Their sum of squares, and that of the shared errors over their standard uncertainties.
    pub chi_square: f64,
    /// The distance of each reading.
    pub weighted_residuals: Vec<f64>,
    /// How much each reading pulls the line, between 0 and 1.
    pub leverages: Vec<f64>,
    /// The ammeter's zero, if the readings show one.
    pub ammeter_zero_seen: Option<AmmeterZeroSeen>,
    /// The zero that is taken out of the distances, seen or not.
    pub ammeter_zero_taken_out: Option<AmmeterZeroTakenOut>,
}

impl Prepared<'_> {
    /// Those of the fitted line; with a zero of the ammeter before the reversal if there may be one.
    pub(super) fn tested(&self, fitted: &FittedLines, known: bool) -> Tested {
        let lines = fitted.lines();
        if known && let Some((zero_ampere, with_zero)) = self.with_the_ammeters_zero(lines) {
            let estimate = with_zero.shared.last().copied().unwrap_or(0.0);
            let is_seen = lines.chi_square - with_zero.lines.chi_square > SEEN;
            let intercepts = with_zero.lines.lines.iter().map(|line| line.value);
            return Tested {
                ammeter_zero_taken_out: Some(AmmeterZeroTakenOut {
                    ampere: estimate * zero_ampere,
                    stated_standard_uncertainty_ampere: zero_ampere,
                    slope_tesla_per_ampere: with_zero.lines.slope,
                    intercepts_tesla: intercepts.collect(),
                }),
                chi_square: with_zero.lines.chi_square,
                weighted_residuals: with_zero.lines.weighted_residuals,
                leverages: with_zero.leverages,
                ammeter_zero_seen: is_seen.then_some(AmmeterZeroSeen {
                    ampere: estimate * zero_ampere,
                    stated_standard_uncertainty_ampere: zero_ampere,
                }),
            };
        }
        Tested {
            chi_square: lines.chi_square,
            weighted_residuals: lines.weighted_residuals.clone(),
            leverages: match fitted {
                FittedLines::Independent(lines) => self.pulls(lines, known),
                FittedLines::Correlated(fitted) => fitted.leverages.clone(),
            },
            ammeter_zero_seen: None,
            ammeter_zero_taken_out: None,
        }
    }

    /// Each reading beside the line.
    pub(super) fn residuals(&self, fitted: &FittedLines, tested: &Tested, known: bool) -> Vec<Residual> {
        let lines = fitted.lines();
        let outliers = self.outliers(lines, tested, known);
        let sum_of_squares: f64 = lines.residuals.iter().map(|residual| residual * residual).sum();
        let common = (sum_of_squares / lines.degrees_of_freedom.max(1) as f64).sqrt();
        let readings = self.readings.readings.iter().enumerate();
        readings
            .map(|(i, reading)| Residual {
                line: reading.line,
                label: reading.label.clone(),
                current_ampere: reading.current_ampere,
                field_tesla: reading.field_tesla,
                position_factor: self.factors[i],
                residual_tesla: lines.residuals[i],
                standard_uncertainty_tesla: if known { self.full_uncertainty(lines, i) } else { common },
                weighted_residual: tested.weighted_residuals[i],
                outlier: outliers[i],
            })
            .collect()
    }

    /// The lines if the ammeter's zero is one more error that the readings share, and its standard uncertainty. `None`
    /// if an intercept absorbs such a zero, or no line is found.
    fn with_the_ammeters_zero(&self, lines: &ParallelLines) -> Option<(f64, CorrelatedLines)> {
        let zero_ampere = self.readings.zero_before_reversal_ampere?;
        let currents = || self.readings.readings.iter().map(|reading| reading.current_ampere);
        if !(currents().any(|current| current > 0.0) && currents().any(|current| current < 0.0)) {
            return None;
        }
        // Without current there is none to be shown wrongly.
        let sign = |current: f64| if current == 0.0 { 0.0 } else { current.signum() };
        let zero = SharedError {
            x: currents()
                .zip(&self.factors)
                .map(|(current, factor)| factor * sign(current) * zero_ampere)
                .collect(),
            y: vec![0.0; self.points.len()],
        };
        let shared = [self.shared_errors(), vec![zero]].concat();
        let with_zero = fit_correlated_lines(&self.points, &self.line_of, &shared).ok()?;
        let turn = with_zero.lines.slope / lines.slope - 1.0;
        (turn.abs() < MOST_TURN).then_some((zero_ampere, with_zero))
    }
}
