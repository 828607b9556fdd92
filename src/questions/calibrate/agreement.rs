//! Compares the computed and the fitted slope: whether they agree, whether the readings could have shown that they do
//! not, and what may be wrong.

use super::causes::{Cause, CauseClass, Explanation, Judged, SingledOut};
use crate::Result;
use crate::judgement::agreement::{Agreement as Verdict, compare};
use crate::physics::slope::Slope;
use serde::Serialize;

/// A relative difference of the slopes that would matter. e/m goes as the square of the field, and a lesson that finds
/// e/m to a few percent must not be off by more than that because of the calibration (common practice, no source).
pub(crate) const MATTERING_FRACTION: f64 = 0.03;
/// The readings are in dispute if the probability that nothing is wrong is below this.
const BEYOND_DOUBT: f64 = 0.05;
/// A cause is named, if only as a possibility, from this value of p/(p + p₀) on, p its probability and p₀ that of no
/// fault.
///
/// The three thresholds hold for one misread reading of many, for another fault that spoils some readings against
/// others, and for a change of the slope. The last is high because build and meters change the slope as well: the
/// priors of all such causes sum to 0.3, which gives the ratio 0.45 before any reading counts. The thresholds are set
/// by simulation: sound readings have a finding in less than one case of twenty, and faults of five standard
/// uncertainties nearly always have one.
const READING_NAMED_FROM: f64 = 0.2;
const SPOILING_NAMED_FROM: f64 = 0.35;
const NAMED_FROM: f64 = 0.65;
/// The threshold for one misread reading if no uncertainties are stated: first if the scatter of the other readings can
/// show it, then if too few are left to show a scatter.
const BY_SCATTER_NAMED_FROM: f64 = 0.5;
const HARDLY_NAMED_FROM: f64 = 0.95;

/// Readings count as unexplained if the probability of their chi-square is below this for every cause (common practice,
/// no source). Of a thousand sound sets whose uncertainties are four times the stated ones, one would count so.
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
    /// Whether the slopes agree. `None` without `build_tolerance`.
    pub verdict: Option<Verdict>,
    /// Whether the slopes agree, and the readings would have shown a difference that matters.
    pub agree: bool,
    /// Probability that there is none of the faults.
    pub none_probability: f64,
    /// Probability of a chi-square at least as large as that of the best cause, with the stated uncertainties as much
    /// too small as they may be. `None` if none are stated.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub best_fit_probability: Option<f64>,
    /// What may be wrong, most probable first. Causes that these readings cannot tell apart form one class. Empty if no
    /// cause explains the readings: probabilities among causes that all fail mean nothing.
    pub causes: Vec<CauseClass>,
    /// The members of the most probable class, if it explains a difference.
    pub explanations: Vec<Explanation>,
    /// How well one reading can stand out against the others.
    #[serde(skip)]
    singled_out: SingledOut,
    /// Factor by which the readings scatter more about their line than stated. `None` if stated uncertainties may be
    /// too small by that much.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub excess_scatter: Option<f64>,
    /// The line of the reading that is claimed to be misread, even if that does not explain the other readings.
    #[serde(skip)]
    pub(super) misread_line: Option<u64>,
    /// The result without the readings found misread.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub without_misread: Option<Box<WithoutMisread>>,
}

/// The result without the readings found misread, judged anew.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct WithoutMisread {
    /// Lines of the readings left out.
    pub lines: Vec<u64>,
    /// The labels of those readings that have one.
    pub labels: Vec<String>,
    /// Slope of the line through the others.
    pub slope_tesla_per_ampere: f64,
    /// The result of the others.
    pub agreement: Agreement,
}

/// Why no line can be adopted on these readings.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Dispute {
    /// Computed and fitted slope differ by more than the expanded uncertainty of their difference. If the spec does not
    /// state how well the pair is built: by more than an ordinary build explains.
    SlopesDisagree,
    /// The readings contradict each other, or no pair wound and connected as in the spec can give them.
    ReadingsContradict,
}

impl Agreement {
    /// Compares the slopes. `judged` holds the probabilities of the faults.
    pub(super) fn of(computed: &Slope, fitted: &Slope, judged: Judged) -> Result<Self> {
        let difference = fitted.tesla_per_ampere - computed.tesla_per_ampere;
        let compared = match [fitted, computed].map(Slope::expanded_uncertainty) {
            [Some(of_fitted), Some(of_computed)] => {
                // U/2 instead of u, so that few degrees of freedom count.
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
        // Two misread readings share the probability that either would have alone, so the threshold is lower then.
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

    /// Whether the readings are explained neither by a known cause of a plausible size nor by uncertainties stated too
    /// small.
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

    /// Whether a cause that spoils the readings is beyond doubt.
    pub(super) fn is_spoiled(&self) -> bool {
        self.none_probability < BEYOND_DOUBT
            && self.causes.first().is_some_and(|class| {
                class.probability > 0.5
                    && (class.cause.is_within_the_readings() || class.cause.is_all_or_nothing())
            })
    }

    /// Whether the slopes differ by more than an ordinary build and the meters explain, if the spec does not state how
    /// well the pair is built.
    fn is_off_any_ordinary_build(&self) -> bool {
        self.verdict.is_none()
            && self.none_probability < BEYOND_DOUBT
            && self.causes.first().is_some_and(|class| class.probability > 0.5)
    }

    /// Why no line should be adopted on these readings. `None` if nothing is wrong.
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
/// A reading is claimed to be misread from this probability if no single fault explains the readings, so that several
/// are likely misread.
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
