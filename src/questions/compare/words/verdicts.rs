//! Which options pass, which fail and why, and what would decide.

use super::asked::{gap_words, named_wire, named_wires, remark_told};
use crate::files::spec::{Gap, Remark};
use crate::questions::compare::terms::open;
use crate::questions::compare::verdict::passing;
use crate::questions::compare::{
    Comparison, Need, NeedKind, NeedResult, NeedVerdict, OpenTerm, OptionVerdict, PairOption,
};

/// One sentence on each option, then one on the cheapest; empty if there is nothing to judge.
pub fn verdicts(record: &Comparison) -> Vec<String> {
    let mut said: Vec<String> = record
        .options
        .iter()
        .enumerate()
        .filter_map(|(number, option)| of_option(record, number, option))
        .collect();
    let cheapest = record.options.iter().find(|it| Some(&it.label) == record.cheapest_that_passes.as_ref());
    match (cheapest, passing(&record.options).count()) {
        _ if record.needs.is_empty() => {}
        (Some(option), _) => {
            let unless = match option.remarks.iter().any(Remark::may_change_the_cost) {
                true => ", unless the remark of its supplier changes that",
                false => "",
            };
            said.push(format!("cheapest that passes: {}, {}{unless}", option.label, cost(record, option)));
        }
        (None, 0) => said.push("none passes".into()),
        (None, _) => {
            said.push(format!("which is the cheapest that passes cannot be told: {}", untold(record)))
        }
    }
    said
}

/// The terms that are missing from options that pass.
fn untold(record: &Comparison) -> String {
    let missing = |option: &PairOption| {
        let stated = |term: &OpenTerm| match term.key().is_some_and(|key| option.is_unclear(key)) {
            true => format!("no clear {}", term_word(term)),
            false if matches!(term, OpenTerm::Rate { .. }) => "a currency without a rate".into(),
            false => format!("no {}", term_word(term)),
        };
        let open: Vec<String> = open(option).iter().map(stated).collect();
        (!open.is_empty()).then(|| format!("{} states {}", option.label, open.join(" and ")))
    };
    passing(&record.options).filter_map(missing).collect::<Vec<_>>().join("; ")
}

fn term_word(term: &OpenTerm) -> &'static str {
    match term {
        OpenTerm::Price => "price",
        OpenTerm::Currency => "currency",
        OpenTerm::Rate { .. } => "rate",
        OpenTerm::Carriage => "carriage",
        OpenTerm::Tax => "tax",
        OpenTerm::Delivery => "time of delivery",
    }
}

/// What would decide a need whose result depends on open terms.
fn decided_by_terms(terms: &[OpenTerm]) -> String {
    let asked: Vec<&str> = terms
        .iter()
        .filter_map(|term| {
            Some(match term {
                OpenTerm::Price => "the price",
                OpenTerm::Currency => "the currency",
                OpenTerm::Carriage => "carriage",
                OpenTerm::Tax => "tax",
                OpenTerm::Delivery => "the time of delivery",
                OpenTerm::Rate { .. } => return None,
            })
        })
        .collect();
    let rate = terms.iter().find_map(|term| match term {
        OpenTerm::Rate { currency } => {
            Some(format!("by the rate of {currency}, which the wishes do not state"))
        }
        _ => None,
    });
    let asked = (!asked.is_empty()).then(|| format!("by the answer about {}", listed(&asked)));
    let parts: Vec<String> = rate.into_iter().chain(asked).collect();
    format!("decided {}", parts.join(", and "))
}

fn of_option(record: &Comparison, number: usize, option: &PairOption) -> Option<String> {
    let of = |verdict: NeedVerdict| {
        record.needs.iter().filter(move |need| need.results[number].verdict == verdict)
    };
    let named = |verdict| of(verdict).map(|need| need.name.words()).collect::<Vec<_>>().join(", ");
    let label = &option.label;
    Some(match option.verdict? {
        OptionVerdict::Passes => match &option.tightest {
            Some(tightest) => format!(
                "{label} passes; smallest margin: {} of {}{}{}",
                tightest.margin,
                tightest.need,
                tightest
                    .beyond_guard
                    .as_ref()
                    .map_or(String::new(), |left| format!(", of which {left} lie beyond the guard band")),
                remarked(option)
            ),
            None => format!("{label} passes{}", remarked(option)),
        },
        OptionVerdict::Fails => {
            let missed = of(NeedVerdict::Missed).map(|need| {
                let result = &need.results[number];
                format!("{} ({}, needed {})", need.name, result.found, need.wanted)
            });
            format!("{label} FAILS: {}", missed.collect::<Vec<_>>().join(", "))
        }
        OptionVerdict::Undecided => {
            let close = of(NeedVerdict::TooCloseToTell).map(|need| {
                let result = &need.results[number];
                let band = result.guard_band.as_ref().map_or(String::new(), |band| format!(", {band}"));
                format!(
                    "{} ({}{band}, needed {}), {}",
                    need.name,
                    result.found,
                    need.wanted,
                    match result.decided_by[..] {
                        [] => decided_by(need.name).into(),
                        ref gaps => format!("decided by the answer about {}", gaps_words(gaps)),
                    }
                )
            });
            let (of_terms, of_pair): (Vec<&Need>, Vec<&Need>) =
                of(NeedVerdict::NotKnown).partition(|need| !need.results[number].open_terms.is_empty());
            let unknown = (!of_pair.is_empty()).then(|| {
                let names: Vec<&str> = of_pair.iter().map(|need| need.name.words()).collect();
                let names = names.join(", ");
                let mut gaps: Vec<Gap> =
                    of_pair.iter().flat_map(|need| need.results[number].decided_by.iter().copied()).collect();
                gaps.sort_unstable();
                gaps.dedup();
                match &gaps[..] {
                    [] => format!("{names}: not known, the answers to the questions below would decide"),
                    gaps => format!("{names}: not known, decided by the answer about {}", gaps_words(gaps)),
                }
            });
            let terms = of_terms.into_iter().map(|need| {
                let result = &need.results[number];
                format!("{}: {}, {}", need.name, result.found, decided_by_terms(&result.open_terms))
            });
            let ended = option
                .ended()
                .map(|day| format!("the offer held until {day}, decided by whether it still holds"));
            let wire = option.other_wire().map(|(offered, named)| {
                format!(
                    "the wire is {}, and the request names {}: decided by whether one of these can be used, or by taking the wires \
                     out of the request",
                    named_wire(offered),
                    named_wires(named)
                )
            });
            let unknown = unknown.into_iter().chain(terms).chain(ended).chain(wire);
            format!("{label} is undecided: {}", close.chain(unknown).collect::<Vec<_>>().join("; "))
        }
        OptionVerdict::Doubtful => {
            let doubtful = named(NeedVerdict::Doubtful);
            let what = if doubtful.is_empty() { "what is stated of the pair" } else { &doubtful };
            format!("{label} is DOUBTFUL: it contradicts itself, and that decides {what}")
        }
    })
}

