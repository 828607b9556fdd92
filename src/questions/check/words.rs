//! The check before a lesson or on delivery, as text.

mod subject;

use super::consistency::{Contradiction, Other};
use super::record::{
    Cause, CauseClass, CauseMember, CoilDifference, HeldBack, LessonCheck, LimitsFrom, Note, QuantityCheck,
    Unexplained, UnlikeCoils,
};
use super::sentences::cause_sentence;
use super::subject::{CoilQuantity, Quantity, Subject};
use crate::judgement::limit::{Acceptance, Rule};
use crate::paper::columns::columns;
use crate::paper::page::Page;
use crate::physics::build_error::CoilName;
use crate::physics::test_limits::insulation_source;
use crate::questions::words::notes::ordinary_limits;
use crate::questions::words::origin::on_page;
use crate::questions::words::phrases::percent_of;
use crate::units::{Dimension, brief, display, display_beside};
pub(super) use subject::coil_name;
pub(crate) use subject::subject_name;

/// The page for people.
pub fn text(record: &LessonCheck) -> String {
    let mut page = Page::new(&record.provenance.spec_title, &on_page(&record.provenance));
    page.section(&format!("Measured: {}", record.measured_title));
    page.paragraph(&verdict_sentence(record));
    page.block(&columns(&QUANTITY_HEADINGS, &[0, 6], &quantity_rows(&record.quantities)));
    page.paragraph(rule_sentence(record.decision));
    page.notes(&record.notes.iter().map(note_sentence).collect::<Vec<_>>());
    for sentence in record.unlike_coils.iter().flat_map(unlike_sentences) {
        page.paragraph(&sentence);
    }
    let explained = explanation(record);
    if !explained.is_empty() {
        page.section("What would explain it");
    }
    for (sentence, members) in &explained {
        page.paragraph(sentence);
        page.list(members.iter().map(String::as_str));
    }
    page.into_text()
}

/// Possible explanations of the differences: sentences, each with the members of its class. Empty if there is nothing
/// to explain.
pub(crate) fn explanation(record: &LessonCheck) -> Vec<(String, Vec<String>)> {
    let alone = |sentence: &str| (sentence.to_owned(), Vec::new());
    let unexplained = unexplained(record);
    if record.causes.is_empty() {
        return unexplained;
    }
    let passes = record.verdict == Acceptance::Pass;
    let yet = "Every value lies within its limits, but together the readings fit a fault better than a sound pair. Look before \
               the pair is used:";
    let explained = record.explanations.iter().any(|it| it.explains_everything);
    let more = "No single fault explains all that differs: more than one thing is wrong, or this is another pair. What comes nearest:";
    let classes = record.causes.iter().map(|class| {
        (class_sentence(class, explained), plausible(class).map(cause_sentence).collect::<Vec<_>>())
    });
    let lead = [passes.then(|| alone(yet)), (!explained).then(|| alone(more))];
    lead.into_iter().flatten().chain(classes).chain(unexplained).collect()
}

/// The failing quantities that no cause reaches, each with what to check.
fn unexplained(record: &LessonCheck) -> Vec<(String, Vec<String>)> {
    if record.unexplained.is_empty() {
        return Vec::new();
    }
    let lead = match record.causes.is_empty() {
        true => "No fault that is weighed here brings what fails:",
        false => "None of this brings what else fails:",
    };
    let look =
        record.unexplained.iter().map(|it| format!("{}: {}", subject_name(it.subject), where_to_look(it)));
    vec![(lead.to_owned(), look.collect())]
}

