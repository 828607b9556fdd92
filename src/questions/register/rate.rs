//! How fast a slope drifts, and what would change it as much.

use super::history::Entered;
use super::statement::CalibrationEntry;
use super::unshared::unshared_standard_uncertainty;
use crate::numeric::calendar::Day;
use crate::numeric::coverage::COVERAGE_PROBABILITY;
use crate::numeric::line_fit::{LinePoint, fit_line, fit_line_equal_scatter};
use crate::numeric::student::two_sided_quantile;
use crate::physics::slope::Slope;
use serde::Serialize;

/// A drift: the slope of the straight line through the values of a series against time.
///
/// The values are weighted by the uncertainty that they do not share; what all share moves them together and is no drift.
/// Where three or more scatter by more than that, the uncertainty of the drift grows by the Birge ratio R = √(χ²/ν). Where
/// none of it is known, it comes from the scatter. An uncertainty that rests on the scatter counts with Student's factor for
/// its n − 2 degrees of freedom, one that was stated with 2.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct DriftRate {
    /// As a fraction of the mean slope.
    pub per_year_fraction: f64,
    /// Its standard uncertainty.
    pub standard_uncertainty_per_year_fraction: f64,
    /// Coverage factor for 95.45 %: a drift is significant beyond so many standard uncertainties.
    pub coverage_factor: f64,
    /// Whether the scatter about the line was tested against the stated uncertainty; two values have no scatter about a line.
    pub scatter_is_tested: bool,
    /// Years from the first value to the last.
    pub years: f64,
    /// How many values.
    pub values: usize,
}

/// A value of a series: years since the first, the value, and the standard uncertainty that it does not share.
type Dated = (f64, f64, f64);

impl DriftRate {
    /// The drift of the fitted slopes of a series; entries without one take no part. `None` with fewer than two days, or if
    /// the uncertainty cannot be told.
    pub(super) fn of(series: &[&Entered<CalibrationEntry>]) -> Option<Self> {
        let fitted: Vec<(Day, Slope)> = series
            .iter()
            .filter_map(|entered| Some((entered.said.day(), entered.said.line.fitted_slope()?)))
            .collect();
        let first = fitted.first()?.0;
        let dated: Vec<Dated> = fitted
            .iter()
            .map(|(day, slope)| {
                (day.years_since(first), slope.tesla_per_ampere, unshared_standard_uncertainty(slope))
            })
            .collect();
        Self::of_values(&dated)
    }

    fn of_values(dated: &[Dated]) -> Option<Self> {
        let years = dated.last()?.0;
        let mean = dated.iter().map(|(_, value, _)| value).sum::<f64>() / dated.len() as f64;
        let [slope, uncertainty, coverage_factor] = match dated.iter().all(|(_, _, u)| *u > 0.0) {
            true => by_stated_uncertainty(dated)?,
            false => by_scatter(dated)?,
        };
        (years > 0.0 && slope.is_finite() && uncertainty.is_finite()).then(|| Self {
            per_year_fraction: slope / mean,
            standard_uncertainty_per_year_fraction: uncertainty / mean.abs(),
            coverage_factor,
            scatter_is_tested: dated.len() > 2,
            years,
            values: dated.len(),
        })
    }

    /// Whether the drift is significant.
    pub fn is_significant(&self) -> bool {
        self.per_year_fraction.abs() > self.coverage_factor * self.standard_uncertainty_per_year_fraction
    }

    /// The largest size it may have: |d| plus its expanded uncertainty.
    pub fn at_most_per_year_fraction(&self) -> f64 {
        self.per_year_fraction.abs() + self.coverage_factor * self.standard_uncertainty_per_year_fraction
    }
}

/// Slope, its standard uncertainty and coverage factor.
fn by_stated_uncertainty(dated: &[Dated]) -> Option<[f64; 3]> {
    let point = |&(x, y, y_uncertainty): &Dated| LinePoint {
        x,
        y,
        x_uncertainty: 0.0,
        y_uncertainty,
        covariance: 0.0,
    };
    let fit = fit_line(&dated.iter().map(point).collect::<Vec<_>>()).ok()?;
    let nu = fit.degrees_of_freedom as f64;
    let ratio = if nu > 0.0 { (fit.chi_square / nu).sqrt() } else { 0.0 };
    match ratio > 1.0 {
        true => Some([fit.slope, ratio * fit.slope_uncertainty, student(nu)?]),
        false => Some([fit.slope, fit.slope_uncertainty, STATED_COVERAGE_FACTOR]),
    }
}

