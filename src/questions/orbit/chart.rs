//! The chart of beam radius against current for several gun voltages, and the table of the bench's own bias of e/m.

use super::notes;
use super::notes::Note;
use crate::error::Refused;
use crate::numeric::calendar::Day;
use crate::pair::{Model, Provenance, missing};
use crate::physics::beam::parallax::magnification;
use crate::physics::beam::{BeamBench, Bias, FieldLine, PathLength, Setting, bias};
use crate::physics::safety::SafetyFigures;
use crate::questions::words::notes::as_sentences;
use crate::{Error, Result};
use rayon::prelude::*;
use serde::Serialize;

/// Largest number of rows in the chart's table.
const TABLE_ROWS: f64 = 40.0;
/// Points of the curve for each row of the table.
const POINTS_PER_ROW: u32 = 4;
/// Step to which currents are rounded if the spec has no ammeter.
const USUAL_AMMETER_STEP_AMPERE: f64 = 0.01;

/// The chart of beam radius against current, to hang on the wall.
#[derive(Clone, Debug, Serialize)]
#[non_exhaustive]
pub struct RadiusChart {
    /// Program version and spec.
    pub provenance: Provenance,
    /// Figures that the cautions quote.
    pub safety: SafetyFigures,
    /// Geometry used: as built or nominal.
    pub model: Model,
    /// The calibration line that the class works with.
    pub line: FieldLine,
    /// Smallest and largest beam radius in use: the tube's range, or a quarter of the largest circle in the bulb up to
    /// that circle if the spec gives none.
    pub allowed_radius_m: [f64; 2],
    /// Radius of the largest uniform-field circle from this gun exit that fits in the bulb.
    pub largest_radius_in_bulb_m: f64,
    /// The supply's current limit. `None` if the spec states none.
    pub current_limit_ampere: Option<f64>,
    /// Factor by which a length in the beam plane appears longer on the scale that the spec describes.
    pub scale_magnification: f64,
    /// Step between the rows of the printed table.
    pub table_step_ampere: f64,
    /// One curve for each gun voltage.
    pub curves: Vec<ChartCurve>,
    /// Notes for the user.
    #[serde(serialize_with = "as_sentences")]
    pub notes: Vec<Note>,
}

/// The curve of one gun voltage.
#[derive(Clone, Debug, Serialize)]
#[non_exhaustive]
pub struct ChartCurve {
    /// Voltmeter reading.
    pub gun_voltage_volt: f64,
    /// Points in order of increasing current.
    pub points: Vec<ChartPoint>,
}

/// One point of the chart.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct ChartPoint {
    /// Ammeter reading.
    pub current_ampere: f64,
    /// The radius in the beam plane. `None` if the beam does not come round to the opposite crossing.
    pub read_radius_m: Option<f64>,
    /// √(2 m V/e)/(k I), computed from the meter readings.
    pub textbook_radius_m: f64,
    /// Whether `read_radius_m` lies within the chart's `allowed_radius_m`.
    pub allowed: bool,
}

/// What is asked of a chart or a table of settings.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct SettingsRequest {
    /// Gun voltages as the voltmeter shows them. Without any, those of the tube's range are taken.
    pub gun_voltages_volt: Vec<f64>,
    /// Currents as the ammeter shows them. Without any, those of the tube's beam radii are taken. A chart chooses its own.
    pub currents_ampere: Vec<f64>,
    /// Tilt of the gun out of the beam plane, for the table of bias.
    pub gun_tilt_rad: f64,
    /// The date to print, if any.
    pub date: Option<Day>,
}

