//! What two calibrations of one pair do not share.

use super::history::Entered;
use super::statement::CalibrationEntry;
use crate::numeric::coverage::{Contribution, effective_degrees_of_freedom};
use crate::pair::{Instrument, instruments_renewed};
use crate::physics::slope::Slope;
use crate::questions::calibrate::budget::{is_of_a_meter, is_shared};

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

/// Standard uncertainty of a slope from the errors of its meters, which calibrations share as long as the meters are not
/// calibrated anew themselves.
pub(super) fn meters_standard_uncertainty(slope: &Slope) -> f64 {
    let meters = slope.budget.iter().filter(|part| is_of_a_meter(&part.source));
    meters.map(|part| part.contribution_tesla_per_ampere.powi(2)).sum::<f64>().sqrt()
}

/// For each calibration of a series, the instruments that were calibrated or replaced since the one before; `earlier` are those
/// of the calibration before the series.
pub(super) fn renewed_in<'a>(
    earlier: &'a [Instrument],
    series: &[&'a Entered<CalibrationEntry>],
) -> Vec<Vec<String>> {
    let mut known = earlier;
    let mut renewed = Vec::new();
    for entered in series {
        let own = &entered.said.line.instruments;
        renewed.push(instruments_renewed(known, own));
        if !own.is_empty() {
            known = own;
        }
    }
    renewed
}
