//! The record of a lesson: what its page carries, its settings, what to expect of each.

use super::Note;
use super::field::FieldInBulb;
use crate::constants::{
    ELECTRON_CHARGE_TO_MASS_COULOMB_PER_KG, ELECTRON_MASS_KG, ELEMENTARY_CHARGE_COULOMB,
    SPEED_OF_LIGHT_M_PER_S,
};
use crate::numeric::ode::Tableau;
use crate::pair::{AmmeterPosition, AxisPosition, BeamEdge, Connection, Model, Provenance};
use crate::physics::beam::{BeamBench, FieldLine};
use crate::physics::field::PlacedWinding;
use crate::physics::safety::SafetyFigures;
use crate::questions::weigh::RoomSource;
use crate::questions::words::notes::as_sentences;
use serde::Serialize;

/// A lesson.
#[derive(Clone, Debug, Serialize)]
#[non_exhaustive]
pub struct Lesson {
    /// Program and spec.
    pub provenance: Provenance,
    /// Which geometry.
    pub model: Model,
    /// The constants that the page computes with.
    pub constants: Constants,
    /// The coefficients of its integrator.
    pub tableau: Tableau,
    /// The coils' field.
    pub field: FieldInBulb,
    /// The coils' field along +z at the centre per ampere.
    pub field_constant_tesla_per_ampere: f64,
    /// The line the class works with.
    pub line: FieldLine,
    /// The room's field, where the spec knows it.
    pub room_tesla: Option<[f64; 3]>,
    /// What is known of its axial part before any run, as `weigh` has it.
    pub room_known: RoomKnown,
    /// The tube.
    pub tube: LessonTube,
    /// The gun's body behind its exit.
    pub gun_body: GunBody,
    /// The windings as bodies, to draw.
    pub windings: Vec<Winding>,
    /// How the coils are connected.
    pub connection: Connection,
    /// How the axis lies.
    pub axis: AxisPosition,
    /// How the radius is read.
    pub reading: LessonReading,
    /// The meter of the coil current.
    pub ammeter: Option<LessonMeter>,
    /// Where it stands.
    pub ammeter_position: Option<AmmeterPosition>,
    /// The meter of the gun voltage.
    pub voltmeter: Option<LessonMeter>,
    /// The supply's largest current.
    pub current_limit_ampere: Option<f64>,
    /// How long cold coils carry currents above the one for ever.
    pub allowed_times: Vec<AllowedTime>,
    /// The largest current of the settings where the coils carry it only for a time; `None` where for ever, or not known.
    pub largest_setting_time: Option<AllowedTime>,
    /// What the cautions name.
    pub safety: SafetyFigures,
    /// Whether the settings are suggested, or those asked for.
    pub settings_suggested: bool,
    /// The settings that the class takes.
    pub settings: Vec<LessonSetting>,
    /// A setting that is none of them, for a worked example.
    pub example: LessonSetting,
    /// What must be known when reading.
    #[serde(serialize_with = "as_sentences")]
    pub notes: Vec<Note>,
}

/// Constants of nature (CODATA 2022).
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Constants {
    /// e.
    pub elementary_charge_coulomb: f64,
    /// m.
    pub electron_mass_kg: f64,
    /// c.
    pub speed_of_light_m_per_s: f64,
    /// e/m.
    pub accepted_charge_to_mass_coulomb_per_kg: f64,
}

impl Constants {
    pub(super) fn of_codata() -> Self {
        Self {
            elementary_charge_coulomb: ELEMENTARY_CHARGE_COULOMB,
            electron_mass_kg: ELECTRON_MASS_KG,
            speed_of_light_m_per_s: SPEED_OF_LIGHT_M_PER_S,
            accepted_charge_to_mass_coulomb_per_kg: ELECTRON_CHARGE_TO_MASS_COULOMB_PER_KG,
        }
    }
}

/// What is known of the room's axial field before the runs are seen.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct RoomKnown {
    /// From where.
    pub source: RoomSource,
    /// Along +z; nought where nothing is known.
    pub axial_tesla: f64,
    /// Its standard uncertainty, or what is assumed where nothing is known.
    pub standard_uncertainty_tesla: f64,
}

