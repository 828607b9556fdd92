//! The drift of a slope, and what would change the slope as much.

use super::history::Entered;
use super::statement::{CalibrationEntry, Changes};
use super::unshared::{
    left_out, renewed_in, standard_uncertainty_of_meter, times_renewed, unshared_degrees_of_freedom,
    unshared_standard_uncertainty,
};
use crate::judgement::agreement::birge;
use crate::numeric::calendar::Day;
use crate::numeric::correlated_lines::{SharedError, fit_correlated_lines};
use crate::numeric::coverage::{
    COVERAGE_PROBABILITY, Contribution, combined_standard_uncertainty, coverage_factor,
    effective_degrees_of_freedom,
};
use crate::numeric::line_fit::{LinePoint, fit_parallel_lines_equal_scatter};
use crate::numeric::student::two_sided_quantile;
use crate::pair::Read;
use crate::physics::slope::Slope;
use serde::Serialize;

/// A drift: the slope of the straight line through the values of a series against time.
///
/// The values are weighted by the uncertainty that they do not share; a shared error moves them together and is no
/// drift. If they scatter more than chance allows in nineteen of twenty cases, the uncertainty of the drift is
/// multiplied by the Birge ratio R = √(χ²/ν). If no uncertainty is known, it comes from the scatter. The coverage
/// factor is 2 for a stated uncertainty. For one from the scatter it is Student's factor for n − 2 degrees of freedom.
/// If nothing else is known, one degree of freedom is lost for each time that a meter was renewed.
///
/// All values share the errors of a meter until the meter is calibrated or replaced. The values after that share
/// another error of it.
///
/// If the uncertainty of any value was estimated from few readings, all values have equal weight: by its own
/// uncertainty, the value that is close to its line by luck would get the most weight. The uncertainty of the drift is
/// then propagated from those of the values, with effective degrees of freedom (JCGM 100:2008, G.4).
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct DriftRate {
    /// The drift in a year, as a fraction of the mean slope.
    pub per_year_fraction: f64,
    /// Its standard uncertainty.
    pub standard_uncertainty_per_year_fraction: f64,
    /// Coverage factor for 95.45 %. A drift of more than this many standard uncertainties is significant.
    pub coverage_factor: f64,
    /// Whether the scatter about the line was compared with the stated uncertainty. Two values have no scatter about a
    /// line.
    pub scatter_is_tested: bool,
    /// Years from the first value to the last.
    pub years: f64,
    /// Number of values.
    pub values: usize,
}

/// A value of a series.
#[derive(Clone, Copy, Debug)]
struct Dated {
    /// Time since the first value.
    years: f64,
    value: f64,
    /// The standard uncertainty that it does not share.
    uncertainty: f64,
    /// Degrees of freedom of that uncertainty. `None` if it was stated.
    degrees_of_freedom: Option<f64>,
    /// How often the field meter and the ammeter were calibrated or replaced before it.
    renewed: [usize; 2],
    /// The standard uncertainties that it shares with the values of the same field meter and ammeter.
    of_meters: [f64; 2],
}

impl DriftRate {
    /// The drift of the fitted slopes of a series. Entries without one are left out. `None` if there are fewer than two
    /// days, or if the uncertainty cannot be determined.
    pub(super) fn of(series: &[&Entered<CalibrationEntry>]) -> Option<Self> {
        let renewed = times_renewed(&renewed_in(&[], series));
        let fitted: Vec<(Day, Slope, [usize; 2])> = series
            .iter()
            .zip(renewed)
            .zip(left_out(series))
            .filter(|(_, left_out)| !left_out)
            .map(|(one, _)| one)
            .filter_map(|(entered, renewed)| {
                Some((entered.said.day(), entered.said.line.fitted_slope()?, renewed))
            })
            .collect();
        let first = fitted.first()?.0;
        let dated: Vec<Dated> = fitted
            .iter()
            .map(|(day, slope, renewed)| Dated {
                years: day.years_since(first),
                value: slope.tesla_per_ampere,
                uncertainty: unshared_standard_uncertainty(slope),
                degrees_of_freedom: unshared_degrees_of_freedom(slope),
                renewed: *renewed,
                of_meters: METERS.map(|meter| standard_uncertainty_of_meter(slope, meter)),
            })
            .collect();
        Self::of_values(&dated)
    }