/// What to check if one quantity alone is wrong (common practice, no source).
const fn where_to_look(it: &Unexplained) -> &'static str {
    match it.subject {
        Subject::Pair(_) => "repeat the measurement, then measure each coil alone",
        Subject::Coil(_, CoilQuantity::Turns) => {
            "the count is the finding; count once more, by the voltage induced beside a coil of known turns"
        }
        Subject::Coil(_, CoilQuantity::OffsetXM | CoilQuantity::OffsetYM) => {
            "the coil stands aside of its place: look at its seat on the frame, and that the former is round"
        }
        Subject::Coil(_, CoilQuantity::TiltXRad | CoilQuantity::TiltYRad) => {
            "the coil stands askew: look at the lengths of the spacers and at the flange they bear on"
        }
        Subject::Section(..) => "measure both diameters again, at eight places round the rim",
        Subject::Both(_) => {
            "look whether both coils are the right way round and at their distance, then measure each coil alone"
        }
        Subject::Coil(..) => "repeat the measurement, and measure the other coil the same way",
        Subject::Field { .. } => {
            "read it again with the probe at its place and along the axis, and with the current reversed"
        }
        Subject::Surface { .. } => {
            "hotter than the model allows: look at the ammeter, at what covers the coils or keeps the air from them, and \
             measure the resistance"
        }
        Subject::Voltage { .. } => {
            "measure at the pair's own terminals, with the current read at the same moment; then measure the resistance cold"
        }
        Subject::SpacingDifference { .. } => {
            "measure the distance again all round the rim; spacers of unequal length or a flange that is bent can be set right"
        }
        Subject::RimStep => {
            "measure again with a true straightedge; loose bolts let a coil slip and can be set right"
        }
        Subject::InductanceDrop { .. } => {
            "measure the coil by itself, away from metal: a closed ring of metal near it looks like a shorted turn"
        }
        Subject::Insulation { .. } => {
            "dry the coils for a day in a warm room and measure again; if it stays low the wire's enamel or the lining of the \
             channel is damaged: do not connect them, and let a competent person look"
        }
    }
}

/// The headings of [`quantity_rows`].
pub(crate) const QUANTITY_HEADINGS: [&str; 7] =
    ["quantity", "measured", "spec", "at least", "at most", "U (k = 2)", "verdict"];

/// Every quantity with the spec's value, its limits and the verdict. A supplier's limits are marked.
pub(crate) fn quantity_rows(quantities: &[QuantityCheck]) -> Vec<Vec<String>> {
    let row = |it: &QuantityCheck| {
        let dimension = it.subject.dimension();
        let all = [Some(it.value), it.expected, it.limits.low, it.limits.high];
        let largest = all.into_iter().flatten().fold(0.0, |largest: f64, si| largest.max(si.abs()));
        let told = |si: f64| display_beside(si, largest, dimension, DIGITS);
        let value = |si: Option<f64>| si.map_or_else(|| "-".into(), told);
        let [low_is_supplier, high_is_supplier] = it.limits_from.supplier_sets();
        let limit = |si: Option<f64>, is_supplier: bool| match is_supplier && si.is_some() {
            true => format!("{} *", value(si)),
            false => value(si),
        };
        vec![
            subject_name(it.subject),
            display_beside(it.value, largest, dimension, digits_known(it)),
            value(it.expected),
            limit(it.limits.low, low_is_supplier),
            limit(it.limits.high, high_is_supplier),
            display(2.0 * it.standard_uncertainty, it.subject.dimension_of_difference(), 2),
            verdict_word(it.verdict).to_owned(),
        ]
    };
    quantities.iter().map(row).collect()
}

/// Digits of limits and of what the spec says.
const DIGITS: usize = 4;

/// Significant digits of a measured value: none beyond the second of its U (JCGM 100:2008, 7.2.6).
fn digits_known(it: &QuantityCheck) -> usize {
    let expanded = 2.0 * it.standard_uncertainty;
    // Degrees Celsius have a zero of their own.
    if it.value == 0.0 || expanded <= 0.0 || it.subject.dimension() == Dimension::Temperature {
        return DIGITS;
    }
    let exponent = |si: f64| si.abs().log10().floor();
    (exponent(it.value) - exponent(expanded) + 2.0).clamp(1.0, DIGITS as f64) as usize
}

fn plausible(class: &CauseClass) -> impl Iterator<Item = &CauseMember> {
    class.members.iter().filter(|member| member.plausible)
}

