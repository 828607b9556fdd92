//! A form for a document that people write, made from the document's JSON Schema. Titles, units, examples and help come
//! from the schema.

use coilwright::Document;
use coilwright::files::spec;
use serde_json::Value;
use std::borrow::Cow;
use std::collections::BTreeMap;

/// Greatest depth of nested parts in a form.
const DEEPEST: usize = 6;

/// A part of a form: its fields and the parts nested in it.
pub struct Part {
    pub label: String,
    pub help: String,
    /// Whether the part is shown open, because the document has it or requires it.
    pub is_open: bool,
    needed: bool,
    pub fields: Vec<Field>,
    pub parts: Vec<Part>,
}

impl Part {
    /// The field of the value at this pointer.
    pub fn field(&self, pointer: &str) -> Option<&Field> {
        let own = self.fields.iter().find(|field| field.pointer == pointer);
        own.or_else(|| self.parts.iter().find_map(|part| part.field(pointer)))
    }
}

/// A field of a form.
#[derive(Clone)]
pub struct Field {
    /// JSON pointer of the value.
    pub pointer: String,
    pub label: String,
    pub help: String,
    /// An example, shown as long as the field is empty.
    pub example: String,
    pub needed: bool,
    pub value: String,
    /// The allowed words if there are only a few, each with its help.
    pub choices: Vec<(String, String)>,
    /// Whether the value moves something in the picture and can therefore be dragged.
    pub drags: bool,
}

/// What the schema says about a single value.
struct Leaf<'a> {
    name: String,
    schema: &'a Value,
    of_use: &'a Value,
    needed: bool,
}

/// Makes the form for a document of this kind, filled with the values of the text.
pub fn form(kind: Document, text: &str) -> Part {
    let schema = schema(kind);
    let written: Value = serde_json::from_str(text).unwrap_or(Value::Null);
    Maker { root: &schema, written: &written }.part("", "", &schema, &Value::Null, true, 0)
}

/// The text with one field set to what was typed, as the JSON type that the schema asks for. An empty value removes the
/// field, and a decimal comma becomes a point. `None` if the pointer leads to no field.
pub fn with_field(kind: Document, text: &str, pointer: &str, typed: &str) -> Option<String> {
    let schema = schema(kind);
    let wanted = at(&schema, pointer)?;
    let typed = &*if is_quantity(wanted) { with_point(typed.trim()) } else { typed.trim().into() };
    let number = || serde_json::from_str::<Value>(typed).ok().filter(Value::is_number);
    let is_text = wanted["type"] == "string" || wanted["oneOf"].is_array();
    let value = match typed {
        "" => None,
        "true" | "false" if wanted["type"] == "boolean" => Some(Value::Bool(typed == "true")),
        _ if is_text => Some(typed.into()),
        _ => Some(number().unwrap_or_else(|| typed.into())),
    };
    match list_with(&schema, text, pointer, value.as_ref()) {
        Some((list, whole)) => spec::with_value(text, list, whole.as_ref()),
        None => spec::with_value(text, pointer, value.as_ref()),
    }
}

/// Whether a field takes a number, with or without a unit.
fn is_quantity(schema: &Value) -> bool {
    let example = schema["examples"][0].as_str().unwrap_or_default();
    schema["type"] == "number" || example.starts_with(|first: char| first.is_ascii_digit() || first == '-')
}

/// "16,5 cm" with a decimal point. One comma before three digits may separate thousands and stays, to be told.
fn with_point(typed: &str) -> Cow<'_, str> {
    let Some((whole, rest)) = typed.split_once(',') else { return typed.into() };
    let digits = rest.bytes().take_while(u8::is_ascii_digit).count();
    let signless = whole.trim_start_matches(['-', '+', '−']);
    let is_number = !signless.is_empty() && signless.bytes().all(|it| it.is_ascii_digit());
    let after = &rest[digits..];
    let is_decimal = is_number && digits > 0 && digits != 3 && !after.contains([',', '.']);
    if is_decimal { format!("{whole}.{rest}").into() } else { typed.into() }
}

