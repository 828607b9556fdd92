//! e/m and the electron's mass from the class's runs.
//!
//! Every run's field is that of the calibration line at its current, times the effective field ratio of its circle
//! from the integrated orbit, with the room's field; e/m follows from (B r)² = 2 V/(e/m) + V²/c². What belongs to one
//! run alone (its radius, the last digits of its meters) makes the weights and chi-square; what all runs share (slope,
//! meter errors, scale) is added once and does not shrink with their number.

mod causes;
mod fit;
mod runs;
mod shared;

pub use causes::Finding;
pub use runs::{Run, Runs};
pub use shared::SharedPart;

use crate::beam::parallax::in_beam_plane_m;
use crate::beam::{BeamBench, FieldLine, Gun, effective_field_tesla};
use crate::constants::{
    ELECTRON_CHARGE_TO_MASS_COULOMB_PER_KG, ELECTRON_MASS_KG, ELEMENTARY_CHARGE_COULOMB,
    SPEED_OF_LIGHT_M_PER_S,
};
use crate::numeric::student::chi_square_tail;
use crate::provenance::Provenance;
use crate::spec::{BeamEdge, Model};
use crate::units::{Dimension, display};
use crate::{Error, Result};
use fit::{Fitted, Point, RoomAxial, fit};
use nalgebra::Vector3;
use rayon::prelude::*;
use serde::Serialize;

/// What is asked besides the runs.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Request {
    /// Standard uncertainty of the scale itself, as a fraction of the radius: the same for all runs.
    pub scale_uncertainty_fraction: Option<f64>,
    /// The room's axial field as the calibration found it.
    pub calibration_room_axial_tesla: Option<f64>,
}

/// Where the uncertainty of one run comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum RunUncertainty {
    /// From what is stated for its radius and from its meters' last digits.
    Stated,
    /// From the scatter of the runs, for want of a stated radius uncertainty.
    Scatter,
}

/// What is known of the room's field along the axis.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum RoomSource {
    /// Fitted with e/m, both current directions being there.
    Runs,
    /// The spec's.
    Spec,
    /// The calibration's.
    Calibration,
    /// Nothing is known; taken as none.
    Unknown,
}

/// The runs reduced.
#[derive(Clone, Debug, Serialize)]
pub struct Weighing {
    /// Program and spec.
    pub provenance: Provenance,
    /// Which geometry.
    pub model: Model,
    /// The line from current to field.
    pub line: FieldLine,
    /// e/m of the electron, from all runs.
    pub charge_to_mass_coulomb_per_kg: f64,
    /// Its standard uncertainty; none where nothing says how far one run scatters.
    pub charge_to_mass_standard_uncertainty_coulomb_per_kg: Option<f64>,
    /// The part of it that shrinks with the number of runs.
    pub run_standard_uncertainty_coulomb_per_kg: Option<f64>,
    /// The part of it that all runs share.
    pub shared_standard_uncertainty_coulomb_per_kg: f64,
    /// What the runs share, one by one.
    pub shared: Vec<SharedPart>,
    /// The accepted value (CODATA 2022).
    pub accepted_charge_to_mass_coulomb_per_kg: f64,
    /// Over the accepted value, minus one.
    pub difference_fraction: f64,
    /// The difference in standard uncertainties.
    pub difference_in_standard_uncertainties: Option<f64>,
    /// The electron's mass, e taken as known.
    pub electron_mass_kg: f64,
    /// Its standard uncertainty.
    pub electron_mass_standard_uncertainty_kg: Option<f64>,
    /// The accepted mass (CODATA 2022).
    pub accepted_electron_mass_kg: f64,
    /// Where the uncertainty of one run comes from.
    pub run_uncertainty: RunUncertainty,
    /// Σ (residual over its standard uncertainty)²; none where the uncertainty came from the scatter itself.
    pub chi_square: Option<f64>,
    /// Runs less the numbers fitted.
    pub degrees_of_freedom: usize,
    /// Probability of a chi-square at least this large, were the stated uncertainties right.
    pub chi_square_probability: Option<f64>,
    /// Where the room's axial field comes from.
    pub room_source: RoomSource,
    /// The room's field along +z that was used.
    pub room_axial_tesla: f64,
    /// Its standard uncertainty, where it was fitted.
    pub room_axial_standard_uncertainty_tesla: Option<f64>,
    /// The spec's, to compare.
    pub spec_room_axial_tesla: Option<f64>,
    /// e/m of the same runs with the centre field constant alone: no beam-radius correction and no room field.
    pub centre_field_charge_to_mass_coulomb_per_kg: Option<f64>,
    /// A length in the beam plane appears so many times as long on the scale; the radii are corrected for it.
    pub scale_magnification: f64,
    /// The runs, in the order of the file.
    pub runs: Vec<RunResult>,
    /// What stands out, and the likely cause.
    pub findings: Vec<Finding>,
    /// What the reader should know.
    pub notes: Vec<String>,
}

