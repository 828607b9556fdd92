//! The calibration in force: the line that lessons use.

use super::checks::{AgainstLine, FailedCheck, failed_since, last_of_field};
use super::due_of;
use super::history::{Entered, History, State};
use super::places::differ;
use super::reason::{Against, NotInForce};
use super::record::Due;
use super::statement::{CalibrationEntry, CheckEntry};
use super::step::{Step, hidden_step};
use crate::files::register::Digest;
use crate::numeric::calendar::Day;
use crate::pair::Bench;
use crate::physics::room;
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
    /// When the next calibration is due. `None` if the owner has no rule.
    pub next_due: Option<Due>,
    /// Why it is not in force, if it was taken nevertheless.
    pub in_spite_of: Option<NotInForce>,
    /// A later calibration that is withdrawn, so that this one holds again.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub later_withdrawn: Option<u64>,
    /// The entry whose certificate replaces that of this one after the day of use.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub replaced_later: Option<u64>,
    /// Whether B0 no longer holds, because the bench was moved or turned, or a coil changed.
    pub intercept_ended: bool,
    /// Whether the spec in use states another place or orientation than that of the calibration.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub elsewhere: bool,
    /// Whether the spec in use states the room's field.
    #[serde(skip)]
    pub room_stated: bool,
    #[serde(skip)]
    place: Option<String>,
    #[serde(skip)]
    orientation: Option<String>,
    /// Whether it was adopted although something spoke against its readings.
    pub in_dispute: bool,
    /// The step or drift that its readings show and its line does not.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub step: Option<Step>,
    /// The last quick check since, if the pair failed it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub failed_check: Option<FailedCheck>,
    /// The last quick check of the field since, if |E_n| against this line is above 1: number of its entry, and E_n.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub check_off_line: Option<(u64, f64)>,
}

impl InForce {
    /// For this bench: B0 ends where place or orientation are stated to be others than those of the calibration.
    #[must_use]
    pub fn used_by(mut self, bench: &Bench) -> Self {
        let conditions = &bench.paperwork.conditions;
        self.room_stated = room::field_tesla(bench).is_ok_and(|field| field.is_some());
        self.elsewhere = differ(self.place.as_ref(), conditions.place.as_ref())
            || differ(self.orientation.as_ref(), conditions.orientation.as_ref());
        if self.elsewhere {
            self.intercept_ended = true;
            self.line.room = None;
        }
        self
    }

    /// Of a register that is damaged from a line of its file on, so that it may not be the latest.
    #[must_use]
    pub fn of_damaged(mut self, line: Option<u64>) -> Self {
        if line.is_some() {
            self.in_spite_of.get_or_insert_default().damaged_line = line;
        }
        self
    }
}

/// The line to use on a day: the one in force by what was known then. A withdrawn line is not used for the days before its
/// withdrawal either. With `anyway`, the latest that is issued by then, whatever its state.
///
/// # Errors
/// None is in force: the latest is withdrawn or expired, or there is none.
pub fn in_force(history: &History, on: Day, anyway: bool) -> Result<InForce> {
    let history = &history.as_used();
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
    let latest = past.clone().next_back().filter(|(latest, _)| latest.number != entered.number);
    let against = latest.into_iter().chain([(entered, standing)]);
    let against = against.map(|(entered, standing)| Against::of(history, entered, standing)).collect();
    let why = NotInForce { damaged_line: None, against };
    if anyway {
        return Ok(line(history, entered, on, Some(why)));
    }
    Err(Error::value_with_hint(
        format!("no calibration of the register is in force on {on}: {}", why.sentence()),
        "calibrate anew, or use it all the same with --even-if-not-in-force",
    ))
}

/// A quick check against the line in force on its day, and the number of that line's entry. `None` if none was in force, or the
/// field was not measured; no comparison if the uncertainty of either is not known.
pub fn against_line_in_force(history: &History, check: &CheckEntry) -> Option<(u64, Option<AgainstLine>)> {
    check.field_tesla_per_ampere?;
    let found = in_force(history, check.date, false).ok()?;
    let calibration = history.calibration(found.number)?;
    Some((found.number, AgainstLine::of(history, check, calibration)))
}

fn line(
    history: &History,
    entered: &Entered<CalibrationEntry>,
    on: Day,
    in_spite_of: Option<NotInForce>,
) -> InForce {
    let known = history.as_of(on);
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
        next_due: due_of(&known, entered),
        in_spite_of,
        later_withdrawn: history.later_withdrawn(entered, on),
        replaced_later: history.replacement_of(entered).filter(|_| known.replacement_of(entered).is_none()),
        intercept_ended,
        elsewhere: false,
        room_stated: false,
        place: entered.said.place.clone(),
        orientation: entered.said.orientation.clone(),
        in_dispute: entered.said.in_dispute,
        step: hidden_step(&known, entered),
        failed_check: failed_since(&known, entered),
        check_off_line: last_of_field(&known, entered)
            .filter(|(_, against)| !against.agrees())
            .map(|(check, against)| (check.number, against.decisive())),
    }
}
