//! The calibration line: coil field against current, what it rests on, and the tables the labs read from.
//!
//! The slope k of B = k I + B0 comes from the geometry, from readings, or from both. The record, [`Calibration`], holds
//! it with its uncertainty budget, the tables, the effect of the room, the field that a beam circle feels, and the
//! range for which all this is valid. Text, CSV, JSON, the handout and the picture are drawn from the record. Readings
//! that disagree with the pair or with each other give a [`Refusal`] instead, unless the user says which line to adopt.

mod adopted;
mod adoption;
pub mod agreement;
mod ammeter;
mod apparatus;
pub(crate) mod beam_correction;
mod budget;
pub mod causes;
mod conformity;
mod continuous;
pub mod drift;
#[cfg(feature = "paper")]
pub mod files;
pub mod fit;
mod fitted;
mod intercept;
mod intercept_budget;
mod issue;
mod kept;
mod measuring;
pub mod misread;
mod monte_carlo;
pub mod notes;
mod of_this_pair;
#[cfg(feature = "paper")]
pub mod picture;
pub mod plan;
mod probe;
mod reading;
mod readings;
mod record;
mod request;
pub(crate) mod room_effect;
mod shared;
pub mod table;
pub(crate) mod validation;
mod without_current;
#[cfg(feature = "paper")]
pub mod words;

pub use crate::physics::slope::{AdoptedFrom, Slope, SlopeUncertainty};
pub use adopted::{AdoptedLine, adopted_line_from_text, read_adopted_line};
pub use conformity::{Conformity, Decided, NotDecided};
pub use continuous::ContinuousCurrent;
pub use intercept_budget::{InterceptEntry, InterceptSource};
pub use issue::{
    AgreedDue, AsFound, Change, ChangedSince, Condition, EndedBeforeIssue, FoundToNow, Happened, InputFile,
    Issue, NoAsFound, Registered, Replaced,
};
pub use kept::kept_line;
pub use measuring::Measuring;
pub use of_this_pair::{NotThisPair, check_of_this_pair, not_of_this_pair};
pub use reading::{LeftOutReading, Reading, Share};
pub use readings::{COLUMNS as READINGS_COLUMNS, Readings, read_readings, readings_from_text};
pub use record::{Calibration, CombinedSlope, InterceptMeaning, MeasuredRange, Refusal, Validity};
pub use request::Request;
pub use shared::SharedQuantity;

use self::plan::{PlanRecord, PlanRequest};
use crate::pair::{Bench, Provenance, circuit};
use crate::physics::budget_source::BudgetSource;
use crate::physics::build_error;
use crate::physics::field::{Assembly, PreparedPair};
use crate::physics::heat::range::reliable_continuous_current_ampere;
use crate::physics::slope::{BudgetEntry, of_the_build};
use crate::questions::words::notes::{SourceNote, left_out, on_sheet};
use crate::{Error, Result};
use adoption::Choice;
use agreement::Agreement;
use ammeter::Ammeter;
use fit::Fit;
use intercept::Intercept;
use monte_carlo::{Mixture, MonteCarlo};
use notes::Note;
use table::{Line, Tables};
use validation::IntervalDifference;

/// The outcome of a calibration.
#[derive(Clone, Debug)]
pub enum Outcome {
    /// A line, and its tables.
    Calibrated(Box<Calibration>),
    /// Readings on which no line can be adopted.
    Refused(Box<Refusal>),
}

/// Calibrates a pair as [`outcome`] does. Readings on which no line can be adopted are an error.
pub fn calibrate(bench: &Bench, request: &Request) -> Result<Calibration> {
    match outcome(bench, request)? {
        Outcome::Calibrated(calibration) => Ok(*calibration),
        Outcome::Refused(_) => Err(Error::value_with_hint(
            "the readings disagree with the pair or with themselves, and no line is adopted",
            "`outcome` gives what disagrees and why; a line named in `adopt` is used in spite of it",
        )),
    }
}

