//! The line fitted to readings: slope, intercept, what the intercept is made of, and which readings stand out.
//!
//! A probe at p that points along d shows m = B(p)·d + zero. With the coils' field per ampere b(p) from the
//! geometry, k its part along +z at the centre and R the room's field,
//!
//! ```text
//! m = k x + R·d + zero,   x = I (b(p)·d) / k
//! ```
//!
//! so a probe off the centre is corrected in x, and readings of one probe direction lie on one line of slope k.
//! Reversing the current moves along that line and separates k from R·d + zero; only turning the probe round
//! (d to −d) gives a second line, and with it R·d and zero apart.

mod lines;
mod outliers;

use crate::Result;
use crate::numeric::student::chi_square_tail;
use crate::pair::{Bench, Distribution};
use crate::physics::field::Assembly;
use crate::questions::calibrate::budget::{BudgetEntry, Spread};
use crate::questions::calibrate::readings::Readings;
use lines::Prepared;
use serde::Serialize;

/// Which uncertainties the fit took from the readings.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum FitMethod {
    /// Uncertainty in the field only.
    Weighted,
    /// Uncertainty in both, or in the current only.
    Generalised,
    /// None stated: one common uncertainty of the field, from the scatter.
    EqualScatter,
}

/// A fitted line.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Fit {
    /// Which uncertainties were used.
    pub method: FitMethod,
    /// k.
    pub slope_tesla_per_ampere: f64,
    /// u(k), from the readings alone: no gain of a meter is in it.
    pub slope_standard_uncertainty_tesla_per_ampere: f64,
    /// What the probe shows at no current, not turned round: the room's field along it plus the meter's zero.
    pub intercept_tesla: f64,
    /// u(intercept).
    pub intercept_standard_uncertainty_tesla: f64,
    /// cov(k, intercept), in T²/A.
    pub covariance: f64,
    /// Σ (residual over its standard uncertainty)²; `None` where the uncertainty came from the scatter itself.
    pub chi_square: Option<f64>,
    /// Readings less the numbers fitted.
    pub degrees_of_freedom: usize,
    /// The probability of a chi-square at least this large, were the stated uncertainties right.
    pub chi_square_probability: Option<f64>,
    /// Standard deviation of the residuals about the line.
    pub residual_standard_deviation_tesla: Option<f64>,
    /// The room's field along the probe and the meter's zero apart, where the probe was turned round.
    pub separated: Option<Separated>,
    /// Each reading against the line.
    pub residuals: Vec<Residual>,
    /// The largest |current| of the readings.
    pub largest_current_ampere: f64,
    /// The smallest and the largest current.
    pub current_range_ampere: [f64; 2],
}

/// Room and meter apart, from readings with the probe turned round.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Separated {
    /// The room's field along the probe's direction before it was turned.
    pub room_tesla: f64,
    /// Its standard uncertainty.
    pub room_standard_uncertainty_tesla: f64,
    /// What the meter shows in no field.
    pub meter_zero_tesla: f64,
    /// Its standard uncertainty.
    pub meter_zero_standard_uncertainty_tesla: f64,
    /// Whether the probe read along the axis, so that the room's field above is its axial part.
    pub along_axis: bool,
}

/// One reading against the fitted line.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Residual {
    /// Its line in the file.
    pub line: u64,
    /// What the user calls it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub label: Option<String>,
    /// What the ammeter showed.
    pub current_ampere: f64,
    /// What the field meter showed.
    pub field_tesla: f64,
    /// The coils' field along the probe there over their field at the centre; −1 for a probe turned round.
    pub position_factor: f64,
    /// Shown field less the line.
    pub residual_tesla: f64,
    /// Its standard uncertainty: √(u(field)² + (k × place × u(current))²), or the common one from the scatter.
    pub standard_uncertainty_tesla: f64,
    /// Residual over its standard uncertainty.
    pub weighted_residual: f64,
    /// Whether it stands out from the others; it stays in the fit all the same.
    pub outlier: bool,
}

/// Chi-square probabilities below this say that the scatter is more than the stated uncertainties allow.
pub const SCATTER_LEVEL: f64 = 0.05;

