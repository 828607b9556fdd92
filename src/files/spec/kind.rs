//! Recognises a file of another kind than requested, because people give the right file to the wrong command.

use super::file::BenchFile;
use super::measured_file::MeasuredFile;
use super::structure;
use super::structure::schema_of;
use super::supplier_limits_file::SupplierLimitsFile;
use super::wanted_file::WantedFile;
use crate::Document;
use crate::error::diagnosis::Problem;
use jsonc_parser::ast::Value;

/// The problem of a file that has the structure of another kind; `None` if it has that of no kind.
pub(super) fn of_another_kind(tree: &Value, asked_for: Document) -> Option<Problem> {
    let others = [
        (Document::Spec, schema_of::<BenchFile>(), "a spec is what most commands take first"),
        (
            Document::Wishes,
            schema_of::<WantedFile>(),
            "it is for `size`, and for `compare` and `tolerance` after --needs",
        ),
        (
            Document::Measurements,
            schema_of::<MeasuredFile>(),
            "it is for `identify`, and for `check` and `accept` after --measured",
        ),
        (
            Document::SupplierLimits,
            schema_of::<SupplierLimitsFile>(),
            "it is for `accept`, after --supplier-limits",
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
