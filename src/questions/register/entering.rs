//! Enters a calibration in the register: completes its record from the register, and makes the entry.

use super::before_and_after::{changed_since_previous, ended_before_issue, name_as_found};
use super::history::{Entered, History};
use super::next_due;
use super::places::place_contradictions;
use super::rules::{TakenOver, calibration_entry, changed_by_reissue, check_entry, take_over_measurement};
use super::statement::{CalibrationEntry, Statement};
use super::step::hidden_by;
use super::words::{place_warning, rule_sentence, step_sentence};
use crate::Result;
use crate::files::register::{Chain, Digest};
use crate::pair::Bench;
use crate::questions::calibrate::{AgreedDue, Calibration};
use sha2::{Digest as _, Sha256};
use std::path::Path;

/// The bench and the register for its entry. A certificate without a number gets one from the name of the register's file, the
/// number of the entry, and what was calibrated.
#[derive(Clone, Copy, Debug)]
pub struct Entering<'a> {
    /// The bench.
    pub bench: &'a Bench,
    /// The register's file.
    pub register: &'a Path,
}

/// Makes the entry of this number from a calibration, and checks it against the register. Fills in the record what
/// follows from the register: the number of the certificate, what was done to the pair since the previous calibration,
/// when the next one is due, and a step or drift that the line does not show.
///
/// # Errors
/// As [`calibration_entry`] and [`check_entry`].
pub fn statement_of(
    history: &History,
    number: u64,
    entering: &Entering,
    record: &mut Calibration,
) -> Result<(Statement, Option<TakenOver>)> {
    let stem = entering.register.file_stem().unwrap_or_default().to_string_lossy();
    if record.issue.certificate.is_none() {
        record.issue.certificate = Some(unstated_number(&stem, number, record));
    }
    let taken = take_over_measurement(history, record);
    name_as_found(history, record)?;
    record.issue.check(record.provenance.date)?;
    let entry = calibration_entry(history, entering.bench, record)?;
    if let Some(replaced) = &mut record.issue.replaces {
        replaced.changed = changed_by_reissue(history, &entry);
    }
    if let Some(happened) = changed_since_previous(history, record)
        && let Some(drift) = &mut record.drift
    {
        drift.pair_changed(happened);
    }
    [record.issue.ended, record.issue.intercept_ended] = ended_before_issue(history, number, &entry);
    let contradictions = place_contradictions(history, number, &entry);
    record.issue.place_contradictions =
        contradictions.iter().map(|found| place_warning(found).warning).collect();
    // A line that has ended has no day on which the next is due: it is due at once.
    let due = next_due(history, number, &entry).filter(|_| record.issue.ended.is_none());
    record.issue.next_due = due.map(|(due, rule)| {
        let above = rule.drift.and_then(|drift| drift.is_below(&entry.line.slope));
        AgreedDue { date: due.date, rule: rule_sentence(&rule, above) }
    });
    record.issue.hides = hidden_by(history, number, &entry).as_ref().map(step_sentence);
    let statement = Statement::Calibration(Box::new(entry));
    check_entry(history, &statement)?;
    Ok((statement, taken))
}

/// The number of a certificate for which none is stated. Two registers of one name in two folders do not give the same number:
/// it ends with six digits of the digest of the files that were read and of the day.
fn unstated_number(stem: &str, number: u64, record: &Calibration) -> String {
    let mut digest = Sha256::new();
    for input in &record.inputs {
        digest.update(&input.sha256);
    }
    digest.update(record.provenance.date.map_or(String::new(), |date| date.to_string()));
    let digits: String = digest.finalize().iter().take(3).map(|byte| format!("{byte:02x}")).collect();
    format!("{stem}-{number}-{digits}")
}

/// The entry that an earlier run of the same call has made, with its number and digest. The record is then completed as
/// that run did.
///
/// # Errors
/// An entry of the chain cannot be read.
pub fn entered_already(
    chain: &Chain,
    entering: &Entering,
    record: &mut Calibration,
) -> Result<Option<(u64, Digest)>> {
    // A computed line may be entered again, but readings only once.
    let readings =
        record.inputs.iter().find(|input| input.part == "readings").map(|input| input.sha256.clone());
    let Some(readings) = readings else { return Ok(None) };
    let history = History::of(chain)?;
    let same =
        |entered: &&Entered<CalibrationEntry>| entered.said.readings_sha256.as_ref() == Some(&readings);
    for before in history.calibrations.iter().filter(same) {
        let mut again = record.clone();
        let then = History::of(&chain.before(before.number))?;
        // A number that was not stated may have been made by an older rule.
        if again.issue.certificate.is_none() {
            again.issue.certificate = before.said.certificate.clone();
        }
        let Ok((statement, _)) = statement_of(&then, before.number, entering, &mut again) else { continue };
        if statement.content()? == Statement::Calibration(Box::new(before.said.clone())).content()? {
            *record = again;
            return Ok(Some((before.number, before.digest)));
        }
    }
    Ok(None)
}
