//! A file read into its own types, or what is wrong with its structure.

use super::source::Source;
use super::{kind, structure, syntax};
use crate::error::diagnosis::{Diagnosis, Problem, Stage};
use crate::{Document, Error, Result};
use jsonc_parser::ast::Value;
use schemars::JsonSchema;
use serde::de::DeserializeOwned;

/// The file's own types, once its structure is right.
pub(super) fn structured<T: DeserializeOwned + JsonSchema + 'static>(
    source: &Source,
    tree: &Value,
    asked_for: Document,
) -> Result<T> {
    let problems = structure::problems(tree, structure::schema_of::<T>());
    if !problems.is_empty() {
        let problems = kind::of_another_kind(tree, asked_for).map_or(problems, |problem| vec![problem]);
        return Err(diagnosed(source, Stage::Structure, problems));
    }
    serde_json::from_str(&source.text).map_err(|error| {
        // The schema and the types come from the same place, so this is a rule that only the types know.
        let at = syntax::offset_of(&source.text, error.line(), error.column());
        diagnosed(
            source,
            Stage::Structure,
            vec![Problem::error(at..at, format!("this cannot be read: {error}"))],
        )
    })
}

pub(super) fn diagnosed(source: &Source, stage: Stage, problems: Vec<Problem>) -> Error {
    let diagnosis = Diagnosis::new(&source.path, &source.text, stage, problems);
    Error::Diagnosed {
        path: source.path.clone(),
        count: diagnosis.error_count(),
        diagnosis: Box::new(diagnosis),
        hint: None,
    }
}
