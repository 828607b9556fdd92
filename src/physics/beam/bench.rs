//! A bench prepared for computing beams.

use super::effective_field::{CurrentDirection, effective_field_ratio_towards};
use super::electron::Electron;
use super::gun::Gun;
use super::path::{Path, PathLength, PathOptions, trace};
use crate::constants::{ELECTRON_CHARGE_TO_MASS_COULOMB_PER_KG, ELECTRON_MASS_KG, ELEMENTARY_CHARGE_COULOMB};
use crate::error::{CentreFieldFor, Refused};
use crate::pair::{Bench, Provenance, Tube};
use crate::physics::build_error::field_constant_tesla_per_ampere;
use crate::physics::field::{Assembly, PreparedPair};
use crate::physics::room;
use crate::physics::safety::SafetyFigures;
use crate::physics::slope::Slope;
use crate::{Error, Result};
use nalgebra::Vector3;
use serde::Serialize;
use std::f64::consts::FRAC_PI_2;
use std::sync::OnceLock;

/// The line B = k I with which the class turns a current into a field.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FieldLine {
    /// k of B = k I, with its uncertainty: computed from the spec, or read from the calibration.
    #[serde(flatten, serialize_with = "Slope::as_field_line")]
    pub slope: Slope,
    /// The calibration it was read from, with that calibration's spec; `None` if it was computed from this bench's
    /// spec.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub calibration: Option<Provenance>,
    /// Its entry in a register, as whoever took it from one calls it: a label that is printed as it is.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub register_entry: Option<String>,
    /// The room's axial field as the calibration found it; `None` where it does not tell it or it no longer holds.
    #[serde(skip)]
    pub room: Option<LineRoom>,
}

/// The room's axial field as the calibration of a line has it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LineRoom {
    /// Along +z.
    pub axial_tesla: f64,
    /// u; `None` if the calibration did not measure it.
    pub standard_uncertainty_tesla: Option<f64>,
    /// Its correlation with the slope: both were read with the same meters.
    pub correlation_with_slope: f64,
}

/// A room field stated by the spec that the calibration of the line contradicts.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RoomContradiction {
    /// The spec's field along +z, which is the one used.
    pub stated_tesla: f64,
    /// What the calibration found.
    pub found_tesla: f64,
    /// U of the difference.
    pub expanded_tesla: f64,
}

impl RoomContradiction {
    /// The two differ by more than U of their difference. The spec's field is used all the same, whatever the two say: it is
    /// the owner's word, and results do not change by a calibration that agrees with it.
    pub fn of(bench: &Bench, found: Option<LineRoom>) -> Option<Self> {
        let found = found?;
        let u = found.standard_uncertainty_tesla?;
        let stated_tesla = room::field_tesla(bench).ok()??.z;
        let expanded_tesla = 2.0 * u.hypot(room::stated_standard_uncertainty_tesla(bench, stated_tesla));
        let differs = (found.axial_tesla - stated_tesla).abs() > expanded_tesla;
        differs.then_some(Self { stated_tesla, found_tesla: found.axial_tesla, expanded_tesla })
    }
}

impl LineRoom {
    /// One that was not measured with the line.
    pub fn stated(axial_tesla: f64) -> Self {
        Self { axial_tesla, standard_uncertainty_tesla: None, correlation_with_slope: 0.0 }
    }
}

/// A line B = k I made from another spec, or from another state of this spec.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OtherLine {
    /// Title of the spec that the line was made from.
    pub made_for_title: String,
    /// Digest of that spec at the time.
    pub made_for_digest: String,
    /// Title of this bench's spec.
    pub title: String,
    /// Digest of this bench's spec.
    pub digest: String,
}

/// The settings of one run of the beam.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Setting {
    /// Reading of the voltmeter.
    pub gun_voltage_volt: f64,
    /// Reading of the ammeter; negative for the opposite direction.
    pub current_ampere: f64,
    /// Angle of the gun out of the beam plane, positive toward +z.
    pub gun_tilt_rad: f64,
}

/// The coils, the room and the tube of one bench.
#[derive(Clone, Debug)]
pub struct BeamBench<'a> {
    /// The bench and its coils.
    pub pair: PreparedPair<'a>,
    /// Its tube. If the spec states no bulb radius, it is the largest that the coils leave room for.
    pub tube: Tube,
    /// The coils' field along +z at the centre per ampere.
    pub field_constant_tesla_per_ampere: f64,
    /// The line the class uses.
    pub line: FieldLine,
    /// The room's own field; `None` if the spec does not state it.
    pub room_tesla: Option<Vector3<f64>>,
    /// Computed when first needed.
    safety: OnceLock<SafetyFigures>,
}

impl<'a> BeamBench<'a> {
    /// A bench with its tube, its coils as `bench.model` says. If `line` is `None`, the class uses the computed field
    /// constant.
    ///
    /// Refused: a bench whose spec states no gun, a gun outside the bulb, coils without field along the axis.
    pub fn prepare(bench: &'a Bench, line: Option<FieldLine>) -> Result<Self> {
        let mut tube = bench.tube_with_gun()?;
        tube.bulb_radius_m.get_or_insert_with(|| bench.room_for_bulb_m(&tube.bulb_centre_m));
        let from_centre_m = (tube.gun_exit_m - tube.bulb_centre_m).norm();
        if let Some(bulb_radius_m) = tube.bulb_radius_m.filter(|radius| from_centre_m >= *radius) {
            return Err(Refused::GunOutsideBulb { from_centre_m, bulb_radius_m }.into());
        }
        let pair = PreparedPair::of(bench);
        let field_constant_tesla_per_ampere = field_constant_tesla_per_ampere(pair.assembly());
        let one_coil: f64 = pair
            .assembly()
            .windings()
            .iter()
            .map(|w| (w.turns * w.current_share / w.section.mean_radius_m).abs())
            .sum();
        if field_constant_tesla_per_ampere.abs() <= 1e-6 * crate::constants::MU_0 * one_coil {
            return Err(Refused::CoilsCancel { wanted: CentreFieldFor::Beam }.into());
        }
        let line = line.unwrap_or_else(|| FieldLine {
            slope: Slope::computed(bench, field_constant_tesla_per_ampere),
            calibration: None,
            register_entry: None,
            room: None,
        });
        Ok(Self {
            pair,
            tube,
            field_constant_tesla_per_ampere,
            line,
            room_tesla: room::field_tesla(bench)?,
            safety: OnceLock::new(),
        })
    }

