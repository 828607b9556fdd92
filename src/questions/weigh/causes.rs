//! Which runs stand out, what the runs have in common, and what is the likely cause.

use super::fit::{Fitted, Point, RoomAxial, fit};
use super::prepared::Prepared;
use super::record::{RoomSource, RunUncertainty, Weighing};
use super::shared::Shift;
use crate::Result;
use crate::numeric::line_fit::{LinePoint, fit_line};
use crate::numeric::student::two_sided_quantile;
use crate::units::{Dimension, display, fixed, length, scientific, unit};
use serde::Serialize;

/// The chance that a sound set of runs has any of them named.
const OUTLIER_LEVEL: f64 = 0.05;
/// A run whose e/m is so far off the others' is a gross misreading.
const GROSS: f64 = 0.4;
/// A trend or shift of so many standard uncertainties is named.
const TELLING: f64 = 2.5;

/// Something that stands out.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Finding {
    /// The likely cause: `room_field`, `scale_parallax`, `voltage_drop`, `misread_run` or `shared_error`.
    pub cause: &'static str,
    /// The lines of the runs it is about; empty when it is about all.
    pub lines: Vec<u64>,
    /// How many standard uncertainties stand behind it.
    pub standard_uncertainties: f64,
    /// The whole of it in words.
    pub sentence: String,
}

/// Marks the runs that stand out and says what the runs have in common.
pub(super) fn judge(weighing: &mut Weighing, prepared: &Prepared<'_>) -> Result<()> {
    let judged = Judged {
        points: prepared.points(&Shift::none())?,
        stated: weighing.run_uncertainty == RunUncertainty::Stated,
        room: match weighing.room_source {
            RoomSource::Runs => RoomAxial::Free,
            _ => RoomAxial::Held(weighing.room_axial_tesla),
        },
    };
    let everything = (0..judged.points.len()).collect();
    // Gross misreadings first: they would bend every trend.
    let usable = judged.rest(everything, GROSS)?;
    let mut trends: Vec<(Trend, Finding)> =
        [radius_trend(&judged, &usable), voltage_trend(&judged, &usable)].into_iter().flatten().collect();
    trends.sort_by(|a, b| b.1.standard_uncertainties.total_cmp(&a.1.standard_uncertainties));
    if let [_, (_, second)] = &mut trends[..] {
        second.sentence +=
            " Radius and voltage change together in these runs, so one of the two may mimic the other.";
    }
    // A run is no misreading for following what all runs follow.
    let judged = match trends.first() {
        Some((trend, _)) => judged.without(trend),
        None => judged,
    };
    let rest = judged.rest(usable.kept, 0.0)?;
    let mut findings = Vec::new();
    findings.extend(room(weighing));
    findings.extend(trends.into_iter().map(|(_, finding)| finding));
    for i in (0..judged.points.len()).filter(|i| !rest.kept.contains(i)) {
        weighing.runs[i].stands_out = true;
        findings.push(misread_run(&judged.points[i], i, prepared, &rest));
    }
    findings.extend(shared_error(weighing));
    weighing.findings = findings;
    Ok(())
}

/// The runs as the fit sees them, to be fitted again without some.
struct Judged {
    points: Vec<Point>,
    stated: bool,
    room: RoomAxial,
}

/// Runs that agree, by number, and what they give.
struct Rest {
    kept: Vec<usize>,
    fitted: Fitted,
    /// How many times the uncertainties put in are the right ones.
    scatter: f64,
}

impl Judged {
    fn fit(&self, kept: Vec<usize>) -> Result<Rest> {
        let points: Vec<Point> = kept.iter().map(|i| self.points[*i]).collect();
        let fitted = fit(&points, self.room)?;
        let nu = fitted.degrees_of_freedom as f64;
        let scatter = if self.stated || nu == 0.0 { 1.0 } else { (fitted.chi_square / nu).sqrt() };
        Ok(Rest { kept, fitted, scatter })
    }

