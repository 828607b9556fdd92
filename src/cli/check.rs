//! `check`: is this file right?

use super::output;
use coilwright::Result;
use coilwright::spec::{self, CheckedBench, ProblemRecord};
use serde::Serialize;
use std::path::PathBuf;

/// The arguments of `check`.
#[derive(clap::Args)]
pub struct CheckArgs {
    /// The spec file
    pub spec: PathBuf,
    /// Print one JSON document
    #[arg(long)]
    pub json: bool,
}

/// What scripts read.
#[derive(Serialize)]
struct CheckRecord {
    title: String,
    digest: String,
    warnings: Vec<ProblemRecord>,
}

/// Says that a file is right, with what is nevertheless doubtful; a file that is not is an error.
pub fn run(arguments: &CheckArgs) -> Result<()> {
    let CheckedBench { bench, warnings } = spec::check_bench(&arguments.spec)?;
    let records = warnings.records();
    if arguments.json {
        return output::print_json(&CheckRecord {
            title: bench.title,
            digest: bench.digest,
            warnings: records,
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
