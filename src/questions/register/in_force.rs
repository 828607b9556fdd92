//! The calibration in force: the line that lessons use.

use super::history::{Entered, History, Standing, StandingReason, State};
use super::record::Due;
use super::statement::{CalibrationEntry, CheckEntry};
use super::step::{Step, hidden_step};
use super::{due_of, reason};
use crate::files::register::Digest;
use crate::numeric::calendar::Day;
use crate::pair::Conditions;
use crate::questions::calibrate::AdoptedLine;
use crate::{Error, Result};
use serde::Serialize;

/// The line to use on a day.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct InForce {
    /// Number of its entry.
    pub number: u64,
    /// Digest of its entry.
    pub digest: Digest,
    /// Number of its certificate, if it has one.
    pub certificate: Option<String>,
    /// The line, without its room's field if the bench was moved or turned since.
    #[serde(skip)]
    pub line: AdoptedLine,
    /// When the next calibration is due; `None` if the owner has no rule.
    pub next_due: Option<Due>,
    /// What speaks against it, in words, if it was taken nevertheless.
    pub in_spite_of: Option<String>,
    /// A later calibration that is withdrawn, so that this one holds again.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub later_withdrawn: Option<u64>,
    /// Whether B0 no longer holds, because the bench was moved or turned, or a coil changed.
    pub intercept_ended: bool,
    /// Whether the spec in use states another place or orientation than that of the calibration.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub elsewhere: bool,
    #[serde(skip)]
    place: Option<String>,
    #[serde(skip)]
    orientation: Option<String>,
    /// Whether it was adopted in spite of what spoke against its readings.
    pub in_dispute: bool,
    /// What its readings show against those before, where its line hides it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub step: Option<Step>,
    /// The last quick check since, if the pair failed it: number of its entry and day.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub failed_check: Option<(u64, Day)>,
    /// The last quick check of the field since, if it is off this line by more than both leave open: number of its entry, and E_n.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub check_off_line: Option<(u64, f64)>,
}

impl InForce {
    /// For a bench that stands under these conditions: B0 ends where place or orientation are stated to be others than those
    /// of the calibration.
    #[must_use]
    pub fn used_under(mut self, conditions: &Conditions) -> Self {
        let differ = |before: &Option<String>, now: &Option<String>| {
            let folded = |text: &String| text.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase();
            before.as_ref().zip(now.as_ref()).is_some_and(|(before, now)| folded(before) != folded(now))
        };
        self.elsewhere =
            differ(&self.place, &conditions.place) || differ(&self.orientation, &conditions.orientation);
        if self.elsewhere {
            self.intercept_ended = true;
            self.line.room = None;
        }
        self
    }

    /// Where the line comes from, in a few words: `entry 3 of the register`.
    pub fn origin(&self) -> String {
        let mut entry = format!("entry {} of the register", self.number);
        if self.in_dispute {
            entry += ", adopted in spite of a dispute about its readings";
        }
        if self.elsewhere {
            entry += ", whose room field belongs to another place or orientation than the spec's";
        } else if self.intercept_ended {
            entry += ", whose room field ended when the bench was moved, turned or changed";
        }
        if let Some(step) = self.step {
            entry += &format!(", whose readings are unlike those of entry {}", step.before);
        }
        if let Some((number, day)) = self.failed_check {
            entry += &format!(", though the pair failed the check of entry {number} on {day}");
        }
        if let Some((number, _)) = self.check_off_line {
            entry += &format!(", though the check of entry {number} is off it");
        }
        match &self.in_spite_of {
            Some(against) => format!("{entry}, in spite of: {against}"),
            None => entry,
        }
    }
}

/// The line in force on a day. With `anyway`, the latest that is issued by then, whatever its state.
///
/// # Errors
/// None is in force: the latest is withdrawn, expired, or there is none.
pub fn in_force(history: &History, on: Day, anyway: bool) -> Result<InForce> {
    let known = history.as_of(on);
    let standings = history.standings(on, |entered| due_of(&known, entered).map(|due| due.date));
    let found = history.calibrations.iter().zip(&standings);
    // A withdrawn one is withdrawn on every day, and may still be issued on a later day.
    let past = found.filter(|(entered, _)| entered.said.is_issued(on));
    if let Some((entered, _)) = past.clone().find(|(_, standing)| standing.state == State::InForce) {
        return Ok(line(history, entered, on, None));
    }
    let Some((entered, standing)) = past
        .clone()
        .rfind(|(_, standing)| standing.state == State::Expired)
        .or_else(|| past.clone().next_back())
    else {
        let none = format!("the register has no calibration of {on} or before");
        return Err(match history.calibrations.iter().map(|entered| entered.said.date).min() {
            Some(first) => Error::value_with_hint(none, format!("its first is of {first}")),
            None => Error::value_with_hint(none, "`calibrate --register FILE --date D` enters one"),
        });
    };
    let withdrawn = past
        .clone()
        .next_back()
        .filter(|(latest, _)| latest.number != entered.number)
        .map_or(String::new(), |(latest, standing)| against(history, latest, standing) + "; before it, ");
    let against = withdrawn + &against(history, entered, standing);
    if anyway {
        return Ok(line(history, entered, on, Some(against)));
    }
    Err(Error::value_with_hint(
        format!("no calibration of the register is in force on {on}: {against}"),
        "calibrate anew, or use it all the same with --even-if-not-in-force",
    ))
}

/// The number of the line in force on the day of a quick check, and E_n of the check against its slope, if the two differ by more
/// than both leave open. Without E_n if that cannot be told, because the uncertainty of either is not known.
pub fn off_line(history: &History, check: &CheckEntry) -> Option<(u64, Option<f64>)> {
    check.field_tesla_per_ampere?;
    let line = in_force(history, check.date, false).ok()?;
    let normalised = check.normalised_difference(&line.line.slope);
    normalised.is_none_or(|normalised| normalised.abs() > 1.0).then_some((line.number, normalised))
}

/// What speaks against a calibration.
fn against(history: &History, entered: &Entered<CalibrationEntry>, standing: &Standing) -> String {
    let why = reason(history, &standing.cause).unwrap_or_default();
    match standing.cause {
        StandingReason::Due(due) => format!("entry {} expired on {due}", entered.number),
        StandingReason::Withdrawn(_) => format!("entry {} is withdrawn: {why}", entered.number),
        _ => format!("entry {} no longer holds: {why}", entered.number),
    }
}

fn line(
    history: &History,
    entered: &Entered<CalibrationEntry>,
    on: Day,
    in_spite_of: Option<String>,
) -> InForce {
    let intercept_ended = history.intercept_ended_by(entered, on).is_some();
    let mut line = entered.said.line.clone();
    line.in_dispute = entered.said.in_dispute;
    if intercept_ended {
        line.room = None;
    }
    InForce {
        number: entered.number,
        digest: entered.digest,
        certificate: entered.said.certificate.clone(),
        line,
        next_due: due_of(&history.as_of(on), entered),
        in_spite_of,
        later_withdrawn: history.later_withdrawn(entered, on),
        intercept_ended,
        elsewhere: false,
        place: entered.said.place.clone(),
        orientation: entered.said.orientation.clone(),
        in_dispute: entered.said.in_dispute,
        step: hidden_step(history, entered),
        failed_check: (history.as_of(on).failed_check_since(entered))
            .map(|check| (check.number, check.said.date)),
        check_off_line: (history.as_of(on).check_off_line_since(entered))
            .map(|(check, normalised)| (check.number, normalised)),
    }
}