/// Sets one value of a list of fixed length. Returns the list's pointer and the new list, or `None` for a list that has
/// become empty. `None` altogether if the pointer leads into no such list.
///
/// The list is kept as long as one place is filled. An unfilled place holds an empty text, which checking then reports
/// as missing. So no value is invented, and none is lost with its neighbour.
fn list_with<'a>(
    schema: &Value,
    text: &str,
    pointer: &'a str,
    value: Option<&Value>,
) -> Option<(&'a str, Option<Value>)> {
    let (list, place) = pointer.rsplit_once('/')?;
    let length = usize::try_from(at(schema, list)?["minItems"].as_u64()?).ok()?;
    let place: usize = place.parse().ok().filter(|place| *place < length)?;
    let written: Value = serde_json::from_str(text).unwrap_or(Value::Null);
    let there = written.pointer(list).and_then(Value::as_array);
    let now = |at: usize| there.and_then(|items| items.get(at)).cloned();
    let empty = || Value::from("");
    let whole: Vec<Value> = (0..length)
        .map(|at| if at == place { value.cloned() } else { now(at) }.unwrap_or_else(empty))
        .collect();
    let is_empty = whole.iter().all(|it| it.as_str().is_some_and(|it| it.trim().is_empty()));
    Some((list, (!is_empty).then_some(Value::Array(whole))))
}

/// The values of a document by their pointers, as the form shows them.
pub fn values(text: &str) -> BTreeMap<String, String> {
    let mut values = BTreeMap::new();
    if let Ok(written) = serde_json::from_str(text) {
        gather(&written, String::new(), &mut values);
    }
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

fn schema(kind: Document) -> Value {
    match kind {
        Document::Spec => spec::bench_schema(),
        Document::Wishes => spec::wanted_schema(),
        Document::Measurements => spec::measured_schema(),
        Document::SupplierLimits => spec::supplier_limits_schema(),
    }
}

fn shown(value: &Value) -> String {
    match value {
        Value::String(text) => text.clone(),
        Value::Null => String::new(),
        other => other.to_string(),
    }
}

fn part(key: &str) -> String {
    key.replace('~', "~0").replace('/', "~1")
}

/// The schema that a reference stands for, or the schema itself if it is no reference.
fn meant<'a>(root: &'a Value, schema: &'a Value) -> &'a Value {
    let name = schema["$ref"].as_str().and_then(|to| to.strip_prefix("#/$defs/"));
    name.map_or(schema, |name| &root["$defs"][name])
}

/// The schema of the value at a pointer. `None` if the schema has no such value.
fn at<'a>(root: &'a Value, pointer: &str) -> Option<&'a Value> {
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

struct Maker<'a> {
    root: &'a Value,
    written: &'a Value,
}

impl<'a> Maker<'a> {
    fn part(
        &self,
        pointer: &str,
        name: &str,
        schema: &'a Value,
        of_use: &'a Value,
        needed: bool,
        depth: usize,
    ) -> Part {
        let has_it = self.written.pointer(pointer).is_some_and(|it| !it.is_null());
        let mut made = Part {
            label: name.replace('_', " "),
            help: help(schema, of_use),
            is_open: needed || has_it,
            needed,
            fields: Vec::new(),
            parts: Vec::new(),
        };
        for (key, used, needed) in self.properties(schema) {
            let schema = meant(self.root, used);
            let pointer = format!("{pointer}/{}", part(key));
            if depth >= DEEPEST {
                continue;
            }
            if schema["properties"].is_object() || schema["anyOf"].is_array() {
                made.parts.push(self.part(&pointer, key, schema, used, needed, depth + 1));
            } else if schema["type"] == "array" {
                self.list(&pointer, key, schema, used, needed, depth, &mut made);
            } else {
                made.fields
                    .push(self.field(pointer, &Leaf { name: key.clone(), schema, of_use: used, needed }));
            }
        }
        // The title and required fields come first, then the schema's order.
        made.fields.sort_by_key(|field| (field.pointer != "/title", !field.needed));
        made.parts.sort_by_key(|part| (!part.needed, !part.is_open));
        made
    }

    /// The properties of an object. If it may have several forms: the properties of all forms.
    fn properties(&self, schema: &'a Value) -> Vec<(&'a String, &'a Value, bool)> {
        let forms: Vec<&Value> = match schema["anyOf"].as_array() {
            Some(forms) => forms.iter().map(|form| meant(self.root, form)).collect(),
            None => vec![schema],
        };
        let mut found: Vec<(&String, &Value, bool)> = Vec::new();
        for form in &forms {
            let required = |key: &str| {
                forms.len() == 1
                    && form["required"].as_array().is_some_and(|all| all.iter().any(|it| it == key))
            };
            for (key, value) in form["properties"].as_object().into_iter().flatten() {
                if found.iter().all(|(known, ..)| *known != key) {
                    found.push((key, value, required(key)));
                }
            }
        }
        found
    }

