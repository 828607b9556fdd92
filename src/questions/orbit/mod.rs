//! `orbit`: where the beam goes at one setting, and what a person reads from it.

mod chart;
#[cfg(feature = "paper")]
pub mod files;
pub mod notes;
#[cfg(feature = "paper")]
pub mod picture;
mod scale;
#[cfg(feature = "paper")]
pub mod words;

use crate::numeric::calendar::Day;
pub use chart::{
    BiasRow, BiasTable, ChartCurve, ChartPoint, RadiusChart, SettingsRequest, bias_table, chart,
};
pub(crate) use scale::reading_scale_of;
pub use scale::{ReadingScale, ScaleCircle, reading_scale};

use crate::Result;
use crate::pair::{Model, Provenance};
use crate::physics::beam::parallax::on_scale_m;
use crate::physics::beam::{
    BeamBench, Bias, FieldLine, Halt, Path, PathLength, PathOptions, PathPoint, Setting, bias,
};
use crate::physics::safety::SafetyFigures;
use crate::questions::words::notes::as_sentences;
use nalgebra::Vector3;
use notes::Note;
use serde::Serialize;

/// Largest change of direction between two points of the path that is written out.
const TURN_BETWEEN_POINTS_RAD: f64 = std::f64::consts::PI / 90.0;

/// One orbit and everything read from it.
#[derive(Clone, Debug, Serialize)]
#[non_exhaustive]
pub struct Orbit {
    /// Program version and spec.
    pub provenance: Provenance,
    /// Geometry used: as built or nominal.
    pub model: Model,
    /// Voltmeter reading.
    pub gun_voltage_volt: f64,
    /// The voltage that accelerates the beam: the reading minus `tube.gun_voltage_offset`.
    pub beam_voltage_volt: f64,
    /// Ammeter reading.
    pub current_ampere: f64,
    /// Angle by which the gun is turned out of the beam plane, positive toward +z.
    pub gun_tilt_rad: f64,
    /// Speed of the electron.
    pub speed_m_per_s: f64,
    /// Kinetic energy of the electron.
    pub kinetic_energy_joule: f64,
    /// Momentum of the electron.
    pub momentum_kg_m_per_s: f64,
    /// Lorentz factor γ of the electron.
    pub lorentz_factor: f64,
    /// The coils' field along +z at the centre.
    pub centre_field_tesla: f64,
    /// The room's field. `None` if the spec does not give it.
    pub room_field_tesla: Option<[f64; 3]>,
    /// The field at the gun exit, room field included.
    pub gun_exit_field_tesla: [f64; 3],
    /// The calibration line that the class works with.
    pub line: FieldLine,
    /// The radius in the beam plane: half the distance, seen along the axis, from the gun exit to the opposite
    /// crossing. It is `radius_in_beam_plane_m` of runs. `None` if the beam does not get there.
    pub read_radius_m: Option<f64>,
    /// The radius that a person reads on the scale that `reading` of the spec describes, parallax included. It is
    /// `radius_m` of runs. Without `reading` it is `read_radius_m`. `None` if the beam does not come round.
    pub scale_radius_m: Option<f64>,
    /// Twice `scale_radius_m`.
    pub scale_diameter_m: Option<f64>,
    /// Radius of curvature p/(e |u × B|) of the path at the gun exit. `None` if there is no field across the beam.
    pub start_curvature_radius_m: Option<f64>,
    /// Radius of the helix that a uniform field like that at the gun exit would give. `None` without field.
    pub helix_radius_m: Option<f64>,
    /// Advance along z in the first turn. If the beam is stopped before: twice that of the first half circle.
    pub pitch_m: Option<f64>,
    /// Time for the first turn. If the beam is stopped before: twice that for the first half circle.
    pub period_s: Option<f64>,
    /// Whether pitch and period are those of a whole turn.
    pub whole_turn: bool,
    /// Relativistic radius in a uniform field of the centre's strength.
    pub uniform_field_radius_m: Option<f64>,
    /// Pitch in that uniform field.
    pub uniform_field_pitch_m: Option<f64>,
    /// Period in that uniform field.
    pub uniform_field_period_s: Option<f64>,
    /// √(2 m V/e)/(k I), computed from the meter readings.
    pub textbook_radius_m: Option<f64>,
    /// Why the path ends.
    pub halt: Halt,
    /// What the beam strikes, and where. `None` if it strikes nothing.
    pub strikes: Option<Strike>,
    /// e/m as a perfect reader computes it with the centre field.
    pub apparent_charge_to_mass_coulomb_per_kg: Option<f64>,
    /// Relative deviation of that e/m from the accepted value.
    pub bias_fraction: Option<f64>,
    /// The bias part by part. `None` if there is no radius to read.
    pub bias: Option<Bias>,
    /// Largest relative change of the kinetic energy along the path, which is the error of the integration.
    pub energy_drift: f64,
    /// Relative local error allowed in one integration step.
    pub tolerance: f64,
    /// Number of accepted integration steps.
    pub integration_steps: u32,
    /// Notes for the user.
    #[serde(serialize_with = "as_sentences")]
    pub notes: Vec<Note>,
    /// Figures that the cautions quote.
    pub safety: SafetyFigures,
    /// Points of the path.
    pub path: Vec<PathRow>,
}

