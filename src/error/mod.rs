//! What can go wrong, in the words the user reads.
//!
//! Every error is one lower-case sentence without a full stop. What to do about it, where there is something
//! to do, comes from [`Error::hint`] and is printed on a line of its own.

mod contradiction;
pub mod diagnosis;
#[cfg(feature = "program")]
mod drawing;
mod refused;
mod winding_fault;

pub use contradiction::ResistanceContradiction;
pub use diagnosis::{Diagnosis, Problem, ProblemRecord, Severity, Stage};
pub use refused::{CentreFieldFor, Refused};
pub use winding_fault::WindingFault;

use std::path::PathBuf;

/// The result of anything in this crate that can fail.
pub type Result<T> = std::result::Result<T, Error>;

/// Anything that stops a command.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum Error {
    /// A file could not be read.
    #[error("cannot read {}: {reason}", shown(path))]
    Read {
        /// The file asked for.
        path: PathBuf,
        /// What the system said, or what is wrong with the file.
        reason: String,
    },
    /// A file could be read and is not what was asked for.
    #[error("cannot read {}: {reason}", shown(path))]
    Unusable {
        /// The file.
        path: PathBuf,
        /// What is wrong with it.
        reason: String,
        /// What to do about it.
        hint: Option<String>,
    },
    /// A file could not be written; nothing of it remains.
    #[error("cannot write {}: {reason}", shown(path))]
    Write {
        /// The file that was to be written.
        path: PathBuf,
        /// What the system said.
        reason: String,
        /// What to do about it.
        hint: Option<String>,
    },
    /// A file says something that cannot be used. The message is that of the first problem, with its place.
    #[error("{}", first_problem(path, *count, diagnosis))]
    Diagnosed {
        /// The file.
        path: PathBuf,
        /// How many errors.
        count: usize,
        /// The problems, each with its place.
        #[source]
        diagnosis: Box<crate::error::Diagnosis>,
        /// Which command takes the file as it is, if one does.
        hint: Option<String>,
    },
    /// One of several files of the same kind cannot be used.
    #[error("{}: {error}", shown(path))]
    InFile {
        /// The file.
        path: PathBuf,
        /// What is wrong with it.
        error: Box<Error>,
    },
    /// A row of a table cannot be used.
    #[error("{}, line {line}: {message}", shown(path))]
    Row {
        /// The table.
        path: PathBuf,
        /// Its line, counted from 1, the heading included.
        line: u64,
        /// What is wrong.
        message: String,
        /// How to write it.
        hint: Option<String>,
    },
    /// A row of a sheet in a workbook cannot be used.
    #[error("{}, {place}: {message}", shown(path))]
    Sheet {
        /// The workbook.
        path: PathBuf,
        /// Where in it.
        place: Box<SheetPlace>,
        /// What is wrong.
        message: String,
        /// How to write it.
        hint: Option<String>,
    },
    /// A file lacks a part that this question needs.
    #[error("{file} has no `{part}`, and {why}")]
    MissingPart {
        /// Which file.
        file: Document,
        /// The dotted key, as in the file.
        part: &'static str,
        /// Why the question needs it.
        why: &'static str,
        /// How to write it, in the part that its path names.
        example: &'static str,
    },
    /// A value that a calculation cannot take, of a kind that a caller may want to tell from others.
    #[error(transparent)]
    Refused(#[from] Refused),
    /// Anything else that cannot be computed or done, told in words alone.
    #[error("{message}")]
    Value {
        /// What is wrong: the quantity, the value found with its unit, what is allowed.
        message: String,
        /// How to mend it.
        hint: Option<String>,
    },
    /// An iteration stopped before it met its tolerance.
    #[error(
        "{what} did not converge: best value {}, estimated error {}",
        crate::units::scientific(*best, 6), crate::units::scientific(*error_estimate, 2)
    )]
    NotConverged {
        /// What was sought.
        what: &'static str,
        /// The best value so far, in SI units.
        best: f64,
        /// Its estimated error, in SI units.
        error_estimate: f64,
    },
    /// The program was called in a way it does not understand.
    #[error("{message}")]
    Usage {
        /// What is wrong with the call.
        message: String,
        /// How to call it.
        hint: Option<String>,
    },
    /// The reader of standard output went away; nobody is left to tell.
    #[error("standard output was closed")]
    OutputClosed,
}

