//! Who passes, who fails and why, and what would decide.

use crate::questions::compare::{Comparison, NeedResult, NeedVerdict, OptionVerdict, PairOption};

/// Who passes, and the cheapest of them: one sentence an option, then one for all; empty where nothing is judged.
pub fn verdicts(record: &Comparison) -> Vec<String> {
    let mut said: Vec<String> = record
        .options
        .iter()
        .enumerate()
        .filter_map(|(number, option)| of_option(record, number, option))
        .collect();
    let passing = record.options.iter().filter(|it| it.verdict == Some(OptionVerdict::Passes)).count();
    let cheapest = record.options.iter().find(|it| Some(&it.label) == record.cheapest_that_passes.as_ref());
    match (cheapest, passing) {
        _ if record.needs.is_empty() => {}
        (Some(option), _) => {
            said.push(format!("cheapest that passes: {}, {}", option.label, cost(record, option)));
        }
        (None, 0) => said.push("none passes".into()),
        (None, _) => {
            said.push("which is the cheapest that passes cannot be told from the prices stated".into())
        }
    }
    said
}

fn of_option(record: &Comparison, number: usize, option: &PairOption) -> Option<String> {
    let of = |verdict: NeedVerdict| {
        record.needs.iter().filter(move |need| need.results[number].verdict == verdict)
    };
    let named = |verdict: NeedVerdict| of(verdict).map(|need| need.name).collect::<Vec<_>>().join(", ");
    let label = &option.label;
    Some(match option.verdict? {
        OptionVerdict::Passes => match &option.tightest {
            Some(tightest) => {
                format!("{label} passes; smallest margin: {} of {}", tightest.margin_words, tightest.need)
            }
            None => format!("{label} passes"),
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
                let band = result.guard_band_words.as_ref().map_or(String::new(), |band| format!(", {band}"));
                format!(
                    "{} ({}{band}, needed {}), {}",
                    need.name,
                    result.found,
                    need.wanted,
                    decided_by(need.name)
                )
            });
            let unknown = match named(NeedVerdict::NotKnown) {
                names if names.is_empty() => None,
                names => Some(format!("{names}: not known, the answers to the questions below would decide")),
            };
            format!("{label} is undecided: {}", close.chain(unknown).collect::<Vec<_>>().join("; "))
        }
        OptionVerdict::Doubtful => {
            let doubtful = named(NeedVerdict::Doubtful);
            let what = if doubtful.is_empty() { "what is stated of the pair" } else { &doubtful };
            format!("{label} is DOUBTFUL: it contradicts itself, and that decides {what}")
        }
    })
}

/// What would decide a need that is too close to tell.
fn decided_by(need: &str) -> &'static str {
    match need {
        "largest field" | "current for that field" => {
            "decided by the field per ampere and the resistance as measured on the finished pair"
        }
        "voltage for that field" => "decided by the resistance as measured on the finished pair",
        "room for the bulb" => "decided by the bore and the spacing as measured, or a closer tolerance",
        "beam deviation" => "decided by a closer build tolerance, or the field measured over the beam",
        "surface temperature" => "decided by the surface as measured after that time at that current",
        _ => "decided by what the supplier guarantees",
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
    match (result.verdict, &result.missed_by, &result.guard_band_words) {
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
        (NeedVerdict::NotKnown, ..) => result.found.clone(),
    }
}

/// The cost in the currency that prices are compared in.
pub(super) fn cost(record: &Comparison, option: &PairOption) -> String {
    match (option.cost, &record.currency) {
        (Some(cost), Some(currency)) if option.has_whole_terms() => format!("{cost:.2} {currency}"),
        // Carriage or tax may come on top.
        (Some(cost), Some(currency)) => format!("at least {cost:.2} {currency}"),
        _ => "not comparable".into(),
    }
}