/// The verdict on the pair, in one or two sentences.
pub(crate) fn verdict_sentence(record: &LessonCheck) -> String {
    let named = |verdict| -> String {
        let of = |it: &&QuantityCheck| it.verdict == verdict;
        let names: Vec<String> =
            record.quantities.iter().filter(of).map(|it| subject_name(it.subject)).collect();
        names.join("; ")
    };
    let limits = whose_limits(&record.quantities);
    let contradictions: String =
        record.contradictions.iter().map(|it| format!(" {}", contradiction_sentence(it))).collect();
    if let Some(why) = record.held_back {
        let why = match why {
            HeldBack::OtherConductor => {
                "what was weighed is another conductor than the spec's. Find out which is right".to_owned()
            }
            HeldBack::Contradiction => "readings of one thing cannot all be right".to_owned(),
            HeldBack::UnlikeInductances => {
                "the inductances of the coils differ by more than two coils built alike. Measure both \
                                            again with one meter, and count their turns"
                    .to_owned()
            }
            HeldBack::Turns { most_probable, spec, probability_of_spec } => format!(
                "taken together they fit {most_probable} turns, and the spec's {} with a probability of {}. Count the turns of \
                 each coil, or measure the resistance of each",
                brief(spec, Dimension::Number),
                percent_of(probability_of_spec, 1)
            ),
            HeldBack::TurnsOfACoil { best, spec, told_apart, .. } => turns_of_a_coil(best, spec, told_apart),
        };
        return format!("UNDECIDED: each value measured lies within {limits}, but {why}.{contradictions}");
    }
    let verdict = match (record.verdict, record.decision) {
        (Acceptance::Pass, Rule::Guarded { .. }) => {
            format!(
                "PASS: everything measured lies within {limits}, with the measurements' uncertainty to spare."
            )
        }
        (Acceptance::Pass, Rule::Simple) => format!(
            "PASS by simple acceptance: every value measured lies within {limits}; the measurements' uncertainty is not counted."
        ),
        (Acceptance::Fail, Rule::Guarded { .. }) => format!(
            "FAIL: outside {limits}, beyond the measurements' uncertainty: {}.",
            named(Acceptance::Fail)
        ),
        (Acceptance::Fail, Rule::Simple) => format!(
            "FAIL by simple acceptance: values outside {limits}; the measurements' uncertainty is not counted: {}.",
            named(Acceptance::Fail)
        ),
        (Acceptance::Undecided, _) => format!(
            "UNDECIDED: nothing lies outside {limits} for certain, but the measurements cannot tell for: {}.{}",
            named(Acceptance::Undecided),
            what_to_measure(&record.quantities)
        ),
    };
    verdict + &contradictions
}

/// What to measure where something is undecided.
fn what_to_measure(quantities: &[QuantityCheck]) -> String {
    let undecided = || quantities.iter().filter(|it| it.verdict == Acceptance::Undecided);
    let better = if undecided().all(QuantityCheck::lies_between) {
        ""
    } else {
        " Measure these better, to a fraction of their tolerance."
    };
    let each = |it: &QuantityCheck| {
        let (what, own) = match it.subject {
            Subject::RimStep => ("The step from rim to rim", "place"),
            _ => ("The difference round the rim", "squareness"),
        };
        format!(
            " {what} is more than one coil alone may make, and less than both may together: measure the {own} of each coil by \
             itself."
        )
    };
    let each: String = undecided().filter(|it| it.lies_between()).map(each).collect();
    format!("{better}{each}")
}

fn turns_of_a_coil(best: [f64; 2], spec: [f64; 2], told_apart: bool) -> String {
    let turns = |number: f64| brief(number, Dimension::Number);
    let fit = match told_apart {
        true => format!("{} turns of coil a and {} of coil b", turns(best[0]), turns(best[1])),
        false => format!("{} turns of both coils", turns(best[0] + best[1])),
    };
    let of_spec = match told_apart {
        true if spec[0] == spec[1] => format!("{} of each", turns(spec[0])),
        true => format!("{} and {}", turns(spec[0]), turns(spec[1])),
        false => turns(spec[0] + spec[1]),
    };
    format!("taken together they fit {fit} better than the spec's {of_spec}. Count the turns of each coil")
}

