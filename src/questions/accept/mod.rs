//! Is the pair that was delivered the pair that was ordered?
//!
//! Every reading is judged against the supplier's limits if they name it, otherwise against the spec and its tolerance.
//! The code is that of the check before a lesson, so the two cannot disagree. In addition there are the error rates of
//! the verdict, the measurements that would decide undecided quantities, and turns, wire and section from all readings
//! together.

mod deciding;
#[cfg(feature = "paper")]
pub mod files;
mod joint;
mod of_each_coil;
mod record;
mod sentences;
#[cfg(feature = "paper")]
pub mod words;

pub use deciding::{BetterWay, Deciding};
pub use joint::{Joint, JointOrWhy, LeadsMeasured, NotDerived};
pub use of_each_coil::{MeasuredTurns, TurnsOfEach};
pub use record::*;

use crate::Result;
use crate::files::spec::Measured;
use crate::judgement::limit::{Acceptance, Rule, probability_outside};
use crate::pair::{Bench, Provenance};
use crate::physics::build_error::CoilName;
use crate::physics::field::PreparedPair;
use crate::physics::safety::SafetyFigures;
pub use crate::questions::check::Request;
use crate::questions::check::{
    CoilQuantity, HeldBack, LessonCheck, Quantity, QuantityCheck, Subject, lesson_check,
};

/// Judges a delivery.
///
/// # Errors
/// Nothing was measured; or a surface was measured at a current that no pair of the spec can carry for so long.
pub fn accept(bench: &Bench, measured: &Measured, request: &Request<'_>) -> Result<Delivery> {
    let mut check = lesson_check(bench, measured, request)?;
    let joint = joint::joint(bench, measured);
    let of_each = of_each_coil::turns_of_each(bench, measured, &check.quantities);
    let against = against_those_of_a_coil(of_each.as_ref()).or_else(|| against_the_turns(&joint));
    if let (Acceptance::Pass, Some(against)) = (check.verdict, against) {
        (check.verdict, check.agrees) = (Acceptance::Undecided, false);
        check.held_back = Some(against);
    }
    Ok(Delivery { turns_of_each: of_each, ..delivery(bench, measured, request, check, joint) })
}

/// A pair does not pass if the probability of the spec's turns is below this.
const TURNS_IN_DOUBT: f64 = 0.05;

/// What all readings together say against the turns of the spec, whether they fit others as written or only after a slip.
fn against_the_turns(joint: &JointOrWhy) -> Option<HeldBack> {
    let JointOrWhy::Found(joint) = joint else { return None };
    let most_probable = joint.turns.first()?.turns;
    let in_doubt = joint.probability_of_spec_turns < TURNS_IN_DOUBT;
    in_doubt.then_some(HeldBack::Turns {
        most_probable,
        spec: joint.spec_turns,
        probability_of_spec: joint.probability_of_spec_turns,
    })
}

/// What they say against the turns of one coil.
fn against_those_of_a_coil(of_each: Option<&TurnsOfEach>) -> Option<HeldBack> {
    let of_each = of_each.filter(|it| it.speak_against_the_spec())?;
    let told_apart = of_each.fitted.is_some();
    Some(HeldBack::TurnsOfACoil {
        best: of_each.best,
        spec: of_each.spec,
        told_apart,
        of_one_reel: of_each.of_one_reel,
    })
}

fn delivery(
    bench: &Bench,
    measured: &Measured,
    request: &Request<'_>,
    check: LessonCheck,
    joint: JointOrWhy,
) -> Delivery {
    let quantities: Vec<DeliveredQuantity> = check.quantities.iter().map(delivered).collect();
    let rule = request.decision.wrong_at_most();
    Delivery {
        provenance: Provenance::of(bench, request.date),
        measured_title: measured.title.clone(),
        measured_digest: measured.digest.clone(),
        supplier_title: request.supplier.map(|supplier| supplier.title.clone()),
        supplier_digest: request.supplier.map(|supplier| supplier.digest.clone()),
        verdict: check.verdict,
        decision: request.decision,
        error_rates: ErrorRates {
            wrong_pass_at_most: rule,
            wrong_fail_of_one_limit_at_most: rule,
            pass_at_2_u_inside_at_least: match request.decision {
                Rule::Guarded { .. } => 1.0 - 2.0 * rule,
                // A value that lies inside by the guard band would pass. This rule has no guard band, and U is that of
                // k = 2.
                Rule::Simple => 1.0 - 2.0 * Rule::Guarded { coverage_factor: 4.0 }.wrong_at_most(),
            },
            any_outside_at_most: quantities.iter().map(|it| it.probability_outside).sum::<f64>().min(1.0),
        },
        not_measured: not_measured(&check.quantities),
        quantities,
        joint,
        turns_of_each: None,
        check,
        safety: SafetyFigures::of(&PreparedPair::of(bench)),
    }
}

