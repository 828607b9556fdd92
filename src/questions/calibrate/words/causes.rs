//! What may be wrong, in words: verdict, causes, and what to measure.

use crate::judgement::agreement::Agreement as Verdict;
use crate::pair::Connection;
use crate::questions::calibrate::agreement::{Agreement, Dispute, WithoutMisread};
use crate::questions::calibrate::causes::{
    Bend, Cause, CauseClass, Explanation, Measurement, STATED_TOO_SMALL,
};
use crate::questions::words::faults::Fault;
use crate::questions::words::phrases::{percent, probability, signed_percent};
use crate::units::{Dimension, display};

/// The verdict on computed and fitted slope.
pub(crate) fn verdict_sentence(agreement: &Agreement) -> String {
    let mattering = display(agreement.mattering_fraction, Dimension::Fraction, 1);
    let open = agreement
        .expanded_uncertainty_fraction
        .map_or_else(|| "not known".into(), |open| display(open, Dimension::Fraction, 2));
    match agreement.verdict {
        Some(Verdict::Agree) => {
            format!("agree: |E_n| is at most 1, and a difference of {mattering} would have shown")
        }
        Some(Verdict::Disagree) => "disagree: |E_n| is above 1".into(),
        Some(Verdict::CannotTell) => format!(
            "the readings cannot tell: expanded uncertainty of the difference {open}, and {mattering} would matter"
        ),
        None => "cannot be said: the spec has no `build_tolerance`".into(),
    }
}

/// The reason against the readings, in a sentence.
pub(crate) fn dispute_sentence(dispute: Dispute, agreement: &Agreement) -> String {
    match (dispute, agreement.normalised_difference) {
        (Dispute::SlopesDisagree, Some(normalised)) => format!(
            "Computed and fitted slope disagree: the fitted one is {} off, E_n = {normalised:.1}",
            signed_percent(agreement.relative_difference)
        ),
        (Dispute::SlopesDisagree, None) => format!(
            "The fitted slope is {} off the computed one, more than an ordinary build and the meters explain; how well this pair \
             is built the spec does not state (`build_tolerance`)",
            signed_percent(agreement.relative_difference)
        ),
        _ if agreement.is_unexplained() => format!(
            "The readings lie on no straight line, and no known cause of a plausible size explains it, nor do uncertainties \
             {STATED_TOO_SMALL:.0} times the stated ones"
        ),
        _ => match agreement.excess_scatter.filter(|_| !agreement.is_spoiled()) {
            Some(times) => format!(
                "The readings scatter {times:.0} times as far about their line as their uncertainties say: they lie on no \
                 straight line, or the uncertainties are stated far too small"
            ),
            None => "The readings contradict themselves, or what the spec says of the pair".into(),
        },
    }
}

/// The result without the readings found misread: the line of the others, and their remaining faults.
fn rest_sentence(rest: &WithoutMisread) -> String {
    let names: Vec<String> = match rest.labels.len() == rest.lines.len() {
        true => rest.labels.iter().map(|label| format!("\"{label}\"")).collect(),
        false => rest.lines.iter().map(|line| format!("line {line}")).collect(),
    };
    let agreement = &rest.agreement;
    let difference = signed_percent(agreement.relative_difference);
    let slopes = match (agreement.verdict, agreement.normalised_difference) {
        (Some(Verdict::Disagree), Some(e_n)) => {
            format!("computed and fitted slope disagree: the fitted one is {difference} off, E_n = {e_n:.1}")
        }
        _ => format!("the fitted slope is {difference} off the computed one"),
    };
    let more = match agreement.has_finding() {
        true => {
            agreement.causes.iter().take(1).map(|class| format!("; then {}", class_sentence(class))).collect()
        }
        false => String::new(),
    };
    format!("without {}, found misread, {slopes}{more}", names.join(" and "))
}

/// A further class less probable than this is in the record but not in the words.
const WORTH_SAYING: f64 = 0.05;