    fn of_values(dated: &[Dated]) -> Option<Self> {
        let years = dated.last()?.years;
        let mean = dated.iter().map(|one| one.value).sum::<f64>() / dated.len() as f64;
        let [slope, uncertainty, coverage_factor] = match dated.iter().all(|one| one.uncertainty > 0.0) {
            true if dated.iter().any(|one| one.degrees_of_freedom.is_some()) => counted_alike(dated)?,
            true => by_their_uncertainty(dated)?,
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

    /// Upper bound of the size of the drift: |d| plus its expanded uncertainty.
    pub fn at_most_per_year_fraction(&self) -> f64 {
        self.per_year_fraction.abs() + self.coverage_factor * self.standard_uncertainty_per_year_fraction
    }
}

/// Slope, its standard uncertainty and coverage factor, with each value weighted by its stated uncertainty.
fn by_their_uncertainty(dated: &[Dated]) -> Option<[f64; 3]> {
    let point = |one: &Dated| LinePoint {
        x: one.years,
        y: one.value,
        x_uncertainty: 0.0,
        y_uncertainty: one.uncertainty,
        covariance: 0.0,
    };
    let points: Vec<LinePoint> = dated.iter().map(point).collect();
    let shared = errors_of_meters(dated);
    let fit = fit_correlated_lines(&points, &vec![0; points.len()], &shared).ok()?;
    let degrees = fit.lines.degrees_of_freedom;
    let scatter = if degrees > 0 { birge(fit.lines.chi_square, degrees).ok()?.factor } else { 1.0 };
    let slope = fit.lines.slope;
    match scatter > 1.0 {
        true => {
            let enlarged = fit.with_own_errors_enlarged(scatter, &shared);
            Some([slope, enlarged.slope_uncertainty, student(degrees as f64)?])
        }
        false => Some([slope, fit.lines.slope_uncertainty, coverage_factor(None)]),
    }
}

/// Slope, its standard uncertainty and coverage factor if uncertainties were estimated: all values have equal weight.
fn counted_alike(dated: &[Dated]) -> Option<[f64; 3]> {
    let n = dated.len() as f64;
    let middle = dated.iter().map(|one| one.years).sum::<f64>() / n;
    let spread: f64 = dated.iter().map(|one| (one.years - middle).powi(2)).sum();
    let share = |one: &Dated| (one.years - middle) / spread;
    let slope_of = |values: &[f64]| -> f64 { dated.iter().zip(values).map(|(one, y)| share(one) * y).sum() };
    // Sum of the squared distances from the line through the values.
    let off_line = |values: &[f64]| -> f64 {
        let (slope, mean) = (slope_of(values), values.iter().sum::<f64>() / n);
        let off = |(one, y): (&Dated, &f64)| (y - mean - slope * (one.years - middle)).powi(2);
        dated.iter().zip(values).map(off).sum()
    };
    let values: Vec<f64> = dated.iter().map(|one| one.value).collect();
    let shared = errors_of_meters(dated);
    let of_shared: f64 = shared.iter().map(|error| slope_of(&error.y).powi(2)).sum();
    let leverage = |one: &Dated| 1.0 / n + (one.years - middle).powi(2) / spread;
    let expected = dated.iter().map(|one| one.uncertainty.powi(2) * (1.0 - leverage(one))).sum::<f64>()
        + shared.iter().map(|error| off_line(&error.y)).sum::<f64>();
    let ratio = if dated.len() > 2 { (off_line(&values) / expected).sqrt().max(1.0) } else { 1.0 };
    let own: Vec<Contribution> = dated
        .iter()
        .map(|one| Contribution {
            standard_uncertainty: (share(one) * one.uncertainty).abs(),
            degrees_of_freedom: one.degrees_of_freedom,
        })
        .collect();
    let uncertainty = (ratio * combined_standard_uncertainty(&own)).hypot(of_shared.sqrt());
    let factor = match ratio > 1.0 {
        true => student(n - 2.0)?,
        false => {
            let meters = Contribution { standard_uncertainty: of_shared.sqrt(), degrees_of_freedom: None };
            coverage_factor(effective_degrees_of_freedom(&[own, vec![meters]].concat()))
        }
    };
    Some([slope_of(&values), uncertainty, factor])
}

/// The meters, in the order of [`Dated::renewed`].
const METERS: [Read; 2] = [Read::Field, Read::Current];

/// The errors of the meters as shared errors of the values. A meter that was the same all the time is left out, because
/// it causes no drift.
fn errors_of_meters(dated: &[Dated]) -> Vec<SharedError> {
    let of_meter = |meter: usize| {
        let times = |one: Option<&Dated>| one.map_or(0, |one| one.renewed[meter]);
        let (first, last) = (times(dated.first()), times(dated.last()));
        let of = move |times: usize| SharedError {
            x: vec![0.0; dated.len()],
            y: dated
                .iter()
                .map(|one| if one.renewed[meter] == times { one.of_meters[meter] } else { 0.0 })
                .collect(),
        };
        (first..=last).filter(move |_| first != last).map(of)
    };
    (0..METERS.len()).flat_map(of_meter).collect()
}

/// Slope, its standard uncertainty and coverage factor if some uncertainty is not known. Between two calibrations of a
/// meter the values may have stepped by any amount, so each stretch has a level of its own.
fn by_scatter(dated: &[Dated]) -> Option<[f64; 3]> {
    let plain: Vec<(f64, f64)> = dated.iter().map(|one| (one.years, one.value)).collect();
    let mut stretch = 0;
    let renewed = dated.windows(2).map(|pair| usize::from(pair[0].renewed != pair[1].renewed));
    let steps = renewed.map(|step| {
        stretch += step;
        stretch
    });
    let stretches: Vec<usize> = std::iter::once(0).chain(steps).collect();
    let fit = fit_parallel_lines_equal_scatter(&plain, &stretches).ok()?;
    Some([fit.slope, fit.slope_uncertainty, student(fit.degrees_of_freedom as f64)?])
}

fn student(degrees_of_freedom: f64) -> Option<f64> {
    two_sided_quantile(COVERAGE_PROBABILITY, degrees_of_freedom).ok()
}

/// What would change the slope as much as the drift did over the series.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Equivalent {
    /// The change over the whole series, as a fraction.
    pub change_fraction: f64,
    /// Increase of the spacing. `None` if the register does not contain the dependence of the slope on it.
    pub spacing_m: Option<f64>,
    /// Additional mean turns in one coil; shorted turns are negative.
    pub turns: Option<f64>,
    /// Additional turns, for those with the largest and with the smallest effect. `None` if the register does not
    /// contain these effects.
    pub turns_range: Option<[f64; 2]>,
}

impl Equivalent {
    /// For a significant drift.
    pub(super) fn of(drift: &DriftRate, series: &[&Entered<CalibrationEntry>]) -> Option<Self> {
        if !drift.is_significant() {
            return None;
        }
        let fitted = |entered: &&Entered<CalibrationEntry>| {
            Some((entered.said.changes, entered.said.line.fitted_slope()?))
        };
        let (changes, last) = series.iter().rev().find_map(fitted)?;
        Some(Self::of_change(drift.per_year_fraction * drift.years, last.tesla_per_ampere, changes))
    }

