//! What is typed into one field, set in the text of the file.

use super::schema::{at, fixed_length, list_in, schema, single};
use super::values::values_of;
use coilwright::Document;
use coilwright::files::spec;
use serde_json::Value;
use std::borrow::Cow;

/// The text with one field set to what was typed, as the JSON type that the schema asks for. An empty value removes the
/// field, and a decimal comma becomes a point. Nothing else of the text changes.
///
/// `None` if the pointer leads to no field, or if the text holds something there that a field cannot show.
pub fn with_field(kind: Document, text: &str, pointer: &str, typed: &str) -> Option<String> {
    let schema = schema(kind);
    let written = spec::loose_value(text).filter(Value::is_object)?;
    let wanted = single(schema, at(schema, pointer)?)?;
    let typed = &*if is_quantity(wanted) { with_point(typed.trim()) } else { typed.trim().into() };
    let number = || serde_json::from_str::<Value>(typed).ok().filter(Value::is_number);
    let is_text = wanted["type"] == "string" || wanted["oneOf"].is_array();
    let value = match typed {
        "" => None,
        "true" | "false" if wanted["type"] == "boolean" => Some(Value::Bool(typed == "true")),
        _ if is_text => Some(typed.into()),
        _ => Some(number().unwrap_or_else(|| typed.into())),
    };
    let change = Change { schema, text, written: &written, pointer, value: value.as_ref() };
    let (changed, within) = change.made()?;
    // A text in which anything else would change is left alone.
    let after = spec::loose_value(&changed)?;
    let elsewhere = |written: &Value| {
        let mut values = values_of(written);
        values.retain(|key, _| !is_within(key, within));
        values
    };
    (elsewhere(&written) == elsewhere(&after)).then_some(changed)
}

/// The text without one item of a list of any length. `None` if the pointer leads to no such item.
pub fn without_item(kind: Document, text: &str, pointer: &str) -> Option<String> {
    let schema = schema(kind);
    let (list, place) = pointer.rsplit_once('/')?;
    let written = spec::loose_value(text)?;
    let items = written.pointer(list)?.as_array()?;
    let is_free = list_in(schema, at(schema, list)?).is_some_and(|list| fixed_length(list).is_none());
    let is_there = place.parse().is_ok_and(|place: usize| place < items.len());
    match items.len() {
        _ if !is_free || !is_there => None,
        // An empty list may be wrong where a missing one is not.
        1 => spec::with_value(text, list, None),
        _ => spec::without_item(text, pointer),
    }
}

pub(super) fn is_within(pointer: &str, whole: &str) -> bool {
    pointer.strip_prefix(whole).is_some_and(|rest| rest.is_empty() || rest.starts_with('/'))
}

/// One field of a text set anew.
struct Change<'a> {
    schema: &'a Value,
    text: &'a str,
    written: &'a Value,
    pointer: &'a str,
    /// `None` if the field was emptied.
    value: Option<&'a Value>,
}

impl<'a> Change<'a> {
    /// The changed text, and the pointer within which it changed.
    fn made(&self) -> Option<(String, &'a str)> {
        if let Some(whole) = self.other_form() {
            let schema = at(self.schema, whole)?;
            let list = list_in(self.schema, schema)?;
            let rest = &self.pointer[whole.len()..];
            let Some(value) = self.value else { return Some((self.text.to_owned(), self.pointer)) };
            return Some((spec::with_value(self.text, whole, Some(&listed(list, rest, value)?))?, whole));
        }
        let there = self.written.pointer(self.pointer);
        if there.is_some_and(|it| it.is_object() || it.is_array()) {
            // Only where the field and the list are two forms of one value does the field replace the list.
            list_in(self.schema, at(self.schema, self.pointer)?)?;
            let text = self.text.to_owned();
            return match self.value {
                None => Some((text, self.pointer)),
                Some(_) => Some((spec::with_value(self.text, self.pointer, self.value)?, self.pointer)),
            };
        }
        if let Some((list, place)) = self.pointer.rsplit_once('/')
            && let Some(schema) = at(self.schema, list).and_then(|it| list_in(self.schema, it))
        {
            return self.in_list(list, place.parse().ok()?, schema);
        }
        if let (None, Some(item)) = (self.value, self.emptied_item()) {
            // The items that follow keep their places.
            let empty = Value::Object(serde_json::Map::new());
            return Some((spec::with_value(self.text, item, Some(&empty))?, self.pointer));
        }
        Some((spec::with_value(self.text, self.pointer, self.value)?, self.pointer))
    }