/// The first error of a file with its place, and how many more there are.
fn first_problem(path: &std::path::Path, count: usize, diagnosis: &Diagnosis) -> String {
    let records = diagnosis.records();
    let Some(first) = records.iter().find(|record| record.severity == "error") else { return shown(path) };
    let place = format!("{}, line {}, column {}", shown(path), first.line, first.column);
    let message = crate::units::inert::line(&first.message);
    match count.saturating_sub(1) {
        0 => format!("{place}: {message}"),
        1 => format!("{place}: {message} (and 1 more problem)"),
        more => format!("{place}: {message} (and {more} more problems)"),
    }
}

/// A place in a workbook.
#[derive(Clone, Debug, PartialEq)]
pub struct SheetPlace {
    /// The name of the sheet.
    pub sheet: String,
    /// The row, counted from 1 as the spreadsheet does.
    pub row: u64,
    /// The cell as the spreadsheet names it, such as `C5`, where one is meant.
    pub cell: Option<String>,
}

impl std::fmt::Display for SheetPlace {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "sheet `{}`, row {}", crate::units::shortened(&self.sheet), self.row)?;
        self.cell.as_ref().map_or(Ok(()), |cell| write!(f, ", cell {cell}"))
    }
}

/// What the system said of a failure, without its error number and in lower case, as the rest of a message is.
pub fn said_by_system(error: &std::io::Error) -> String {
    let text = error.to_string();
    let text = text.find(" (os error").map_or(text.as_str(), |at| &text[..at]);
    let mut letters = text.chars();
    // An abbreviation keeps its capitals.
    match (letters.next(), letters.next()) {
        (Some(first), Some(second)) if second.is_lowercase() => {
            first.to_lowercase().chain(text.chars().skip(1)).collect()
        }
        _ => text.to_owned(),
    }
}

/// Why a file could not be opened or read, in words that need no error number.
pub(crate) fn reason_unread(error: &std::io::Error) -> String {
    use std::io::ErrorKind;
    match error.kind() {
        ErrorKind::NotFound => "there is no such file".into(),
        ErrorKind::PermissionDenied => "you may not read it".into(),
        ErrorKind::IsADirectory => "it is a directory, not a file".into(),
        ErrorKind::InvalidFilename => "the name is too long".into(),
        _ => said_by_system(error),
    }
}

/// A path as a message shows it: inert, and only the end of one that fills pages.
pub fn shown(path: &std::path::Path) -> String {
    const LONGEST: usize = 300;
    let text = crate::units::inert::line(&path.display().to_string()).into_owned();
    let count = text.chars().count();
    match count > LONGEST {
        true => format!("…{}", text.chars().skip(count - LONGEST).collect::<String>()),
        false => text,
    }
}

/// The files that people write in JSON.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Document {
    /// A coil pair and what stands around it.
    Spec,
    /// What is wanted of a pair.
    Wishes,
    /// What was measured on a pair.
    Measurements,
    /// What a supplier promises of a pair.
    SupplierLimits,
}

impl std::fmt::Display for Document {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Self::Spec => "the spec",
            Self::Wishes => "the file of wishes",
            Self::Measurements => "the file of measurements",
            Self::SupplierLimits => "the file of a supplier's limits",
        })
    }
}

impl From<crate::units::QuantityError> for Error {
    fn from(error: crate::units::QuantityError) -> Self {
        Self::value_with_hint(error.message, error.hint)
    }
}

impl Error {
    /// A value out of range, without a hint.
    pub fn value(message: impl Into<String>) -> Self {
        Self::Value { message: message.into(), hint: None }
    }

    /// A value out of range, with how to mend it.
    pub fn value_with_hint(message: impl Into<String>, hint: impl Into<String>) -> Self {
        Self::Value { message: message.into(), hint: Some(hint.into()) }
    }

    /// This error with the option that it is about in front.
    pub(crate) fn of_option(self, option: &str) -> Self {
        match self {
            Self::Value { message, hint } => Self::Value { message: format!("{option}: {message}"), hint },
            other => other,
        }
    }

    /// A row of a table cannot be used: a line of a text file, or a row of a sheet where one is named.
    pub(crate) fn in_table(
        path: impl Into<PathBuf>,
        sheet: Option<&str>,
        line: u64,
        message: impl Into<String>,
        hint: Option<String>,
    ) -> Self {
        let (path, message) = (path.into(), message.into());
        match sheet {
            None => Self::Row { path, line, message, hint },
            Some(sheet) => {
                let place = Box::new(SheetPlace { sheet: sheet.into(), row: line, cell: None });
                Self::Sheet { path, place, message, hint }
            }
        }
    }

    /// The message where the problems of a file stand beside it: then only how many there are, `4 problems in pair.json`.
    pub fn summary(&self) -> String {
        match self {
            Self::Diagnosed { path, count, .. } => {
                format!("{count} {} in {}", if *count == 1 { "problem" } else { "problems" }, shown(path))
            }
            other => other.to_string(),
        }
    }

