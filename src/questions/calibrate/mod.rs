//! The calibration line: coil field against current, what it rests on, and the tables the labs read from.
//!
//! The slope k of B = k I + B0 comes from the geometry, from readings, or from both. With its uncertainty budget,
//! the tables, what the room does, what a beam circle feels and what all of it is valid for it makes one record,
//! [`Calibration`]; text, CSV, JSON, the handout and the picture are drawn from it.

mod adopted;
pub mod agreement;
pub mod beam_correction;
pub mod budget;
pub mod drift;
#[cfg(feature = "paper")]
pub mod files;
pub mod fit;
pub mod monte_carlo;
#[cfg(feature = "paper")]
pub mod picture;
pub mod plan;
mod readings;
mod record;
pub mod room_effect;
pub mod table;
#[cfg(feature = "paper")]
pub mod words;

pub use adopted::{AdoptedLine, read_adopted_line};
pub use readings::{COLUMNS as READINGS_COLUMNS, Reading, Readings, read_readings};
pub use record::{
    AdoptedFrom, AllowedTime, Calibration, CombinedSlope, ComputedSlope, ContinuousCurrent, InterceptMeaning,
    Validity,
};

use crate::pair::{Bench, Provenance, left_out};
use crate::physics::field::Assembly;
use crate::physics::{build_error, room};
use crate::{Error, Result};
use agreement::{Agreement, Slope};
use budget::BudgetEntry;
use fit::Fit;
use monte_carlo::Mixture;
use table::{CurrentRow, FieldRow, Line};

/// The step of the tables where the spec does not state the ammeter's resolution.
const STEP_WITHOUT_AMMETER_AMPERE: f64 = 0.01;

/// What is asked of a calibration.
#[derive(Clone, Debug, Default)]
pub struct Request {
    /// The step of both tables; by default the ammeter's resolution sets them.
    pub step_ampere: Option<f64>,
    /// The date to print, if any.
    pub date: Option<String>,
    /// What to fit the line to, if anything.
    pub readings: Option<Readings>,
    /// Whether to adopt the weighted mean of computed and fitted slope, should they agree.
    pub combine: bool,
    /// How many samples to propagate the distributions with, if at all.
    pub monte_carlo_samples: Option<u64>,
    /// An older line to compare with.
    pub previous: Option<AdoptedLine>,
}

/// Calibrates a pair from its geometry and, where there are any, from readings.
///
/// Without readings it needs `build_tolerance` (the uncertainty). Readings bring it themselves; the computed slope then
/// stands beside the fitted one as far as the spec allows. Without the supply's largest current the tables end at the
/// largest reading, or at the continuous current; without `ammeter` the current is taken as exact. Notes say so.
pub fn calibrate(bench: &Bench, request: &Request) -> Result<Calibration> {
    calibrate_telling(bench, request, |_| {})
}