/// The most probable classes, a sentence each.
pub(crate) fn cause_sentences(agreement: &Agreement) -> Vec<String> {
    if agreement.is_unexplained() {
        let mut said =
            vec!["none of the causes that are known: several readings may be wrong at once".to_owned()];
        said.extend(agreement.without_misread.iter().map(|rest| rest_sentence(rest)));
        return said;
    }
    let worth = agreement
        .causes
        .iter()
        .enumerate()
        .filter(|(at, class)| *at == 0 || class.probability >= WORTH_SAYING);
    let mut sentences: Vec<String> = worth.map(|(_, class)| class_sentence(class)).collect();
    sentences.extend(agreement.without_misread.iter().map(|rest| rest_sentence(rest)));
    sentences.push(format!("none of these: probability {}", probability(agreement.none_probability)));
    sentences
}

fn class_sentence(class: &CauseClass) -> String {
    let p = format!("probability {}", probability(class.probability));
    let plausible: Vec<String> =
        class.members.iter().filter(|one| one.plausible).map(explanation_sentence).collect();
    let others: Vec<String> =
        class.members.iter().filter(|one| !one.plausible).map(explanation_sentence).collect();
    let implausible = match others.len() {
        0 => String::new(),
        _ => format!("; sizes that are not plausible: {}", others.join("; ")),
    };
    match (class.cause, &plausible[..]) {
        (_, [only]) => format!("{only}: {p}{implausible}"),
        (cause, [first, rest @ ..]) if cause.is_all_or_nothing() => {
            let less = if rest.is_empty() { String::new() } else { format!("; or {}", rest.join(", or ")) };
            format!("{first}: {p}{less}{implausible}")
        }
        (_, []) => format!("no known cause of a plausible size: {p}{implausible}"),
        (_, all) => {
            format!(
                "one of these, which these readings cannot tell apart: {p}: {}{implausible}",
                all.join(", or ")
            )
        }
    }
}

/// What to measure next for the classes worth naming, one sentence each.
pub(crate) fn measurement_sentences(agreement: &Agreement) -> Vec<&'static str> {
    if agreement.is_unexplained() {
        return vec![
            "Take the readings again that lie farthest from the line, and look at each of their units.",
        ];
    }
    let mut measurements: Vec<Measurement> = Vec::new();
    for class in agreement.causes.iter().filter(|class| class.probability >= 0.1) {
        for measurement in &class.measure {
            if !measurements.contains(measurement) {
                measurements.push(*measurement);
            }
        }
    }
    if measurements.is_empty() {
        // If no size is plausible, the readings may be of another pair, or of half of this one.
        let implausible =
            agreement.causes.first().is_some_and(|class| !class.members.iter().any(|one| one.plausible));
        measurements.push(match implausible {
            true => Measurement::EachCoilAlone,
            false => Measurement::RepeatFirstReadingLast,
        });
    }
    measurements.into_iter().map(measurement_sentence).collect()
}

fn measurement_sentence(measurement: Measurement) -> &'static str {
    match measurement {
        Measurement::CompareHeadingWithMeter => {
            "Compare the units of the file's heading with those that the meters show."
        }
        Measurement::RepeatReading => "Take that reading again.",
        Measurement::EachCoilAlone => {
            "Measure the field at the centre with each coil alone: both must have the sign of the current."
        }
        Measurement::ProbeOnAnotherRange => {
            "Repeat the largest readings with the probe on its next range, and take some in between: they must lie on one \
             line."
        }
        Measurement::NoteEachTurnOfTheProbe => {
            "Write in `probe_flipped` which readings were taken with the probe turned round."
        }
        Measurement::RepeatFirstReadingLast => {
            "Take the first reading once more at the end: a drift shows as the difference."
        }
        Measurement::AmmeterWithoutCurrent => {
            "Read the ammeter with its leads open, and with both polarities."
        }
        Measurement::ResistanceOfEachCoil => {
            "Measure the resistance of each coil at its own terminals: missing turns show there."
        }
        Measurement::MeasureTheCoils => "Measure spacing and diameters of the coils.",
        Measurement::TurnProbeToLargestReading => {
            "Tilt the probe to and fro at one current: along the axis it reads most."
        }
        Measurement::MoveProbe => {
            "Move the probe along the axis and across it at one current: at the centre the reading turns over."
        }
        Measurement::ProbeInKnownField => {
            "Check the probe in a field that is known, or against a second probe."
        }
        Measurement::SecondAmmeter => "Put a second ammeter in series.",
    }
}

