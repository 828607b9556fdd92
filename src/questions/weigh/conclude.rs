//! Turns probabilities into findings: each class with its members, their sizes, and the measurement that separates
//! them.

use super::course::Course;
use super::finding::{Candidate, Cause, Detail, Finding, Measure, MixUp, Suspect};
use super::fit::Point;
use super::hypotheses::Hypothesis;
use super::judge::CLAIMED;
use super::outcome::Reduced;
use super::prepared::Prepared;
use super::record::{Evaluation, RoomSource};
use super::several::Misread;
use super::shift::Shift;
use super::{RadiusPlace, Run, Runs};
use crate::Result;
use crate::judgement::{Class, Member};
use crate::pair::AmmeterPosition;
use crate::physics::beam::BeamBench;

/// Relative errors larger than these do not come from a meter, a scale or a computed field constant (common practice,
/// no source).
const PLAUSIBLE_FACTOR: f64 = 0.1;
const PLAUSIBLE_METER_FACTOR: f64 = 0.05;
/// Relative distance within which a ratio counts as that of a mix-up.
const NEAR: f64 = 0.2;
/// An e/m that differs by more than this factor cannot come from misread radii: columns or units are mixed up.
const BEYOND_READING: f64 = 20.0;

/// The findings, most probable first.
pub(super) fn findings(
    beams: &BeamBench<'_>,
    prepared: &Prepared<'_>,
    course: &Course,
    others: &Reduced,
) -> Result<Vec<Finding>> {
    let points = prepared.points(&Shift::none())?;
    let beside = |others, class: &Class<Hypothesis>, places: &[usize]| Scene {
        beams,
        prepared,
        points: &points,
        others,
        places: places.to_vec(),
        class: class.clone(),
    };
    let about = |class: &Class<Hypothesis>, places: &[usize]| beside(&others.outcome, class, places);
    let mut found: Vec<Finding> = course
        .misread
        .iter()
        .map(|Misread { class, place }| about(class, &[*place]).finding(class.first()))
        .collect();
    let mut perhaps = Vec::new();
    if let Some((misread, others)) = &course.perhaps {
        perhaps.extend(misread.iter().map(|one| one.place));
        let each = misread.iter();
        found.extend(
            each.map(|one| beside(&others.outcome, &one.class, &[one.place]).finding(one.class.first())),
        );
    }
    let shared = |probability: f64| shared_error(&others.outcome, prepared.magnification, probability);
    for class in course.named() {
        let places: Vec<usize> = class
            .members
            .iter()
            .filter_map(|member| match member.cause {
                Hypothesis::MisreadRun(place) => Some(course.kept[place]),
                _ => None,
            })
            .collect();
        // A run is told once.
        if matches!(class.first().cause, Hypothesis::MisreadRun(_))
            && places.iter().all(|place| perhaps.contains(place))
        {
            continue;
        }
        if class.contains(&Hypothesis::Level) && course.level_shows() {
            let mut finding = shared(class.probability);
            let scene = about(class, &places);
            let of_level =
                scene.candidates().zip(&class.members).filter(|(_, of)| of.cause != Hypothesis::Level);
            finding.members.extend(of_level.map(|(one, _)| one));
            (finding.lines, finding.labels) = scene.lines_and_labels();
            let electric = |member: &Member<Hypothesis>| {
                matches!(member.cause, Hypothesis::AmmeterZero(_) | Hypothesis::RoomField) && member.possible
            };
            if !prepared.has_both_directions() && class.members.iter().any(electric) {
                finding.measure = Measure::ReverseCurrent;
            }
            name_after_what_can_be(&mut finding, class);
            found.push(finding);
            continue;
        }
        // Without the run, e/m is not off.
        let of_run = |member: &&Member<Hypothesis>| matches!(member.cause, Hypothesis::MisreadRun(_));
        let named = match class.contains(&Hypothesis::Level) {
            true => class.members.iter().find(of_run).unwrap_or(class.first()),
            false => class.first(),
        };
        found.push(about(class, &places).finding(named));
    }
    found.extend(unstated_room(beams, course, &others.outcome));
    if !prepared.has_both_directions() {
        let direction = points.first().map_or(1.0, |point| point.direction);
        found.iter_mut().flat_map(|finding| &mut finding.members).for_each(|it| unreversed(it, direction));
    }
    found.sort_by(|a, b| b.probability.total_cmp(&a.probability));
    Ok(found)
}

/// Names a finding about all runs after the best fit of a possible size, if no error that all runs share has one.
fn name_after_what_can_be(finding: &mut Finding, class: &Class<Hypothesis>) {
    let is_level = |member: &Member<Hypothesis>| member.cause == Hypothesis::Level;
    let of_level = finding.members.len() + 1 - class.members.len();
    let mix_up = matches!(finding.detail, Detail::All { mix_up: Some(_) });
    let possible = class.members.iter().find(|member| member.possible && !is_level(member));
    if let Some(named) = possible.filter(|_| !mix_up)
        && finding.members[..of_level].iter().all(|member| !member.possible)
    {
        (finding.cause, ..) = named.cause.described();
        finding.members.sort_by_key(|member| !member.possible);
    }
}

