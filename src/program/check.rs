//! `check`: is this file right?

use super::decision::DecisionArgs;
use super::export::day_of;
use super::output;
use super::quantity::read_spec;
use super::register::{append, say_what_is_waited_for};
use super::today::check_entered_day;
use coilwright::error::ProblemRecord;
use coilwright::files::register::Register;
use coilwright::files::spec;
use coilwright::files::spec::{CheckedBench, CheckedDocument};
use coilwright::judgement::limit::Acceptance;
use coilwright::pair::Bench;
use coilwright::questions::calibrate::InputFile;
use coilwright::questions::check as lesson_check;
use coilwright::questions::check::{LessonCheck, Quantity, Request, Subject, words};
use coilwright::questions::register::words::{appended, check_against_line};
use coilwright::questions::register::{
    CheckEntry, History, Statement, against_line_in_force, check_entry, check_same_pair,
};
use coilwright::{Error, Result};
use serde::Serialize;
use std::path::{Path, PathBuf};

/// The arguments of `check`.
#[derive(clap::Args)]
pub struct CheckArgs {
    /// The spec file; without --measured, also a file of wishes or measurements. Use `compare` for an unfinished quote
    pub spec: PathBuf,
    /// Measurements to compare with the spec, before a lesson or on delivery: JSON, or a table with name, value,
    /// uncertainty. Exit status 0 for pass and undecided, 1 for fail (`accept` returns 1 for undecided too)
    #[arg(long, value_name = "MEASURED")]
    pub measured: Option<PathBuf>,
    /// Enter the result in this register, between the calibrations; needs --date
    #[arg(long, value_name = "FILE", requires = "measured", requires = "date")]
    register: Option<PathBuf>,
    /// The meters are those of the calibration in force, whose errors then cancel against its line
    #[arg(long, requires = "register")]
    same_meters: bool,
    /// Enter a --date that is still to come by this machine's clock, because the clock is wrong
    #[arg(long, requires = "register")]
    later_than_today: bool,
    /// Who measured, for --register
    #[arg(long, value_name = "NAME", requires = "register")]
    by: Option<String>,
    /// Day of the measurement, as 2026-03-01
    #[arg(long, value_name = "YYYY-MM-DD", requires = "measured")]
    date: Option<String>,
    #[command(flatten)]
    decision: DecisionArgs,
    /// Print one JSON document
    #[arg(long)]
    pub json: bool,
}

/// The record for scripts: `ok`, with title and digest if it is, and every problem with its place.
#[derive(Serialize)]
struct CheckRecord {
    ok: bool,
    title: Option<String>,
    digest: Option<String>,
    problems: Vec<ProblemRecord>,
}

/// Reports that a file is right, with its warnings; a file with errors is an error.
pub fn run(arguments: &CheckArgs) -> Result<()> {
    if let Some(measured) = &arguments.measured {
        return before_a_lesson(arguments, measured);
    }
    let checked = spec::check_document(&arguments.spec);
    if let (true, Err(Error::Diagnosed { diagnosis, .. })) = (arguments.json, &checked) {
        let problems = diagnosis.records();
        output::print_json(&CheckRecord { ok: false, title: None, digest: None, problems })?;
    }
    match checked? {
        CheckedDocument::Spec(checked) => of_spec(arguments, *checked),
        CheckedDocument::Wishes(wanted) => right(arguments, "a file of wishes", wanted.title, wanted.digest),
        CheckedDocument::Measurements(measured) => {
            right(arguments, "a file of measurements", measured.title, measured.digest)
        }
    }
}

fn of_spec(arguments: &CheckArgs, checked: CheckedBench) -> Result<()> {
    let CheckedBench { bench, warnings } = checked;
    let records = warnings.records();
    if arguments.json {
        return output::print_json(&CheckRecord {
            ok: true,
            title: Some(bench.title),
            digest: Some(bench.digest),
            problems: records,
        });
    }
    let count = match records.len() {
        0 => "no warnings".to_owned(),
        1 => "1 warning".to_owned(),
        more => format!("{more} warnings"),
    };
    if !records.is_empty() {
        output::report_warnings(&warnings);
    }
    output::print(&format!(
        "{}: ok, {count}\ntitle: {}\ndigest: {}\n",
        arguments.spec.display(),
        bench.title,
        bench.digest
    ))
}

