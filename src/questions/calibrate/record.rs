//! The record of a calibration: everything that text, files and pictures are drawn from.

use super::agreement::{Agreement, Dispute};
use super::beam_correction::BeamCorrection;
use super::budget::WARMING_KELVIN;
use super::conformity::Conformity;
use super::continuous::ContinuousCurrent;
use super::drift::Drift;
use super::fit::{Fit, correlation};
use super::intercept_budget::InterceptEntry;
#[cfg(feature = "paper")]
use super::intercept_budget::InterceptSource;
use super::issue::{InputFile, Issue};
use super::measuring::Measuring;
use super::monte_carlo::MonteCarlo;
use super::notes::Note;
use super::reading::LeftOutReading;
use super::room_effect::RoomEffect;
use super::table::{CurrentRow, FieldRow};
use super::validation::IntervalDifference;
use crate::pair::{AxisPosition, Bench, Connection, Meter, Model, Paperwork, Provenance};
use crate::physics::slope::{AdoptedFrom, Slope};
use serde::Serialize;

/// The meaning of B0 of the adopted line.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum InterceptMeaning {
    /// The line is that of the coils alone: no field without current.
    CoilsAlone,
    /// The room's axial field, separated from the meter's zero by turning the probe round.
    RoomAxial,
    /// The room's axial field plus the meter's zero, which reversing the current cannot separate.
    RoomAndMeterZero,
}

/// A calibration: the line, the tables, and what they rest on.
#[derive(Clone, Debug, Serialize)]
#[non_exhaustive]
pub struct Calibration {
    /// Where it comes from.
    pub provenance: Provenance,
    /// Digest of coils, tolerances and meters. Calibrations with the same digest share the errors of their meters.
    pub apparatus_digest: String,
    /// The files it was made from.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub inputs: Vec<InputFile>,
    /// By whom it is issued, with which number, in which register.
    #[serde(skip_serializing_if = "Issue::is_empty")]
    pub issue: Issue,
    /// Which geometry was used.
    pub model: Model,
    /// The adopted k of B = k I + B0: the coils' field at the centre per true ampere through the ammeter.
    #[serde(flatten, serialize_with = "Slope::as_adopted")]
    pub slope: Slope,
    /// B0 of B = k I + B0.
    pub intercept_tesla: f64,
    /// u(B0), the ammeter's zero and the field meter's gain counted.
    pub intercept_standard_uncertainty_tesla: f64,
    /// U(B0).
    pub intercept_expanded_uncertainty_tesla: f64,
    /// The coverage factor in U(B0).
    pub intercept_coverage_factor: f64,
    /// cov(k, B0) in T²/A. `None` if the line is that of the coils alone.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub intercept_covariance_with_slope: Option<f64>,
    /// The meaning of B0.
    pub intercept_meaning: InterceptMeaning,
    /// The contributions to u(B0). Empty if the line is that of the coils alone.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub intercept_budget: Vec<InterceptEntry>,
    /// The slope from the geometry, with the uncertainty from `build_tolerance` if the spec has it.
    pub computed: Slope,
    /// The line fitted to readings, if there are any.
    pub fit: Option<Fit>,
    /// The fitted slope with what the meters share counted.
    pub fit_slope_with_meters: Option<Slope>,
    /// The fitted slope with its budget, if another line was adopted. Later calibrations are compared with it.
    #[serde(skip_serializing_if = "Option::is_none", serialize_with = "super::fitted::serialize")]
    pub fitted_slope: Option<Slope>,
    /// E_n of fitted and computed slope.
    pub normalised_difference: Option<f64>,
    /// How the two slopes compare, and what may be wrong.
    pub agreement: Option<Agreement>,
    /// The combined slope, if it was adopted.
    pub combined: Option<CombinedSlope>,
    /// Why no line should be adopted, if the user adopted one all the same.
    pub dispute: Option<Dispute>,
    /// The statement of conformity of the fitted slope with the computed one, if it was asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub conformity: Option<Conformity>,
    /// Whether the lessons use the ammeter of the readings, so that its errors cancel in the tables.
    pub same_ammeter: bool,
    /// u of the slope per ampere shown by this ammeter, if the lessons use it.
    pub slope_standard_uncertainty_same_ammeter_tesla_per_ampere: Option<f64>,
    /// The propagation of distributions, if it was asked for.
    pub monte_carlo: Option<MonteCarlo>,
    /// Why its interval differs from that of the linear budget, if it does.
    pub monte_carlo_difference: Option<IntervalDifference>,
    /// Effect of the room's field, if it is known.
    pub room: Option<RoomEffect>,
    /// Effective field of beam circles over the centre field.
    pub beam_correction: Vec<BeamCorrection>,
    /// The continuous current of the coils. `None` if the spec does not determine it.
    pub continuous: Option<ContinuousCurrent>,
    /// Comparison with an older line, if one was given.
    pub drift: Option<Drift>,
    /// The range for which the tables hold.
    pub validity: Validity,
    /// Step of `table`.
    pub table_step_ampere: f64,
    /// Current to coil field, as printed.
    pub table: Vec<FieldRow>,
    /// Field to current, as printed.
    pub current_table: Vec<CurrentRow>,
    /// Current to coil field at every step of the ammeter, for the file.
    #[serde(skip)]
    pub every_step: Vec<FieldRow>,
    /// Names, places and instruments for the certificate.
    #[serde(skip_serializing_if = "Paperwork::says_nothing")]
    pub paperwork: Paperwork,
    /// The readings of the file that a `#` leaves out.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub readings_left_out: Vec<LeftOutReading>,
    /// How the readings were taken.
    #[serde(skip)]
    pub measuring: Option<Measuring>,
    /// Whether the axis is horizontal or vertical.
    #[serde(skip)]
    pub axis: AxisPosition,
    /// Notes to the reader.
    #[serde(serialize_with = "serialize_notes")]
    pub notes: Vec<Note>,
}