/// Calibrates a pair from its geometry and, if there are any, from readings.
///
/// Without readings the uncertainty comes from `build_tolerance`, which is then required. With readings it comes from
/// the fit, and the computed slope stands beside the fitted one as far as the spec allows. If the supply's largest
/// current is not stated, the tables end at the largest reading or at the continuous current. Without `ammeter` the
/// current is taken as exact. Notes say so.
pub fn outcome(bench: &Bench, request: &Request) -> Result<Outcome> {
    outcome_telling(bench, request, &|_| {})
}

/// Calibrates a pair as [`outcome`] does. `advance` is called with the number of further samples of the propagation of
/// distributions.
pub fn outcome_telling(bench: &Bench, request: &Request, advance: &(impl Fn(u64) + Sync)) -> Result<Outcome> {
    let pair = &PreparedPair::of(bench);
    if let Some(readings) = &request.readings {
        readings.check()?;
    }
    let of_readings = request.readings.as_ref().map(|readings| fit::fit_as_rounded(readings, pair));
    let (readings, fit) = of_readings.transpose()?.unzip();
    let request = &Request { readings, ..request.clone() };
    let computed = computed_slope(pair, fit.is_some())?;
    let fitted = fit
        .as_ref()
        .map(|fit| Slope::of(AdoptedFrom::Fit, fit.slope_tesla_per_ampere, fit::fit_budget(fit, bench)));
    let agreement = match (&request.readings, &fit, &fitted) {
        (Some(readings), Some(fit), Some(fitted)) => {
            let judged = causes::judge_readings(pair, &computed, readings, fit)?;
            let mut agreement = Agreement::of(&computed, fitted, judged)?;
            agreement.without_misread = misread::without_misread(pair, &computed, readings, &agreement)?;
            Some(agreement)
        }
        _ => None,
    };
    let choice = adoption::choose(request.adopt, &computed, fitted.as_ref(), agreement.as_ref())?;
    match (choice.dispute, fit, fitted, agreement) {
        (Some(dispute), Some(fit), Some(fitted), Some(agreement)) if !choice.asked => {
            Ok(Outcome::Refused(Box::new(Refusal {
                provenance: Provenance::of(bench, request.date),
                model: bench.model,
                adopted_from: None,
                dispute,
                readings_left_out: left_out_of(request),
                computed,
                fit,
                fit_slope_with_meters: fitted,
                normalised_difference: agreement.normalised_difference,
                agreement,
            })))
        }
        (_, fit, fitted, agreement) => {
            let lines = Lines { computed, fit, fitted, agreement, choice };
            lines.calibration(pair, request, advance).map(|record| Outcome::Calibrated(Box::new(record)))
        }
    }
}

/// Plans readings for a bench.
///
/// # Errors
/// The uncertainty wished for is not between 0.001 % and 50 %; the spec does not state the scatter of a reading, the
/// meters or the largest current.
pub fn planned(bench: &Bench, request: &PlanRequest) -> Result<PlanRecord> {
    let slope = computed_slope_tesla_per_ampere(bench)?;
    let computed = computed(bench)?;
    let plan = plan::plan(bench, slope, computed.as_ref(), request)?;
    Ok(PlanRecord { provenance: Provenance::of(bench, request.date), plan })
}

/// Computed and fitted line, and the choice between them.
struct Lines {
    computed: Slope,
    fit: Option<Fit>,
    fitted: Option<Slope>,
    agreement: Option<Agreement>,
    choice: Choice,
}

