//! A delivery as text, and the sentences that text and protocol share.

use super::deciding::Deciding;
use super::{Delivery, Joint, JointOrWhy, LeadsMeasured, TurnsOfEach};
use crate::judgement::limit::{Acceptance, Rule};
use crate::paper::columns::columns;
use crate::paper::page::Page;
use crate::questions::check::words::{
    QUANTITY_HEADINGS, explanation, note_sentence, quantity_rows, rule_sentence, subject_name,
    unlike_sentences, verdict_sentence,
};
use crate::questions::check::{CoilQuantity, HeldBack, QuantityCheck, Subject, UnlikeCoils};
use crate::questions::identify::Slip;
use crate::questions::identify::words::slip_sentence;
use crate::questions::words::cautions::{Caution, sentences_with};
use crate::questions::words::notes::told;
use crate::questions::words::origin::on_page;
use crate::units::{Dimension, display, length};

/// The page for people.
pub fn text(record: &Delivery) -> String {
    let mut page = Page::new(&record.provenance.spec_title, &on_page(&record.provenance));
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
    page.list(joint_sentences(record).iter().map(String::as_str));
    if let Some(sentence) = not_measured_sentence(record) {
        page.paragraph(&sentence);
    }
    page.notes(&record.check.notes.iter().map(note_sentence).collect::<Vec<_>>());
    page.section("Cautions");
    page.list(sentences_with(&Caution::ALL, &record.safety).iter().map(String::as_str));
    page.into_text()
}

/// The meaning of the mark beside a limit; `None` if there is no mark.
pub(super) fn marked_sentence(record: &Delivery) -> Option<String> {
    let title = record.supplier_title.as_ref()?;
    let marked = record.check.quantities.iter().any(|it| it.limits_from.supplier_sets() != [false; 2]);
    Some(match marked {
        true => format!("* limits of the supplier: {title}."),
        false => format!("The supplier's limits ({title}) name nothing that was measured."),
    })
}

/// Above this, a sum of probabilities says less than its largest term.
const HALF: f64 = 0.5;

/// The error rates of such a verdict.
pub(super) fn risk_sentences(record: &Delivery) -> Vec<String> {
    let rates = &record.error_rates;
    // An upper bound is rounded up, a lower bound down.
    let at_most = |share: f64| format!("at most {:.1} %", (1000.0 * share - 1e-9).ceil() / 10.0);
    let at_least = |share: f64| format!("at least {:.1} %", (1000.0 * share + 1e-9).floor() / 10.0);
    let quantities = record.quantities.len();
    let number = match quantities {
        1 => "the one quantity".to_owned(),
        more => format!("any of the {more} quantities"),
    };
    let mut sentences = vec![format!(
        "Buyer's risk: a delivery with a quantity outside its limits passes in {} of cases; supplier's risk: a \
         quantity that keeps its limit fails by it in {}. The worst case is a true value at the limit itself.",
        at_most(rates.wrong_pass_at_most),
        at_most(rates.wrong_fail_of_one_limit_at_most)
    )];
    sentences.push(format!(
        "A quantity whose true value lies 2 U inside its limits passes in {} of cases.",
        at_least(rates.pass_at_2_u_inside_at_least)
    ));
    // What lies between two limits is not outside for being above the lower one.
    let told = record.quantities.iter().zip(&record.check.quantities).filter(|(_, it)| !it.lies_between());
    let probabilities: Vec<f64> = told.map(|(it, _)| it.probability_outside).collect();
    if record.verdict != Acceptance::Fail && !probabilities.is_empty() {
        let worst = probabilities.iter().copied().fold(0.0, f64::max);
        let number = match quantities - probabilities.len() {
            0 => number,
            _ => "any of those that further readings of themselves decide".to_owned(),
        };
        let outside = match probabilities.iter().sum::<f64>().min(1.0) {
            none if none < 5e-4 => "less than 0.05 %".into(),
            some if some <= HALF => at_most(some),
            _ => at_least(worst),
        };
        sentences.push(format!(
            "Given these readings, {number} lies outside its limits with a probability of {outside} (JCGM 106:2012, 7)."
        ));
    }
    if record.check.quantities.iter().any(passes_rim_to_rim) {
        sentences.push(SHARED.into());
    }
    sentences
}

