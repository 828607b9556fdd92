//! `size`: the windings that meet the wishes, best first.

use super::export::{DateArgs, NumberFormatArgs};
use super::output;
use super::output::{FolderArgs, naming};
use super::progress::Progress;
use coilwright::files::out::folder;
use coilwright::files::out::folder::{OutputFile, OutputFolder};
use coilwright::files::spec;
use coilwright::questions::files::OpenFiles;
use coilwright::questions::size as sizing;
use coilwright::questions::size::Conflict;
use coilwright::questions::size::files::files;
use coilwright::questions::size::words;
use coilwright::questions::words::notes::Told;
use coilwright::{Error, Result};
use std::path::PathBuf;

/// The arguments of `size`.
#[derive(clap::Args)]
#[command(mut_arg("out", |out| naming(out, &[files().help()])))]
pub struct SizeArgs {
    /// The file of wishes
    wanted: PathBuf,
    /// Folder for the files, made if it is missing
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// Replace files that are already there
    #[arg(long)]
    force: bool,
    /// Write the best winding as a spec, ready for every other command
    #[arg(long, value_name = "SPEC")]
    write: Option<PathBuf>,
    #[command(flatten)]
    numbers: NumberFormatArgs,
    #[command(flatten)]
    date: DateArgs,
    /// Print one JSON document
    #[arg(long)]
    json: bool,
}

/// Searches, writes the files, and prints the page.
pub fn run(arguments: &SizeArgs) -> Result<()> {
    let date = arguments.date.day()?;
    let wanted = spec::read_wanted(&arguments.wanted)?;
    let open = FolderArgs { out: arguments.out.clone(), force: arguments.force }.open(
        files(),
        &(),
        &[&arguments.wanted],
    )?;
    let file = arguments
        .write
        .as_ref()
        .map(|path| OutputFile::create(path, arguments.force)?.apart_from(&[&arguments.wanted]))
        .transpose()?;
    let sets: Vec<&OutputFolder> =
        open.iter().map(OpenFiles::folder).chain(file.as_ref().map(OutputFile::as_set)).collect();
    folder::refuse_shared_places(&sets)?;
    let progress = Progress::towards(sizing::steps(&wanted)?, "looking at windings");
    let record = sizing::sizing(&wanted, date, |steps| progress.advance(steps))?;
    drop(progress);
    let mut finished = Vec::new();
    if let Some(open) = open {
        let filled = open.fill(&record, arguments.numbers.format())?;
        output::warn_of_older(&filled);
        finished.push(filled);
    }
    if let Some(file) = file {
        let bench = record.benches.first().ok_or_else(|| {
            let told = |conflict: &Conflict| -> String {
                let reasons: Vec<String> = conflict.reasons.iter().map(Told::sentence).collect();
                reasons.join("; ")
            };
            let hint = record.conflict.as_ref().map(told);
            Error::Value { message: "nothing meets every wish, so there is no best to write".into(), hint }
        })?;
        finished.push(file.filled(spec::spec_text(bench).as_bytes())?);
    }
    folder::finish_together(finished)?;
    if arguments.json { output::print_json(&record) } else { output::print(&words::text(&record)) }
}
