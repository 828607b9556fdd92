//! What a calibration is issued with, and its entry in the register.

use super::output;
use super::quantity::quantity_within;
use super::register::append;
use coilwright::files::out::folder::OutputFolder;
use coilwright::files::register::Register;
use coilwright::numeric::calendar::Day;
use coilwright::pair::Bench;
use coilwright::questions::calibrate::{
    AgreedDue, Calibration, Condition, Issue, Registered, Replaced, check_date, kept_line,
};
use coilwright::questions::register::words::{appended, rule_sentence};
use coilwright::questions::register::{
    CalibrationEntry, History, Statement, changes, check_same_pair, next_due,
};
use coilwright::units::Dimension;
use coilwright::{Error, Result};
use std::path::{Path, PathBuf};

/// Flatten it into the arguments of `calibrate`.
#[derive(clap::Args)]
pub struct IssueArgs {
    /// Enter the calibration in this register, made if it is missing; needs --date
    #[arg(long, value_name = "FILE", requires = "date")]
    register: Option<PathBuf>,
    /// Who calibrated
    #[arg(long, value_name = "NAME")]
    by: Option<String>,
    /// Day of the measurement, where it is not that of --date, the day of issue
    #[arg(long, value_name = "YYYY-MM-DD")]
    measured_on: Option<String>,
    /// The pair was measured as left after an adjustment; by default as found
    #[arg(long)]
    as_left: bool,
    /// Number of the certificate; by default the register's name and the entry's number
    #[arg(long, value_name = "NUMBER")]
    certificate: Option<String>,
    /// Number of the certificate that this one corrects and replaces; needs --because
    #[arg(long, value_name = "NUMBER", requires = "because")]
    replaces: Option<String>,
    /// What is different from the certificate replaced, and why
    #[arg(long, value_name = "REASON", requires = "replaces")]
    because: Option<String>,
    /// State on the certificate whether the slope is within this fraction of the computed one, guard band U
    #[arg(long, value_name = "FRACTION",
        value_parser = quantity_within(Dimension::Fraction, 1e-6, 1.0), allow_hyphen_values = true)]
    conformity: Option<f64>,
}

impl IssueArgs {
    /// The register named, if one is.
    pub fn register(&self) -> Option<&PathBuf> {
        self.register.as_ref()
    }

    /// What they state.
    pub fn issue(&self) -> Result<Issue> {
        let measured = self.measured_on.as_deref().map(check_date).transpose()?;
        let replaces = self.replaces.clone().zip(self.because.clone());
        Ok(Issue {
            certificate: self.certificate.clone(),
            by: self.by.clone(),
            measured: measured.as_deref().and_then(Day::parse),
            condition: if self.as_left { Condition::Left } else { Condition::Found },
            replaces: replaces.map(|(certificate, reason)| Replaced { certificate, reason }),
            allowed_error_fraction: self.conformity,
            registered: None,
            next_due: None,
        })
    }
}

/// What is entered where.
pub struct Entering<'a> {
    pub bench: &'a Bench,
    pub register: &'a Path,
}

/// Enters a calibration in the register: the files are filled first and appear last, so that a certificate is never
/// without its entry, and prints the entry's digest. Returns what to say of it.
pub fn enter(
    entering: Entering,
    record: &mut Calibration,
    fill: impl FnOnce(&Calibration) -> Result<Option<OutputFolder>>,
) -> Result<String> {
    let register = Register::open(entering.register)?;
    let history = History::of(register.chain())?;
    let serial = entering.bench.paperwork.serial.as_deref();
    check_same_pair(&history, &entering.bench.title, serial)?;
    let number = register.next_number();
    let stem = entering.register.file_stem().unwrap_or_default().to_string_lossy();
    record.issue.certificate.get_or_insert_with(|| format!("{stem}-{number}"));
    let entry = entry_of(entering.bench, record)?;
    check_certificate(&history, &entry)?;
    record.issue.next_due = next_due(&history, number, &entry)
        .map(|(due, rule)| AgreedDue { date: due.date, rule: rule_sentence(&rule) });
    let statement = Statement::Calibration(Box::new(entry));
    let (entry, digest) = register.announced(&statement.content()?);
    let name = entering.register.file_name().unwrap_or_default().to_string_lossy().into_owned();
    record.issue.registered = Some(Registered { entry, digest: digest.to_string(), register: name });
    let files = fill(record)?;
    append(register, &statement)?;
    if let Some(Err(error)) = files.map(OutputFolder::finish) {
        output::warn(
            &format!(
                "the calibration is entry {entry} of the register, but its files could not be put in their place"
            ),
            "write them by the same call without --register",
        );
        return Err(error);
    }
    Ok(format!("\n{}", appended(entry, digest)))
}

/// The entry of a calibration.
fn entry_of(bench: &Bench, record: &Calibration) -> Result<CalibrationEntry> {
    let date = record.provenance.date.as_deref().and_then(Day::parse).ok_or_else(|| Error::Usage {
        message: "a calibration is entered with its date".into(),
        hint: Some("say when: --date 2026-03-01".into()),
    })?;
    let issue = &record.issue;
    if let Some(measured) = issue.measured.filter(|measured| *measured > date) {
        return Err(Error::value_with_hint(
            format!("the measurement, on {measured}, would come after the issue, on {date}"),
            "--measured-on is the day of the readings, --date that of the certificate",
        ));
    }
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
    Ok(entry)
}

/// Refuses a certificate's number that the register has, and one to replace that it has not.
fn check_certificate(history: &History, entry: &CalibrationEntry) -> Result<()> {
    let of = |number: &Option<String>| {
        let number = number.as_deref()?;
        history.calibrations.iter().find(|entered| entered.said.certificate.as_deref() == Some(number))
    };
    if let Some(taken) = of(&entry.certificate) {
        return Err(Error::value_with_hint(
            format!("entry {} of the register has the certificate number of this one already", taken.number),
            "each certificate has a number of its own: --certificate NUMBER",
        ));
    }
    match &entry.replaces {
        Some(replaced) if of(&entry.replaces).is_none() => Err(Error::value_with_hint(
            format!("the register has no certificate `{replaced}` to replace"),
            "`register FILE --json` lists their numbers",
        )),
        _ => Ok(()),
    }
}
