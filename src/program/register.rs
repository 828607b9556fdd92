//! `register`: the calibrations of a pair, the events between them, and the calibration in force.

use super::export::{DateArgs, NumberFormatArgs};
use super::output;
use super::output::{Files, FolderArgs, naming};
use super::quantity::quantity_within;
use super::today::{check_entered_day, is_still_to_come};
use clap::ValueEnum;
use clap::builder::PossibleValue;
use coilwright::files::register::{Appended, Chain, End, Register, is_in_use, read};
use coilwright::numeric::calendar::Day;
use coilwright::questions::register::files::files;
use coilwright::questions::register::{
    DriftRule, Event, EventKind, History, Interval, Request, RuleEntry, Statement, Withdrawal, check_entry,
    overview, withdrawn_before_it_was, words,
};
use coilwright::units::Dimension;
use coilwright::{Error, Result};
use std::io::{IsTerminal, Write};
use std::path::{Path, PathBuf};
use std::sync::LazyLock;

/// The arguments of `register`.
#[derive(clap::Args)]
#[command(group = clap::ArgGroup::new("entry").args(["withdraw", "event", "due_every"]))]
#[command(mut_arg("out", |out| naming(out, &[files().help()])))]
pub struct RegisterArgs {
    /// The register; `calibrate --register FILE` makes it
    register: PathBuf,
    /// Withdraw this entry, a calibration, an event or a quick check; needs --reason and --by
    #[arg(long, value_name = "N", requires = "reason", requires = "by")]
    withdraw: Option<u64>,
    /// Why it is withdrawn
    #[arg(long, value_name = "REASON", requires = "withdraw")]
    reason: Option<String>,
    /// Enter an event: something that happened to the pair, the bench or its meters
    #[arg(long, value_name = "EVENT")]
    event: Option<Happened>,
    /// More about the event: where to, which coil, which meter
    #[arg(long, value_name = "TEXT", requires = "event")]
    note: Option<String>,
    /// Enter the longest time between two calibrations, such as "12 months"
    #[arg(long, value_name = "TIME", value_parser = Interval::parse)]
    due_every: Option<Interval>,
    /// Calibrate sooner than by --due-every, once drift may have used this fraction of --allowed-error
    #[arg(long, value_name = "FRACTION", requires = "due_every", requires = "allowed_error",
        value_parser = quantity_within(Dimension::Fraction, 1e-3, 1.0), allow_hyphen_values = true)]
    due_by_drift: Option<f64>,
    /// Largest error of the slope that the owner allows, for --due-by-drift
    #[arg(long, value_name = "FRACTION", requires = "due_by_drift",
        value_parser = quantity_within(Dimension::Fraction, 1e-6, 1.0), allow_hyphen_values = true)]
    allowed_error: Option<f64>,
    /// Who enters it
    #[arg(long, value_name = "NAME", requires = "entry")]
    by: Option<String>,
    /// Enter a --date that is still to come by this machine's clock, because the clock is wrong
    #[arg(long, requires = "entry")]
    later_than_today: bool,
    /// Fail unless an entry has this digest, as a certificate prints it
    #[arg(long, value_name = "DIGEST")]
    expect: Option<String>,
    #[command(flatten)]
    folder: FolderArgs,
    #[command(flatten)]
    numbers: NumberFormatArgs,
    #[command(flatten)]
    date: DateArgs,
    /// Print one JSON document
    #[arg(long)]
    json: bool,
}

/// An event that can be entered.
#[derive(Clone, Copy, Debug)]
struct Happened(EventKind);

impl ValueEnum for Happened {
    fn value_variants<'a>() -> &'a [Self] {
        static ALL: LazyLock<[Happened; EventKind::ALL.len()]> =
            LazyLock::new(|| EventKind::ALL.map(Happened));
        &*ALL
    }

    fn to_possible_value(&self) -> Option<PossibleValue> {
        let Self(kind) = self;
        let (first, rest) = kind.sentence().split_at(1);
        let help = format!("{}{rest}: {}", first.to_uppercase(), kind.consequence());
        Some(PossibleValue::new(kind.key()).help(help))
    }
}

/// Makes the entry, if there is one; otherwise shows the register.
pub fn run(arguments: &RegisterArgs) -> Result<()> {
    let day = arguments.date.day()?;
    if let Some(statement) = entry(arguments, day)? {
        check_entered_day(day, arguments.later_than_today)?;
        return enter(arguments, &statement);
    }
    say_what_is_waited_for(&arguments.register);
    let chain = read(&arguments.register)?;
    warn_of_torn(&arguments.register, chain.end);
    check_shown_day(&chain, day)?;
    let request = Request { on: day, expected: arguments.expect.clone() };
    let files = Files {
        table: files(),
        asked: &(),
        inputs: &[arguments.register.as_path()],
        format: arguments.numbers.format(),
    };
    let (record, written) = arguments.folder.answer(files, || overview(&chain, &request))?;
    match arguments.json {
        true => output::print_json(&record)?,
        false => output::print(&(words::text(&record) + &output::written_lines(&written)))?,
    }
    words::verdict(&record)
}

