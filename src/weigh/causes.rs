//! Which runs stand out, what the runs have in common, and what is the likely cause.

use super::fit::{Fitted, Point, RoomAxial, fit};
use super::prepared::Prepared;
use super::record::{RoomSource, RunUncertainty, Weighing};
use super::shared::Shift;
use crate::Result;
use crate::numeric::line_fit::{LinePoint, fit_line};
use crate::numeric::student::two_sided_quantile;
use crate::units::{Dimension, display, fixed, unit};
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
    let weakest = weighing.runs.iter().map(|run| run.field_tesla).fold(f64::INFINITY, f64::min);
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
            display(2.0 * found.abs() / weakest, Dimension::Fraction, 2)
        ),
    })
}

/// How the relative deviation of the runs' e/m follows a quantity.
struct Trend {
    slope: f64,
    /// The slope in its standard uncertainties, without its sign.
    strength: f64,
    /// What the trend says of each run's relative deviation.
    deviations: Vec<f64>,
}

/// Lays a line through the deviations of the runs kept.
fn trend(judged: &Judged, rest: &Rest, quantity: impl Fn(&Point) -> f64) -> Option<Trend> {
    if rest.kept.len() < 4 || rest.fitted.degrees_of_freedom < 2 {
        return None;
    }
    let points: Vec<LinePoint> = rest
        .kept
        .iter()
        .map(|i| &judged.points[*i])
        .map(|point| LinePoint {
            x: quantity(point),
            y: point.charge_to_mass(rest.fitted.room_axial_tesla) / rest.fitted.charge_to_mass - 1.0,
            x_uncertainty: 0.0,
            y_uncertainty: 2.0 * rest.scatter * point.uncertainty_m / point.radius_m,
            covariance: 0.0,
        })
        .collect();
    let line = fit_line(&points).ok()?;
    let strength = line.slope.abs() / line.slope_uncertainty;
    (strength > TELLING && strength.is_finite()).then(|| Trend {
        slope: line.slope,
        strength,
        deviations: judged.points.iter().map(|point| line.intercept + line.slope * quantity(point)).collect(),
    })
}

fn radius_trend(judged: &Judged, rest: &Rest) -> Option<(Trend, Finding)> {
    let trend = trend(judged, rest, |point| point.radius_m)?;
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

fn voltage_trend(judged: &Judged, rest: &Rest) -> Option<(Trend, Finding)> {
    let trend = trend(judged, rest, |point| 1.0 / point.voltage_volt)?;
    let finding = Finding {
        cause: "voltage_drop",
        lines: Vec::new(),
        standard_uncertainties: trend.strength,
        sentence: format!(
            "e/m changes with the gun voltage as if the beam got {} {} than was counted ({:.1} standard \
             uncertainties): most likely the voltage drop at the cathode, which `tube.gun_voltage_offset` takes off.",
            fixed(trend.slope.abs(), unit::VOLT, 1),
            if trend.slope > 0.0 { "less" } else { "more" },
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
            fixed(run.scale_radius_m * ratio.sqrt(), unit::MILLIMETRE, 1),
            fixed(run.scale_radius_m, unit::MILLIMETRE, 1)
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
    let off = weighing.difference_fraction;
    (apart.abs() > TELLING).then(|| Finding {
        cause: "shared_error",
        lines: Vec::new(),
        standard_uncertainties: apart.abs(),
        sentence: format!(
            "e/m comes out {} {} than the accepted value, {:.1} standard uncertainties. Something shared by all runs \
             explains it: a field constant {} too {}, radii read {} too {}, or gun voltages {} too {}.",
            display(off.abs(), Dimension::Fraction, 2),
            if off > 0.0 { "higher" } else { "lower" },
            apart.abs(),
            display(0.5 * off.abs(), Dimension::Fraction, 2),
            if off > 0.0 { "low" } else { "high" },
            display(0.5 * off.abs(), Dimension::Fraction, 2),
            if off > 0.0 { "small" } else { "large" },
            display(off.abs(), Dimension::Fraction, 2),
            if off > 0.0 { "high" } else { "low" },
        ),
    })
}
