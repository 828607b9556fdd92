//! Computed and fitted slope side by side: whether they agree, with the power to have disagreed, and what may be wrong.

use super::causes::{Cause, CauseClass, Explanation, Judged, SingledOut};
use crate::Result;
use crate::judgement::agreement::{Agreement as Verdict, compare};
use crate::physics::slope::Slope;
use serde::Serialize;

/// A difference of the slopes that would matter: e/m goes with the square of the field, and a lesson that finds it within a
/// few percent must not be off by more than that from the calibration alone (common practice, no source).
pub(crate) const MATTERING_FRACTION: f64 = 0.03;
/// A finding stands against the readings where nothing being wrong is less probable than this.
const BEYOND_DOUBT: f64 = 0.05;
/// A cause is named, be it as a mere perhaps, from this part on of the probability that it and none have together: one
/// reading of many; what else spoils readings against others; and what changes the slope, which build and meters may do
/// as well: the priors of all that may change it come to 0.3, so that beside none it has 0.45 before any reading counts.
/// They are set by the simulation: sound readings have a finding in less than one case of twenty, faults of five standard
/// uncertainties nearly always.
const READING_NAMED_FROM: f64 = 0.2;
const SPOILING_NAMED_FROM: f64 = 0.35;
const NAMED_FROM: f64 = 0.65;
/// The same of one reading that only the others' scatter singles out, and where that can hardly do it.
const BY_SCATTER_NAMED_FROM: f64 = 0.5;
const HARDLY_NAMED_FROM: f64 = 0.95;

/// Readings are unexplained where chi-square is less probable than this under every cause (common practice, no source): one
/// sound set of a thousand would be, if its uncertainties were four times the stated ones.
const UNEXPLAINED_BELOW: f64 = 1e-3;

/// How the two slopes compare, and what may be wrong with readings or pair.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Agreement {
    /// Fitted over computed slope, minus one.
    pub relative_difference: f64,
    /// E_n: (fitted − computed) / √(U(fitted)² + U(computed)²), U the expanded uncertainties (ISO 13528:2022, 9.7); `None`
    /// without `build_tolerance`.
    pub normalised_difference: Option<f64>,
    /// Expanded uncertainty of the difference over the computed slope.
    pub expanded_uncertainty_fraction: Option<f64>,
    /// The difference that would matter, over the computed slope.
    pub mattering_fraction: f64,
    /// What may be said; `None` without `build_tolerance`.
    pub verdict: Option<Verdict>,
    /// Whether the slopes agree, and would not have if they differed by what matters.
    pub agree: bool,
    /// Probability that none of the causes is the case.
    pub none_probability: f64,
    /// How probable a chi-square as large as that of the best of all causes is, if the stated uncertainties are too small by
    /// as much as they may be; `None` where none are stated.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub best_fit_probability: Option<f64>,
    /// What may be wrong, most probable first; causes that these readings cannot tell apart are one class. Empty where none
    /// of them explains the readings, for a probability among causes that all fail says nothing.
    pub causes: Vec<CauseClass>,
    /// The members of the most probable class, where it explains a difference.
    pub explanations: Vec<Explanation>,
    /// How well one reading can stand out against the others.
    #[serde(skip)]
    singled_out: SingledOut,
    /// How many times as far as stated the readings scatter about their line, where that is beyond what stated uncertainties
    /// can be off.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub excess_scatter: Option<f64>,
    /// The line of the reading that is claimed to be misread, also where even that does not explain the others.
    #[serde(skip)]
    pub(super) misread_line: Option<u64>,
    /// What the readings say without those that are found misread.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub without_misread: Option<Box<WithoutMisread>>,
}

/// The readings without those that are found misread, judged afresh.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct WithoutMisread {
    /// Lines of the readings left out.
    pub lines: Vec<u64>,
    /// Their labels, as far as they have any.
    pub labels: Vec<String>,
    /// Slope of the line through the others.
    pub slope_tesla_per_ampere: f64,
    /// What the others say.
    pub agreement: Agreement,
}

/// Why no line can be adopted on these readings.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Dispute {
    /// Computed and fitted slope differ by more than the expanded uncertainty of their difference; where the spec does not state
    /// how well the pair is built, by more than an ordinary build explains.
    SlopesDisagree,
    /// The readings do not fit together, or not with any pair that is wound and connected as the spec says.
    ReadingsContradict,
}