    /// The value above this one that is written as a word although a list of values may stand there as well.
    fn other_form(&self) -> Option<&'a str> {
        let ends = self.pointer.match_indices('/').map(|(end, _)| end).skip(1);
        ends.map(|end| &self.pointer[..end]).find(|above| {
            self.written.pointer(above).is_some_and(|it| !it.is_object() && !it.is_array() && !it.is_null())
        })
    }

    /// Sets one place of a list of single values.
    ///
    /// A list of fixed length is kept as long as one place is filled. Places beside the first that is filled get zero
    /// where that is the usual value, and else an empty text, which checking reports as missing.
    fn in_list(&self, list: &'a str, place: usize, schema: &Value) -> Option<(String, &'a str)> {
        let there = self.written.pointer(list).and_then(Value::as_array);
        let items = there.map_or(&[][..], Vec::as_slice);
        let Some(length) = fixed_length(schema) else {
            return match self.value {
                None if place < items.len() && items.len() == 1 => {
                    Some((spec::with_value(self.text, list, None)?, list))
                }
                None if place < items.len() => Some((spec::without_item(self.text, self.pointer)?, list)),
                None => Some((self.text.to_owned(), self.pointer)),
                Some(_) => Some((spec::with_value(self.text, self.pointer, self.value)?, self.pointer)),
            };
        };
        if place >= length {
            return None;
        }
        let is_blank = |it: &Value| it.as_str().is_some_and(|it| it.trim().is_empty()) || it.is_null();
        let key = list.rsplit('/').next().unwrap_or_default();
        let zero = || zero_like(self.value.or(items.get(place)), schema);
        let others = || items.iter().enumerate().filter(|(at, _)| *at != place).map(|(_, it)| it);
        match self.value {
            Some(_) if items.len() > place => {
                Some((spec::with_value(self.text, self.pointer, self.value)?, self.pointer))
            }
            Some(value) => {
                let beside = if is_usually_zero(key) { zero() } else { "".into() };
                let at = |it: usize| {
                    if it == place { value.clone() } else { items.get(it).unwrap_or(&beside).clone() }
                };
                let whole: Value = (0..length).map(at).collect();
                Some((spec::with_value(self.text, list, Some(&whole))?, list))
            }
            None if items.len() <= place => Some((self.text.to_owned(), self.pointer)),
            None if others().all(is_blank) => Some((spec::with_value(self.text, list, None)?, list)),
            None if is_zero_if_missing(key) && others().all(is_zero) => {
                Some((spec::with_value(self.text, list, None)?, list))
            }
            None => {
                let left = if is_zero_if_missing(key) { zero() } else { "".into() };
                Some((spec::with_value(self.text, self.pointer, Some(&left))?, self.pointer))
            }
        }
    }

    /// The item of a list that has nothing left without this value, unless it is the list's last.
    fn emptied_item(&self) -> Option<&'a str> {
        let ends = self.pointer.match_indices('/').map(|(end, _)| end).skip(2);
        let mut items = ends.map(|end| &self.pointer[..end]).filter(|item| {
            item.rsplit_once('/').is_some_and(|(list, place)| {
                let items = self.written.pointer(list).and_then(Value::as_array);
                items.is_some_and(|items| place.parse().is_ok_and(|place: usize| place + 1 < items.len()))
            })
        });
        items.find(|item| {
            let values = values_of(self.written);
            values.keys().filter(|key| is_within(key, item)).all(|key| is_within(key, self.pointer))
        })
    }
}

/// A new list that holds one value, at this pointer within it.
fn listed(list: &Value, pointer: &str, value: &Value) -> Option<Value> {
    let (place, below) = pointer.strip_prefix('/').map(|it| it.split_once('/').unwrap_or((it, "")))?;
    let place: usize = place.parse().ok()?;
    let inner = |value: Value, key: &str| {
        let mut keys = serde_json::Map::new();
        keys.insert(key.replace("~1", "/").replace("~0", "~"), value);
        Value::Object(keys)
    };
    let item = below.rsplit('/').filter(|key| !key.is_empty()).fold(value.clone(), inner);
    let length = fixed_length(list).unwrap_or(1);
    let at = |it: usize| if it == place { item.clone() } else { "".into() };
    (place < length).then(|| (0..length).map(at).collect())
}

/// Lists whose places are zero unless something else is said.
pub(super) fn is_usually_zero(key: &str) -> bool {
    is_zero_if_missing(key) || matches!(key, "gun_exit" | "gun_direction")
}

/// Lists that mean the same if they are left out as if all their places are zero.
fn is_zero_if_missing(key: &str) -> bool {
    matches!(key, "offset" | "tilt" | "bulb_centre")
}

fn is_zero(value: &Value) -> bool {
    match value.as_str() {
        Some(text) => number_of(text).is_some_and(|(number, _)| number == 0.0),
        None => value.as_f64() == Some(0.0),
    }
}

/// A number at the beginning of a text, and what follows it.
fn number_of(text: &str) -> Option<(f64, &str)> {
    let text = text.trim();
    let end = text.find(|it: char| !(it.is_ascii_digit() || "+-.,−".contains(it))).unwrap_or(text.len());
    let number = text[..end].replace('−', "-").replace(',', ".").parse().ok()?;
    Some((number, text[end..].trim()))
}

/// Zero in the unit of this value, or else of the schema's example.
pub(super) fn zero_like(value: Option<&Value>, list: &Value) -> Value {
    if list["items"]["type"] == "number" {
        return 0.into();
    }
    let unit = |value: &Value| {
        value.as_str().and_then(number_of).map(|(_, unit)| unit.to_owned()).filter(|unit| !unit.is_empty())
    };
    let example = || unit(&list["examples"][0][0]);
    format!("0 {}", value.and_then(unit).or_else(example).unwrap_or_default()).trim_end().into()
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

/// Whether a field takes a number, with or without a unit.
fn is_quantity(schema: &Value) -> bool {
    let example = schema["examples"][0].as_str().unwrap_or_default();
    schema["type"] == "number" || example.starts_with(|first: char| first.is_ascii_digit() || first == '-')
}