/// The same; `advance` is told how many more samples of the propagation of distributions are done.
pub fn calibrate_telling(
    bench: &Bench,
    request: &Request,
    advance: impl Fn(u64) + Sync,
) -> Result<Calibration> {
    let assembly = Assembly::of(bench);
    let fit = request.readings.as_ref().map(|readings| fit::fit(readings, &assembly)).transpose()?;
    let (limit_ampere, end_of_tables) = largest_current(bench, fit.as_ref())?;
    if let Some(step_ampere) = request.step_ampere {
        table::check_step(step_ampere, limit_ampere)?;
    }
    let (computed, build) = computed_slope(bench, &assembly, fit.is_some())?;
    let fit_budget = fit.as_ref().map_or(Vec::new(), |fit| fit.budget(bench));
    let fitted = fit.as_ref().map(|fit| slope_of(fit.slope_tesla_per_ampere, &fit_budget));
    let agreement = match (&fitted, computed.slope()) {
        (Some(fitted), Some(computed)) => agreement::agreement(bench, &assembly, &computed, &build, fitted),
        _ => None,
    };
    let combined = combined(request.combine, agreement.as_ref(), computed.slope(), fitted);
    let adopted = Adopted::of(bench, &computed, &build, fitted, &fit_budget, combined);
    let sum = budget::combine(&adopted.budget);
    let slope = Slope {
        tesla_per_ampere: adopted.slope_tesla_per_ampere,
        standard_uncertainty: sum.standard_uncertainty_tesla_per_ampere,
        expanded_uncertainty: sum.expanded_uncertainty_tesla_per_ampere,
    };
    let monte_carlo = request
        .monte_carlo_samples
        .map(|samples| {
            let mixture = Mixture {
                bench,
                fitted: fitted.map(|fitted| (fitted.tesla_per_ampere, fit_budget.as_slice())),
                weight_of_fit: adopted.weight_of_fit,
                warming: adopted.budget.iter().find(|entry| entry.source == budget::TEMPERATURE),
            };
            let expanded = slope.expanded_uncertainty;
            monte_carlo::monte_carlo(&mixture, samples, slope.tesla_per_ampere, expanded, &advance)
        })
        .transpose()?;
    let room = room_effect::room_effect(bench, slope.tesla_per_ampere, limit_ampere, fit.as_ref())?;
    let line = Line {
        slope_tesla_per_ampere: slope.tesla_per_ampere,
        slope_standard_uncertainty_tesla_per_ampere: slope.standard_uncertainty,
        degrees_of_freedom: sum.effective_degrees_of_freedom,
        ammeter: bench.ammeter,
        room_axial_tesla: room.as_ref().map(|room| room.axial_tesla),
    };
    let tables = Tables::of(&line, limit_ampere, request.step_ampere);
    let (beam_correction, mut notes) = beam_correction::beam_corrections(bench, &assembly);
    notes.extend(end_of_tables);
    let sheet = request.readings.as_ref().and_then(|readings| readings.sheet.as_deref());
    notes.extend(crate::files::tables::sheet_note("readings", sheet));
    notes.extend(record::notes(bench, &adopted, fit.as_ref(), agreement.as_ref(), request, limit_ampere));
    let (intercept_meaning, intercept) = intercept(adopted.from, fit.as_ref());
    let provenance = Provenance::of(bench, request.date.as_deref());
    let drift = request
        .previous
        .as_ref()
        .map(|previous| drift::drift(previous, &slope, &adopted.budget, &provenance));
    Ok(Calibration {
        provenance,
        model: bench.model,
        adopted_from: adopted.from,
        slope_tesla_per_ampere: slope.tesla_per_ampere,
        slope_standard_uncertainty_tesla_per_ampere: slope.standard_uncertainty,
        intercept_tesla: intercept[0],
        intercept_standard_uncertainty_tesla: intercept[1],
        intercept_meaning,
        effective_degrees_of_freedom: sum.effective_degrees_of_freedom,
        coverage_factor: sum.coverage_factor,
        slope_expanded_uncertainty_tesla_per_ampere: slope.expanded_uncertainty,
        budget: adopted.budget,
        computed,
        fit,
        fit_slope_with_meters: fitted.map(Into::into),
        normalised_difference: agreement.as_ref().map(|agreement| agreement.normalised_difference),
        agreement,
        combined,
        monte_carlo,
        room,
        beam_correction,
        continuous: record::continuous_current(bench, limit_ampere),
        drift,
        validity: Validity::of(bench, limit_ampere),
        table_step_ampere: tables.step_ampere,
        table: tables.printed,
        current_table: tables.currents,
        every_step: tables.every_step,
        notes,
    })
}