/// Two readings that contradict each other, and what to do.
fn contradiction_sentence(it: &Contradiction) -> String {
    let dimension = match it.subject {
        // Fields are compared per ampere.
        Subject::Field { .. } => Dimension::FieldConstant,
        subject => subject.dimension(),
    };
    let shown = |value: f64| display(value, dimension, 5);
    let other = match it.other {
        Other::BothCoils => "what the readings of each coil give".to_owned(),
        Other::Field(entry) => format!("field {} at the same place", entry + 1),
        Other::Inductances => "the other inductances".to_owned(),
        Other::Heat => {
            return format!(
                "{}: {} read, and the heat of that current makes {}. Was the current on for so long, and did the thermometer \
                 lie on the hottest place?",
                subject_name(it.subject),
                shown(it.value),
                display(it.other_value, dimension, 3)
            );
        }
    };
    let look = match it.subject {
        Subject::Pair(Quantity::ResistanceOhm) if it.value > it.other_value => {
            "look for a bad contact between the coils, and measure all three again"
        }
        _ => "measure both again",
    };
    format!(
        "Two readings of one thing, {}: {} here, and {} by {other}. They may differ by {} (U, k = 2): {look}.",
        subject_name(it.subject),
        shown(it.value),
        shown(it.other_value),
        display(2.0 * it.standard_uncertainty, dimension, 2),
    )
}

/// Who set the limits.
fn whose_limits(quantities: &[QuantityCheck]) -> &'static str {
    let is_supplier = |it: &QuantityCheck| it.limits_from.supplier_sets() != [false; 2];
    let is_all_supplier = |it: &QuantityCheck| it.limits_from == LimitsFrom::Supplier;
    match (quantities.iter().any(is_supplier), quantities.iter().all(is_all_supplier)) {
        (_, true) => "the supplier's limits",
        (true, false) => {
            "the supplier's limits, and those of the spec's tolerance where the supplier states none"
        }
        (false, false) => "what the spec and its tolerance allow",
    }
}

pub(crate) fn rule_sentence(rule: Rule) -> &'static str {
    match rule {
        Rule::Guarded { .. } => {
            "Decision rule: a guard band of the expanded uncertainty U (k = 2) on both sides of each limit (JCGM 106:2012; \
             ILAC-G8:09/2019): a true value outside a limit passes, or one inside fails, in at most 2.3 % of cases."
        }
        Rule::Simple => {
            "Decision rule: simple acceptance (ILAC-G8:09/2019), without guard band: near a limit up to half of the verdicts \
             are wrong."
        }
    }
}

pub(crate) fn verdict_word(verdict: Acceptance) -> &'static str {
    match verdict {
        Acceptance::Pass => "pass",
        Acceptance::Fail => "FAIL",
        Acceptance::Undecided => "undecided",
    }
}

/// A class of faults with its probability. The probability is left out if no fault explains everything, because it
/// would only compare bad explanations.
fn class_sentence(class: &CauseClass, explained: bool) -> String {
    let chance = match explained {
        true => format!("{:.0} %", (100.0 * class.probability).clamp(1.0, 99.0)),
        false => "near, but not enough".into(),
    };
    match plausible(class).count() {
        0 => format!("{chance}: a fault of a size that is not plausible; look for a second one."),
        1 => format!("{chance}:"),
        _ => format!(
            "{chance}, one of these, which the measurements cannot tell apart. To separate them, measure {}:",
            separating(class)
        ),
    }
}

/// The measurements that would separate the members of a class.
fn separating(class: &CauseClass) -> String {
    let mut all: Vec<&str> = plausible(class).filter_map(|member| separates(member.cause)).collect();
    all.sort_unstable();
    all.dedup();
    if all.is_empty() { "each coil alone".into() } else { all.join(", ") }
}

/// The measurement that would separate a fault from similar ones.
const fn separates(cause: Cause) -> Option<&'static str> {
    match cause {
        Cause::Spacing => Some("the spacing"),
        Cause::Turns | Cause::ShortedTurns | Cause::OneCoilAlone | Cause::Connection => {
            Some("the resistance")
        }
        Cause::MeanRadius | Cause::RadiusForDiameter => Some("the diameters"),
        Cause::MeterGain | Cause::ProbeTilted | Cause::GaussForMillitesla | Cause::MilliteslaForGauss => {
            Some("the field with another probe")
        }
        Cause::WireDiameter | Cause::Aluminium => Some("the mass and the wire's diameter"),
        Cause::CopperTemperature | Cause::ContactResistance => {
            Some("the resistance again with four wires after an hour at room temperature")
        }
        Cause::CoilReversed | Cause::FieldReversed | Cause::Alone(_) | Cause::AnotherPair => None,
    }
}

