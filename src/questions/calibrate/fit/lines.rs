//! Readings as points of parallel lines, one for each direction of the probe.

use super::line::{FitMethod, Separated, SharedEstimate};
use crate::numeric::correlated_lines::{CorrelatedLines, SharedError, fit_correlated_lines};
use crate::numeric::line_fit::{
    LinePoint, ParallelLines, fit_parallel_lines, fit_parallel_lines_equal_scatter,
};
use crate::physics::field::Assembly;
use crate::questions::calibrate::ammeter::ZeroInfluence;
use crate::questions::calibrate::budget::check_slope;
use crate::questions::calibrate::reading::Reading;
use crate::questions::calibrate::readings::Readings;
use crate::questions::calibrate::shared::{Group, SharedQuantity, groups};
use crate::{Error, Result};
use nalgebra::Vector3;

/// A reading where the field along the probe is less than this fraction of the centre field does not determine the
/// slope.
const LEAST_FACTOR: f64 = 0.05;

/// What is less than this of the terms of a sum is their rounding.
const ROUNDING: f64 = 1e-11;

/// Readings as points of parallel lines.
pub(super) struct Prepared<'a> {
    pub(super) readings: &'a Readings,
    pub(super) points: Vec<LinePoint>,
    pub(super) factors: Vec<f64>,
    groups: Vec<Group<'a>>,
    /// The line of each reading.
    pub(super) line_of: Vec<usize>,
    /// The probe direction of each line; the one nearest +z is line 0.
    pub(super) directions: Vec<Vector3<f64>>,
}

impl<'a> Prepared<'a> {
    pub(super) fn of(readings: &'a Readings, assembly: &Assembly) -> Result<Self> {
        let centre = assembly.field_per_ampere(&Vector3::zeros()).z;
        check_slope(centre)?;
        let mut directions: Vec<Vector3<f64>> = Vec::new();
        for reading in &readings.readings {
            if !directions.iter().any(|known| alike(known, &reading.direction)) {
                directions.push(reading.direction);
            }
        }
        directions.sort_by(|one, other| other.z.total_cmp(&one.z));
        let mut prepared = Self {
            readings,
            points: Vec::new(),
            factors: Vec::new(),
            groups: groups(readings)?,
            line_of: Vec::new(),
            directions,
        };
        for reading in &readings.readings {
            let factor = assembly.field_per_ampere(&reading.probe_m).dot(&reading.direction) / centre;
            if factor.is_nan() || factor.abs() < LEAST_FACTOR {
                return Err(prepared.row_error(
                    reading,
                    format!(
                        "the probe reads {:.1} % of the centre field there, too little to tell the slope",
                        100.0 * factor
                    ),
                    "put the probe near the centre, along the axis",
                ));
            }
            let line = prepared.directions.iter().position(|known| alike(known, &reading.direction));
            let [of_current, of_field] = [
                factor.abs() * reading.current_uncertainty_ampere.unwrap_or(0.0),
                reading.field_uncertainty_tesla.unwrap_or(0.0),
            ];
            prepared.points.push(LinePoint {
                x: factor * reading.current_ampere,
                y: reading.field_tesla,
                x_uncertainty: of_current,
                y_uncertainty: of_field,
                covariance: factor.signum() * reading.current_field_correlation * of_current * of_field,
            });
            prepared.factors.push(factor);
            prepared.line_of.push(line.unwrap_or(0));
        }
        prepared.check_currents()?;
        Ok(prepared)
    }

    fn row_error(&self, reading: &Reading, message: String, hint: &str) -> Error {
        let Readings { path, sheet, .. } = self.readings;
        Error::in_table(path, sheet.as_deref(), reading.line, message, Some(hint.into()))
    }

    /// Requires two different currents at least, with the probe one way round.
    fn check_currents(&self) -> Result<()> {
        let several = "take readings at several currents, in both directions";
        let readings = &self.readings.readings;
        let path = self.readings.path.display();
        if readings.len() < 2 {
            return Err(Error::value_with_hint(
                format!("{path} holds {} reading, and a line needs two at least", readings.len()),
                several,
            ));
        }
        if readings.iter().all(|reading| reading.field_tesla == 0.0) {
            return Err(Error::value_with_hint(
                format!("every field in {path} is 0, and no slope follows from that"),
                "write down what the field meter shows; check that it is switched on and its range fits",
            ));
        }
        let spread = (0..self.directions.len()).any(|line| {
            let mut members =
                (0..readings.len()).filter(|i| self.line_of[*i] == line).map(|i| readings[i].current_ampere);
            let first = members.next();
            members.any(|current| Some(current) != first)
        });
        if spread {
            return Ok(());
        }
        Err(Error::value_with_hint(
            format!(
                "{path} holds {} readings, all at {} A, and no slope follows from one current",
                readings.len(),
                readings[0].current_ampere
            ),
            several,
        ))
    }