/// Renames the ammeter's zero if the current was never reversed, because the ammeter then stands on neither side of a
/// reversal.
fn unreversed(member: &mut Candidate, direction: f64) {
    match member.suspect {
        Suspect::AmmeterZeroBeforeReversal => member.suspect = Suspect::AmmeterZero,
        Suspect::AmmeterZeroAfterReversal => {
            (member.suspect, member.size) = (Suspect::AmmeterZero, direction * member.size);
        }
        _ => {}
    }
}

/// A class of faults among the runs, with what its finding needs.
struct Scene<'a> {
    beams: &'a BeamBench<'a>,
    prepared: &'a Prepared<'a>,
    points: &'a [Point],
    /// The result without the runs found misread.
    others: &'a Evaluation,
    /// Indices of the runs that the class is about.
    places: Vec<usize>,
    class: Class<Hypothesis>,
}

impl Scene<'_> {
    fn finding(&self, first: &Member<Hypothesis>) -> Finding {
        let (cause, ..) = first.cause.described();
        let is_run = |member: &&Member<Hypothesis>| matches!(member.cause, Hypothesis::MisreadRun(_));
        // The value that would fit is told of the run that the class is named after, and of a single run in any class.
        let of_run = match (&self.places[..], is_run(&first)) {
            ([place, ..], true) => Some((*place, first)),
            ([place], false) => self.class.members.iter().find(is_run).map(|member| (*place, member)),
            _ => None,
        };
        let detail =
            of_run.map_or(Detail::All { mix_up: None }, |(place, member)| self.of_run(place, member));
        let mut members: Vec<Candidate> = self.candidates().collect();
        if let (Detail::Run { fitting_gun_voltage_volt, fitting_current_ampere, .. }, [place, ..]) =
            (&detail, &self.places[..])
        {
            let run = self.prepared.run(*place);
            members.extend(other_columns(run, *fitting_gun_voltage_volt, *fitting_current_ampere));
        }
        let (lines, labels) = self.lines_and_labels();
        Finding {
            cause,
            probability: self.class.probability,
            standard_uncertainties: (first.size / first.standard_uncertainty).abs(),
            lines,
            labels,
            measure: self.measure(),
            members,
            detail,
        }
    }

    /// The members as candidates, in the same order; those about one run with its line.
    fn candidates(&self) -> impl Iterator<Item = Candidate> {
        let mut places = self.places.iter();
        self.class.members.iter().map(move |member| {
            let of_run = matches!(member.cause, Hypothesis::MisreadRun(_));
            let place = if of_run { places.next() } else { None };
            Candidate { line: place.map(|place| self.prepared.run(*place).line), ..candidate(member) }
        })
    }

    /// Lines and labels of the runs that the class is about.
    fn lines_and_labels(&self) -> (Vec<u64>, Vec<String>) {
        let runs = || self.places.iter().map(|place| self.prepared.run(*place));
        (runs().map(|run| run.line).collect(), runs().filter_map(|run| run.label.clone()).collect())
    }

    /// The detail of one run: its values, compared with what the other runs predict.
    fn of_run(&self, place: usize, member: &Member<Hypothesis>) -> Detail {
        let run = self.prepared.run(place);
        let point = &self.points[place];
        let (whole, room) = (self.others.charge_to_mass_coulomb_per_kg, self.others.room_axial_tesla);
        let ratio = point.charge_to_mass(room) / whole;
        // Converted back to the column that was filled in.
        let factor = match run.radius_place {
            RadiusPlace::Scale => self.prepared.magnification,
            RadiusPlace::BeamPlane => 1.0,
        };
        let field = point.field_tesla + point.direction * room;
        let coils = (field * ratio.sqrt() - point.direction * room) / point.field_tesla;
        Detail::Run {
            own_difference_fraction: ratio - 1.0,
            fitting_radius_m: fitting_radius_m(self.beams, run, whole, room)
                .unwrap_or(run.radius_m * ratio.sqrt()),
            fitting_radius_standard_uncertainty_m: factor * member.standard_uncertainty,
            fitting_gun_voltage_volt: run.gun_voltage_volt + point.voltage_volt * (1.0 / ratio - 1.0),
            fitting_current_ampere: run.current_ampere * coils,
            mix_up: self.slip(point, ratio, member.standard_uncertainty),
        }
    }

    fn slip(&self, point: &Point, ratio: f64, uncertainty_m: f64) -> Option<MixUp> {
        let near = |wanted: f64| (ratio / wanted - 1.0).abs() < NEAR;
        let (whole, room) = (self.others.charge_to_mass_coulomb_per_kg, self.others.room_axial_tesla);
        let reversed = (point.charge_to_mass(-room) / whole - 1.0).abs();
        // The relative uncertainty of e/m is twice that of the radius.
        let allowed = 4.0 * uncertainty_m / point.radius_m;
        if near(0.25) {
            Some(MixUp::DiameterAsRadius)
        } else if near(4.0) {
            Some(MixUp::RadiusAsDiameter)
        } else if reversed < allowed && (ratio - 1.0).abs() > 2.0 * allowed {
            Some(MixUp::CurrentSign)
        } else {
            None
        }
    }

    fn measure(&self) -> Measure {
        let has =
            |wanted: fn(&Hypothesis) -> bool| self.class.members.iter().any(|member| wanted(&member.cause));
        let electric = has(|one| matches!(one, Hypothesis::AmmeterZero(_) | Hypothesis::RoomField));
        if has(|one| matches!(one, Hypothesis::MisreadRun(_))) {
            Measure::RepeatRuns
        } else if electric && !self.prepared.has_both_directions() {
            Measure::ReverseCurrent
        } else if electric {
            Measure::AmmeterAndRoomAtRest
        } else {
            Measure::VaryRadiusAndVoltage
        }
    }
}

