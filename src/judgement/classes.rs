//! Posterior probabilities; faults that look alike in the data form one class.

use super::evidence::{Evidence, FaultEvidence, ln_sum};
use super::fault::Fault;
use crate::{Error, Result};

/// Two effects count as the same if the cosine of the angle between them, in units of the data's uncertainty, exceeds
/// this in size.
const SAME_DIRECTION: f64 = 0.999;
/// Two faults of like direction that differ by less than this in chi-square at the best size also form one class: at a
/// difference of 16 the wrong one fits better in one case of forty-four.
const HARDLY_APART: f64 = 16.0;
const LIKE_DIRECTION: f64 = 0.8;
/// Members whose fits differ by less than this in chi-square keep the order given.
const SAME_FIT: f64 = 0.25;

/// The probabilities of all faults together.
#[derive(Clone, Debug, PartialEq)]
pub struct Judgement<C> {
    /// Probability that there is none of these faults.
    pub none: f64,
    /// The classes of faults that these data can tell apart, most probable first.
    pub classes: Vec<Class<C>>,
}

/// Faults with the same signature in these data, which cannot tell them apart.
#[derive(Clone, Debug, PartialEq)]
pub struct Class<C> {
    /// Probability that one of them is present.
    pub probability: f64,
    /// The members, best fit first; faults that fit equally well keep the order given. They are never ranked by their
    /// priors.
    pub members: Vec<Member<C>>,
}

/// One fault of a class.
#[derive(Clone, Debug, PartialEq)]
pub struct Member<C> {
    /// The caller's name for it.
    pub cause: C,
    /// Its number in the list of faults.
    pub fault: usize,
    /// The size that fits best.
    pub size: f64,
    /// Standard uncertainty of that size.
    pub standard_uncertainty: f64,
    /// Whether that size is physically possible.
    pub possible: bool,
    /// Its chi-square minus that of the best of the class; zero or more.
    pub shortfall: f64,
}

impl<C: PartialEq> Class<C> {
    /// The best fit of the class among those of a possible size; if none is possible, the best fit.
    pub fn first(&self) -> &Member<C> {
        &self.members[0]
    }

    /// Whether one of the members is this cause.
    pub fn contains(&self, cause: &C) -> bool {
        self.members.iter().any(|member| member.cause == *cause)
    }
}

