//! A bench made ready to run beams through.

use super::effective_field::{CurrentDirection, effective_field_ratio_towards};
use super::electron::Electron;
use super::gun::Gun;
use super::path::{Extent, Path, PathOptions, trace};
use crate::constants::{ELECTRON_CHARGE_TO_MASS_COULOMB_PER_KG, ELECTRON_MASS_KG, ELEMENTARY_CHARGE_COULOMB};
use crate::pair::{Bench, Provenance, Tube};
use crate::physics::build_error::field_constant_tesla_per_ampere;
use crate::physics::field::Assembly;
use crate::physics::room;
use crate::units::{Dimension, display};
use crate::{Error, Result};
use nalgebra::Vector3;
use serde::Serialize;
use std::f64::consts::FRAC_PI_2;

/// The line that turns a current into a field, as the class has it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FieldLine {
    /// k of B = k I.
    pub slope_tesla_per_ampere: f64,
    /// u(k), where it is known.
    pub slope_standard_uncertainty_tesla_per_ampere: Option<f64>,
    /// What the slope rests on: `computed` from the spec, or what the calibration says.
    pub adopted_from: String,
    /// The calibration that it was read from, with the spec of that; none where it was computed from the spec in hand.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub calibration: Option<Provenance>,
}

/// A line B = k I that was made from another spec than the one in hand, or from another state of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OtherLine {
    /// Title of the spec that the line was made from.
    pub made_for_title: String,
    /// Its digest then.
    pub made_for_digest: String,
    /// Title of the spec in hand.
    pub title: String,
    /// Its digest.
    pub digest: String,
}

/// What a run of the beam is set to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Setting {
    /// What the voltmeter shows.
    pub gun_voltage_volt: f64,
    /// What the ammeter shows; negative for the other direction.
    pub current_ampere: f64,
    /// The gun turned out of the beam plane, positive toward +z.
    pub gun_tilt_rad: f64,
}

/// The coils, the room and the tube of one bench.
#[derive(Clone, Debug)]
pub struct BeamBench<'a> {
    /// The bench.
    pub bench: &'a Bench,
    /// Its tube; where the spec states no bulb radius, the largest that the coils leave room for.
    pub tube: Tube,
    /// Its coils.
    pub assembly: Assembly,
    /// The coils' field along +z at the centre per ampere.
    pub field_constant_tesla_per_ampere: f64,
    /// The line the class works with.
    pub line: FieldLine,
    /// The room's own field; none where the spec does not say.
    pub room_tesla: Option<Vector3<f64>>,
}

impl<'a> BeamBench<'a> {
    /// A bench with its tube, as the model sees its coils; without a line of its own the class works with the
    /// computed field constant.
    ///
    /// Refused: a bench whose spec states no gun, a gun outside the bulb, coils without field along the axis.
    pub fn prepare(bench: &'a Bench, line: Option<FieldLine>) -> Result<Self> {
        let mut tube = bench.tube_with_gun()?;
        tube.bulb_radius_m.get_or_insert_with(|| bench.room_for_bulb_m(&tube.bulb_centre_m));
        let from_centre_m = (tube.gun_exit_m - tube.bulb_centre_m).norm();
        if let Some(bulb_radius_m) = tube.bulb_radius_m.filter(|radius| from_centre_m >= *radius) {
            return Err(Error::value_with_hint(
                format!(
                    "the gun exit lies {} from the bulb's centre, outside the bulb of radius {}",
                    display(from_centre_m, Dimension::Length, 4),
                    display(bulb_radius_m, Dimension::Length, 4)
                ),
                "correct `tube.gun_exit`, `tube.bulb_centre` or `tube.bulb_radius`",
            ));
        }
        let assembly = Assembly::of(bench);
        let field_constant_tesla_per_ampere = field_constant_tesla_per_ampere(&assembly);
        let one_coil: f64 = assembly
            .windings()
            .iter()
            .map(|w| (w.turns * w.current_share / w.section.mean_radius_m).abs())
            .sum();
        if field_constant_tesla_per_ampere.abs() <= 1e-6 * crate::constants::MU_0 * one_coil {
            return Err(Error::value_with_hint(
                "the coils make no field along the axis at the centre, so they bend no beam there",
                "check `sense` in `as_built`: one coil connected backwards cancels the other",
            ));
        }
        let line = line.unwrap_or_else(|| FieldLine {
            slope_tesla_per_ampere: field_constant_tesla_per_ampere,
            slope_standard_uncertainty_tesla_per_ampere:
                crate::physics::build_error::field_constant_standard_uncertainty_tesla_per_ampere(bench),
            adopted_from: "computed".into(),
            calibration: None,
        });
        Ok(Self {
            bench,
            tube,
            assembly,
            field_constant_tesla_per_ampere,
            line,
            room_tesla: room::field_tesla(bench)?,
        })
    }

    /// Whose line it is, where not that of this spec.
    pub fn other_line(&self) -> Option<OtherLine> {
        let of_line = self.line.calibration.as_ref().filter(|line| line.spec_digest != self.bench.digest)?;
        Some(OtherLine {
            made_for_title: of_line.spec_title.clone(),
            made_for_digest: of_line.spec_digest.clone(),
            title: self.bench.title.clone(),
            digest: self.bench.digest.clone(),
        })
    }

    /// The bulb's radius where the spec states none and the largest that the coils leave room for is taken.
    pub fn assumed_bulb_radius_m(&self) -> Option<f64> {
        self.tube.bulb().filter(|_| self.bench.bulb().is_err()).map(|bulb| bulb.radius_m)
    }

