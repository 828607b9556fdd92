//! Checks what may be entered in a register.

use super::history::{Entered, History};
use super::statement::{CalibrationEntry, CheckEntry, Event, EventKind, Statement, Withdrawal};
use super::{changes, check_same_pair};
use crate::files::register::Digest;
use crate::numeric::calendar::Day;
use crate::pair::{Bench, Conditions};
use crate::questions::calibrate::drift::{Side, drift};
use crate::questions::calibrate::fit::{Fit, Residual};
use crate::questions::calibrate::{
    AsFound, Calibration, ChangedSince, Condition, FoundToNow, Happened, NoAsFound, kept_line,
};
#[cfg(feature = "paper")]
use crate::questions::calibrate::{Change, EndedBeforeIssue};
use crate::{Error, Result};

/// Years that the days of an entry may lie in. Any other is a slip.
const YEARS: std::ops::RangeInclusive<i32> = 1950..=2100;

/// The entry of a calibration, checked against what the register holds.
///
/// # Errors
/// It has no date, or one outside the years 1950 to 2100; it belongs to another pair; the number of its certificate is
/// taken; it replaces a certificate that the register does not have; its readings are those of another entry whose
/// certificate it does not replace.
pub fn calibration_entry(history: &History, bench: &Bench, record: &Calibration) -> Result<CalibrationEntry> {
    check_same_pair(history, &bench.title, bench.paperwork.serial.as_deref())?;
    let date = record.provenance.date.ok_or_else(|| Error::Usage {
        message: "a calibration is entered with its date".into(),
        hint: Some("say when: --date 2026-03-01".into()),
    })?;
    let issue = &record.issue;
    let mut entry = CalibrationEntry::new(date, kept_line(record)?);
    entry.measured = issue.measured.filter(|measured| *measured != date);
    entry.by = issue.by.clone();
    entry.certificate = issue.certificate.clone();
    entry.replaces = issue.replaces.as_ref().map(|replaced| replaced.certificate.clone());
    entry.because = issue.replaces.as_ref().map(|replaced| replaced.reason.clone());
    entry.condition = issue.condition;
    entry.serial = bench.paperwork.serial.clone();
    entry.readings_sha256 =
        record.inputs.iter().find(|input| input.part == "readings").map(|input| input.sha256.clone());
    entry.values_sha256 = record.fit.as_ref().map(values_sha256);
    entry.in_dispute = record.dispute.is_some();
    let Conditions { place, orientation, .. } = &bench.paperwork.conditions;
    (entry.place, entry.orientation) = (place.clone(), orientation.clone());
    entry.changes = Some(changes(bench));
    check_certificate(history, &entry)?;
    check_readings(history, &entry, record.issue.measured.is_some())?;
    Ok(entry)
}

/// SHA-256 of the values read, whatever their order and file.
fn values_sha256(fit: &Fit) -> String {
    let value =
        |one: &Residual| format!("{:e} {:e} {:e}", one.current_ampere, one.field_tesla, one.position_factor);
    let mut values: Vec<String> = fit.residuals.iter().map(value).collect();
    values.sort();
    Digest::of(values.join("\n").as_bytes()).to_string()
}

/// Takes day of measurement and condition of a re-issue from the certificate that it replaces: the readings were taken
/// once, even if their file was corrected. A day that the issue states itself stays.
///
/// Returns what was taken over if the file of readings is another one, because it may then be wrong.
pub fn take_over_measurement(history: &History, record: &mut Calibration) -> Option<TakenOver> {
    let readings = record.inputs.iter().find(|input| input.part == "readings").map(|input| &input.sha256);
    let (readings, replaced) = readings.zip(record.issue.replaces.as_ref())?;
    let is_replaced = |said: &CalibrationEntry| {
        said.has_certificate(&replaced.certificate) && said.readings_sha256.is_some()
    };
    let before = history.calibrations.iter().find(|entered| is_replaced(&entered.said))?;
    let is_corrected = before.said.readings_sha256.as_ref() != Some(readings);
    let states_the_day = record.issue.measured.is_some();
    record.issue.measured.get_or_insert(before.said.day());
    if before.said.condition == Condition::Left {
        record.issue.condition = Condition::Left;
    }
    (is_corrected && !states_the_day)
        .then(|| TakenOver { measured: before.said.day(), condition: record.issue.condition })
}

