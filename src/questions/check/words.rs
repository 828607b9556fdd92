//! The check before a lesson, or on delivery, as text.

use super::record::{
    Cause, CauseClass, CauseMember, CoilQuantity, LessonCheck, LimitsFrom, Note, QuantityCheck, Subject,
    UnlikeCoils,
};
use super::sentences::{cause_sentence, name};
use crate::judgement::limit::{Acceptance, Rule};
use crate::pair::Connection;
use crate::paper::columns::columns;
use crate::paper::page::Page;
use crate::physics::build_error::CoilName;
use crate::units::{Dimension, brief, display};

/// The page for people.
pub fn text(record: &LessonCheck) -> String {
    let mut page = Page::new(&record.provenance.spec_title, &record.provenance.on_page());
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

/// What would explain the differences: sentences, each with the members of its class. Nothing where nothing is to be
/// explained.
pub(crate) fn explanation(record: &LessonCheck) -> Vec<(String, Vec<String>)> {
    let alone = |sentence: &str| (sentence.to_owned(), Vec::new());
    if record.causes.is_empty() {
        let none =
            alone("No single known fault does: repeat the measurements, then measure each coil alone.");
        return if record.verdict == Acceptance::Fail { vec![none] } else { Vec::new() };
    }
    let explained = record.explanations.iter().any(|it| it.explains_everything);
    let more = "No single fault explains everything: more than one thing differs, or this is another pair. What comes nearest:";
    let classes = record.causes.iter().map(|class| {
        (class_sentence(class, explained), plausible(class).map(cause_sentence).collect::<Vec<_>>())
    });
    (!explained).then(|| alone(more)).into_iter().chain(classes).collect()
}

/// The headings of [`quantity_rows`].
pub(crate) const QUANTITY_HEADINGS: [&str; 7] =
    ["quantity", "measured", "spec", "at least", "at most", "U (k = 2)", "verdict"];

/// Every quantity with what the spec gives, its limits and what may be said; limits of a supplier are marked.
pub(crate) fn quantity_rows(quantities: &[QuantityCheck]) -> Vec<Vec<String>> {
    let row = |it: &QuantityCheck| {
        let dimension = it.subject.dimension();
        let value = |si: Option<f64>| si.map_or_else(|| "-".into(), |si| display(si, dimension, 4));
        let limit = |si: Option<f64>| match it.limits_from {
            LimitsFrom::Supplier if si.is_some() => format!("{} *", value(si)),
            _ => value(si),
        };
        vec![
            subject_name(it.subject),
            display(it.value, dimension, 4),
            value(it.expected),
            limit(it.limits.low),
            limit(it.limits.high),
            display(2.0 * it.standard_uncertainty, it.subject.dimension_of_difference(), 2),
            verdict_word(it.verdict).to_owned(),
        ]
    };
    quantities.iter().map(row).collect()
}

fn plausible(class: &CauseClass) -> impl Iterator<Item = &CauseMember> {
    class.members.iter().filter(|member| member.plausible)
}

/// What may be said of the pair, in one or two sentences.
pub(crate) fn verdict_sentence(record: &LessonCheck) -> String {
    let named = |verdict| -> Vec<String> {
        let of = |it: &&QuantityCheck| it.verdict == verdict;
        record.quantities.iter().filter(of).map(|it| subject_name(it.subject)).collect()
    };
    match record.verdict {
        Acceptance::Pass => {
            "PASS: everything measured agrees with the spec, within its tolerance and the measurements' uncertainty.".into()
        }
        Acceptance::Fail => format!(
            "FAIL: outside what spec and tolerance allow, beyond the measurements' uncertainty: {}.",
            named(Acceptance::Fail).join(", ")
        ),
        Acceptance::Undecided => format!(
            "UNDECIDED: nothing differs for certain, but the measurements cannot tell for: {}. Measure these better, to a \
             fraction of their tolerance.",
            named(Acceptance::Undecided).join(", ")
        ),
    }
}

pub(crate) fn rule_sentence(rule: Rule) -> &'static str {
    match rule {
        Rule::Guarded { .. } => {
            "Decision rule: a guard band of the expanded uncertainty U (k = 2) on both sides of each limit (JCGM 106:2012; \
             ILAC-G8:09/2019): a true value outside a limit passes, or one inside fails, in at most 2.5 % of cases."
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

/// A class of faults with its probability; without one where no fault explains everything, for then the probabilities only
/// compare what is wrong with what is more wrong.
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

/// What would tell a fault from those that look like it.
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
            match measured {
                Connection::Series => "series",
                Connection::Parallel => "parallel",
            }
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
        Note::RoomTaken { celsius } => format!(
            "the room's temperature beside the surface's is not stated: {} taken",
            display(*celsius, Dimension::Temperature, 3)
        ),
        Note::InsulationLimit { ohm, test_volt } => format!(
            "nobody promises an insulation resistance: at least {} asked for at {} (common practice, no source)",
            display(*ohm, Dimension::Resistance, 2),
            display(*test_volt, Dimension::Voltage, 3)
        ),
        Note::OrdinaryTolerance { length_m } => format!(
            "the spec has no `build_tolerance`: {} taken for each dimension (common practice, no source)",
            display(*length_m, Dimension::Length, 2)
        ),
    }
}

/// Where the coils differ from each other, and which of them it is.
pub(crate) fn unlike_sentences(unlike: &UnlikeCoils) -> Vec<String> {
    let each = unlike.differences.iter().map(|it| {
        let dimension = it.quantity.dimension();
        format!(
            "{} {} {} (U = {}, k = 2)",
            coil_name(it.quantity),
            display(it.difference.abs(), dimension, 2),
            if it.difference < 0.0 { "less" } else { "more" },
            display(2.0 * it.standard_uncertainty, dimension, 2)
        )
    });
    let mut sentences = vec![format!(
        "The coils differ from each other by more than the spec has it: coil b has {}.",
        each.collect::<Vec<_>>().join("; ")
    )];
    sentences.push(match unlike.coil {
        Some(coil) => format!(
            "Coil {} lies farther from the spec: look at that one first.",
            if coil == CoilName::A { "a" } else { "b" }
        ),
        None => "Which of them is not as the spec has it, these readings do not tell.".into(),
    });
    sentences.extend(unlike.turns.map(|turns| {
        format!(
            "If turns make the difference, coil b has {:.1} {} than coil a (U = {:.1}, k = 2).",
            turns.value.abs(),
            if turns.value < 0.0 { "fewer" } else { "more" },
            2.0 * turns.standard_uncertainty
        )
    }));
    sentences
}

/// What people call the subject of a reading, with what was held while it was read.
pub(crate) fn subject_name(subject: Subject) -> String {
    match subject {
        Subject::Pair(quantity) => name(quantity).into(),
        Subject::Coil(coil, quantity) => {
            let coil = if coil == CoilName::A { "a" } else { "b" };
            format!("coil {coil}, {}", coil_name(quantity))
        }
        Subject::Field { entry, at_m, current_ampere } => {
            let millimetres = at_m.map(|part| crate::units::number_of_six(1e3 * part, 1));
            format!(
                "field {} at ({}) mm, {}",
                entry + 1,
                millimetres.map(|part| part.trim_end_matches(".0").to_owned()).join(", "),
                brief(current_ampere, Dimension::Current)
            )
        }
        Subject::Surface { current_ampere, after_s } => format!(
            "hottest surface, {} for {}",
            brief(current_ampere, Dimension::Current),
            brief(after_s, Dimension::Time)
        ),
        Subject::Insulation { test_volt } => {
            format!("insulation at {}", brief(test_volt, Dimension::Voltage))
        }
    }
}

pub(super) const fn coil_name(quantity: CoilQuantity) -> &'static str {
    match quantity {
        CoilQuantity::Turns => "turns",
        CoilQuantity::ResistanceOhm => "resistance",
        CoilQuantity::InnerDiameterM => "inner diameter",
        CoilQuantity::OuterDiameterM => "outer diameter",
        CoilQuantity::WidthM => "width",
        CoilQuantity::InductanceHenry => "own inductance",
        CoilQuantity::ConductorMassKg => "conductor mass",
        CoilQuantity::OffsetXM => "offset along x",
        CoilQuantity::OffsetYM => "offset along y",
        CoilQuantity::TiltXRad => "tilt about x",
        CoilQuantity::TiltYRad => "tilt about y",
    }
}
