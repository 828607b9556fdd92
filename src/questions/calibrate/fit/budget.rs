//! The budget of a fitted slope as a field constant: the fit itself and the errors of the meters.

use super::line::Fit;
use crate::pair::Bench;
use crate::physics::budget_source::BudgetSource;
use crate::physics::slope::{BudgetEntry, Spread};
use crate::questions::calibrate::ammeter::Ammeter;
use crate::questions::calibrate::probe;

/// The budget of a fitted slope per true ampere.
///
/// A gain error of either meter is the same for every reading and does not show in the scatter. The ammeter's digits
/// count as a zero that is off for all readings. It changes the slope by its influence on the least squares
/// (`Ammeter::zero_sensitivity_of_slope`), not by its size over the largest current.
pub fn fit_budget(fit: &Fit, bench: &Bench) -> Vec<BudgetEntry> {
    let slope = fit.slope_tesla_per_ampere;
    let own = fit.slope_standard_uncertainty_tesla_per_ampere;
    let degrees_of_freedom = fit.degrees_of_freedom_of_uncertainty();
    let mut budget = vec![BudgetEntry {
        source: BudgetSource::Fit,
        coil: None,
        unit: "T/A".into(),
        distribution: if degrees_of_freedom.is_some() { Spread::Student } else { Spread::Normal },
        standard_uncertainty: own,
        sensitivity_tesla_per_ampere_per_unit: 1.0,
        contribution_tesla_per_ampere: own,
        degrees_of_freedom,
    }];
    if let Some(ammeter) = Ammeter::of(bench) {
        let gain = ammeter.gain_standard_uncertainty;
        budget.push(BudgetEntry::relative(BudgetSource::AmmeterGain, Spread::Rectangular, gain, -slope));
        let digits = ammeter.zero_standard_uncertainty_ampere;
        let sensitivity = ammeter.zero_sensitivity_of_slope(&fit.ammeter_zero);
        budget.push(BudgetEntry {
            source: BudgetSource::AmmeterDigits,
            coil: None,
            unit: "A".into(),
            distribution: Spread::Rectangular,
            standard_uncertainty: digits,
            sensitivity_tesla_per_ampere_per_unit: sensitivity,
            contribution_tesla_per_ampere: (sensitivity * digits).abs(),
            degrees_of_freedom: None,
        });
    }
    if let Some(gain) = probe::gain_standard_uncertainty(bench) {
        budget.push(BudgetEntry::relative(BudgetSource::ProbeGain, Spread::Rectangular, gain, slope));
    }
    budget
}
