//! The runs in the beam plane: each with its radius, its beam voltage and the effective field of its circle.

use super::fit::{Fitted, Point};
use super::record::{RunResult, RunUncertainty};
use super::{RadiusPlace, Run, Runs, shift};
use crate::constants::{ELEMENTARY_CHARGE_COULOMB, SPEED_OF_LIGHT_M_PER_S};
use crate::error::Refused;
use crate::physics::beam::parallax::in_beam_plane_m;
use crate::physics::beam::{BeamBench, Gun, effective_field_tesla};
use crate::units::{Dimension, display};
use crate::{Error, Result};
use nalgebra::Vector3;
use rayon::prelude::*;

/// The runs with what the bench adds to each.
#[derive(Clone)]
pub(super) struct Prepared<'a> {
    pub(super) file: &'a Runs,
    runs: Vec<PreparedRun>,
    pub(super) uncertainty: RunUncertainty,
    pub(super) magnification: f64,
    pub(super) slope_tesla_per_ampere: f64,
}

/// One run in the beam plane.
#[derive(Clone, Copy, Debug)]
struct PreparedRun {
    /// Its index among the runs of the file.
    index: usize,
    meter_volt: f64,
    offset_volt: f64,
    current_ampere: f64,
    radius_m: f64,
    /// Whether the tube was turned half round.
    tube_turned: bool,
    /// Effective field of coils and room over the centre field, without the room's axial field itself.
    ratio: f64,
    /// +1 or −1: whether the coil field lies along +z or −z.
    direction: f64,
    /// Uncertainty of this run alone, all expressed as one of the radius.
    uncertainty_m: f64,
}

impl<'a> Prepared<'a> {
    /// The runs, with their circles followed in the field of the coils and of the room, whose axial part is given.
    pub(super) fn of(beams: &BeamBench<'_>, file: &'a Runs, room_axial_tesla: f64) -> Result<Self> {
        let reading = beams.bench().reading.as_ref();
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
        let magnification = reading.map_or(Ok(1.0), crate::physics::beam::parallax::magnification)?;
        let prepare = |index: usize| prepare(beams, file, index, uncertainty, room_axial_tesla);
        Ok(Self {
            file,
            runs: (0..file.runs.len()).into_par_iter().map(prepare).collect::<Result<_>>()?,
            uncertainty,
            magnification,
            slope_tesla_per_ampere: beams.line.slope.tesla_per_ampere.abs(),
        })
    }

    /// Only the runs with these indices.
    pub(super) fn keeping(&self, kept: &[usize]) -> Self {
        Self { runs: kept.iter().map(|place| self.runs[*place]).collect(), ..self.clone() }
    }

    /// Number of runs.
    pub(super) fn len(&self) -> usize {
        self.runs.len()
    }