/// One run reduced.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct RunResult {
    /// Its line in the file.
    pub line: u64,
    /// What the user calls it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub label: Option<String>,
    /// What the voltmeter showed.
    pub gun_voltage_volt: f64,
    /// What the beam got.
    pub beam_voltage_volt: f64,
    /// What the ammeter showed.
    pub current_ampere: f64,
    /// Radius in the beam plane, parallax taken off.
    pub radius_m: f64,
    /// Whether the circle fits the bulb only with the tube turned half round, as it was taken to be.
    pub tube_turned: bool,
    /// The circle's effective field over that of the centre, the room's transverse field with it.
    pub effective_field_ratio: f64,
    /// The effective field, the room's axial field with it.
    pub field_tesla: f64,
    /// e/m of this run alone.
    pub charge_to_mass_coulomb_per_kg: f64,
    /// Its standard uncertainty from what belongs to this run.
    pub charge_to_mass_standard_uncertainty_coulomb_per_kg: Option<f64>,
    /// 2 V/(k I r)², as a class computes it.
    pub centre_field_charge_to_mass_coulomb_per_kg: f64,
    /// Momentum e B r.
    pub momentum_kg_m_per_s: f64,
    /// Speed from momentum and energy.
    pub speed_m_per_s: f64,
    /// (B r)², for the straight line against the voltage.
    pub field_radius_squared_tesla2_m2: f64,
    /// (read − fitted)/u of the radius, over the share that the run has in the fit itself.
    pub weighted_residual: Option<f64>,
    /// Whether it stands out from the others; it stays in the result all the same.
    pub stands_out: bool,
}

/// Reduces the runs.
///
/// Refused, with the row: a radius that the bulb cannot hold, a voltage that the offset eats up, a circle that the
/// field cannot make; and a radius uncertainty that some runs state and others do not.
pub fn weigh(beams: &BeamBench<'_>, model: Model, runs: &Runs, request: &Request) -> Result<Weighing> {
    if let Some(fraction) = request.scale_uncertainty_fraction
        && !(0.0..1.0).contains(&fraction)
    {
        return Err(Error::value_with_hint(
            format!("the scale uncertainty is {}", display(fraction, Dimension::Fraction, 3)),
            "give a standard uncertainty from 0 % to below 100 % of the radius",
        ));
    }
    let prepared = Prepared::of(beams, runs)?;
    let directions = |sign: f64| prepared.runs.iter().any(|run| run.direction == sign);
    let both = directions(1.0) && directions(-1.0);
    let spec_axial = beams.room_tesla.map(|field| field.z);
    let (room_source, room) = match (both, spec_axial, request.calibration_room_axial_tesla) {
        (true, ..) => (RoomSource::Runs, RoomAxial::Free),
        (false, Some(axial), _) => (RoomSource::Spec, RoomAxial::Held(axial)),
        (false, None, Some(axial)) => (RoomSource::Calibration, RoomAxial::Held(axial)),
        (false, None, None) => (RoomSource::Unknown, RoomAxial::Held(0.0)),
    };
    let fitted = fit(&prepared.points(&shared::Shift::none())?, room)?;
    let scatter = prepared.scatter(&fitted);
    let reduced = prepared.results(&fitted, scatter)?;
    let run_u = scatter.map(|scatter| fitted.uncertainty * scatter);
    let shared = shared::parts(beams, &prepared, room, request, fitted.charge_to_mass)?;
    let shared_u = shared.iter().map(|part| part.contribution_coulomb_per_kg.powi(2)).sum::<f64>().sqrt();
    let whole = run_u.map(|run_u| run_u.hypot(shared_u));
    let q = fitted.charge_to_mass;
    let stated = prepared.uncertainty == RunUncertainty::Stated;
    let chi_square = stated.then_some(fitted.chi_square);
    let degrees_of_freedom = fitted.degrees_of_freedom;
    let mass = ELEMENTARY_CHARGE_COULOMB / q;
    let mut weighing = Weighing {
        provenance: Provenance::of(beams.bench, None),
        model,
        line: beams.line.clone(),
        charge_to_mass_coulomb_per_kg: q,
        charge_to_mass_standard_uncertainty_coulomb_per_kg: whole,
        run_standard_uncertainty_coulomb_per_kg: run_u,
        shared_standard_uncertainty_coulomb_per_kg: shared_u,
        shared,
        accepted_charge_to_mass_coulomb_per_kg: ELECTRON_CHARGE_TO_MASS_COULOMB_PER_KG,
        difference_fraction: q / ELECTRON_CHARGE_TO_MASS_COULOMB_PER_KG - 1.0,
        difference_in_standard_uncertainties: whole
            .map(|whole| (q - ELECTRON_CHARGE_TO_MASS_COULOMB_PER_KG) / whole)
            .filter(|difference| difference.is_finite()),
        electron_mass_kg: mass,
        electron_mass_standard_uncertainty_kg: whole.map(|whole| mass * whole / q),
        accepted_electron_mass_kg: ELECTRON_MASS_KG,
        run_uncertainty: prepared.uncertainty,
        chi_square,
        degrees_of_freedom,
        chi_square_probability: chi_square
            .filter(|_| degrees_of_freedom > 0)
            .and_then(|chi_square| chi_square_tail(chi_square, degrees_of_freedom as f64).ok()),
        room_source,
        room_axial_tesla: fitted.room_axial_tesla,
        room_axial_standard_uncertainty_tesla: fitted
            .room_axial_uncertainty_tesla
            .and_then(|uncertainty| Some(uncertainty * scatter?)),
        spec_room_axial_tesla: spec_axial,
        centre_field_charge_to_mass_coulomb_per_kg: fit(
            &prepared.centre_field_points(),
            RoomAxial::Held(0.0),
        )
        .ok()
        .map(|fitted| fitted.charge_to_mass),
        scale_magnification: prepared.magnification,
        runs: reduced,
        findings: Vec::new(),
        notes: Vec::new(),
    };
    causes::judge(&mut weighing, &prepared)?;
    weighing.notes = notes(beams, &weighing);
    Ok(weighing)
}

