//! Whether a file is of another kind than the one asked for: people give the right file to the wrong command.

use super::{measured, reader, structure, wanted};
use crate::Document;
use crate::error::diagnosis::Problem;
use jsonc_parser::ast::Value;

/// The one problem of a file that has the structure of another kind; none where it has that of no kind.
pub(super) fn of_another_kind(tree: &Value, asked_for: Document) -> Option<Problem> {
    let others = [
        (Document::Spec, reader::schema(), "a spec is what most commands take first"),
        (
            Document::Wishes,
            wanted::schema(),
            "it is for `size`, and for `compare` and `tolerance` after --needs",
        ),
        (
            Document::Measurements,
            measured::schema(),
            "it is for `identify`, and for `check` after --measured",
        ),
    ];
    let name = |document: Document| document.to_string().replacen("the ", "a ", 1);
    others
        .into_iter()
        .filter(|(document, ..)| *document != asked_for)
        .find(|(_, schema, _)| structure::problems(tree, schema).is_empty())
        .map(|(found, _, hint)| {
            Problem::error(0..1, format!("this is {}, not {}", name(found), name(asked_for))).hint(hint)
        })
}
