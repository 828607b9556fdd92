//! The record of a calibration: everything that text, files and pictures are drawn from.

use super::agreement::{Agreement, Cause, Slope};
use super::beam_correction::BeamCorrection;
use super::budget::BudgetEntry;
use super::drift::Drift;
use super::fit::{Fit, FitMethod};
use super::monte_carlo::MonteCarlo;
use super::room_effect::RoomEffect;
use super::table::{CurrentRow, FieldRow};
use super::{Adopted, Request, budget};
use crate::pair::{Bench, Connection, Meter, Model, Provenance, unstated_of_meter};
use crate::physics::heat::circuit::Drive;
use crate::physics::heat::expansion::Expansion;
use crate::physics::heat::limits::TemperatureLimits;
use crate::physics::heat::{HeatedPair, Limits};
use crate::physics::room;
use serde::{Deserialize, Serialize};

/// What a slope rests on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum AdoptedFrom {
    /// The geometry.
    Computed,
    /// Readings.
    Fit,
    /// Both, weighted.
    Combined,
}

impl AdoptedFrom {
    /// The word in reports and in JSON.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Computed => "computed",
            Self::Fit => "fit",
            Self::Combined => "combined",
        }
    }
}

/// What B0 of the adopted line is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum InterceptMeaning {
    /// The line is the coils' alone: no current, no field.
    CoilsAlone,
    /// The room's axial field, told apart from the meter's zero by a probe turned round.
    RoomAxial,
    /// The room's axial field plus the meter's zero, which reversing the current cannot separate.
    RoomAndMeterZero,
}

/// A calibration: the line, the tables, and what they rest on.
#[derive(Clone, Debug, Serialize)]
pub struct Calibration {
    /// Where it comes from.
    pub provenance: Provenance,
    /// Which geometry was used.
    pub model: Model,
    /// What the slope rests on.
    pub adopted_from: AdoptedFrom,
    /// k of B = k I + B0: the coils' field at the centre per ampere through the ammeter.
    pub slope_tesla_per_ampere: f64,
    /// u(k).
    pub slope_standard_uncertainty_tesla_per_ampere: f64,
    /// B0 of B = k I + B0.
    pub intercept_tesla: f64,
    /// u(B0).
    pub intercept_standard_uncertainty_tesla: f64,
    /// What B0 is.
    pub intercept_meaning: InterceptMeaning,
    /// Effective degrees of freedom of u(k); `None` where all is known from stated limits.
    pub effective_degrees_of_freedom: Option<f64>,
    /// Coverage factor of the slope's expanded uncertainty.
    pub coverage_factor: f64,
    /// Coverage factor × u(k).
    pub slope_expanded_uncertainty_tesla_per_ampere: f64,
    /// What contributes how much to u(k).
    pub budget: Vec<BudgetEntry>,
    /// The slope from the geometry.
    pub computed: ComputedSlope,
    /// The line fitted to readings, where there are any.
    pub fit: Option<Fit>,
    /// The fitted slope with what the meters share counted.
    pub fit_slope_with_meters: Option<MeasuredSlope>,
    /// E_n of fitted and computed slope.
    pub normalised_difference: Option<f64>,
    /// How the two slopes compare.
    pub agreement: Option<Agreement>,
    /// The weighted mean of the two, where it was asked for and they agree.
    pub combined: Option<CombinedSlope>,
    /// The propagation of distributions, where it was asked for.
    pub monte_carlo: Option<MonteCarlo>,
    /// What the room does, where its field is known.
    pub room: Option<RoomEffect>,
    /// What a beam circle feels, over the centre field.
    pub beam_correction: Vec<BeamCorrection>,
    /// How much current the coils carry for as long as one likes; `None` where the spec does not tell.
    pub continuous: Option<ContinuousCurrent>,
    /// What became of an older line.
    pub drift: Option<Drift>,
    /// What the tables hold for.
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
    /// What a reader must know besides.
    pub notes: Vec<String>,
}

/// The slope from the geometry.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct ComputedSlope {
    /// k.
    pub slope_tesla_per_ampere: f64,
    /// u(k) from `build_tolerance`, where the spec has it.
    pub slope_standard_uncertainty_tesla_per_ampere: Option<f64>,
    /// Its coverage factor × u(k).
    pub slope_expanded_uncertainty_tesla_per_ampere: Option<f64>,
}

