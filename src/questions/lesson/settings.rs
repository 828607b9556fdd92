//! The settings that a class takes: those asked for, or suggested ones.
//!
//! Suggested settings are three gun voltages by three radii by both current directions. Since V is proportional to (B
//! r)², evenly spaced voltages spread the points evenly along the line. Several radii at one voltage separate an offset
//! of the radius from one of the voltage.

use super::record::{Expected, LessonSetting};
use crate::pair::Tube;
use crate::physics::beam::parallax::magnification;
use crate::physics::beam::{BeamBench, PathLength, Setting, bias};
use crate::physics::may_flow::may_flow;
use crate::physics::safety::SafetyFigures;
use crate::units::{Dimension, brief, fixed, unit};
use crate::{Error, Result};
use std::borrow::Cow;

/// Largest number of settings in a lesson: the class sheet has this many rows with formulas.
pub const MOST_SETTINGS: usize = 60;

/// Number of suggested voltages, and of radii at each.
const EACH: u32 = 3;
/// Largest suggested circle, as a fraction of the largest that fits in the bulb; leaves room for the width of the glow.
const INSIDE: f64 = 0.95;
/// Smallest suggested circle, as a fraction of the largest, unless a current limit makes it larger.
const SMALLEST: f64 = 0.55;
/// At the highest suggested voltage, the current limit must still allow a circle this small, as a fraction of the
/// largest. Radii closer together than that are not worth taking.
const WORTHWHILE: f64 = 0.85;
/// Gun voltages if the spec states no range: common practice, no source.
const USUAL_VOLT: [f64; 2] = [150.0, 250.0];
/// Step of the ammeter if the spec does not describe one: common practice, no source.
const USUAL_AMMETER_STEP_AMPERE: f64 = 0.01;
/// Standard uncertainty of a radius if the spec states none: common practice, no source.
const USUAL_RADIUS_UNCERTAINTY_M: f64 = 1e-3;

/// A setting with the gun in the beam plane.
pub(super) fn level(gun_voltage_volt: f64, current_ampere: f64) -> Setting {
    Setting { gun_voltage_volt, current_ampere, gun_tilt_rad: 0.0 }
}

/// The bench, with its tube turned by half a turn if `turned`.
pub(super) fn with_tube<'a, 'b>(beams: &'b BeamBench<'a>, turned: bool) -> Cow<'b, BeamBench<'a>> {
    match turned {
        false => Cow::Borrowed(beams),
        true => {
            let mut other = beams.clone();
            other.tube = beams.tube.turned_half_round();
            Cow::Owned(other)
        }
    }
}

/// The settings asked for, each with the tube in a position in which the beam comes round.
pub(super) fn given(
    beams: &BeamBench<'_>,
    settings: &[[f64; 2]],
    safety: &SafetyFigures,
) -> Result<Vec<LessonSetting>> {
    if settings.len() > MOST_SETTINGS {
        return Err(Error::value_with_hint(
            format!("{} settings are asked for, and a lesson takes {MOST_SETTINGS} at most", settings.len()),
            "three gun voltages by three radii by both directions of the current are eighteen",
        ));
    }
    for setting in settings {
        within_the_bench(beams, *setting, safety)?;
    }
    settings
        .iter()
        .map(|&[volt, ampere]| {
            setting(beams, volt, ampere)?.ok_or_else(|| {
                Error::value_with_hint(
                    format!(
                        "at {} and {} the beam does not come round inside the bulb",
                        fixed(volt, unit::VOLT, 0),
                        fixed(ampere, unit::AMPERE, 2)
                    ),
                    "more current or a lower gun voltage makes the circle smaller; without --settings some that fit are \
                     suggested",
                )
            })
        })
        .collect()
}

/// Refuses a setting that supply, coils or tube do not allow.
fn within_the_bench(beams: &BeamBench<'_>, [volt, ampere]: [f64; 2], safety: &SafetyFigures) -> Result<()> {
    if let Some([low, high]) = beams.tube.gun_voltage_volt
        && !(low * (1.0 - 1e-9)..=high * (1.0 + 1e-9)).contains(&volt)
    {
        let [shown, low, high] = [volt, low, high].map(|volt| brief(volt, Dimension::Voltage));
        return Err(Error::value_with_hint(
            format!("--settings: {shown} is outside the tube's range of gun voltage, {low} to {high}"),
            format!("name voltages from {low} to {high}; `tube.gun_voltage` of the spec states the range"),
        ));
    }
    may_flow(beams.bench(), safety, ampere).map(|_| ()).map_err(|error| error.of_option("--settings"))
}

