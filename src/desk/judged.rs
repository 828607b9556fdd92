//! Checks a document that people write: what kind it is, whether it is right, and what is wrong with it.

use super::document_form::{form, in_words};
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
    /// A spec with gaps, such as a quote: the names of what a whole one still needs.
    Unfinished(Vec<String>),
    /// It is wrong; the text says why in one line.
    Wrong(String),
}

impl Judged {
    /// Checks a text. `name` is the file's name in messages.
    pub fn of(name: &str, text: &str) -> Self {
        Self::as_kind(kind_of(text), name, text)
    }

    /// Checks a text as this kind of document, whatever its keys.
    pub fn as_kind(kind: Document, name: &str, text: &str) -> Self {
        let mut judged = Self::by_key(kind, name, text);
        if !judged.problems.is_empty() {
            let form = form(kind, text);
            let other = |text: &str| in_words(&form, text).replace(" other keys of ", " other fields of ");
            for problem in &mut judged.problems {
                problem.message = other(&problem.message);
                problem.hint = problem.hint.as_deref().map(other);
            }
        }
        judged
    }

    /// Checks a text; the problems call its values by their keys.
    pub fn by_key(kind: Document, name: &str, text: &str) -> Self {
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
            Document::Spec if spec::document_kind(text) != Some(Document::Spec) => {
                spec::bench_from_text(name, text)
                    .map(|bench| right(bench.title.clone(), Vec::new(), Some(Box::new(bench))))
            }
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
            None => Standing::Wrong(error.summary()),
            Some(quote) => match why_impossible(&quote) {
                Ok(reasons) if reasons.is_empty() => Standing::Unfinished(needed(text)),
                Ok(reasons) => Standing::Wrong(reasons.join("; ")),
                Err(error) => Standing::Wrong(error.summary()),
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

/// The kind of document that a text is. One whose keys are all keys of a spec is the start of a spec, even if they may
/// stand in other documents too: so is a title alone, or a title with a tube.
pub fn kind_of(text: &str) -> Document {
    // A slip of a comma makes no other kind of it.
    let Some(serde_json::Value::Object(keys)) = spec::loose_value(text) else { return Document::Spec };
    let schema = spec::bench_schema();
    let is_of_spec = |key: &String| schema["properties"].get(key).is_some();
    match keys.keys().all(is_of_spec) {
        true => Document::Spec,
        false => spec::document_kind(&serde_json::Value::Object(keys).to_string()).unwrap_or(Document::Spec),
    }
}

/// What a whole spec needs and this text does not have, by the labels of a form.
fn needed(text: &str) -> Vec<String> {
    const NEEDED: [(&str, &str); 7] = [
        ("/title", "title"),
        ("/winding/mean_radius", "mean radius"),
        ("/winding/width", "width"),
        ("/winding/depth", "depth"),
        ("/winding/turns", "turns"),
        ("/winding/wire", "wire"),
        ("/spacing", "spacing"),
    ];
    let keys: serde_json::Value = serde_json::from_str(text).unwrap_or_default();
    let is_there = |pointer: &str| {
        keys.pointer(pointer).is_some_and(|value| !value.is_null() && value.as_str() != Some(""))
    };
    NEEDED.iter().filter(|(pointer, _)| !is_there(pointer)).map(|(_, label)| (*label).to_owned()).collect()
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

    const UNFINISHED: Standing = Standing::Unfinished(Vec::new());

    #[test]
    fn a_title_alone_is_the_start_of_a_spec() {
        let judged = Judged::of("pair.json", "{ \"title\": \"North room\" }");
        let Standing::Unfinished(needed) = &judged.standing else { panic!("{:?}", judged.standing) };
        assert_eq!(judged.kind, Document::Spec);
        assert_eq!(needed.join(", "), "mean radius, width, depth, turns, wire, spacing");
        for more in ["\"tube\": { \"bulb_radius\": \"78 mm\" }", "\"connection\": \"series\""] {
            let judged = Judged::of("pair.json", &format!("{{ \"title\": \"x\", {more} }}"));
            assert!(matches!(judged.standing, Standing::Unfinished(_)), "{more}: {:?}", judged.standing);
        }
    }

    #[test]
    fn a_document_is_judged_as_what_it_is_meant_to_be() {
        for (path, kind, standing) in [
            ("coil-specs/window-bench.json", Document::Spec, Standing::Right),
            ("lab-files/quote-unfinished.json", Document::Spec, UNFINISHED),
            ("lab-files/lessons.json", Document::Wishes, Standing::Right),
            ("lab-files/delivery.json", Document::Measurements, Standing::Right),
            ("lab-files/supplier-limits.json", Document::SupplierLimits, Standing::Right),
        ] {
            let text = std::fs::read_to_string(format!("{}/{path}", env!("CARGO_MANIFEST_DIR"))).unwrap();
            let judged = Judged::of(path, &text);
            assert_eq!(judged.kind, kind, "{path}");
            match &judged.standing {
                Standing::Unfinished(needed) => {
                    assert!(standing == UNFINISHED && !needed.is_empty(), "{path}")
                }
                other => assert_eq!(*other, standing, "{path}"),
            }
            assert!(judged.title.is_some_and(|title| title.contains("Saltmarsh")), "{path}");
            assert_eq!(judged.bench.is_some(), kind == Document::Spec && standing == Standing::Right);
        }
        let judged = Judged::of("a.json", "{ \"title\": \"x\", \"spacing\": 3 }");
        assert!(matches!(judged.standing, Standing::Wrong(_)) && !judged.problems.is_empty());
        assert!(matches!(Judged::of("a.json", "").standing, Standing::Wrong(_)));
    }
}
