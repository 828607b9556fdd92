//! Problems of a file with their places, drawn for people.

use std::fmt;
use std::ops::Range;
use std::path::{Path, PathBuf};

/// How bad a problem is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// The file can be used, but is probably not what was meant.
    Warning,
    /// The file cannot be used.
    Error,
}

/// How far the reading of a file came.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stage {
    /// It is not JSON.
    Syntax,
    /// Its keys and values are not those of the format: what the JSON Schema says.
    Structure,
    /// Its values cannot be, or do not go together.
    Physics,
}

/// One problem of a file.
#[derive(Clone, Debug, PartialEq)]
pub struct Problem {
    /// How bad it is.
    pub severity: Severity,
    /// Where it stands, in bytes of the text.
    pub span: Range<usize>,
    /// What is wrong: one lower-case sentence with the value found.
    pub message: String,
    /// What stands under the marked place.
    pub label: Option<String>,
    /// Another place that matters.
    pub other: Option<(Range<usize>, String)>,
    /// What is allowed or how to mend it.
    pub hint: Option<String>,
}

impl Problem {
    pub(crate) fn error(span: Range<usize>, message: impl Into<String>) -> Self {
        Self {
            severity: Severity::Error,
            span,
            message: message.into(),
            label: None,
            other: None,
            hint: None,
        }
    }

    pub(crate) fn warning(span: Range<usize>, message: impl Into<String>) -> Self {
        Self { severity: Severity::Warning, ..Self::error(span, message) }
    }

    pub(crate) fn label(self, label: impl Into<String>) -> Self {
        Self { label: Some(label.into()), ..self }
    }

    pub(crate) fn other(self, span: Range<usize>, label: impl Into<String>) -> Self {
        Self { other: Some((span, label.into())), ..self }
    }

    pub(crate) fn hint(self, hint: impl Into<String>) -> Self {
        Self { hint: Some(hint.into()), ..self }
    }
}

/// A problem's place and words, for scripts.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct ProblemRecord {
    /// `error` or `warning`.
    pub severity: &'static str,
    /// Line, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
    /// What is wrong.
    pub message: String,
    /// What is allowed or how to mend it.
    pub hint: Option<String>,
}

/// All problems found in one file, with the text they stand in.
#[derive(Clone, Debug)]
pub struct Diagnosis {
    path: PathBuf,
    pub(super) text: String,
    stage: Stage,
    pub(super) problems: Vec<Problem>,
}

impl Diagnosis {
    pub(crate) fn new(path: &Path, text: &str, stage: Stage, mut problems: Vec<Problem>) -> Self {
        problems.sort_by_key(|problem| (problem.span.start, problem.span.end));
        Self { path: path.into(), text: text.into(), stage, problems }
    }

    /// The file.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// How far the reading came.
    pub fn stage(&self) -> Stage {
        self.stage
    }

    /// The problems, in the order of the file.
    pub fn problems(&self) -> &[Problem] {
        &self.problems
    }

    /// How many of them are errors.
    pub(crate) fn error_count(&self) -> usize {
        self.problems.iter().filter(|problem| problem.severity == Severity::Error).count()
    }

    /// What to do about the first error, if anything is known.
    pub(super) fn first_hint(&self) -> Option<String> {
        self.problems.iter().find(|problem| problem.severity == Severity::Error)?.hint.clone()
    }

    /// The problems with line and column instead of bytes.
    pub fn records(&self) -> Vec<ProblemRecord> {
        let (mut at, mut line, mut column) = (0, 1, 1);
        let mut records = Vec::with_capacity(self.problems.len());
        for problem in &self.problems {
            // The problems stand in the order of the text, so one walk through it finds all places.
            for character in self.text[at..problem.span.start].chars() {
                (line, column) = if character == '\n' { (line + 1, 1) } else { (line, column + 1) };
            }
            at = problem.span.start;
            records.push(ProblemRecord {
                severity: match problem.severity {
                    Severity::Error => "error",
                    Severity::Warning => "warning",
                },
                line,
                column,
                message: problem.message.clone(),
                hint: problem.hint.clone(),
            });
        }
        records
    }
}

/// The problems, one a line, each with its place.
impl fmt::Display for Diagnosis {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let told = self.records().into_iter();
        let told = told.map(|it| format!("line {}, column {}: {}", it.line, it.column, it.message));
        f.write_str(&told.collect::<Vec<_>>().join("\n"))
    }
}

impl std::error::Error for Diagnosis {}
