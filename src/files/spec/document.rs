//! Reads and checks any of the files that people write: a spec, wishes or measurements.

use super::measured::Measured;
use super::quote::Gap;
use super::reader::CheckedBench;
use super::source::Source;
use super::structured::diagnosed;
use super::wanted::Wanted;
use super::{measured, quote, reader, supplier_limits, syntax, wanted};
use crate::error::diagnosis::Stage;
use crate::{Document, Error, Result};
use jsonc_parser::ast::Value;
use std::collections::BTreeSet;
use std::path::Path;

/// A file that passed every check of its kind.
#[derive(Clone, Debug)]
pub enum CheckedDocument {
    /// A spec.
    Spec(Box<CheckedBench>),
    /// A file of wishes.
    Wishes(Box<Wanted>),
    /// A file of measurements.
    Measurements(Box<Measured>),
}

/// Reads and checks a file as the kind with the most matching keys, or as a spec if that is not clear.
///
/// # Errors
/// The problems of the file as that kind ([`Error::Diagnosed`](crate::Error::Diagnosed)).
pub fn check_document(path: impl AsRef<Path>) -> Result<CheckedDocument> {
    checked(&Source::read(path.as_ref())?)
}

/// Checks the text of a file as [`check_document`] does. `name` stands for the file in messages.
///
/// # Errors
/// As [`check_document`].
pub fn check_document_text(name: &str, text: &str) -> Result<CheckedDocument> {
    checked(&Source::from_bytes(Path::new(name), text.as_bytes())?)
}

fn checked(source: &Source) -> Result<CheckedDocument> {
    let tree =
        syntax::tree(&source.text).map_err(|problem| diagnosed(source, Stage::Syntax, vec![*problem]))?;
    match kind_of(&tree) {
        Document::Wishes => wanted::checked(source).map(|wanted| CheckedDocument::Wishes(Box::new(wanted))),
        Document::Measurements => {
            measured::measured_of(source).map(|measured| CheckedDocument::Measurements(Box::new(measured)))
        }
        _ => match reader::checked(source) {
            Ok(bench) => Ok(CheckedDocument::Spec(Box::new(bench))),
            Err(error) => Err(pointing_to_compare(error, source.clone())),
        },
    }
}

/// The kind of file that a text is meant to be, judged by its keys; `None` if it is not a JSON object or has no known
/// key.
pub fn document_kind(text: &str) -> Option<Document> {
    let tree = syntax::tree(text).ok()?;
    let limits = known_keys(&tree, supplier_limits::supplier_limits_schema());
    let (kind, keys) = most_keys(&tree);
    match limits > keys {
        true => Some(Document::SupplierLimits),
        false => (keys > 0).then_some(kind),
    }
}

/// The error, with a hint to `compare` if it is an unfinished quote.
fn pointing_to_compare(mut error: Error, source: Source) -> Error {
    let unfinished = quote::quote_of(source).is_ok_and(|quote| {
        (1..Gap::NEEDED).contains(&quote.gaps.iter().filter(|gap| gap.is_needed()).count())
    });
    if let (Error::Diagnosed { hint, .. }, true) = (&mut error, unfinished) {
        let takes = "an unfinished quote is taken by `compare`, which bounds what is missing by the rest and asks for it";
        *hint = Some(takes.into());
    }
    error
}

fn kind_of(tree: &Value) -> Document {
    most_keys(tree).0
}

/// The kind with the most matching keys, and their number; a spec if two kinds tie.
fn most_keys(tree: &Value) -> (Document, usize) {
    let counts = [
        (Document::Spec, known_keys(tree, reader::bench_schema())),
        (Document::Wishes, known_keys(tree, wanted::wanted_schema())),
        (Document::Measurements, known_keys(tree, measured::measured_schema())),
    ];
    let most = counts.iter().map(|(_, count)| *count).max().unwrap_or(0);
    counts.into_iter().find(|(_, count)| *count == most).unwrap_or((Document::Spec, 0))
}

/// Number of a schema's keys that an object has.
fn known_keys(tree: &Value, schema: &serde_json::Value) -> usize {
    let Value::Object(object) = tree else { return 0 };
    let written: BTreeSet<&str> = object.properties.iter().map(|property| property.name.as_str()).collect();
    let properties = schema["properties"].as_object();
    properties.map_or(0, |keys| keys.keys().filter(|key| written.contains(key.as_str())).count())
}