    /// What the user can do, if anything is known.
    pub fn hint(&self) -> Option<String> {
        match self {
            Self::Row { hint, .. }
            | Self::Sheet { hint, .. }
            | Self::Unusable { hint, .. }
            | Self::Write { hint, .. }
            | Self::Value { hint, .. }
            | Self::Usage { hint, .. } => hint.clone(),
            Self::Diagnosed { hint, diagnosis, .. } => hint.clone().or_else(|| diagnosis.first_hint()),
            Self::Refused(refused) => refused.hint(),
            Self::InFile { error, .. } => error.hint(),
            Self::NotConverged { .. } => Some(
                "look for a wrong unit or a slipped decimal point in the values that go into it; the best value is no \
                 answer"
                    .into(),
            ),
            Self::Read { reason, .. } if reason.contains("UTF-8") => Some(
                "in an editor choose the encoding UTF-8 when saving; in a spreadsheet program `CSV UTF-8`".into(),
            ),
            Self::MissingPart { part, example, .. } => Some(match part.rsplit_once('.') {
                Some((parent, _)) => format!("write it like this in `{parent}`: {example}"),
                None => format!("write it like this: {example}"),
            }),
            _ => None,
        }
    }

    /// The exit status that tells scripts what kind of failure this is: 1 failed, 2 wrong usage.
    pub fn exit_status(&self) -> u8 {
        match self {
            Self::Usage { .. } => 2,
            Self::OutputClosed => 0,
            Self::InFile { error, .. } => error.exit_status(),
            _ => 1,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::io::Error as Io;

    #[test]
    fn the_systems_words_stand_without_number_and_capital() {
        assert_eq!(said_by_system(&Io::from_raw_os_error(28)), "no space left on device");
        assert_eq!(said_by_system(&Io::other("EOF came")), "EOF came");
    }

    #[test]
    fn what_did_not_converge_is_told_in_few_digits_and_with_a_hint() {
        let error = |best, error_estimate| Error::NotConverged { what: "the fit", best, error_estimate };
        assert_eq!(
            error(6.958388186081933, f64::NAN).to_string(),
            "the fit did not converge: best value 6.95839, estimated error undefined"
        );
        assert_eq!(
            error(-1.0 / 3e50, 1e-320).to_string(),
            "the fit did not converge: best value -3.33333e-51, estimated error 1.0e-320"
        );
        assert_eq!(
            error(0.0, 123456.7).to_string(),
            "the fit did not converge: best value 0, estimated error 120000"
        );
        assert!(error(0.0, 0.0).hint().is_some());
    }

    #[test]
    fn a_diagnosed_file_tells_its_first_problem_with_its_place() {
        let text = "{\n  \"a\": 1,\n  \"b\": 2,\n  \"c\": 3\n}";
        let at = |key: &str| text.find(key).map(|at| at..at + 3).unwrap();
        let problems = vec![
            Problem::error(at("\"c\""), "`c` is 3").hint("allowed: 1 to 2"),
            Problem::warning(at("\"a\""), "`a` is odd").hint("look again"),
            Problem::error(at("\"b\""), "`b` is 2").hint("allowed: 1"),
        ];
        let error = |problems: Vec<Problem>, hint: Option<&str>| {
            let path = std::path::Path::new("pair.json");
            let diagnosis = Diagnosis::new(path, text, Stage::Physics, problems);
            let count = diagnosis.error_count();
            Error::Diagnosed {
                path: path.into(),
                count,
                diagnosis: Box::new(diagnosis),
                hint: hint.map(str::to_owned),
            }
        };
        let several = error(problems.clone(), None);
        assert_eq!(several.to_string(), "pair.json, line 3, column 3: `b` is 2 (and 1 more problem)");
        assert_eq!(several.hint().as_deref(), Some("allowed: 1"));
        assert_eq!(several.summary(), "2 problems in pair.json");
        assert!(std::error::Error::source(&several).is_some());
        let alone = error(problems[..1].to_vec(), Some("`size` takes it"));
        assert_eq!(alone.to_string(), "pair.json, line 4, column 3: `c` is 3");
        assert_eq!(alone.hint().as_deref(), Some("`size` takes it"));
    }

    #[test]
    fn a_path_cannot_break_a_message_over_lines_or_pages() {
        let error = |path: &str| Error::Read { path: path.into(), reason: "it is empty".into() }.to_string();
        assert_eq!(error("a\nb.json"), "cannot read a\\nb.json: it is empty");
        assert!(error(&"a".repeat(5000)).chars().count() < 400);
    }
}
