//! `schema` against `check`: a small validator reads the published schema and must agree with the checker in both
//! directions.

use crate::program::{example_specs, json as printed};
use coilwright::Error;
use coilwright::error::Stage;
use coilwright::files::spec;
use proptest::prelude::*;
use proptest::test_runner::{Config, TestRunner};
use regex::Regex;
use serde_json::{Value, json};
use std::cell::RefCell;
use std::collections::HashMap;

/// Whether a document is valid. Knows the assertions that the generator uses and panics at any other.
fn valid(document: &Value, schema: &Value, root: &Value) -> bool {
    let keywords = schema.as_object().expect("a schema is an object");
    keywords.iter().all(|(keyword, wanted)| match keyword.as_str() {
        "$schema" | "$defs" | "title" | "description" | "examples" | "format" | "x-form" => true,
        "$ref" => {
            let pointer = wanted.as_str().and_then(|text| text.strip_prefix('#')).expect("a local reference");
            valid(document, root.pointer(pointer).expect("the reference leads somewhere"), root)
        }
        "type" => match wanted.as_str().expect("one type") {
            "object" => document.is_object(),
            "array" => document.is_array(),
            "string" => document.is_string(),
            "number" => document.is_number(),
            "integer" => document.as_f64().is_some_and(|number| number.fract() == 0.0),
            other => panic!("type {other}"),
        },
        "properties" => document.as_object().is_none_or(|object| {
            object.iter().all(|(key, value)| wanted.get(key).is_none_or(|entry| valid(value, entry, root)))
        }),
        "additionalProperties" => {
            assert_eq!(wanted, &json!(false));
            let known = schema["properties"].as_object();
            document.as_object().is_none_or(|object| {
                object.keys().all(|key| known.is_some_and(|known| known.contains_key(key)))
            })
        }
        "required" => document.as_object().is_none_or(|object| {
            wanted.as_array().unwrap().iter().all(|key| object.contains_key(key.as_str().unwrap()))
        }),
        "not" => !valid(document, wanted, root),
        "anyOf" => wanted.as_array().unwrap().iter().any(|branch| valid(document, branch, root)),
        "oneOf" => {
            wanted.as_array().unwrap().iter().filter(|branch| valid(document, branch, root)).count() == 1
        }
        "enum" => wanted.as_array().unwrap().iter().any(|value| same(value, document)),
        "const" => same(wanted, document),
        "pattern" => document.as_str().is_none_or(|text| matches(wanted.as_str().unwrap(), text)),
        "minLength" => {
            document.as_str().is_none_or(|text| text.chars().count() as u64 >= wanted.as_u64().unwrap())
        }
        "minimum" => document.as_f64().is_none_or(|number| number >= wanted.as_f64().unwrap()),
        "maximum" => document.as_f64().is_none_or(|number| number <= wanted.as_f64().unwrap()),
        "minItems" => document.as_array().is_none_or(|array| array.len() as u64 >= wanted.as_u64().unwrap()),
        "maxItems" => document.as_array().is_none_or(|array| array.len() as u64 <= wanted.as_u64().unwrap()),
        "items" => {
            document.as_array().is_none_or(|array| array.iter().all(|element| valid(element, wanted, root)))
        }
        other => panic!("the validator does not know `{other}`"),
    })
}

/// Whether a text matches a pattern; each pattern is compiled once.
fn matches(pattern: &str, text: &str) -> bool {
    thread_local! {
        static COMPILED: RefCell<HashMap<String, Regex>> = RefCell::default();
    }
    COMPILED.with_borrow_mut(|compiled| {
        let entry = compiled.entry(pattern.to_owned());
        entry.or_insert_with(|| Regex::new(pattern).unwrap()).is_match(text)
    })
}

/// Equality as in JSON Schema: 1 and 1.0 are the same number.
fn same(one: &Value, other: &Value) -> bool {
    match (one.as_f64(), other.as_f64()) {
        (Some(one), Some(other)) => one == other,
        _ => one == other,
    }
}

/// Whether `check` finds nothing wrong with the structure.
fn structure_is_right(document: &Value) -> bool {
    match spec::bench_from_text("pair.json", &document.to_string()) {
        Ok(_) => true,
        Err(Error::Diagnosed { diagnosis, .. }) => diagnosis.stage() == Stage::Physics,
        Err(error) => panic!("{error}"),
    }
}

fn published() -> Value {
    printed(&["schema"])
}

fn examples() -> Vec<Value> {
    let read = |path| serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap();
    example_specs().into_iter().map(read).collect()
}

#[test]
fn the_schema_names_its_draft_and_accepts_every_example() {
    let schema = published();
    assert_eq!(schema["$schema"], "https://json-schema.org/draft/2020-12/schema");
    for example in examples() {
        assert!(valid(&example, &schema, &schema), "{example}");
    }
}

#[test]
fn every_kind_of_file_has_a_schema() {
    for kind in ["bench", "wanted", "measured"] {
        assert_eq!(printed(&["schema", kind])["additionalProperties"], false, "{kind}");
    }
}