/// What a beam strikes, and where.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Strike {
    /// `bulb` or `gun`.
    pub what: &'static str,
    /// Position, x.
    pub x_m: f64,
    /// Position, y.
    pub y_m: f64,
    /// Position, z.
    pub z_m: f64,
}

/// One point of the path.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct PathRow {
    /// Time since the electron left the gun.
    pub time_s: f64,
    /// Position, x.
    pub x_m: f64,
    /// Position, y.
    pub y_m: f64,
    /// Position, z.
    pub z_m: f64,
    /// Velocity, x.
    pub vx_m_per_s: f64,
    /// Velocity, y.
    pub vy_m_per_s: f64,
    /// Velocity, z.
    pub vz_m_per_s: f64,
}

impl From<PathPoint> for PathRow {
    fn from(point: PathPoint) -> Self {
        let (x, v) = (point.position_m, point.velocity_m_per_s);
        Self {
            time_s: point.time_s,
            x_m: x.x,
            y_m: x.y,
            z_m: x.z,
            vx_m_per_s: v.x,
            vy_m_per_s: v.y,
            vz_m_per_s: v.z,
        }
    }
}

/// What is asked about one beam.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Request {
    /// The setting.
    pub setting: Setting,
    /// How many turns to follow a beam that strikes nothing.
    pub revolutions: u32,
    /// The date to print, if any.
    pub date: Option<Day>,
}

impl Request {
    /// One turn at a setting, without a date.
    #[must_use]
    pub fn at(setting: Setting) -> Self {
        Self { setting, revolutions: 1, date: None }
    }
}

