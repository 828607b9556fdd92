//! From a file to a checked bench, or to everything that is wrong with it.

use super::bench::Bench;
use super::diagnosis::{Diagnosis, Problem, Severity};
use super::file::BenchFile;
use super::source::Source;
use super::{physical, resolve, structure, syntax};
use crate::{Error, Result};
use jsonc_parser::ast::Value;
use schemars::JsonSchema;
use serde::de::DeserializeOwned;
use std::path::Path;

/// A bench that passed every check, with what is nevertheless doubtful.
#[derive(Clone, Debug)]
pub struct CheckedBench {
    /// The bench.
    pub bench: Bench,
    /// Warnings; no errors.
    pub warnings: Diagnosis,
}

/// Reads a spec file and checks it; warnings are left out.
///
/// A syntax error is reported alone; otherwise all structural errors together, then every physical one whose
/// inputs are sound ([`Error::Diagnosed`]).
pub fn read_bench(path: impl AsRef<Path>) -> Result<Bench> {
    check_bench(path).map(|checked| checked.bench)
}

/// Reads a spec file and checks it.
pub fn check_bench(path: impl AsRef<Path>) -> Result<CheckedBench> {
    checked(&Source::read(path.as_ref())?)
}

/// Reads a spec from text already at hand; `name` stands for the file in messages.
///
/// ```
/// let bench = coilwright::spec::bench_from_text(
///     "pair.json",
///     r#"{
///         "title": "Window bench pair",
///         "winding": {
///             "mean_radius": "150 mm", "width": "16.9 mm", "depth": "9.5 mm", "turns": 130,
///             "wire": { "size": "0.95 mm", "build": "grade 2" }
///         },
///         "spacing": "150 mm"
///     }"#,
/// )?;
/// assert_eq!(bench.winding.mean_radius_m, 0.15);
/// # Ok::<(), coilwright::Error>(())
/// ```
pub fn bench_from_text(name: &str, text: &str) -> Result<Bench> {
    checked(&Source::from_bytes(Path::new(name), text.as_bytes())?).map(|checked| checked.bench)
}

/// The JSON Schema (draft 2020-12) of a spec file.
pub fn bench_schema() -> serde_json::Value {
    structure::schema_of::<BenchFile>().to_value()
}

fn checked(source: &Source) -> Result<CheckedBench> {
    let tree = syntax::tree(&source.text).map_err(|problem| diagnosed(source, vec![*problem]))?;
    let file: BenchFile = structured(source, &tree)?;
    let bench = resolve::bench(file, source.digest.clone()).map_err(|(message, hint)| {
        let place = super::place::place(&tree, "winding.wire.size");
        diagnosed(source, vec![Problem::error(place, message).hint(hint)])
    })?;
    let problems = physical::problems(&bench, &tree);
    if problems.iter().any(|problem| problem.severity == Severity::Error) {
        return Err(diagnosed(source, problems));
    }
    Ok(CheckedBench { bench, warnings: Diagnosis::new(source, problems) })
}

/// The file's own types, once its structure is right.
pub(super) fn structured<T: DeserializeOwned + JsonSchema>(source: &Source, tree: &Value) -> Result<T> {
    let problems = structure::problems(tree, &structure::schema_of::<T>());
    if !problems.is_empty() {
        return Err(diagnosed(source, problems));
    }
    serde_json::from_str(&source.text).map_err(|error| {
        // The schema and the types come from the same place, so this is a rule that only the types know.
        let at = syntax::offset_of(&source.text, error.line(), error.column());
        diagnosed(source, vec![Problem::error(at..at, format!("this cannot be read: {error}"))])
    })
}

pub(super) fn diagnosed(source: &Source, problems: Vec<Problem>) -> Error {
    let diagnosis = Diagnosis::new(source, problems);
    Error::Diagnosed {
        path: source.path.clone(),
        count: diagnosis.error_count(),
        diagnosis: Box::new(diagnosis),
    }
}
