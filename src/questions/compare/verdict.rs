//! What may be said of an option as a whole, and which is the cheapest that passes.

use super::record::{Need, NeedVerdict, OptionVerdict, PairOption, Question, Tightest};

/// Says of every option whether it meets the needs, with what margin, and what to ask.
pub(super) fn judge(options: &mut [PairOption], needs: &[Need]) {
    for (number, option) in options.iter_mut().enumerate() {
        let verdicts: Vec<NeedVerdict> = needs.iter().map(|need| need.results[number].verdict).collect();
        let contradicts = option.questions.iter().any(Question::is_contradiction);
        option.verdict = of(&verdicts, contradicts);
        option.tightest = tightest(needs, number).filter(|_| option.verdict == Some(OptionVerdict::Passes));
        if option.verdict == Some(OptionVerdict::Fails) {
            // Nothing else would change the verdict.
            option.questions.retain(Question::is_contradiction);
            continue;
        }
        option.questions.extend(needs.iter().filter_map(|need| {
            let result = &need.results[number];
            (result.verdict == NeedVerdict::TooCloseToTell).then(|| Question::Guarantee {
                need: need.name,
                found: result.found.clone(),
                wanted: need.wanted.clone(),
            })
        }));
    }
}

/// Of a whole by its needs.
fn of(verdicts: &[NeedVerdict], contradicts: bool) -> Option<OptionVerdict> {
    let any = |verdict| verdicts.contains(&verdict);
    match () {
        () if any(NeedVerdict::Missed) => Some(OptionVerdict::Fails),
        () if contradicts => Some(OptionVerdict::Doubtful),
        () if verdicts.is_empty() => None,
        () if any(NeedVerdict::TooCloseToTell) || any(NeedVerdict::NotKnown) => {
            Some(OptionVerdict::Undecided)
        }
        () => Some(OptionVerdict::Passes),
    }
}

/// The need met with the smallest margin: in guard bands, or in parts of the need where there is none.
fn tightest(needs: &[Need], number: usize) -> Option<Tightest> {
    let margins = needs.iter().filter_map(|need| {
        let result = &need.results[number];
        let (margin, guard) = (result.margin?, result.guard_band?);
        let unit = if guard > 0.0 { guard } else { need.wanted_si.abs() };
        Some((
            margin / unit,
            Tightest { need: need.name, margin, margin_words: result.margin_words.clone()? },
        ))
    });
    margins.min_by(|a, b| a.0.total_cmp(&b.0)).map(|(_, tightest)| tightest)
}

/// The name of the cheapest that passes, where the cost of every one that passes is known in one currency.
pub(super) fn cheapest_that_passes(options: &[PairOption]) -> Option<String> {
    let passing = options.iter().filter(|option| option.verdict == Some(OptionVerdict::Passes));
    let costs: Option<Vec<(f64, &str)>> =
        passing.map(|option| Some((option.cost?, option.label.as_str()))).collect();
    costs?.into_iter().min_by(|a, b| a.0.total_cmp(&b.0)).map(|(_, label)| label.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_need_missed_fails_and_what_contradicts_itself_never_passes() {
        use NeedVerdict::{Doubtful, Met, Missed, NotKnown, TooCloseToTell};
        assert_eq!(of(&[Met, Met], false), Some(OptionVerdict::Passes));
        assert_eq!(of(&[Met, TooCloseToTell], false), Some(OptionVerdict::Undecided));
        assert_eq!(of(&[Met, NotKnown], false), Some(OptionVerdict::Undecided));
        assert_eq!(of(&[Missed, TooCloseToTell, Doubtful], true), Some(OptionVerdict::Fails));
        assert_eq!(of(&[Met, Doubtful], true), Some(OptionVerdict::Doubtful));
        assert_eq!(of(&[Met, Met], true), Some(OptionVerdict::Doubtful));
        assert_eq!(of(&[], false), None);
    }
}
