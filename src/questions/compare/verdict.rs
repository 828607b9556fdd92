//! The verdict on each option, and the cheapest option that passes.

use super::need::{Need, NeedVerdict};
use super::need_kind::NeedKind;
use super::question::Question;
use super::record::{OptionVerdict, PairOption, Tightest};

/// Sets the verdict, the smallest margin and the questions of every option.
pub(super) fn judge(options: &mut [PairOption], needs: &[Need]) {
    for (number, option) in options.iter_mut().enumerate() {
        let verdicts: Vec<NeedVerdict> = needs.iter().map(|need| need.results[number].verdict).collect();
        let contradicts = option.questions.iter().any(Question::is_contradiction);
        let is_open = option.ended().is_some() || option.other_wire().is_some();
        option.verdict = of(&verdicts, contradicts, is_open);
        option.tightest = tightest(needs, number).filter(|_| option.verdict == Some(OptionVerdict::Passes));
        if option.verdict == Some(OptionVerdict::Fails) {
            let mut missed = needs.iter().filter(|need| need.results[number].verdict == NeedVerdict::Missed);
            match (missed.next(), missed.next()) {
                // A date of delivery can be changed, but what was measured or computed cannot.
                (Some(late), None) if late.name == NeedKind::Delivery => {
                    option.questions.push(Question::Late {
                        found: late.results[number].found.clone(),
                        wanted: late.wanted.clone(),
                    })
                }
                // Other questions would not change the verdict.
                _ => {
                    option.questions.retain(Question::is_contradiction);
                    continue;
                }
            }
        }
        let promises_less =
            option.questions.iter().any(|question| matches!(question, Question::PromisesLess { .. }));
        option.questions.extend(needs.iter().filter_map(|need| {
            let result = &need.results[number];
            // A need decided by a gap, or one that a promise misses, is asked about already.
            let is_asked =
                !result.decided_by.is_empty() || (promises_less && need.name == NeedKind::LargestField);
            (result.verdict == NeedVerdict::TooCloseToTell && !is_asked).then(|| Question::Guarantee {
                need: need.name,
                found: result.found.clone(),
                wanted: need.wanted.clone(),
            })
        }));
    }
}

/// The verdict of an option from those of its needs. An offer that has ended, or one of another wire than the request names,
/// does not pass until the supplier has answered.
fn of(verdicts: &[NeedVerdict], contradicts: bool, is_open: bool) -> Option<OptionVerdict> {
    let any = |verdict| verdicts.contains(&verdict);
    match () {
        () if any(NeedVerdict::Missed) => Some(OptionVerdict::Fails),
        () if contradicts => Some(OptionVerdict::Doubtful),
        () if verdicts.is_empty() => None,
        () if any(NeedVerdict::TooCloseToTell) || any(NeedVerdict::NotKnown) => {
            Some(OptionVerdict::Undecided)
        }
        () if is_open => Some(OptionVerdict::Undecided),
        () => Some(OptionVerdict::Passes),
    }
}

/// The need met with the smallest margin, in guard bands, or as a fraction of the need if there is none.
fn tightest(needs: &[Need], number: usize) -> Option<Tightest> {
    // A size of the design is kept or not, and its distance from a limit says nothing.
    let margins = needs.iter().filter(|need| !need.name.is_size()).filter_map(|need| {
        let result = &need.results[number];
        let (margin, guard) = (result.margin.as_ref()?, result.guard_band.as_ref()?.si);
        let unit = if guard > 0.0 { guard } else { need.wanted.si.abs() };
        let beyond_guard = result.margin_beyond_guard();
        Some((margin.si / unit, Tightest { need: need.name, margin: margin.clone(), beyond_guard }))
    });
    margins.min_by(|a, b| a.0.total_cmp(&b.0)).map(|(_, tightest)| tightest)
}

