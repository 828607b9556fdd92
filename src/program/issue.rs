//! The issue of a calibration, and its entry in the register.

use super::export::day_of;
use super::output;
use super::quantity::quantity_within;
use super::register::{append, say_what_is_waited_for};
use super::today::check_entered_day;
use coilwright::Result;
use coilwright::files::out::folder::OutputFolder;
use coilwright::files::register::{Digest, Register};
use coilwright::numeric::calendar::Day;
use coilwright::questions::calibrate::{
    AdoptedFrom, AsFound, Calibration, Condition, Issue, Registered, Replaced,
};
use coilwright::questions::register::words::{
    appended, entered_before, entered_by, place_warning, step_sentence,
};
use coilwright::questions::register::{
    CalibrationEntry, Entering, History, Statement, Step, TakenOver, computed_before, entered_already,
    hidden_by, measured_before, place_contradictions, same_values_before, statement_of, step,
};
use coilwright::units::Dimension;
use std::path::PathBuf;

/// Flatten it into the arguments of `calibrate`.
#[derive(clap::Args)]
pub struct IssueArgs {
    /// Enter the calibration in this register, made if it is missing; needs --date
    #[arg(long, value_name = "FILE", requires = "date")]
    register: Option<PathBuf>,
    /// Enter a --date that is still to come by this machine's clock, because the clock is wrong
    #[arg(long, requires = "register")]
    later_than_today: bool,
    /// Who calibrated
    #[arg(long, value_name = "NAME")]
    by: Option<String>,
    /// Day of the measurement, if it differs from --date, the day of issue
    #[arg(long, value_name = "YYYY-MM-DD", requires = "date")]
    measured_on: Option<String>,
    /// The pair was measured as left after an adjustment; by default as found
    #[arg(long)]
    as_left: bool,
    /// Number of the certificate of the result as found; by default the register's last one
    #[arg(long, value_name = "NUMBER", requires = "as_left")]
    as_found: Option<String>,
    /// Number of the certificate; by default from the register's name, the entry's number and the digest of what was read
    #[arg(long, value_name = "NUMBER")]
    certificate: Option<String>,
    /// Number of the certificate that this one corrects and replaces; needs --because. The day of measurement and as found
    /// or as left are taken from the register
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
    /// The register, if given.
    pub fn register(&self) -> Option<&PathBuf> {
        self.register.as_ref()
    }

    /// Refuses to enter a day that is still to come.
    ///
    /// # Errors
    /// As [`check_entered_day`].
    pub fn check_day(&self, date: Option<Day>) -> Result<()> {
        check_entered_day(date.filter(|_| self.register.is_some()), self.later_than_today)
    }

    /// The issue that the arguments state.
    pub fn issue(&self, date: Option<Day>) -> Result<Issue> {
        let replaces = self.replaces.clone().zip(self.because.clone());
        let mut issue = Issue::default();
        issue.certificate = self.certificate.clone();
        issue.by = self.by.clone();
        issue.measured = self.measured_on.as_deref().map(day_of).transpose()?;
        issue.condition = if self.as_left { Condition::Left } else { Condition::Found };
        issue.as_found = self.as_found.clone().map(AsFound::new);
        issue.replaces = replaces.map(|(certificate, reason)| Replaced::new(certificate, reason));
        issue.allowed_error_fraction = self.conformity;
        issue.check(date)?;
        Ok(issue)
    }
}