/// One explanation in words.
pub(crate) fn explanation_sentence(explanation: &Explanation) -> String {
    let amount = explanation.amount.unwrap_or(0.0);
    let size = amount.abs();
    let length = display(size, Dimension::Length, 2);
    let share = percent(size);
    let pick =
        |positive: &'static str, negative: &'static str| if amount > 0.0 { positive } else { negative };
    let sentence = match explanation.cause {
        Cause::UnitsMixedUp => units_sentence("the units of all readings", explanation.power_of_ten),
        Cause::UnitsOfOneReading => {
            units_sentence(&format!("the unit of {}", which(explanation)), explanation.power_of_ten)
        }
        Cause::CurrentAndFieldSwapped => {
            "current and field swapped: the fitted slope is one over the computed one".into()
        }
        Cause::CoilReversed => Fault::CoilReversed.phrase(),
        Cause::LeadsReversed => Fault::LeadsReversed.phrase(),
        Cause::OneCoilOrParallel => {
            let parallel = Fault::Connection { really: Connection::Parallel };
            format!("{}, or {}", Fault::OneCoilAlone.phrase(), parallel.phrase())
        }
        Cause::SeriesNotParallel => Fault::Connection { really: Connection::Series }.phrase(),
        Cause::FlipFlagsForgotten => {
            "the probe was turned round in some readings, and `probe_flipped` does not say so rightly".into()
        }
        Cause::MisreadReading if explanation.sign_reversed => format!(
            "{} has the wrong sign: the current was reversed, or the probe turned, and the file does not say so",
            which(explanation)
        ),
        Cause::MisreadReading => format!(
            "{} misread or miswritten, {} too {}",
            which(explanation),
            display(size, Dimension::FluxDensity, 2),
            pick("much", "little")
        ),
        Cause::MisreadCurrent => format!(
            "the current of {} misread or miswritten, {} too {}",
            which(explanation),
            display(size, Dimension::Current, 2),
            pick("much", "little")
        ),
        Cause::NotStraight => match explanation.bend {
            Some(Bend::Even) => format!(
                "field against current is bent: the largest readings show {share} too {} one way round and too {} the other",
                pick("much", "little"),
                pick("little", "much")
            ),
            _ => format!(
                "field against current is bent: the largest readings show {share} too {}{}",
                pick("much", "little"),
                pick("", ", as of a probe that saturates")
            ),
        },
        Cause::Drift => format!(
            "a zero that drifts by {} from the first reading to the last",
            display(amount, Dimension::FluxDensity, 2)
        ),
        Cause::AmmeterZero => {
            format!("the ammeter's zero off by {}", display(amount, Dimension::Current, 2))
        }
        Cause::SlopeFactor => "something that changes the slope".into(),
        Cause::TurnsMissing => {
            format!("{size:.1} turns {}, over both coils together", pick("missing", "too many"))
        }
        Cause::Spacing => format!("spacing {} by {length}", pick("too large", "too small")),
        Cause::MeanRadius => {
            format!("mean radius of both coils {} by {length}", pick("too large", "too small"))
        }
        Cause::ProbeTilted => {
            format!("probe tilted against the axis by {}", display(size, Dimension::Angle, 2))
        }
        Cause::ProbeAlongAxis => format!("probe {length} from the centre along the axis"),
        Cause::ProbeOffAxis => format!("probe {length} off the axis"),
        Cause::ProbeGain => format!("probe shows {share} too {}", pick("much", "little")),
        Cause::AmmeterGain => format!("ammeter shows {share} too {}", pick("little", "much")),
    };
    match (explanation.stated_limit, explanation.unit) {
        (None, _) => sentence,
        (Some(limit), "m") => {
            format!("{sentence} (the spec allows {})", display(limit, Dimension::Length, 2))
        }
        (Some(limit), "A") => {
            format!("{sentence} (the spec allows {})", display(limit, Dimension::Current, 2))
        }
        (Some(limit), "turn") => format!("{sentence} (the spec allows {limit})"),
        (Some(limit), _) => format!("{sentence} (the spec allows {})", percent(limit)),
    }
}