    pub(super) fn fit(&self) -> Result<(FitMethod, FittedLines)> {
        if !self.groups.is_empty() {
            let fitted = fit_correlated_lines(&self.points, &self.line_of, &self.shared_errors())?;
            return Ok((FitMethod::Correlated, FittedLines::Correlated(Box::new(fitted))));
        }
        let any = |uncertainty: fn(&LinePoint) -> f64| self.points.iter().any(|p| uncertainty(p) > 0.0);
        let method = match (any(|p| p.x_uncertainty), any(|p| p.y_uncertainty)) {
            (false, false) => FitMethod::EqualScatter,
            (false, true) => FitMethod::Weighted,
            (true, _) => FitMethod::Generalised,
        };
        let lines = if method == FitMethod::EqualScatter {
            let bare: Vec<(f64, f64)> = self.points.iter().map(|point| (point.x, point.y)).collect();
            fit_parallel_lines_equal_scatter(&bare, &self.line_of).map_err(|error| match error {
                Error::Refused(refused) => Error::value_with_hint(
                    format!("{}: {refused}", self.readings.path.display()),
                    "take more readings, or state `field_uncertainty_mT` for each",
                ),
                other => other,
            })
        } else {
            fit_parallel_lines(&self.points, &self.line_of)
        }?;
        Ok((method, FittedLines::Independent(lines)))
    }

    /// The lines if the readings' own uncertainties are `factor` times as large. Errors that readings share stay as
    /// stated, because the scatter does not show them.
    pub(super) fn enlarged(&self, fitted: &FittedLines, factor: f64) -> ParallelLines {
        match fitted {
            FittedLines::Independent(lines) => lines.clone().with_covariance_enlarged(factor),
            FittedLines::Correlated(fitted) => fitted.with_own_errors_enlarged(factor, &self.shared_errors()),
        }
    }

    pub(super) fn shared_errors(&self) -> Vec<SharedError> {
        self.groups.iter().map(|group| self.shared_error(group)).collect()
    }

    /// Effect of one standard uncertainty of a shared error on the points.
    fn shared_error(&self, group: &Group) -> SharedError {
        let of = |quantity, factor: &dyn Fn(usize) -> f64| -> Vec<f64> {
            let each = group.uncertainties.iter().enumerate();
            each.map(|(i, u)| if group.quantity == quantity { u * factor(i) } else { 0.0 }).collect()
        };
        SharedError {
            x: of(SharedQuantity::Current, &|i| self.factors[i]),
            y: of(SharedQuantity::Field, &|_| 1.0),
        }
    }

    /// The shared errors as estimated from the readings.
    pub(super) fn shared_estimates(&self, fitted: &FittedLines) -> Vec<SharedEstimate> {
        let FittedLines::Correlated(fitted) = fitted else { return Vec::new() };
        let each = self.groups.iter().zip(&fitted.shared);
        each.map(|(group, estimate)| SharedEstimate {
            quantity: group.quantity,
            shared_by: group.by.to_owned(),
            readings: group.members(),
            largest_standard_uncertainty: group.uncertainties.iter().copied().fold(0.0, f64::max),
            estimate_in_standard_uncertainties: *estimate,
        })
        .collect()
    }

    /// Whether the line of the probe turned round has the slope of line 0. Its slope must have the opposite sign.
    pub(super) fn turned_probe_shows_the_same_sign(&self) -> bool {
        let own_slope = |line: usize| {
            let members: Vec<usize> = (0..self.points.len()).filter(|i| self.line_of[*i] == line).collect();
            let n = members.len() as f64;
            let mean = |value: fn(&LinePoint) -> f64| {
                members.iter().map(|i| value(&self.points[*i])).sum::<f64>() / n
            };
            let (x_mean, y_mean) = (mean(|point| point.x), mean(|point| point.y));
            members.iter().map(|i| (self.points[*i].x - x_mean) * (self.points[*i].y - y_mean)).sum::<f64>()
        };
        (1..self.directions.len()).any(|line| {
            let turned = self.directions[0].dot(&self.directions[line]) < 0.0;
            turned && own_slope(0) * own_slope(line) < 0.0
        })
    }

