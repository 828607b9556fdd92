//! A calibration against an older one of the same pair: has the slope drifted, does the old table still hold.

use super::AdoptedLine;
use super::agreement::Slope;
use crate::provenance::Provenance;
use serde::Serialize;

/// What became of the slope since.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Drift {
    /// Where the older line comes from.
    pub previous: Provenance,
    /// The older slope.
    pub previous_slope_tesla_per_ampere: f64,
    /// Its expanded uncertainty.
    pub previous_slope_expanded_uncertainty_tesla_per_ampere: f64,
    /// New over old slope, minus one.
    pub relative_change: f64,
    /// E_n: (new − old) / √(U(new)² + U(old)²); `None` where neither has an uncertainty.
    pub normalised_difference: Option<f64>,
    /// Whether the new slope lies within the older one's expanded uncertainty: what the old table promised.
    pub old_table_holds: bool,
    /// Whether the two were made from the same spec file.
    pub same_spec: bool,
}

/// Compares a slope with an older line's.
pub fn drift(previous: &AdoptedLine, now: &Slope, provenance: &Provenance) -> Drift {
    let old = previous.slope_tesla_per_ampere;
    let old_expanded = previous.coverage_factor * previous.slope_standard_uncertainty_tesla_per_ampere;
    let change = now.tesla_per_ampere - old;
    let normalised = change / now.expanded_uncertainty.hypot(old_expanded);
    Drift {
        previous: previous.provenance.clone(),
        previous_slope_tesla_per_ampere: old,
        previous_slope_expanded_uncertainty_tesla_per_ampere: old_expanded,
        relative_change: change / old,
        normalised_difference: normalised.is_finite().then_some(normalised),
        old_table_holds: change.abs() <= old_expanded,
        same_spec: previous.provenance.spec_digest == provenance.spec_digest,
    }
}

#[cfg(test)]
mod tests {
    use super::super::{AdoptedFrom, adopted::ValidityPart};
    use super::*;

    fn line(slope: f64) -> AdoptedLine {
        AdoptedLine {
            provenance: Provenance {
                program: "coilwright 0.1.0".into(),
                spec_title: "Pair".into(),
                spec_digest: "0123456789ab".into(),
                date: None,
            },
            adopted_from: AdoptedFrom::Fit,
            slope_tesla_per_ampere: slope,
            slope_standard_uncertainty_tesla_per_ampere: 1e-6,
            intercept_tesla: 0.0,
            intercept_standard_uncertainty_tesla: 0.0,
            effective_degrees_of_freedom: None,
            coverage_factor: 2.0,
            room: None,
            validity: ValidityPart { current_limit_ampere: 3.0 },
        }
    }

    #[test]
    fn the_old_table_holds_as_long_as_the_change_stays_within_what_it_promised() {
        let previous = line(8e-4);
        let now =
            |slope| Slope { tesla_per_ampere: slope, standard_uncertainty: 1e-6, expanded_uncertainty: 2e-6 };
        let small = drift(&previous, &now(8.01e-4), &previous.provenance);
        assert!(small.old_table_holds && small.same_spec);
        // 1 µT/A over √(2² + 2²) µT/A.
        assert!((small.normalised_difference.unwrap() - 1.0 / 8f64.sqrt()).abs() < 1e-9);
        let large = drift(&previous, &now(7.95e-4), &previous.provenance);
        assert!(!large.old_table_holds);
        assert!((large.relative_change + 5.0 / 800.0).abs() < 1e-12);
    }
}
