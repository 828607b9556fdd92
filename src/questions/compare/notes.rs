//! What the reader of a comparison must know.

use super::record::PairOption;
use crate::judgement::limit::Rule;
use crate::physics::heat::HeldFor;
use crate::questions::words::notes::held_words;

pub(super) fn notes(options: &[PairOption], with_needs: bool, held_for: HeldFor, rule: Rule) -> Vec<String> {
    let mut notes = Vec::new();
    let mut currencies: Vec<&str> = options.iter().filter_map(|option| option.currency.as_deref()).collect();
    currencies.sort_unstable();
    currencies.dedup();
    if currencies.len() > 1 {
        notes.push(format!(
            "prices are in different currencies ({}) and cannot be compared as they stand",
            currencies.join(", ")
        ));
    }
    let unpriced: Vec<&str> =
        options.iter().filter(|option| option.price.is_none()).map(|option| option.label.as_str()).collect();
    if !unpriced.is_empty() {
        notes.push(format!("no price is stated for {}", unpriced.join(", ")));
    }
    let uncounted: Vec<&str> = options
        .iter()
        .filter(|option| option.price.is_some() && option.currency.is_none())
        .map(|option| option.label.as_str())
        .collect();
    if !uncounted.is_empty() {
        notes.push(format!("the price of {} is stated without a currency", uncounted.join(", ")));
    }
    notes.extend(notes_on_missing_parts(options));
    for (i, option) in options.iter().enumerate() {
        if let Some(same) = options[..i].iter().find(|other| other.digest == option.digest) {
            notes.push(format!("{} and {} are the same file", same.label, option.label));
        }
    }
    notes.push(match held_words(held_for) {
        Some(held) => format!(
            "largest field, voltage, power, drift and surface are those in the end when the current is held {held}, the \
             copper as warm as it is then"
        ),
        None => "largest field, voltage and power are those with the copper at room temperature, drift and surface those of \
                 the steady state"
            .into(),
    });
    if !with_needs {
        notes.push(
            "no needs were given: name a file of wishes with --needs to see what is met and missed".into(),
        );
    }
    if with_needs {
        notes.push(match rule {
            Rule::Guarded { .. } => "a need is met, or missed, only beyond a guard band of the expanded uncertainty U, k = 2 \
                                     (JCGM 106:2012; ILAC-G8:09/2019): build tolerance for field and deviation, the wire's \
                                     ±1 % for the resistance, 20 % of the rise for temperatures"
                .into(),
            Rule::Simple => "needs are judged by the figures alone (simple acceptance): near a limit up to half of the \
                             verdicts are wrong"
                .into(),
        });
    }
    notes.push(
        "continuous currents rest on a heating model good to 10 to 20 %; touch and insulation limits as in `heat`".into(),
    );
    notes
}

/// One note for each part that options lack, with their labels.
fn notes_on_missing_parts(options: &[PairOption]) -> Vec<String> {
    let mut parts: Vec<&str> = options.iter().flat_map(|option| option.missing.iter().copied()).collect();
    parts.sort_unstable();
    parts.dedup();
    let note = |part: &&str| {
        let labels: Vec<&str> = options
            .iter()
            .filter(|option| option.missing.contains(part))
            .map(|option| option.label.as_str())
            .collect();
        let then = match part.starts_with("supply.") {
            true => "the supply is taken to have no such limit",
            false => "the figures that need it are left out",
        };
        format!("no `{part}` is stated for {}: {then}", labels.join(", "))
    };
    parts.iter().map(note).collect()
}