/// Bayes' rule over the faults and "no fault": posterior ∝ prior × evidence, the prior of a family divided among its
/// members.
///
/// Refused: numbers that are not priors, and priors that leave nothing for "no fault".
pub fn judge<C: Clone>(faults: &[Fault<'_, C>], evidence: &Evidence) -> Result<Judgement<C>> {
    let priors: Vec<f64> = faults.iter().map(Fault::prior_of_one).collect();
    let rest = 1.0 - priors.iter().sum::<f64>();
    if priors.iter().any(|prior| prior.is_nan() || *prior < 0.0) || rest.is_nan() || rest <= 0.0 {
        return Err(Error::value(format!("priors that leave {rest} for no fault are no probabilities")));
    }
    let ln_none = rest.ln() + evidence.none;
    let ln_faults: Vec<f64> =
        priors.iter().zip(&evidence.faults).map(|(prior, fault)| prior.ln() + fault.ln_evidence).collect();
    let whole = ln_sum(ln_faults.iter().copied().chain([ln_none]));
    let posterior = |i: usize| (ln_faults[i] - whole).exp();
    let mut classes: Vec<Class<C>> = groups(&evidence.faults)
        .into_iter()
        .map(|group| {
            let gains = group.iter().map(|i| evidence.faults[*i].chi_square_gain);
            let best = gains.fold(f64::NEG_INFINITY, f64::max);
            let mut members: Vec<Member<C>> =
                group.iter().map(|i| member(*i, &faults[*i], &evidence.faults[*i], best)).collect();
            // A class is named after what can be.
            members.sort_by_key(|member| !member.possible);
            // Rounding may carry the sum beyond one.
            let probability: f64 = group.iter().map(|i| posterior(*i)).sum();
            Class { probability: probability.min(1.0), members }
        })
        .collect();
    classes.sort_by(|a, b| b.probability.total_cmp(&a.probability));
    Ok(Judgement { none: (ln_none - whole).exp().min(1.0), classes })
}

fn member<C: Clone>(number: usize, fault: &Fault<'_, C>, found: &FaultEvidence, best_gain: f64) -> Member<C> {
    Member {
        cause: fault.cause.clone(),
        fault: number,
        size: found.size,
        standard_uncertainty: found.standard_uncertainty,
        possible: fault.sizes.allows(found.size, found.standard_uncertainty),
        shortfall: best_gain - found.chi_square_gain,
    }
}

/// The faults in groups that look alike. The best fit and all faults that look like it form the first group, the best
/// of the rest the next, and so on.
fn groups(faults: &[FaultEvidence]) -> Vec<Vec<usize>> {
    let mut order: Vec<usize> = (0..faults.len()).collect();
    order.sort_by(|a, b| faults[*b].chi_square_gain.total_cmp(&faults[*a].chi_square_gain));
    let mut groups: Vec<Vec<usize>> = Vec::new();
    for i in order {
        match groups.iter_mut().find(|group| look_alike(&faults[group[0]], &faults[i])) {
            Some(group) => group.push(i),
            None => groups.push(vec![i]),
        }
    }
    for group in &mut groups {
        let best = faults[group[0]].chi_square_gain;
        let (mut alike, rest): (Vec<usize>, Vec<usize>) =
            group.iter().partition(|i| best - faults[**i].chi_square_gain <= SAME_FIT);
        alike.sort_unstable();
        alike.extend(rest);
        *group = alike;
    }
    groups
}

/// Whether the data could not tell `other` from `best` if `best` were true at its best size.
fn look_alike(best: &FaultEvidence, other: &FaultEvidence) -> bool {
    let (length, other_length) = (best.signature.norm(), other.signature.norm());
    if length == 0.0 || other_length == 0.0 {
        return false;
    }
    let cosine = best.signature.dot(&other.signature) / (length * other_length);
    let apart = length * length * (1.0 - cosine * cosine);
    cosine.abs() > SAME_DIRECTION || (cosine.abs() > LIKE_DIRECTION && apart < HARDLY_APART)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::judgement::{Data, Effect, Sizes, weigh_faults};
    use approx::assert_relative_eq;

    fn fault(cause: &'static str, unit: &[f64], prior: f64) -> Fault<'static, &'static str> {
        let sizes = Sizes::Uniform { low: -20.0, high: 20.0 };
        Fault { cause, effect: Effect::Linear(unit.to_vec()), sizes, prior, choices: 1 }
    }

    #[test]
    fn faults_with_one_signature_are_one_class_in_the_order_given_whatever_their_priors() {
        let data = Data::independent(&[1.0, 2.0, 3.2, 3.9], &[0.3; 4]).unwrap();
        let ramp = [1.0, 2.0, 3.0, 4.0];
        let half: Vec<f64> = ramp.iter().map(|value| 0.05 * value).collect();
        let faults = [
            fault("rare", &ramp, 0.01),
            fault("common", &half, 0.2),
            fault("other", &[1.0, 0.0, 0.0, 0.0], 0.1),
        ];
        let evidence = weigh_faults(&data, &faults).unwrap();
        let judgement = judge(&faults, &evidence).unwrap();
        let first = &judgement.classes[0];
        let causes: Vec<&str> = first.members.iter().map(|member| member.cause).collect();
        assert_eq!(causes, ["rare", "common"]);
        assert!(first.probability > 0.99, "{judgement:?}");
        // By hand: Σ x y/Σ x² = 30.2/30; the other needs twenty times as much, at the edge of its range.
        assert_relative_eq!(first.members[0].size, 30.2 / 30.0, max_relative = 1e-12);
        assert_relative_eq!(first.members[1].size, 20.0 * 30.2 / 30.0, max_relative = 1e-12);
        let sum: f64 = judgement.none + judgement.classes.iter().map(|class| class.probability).sum::<f64>();
        assert_relative_eq!(sum, 1.0, max_relative = 1e-12);
    }

    #[test]
    fn an_impossible_size_is_said_to_be_one() {
        let data = Data::independent(&[5.0, 5.0], &[0.1; 2]).unwrap();
        let faults = [fault("near", &[1.0, 1.0], 0.1), fault("far", &[0.1, 0.1], 0.1)];
        let judgement = judge(&faults, &weigh_faults(&data, &faults).unwrap()).unwrap();
        let members = &judgement.classes[0].members;
        assert!(members[0].possible && !members[1].possible, "{members:?}");
    }

    #[test]
    fn no_probability_is_above_one() {
        for count in 3..40 {
            let effect = vec![1.0; count];
            let data = Data::independent(&vec![9.0; count], &vec![1.0; count]).unwrap();
            let faults: Vec<_> = (0..count).map(|_| fault("one", &effect, 0.9 / count as f64)).collect();
            let judgement = judge(&faults, &weigh_faults(&data, &faults).unwrap()).unwrap();
            assert!(judgement.none <= 1.0 && judgement.classes.iter().all(|class| class.probability <= 1.0));
        }
    }

    #[test]
    fn priors_that_leave_nothing_are_refused() {
        let data = Data::independent(&[0.0], &[1.0]).unwrap();
        let faults = [fault("a", &[1.0], 0.6), fault("b", &[2.0], 0.5)];
        assert!(judge(&faults, &weigh_faults(&data, &faults).unwrap()).is_err());
    }
}
