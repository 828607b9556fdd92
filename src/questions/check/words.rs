//! The check before a lesson, or on delivery, as text.

use super::record::{Cause, CauseClass, CauseMember, LessonCheck, Note, Quantity, QuantityCheck};
use super::sentences::{cause_sentence, name};
use crate::judgement::limit::{Acceptance, Rule};
use crate::pair::Connection;
use crate::paper::columns::columns;
use crate::paper::page::Page;
use crate::units::{Dimension, display};

/// The page for people.
pub fn text(record: &LessonCheck) -> String {
    let mut page = Page::new(&record.provenance.spec_title, &record.provenance.on_page());
    page.section(&format!("Measured: {}", record.measured_title));
    page.paragraph(&verdict_sentence(record));
    let rows = record.quantities.iter().zip(&record.comparisons).map(|(it, beside)| {
        let dimension = dimension(it.quantity);
        let limit = |limit: Option<f64>| limit.map_or_else(|| "-".into(), |si| display(si, dimension, 4));
        vec![
            name(it.quantity).to_owned(),
            display(it.value, dimension, 4),
            display(beside.expected, dimension, 4),
            limit(it.limits.low),
            limit(it.limits.high),
            display(2.0 * it.standard_uncertainty, dimension, 2),
            verdict_word(it.verdict).to_owned(),
        ]
    });
    let headings = ["quantity", "measured", "spec", "at least", "at most", "U (k = 2)", "verdict"];
    page.block(&columns(&headings, &[0, 6], &rows.collect::<Vec<_>>()));
    page.paragraph(rule_sentence(record.decision));
    page.notes(&record.notes.iter().map(note_sentence).collect::<Vec<_>>());
    if record.causes.is_empty() {
        if record.verdict == Acceptance::Fail {
            page.section("What would explain it");
            page.paragraph(
                "No single known fault does: repeat the measurements, then measure each coil alone.",
            );
        }
        return page.into_text();
    }
    page.section("What would explain it");
    let explained = record.explanations.iter().any(|it| it.explains_everything);
    if !explained {
        page.paragraph(
            "No single fault explains everything: more than one thing differs, or this is another pair. What comes nearest:",
        );
    }
    for class in &record.causes {
        page.paragraph(&class_sentence(class, explained));
        page.list(plausible(class).map(cause_sentence).collect::<Vec<_>>().iter().map(String::as_str));
    }
    page.into_text()
}

fn plausible(class: &CauseClass) -> impl Iterator<Item = &CauseMember> {
    class.members.iter().filter(|member| member.plausible)
}

/// What may be said of the pair, in one or two sentences.
fn verdict_sentence(record: &LessonCheck) -> String {
    let named = |verdict| -> Vec<&str> {
        let of = |it: &&QuantityCheck| it.verdict == verdict;
        record.quantities.iter().filter(of).map(|it| name(it.quantity)).collect()
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

fn rule_sentence(rule: Rule) -> &'static str {
    match rule {
        Rule::Guarded { .. } => {
            "Decision rule: a guard band of the expanded uncertainty U (k = 2) on both sides of each limit (JCGM 106:2012; \
             ILAC-G8:09/2019): at most 2.5 % of what passes, or fails, does so wrongly."
        }
        Rule::Simple => {
            "Decision rule: simple acceptance (ILAC-G8:09/2019), without guard band: near a limit up to half of the verdicts \
             are wrong."
        }
    }
}

fn verdict_word(verdict: Acceptance) -> &'static str {
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

fn note_sentence(note: &Note) -> String {
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
        Note::OrdinaryTolerance { length_m } => format!(
            "the spec has no `build_tolerance`: {} taken for each dimension (common practice, no source)",
            display(*length_m, Dimension::Length, 2)
        ),
    }
}

const fn dimension(quantity: Quantity) -> Dimension {
    match quantity {
        Quantity::ResistanceOhm => Dimension::Resistance,
        Quantity::FieldTeslaPerAmpere => Dimension::FieldConstant,
        Quantity::InductanceHenry => Dimension::Inductance,
        Quantity::ConductorMassKg => Dimension::Mass,
        _ => Dimension::Length,
    }
}
