//! The record of a lesson: what its page carries, the settings, and what to expect of each.

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
use crate::physics::heat::AllowedTime;
use crate::physics::safety::SafetyFigures;
use crate::questions::weigh::RoomSource;
use crate::questions::words::notes::as_sentences;
use serde::Serialize;

/// A lesson.
#[derive(Clone, Debug, Serialize)]
#[non_exhaustive]
pub struct Lesson {
    /// Program version and spec.
    pub provenance: Provenance,
    /// Geometry used: as built or nominal.
    pub model: Model,
    /// Constants of nature that the page computes with.
    pub constants: Constants,
    /// Coefficients of the page's integration method.
    pub tableau: Tableau,
    /// The coils' field in the bulb.
    pub field: FieldInBulb,
    /// The coils' field along +z at the centre per ampere through the ammeter.
    pub field_constant_tesla_per_ampere: f64,
    /// The calibration line that the class works with.
    pub line: FieldLine,
    /// The room's field. `None` if the spec does not give it.
    pub room_tesla: Option<[f64; 3]>,
    /// What `weigh` would assume about the room's axial field before any run.
    pub room_known: RoomKnown,
    /// The tube.
    pub tube: LessonTube,
    /// The gun's body behind the gun exit.
    pub gun_body: GunBody,
    /// The windings as bodies, for the drawing.
    pub windings: Vec<Winding>,
    /// How the coils are connected.
    pub connection: Connection,
    /// Whether the axis is horizontal or vertical.
    pub axis: AxisPosition,
    /// How the beam radius is read.
    pub reading: LessonReading,
    /// The ammeter. `None` if the spec describes none.
    pub ammeter: Option<LessonMeter>,
    /// Where the ammeter stands in the circuit. `None` if the spec does not say.
    pub ammeter_position: Option<AmmeterPosition>,
    /// The voltmeter of the gun. `None` if the spec describes none.
    pub voltmeter: Option<LessonMeter>,
    /// The supply's current limit. `None` if the spec states none.
    pub current_limit_ampere: Option<f64>,
    /// How long cold coils carry currents above the continuous one.
    pub allowed_times: Vec<AllowedTime>,
    /// The largest current of the settings, if the coils carry it only for a time. `None` if they carry it for ever, or
    /// if that is not known.
    pub largest_setting_time: Option<AllowedTime>,
    /// Figures that the cautions quote.
    pub safety: SafetyFigures,
    /// Whether the settings are suggested by the program.
    pub settings_suggested: bool,
    /// The settings that the class takes.
    pub settings: Vec<LessonSetting>,
    /// A setting for the worked example; different from all others where possible.
    pub example: LessonSetting,
    /// Notes for the person who prepares the lesson.
    #[serde(serialize_with = "as_sentences")]
    pub notes: Vec<Note>,
}

/// Constants of nature (CODATA 2022).
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Constants {
    /// Elementary charge e.
    pub elementary_charge_coulomb: f64,
    /// Electron mass m.
    pub electron_mass_kg: f64,
    /// Speed of light c.
    pub speed_of_light_m_per_s: f64,
    /// Accepted value of e/m.
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

/// What is known about the room's axial field before any run.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct RoomKnown {
    /// Where the knowledge comes from.
    pub source: RoomSource,
    /// Field along +z; 0 if nothing is known.
    pub axial_tesla: f64,
    /// Standard uncertainty; an assumed one if nothing is known.
    pub standard_uncertainty_tesla: f64,
    /// Its correlation with the slope of the line, where the line's calibration found it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub correlation_with_slope: Option<f64>,
}

/// The tube.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct LessonTube {
    /// Centre of the bulb.
    pub bulb_centre_m: [f64; 3],
    /// Inner radius of the bulb.
    pub bulb_radius_m: f64,
    /// Whether `bulb_radius_m` is assumed: the largest for which the coils leave room, because the spec states none.
    pub bulb_assumed: bool,
    /// Where the beam leaves the gun.
    pub gun_exit_m: [f64; 3],
    /// Unit vector along the beam at the gun exit.
    pub gun_direction: [f64; 3],
    /// Lowest and highest gun voltage. `None` if the spec states no range.
    pub gun_voltage_volt: Option<[f64; 2]>,
    /// Voltmeter reading minus the voltage that accelerates the beam.
    pub gun_voltage_offset_volt: f64,
    /// Standard uncertainty of that offset.
    pub gun_voltage_offset_uncertainty_volt: Option<f64>,
    /// Smallest and largest beam radius. `None` if the spec states no range.
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
            gun_direction: tube.gun_direction.into_inner().into(),
            gun_voltage_volt: tube.gun_voltage_volt,
            gun_voltage_offset_volt: beams.gun_voltage_offset_volt(),
            gun_voltage_offset_uncertainty_volt: tube.gun_voltage_offset_volt.map(|[_, u]| u),
            beam_radius_m: tube.beam_radius_m,
        }
    }
}

/// The gun's body: a cylinder behind the gun exit.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct GunBody {
    /// Radius of the cylinder.
    pub radius_m: f64,
    /// Length of the cylinder.
    pub length_m: f64,
}

/// A winding as a body.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Winding {
    /// Centre of the winding.
    pub centre_m: [f64; 3],
    /// Unit vector along the winding's axis.
    pub axis: [f64; 3],
    /// Mean radius of the winding.
    pub mean_radius_m: f64,
    /// Extent of the section along the axis.
    pub width_m: f64,
    /// Extent of the section along the radius.
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

/// How the beam radius is read.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct LessonReading {
    /// Factor by which a length in the beam plane appears longer on the scale.
    pub magnification: f64,
    /// Which edge of the glow is read. `None` if the spec does not say.
    pub edge: Option<BeamEdge>,
    /// Distance from the eye or camera to the beam plane.
    pub camera_distance_m: Option<f64>,
    /// Distance of the scale behind the beam plane.
    pub scale_offset_m: f64,
    /// Standard uncertainty of a single reading of the radius.
    pub radius_uncertainty_m: Option<f64>,
}

/// A meter's limits of error.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct LessonMeter {
    /// Smallest step of the display.
    pub resolution: Option<f64>,
    /// Limit of the relative error of the gain.
    pub gain_limit: f64,
    /// Limit of the error in digits, in the meter's unit.
    pub digits_limit: f64,
}

/// A setting of the lesson, and what to expect at it.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct LessonSetting {
    /// Voltmeter reading.
    pub gun_voltage_volt: f64,
    /// Ammeter reading; negative for reversed current.
    pub current_ampere: f64,
    /// Whether the circle fits in the bulb only with the tube turned by half a turn.
    pub tube_turned: bool,
    /// What to expect at this setting.
    pub expected: Expected,
}

/// What a perfect reader sees at a setting, and how far a class may deviate from it.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Expected {
    /// Radius in the beam plane.
    pub read_radius_m: f64,
    /// Diameter on the scale, parallax included.
    pub scale_diameter_m: f64,
    /// Standard uncertainty of that diameter from reading, meters, gun-voltage offset and line.
    pub scale_diameter_standard_uncertainty_m: f64,
    /// Relative standard uncertainty of e/m that all runs share: meters, gun-voltage offset and line.
    pub shared_standard_uncertainty_fraction: f64,
    /// e/m as a class computes it with B = k I, after correcting parallax.
    pub apparent_charge_to_mass_coulomb_per_kg: f64,
    /// Relative deviation of that e/m from the accepted value.
    pub bias_fraction: f64,
    /// The same deviation with the beam-radius correction. `None` if the coils alone make no such circle.
    pub corrected_bias_fraction: Option<f64>,
}