    #[allow(clippy::too_many_arguments)]
    fn list(
        &self,
        pointer: &str,
        key: &str,
        schema: &'a Value,
        used: &'a Value,
        needed: bool,
        depth: usize,
        made: &mut Part,
    ) {
        let items = meant(self.root, &schema["items"]);
        let written = self.written.pointer(pointer).and_then(Value::as_array).map_or(0, Vec::len);
        if items["properties"].is_object() {
            // The items that exist, followed by a blank one.
            for place in 0..=written.min(20) {
                let mut item = self.part(
                    &format!("{pointer}/{place}"),
                    &format!("{key} {}", place + 1),
                    items,
                    used,
                    false,
                    depth + 1,
                );
                item.is_open = place < written;
                made.parts.push(item);
            }
            return;
        }
        let names: &[&str] = match schema["minItems"].as_u64() {
            Some(3) => &["x", "y", "z"],
            Some(2) if key.contains("tilt") => &["x", "y"],
            Some(2) => &["least", "most"],
            _ => &["first"],
        };
        for (place, name) in names.iter().enumerate() {
            let leaf = Leaf { name: format!("{key}, {name}"), schema: items, of_use: used, needed };
            let mut field = self.field(format!("{pointer}/{place}"), &leaf);
            let example = Some(&used["examples"][0][place]).filter(|example| !example.is_null());
            field.example = example.map_or(field.example, shown);
            made.fields.push(field);
        }
    }

    fn field(&self, pointer: String, leaf: &Leaf) -> Field {
        let Leaf { schema, of_use, .. } = leaf;
        let example = [&of_use["examples"][0], &schema["examples"][0]]
            .into_iter()
            .find(|it| !it.is_null() && !it.is_array());
        let mut choices: Vec<(String, String)> = schema["oneOf"]
            .as_array()
            .into_iter()
            .flatten()
            .map(|choice| {
                (
                    shown(&choice["const"]),
                    choice["description"].as_str().unwrap_or_default().replace('\n', " "),
                )
            })
            .collect();
        choices.extend(schema["enum"].as_array().into_iter().flatten().map(|it| (shown(it), String::new())));
        if schema["type"] == "boolean" {
            choices = ["true", "false"].map(|it| (it.to_owned(), String::new())).into();
        }
        Field {
            value: self.written.pointer(&pointer).map(shown).unwrap_or_default(),
            label: leaf.name.replace('_', " "),
            help: help(schema, of_use),
            example: example.map(shown).unwrap_or_default(),
            needed: leaf.needed,
            drags: drags(&pointer),
            choices,
            pointer,
        }
    }
}

/// A text with backquoted words put in quotation marks.
fn quoted(text: &str) -> String {
    let parts = text.split('`').enumerate();
    parts.map(|(at, part)| if at % 2 == 1 { format!("“{part}”") } else { part.to_owned() }).collect()
}

/// Whether this quantity moves something in the picture.
fn drags(pointer: &str) -> bool {
    let place = |within: &str| pointer.starts_with(within);
    let shape = ["/mean_radius", "/width", "/depth", "/turns"].iter().any(|end| pointer.ends_with(end));
    pointer == "/spacing"
        || (shape && (place("/winding/") || place("/as_built/")))
        || pointer.contains("/offset/")
        || pointer.contains("/tilt/")
        || place("/tube/bulb_radius")
        || place("/tube/beam_radius/")
        || place("/tube/gun_exit/")
}