/// The tube.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct LessonTube {
    /// Centre of the bulb.
    pub bulb_centre_m: [f64; 3],
    /// Its inner radius.
    pub bulb_radius_m: f64,
    /// Whether that is the largest that the coils leave room for, because the spec states none.
    pub bulb_assumed: bool,
    /// Where the beam leaves the gun.
    pub gun_exit_m: [f64; 3],
    /// Unit vector along which it leaves.
    pub gun_direction: [f64; 3],
    /// Lowest and highest gun voltage used.
    pub gun_voltage_volt: Option<[f64; 2]>,
    /// Voltmeter reading minus the beam's voltage.
    pub gun_voltage_offset_volt: f64,
    /// Its standard uncertainty.
    pub gun_voltage_offset_uncertainty_volt: Option<f64>,
    /// Smallest and largest beam radius used.
    pub beam_radius_m: Option<[f64; 2]>,
}

impl LessonTube {
    pub(super) fn of(beams: &BeamBench<'_>) -> Self {
        let tube = &beams.tube;
        Self {
            bulb_centre_m: tube.bulb_centre_m.into(),
            bulb_radius_m: tube.bulb_radius_m.unwrap_or(0.0),
            bulb_assumed: beams.assumed_bulb_radius_m().is_some(),
            gun_exit_m: tube.gun_exit_m.into(),
            gun_direction: tube.gun_direction.into(),
            gun_voltage_volt: tube.gun_voltage_volt,
            gun_voltage_offset_volt: beams.gun_voltage_offset_volt(),
            gun_voltage_offset_uncertainty_volt: tube.gun_voltage_offset_volt.map(|[_, u]| u),
            beam_radius_m: tube.beam_radius_m,
        }
    }
}

/// The gun's body: a cylinder behind its exit.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct GunBody {
    /// Its radius.
    pub radius_m: f64,
    /// Its length.
    pub length_m: f64,
}

/// One winding as a body.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Winding {
    /// Its centre.
    pub centre_m: [f64; 3],
    /// Unit vector along its axis.
    pub axis: [f64; 3],
    /// Mean radius of its section.
    pub mean_radius_m: f64,
    /// The section's extent along the axis.
    pub width_m: f64,
    /// Its extent along the radius.
    pub depth_m: f64,
}

impl Winding {
    pub(super) fn of(winding: &PlacedWinding) -> Self {
        let section = winding.section;
        Self {
            centre_m: winding.centre_m.into(),
            axis: winding.axis.into(),
            mean_radius_m: section.mean_radius_m,
            width_m: section.width_m,
            depth_m: section.depth_m,
        }
    }
}

/// How the radius is read.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct LessonReading {
    /// A length in the beam plane appears so many times as long on the scale.
    pub magnification: f64,
    /// Which edge of the glow is read.
    pub edge: Option<BeamEdge>,
    /// From the eye or camera to the beam plane.
    pub camera_distance_m: Option<f64>,
    /// How far the scale lies behind the beam plane.
    pub scale_offset_m: f64,
    /// Standard uncertainty of one reading of the radius.
    pub radius_uncertainty_m: Option<f64>,
}

/// A meter's limits of error.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct LessonMeter {
    /// One step of the last digit.
    pub resolution: Option<f64>,
    /// Limit of the gain's error, as a fraction.
    pub gain_limit: f64,
    /// Limit of error of the digits alone, in the meter's unit.
    pub digits_limit: f64,
}

/// How long cold coils carry a current.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct AllowedTime {
    /// The current of the supply.
    pub current_ampere: f64,
    /// Until the first temperature limit is reached.
    pub time_s: f64,
}

/// One setting of the lesson and what to expect of it.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct LessonSetting {
    /// What the voltmeter shows.
    pub gun_voltage_volt: f64,
    /// What the ammeter shows; negative for the other direction.
    pub current_ampere: f64,
    /// Whether the circle fits the bulb only with the tube turned half round.
    pub tube_turned: bool,
    /// What to expect.
    pub expected: Expected,
}

/// What a perfect reader sees at one setting, and within which limits a class should lie.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Expected {
    /// The radius in the beam plane.
    pub read_radius_m: f64,
    /// The diameter on the scale, parallax included.
    pub scale_diameter_m: f64,
    /// Standard uncertainty of that diameter: reading, meters, line.
    pub scale_diameter_standard_uncertainty_m: f64,
    /// Standard uncertainty of e/m that all runs share, as a part of it: meters, line, room.
    pub shared_standard_uncertainty_fraction: f64,
    /// e/m as a class computes it with k I, parallax taken off.
    pub apparent_charge_to_mass_coulomb_per_kg: f64,
    /// That over the accepted value, minus one.
    pub bias_fraction: f64,
    /// The same with the beam-radius correction.
    pub corrected_bias_fraction: Option<f64>,
}
