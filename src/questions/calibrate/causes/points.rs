//! Readings as data for the judgement: their differences from the computed line, and all uncertainties.

use crate::Result;
use crate::judgement::priors::UNCERTAINTIES_TOO_SMALL;
use crate::judgement::{Data, Scale};
use crate::pair::{AmmeterPosition, Bench, Distribution};
use crate::physics::slope::Slope;
use crate::questions::calibrate::ammeter::Ammeter;
use crate::questions::calibrate::fit::{Fit, FitMethod};
use crate::questions::calibrate::reading::Reading;
use crate::questions::calibrate::readings::Readings;
use crate::questions::calibrate::shared::{SharedQuantity, groups};
use nalgebra::Vector3;

/// Most points that are judged. If there are more readings, neighbours in the file are averaged.
pub(in crate::questions::calibrate) const MOST_POINTS: usize = 100;
/// u(k)/k of a computed slope without `build_tolerance`: common practice, no source.
pub(in crate::questions::calibrate) const UNSTATED_BUILD: f64 = 0.02;
/// Scatter of readings without stated uncertainty (common practice, no source). The first value is the start, as a
/// fraction of the largest reading. The true scatter is between the second and the third value times that.
const SCATTER_START: f64 = 1e-3;
const SCATTER_LEAST: f64 = 0.02;
const SCATTER_MOST: f64 = 30.0;
/// The effect of the ammeter's zero on a reading is proportional to the field per ampere that it shows. That field per
/// ampere is limited to this many times the median of all readings: a larger one does not come from the current, and a
/// zero of the ammeter does not explain it.
const MOST_BEYOND_THE_REST: f64 = 2.0;
/// Readings at less than this fraction of the largest current do not count in that median.
const LEAST_PART_OF_CURRENT: f64 = 0.1;
/// Stated uncertainties may be too small by this factor at most.
pub(in crate::questions::calibrate) const STATED_TOO_SMALL: f64 = 4.0;

/// One reading, or the mean of several neighbours of one place and direction.
#[derive(Clone, Debug)]
pub(super) struct Point {
    /// Index of the reading in the file; of the first one for a mean.
    pub reading: usize,
    /// Number of readings averaged.
    pub count: usize,
    pub current_ampere: f64,
    pub field_tesla: f64,
    /// Field by the computed line, without the room.
    pub predicted_tesla: f64,
    /// Effect of a zero of the ammeter that is off by 1 A, if the meter stands before the reversal.
    pub sign_tesla_per_ampere: f64,
    /// That effect from the field that was read, not from the computed line: if the coils make no field, the zero has
    /// no effect.
    read_sign_tesla_per_ampere: f64,
    /// Standard uncertainty from its own errors. If none is stated, only the ratios between points count.
    pub own_tesla: f64,
    /// Position in the order of the readings, from −½ to ½.
    pub order: f64,
    pub probe_m: Vector3<f64>,
    pub direction: Vector3<f64>,
    /// Effect of one standard uncertainty of each error that readings share.
    shared_tesla: Vec<f64>,
}

/// All points, and the scale of the fields.
pub(super) struct Points {
    pub points: Vec<Point>,
    pub largest_tesla: f64,
    stated: bool,
}

/// Field read over field expected; zero at zero current.
fn read_part(reading: &Reading, per_ampere: f64) -> f64 {
    let part = reading.field_tesla / (per_ampere * reading.current_ampere);
    match part.is_nan() || reading.current_ampere == 0.0 {
        true => 0.0,
        false => part,
    }
}

/// Median of the readings' fields per ampere, over the computed slope, without its sign.
fn part_of_the_rest(readings: &Readings, fit: &Fit, slope: f64) -> f64 {
    let least = LEAST_PART_OF_CURRENT * fit.largest_current_ampere;
    let with_factor = readings.readings.iter().zip(&fit.residuals);
    let mut parts: Vec<f64> = with_factor
        .filter(|(one, _)| one.current_ampere.abs() >= least)
        .map(|(one, residual)| read_part(one, slope * residual.position_factor).abs())
        .collect();
    parts.sort_by(f64::total_cmp);
    parts.get(parts.len() / 2).copied().unwrap_or(1.0)
}