impl Calibration {
    /// The slope fitted to the readings, with the warmth of the coils in its uncertainty as in that of an adopted one.
    pub fn fitted_with_warmth(&self) -> Option<&Slope> {
        match self.slope.from {
            AdoptedFrom::Fit => Some(&self.slope),
            AdoptedFrom::Computed | AdoptedFrom::Combined => self.fitted_slope.as_ref(),
        }
    }

    /// Whether u(B0) counts what the field meter's zero may be.
    #[cfg(feature = "paper")]
    pub(super) fn counts_meter_zero(&self) -> bool {
        self.intercept_budget.iter().any(|entry| entry.source == InterceptSource::FieldMeterZero)
    }

    /// Whether something speaks against the adopted line, so that no probability can be stated for its uncertainty.
    pub fn is_in_dispute(&self) -> bool {
        self.dispute.is_some() || self.issue.hides.is_some()
    }

    /// The correlation of k and B0, cov(k, B0) over u(k) u(B0), from -1 to 1; 0 if one of them has no uncertainty.
    /// `None` if the line is the coils' alone or u(k) is not known.
    pub fn correlation_of_slope_and_intercept(&self) -> Option<f64> {
        let covariance = self.intercept_covariance_with_slope?;
        let slope = self.slope.standard_uncertainty()?;
        Some(correlation(covariance, slope, self.intercept_standard_uncertainty_tesla))
    }
}

fn serialize_notes<S: serde::Serializer>(notes: &[Note], serializer: S) -> Result<S::Ok, S::Error> {
    serializer.collect_seq(notes.iter().map(Note::sentence))
}

/// A refused calibration: no line is adopted, and there are no tables.
#[derive(Clone, Debug, Serialize)]
#[non_exhaustive]
pub struct Refusal {
    /// Where it comes from.
    pub provenance: Provenance,
    /// Which geometry was used.
    pub model: Model,
    /// Always null, because no line is adopted.
    pub adopted_from: Option<AdoptedFrom>,
    /// The reason.
    pub dispute: Dispute,
    /// The readings of the file that a `#` leaves out.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub readings_left_out: Vec<LeftOutReading>,
    /// The slope from the geometry.
    pub computed: Slope,
    /// The line fitted to the readings.
    pub fit: Fit,
    /// The fitted slope with what the meters share counted.
    pub fit_slope_with_meters: Slope,
    /// E_n of fitted and computed slope.
    pub normalised_difference: Option<f64>,
    /// How the two slopes compare, and what may be wrong.
    pub agreement: Agreement,
}