fn by_scatter(dated: &[Dated]) -> Option<[f64; 3]> {
    let plain: Vec<(f64, f64)> = dated.iter().map(|(years, value, _)| (*years, *value)).collect();
    let fit = fit_line_equal_scatter(&plain).ok()?;
    Some([fit.slope, fit.slope_uncertainty, student(plain.len() as f64 - 2.0)?])
}

/// Coverage factor of a stated uncertainty.
const STATED_COVERAGE_FACTOR: f64 = 2.0;

fn student(degrees_of_freedom: f64) -> Option<f64> {
    two_sided_quantile(COVERAGE_PROBABILITY, degrees_of_freedom).ok()
}

/// What would change the slope as much as the drift did over its series.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Equivalent {
    /// The change over the whole series, as a fraction.
    pub change_fraction: f64,
    /// Increase of the spacing; `None` if the register does not say how the slope depends on it.
    pub spacing_m: Option<f64>,
    /// Additional mean turns in one coil; shorted turns are negative.
    pub turns: Option<f64>,
    /// The same for the turns with the largest and with the smallest effect; `None` if the register does not hold these.
    pub turns_range: Option<[f64; 2]>,
}

impl Equivalent {
    /// For a significant drift.
    pub(super) fn of(drift: &DriftRate, series: &[&Entered<CalibrationEntry>]) -> Option<Self> {
        if !drift.is_significant() {
            return None;
        }
        let fitted = |entered: &&'_ Entered<CalibrationEntry>| {
            Some((entered.said.changes, entered.said.line.fitted_slope()?))
        };
        let (changes, last) = series.iter().rev().find_map(fitted)?;
        let change_fraction = drift.per_year_fraction * drift.years;
        let change = change_fraction * last.tesla_per_ampere;
        let by = |sensitivity: f64| (sensitivity != 0.0).then(|| change / sensitivity);
        Some(Self {
            change_fraction,
            spacing_m: changes.and_then(|changes| by(changes.spacing_tesla_per_ampere_per_m)),
            turns: changes.and_then(|changes| by(changes.turn_tesla_per_ampere)),
            turns_range: changes
                .and_then(|changes| changes.turn_range_tesla_per_ampere)
                .and_then(|[least, most]| Some([by(most)?, by(least)?])),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::numeric::random::SampleGenerator;

    /// How many of so many series of `n` yearly values claim a drift: each value scatters by `times` its stated
    /// uncertainty, which a drift of `drift_in_u` standard uncertainties of itself is added to.
    fn claimed(n: usize, stated: bool, times: f64, drift_in_u: f64, cases: u64) -> f64 {
        const U: f64 = 1e-3;
        let middle = 0.5 * (n as f64 - 1.0);
        let spread: f64 = (0..n).map(|i| (i as f64 - middle).powi(2)).sum();
        let per_year = drift_in_u * U / spread.sqrt();
        let claims = (0..cases).filter(|case| {
            let mut random = SampleGenerator::new(90 + n as u64, *case);
            let dated: Vec<Dated> = (0..n)
                .map(|i| {
                    let value = 1.0 + per_year * i as f64 + random.normal(times * U);
                    (i as f64, value, if stated { U } else { 0.0 })
                })
                .collect();
            DriftRate::of_values(&dated).is_some_and(|drift| drift.is_significant())
        });
        claims.count() as f64 / cases as f64
    }

    #[test]
    fn without_a_drift_one_is_claimed_in_at_most_one_of_twenty() {
        // 4000 series: three standard errors of 5 % are 1 %.
        for n in [2, 3, 4, 5, 6, 7, 8, 10] {
            let stated = claimed(n, true, 1.0, 0.0, 4000);
            let by_scatter = claimed(n, false, 1.0, 0.0, 4000);
            assert!(stated <= 0.06 && by_scatter <= 0.06, "{n} values: {stated}, {by_scatter}");
        }
    }

    #[test]
    fn a_drift_of_five_uncertainties_is_found_the_more_surely_the_more_values_there_are() {
        for (n, least) in [(2, 0.99), (3, 0.65), (4, 0.68), (6, 0.92), (10, 0.97)] {
            let found = claimed(n, true, 1.0, 5.0, 2000);
            assert!(found >= least, "{n} values: {found}");
        }
    }

    #[test]
    fn two_values_test_no_scatter_and_without_an_uncertainty_tell_nothing() {
        let two = DriftRate::of_values(&[(0.0, 1.0, 1e-3), (1.0, 1.01, 1e-3)]).unwrap();
        assert!(!two.scatter_is_tested && two.coverage_factor == 2.0 && two.is_significant());
        assert_eq!(DriftRate::of_values(&[(0.0, 1.0, 0.0), (1.0, 1.01, 0.0)]), None);
    }
}
