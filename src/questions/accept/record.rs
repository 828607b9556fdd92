//! The answer of `accept`.

use super::deciding::Deciding;
use super::joint::JointOrWhy;
use super::of_each_coil::TurnsOfEach;
use crate::judgement::limit::{Acceptance, Rule};
use crate::pair::Provenance;
use crate::physics::safety::SafetyFigures;
use crate::questions::check::{LessonCheck, LimitsFrom};
use serde::Serialize;

/// The answer to "is this the pair that was ordered?".
#[derive(Clone, Debug, Serialize)]
#[non_exhaustive]
pub struct Delivery {
    /// Program, spec and digest.
    pub provenance: Provenance,
    /// Title of the measurements.
    pub measured_title: String,
    /// First 12 hex digits of the SHA-256 of their file.
    pub measured_digest: String,
    /// Title of the supplier's limits, if there are any.
    pub supplier_title: Option<String>,
    /// First 12 hex digits of the SHA-256 of their file.
    pub supplier_digest: Option<String>,
    /// Pass: every quantity lies within its limits, guard band included. Fail: at least one lies outside, guard band
    /// included. Undecided: anything else.
    pub verdict: Acceptance,
    /// The decision rule.
    pub decision: Rule,
    /// Every quantity measured.
    pub quantities: Vec<DeliveredQuantity>,
    /// The error rates of such a verdict.
    pub error_rates: ErrorRates,
    /// Keys of quantities that could have been measured but were not; they are not judged.
    pub not_measured: Vec<&'static str>,
    /// Turns, wire and section from all readings together.
    pub joint: JointOrWhy,
    /// Turns of each coil from all readings together; `None` if no reading depends on them.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub turns_of_each: Option<TurnsOfEach>,
    /// The underlying check: causes, explanations, notes.
    pub check: LessonCheck,
    /// The figures in the cautions.
    pub safety: SafetyFigures,
}

/// One quantity of a delivery.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct DeliveredQuantity {
    /// Its name, with the unit of its value: `coil_a_resistance_ohm`.
    pub name: String,
    /// The value measured.
    pub value: f64,
    /// Standard uncertainty of the measurement.
    pub standard_uncertainty: f64,
    /// Smallest allowed; `None` for an open side.
    pub lower_limit: Option<f64>,
    /// Largest allowed.
    pub upper_limit: Option<f64>,
    /// Width of the guard band, U = k u; 0 under the simple rule.
    pub guard_band: f64,
    /// The verdict.
    pub verdict: Acceptance,
    /// The spec's value.
    pub expected: Option<f64>,
    /// Who set the limits.
    pub limits_from: LimitsFrom,
    /// Where it fails, if that is not its upper limit. Between the two another measurement decides. `None` otherwise.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub fails_above: Option<f64>,
    /// Probability that the true value lies outside the limits, given this reading alone (JCGM 106:2012, 7).
    pub probability_outside: f64,
    /// The measurement that would decide an undecided quantity.
    pub deciding: Option<Deciding>,
}

/// Upper bounds of the error rates of a verdict, and a lower bound of the passes.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct ErrorRates {
    /// Consumer's risk of the rule: probability that a delivery with a quantity outside its limits passes. The worst
    /// case is a true value at the limit.
    pub wrong_pass_at_most: f64,
    /// Probability that a quantity within a limit fails because of that limit. The worst case is a true value at the
    /// limit.
    pub wrong_fail_of_one_limit_at_most: f64,
    /// Probability that a quantity passes if its true value lies 2 U inside both limits, U = 2 u.
    pub pass_at_2_u_inside_at_least: f64,
    /// Probability that any quantity of this delivery lies outside its limits, given the readings; bounded by the sum
    /// over the quantities.
    pub any_outside_at_most: f64,
}
