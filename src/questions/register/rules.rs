//! Checks what may be entered in a register.

use super::history::{Entered, History};
use super::statement::{CalibrationEntry, CheckEntry, Statement, Withdrawal};
use super::{changes, check_same_pair};
use crate::files::register::Digest;
use crate::numeric::calendar::Day;
use crate::pair::{Bench, Conditions};
#[cfg(feature = "paper")]
use crate::questions::calibrate::Change;
use crate::questions::calibrate::fit::{Fit, Residual};
use crate::questions::calibrate::{Calibration, Condition, kept_line};
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