    /// For a change of a slope by this fraction. `changes` holds the dependence of the slope on the pair.
    pub(super) fn of_change(change_fraction: f64, slope: f64, changes: Option<Changes>) -> Self {
        let change = change_fraction * slope;
        let by = |sensitivity: f64| (sensitivity != 0.0).then(|| change / sensitivity);
        Self {
            change_fraction,
            spacing_m: changes.and_then(|changes| by(changes.spacing_tesla_per_ampere_per_m)),
            turns: changes.and_then(|changes| by(changes.turn_tesla_per_ampere)),
            turns_range: changes
                .and_then(|changes| changes.turn_range_tesla_per_ampere)
                .and_then(|[least, most]| Some([by(most)?, by(least)?])),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::numeric::random::SampleGenerator;

    /// Where the uncertainty of a value comes from.
    #[derive(Clone, Copy, PartialEq)]
    enum Known {
        Stated,
        /// Estimated with so many degrees of freedom.
        Estimated(u32),
        Not,
    }

    fn dated(years: f64, value: f64, uncertainty: f64, degrees_of_freedom: Option<f64>) -> Dated {
        Dated { years, value, uncertainty, degrees_of_freedom, renewed: [0; 2], of_meters: [0.0; 2] }
    }

    /// Number of series of `n` yearly values, out of `cases`, that claim a drift. Each value scatters by `times` its
    /// stated uncertainty. A drift of `drift_in_u` of the drift's own standard uncertainties is added.
    fn claimed(n: usize, known: Known, times: f64, drift_in_u: f64, cases: u64) -> f64 {
        const U: f64 = 1e-3;
        let middle = 0.5 * (n as f64 - 1.0);
        let spread: f64 = (0..n).map(|i| (i as f64 - middle).powi(2)).sum();
        let per_year = drift_in_u * U / spread.sqrt();
        let claims = (0..cases).filter(|case| {
            let mut random = SampleGenerator::new(90 + n as u64, *case);
            let series: Vec<Dated> = (0..n)
                .map(|i| {
                    let value = 1.0 + per_year * i as f64 + random.normal(times * U);
                    match known {
                        Known::Stated => dated(i as f64, value, U, None),
                        Known::Not => dated(i as f64, value, 0.0, None),
                        Known::Estimated(nu) => {
                            let squares: f64 = (0..nu).map(|_| random.normal(times * U).powi(2)).sum();
                            let nu = f64::from(nu);
                            dated(i as f64, value, (squares / nu).sqrt(), Some(nu))
                        }
                    }
                })
                .collect();
            DriftRate::of_values(&series).is_some_and(|drift| drift.is_significant())
        });
        claims.count() as f64 / cases as f64
    }

    #[test]
    fn without_a_drift_one_is_claimed_in_at_most_one_of_twenty() {
        // 4000 series: three standard errors of 5 % are 1 %.
        for n in [2, 3, 4, 5, 6, 7, 8, 10] {
            for known in
                [Known::Stated, Known::Not, Known::Estimated(1), Known::Estimated(2), Known::Estimated(6)]
            {
                let claims = claimed(n, known, 1.0, 0.0, 4000);
                let case = match known {
                    Known::Stated => "stated".to_owned(),
                    Known::Estimated(nu) => format!("estimated with {nu}"),
                    Known::Not => "not known".to_owned(),
                };
                assert!(claims <= 0.06, "{n} values, uncertainty {case}: {claims}");
            }
        }
    }

    #[test]
    fn calibrations_of_different_designs_claim_no_drift_of_a_steady_pair() {
        // Each value has its own true uncertainty, estimated with its own degrees of freedom: few readings over a short range
        // beside many over a wide one.
        let designs: [&[(f64, u32)]; 4] = [
            &[(8.0, 2), (0.3, 29)],
            &[(8.0, 2), (8.0, 2), (8.0, 2), (8.0, 2), (0.5, 20), (0.5, 20), (0.5, 20), (0.5, 20)],
            &[(0.5, 20), (0.5, 20), (0.5, 20), (0.5, 20), (6.0, 2)],
            &[(4.0, 2), (0.5, 14), (0.5, 14)],
        ];
        for design in designs {
            let claims = (0..4000).filter(|case| {
                let mut random = SampleGenerator::new(31, *case);
                let series: Vec<Dated> = design
                    .iter()
                    .enumerate()
                    .map(|(i, (size, nu))| {
                        let u = size * 1e-3;
                        let squares: f64 = (0..*nu).map(|_| random.normal(u).powi(2)).sum();
                        let estimated = (squares / f64::from(*nu)).sqrt();
                        dated(i as f64, 1.0 + random.normal(u), estimated, Some(f64::from(*nu)))
                    })
                    .collect();
                DriftRate::of_values(&series).is_some_and(|drift| drift.is_significant())
            });
            let claims = claims.count() as f64 / 4000.0;
            assert!(claims <= 0.06, "{design:?}: {claims}");
        }
    }

    #[test]
    fn a_drift_of_five_uncertainties_is_found() {
        for (n, least) in [(2, 0.99), (3, 0.92), (4, 0.93), (6, 0.95), (10, 0.97)] {
            let found = claimed(n, Known::Stated, 1.0, 5.0, 2000);
            assert!(found >= least, "{n} values: {found}");
        }
    }

    #[test]
    fn a_meter_calibrated_anew_makes_no_drift_of_the_pair() {
        // The meter is adjusted by its own uncertainty, 1 %, after five of ten years. 0.1 % of each value is not
        // shared; it is stated or found from the scatter alone.
        let claims = |after: usize, stated: f64| {
            let claims = (0..2000).filter(|case| {
                let mut random = SampleGenerator::new(77, *case);
                let gain = random.normal(1e-2);
                let series: Vec<Dated> = (0..10)
                    .map(|i| {
                        let is_later = i >= 5;
                        let value = 1.0 + random.normal(1e-3) + if is_later { gain } else { 0.0 };
                        let renewed = [usize::from(i >= after), 0];
                        Dated { renewed, of_meters: [1e-2, 5e-3], ..dated(i as f64, value, stated, None) }
                    })
                    .collect();
                DriftRate::of_values(&series).is_some_and(|drift| drift.is_significant())
            });
            claims.count() as f64 / 2000.0
        };
        for stated in [1e-3, 0.0] {
            assert!(claims(5, stated) <= 0.06, "{}", claims(5, stated));
            // If the meter were taken as the same all the time, most series would claim a drift.
            assert!(claims(10, stated) > 0.5, "{}", claims(10, stated));
        }
    }

    #[test]
    fn two_values_test_no_scatter_and_without_an_uncertainty_tell_nothing() {
        let two = DriftRate::of_values(&[dated(0.0, 1.0, 1e-3, None), dated(1.0, 1.01, 1e-3, None)]).unwrap();
        assert!(!two.scatter_is_tested && two.coverage_factor == 2.0 && two.is_significant());
        assert_eq!(DriftRate::of_values(&[dated(0.0, 1.0, 0.0, None), dated(1.0, 1.01, 0.0, None)]), None);
    }
}
