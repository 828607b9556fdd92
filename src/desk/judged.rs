//! Checks a document that people write: what kind it is, whether it is right, and what is wrong with it.

use coilwright::error::ProblemRecord;
use coilwright::files::spec::{self, CheckedDocument};
use coilwright::pair::Bench;
use coilwright::questions::compare::why_impossible;
use coilwright::{Document, Error};

/// Longest title that is shown, in characters.
const LONGEST_TITLE: usize = 120;
/// Largest number of problems that are shown.
const MOST_PROBLEMS: usize = 50;

/// The result of checking a text.
pub struct Judged {
    /// The kind of document. A text whose keys do not tell counts as a spec.
    pub kind: Document,
    /// The title. `None` if it cannot be read.
    pub title: Option<String>,
    /// Whether the document is right.
    pub standing: Standing,
    /// The first problems and warnings, each with its place.
    pub problems: Vec<ProblemRecord>,
    /// The pair. `None` unless the document is a correct spec.
    pub bench: Option<Box<Bench>>,
}

/// Whether a document is right.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Standing {
    Right,
    /// A spec with gaps, such as a quote.
    Unfinished,
    /// It is wrong; the text says why in one line.
    Wrong(String),
}

impl Judged {
    /// Checks a text. `name` is the file's name in messages.
    pub fn of(name: &str, text: &str) -> Self {
        let kind = spec::document_kind(text).unwrap_or(Document::Spec);
        let right = |title: String, problems, bench| Self {
            kind,
            title: Some(brief(&title)),
            standing: Standing::Right,
            problems,
            bench,
        };
        let checked = match kind {
            Document::SupplierLimits => spec::supplier_limits_from_text(name, text)
                .map(|limits| right(limits.title.clone(), Vec::new(), None)),
            _ => spec::check_document_text(name, text).map(|checked| match checked {
                CheckedDocument::Spec(checked) => {
                    let problems = checked.warnings.records();
                    right(checked.bench.title.clone(), problems, Some(Box::new(checked.bench)))
                }
                CheckedDocument::Wishes(wanted) => right(wanted.title.clone(), Vec::new(), None),
                CheckedDocument::Measurements(measured) => right(measured.title.clone(), Vec::new(), None),
            }),
        };
        checked.unwrap_or_else(|error| Self::wrong(kind, name, text, &error))
    }

    fn wrong(kind: Document, name: &str, text: &str, error: &Error) -> Self {
        let quote = (kind == Document::Spec).then(|| spec::quote_from_text(name, text).ok()).flatten();
        // A complete spec with errors is not an unfinished quote. A quote that no pair can meet is wrong, whatever it
        // lacks.
        let standing = match quote.filter(|quote| !quote.gaps.is_empty()) {
            None => Standing::Wrong(error.to_string()),
            Some(quote) => match why_impossible(&quote) {
                Ok(reasons) if reasons.is_empty() => Standing::Unfinished,
                Ok(reasons) => Standing::Wrong(reasons.join("; ")),
                Err(error) => Standing::Wrong(error.to_string()),
            },
        };
        Self {
            kind,
            title: title_in(text),
            standing,
            problems: match error {
                Error::Diagnosed { diagnosis, .. } => {
                    diagnosis.records().into_iter().take(MOST_PROBLEMS).collect()
                }
                _ => Vec::new(),
            },
            bench: None,
        }
    }
}

fn title_in(text: &str) -> Option<String> {
    let keys: serde_json::Value = serde_json::from_str(text).ok()?;
    Some(brief(keys.get("title")?.as_str()?))
}

/// A title shortened for lists.
fn brief(title: &str) -> String {
    match title.char_indices().nth(LONGEST_TITLE) {
        Some((end, _)) => format!("{}…", &title[..end]),
        None => title.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_document_is_judged_as_what_it_is_meant_to_be() {
        for (path, kind, standing) in [
            ("coil-specs/window-bench.json", Document::Spec, Standing::Right),
            ("lab-files/quote-unfinished.json", Document::Spec, Standing::Unfinished),
            ("lab-files/lessons.json", Document::Wishes, Standing::Right),
            ("lab-files/delivery.json", Document::Measurements, Standing::Right),
            ("lab-files/supplier-limits.json", Document::SupplierLimits, Standing::Right),
        ] {
            let text = std::fs::read_to_string(format!("{}/{path}", env!("CARGO_MANIFEST_DIR"))).unwrap();
            let judged = Judged::of(path, &text);
            assert_eq!((judged.kind, &judged.standing), (kind, &standing), "{path}");
            assert!(judged.title.is_some_and(|title| title.contains("Saltmarsh")), "{path}");
            assert_eq!(judged.bench.is_some(), kind == Document::Spec && standing == Standing::Right);
        }
        let judged = Judged::of("a.json", "{ \"title\": \"x\", \"spacing\": 3 }");
        assert!(matches!(judged.standing, Standing::Wrong(_)) && !judged.problems.is_empty());
        assert!(matches!(Judged::of("a.json", "").standing, Standing::Wrong(_)));
    }
}