impl Points {
    pub(super) fn of(readings: &Readings, fit: &Fit, computed: &Slope) -> Result<Self> {
        let groups = groups(readings)?;
        let largest_tesla = readings.readings.iter().map(|one| one.field_tesla.abs()).fold(0.0, f64::max);
        let stated = fit.method != FitMethod::EqualScatter;
        let n = readings.readings.len();
        let k = computed.tesla_per_ampere;
        let most_part = MOST_BEYOND_THE_REST * part_of_the_rest(readings, fit, k);
        let singles = readings.readings.iter().zip(&fit.residuals).enumerate().map(|(i, (one, residual))| {
            let per_ampere = k * residual.position_factor;
            let from_current = per_ampere * one.current_uncertainty_ampere.unwrap_or(0.0);
            Point {
                reading: i,
                count: 1,
                current_ampere: one.current_ampere,
                field_tesla: one.field_tesla,
                predicted_tesla: per_ampere * one.current_ampere,
                sign_tesla_per_ampere: -per_ampere * one.current_ampere.signum(),
                read_sign_tesla_per_ampere: -per_ampere
                    * one.current_ampere.signum()
                    * read_part(one, per_ampere).clamp(-most_part, most_part),
                own_tesla: if stated {
                    own_uncertainty(one, from_current)
                } else {
                    SCATTER_START * largest_tesla
                },
                order: i as f64 / (n.max(2) - 1) as f64 - 0.5,
                probe_m: one.probe_m,
                direction: one.direction,
                shared_tesla: groups
                    .iter()
                    .map(|group| match group.quantity {
                        SharedQuantity::Current => -per_ampere * group.uncertainties[i],
                        SharedQuantity::Field => group.uncertainties[i],
                    })
                    .collect(),
            }
        });
        let points = put_together(singles.collect(), fit);
        Ok(Self { points, largest_tesla, stated })
    }

    /// The data with all uncertainties that exist without any fault. The effect of a gain is computed from the field
    /// read, not from the field expected, so it stays right if a fault changes the field.
    pub(super) fn data(&self, bench: &Bench, computed: &Slope) -> Result<Data> {
        let residuals: Vec<f64> = self.each(|point| point.field_tesla - point.predicted_tesla);
        let mut data = Data::independent(&residuals, &self.each(|point| point.own_tesla))?;
        data = data.scaled(if self.stated {
            Scale::Doubtful { probability: UNCERTAINTIES_TOO_SMALL, up_to: STATED_TOO_SMALL }
        } else {
            Scale::Unknown { low: SCATTER_LEAST, high: SCATTER_MOST }
        });
        for direction in self.directions() {
            data = data.fitting(self.each(|point| f64::from(u8::from(point.direction == direction))));
        }
        let rectangular = |limit| Distribution::Rectangular.standard_uncertainty(limit);
        let build = computed
            .standard_uncertainty()
            .map_or(UNSTATED_BUILD, |standard| (standard / computed.tesla_per_ampere).abs());
        let probe = bench.field_meter.and_then(|meter| meter.accuracy_of_reading).map_or(0.0, rectangular);
        let ammeter = Ammeter::of(bench);
        let ammeter_gain = ammeter.map_or(0.0, |ammeter| ammeter.gain_standard_uncertainty);
        // A single factor, because no reading separates the three.
        let gain = build.hypot(probe).hypot(ammeter_gain);
        data = data.sharing(self.each(|point| gain * point.field_tesla));
        let zero = ammeter.filter(|ammeter| ammeter.position() != Some(AmmeterPosition::AfterReversal));
        if let Some(ammeter) = zero {
            let u = ammeter.zero_standard_uncertainty_ampere;
            data = data.sharing(self.each(|point| u * point.read_sign_tesla_per_ampere));
        }
        for error in 0..self.points.first().map_or(0, |point| point.shared_tesla.len()) {
            data = data.sharing(self.each(|point| point.shared_tesla[error]));
        }
        Ok(data)
    }

    /// These points, each with the probe direction that the sign of its field indicates. `None` unless at least two but
    /// not all differ from the file. A wrong flag also gives the room's field a wrong sign.
    pub(super) fn turned_by_their_signs(&self) -> Option<Self> {
        let is_against = |point: &Point| point.field_tesla * point.predicted_tesla < 0.0;
        let count = self.points.iter().filter(|point| is_against(point)).count();
        if count < 2 || count == self.points.len() {
            return None;
        }
        let turned = |point: &Point| match is_against(point) {
            false => point.clone(),
            true => Point {
                predicted_tesla: -point.predicted_tesla,
                sign_tesla_per_ampere: -point.sign_tesla_per_ampere,
                direction: -point.direction,
                ..point.clone()
            },
        };
        Some(Self { points: self.points.iter().map(turned).collect(), ..*self })
    }

