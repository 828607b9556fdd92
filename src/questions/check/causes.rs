//! The faults that would explain the readings: every known one, weighed against the others.

use super::expected::Values;
use super::hypotheses::{Change, Hypothesis, SHORTED_INDUCTANCE, WITHOUT_SIZE, all};
use super::record::{Cause, CauseClass, CauseMember, UnlikeCoils};
use super::residuals::{Residuals, data, of_the_build};
use super::unlike::differ_in_winding;
use crate::judgement::{
    Effect, Evidence, Fault, FaultEvidence, Judgement, Sizes, judge, priors, weigh_faults,
};
use crate::pair::Bench;
use crate::{Error, Result};
use std::f64::consts::PI;

/// Probability from which a class is reported.
const WORTH_NAMING: f64 = 0.05;
/// A member that leaves this much more chi-square than the best of its class would need a size that it cannot have.
const MUCH_WORSE: f64 = 6.0;

/// The probability of every fault given the readings.
pub(super) struct Found {
    pub(super) none: f64,
    pub(super) classes: Vec<CauseClass>,
    /// The effect of each member on the readings, class by class.
    pub(super) left: Vec<Vec<Left>>,
}

/// The effect of a fault of its size on the readings, and the remaining differences.
#[derive(Clone, Copy)]
pub(super) struct Left {
    pub(super) chi_square: f64,
    /// Whether every reading then lies within two uncertainties.
    pub(super) explains_everything: bool,
    /// Relative change of each quantity of the pair.
    pub(super) change: Values,
}

/// Weighs every fault against the readings. If it is not stated whether the leads are in the resistance, there are two
/// states with equal priors, the better fitting one first.
pub(super) fn causes(bench: &Bench, states: &[Residuals], unlike: Option<&UnlikeCoils>) -> Result<Found> {
    let unlike = unlike.filter(|unlike| differ_in_winding(unlike));
    let Some(residuals) = states.first() else { return Err(Error::value("nothing was measured")) };
    let used = residuals.measured();
    let hypotheses: Vec<Hypothesis> = all(bench, residuals)
        .into_iter()
        .filter(|it| used.iter().any(|i| it.change.at(middle(it.sizes))[*i] != 0.0))
        .collect();
    let of_build = of_the_build(bench, residuals.celsius);
    let mut faults: Vec<Fault<Cause>> = hypotheses
        .iter()
        .map(|it| Fault {
            cause: it.cause,
            effect: match &it.change {
                Change::Linear(each) => Effect::Linear(used.iter().map(|i| each[*i]).collect()),
                Change::Curved(change) => Effect::Curved(Box::new(|size| {
                    let changed = change(size);
                    used.iter().map(|i| changed[*i]).collect()
                })),
            },
            sizes: it.sizes,
            prior: it.prior,
            choices: it.choices,
        })
        .collect();
    let weighed = states.iter().map(|residuals| -> Result<(f64, Evidence)> {
        let mut evidence = weigh_faults(&data(residuals, &of_build, &used)?, &faults)?;
        for (it, found) in hypotheses.iter().zip(&mut evidence.faults) {
            // The inductance with shorted turns is anything below a limit, with a density of its own and not the
            // reading's.
            if it.cause == Cause::ShortedTurns && residuals.relative[2].is_some() {
                let u = residuals.standard_uncertainties[2];
                found.ln_evidence += ((2.0 * PI).sqrt() * u / SHORTED_INDUCTANCE).ln().min(0.0);
            }
        }
        Ok((-(states.len() as f64).ln(), evidence))
    });
    let mut evidence = Evidence::of_states(weighed.collect::<Result<_>>()?)
        .ok_or_else(|| Error::value("nothing was weighed"))?;
    faults.push(Fault {
        cause: Cause::AnotherPair,
        effect: Effect::Linear(vec![0.0; used.len()]),
        sizes: WITHOUT_SIZE,
        prior: priors::ANOTHER_PAIR,
        choices: 1,
    });
    evidence.faults.push(FaultEvidence::of_anything(residuals.ln_evidence_of_another_pair()));
    let judgement: Judgement<Cause> = judge(&faults, &evidence)?;
    drop(faults);
    let mut left = Vec::new();
    let mut classes = Vec::new();
    for class in judgement.classes.iter().filter(|class| class.probability >= WORTH_NAMING) {
        let mut members: Vec<(CauseMember, Left)> = class
            .members
            .iter()
            .map(|member| {
                let Some(it) = hypotheses.get(member.fault) else {
                    return another_pair(bench, residuals);
                };
                let left = left_by(residuals, &it.change.at(member.size));
                let told = CauseMember {
                    cause: it.cause,
                    size: member.size,
                    standard_uncertainty: member.standard_uncertainty,
                    plausible: member.possible,
                    of: it.of,
                    connection: bench.connection,
                    coils_differ: unlike.is_some(),
                    turns_apart: unlike.and_then(|unlike| unlike.turns).map(|turns| turns.value),
                };
                (told, left)
            })
            .collect();
        // A size at the end of its range that leaves much unexplained is not plausible.
        let best = members.iter().map(|(_, left)| left.chi_square).fold(f64::INFINITY, f64::min);
        for (member, left) in &mut members {
            member.plausible &= left.chi_square <= best + MUCH_WORSE;
        }
        members.sort_by_key(|(member, _)| !member.plausible);
        left.push(members.iter().map(|(_, left)| *left).collect());
        classes.push(CauseClass {
            probability: class.probability,
            members: members.into_iter().map(|(member, _)| member).collect(),
        });
    }
    Ok(Found { none: judgement.none, classes, left })
}

/// The hypothesis of another pair. It leaves nothing of this pair to explain.
fn another_pair(bench: &Bench, residuals: &Residuals) -> (CauseMember, Left) {
    let told = CauseMember {
        cause: Cause::AnotherPair,
        size: f64::NAN,
        standard_uncertainty: f64::NAN,
        plausible: true,
        of: f64::NAN,
        connection: bench.connection,
        coils_differ: false,
        turns_apart: None,
    };
    let change = residuals.relative.map(|relative| relative.unwrap_or(0.0));
    (told, Left { chi_square: 0.0, explains_everything: true, change })
}

fn left_by(residuals: &Residuals, change: &Values) -> Left {
    let rest = residuals
        .relative
        .iter()
        .zip(change)
        .zip(&residuals.standard_uncertainties)
        .filter_map(|((relative, change), u)| relative.map(|relative| (relative - change) / u));
    let nothing = Left { chi_square: 0.0, explains_everything: true, change: *change };
    rest.fold(nothing, |left, in_u: f64| Left {
        chi_square: left.chi_square + in_u * in_u,
        explains_everything: left.explains_everything && in_u.abs() <= 2.0,
        ..left
    })
}

fn middle(sizes: Sizes) -> f64 {
    match sizes {
        Sizes::Uniform { low, high } => 0.5 * (low + high) + 0.25 * (high - low),
        Sizes::LogUniform { near, far } => near.signum() * (near * far).sqrt(),
        Sizes::LogUniformEitherSign { smallest, largest } => (smallest * largest).sqrt(),
    }
}
