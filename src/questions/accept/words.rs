//! A delivery as text, and the sentences that text and protocol share.

use super::deciding::Deciding;
use super::{Delivery, Joint, JointOrWhy};
use crate::judgement::limit::{Acceptance, Rule};
use crate::paper::columns::columns;
use crate::paper::page::Page;
use crate::questions::check::words::{
    QUANTITY_HEADINGS, explanation, note_sentence, quantity_rows, rule_sentence, subject_name,
    verdict_sentence,
};
use crate::questions::check::{LimitsFrom, QuantityCheck};
use crate::questions::words::cautions::{Caution, sentences_with};
use crate::units::{display, length};

/// The page for people.
pub fn text(record: &Delivery) -> String {
    let mut page = Page::new(&record.provenance.spec_title, &record.provenance.on_page());
    page.section(&format!("Delivery: {}", record.measured_title));
    page.paragraph(&verdict_sentence(&record.check));
    page.block(&columns(&QUANTITY_HEADINGS, &[0, 6], &quantity_rows(&record.check.quantities)));
    if let Some(marked) = marked_sentence(record) {
        page.paragraph(&marked);
    }
    page.paragraph(rule_sentence(record.decision));
    page.list(risk_sentences(record).iter().map(String::as_str));
    let deciding = deciding_sentences(record);
    if !deciding.is_empty() {
        page.section("What would decide");
        page.list(deciding.iter().map(String::as_str));
    }
    let explained = explanation(&record.check);
    if !explained.is_empty() {
        page.section("What would explain it");
    }
    for (sentence, members) in &explained {
        page.paragraph(sentence);
        page.list(members.iter().map(String::as_str));
    }
    page.section("All readings together");
    page.list(joint_sentences(&record.joint).iter().map(String::as_str));
    if let Some(sentence) = not_measured_sentence(record) {
        page.paragraph(&sentence);
    }
    page.notes(&record.check.notes.iter().map(note_sentence).collect::<Vec<_>>());
    page.section("Cautions");
    page.list(sentences_with(&Caution::ALL, &record.safety).iter().map(String::as_str));
    page.into_text()
}

/// What the mark beside a limit means; `None` if there is none.
pub(super) fn marked_sentence(record: &Delivery) -> Option<String> {
    let title = record.supplier_title.as_ref()?;
    let marked = record.check.quantities.iter().any(|it| it.limits_from == LimitsFrom::Supplier);
    Some(match marked {
        true => format!("* limits of the supplier: {title}."),
        false => format!("The supplier's limits ({title}) name nothing that was measured."),
    })
}

/// How often such a verdict is wrong.
pub(super) fn risk_sentences(record: &Delivery) -> Vec<String> {
    let rates = &record.error_rates;
    let percent = |share: f64| format!("{:.1} %", 100.0 * share);
    let quantities = record.quantities.len();
    let number = match quantities {
        1 => "the one quantity".to_owned(),
        more => format!("any of the {more} quantities"),
    };
    let mut sentences = vec![format!(
        "Buyer's risk: a delivery with a quantity outside its limits passes in at most {} of cases; supplier's risk: a \
         quantity that keeps its limit fails by it in at most {}. The worst case is a true value at the limit itself.",
        percent(rates.wrong_pass_at_most),
        percent(rates.wrong_fail_of_one_limit_at_most)
    )];
    sentences.push(format!(
        "A quantity whose true value lies 2 U inside its limits passes in at least {} of cases.",
        percent(rates.pass_at_2_u_inside_at_least)
    ));
    if record.verdict != Acceptance::Fail {
        let outside = match rates.any_outside_at_most {
            none if none < 5e-4 => "less than 0.05 %".into(),
            some => format!("at most {}", percent(some)),
        };
        sentences.push(format!(
            "Given these readings, {number} lies outside its limits with a probability of {outside} (JCGM 106:2012, 7)."
        ));
    }
    sentences
}

/// What would decide each undecided quantity.
pub(super) fn deciding_sentences(record: &Delivery) -> Vec<String> {
    let undecided = record.quantities.iter().zip(&record.check.quantities);
    undecided
        .filter_map(|(it, check)| Some(deciding_sentence(check, it.deciding.as_ref()?, record.decision)))
        .collect()
}

fn deciding_sentence(check: &QuantityCheck, deciding: &Deciding, rule: Rule) -> String {
    let name = subject_name(check.subject);
    let dimension = check.subject.dimension_of_difference();
    let factor = match rule {
        Rule::Guarded { coverage_factor } => coverage_factor,
        Rule::Simple => 1.0,
    };
    let Some(u) = deciding.standard_uncertainty else {
        return format!(
            "{name}: the value lies on its limit; no better measurement is sure to decide. Measure once more with {}, or agree \
             with the supplier beforehand on simple acceptance.",
            deciding.how
        );
    };
    let repeats = match deciding.repeats {
        Some(repeats) if repeats > 1 => {
            format!(
                ", or the mean of {repeats} such measurements if nothing but scatter is in their uncertainty"
            )
        }
        _ => String::new(),
    };
    format!(
        "{name}: U at most {} instead of {} decides, if the value stays: {}{repeats}.",
        display(factor * u, dimension, 2),
        display(factor * check.standard_uncertainty, dimension, 2),
        deciding.how
    )
}

/// What all readings say together.
pub(super) fn joint_sentences(joint: &JointOrWhy) -> Vec<String> {
    let joint = match joint {
        JointOrWhy::Missing(why) => return vec![format!("Turns and wire are not derived: {why}.")],
        JointOrWhy::Found(joint) => joint,
    };
    let mut sentences = vec![turns_sentence(joint)];
    sentences.push(format!(
        "Likeliest wire: {}. Mean radius {}, section {} wide and {} deep, spacing {}.",
        joint.wire,
        length(joint.mean_radius_m, 1),
        length(joint.width_m, 1),
        length(joint.depth_m, 1),
        length(joint.spacing_m, 1)
    ));
    if !joint.fits {
        sentences.push(
            "As they are written the readings fit no stock wire and whole number of turns: believe none of this before the \
             reason is found."
                .into(),
        );
    }
    sentences.extend(joint.assumed.iter().cloned());
    sentences
}

fn turns_sentence(joint: &Joint) -> String {
    let likely = joint
        .turns
        .iter()
        .filter(|it| it.probability >= 0.01)
        .map(|it| format!("{} ({:.0} %)", it.turns, (100.0 * it.probability).clamp(1.0, 99.0)));
    let spec = match joint.probability_of_spec_turns {
        none if none < 0.005 => "less than 1 %".into(),
        some => format!("{:.0} %", (100.0 * some).clamp(1.0, 99.0)),
    };
    format!(
        "Turns of each coil, fitted to {} readings with wires of stock: {}. The spec's {} within half a turn: {spec}.",
        joint.readings,
        likely.collect::<Vec<_>>().join(", "),
        crate::units::number_of_six(joint.spec_turns, 1).trim_end_matches(".0")
    )
}

/// What was not measured; `None` if everything was.
pub(super) fn not_measured_sentence(record: &Delivery) -> Option<String> {
    (!record.not_measured.is_empty()).then(|| {
        let keys: Vec<String> = record.not_measured.iter().map(|key| key.replace('_', " ")).collect();
        format!("Not measured, and so not judged: {}.", keys.join(", "))
    })
}
