//! The calibration line: coil field against current, what it rests on, and the tables the labs read from.
//!
//! The computed line is k from the geometry. `k` and its uncertainty budget, the two tables, the room's axial
//! field beside them and what all of it is valid for make one record, [`Calibration`]; text, CSV, JSON, the
//! handout and the picture are drawn from it.

mod adopted;
pub mod agreement;
pub mod beam_correction;
pub mod budget;
pub mod fit;
pub mod room_effect;
pub mod table;

pub use adopted::{AdoptedLine, read_adopted_line};

use crate::field::Assembly;
use crate::provenance::Provenance;
use crate::room;
use crate::spec::{Bench, Connection, Meter, Model};
use crate::{Error, Result, build_error};
use budget::BudgetEntry;
use serde::{Deserialize, Serialize};
use table::{CurrentRow, FieldRow, Line};

/// The step of the tables where the spec has no ammeter.
const STEP_WITHOUT_AMMETER_AMPERE: f64 = 0.01;

/// What is asked of a calibration.
#[derive(Clone, Debug, Default)]
pub struct Request {
    /// The step of both tables; by default the ammeter's resolution sets them.
    pub step_ampere: Option<f64>,
    /// The date to print, if any.
    pub date: Option<String>,
}

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
    /// B0 of B = k I + B0; nought where the line is the coils' alone.
    pub intercept_tesla: f64,
    /// u(B0).
    pub intercept_standard_uncertainty_tesla: f64,
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
    /// What the room does, where its field is known.
    pub room: Option<RoomOnAxis>,
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
    /// u(k) from `build_tolerance`.
    pub slope_standard_uncertainty_tesla_per_ampere: f64,
}

/// The room's field along the axis.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct RoomOnAxis {
    /// Its part along +z.
    pub axial_tesla: f64,
}

/// What the tables hold for.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Validity {
    /// The largest current, either direction.
    pub current_limit_ampere: f64,
    /// The room's temperature that the coils are within [`budget::WARMING_KELVIN`] of.
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

/// Calibrates a pair from its geometry.
///
/// Needs `supply` (the largest current) and `build_tolerance` (the uncertainty). Without `ammeter` the current is
/// taken as exact, and a note says so.
pub fn calibrate(bench: &Bench, model: Model, request: &Request) -> Result<Calibration> {
    let limit_ampere = bench.current_limit_ampere()?;
    if let Some(step_ampere) = request.step_ampere {
        table::check_step(step_ampere, limit_ampere)?;
    }
    let computed_budget = budget::of_the_build(bench, model)?;
    let slope = build_error::field_constant_tesla_per_ampere(&Assembly::of(bench, model));
    budget::check_slope(slope)?;
    let computed = ComputedSlope {
        slope_tesla_per_ampere: slope,
        slope_standard_uncertainty_tesla_per_ampere: budget::combine(&computed_budget)
            .standard_uncertainty_tesla_per_ampere,
    };
    let mut entries = computed_budget;
    entries.extend(budget::of_warming(bench, slope));
    let combined = budget::combine(&entries);
    let room = room::field_tesla(bench)?.map(|field| RoomOnAxis { axial_tesla: field.z });
    let line = Line {
        slope_tesla_per_ampere: slope,
        slope_standard_uncertainty_tesla_per_ampere: combined.standard_uncertainty_tesla_per_ampere,
        degrees_of_freedom: combined.effective_degrees_of_freedom,
        ammeter: bench.ammeter,
        room_axial_tesla: room.map(|room| room.axial_tesla),
    };
    let tables = Tables::of(&line, limit_ampere, request.step_ampere);
    Ok(Calibration {
        provenance: Provenance::of(bench, request.date.as_deref()),
        model,
        adopted_from: AdoptedFrom::Computed,
        slope_tesla_per_ampere: slope,
        slope_standard_uncertainty_tesla_per_ampere: combined.standard_uncertainty_tesla_per_ampere,
        intercept_tesla: 0.0,
        intercept_standard_uncertainty_tesla: 0.0,
        effective_degrees_of_freedom: combined.effective_degrees_of_freedom,
        coverage_factor: combined.coverage_factor,
        slope_expanded_uncertainty_tesla_per_ampere: combined.expanded_uncertainty_tesla_per_ampere,
        budget: entries,
        computed,
        room,
        validity: Validity {
            current_limit_ampere: limit_ampere,
            room_temperature_celsius: bench.room_temperature_celsius(),
            warming_kelvin: budget::WARMING_KELVIN,
            place: "the centre of the pair, midway between the coils on the axis",
            connection: bench.connection,
            ammeter: bench.ammeter,
        },
        table_step_ampere: tables.step_ampere,
        table: tables.printed,
        current_table: tables.currents,
        every_step: tables.every_step,
        notes: notes(bench, slope),
    })
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
        let resolution = line.ammeter.map_or(STEP_WITHOUT_AMMETER_AMPERE, |meter| meter.resolution);
        let printed_step = step_ampere
            .unwrap_or_else(|| table::smallest_step(resolution, limit_ampere, table::PRINTED_ROWS));
        let file_step =
            step_ampere.unwrap_or_else(|| table::smallest_step(resolution, limit_ampere, table::FILE_ROWS));
        let rows = |step| table::stepped(step, limit_ampere).map(|current| line.at_current(current));
        // From the microtesla up, whatever the slope's sign.
        let largest_field = (line.slope_tesla_per_ampere * limit_ampere).abs();
        let field_step = table::smallest_step(1e-6, largest_field, table::PRINTED_ROWS);
        let sign = line.slope_tesla_per_ampere.signum();
        Self {
            step_ampere: printed_step,
            printed: rows(printed_step).collect(),
            every_step: rows(file_step).collect(),
            currents: table::stepped(field_step, largest_field)
                .map(|field| line.at_field(sign * field))
                .collect(),
        }
    }
}