impl Agreement {
    /// Compares the slopes, and takes what the readings say of every fault.
    pub(super) fn of(computed: &Slope, fitted: &Slope, judged: Judged) -> Result<Self> {
        let difference = fitted.tesla_per_ampere - computed.tesla_per_ampere;
        let compared = match [fitted, computed].map(Slope::expanded_uncertainty) {
            [Some(of_fitted), Some(of_computed)] => {
                // U/2 of each, so that few degrees of freedom count.
                let halves = [0.5 * of_fitted, 0.5 * of_computed];
                let mattering = MATTERING_FRACTION * computed.tesla_per_ampere.abs();
                let values = [fitted.tesla_per_ampere, computed.tesla_per_ampere];
                Some(compare(values, halves, 0.0, mattering)?)
            }
            _ => None,
        };
        let verdict = compared.map(|compared| compared.verdict);
        let explanations = match verdict {
            Some(Verdict::Disagree) => judged.classes.first().map(|class| class.members.clone()),
            _ => None,
        };
        // Two misread readings share the probability that each would have alone.
        let contradicting = judged.excess_scatter.is_some()
            || judged.best_fit_probability.is_some_and(|probability| probability < UNEXPLAINED_BELOW);
        let misread_line = claimed(&judged.classes, if contradicting { SHARED } else { CLAIMED });
        let mut agreement = Self {
            relative_difference: difference / computed.tesla_per_ampere,
            normalised_difference: compared.and_then(|compared| compared.normalised_difference),
            expanded_uncertainty_fraction: compared
                .map(|compared| (compared.expanded_uncertainty / computed.tesla_per_ampere).abs()),
            mattering_fraction: MATTERING_FRACTION,
            verdict,
            agree: verdict == Some(Verdict::Agree),
            none_probability: judged.none,
            best_fit_probability: judged.best_fit_probability,
            causes: judged.classes,
            explanations: explanations.unwrap_or_default(),
            singled_out: judged.singled_out,
            excess_scatter: judged.excess_scatter,
            misread_line,
            without_misread: None,
        };
        if agreement.is_unexplained() {
            agreement.causes.clear();
            agreement.explanations.clear();
        }
        if agreement.explanations.is_empty() && agreement.has_finding() {
            let first = agreement.causes.first();
            agreement.explanations = first.map_or_else(Vec::new, |class| class.members.clone());
        }
        Ok(agreement)
    }

    /// Whether no known cause of a plausible size explains the readings, nor uncertainties stated too small.
    pub fn is_unexplained(&self) -> bool {
        self.best_fit_probability.is_some_and(|probability| probability < UNEXPLAINED_BELOW)
    }

    /// Whether some cause is worth naming.
    pub fn has_finding(&self) -> bool {
        self.is_unexplained()
            || self.causes.iter().any(|class| {
                let from = match class.cause {
                    Cause::MisreadReading | Cause::MisreadCurrent | Cause::UnitsOfOneReading => {
                        match self.singled_out {
                            SingledOut::ByStated => READING_NAMED_FROM,
                            SingledOut::ByScatter => BY_SCATTER_NAMED_FROM,
                            SingledOut::Hardly => HARDLY_NAMED_FROM,
                        }
                    }
                    cause if cause.is_within_the_readings() => SPOILING_NAMED_FROM,
                    _ => NAMED_FROM,
                };
                class.probability >= from * (class.probability + self.none_probability)
            })
    }

    /// Whether one cause that spoils the readings is beyond doubt.
    pub(super) fn is_spoiled(&self) -> bool {
        self.none_probability < BEYOND_DOUBT
            && self.causes.first().is_some_and(|class| {
                class.probability > 0.5
                    && (class.cause.is_within_the_readings() || class.cause.is_all_or_nothing())
            })
    }

    /// Whether the slopes differ by more than an ordinary build and the meters explain, where the spec does not state how well
    /// the pair is built.
    fn is_off_any_ordinary_build(&self) -> bool {
        self.verdict.is_none()
            && self.none_probability < BEYOND_DOUBT
            && self.causes.first().is_some_and(|class| class.probability > 0.5)
    }

    /// What stands against adopting any line on these readings.
    pub fn dispute(&self) -> Option<Dispute> {
        if self.is_unexplained() || self.excess_scatter.is_some() || self.is_spoiled() {
            Some(Dispute::ReadingsContradict)
        } else if self.verdict == Some(Verdict::Disagree) || self.is_off_any_ordinary_build() {
            Some(Dispute::SlopesDisagree)
        } else {
            None
        }
    }
}

/// A reading is claimed to be misread from this probability.
const CLAIMED: f64 = 0.5;
/// The same where the readings contradict each other beyond any one fault, so that several are likely.
const SHARED: f64 = 0.2;

/// The line of the reading that is claimed to be misread, if there is one.
fn claimed(causes: &[CauseClass], from: f64) -> Option<u64> {
    let class = causes.iter().find(|class| class.probability > from)?;
    let line = class.members.first()?.line?;
    let one =
        |cause| matches!(cause, Cause::MisreadReading | Cause::MisreadCurrent | Cause::UnitsOfOneReading);
    let of_it = |cause, at: Option<u64>| one(cause) && at == Some(line);
    class.members.iter().all(|member| of_it(member.cause, member.line)).then_some(line)
}