    /// The same runs with a trend taken off: e/m goes as 1/r².
    fn without(&self, trend: &Trend) -> Self {
        let straightened = |(point, deviation): (&Point, &f64)| Point {
            radius_m: point.radius_m * (1.0 + deviation).max(0.1).sqrt(),
            ..*point
        };
        Self { points: self.points.iter().zip(&trend.deviations).map(straightened).collect(), ..*self }
    }

    /// Leaves out the run that stands out most from the others, if its e/m is at least `least_fraction` off theirs,
    /// then the next, a third of the runs at most.
    ///
    /// Stated uncertainties are set against the normal distribution, the scatter of the others against Student's, at
    /// [`OUTLIER_LEVEL`] shared among all runs (Bonferroni).
    fn rest(&self, kept: Vec<usize>, least_fraction: f64) -> Result<Rest> {
        let mut rest = self.fit(kept)?;
        while 3 * (self.points.len() - rest.kept.len()) < self.points.len() {
            let Some(worst) = self.standing_out(&rest) else { break };
            let others = rest.kept.iter().copied().filter(|i| *i != worst).collect();
            // Without it nothing may be left to part the room's field from e/m.
            let Ok(others) = self.fit(others) else { break };
            let ratio = self.points[worst].charge_to_mass(others.fitted.room_axial_tesla)
                / others.fitted.charge_to_mass;
            if (ratio - 1.0).abs() < least_fraction {
                break;
            }
            rest = others;
        }
        Ok(rest)
    }

    /// The run farthest from the rest, if farther than chance allows.
    fn standing_out(&self, rest: &Rest) -> Option<usize> {
        let (nu, count) = (rest.fitted.degrees_of_freedom as f64, self.points.len() as f64);
        if rest.scatter <= 0.0 || nu < if self.stated { 1.0 } else { 2.0 } {
            return None;
        }
        let others = if self.stated { f64::INFINITY } else { nu - 1.0 };
        let limit = two_sided_quantile(1.0 - OUTLIER_LEVEL / count, others).ok()?;
        let distances = rest.kept.iter().enumerate().map(|(place, &i)| {
            let own = (1.0 - rest.fitted.leverages[place]).max(1e-9).sqrt();
            let residual = rest.fitted.weighted_residuals[place] / (rest.scatter * own);
            // The scatter of all holds the run itself: take it out (externally studentised residual).
            let distance = if self.stated {
                residual.abs()
            } else {
                residual.abs() * ((nu - 1.0) / (nu - residual * residual).max(1e-9)).sqrt()
            };
            (i, distance)
        });
        distances.max_by(|a, b| a.1.total_cmp(&b.1)).filter(|(_, distance)| *distance > limit).map(|(i, _)| i)
    }
}

fn room(weighing: &Weighing) -> Option<Finding> {
    let uncertainty =
        weighing.room_axial_standard_uncertainty_tesla.filter(|uncertainty| *uncertainty > 0.0)?;
    if weighing.room_source != RoomSource::Runs {
        return None;
    }
    let found = weighing.room_axial_tesla;
    let microtesla = |tesla: f64| fixed(tesla, unit::MICROTESLA, 1);
    // e/m goes as 1/B²: what each run's would be by the coils' field alone.
    let moved = weighing.runs.iter().map(|run| {
        let direction = (weighing.line.slope_tesla_per_ampere * run.current_ampere).signum();
        ((run.field_tesla / (run.field_tesla - direction * found)).powi(2) - 1.0).abs()
    });
    let moved = moved.fold(0.0, f64::max);
    if let Some(spec) = weighing.spec_room_axial_tesla {
        let apart = (found - spec).abs() / uncertainty;
        if apart > TELLING {
            return Some(Finding {
                cause: "room_field",
                lines: Vec::new(),
                standard_uncertainties: apart,
                sentence: format!(
                    "Reversing the current shows a room field of {} along the axis, and the spec says {}: {apart:.1} \
                     standard uncertainties apart. Iron or a loudspeaker nearby, a bench turned since, or the sign of \
                     `room.field`.",
                    microtesla(found),
                    microtesla(spec)
                ),
            });
        }
    }
    let strength = found.abs() / uncertainty;
    (strength > TELLING).then(|| Finding {
        cause: "room_field",
        lines: Vec::new(),
        standard_uncertainties: strength,
        sentence: format!(
            "Reversing the current shifts e/m: a room field of {} along the axis, {strength:.1} standard uncertainties, \
             which would move e/m by up to {} in one direction. It is fitted and taken off here.",
            microtesla(found),
            display(moved, Dimension::Fraction, 2)
        ),
    })
}

