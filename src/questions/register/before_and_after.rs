//! The results before and after an adjustment or a repair, and what ended a calibration before its issue
//! (ISO/IEC 17025:2017, 7.8.4.1 d).

use super::history::{Entered, History};
use super::statement::{CalibrationEntry, Event, EventKind};
use crate::numeric::calendar::Day;
#[cfg(feature = "paper")]
use crate::questions::calibrate::EndedBeforeIssue;
use crate::questions::calibrate::drift::{Side, drift};
use crate::questions::calibrate::{
    AsFound, Calibration, ChangedSince, Condition, FoundToNow, Happened, NoAsFound,
};
use crate::{Error, Result};

/// States what was done to the coils since the calibration before, and names the certificate of the result as found before it on
/// one of a pair as left or repaired. Where something else changed the pair after the register's last result as found, or it
/// holds none, none is named and that is stated.
///
/// # Errors
/// The certificate that it names itself is not in the register, or something else changed the pair after it.
pub fn name_as_found(history: &History, record: &mut Calibration) -> Result<()> {
    let Some(day) = record.issue.measured.or(record.provenance.date) else { return Ok(()) };
    let before = before(history, record, day);
    record.issue.happened = done_before(history, &before, day);
    if record.issue.condition != Condition::Left && record.issue.happened.is_empty() {
        return Ok(());
    }
    let is_found = |entered: &Entered<CalibrationEntry>| entered.said.condition == Condition::Found;
    if let Some(named) = record.issue.as_found.take() {
        let of_name = |entered: &&Entered<CalibrationEntry>| entered.said.has_certificate(&named.certificate);
        let known = history.calibrations.iter().filter(|it| is_found(it) && history.counts(it)).find(of_name);
        let known = known.ok_or_else(|| {
            Error::value_with_hint(
                format!("the register has no valid certificate `{}` of a result as found", named.certificate),
                "without --as-found the register's last result as found is named",
            )
        })?;
        if let Some(changed) = changed_since(history, &before, known, day) {
            return Err(Error::value_with_hint(
                format!(
                    "the certificate `{}` is of a result as found before entry {} of the register: {}",
                    named.certificate,
                    changed.entry,
                    changed.happened.sentence()
                ),
                "leave out --as-found: the certificate then says that no result as found exists since",
            ));
        }
        record.issue.as_found = as_found(history, record, known, day);
        return Ok(());
    }
    let is_measured = |it: &&&Entered<CalibrationEntry>| it.said.readings_sha256.is_some();
    let numbered = |it: &&&Entered<CalibrationEntry>| it.said.certificate.is_some();
    // What was left before a repair is the result before it, if nothing was measured as found since.
    let last = before.iter().rev().find(is_measured).filter(numbered);
    let as_left = last.filter(|it| !is_found(it) && !record.issue.happened.is_empty());
    let found = before.iter().rev().filter(|it| is_found(it)).filter(is_measured).find(numbered);
    let Some(last) = as_left.or(found) else {
        record.issue.no_as_found = Some(NoAsFound::new(None));
        return Ok(());
    };
    match changed_since(history, &before, last, day) {
        None => record.issue.as_found = as_found(history, record, last, day),
        since => record.issue.no_as_found = Some(NoAsFound::new(since)),
    }
    Ok(())
}

/// The calibrations that count, up to the day of this one, without the one that it replaces.
fn before<'a>(history: &'a History, record: &Calibration, day: Day) -> Vec<&'a Entered<CalibrationEntry>> {
    let replaced = record.issue.replaces.as_ref().map(|replaced| replaced.certificate.as_str());
    let is_replaced = |said: &CalibrationEntry| replaced.is_some_and(|number| said.has_certificate(number));
    let counted = history.calibrations.iter().filter(|entered| history.counts(entered));
    counted.filter(|it| !is_replaced(&it.said) && it.said.day() <= day).collect()
}

/// What changed the pair after a result as found, besides the last adjustment or repair before this calibration, all of whose
/// events bear one day.
fn changed_since(
    history: &History,
    before: &[&Entered<CalibrationEntry>],
    found: &Entered<CalibrationEntry>,
    day: Day,
) -> Option<ChangedSince> {
    let key = |entered: &Entered<CalibrationEntry>| (entered.said.day(), entered.number);
    let left = before.iter().filter(|it| it.said.condition == Condition::Left && key(it) > key(found));
    let left = left.map(|it| (key(it), None));
    let events = slope_changes(history, found, day).map(|event| {
        let day = history.day_at_least(event.number, event.said.date).unwrap_or(found.said.day());
        ((day, event.number), Some(event))
    });
    let mut changes: Vec<_> = left.chain(events).collect();
    changes.sort_by_key(|(key, _)| *key);
    let own_day = changes.last().filter(|(_, event)| event.is_some()).map(|((day, _), _)| *day);
    while let Some(((day, _), Some(_))) = changes.last()
        && Some(*day) == own_day
    {
        changes.pop();
    }
    let ((day, entry), event) = changes.pop()?;
    let happened = match event {
        Some(event) => happened(event),
        None => Happened::new(ADJUSTED, Some(day)),
    };
    Some(ChangedSince::new(entry, happened))
}

/// A result as found, as the certificate of a later calibration of this day names it.
fn as_found(
    history: &History,
    record: &Calibration,
    entered: &Entered<CalibrationEntry>,
    day: Day,
) -> Option<AsFound> {
    let slope = &entered.said.line.slope;
    let mut found = AsFound::new(entered.said.certificate.clone()?);
    found.measured = Some(entered.said.day());
    found.slope_and_expanded_uncertainty_tesla_per_ampere =
        slope.expanded_uncertainty().map(|expanded| [slope.tesla_per_ampere, expanded]);
    found.as_left = entered.said.condition == Condition::Left;
    found.in_dispute = entered.said.in_dispute;
    let mut events = history.events_since(entered, day);
    let other_meter = events.any(|event| event.said.event == EventKind::Meter);
    found.fitted_change = fitted_change(record, entered, other_meter);
    Some(found)
}