/// Radius against current for the gun voltages asked for. Without any: the ends of the tube's range with round values
/// between, in steps of about a quarter of the range.
///
/// Every radius comes from an integrated orbit in the whole field, room field included; the orbit ends at the glass.
/// Currents are positive.
///
/// # Errors
/// If no gun voltage is given or known, if the gun points along the axis, or if no current up to the supply's limit
/// makes a circle that fits in the bulb.
pub fn chart(beams: &BeamBench<'_>, request: &SettingsRequest) -> Result<RadiusChart> {
    let voltages = voltages_or_range(beams, &request.gun_voltages_volt, 4.0)?;
    let side = beams.field_constant_tesla_per_ampere.signum();
    let largest_m = beams.tube.largest_radius_in_bulb_m(side).ok_or(Refused::GunAlongAxis)?;
    let allowed_radius_m = beams.tube.beam_radius_m.unwrap_or([0.25 * largest_m, largest_m]);
    let lowest_volt = voltages.iter().copied().fold(f64::INFINITY, f64::min);
    let highest_volt = voltages.iter().copied().fold(0.0, f64::max);
    let weakest = current_for_radius_ampere(beams, lowest_volt, allowed_radius_m[1].min(largest_m))?;
    let strongest = current_for_radius_ampere(beams, highest_volt, allowed_radius_m[0])?;
    let limit = beams.bench().supply.and_then(|supply| supply.current_limit_ampere);
    let (from, to) = (0.85 * weakest, (1.05 * strongest).min(limit.unwrap_or(f64::INFINITY)));
    if from >= to {
        return Err(Error::value_with_hint(
            format!(
                "no current up to {} makes a beam circle that fits the bulb at {lowest_volt} V",
                crate::units::display(to, crate::units::Dimension::Current, 3)
            ),
            "a lower gun voltage, a supply that gives more, or more turns would help",
        ));
    }
    let table_step_ampere = round_step((to - from) / TABLE_ROWS);
    let step = table_step_ampere / f64::from(POINTS_PER_ROW);
    let counts = (from / step).ceil() as u64..=(to / step + 1e-9).floor() as u64;
    let currents: Vec<f64> = counts.map(|count| count as f64 * step).collect();
    let curves = voltages
        .par_iter()
        .map(|&gun_voltage_volt| {
            let point = |&current_ampere: &f64| -> Result<ChartPoint> {
                let setting = Setting { gun_voltage_volt, current_ampere, gun_tilt_rad: 0.0 };
                let read_radius_m = beams.path(&setting, PathLength::HalfCircle)?.read_radius_m();
                Ok(ChartPoint {
                    current_ampere,
                    read_radius_m,
                    textbook_radius_m: beams.textbook_radius_m(&setting),
                    allowed: read_radius_m
                        .is_some_and(|radius| (allowed_radius_m[0]..=allowed_radius_m[1]).contains(&radius)),
                })
            };
            let points = currents.par_iter().map(point).collect::<Result<_>>()?;
            Ok(ChartCurve { gun_voltage_volt, points })
        })
        .collect::<Result<_>>()?;
    Ok(RadiusChart {
        provenance: Provenance::of(beams.bench(), request.date),
        safety: beams.safety(),
        model: beams.bench().model,
        line: beams.line.clone(),
        allowed_radius_m,
        largest_radius_in_bulb_m: largest_m,
        current_limit_ampere: limit,
        scale_magnification: beams.bench().reading.as_ref().map_or(Ok(1.0), magnification)?,
        table_step_ampere,
        curves,
        notes: notes::on_chart(beams),
    })
}

/// The bench's own bias of e/m at several gun voltages and currents.
#[derive(Clone, Debug, Serialize)]
#[non_exhaustive]
pub struct BiasTable {
    /// Program version and spec.
    pub provenance: Provenance,
    /// Figures that the cautions quote.
    pub safety: SafetyFigures,
    /// Geometry used: as built or nominal.
    pub model: Model,
    /// The calibration line that the class works with.
    pub line: FieldLine,
    /// One row for each setting.
    pub rows: Vec<BiasRow>,
    /// Lowest and highest bias if the centre field is used. `None` if the beam comes round at no setting.
    pub bias_range_fraction: Option<[f64; 2]>,
    /// Lowest and highest bias with the beam-radius correction.
    pub corrected_bias_range_fraction: Option<[f64; 2]>,
    /// Smallest and largest standard uncertainty of e/m from the meters, the gun-voltage offset and the line.
    pub standard_uncertainty_range_fraction: Option<[f64; 2]>,
    /// The cause whose part of the bias is the largest in size anywhere in the table.
    pub main_cause: Option<&'static str>,
    /// The part of the bias that this cause makes, with its sign.
    pub main_cause_fraction: Option<f64>,
    /// Notes for the user.
    #[serde(serialize_with = "as_sentences")]
    pub notes: Vec<Note>,
}

/// The bias at one setting.
#[derive(Clone, Debug, Serialize)]
#[non_exhaustive]
pub struct BiasRow {
    /// Voltmeter reading.
    pub gun_voltage_volt: f64,
    /// Ammeter reading.
    pub current_ampere: f64,
    /// The radius in the beam plane. `None` if the beam does not come round to the opposite crossing.
    pub read_radius_m: Option<f64>,
    /// The bias of a perfect reader. `None` if there is no radius to read.
    pub bias: Option<Bias>,
}

