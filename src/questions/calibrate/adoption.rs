//! Which line the tables use, and whether any may be used.

use super::agreement::{Agreement, Dispute};
use super::ammeter::Ammeter;
use crate::judgement::agreement::Agreement as Verdict;
use crate::pair::Read;
use crate::physics::budget_source::BudgetSource;
use crate::physics::slope::{AdoptedFrom, BudgetEntry, Slope, Spread};
use crate::{Error, Result};

/// The choice of a line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Choice {
    /// The line.
    pub from: AdoptedFrom,
    /// Whether the user asked for it.
    pub asked: bool,
    /// Whether the computed slope has an uncertainty.
    pub computed_is_judged: bool,
    /// Why the line should not be adopted. Such a line is adopted only if the user asked for it.
    pub dispute: Option<Dispute>,
}

/// Chooses the line that the user asks for. By default: the computed line without readings; the fitted line without
/// `build_tolerance`; the combination of both if they agree; the one with the smaller uncertainty if the readings
/// cannot tell.
///
/// Refuses a line for which the data are missing.
pub(super) fn choose(
    asked: Option<AdoptedFrom>,
    computed: &Slope,
    fitted: Option<&Slope>,
    agreement: Option<&Agreement>,
) -> Result<Choice> {
    let computed_is_judged = computed.is_judged();
    let by_default = match (fitted, agreement.and_then(|agreement| agreement.verdict)) {
        (None, _) => AdoptedFrom::Computed,
        (Some(_), None) => AdoptedFrom::Fit,
        (Some(_), Some(Verdict::Agree)) => AdoptedFrom::Combined,
        (Some(fitted), Some(_)) => {
            let relative = [fitted, computed].map(Slope::relative_expanded_uncertainty);
            if matches!(relative, [Some(fitted), Some(computed)] if fitted < computed) {
                AdoptedFrom::Fit
            } else {
                AdoptedFrom::Computed
            }
        }
    };
    let from = asked.unwrap_or(by_default);
    if fitted.is_none() && from != AdoptedFrom::Computed {
        return Err(Error::value_with_hint(
            format!("no line can be adopted from `{}` without readings", from.name()),
            "give the readings with --readings",
        ));
    }
    if !computed_is_judged && from != AdoptedFrom::Fit {
        return Err(Error::value_with_hint(
            format!("the slope `{}` has no uncertainty without `build_tolerance`", from.name()),
            "state `build_tolerance` in the spec, or adopt the fit",
        ));
    }
    let dispute = agreement.and_then(Agreement::dispute);
    Ok(Choice { from, asked: asked.is_some(), computed_is_judged, dispute })
}

/// Weight of the fitted slope in the combination of the two.
///
/// It follows from least squares with the meters' gains as shared parameters: the computed slope is per true ampere,
/// the fitted one per ampere shown. Lessons with another ammeter need k per true ampere: weights 1/u², with the
/// ammeter's errors counted in the fitted slope. Lessons with the same ammeter need k per ampere shown: the ammeter's
/// errors then count in the computed slope.
pub(super) fn weight_of_fit(
    computed: &Slope,
    fitted: &Slope,
    ammeter: Option<Ammeter>,
    same_ammeter: bool,
) -> f64 {
    // A slope whose uncertainty is not known has no weight.
    let Some(computed) = computed.standard_uncertainty() else { return 1.0 };
    let Some(own) = fitted.standard_uncertainty() else { return 0.0 };
    let of_the_ammeter: f64 =
        ammeter.filter(|_| same_ammeter).map_or(0.0, |_| shared_variance(&fitted.budget));
    let of_the_build = computed.powi(2) + of_the_ammeter;
    let of_the_fit = (own.powi(2) - of_the_ammeter).max(0.0);
    of_the_build / (of_the_build + of_the_fit)
}

/// Variance of a slope due to the ammeter.
fn shared_variance(budget: &[BudgetEntry]) -> f64 {
    budget
        .iter()
        .filter(|entry| entry.source.meter() == Some(Read::Current))
        .map(|entry| entry.contribution_tesla_per_ampere.powi(2))
        .sum()
}

/// The mean of two slopes, weighted. What they contradict each other by is in its budget.
pub(super) fn combined(computed: &Slope, fitted: &Slope, weight_of_fit: f64) -> Slope {
    let value = weight_of_fit * fitted.tesla_per_ampere + (1.0 - weight_of_fit) * computed.tesla_per_ampere;
    let mut budget: Vec<BudgetEntry> =
        computed.budget.iter().map(|entry| entry.weighted(1.0 - weight_of_fit)).collect();
    budget.extend(fitted.budget.iter().map(|entry| entry.weighted(weight_of_fit)));
    let mean = Slope::of(AdoptedFrom::Combined, value, budget);
    match contradiction(computed, fitted, &mean) {
        Some(entry) => {
            let budget = mean.budget.iter().cloned().chain([entry]).collect();
            Slope::of(AdoptedFrom::Combined, value, budget)
        }
        None => mean,
    }
}