/// The change of the slope fitted to readings from an earlier calibration to this one. `None` if either holds none.
fn fitted_change(
    record: &Calibration,
    found: &Entered<CalibrationEntry>,
    other_meter: bool,
) -> Option<FoundToNow> {
    let line = &found.said.line;
    let (before, now) = (line.fitted_slope()?, record.fitted_with_warmth()?);
    let newer = Side {
        slope: now,
        provenance: &record.provenance,
        apparatus: Some(&record.apparatus_digest),
        instruments: &record.paperwork.instruments,
    };
    let change = drift(&Side::of(line, &before), &newer);
    let same_meters = change.normalised_difference_same_meters.filter(|_| !other_meter);
    Some(FoundToNow {
        found_tesla_per_ampere: before.tesla_per_ampere,
        found_expanded_uncertainty_tesla_per_ampere: before.expanded_uncertainty(),
        now_tesla_per_ampere: now.tesla_per_ampere,
        now_expanded_uncertainty_tesla_per_ampere: now.expanded_uncertainty(),
        relative_change: change.relative_change,
        normalised_difference: change.normalised_difference,
        normalised_difference_same_meters: same_meters,
        shared_sources: same_meters.map_or(Vec::new(), |_| change.shared_sources),
    })
}

/// What changed the pair after the calibration that `--previous` names, up to the day of this one. That calibration is found
/// by its certificate; one that the register does not hold counts from its day of issue.
#[cfg(feature = "paper")]
pub(super) fn changed_since_previous(history: &History, record: &Calibration) -> Option<Vec<Happened>> {
    let day = record.issue.measured.or(record.provenance.date)?;
    let older = record.drift.as_ref()?;
    let named = older.previous_certificate.as_ref();
    let entered = named
        .and_then(|number| history.calibrations.iter().find(|entered| entered.said.has_certificate(number)));
    let done: Vec<Happened> = match (entered, older.previous.date) {
        (Some(entered), _) => slope_changes(history, entered, day).map(happened).collect(),
        (None, Some(since)) => history
            .events
            .iter()
            .filter(|event| event.said.event.changes_slope())
            .filter(|event| {
                let at = history.day_at_least(event.number, event.said.date);
                at.is_some_and(|at| since < at && at <= day)
            })
            .map(happened)
            .collect(),
        (None, None) => record.issue.happened.clone(),
    };
    let adjusted = record.issue.condition == Condition::Left
        || entered.is_some_and(|entered| adjusted_between(history, entered, day).is_some());
    (adjusted || !done.is_empty()).then_some(done)
}

/// The first calibration as left after another, up to a day: it shows that the pair was adjusted, whether it counts or not.
#[cfg(feature = "paper")]
fn adjusted_between<'a>(
    history: &'a History,
    after: &Entered<CalibrationEntry>,
    until: Day,
) -> Option<&'a Entered<CalibrationEntry>> {
    let key = |entered: &Entered<CalibrationEntry>| (entered.said.day(), entered.number);
    let left = history.calibrations.iter().filter(|it| it.said.condition == Condition::Left);
    left.filter(|it| it.said.replaces.is_none()).find(|it| key(it) > key(after) && it.said.day() <= until)
}

/// What ended a calibration to be entered before its certificate is issued: the line, and B0 alone.
#[cfg(feature = "paper")]
pub(super) fn ended_before_issue(
    history: &History,
    number: u64,
    entry: &CalibrationEntry,
) -> [Option<EndedBeforeIssue>; 2] {
    let (history, entered) = history.with(number, entry);
    let first = |counts: fn(EventKind) -> bool| {
        let events = history.events_since(&entered, entry.date);
        let mut events: Vec<_> = events.filter(|event| counts(event.said.event)).collect();
        events.sort_by_key(|event| (history.day_at_least(event.number, event.said.date), event.number));
        events.first().map(|event| EndedBeforeIssue::new(event.number, happened(event)))
    };
    let adjusted = adjusted_between(&history, &entered, entry.date)
        .map(|left| EndedBeforeIssue::new(left.number, Happened::new(ADJUSTED, Some(left.said.day()))));
    let line = first(EventKind::changes_slope).or(adjusted);
    let intercept = first(|event| event.changes_intercept() && !event.changes_slope());
    [line, intercept]
}

/// What a calibration as left tells of the pair.
const ADJUSTED: &str = "the pair was adjusted and measured as left";

/// What was done to the coils from the last of these calibrations that was measured until this day.
fn done_before(history: &History, before: &[&Entered<CalibrationEntry>], day: Day) -> Vec<Happened> {
    let last = before.iter().rfind(|entered| entered.said.readings_sha256.is_some());
    last.map_or(Vec::new(), |last| slope_changes(history, last, day).map(happened).collect())
}

/// The events since a calibration up to a day that changed the slope.
fn slope_changes<'a>(
    history: &'a History,
    since: &'a Entered<CalibrationEntry>,
    day: Day,
) -> impl Iterator<Item = &'a Entered<Event>> {
    history.events_since(since, day).filter(|event| event.said.event.changes_slope())
}

fn happened(event: &Entered<Event>) -> Happened {
    let note = event.said.note.as_ref().map_or(String::new(), |note| format!(", {note}"));
    Happened::new(format!("{}{note}", event.said.event.sentence()), event.said.date)
}