#[test]
fn the_schema_rejects_what_check_rejects_on_structure() {
    let schema = published();
    let example = &examples()[0];
    for (pointer, value) in [
        ("/title", json!("")),
        ("/title", json!(7)),
        ("/axis", json!("slanted")),
        ("/axis", Value::Null),
        ("/winding/mean_radius", json!(160)),
        ("/winding/mean_radius", json!("160")),
        ("/winding/mean_radius", json!("160 A")),
        ("/winding/mean_radius", json!("1,6 mm")),
        ("/winding/mean_radius", json!("NaN mm")),
        ("/winding/turns", json!("160")),
        ("/winding/turns", json!(-1)),
        ("/winding/wire", json!({ "size": "AWG 19" })),
        ("/winding/wire", json!({ "size": "AWG 19", "build": "thick" })),
        ("/winding/wire", json!({ "size": "AWG 19", "build": "heavy", "bare_diameter": "1 mm" })),
        ("/tube/gun_exit", json!(["1 mm", "2 mm"])),
        ("/tube/gun_direction", json!([0, 1, 0, 0])),
        ("/tube/gun_direction", json!(["0 mm", "1 mm", "0 mm"])),
        ("/tube/beam_radius", json!("25 mm")),
        ("/supply", json!({ "voltage_limit": 30 })),
        ("/supply", json!({ "voltage_limit": "30 V", "current_limit": "3 A", "ripple": "1 %" })),
        (
            "/room",
            json!({ "field": ["1 uT", "1 uT", "1 uT"], "site": { "latitude": "50 deg", "longitude": "9 deg", "height": "1 m", "date": "2026-01-01", "axis_bearing": "0 deg" } }),
        ),
        (
            "/room",
            json!({ "site": { "latitude": "50 deg", "longitude": "9 deg", "height": "1 m", "date": "1.3.2026", "axis_bearing": "0 deg" } }),
        ),
        ("/price", json!({ "amount": 1, "currency": "Euro" })),
        ("/ammeter/accuracy_of_reading", json!(0.005)),
    ] {
        let mut bad = example.clone();
        *bad.pointer_mut(pointer).unwrap_or_else(|| panic!("{pointer}")) = value;
        assert!(!structure_is_right(&bad), "check accepts {pointer} in {bad}");
        assert!(!valid(&bad, &schema, &schema), "the schema accepts {pointer} in {bad}");
    }
}

/// A document with one of its values or keys changed.
fn changed(mut document: Value, at: usize, change: usize) -> Value {
    const VALUES: usize = 14;
    let mut paths = Vec::new();
    collect_paths(&document, String::new(), &mut paths);
    let path = &paths[at % paths.len()];
    let value = match change % (VALUES + 3) {
        0 => Value::Null,
        1 => json!(true),
        2 => json!(0),
        3 => json!(1.0),
        4 => json!(-3.5),
        5 => json!(1e300),
        6 => json!(""),
        7 => json!("12 mm"),
        8 => json!("−2.5 A"),
        9 => json!("20 °C"),
        10 => json!("grade 2"),
        11 => json!([]),
        12 => json!({}),
        13 => json!(["1 mm", "2 mm", "3 mm"]),
        rest => {
            let (parent, key) = path.rsplit_once('/').unwrap_or(("", ""));
            let Some(Value::Object(object)) = document.pointer_mut(parent) else { return document };
            match (rest - VALUES, object.remove(key)) {
                (1, Some(value)) => drop(object.insert(format!("{key}s"), value)),
                (2, Some(value)) => {
                    object.insert("size".into(), value.clone());
                    object.insert(key.into(), value);
                }
                _ => {}
            }
            return document;
        }
    };
    if let Some(place) = document.pointer_mut(path) {
        *place = value;
    }
    document
}

fn collect_paths(value: &Value, path: String, paths: &mut Vec<String>) {
    let children: Vec<(String, &Value)> = match value {
        Value::Object(object) => object.iter().map(|(key, child)| (format!("{path}/{key}"), child)).collect(),
        Value::Array(array) => {
            array.iter().enumerate().map(|(at, child)| (format!("{path}/{at}"), child)).collect()
        }
        _ => Vec::new(),
    };
    paths.push(path);
    for (path, child) in children {
        collect_paths(child, path, paths);
    }
}

#[test]
fn schema_and_check_agree_about_every_changed_example() {
    let schema = published();
    let examples = examples();
    let changes = prop::collection::vec((any::<usize>(), any::<usize>()), 1..3);
    let mut runner = TestRunner::new_with_rng(
        Config { cases: 1000, failure_persistence: None, ..Config::default() },
        proptest::test_runner::TestRng::deterministic_rng(proptest::test_runner::RngAlgorithm::ChaCha),
    );
    runner
        .run(&(0..examples.len(), changes), |(which, changes)| {
            let document = changes
                .iter()
                .fold(examples[which].clone(), |document, (at, change)| changed(document, *at, *change));
            prop_assert_eq!(
                valid(&document, &schema, &schema),
                structure_is_right(&document),
                "{}",
                document
            );
            Ok(())
        })
        .unwrap();
}
