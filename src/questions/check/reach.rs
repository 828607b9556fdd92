//! Selects the causes that move a failing quantity in the right direction, and finds the quantities that no cause
//! reaches.

use super::causes::{Found, Left};
use super::record::{Cause, QuantityCheck, Unexplained};
use super::subject::{CoilQuantity, Quantity, SectionQuantity, Subject};
use crate::judgement::limit::Acceptance;

/// A fault does not explain a difference if it causes less than this fraction of it. A fault of one coil changes that
/// coil twice as much as the pair, and part of a difference is chance.
const PART: f64 = 0.2;
/// A class with at least this probability is reported even if it causes nothing that fails: the readings together
/// indicate it, whether or not each one lies within its limits.
const MORE_PROBABLE_THAN_NOT: f64 = 0.5;

/// The classes with a plausible member that causes something that does not pass.
pub(super) fn of_what_differs(found: Found, quantities: &[QuantityCheck]) -> Found {
    let differ: Vec<&QuantityCheck> = quantities.iter().filter(|it| it.verdict != Acceptance::Pass).collect();
    let Found { none, classes, left } = found;
    let (classes, left) = classes
        .into_iter()
        .zip(left)
        .filter_map(|(mut class, left)| {
            if class.probability >= MORE_PROBABLE_THAN_NOT {
                return Some((class, left));
            }
            for (member, left) in class.members.iter_mut().zip(&left) {
                member.plausible &= differ.iter().any(|it| reaches(it, member.cause, left));
            }
            class.members.iter().any(|member| member.plausible).then_some((class, left))
        })
        .unzip();
    Found { none, classes, left }
}

/// The failing quantities that no reported cause reaches.
pub(super) fn unexplained(quantities: &[QuantityCheck], found: Option<&Found>) -> Vec<Unexplained> {
    let is_reached = |it: &&QuantityCheck| {
        found.is_some_and(|found| {
            found.classes.iter().zip(&found.left).any(|(class, left)| {
                let mut plausible = class.members.iter().zip(left).filter(|(member, _)| member.plausible);
                plausible.any(|(member, left)| reaches(it, member.cause, left))
            })
        })
    };
    let fails = quantities.iter().filter(|it| it.verdict == Acceptance::Fail);
    fails
        .filter(|it| !is_reached(it))
        .map(|it| Unexplained {
            name: it.name.clone(),
            subject: it.subject,
            too_large: match it.expected {
                Some(expected) => it.value > expected,
                None => it.limits.high.is_some_and(|high| it.value > high),
            },
        })
        .collect()
}

/// Whether a fault causes a difference, in direction and in a sufficient fraction of its size.
fn reaches(it: &QuantityCheck, cause: Cause, left: &Left) -> bool {
    let Some(change) = change(it.subject, cause, left) else { return false };
    let Some(expected) = it.expected.filter(|expected| *expected != 0.0) else { return false };
    let difference = it.value / expected - 1.0;
    cause == Cause::AnotherPair || (change * difference > 0.0 && change.abs() >= PART * difference.abs())
}

/// Relative change of a quantity; `None` if the fault does not predict it.
fn change(subject: Subject, cause: Cause, left: &Left) -> Option<f64> {
    let of = |quantity: Quantity| {
        let place = Quantity::ALL.iter().position(|it| *it == quantity)?;
        Some(left.change[place])
    };
    match subject {
        Subject::Pair(quantity) => of(quantity),
        // The mass is proportional to the turns.
        Subject::Coil(_, CoilQuantity::Turns) => match cause {
            Cause::Turns | Cause::AnotherPair => of(Quantity::ConductorMassKg),
            _ => None,
        },
        Subject::Coil(_, quantity) => {
            of(Quantity::ALL.into_iter().find(|of_pair| of_pair.key() == quantity.key())?)
        }
        // The mean radius follows both diameters. A wrong depth belongs to the winding alone.
        Subject::Section(_, SectionQuantity::MeanRadiusM) => of(Quantity::OuterDiameterM),
        Subject::Section(_, SectionQuantity::DepthM) => None,
        // As at the centre, because no fault is identified by the shape of the field.
        Subject::Field { .. } => of(Quantity::FieldTeslaPerAmpere),
        Subject::Both(_)
        | Subject::Surface { .. }
        | Subject::Voltage { .. }
        | Subject::SpacingDifference { .. }
        | Subject::RimStep
        | Subject::InductanceDrop { .. }
        | Subject::Insulation { .. } => None,
    }
}