    /// The run as in the file.
    pub(super) fn run(&self, place: usize) -> &'a Run {
        &self.file.runs[self.runs[place].index]
    }

    /// The weakest coil field of all runs.
    pub(super) fn smallest_field_tesla(&self) -> f64 {
        let fields =
            self.runs.iter().map(|run| self.slope_tesla_per_ampere * run.current_ampere.abs() * run.ratio);
        fields.fold(f64::INFINITY, f64::min)
    }

    /// Whether there are runs with the coil field along +z and runs with it along −z.
    pub(super) fn has_both_directions(&self) -> bool {
        let any = |sign: f64| self.runs.iter().any(|run| run.direction == sign);
        any(1.0) && any(-1.0)
    }

    /// The runs as points of the fit, with the shared quantities shifted.
    pub(super) fn points(&self, shift: &shift::Shift) -> Result<Vec<Point>> {
        self.runs
            .iter()
            .map(|run| {
                let voltage_volt =
                    run.meter_volt * (1.0 + shift.voltage_gain) + shift.voltage_volt - run.offset_volt;
                let current = run.current_ampere.abs() * (1.0 + shift.current_gain)
                    + shift.current_size_ampere
                    + run.current_ampere.signum() * shift.current_ampere;
                let field_tesla = self.slope_tesla_per_ampere * (1.0 + shift.slope) * current * run.ratio;
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
                        &self.file.runs[run.index],
                        "the meters' limits of error are larger than what they show",
                        "use a larger voltage and current, or correct `accuracy_digits`",
                    ))
                }
            })
            .collect()
    }

    /// The runs as a class reduces them by hand: B = k I at the centre for every beam radius, the voltage that the meter
    /// shows, and no field of the room.
    pub(super) fn centre_field_points(&self) -> Vec<Point> {
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

    /// Factor by which the input uncertainties must be multiplied: 1 if stated, sqrt(chi2/dof) if estimated from the
    /// scatter. `None` if they are estimated from the scatter and no degree of freedom is left.
    pub(super) fn scatter(&self, fitted: &Fitted) -> Option<f64> {
        match self.uncertainty {
            RunUncertainty::Stated => Some(1.0),
            RunUncertainty::Scatter if fitted.degrees_of_freedom == 0 => None,
            RunUncertainty::Scatter => Some((fitted.chi_square / fitted.degrees_of_freedom as f64).sqrt()),
        }
    }

    /// Each run reduced in this room field. The residuals are those of the common fit.
    pub(super) fn results(&self, fitted: &Fitted, scatter: Option<f64>, room: f64) -> Result<Vec<RunResult>> {
        let points = self.points(&shift::Shift::none())?;
        let result = |(i, point): (usize, &Point)| {
            let (run, prepared) = (self.run(i), &self.runs[i]);
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
                read_radius_m: run.radius_m,
                radius_place: run.radius_place,
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

/// The error for a circle that has no effective field. It names the radius if the bulb cannot hold the circle.
fn not_reducible(beams: &BeamBench<'_>, file: &Runs, run: &Run, radius_m: f64, error: &Error) -> Error {
    match beams.tube.largest_radius_in_bulb_either_way_m().filter(|largest_m| radius_m > *largest_m) {
        Some(largest_m) => file.refuse(
            run,
            format!(
                "the beam radius {} is larger than that of the largest circle that fits the bulb, {}",
                display(radius_m, Dimension::Length, 4),
                display(largest_m, Dimension::Length, 4)
            ),
            "a diameter belongs under `diameter_mm`; check the unit of the heading",
        ),
        None => file.refuse(
            run,
            format!("this run cannot be reduced: {error}"),
            "check the radius, the current's sign and the units of the headings",
        ),
    }
}

fn prepare(
    beams: &BeamBench<'_>,
    file: &Runs,
    index: usize,
    uncertainty: RunUncertainty,
    room_axial_tesla: f64,
) -> Result<PreparedRun> {
    let bench = beams.bench();
    let run = &file.runs[index];
    let radius_m = match (&bench.reading, run.radius_place) {
        (Some(reading), RadiusPlace::Scale) => in_beam_plane_m(reading, run.radius_m)?,
        _ => run.radius_m,
    };
    if let Some(bulb_radius_m) = beams.tube.bulb_radius_m.filter(|bulb_radius_m| radius_m >= *bulb_radius_m) {
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
            Refused::GunVoltageWithinOffset { volt: run.gun_voltage_volt, offset_volt }.to_string(),
            "correct the voltage or the offset",
        ));
    }
    let centre_tesla = (beams.field_constant_tesla_per_ampere * run.current_ampere).abs();
    let [x, y] = beams.room_tesla.map_or([0.0; 2], |field| [field.x, field.y]);
    let room = Vector3::new(x, y, room_axial_tesla);
    // The line gives the field's direction: leads may have been exchanged since the coils were computed.
    let direction = (beams.line.slope.tesla_per_ampere * run.current_ampere).signum();
    let along_line_ampere = (direction * centre_tesla) / beams.field_constant_tesla_per_ampere;
    let field = |point: &Vector3<f64>| beams.coil_field_tesla(along_line_ampere, point) + room;
    let (tube, tube_turned) = beams.tube.as_it_holds(direction * radius_m);
    let effective = effective_field_tesla(field, &Gun::of(&tube, 0.0), radius_m, centre_tesla)
        .map_err(|error| not_reducible(beams, file, run, radius_m, &error))?;
    let uncertainty_m = match (uncertainty, run.radius_uncertainty_or_usual_m(bench.reading.as_ref())) {
        (RunUncertainty::Stated, Some(on_scale_m)) => {
            let digit = |meter: Option<crate::pair::Meter>| {
                meter.and_then(|meter| meter.resolution).map_or(0.0, |resolution| resolution / 12f64.sqrt())
            };
            let volt = run.gun_voltage_uncertainty_volt.unwrap_or_else(|| digit(bench.voltmeter));
            let ampere = run.current_uncertainty_ampere.unwrap_or_else(|| digit(bench.ammeter));
            let voltage_part = 0.5 * volt / (run.gun_voltage_volt - offset_volt);
            let current_part = ampere / run.current_ampere;
            let radius_part = on_scale_m / run.radius_m;
            radius_m * (radius_part.powi(2) + voltage_part.powi(2) + current_part.powi(2)).sqrt()
        }
        // The same for all; the scatter sets its size.
        _ => 1e-3,
    };
    Ok(PreparedRun {
        index,
        meter_volt: run.gun_voltage_volt,
        offset_volt,
        current_ampere: run.current_ampere,
        radius_m,
        tube_turned,
        ratio: (effective - direction * room_axial_tesla) / centre_tesla,
        direction,
        uncertainty_m,
    })
}
