//! Standard output, standard error, and the folder that files go to.

use coilwright::error::{Diagnosis, said_by_system, shown};
use coilwright::files::out::csv::NumberFormat;
use coilwright::files::out::folder::OutputFolder;
use coilwright::files::out::json;
use coilwright::questions::files::{FileTable, OpenFiles};
use coilwright::units::inert;
use coilwright::{Error, Result};
use serde::Serialize;
use std::io::{ErrorKind, Write};
use std::path::{Path, PathBuf};
use std::process::ExitCode;

/// The folder for files: flatten it into the arguments of a command that writes any.
#[derive(clap::Args)]
pub struct FolderArgs {
    /// Folder for the files, made if it is missing
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// Replace files that are already there
    #[arg(long, requires = "out")]
    pub force: bool,
}

impl FolderArgs {
    /// Checks that the files can be written, if a folder is given. Call it before long work: only its result can write.
    pub fn open<A, R: Sync>(
        &self,
        table: FileTable<A, R>,
        asked: &A,
        inputs: &[&Path],
    ) -> Result<Option<OpenFiles<A, R>>> {
        self.out.as_ref().map(|out| table.open(out, self.force, asked, inputs)).transpose()
    }

    /// Checks that the files can be written, answers the question, and writes its record. Returns the record and the
    /// paths written.
    pub fn answer<A: Sync, R: Sync>(
        &self,
        files: Files<'_, A, R>,
        question: impl FnOnce() -> Result<R>,
    ) -> Result<(R, Vec<PathBuf>)> {
        let open = self.open(files.table, files.asked, files.inputs)?;
        let record = question()?;
        let written = write(open, &record, files.format)?;
        Ok((record, written))
    }

    /// Refuses a call without a folder, for a command whose whole result is files.
    pub fn must_be_named(&self) -> Result<()> {
        match self.out {
            Some(_) => Ok(()),
            None => Err(Error::Usage {
                message: "no folder is named for the files".into(),
                hint: Some("name one with --out DIR; it is made if it is missing".into()),
            }),
        }
    }
}

/// Adds the list of files to the long help of `--out`.
pub fn naming(out: clap::Arg, files: &[String]) -> clap::Arg {
    let short = out.get_help().map(ToString::to_string).unwrap_or_default();
    out.long_help(format!("{short}\n\n{}", files.join("\n")))
}

/// How the files of a question are written.
pub struct Files<'a, A, R> {
    pub table: FileTable<A, R>,
    /// The part of the request that decides which files are made.
    pub asked: &'a A,
    /// The files that the run reads.
    pub inputs: &'a [&'a Path],
    pub format: NumberFormat,
}

/// Writes the files of a record, if requested, and returns their paths.
pub fn write<A: Sync, R: Sync>(
    open: Option<OpenFiles<A, R>>,
    record: &R,
    format: NumberFormat,
) -> Result<Vec<PathBuf>> {
    let Some(filled) = open.map(|open| open.fill(record, format)).transpose()? else { return Ok(Vec::new()) };
    warn_of_older(&filled);
    filled.finish()
}

/// Tells which files of an earlier run stay beside those of this one, so that nobody takes them for its own.
pub fn warn_of_older(folder: &OutputFolder) {
    let older: Vec<String> = folder.left_from_before().iter().map(|path| shown(path)).collect();
    if !older.is_empty() {
        warn(
            &format!("from an earlier run, and not of this one: {}", older.join(", ")),
            "nothing is removed unasked: remove them, or write to an empty folder",
        );
    }
}

/// One line for each file written.
pub fn written_lines(paths: &[PathBuf]) -> String {
    paths.iter().map(|path| format!("wrote {}\n", shown(path))).collect()
}

/// The paths of those input files that were given.
pub fn inputs<'a>(given: impl IntoIterator<Item = Option<&'a PathBuf>>) -> Vec<&'a Path> {
    given.into_iter().flatten().map(PathBuf::as_path).collect()
}

/// Prints text for people.
pub fn print(text: &str) -> Result<()> {
    write_out(&inert::page(text))
}

fn write_out(text: &str) -> Result<()> {
    let mut stdout = std::io::stdout().lock();
    stdout.write_all(text.as_bytes()).and_then(|()| stdout.flush()).map_err(stdout_error)
}

/// Prints one record as a JSON document.
pub fn print_json(record: &impl Serialize) -> Result<()> {
    write_out(&json::document(record)?)
}

/// The error for a failed write to standard output; a closed pipe is not a failure.
pub fn stdout_error(error: std::io::Error) -> Error {
    if error.kind() == ErrorKind::BrokenPipe {
        Error::OutputClosed
    } else {
        Error::Write { path: "standard output".into(), reason: said_by_system(&error), hint: None }
    }
}

/// Prints the argument parser's own output, such as its help, and returns the exit status.
pub fn report_help(help: &clap::Error) -> ExitCode {
    let printed = help.print().and_then(|()| std::io::stdout().flush());
    match printed.map_err(stdout_error) {
        Ok(()) | Err(Error::OutputClosed) => ExitCode::from(u8::try_from(help.exit_code()).unwrap_or(2)),
        Err(error) => report_error(&error),
    }
}

/// Draws warnings on standard error, where they do not disturb scripts.
pub fn report_warnings(warnings: &Diagnosis) {
    let mut stderr = anstream::AutoStream::auto(std::io::stderr().lock());
    // If standard error itself is closed, there is nobody to tell.
    drop(writeln!(stderr, "{}\n", warnings.draw(true)));
}

/// Prints a warning and its hint on standard error.
pub fn warn(warning: &str, hint: &str) {
    let mut stderr = anstream::AutoStream::auto(std::io::stderr().lock());
    // If standard error itself is closed, there is nobody to tell.
    drop(writeln!(stderr, "warning: {warning}\nhint: {hint}"));
}

/// Prints the error and its hint on standard error and returns the exit status.
pub fn report_error(error: &Error) -> ExitCode {
    // Colours only on a terminal.
    let mut stderr = anstream::AutoStream::auto(std::io::stderr().lock());
    // If standard error itself is closed, there is nobody to tell.
    match error {
        Error::OutputClosed => {}
        Error::Diagnosed { diagnosis, .. } => {
            drop(writeln!(stderr, "{}\n\nerror: {}", diagnosis.draw(true), error.summary()))
        }
        _ => drop(writeln!(stderr, "error: {}", inert::line(&error.to_string()))),
    }
    // The drawing holds the hint of every problem.
    let hint = match error {
        Error::Diagnosed { hint, .. } => hint.clone(),
        _ => error.hint(),
    };
    if let Some(hint) = hint {
        drop(writeln!(stderr, "hint: {}", inert::line(&hint)));
    }
    ExitCode::from(error.exit_status())
}