/// How the relative deviation of the runs' e/m follows a quantity.
struct Trend {
    slope: f64,
    intercept: f64,
    /// The slope in its standard uncertainties, without its sign.
    strength: f64,
    /// What the trend says of each run's relative deviation.
    deviations: Vec<f64>,
}

/// Which deviation of a run's e/m, q, from the fitted one, Q, is laid a line through.
#[derive(Clone, Copy)]
enum Deviation {
    /// q/Q − 1.
    Direct,
    /// 1 − Q/q.
    Inverse,
}

impl Deviation {
    fn of(self, ratio: f64) -> f64 {
        match self {
            Self::Direct => ratio - 1.0,
            Self::Inverse => 1.0 - 1.0 / ratio,
        }
    }

    /// q/Q − 1, whichever deviation it was.
    fn direct(self, deviation: f64) -> f64 {
        match self {
            Self::Direct => deviation,
            Self::Inverse => 1.0 / (1.0 - deviation).max(0.1) - 1.0,
        }
    }
}

/// Lays a line through the deviations of the runs kept.
fn trend(
    judged: &Judged,
    rest: &Rest,
    deviation: Deviation,
    quantity: impl Fn(&Point) -> f64,
) -> Option<Trend> {
    if rest.kept.len() < 4 || rest.fitted.degrees_of_freedom < 2 {
        return None;
    }
    let points: Vec<LinePoint> = rest
        .kept
        .iter()
        .map(|i| &judged.points[*i])
        .map(|point| LinePoint {
            x: quantity(point),
            y: deviation.of(point.charge_to_mass(rest.fitted.room_axial_tesla) / rest.fitted.charge_to_mass),
            x_uncertainty: 0.0,
            y_uncertainty: 2.0 * rest.scatter * point.uncertainty_m / point.radius_m,
            covariance: 0.0,
        })
        .collect();
    let line = fit_line(&points).ok()?;
    let strength = line.slope.abs() / line.slope_uncertainty;
    (strength > TELLING && strength.is_finite()).then(|| Trend {
        slope: line.slope,
        intercept: line.intercept,
        strength,
        deviations: judged
            .points
            .iter()
            .map(|point| deviation.direct(line.intercept + line.slope * quantity(point)))
            .collect(),
    })
}

fn radius_trend(judged: &Judged, rest: &Rest) -> Option<(Trend, Finding)> {
    let trend = trend(judged, rest, Deviation::Direct, |point| point.radius_m)?;
    let finding = Finding {
        cause: "scale_parallax",
        lines: Vec::new(),
        standard_uncertainties: trend.strength,
        sentence: format!(
            "e/m {} with the radius, by {} for each 10 mm ({:.1} standard uncertainties): most likely the scale, \
             off the beam plane or seen at a slant (parallax), or another edge of the glow read on large circles.",
            if trend.slope > 0.0 { "grows" } else { "falls" },
            display(trend.slope.abs() * 0.01, Dimension::Fraction, 2),
            trend.strength,
        ),
    };
    Some((trend, finding))
}

