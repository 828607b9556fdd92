//! Records as JSON documents.

#[cfg(feature = "paper")]
use super::shortest::Shortest;
use crate::units::inert;
use crate::{Error, Result};
use serde::Serialize;
use std::borrow::Cow;

/// One record as a JSON document: indented, with a line end, and without characters that act on a terminal.
///
/// # Errors
/// The record cannot be written as JSON, such as a map whose keys are no texts.
pub fn document(record: &impl Serialize) -> Result<String> {
    let mut text = serde_json::to_string_pretty(record)
        .map_err(|error| Error::value(format!("cannot write the result as JSON: {error}")))?;
    text.push('\n');
    Ok(match inert::json(&text) {
        Cow::Borrowed(_) => text,
        Cow::Owned(inert) => inert,
    })
}

/// Appends one object of numbers, each the shortest text that reads back as the same number, for documents too long to
/// hold. There are as many members as numbers.
#[cfg(feature = "paper")]
pub(crate) fn push_object<'a>(out: &mut String, names: &[&str], numbers: impl IntoIterator<Item = &'a f64>) {
    let mut shortest = Shortest::new();
    let mut opening = "{\"";
    for (name, number) in names.iter().zip(numbers) {
        out.push_str(opening);
        out.push_str(name);
        out.push_str("\":");
        shortest.push(out, *number, '.');
        opening = ",\"";
    }
    out.push('}');
}