impl Lines {
    fn calibration(
        self,
        pair: &PreparedPair,
        request: &Request,
        advance: &(impl Fn(u64) + Sync),
    ) -> Result<Calibration> {
        let bench = pair.bench();
        let fit = self.fit.as_ref();
        let (limit_ampere, end_of_tables) = largest_current(bench, fit)?;
        if let Some(step_ampere) = request.step_ampere {
            table::check_step(step_ampere, limit_ampere)?;
        }
        let said = request.readings.as_ref().is_some_and(|readings| readings.same_ammeter);
        let same_ammeter = fit.is_some() && (request.same_ammeter || said);
        let (without_warming, weight_of_fit) = self.adopted(bench, same_ammeter);
        let mut budget = without_warming.budget.clone();
        budget.extend(budget::of_warming(bench, without_warming.tesla_per_ampere));
        let slope = Slope::of(without_warming.from, without_warming.tesla_per_ampere, budget);
        let combined = (slope.from == AdoptedFrom::Combined)
            .then_some(CombinedSlope { slope: without_warming, weight_of_fit });
        let monte_carlo = self.monte_carlo(bench, request, &slope, weight_of_fit, advance)?;
        let room = room_effect::room_effect(bench, slope.tesla_per_ampere, limit_ampere, fit)?;
        let of_readings = fit.filter(|_| slope.from != AdoptedFrom::Computed);
        let intercept = Intercept::of(bench, of_readings, weight_of_fit);
        let ammeter = Ammeter::of(bench);
        let influences = of_readings.map(|fit| (&fit.ammeter_zero, without_current::is_room(fit)));
        let zeros = ammeter.map_or_else(Vec::new, |ammeter| ammeter.zeros(influences, weight_of_fit));
        let line = Line {
            intercept: intercept.line,
            slope: &slope,
            uncertainty: slope.known_uncertainty()?,
            ammeter,
            zeros: &zeros,
            same_ammeter: same_ammeter && weight_of_fit > 0.0,
            room_axial_tesla: room.as_ref().map(|room| room.axial_tesla),
        };
        let resolution_ampere = bench.ammeter.and_then(|meter| meter.resolution);
        let tables = Tables::of(&line, limit_ampere, request.step_ampere, resolution_ampere);
        let of_the_ammeter = line.same_ammeter.then(|| line.slope_standard_uncertainty_as_shown());
        let ((beam_correction, on_beam), continuous) = rayon::join(
            || beam_correction::beam_corrections(pair),
            || continuous::continuous_current(pair, limit_ampere),
        );
        let with_warming = self.fitted.as_ref().map(|fitted| fitted::kept_beside(bench, fitted));
        let conformity = request
            .issue
            .allowed_error_fraction
            .map(|allowed| {
                Conformity::of(allowed, &self.computed, with_warming.as_ref(), self.choice.dispute)
            })
            .transpose()?;
        let sheet = request.readings.as_ref().and_then(|readings| readings.sheet.as_deref());
        let on_files = end_of_tables.into_iter().chain(on_sheet("readings", sheet));
        let mut notes: Vec<Note> = on_beam.into_iter().chain(on_files.map(Note::Source)).collect();
        let agreement = self.agreement.as_ref();
        let rounding = request.readings.as_ref().and_then(|readings| readings.rounding_ampere);
        notes.extend(notes::notes(bench, &slope, &self.choice, fit, agreement, limit_ampere, rounding));
        notes.extend(conformity.as_ref().and_then(Note::of_conformity));
        let readings_left_out = left_out_of(request);
        if !readings_left_out.is_empty() {
            notes.push(Note::LeftOut(readings_left_out.clone()));
        }
        let provenance = Provenance::of(bench, request.date);
        let apparatus_digest = apparatus::apparatus_digest(bench);
        let fitted_slope = with_warming.filter(|_| slope.from != AdoptedFrom::Fit);
        let drift = request.previous.as_ref().map(|previous| {
            let now = drift::Side {
                slope: &slope,
                provenance: &provenance,
                apparatus: Some(&apparatus_digest),
                instruments: &bench.paperwork.instruments,
            };
            let mut drift = drift::since(previous, &now, fitted_slope.as_ref());
            if request.issue.condition == Condition::Left {
                drift.pair_changed(Vec::new());
            }
            drift
        });
        Ok(Calibration {
            conformity,
            provenance,
            apparatus_digest,
            inputs: request.inputs.clone(),
            issue: request.issue.clone(),
            paperwork: bench.paperwork.clone(),
            readings_left_out,
            measuring: request.readings.as_ref().map(|readings| Measuring::of(bench, readings)),
            axis: bench.axis,
            model: bench.model,
            intercept_tesla: intercept.tesla,
            intercept_standard_uncertainty_tesla: intercept.standard_uncertainty_tesla,
            intercept_expanded_uncertainty_tesla: intercept.expanded_uncertainty_tesla(),
            intercept_coverage_factor: intercept.coverage_factor(),
            intercept_covariance_with_slope: intercept.covariance_with_slope(),
            intercept_meaning: intercept.meaning,
            intercept_budget: intercept.budget,
            normalised_difference: agreement.and_then(|agreement| agreement.normalised_difference),
            combined,
            dispute: self.choice.dispute,
            same_ammeter,
            slope_standard_uncertainty_same_ammeter_tesla_per_ampere: of_the_ammeter,
            monte_carlo_difference: monte_carlo.as_ref().and_then(IntervalDifference::of),
            monte_carlo,
            room,
            beam_correction,
            continuous,
            drift,
            fitted_slope,
            validity: Validity::of(bench, limit_ampere, of_readings),
            table_step_ampere: tables.step_ampere,
            table: tables.printed,
            current_table: tables.currents,
            every_step: tables.every_step,
            notes,
            slope,
            computed: self.computed,
            fit: self.fit,
            fit_slope_with_meters: self.fitted,
            agreement: self.agreement,
        })
    }