/// Where the tables end, and a note where that is not the supply's limit.
fn largest_current(bench: &Bench, fit: Option<&Fit>) -> Result<(f64, Option<String>)> {
    let limit = bench.current_limit_ampere();
    if let Ok(limit) = limit {
        return Ok((limit, None));
    }
    let ending = |at: &str| left_out(&format!("the tables end at the {at}; more is"), &limit);
    if let Some(largest) = fit.map(|fit| fit.largest_current_ampere).filter(|largest| *largest > 0.0) {
        return Ok((largest, ending("largest reading")));
    }
    match record::continuous_limits(bench) {
        Some(limits) if limits.continuous_current_ampere > 0.0 => {
            Ok((limits.continuous_current_ampere, ending("continuous current")))
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

/// The slope from the geometry and its budget; where readings stand in, the uncertainty may be missing.
fn computed_slope(
    bench: &Bench,
    assembly: &Assembly,
    has_readings: bool,
) -> Result<(ComputedSlope, Vec<BudgetEntry>)> {
    let tesla_per_ampere = build_error::field_constant_tesla_per_ampere(assembly);
    budget::check_slope(tesla_per_ampere)?;
    let build = match budget::of_the_build(bench) {
        Err(Error::MissingPart { .. }) if has_readings => Vec::new(),
        build => build?,
    };
    let known = (!build.is_empty()).then(|| budget::combine(&build));
    let computed = ComputedSlope {
        slope_tesla_per_ampere: tesla_per_ampere,
        slope_standard_uncertainty_tesla_per_ampere: known
            .map(|sum| sum.standard_uncertainty_tesla_per_ampere),
        slope_expanded_uncertainty_tesla_per_ampere: known
            .map(|sum| sum.expanded_uncertainty_tesla_per_ampere),
    };
    Ok((computed, build))
}

/// A slope with the uncertainty that its budget gives.
fn slope_of(tesla_per_ampere: f64, entries: &[BudgetEntry]) -> Slope {
    let sum = budget::combine(entries);
    Slope {
        tesla_per_ampere,
        standard_uncertainty: sum.standard_uncertainty_tesla_per_ampere,
        expanded_uncertainty: sum.expanded_uncertainty_tesla_per_ampere,
    }
}

/// The weighted mean of two slopes that agree: weights 1/u², u² = 1/(1/u₁² + 1/u₂²).
fn combined(
    asked: bool,
    agreement: Option<&Agreement>,
    computed: Option<Slope>,
    fitted: Option<Slope>,
) -> Option<CombinedSlope> {
    let agree = agreement.is_some_and(|agreement| agreement.agree);
    let (Some(computed), Some(fitted), true) = (computed, fitted, asked && agree) else { return None };
    let [from_build, from_fit] = [computed, fitted].map(|slope| slope.standard_uncertainty.powi(2));
    let weight_of_fit = from_build / (from_build + from_fit);
    Some(CombinedSlope {
        slope_tesla_per_ampere: weight_of_fit * fitted.tesla_per_ampere
            + (1.0 - weight_of_fit) * computed.tesla_per_ampere,
        slope_standard_uncertainty_tesla_per_ampere: (from_build * from_fit / (from_build + from_fit)).sqrt(),
        weight_of_fit,
    })
}

/// The slope that the tables use, and its budget.
struct Adopted {
    from: AdoptedFrom,
    slope_tesla_per_ampere: f64,
    budget: Vec<BudgetEntry>,
    weight_of_fit: f64,
}

impl Adopted {
    /// The combined slope where there is one, else the fitted, else the computed; warm coils count once, whatever
    /// the slope rests on.
    fn of(
        bench: &Bench,
        computed: &ComputedSlope,
        build: &[BudgetEntry],
        fitted: Option<Slope>,
        fit_budget: &[BudgetEntry],
        combined: Option<CombinedSlope>,
    ) -> Self {
        let (from, slope_tesla_per_ampere, weight_of_fit) = match (combined, fitted) {
            (Some(combined), _) => {
                (AdoptedFrom::Combined, combined.slope_tesla_per_ampere, combined.weight_of_fit)
            }
            (None, Some(fitted)) => (AdoptedFrom::Fit, fitted.tesla_per_ampere, 1.0),
            (None, None) => (AdoptedFrom::Computed, computed.slope_tesla_per_ampere, 0.0),
        };
        let mut budget = Vec::new();
        if weight_of_fit < 1.0 {
            budget.extend(build.iter().map(|entry| entry.weighted(1.0 - weight_of_fit)));
        }
        if weight_of_fit > 0.0 {
            budget.extend(fit_budget.iter().map(|entry| entry.weighted(weight_of_fit)));
        }
        budget.extend(budget::of_warming(bench, slope_tesla_per_ampere));
        Self { from, slope_tesla_per_ampere, budget, weight_of_fit }
    }
}

/// B0 of the adopted line with its standard uncertainty, and what it is.
fn intercept(from: AdoptedFrom, fit: Option<&Fit>) -> (InterceptMeaning, [f64; 2]) {
    let Some(fit) = fit.filter(|_| from != AdoptedFrom::Computed) else {
        return (InterceptMeaning::CoilsAlone, [0.0, 0.0]);
    };
    match fit.separated {
        Some(separated) if separated.along_axis => {
            (InterceptMeaning::RoomAxial, [separated.room_tesla, separated.room_standard_uncertainty_tesla])
        }
        _ => (
            InterceptMeaning::RoomAndMeterZero,
            [fit.intercept_tesla, fit.intercept_standard_uncertainty_tesla],
        ),
    }
}

/// The three tables of a line.
struct Tables {
    step_ampere: f64,
    printed: Vec<FieldRow>,
    every_step: Vec<FieldRow>,
    currents: Vec<CurrentRow>,
}

impl Tables {
    fn of(line: &Line, limit_ampere: f64, step_ampere: Option<f64>) -> Self {
        let resolution =
            line.ammeter.and_then(|meter| meter.resolution).unwrap_or(STEP_WITHOUT_AMMETER_AMPERE);
        let step = |rows| step_ampere.unwrap_or_else(|| table::smallest_step(resolution, limit_ampere, rows));
        let rows =
            |step| table::stepped(step, limit_ampere).map(|current| line.at_current(current)).collect();
        // From the microtesla up, whatever the slope's sign.
        let largest_field = (line.slope_tesla_per_ampere * limit_ampere).abs();
        let field_step = table::smallest_step(1e-6, largest_field, table::PRINTED_ROWS);
        let sign = line.slope_tesla_per_ampere.signum();
        Self {
            step_ampere: step(table::PRINTED_ROWS),
            printed: rows(step(table::PRINTED_ROWS)),
            every_step: rows(step(table::FILE_ROWS)),
            currents: table::stepped(field_step, largest_field)
                .map(|field| line.at_field(sign * field))
                .collect(),
        }
    }
}

/// A date as `--date` takes it: year-month-day.
pub fn check_date(text: &str) -> Result<String> {
    let wrong = || {
        Error::value_with_hint(
            format!("the date `{text}` is not written year-month-day"),
            "write it like this: --date 2026-03-01",
        )
    };
    let parts: Vec<&str> = text.split('-').collect();
    let [year, month, day] = parts[..] else { return Err(wrong()) };
    let shaped = year.len() == 4 && month.len() == 2 && day.len() == 2;
    let digits = parts.iter().all(|part| part.bytes().all(|byte| byte.is_ascii_digit()));
    if !(shaped && digits) {
        return Err(wrong());
    }
    let (year, month, day) = (year.parse(), month.parse(), day.parse());
    let (Ok(year), Ok(month), Ok(day)) = (year, month, day) else { return Err(wrong()) };
    if room::is_date(year, month, day) {
        Ok(text.into())
    } else {
        Err(Error::value_with_hint(
            format!("there is no date {text}"),
            "write it like this: --date 2026-03-01",
        ))
    }
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
        let k = 0.8f64.powf(1.5) * MU_0 * 130.0 / 0.15;
        assert_relative_eq!(calibration.slope_tesla_per_ampere, k, max_relative = 1e-8);
        let build = (2.0 * (0.2 * 0.4e-3f64).powi(2) + (0.6 * 0.3e-3f64).powi(2)).sqrt() / 0.15;
        let relative = build.hypot(0.4 * 17e-6 * 40.0) / 3f64.sqrt();
        assert_relative_eq!(
            calibration.slope_standard_uncertainty_tesla_per_ampere,
            relative * k,
            max_relative = 1e-4
        );
        assert_eq!(calibration.coverage_factor, 2.0);
        assert_eq!(calibration.adopted_from, AdoptedFrom::Computed);
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
            assert!(
                calibration.slope_standard_uncertainty_tesla_per_ampere
                    > calibration.computed.slope_standard_uncertainty_tesla_per_ampere.unwrap()
            );
            let entry = calibration.budget.last().unwrap().clone();
            assert_eq!(entry.source, "temperature");
            (entry.contribution_tesla_per_ampere / calibration.slope_tesla_per_ampere, calibration.notes)
        };
        // Copper at 17e-6/K counts for two fifths of its growth within ±40 K, a little more in a real section.
        let (relative, notes) = entry_of(&bench);
        assert_relative_eq!(relative, 0.4 * 17e-6 * 40.0 / 3f64.sqrt(), max_relative = 0.02);
        assert!(notes.iter().any(|note| note.contains("no `former`")), "{notes:?}");
        bench.former = Some(Former {
            material: Some("aluminium".into()),
            wall_m: None,
            cheeks: crate::pair::Cheeks::Both,
            expansion_per_kelvin: Some(5e-5),
        });
        let (grown, notes) = entry_of(&bench);
        assert!(grown > 3.0 * relative, "{grown} over {relative}");
        assert!(!notes.iter().any(|note| note.contains("`former`")), "{notes:?}");
    }

    #[test]
    fn the_better_known_slope_counts_more_in_the_combined_one() {
        // By hand: u 2 and 1 give weights 1/4 and 1, so the fit counts 4/5 and u² = 1/(1/4 + 1) = 4/5.
        let slope = |tesla_per_ampere, standard_uncertainty| Slope {
            tesla_per_ampere,
            standard_uncertainty,
            expanded_uncertainty: 2.0 * standard_uncertainty,
        };
        let agree = Agreement {
            relative_difference: 0.0,
            normalised_difference: 0.0,
            agree: true,
            explanations: Vec::new(),
        };
        let parts = (Some(slope(10.0, 2.0)), Some(slope(15.0, 1.0)));
        let mean = combined(true, Some(&agree), parts.0, parts.1).unwrap();
        assert_relative_eq!(mean.weight_of_fit, 0.8, max_relative = 1e-14);
        assert_relative_eq!(mean.slope_tesla_per_ampere, 14.0, max_relative = 1e-14);
        assert_relative_eq!(
            mean.slope_standard_uncertainty_tesla_per_ampere,
            0.8f64.sqrt(),
            max_relative = 1e-14
        );
        assert_eq!(combined(false, Some(&agree), parts.0, parts.1), None);
        let apart = Agreement { agree: false, ..agree };
        assert_eq!(combined(true, Some(&apart), parts.0, parts.1), None);
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
        let continuous = calibration.continuous.as_ref().unwrap().continuous_current_ampere;
        assert_eq!(calibration.validity.current_limit_ampere, continuous);
        let ends = "The spec has no `supply`: the tables end at the continuous current";
        assert!(calibration.notes.iter().any(|note| note.starts_with(ends)), "{:?}", calibration.notes);
        let mut without = bench();
        without.build_tolerance = None;
        let error = calibrate(&without, &Request::default()).unwrap_err();
        assert!(error.to_string().contains("`build_tolerance`"));
        let mut without = bench();
        without.ammeter = None;
        let calibration = calibrate(&without, &Request::default()).unwrap();
        assert!(calibration.notes.iter().any(|note| note.contains("`ammeter`")));
        let row = calibration.table.last().unwrap();
        assert_relative_eq!(
            row.expanded_uncertainty_tesla,
            2.0 * 3.0 * calibration.slope_standard_uncertainty_tesla_per_ampere,
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

    #[test]
    fn only_real_dates_pass() {
        assert_eq!(check_date("2026-03-01").unwrap(), "2026-03-01");
        for wrong in ["2026-02-30", "26-3-1", "01.03.2026", "", "2026-03-0x", "+026-03-01"] {
            assert!(check_date(wrong).is_err(), "{wrong}");
        }
    }
}
