//! Values of a quote that cannot be read: left out, and kept to be asked about.

use super::form::{QUOTE_FIELDS, Unreadable};
use crate::error::ProblemRecord;
use crate::error::diagnosis::Stage;
use crate::files::spec::edit;
use crate::files::spec::source::Source;
use crate::{Error, Result};
use serde_json::Value as Json;

/// Takes the value that is the first problem out of the text.
///
/// # Errors
/// The problem is not the value of a field of the form, or the field is written twice.
pub(super) fn take_unreadable(source: &mut Source, error: Error) -> Result<Unreadable> {
    let Error::Diagnosed { diagnosis, .. } = &error else { return Err(error) };
    // Terms that no offer has are refused.
    if diagnosis.stage() != Stage::Structure {
        return Err(error);
    }
    let records = diagnosis.records();
    let problem = records.iter().find(|record| record.severity == "error");
    let found = problem.and_then(|problem| {
        let pointer = edit::pointer_at(&source.text, problem.line, problem.column)?;
        let field =
            QUOTE_FIELDS.iter().find(|field| pointer == format!("/{}", field.path.replace('.', "/")))?;
        let keys: Json = serde_json::from_str(&source.text).ok()?;
        let text = match keys.pointer(&pointer)? {
            Json::String(text) => text.clone(),
            other => other.to_string(),
        };
        let rest = edit::with_value(&source.text, &pointer, None)?;
        let is_gone = serde_json::from_str::<Json>(&rest).is_ok_and(|keys| keys.pointer(&pointer).is_none());
        let unreadable = Unreadable {
            key: field.path.into(),
            label: field.label.into(),
            text,
            problem: told_without_key(problem, field.path),
        };
        is_gone.then_some((rest, unreadable))
    });
    let Some((rest, unreadable)) = found else { return Err(error) };
    source.text = rest;
    Ok(unreadable)
}

/// A problem with its hint, in words without the key.
pub(super) fn told_without_key(problem: &ProblemRecord, key: &str) -> String {
    let hint = problem.hint.as_ref().map(|hint| format!("; {hint}"));
    format!("{}{}", without_key(&problem.message, key), hint.unwrap_or_default())
}

/// A problem in words without the key, which a supplier does not know.
fn without_key(message: &str, key: &str) -> String {
    let quoted = format!("`{key}`");
    match message.strip_prefix(&quoted) {
        Some(rest) if rest.starts_with(": ") => rest[2..].to_owned(),
        Some(rest) => format!("it{rest}"),
        None => message.to_owned(),
    }
}