    /// The adopted slope, without the uncertainty from warm coils, and the weight of the fitted slope in it.
    fn adopted(&self, bench: &Bench, same_ammeter: bool) -> (Slope, f64) {
        match (&self.fitted, self.choice.from) {
            (Some(fitted), AdoptedFrom::Fit) => (fitted.clone(), 1.0),
            (Some(fitted), AdoptedFrom::Combined) => {
                let ammeter = Ammeter::of(bench);
                let weight = adoption::weight_of_fit(&self.computed, fitted, ammeter, same_ammeter);
                (adoption::combined(&self.computed, fitted, weight), weight)
            }
            _ => (self.computed.clone(), 0.0),
        }
    }

    fn monte_carlo(
        &self,
        bench: &Bench,
        request: &Request,
        slope: &Slope,
        weight_of_fit: f64,
        advance: &(impl Fn(u64) + Sync),
    ) -> Result<Option<MonteCarlo>> {
        let Some(samples) = request.monte_carlo_samples else { return Ok(None) };
        let mixture = Mixture {
            bench,
            fitted: self.fitted.as_ref().map(|fitted| (fitted.tesla_per_ampere, fitted.budget.as_slice())),
            weight_of_fit,
            warming: slope.entry_of(&BudgetSource::Temperature),
            contradiction: slope.entry_of(&BudgetSource::Contradiction),
        };
        monte_carlo::monte_carlo(&mixture, samples, slope, advance).map(Some)
    }
}

/// The readings that the file leaves out.
fn left_out_of(request: &Request) -> Vec<LeftOutReading> {
    request.readings.as_ref().map_or_else(Vec::new, |readings| readings.left_out.clone())
}

/// The largest current of the tables, and a note if that is not the supply's limit.
fn largest_current(bench: &Bench, fit: Option<&Fit>) -> Result<(f64, Option<SourceNote>)> {
    let limit = bench.current_limit_ampere();
    if let Ok(limit) = limit {
        // Rounded down to three digits, as a meter shows it, but not below the largest reading.
        let reached = circuit::largest_current_ampere(bench)?;
        let digits = 10f64.powi((2.0 - reached.log10().floor()).clamp(-9.0, 9.0) as i32);
        let reached = (digits * reached * (1.0 + 1e-9)).floor() / digits;
        let read = fit.map_or(0.0, |fit| fit.largest_current_ampere);
        let end = if reached > 0.0 { reached.max(read).min(limit) } else { limit };
        return Ok((end, None));
    }
    let ending = |what: &'static str| left_out(what, &limit);
    if let Some(largest) = fit.map(|fit| fit.largest_current_ampere).filter(|largest| *largest > 0.0) {
        return Ok((largest, ending("the tables end at the largest reading; more is")));
    }
    match reliable_continuous_current_ampere(bench) {
        Ok(continuous) if continuous > 0.0 => {
            Ok((continuous, ending("the tables end at the continuous current to rely on; more is")))
        }
        _ => limit.map(|limit| (limit, None)),
    }
}

