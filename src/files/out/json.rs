//! Records as JSON documents.

#[cfg(feature = "paper")]
use super::shortest::Shortest;
use crate::units::inert;
use crate::{Error, Result};
use serde::Serialize;
use std::borrow::Cow;

/// One record as a JSON document: indented, with a line end, and without characters that control a terminal.
///
/// # Errors
/// The record cannot be written as JSON, for example a map whose keys are not texts.
pub fn document(record: &impl Serialize) -> Result<String> {
    let mut text = serde_json::to_string_pretty(record)
        .map_err(|error| Error::value(format!("cannot write the result as JSON: {error}")))?;
    text.push('\n');
    Ok(match inert::json(&text) {
        Cow::Borrowed(_) => text,
        Cow::Owned(inert) => inert,
    })
}

/// Appends an object of numbers, each with the fewest digits that read back as the same number, for documents too long
/// for the memory. There are as many names as numbers.
#[cfg(feature = "paper")]
pub(crate) fn push_object(out: &mut String, names: &[&str], numbers: impl IntoIterator<Item = f64>) {
    let mut shortest = Shortest::new();
    let mut opening = "{\"";
    for (name, number) in names.iter().zip(numbers) {
        out.push_str(opening);
        out.push_str(name);
        out.push_str("\":");
        shortest.push(out, number, '.');
        opening = ",\"";
    }
    out.push('}');
}
