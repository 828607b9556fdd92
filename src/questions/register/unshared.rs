//! The errors that two calibrations of one pair do not share.

use super::history::Entered;
use super::statement::CalibrationEntry;
use crate::numeric::coverage::{Contribution, effective_degrees_of_freedom};
use crate::pair::{Instrument, Read, RenewedMeter, meters_renewed};
use crate::physics::slope::Slope;

/// Standard uncertainty of a slope from the sources that differ from one calibration to the next: the scatter of its
/// readings and the temperature of the coils. Zero if the slope has no budget.
pub(super) fn unshared_standard_uncertainty(slope: &Slope) -> f64 {
    let own = slope.budget.iter().filter(|part| !part.source.is_shared());
    own.map(|part| part.contribution_tesla_per_ampere.powi(2)).sum::<f64>().sqrt()
}

/// Degrees of freedom of that uncertainty. `None` if none of it was estimated from few readings.
pub(super) fn unshared_degrees_of_freedom(slope: &Slope) -> Option<f64> {
    let own = slope.budget.iter().filter(|part| !part.source.is_shared());
    let contributions: Vec<Contribution> = own
        .map(|part| Contribution {
            standard_uncertainty: part.contribution_tesla_per_ampere.abs(),
            degrees_of_freedom: part.degrees_of_freedom,
        })
        .collect();
    effective_degrees_of_freedom(&contributions)
}

/// Standard uncertainty of a slope from the errors of one of its meters. Calibrations share these errors until the
/// meter is calibrated again.
pub(super) fn standard_uncertainty_of_meter(slope: &Slope, meter: Read) -> f64 {
    let its = slope.budget.iter().filter(|part| part.source.meter() == Some(meter));
    its.map(|part| part.contribution_tesla_per_ampere.powi(2)).sum::<f64>().sqrt()
}

/// For each calibration of a series, the meters that were calibrated or replaced since the one before; `earlier` are the
/// instruments of the calibration before the series.
pub(super) fn renewed_in<'a>(
    earlier: &'a [Instrument],
    series: &[&'a Entered<CalibrationEntry>],
) -> Vec<Vec<RenewedMeter>> {
    let mut known = earlier;
    let mut renewed = Vec::new();
    for entered in series {
        let own = &entered.said.line.instruments;
        renewed.push(meters_renewed(known, own));
        if !own.is_empty() {
            known = own;
        }
    }
    renewed
}

/// How often each kind of meter was renewed up to each calibration of a series. The first calibration counts as none.
pub(super) fn times_renewed(renewed: &[Vec<RenewedMeter>]) -> Vec<[usize; 2]> {
    let mut times = [0; 2];
    let count = |(place, renewed): (usize, &Vec<RenewedMeter>)| {
        for meter in renewed.iter().filter(|_| place > 0) {
            times[usize::from(meter.reads == Read::Current)] += 1;
        }
        times
    };
    renewed.iter().enumerate().map(count).collect()
}

/// The calibrations left out of centre line and drift: a single one that was adopted although something spoke against
/// its readings. If there are several, they may agree with each other, and then the geometry is wrong.
pub(super) fn left_out(series: &[&Entered<CalibrationEntry>]) -> Vec<bool> {
    let has_fit = |entered: &&&Entered<CalibrationEntry>| entered.said.line.fitted_slope().is_some();
    let disputed = series.iter().filter(has_fit).filter(|entered| entered.said.in_dispute).count();
    let is_lone = disputed == 1 && series.iter().filter(has_fit).count() > 2;
    series.iter().map(|entered| is_lone && entered.said.in_dispute).collect()
}