/// The bias at every combination of the gun voltages and currents asked for.
///
/// Without gun voltages: the ends of the tube's range with a round value between. Without currents: for each voltage
/// the currents that make the largest, middle and smallest beam radius, rounded to the ammeter's step. Those beyond the
/// supply's limit are left out.
pub fn bias_table(beams: &BeamBench<'_>, request: &SettingsRequest) -> Result<BiasTable> {
    let gun_tilt_rad = request.gun_tilt_rad;
    let mut settings = Vec::new();
    for gun_voltage_volt in voltages_or_range(beams, &request.gun_voltages_volt, 2.0)? {
        let currents = match &request.currents_ampere[..] {
            [] => usual_currents_ampere(beams, gun_voltage_volt, 3)?,
            given => given.to_vec(),
        };
        let setting = |current_ampere| Setting { gun_voltage_volt, current_ampere, gun_tilt_rad };
        settings.extend(currents.into_iter().map(setting));
    }
    if settings.is_empty() {
        return Err(Error::value_with_hint(
            "at none of these gun voltages does the supply reach a current that makes the beam's circle",
            "lower the gun voltage, or name the currents with --current",
        ));
    }
    let row = |setting: &Setting| -> Result<BiasRow> {
        Ok(BiasRow {
            gun_voltage_volt: setting.gun_voltage_volt,
            current_ampere: setting.current_ampere,
            read_radius_m: beams.path(setting, PathLength::HalfCircle)?.read_radius_m(),
            bias: bias(beams, setting)?,
        })
    };
    let rows: Vec<BiasRow> = settings.par_iter().map(row).collect::<Result<_>>()?;
    let found = || rows.iter().filter_map(|row| row.bias.as_ref());
    let main =
        found().flat_map(|bias| bias.parts.named()).max_by(|(_, a), (_, b)| a.abs().total_cmp(&b.abs()));
    Ok(BiasTable {
        provenance: Provenance::of(beams.bench(), request.date),
        safety: beams.safety(),
        model: beams.bench().model,
        line: beams.line.clone(),
        bias_range_fraction: range(found().map(|bias| bias.bias_fraction)),
        corrected_bias_range_fraction: range(
            found().filter_map(|bias| bias.with_beam_radius_correction_fraction),
        ),
        standard_uncertainty_range_fraction: range(found().map(|bias| bias.standard_uncertainty_fraction)),
        main_cause: main.map(|(cause, _)| cause),
        main_cause_fraction: main.map(|(_, part)| part),
        notes: notes::on_bias(beams),
        rows,
    })
}

fn range(values: impl Iterator<Item = f64>) -> Option<[f64; 2]> {
    values.fold(None, |range, value| match range {
        None => Some([value, value]),
        Some([low, high]) => Some([low.min(value), high.max(value)]),
    })
}

/// The given voltages, or the ends of the tube's range with round values between, in about `parts` intervals.
pub(super) fn voltages_or_range(beams: &BeamBench<'_>, given: &[f64], parts: f64) -> Result<Vec<f64>> {
    if !given.is_empty() {
        for &volt in given {
            beams.electron(volt)?;
        }
        return Ok(given.to_vec());
    }
    let Some([low, high]) = beams.tube.gun_voltage_volt else {
        return Err(missing("tube.gun_voltage", "no --gun-voltage was given either"));
    };
    let step = round_step((high - low) / parts);
    let mut voltages = vec![low];
    if step > 0.0 {
        let between = (low / step).ceil() as u64..=(high / step).floor() as u64;
        let clear = |volt: &f64| volt - low >= 0.5 * step && high - volt >= 0.5 * step;
        voltages.extend(between.map(|count| count as f64 * step).filter(clear));
        voltages.push(high);
    }
    for &volt in &voltages {
        beams.electron(volt)?;
    }
    Ok(voltages)
}

/// The currents that make `count` beam radii, evenly spaced from the largest to the smallest and rounded to the
/// ammeter's step. Those beyond the supply's limit are left out.
pub(super) fn usual_currents_ampere(
    beams: &BeamBench<'_>,
    gun_voltage_volt: f64,
    count: u32,
) -> Result<Vec<f64>> {
    let [smallest, largest] = beams.tube.beam_radius_m.ok_or_else(|| {
        missing("tube.beam_radius", "the currents to take come from it unless --current gives them")
    })?;
    let limit = beams.bench().supply.and_then(|supply| supply.current_limit_ampere).unwrap_or(f64::INFINITY);
    let step = beams.bench().ammeter.and_then(|meter| meter.resolution).unwrap_or(USUAL_AMMETER_STEP_AMPERE);
    let mut currents = Vec::new();
    for i in 0..count {
        let radius = largest + (smallest - largest) * f64::from(i) / f64::from(count - 1);
        let exact = current_for_radius_ampere(beams, gun_voltage_volt, radius)?;
        let current = if step > 0.0 { (exact / step).round() * step } else { exact };
        if current > 0.0 && current <= limit {
            currents.push(current);
        }
    }
    Ok(currents)
}