/// The runs with what the bench says of each.
struct Prepared<'a> {
    file: &'a Runs,
    runs: Vec<PreparedRun>,
    uncertainty: RunUncertainty,
    magnification: f64,
    slope_tesla_per_ampere: f64,
}

/// One run in the beam plane.
#[derive(Clone, Copy, Debug)]
struct PreparedRun {
    meter_volt: f64,
    offset_volt: f64,
    current_ampere: f64,
    radius_m: f64,
    /// Whether the tube was turned half round.
    tube_turned: bool,
    /// Effective field of coils and transverse room field over the centre's.
    ratio: f64,
    /// +1 or −1: whether the coil field lies along +z or −z.
    direction: f64,
    /// Of this run alone, all expressed in the radius.
    uncertainty_m: f64,
}

impl<'a> Prepared<'a> {
    fn of(beams: &BeamBench<'_>, file: &'a Runs) -> Result<Self> {
        let reading = beams.bench.reading.as_ref();
        let stated = |run: &&Run| run.radius_uncertainty_or_usual_m(reading).is_some();
        let uncertainty = match file.runs.iter().find(stated) {
            None => RunUncertainty::Scatter,
            Some(_) => RunUncertainty::Stated,
        };
        if let (RunUncertainty::Stated, Some(run)) = (uncertainty, file.runs.iter().find(|run| !stated(run)))
        {
            return Err(file.refuse(
                run,
                "this run states no uncertainty of its radius, and others do",
                "fill in the uncertainty for every run, or for none, or give `reading.radius_uncertainty`",
            ));
        }
        let magnification = reading.map_or(Ok(1.0), crate::beam::parallax::magnification)?;
        let prepare = |run: &Run| prepare(beams, file, run, uncertainty);
        Ok(Self {
            file,
            runs: file.runs.par_iter().map(prepare).collect::<Result<_>>()?,
            uncertainty,
            magnification,
            slope_tesla_per_ampere: beams.line.slope_tesla_per_ampere.abs(),
        })
    }

    /// The runs as points of the fit, what they share shifted.
    fn points(&self, shift: &shared::Shift) -> Result<Vec<Point>> {
        self.runs
            .iter()
            .enumerate()
            .map(|(i, run)| {
                let voltage_volt =
                    run.meter_volt * (1.0 + shift.voltage_gain) + shift.voltage_volt - run.offset_volt;
                let current = run.current_ampere * (1.0 + shift.current_gain) + shift.current_ampere;
                let field_tesla =
                    self.slope_tesla_per_ampere * (1.0 + shift.slope) * current.abs() * run.ratio;
                if voltage_volt > 0.0 && field_tesla > 0.0 {
                    Ok(Point {
                        voltage_volt,
                        field_tesla,
                        direction: run.direction,
                        radius_m: run.radius_m * (1.0 + shift.radius),
                        uncertainty_m: run.uncertainty_m,
                    })
                } else {
                    Err(self.file.refuse(
                        &self.file.runs[i],
                        "the meters' limits of error are larger than what they show",
                        "use a larger voltage and current, or correct `accuracy_digits`",
                    ))
                }
            })
            .collect()
    }

    /// The same with the centre field alone.
    fn centre_field_points(&self) -> Vec<Point> {
        self.runs
            .iter()
            .map(|run| Point {
                voltage_volt: run.meter_volt,
                field_tesla: self.slope_tesla_per_ampere * run.current_ampere.abs(),
                direction: run.direction,
                radius_m: run.radius_m,
                uncertainty_m: run.uncertainty_m,
            })
            .collect()
    }