/// A beam that gets V − δ where V is counted gives q = q₀ V/(V − δ): Q/q = (Q/q₀) (1 − δ/V) is a straight line in 1/V.
fn voltage_trend(judged: &Judged, rest: &Rest) -> Option<(Trend, Finding)> {
    let trend = trend(judged, rest, Deviation::Inverse, |point| 1.0 / point.voltage_volt)?;
    let lost_volt = trend.slope / (1.0 - trend.intercept);
    let finding = Finding {
        cause: "voltage_drop",
        lines: Vec::new(),
        standard_uncertainties: trend.strength,
        sentence: format!(
            "e/m changes with the gun voltage as if the beam got {} {} than was counted ({:.1} standard \
             uncertainties): most likely the voltage drop at the cathode, which `tube.gun_voltage_offset` takes off.",
            fixed(lost_volt.abs(), unit::VOLT, 1),
            if lost_volt > 0.0 { "less" } else { "more" },
            trend.strength,
        ),
    };
    Some((trend, finding))
}

/// One run against the others that agree.
fn misread_run(point: &Point, index: usize, prepared: &Prepared<'_>, rest: &Rest) -> Finding {
    let run = &prepared.file.runs[index];
    let (whole, room) = (rest.fitted.charge_to_mass, rest.fitted.room_axial_tesla);
    let ratio = point.charge_to_mass(room) / whole;
    let uncertainty = 2.0 * rest.scatter * point.uncertainty_m / point.radius_m;
    let near = |wanted: f64| (ratio / wanted - 1.0).abs() < 0.2;
    let reversed = point.charge_to_mass(-room) / whole;
    let cause = if near(0.25) {
        "a diameter written as a radius".to_owned()
    } else if near(4.0) {
        "a radius written as a diameter".to_owned()
    } else if (reversed - 1.0).abs() < uncertainty {
        "the sign of the current: with the other sign it would fit".to_owned()
    } else {
        format!(
            "one reading misread; a radius of {} on the scale in place of {} would fit",
            length(run.scale_radius_m * ratio.sqrt(), 1),
            length(run.scale_radius_m, 1)
        )
    };
    // The radius is what scatters; e/m goes as its square.
    let strength = (ratio.sqrt() - 1.0).abs() * 2.0 / uncertainty;
    Finding {
        cause: "misread_run",
        lines: vec![run.line],
        standard_uncertainties: strength,
        sentence: format!(
            "The run in line {} stands out: its e/m is {} off that of the others ({strength:.1} standard \
             uncertainties). Likely {cause}. It is counted all the same.",
            run.line,
            display(ratio - 1.0, Dimension::Fraction, 2),
        ),
    }
}

fn shared_error(weighing: &Weighing) -> Option<Finding> {
    let apart = weighing.difference_in_standard_uncertainties?;
    (apart.abs() > TELLING).then(|| Finding {
        cause: "shared_error",
        lines: Vec::new(),
        standard_uncertainties: apart.abs(),
        sentence: shared_error_sentence(weighing.difference_fraction, apart.abs()),
    })
}

/// An e/m so many times too large or too small is no error of reading.
const BEYOND_READING: f64 = 20.0;
/// How near to 2 or 1/2 the radii must be for a mix-up with diameters, as a fraction.
const NEAR_DOUBLE: f64 = 0.1;

