//! What two calibrations of one pair do not share.

use crate::numeric::coverage::{Contribution, effective_degrees_of_freedom};
use crate::physics::slope::Slope;
use crate::questions::calibrate::drift::is_shared;

/// Standard uncertainty of a slope from the sources that change from one calibration to the next: the scatter of its
/// readings and the warmth of the day. Zero where the slope has no budget.
pub(super) fn unshared_standard_uncertainty(slope: &Slope) -> f64 {
    let own = slope.budget.iter().filter(|part| !is_shared(&part.source));
    own.map(|part| part.contribution_tesla_per_ampere.powi(2)).sum::<f64>().sqrt()
}

/// Degrees of freedom of that uncertainty; `None` where none of it was estimated from few readings.
pub(super) fn unshared_degrees_of_freedom(slope: &Slope) -> Option<f64> {
    let own = slope.budget.iter().filter(|part| !is_shared(&part.source));
    let contributions: Vec<Contribution> = own
        .map(|part| Contribution {
            standard_uncertainty: part.contribution_tesla_per_ampere.abs(),
            degrees_of_freedom: part.degrees_of_freedom,
        })
        .collect();
    effective_degrees_of_freedom(&contributions)
}