    /// How many times the uncertainties put in are the right ones: 1 where they were stated, from the scatter where
    /// not, and none where no run is left over to scatter.
    fn scatter(&self, fitted: &Fitted) -> Option<f64> {
        match self.uncertainty {
            RunUncertainty::Stated => Some(1.0),
            RunUncertainty::Scatter if fitted.degrees_of_freedom == 0 => None,
            RunUncertainty::Scatter => Some((fitted.chi_square / fitted.degrees_of_freedom as f64).sqrt()),
        }
    }

    fn results(&self, fitted: &Fitted, scatter: Option<f64>) -> Result<Vec<RunResult>> {
        let points = self.points(&shared::Shift::none())?;
        let room = fitted.room_axial_tesla;
        let result = |(i, point): (usize, &Point)| {
            let (run, prepared) = (&self.file.runs[i], &self.runs[i]);
            let field_tesla = point.field_tesla + point.direction * room;
            let rigidity = field_tesla * point.radius_m;
            let charge_to_mass = point.charge_to_mass(room);
            let usable = field_tesla > 0.0 && charge_to_mass.is_finite() && charge_to_mass > 0.0;
            if !usable {
                return Err(self.file.refuse(
                    run,
                    "no electron makes this circle: its field and radius are too small for its voltage",
                    "check the units of the headings and the current's sign",
                ));
            }
            let electric = point.voltage_volt / SPEED_OF_LIGHT_M_PER_S;
            let naive = self.slope_tesla_per_ampere * prepared.current_ampere * point.radius_m;
            Ok(RunResult {
                line: run.line,
                label: run.label.clone(),
                gun_voltage_volt: run.gun_voltage_volt,
                beam_voltage_volt: point.voltage_volt,
                current_ampere: run.current_ampere,
                radius_m: point.radius_m,
                tube_turned: prepared.tube_turned,
                effective_field_ratio: prepared.ratio,
                field_tesla,
                charge_to_mass_coulomb_per_kg: charge_to_mass,
                charge_to_mass_standard_uncertainty_coulomb_per_kg: scatter
                    .map(|scatter| 2.0 * charge_to_mass * scatter * point.uncertainty_m / point.radius_m),
                centre_field_charge_to_mass_coulomb_per_kg: 2.0 * run.gun_voltage_volt / (naive * naive),
                momentum_kg_m_per_s: ELEMENTARY_CHARGE_COULOMB * rigidity,
                // v = p c²/(T + m c²) with m c² = (p²c² − T²)/(2 T).
                speed_m_per_s: 2.0 * rigidity * point.voltage_volt
                    / (rigidity * rigidity + electric * electric),
                field_radius_squared_tesla2_m2: rigidity * rigidity,
                weighted_residual: scatter.filter(|scatter| *scatter > 0.0).and_then(|scatter| {
                    let own = (1.0 - fitted.leverages[i]).max(0.0).sqrt();
                    Some(fitted.weighted_residuals[i] / (scatter * own))
                        .filter(|residual| residual.is_finite())
                }),
                stands_out: false,
            })
        };
        points.iter().enumerate().map(result).collect()
    }
}

fn prepare(
    beams: &BeamBench<'_>,
    file: &Runs,
    run: &Run,
    uncertainty: RunUncertainty,
) -> Result<PreparedRun> {
    let bench = beams.bench;
    let radius_m = match &bench.reading {
        Some(reading) => in_beam_plane_m(reading, run.scale_radius_m)?,
        None => run.scale_radius_m,
    };
    let bulb_radius_m = beams.tube.bulb_radius_m;
    if radius_m >= bulb_radius_m {
        return Err(file.refuse(
            run,
            format!(
                "the beam radius {} is larger than the bulb's {}",
                display(radius_m, Dimension::Length, 4),
                display(bulb_radius_m, Dimension::Length, 4)
            ),
            "a diameter belongs under `diameter_mm`; check the unit of the heading",
        ));
    }
    let offset_volt = beams.gun_voltage_offset_volt();
    if run.gun_voltage_volt <= offset_volt {
        return Err(file.refuse(
            run,
            format!(
                "of the gun voltage {} nothing is left after `tube.gun_voltage_offset` of {}",
                display(run.gun_voltage_volt, Dimension::Voltage, 4),
                display(offset_volt, Dimension::Voltage, 4)
            ),
            "correct the voltage or the offset",
        ));
    }
    let centre_tesla = (beams.field_constant_tesla_per_ampere * run.current_ampere).abs();
    let transverse = beams.room_tesla.map_or(Vector3::zeros(), |field| Vector3::new(field.x, field.y, 0.0));
    let field = |point: &Vector3<f64>| beams.coil_field_tesla(run.current_ampere, point) + transverse;
    let direction = (beams.field_constant_tesla_per_ampere * run.current_ampere).signum();
    let turned = beams.tube.turned_half_round();
    let tube_turned =
        !beams.tube.circle_fits(direction * radius_m) && turned.circle_fits(direction * radius_m);
    let gun = Gun::of(if tube_turned { &turned } else { beams.tube }, 0.0);
    let effective = effective_field_tesla(field, &gun, radius_m, centre_tesla).map_err(|error| {
        file.refuse(
            run,
            format!("this run cannot be reduced: {error}"),
            "check the radius, the current's sign and the units of the headings",
        )
    })?;
    let uncertainty_m = match (uncertainty, run.radius_uncertainty_or_usual_m(bench.reading.as_ref())) {
        (RunUncertainty::Stated, Some(on_scale_m)) => {
            let digit = |meter: Option<crate::spec::Meter>| {
                meter.map_or(0.0, |meter| meter.resolution / 12f64.sqrt())
            };
            let volt = run.gun_voltage_uncertainty_volt.unwrap_or_else(|| digit(bench.voltmeter));
            let ampere = run.current_uncertainty_ampere.unwrap_or_else(|| digit(bench.ammeter));
            let voltage_part = 0.5 * volt / (run.gun_voltage_volt - offset_volt);
            let current_part = ampere / run.current_ampere;
            let radius_part = on_scale_m / run.scale_radius_m;
            radius_m * (radius_part.powi(2) + voltage_part.powi(2) + current_part.powi(2)).sqrt()
        }
        // One and the same for all; the scatter sets its size.
        _ => 1e-3,
    };
    Ok(PreparedRun {
        meter_volt: run.gun_voltage_volt,
        offset_volt,
        current_ampere: run.current_ampere,
        radius_m,
        tube_turned,
        ratio: effective / centre_tesla,
        direction,
        uncertainty_m,
    })
}