impl ComputedSlope {
    /// With its uncertainty, where that is known.
    pub(super) fn slope(&self) -> Option<Slope> {
        Some(Slope {
            tesla_per_ampere: self.slope_tesla_per_ampere,
            standard_uncertainty: self.slope_standard_uncertainty_tesla_per_ampere?,
            expanded_uncertainty: self.slope_expanded_uncertainty_tesla_per_ampere?,
        })
    }
}

/// A slope from readings, the meters' shared errors counted.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct MeasuredSlope {
    /// k.
    pub slope_tesla_per_ampere: f64,
    /// u(k).
    pub slope_standard_uncertainty_tesla_per_ampere: f64,
    /// Its coverage factor × u(k).
    pub slope_expanded_uncertainty_tesla_per_ampere: f64,
}

impl From<Slope> for MeasuredSlope {
    fn from(slope: Slope) -> Self {
        Self {
            slope_tesla_per_ampere: slope.tesla_per_ampere,
            slope_standard_uncertainty_tesla_per_ampere: slope.standard_uncertainty,
            slope_expanded_uncertainty_tesla_per_ampere: slope.expanded_uncertainty,
        }
    }
}

/// The weighted mean of computed and fitted slope.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct CombinedSlope {
    /// k.
    pub slope_tesla_per_ampere: f64,
    /// u(k), warm coils not counted.
    pub slope_standard_uncertainty_tesla_per_ampere: f64,
    /// The fitted slope's share, 0 to 1.
    pub weight_of_fit: f64,
}

/// How much current the coils carry for as long as one likes.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ContinuousCurrent {
    /// The current of the supply.
    pub continuous_current_ampere: f64,
    /// Which limit sets it.
    pub limited_by: String,
    /// Larger currents, and how long cold coils carry them.
    pub above: Vec<AllowedTime>,
}

/// How long cold coils carry a current above the continuous one.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct AllowedTime {
    /// The current of the supply.
    pub current_ampere: f64,
    /// Until the first temperature limit is reached.
    pub time_s: f64,
}

/// What the tables hold for.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Validity {
    /// The largest current, either direction.
    pub current_limit_ampere: f64,
    /// The room's temperature that the coils are within `warming_kelvin` of.
    pub room_temperature_celsius: f64,
    /// How far from that temperature the coils may be.
    pub warming_kelvin: f64,
    /// Where the field is the table's: the centre.
    pub place: &'static str,
    /// How the coils are connected; a table for a series pair does not hold for a parallel one.
    pub connection: Connection,
    /// The ammeter counted in the tables.
    #[serde(skip)]
    pub ammeter: Option<Meter>,
}

impl Validity {
    pub(super) fn of(bench: &Bench, current_limit_ampere: f64) -> Self {
        Self {
            current_limit_ampere,
            room_temperature_celsius: bench.room_temperature_celsius(),
            warming_kelvin: budget::WARMING_KELVIN,
            place: "the centre of the pair, midway between the coils on the axis",
            connection: bench.connection,
            ammeter: bench.ammeter,
        }
    }
}

/// What the heat of the pair allows for ever, where it can be told from the spec.
pub(super) fn continuous_limits(bench: &Bench) -> Option<Limits> {
    let pair = HeatedPair::of(bench).ok()?;
    Some(pair.limits(&TemperatureLimits::of(bench), bench.supply.as_ref()))
}

/// The continuous current, where the heat of the pair can be told from the spec, and how long cold coils carry more.
pub(super) fn continuous_current(bench: &Bench, current_limit_ampere: f64) -> Option<ContinuousCurrent> {
    let limits = continuous_limits(bench)?;
    let pair = HeatedPair::of(bench).ok()?;
    let temperatures = TemperatureLimits::of(bench);
    let continuous = limits.continuous_current_ampere;
    let span = current_limit_ampere - continuous;
    let above =
        [1.0 / 3.0, 2.0 / 3.0, 1.0].into_iter().filter(|_| span > 0.01 * continuous).filter_map(|part| {
            let current_ampere = continuous + part * span;
            let drive = Drive::held(current_ampere);
            let (time_s, _) = pair.time_to_limit(&drive, &temperatures).ok()??;
            Some(AllowedTime { current_ampere, time_s })
        });
    Some(ContinuousCurrent {
        continuous_current_ampere: continuous,
        above: above.collect(),
        limited_by: limits.limited_by,
    })
}