/// Value of the radius column with which the run gives this e/m: r √(own e/m over that), computed again on the circle
/// found, because the field depends on where the circle lies. `None` if that circle cannot be followed.
fn fitting_radius_m(beams: &BeamBench<'_>, run: &Run, charge_to_mass: f64, room_tesla: f64) -> Option<f64> {
    let mut alone = Runs {
        path: "".into(),
        sheet: None,
        runs: vec![run.clone()],
        left_out: Vec::new(),
        without_circle: 0,
    };
    for _ in 0..6 {
        let point = Prepared::of(beams, &alone, room_tesla).ok()?.points(&Shift::none()).ok()?[0];
        alone.runs[0].radius_m *= (point.charge_to_mass(room_tesla) / charge_to_mass).sqrt();
    }
    Some(alone.runs[0].radius_m).filter(|radius_m| radius_m.is_finite())
}

fn candidate(member: &Member<Hypothesis>) -> Candidate {
    let (_, suspect, unit) = member.cause.described();
    Candidate {
        suspect,
        size: member.size,
        unit,
        standard_uncertainty: Some(member.standard_uncertainty).filter(|u| u.is_finite()),
        possible: member.possible,
        line: None,
    }
}

/// The run's voltage and current, either of which would explain it as well as its radius.
fn other_columns(run: &Run, fitting_volt: f64, fitting_ampere: f64) -> [Candidate; 2] {
    let plausible = |read: f64, fitting: f64| {
        fitting.is_finite() && fitting > 0.0 && {
            let ratio = read / fitting;
            (1.0 / BEYOND_READING..=BEYOND_READING).contains(&ratio)
        }
    };
    let one = |suspect, size: f64, unit, possible| Candidate {
        suspect,
        size,
        unit,
        standard_uncertainty: None,
        possible,
        line: Some(run.line),
    };
    let (read_volt, read_ampere) = (run.gun_voltage_volt, run.current_ampere);
    [
        one(Suspect::GunVoltageReading, read_volt - fitting_volt, "V", plausible(read_volt, fitting_volt)),
        one(
            Suspect::CurrentReading,
            read_ampere - fitting_ampere,
            "A",
            plausible(read_ampere.abs(), fitting_ampere * read_ampere.signum()),
        ),
    ]
}