fn notes(beams: &BeamBench<'_>, weighing: &Weighing) -> Vec<String> {
    let mut notes = Vec::new();
    match weighing.room_source {
        RoomSource::Runs => {}
        RoomSource::Unknown => notes.push(
            "All runs have one current direction, and nothing is known of the room's field: an axial room field shifts \
             e/m by twice its share of the coils' field. Reverse the current for half the runs, and both are fitted."
                .into(),
        ),
        RoomSource::Spec | RoomSource::Calibration => notes.push(
            "All runs have one current direction: the room's axial field is taken from elsewhere. Reverse the current \
             for half the runs, and it is fitted with e/m."
                .into(),
        ),
    }
    let turned = weighing.runs.iter().filter(|run| run.tube_turned).count();
    if turned > 0 {
        notes.push(format!(
            "{turned} of {} runs bend to the side where the circle would leave the bulb; for them the tube is taken as \
             turned half round the line along which the gun points.",
            weighing.runs.len()
        ));
    }
    if weighing.run_uncertainty == RunUncertainty::Scatter {
        notes.push(match weighing.run_standard_uncertainty_coulomb_per_kg {
            Some(_) => "No radius uncertainty is stated; one common uncertainty is taken from the scatter of the runs, \
                        so there is no chi-square. Give `radius_uncertainty_mm` or `reading.radius_uncertainty`."
                .into(),
            None => "No radius uncertainty is stated and no run is left over to show the scatter, so the result has no \
                     uncertainty. Give `radius_uncertainty_mm`, or more runs."
                .to_owned(),
        });
    }
    if let Some(edge) = beams.bench.reading.map(|reading| reading.edge)
        && edge != BeamEdge::Outer
    {
        notes.push(
            "The spec says that not the outer edge of the glow is read. What lies inside has lost energy to the gas: its \
             circle is smaller, and e/m comes out high by twice that share of the radius."
                .into(),
        );
    }
    if beams.bench.ammeter.is_none() || beams.bench.voltmeter.is_none() {
        notes.push(
            "The spec has no `ammeter` or no `voltmeter`: their errors are not counted in the uncertainty."
                .into(),
        );
    }
    if let (Some(probability), Some(chi_square)) = (weighing.chi_square_probability, weighing.chi_square)
        && probability < 0.05
    {
        let excess = (chi_square / weighing.degrees_of_freedom as f64).sqrt();
        notes.push(format!(
            "The runs scatter {excess:.1} times as far as their stated uncertainties allow; the part of the uncertainty \
             that comes from the runs would be {excess:.1} times as large by the scatter.",
        ));
    }
    notes
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::beam::{Extent, Setting, tube_bench};
    use crate::spec::{Bench, Meter, RadiusReading, Room, RoomField, Tube};
    use approx::assert_relative_eq;
    use rand_distr::{Distribution, Normal};
    use rand_xoshiro::Xoshiro256PlusPlus;
    use rand_xoshiro::rand_core::SeedableRng;

    fn bench() -> Bench {
        Bench {
            reading: Some(RadiusReading {
                edge: BeamEdge::Outer,
                radius_uncertainty_m: Some(0.5e-3),
                camera_distance_m: None,
                scale_offset_m: 0.0,
            }),
            // From the middle, so that circles of either direction fit.
            ..tube_bench(Vector3::new(0.0, -0.02, 0.0))
        }
    }

    fn with_room(mut bench: Bench, field: Vector3<f64>) -> Bench {
        bench.room = Some(Room { temperature_celsius: None, field: Some(RoomField::Measured(field)) });
        bench
    }

    const SETTINGS: [(f64, f64); 8] = [
        (100.0, 1.6),
        (100.0, -1.7),
        (150.0, 1.9),
        (150.0, -2.0),
        (200.0, 2.2),
        (200.0, -2.4),
        (250.0, 2.3),
        (250.0, -2.6),
    ];

    /// The runs of a perfect reader in front of the true bench, through orbits, not through this module.
    fn perfect_runs(truth: &Bench, settings: &[(f64, f64)]) -> Runs {
        let beams = BeamBench::prepare(truth, Model::AsBuilt, None).unwrap();
        let run = |(i, &(gun_voltage_volt, current_ampere)): (usize, &(f64, f64))| {
            let setting = Setting { gun_voltage_volt, current_ampere, gun_tilt_rad: 0.0 };
            let path = beams.path(&setting, Extent::HalfTurn).unwrap();
            Run {
                line: i as u64 + 2,
                label: None,
                gun_voltage_volt,
                current_ampere,
                scale_radius_m: path.read_radius_m().unwrap(),
                gun_voltage_uncertainty_volt: None,
                current_uncertainty_ampere: None,
                radius_uncertainty_m: None,
            }
        };
        Runs { path: "runs.csv".into(), runs: settings.iter().enumerate().map(run).collect() }
    }

    fn weighed(bench: &Bench, runs: &Runs) -> Weighing {
        let beams = BeamBench::prepare(bench, Model::AsBuilt, None).unwrap();
        weigh(&beams, Model::AsBuilt, runs, &Request::default()).unwrap()
    }

    #[test]
    fn perfect_runs_give_the_accepted_value_and_the_room_field() {
        let truth = with_room(bench(), Vector3::new(11e-6, -43e-6, 17e-6));
        let result = weighed(&truth, &perfect_runs(&truth, &SETTINGS));
        // The room's axial field is added to the effective field to first order: what remains is its share times the
        // deviation, under 3e-4 of e/m here.
        assert!(result.difference_fraction.abs() < 1e-4, "{}", result.difference_fraction);
        assert_relative_eq!(result.room_axial_tesla, 17e-6, max_relative = 0.01);
        assert_eq!(result.room_source, RoomSource::Runs);
        assert!(result.chi_square.unwrap() < 0.01 && result.degrees_of_freedom == 6);
        assert_relative_eq!(result.electron_mass_kg, ELECTRON_MASS_KG, max_relative = 1e-4);
        // With the centre field constant alone the two directions lie percents apart, four times the room's share.
        let by_hand = |i: usize| result.runs[i].centre_field_charge_to_mass_coulomb_per_kg;
        assert!((by_hand(0) / by_hand(1) - 1.0).abs() > 0.03, "{} {}", by_hand(0), by_hand(1));
        for run in &result.runs {
            let electron = crate::beam::Electron::after(run.gun_voltage_volt).unwrap();
            assert_relative_eq!(run.speed_m_per_s, electron.speed_m_per_s, max_relative = 1e-3);
            assert_relative_eq!(run.momentum_kg_m_per_s, electron.momentum_kg_m_per_s, max_relative = 1e-3);
        }
    }

    #[test]
    fn a_gun_at_the_side_is_taken_as_turned_round_for_the_other_direction() {
        let truth = with_room(tube_bench(Vector3::new(0.045, 0.0, 0.0)), Vector3::new(0.0, 0.0, 14e-6));
        let mut turned = truth.clone();
        turned.tube = truth.tube.as_ref().map(Tube::turned_half_round);
        let there: Vec<(f64, f64)> = SETTINGS.iter().copied().filter(|(_, current)| *current > 0.0).collect();
        let back: Vec<(f64, f64)> = SETTINGS.iter().copied().filter(|(_, current)| *current < 0.0).collect();
        let mut runs = perfect_runs(&truth, &there);
        runs.runs.extend(perfect_runs(&turned, &back).runs);
        let result = weighed(&truth, &runs);
        assert!(result.difference_fraction.abs() < 1e-4, "{}", result.difference_fraction);
        assert_relative_eq!(result.room_axial_tesla, 14e-6, max_relative = 0.01);
        assert!(result.runs.iter().all(|run| run.tube_turned == (run.current_ampere < 0.0)));
        assert!(result.notes.iter().any(|note| note.starts_with("4 of 8 runs bend")), "{:?}", result.notes);
    }

    #[test]
    fn one_direction_uses_the_specs_room_field_and_says_what_is_missing() {
        let truth = with_room(bench(), Vector3::new(0.0, -20e-6, 15e-6));
        let one_way: Vec<(f64, f64)> =
            SETTINGS.iter().copied().filter(|(_, current)| *current > 0.0).collect();
        let runs = perfect_runs(&truth, &one_way);
        let known = weighed(&truth, &runs);
        assert_eq!((known.room_source, known.room_axial_tesla), (RoomSource::Spec, 15e-6));
        assert!(known.difference_fraction.abs() < 2e-4, "{}", known.difference_fraction);
        let unknown = weighed(&bench(), &runs);
        assert_eq!(unknown.room_source, RoomSource::Unknown);
        assert!(unknown.difference_fraction > 0.01, "{}", unknown.difference_fraction);
        assert!(unknown.notes.iter().any(|note| note.contains("Reverse the current")));
    }

    #[test]
    fn scattered_runs_land_within_their_stated_uncertainty() {
        let truth = with_room(bench(), Vector3::new(0.0, 0.0, 12e-6));
        let mut random = Xoshiro256PlusPlus::seed_from_u64(20);
        let noise = Normal::new(0.0, 0.5e-3).unwrap();
        let (mut pull2, mut chi, trials) = (0.0, 0.0, 60);
        for _ in 0..trials {
            let mut runs = perfect_runs(&truth, &SETTINGS);
            for run in &mut runs.runs {
                run.scale_radius_m += noise.sample(&mut random);
            }
            let result = weighed(&truth, &runs);
            pull2 += result.difference_in_standard_uncertainties.unwrap().powi(2);
            chi += result.chi_square.unwrap();
        }
        // The pull has variance 1 and chi-square the mean 6; 60 trials settle them to about 0.18 and 0.45.
        let (pull2, chi) = (pull2 / f64::from(trials), chi / f64::from(trials));
        assert!((0.5..1.6).contains(&pull2), "{pull2}");
        assert!((4.7..7.4).contains(&chi), "{chi}");
    }

    #[test]
    fn shared_uncertainties_are_added_once_and_do_not_shrink_with_the_number_of_runs() {
        let mut truth = bench();
        truth.voltmeter = Some(Meter { resolution: 1e-6, accuracy_of_reading: 0.012, accuracy_digits: 0.0 });
        let once = weighed(&truth, &perfect_runs(&truth, &SETTINGS));
        let sixteen = [SETTINGS, SETTINGS].concat();
        let twice = weighed(&truth, &perfect_runs(&truth, &sixteen));
        // e/m goes as V: one standard uncertainty of the gain, 0.012/√3, moves it by itself.
        let wanted = once.charge_to_mass_coulomb_per_kg * 0.012 / 3f64.sqrt();
        assert_relative_eq!(once.shared_standard_uncertainty_coulomb_per_kg, wanted, max_relative = 1e-3);
        assert_relative_eq!(
            twice.shared_standard_uncertainty_coulomb_per_kg,
            once.shared_standard_uncertainty_coulomb_per_kg,
            max_relative = 1e-6
        );
        let own = |result: &Weighing| result.run_standard_uncertainty_coulomb_per_kg.unwrap();
        assert_relative_eq!(own(&once) / own(&twice), 2f64.sqrt(), max_relative = 1e-6);
        // The gain is shared: it takes no part in the weights, so chi-square is that of the radius alone.
        let bare = weighed(&bench(), &perfect_runs(&bench(), &SETTINGS));
        assert_relative_eq!(own(&once), own(&bare), max_relative = 1e-6);
    }

    #[test]
    fn without_stated_uncertainties_the_scatter_speaks_and_there_is_no_chi_square() {
        let mut truth = bench();
        truth.reading = None;
        let mut runs = perfect_runs(&truth, &SETTINGS);
        for (i, run) in runs.runs.iter_mut().enumerate() {
            run.scale_radius_m += 0.4e-3 * (2.3 * i as f64).cos();
        }
        let result = weighed(&truth, &runs);
        assert_eq!((result.chi_square, result.run_uncertainty), (None, RunUncertainty::Scatter));
        assert!(result.charge_to_mass_standard_uncertainty_coulomb_per_kg.unwrap() > 0.0);
        runs.runs.truncate(1);
        let alone = weighed(&truth, &runs);
        assert_eq!(alone.charge_to_mass_standard_uncertainty_coulomb_per_kg, None);
        assert!(serde_json::to_string(&alone).is_ok());
    }

    #[test]
    fn the_bench_of_the_textbooks_gives_the_mass_of_the_textbooks() {
        // Common practice, no source: 100 V and 5.5 cm in 0.605 mT (0.79 A) give 0.89e-30 kg and 6e6 m/s.
        let mut truth = bench();
        if let Some(tube) = &mut truth.tube {
            tube.gun_exit_m = Vector3::new(0.055, 0.0, 0.0);
        }
        let line = FieldLine {
            slope_tesla_per_ampere: 0.605e-3 / 0.79,
            slope_standard_uncertainty_tesla_per_ampere: None,
            adopted_from: "fit".into(),
        };
        let beams = BeamBench::prepare(&truth, Model::AsBuilt, Some(line)).unwrap();
        let runs = Runs::from_text("r.csv", "gun_voltage_V,current_A,radius_cm\n100,0.79,5.5\n").unwrap();
        let result = weigh(&beams, Model::AsBuilt, &runs, &Request::default()).unwrap();
        let run = &result.runs[0];
        let mass = ELEMENTARY_CHARGE_COULOMB / run.centre_field_charge_to_mass_coulomb_per_kg;
        assert_relative_eq!(mass, 0.89e-30, max_relative = 0.006);
        assert_relative_eq!(run.speed_m_per_s, 6e6, max_relative = 0.02);
    }

    #[test]
    fn parallax_is_taken_off() {
        let mut truth = bench();
        let reading = truth.reading.as_mut().unwrap();
        (reading.camera_distance_m, reading.scale_offset_m) = (Some(0.8), 0.08);
        let mut runs = perfect_runs(&truth, &SETTINGS);
        runs.runs.iter_mut().for_each(|run| run.scale_radius_m *= 1.1);
        assert!(weighed(&truth, &runs).difference_fraction.abs() < 1e-9);
    }

    #[test]
    fn each_cause_is_named_where_it_was_put_in() {
        let mut truth = bench();
        truth.reading.as_mut().unwrap().radius_uncertainty_m = Some(0.2e-3);
        let cause = |runs: &Runs, bench: &Bench| -> Vec<&'static str> {
            weighed(bench, runs).findings.iter().map(|finding| finding.cause).collect()
        };
        let clean = perfect_runs(&truth, &SETTINGS);
        assert_eq!(cause(&clean, &truth), Vec::<&str>::new());
        // The room shifts with the current's direction.
        let windy = with_room(truth.clone(), Vector3::new(0.0, 0.0, 60e-6));
        let mut other = windy.clone();
        other.room = None;
        assert_eq!(cause(&perfect_runs(&windy, &SETTINGS), &other)[0], "room_field");
        // A drop at the cathode of 12 V shows at low voltages most.
        let mut drop = clean.clone();
        drop.runs.iter_mut().for_each(|run| run.gun_voltage_volt += 12.0);
        let named = cause(&drop, &truth);
        assert!(named.contains(&"voltage_drop"), "{named:?}");
        // A scale at a slant stretches large circles most; small and large ones in both directions part it from the
        // room's field, and at two voltages from a voltage drop.
        let wide: Vec<(f64, f64)> = [(100.0, 1.3), (100.0, 2.0), (250.0, 2.05), (250.0, 3.0)]
            .into_iter()
            .flat_map(|(volt, ampere)| [(volt, ampere), (volt, -ampere)])
            .collect();
        let mut slant = perfect_runs(&truth, &wide);
        slant.runs.iter_mut().for_each(|run| run.scale_radius_m *= 1.0 + 8.0 * (run.scale_radius_m - 0.02));
        // Stretched by 5 % on average, they are also too large together.
        assert_eq!(cause(&slant, &truth), ["scale_parallax", "shared_error"]);
        // A diameter in the radius column.
        let mut slip = clean.clone();
        slip.runs[2].scale_radius_m *= 2.0;
        let result = weighed(&truth, &slip);
        assert!(result.runs[2].stands_out);
        let finding = result.findings.iter().find(|finding| finding.lines == [4]).unwrap();
        assert!(finding.sentence.contains("diameter written as a radius"), "{}", finding.sentence);
        assert_eq!(result.runs.iter().filter(|run| run.stands_out).count(), 1);
    }

    #[test]
    fn runs_that_cannot_be_are_refused_by_their_row() {
        let bench = bench();
        let beams = BeamBench::prepare(&bench, Model::AsBuilt, None).unwrap();
        let refusal = |text: &str| {
            let runs = Runs::from_text("runs.csv", text).unwrap();
            weigh(&beams, Model::AsBuilt, &runs, &Request::default()).unwrap_err()
        };
        let error = refusal("gun_voltage_V,current_A,radius_mm\n200,1.5,30\n200,1.5,90\n");
        assert_eq!(
            error.to_string(),
            "runs.csv, line 3: the beam radius 90.00 mm is larger than the bulb's 75.00 mm"
        );
        let mut without = bench.clone();
        without.reading = None;
        let beams = BeamBench::prepare(&without, Model::AsBuilt, None).unwrap();
        let text = "gun_voltage_V,current_A,radius_mm,radius_uncertainty_mm\n200,1.5,30,1\n200,1.5,31,\n";
        let runs = Runs::from_text("runs.csv", text).unwrap();
        let error = weigh(&beams, Model::AsBuilt, &runs, &Request::default()).unwrap_err();
        assert!(error.to_string().contains("line 3: this run states no uncertainty"), "{error}");
        let wild = Request { scale_uncertainty_fraction: Some(2.0), ..Request::default() };
        assert!(weigh(&beams, Model::AsBuilt, &runs, &wild).is_err());
    }
}
