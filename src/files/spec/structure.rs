//! Checks whether a syntax tree has the structure that a schema describes, and finds every problem.
//!
//! The schema is generated from the file types, so this checker, the published JSON Schema and the reader cannot
//! disagree. Only the keywords that the generator uses are supported.

use super::quantity;
use super::quantity::FORM_KEYWORD;
use super::syntax::{key_span, span};
use crate::error::diagnosis::Problem;
use crate::units::nearest::nearest;
use crate::units::shortened;
use jsonc_parser::ast::{Array, NumberLit, Object, Value};
use schemars::generate::SchemaSettings;
use schemars::transform::{Transform, transform_subschemas};
use schemars::{JsonSchema, Schema};
use serde_json::{Map, Value as Json};
use std::any::TypeId;
use std::collections::{BTreeMap, HashMap};
use std::sync::{Mutex, PoisonError};

/// The JSON Schema (draft 2020-12) of a file type, without `null`: unknown values are left out of a file. It is generated
/// once and kept, because that takes longer than reading a file.
pub(super) fn schema_of<T: JsonSchema + 'static>() -> &'static Schema {
    static KNOWN: Mutex<BTreeMap<TypeId, &'static Schema>> = Mutex::new(BTreeMap::new());
    let mut known = KNOWN.lock().unwrap_or_else(PoisonError::into_inner);
    known.entry(TypeId::of::<T>()).or_insert_with(|| {
        let settings = SchemaSettings::draft2020_12().with_transform(WithoutNull);
        Box::leak(Box::new(settings.into_generator().into_root_schema_for::<T>()))
    })
}

/// Removes the `null` that the generator allows for optional entries.
#[derive(Clone)]
struct WithoutNull;

impl Transform for WithoutNull {
    fn transform(&mut self, schema: &mut Schema) {
        if let Some(object) = schema.as_object_mut() {
            without_null(object);
        }
        transform_subschemas(self, schema);
    }
}

fn without_null(object: &mut Map<String, Json>) {
    if let Some(Json::Array(types)) = object.get_mut("type") {
        types.retain(|kind| kind != "null");
        if let [only] = types.as_slice() {
            let only = only.clone();
            object.insert("type".into(), only);
        }
    }
    if let Some(Json::Array(values)) = object.get_mut("enum") {
        values.retain(|value| !value.is_null());
    }
    let Some(Json::Array(branches)) = object.get_mut("anyOf") else { return };
    branches.retain(|branch| branch.get("type").is_none_or(|kind| kind != "null"));
    if let [only] = branches.as_slice() {
        let only = only.clone();
        object.remove("anyOf");
        for (keyword, value) in only.as_object().into_iter().flatten() {
            object.entry(keyword).or_insert_with(|| value.clone());
        }
    }
}

/// The keyword of an incomplete file's schema for the keys that a whole one requires; hints name them.
const WHOLE_KEYWORD: &str = "x-whole";

/// The schema of an incomplete file: no key is required.
pub(super) fn unfinished(schema: &Schema) -> Schema {
    let mut schema = schema.clone();
    let Some(root) = schema.as_object_mut() else { return schema };
    root.remove("required");
    for part in root.get_mut("$defs").and_then(Json::as_object_mut).into_iter().flat_map(Map::values_mut) {
        if let Some(part) = part.as_object_mut()
            && let Some(required) = part.remove("required")
        {
            part.insert(WHOLE_KEYWORD.into(), required);
        }
    }
    schema
}

/// Every structural problem of a tree.
pub(super) fn problems(tree: &Value, schema: &Schema) -> Vec<Problem> {
    let mut walk = Walk { root: schema.as_value(), problems: Vec::new() };
    walk.value(tree, schema.as_value(), "");
    walk.problems
}

struct Walk<'s> {
    root: &'s Json,
    problems: Vec<Problem>,
}

