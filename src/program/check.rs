//! `check`: is this file right?

use super::output;
use coilwright::error::ProblemRecord;
use coilwright::files::spec;
use coilwright::files::spec::CheckedBench;
use coilwright::questions::check as lesson_check;
use coilwright::questions::check::words;
use coilwright::{Error, Result};
use serde::Serialize;
use std::path::{Path, PathBuf};

/// The arguments of `check`.
#[derive(clap::Args)]
pub struct CheckArgs {
    /// The spec file
    pub spec: PathBuf,
    /// Quick measurements to hold against the spec before a lesson: JSON, or a table with name, value, uncertainty
    #[arg(long, value_name = "MEASURED")]
    pub measured: Option<PathBuf>,
    /// Print one JSON document
    #[arg(long)]
    pub json: bool,
}

/// What scripts read: `ok`, with title and digest if it is, and every problem with its place.
#[derive(Serialize)]
struct CheckRecord {
    ok: bool,
    title: Option<String>,
    digest: Option<String>,
    problems: Vec<ProblemRecord>,
}

/// Says that a file is right, with what is nevertheless doubtful; a file that is not is an error.
pub fn run(arguments: &CheckArgs) -> Result<()> {
    if let Some(measured) = &arguments.measured {
        return before_a_lesson(arguments, measured);
    }
    let checked = spec::check_bench(&arguments.spec);
    if let (true, Err(Error::Diagnosed { diagnosis, .. })) = (arguments.json, &checked) {
        let problems = diagnosis.records();
        output::print_json(&CheckRecord { ok: false, title: None, digest: None, problems })?;
    }
    let CheckedBench { bench, warnings } = checked?;
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

/// Holds a few quick measurements against the spec, as built.
fn before_a_lesson(arguments: &CheckArgs, measured: &Path) -> Result<()> {
    let bench = spec::read_bench(&arguments.spec)?;
    let measured = spec::read_measured(measured)?;
    let record = lesson_check::lesson_check(&bench, &measured)?;
    if arguments.json { output::print_json(&record) } else { output::print(&words::text(&record)) }
}