/// Follows the beam at one setting for some turns, or until it strikes the bulb or the gun.
///
/// Zero coil current is allowed: the beam then runs in the room's field alone, or straight if that is not known.
///
/// # Errors
/// If the gun voltage makes no beam, or if the tilt is beyond a right angle.
pub fn orbit(beams: &BeamBench<'_>, request: &Request) -> Result<Orbit> {
    let Request { setting, revolutions, date } = request;
    let electron = beams.electron(setting.gun_voltage_volt)?;
    let gun = beams.gun(setting.gun_tilt_rad)?;
    let path = beams.path(setting, PathLength::Circles(*revolutions))?;
    let at_exit = beams.field_tesla(setting.current_ampere, &gun.exit_m);
    let bias = bias(beams, setting)?;
    let read_radius_m = path.read_radius_m();
    let scale_radius_m = match (read_radius_m, &beams.bench().reading) {
        (Some(radius_m), Some(reading)) => Some(on_scale_m(reading, radius_m)?),
        (radius_m, _) => radius_m,
    };
    let centre_field = beams.field_constant_tesla_per_ampere * setting.current_ampere;
    let (pitch_m, period_s, whole_turn) = turn_of(&path, &gun.exit_m);
    let elevation_sine = gun.direction.z;
    let uniform_period = electron.period_in_uniform_field_s(centre_field);
    let finite = |value: f64| Some(value).filter(|value| value.is_finite());
    Ok(Orbit {
        provenance: Provenance::of(beams.bench(), *date),
        safety: beams.safety(),
        model: beams.bench().model,
        gun_voltage_volt: setting.gun_voltage_volt,
        beam_voltage_volt: electron.voltage_volt,
        current_ampere: setting.current_ampere,
        gun_tilt_rad: setting.gun_tilt_rad,
        speed_m_per_s: electron.speed_m_per_s,
        kinetic_energy_joule: electron.kinetic_energy_joule,
        momentum_kg_m_per_s: electron.momentum_kg_m_per_s,
        lorentz_factor: electron.lorentz_factor,
        centre_field_tesla: centre_field,
        room_field_tesla: beams.room_tesla.map(Into::into),
        gun_exit_field_tesla: at_exit.into(),
        line: beams.line.clone(),
        read_radius_m,
        scale_radius_m,
        scale_diameter_m: scale_radius_m.map(|radius_m| 2.0 * radius_m),
        start_curvature_radius_m: finite(electron.rigidity_tesla_m() / gun.direction.cross(&at_exit).norm()),
        helix_radius_m: helix_radius_m(electron.rigidity_tesla_m(), &gun.direction, &at_exit),
        pitch_m,
        period_s,
        whole_turn,
        uniform_field_radius_m: finite(
            electron.radius_in_uniform_field_m(centre_field) * gun.transverse_share(),
        ),
        uniform_field_pitch_m: finite(uniform_period * electron.speed_m_per_s * elevation_sine),
        uniform_field_period_s: finite(uniform_period),
        textbook_radius_m: finite(beams.textbook_radius_m(setting)),
        halt: path.halt,
        strikes: strike(&path),
        apparent_charge_to_mass_coulomb_per_kg: bias
            .as_ref()
            .map(|bias| bias.apparent_charge_to_mass_coulomb_per_kg),
        bias_fraction: bias.as_ref().map(|bias| bias.bias_fraction),
        bias,
        energy_drift: path.energy_drift,
        tolerance: PathOptions::TOLERANCE,
        integration_steps: path.statistics.accepted,
        notes: notes::on_orbit(beams, setting, &path),
        path: path.points(TURN_BETWEEN_POINTS_RAD).into_iter().map(PathRow::from).collect(),
    })
}

/// Helix radius p⊥/(e B) in the field at the gun exit. `None` without field.
fn helix_radius_m(rigidity: f64, direction: &Vector3<f64>, field: &Vector3<f64>) -> Option<f64> {
    let strength = field.norm();
    let sine = direction.cross(field).norm() / strength;
    Some(rigidity * sine / strength).filter(|radius| radius.is_finite())
}

/// Advance along z and time of the first turn, and `true`. If the first turn is not completed: twice those of its first
/// half, and `false`.
fn turn_of(path: &Path, exit_m: &Vector3<f64>) -> (Option<f64>, Option<f64>, bool) {
    if let Some(turn) = path.turns.first() {
        return (Some(turn.position_m.z - exit_m.z), Some(turn.time_s), true);
    }
    match path.opposite_crossing {
        Some(half) => (Some(2.0 * (half.position_m.z - exit_m.z)), Some(2.0 * half.time_s), false),
        None => (None, None, false),
    }
}