/// A setting with what to expect. `None` if the beam does not come round in either position of the tube.
fn setting(beams: &BeamBench<'_>, volt: f64, ampere: f64) -> Result<Option<LessonSetting>> {
    for tube_turned in [false, true] {
        let placed = with_tube(beams, tube_turned);
        if let Some(expected) = expected(&placed, &level(volt, ampere))? {
            return Ok(Some(LessonSetting {
                gun_voltage_volt: volt,
                current_ampere: ampere,
                tube_turned,
                expected,
            }));
        }
    }
    Ok(None)
}

fn expected(beams: &BeamBench<'_>, setting: &Setting) -> Result<Option<Expected>> {
    let path = beams.path(setting, PathLength::Circles(1))?;
    // The circle must clear the glass all the way round. The gun's body ends a closed circle from behind, which is as
    // it should be.
    let Some(read_radius_m) = path.read_radius_m().filter(|_| path.halt != crate::physics::beam::Halt::Bulb)
    else {
        return Ok(None);
    };
    let Some(bias) = bias(beams, setting)? else { return Ok(None) };
    let reading = beams.bench().reading.as_ref();
    let magnification = reading.map_or(Ok(1.0), magnification)?;
    let own_m =
        reading.and_then(|reading| reading.radius_uncertainty_m).unwrap_or(USUAL_RADIUS_UNCERTAINTY_M);
    let scale_diameter_m = 2.0 * read_radius_m * magnification;
    // r is proportional to 1/√(e/m), so its relative uncertainty is half that of e/m.
    let shared_m = 0.5 * bias.standard_uncertainty_fraction * scale_diameter_m;
    Ok(Some(Expected {
        read_radius_m,
        scale_diameter_m,
        scale_diameter_standard_uncertainty_m: (2.0 * own_m).hypot(shared_m),
        shared_standard_uncertainty_fraction: bias.standard_uncertainty_fraction,
        apparent_charge_to_mass_coulomb_per_kg: bias.apparent_charge_to_mass_coulomb_per_kg,
        bias_fraction: bias.bias_fraction,
        corrected_bias_fraction: bias.with_beam_radius_correction_fraction,
    }))
}

/// The suggested settings. They keep to `continuous_ampere`, the continuous current to rely on, if enough spread of
/// radii remains within it; otherwise to the supply's limit.
///
/// # Errors
/// If no such settings come round in the bulb within the supply's limit.
pub(super) fn suggested(beams: &BeamBench<'_>, continuous_ampere: Option<f64>) -> Result<Vec<LessonSetting>> {
    let supply_ampere =
        beams.bench().supply.and_then(|supply| supply.current_limit_ampere).unwrap_or(f64::INFINITY);
    let limits = [continuous_ampere.map(|ampere| ampere.min(supply_ampere)), Some(supply_ampere)];
    for limit_ampere in limits.into_iter().flatten() {
        let mut shrink = 1.0;
        for _ in 0..12 {
            if let Some(settings) = grid(beams, limit_ampere, shrink)? {
                return Ok(settings);
            }
            shrink *= 0.97;
        }
    }
    Err(Error::value_with_hint(
        "no gun voltages and currents were found at which the beam comes round both ways inside the bulb and under the \
         supply's limit",
        "name settings with --settings \"200 V 1.4 A, ...\"; `orbit SPEC --chart` shows what fits",
    ))
}

/// Radius of the largest circle that fits in the bulb for both current directions, with the tube turned where that
/// helps.
fn largest_radius_m(tube: &Tube) -> f64 {
    let turned = tube.turned_half_round();
    let of = |side: f64| {
        [tube, &turned].into_iter().filter_map(|tube| tube.largest_radius_in_bulb_m(side)).fold(0.0, f64::max)
    };
    of(1.0).min(of(-1.0))
}