    /// These points with every field divided by `ratio` and the uncertainties unchanged, for readings whose fields are in
    /// another unit than their uncertainties.
    pub(super) fn with_fields_divided_by(&self, ratio: f64) -> Self {
        let divided = |point: &Point| Point {
            field_tesla: point.field_tesla / ratio,
            read_sign_tesla_per_ampere: point.read_sign_tesla_per_ampere / ratio,
            ..point.clone()
        };
        Self {
            points: self.points.iter().map(divided).collect(),
            largest_tesla: self.largest_tesla / ratio,
            ..*self
        }
    }

    /// Whether the readings state their uncertainty.
    pub(super) fn is_stated(&self) -> bool {
        self.stated
    }

    /// The value of a function at each point.
    pub(super) fn each(&self, of: impl Fn(&Point) -> f64) -> Vec<f64> {
        self.points.iter().map(of).collect()
    }

    /// Whether a reading has about the size that the computed line gives, with the opposite sign.
    pub(super) fn has_the_other_sign(&self, reading: usize) -> bool {
        self.points.iter().any(|point| {
            let far = (point.field_tesla + point.predicted_tesla).abs() > 0.1 * point.predicted_tesla.abs();
            point.reading == reading && point.count == 1 && !far
        })
    }

    /// The different directions of the probe.
    fn directions(&self) -> Vec<Vector3<f64>> {
        let mut directions: Vec<Vector3<f64>> = Vec::new();
        for point in &self.points {
            if !directions.contains(&point.direction) {
                directions.push(point.direction);
            }
        }
        directions
    }
}

/// Averages neighbours if there are too many readings. Readings that stand out are kept single.
fn put_together(singles: Vec<Point>, fit: &Fit) -> Vec<Point> {
    let each = singles.len().div_ceil(MOST_POINTS);
    let mut points: Vec<Point> = Vec::new();
    let mut stand_out = 0;
    for point in singles {
        let alone = each > 1 && fit.residuals[point.reading].outlier && stand_out < MOST_POINTS / 4;
        stand_out += usize::from(alone);
        let may_join = |last: &Point| {
            !alone
                && last.count < each
                && !fit.residuals[last.reading].outlier
                && (last.probe_m, last.direction) == (point.probe_m, point.direction)
        };
        match points.last_mut() {
            Some(last) if may_join(last) => last.join(&point),
            _ => points.push(point),
        }
    }
    points
}

/// Standard uncertainty of a reading's distance from the line by its own errors. `from_current` is the contribution of
/// its current.
fn own_uncertainty(reading: &Reading, from_current: f64) -> f64 {
    let of_field = reading.field_uncertainty_tesla.unwrap_or(0.0);
    let both = of_field.hypot(from_current);
    if reading.current_field_correlation == 0.0 {
        return both;
    }
    (both.powi(2) - 2.0 * reading.current_field_correlation * of_field * from_current).max(0.0).sqrt()
}

impl Point {
    /// Adds another reading to the mean.
    fn join(&mut self, other: &Self) {
        let n = self.count as f64;
        let mean = |one: f64, new: f64| (n * one + new) / (n + 1.0);
        self.own_tesla = (n * self.own_tesla).hypot(other.own_tesla) / (n + 1.0);
        self.current_ampere = mean(self.current_ampere, other.current_ampere);
        self.field_tesla = mean(self.field_tesla, other.field_tesla);
        self.predicted_tesla = mean(self.predicted_tesla, other.predicted_tesla);
        self.sign_tesla_per_ampere = mean(self.sign_tesla_per_ampere, other.sign_tesla_per_ampere);
        self.read_sign_tesla_per_ampere =
            mean(self.read_sign_tesla_per_ampere, other.read_sign_tesla_per_ampere);
        self.order = mean(self.order, other.order);
        for (one, new) in self.shared_tesla.iter_mut().zip(&other.shared_tesla) {
            *one = mean(*one, *new);
        }
        self.count += 1;
    }
}