/// What a reading from rim to rim cannot show.
const SHARED: &str = "Readings from rim to rim show how the coils stand to each other. A tilt or an offset that both share does \
                      not show in them: it is found coil by coil, against the base or the axis.";

/// Whether it is a reading from rim to rim that passes, while the tilt or offset of each coil is not known.
fn passes_rim_to_rim(check: &QuantityCheck) -> bool {
    let is_of_rim = matches!(check.subject, Subject::SpacingDifference { .. } | Subject::RimStep);
    is_of_rim && check.fails_above.is_some() && check.verdict == Acceptance::Pass
}

/// What decides on turns that are in doubt (common practice, no source).
const COUNT_THE_TURNS: &str = "turns: count the turns of each coil, layer by layer, by a turns tester, or by the voltage \
                               induced beside that of a coil of known turns.";

/// What else would explain coils that differ in resistance.
const OF_ONE_REEL: &str = "The coils count as wound from one reel. If they were not, write \"wound_from\": \"several_reels\" in the \
                           file: wire of two reels may differ by 2 % in resistance.";

/// The measurement that would decide each undecided quantity, and the turns where they are in doubt.
pub(super) fn deciding_sentences(record: &Delivery) -> Vec<String> {
    let undecided = record.quantities.iter().zip(&record.check.quantities);
    let of_quantities = undecided
        .filter_map(|(it, check)| Some(deciding_sentence(check, it.deciding.as_ref()?, record.decision)));
    let of_turns = match record.check.held_back {
        Some(HeldBack::TurnsOfACoil { of_one_reel: true, .. }) => {
            Some(format!("{COUNT_THE_TURNS} {OF_ONE_REEL}"))
        }
        Some(HeldBack::Turns { .. } | HeldBack::TurnsOfACoil { .. }) => Some(COUNT_THE_TURNS.to_owned()),
        _ => None,
    };
    of_quantities.chain(of_turns).collect()
}

