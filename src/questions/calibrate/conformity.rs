//! Whether the fitted slope agrees with the computed one within an error that the owner allows.

use super::agreement::Dispute;
use crate::Result;
use crate::judgement::limit::{Limits, Rule, Verdict, decide};
use crate::physics::slope::Slope;
use serde::Serialize;

/// A statement of conformity with its decision rule: non-binary acceptance with a guard band U on both sides of each limit.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Conformity {
    /// Largest error allowed, as a fraction of the computed slope.
    pub allowed_error_fraction: f64,
    /// The decision, if one can be made.
    pub decided: Option<Decided>,
    /// Why none is made.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub undecided: Option<NotDecided>,
}

/// Why no statement of conformity is made.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum NotDecided {
    /// There are no readings to compare with the specification.
    NoReadings,
    /// The readings contradict themselves, or the pair within the allowed error, so that U covers nothing with a known
    /// probability.
    InDispute,
}

/// The decision and its numbers.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Decided {
    /// The statement.
    pub verdict: Verdict,
    /// Fitted over computed slope, minus one.
    pub difference_fraction: f64,
    /// Width of the guard band: expanded uncertainty of the fitted slope over the computed one.
    pub guard_band_fraction: f64,
    /// Coverage factor of the guard band.
    pub coverage_factor: f64,
    /// Whether fitted and computed slope differ by more than both uncertainties explain: then the probability of a wrong
    /// decision is not known.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub in_dispute: bool,
}

impl Conformity {
    /// U over the computed slope, if it is as large as the allowed error, so that no result can pass.
    pub(crate) fn too_wide_a_guard_band(&self) -> Option<f64> {
        let guard_band = self.decided?.guard_band_fraction;
        (guard_band >= self.allowed_error_fraction).then_some(guard_band)
    }

    /// Judges the fitted slope, the warmth of the coils included in its uncertainty as in that of an adopted one.
    ///
    /// A slope outside the specification disagrees with the computed one by its nature. In such a dispute a miss is
    /// stated, and nothing else.
    pub(super) fn of(
        allowed_error_fraction: f64,
        computed: &Slope,
        fitted: Option<&Slope>,
        dispute: Option<Dispute>,
    ) -> Result<Self> {
        let judged = fitted.and_then(|fitted| Some((fitted, fitted.uncertainty?)));
        let decided = judged.map(|(fitted, uncertainty)| -> Result<Decided> {
            let k = computed.tesla_per_ampere;
            let difference_fraction = fitted.tesla_per_ampere / k - 1.0;
            let u = (uncertainty.standard_tesla_per_ampere / k).abs();
            let limits = Limits { low: Some(-allowed_error_fraction), high: Some(allowed_error_fraction) };
            let coverage_factor = uncertainty.coverage_factor;
            let decision = decide(difference_fraction, u, limits, Rule::Guarded { coverage_factor })?;
            Ok(Decided {
                verdict: decision.verdict,
                difference_fraction,
                guard_band_fraction: decision.guard_band,
                coverage_factor,
                in_dispute: dispute.is_some(),
            })
        });
        let decided = decided.transpose()?;
        let stands = |decided: &Decided| match dispute {
            None => true,
            Some(Dispute::SlopesDisagree) => decided.verdict == Verdict::Missed,
            Some(Dispute::ReadingsContradict) => false,
        };
        let (decided, undecided) = match decided {
            None => (None, Some(NotDecided::NoReadings)),
            Some(decided) if stands(&decided) => (Some(decided), None),
            Some(_) => (None, Some(NotDecided::InDispute)),
        };
        Ok(Self { allowed_error_fraction, decided, undecided })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::physics::budget_source::BudgetSource::Build;
    use crate::physics::build_error::BuildParameter::Spacing;
    use crate::physics::slope::{AdoptedFrom, BudgetEntry, Spread};

    #[test]
    fn the_guard_band_decides_on_both_sides_of_a_limit() {
        let slope = |from, value: f64| {
            Slope::of(from, value, vec![BudgetEntry::relative(Build(Spacing), Spread::Normal, 1e-3, value)])
        };
        let computed = slope(AdoptedFrom::Computed, 1.0);
        // U = 0.2 % about a limit of 1 %.
        for (value, wanted) in [
            (1.007, Verdict::Met),
            (0.993, Verdict::Met),
            (1.009, Verdict::TooCloseToTell),
            (0.989, Verdict::TooCloseToTell),
            (1.013, Verdict::Missed),
        ] {
            let found = Conformity::of(0.01, &computed, Some(&slope(AdoptedFrom::Fit, value)), None).unwrap();
            assert_eq!(found.decided.unwrap().verdict, wanted, "{value}");
        }
        let open = Conformity::of(0.01, &computed, None, None).unwrap();
        assert_eq!((open.decided, open.undecided), (None, Some(NotDecided::NoReadings)));
        // In dispute a miss is stated alone, and only if the readings agree with each other.
        let in_dispute = |value, dispute| {
            Conformity::of(0.01, &computed, Some(&slope(AdoptedFrom::Fit, value)), Some(dispute)).unwrap()
        };
        let far = in_dispute(1.013, Dispute::SlopesDisagree);
        assert!(far.decided.is_some_and(|far| far.verdict == Verdict::Missed && far.in_dispute));
        let none = (None, Some(NotDecided::InDispute));
        for open in
            [in_dispute(1.007, Dispute::SlopesDisagree), in_dispute(1.013, Dispute::ReadingsContradict)]
        {
            assert_eq!((open.decided, open.undecided), none);
        }
    }
}
