//! How fast a slope drifts, and what would change it as much.

use super::history::Entered;
use super::statement::CalibrationEntry;
use super::unshared::unshared_standard_uncertainty;
use crate::judgement::agreement::birge;
use crate::numeric::line_fit::{LinePoint, fit_line, fit_line_equal_scatter};
use serde::Serialize;

/// A drift: the slope of the straight line through the values of a series against time.
///
/// The values are weighted by the uncertainty that they do not share; what all share moves them together and is no drift.
/// Where three or more scatter by more than that, the uncertainty of the drift grows by the Birge ratio. Where none of it is
/// known, it comes from the scatter.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct DriftRate {
    /// As a fraction of the mean slope.
    pub per_year_fraction: f64,
    /// Its standard uncertainty.
    pub standard_uncertainty_per_year_fraction: f64,
    /// Years from the first value to the last.
    pub years: f64,
    /// How many values.
    pub values: usize,
}

impl DriftRate {
    /// Of a series; `None` with fewer than two days, or where nothing tells its uncertainty.
    pub(super) fn of(series: &[&Entered<CalibrationEntry>]) -> Option<Self> {
        let first = series.first()?.said.day();
        let points: Vec<LinePoint> = series
            .iter()
            .map(|entered| LinePoint {
                x: entered.said.day().years_since(first),
                y: entered.said.line.slope.tesla_per_ampere,
                x_uncertainty: 0.0,
                y_uncertainty: unshared_standard_uncertainty(&entered.said.line),
                covariance: 0.0,
            })
            .collect();
        let years = points.last()?.x;
        let mean = points.iter().map(|point| point.y).sum::<f64>() / points.len() as f64;
        let (slope, uncertainty) = if points.iter().all(|point| point.y_uncertainty > 0.0) {
            let fit = fit_line(&points).ok()?;
            let factor = birge(fit.chi_square, fit.degrees_of_freedom).map_or(1.0, |scatter| scatter.factor);
            (fit.slope, factor * fit.slope_uncertainty)
        } else {
            let plain: Vec<(f64, f64)> = points.iter().map(|point| (point.x, point.y)).collect();
            let fit = fit_line_equal_scatter(&plain).ok()?;
            (fit.slope, fit.slope_uncertainty)
        };
        (years > 0.0 && slope.is_finite() && uncertainty.is_finite()).then(|| Self {
            per_year_fraction: slope / mean,
            standard_uncertainty_per_year_fraction: uncertainty / mean.abs(),
            years,
            values: points.len(),
        })
    }

    /// Whether it is more than chance: beyond two standard uncertainties.
    pub fn is_significant(&self) -> bool {
        self.per_year_fraction.abs() > 2.0 * self.standard_uncertainty_per_year_fraction
    }

    /// The largest it may be: size plus two standard uncertainties.
    pub fn at_most_per_year_fraction(&self) -> f64 {
        self.per_year_fraction.abs() + 2.0 * self.standard_uncertainty_per_year_fraction
    }
}

/// What would change the slope as much as the drift did over its series.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Equivalent {
    /// The change over the whole series, as a fraction.
    pub change_fraction: f64,
    /// Coils farther apart by this; `None` where the register does not say what spacing does.
    pub spacing_m: Option<f64>,
    /// Turns more in one coil; shorted turns are negative.
    pub turns: Option<f64>,
}

impl Equivalent {
    /// Of a drift that is more than chance.
    pub(super) fn of(drift: &DriftRate, last: &CalibrationEntry) -> Option<Self> {
        if !drift.is_significant() {
            return None;
        }
        let change_fraction = drift.per_year_fraction * drift.years;
        let change = change_fraction * last.line.slope.tesla_per_ampere;
        let by = |sensitivity: f64| (sensitivity != 0.0).then(|| change / sensitivity);
        Some(Self {
            change_fraction,
            spacing_m: last.changes.and_then(|changes| by(changes.spacing_tesla_per_ampere_per_m)),
            turns: last.changes.and_then(|changes| by(changes.turn_tesla_per_ampere)),
        })
    }
}