    /// The whole field at a point: coils and room.
    pub fn field_tesla(&self, current_ampere: f64, point_m: &Vector3<f64>) -> Vector3<f64> {
        self.coil_field_tesla(current_ampere, point_m) + self.room_tesla.unwrap_or_else(Vector3::zeros)
    }

    /// The coils' field at a point.
    pub fn coil_field_tesla(&self, current_ampere: f64, point_m: &Vector3<f64>) -> Vector3<f64> {
        self.assembly.field_per_ampere(point_m) * current_ampere
    }

    /// What the voltmeter shows minus what the beam gets; 0 where the spec does not say.
    pub fn gun_voltage_offset_volt(&self) -> f64 {
        self.tube.gun_voltage_offset_volt.map_or(0.0, |[offset, _]| offset)
    }

    /// The electron that leaves the gun when the voltmeter shows `gun_voltage_volt`.
    pub fn electron(&self, gun_voltage_volt: f64) -> Result<Electron> {
        if !(gun_voltage_volt.is_finite() && gun_voltage_volt > 0.0) {
            return Err(Error::value_with_hint(
                format!(
                    "the gun voltage is {} and makes no beam",
                    display(gun_voltage_volt, Dimension::Voltage, 4)
                ),
                "give a gun voltage above 0 V, such as --gun-voltage \"200 V\"",
            ));
        }
        let offset_volt = self.gun_voltage_offset_volt();
        let beam_volt = gun_voltage_volt - offset_volt;
        if beam_volt <= 0.0 {
            return Err(Error::value_with_hint(
                format!(
                    "of the gun voltage {} nothing is left after `tube.gun_voltage_offset` of {}",
                    display(gun_voltage_volt, Dimension::Voltage, 4),
                    display(offset_volt, Dimension::Voltage, 4)
                ),
                "raise the gun voltage, or correct the offset",
            ));
        }
        Electron::after(beam_volt)
    }

    /// The gun, tilted.
    pub fn gun(&self, gun_tilt_rad: f64) -> Result<Gun> {
        let gun = Gun::of(&self.tube, gun_tilt_rad);
        if gun_tilt_rad.is_finite() && gun_tilt_rad.abs() <= FRAC_PI_2 {
            Ok(gun)
        } else {
            Err(Error::value_with_hint(
                format!("the gun tilt is {}", display(gun_tilt_rad, Dimension::Angle, 4)),
                "give a tilt from -90 deg to 90 deg out of the beam plane",
            ))
        }
    }

    /// The beam's path in the tube.
    pub fn path(&self, setting: &Setting, extent: Extent) -> Result<Path> {
        let electron = self.electron(setting.gun_voltage_volt)?;
        if !setting.current_ampere.is_finite() {
            return Err(Error::value(format!("the current is {} A", setting.current_ampere)));
        }
        let options = PathOptions {
            bulb: self.tube.bulb().map(|bulb| (bulb.centre_m, bulb.radius_m)),
            gun_stops_beam: true,
            ..PathOptions::in_the_open(extent)
        };
        let gun = self.gun(setting.gun_tilt_rad)?;
        trace(|point| self.field_tesla(setting.current_ampere, point), &electron, &gun, &options)
    }

    /// Effective field of the circle of this read radius over the centre field, at the current's direction.
    pub fn effective_field_ratio(&self, current_ampere: f64, read_radius_m: f64) -> Result<f64> {
        let direction = CurrentDirection::of(current_ampere * self.field_constant_tesla_per_ampere);
        effective_field_ratio_towards(direction, &self.assembly, &self.tube, read_radius_m)
    }

    /// The textbook's radius √(2 m V/e)/B with the meters' readings and the class's line; infinite at no current.
    pub fn textbook_radius_m(&self, setting: &Setting) -> f64 {
        let voltage = setting.gun_voltage_volt;
        (2.0 * ELECTRON_MASS_KG * voltage / ELEMENTARY_CHARGE_COULOMB).sqrt()
            / (self.line.slope_tesla_per_ampere * setting.current_ampere).abs()
    }

    /// e/m = 2 V/(B r)² with the meters' readings and the class's line, as a class computes it.
    pub fn apparent_charge_to_mass_coulomb_per_kg(&self, setting: &Setting, read_radius_m: f64) -> f64 {
        let ratio = self.textbook_radius_m(setting) / read_radius_m;
        ELEMENTARY_CHARGE_COULOMB / ELECTRON_MASS_KG * ratio * ratio
    }
}

/// How far an apparent e/m lies above the accepted one, as a fraction of it.
pub fn bias_fraction(apparent_coulomb_per_kg: f64) -> f64 {
    apparent_coulomb_per_kg / ELECTRON_CHARGE_TO_MASS_COULOMB_PER_KG - 1.0
}

/// The bench of this module's tests: a thin pair with a tube.
#[cfg(test)]
pub(crate) fn tube_bench(gun_exit_m: Vector3<f64>) -> Bench {
    Bench {
        tube: Some(
            Tube {
                bulb_radius_m: Some(0.075),
                bulb_centre_m: Vector3::zeros(),
                gun_exit_m,
                gun_direction: Vector3::y(),
                gun_voltage_volt: Some([90.0, 280.0]),
                gun_voltage_offset_volt: None,
                beam_radius_m: Some([0.02, 0.05]),
            }
            .into(),
        ),
        ..Bench::thin_pair()
    }
}