    /// Change of the line for a zero of the ammeter that is off by 1 A; a reading at current I gets `counts(I)` of it.
    /// The field of each reading moves by −k f counts(I), and the line follows by least squares.
    pub(super) fn zero_influence(
        &self,
        fitted: &FittedLines,
        known: bool,
        counts: fn(f64) -> f64,
    ) -> ZeroInfluence {
        let lines = fitted.lines();
        let moved: Vec<f64> = (0..self.points.len())
            .map(|i| -lines.slope * self.factors[i] * counts(self.readings.readings[i].current_ampere))
            .collect();
        if let FittedLines::Correlated(fitted) = fitted
            && let Some((slope, intercepts)) = fitted.following(&moved)
        {
            return self.influence(&moved, slope, |line| intercepts[line]);
        }
        let weights: Vec<f64> = (0..self.points.len())
            .map(|i| if known { self.own_uncertainty(lines, i).powi(-2) } else { 1.0 })
            .collect();
        // Weighted means, for each line, of the abscissas and of the shifts of the readings.
        let means: Vec<[f64; 2]> = (0..self.directions.len())
            .map(|line| {
                let (mut weight, mut x, mut y) = (0.0, 0.0, 0.0);
                for i in (0..weights.len()).filter(|i| self.line_of[*i] == line) {
                    weight += weights[i];
                    x += weights[i] * self.points[i].x;
                    y += weights[i] * moved[i];
                }
                [x / weight, y / weight]
            })
            .collect();
        let (mut along, mut square) = (0.0, 0.0);
        for i in 0..weights.len() {
            let [x_mean, y_mean] = means[self.line_of[i]];
            let x = self.points[i].x - x_mean;
            along += weights[i] * x * (moved[i] - y_mean);
            square += weights[i] * x * x;
        }
        let slope = along / square;
        self.influence(&moved, slope, |line| means[line][1] - slope * means[line][0])
    }

    /// The influence of shifts that move the lines so far. What the sums leave by rounding is exactly zero.
    fn influence(&self, moved: &[f64], slope: f64, intercept: impl Fn(usize) -> f64) -> ZeroInfluence {
        let farthest = moved.iter().fold(0.0, |most: f64, by| most.max(by.abs()));
        let widest = self.points.iter().fold(0.0, |most: f64, point| most.max(point.x.abs()));
        let unless_rounding =
            |value: f64, scale: f64| if value.abs() < ROUNDING * scale { 0.0 } else { value };
        let room = |other| unless_rounding(0.5 * (intercept(0) - intercept(other)), farthest);
        ZeroInfluence {
            slope_tesla_per_ampere: unless_rounding(slope, farthest / widest),
            intercept_tesla: unless_rounding(intercept(0), farthest),
            room_tesla: self.opposite().map(room),
        }
    }

    /// The line with the probe turned round from line 0.
    fn opposite(&self) -> Option<usize> {
        (1..self.directions.len()).find(|line| alike(&self.directions[*line], &-self.directions[0]))
    }

    /// The room's field and the meter's zero from a pair of opposite directions: (a₊ − a₋)/2 and (a₊ + a₋)/2.
    pub(super) fn separated(&self, lines: &ParallelLines) -> Option<Separated> {
        let other = self.opposite()?;
        let (plus, minus) = (lines.lines[0], lines.lines[other]);
        let covariance = lines.intercept_covariance(0, other);
        let sum_of_variances = plus.uncertainty.powi(2) + minus.uncertainty.powi(2);
        let half_root = |variance: f64| 0.5 * variance.max(0.0).sqrt();
        Some(Separated {
            room_tesla: 0.5 * (plus.value - minus.value),
            room_standard_uncertainty_tesla: half_root(sum_of_variances - 2.0 * covariance),
            room_covariance_with_slope: 0.5 * (plus.covariance_with_slope - minus.covariance_with_slope),
            meter_zero_tesla: 0.5 * (plus.value + minus.value),
            meter_zero_standard_uncertainty_tesla: half_root(sum_of_variances + 2.0 * covariance),
            // Within a degree; the room's transverse part then adds less than 2 % of itself.
            along_axis: self.directions[0].z > 1f64.to_radians().cos(),
        })
    }

    /// Standard uncertainty of a reading's distance from the line, without the errors that it shares.
    pub(super) fn own_uncertainty(&self, lines: &ParallelLines, i: usize) -> f64 {
        let LinePoint { x_uncertainty, y_uncertainty, covariance, .. } = self.points[i];
        let independent = y_uncertainty.hypot(lines.slope * x_uncertainty);
        if covariance == 0.0 {
            return independent;
        }
        (independent.powi(2) - 2.0 * lines.slope * covariance).max(0.0).sqrt()
    }

    /// Standard uncertainty of that distance with the shared errors.
    pub(super) fn full_uncertainty(&self, lines: &ParallelLines, i: usize) -> f64 {
        let own = self.own_uncertainty(lines, i);
        self.groups.iter().fold(own, |sum, group| {
            let per_unit = match group.quantity {
                SharedQuantity::Current => lines.slope * self.factors[i],
                SharedQuantity::Field => 1.0,
            };
            sum.hypot(per_unit * group.uncertainties[i])
        })
    }
}

/// The lines, as the kind of fit gives them.
pub(super) enum FittedLines {
    /// Each reading's errors are its own.
    Independent(ParallelLines),
    /// Readings share errors.
    Correlated(Box<CorrelatedLines>),
}

impl FittedLines {
    pub(super) fn lines(&self) -> &ParallelLines {
        match self {
            Self::Independent(lines) => lines,
            Self::Correlated(fitted) => &fitted.lines,
        }
    }
}

/// Whether two unit vectors are equal within the digits of a file.
fn alike(one: &Vector3<f64>, other: &Vector3<f64>) -> bool {
    (one - other).norm() < 1e-6
}
