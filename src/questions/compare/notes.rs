//! What the reader of a comparison must know.

use super::note::Note;
use super::record::PairOption;
use crate::files::spec::Wanted;
use crate::judgement::limit::Rule;
use crate::physics::heat::HeldFor;

pub(super) fn notes(
    options: &[PairOption],
    needs: Option<&Wanted>,
    currency: Option<&str>,
    held_for: HeldFor,
    rule: Rule,
) -> Vec<Note> {
    let of = |is: &dyn Fn(&PairOption) -> bool| -> Vec<String> {
        options.iter().filter(|option| is(option)).map(|option| option.label.clone()).collect()
    };
    let mut notes = Vec::new();
    let mut push = |labels: Vec<String>, note: fn(Vec<String>) -> Note| {
        if !labels.is_empty() {
            notes.push(note(labels));
        }
    };
    if currency.is_none() {
        let mut all: Vec<String> = options.iter().filter_map(|option| option.currency.clone()).collect();
        all.sort_unstable();
        all.dedup();
        push(all, Note::SeveralCurrencies);
    } else {
        push(of(&|it| it.price.is_some() && it.currency.is_some() && it.cost.is_none()), Note::NoRate);
    }
    let unclear = |it: &PairOption| it.is_unclear("price.amount") || it.is_unclear("price.currency");
    push(of(&|it| it.price.is_none() && !unclear(it)), Note::NoPrice);
    push(of(&|it| it.price.is_some() && it.currency.is_none() && !unclear(it)), Note::NoCurrency);
    push(of(&unclear), Note::UnclearPrice);
    let bought = needs.is_some_and(|needs| needs.purchase.is_some());
    let unstated = |it: &PairOption| it.cost.is_some() && !it.has_whole_terms();
    push(of(&|it| bought && unstated(it)), Note::TermsUnstated);
    push(of(&|it| !it.bounds.is_empty()), Note::Bounds);
    push(of(&PairOption::has_open_gap), Note::LeftOut);
    notes.extend(on_missing_parts(options));
    for (i, option) in options.iter().enumerate() {
        if let Some(same) = options[..i].iter().find(|other| other.digest == option.digest) {
            notes.push(Note::SameFile([same.label.clone(), option.label.clone()]));
        }
    }
    notes.push(Note::Held(held_for));
    notes.push(match needs {
        Some(_) => Note::Decision(rule),
        None => Note::NoNeeds,
    });
    notes.push(Note::Heating);
    notes
}

/// One note for each part that options lack, with their names.
fn on_missing_parts(options: &[PairOption]) -> Vec<Note> {
    let mut parts: Vec<&str> = options.iter().flat_map(|option| option.missing.iter().copied()).collect();
    parts.sort_unstable();
    parts.dedup();
    let lacking = |part: &&'static str| {
        let without = options.iter().filter(|option| option.missing.contains(part));
        Note::Missing { part, labels: without.map(|option| option.label.clone()).collect() }
    };
    parts.iter().map(lacking).collect()
}