/// The slope from the geometry alone, for questions that need no tables; see [`calibrate`].
pub fn computed_slope_tesla_per_ampere(bench: &Bench) -> Result<f64> {
    let slope = build_error::field_constant_tesla_per_ampere(&Assembly::of(bench));
    budget::check_slope(slope)?;
    Ok(slope)
}

/// The slope from the geometry and its budget. With readings its uncertainty may be missing.
fn computed_slope(pair: &PreparedPair, has_readings: bool) -> Result<Slope> {
    let tesla_per_ampere = build_error::field_constant_tesla_per_ampere(pair.assembly());
    budget::check_slope(tesla_per_ampere)?;
    let build: Vec<BudgetEntry> = match of_the_build(pair.bench()) {
        Err(Error::MissingPart { .. }) if has_readings => Vec::new(),
        build => build?,
    };
    Ok(Slope::of(AdoptedFrom::Computed, tesla_per_ampere, build))
}

/// The computed slope with its uncertainty. `None` if the spec has no `build_tolerance`.
pub fn computed(bench: &Bench) -> Result<Option<Slope>> {
    let slope = computed_slope(&PreparedPair::of(bench), true)?;
    Ok(Some(slope).filter(Slope::is_judged))
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;
    use crate::constants::MU_0;
    use crate::pair::{BuildTolerance, Distribution, Former, Meter, Regulation, Room, RoomField, Supply};
    use approx::assert_relative_eq;
    use nalgebra::Vector3;

    /// A thin pair with everything a calibration needs.
    pub(crate) fn bench() -> Bench {
        let mut bench = Bench::thin_pair();
        bench.build_tolerance = Some(BuildTolerance {
            mean_radius_m: 0.4e-3,
            spacing_m: 0.3e-3,
            turns: 0.0,
            width_m: 0.0,
            depth_m: 0.0,
            offset_m: 0.0,
            tilt_rad: 0.0,
            distribution: Distribution::Rectangular,
            not_stated: crate::pair::NotStated::default(),
        });
        bench.supply = Some(Supply {
            voltage_limit_volt: Some(30.0),
            current_limit_ampere: Some(3.0),
            regulation: Regulation::Current,
        });
        bench.ammeter =
            Some(Meter { resolution: Some(0.01), accuracy_of_reading: Some(0.005), accuracy_digits: 2.0 });
        bench
    }

    #[test]
    fn the_computed_slope_is_the_helmholtz_constant_with_its_linear_budget() {
        // k = (4/5)^(3/2) mu0 N/R; u(k)/k from the radii (1/5 each), the spacing (3/5) and copper within 40 K of room
        // temperature (2/5 of 17e-6/K) in quadrature.
        let bench = bench();
        let calibration = calibrate(&bench, &Request::default()).unwrap();
        let k = 0.8f64.powf(1.5) * MU_0 * 136.0 / 0.15;
        assert_relative_eq!(calibration.slope.tesla_per_ampere, k, max_relative = 1e-8);
        let build = (2.0 * (0.2 * 0.4e-3f64).powi(2) + (0.6 * 0.3e-3f64).powi(2)).sqrt() / 0.15;
        let relative = build.hypot(0.4 * 17e-6 * 40.0) / 3f64.sqrt();
        assert_relative_eq!(
            calibration.slope.standard_uncertainty().unwrap(),
            relative * k,
            max_relative = 1e-4
        );
        assert_eq!(calibration.slope.uncertainty.unwrap().coverage_factor, 2.0);
        assert_eq!(calibration.slope.from, AdoptedFrom::Computed);
        assert_eq!(calibration.intercept_tesla, 0.0);
        assert_eq!(calibration.table.len(), 31);
        assert_eq!(calibration.every_step.len(), 301);
        assert!(calibration.current_table.len() <= table::PRINTED_ROWS);
    }

    #[test]
    fn warm_coils_count_whatever_they_are_wound_on() {
        let mut bench = crate::physics::heat::example::bench();
        bench.build_tolerance = self::bench().build_tolerance;
        bench.former = None;
        let entry_of = |bench: &Bench| {
            let calibration = calibrate(bench, &Request::default()).unwrap();
            assert!(calibration.slope.standard_uncertainty() > calibration.computed.standard_uncertainty());
            let entry = calibration.slope.budget.last().unwrap().clone();
            assert_eq!(entry.source, BudgetSource::Temperature);
            (entry.contribution_tesla_per_ampere / calibration.slope.tesla_per_ampere, calibration.notes)
        };
        // Copper at 17e-6/K counts for two fifths of its growth within ±40 K, a little more in a real section.
        let (relative, notes) = entry_of(&bench);
        assert_relative_eq!(relative, 0.4 * 17e-6 * 40.0 / 3f64.sqrt(), max_relative = 0.02);
        assert!(notes.iter().any(|note| note.sentence().contains("no `former`")), "{notes:?}");
        bench.former = Some(Former {
            material: Some("aluminium".into()),
            wall_m: None,
            cheeks: crate::pair::Cheeks::Both,
            expansion_per_kelvin: Some(5e-5),
        });
        let (grown, notes) = entry_of(&bench);
        assert!(grown > 3.0 * relative, "{grown} over {relative}");
        assert!(!notes.iter().any(|note| note.sentence().contains("`former`")), "{notes:?}");
    }

    #[test]
    fn the_rooms_axial_field_stands_beside_the_coils() {
        let mut bench = bench();
        bench.room = Some(Room {
            temperature_celsius: None,
            field: Some(RoomField::Measured(Vector3::new(12e-6, -44e-6, 18e-6))),
        });
        let calibration = calibrate(&bench, &Request::default()).unwrap();
        for row in &calibration.table {
            let axial = row.axial_field_with_room_tesla.unwrap();
            assert_relative_eq!(axial - row.coil_field_tesla, 18e-6, max_relative = 1e-9);
        }
    }

    #[test]
    fn what_is_missing_is_named() {
        let mut without = bench();
        without.supply = None;
        let calibration = calibrate(&without, &Request::default()).unwrap();
        let continuous = calibration.continuous.as_ref().unwrap().reliable_continuous_current_ampere;
        assert_eq!(calibration.validity.current_limit_ampere, continuous);
        let ends = "The spec has no `supply`: the tables end at the continuous current to rely on";
        assert!(
            calibration.notes.iter().any(|note| note.sentence().starts_with(ends)),
            "{:?}",
            calibration.notes
        );
        let mut without = bench();
        without.build_tolerance = None;
        let error = calibrate(&without, &Request::default()).unwrap_err();
        assert!(error.to_string().contains("`build_tolerance`"));
        let mut without = bench();
        without.ammeter = None;
        let calibration = calibrate(&without, &Request::default()).unwrap();
        assert!(calibration.notes.iter().any(|note| note.sentence().contains("`ammeter`")));
        let row = calibration.table.last().unwrap();
        assert_relative_eq!(
            row.expanded_uncertainty_tesla,
            2.0 * 3.0 * calibration.slope.standard_uncertainty().unwrap(),
            max_relative = 1e-12
        );
    }

    #[test]
    fn coils_that_cancel_are_refused() {
        let mut bench = bench();
        let mut coils = bench.coils();
        coils[1].sense = -1.0;
        bench.as_built = Some(coils);
        let error = calibrate(&bench, &Request::default()).unwrap_err();
        assert!(error.to_string().contains("cancel"), "{error}");
    }
}