/// Fits the line to readings; `assembly` gives the field off the centre relative to the centre's.
pub fn fit(readings: &Readings, assembly: &Assembly) -> Result<Fit> {
    let prepared = Prepared::of(readings, assembly)?;
    let (method, lines) = prepared.fit()?;
    prepared.check_turned_probe()?;
    let known = method != FitMethod::EqualScatter;
    let nu = lines.degrees_of_freedom;
    let chi_square = known.then_some(lines.chi_square);
    let first = lines.lines[0];
    let currents = || readings.readings.iter().map(|reading| reading.current_ampere);
    let sum_of_squares: f64 = lines.residuals.iter().map(|residual| residual * residual).sum();
    Ok(Fit {
        method,
        slope_tesla_per_ampere: lines.slope,
        slope_standard_uncertainty_tesla_per_ampere: lines.slope_uncertainty,
        intercept_tesla: first.value,
        intercept_standard_uncertainty_tesla: first.uncertainty,
        covariance: first.covariance_with_slope,
        chi_square,
        degrees_of_freedom: nu,
        chi_square_probability: chi_square.and_then(|chi| chi_square_tail(chi, nu as f64).ok()),
        residual_standard_deviation_tesla: (nu > 0).then(|| (sum_of_squares / nu as f64).sqrt()),
        separated: prepared.separated(&lines),
        residuals: prepared.residuals(&lines, known),
        largest_current_ampere: currents().map(f64::abs).fold(0.0, f64::max),
        current_range_ampere: [
            currents().fold(f64::INFINITY, f64::min),
            currents().fold(f64::NEG_INFINITY, f64::max),
        ],
    })
}

impl Fit {
    /// The budget of the fitted slope as a field constant: the fit itself, and what the meters share.
    ///
    /// A gain error of either meter is the same for every reading and does not show in the scatter. The ammeter's
    /// digits can bend the slope by at most their size over half the span of the currents. Where chi-square says
    /// that the scatter is more than the stated uncertainties allow, the fit's part grows by √(χ²/ν).
    pub fn budget(&self, bench: &Bench) -> Vec<BudgetEntry> {
        let slope = self.slope_tesla_per_ampere;
        let excess = self.excess_scatter();
        let own = self.slope_standard_uncertainty_tesla_per_ampere * excess.unwrap_or(1.0);
        let from_scatter = self.method == FitMethod::EqualScatter || excess.is_some();
        let mut budget = vec![BudgetEntry {
            source: super::budget::FIT,
            coil: None,
            unit: "T/A",
            distribution: if from_scatter { Spread::Student } else { Spread::Normal },
            standard_uncertainty: own,
            sensitivity_tesla_per_ampere_per_unit: 1.0,
            contribution_tesla_per_ampere: own,
            degrees_of_freedom: from_scatter.then_some(self.degrees_of_freedom as f64),
        }];
        let rectangular = |limit| Distribution::Rectangular.standard_uncertainty(limit);
        if let Some(ammeter) = bench.ammeter {
            let gain = rectangular(ammeter.gain_limit());
            budget.push(BudgetEntry::relative("ammeter gain", Spread::Rectangular, gain, -slope));
            let [low, high] = self.current_range_ampere;
            let digits = rectangular(ammeter.digits_limit());
            let sensitivity = slope / (0.5 * (high - low));
            budget.push(BudgetEntry {
                source: "ammeter digits",
                coil: None,
                unit: "A",
                distribution: Spread::Rectangular,
                standard_uncertainty: digits,
                sensitivity_tesla_per_ampere_per_unit: sensitivity,
                contribution_tesla_per_ampere: (sensitivity * digits).abs(),
                degrees_of_freedom: None,
            });
        }
        if let Some(limit) = bench.field_meter.and_then(|meter| meter.accuracy_of_reading) {
            let gain = rectangular(limit);
            budget.push(BudgetEntry::relative("probe gain", Spread::Rectangular, gain, slope));
        }
        budget
    }

    /// √(χ²/ν) where the scatter is more than the stated uncertainties allow.
    pub fn excess_scatter(&self) -> Option<f64> {
        let probability = self.chi_square_probability.filter(|p| *p < SCATTER_LEVEL)?;
        let factor = (self.chi_square? / self.degrees_of_freedom as f64).sqrt();
        (factor > 1.0 && probability < SCATTER_LEVEL).then_some(factor)
    }