/// What a reader must know besides the numbers.
fn notes(bench: &Bench, slope_tesla_per_ampere: f64) -> Vec<String> {
    let mut notes = Vec::new();
    if bench.ammeter.is_none() {
        notes.push(
            "the spec has no `ammeter`, so the current is taken as exact in the tables; the uncertainties are \
             those of the slope alone"
                .into(),
        );
    }
    if bench.former.as_ref().and_then(|former| former.expansion_per_kelvin).is_none() {
        notes.push(
            "the spec gives no `former.expansion_per_kelvin`, so the budget holds nothing for warm coils"
                .into(),
        );
    }
    if slope_tesla_per_ampere < 0.0 {
        notes.push(
            "positive current makes field along -z: exchange the leads, or keep the signs of the table"
                .into(),
        );
    }
    notes
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
    if room::is_date(year, month, day) { Ok(text.into()) } else { Err(wrong()) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::constants::MU_0;
    use crate::spec::{BuildTolerance, Distribution, Former, Regulation, Room, RoomField, Supply};
    use approx::assert_relative_eq;
    use nalgebra::Vector3;

    /// A thin pair with everything a calibration needs.
    pub(super) fn bench() -> Bench {
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
            voltage_limit_volt: 30.0,
            current_limit_ampere: 3.0,
            regulation: Regulation::Current,
        });
        bench.ammeter = Some(Meter { resolution: 0.01, accuracy_of_reading: 0.005, accuracy_digits: 2.0 });
        bench
    }

    #[test]
    fn the_computed_slope_is_the_helmholtz_constant_with_its_linear_budget() {
        // k = (4/5)^(3/2) mu0 N/R; u(k)/k from the radii (1/5 each) and the spacing (3/5) in quadrature.
        let bench = bench();
        let calibration = calibrate(&bench, Model::Nominal, &Request::default()).unwrap();
        let k = 0.8f64.powf(1.5) * MU_0 * 130.0 / 0.15;
        assert_relative_eq!(calibration.slope_tesla_per_ampere, k, max_relative = 1e-8);
        let relative =
            (2.0 * (0.2 * 0.4e-3f64).powi(2) + (0.6 * 0.3e-3f64).powi(2)).sqrt() / 0.15 / 3f64.sqrt();
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
    fn warm_coils_count_where_the_former_says_how_it_grows() {
        let mut bench = bench();
        bench.former = Some(Former {
            material: "plywood".into(),
            wall_m: None,
            cheeks: crate::spec::Cheeks::Both,
            expansion_per_kelvin: Some(2e-5),
        });
        let calibration = calibrate(&bench, Model::Nominal, &Request::default()).unwrap();
        let entry = calibration.budget.last().unwrap();
        assert_eq!(entry.source, "temperature");
        // α k × 40 K / √3.
        let wanted = 2e-5 * 40.0 / 3f64.sqrt() * calibration.slope_tesla_per_ampere;
        assert_relative_eq!(entry.contribution_tesla_per_ampere, wanted, max_relative = 1e-12);
        assert!(
            calibration.slope_standard_uncertainty_tesla_per_ampere
                > calibration.computed.slope_standard_uncertainty_tesla_per_ampere
        );
    }

    #[test]
    fn the_rooms_axial_field_stands_beside_the_coils() {
        let mut bench = bench();
        bench.room = Some(Room {
            temperature_celsius: None,
            field: Some(RoomField::Measured(Vector3::new(12e-6, -44e-6, 18e-6))),
        });
        let calibration = calibrate(&bench, Model::Nominal, &Request::default()).unwrap();
        for row in &calibration.table {
            let axial = row.axial_field_with_room_tesla.unwrap();
            assert_relative_eq!(axial - row.coil_field_tesla, 18e-6, max_relative = 1e-9);
        }
    }

    #[test]
    fn what_is_missing_is_named() {
        let mut without = bench();
        without.supply = None;
        let error = calibrate(&without, Model::Nominal, &Request::default()).unwrap_err();
        assert!(error.to_string().contains("`supply`"));
        let mut without = bench();
        without.ammeter = None;
        let calibration = calibrate(&without, Model::Nominal, &Request::default()).unwrap();
        assert!(calibration.notes[0].contains("`ammeter`"));
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
        let mut coils = bench.coils(Model::Nominal);
        coils[1].sense = -1.0;
        bench.as_built = Some(coils);
        let error = calibrate(&bench, Model::AsBuilt, &Request::default()).unwrap_err();
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