pub(crate) fn note_sentence(note: &Note) -> String {
    let ohm = |si: f64| display(si, Dimension::Resistance, 4);
    match note {
        Note::LeadsOpen { terminals_ohm, with_leads_ohm, nearer_with_leads } => format!(
            "the spec gives {} at the coils' own terminals and {} with the leads; either is accepted, and what was measured is \
             nearer the value {}",
            ohm(*terminals_ohm),
            ohm(*with_leads_ohm),
            if *nearer_with_leads { "with the leads" } else { "at the terminals" }
        ),
        Note::OtherConnection { measured } => format!(
            "measured in {}, unlike the spec: held against what the spec's coils give so connected",
            measured.word()
        ),
        Note::OtherConductor { measured, spec } => format!(
            "what was weighed is {}, and the spec's wire is {}: one of the two is wrong",
            measured.name(),
            spec.name()
        ),
        Note::TemperatureDecides { kelvin } => format!(
            "the copper's temperature is taken as exact, and {} more or less decides a resistance here: state \
             `resistance.at_uncertainty`, the standard uncertainty of `resistance.at`",
            display(*kelvin, Dimension::TemperatureDifference, 1)
        ),
        Note::AmmeterOfSpec => {
            "U includes the uncertainty of the currents, by the spec's ammeter: state `current_uncertainty` where they were \
             read by a better one"
                .into()
        }
        Note::RoomTaken { celsius } => format!(
            "the room's temperature beside the surface's is not stated: {} taken",
            display(*celsius, Dimension::Temperature, 3)
        ),
        Note::InsulationLimit { ohm, test_volt } => format!(
            "nobody promises an insulation resistance: at least {} asked for at {} ({})",
            display(*ohm, Dimension::Resistance, 2),
            display(*test_volt, Dimension::Voltage, 3),
            insulation_source(*test_volt)
        ),
        Note::InsulationAtLess { promised_at_volt, test_volt } => format!(
            "the insulation was measured at {}, and the spec states it at {}: a measurement at that voltage would decide",
            display(*test_volt, Dimension::Voltage, 3),
            display(*promised_at_volt, Dimension::Voltage, 3)
        ),
        Note::OrdinaryLimits { not_stated } => format!("the spec's {}", ordinary_limits(*not_stated)),
        Note::OrdinaryTolerance { length_m } => format!(
            "the spec has no `build_tolerance`: {} taken for each dimension (common practice, no source)",
            display(*length_m, Dimension::Length, 2)
        ),
    }
}

/// U in brackets. Empty for a counted value and for one measured without an uncertainty.
fn expanded(turns: f64) -> String {
    if turns < 0.05 { String::new() } else { format!(" (U = {turns:.1}, k = 2)") }
}

/// How the coils differ from each other, and which one is off.
pub(crate) fn unlike_sentences(unlike: &UnlikeCoils) -> Vec<String> {
    let mut sentences = match unlike.differences.is_empty() {
        true => vec!["The coils' own readings together tell of other turns.".to_owned()],
        false => vec![format!(
            "The coils differ from each other by more than readings and build tolerance allow: coil b has {}.",
            unlike.differences.iter().map(difference_phrase).collect::<Vec<_>>().join("; ")
        )],
    };
    sentences.push(match unlike.coil {
        Some(coil) => format!(
            "Coil {} lies farther from the spec: look at that one first.",
            if coil == CoilName::A { "a" } else { "b" }
        ),
        None => "Which of them is not as the spec has it, these readings do not tell.".into(),
    });
    let counted = unlike.differences.iter().any(|it| it.quantity == CoilQuantity::Turns);
    sentences.extend(unlike.turns.filter(|_| !counted).map(|turns| {
        format!(
            "If turns make the difference, coil b has {:.1} {} than coil a{}.",
            turns.value.abs(),
            if turns.value < 0.0 { "fewer" } else { "more" },
            expanded(2.0 * turns.standard_uncertainty)
        )
    }));
    sentences
}

/// In what coil b exceeds coil a, or falls short of it.
fn difference_phrase(it: &CoilDifference) -> String {
    let dimension = it.quantity.dimension();
    let uncertainty = match it.standard_uncertainty {
        0.0 => "counted".to_owned(),
        u => format!("U = {}, k = 2, the build's part in it", display(2.0 * u, dimension, 2)),
    };
    format!(
        "{} {} {} ({uncertainty})",
        coil_name(it.quantity),
        display(it.difference.abs(), dimension, 2),
        if it.difference < 0.0 { "less" } else { "more" },
    )
}