/// What is added to the budget of the mean of two slopes that contradict each other (|E_n| above 1). With it u(mean) is
/// enlarged by the Birge ratio of the two, R = |k₁ − k₂| / √(u₁² + u₂²) (Birge 1932): u_added = u(mean) √(R² − 1).
fn contradiction(computed: &Slope, fitted: &Slope, mean: &Slope) -> Option<BudgetEntry> {
    let [of_computed, of_fit, of_mean] = [computed, fitted, mean].map(Slope::standard_uncertainty);
    let apart = (fitted.tesla_per_ampere - computed.tesla_per_ampere).abs();
    let birge = apart / of_computed?.hypot(of_fit?);
    let beyond = fitted.normalised_difference(computed).is_some_and(|found| found.abs() > 1.0) && birge > 1.0;
    let added = of_mean? * (birge.powi(2) - 1.0).max(0.0).sqrt();
    beyond.then(|| BudgetEntry {
        source: BudgetSource::Contradiction,
        coil: None,
        unit: "T/A".into(),
        distribution: Spread::Normal,
        standard_uncertainty: added,
        sensitivity_tesla_per_ampere_per_unit: 1.0,
        contribution_tesla_per_ampere: added,
        degrees_of_freedom: None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::physics::budget_source::BudgetSource::{AmmeterGain, Build, Contradiction, Fit, ProbeGain};
    use crate::physics::build_error::BuildParameter::Spacing;
    use approx::assert_relative_eq;

    fn slope(from: AdoptedFrom, value: f64, parts: &[(BudgetSource, f64)]) -> Slope {
        let entry = |(source, u): &(BudgetSource, f64)| {
            BudgetEntry::relative(source.clone(), Spread::Normal, *u, 1.0)
        };
        Slope::of(from, value, parts.iter().map(entry).collect())
    }

    #[test]
    fn the_better_known_slope_counts_more() {
        // By hand: u 2 and 1 give weights 1/4 and 1, so the fit counts 4/5 and u² = 1/(1/4 + 1) = 4/5.
        let computed = slope(AdoptedFrom::Computed, 10.0, &[(Build(Spacing), 2.0)]);
        let fitted = slope(AdoptedFrom::Fit, 14.0, &[(Fit, 1.0)]);
        let weight = weight_of_fit(&computed, &fitted, None, false);
        assert_relative_eq!(weight, 0.8, max_relative = 1e-14);
        let mean = combined(&computed, &fitted, weight);
        assert_relative_eq!(mean.tesla_per_ampere, 13.2, max_relative = 1e-14);
        assert_relative_eq!(mean.standard_uncertainty().unwrap(), 0.8f64.sqrt(), max_relative = 1e-14);
    }

    #[test]
    fn two_slopes_that_contradict_each_other_make_their_mean_as_uncertain_as_birge_says() {
        // By hand: u 2 and 1, apart by 10, E_n = 10/√(16 + 4) = 2.2; R = 10/√5, and u = R √0.8 = 4, so that U = 8 holds both.
        let computed = slope(AdoptedFrom::Computed, 10.0, &[(Build(Spacing), 2.0)]);
        let fitted = slope(AdoptedFrom::Fit, 20.0, &[(Fit, 1.0)]);
        let mean = combined(&computed, &fitted, 0.8);
        assert_relative_eq!(mean.standard_uncertainty().unwrap(), 4.0, max_relative = 1e-12);
        let last = mean.budget.last().unwrap();
        assert_eq!(last.source, Contradiction);
        assert_relative_eq!(last.contribution_tesla_per_ampere, 15.2f64.sqrt(), max_relative = 1e-12);
        let near = combined(&computed, &slope(AdoptedFrom::Fit, 14.4, &[(Fit, 1.0)]), 0.8);
        assert!(near.budget.iter().all(|entry| entry.source != Contradiction));
    }

    #[test]
    fn with_the_same_ammeter_its_gain_is_the_computed_slopes_error() {
        // By hand: per ampere shown u² = 2² + 1² and 1²; the fit counts 5/6, where per true ampere it counts 4/6.
        let computed = slope(AdoptedFrom::Computed, 10.0, &[(Build(Spacing), 2.0)]);
        let fitted = slope(AdoptedFrom::Fit, 10.0, &[(AmmeterGain, 1.0), (ProbeGain, 1.0)]);
        let meter =
            crate::pair::Meter { resolution: None, accuracy_of_reading: Some(1.0), accuracy_digits: 0.0 };
        let ammeter = Some(Ammeter::of_meter(&meter, None));
        assert_relative_eq!(
            weight_of_fit(&computed, &fitted, ammeter, true),
            5.0 / 6.0,
            max_relative = 1e-14
        );
        assert_relative_eq!(
            weight_of_fit(&computed, &fitted, ammeter, false),
            4.0 / 6.0,
            max_relative = 1e-14
        );
    }

    #[test]
    fn a_slope_of_unknown_uncertainty_has_no_weight() {
        let [known, unknown] =
            [&[(Build(Spacing), 2.0)][..], &[]].map(|parts| slope(AdoptedFrom::Computed, 10.0, parts));
        assert_eq!(weight_of_fit(&unknown, &known, None, false), 1.0);
        assert_eq!(weight_of_fit(&known, &unknown, None, false), 0.0);
    }

    #[test]
    fn nothing_is_adopted_that_there_is_nothing_to_make_from() {
        let computed = slope(AdoptedFrom::Computed, 10.0, &[(Build(Spacing), 2.0)]);
        assert!(choose(Some(AdoptedFrom::Fit), &computed, None, None).is_err());
        let open = slope(AdoptedFrom::Computed, 10.0, &[]);
        let fitted = slope(AdoptedFrom::Fit, 15.0, &[(Fit, 1.0)]);
        assert!(choose(Some(AdoptedFrom::Combined), &open, Some(&fitted), None).is_err());
        assert_eq!(choose(None, &open, Some(&fitted), None).unwrap().from, AdoptedFrom::Fit);
    }
}