/// Candidates for an e/m that deviates by more than the errors that all runs share. Each alone would explain it.
///
/// ```text
/// e/m = 2 V/(k I r)²  ⇒  k, I, r: 1/√(1 + off) − 1,   V: off
/// ```
fn shared_error(outcome: &Evaluation, magnification: f64, probability: f64) -> Finding {
    let ratio = 1.0 + outcome.difference_fraction;
    let (inverse_root, voltage) = (ratio.sqrt().recip() - 1.0, ratio - 1.0);
    let one = |suspect, size: f64, largest: f64| Candidate {
        suspect,
        size,
        unit: "1",
        standard_uncertainty: None,
        possible: size.abs() <= largest,
        line: None,
    };
    let mut members = vec![
        one(Suspect::RadiusFactor, inverse_root, PLAUSIBLE_FACTOR),
        one(Suspect::FieldConstant, inverse_root, PLAUSIBLE_FACTOR),
        one(Suspect::AmmeterGain, inverse_root, PLAUSIBLE_METER_FACTOR),
        one(Suspect::VoltmeterGain, voltage, PLAUSIBLE_METER_FACTOR),
    ];
    // Radii corrected for parallax twice are too small by the magnification.
    let own = outcome.charge_to_mass_standard_uncertainty_coulomb_per_kg.unwrap_or(0.0)
        / outcome.charge_to_mass_coulomb_per_kg;
    let corrected_twice = magnification * magnification;
    if magnification != 1.0 && (ratio / corrected_twice - 1.0).abs() <= 2.0 * own {
        members.insert(0, one(Suspect::RadiiInBeamPlane, magnification.recip() - 1.0, PLAUSIBLE_FACTOR));
    }
    let mix_up = shared_mix_up(ratio);
    let of_radius = [
        MixUp::DiameterAsRadius,
        MixUp::RadiusAsDiameter,
        MixUp::MillimetreAsCentimetre,
        MixUp::CentimetreAsMillimetre,
    ];
    Finding {
        cause: match mix_up {
            Some(mix_up) if of_radius.contains(&mix_up) => Cause::RadiusFactor,
            _ => Cause::SharedError,
        },
        probability,
        standard_uncertainties: outcome.difference_in_standard_uncertainties.unwrap_or(0.0).abs(),
        lines: Vec::new(),
        labels: Vec::new(),
        members,
        measure: Measure::CheckChain,
        detail: Detail::All { mix_up },
    }
}

/// The mix-up that multiplies every e/m by about `ratio`: within a fifth for diameters as radii, within a factor of two
/// for units. `None` if no mix-up does.
fn shared_mix_up(ratio: f64) -> Option<MixUp> {
    let near = |wanted: f64| (ratio / wanted - 1.0).abs() < NEAR;
    if near(0.25) {
        return Some(MixUp::DiameterAsRadius);
    }
    if near(4.0) {
        return Some(MixUp::RadiusAsDiameter);
    }
    if (1.0 / BEYOND_READING..=BEYOND_READING).contains(&ratio) {
        return None;
    }
    [
        (-6.0, MixUp::MilliampereAsAmpere),
        (-3.0, MixUp::KilovoltAsVolt),
        (-2.0, MixUp::MillimetreAsCentimetre),
        (2.0, MixUp::CentimetreAsMillimetre),
        (3.0, MixUp::VoltAsKilovolt),
        (6.0, MixUp::AmpereAsMilliampere),
    ]
    .into_iter()
    .find(|(power, _)| (ratio.log10() - power).abs() < 2f64.log10())
    .map(|(_, mix_up)| mix_up)
    .or(Some(MixUp::Columns))
}

/// An unstated room field that the reversed runs show. It was fitted and removed, and must be reported.
fn unstated_room(beams: &BeamBench<'_>, course: &Course, outcome: &Evaluation) -> Option<Finding> {
    let probability = course.last.room_found.filter(|probability| *probability >= CLAIMED)?;
    let uncertainty = outcome.room_axial_standard_uncertainty_tesla.filter(|u| *u > 0.0)?;
    if outcome.room_source != RoomSource::Runs {
        return None;
    }
    let found = outcome.room_axial_tesla;
    let slope = beams.line.slope.tesla_per_ampere;
    let mut members = vec![Candidate {
        suspect: Suspect::RoomField,
        size: found,
        unit: "T",
        standard_uncertainty: Some(uncertainty),
        possible: Hypothesis::RoomField.largest() >= found.abs(),
        line: None,
    }];
    if beams.bench().ammeter_position != Some(AmmeterPosition::BeforeReversal) {
        // A zero error δ looks like a room field −k δ.
        let size = -found / slope;
        members.push(Candidate {
            suspect: Suspect::AmmeterZeroAfterReversal,
            size,
            unit: "A",
            standard_uncertainty: Some((uncertainty / slope).abs()),
            possible: Hypothesis::AmmeterZero(AmmeterPosition::AfterReversal).largest() >= size.abs(),
            line: None,
        });
    }
    Some(Finding {
        cause: Cause::RoomField,
        probability,
        standard_uncertainties: (found / uncertainty).abs(),
        lines: Vec::new(),
        labels: Vec::new(),
        members,
        measure: Measure::AmmeterAndRoomAtRest,
        detail: Detail::All { mix_up: None },
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_error_of_many_orders_is_put_down_to_columns_or_units_not_to_readings() {
        for (ratio, wanted) in [
            (1.1e-6, Some(MixUp::MilliampereAsAmpere)),
            (0.0098, Some(MixUp::MillimetreAsCentimetre)),
            (970.0, Some(MixUp::VoltAsKilovolt)),
            (4e-8, Some(MixUp::Columns)),
            (0.25, Some(MixUp::DiameterAsRadius)),
            (4.0, Some(MixUp::RadiusAsDiameter)),
            (1.02, None),
            (0.5, None),
        ] {
            assert_eq!(shared_mix_up(ratio), wanted, "{ratio}");
        }
    }
}