/// What would explain an e/m that is off by a fraction of the accepted value.
///
/// ```text
/// e/m = 2 V/(k I r)²  ⇒  k, r: 1/√(1 + off) − 1,   V: off
/// ```
///
/// each the relative error that alone does it. None lies below −1.
fn shared_error_sentence(off: f64, apart: f64) -> String {
    let ratio = 1.0 + off;
    if !(1.0 / BEYOND_READING..=BEYOND_READING).contains(&ratio) {
        return format!(
            "e/m comes out {} times the accepted value, which no error of reading makes: columns may be \
             swapped, or a column may hold another unit than its heading says{}.",
            scientific(ratio, 2),
            unit_mix_up(ratio).map(|what| format!(" ({what} would do it)")).unwrap_or_default()
        );
    }
    let factor = 1.0 / ratio.sqrt();
    let percent = |fraction: f64| display(fraction.abs(), Dimension::Fraction, 2);
    let [inverse_root, voltage] = [percent(factor - 1.0), percent(off)];
    let mixed_up = if (factor / 2.0 - 1.0).abs() < NEAR_DOUBLE {
        " Radii about twice too large: diameters may stand under the heading of a radius."
    } else if (factor * 2.0 - 1.0).abs() < NEAR_DOUBLE {
        " Radii about half as large as they should be: radii may stand under the heading of a diameter."
    } else {
        ""
    };
    format!(
        "e/m comes out {voltage} {} than the accepted value, {apart:.1} standard uncertainties. Something shared by all \
         runs explains it: a field constant {inverse_root} too {}, radii read {inverse_root} too {}, or gun voltages \
         {voltage} too {}.{mixed_up}",
        if off > 0.0 { "higher" } else { "lower" },
        if off > 0.0 { "low" } else { "high" },
        if off > 0.0 { "small" } else { "large" },
        if off > 0.0 { "high" } else { "low" },
    )
}

/// The mix-up of units that makes e/m come out so many times too large, if one does within a factor of two.
fn unit_mix_up(ratio: f64) -> Option<&'static str> {
    let near = |power: f64| (ratio.log10() - power).abs() < 2f64.log10();
    [
        (-6.0, "milliamperes under a heading in amperes"),
        (-3.0, "kilovolts under a heading in volts"),
        (-2.0, "millimetres under a heading in centimetres"),
        (2.0, "centimetres under a heading in millimetres"),
        (3.0, "volts under a heading in kilovolts"),
        (6.0, "amperes under a heading in milliamperes, or metres under one in millimetres"),
    ]
    .into_iter()
    .find_map(|(power, what)| near(power).then_some(what))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_explanation_is_exact_and_never_more_than_all_of_a_quantity() {
        // e/m = 2 V/(k I r)²: radii doubled make a quarter, radii halved make four times the value.
        let low = shared_error_sentence(-0.75, 9.0);
        assert!(low.contains("constant 100 % too high, radii read 100 % too large"), "{low}");
        assert!(low.contains("gun voltages 75 % too low"), "{low}");
        assert!(low.contains("diameters may stand under the heading of a radius"), "{low}");
        let high = shared_error_sentence(3.0, 9.0);
        assert!(high.contains("constant 50 % too low, radii read 50 % too small"), "{high}");
        assert!(high.contains("gun voltages 300 % too high"), "{high}");
        assert!(high.contains("radii may stand under the heading of a diameter"), "{high}");
        // A small error: half of it, and no mix-up.
        let small = shared_error_sentence(0.02, 4.0);
        assert!(small.contains("constant 0.99 % too low, radii read 0.99 % too small"), "{small}");
        assert!(small.ends_with("or gun voltages 2.0 % too high."), "{small}");
        assert!(!shared_error_sentence(-0.5, 9.0).contains("may stand"));
    }

    #[test]
    fn an_error_of_many_orders_is_put_down_to_columns_or_units_not_to_readings() {
        for (ratio, what) in [
            (1.1e-6, "milliamperes under a heading in amperes"),
            (0.0098, "millimetres under a heading in centimetres"),
            (970.0, "volts under a heading in kilovolts"),
        ] {
            let sentence = shared_error_sentence(ratio - 1.0, 99.0);
            assert!(sentence.contains(what) && !sentence.contains('%'), "{sentence}");
        }
        let swapped = shared_error_sentence(4e-8 - 1.0, 99.0);
        assert!(swapped.contains("4.0e-8 times") && swapped.ends_with("its heading says."), "{swapped}");
    }
}