/// The addition to a pass if the supplier wrote more than values.
fn remarked(option: &PairOption) -> String {
    /// Most characters of a remark in the verdict; the whole stands further down.
    const LONGEST: usize = 100;
    let told: Vec<String> = option.remarks.iter().map(|remark| remark_told(remark, LONGEST)).collect();
    match told.is_empty() {
        true => String::new(),
        false => format!("; BUT its supplier wrote {}", told.join(", ")),
    }
}

fn gaps_words(gaps: &[Gap]) -> String {
    listed(&gaps.iter().map(|gap| gap_words(*gap)).collect::<Vec<_>>())
}

/// Names in a sentence: `a, b and c`.
fn listed(names: &[&str]) -> String {
    match names {
        [first @ .., last] if !first.is_empty() => format!("{} and {last}", first.join(", ")),
        names => names.join(""),
    }
}

/// What would decide a need that is too close to tell, for a complete pair.
fn decided_by(need: NeedKind) -> &'static str {
    match need {
        NeedKind::LargestField | NeedKind::Current => {
            "decided by the field per ampere and the resistance as measured on the finished pair"
        }
        NeedKind::Voltage => "decided by the resistance as measured on the finished pair",
        NeedKind::Room => "decided by the bore and the spacing as measured, or a closer tolerance",
        NeedKind::BeamDeviation => "decided by a closer build tolerance, or the field measured over the beam",
        NeedKind::SurfaceTemperature => "decided by the surface as measured after that time at that current",
        NeedKind::MeanRadius | NeedKind::SectionWidth | NeedKind::SectionDepth | NeedKind::Spacing => {
            "decided by the size that the supplier states"
        }
        NeedKind::Cost | NeedKind::Delivery => "decided by what the supplier guarantees",
    }
}

/// The verdict as scripts read it.
pub(crate) fn verdict_key(verdict: OptionVerdict) -> &'static str {
    match verdict {
        OptionVerdict::Passes => "passes",
        OptionVerdict::Fails => "fails",
        OptionVerdict::Undecided => "undecided",
        OptionVerdict::Doubtful => "doubtful",
    }
}

/// How a need is met, in words.
pub fn verdict(result: &NeedResult) -> String {
    match (result.verdict, &result.missed_by, &result.guard_band) {
        (NeedVerdict::Met, _, Some(guard)) => format!("met: {}, {guard}", result.found),
        (NeedVerdict::Met, ..) => format!("met: {}", result.found),
        (NeedVerdict::Missed, Some(missed), _) => format!("MISSED by {missed}: {}", result.found),
        (NeedVerdict::Missed, None, _) => format!("MISSED: {}", result.found),
        (NeedVerdict::TooCloseToTell, _, Some(guard)) => {
            format!("too close to tell: {}, {guard}", result.found)
        }
        (NeedVerdict::TooCloseToTell, ..) => format!("too close to tell: {}", result.found),
        (NeedVerdict::Doubtful, ..) if result.found_si.is_none() => "doubtful".into(),
        (NeedVerdict::Doubtful, ..) => format!("doubtful: {}", result.found),
        (NeedVerdict::NotKnown, ..) => result.found.to_string(),
    }
}

/// The cost in the currency of the comparison.
pub(super) fn cost(record: &Comparison, option: &PairOption) -> String {
    match (option.cost, &record.currency) {
        (Some(cost), Some(currency)) if option.has_whole_terms() => format!("{cost:.2} {currency}"),
        // Carriage or tax may be added.
        (Some(cost), Some(currency)) => format!("at least {cost:.2} {currency}"),
        _ => "not comparable".into(),
    }
}
