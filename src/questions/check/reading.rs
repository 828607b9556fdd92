//! A reading as it is judged.

use super::record::LimitsFrom;
use super::subject::Subject;
use crate::Result;
use crate::files::spec::MeasuredValue;
use crate::judgement::limit::{Decision, Limits, Rule, Verdict, decide};

/// A reading with the spec's value and limits.
pub(super) struct Reading {
    pub(super) subject: Subject,
    pub(super) value: MeasuredValue,
    pub(super) expected: Option<f64>,
    pub(super) limits: Limits,
    pub(super) limits_from: LimitsFrom,
    /// Where it fails, if that is not its upper limit: between the two it is undecided.
    pub(super) fails_above: Option<f64>,
}

impl Reading {
    /// The decision on the reading. Between its upper limit and that above which it fails no better reading decides.
    pub(super) fn decided(&self, rule: Rule) -> Result<Decision> {
        let MeasuredValue { value, standard_uncertainty } = self.value;
        let decision = decide(value, standard_uncertainty, self.limits, rule)?;
        let Some(most) = self.fails_above.filter(|_| decision.verdict == Verdict::Missed) else {
            return Ok(decision);
        };
        let beyond =
            decide(value, standard_uncertainty, Limits { low: self.limits.low, high: Some(most) }, rule)?;
        let verdict =
            if beyond.verdict == Verdict::Missed { Verdict::Missed } else { Verdict::TooCloseToTell };
        Ok(Decision { verdict, ..decision })
    }
}