    /// The bench.
    pub fn bench(&self) -> &'a Bench {
        self.pair.bench()
    }

    /// Its coils.
    pub fn assembly(&self) -> &Assembly {
        self.pair.assembly()
    }

    /// The figures in the bench's cautions.
    pub fn safety(&self) -> SafetyFigures {
        *self.safety.get_or_init(|| SafetyFigures::of(&self.pair))
    }

    /// The spec that the line was made from, if it is not this one.
    pub(crate) fn other_line(&self) -> Option<OtherLine> {
        let of_line =
            self.line.calibration.as_ref().filter(|line| line.spec_digest != self.bench().digest)?;
        Some(OtherLine {
            made_for_title: of_line.spec_title.clone(),
            made_for_digest: of_line.spec_digest.clone(),
            title: self.bench().title.clone(),
            digest: self.bench().digest.clone(),
        })
    }

    /// The bulb's radius if the spec states none and the largest that fits between the coils is assumed.
    pub(crate) fn assumed_bulb_radius_m(&self) -> Option<f64> {
        self.tube.bulb().filter(|_| self.bench().bulb().is_err()).map(|bulb| bulb.radius_m)
    }

    /// The whole field at a point: coils and room.
    pub fn field_tesla(&self, current_ampere: f64, point_m: &Vector3<f64>) -> Vector3<f64> {
        let coils = self.assembly().field_per_ampere(point_m);
        room::whole_field_tesla(&coils, current_ampere, &self.room_tesla.unwrap_or_else(Vector3::zeros))
    }

    /// The coils' field at a point.
    pub fn coil_field_tesla(&self, current_ampere: f64, point_m: &Vector3<f64>) -> Vector3<f64> {
        self.assembly().field_per_ampere(point_m) * current_ampere
    }

    /// Voltmeter reading minus the beam's accelerating voltage; 0 if the spec does not state it.
    pub fn gun_voltage_offset_volt(&self) -> f64 {
        self.tube.gun_voltage_offset_volt.map_or(0.0, |[offset, _]| offset)
    }

    /// The electron that leaves the gun when the voltmeter shows `gun_voltage_volt`.
    pub fn electron(&self, gun_voltage_volt: f64) -> Result<Electron> {
        if !(gun_voltage_volt.is_finite() && gun_voltage_volt > 0.0) {
            return Err(Refused::GunVoltage { volt: gun_voltage_volt }.into());
        }
        let offset_volt = self.gun_voltage_offset_volt();
        let beam_volt = gun_voltage_volt - offset_volt;
        if beam_volt <= 0.0 {
            return Err(Refused::GunVoltageWithinOffset { volt: gun_voltage_volt, offset_volt }.into());
        }
        Electron::after(beam_volt)
    }

    /// The gun, tilted.
    pub fn gun(&self, gun_tilt_rad: f64) -> Result<Gun> {
        let gun = Gun::of(&self.tube, gun_tilt_rad);
        if gun_tilt_rad.is_finite() && gun_tilt_rad.abs() <= FRAC_PI_2 {
            Ok(gun)
        } else {
            Err(Refused::GunTilt { rad: gun_tilt_rad }.into())
        }
    }

    /// The beam's path in the tube.
    pub fn path(&self, setting: &Setting, extent: PathLength) -> Result<Path> {
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

    /// Effective field of the circle of this read radius over the centre field, for the current's direction.
    pub fn effective_field_ratio(&self, current_ampere: f64, read_radius_m: f64) -> Result<f64> {
        let direction = CurrentDirection::of(current_ampere * self.field_constant_tesla_per_ampere);
        effective_field_ratio_towards(direction, self.assembly(), &self.tube, read_radius_m)
    }

    /// The textbook's radius √(2 m V/e)/B with the meters' readings and the class's line; infinite at zero current.
    pub(crate) fn textbook_radius_m(&self, setting: &Setting) -> f64 {
        let voltage = setting.gun_voltage_volt;
        (2.0 * ELECTRON_MASS_KG * voltage / ELEMENTARY_CHARGE_COULOMB).sqrt()
            / (self.line.slope.tesla_per_ampere * setting.current_ampere).abs()
    }

    /// e/m = 2 V/(B r)² with the meters' readings and the class's line, as a class computes it.
    pub fn apparent_charge_to_mass_coulomb_per_kg(&self, setting: &Setting, read_radius_m: f64) -> f64 {
        let ratio = self.textbook_radius_m(setting) / read_radius_m;
        ELEMENTARY_CHARGE_COULOMB / ELECTRON_MASS_KG * ratio * ratio
    }
}

/// An apparent e/m over the accepted value, minus 1.
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
                gun_direction: Vector3::y_axis(),
                gun_voltage_volt: Some([90.0, 280.0]),
                gun_voltage_offset_volt: None,
                beam_radius_m: Some([0.02, 0.05]),
            }
            .into(),
        ),
        ..Bench::thin_pair()
    }
}