/// The least-squares combination of computed and fitted slope.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct CombinedSlope {
    /// k and u(k), without the uncertainty from warm coils.
    #[serde(flatten)]
    pub slope: Slope,
    /// Weight of the fitted slope, 0 to 1.
    pub weight_of_fit: f64,
}

/// The range for which the tables hold.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Validity {
    /// The largest current, in either direction.
    pub current_limit_ampere: f64,
    /// Room temperature, from which the coils may differ by `warming_kelvin`.
    pub room_temperature_celsius: f64,
    /// Whether the spec states it. If not, 20 °C is assumed.
    #[serde(skip)]
    pub room_temperature_is_stated: bool,
    /// Largest difference of the coils from that temperature.
    pub warming_kelvin: f64,
    /// The place where the field is that of the table: the centre.
    pub place: &'static str,
    /// How the coils are connected. A table for a series pair does not hold for a parallel one.
    pub connection: Connection,
    /// The range of the readings, if the line rests on readings.
    pub measured: Option<MeasuredRange>,
    /// The ammeter whose errors the tables include.
    #[serde(skip)]
    pub ammeter: Option<Meter>,
}

impl Validity {
    /// The validity of the tables of a bench up to a current. `fit` is the fit on which the line rests.
    pub(super) fn of(bench: &Bench, current_limit_ampere: f64, fit: Option<&Fit>) -> Self {
        Self {
            current_limit_ampere,
            room_temperature_celsius: bench.room_temperature_celsius(),
            room_temperature_is_stated: bench
                .room
                .as_ref()
                .is_some_and(|room| room.temperature_celsius.is_some()),
            warming_kelvin: WARMING_KELVIN,
            place: "the centre of the pair, midway between the coils on the axis",
            connection: bench.connection,
            measured: fit.map(|fit| MeasuredRange {
                current_range_ampere: fit.current_range_ampere,
                smallest_current_ampere: fit.smallest_current_ampere,
                largest_current_ampere: fit.largest_current_ampere,
                both_directions: fit.has_both_directions(),
            }),
            ammeter: bench.ammeter,
        }
    }
}

impl Calibration {
    /// The quantities that count as exact in the adopted line and its tables, because the spec does not state their
    /// errors.
    pub fn taken_as_exact(&self) -> Vec<&'static str> {
        // A computed slope rests on no probe.
        let counts = |note: &&Note| {
            !(matches!(note, Note::ProbeGainExact(_)) && self.slope.from == AdoptedFrom::Computed)
        };
        self.notes.iter().filter(counts).filter_map(Note::taken_as_exact).collect()
    }
}

/// The currents of the readings.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct MeasuredRange {
    /// The smallest and the largest, with their signs.
    pub current_range_ampere: [f64; 2],
    /// The one nearest to zero, as a magnitude.
    pub smallest_current_ampere: f64,
    /// The largest magnitude.
    pub largest_current_ampere: f64,
    /// Whether the current was reversed.
    pub both_directions: bool,
}

#[cfg(feature = "paper")]
impl MeasuredRange {
    /// What is less than this of a current is rounding.
    const ROUNDING: f64 = 1e-9;

    /// Whether a current is weaker than every one of readings in one direction. With both directions it lies between.
    pub(super) fn is_below(&self, current_ampere: f64) -> bool {
        !self.both_directions && current_ampere.abs() < self.smallest_current_ampere * (1.0 - Self::ROUNDING)
    }

    /// Whether a current is stronger than every one of the readings.
    pub(super) fn is_above(&self, current_ampere: f64) -> bool {
        current_ampere.abs() > self.largest_current_ampere * (1.0 + Self::ROUNDING)
    }
}