/// Warns of what is odd about a new entry.
fn warn_of_entry(history: &History, number: u64, statement: &Statement, taken: Option<&TakenOver>) {
    if let Some(taken) = taken {
        let condition = if taken.condition == Condition::Left { ", as left" } else { "" };
        output::warn(
            &format!(
                "day of measurement {}{condition}: taken from the certificate that is replaced, whose readings are others",
                taken.measured
            ),
            "if these were taken on another day, say so with --measured-on; a new measurement replaces no certificate",
        );
    }
    let Statement::Calibration(entry) = statement else { return };
    if let Some((before, day)) = same_values_before(history, entry) {
        output::warn(
            &format!("the readings show the values of entry {before}, of {day}, digit for digit"),
            "a copy of an old file is no new measurement: if it is one, withdraw this entry and measure",
        );
    }
    if let Some(last) = history.last_day().filter(|last| entry.date < *last) {
        output::warn(
            &format!(
                "the date {} is earlier than the register's last day, {last}: the calibration stands among the earlier ones",
                entry.date
            ),
            "if that is not meant, look at --date and at this machine's clock, and withdraw the entry",
        );
    }
    for contradiction in place_contradictions(history, number, entry) {
        let told = place_warning(&contradiction);
        output::warn(&told.warning, told.hint);
    }
    let at_once = step(history, entry);
    if let Some(step) = at_once.or_else(|| hidden_by(history, number, entry)) {
        warn_of_step(&step, entry);
    }
}

/// Warns of a step; one that the line hides, because it rests on the geometry, is to be looked into first.
fn warn_of_step(step: &Step, entry: &CalibrationEntry) {
    let hint = match entry.line.slope.from == AdoptedFrom::Fit || !step.is_clear() {
        true => "find the cause, and enter in the register what happened, with its day (register --event)",
        false => {
            "the line rests on the geometry and hardly follows that: find the cause and enter it in the register (register --event), or \
             adopt the readings alone (--adopt fit)"
        }
    };
    output::warn(&step_sentence(step), hint);
}

/// Enters a calibration in the register: the files are filled first and appear last, so that a certificate is never
/// without its entry, and prints the entry's digest. Returns what to say of it.
pub fn enter(
    entering: Entering,
    record: &mut Calibration,
    fill: impl FnOnce(&Calibration) -> Result<Option<OutputFolder>>,
) -> Result<String> {
    say_what_is_waited_for(entering.register);
    let register = Register::open(entering.register)?;
    let history = History::of(register.chain())?;
    let name = entering.register.file_name().unwrap_or_default().to_string_lossy().into_owned();
    let registered = |entry: u64, digest: Digest| Registered::new(entry, digest.to_string(), name);
    if let Some((entry, digest)) = entered_already(register.chain(), &entering, record)? {
        record.issue.registered = Some(registered(entry, digest));
        fill(record)?.map(OutputFolder::finish).transpose()?;
        return Ok(format!("\n{}", entered_before(entry, digest)));
    }
    let (statement, taken) = statement_of(&history, register.next_number(), &entering, record)?;
    warn_of_entry(&history, register.next_number(), &statement, taken.as_ref());
    if let Some(none) = &record.issue.no_as_found {
        output::warn(
            &format!("the certificate names no result as found: {}", none.sentence()),
            "measure a pair as it is found before it is adjusted or repaired: a certificate gives the results before and after, \
             where both exist (ISO/IEC 17025:2017, 7.8.4.1 d)",
        );
    }
    let (entry, digest) = register.announced(&statement.content()?);
    record.issue.registered = Some(registered(entry, digest));
    let enter = || append(register, &statement);
    let files = match fill(record)? {
        Some(files) => files.finish_after(enter)?.1,
        None => {
            enter()?;
            Ok(Vec::new())
        }
    };
    if let Some(before) = computed_before(&history, &statement) {
        output::warn(
            &format!("entry {entry} is the computed line of entry {before} once more: nothing was measured"),
            "calibrate with --readings; nothing else makes the register tell more",
        );
    }
    if let Some(measured) = measured_before(&history, &statement) {
        output::warn(
            &format!(
                "no readings: entry {entry}, a computed line, takes the place of entry {measured}, which was measured"
            ),
            &format!(
                "if that is not meant: register FILE --withdraw {entry} --reason REASON --by NAME, then calibrate with --readings"
            ),
        );
    }
    if let Err(error) = files {
        output::warn(
            &format!(
                "the calibration is entry {entry} of the register, but its files could not be put in their place"
            ),
            "say the same call again: it finds its entry and writes the files",
        );
        return Err(error);
    }
    Ok(format!("\n{}{}", appended(entry, digest), entered_by(record.issue.by.as_deref())))
}
