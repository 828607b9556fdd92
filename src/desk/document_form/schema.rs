//! What the JSON Schema of a document says about a value.

use coilwright::Document;
use coilwright::files::spec;
use serde_json::Value;

/// The schema of a single value, where a value may also be a list or a group of values.
pub(super) fn single<'a>(root: &'a Value, schema: &'a Value) -> Option<&'a Value> {
    let is_single =
        |it: &&Value| it["type"] != "array" && !it["properties"].is_object() && !it["anyOf"].is_array();
    forms_of(root, schema).into_iter().find(is_single)
}

/// The schema of a list, where a value may be one.
pub(super) fn list_in<'a>(root: &'a Value, schema: &'a Value) -> Option<&'a Value> {
    forms_of(root, schema).into_iter().find(|it| it["type"] == "array")
}

/// The forms that a value may have.
pub(super) fn forms_of<'a>(root: &'a Value, schema: &'a Value) -> Vec<&'a Value> {
    match schema["anyOf"].as_array() {
        Some(forms) => forms.iter().map(|form| meant(root, form)).collect(),
        None => vec![schema],
    }
}

/// The length of a list that has only one.
pub(super) fn fixed_length(list: &Value) -> Option<usize> {
    let length = list["minItems"].as_u64()?;
    (list["maxItems"] == length).then(|| usize::try_from(length).ok()).flatten()
}

pub(super) fn schema(kind: Document) -> &'static Value {
    match kind {
        Document::Spec => spec::bench_schema(),
        Document::Wishes => spec::wanted_schema(),
        Document::Measurements => spec::measured_schema(),
        Document::SupplierLimits => spec::supplier_limits_schema(),
    }
}

/// The schema that a reference stands for, or the schema itself if it is no reference.
pub(super) fn meant<'a>(root: &'a Value, schema: &'a Value) -> &'a Value {
    let name = schema["$ref"].as_str().and_then(|to| to.strip_prefix("#/$defs/"));
    name.map_or(schema, |name| &root["$defs"][name])
}

/// The schema of the value at a pointer. `None` if the schema has no such value.
pub(super) fn at<'a>(root: &'a Value, pointer: &str) -> Option<&'a Value> {
    let mut here = root;
    for key in pointer.split('/').skip(1) {
        let options = here["anyOf"]
            .as_array()
            .map_or_else(|| vec![here], |all| all.iter().map(|it| meant(root, it)).collect());
        let item = |it: &'a Value| {
            let place: usize = key.parse().ok()?;
            let is_there = it["maxItems"].as_u64().is_none_or(|most| (place as u64) < most);
            it.get("items").filter(|_| is_there)
        };
        here = options.into_iter().find_map(|it| it["properties"].get(key).or_else(|| item(it)))?;
        here = meant(root, here);
    }
    Some(here)
}