    /// The readings that stand out.
    pub fn outliers(&self) -> impl Iterator<Item = &Residual> {
        self.residuals.iter().filter(|residual| residual.outlier)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pair::{FieldMeter, Meter};
    use crate::questions::calibrate::readings::Reading;
    use approx::assert_relative_eq;
    use nalgebra::Vector3;

    fn reading(line: u64, current_ampere: f64, field_tesla: f64) -> Reading {
        Reading {
            line,
            label: None,
            current_ampere,
            field_tesla,
            current_uncertainty_ampere: None,
            field_uncertainty_tesla: None,
            probe_m: Vector3::zeros(),
            direction: Vector3::z(),
        }
    }

    fn file(readings: Vec<Reading>) -> Readings {
        Readings { path: "readings.csv".into(), sheet: None, readings }
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
        // The scatter is 4e-7 T at the most, and it is shared by twelve readings.
        assert!((separated.room_tesla - room).abs() < 2e-7, "{separated:?}");
        assert!((separated.meter_zero_tesla - zero).abs() < 2e-7, "{separated:?}");
        assert!(separated.along_axis);
        assert_relative_eq!(both.intercept_tesla, separated.room_tesla + separated.meter_zero_tesla);
        // By hand: each line has 6 readings of 3e-7 T and a mean current of nought, so u of each intercept is
        // 3e-7/√6 and u of half their difference 3e-7/√12.
        assert_relative_eq!(
            separated.room_standard_uncertainty_tesla,
            3e-7 / 12f64.sqrt(),
            max_relative = 1e-9
        );
        assert_eq!(both.degrees_of_freedom, 9);
    }

    #[test]
    fn a_turned_probe_without_the_other_sign_is_refused_by_its_row() {
        let mut readings = measured(0.78e-3, 18e-6, 7e-6, true);
        readings.iter_mut().filter(|r| r.direction.z < 0.0).for_each(|r| r.field_tesla *= -1.0);
        let error = fit(&file(readings), &assembly()).unwrap_err();
        assert!(error.to_string().contains("line 8"), "{error}");
        assert!(error.hint().unwrap().contains("other sign"));
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
        let budget = fit.budget(&bench);
        let of = |source: &str| {
            let entry = budget.iter().find(|entry| entry.source == source).unwrap();
            entry.contribution_tesla_per_ampere / fit.slope_tesla_per_ampere
        };
        assert_relative_eq!(of("ammeter gain"), 0.005 / 3f64.sqrt(), max_relative = 1e-12);
        assert_relative_eq!(of("probe gain"), 0.01 / 3f64.sqrt(), max_relative = 1e-12);
        // Two digits of 0.01 A over half the span, 2.5 A.
        assert_relative_eq!(of("ammeter digits"), 0.02 / 2.5 / 3f64.sqrt(), max_relative = 1e-12);
    }

    #[test]
    fn scatter_beyond_the_stated_uncertainties_counts_with_its_degrees_of_freedom() {
        let mut readings = measured(0.78e-3, 0.0, 0.0, false);
        readings.iter_mut().for_each(|reading| reading.field_uncertainty_tesla = Some(1e-7));
        let fit = fit(&file(readings), &assembly()).unwrap();
        assert!(fit.chi_square_probability.unwrap() < SCATTER_LEVEL);
        let entry = &fit.budget(&Bench::thin_pair())[0];
        assert_eq!(entry.degrees_of_freedom, Some(4.0));
        let grown = (fit.chi_square.unwrap() / 4.0).sqrt();
        assert_relative_eq!(
            entry.contribution_tesla_per_ampere,
            grown * fit.slope_standard_uncertainty_tesla_per_ampere,
            max_relative = 1e-12
        );
    }

    #[test]
    fn readings_that_give_no_slope_are_refused() {
        let assembly = assembly();
        for (readings, complaint) in [
            (vec![reading(2, 1.0, 8e-4)], "1 reading"),
            (vec![reading(2, 1.0, 8e-4), reading(3, 1.0, 8.1e-4)], "all at 1 A"),
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