/// What is different in a re-issue from the calibration whose certificate it replaces.
#[cfg(feature = "paper")]
pub(super) fn changed_by_reissue(history: &History, entry: &CalibrationEntry) -> Vec<Change> {
    let replaced = entry
        .replaces
        .as_deref()
        .and_then(|number| history.calibrations.iter().find(|entered| entered.said.has_certificate(number)));
    let Some(was) = replaced.map(|entered| &entered.said) else { return Vec::new() };
    let readings = match (&was.readings_sha256, &entry.readings_sha256) {
        (Some(_), None) => Some(Change::NoReadings),
        (was_file, file) if was_file == file || was.has_the_values_of(entry) => None,
        _ if was.values_sha256.is_some() == entry.values_sha256.is_some() => Some(Change::Readings),
        _ => Some(Change::FileOfReadings),
    };
    let [(before, k_before, u_before), (now, k, u)] = [was, entry].map(|said| {
        let slope = &said.line.slope;
        (slope.from, slope.tesla_per_ampere, slope.expanded_uncertainty())
    });
    let line = (before != now).then_some(Change::Line { was: before, is: now });
    let result = ((k_before, u_before) != (k, u)).then_some(Change::Result {
        was_tesla_per_ampere: k_before,
        was_expanded_uncertainty_tesla_per_ampere: u_before,
        is_tesla_per_ampere: k,
        is_expanded_uncertainty_tesla_per_ampere: u,
    });
    [readings, line, result].into_iter().flatten().collect()
}

/// Day and condition of a measurement, from the certificate that is replaced.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub struct TakenOver {
    /// The day.
    pub measured: Day,
    /// The condition.
    pub condition: Condition,
}

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

/// The latest measured calibration whose place a computed line would take. `None` if the line is measured itself.
pub fn measured_before(history: &History, entry: &Statement) -> Option<u64> {
    let Statement::Calibration(entry) = entry else { return None };
    let counted = history.calibrations.iter().filter(|entered| history.counts(entered));
    let mut measured =
        counted.filter(|entered| entered.said.readings_sha256.is_some() && entered.said.day() <= entry.day());
    measured.next_back().filter(|_| entry.readings_sha256.is_none()).map(|entered| entered.number)
}

/// Refuses an entry that contradicts the register.
///
/// # Errors
/// It bears a day outside the years 1950 to 2100, or withdraws what cannot be withdrawn or is withdrawn already; it is a quick
/// check of a file that was entered on that day.
pub fn check_entry(history: &History, statement: &Statement) -> Result<()> {
    statement.days().into_iter().try_for_each(check_day)?;
    if history.calibrations.is_empty() && !matches!(statement, Statement::Calibration(_)) {
        return Err(Error::value_with_hint(
            "a register begins with a calibration, and this one holds none",
            "enter the first with `calibrate SPEC --register FILE --date D`",
        ));
    }
    match statement {
        Statement::Withdrawal(withdrawal) => check_withdrawal(history, withdrawal.withdraws),
        Statement::Check(check) => check_once(history, check),
        _ => Ok(()),
    }
}

/// Refuses a quick check of the same file and day as one before.
fn check_once(history: &History, check: &CheckEntry) -> Result<()> {
    let same = |entered: &&Entered<CheckEntry>| {
        check.measured_sha256.is_some()
            && (entered.said.date, &entered.said.measured_sha256) == (check.date, &check.measured_sha256)
    };
    match history.checks.iter().find(same) {
        None => Ok(()),
        Some(before) => Err(Error::value_with_hint(
            format!(
                "entry {} of the register is the check of this file on {} already",
                before.number, check.date
            ),
            "enter each check once; a second one of a day has a file of its own",
        )),
    }
}

/// Refuses to withdraw what is no calibration, event or quick check, or is withdrawn already.
fn check_withdrawal(history: &History, number: u64) -> Result<()> {
    if let Some(before) = history.withdrawal_of(number) {
        return Err(Error::value(format!("entry {number} is withdrawn already, by entry {}", before.number)));
    }
    let calibrations = history.calibrations.iter().map(|entered| entered.number);
    let events = history.events.iter().map(|entered| entered.number);
    let checks = history.checks.iter().map(|entered| entered.number);
    let mut known: Vec<u64> = calibrations.chain(events).chain(checks).collect();
    known.sort_unstable();
    match known.contains(&number) {
        true => Ok(()),
        false => Err(Error::value_with_hint(
            format!("entry {number} is no calibration, event or quick check of this register"),
            match &known[..] {
                [] => "it has none; a rule holds until the next one".to_owned(),
                some => format!(
                    "these can be withdrawn: {}; a rule holds until the next one",
                    some.iter().map(u64::to_string).collect::<Vec<_>>().join(", ")
                ),
            },
        )),
    }
}

/// The day of the withdrawn entry, if that is later than the withdrawal's own, which means a slip in one of the two.
pub fn withdrawn_before_it_was(history: &History, withdrawal: &Withdrawal) -> Option<Day> {
    let number = withdrawal.withdraws;
    let calibration = history.calibration(number).map(|entered| entered.said.date);
    let check =
        history.checks.iter().find(|entered| entered.number == number).map(|entered| entered.said.date);
    let event =
        history.events.iter().find(|entered| entered.number == number).and_then(|entered| entered.said.date);
    let entered = calibration.or(check).or(event)?;
    withdrawal.date.filter(|date| *date < entered).map(|_| entered)
}