/// The help of a property, preferably that of the place where it is used. Words of the file are put in quotation marks.
fn help(schema: &Value, of_use: &Value) -> String {
    let said = |it: &Value| it["description"].as_str().map(|text| quoted(&text.replace('\n', " ")));
    said(of_use).or_else(|| said(schema)).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    const BENCH: &str = include_str!("../../coil-specs/window-bench.json");

    fn fields(part: &Part) -> Vec<&Field> {
        part.fields.iter().chain(part.parts.iter().flat_map(fields)).collect()
    }

    #[test]
    fn a_decimal_comma_in_a_field_with_a_number_is_a_point_and_elsewhere_stays() {
        let set = |pointer: &str, typed: &str| {
            values(&with_field(Document::Spec, "{}", pointer, typed).unwrap())[pointer].clone()
        };
        for (typed, wanted) in [
            ("16,5 cm", "16.5 cm"),
            ("-0,25 mm", "-0.25 mm"),
            // Thousands or thousandths: only the typist knows.
            ("1,650 mm", "1,650 mm"),
            ("1.650,5 mm", "1.650,5 mm"),
            ("16,5,2 cm", "16,5,2 cm"),
            (",5 cm", ",5 cm"),
        ] {
            assert_eq!(set("/spacing", typed), wanted);
        }
        assert_eq!(set("/winding/turns", "150,5"), "150.5");
        assert_eq!(set("/title", "16,5 cm"), "16,5 cm");
    }

    #[test]
    fn every_value_of_the_examples_stands_in_its_field() {
        for (kind, text) in [
            (Document::Spec, BENCH),
            (Document::Spec, include_str!("../../coil-specs/quote-used.json")),
            (Document::Wishes, include_str!("../../lab-files/lessons.json")),
            (Document::Measurements, include_str!("../../lab-files/delivery.json")),
            (Document::SupplierLimits, include_str!("../../lab-files/supplier-limits.json")),
        ] {
            let form = form(kind, text);
            let fields = fields(&form);
            for (pointer, value) in values(text) {
                // Lists without a fixed length are edited in the text.
                let Some(field) = fields.iter().find(|field| field.pointer == pointer) else {
                    assert!(
                        ["/fields/", "/prefer", "/search/"].iter().any(|list| pointer.contains(list)),
                        "{pointer} has no field"
                    );
                    continue;
                };
                assert_eq!(field.value, value, "{pointer}");
            }
        }
    }

    #[test]
    fn a_field_typed_as_it_stands_changes_nothing_and_a_new_one_is_right() {
        let form = form(Document::Spec, BENCH);
        for field in fields(&form).iter().filter(|field| !field.value.is_empty()) {
            let same = with_field(Document::Spec, BENCH, &field.pointer, &field.value).unwrap();
            assert_eq!(values(&same), values(BENCH), "{}", field.pointer);
        }
        let set = with_field(Document::Spec, BENCH, "/as_built/b/tilt/0", "0.1 deg").unwrap();
        let set = with_field(Document::Spec, &set, "/as_built/b/tilt/1", "0 deg").unwrap();
        assert!(spec::check_document_text("pair.json", &set).is_ok(), "{set}");
        let set = with_field(Document::Spec, BENCH, "/winding/turns", "151.5").unwrap();
        assert!(set.contains("151.5") && !set.contains("\"151.5\""), "{set}");
        assert_eq!(with_field(Document::Spec, BENCH, "/no/such", "1"), None);
    }

    #[test]
    fn a_place_of_a_list_is_cleared_and_typed_anew_and_its_neighbours_stay() {
        let typed = |text: &str, value| with_field(Document::Spec, text, "/tube/gun_exit/0", value).unwrap();
        let before = values(BENCH);
        let cleared = typed(BENCH, "");
        assert_eq!(values(&cleared)["/tube/gun_exit/0"], "");
        assert_eq!(values(&cleared)["/tube/gun_exit/1"], before["/tube/gun_exit/1"]);
        assert!(spec::check_document_text("pair.json", &cleared).is_err());
        assert_eq!(values(&typed(&cleared, &before["/tube/gun_exit/0"])), before);
        // The list appears with its first value and disappears with its last; no value is invented beside it.
        let set = with_field(Document::Spec, BENCH, "/as_built/a/tilt/1", "0.1 deg").unwrap();
        assert_eq!(values(&set)["/as_built/a/tilt/0"], "");
        let out = with_field(Document::Spec, &set, "/as_built/a/tilt/1", "").unwrap();
        assert!(!values(&out).contains_key("/as_built/a/tilt/1"), "{out}");
    }

    #[test]
    fn nothing_that_is_typed_is_taken_for_a_place_of_the_text() {
        for pointer in ["/tube/gun_exit/7", "/winding/turns/0", "//", "/~2", "/as_built/99999999/x"] {
            assert_eq!(with_field(Document::Spec, BENCH, pointer, "1 mm"), None, "{pointer}");
        }
    }
}