fn deciding_sentence(check: &QuantityCheck, deciding: &Deciding, rule: Rule) -> String {
    let name = subject_name(check.subject);
    let dimension = check.subject.dimension_of_difference();
    let factor = match rule {
        Rule::Guarded { coverage_factor } => coverage_factor,
        Rule::Simple => 1.0,
    };
    if let Some(sentence) = between_sentence(check, deciding.how.phrase()) {
        return sentence;
    }
    let Some(u) = deciding.standard_uncertainty else {
        return format!(
            "{name}: the value lies on its limit; no better measurement is sure to decide. Measure once more with {}, or agree \
             with the supplier beforehand on simple acceptance.",
            deciding.how.phrase()
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
        deciding.how.phrase()
    )
}

/// What decides where one coil may not be off so far, but both together may; `None` elsewhere.
fn between_sentence(check: &QuantityCheck, how: &str) -> Option<String> {
    let (high, most) = check.lies_between().then_some(check.limits.high.zip(check.fails_above))??;
    let dimension = check.subject.dimension_of_difference();
    let key = if check.subject == Subject::RimStep { "offset" } else { "tilt" };
    Some(format!(
        "{}: one coil alone may make {}, both together {}. Whether one of them is off by more than its limit is decided by {how}: \
         {key}_x and {key}_y of coil_a and coil_b in the file.",
        subject_name(check.subject),
        display(high, dimension, 3),
        display(most, dimension, 3)
    ))
}

/// The result from all readings together, and where the coils differ from each other.
pub(super) fn joint_sentences(record: &Delivery) -> Vec<String> {
    let unlike: Option<&UnlikeCoils> = record.check.unlike_coils.as_ref();
    let mut sentences = unlike.map_or(Vec::new(), unlike_sentences);
    // Where both were counted, the count says it.
    let uncounted = record.not_measured.contains(&CoilQuantity::Turns.key());
    sentences.extend(record.turns_of_each.as_ref().filter(|_| uncounted).and_then(each_sentence));
    let joint = match &record.joint {
        JointOrWhy::Missing(why) => {
            sentences.push(format!("Turns and wire are not derived: {why}."));
            return sentences;
        }
        JointOrWhy::Found(joint) => joint,
    };
    sentences.push(turns_sentence(joint));
    sentences.extend(counted_sentence(joint));
    sentences.push(format!(
        "Likeliest wire: {}. Mean radius {}, section {} wide and {} deep, spacing {}.",
        joint.wire,
        length(joint.mean_radius_m, 1),
        length(joint.width_m, 1),
        length(joint.depth_m, 1),
        length(joint.spacing_m, 1)
    ));
    sentences.extend(joint.leads.as_ref().map(leads_sentence));
    sentences.extend(reason_not_to_believe(joint, unlike.is_some()));
    sentences.extend(told(&joint.assumed));
    sentences
}

/// The turns of each coil as fitted; `None` if the readings do not tell the coils apart.
fn each_sentence(turns: &TurnsOfEach) -> Option<String> {
    let [a, b] =
        turns.fitted?.map(|it| format!("{:.1} with U = {:.1}", it.turns, 2.0 * it.standard_uncertainty));
    Some(format!(
        "Turns of each coil, fitted to the readings with {} (k = 2): {a} of coil a, {b} of coil b.",
        if turns.of_one_reel { "one wire for both" } else { "a wire for each" }
    ))
}

fn leads_sentence(leads: &LeadsMeasured) -> String {
    format!(
        "The spec states {} of leads: that they are in the resistance of the pair has a probability of {}.",
        display(leads.lead_ohm, Dimension::Resistance, 3),
        chance(leads.probability)
    )
}

/// Why the result is not to be believed; `None` if the readings fit.
fn reason_not_to_believe(joint: &Joint, unlike: bool) -> Option<String> {
    let none = "believe none of this before the reason is found.";
    match joint.slip {
        _ if joint.fits => None,
        Some(slip @ Slip::LeadsCounted { .. }) => Some(format!(
            "The resistance fits with leads in it, which the spec does not state: {}. What is derived here leaves them out; \
             measure at the coils' own terminals.",
            slip_sentence(slip)
        )),
        Some(slip) => Some(format!(
            "As they are written the readings fit no stock wire and whole number of turns. A gross slip would explain them: {}. \
             What is derived here is for the readings so put right; check that first.",
            slip_sentence(slip)
        )),
        None if unlike => Some(
            "One number of turns and one wire for both coils do not fit the readings, because the coils differ: judge each \
             coil by its own readings."
                .into(),
        ),
        None => Some(format!(
            "As they are written the readings fit no stock wire and whole number of turns: {none}"
        )),
    }
}

/// The counted turns of each coil; `None` if none were counted.
fn counted_sentence(joint: &Joint) -> Option<String> {
    let each = ["a", "b"].into_iter().zip(joint.counted_turns);
    let counted: Vec<String> = each
        .filter_map(|(coil, turns)| {
            let turns = crate::units::number_of_six(turns?, 1);
            Some(format!("{} in coil {coil}", turns.trim_end_matches(".0")))
        })
        .collect();
    (!counted.is_empty()).then(|| format!("Counted: {}; the fit does not use the count.", counted.join(", ")))
}

fn chance(probability: f64) -> String {
    match probability {
        none if none < 0.005 => "less than 1 %".into(),
        sure if sure > 0.995 => "more than 99 %".into(),
        some => format!("{:.0} %", 100.0 * some),
    }
}

fn turns_sentence(joint: &Joint) -> String {
    let likely = joint
        .turns
        .iter()
        .filter(|it| it.probability >= 0.01)
        .map(|it| format!("{} ({:.0} %)", it.turns, (100.0 * it.probability).clamp(1.0, 99.0)));
    format!(
        "Turns of a coil, the mean of both, fitted to {} readings with wires of stock: {}. The spec's {} within half a turn: {}.",
        joint.readings,
        likely.collect::<Vec<_>>().join(", "),
        crate::units::number_of_six(joint.spec_turns, 1).trim_end_matches(".0"),
        chance(joint.probability_of_spec_turns)
    )
}

/// The quantities not measured; `None` if all were.
pub(super) fn not_measured_sentence(record: &Delivery) -> Option<String> {
    (!record.not_measured.is_empty()).then(|| {
        let keys: Vec<String> = record.not_measured.iter().map(|key| key.replace('_', " ")).collect();
        format!("Not measured, and so not judged: {}.", keys.join(", "))
    })
}