/// The name of the cheapest option that passes; `None` if an unstated term could make another one cheaper.
///
/// Carriage and tax only add to what is stated. An option with complete terms is the cheapest if no other that passes
/// has a smaller stated cost. Without complete terms, only options that leave out the same terms can be compared.
pub(super) fn cheapest_that_passes(options: &[PairOption]) -> Option<String> {
    let passing: Vec<&PairOption> = passing(options).collect();
    let cheapest = match passing[..] {
        [only] => Some(only),
        _ => {
            let costs: Vec<(f64, &PairOption)> =
                passing.iter().map(|option| Some((option.cost?, *option))).collect::<Option<_>>()?;
            let (_, least) = costs.into_iter().min_by(|a, b| a.0.total_cmp(&b.0))?;
            let states = |option: &PairOption| [option.carriage.is_some(), option.tax_fraction.is_some()];
            let alike = passing.iter().all(|option| states(option) == states(least));
            (least.has_whole_terms() || alike).then_some(least)
        }
    };
    cheapest.map(|option| option.label.clone())
}

/// The options that pass.
pub(super) fn passing(options: &[PairOption]) -> impl Iterator<Item = &PairOption> {
    options.iter().filter(|option| option.verdict == Some(OptionVerdict::Passes))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_need_missed_fails_and_what_contradicts_itself_never_passes() {
        use NeedVerdict::{Doubtful, Met, Missed, NotKnown, TooCloseToTell};
        assert_eq!(of(&[Met, Met], false, false), Some(OptionVerdict::Passes));
        assert_eq!(of(&[Met, TooCloseToTell], false, false), Some(OptionVerdict::Undecided));
        assert_eq!(of(&[Met, NotKnown], false, false), Some(OptionVerdict::Undecided));
        assert_eq!(of(&[Missed, TooCloseToTell, Doubtful], true, false), Some(OptionVerdict::Fails));
        assert_eq!(of(&[Met, Doubtful], true, false), Some(OptionVerdict::Doubtful));
        assert_eq!(of(&[Met, Met], true, false), Some(OptionVerdict::Doubtful));
        assert_eq!(of(&[], false, false), None);
        // An offer that has ended neither passes nor turns a failure into something else.
        assert_eq!(of(&[Met, Met], false, true), Some(OptionVerdict::Undecided));
        assert_eq!(of(&[Met, Missed], false, true), Some(OptionVerdict::Fails));
    }

    fn passing_option(
        label: &str,
        cost: f64,
        carriage: Option<f64>,
        tax_fraction: Option<f64>,
    ) -> PairOption {
        PairOption {
            label: label.into(),
            verdict: Some(OptionVerdict::Passes),
            cost: Some(cost),
            carriage,
            tax_fraction,
            ..PairOption::without_figures(label, "")
        }
    }

    #[test]
    fn the_cheapest_is_told_only_where_no_term_left_out_could_change_it() {
        let cheapest = |options: &[PairOption]| cheapest_that_passes(options);
        let whole = |label, cost| passing_option(label, cost, Some(10.0), Some(0.19));
        let bare = |label, cost| passing_option(label, cost, None, None);
        assert_eq!(cheapest(&[whole("A", 300.0), whole("B", 290.0)]).as_deref(), Some("B"));
        assert_eq!(cheapest(&[bare("A", 300.0), bare("B", 290.0)]).as_deref(), Some("B"));
        // Carriage and tax may take B over A.
        assert_eq!(cheapest(&[whole("A", 300.0), bare("B", 290.0)]), None);
        assert_eq!(cheapest(&[bare("A", 300.0), passing_option("B", 290.0, Some(9.0), None)]), None);
        // They only add to A.
        assert_eq!(cheapest(&[bare("A", 300.0), whole("B", 290.0)]).as_deref(), Some("B"));
        assert_eq!(cheapest(&[bare("A", 300.0)]).as_deref(), Some("A"));
        let unpriced = PairOption { cost: None, ..whole("A", 0.0) };
        assert_eq!(cheapest(&[unpriced, whole("B", 290.0)]), None);
    }
}