fn delivered(check: &QuantityCheck) -> DeliveredQuantity {
    DeliveredQuantity {
        name: name_with_unit(check.subject),
        value: check.value,
        standard_uncertainty: check.standard_uncertainty,
        lower_limit: check.limits.low,
        upper_limit: check.limits.high,
        guard_band: check.guard_band,
        verdict: check.verdict,
        expected: check.expected,
        limits_from: check.limits_from,
        fails_above: check.fails_above,
        probability_outside: probability_outside(check.value, check.standard_uncertainty, check.limits),
        deciding: (check.verdict == Acceptance::Undecided).then(|| Deciding::of(check)),
    }
}

/// The name for scripts: the key with the SI unit of its value, such as `coil_a_resistance_ohm`.
fn name_with_unit(subject: Subject) -> String {
    match subject {
        Subject::Pair(quantity) => {
            let unit = match quantity {
                Quantity::ResistanceOhm => "ohm",
                Quantity::FieldTeslaPerAmpere => "tesla_per_ampere",
                Quantity::InductanceHenry => "henry",
                Quantity::ConductorMassKg => "kg",
                Quantity::OverallWireDiameterM
                | Quantity::InnerDiameterM
                | Quantity::OuterDiameterM
                | Quantity::WidthM
                | Quantity::SpacingM => "m",
            };
            format!("{}_{unit}", quantity.key())
        }
        Subject::Coil(coil, quantity) => {
            let unit = match quantity {
                CoilQuantity::Turns => "",
                CoilQuantity::ResistanceOhm => "_ohm",
                CoilQuantity::InductanceHenry => "_henry",
                CoilQuantity::ConductorMassKg => "_kg",
                CoilQuantity::InnerDiameterM
                | CoilQuantity::OuterDiameterM
                | CoilQuantity::WidthM
                | CoilQuantity::OffsetXM
                | CoilQuantity::OffsetYM => "_m",
                CoilQuantity::TiltXRad | CoilQuantity::TiltYRad => "_rad",
            };
            let key = Subject::Coil(coil, quantity).key().replace('.', "_");
            format!("{key}{unit}")
        }
        Subject::Both(quantity) => format!("{}_henry", quantity.key()),
        Subject::Section(..) => format!("{}_m", subject.key().replace('.', "_")),
        Subject::Field { entry, .. } => format!("fields_{}_tesla", entry + 1),
        Subject::Surface { .. } => "surface_temperature_celsius".into(),
        Subject::Voltage { .. } => "warm_voltage_volt".into(),
        Subject::SpacingDifference { .. } => "spacing_difference_m".into(),
        Subject::RimStep => "rim_step_m".into(),
        Subject::InductanceDrop { .. } => format!("{}_fraction", subject.key().replace('.', "_")),
        Subject::Insulation { .. } => "insulation_resistance_ohm".into(),
    }
}

/// Quantities of a delivery that could have been measured but were not. A dimension of each coil counts as measured on
/// the pair.
fn not_measured(quantities: &[QuantityCheck]) -> Vec<&'static str> {
    let any = |wanted: &dyn Fn(Subject) -> bool| quantities.iter().any(|it| wanted(it.subject));
    let of_pair = Quantity::ALL.into_iter().filter(|quantity| {
        let of_coil = CoilQuantity::ALL.into_iter().find(|of_coil| of_coil.key() == quantity.key());
        let centre = *quantity == Quantity::FieldTeslaPerAmpere;
        !any(&|subject| match subject {
            Subject::Pair(measured) => measured == *quantity,
            Subject::Coil(_, measured) => Some(measured) == of_coil,
            Subject::Field { at_m, .. } => centre && at_m == [0.0; 3],
            _ => false,
        })
    });
    let mut missing: Vec<&str> = of_pair.map(Quantity::key).collect();
    let counted = |coil| any(&|subject| subject == Subject::Coil(coil, CoilQuantity::Turns));
    if ![CoilName::A, CoilName::B].into_iter().all(counted) {
        missing.push(CoilQuantity::Turns.key());
    }
    if !any(&|subject| matches!(subject, Subject::Field { at_m, .. } if at_m != [0.0; 3])) {
        missing.push("field_off_the_centre");
    }
    if !any(&|subject| matches!(subject, Subject::Surface { .. })) {
        missing.push("surface_temperature");
    }
    if !any(&|subject| matches!(subject, Subject::InductanceDrop { .. })) {
        missing.push("inductance_drop");
    }
    if !any(&|subject| matches!(subject, Subject::Insulation { .. })) {
        missing.push("insulation_resistance");
    }
    for (key, of) in [
        ("offset", [CoilQuantity::OffsetXM, CoilQuantity::OffsetYM]),
        ("tilt", [CoilQuantity::TiltXRad, CoilQuantity::TiltYRad]),
    ] {
        let by_rim = |subject: Subject| match subject {
            Subject::RimStep => key == "offset",
            Subject::SpacingDifference { .. } => key == "tilt",
            Subject::Coil(_, measured) => of.contains(&measured),
            _ => false,
        };
        if !any(&by_rim) {
            missing.push(key);
        }
    }
    missing
}