/// Reports that a file of another kind is right.
fn right(arguments: &CheckArgs, what: &str, title: String, digest: String) -> Result<()> {
    if arguments.json {
        let (title, digest) = (Some(title), Some(digest));
        return output::print_json(&CheckRecord { ok: true, title, digest, problems: Vec::new() });
    }
    output::print(&format!("{}: ok, {what}\ntitle: {title}\ndigest: {digest}\n", arguments.spec.display()))
}

/// Compares measurements with the spec, as built. A failure is an error after the page is printed.
fn before_a_lesson(arguments: &CheckArgs, measured: &Path) -> Result<()> {
    let date = arguments.date.as_deref().map(day_of).transpose()?;
    check_entered_day(date.filter(|_| arguments.register.is_some()), arguments.later_than_today)?;
    let bench = read_spec(&arguments.spec)?;
    let digest = InputFile::of("measured", measured)?.map(|file| file.sha256);
    let measured = spec::read_measured(measured)?;
    let request = Request { supplier: None, decision: arguments.decision.rule(), date };
    let record = lesson_check::lesson_check(&bench, &measured, &request)?;
    let entered = (arguments.register.as_deref())
        .map(|register| enter(arguments, register, &bench, &record, digest.clone()));
    let entered = entered.transpose()?.unwrap_or_default();
    if arguments.json {
        output::print_json(&record)?;
    } else {
        output::print(&(words::text(&record) + &entered))?;
    }
    match record.verdict {
        Acceptance::Fail => Err(Error::value_with_hint(
            "the pair is not the pair of the spec",
            "what differs, and what would explain it, is printed above",
        )),
        Acceptance::Pass | Acceptance::Undecided => Ok(()),
    }
}

/// Enters the result, whatever it is.
fn enter(
    arguments: &CheckArgs,
    path: &Path,
    bench: &Bench,
    record: &LessonCheck,
    measured_sha256: Option<String>,
) -> Result<String> {
    let Some(date) = record.provenance.date else { return Ok(String::new()) };
    say_what_is_waited_for(path);
    let register = Register::open_existing(path)?;
    let history = History::of(register.chain())?;
    check_same_pair(&history, &bench.title, bench.paperwork.serial.as_deref())?;
    let verdict = match record.verdict {
        Acceptance::Pass => "pass",
        Acceptance::Fail => "fail",
        Acceptance::Undecided => "undecided",
    };
    let mut entry = CheckEntry::new(date, arguments.by.clone(), verdict, &bench.digest);
    let constant = Subject::Pair(Quantity::FieldTeslaPerAmpere);
    let field = record.quantities.iter().find(|quantity| quantity.subject == constant);
    let per_ampere = field.map(|field| [field.value, field.standard_uncertainty]).or_else(|| {
        record.quantities.iter().find_map(|quantity| match quantity.subject {
            Subject::Field { at_m: [0.0, 0.0, 0.0], current_ampere, .. } if current_ampere != 0.0 => {
                Some([quantity.value / current_ampere, quantity.standard_uncertainty / current_ampere.abs()])
            }
            _ => None,
        })
    });
    entry.field_tesla_per_ampere = per_ampere.map(|[value, _]| value);
    entry.field_standard_uncertainty_tesla_per_ampere = per_ampere.map(|[_, uncertainty]| uncertainty);
    let of = |verdict: Acceptance| {
        let quantities = record.quantities.iter().filter(move |quantity| quantity.verdict == verdict);
        quantities.map(|quantity| quantity.name.clone()).collect()
    };
    (entry.failed, entry.passed) = (of(Acceptance::Fail), of(Acceptance::Pass));
    entry.measured_sha256 = measured_sha256;
    entry.same_meters = arguments.same_meters;
    let statement = Statement::Check(entry);
    check_entry(&history, &statement)?;
    let against = match &statement {
        Statement::Check(entry) => against_line_in_force(&history, entry),
        _ => None,
    };
    match against {
        Some((number, Some(line))) if !line.agrees() => output::warn(
            &format!(
                "the field is off the line of entry {number}, which is in force: E_n = {:.1}",
                line.decisive()
            ),
            "find out which of the two is wrong before anything rests on that line",
        ),
        Some((number, None)) => output::warn(
            &format!(
                "whether the field is off the line of entry {number}, which is in force, cannot be told: the uncertainty of \
                 either is not known"
            ),
            "calibrate anew, so that the line has an uncertainty",
        ),
        _ => {}
    }
    let added = append(register, &statement)?;
    let told =
        against.and_then(|(number, line)| Some(check_against_line(number, &line?))).unwrap_or_default();
    Ok(format!("\n{}{told}", appended(added.number, added.digest)))
}