/// Refuses to give states for the day of an entry that is still to come: nobody asked for that day.
fn check_shown_day(chain: &Chain, asked: Option<Day>) -> Result<()> {
    let last = History::of(chain)?.last_dated().filter(|_| asked.is_none());
    let Some((number, day)) = last else { return Ok(()) };
    match is_still_to_come(day)? {
        false => Ok(()),
        true => Err(Error::value_with_hint(
            format!(
                "entry {number} of the register is of {day}, still to come by this machine's clock: states would be those of \
                 that day"
            ),
            format!(
                "say for which day: --date 2026-03-01; if the entry's day is a slip: register FILE --withdraw {number} --reason \
                 REASON --by NAME"
            ),
        )),
    }
}

/// The entry to make, if any.
fn entry(arguments: &RegisterArgs, day: Option<Day>) -> Result<Option<Statement>> {
    let by = || arguments.by.clone();
    if let (Some(withdraws), Some(reason), Some(by)) = (arguments.withdraw, &arguments.reason, by()) {
        return Ok(Some(Statement::Withdrawal(Withdrawal::new(
            withdraws,
            filled("--reason", reason)?,
            filled("--by", &by)?,
            day,
        ))));
    }
    if let Some(Happened(kind)) = arguments.event {
        return Ok(Some(Statement::Event(Event::new(kind, arguments.note.clone(), by(), day))));
    }
    let rule = arguments.due_every.map(|every| {
        let drift = arguments
            .allowed_error
            .zip(arguments.due_by_drift)
            .map(|(allowed, part)| DriftRule::new(allowed, part));
        RuleEntry::new(every, drift, by(), day)
    });
    Ok(rule.map(Statement::Rule))
}

fn filled<'a>(argument: &str, text: &'a str) -> Result<&'a str> {
    match text.trim() {
        "" => Err(Error::Usage {
            message: format!("{argument} is empty"),
            hint: Some("write it in words".into()),
        }),
        text => Ok(text),
    }
}

fn enter(arguments: &RegisterArgs, statement: &Statement) -> Result<()> {
    if arguments.expect.is_some() || arguments.folder.out.is_some() {
        return Err(Error::Usage {
            message: "--expect and --out are for showing a register, not for an entry".into(),
            hint: Some("make the entry first, then show the register: `register FILE --out DIR`".into()),
        });
    }
    // A register begins with a calibration.
    say_what_is_waited_for(&arguments.register);
    let register = Register::open_existing(&arguments.register)?;
    let history = History::of(register.chain())?;
    check_entry(&history, statement)?;
    if let Statement::Withdrawal(withdrawal) = statement
        && let Some(day) = withdrawn_before_it_was(&history, withdrawal)
    {
        output::warn(
            &format!("entry {} is of {day}, which is later than its withdrawal", withdrawal.withdraws),
            "if that is not the slip that is withdrawn, look at --date and at this machine's clock",
        );
    }
    if let Statement::Rule(rule) = statement
        && let Some(later) = history.last_rule()
        && let (Some(day), Some(of_later)) = (rule.date, history.day_of_rule(later).0)
        && day < of_later
    {
        output::warn(
            &format!(
                "the rule of entry {} is of {of_later}, later than {day}: it stays in force",
                later.number
            ),
            "a rule holds from its own day until that of the next: look at --date",
        );
    }
    let appended = append(register, statement)?;
    match arguments.json {
        true => output::print_json(&overview(
            &read(&arguments.register)?,
            &Request { on: arguments.date.day()?, expected: None },
        )?),
        false => output::print(&words::appended(appended.number, appended.digest)),
    }
}

/// Appends an entry, and reports a torn line that was moved out of its way.
pub fn append(register: Register, statement: &Statement) -> Result<Appended> {
    let appended = register.append(&statement.content()?)?;
    if let Some(torn) = &appended.torn {
        output::warn(
            &format!(
                "the register ended in a torn line of {} bytes, which is no entry; it was moved to {}",
                torn.bytes,
                coilwright::error::shown(&torn.path)
            ),
            "a run was killed or the power failed while it wrote: enter again what is missing",
        );
    }
    Ok(appended)
}

/// Says on a terminal that a register is waited for, where another program has it locked.
pub fn say_what_is_waited_for(path: &Path) {
    if is_in_use(path) && std::io::stderr().is_terminal() {
        let path = coilwright::error::shown(path);
        // If standard error itself is closed, there is nobody to tell.
        drop(writeln!(std::io::stderr(), "waiting up to 30 s for another program that has {path} locked"));
    }
}

/// Warns that a register ends in a torn line.
pub fn warn_of_torn(path: &Path, end: End) {
    if let End::Torn { bytes } = end {
        output::warn(
            &format!(
                "{}: the last {bytes} bytes are a torn line and no entry",
                coilwright::error::shown(path)
            ),
            "the next entry moves them to a file of their own; look there whether something must be entered again",
        );
    }
}
