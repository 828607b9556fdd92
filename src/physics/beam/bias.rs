//! The e/m that error-free reading would give on this bench, and the causes of its deviation from the accepted value.

use super::bench::{BeamBench, Setting, bias_fraction};
use super::electron::Electron;
use super::gun::Gun;
use super::path::{PathLength, PathOptions, trace};
use crate::Result;
use nalgebra::{UnitVector3, Vector3};
use serde::Serialize;

/// The bench's own bias at one setting. Every fraction is of e/m: +0.01 reads one percent high.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Bias {
    /// 2 V/(B r)² with B = k I from the class's line, the meters' readings and the radius read without error.
    pub apparent_charge_to_mass_coulomb_per_kg: f64,
    /// The apparent e/m over the accepted value, minus 1.
    pub bias_fraction: f64,
    /// Bias with B = k I × the effective field ratio of the circle. `None` if the coils alone make no such circle.
    pub with_beam_radius_correction_fraction: Option<f64>,
    /// The parts of the bias.
    pub parts: BiasParts,
    /// 2 u(I)/I from the ammeter's limit of error.
    pub ammeter_standard_uncertainty_fraction: Option<f64>,
    /// u(V)/V from the voltmeter's limit of error.
    pub voltmeter_standard_uncertainty_fraction: Option<f64>,
    /// u(V)/V from the uncertainty of `tube.gun_voltage_offset`.
    pub gun_voltage_offset_standard_uncertainty_fraction: Option<f64>,
    /// 2 u(k)/k from the line.
    pub slope_standard_uncertainty_fraction: Option<f64>,
    /// Root of the sum of the squares of those of the four that are known.
    pub standard_uncertainty_fraction: f64,
}

/// The causes, each added to those before it: the product of all (1 + part) is 1 + the whole bias.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct BiasParts {
    /// The momentum grows faster than √V; −e V/(2 m c²) to first order.
    pub relativity: f64,
    /// The voltmeter shows more than the beam's accelerating voltage.
    pub gun_voltage_offset: f64,
    /// The line's slope differs from this bench's field constant.
    pub calibration_line: f64,
    /// The field is not the same everywhere on the circle.
    pub non_uniformity: f64,
    /// The gun exit lies off the beam plane.
    pub gun_off_plane: f64,
    /// The gun points out of the beam plane.
    pub gun_tilt: f64,
    /// The room's field adds to the coils'.
    pub room_field: f64,
}