/// The current that makes this radius in a uniform field of the centre's strength.
fn current_for_radius_ampere(beams: &BeamBench<'_>, gun_voltage_volt: f64, radius_m: f64) -> Result<f64> {
    let rigidity = beams.electron(gun_voltage_volt)?.rigidity_tesla_m();
    Ok(rigidity / (radius_m * beams.field_constant_tesla_per_ampere.abs()))
}

/// The smallest number of the form 1, 2 or 5 times a power of ten that is not below `step`; 0 if `step` is not positive
/// and finite.
fn round_step(step: f64) -> f64 {
    if !(step > 0.0 && step.is_finite()) {
        return 0.0;
    }
    let power = 10f64.powi(step.log10().floor() as i32);
    [1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .map(|digit| digit * power)
        .find(|round| *round >= step * (1.0 - 1e-9))
        .unwrap_or(10.0 * power)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pair::{Bench, Regulation, Supply};
    use crate::physics::beam::tube_bench;
    use approx::assert_relative_eq;
    use nalgebra::Vector3;

    fn bench() -> Bench {
        Bench {
            supply: Some(Supply {
                voltage_limit_volt: Some(30.0),
                current_limit_ampere: Some(2.5),
                regulation: Regulation::Current,
            }),
            ..tube_bench(Vector3::new(0.045, 0.0, 0.0))
        }
    }

    #[test]
    fn radius_grows_as_the_root_of_the_voltage_and_falls_as_one_over_the_current() {
        // Common practice, no source. Exact in a uniform field; this field varies by less than 1 % over these circles.
        let bench = bench();
        let beams = BeamBench::prepare(&bench, None).unwrap();
        let chart = chart(
            &beams,
            &SettingsRequest { gun_voltages_volt: vec![100.0, 225.0], ..SettingsRequest::default() },
        )
        .unwrap();
        let [slow, fast] = &chart.curves[..] else { panic!("two curves") };
        let mut compared = 0;
        for (a, b) in slow.points.iter().zip(&fast.points).filter(|(a, b)| a.allowed && b.allowed) {
            assert_relative_eq!(
                b.read_radius_m.unwrap() / a.read_radius_m.unwrap(),
                1.5,
                max_relative = 0.01
            );
            compared += 1;
        }
        assert!(compared > 20, "{compared}");
        let first = slow.points.iter().find(|point| point.allowed).unwrap();
        let last = slow.points.last().unwrap();
        let product = |point: &ChartPoint| point.current_ampere * point.read_radius_m.unwrap();
        assert_relative_eq!(product(first), product(last), max_relative = 0.01);
        assert!(last.current_ampere <= 2.5);
        let rows = (last.current_ampere - slow.points[0].current_ampere) / chart.table_step_ampere;
        assert!((8.0..=41.0).contains(&rows), "{rows}");
    }

    #[test]
    fn voltages_between_the_limits_are_round_and_the_given_ones_stay() {
        let bench = bench();
        let beams = BeamBench::prepare(&bench, None).unwrap();
        assert_eq!(voltages_or_range(&beams, &[], 4.0).unwrap(), [90.0, 150.0, 200.0, 250.0, 280.0]);
        assert_eq!(voltages_or_range(&beams, &[123.0], 4.0).unwrap(), [123.0]);
        assert!(voltages_or_range(&beams, &[-5.0], 4.0).is_err());
    }

    #[test]
    fn the_bias_table_covers_voltages_and_radii_and_names_the_main_cause() {
        let bench = bench();
        let beams = BeamBench::prepare(&bench, None).unwrap();
        let table = bias_table(&beams, &SettingsRequest::default()).unwrap();
        assert!(table.rows.len() >= 7, "{}", table.rows.len());
        assert!(table.rows.iter().all(|row| row.bias.is_some() && row.current_ampere <= 2.5));
        assert_eq!(table.main_cause, Some("non-uniformity"));
        let [low, high] = table.corrected_bias_range_fraction.unwrap();
        assert!(low > -4e-4 && high < 0.0, "only relativity remains: {low} {high}");
        let asked = SettingsRequest {
            gun_voltages_volt: vec![150.0],
            currents_ampere: vec![1.2, -1.2],
            ..SettingsRequest::default()
        };
        let given = bias_table(&beams, &asked).unwrap();
        assert_eq!(given.rows.len(), 2);
        assert!(given.rows[0].bias.is_some() && given.rows[1].bias.is_none());
    }

    #[test]
    fn steps_are_one_two_five() {
        for (step, wanted) in [(0.011, 0.02), (0.05, 0.05), (0.3, 0.5), (0.7, 1.0), (37.5, 50.0)] {
            assert_relative_eq!(round_step(step), wanted, max_relative = 1e-12);
        }
        assert_eq!(round_step(0.0), 0.0);
    }
}
