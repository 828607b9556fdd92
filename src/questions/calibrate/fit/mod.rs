//! The line fitted to readings: slope, intercept, the parts of the intercept, and the readings that stand out.
//!
//! A probe at p that points along d shows m = B(p)·d + zero. With the coils' field per ampere b(p) from the
//! geometry, k its part along +z at the centre and R the room's field,
//!
//! ```text
//! m = k x + R·d + zero,   x = I (b(p)·d) / k
//! ```
//!
//! so x corrects for a probe off the centre, and the readings of one probe direction lie on one line of slope k.
//! Reversing the current moves along that line and separates k from R·d + zero. Only turning the probe round (d to −d)
//! gives a second line, and with it R·d and zero separately.

mod budget;
mod line;
mod lines;
mod outliers;
mod tested;

pub use budget::fit_budget;
pub(in crate::questions::calibrate) use line::correlation;
pub use line::{AmmeterZeroSeen, AmmeterZeroTakenOut, Fit, FitMethod, Residual, Separated, SharedEstimate};

use crate::judgement::agreement::birge;
use crate::physics::field::{Assembly, PreparedPair};
use crate::questions::calibrate::ammeter::ZeroInfluences;
use crate::questions::calibrate::readings::Readings;
use crate::{Error, Result};
use lines::Prepared;

/// Fits the line to readings. `assembly` gives the field off the centre relative to that at the centre.
///
/// If the stated uncertainties are too small for the scatter, the covariance of slope and intercepts is multiplied by
/// the square of the Birge ratio (`birge`), except for the part from errors that readings share.
///
/// The line is that of the currents as shown. A zero of the ammeter before the reversal bends it at zero current; that is
/// no scatter of the readings, so chi-square and the readings that stand out are those of a line with such a zero
/// (`tested`). Its effect on slope and intercept is in `ammeter_zero`.
pub fn fit(readings: &Readings, assembly: &Assembly) -> Result<Fit> {
    let prepared = Prepared::of(readings, assembly)?;
    let (method, fitted) = prepared.fit()?;
    let lines = fitted.lines();
    let known = method != FitMethod::EqualScatter;
    let tested = prepared.tested(&fitted, known);
    let nu = lines.degrees_of_freedom;
    let chi_square = known.then_some(tested.chi_square);
    let scatter = chi_square.and_then(|chi_square| birge(chi_square, nu).ok());
    let factor = scatter.map_or(1.0, |scatter| scatter.factor);
    let enlarged = prepared.enlarged(&fitted, factor);
    let first = enlarged.lines[0];
    let currents = || readings.readings.iter().map(|reading| reading.current_ampere);
    let sum_of_squares: f64 = lines.residuals.iter().map(|residual| residual * residual).sum();
    Ok(Fit {
        method,
        slope_tesla_per_ampere: lines.slope,
        slope_standard_uncertainty_tesla_per_ampere: enlarged.slope_uncertainty,
        intercept_tesla: first.value,
        intercept_standard_uncertainty_tesla: first.uncertainty,
        // −0 becomes 0, in JSON too.
        covariance: first.covariance_with_slope + 0.0,
        chi_square,
        degrees_of_freedom: nu,
        chi_square_probability: scatter.map(|scatter| scatter.probability),
        scatter_factor: known.then_some(factor),
        residual_standard_deviation_tesla: (nu > 0).then(|| (sum_of_squares / nu as f64).sqrt()),
        separated: prepared.separated(&enlarged),
        turned_probe_shows_the_same_sign: prepared.turned_probe_shows_the_same_sign(),
        ammeter_zero: ZeroInfluences {
            before_reversal: prepared.zero_influence(&fitted, known, f64::signum),
            after_reversal: prepared.zero_influence(&fitted, known, |_| 1.0),
        },
        residuals: prepared.residuals(&fitted, &tested, known),
        ammeter_zero_seen: tested.ammeter_zero_seen,
        ammeter_zero_taken_out: tested.ammeter_zero_taken_out,
        shared: prepared.shared_estimates(&fitted),
        largest_current_ampere: currents().map(f64::abs).fold(0.0, f64::max),
        smallest_current_ampere: currents().map(f64::abs).fold(f64::INFINITY, f64::min),
        current_range_ampere: [
            currents().fold(f64::INFINITY, f64::min),
            currents().fold(f64::NEG_INFINITY, f64::max),
        ],
    })
}

