//! What may be entered in a register, and what may not.

use super::history::History;
use super::statement::{CalibrationEntry, Statement};
use super::{changes, check_same_pair};
use crate::numeric::calendar::Day;
use crate::pair::Bench;
use crate::questions::calibrate::{AsFound, Calibration, Condition, check_date, kept_line};
use crate::{Error, Result};

/// Years that an entry may bear; any other is a slip.
const YEARS: std::ops::RangeInclusive<i32> = 1950..=2100;

/// The entry of a calibration, checked against what the register holds.
///
/// # Errors
/// It has no date, or one outside the years 1950 to 2100; it belongs to another pair; the number of its certificate is taken; it replaces a
/// certificate that the register does not have; its readings are those of another entry whose certificate it does not replace.
pub fn calibration_entry(history: &History, bench: &Bench, record: &Calibration) -> Result<CalibrationEntry> {
    check_same_pair(history, &bench.title, bench.paperwork.serial.as_deref())?;
    let date = record.provenance.date.as_deref().ok_or_else(|| Error::Usage {
        message: "a calibration is entered with its date".into(),
        hint: Some("say when: --date 2026-03-01".into()),
    })?;
    let date = check_date(date)?;
    let issue = &record.issue;
    let mut entry = CalibrationEntry::new(date, kept_line(record)?);
    entry.measured = issue.measured.filter(|measured| *measured != date);
    entry.by = issue.by.clone();
    entry.certificate = issue.certificate.clone();
    entry.replaces = issue.replaces.as_ref().map(|replaced| replaced.certificate.clone());
    entry.condition = issue.condition;
    entry.serial = bench.paperwork.serial.clone();
    entry.readings_sha256 =
        record.inputs.iter().find(|input| input.part == "readings").map(|input| input.sha256.clone());
    entry.in_dispute = record.dispute.is_some();
    entry.changes = Some(changes(bench));
    check_certificate(history, &entry)?;
    check_readings(history, &entry)?;
    Ok(entry)
}

/// Takes day of measurement and condition of a re-issue from the certificate that it replaces, where both evaluate the same
/// readings: they were taken once. A day that the issue states itself stays.
pub fn take_over_measurement(history: &History, record: &mut Calibration) {
    let readings = record.inputs.iter().find(|input| input.part == "readings").map(|input| &input.sha256);
    let Some((readings, replaced)) = readings.zip(record.issue.replaces.as_ref()) else { return };
    let is_replaced = |said: &CalibrationEntry| {
        said.has_certificate(&replaced.certificate) && said.readings_sha256.as_ref() == Some(readings)
    };
    if let Some(before) = history.calibrations.iter().find(|entered| is_replaced(&entered.said)) {
        record.issue.measured.get_or_insert(before.said.day());
        if before.said.condition == Condition::Left {
            record.issue.condition = Condition::Left;
        }
    }
}

/// Names the certificate of the register's last result as found on one of a pair as left, where it names none itself.
///
/// # Errors
/// The certificate that it names is not in the register.
pub fn name_as_found(history: &History, record: &mut Calibration) -> Result<()> {
    if record.issue.condition != Condition::Left {
        return Ok(());
    }
    let day = match (record.issue.measured, record.provenance.date.as_deref()) {
        (Some(measured), _) => Some(measured),
        (None, date) => date.map(check_date).transpose()?,
    };
    let is_before = |said: &CalibrationEntry| {
        said.condition == Condition::Found
            && said.readings_sha256.is_some()
            && day.is_none_or(|day| said.day() <= day)
    };
    let mut found = (history.calibrations.iter().rev())
        .filter(|entered| history.counts(entered) && is_before(&entered.said))
        .filter_map(|entered| Some((entered.said.certificate.as_ref()?, entered.said.day())));
    record.issue.as_found = match record.issue.as_found.take() {
        None => found
            .next()
            .map(|(certificate, day)| AsFound { certificate: certificate.clone(), measured: Some(day) }),
        Some(named) => {
            let known = history.calibrations.iter().find(|it| it.said.has_certificate(&named.certificate));
            let known = known.ok_or_else(|| {
                Error::value_with_hint(
                    format!("the register has no certificate `{}` of the result as found", named.certificate),
                    "without --as-found the register's last result as found is named",
                )
            })?;
            Some(AsFound { measured: Some(known.said.day()), ..named })
        }
    };
    Ok(())
}

/// The latest measured calibration that a computed line would take the place of; `None` if the line is measured itself.
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
/// It bears a day outside the years 1950 to 2100, or withdraws an entry that is no calibration or is withdrawn already.
pub fn check_entry(history: &History, statement: &Statement) -> Result<()> {
    statement.days().into_iter().try_for_each(check_day)?;
    let Statement::Withdrawal(withdrawal) = statement else { return Ok(()) };
    let number = withdrawal.withdraws;
    if let Some(before) = history.withdrawal_of(number) {
        return Err(Error::value(format!("entry {number} is withdrawn already, by entry {}", before.number)));
    }
    match history.calibration(number) {
        Some(_) => Ok(()),
        None => Err(Error::value_with_hint(
            format!("entry {number} is no calibration of this register"),
            match &history.calibrations[..] {
                [] => "it has none".to_owned(),
                some => format!(
                    "its calibrations: {}",
                    some.iter().map(|entered| entered.number.to_string()).collect::<Vec<_>>().join(", ")
                ),
            },
        )),
    }
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

/// Refuses readings that another entry already holds: counted twice, they would make drift and chart look better known than
/// they are. Another evaluation of them replaces the certificate of the first.
fn check_readings(history: &History, entry: &CalibrationEntry) -> Result<()> {
    let Some(readings) = &entry.readings_sha256 else { return Ok(()) };
    let counted = history.calibrations.iter().filter(|entered| history.counts(entered));
    let mut same = counted.filter(|entered| entered.said.readings_sha256.as_ref() == Some(readings));
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

/// Refuses the number of a certificate that is taken, and one to replace that the register does not have; case is ignored.
fn check_certificate(history: &History, entry: &CalibrationEntry) -> Result<()> {
    let of_number =
        |number: &str| history.calibrations.iter().find(|entered| entered.said.has_certificate(number));
    if let Some(taken) = entry.certificate.as_deref().and_then(of_number) {
        return Err(Error::value_with_hint(
            format!("entry {} of the register has the certificate number of this one already", taken.number),
            "each certificate has a number of its own, capitals or not: --certificate NUMBER",
        ));
    }
    match &entry.replaces {
        Some(replaced) if of_number(replaced).is_none() => Err(Error::value_with_hint(
            format!("the register has no certificate `{replaced}` to replace"),
            "`register FILE --json` lists their numbers",
        )),
        _ => Ok(()),
    }
}