impl<'s> Walk<'s> {
    /// The schema that a reference refers to.
    fn resolved(&self, schema: &'s Json) -> &'s Json {
        match schema.get("$ref").and_then(Json::as_str).and_then(|reference| reference.strip_prefix('#')) {
            Some(pointer) => self.root.pointer(pointer).unwrap_or(schema),
            None => schema,
        }
    }

    fn value(&mut self, value: &Value, schema: &'s Json, path: &str) {
        let schema = self.resolved(schema);
        if let Some(allowed) = constants(schema) {
            return self.one_of(value, &allowed, path);
        }
        if let Some(branches) = schema.get("anyOf").and_then(Json::as_array) {
            return self.nearest_branch(value, branches, path);
        }
        match (schema.get("type").and_then(Json::as_str), value) {
            (Some("object"), Value::Object(object)) => self.object(object, schema, path),
            (Some("array"), Value::Array(array)) => self.array(array, schema, path),
            (Some("string"), Value::StringLit(text)) => self.text(&text.value, value, schema, path),
            (Some("number" | "integer"), Value::NumberLit(number)) => self.number(number, schema, path),
            (Some("boolean"), Value::BooleanLit(_)) | (None, _) => {}
            (Some(wanted), _) => self.wrong_type(value, wanted, schema, path),
        }
    }

    fn object(&mut self, object: &Object, schema: &'s Json, path: &str) {
        let known: HashMap<&str, &'s Json> = schema
            .get("properties")
            .and_then(Json::as_object)
            .into_iter()
            .flatten()
            .map(|(key, entry)| (key.as_str(), entry))
            .collect();
        let mut seen = HashMap::new();
        for property in &object.properties {
            let key = property.name.as_str();
            if let Some(first) = seen.insert(key.to_owned(), key_span(property)) {
                self.problems.push(
                    Problem::error(key_span(property), format!("{} is written twice", key_in(key, path)))
                        .label("again here")
                        .other(first, "first here")
                        .hint("keep one of the two"),
                );
            }
            match known.get(key) {
                Some(entry) => self.value(&property.value, entry, &joined(path, key)),
                None => {
                    let problem = unknown_key(key, path, &known);
                    self.problems.push(Problem { span: key_span(property), ..problem });
                }
            }
        }
        let required = schema.get("required").and_then(Json::as_array).into_iter().flatten();
        for key in required.filter_map(Json::as_str).filter(|key| !seen.contains_key(*key)) {
            let place = span(object).start;
            let example = known.get(key).map(|entry| self.example(entry)).unwrap_or_default();
            self.problems.push(
                Problem::error(place..place + 1, format!("{} has no `{key}`", part_named(path)))
                    .hint(format!("write it like this: \"{key}\": {example}")),
            );
        }
        self.excluded(object, schema, path);
    }

    /// Reports keys of which only one may be given.
    fn excluded(&mut self, object: &Object, schema: &Json, path: &str) {
        let Some(keys) = schema.pointer("/not/required").and_then(Json::as_array) else { return };
        let given: Vec<_> = keys
            .iter()
            .filter_map(|key| object.properties.iter().find(|p| Some(p.name.as_str()) == key.as_str()))
            .collect();
        if let ([first, .., last], true) = (given.as_slice(), given.len() == keys.len()) {
            self.problems.push(
                Problem::error(
                    key_span(last),
                    format!(
                        "{} has both `{}` and `{}`",
                        part_named(path),
                        first.name.as_str(),
                        last.name.as_str()
                    ),
                )
                .other(key_span(first), "the one")
                .label("the other")
                .hint("give one of the two"),
            );
        }
    }

    fn array(&mut self, array: &Array, schema: &'s Json, path: &str) {
        let bound = |keyword| schema.get(keyword).and_then(Json::as_u64).map(|bound| bound as usize);
        let (least, most) = (bound("minItems").unwrap_or(0), bound("maxItems").unwrap_or(usize::MAX));
        let count = array.elements.len();
        if count < least || count > most {
            let wanted = match (least, most) {
                _ if least == most => least.to_string(),
                (_, usize::MAX) => format!("at least {least}"),
                _ => format!("{least} to {most}"),
            };
            let entries = if count == 1 { "entry" } else { "entries" };
            self.problems.push(
                Problem::error(span(array), format!("`{path}` has {count} {entries}, not {wanted}"))
                    .hint(format!("write it like this: {}", self.example(schema))),
            );
        }
        let Some(items) = schema.get("items") else { return };
        for (at, element) in array.elements.iter().enumerate() {
            self.value(element, items, &format!("{path}[{at}]"));
        }
    }

    fn text(&mut self, text: &str, value: &Value, schema: &Json, path: &str) {
        if let Some(error) =
            schema.get(FORM_KEYWORD).and_then(Json::as_str).and_then(|form| quantity::refused(form, text))
        {
            self.problems
                .push(Problem::error(span(value), format!("`{path}`: {}", error.message)).hint(error.hint));
        }
        let least = schema.get("minLength").and_then(Json::as_u64).unwrap_or(0);
        if (text.chars().count() as u64) < least {
            self.problems.push(Problem::error(span(value), format!("`{path}` is empty")));
        }
    }

    fn number(&mut self, number: &NumberLit, schema: &Json, path: &str) {
        let place = span(number);
        if let Some(dimension) =
            schema.get(FORM_KEYWORD).and_then(Json::as_str).and_then(quantity::dimension_named)
        {
            let unit = dimension.units()[0].names[0];
            self.problems.push(Problem::error(place, format!("`{path}` has no unit")).hint(format!(
                "write it as text with its unit: \"{} {unit}\" (units: {})",
                number.value,
                dimension.allowed()
            )));
            return;
        }
        let value: f64 = number.value.parse().unwrap_or(f64::NAN);
        if !value.is_finite() {
            self.problems.push(Problem::error(
                place,
                format!("`{path}`: `{}` is too large for a number", shortened(number.value)),
            ));
            return;
        }
        if schema.get("type").is_some_and(|kind| kind == "integer") && value.fract() != 0.0 {
            self.problems.push(Problem::error(
                place,
                format!("`{path}` is {}, not a whole number", shortened(number.value)),
            ));
            return;
        }
        let bound = |keyword| schema.get(keyword).and_then(Json::as_f64);
        let (least, most) = (bound("minimum"), bound("maximum"));
        if least.is_some_and(|least| value < least) || most.is_some_and(|most| value > most) {
            let allowed = match (least, most) {
                (Some(least), Some(most)) => format!("{least} to {most}"),
                (Some(least), None) => format!("{least} and more"),
                (None, most) => format!("up to {}", most.unwrap_or(f64::MAX)),
            };
            self.problems.push(
                Problem::error(place, format!("`{path}` is {}", shortened(number.value)))
                    .hint(format!("allowed: {allowed}")),
            );
        }
    }

    fn wrong_type(&mut self, value: &Value, wanted: &str, schema: &'s Json, path: &str) {
        let form = schema.get(FORM_KEYWORD).and_then(Json::as_str);
        if let (Value::NumberLit(number), true) = (value, form.and_then(quantity::dimension_named).is_some())
        {
            return self.number(number, schema, path);
        }
        if let (Value::NullKeyword(_), false) = (value, path.is_empty()) {
            self.problems.push(
                Problem::error(span(value), format!("`{path}` is null")).hint("leave out what is not known"),
            );
            return;
        }
        // The mark covers one line, because an object may have hundreds.
        let place = match value {
            Value::Object(_) | Value::Array(_) => span(value).start..span(value).start + 1,
            _ => span(value),
        };
        let found = kind_found(value);
        let wanted = kind_wanted(wanted);
        let subject = if path.is_empty() { "the file".into() } else { format!("`{path}`") };
        self.problems.push(
            Problem::error(place, format!("{subject} is {found}, not {wanted}"))
                .hint(format!("write it like this: {}", self.example(schema))),
        );
    }

    fn one_of(&mut self, value: &Value, allowed: &[&Json], path: &str) {
        let matches = allowed.iter().any(|constant| match (value, constant) {
            (Value::StringLit(text), Json::String(constant)) => text.value == constant.as_str(),
            (Value::NumberLit(number), Json::Number(constant)) => {
                number.value.parse::<f64>().ok() == constant.as_f64()
            }
            _ => false,
        });
        if matches {
            return;
        }
        let list: Vec<_> = allowed.iter().map(|constant| constant.to_string().replace('"', "`")).collect();
        let words = allowed.iter().filter_map(|constant| constant.as_str());
        let (found, meant) = match value {
            Value::StringLit(text) => (format!("`{}`", shortened(&text.value)), nearest(&text.value, words)),
            Value::NumberLit(number) => (shortened(number.value), None),
            _ => (kind_found(value).to_owned(), None),
        };
        let allowed = format!("allowed: {}", list.join(", "));
        let place = span(value);
        let place = if matches!(value, Value::Object(_) | Value::Array(_)) {
            place.start..place.start + 1
        } else {
            place
        };
        self.problems.push(Problem::error(place, format!("`{path}` is {found}")).hint(match meant {
            Some(meant) => format!("did you mean `{meant}`? {allowed}"),
            None => allowed,
        }));
    }

    /// Reports the problems of the branch that fits best: the one with the fewest.
    fn nearest_branch(&mut self, value: &Value, branches: &'s [Json], path: &str) {
        let found = branches.iter().map(|branch| {
            let mut walk = Walk { root: self.root, problems: Vec::new() };
            walk.value(value, branch, path);
            (walk.problems, branch)
        });
        let Some((mut problems, chosen)) = found.min_by_key(|(problems, _)| problems.len()) else { return };
        if let Value::Object(object) = value {
            for problem in &mut problems {
                self.explain_other_branch(problem, object, branches, chosen, path);
            }
        }
        self.problems.extend(problems);
    }

    /// Explains a key that is unknown only because the other entries belong to another branch.
    fn explain_other_branch(
        &self,
        problem: &mut Problem,
        object: &Object,
        branches: &'s [Json],
        chosen: &Json,
        path: &str,
    ) {
        let Some(property) = object.properties.iter().find(|property| key_span(property) == problem.span)
        else {
            return;
        };
        let key = property.name.as_str();
        let known = |branch: &'s Json| self.resolved(branch)["properties"].as_object();
        let belongs_elsewhere = branches
            .iter()
            .filter(|branch| !std::ptr::eq(*branch, chosen))
            .any(|branch| known(branch).is_some_and(|known| known.contains_key(key)));
        if belongs_elsewhere {
            let kinds: Vec<_> = branches
                .iter()
                .map(|branch| {
                    let branch = self.resolved(branch);
                    let required = branch.get("required").or_else(|| branch.get(WHOLE_KEYWORD));
                    let required = required.and_then(Json::as_array).into_iter().flatten();
                    let keys: Vec<_> =
                        required.filter_map(Json::as_str).map(|key| format!("`{key}`")).collect();
                    keys.join(" and ")
                })
                .collect();
            problem.message = format!("`{key}` does not go with the other keys of `{path}`");
            problem.hint = Some(format!("give either {}", kinds.join(", or ")));
        }
    }

    /// An example of a value of this schema.
    fn example(&self, schema: &'s Json) -> String {
        if let Some(example) = schema.get("examples").and_then(|examples| examples.get(0)) {
            return inline(example);
        }
        let schema = self.resolved(schema);
        if let Some(example) = schema.get("examples").and_then(|examples| examples.get(0)) {
            return inline(example);
        }
        if let Some([first, ..]) = constants(schema).as_deref() {
            return first.to_string();
        }
        if let Some([first, ..]) = schema.get("anyOf").and_then(Json::as_array).map(Vec::as_slice) {
            return self.example(first);
        }
        match schema.get("type").and_then(Json::as_str) {
            Some("object") => {
                let keys = |list: Option<&'s Json>| list.and_then(Json::as_array).into_iter().flatten();
                let mut shown: Vec<_> = keys(schema.get("required")).filter_map(Json::as_str).collect();
                if shown.is_empty() {
                    // Of keys that exclude each other, only the first.
                    let excluded: Vec<_> =
                        keys(schema.pointer("/not/required")).skip(1).filter_map(Json::as_str).collect();
                    let all = schema.get("properties").and_then(Json::as_object).into_iter().flatten();
                    shown = all.map(|(key, _)| key.as_str()).filter(|key| !excluded.contains(key)).collect();
                }
                let entries: Vec<_> = shown
                    .into_iter()
                    .map(|key| format!("\"{key}\": {}", self.example(&schema["properties"][key])))
                    .collect();
                if entries.is_empty() { "{}".into() } else { format!("{{ {} }}", entries.join(", ")) }
            }
            Some("array") => {
                let count = schema.get("minItems").and_then(Json::as_u64).unwrap_or(1) as usize;
                let item = schema.get("items").map(|items| self.example(items)).unwrap_or_default();
                format!("[{}]", vec![item; count].join(", "))
            }
            Some("number" | "integer") => "1".into(),
            Some("boolean") => "true".into(),
            _ => "\"text\"".into(),
        }
    }
}

/// JSON on one line with a space after every comma and colon.
fn inline(value: &Json) -> String {
    match value {
        Json::Array(items) => format!("[{}]", items.iter().map(inline).collect::<Vec<_>>().join(", ")),
        Json::Object(entries) => {
            let entries: Vec<_> =
                entries.iter().map(|(key, value)| format!("\"{key}\": {}", inline(value))).collect();
            format!("{{ {} }}", entries.join(", "))
        }
        other => other.to_string(),
    }
}

/// The allowed values, if a schema lists them.
fn constants(schema: &Json) -> Option<Vec<&Json>> {
    if let Some(values) = schema.get("enum").and_then(Json::as_array) {
        return Some(values.iter().collect());
    }
    if let Some(value) = schema.get("const") {
        return Some(vec![value]);
    }
    let branches = schema.get("oneOf")?.as_array()?;
    let mut all = Vec::new();
    for branch in branches {
        all.extend(constants(branch)?);
    }
    Some(all)
}

fn unknown_key(key: &str, path: &str, known: &HashMap<&str, &Json>) -> Problem {
    let mut keys: Vec<_> = known.keys().copied().collect();
    keys.sort_unstable();
    let list = keys.iter().map(|key| format!("`{key}`")).collect::<Vec<_>>().join(", ");
    let message = format!("unknown key {}", key_in(&shortened(key), path));
    Problem::error(0..0, message).hint(match nearest(key, keys.iter().copied()) {
        Some(meant) => format!("did you mean `{meant}`? known here: {list}"),
        None => format!("known here: {list}"),
    })
}

fn key_in(key: &str, path: &str) -> String {
    if path.is_empty() { format!("`{key}`") } else { format!("`{key}` in `{path}`") }
}

fn part_named(path: &str) -> String {
    if path.is_empty() { "the file".into() } else { format!("`{path}`") }
}

fn joined(path: &str, key: &str) -> String {
    if path.is_empty() { key.to_owned() } else { format!("{path}.{key}") }
}

fn kind_found(value: &Value) -> &'static str {
    match value {
        Value::StringLit(_) => "text",
        Value::NumberLit(_) => "a number",
        Value::BooleanLit(_) => "true or false",
        Value::Object(_) => "an object",
        Value::Array(_) => "a list",
        Value::NullKeyword(_) => "null",
    }
}

fn kind_wanted(kind: &str) -> &'static str {
    match kind {
        "string" => "text",
        "number" => "a number",
        "integer" => "a whole number",
        "boolean" => "true or false",
        "object" => "an object",
        _ => "a list",
    }
}