/// The readings with the rounding of their currents as an uncertainty, and the line fitted to them. If the readings
/// contradict each other so much that no line with uncertain currents is found, they are fitted without the rounding,
/// so that the fault can still be reported.
pub(super) fn fit_as_rounded(readings: &Readings, pair: &PreparedPair) -> Result<(Readings, Fit)> {
    let assembly = pair.assembly();
    let rounded = readings.with_errors_of_the_ammeter(pair.bench());
    match fit(&rounded, assembly) {
        Ok(fit) => Ok((rounded, fit)),
        Err(Error::NotConverged { .. }) if rounded.rounding_ampere.is_some() => {
            let exact = Readings {
                zero_before_reversal_ampere: rounded.zero_before_reversal_ampere,
                ..readings.clone()
            };
            let fit = fit(&exact, assembly)?;
            Ok((exact, fit))
        }
        Err(error) => Err(error),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pair::{AmmeterPosition, Bench, FieldMeter, Meter};
    use crate::physics::budget_source::BudgetSource;
    use crate::questions::calibrate::reading::{Reading, Share};
    use approx::assert_relative_eq;
    use nalgebra::Vector3;

    fn reading(line: u64, current_ampere: f64, field_tesla: f64) -> Reading {
        Reading { line, ..Reading::new(current_ampere, field_tesla).unwrap() }
    }

    fn file(readings: Vec<Reading>) -> Readings {
        Readings {
            path: "readings.csv".into(),
            sheet: None,
            readings,
            same_ammeter: false,
            rounding_ampere: None,
            zero_before_reversal_ampere: None,
            left_out: Vec::new(),
        }
    }

    fn assembly() -> Assembly {
        Assembly::of(&Bench::thin_pair())
    }

    /// Readings of a made-up bench: k, the room's axial field, the meter's zero, and a small fixed scatter.
    fn measured(slope: f64, room: f64, zero: f64, turned: bool) -> Vec<Reading> {
        let scatter = [3e-7, -2e-7, 1e-7, -4e-7, 2e-7, 0.0];
        let mut readings = Vec::new();
        for (i, current) in [-2.5, -1.5, -0.5, 0.5, 1.5, 2.5].into_iter().enumerate() {
            let mut one = reading(i as u64 + 2, current, slope * current + room + zero + scatter[i]);
            one.field_uncertainty_tesla = Some(3e-7);
            if turned {
                let mut other = one.clone();
                other.line += 6;
                other.direction = -Vector3::z();
                other.field_tesla = -(slope * current + room) + zero + scatter[5 - i];
                readings.push(other);
            }
            readings.push(one);
        }
        readings.sort_by_key(|reading| reading.line);
        readings
    }

    #[test]
    fn only_a_turned_probe_separates_the_room_from_the_meters_zero() {
        let (slope, room, zero) = (0.78e-3, 18e-6, 7e-6);
        let one_way = fit(&file(measured(slope, room, zero, false)), &assembly()).unwrap();
        assert_eq!(one_way.separated, None);
        assert!((one_way.intercept_tesla - 25e-6).abs() < 2e-7);
        let both = fit(&file(measured(slope, room, zero, true)), &assembly()).unwrap();
        let separated = both.separated.unwrap();
        // The scatter is at most 4e-7 T, over twelve readings.
        assert!((separated.room_tesla - room).abs() < 2e-7, "{separated:?}");
        assert!((separated.meter_zero_tesla - zero).abs() < 2e-7, "{separated:?}");
        assert!(separated.along_axis);
        assert_relative_eq!(both.intercept_tesla, separated.room_tesla + separated.meter_zero_tesla);
        // By hand: each line has 6 readings of 3e-7 T and a mean current of zero, so u of each intercept is 3e-7/√6 and
        // u of half their difference 3e-7/√12.
        assert_relative_eq!(
            separated.room_standard_uncertainty_tesla,
            3e-7 / 12f64.sqrt(),
            max_relative = 1e-9
        );
        assert_eq!(both.degrees_of_freedom, 9);
    }

    #[test]
    fn a_turned_probe_without_the_other_sign_is_seen() {
        let mut readings = measured(0.78e-3, 18e-6, 7e-6, true);
        assert!(!fit(&file(readings.clone()), &assembly()).unwrap().turned_probe_shows_the_same_sign);
        readings.iter_mut().filter(|r| r.direction.z < 0.0).for_each(|r| r.field_tesla *= -1.0);
        assert!(fit(&file(readings), &assembly()).unwrap().turned_probe_shows_the_same_sign);
    }

    #[test]
    fn a_probe_off_the_centre_is_corrected_with_the_computed_field() {
        let assembly = assembly();
        let k = assembly.field_per_ampere(&Vector3::zeros()).z;
        let places = [[0.03, 0.0, 0.0], [0.0, 0.0, 0.06], [0.02, -0.04, 0.03], [0.0, 0.0, 0.0]];
        let readings: Vec<Reading> = places
            .iter()
            .zip([1.0, -2.0, 2.5, 0.5])
            .map(|(place, current)| {
                let probe_m = Vector3::from(*place);
                let direction = Vector3::new(0.1, 0.0, 1.0).normalize();
                let field_tesla = current * assembly.field_per_ampere(&probe_m).dot(&direction) + 2e-5;
                Reading { probe_m, direction, ..reading(2, current, field_tesla) }
            })
            .collect();
        let fit = fit(&file(readings), &assembly).unwrap();
        assert_relative_eq!(fit.slope_tesla_per_ampere, k, max_relative = 1e-12);
        assert_relative_eq!(fit.intercept_tesla, 2e-5, max_relative = 1e-9);
    }

    #[test]
    fn an_outlier_is_named_and_kept() {
        let mut readings = measured(0.78e-3, 18e-6, 7e-6, true);
        let sound = fit(&file(readings.clone()), &assembly()).unwrap();
        assert_eq!(sound.outliers().count(), 0);
        readings[3].field_tesla += 3e-6;
        for stated in [true, false] {
            if !stated {
                readings.iter_mut().for_each(|reading| reading.field_uncertainty_tesla = None);
            }
            let spoiled = fit(&file(readings.clone()), &assembly()).unwrap();
            let named: Vec<u64> = spoiled.outliers().map(|residual| residual.line).collect();
            assert_eq!(named, [readings[3].line], "stated: {stated}");
            assert_eq!(spoiled.residuals.len(), readings.len());
            assert_eq!(spoiled.degrees_of_freedom, readings.len() - 3);
        }
    }

    #[test]
    fn slope_and_intercept_of_one_sided_currents_are_correlated_as_by_hand() {
        // Equal weights at x: cov(k, B0) = -x̄ σ²/Sxx, so the correlation is -x̄/√(mean of x²).
        let at = [1.0, 2.0, 3.0];
        let one = |(i, ampere): (usize, f64)| Reading {
            field_uncertainty_tesla: Some(1e-6),
            ..reading(i as u64 + 2, ampere, 1e-3 * ampere)
        };
        let found = fit(&file(at.into_iter().enumerate().map(one).collect()), &assembly()).unwrap();
        assert_relative_eq!(found.correlation(), -2.0 / (14.0f64 / 3.0).sqrt(), max_relative = 1e-9);
        // With reversed currents there is no correlation.
        let reversed = fit(&file(measured(0.78e-3, 0.0, 0.0, false)), &assembly()).unwrap();
        assert!(reversed.correlation().abs() < 1e-9, "{}", reversed.correlation());
    }

    #[test]
    fn the_method_follows_the_uncertainties_given() {
        let assembly = assembly();
        let mut readings = measured(0.78e-3, 0.0, 0.0, false);
        assert_eq!(fit(&file(readings.clone()), &assembly).unwrap().method, FitMethod::Weighted);
        readings.iter_mut().for_each(|reading| reading.current_uncertainty_ampere = Some(1e-3));
        assert_eq!(fit(&file(readings.clone()), &assembly).unwrap().method, FitMethod::Generalised);
        readings.iter_mut().for_each(|reading| {
            reading.current_uncertainty_ampere = None;
            reading.field_uncertainty_tesla = None;
        });
        let scatter = fit(&file(readings), &assembly).unwrap();
        assert_eq!(scatter.method, FitMethod::EqualScatter);
        assert_eq!((scatter.chi_square, scatter.chi_square_probability), (None, None));
    }

    #[test]
    fn what_the_meters_share_does_not_shrink_with_the_readings() {
        let mut bench = Bench::thin_pair();
        bench.ammeter =
            Some(Meter { resolution: Some(0.01), accuracy_of_reading: Some(0.005), accuracy_digits: 2.0 });
        bench.field_meter = Some(FieldMeter { accuracy_of_reading: Some(0.01), zero_tesla: Some(5e-6) });
        let fit = fit(&file(measured(0.78e-3, 0.0, 0.0, false)), &assembly()).unwrap();
        let budget = fit_budget(&fit, &bench);
        let of = |source: BudgetSource| {
            let entry = budget.iter().find(|entry| entry.source == source).unwrap();
            entry.contribution_tesla_per_ampere / fit.slope_tesla_per_ampere
        };
        assert_relative_eq!(of(BudgetSource::AmmeterGain), 0.005 / 3f64.sqrt(), max_relative = 1e-12);
        assert_relative_eq!(of(BudgetSource::ProbeGain), 0.01 / 3f64.sqrt(), max_relative = 1e-12);
        // Two digits of 0.01 A, the same in |I| at ±0.5, ±1.5, ±2.5 A: Σ|x|/Σx² = 4.5/8.75 per ampere.
        assert_relative_eq!(
            of(BudgetSource::AmmeterDigits),
            0.02 / 3f64.sqrt() * 4.5 / 8.75,
            max_relative = 1e-9
        );
        // After the reversal the effects at opposite currents cancel.
        bench.ammeter_position = Some(AmmeterPosition::AfterReversal);
        let mut budget = fit_budget(&fit, &bench).into_iter();
        let digits = budget.find(|entry| entry.source == BudgetSource::AmmeterDigits).unwrap();
        assert!(digits.contribution_tesla_per_ampere < 1e-12 * fit.slope_tesla_per_ampere);
        assert_relative_eq!(
            fit.ammeter_zero.after_reversal.intercept_tesla,
            -fit.slope_tesla_per_ampere,
            max_relative = 1e-9
        );
    }

    #[test]
    fn a_zero_of_the_ammeter_behind_the_reversal_leaves_exactly_nothing_on_the_slope() {
        let share = Share { by: String::new(), standard_uncertainty: 2e-6 };
        for shared in [None, Some(share)] {
            let mut readings = Vec::new();
            for (i, current) in [-2.4, -1.6, -0.8, 0.8, 1.6, 2.4, 0.1].into_iter().enumerate() {
                for (line, side) in [(2, 1.0), (9, -1.0)] {
                    let field = side * (0.8437e-3 * current + 8.8e-6) - 3e-6 + 1e-6 * (i as f64).sin();
                    let mut one = reading(line + i as u64, current, field);
                    one.direction = side * Vector3::z();
                    one.current_uncertainty_ampere = Some(3e-4);
                    one.field_uncertainty_tesla = Some(1e-6);
                    one.field_shared = shared.clone();
                    readings.push(one);
                }
            }
            let zero = fit(&file(readings), &assembly()).unwrap().ammeter_zero;
            assert_eq!(zero.after_reversal.slope_tesla_per_ampere, 0.0, "{shared:?}");
            assert!(zero.before_reversal.slope_tesla_per_ampere.abs() > 1e-4, "{zero:?}");
            assert!(zero.after_reversal.room_tesla.unwrap().abs() > 8e-4, "{zero:?}");
        }
    }

    #[test]
    fn scatter_beyond_the_stated_uncertainties_counts_with_its_degrees_of_freedom() {
        let mut readings = measured(0.78e-3, 0.0, 0.0, false);
        readings.iter_mut().for_each(|reading| reading.field_uncertainty_tesla = Some(1e-7));
        let fit = fit(&file(readings), &assembly()).unwrap();
        assert!(fit.chi_square_probability.unwrap() < 0.05);
        let entry = &fit_budget(&fit, &Bench::thin_pair())[0];
        assert_eq!(entry.degrees_of_freedom, Some(4.0));
        // By hand: u(k) = 1e-7 T/√(17.5 A²), times √(chi²/4); the same figure in fit and budget.
        let grown = (fit.chi_square.unwrap() / 4.0).sqrt();
        assert_relative_eq!(fit.scatter_factor.unwrap(), grown, max_relative = 1e-12);
        assert_relative_eq!(
            entry.contribution_tesla_per_ampere,
            grown * 1e-7 / 17.5f64.sqrt(),
            max_relative = 1e-9
        );
        assert_eq!(entry.contribution_tesla_per_ampere, fit.slope_standard_uncertainty_tesla_per_ampere);
        assert_relative_eq!(
            fit.intercept_standard_uncertainty_tesla,
            grown * 1e-7 / 6f64.sqrt(),
            max_relative = 1e-9
        );
    }

    #[test]
    fn readings_that_give_no_slope_are_refused() {
        let assembly = assembly();
        for (readings, complaint) in [
            (vec![reading(2, 1.0, 8e-4)], "1 reading"),
            (vec![reading(2, 1.0, 8e-4), reading(3, 1.0, 8.1e-4)], "all at 1 A"),
            (vec![reading(2, 1.0, 0.0), reading(3, 2.0, 0.0), reading(4, 3.0, 0.0)], "every field"),
            (vec![reading(2, 1.0, 8e-4), reading(3, 2.0, 1.6e-3)], "at least 3"),
            (
                vec![Reading { direction: Vector3::x(), ..reading(2, 1.0, 0.0) }, reading(3, 2.0, 1.6e-3)],
                "line 2",
            ),
        ] {
            let error = fit(&file(readings), &assembly).unwrap_err().to_string();
            assert!(error.contains(complaint), "{error}");
        }
    }
}