impl BiasParts {
    /// Each part with its usual name.
    pub fn named(&self) -> [(&'static str, f64); 7] {
        [
            ("non-uniformity", self.non_uniformity),
            ("room field", self.room_field),
            ("gun off the beam plane", self.gun_off_plane),
            ("gun tilt", self.gun_tilt),
            ("gun voltage offset", self.gun_voltage_offset),
            ("calibration line", self.calibration_line),
            ("relativity", self.relativity),
        ]
    }

    /// Combined effect of the gun's position and direction.
    pub fn gun(&self) -> f64 {
        (1.0 + self.gun_off_plane) * (1.0 + self.gun_tilt) - 1.0
    }

    /// Combined effect of the voltmeter's offset and the line.
    pub fn voltage_and_line(&self) -> f64 {
        (1.0 + self.gun_voltage_offset) * (1.0 + self.calibration_line) - 1.0
    }

    /// ∏(1 + part) − 1.
    pub fn together(&self) -> f64 {
        self.named().iter().map(|(_, part)| 1.0 + part).product::<f64>() - 1.0
    }
}

/// The bias at one setting. `None` if the beam does not reach the opposite crossing inside the bulb, or the current is
/// zero.
///
/// Each part comes from an integrated orbit with that cause added to those before it, in the order of [`BiasParts`]: it
/// is the square of the ratio of the two radii read, minus 1. The glass stops only the real beam, not these comparison
/// beams.
pub fn bias(beams: &BeamBench<'_>, setting: &Setting) -> Result<Option<Bias>> {
    let current = setting.current_ampere;
    let electron = beams.electron(setting.gun_voltage_volt)?;
    let gun = beams.gun(setting.gun_tilt_rad)?;
    let Some(read_radius_m) = beams.path(setting, PathLength::HalfCircle)?.read_radius_m() else {
        return Ok(None);
    };
    if current == 0.0 || gun.transverse_share() < 1e-9 {
        return Ok(None);
    }
    let coil_field = |point: &Vector3<f64>| beams.coil_field_tesla(current, point);
    let flat = Gun {
        direction: UnitVector3::new_normalize(Vector3::new(gun.direction.x, gun.direction.y, 0.0)),
        exit_m: gun.exit_m,
    };
    let in_plane = Gun { exit_m: Vector3::new(gun.exit_m.x, gun.exit_m.y, 0.0), ..flat };
    let uniform_m = electron.radius_in_uniform_field_m(beams.field_constant_tesla_per_ampere * current);
    let Some(non_uniform_m) = open_radius_m(&coil_field, &electron, &in_plane)? else { return Ok(None) };
    let Some(off_plane_m) = open_radius_m(&coil_field, &electron, &flat)? else { return Ok(None) };
    let Some(tilted_m) = open_radius_m(&coil_field, &electron, &gun)? else { return Ok(None) };
    let smaller = |before: f64, after: f64| (before / after).powi(2) - 1.0;
    // 2 V/(B r)² of a relativistic circle over e/m: 2 m T/p² = 2/(γ + 1).
    let relativity = 2.0 / (electron.lorentz_factor + 1.0) - 1.0;
    let parts = BiasParts {
        relativity,
        gun_voltage_offset: setting.gun_voltage_volt / electron.voltage_volt - 1.0,
        calibration_line: smaller(beams.field_constant_tesla_per_ampere, beams.line.slope.tesla_per_ampere),
        non_uniformity: smaller(uniform_m, non_uniform_m),
        gun_off_plane: smaller(non_uniform_m, off_plane_m),
        gun_tilt: smaller(off_plane_m, tilted_m),
        room_field: smaller(tilted_m, read_radius_m),
    };
    let apparent = beams.apparent_charge_to_mass_coulomb_per_kg(setting, read_radius_m);
    let ratio = beams.effective_field_ratio(current, read_radius_m).ok();
    let bench = beams.bench();
    let ammeter = bench.ammeter.map(|meter| 2.0 * meter.standard_uncertainty(current) / current.abs());
    let voltmeter = bench
        .voltmeter
        .map(|meter| meter.standard_uncertainty(setting.gun_voltage_volt) / setting.gun_voltage_volt);
    let offset = beams
        .tube
        .gun_voltage_offset_volt
        .map(|[_, uncertainty]| uncertainty / setting.gun_voltage_volt)
        .filter(|fraction| *fraction > 0.0);
    let line = &beams.line;
    let slope = line
        .slope
        .standard_uncertainty()
        .map(|uncertainty| 2.0 * uncertainty / line.slope.tesla_per_ampere.abs());
    let together =
        [ammeter, voltmeter, offset, slope].into_iter().flatten().map(|part| part * part).sum::<f64>();
    Ok(Some(Bias {
        apparent_charge_to_mass_coulomb_per_kg: apparent,
        bias_fraction: bias_fraction(apparent),
        with_beam_radius_correction_fraction: ratio.map(|ratio| bias_fraction(apparent / (ratio * ratio))),
        parts,
        ammeter_standard_uncertainty_fraction: ammeter,
        voltmeter_standard_uncertainty_fraction: voltmeter,
        gun_voltage_offset_standard_uncertainty_fraction: offset,
        slope_standard_uncertainty_fraction: slope,
        standard_uncertainty_fraction: together.sqrt(),
    }))
}

fn open_radius_m(
    field: &impl Fn(&Vector3<f64>) -> Vector3<f64>,
    electron: &Electron,
    gun: &Gun,
) -> Result<Option<f64>> {
    Ok(trace(field, electron, gun, &PathOptions::in_the_open(PathLength::HalfCircle))?.read_radius_m())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pair::{Bench, Meter, Room, RoomField};
    use crate::physics::beam::bench::{FieldLine, tube_bench as bench};
    use crate::physics::slope::{AdoptedFrom, Slope};
    use approx::assert_relative_eq;

    fn at(gun_voltage_volt: f64, current_ampere: f64) -> Setting {
        Setting { gun_voltage_volt, current_ampere, gun_tilt_rad: 0.0 }
    }

    fn bias_of(bench: &Bench, line: Option<FieldLine>, setting: &Setting) -> Bias {
        bias(&BeamBench::prepare(bench, line).unwrap(), setting).unwrap().unwrap()
    }

    #[test]
    fn the_parts_multiply_to_the_whole() {
        let mut bench = bench(Vector3::new(0.045, 0.0, 0.004));
        bench.room = Some(Room {
            temperature_celsius: None,
            field: Some(RoomField::Measured(Vector3::new(15e-6, -42e-6, 20e-6))),
        });
        if let Some(tube) = &mut bench.tube {
            tube.gun_voltage_offset_volt = Some([2.0, 0.5]);
        }
        let line = FieldLine {
            slope: Slope::of(AdoptedFrom::Fit, 0.8e-3, Vec::new()),
            calibration: None,
            register_entry: None,
            room: None,
        };
        let setting = Setting { gun_tilt_rad: 0.02, ..at(200.0, 1.5) };
        let found = bias_of(&bench, Some(line), &setting);
        // 1e-11: the orbits' own accuracy, doubled by the square, and the ratio of CODATA's e, m and e/m.
        assert_relative_eq!(found.parts.together(), found.bias_fraction, epsilon = 2e-11);
        assert!(found.parts.named().iter().all(|(_, part)| *part != 0.0), "{found:?}");
    }

    #[test]
    fn relativity_alone_is_the_published_shift() {
        // Source: tests/data/beam.csv, eom_apparent_C_kg: 2V/(B r)² applied to the relativistic radius.
        let found = bias_of(&bench(Vector3::new(0.045, 0.0, 0.0)), None, &at(200.0, 1.5));
        let apparent =
            crate::constants::ELECTRON_CHARGE_TO_MASS_COULOMB_PER_KG * (1.0 + found.parts.relativity);
        assert_relative_eq!(apparent, 175_847_588_323.237, max_relative = 1e-11);
    }

    #[test]
    fn non_uniformity_is_twice_the_effective_field_and_the_correction_removes_it() {
        let bench = bench(Vector3::new(0.045, 0.0, 0.0));
        let setting = at(250.0, 1.3);
        let found = bias_of(&bench, None, &setting);
        let beams = BeamBench::prepare(&bench, None).unwrap();
        let radius = beams.path(&setting, PathLength::HalfCircle).unwrap().read_radius_m().unwrap();
        let ratio = beams.effective_field_ratio(setting.current_ampere, radius).unwrap();
        assert!(ratio < 1.0);
        // e/m goes as the square of the field: (B_eff/B)² − 1.
        assert_relative_eq!(found.parts.non_uniformity, ratio * ratio - 1.0, epsilon = 1e-10);
        // Only relativity remains.
        let corrected = found.with_beam_radius_correction_fraction.unwrap();
        assert_relative_eq!(corrected, found.parts.relativity, epsilon = 1e-10);
    }

    #[test]
    fn an_axial_room_field_shifts_twice_its_share_and_changes_sign_with_the_current() {
        let mut bench = bench(Vector3::new(0.045, 0.0, 0.0));
        let axial = 5e-6;
        bench.room = Some(Room {
            temperature_celsius: None,
            field: Some(RoomField::Measured(Vector3::new(0.0, 0.0, axial))),
        });
        let there = bias_of(&bench, None, &at(150.0, 1.8));
        let beams = BeamBench::prepare(&bench, None).unwrap();
        let share = axial / (beams.field_constant_tesla_per_ampere * 1.8);
        // 1 %: second order in the share, and the field's slope over the change of radius.
        assert_relative_eq!(there.parts.room_field, 2.0 * share, max_relative = 0.01);
        let mut mirrored = bench.clone();
        if let Some(exit) = mirrored.tube.as_mut().and_then(|tube| tube.gun_exit_m.as_mut()) {
            exit.x = -exit.x;
        }
        let back = bias_of(&mirrored, None, &at(150.0, -1.8));
        assert_relative_eq!(back.parts.room_field, -2.0 * share, max_relative = 0.01);
    }

    #[test]
    fn meters_count_once_for_voltage_and_twice_for_current() {
        let mut bench = bench(Vector3::new(0.045, 0.0, 0.0));
        let meter = Meter { resolution: Some(0.0), accuracy_of_reading: Some(0.01), accuracy_digits: 0.0 };
        (bench.ammeter, bench.voltmeter) = (Some(meter), Some(meter));
        let found = bias_of(&bench, None, &at(200.0, 1.5));
        let one = 0.01 / 3f64.sqrt();
        assert_relative_eq!(found.ammeter_standard_uncertainty_fraction.unwrap(), 2.0 * one, epsilon = 1e-15);
        assert_relative_eq!(found.voltmeter_standard_uncertainty_fraction.unwrap(), one, epsilon = 1e-15);
        assert_relative_eq!(found.standard_uncertainty_fraction, 5f64.sqrt() * one, epsilon = 1e-15);
    }

    #[test]
    fn there_is_no_bias_where_there_is_nothing_to_read() {
        let bench = bench(Vector3::new(0.045, 0.0, 0.0));
        let beams = BeamBench::prepare(&bench, None).unwrap();
        for current in [0.0, 0.1, -1.5] {
            assert_eq!(bias(&beams, &at(200.0, current)).unwrap(), None, "{current} A");
        }
        assert!(bias(&beams, &at(0.0, 1.5)).is_err());
    }
}