fn check_day(day: Day) -> Result<()> {
    match YEARS.contains(&day.year()) {
        true => Ok(()),
        false => Err(Error::value_with_hint(
            format!("no pair is calibrated on {day}"),
            format!("a register takes days from {} to {}: look at the year", YEARS.start(), YEARS.end()),
        )),
    }
}

/// Refuses readings that another entry already holds. Counted twice, they would make drift and chart look better known
/// than they are. To evaluate the readings again, replace the certificate of the first evaluation.
///
/// Readings of a withdrawn entry may be entered anew, with their day stated if it is not that of the withdrawn one.
fn check_readings(history: &History, entry: &CalibrationEntry, states_the_day: bool) -> Result<()> {
    if entry.readings_sha256.is_none() {
        return Ok(());
    }
    let same = |entered: &&Entered<CalibrationEntry>| entered.said.has_the_file_of(entry);
    let withdrawn =
        history.calibrations.iter().filter(|entered| history.withdrawal_of(entered.number).is_some());
    let other_day =
        |entered: &&Entered<CalibrationEntry>| !states_the_day && entered.said.day() != entry.day();
    if let Some(before) = withdrawn.filter(same).rfind(other_day) {
        return Err(Error::value_with_hint(
            format!(
                "the readings are those of entry {}, which was measured on {}",
                before.number,
                before.said.day()
            ),
            format!("state the day of the readings: --measured-on {}", before.said.day()),
        ));
    }
    let counted = history.calibrations.iter().filter(|entered| history.counts(entered));
    let mut same = counted.filter(same);
    let replaces = |before: &CalibrationEntry| {
        entry.replaces.as_deref().is_some_and(|number| before.has_certificate(number))
    };
    match same.rfind(|entered| !replaces(&entered.said)) {
        None => Ok(()),
        Some(before) => Err(Error::value_with_hint(
            format!(
                "the readings are those of entry {}, calibration of {}",
                before.number,
                before.said.day()
            ),
            "each calibration has readings of its own; to evaluate the same ones anew, replace the certificate: \
             --replaces NUMBER --because REASON",
        )),
    }
}

/// The entry of another day whose readings have exactly the same values, although its file is another.
pub fn same_values_before(history: &History, entry: &CalibrationEntry) -> Option<(u64, Day)> {
    let same = |before: &&Entered<CalibrationEntry>| {
        before.said.day() != entry.day() && before.said.has_the_values_of(entry)
    };
    history.calibrations.iter().rfind(same).map(|before| (before.number, before.said.day()))
}

/// The earlier entry with the same computed line, if it is the last that counts and nothing happened since. The new
/// entry then adds nothing.
pub fn computed_before(history: &History, entry: &Statement) -> Option<u64> {
    let Statement::Calibration(entry) = entry else { return None };
    let counted = |it: &&Entered<CalibrationEntry>| history.counts(it) && it.said.day() <= entry.day();
    let last = history.calibrations.iter().rfind(counted)?;
    let [old, new] = [&last.said.line.slope, &entry.line.slope]
        .map(|slope| (slope.tesla_per_ampere, slope.expanded_uncertainty()));
    let unmeasured = last.said.readings_sha256.is_none() && entry.readings_sha256.is_none();
    let is_replaced = entry.replaces.as_deref().is_some_and(|number| last.said.has_certificate(number));
    let something_since = history.events_since(last, entry.day()).next().is_some();
    (unmeasured && old == new && !is_replaced && !something_since).then_some(last.number)
}

/// Refuses a certificate number that is taken, and one to replace that the register does not have. Case is ignored.
fn check_certificate(history: &History, entry: &CalibrationEntry) -> Result<()> {
    let of_number =
        |number: &str| history.calibrations.iter().find(|entered| entered.said.has_certificate(number));
    if let Some(taken) = entry.certificate.as_deref().and_then(of_number) {
        return Err(Error::value_with_hint(
            format!("entry {} of the register has the certificate number of this one already", taken.number),
            "each certificate has a number of its own, capitals or not: --certificate NUMBER",
        ));
    }
    let Some(replaced) = &entry.replaces else { return Ok(()) };
    let Some(before) = of_number(replaced) else {
        return Err(Error::value_with_hint(
            format!("the register has no certificate `{replaced}` to replace"),
            "`register FILE --json` lists their numbers",
        ));
    };
    if let Some(withdrawal) = history.withdrawal_of(before.number) {
        return Err(Error::value_with_hint(
            format!("the certificate `{replaced}` is withdrawn, by entry {}", withdrawal.number),
            "what is withdrawn is not replaced: enter the readings anew, without --replaces and with the day on which they were taken, \
             --measured-on D",
        ));
    }
    match history.replacement_of(before) {
        Some(number) => Err(Error::value_with_hint(
            format!("the certificate `{replaced}` is replaced already, by that of entry {number}"),
            "replace that one",
        )),
        None => Ok(()),
    }
}