/// Three voltages by three radii by two directions, within a current limit and with the largest radius scaled by
/// `shrink`. `None` if a beam does not come round, or if the limit leaves too little spread of radii.
fn grid(beams: &BeamBench<'_>, limit_ampere: f64, shrink: f64) -> Result<Option<Vec<LessonSetting>>> {
    let tube = &beams.tube;
    let bulb_m = INSIDE * largest_radius_m(tube);
    let [smallest_m, largest_m] = tube.beam_radius_m.unwrap_or([SMALLEST * bulb_m, bulb_m]);
    let largest_m = shrink * largest_m.min(bulb_m);
    let k = beams.field_constant_tesla_per_ampere.abs();
    let rigidity = |volt: f64| beams.electron(volt).map(|electron| electron.rigidity_tesla_m());
    let [low, high] = tube.gun_voltage_volt.unwrap_or(USUAL_VOLT);
    // The highest voltage at which the limit still leaves enough spread of radii. V is proportional to the square of
    // the rigidity.
    let most = (WORTHWHILE * largest_m * k * limit_ampere / rigidity(high)?).powi(2) * high;
    let high = high.min(most);
    if high < 1.25 * low {
        return Ok(None);
    }
    let step = ammeter_step_ampere(beams);
    let mut settings = Vec::new();
    for i in 0..EACH {
        let volt = rounded_volt(low, high, i);
        let rigidity = rigidity(volt)?;
        let least_m = smallest_m.max(rigidity / (k * limit_ampere)).max(SMALLEST * largest_m);
        for j in 0..EACH {
            let radius_m = largest_m + (least_m - largest_m) * f64::from(j) / f64::from(EACH - 1);
            // Rounded so that neither the circle nor the current exceeds its limit.
            let exact = rigidity / (k * radius_m) / step;
            let steps = if j + 1 == EACH { (exact + 1e-9).floor() } else { (exact - 1e-9).ceil() };
            let ampere = steps * step;
            for current in [ampere, -ampere] {
                let Some(one) = setting(beams, volt, current)? else { return Ok(None) };
                settings.push(one);
            }
        }
    }
    let told_apart = |pair: &[LessonSetting]| {
        pair[0].gun_voltage_volt != pair[1].gun_voltage_volt
            || (pair[1].current_ampere - pair[0].current_ampere).abs() > 0.5 * step
    };
    let forward: Vec<LessonSetting> = settings.iter().step_by(2).cloned().collect();
    Ok(forward.windows(2).all(told_apart).then_some(settings))
}

fn ammeter_step_ampere(beams: &BeamBench<'_>) -> f64 {
    let step = beams.bench().ammeter.and_then(|meter| meter.resolution).filter(|step| *step > 0.0);
    step.unwrap_or(USUAL_AMMETER_STEP_AMPERE)
}

/// The i-th of the evenly spaced voltages, rounded to a value inside the range: to 5 V if the range is at least 40 V
/// wide, else to 1 V.
fn rounded_volt(low: f64, high: f64, i: u32) -> f64 {
    let exact = low + (high - low) * f64::from(i) / f64::from(EACH - 1);
    let step = if high - low >= 40.0 { 5.0 } else { 1.0 };
    let rounded = match i {
        0 => (exact / step).ceil(),
        _ if i + 1 == EACH => (exact / step).floor(),
        _ => (exact / step).round(),
    };
    rounded * step
}

/// A setting for the worked example, near the middle of the lesson's settings but different from all of them. Its
/// current is at most their largest one. Its gun voltage is inside the tube's range or, if the spec states none, at
/// most their highest. If the beam comes round at no such setting, the example is the lesson's first setting.
pub(super) fn example(beams: &BeamBench<'_>, settings: &[LessonSetting]) -> Result<LessonSetting> {
    let first = &settings[0];
    let last = settings.iter().rev().find(|one| one.current_ampere > 0.0).unwrap_or(first);
    let step = ammeter_step_ampere(beams);
    let middle_volt = (0.5 * (first.gun_voltage_volt + last.gun_voltage_volt)).round();
    let middle_steps = (0.5 * (first.current_ampere.abs() + last.current_ampere.abs()) / step).round();
    for by_volt in [7.0, -7.0, 3.0, -3.0, 0.0] {
        for by_steps in [3.0, -3.0, 1.0, -1.0] {
            let (volt, ampere) = (middle_volt + by_volt, middle_steps * step + by_steps * step);
            if may_be_example(&beams.tube, settings, [volt, ampere])
                && let Some(example) = setting(beams, volt, ampere)?
            {
                return Ok(example);
            }
        }
    }
    Ok(first.clone())
}

fn may_be_example(tube: &Tube, settings: &[LessonSetting], [volt, ampere]: [f64; 2]) -> bool {
    let most = |of: fn(&LessonSetting) -> f64| settings.iter().map(of).fold(0.0, f64::max);
    let [low, high] = tube.gun_voltage_volt.unwrap_or([0.0, most(|one| one.gun_voltage_volt)]);
    let is = |one: &LessonSetting| {
        one.gun_voltage_volt == volt && (one.current_ampere.abs() - ampere).abs() < 1e-9 * ampere
    };
    ampere > 0.0
        && ampere <= most(|one| one.current_ampere.abs())
        && volt > 0.0
        && (low..=high).contains(&volt)
        && !settings.iter().any(is)
}