fn which(explanation: &Explanation) -> String {
    let line = explanation.line.map_or_else(|| "one reading".into(), |line| format!("line {line}"));
    match &explanation.label {
        Some(label) => format!("reading \"{label}\" ({line})"),
        None => format!("the reading on {line}"),
    }
}

/// The mix-up of units that makes readings too large by this power of ten.
fn units_sentence(whose: &str, power_of_ten: Option<i32>) -> String {
    let field = |read, written| Fault::FieldUnit { read, written }.phrase();
    let or_current = |of_field: String, read, written| {
        format!("{of_field}, or {}", Fault::CurrentUnit { read, written }.phrase())
    };
    let (factor, fault) = match power_of_ten {
        Some(1) => ("ten times too large", Fault::GAUSS_FOR_MILLITESLA.phrase()),
        Some(-1) => ("ten times too small", Fault::MILLITESLA_FOR_GAUSS.phrase()),
        Some(2) => ("a hundred times too large", field("microtesla", "gauss")),
        Some(-2) => ("a hundred times too small", field("gauss", "microtesla")),
        Some(3) => (
            "a thousand times too large",
            or_current(field("microtesla", "millitesla"), "amperes", "milliamperes"),
        ),
        Some(-3) => (
            "a thousand times too small",
            or_current(field("millitesla", "microtesla"), "milliamperes", "amperes"),
        ),
        Some(4) => ("ten thousand times too large", field("gauss", "tesla")),
        Some(-4) => ("ten thousand times too small", field("tesla", "gauss")),
        Some(6) => ("a million times too large", field("microtesla", "tesla")),
        _ => ("a million times too small", field("tesla", "microtesla")),
    };
    format!("{whose} mixed up: field over current is {factor}, as if {fault}")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn explanation(cause: Cause, amount: f64, unit: &'static str, stated_limit: f64) -> Explanation {
        Explanation {
            cause,
            amount: Some(amount),
            amount_standard_uncertainty: None,
            unit,
            stated_limit: Some(stated_limit),
            plausible: true,
            line: None,
            label: None,
            power_of_ten: None,
            bend: None,
            sign_reversed: false,
        }
    }

    #[test]
    fn an_explanation_says_which_way_and_what_the_spec_allows() {
        assert_eq!(
            explanation_sentence(&explanation(Cause::TurnsMissing, 1.6, "turn", 1.0)),
            "1.6 turns missing, over both coils together (the spec allows 1)"
        );
        assert_eq!(
            explanation_sentence(&explanation(Cause::Spacing, -0.0031, "m", 0.0006)),
            "spacing too small by 3.1 mm (the spec allows 0.60 mm)"
        );
    }

    #[test]
    fn mixed_up_units_name_the_units_that_would_do_it() {
        let of = |power| units_sentence("the units of all readings", Some(power));
        assert!(of(1).ends_with("as if the field was read in gauss and written as millitesla"), "{}", of(1));
        assert!(of(-3).contains("milliamperes and written as amperes"), "{}", of(-3));
    }
}