fn strike(path: &Path) -> Option<Strike> {
    let what = match path.halt {
        Halt::Bulb => "bulb",
        Halt::Gun => "gun",
        Halt::GoneRound | Halt::LengthLimit => return None,
    };
    let at = path.end.position_m;
    Some(Strike { what, x_m: at.x, y_m: at.y, z_m: at.z })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pair::Bench;
    use crate::physics::beam::tube_bench;
    use crate::questions::words::notes::Told;
    use approx::assert_relative_eq;

    fn bench() -> Bench {
        tube_bench(Vector3::new(0.045, 0.0, 0.0))
    }

    fn orbit_at(bench: &Bench, gun_voltage_volt: f64, current_ampere: f64, tilt_deg: f64) -> Result<Orbit> {
        let beams = BeamBench::prepare(bench, None)?;
        let setting = Setting { gun_voltage_volt, current_ampere, gun_tilt_rad: tilt_deg.to_radians() };
        orbit(&beams, &Request::at(setting))
    }

    #[test]
    fn a_flat_orbit_comes_round_and_strikes_the_gun_from_behind() {
        let orbit = orbit_at(&bench(), 200.0, 1.4, 0.0).unwrap();
        assert_eq!(orbit.strikes.as_ref().unwrap().what, "gun");
        let uniform = orbit.uniform_field_radius_m.unwrap();
        assert_relative_eq!(orbit.read_radius_m.unwrap(), uniform, max_relative = 0.01);
        assert_relative_eq!(orbit.start_curvature_radius_m.unwrap(), uniform, max_relative = 0.01);
        assert_relative_eq!(orbit.helix_radius_m.unwrap(), orbit.start_curvature_radius_m.unwrap());
        assert!(orbit.whole_turn && orbit.pitch_m.unwrap().abs() < 1e-12);
        assert_relative_eq!(
            orbit.period_s.unwrap(),
            orbit.uniform_field_period_s.unwrap(),
            max_relative = 0.01
        );
        assert!(orbit.energy_drift < 1e-10);
        assert_eq!(orbit.path[0].x_m, 0.045);
        assert!(orbit.path.windows(2).all(|pair| pair[1].time_s > pair[0].time_s));
    }

    #[test]
    fn a_tilted_gun_makes_a_helix_of_the_pitch_to_expect() {
        let orbit = orbit_at(&bench(), 100.0, 2.5, 20.0).unwrap();
        assert_relative_eq!(
            orbit.pitch_m.unwrap(),
            orbit.uniform_field_pitch_m.unwrap(),
            max_relative = 0.05
        );
        assert!(orbit.pitch_m.unwrap() > 0.0, "positive tilt rises toward +z");
        let tilt = 20f64.to_radians();
        assert_relative_eq!(
            orbit.helix_radius_m.unwrap() / orbit.start_curvature_radius_m.unwrap(),
            tilt.cos().powi(2),
            max_relative = 0.001
        );
        let down = orbit_at(&bench(), 100.0, 2.5, -20.0).unwrap();
        assert_relative_eq!(down.pitch_m.unwrap(), -orbit.pitch_m.unwrap(), max_relative = 1e-9);
    }

    #[test]
    fn no_current_and_the_wrong_direction_end_on_the_glass_and_say_so() {
        let straight = orbit_at(&bench(), 200.0, 0.0, 0.0).unwrap();
        let strike = straight.strikes.unwrap();
        assert_eq!((strike.what, strike.z_m), ("bulb", 0.0));
        assert_relative_eq!(strike.y_m, 0.06, max_relative = 1e-12); // √(75² − 45²) mm
        assert!(straight.uniform_field_radius_m.is_none() && straight.read_radius_m.is_none());
        assert!(straight.notes.iter().any(|note| note.sentence().contains("No coil current")));
        let wrong = orbit_at(&bench(), 200.0, -1.4, 0.0).unwrap();
        assert!(wrong.strikes.unwrap().x_m > 0.045);
        assert!(
            wrong.notes.iter().any(|note| note.sentence().contains("other current direction")),
            "{:?}",
            wrong.notes
        );
        assert!(serde_json::to_string(&straight.bias).unwrap() == "null");
    }

    #[test]
    fn settings_and_benches_that_make_no_beam_are_refused() {
        for (voltage, current, tilt) in [
            (0.0, 1.0, 0.0),
            (-200.0, 1.0, 0.0),
            (f64::NAN, 1.0, 0.0),
            (200.0, f64::NAN, 0.0),
            (200.0, 1.0, 91.0),
        ] {
            assert!(orbit_at(&bench(), voltage, current, tilt).is_err(), "{voltage} {current} {tilt}");
        }
        let mut outside = bench();
        if let Some(tube) = &mut outside.tube {
            tube.gun_exit_m = Some(Vector3::new(0.08, 0.0, 0.0));
        }
        let error = orbit_at(&outside, 200.0, 1.4, 0.0).unwrap_err();
        assert!(error.to_string().contains("outside the bulb of radius 75.00 mm"), "{error}");
        let error = orbit_at(&Bench::thin_pair(), 200.0, 1.4, 0.0).unwrap_err();
        assert!(error.to_string().contains("no `tube`"), "{error}");
    }
}
