//! A step: the readings of a calibration give another slope than those before, although no event was entered between.

use super::history::{Entered, History};
use super::rate::Equivalent;
use super::statement::CalibrationEntry;
use crate::physics::slope::AdoptedFrom;
use crate::questions::calibrate::Condition;
use crate::questions::calibrate::drift::{Side, drift};
use serde::Serialize;

/// The change of a calibration's slope from the calibration before it, beyond their uncertainties.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Step {
    /// Number of the entry before.
    pub before: u64,
    /// New over old fitted slope, minus one.
    pub relative_change: f64,
    /// E_n, above 1 in magnitude. If `same_meters`, the errors of the meters are cancelled.
    pub normalised_difference: f64,
    /// Whether both were measured with the same meters.
    pub same_meters: bool,
    /// What would change the slope as much.
    pub explained_by: Equivalent,
}

impl Step {
    /// From this |E_n| on, chance does not explain the change: three standard uncertainties, as for an action limit.
    pub(super) const CLEAR: f64 = 1.5;

    /// Whether chance makes such a change in fewer than one of three hundred cases.
    pub fn is_clear(&self) -> bool {
        self.normalised_difference.abs() > Self::CLEAR
    }
}

/// The step that a calibration to be entered would make. `None` if its readings agree with those before, or if an event
/// or an adjustment lies between.
pub fn step(history: &History, entry: &CalibrationEntry) -> Option<Step> {
    if entry.condition == Condition::Left {
        return None;
    }
    let is_replaced = |before: &Entered<CalibrationEntry>| {
        entry.replaces.as_deref().is_some_and(|number| before.said.has_certificate(number))
    };
    let before = history
        .calibrations
        .iter()
        .rev()
        .filter(|before| before.said.day() <= entry.day() && history.counts(before) && !is_replaced(before))
        .find(|before| before.said.line.fitted_slope().is_some())?;
    let something_between = history.events_since(before, entry.day()).next().is_some()
        || history.adjusted_since(before, entry.day()).is_some();
    if something_between { None } else { change(before, entry) }
}

/// The change of the fitted slope since an earlier calibration, if it is significant.
fn change(before: &Entered<CalibrationEntry>, entry: &CalibrationEntry) -> Option<Step> {
    let (older, newer) = (before.said.line.fitted_slope()?, entry.line.fitted_slope()?);
    let change = drift(&Side::of(&before.said.line, &older), &Side::of(&entry.line, &newer));
    let same_meters = change.normalised_difference_same_meters;
    let normalised_difference = same_meters.or(change.normalised_difference)?;
    (normalised_difference.abs() > 1.0).then(|| Step {
        before: before.number,
        relative_change: change.relative_change,
        normalised_difference,
        same_meters: same_meters.is_some() && change.instruments_renewed.is_empty(),
        explained_by: Equivalent::of_change(
            change.relative_change,
            older.tesla_per_ampere,
            before.said.changes.or(entry.changes),
        ),
    })
}

/// The clear step that the line of an entry does not show because it rests on the geometry. `None` for a line that
/// rests on the readings alone. It is a step since the calibration before, or the sum of a slow drift since the first
/// calibration of the series.
pub(super) fn hidden_step(history: &History, entered: &Entered<CalibrationEntry>) -> Option<Step> {
    if entered.said.line.slope.from == AdoptedFrom::Fit {
        return None;
    }
    let mut before = history.clone();
    before.calibrations.retain(|one| (one.said.day(), one.number) < (entered.said.day(), entered.number));
    before.events.retain(|event| !history.is_after(event, entered));
    let since_first = || {
        let all = history.series();
        let series = all.iter().find(|series| series.iter().any(|one| one.number == entered.number))?;
        let first = series.iter().find(|one| one.said.line.fitted_slope().is_some())?;
        change(first, &entered.said)
    };
    let at_once = step(&before, &entered.said).filter(Step::is_clear);
    at_once.or_else(|| since_first().filter(Step::is_clear))
}

/// The clear step that the line of a calibration to be entered would not show because it rests on the geometry.
pub fn hidden_by(history: &History, number: u64, entry: &CalibrationEntry) -> Option<Step> {
    let (history, entered) = history.with(number, entry);
    hidden_step(&history, &entered)
}