/// What a reader must know besides the numbers.
pub(super) fn notes(
    bench: &Bench,
    adopted: &Adopted,
    fit: Option<&Fit>,
    agreement: Option<&Agreement>,
    request: &Request,
    limit_ampere: f64,
) -> Vec<String> {
    let mut notes = Vec::new();
    if let Some(fit) = fit {
        notes.extend(notes_on_readings(bench, fit, limit_ampere));
        notes.extend(notes_on_agreement(bench, agreement, request.combine));
    }
    for part in unstated_of_meter("ammeter", bench.ammeter) {
        let exact = match part.as_str() {
            "ammeter.resolution" => "the ammeter's digits are",
            "ammeter.accuracy_of_reading" => "the ammeter's gain is",
            _ => "the current is",
        };
        notes.push(format!("The spec has no `{part}`: {exact} taken as exact."));
    }
    if bench.site().is_err() {
        notes.push(format!("{}.", room::unknown(bench)));
    }
    if bench.former.is_none() {
        notes.push(Expansion::assumption(bench));
    }
    if adopted.slope_tesla_per_ampere < 0.0 {
        notes.push(
            "Positive current makes field along -z: exchange the leads, or keep the signs of the table."
                .into(),
        );
    }
    notes
}

fn notes_on_readings(bench: &Bench, fit: &Fit, limit_ampere: f64) -> Vec<String> {
    let mut notes = Vec::new();
    match fit.separated {
        Some(separated) if separated.along_axis => {}
        Some(_) => notes.push(
            "The probe was turned round, but not along the axis: the field found beside the meter's zero is the \
             room's along the probe, not its axial part."
                .into(),
        ),
        None => notes.push(
            "The intercept is the room's axial field plus the meter's zero. Reversing the current separates the \
             coils from both; only turning the probe round (`probe_flipped`) separates the two."
                .into(),
        ),
    }
    let outliers: Vec<String> = fit.outliers().map(|reading| reading.line.to_string()).collect();
    if !outliers.is_empty() {
        notes.push(format!(
            "Stands out from the other readings, and is kept in the fit: line {} of the file. Look into it; to \
             leave a reading out, take it out of the file and say why.",
            outliers.join(", ")
        ));
    }
    if fit.excess_scatter().is_some() {
        notes.push(
            "The readings scatter more than their stated uncertainties allow; the fit's part of the budget is \
             enlarged by the square root of chi-square over its degrees of freedom."
                .into(),
        );
    }
    if fit.method == FitMethod::EqualScatter {
        notes.push(
            "No uncertainty is stated for the readings: one common one is taken from their scatter, so \
             chi-square says nothing."
                .into(),
        );
    }
    if fit.largest_current_ampere < 0.999 * limit_ampere {
        notes.push(format!(
            "The readings end at {} A; above it the tables trust the line to stay straight, which a coil \
             without iron does.",
            fit.largest_current_ampere
        ));
    }
    let part = match bench.field_meter {
        None => Some("field_meter"),
        Some(meter) if meter.accuracy_of_reading.is_none() => Some("field_meter.accuracy_of_reading"),
        Some(_) => None,
    };
    if let Some(part) = part {
        notes.push(format!("The spec has no `{part}`: the probe's gain is taken as exact."));
    }
    notes
}

fn notes_on_agreement(bench: &Bench, agreement: Option<&Agreement>, combine: bool) -> Vec<String> {
    let mut notes = Vec::new();
    match agreement {
        None if bench.build_tolerance.is_none() => notes.push(
            "The spec has no `build_tolerance`: the computed slope has no uncertainty, and whether the two \
             slopes agree cannot be said."
                .into(),
        ),
        Some(agreement) if combine && !agreement.agree => notes.push(
            "The two slopes disagree, so they are not combined: find out why first. The fitted slope is used."
                .into(),
        ),
        // Where units are mixed up, the connection is only one guess.
        Some(agreement)
            if agreement.explanations.first().is_some_and(|explanation| {
                matches!(explanation.cause, Cause::LeadsReversed | Cause::CoilReversed)
            }) =>
        {
            notes.push("A connection is the wrong way round: put it right and measure again.".into());
        }
        _ => {}
    }
    notes
}
