//! The values of a document by their pointers.

use coilwright::files::spec;
use serde_json::Value;
use std::collections::BTreeMap;

/// The values of a document by their pointers, as the form shows them.
pub fn values(text: &str) -> BTreeMap<String, String> {
    spec::loose_value(text).map(|written| values_of(&written)).unwrap_or_default()
}

pub(super) fn values_of(written: &Value) -> BTreeMap<String, String> {
    let mut values = BTreeMap::new();
    gather(written, String::new(), &mut values);
    values
}

fn gather(written: &Value, pointer: String, values: &mut BTreeMap<String, String>) {
    match written {
        Value::Object(keys) => {
            keys.iter().for_each(|(key, value)| gather(value, format!("{pointer}/{}", part(key)), values))
        }
        Value::Array(items) => {
            items
                .iter()
                .enumerate()
                .for_each(|(place, value)| gather(value, format!("{pointer}/{place}"), values));
        }
        leaf => drop(values.insert(pointer, shown(leaf))),
    }
}

pub(super) fn shown(value: &Value) -> String {
    match value {
        Value::String(text) => text.clone(),
        Value::Null => String::new(),
        other => other.to_string(),
    }
}

pub(super) fn part(key: &str) -> String {
    key.replace('~', "~0").replace('/', "~1")
}
