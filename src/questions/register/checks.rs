//! Quick checks between calibrations: what one tells of the line in force, besides its verdict against the spec.
//!
//! The spec's limits hold for the pair as it was designed, the line for the pair as it was measured. A pair may fail the one and
//! agree with the other.

use super::history::{Entered, History};
use super::statement::{CalibrationEntry, CheckEntry, EventKind};
use super::unshared::{unshared_degrees_of_freedom, unshared_standard_uncertainty};
use crate::numeric::calendar::Day;
use crate::numeric::coverage::{Contribution, coverage_factor, effective_degrees_of_freedom};
use serde::Serialize;

/// A quick check of the field against the line of a calibration.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct AgainstLine {
    /// E_n of the field per ampere against the slope, as if the two shared nothing.
    pub normalised_difference: f64,
    /// E_n against the slope fitted to the calibration's readings, without the errors of the meters that both share; `None`
    /// unless the check was made with these meters.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub normalised_difference_same_meters: Option<f64>,
    /// U of the difference over the slope: a smaller change of the pair does not show.
    pub unseen_change_fraction: f64,
}

impl AgainstLine {
    /// The check against the line; `None` unless the field was measured and the uncertainties of both are known.
    pub(super) fn of(
        history: &History,
        check: &CheckEntry,
        calibration: &Entered<CalibrationEntry>,
    ) -> Option<Self> {
        let field = check.field_tesla_per_ampere?;
        let u = check.field_standard_uncertainty_tesla_per_ampere?;
        let slope = &calibration.said.line.slope;
        let whole = slope.expanded_uncertainty()?.hypot(2.0 * u);
        let same = same_meters(history, check, calibration, field, u);
        let normalised_difference = (field - slope.tesla_per_ampere) / whole;
        normalised_difference.is_finite().then_some(Self {
            normalised_difference,
            normalised_difference_same_meters: same.map(|[normalised, _]| normalised),
            unseen_change_fraction: same.map_or(whole, |[_, expanded]| expanded)
                / slope.tesla_per_ampere.abs(),
        })
    }

    /// E_n by which it is judged: with the same meters where there is one.
    pub fn decisive(&self) -> f64 {
        self.normalised_difference_same_meters.unwrap_or(self.normalised_difference)
    }

    /// Whether the two agree.
    pub fn agrees(&self) -> bool {
        self.decisive().abs() <= 1.0
    }
}

/// E_n against the fitted slope, and U of the difference, the errors of the shared meters left out of the calibration's part. The
/// check's own uncertainty stays whole: nothing tells how much of it is the meters'.
fn same_meters(
    history: &History,
    check: &CheckEntry,
    calibration: &Entered<CalibrationEntry>,
    field: f64,
    u: f64,
) -> Option<[f64; 2]> {
    let another =
        history.events_since(calibration, check.date).any(|event| event.said.event == EventKind::Meter);
    let fitted = calibration.said.line.fitted_slope().filter(|_| check.same_meters && !another)?;
    let own = Contribution {
        standard_uncertainty: unshared_standard_uncertainty(&fitted),
        degrees_of_freedom: unshared_degrees_of_freedom(&fitted),
    };
    let of_check = Contribution { standard_uncertainty: u, degrees_of_freedom: None };
    let factor = coverage_factor(effective_degrees_of_freedom(&[own, of_check]));
    let expanded = factor * own.standard_uncertainty.hypot(u);
    let normalised = (field - fitted.tesla_per_ampere) / expanded;
    normalised.is_finite().then_some([normalised, expanded])
}

/// A quick check that the pair failed against its spec.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct FailedCheck {
    /// Number of its entry.
    pub entry: u64,
    /// Its day.
    pub date: Day,
    /// The last quick check of the field from then on, against the line; `None` if there is none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub line: Option<AgainstLine>,
}

/// The last quick check since a calibration that the pair failed, unless a later one shows the same to be right.
pub(super) fn failed_since(
    history: &History,
    calibration: &Entered<CalibrationEntry>,
) -> Option<FailedCheck> {
    let mut open: Vec<(String, &Entered<CheckEntry>)> = Vec::new();
    for check in since(history, calibration) {
        let [failed, passed] = check.said.failed_and_passed();
        open.retain(|(what, _)| !passed.contains(what) && !failed.contains(what));
        open.extend(failed.into_iter().map(|what| (what, check)));
    }
    let failed = open.into_iter().map(|(_, check)| check).max_by_key(|check| place(check))?;
    let from_then_on = last_of_field(history, calibration).filter(|(check, _)| place(check) >= place(failed));
    let line = from_then_on.map(|(_, against)| against);
    Some(FailedCheck { entry: failed.number, date: failed.said.date, line })
}

/// The last quick check of the field since a calibration, against its line.
pub(super) fn last_of_field<'a>(
    history: &'a History,
    calibration: &Entered<CalibrationEntry>,
) -> Option<(&'a Entered<CheckEntry>, AgainstLine)> {
    let measured = |check: &&&Entered<CheckEntry>| check.said.field_tesla_per_ampere.is_some();
    let checks = since(history, calibration);
    let last = *checks.iter().rfind(measured)?;
    Some((last, AgainstLine::of(history, &last.said, calibration)?))
}

fn place(check: &Entered<CheckEntry>) -> (Day, u64) {
    (check.said.date, check.number)
}

/// The quick checks since a calibration, in their order.
fn since<'a>(history: &'a History, calibration: &Entered<CalibrationEntry>) -> Vec<&'a Entered<CheckEntry>> {
    let from = (calibration.said.day(), calibration.number);
    let mut checks: Vec<&Entered<CheckEntry>> =
        history.checks.iter().filter(|check| place(check) > from).collect();
    checks.sort_by_key(|check| place(check));
    checks
}
