//! Sets one value of a file, for example from a form. Everything else, including comments and layout, stays as it was.

use super::syntax;
use jsonc_parser::ast;
use jsonc_parser::common::Ranged;
use jsonc_parser::cst::{CstArray, CstInputValue, CstNode, CstObject, CstRootNode};
use jsonc_parser::{CollectOptions, ParseOptions};
use serde_json::Value;

/// The text with the value at a JSON pointer (RFC 6901) set. `value` `None` removes it, together with parents that
/// become empty.
///
/// Missing parents are added. Returns `None` if the text is not a JSON object, or if the pointer leads through
/// something that is neither an object nor a list.
///
/// ```
/// use coilwright::files::spec::with_value;
/// let text = "{\n  \"title\": \"Pair\", // as on the label\n  \"spacing\": \"150 mm\"\n}\n";
/// let changed = with_value(text, "/spacing", Some(&"148 mm".into())).unwrap();
/// assert_eq!(changed, text.replace("150", "148"));
/// ```
pub fn with_value(text: &str, pointer: &str, value: Option<&Value>) -> Option<String> {
    let root = CstRootNode::parse(text, &ParseOptions::default()).ok()?;
    let parts: Vec<String> = parts(pointer)?;
    let object = root.object_value()?;
    match value {
        Some(value) => set_in_object(&object, &parts, value)?,
        None => drop(remove_from_object(&object, &parts)),
    }
    Some(root.to_string())
}

/// The text with one item of a list taken out, given by its JSON pointer. The other items and the layout stay. `None` if
/// the pointer leads to no item.
pub fn without_item(text: &str, pointer: &str) -> Option<String> {
    let (list, place) = pointer.rsplit_once('/')?;
    let root = CstRootNode::parse(text, &ParseOptions::default()).ok()?;
    let mut here = root.value()?;
    for part in parts(list)? {
        here = match (here.as_object(), here.as_array()) {
            (Some(object), _) => object.get(&part)?.value()?,
            (_, Some(list)) => list.elements().get(part.parse::<usize>().ok()?)?.clone(),
            _ => return None,
        };
    }
    let list = here.as_array()?;
    let place: usize = place.parse().ok()?;
    list.elements().get(place)?.clone().remove();
    // The blank that parted the first item from the second begins no list.
    let blank = list.children().into_iter().nth(1).filter(|it| place == 0 && it.is_whitespace());
    if let Some(blank) = blank {
        blank.remove();
    }
    Some(root.to_string())
}

/// The value of a text that may have what [`with_value`] keeps: comments, and commas too many or too few. Of a key
/// that stands twice the first one counts, as there. `None` if the text cannot be read even so.
pub fn loose_value(text: &str) -> Option<Value> {
    let tree = jsonc_parser::parse_to_ast(text, &CollectOptions::default(), &ParseOptions::default()).ok()?;
    tree.value.as_ref().map(plain)
}

fn plain(value: &ast::Value) -> Value {
    match value {
        ast::Value::StringLit(it) => it.value.clone().into_owned().into(),
        ast::Value::NumberLit(it) => {
            serde_json::from_str(it.value).map_or_else(|_| Value::from(it.value), Value::Number)
        }
        ast::Value::BooleanLit(it) => it.value.into(),
        ast::Value::NullKeyword(_) => Value::Null,
        ast::Value::Array(it) => it.elements.iter().map(plain).collect(),
        ast::Value::Object(it) => {
            let mut keys = serde_json::Map::new();
            for property in &it.properties {
                keys.entry(property.name.as_str()).or_insert_with(|| plain(&property.value));
            }
            keys.into()
        }
    }
}

/// The JSON pointer of the innermost value or key at a position of the text; line and column count from 1.
pub fn pointer_at(text: &str, line: usize, column: usize) -> Option<String> {
    let before: usize = text.split_inclusive('\n').take(line.checked_sub(1)?).map(str::len).sum();
    let here: usize = text.get(before..)?.chars().take(column.saturating_sub(1)).map(char::len_utf8).sum();
    let tree = syntax::tree(text).ok()?;
    let mut pointer = String::new();
    descend(&tree, before + here, &mut pointer);
    Some(pointer)
}

fn descend(value: &ast::Value, at: usize, pointer: &mut String) {
    let holds = |range: jsonc_parser::common::Range| range.start <= at && at < range.end.max(range.start + 1);
    match value {
        ast::Value::Object(object) => {
            if let Some(property) = object.properties.iter().find(|property| holds(property.range())) {
                *pointer += &format!("/{}", property.name.as_str().replace('~', "~0").replace('/', "~1"));
                descend(&property.value, at, pointer);
            }
        }
        ast::Value::Array(array) => {
            if let Some((place, element)) =
                array.elements.iter().enumerate().find(|(_, it)| holds(it.range()))
            {
                *pointer += &format!("/{place}");
                descend(element, at, pointer);
            }
        }
        _ => {}
    }
}

fn parts(pointer: &str) -> Option<Vec<String>> {
    let rest = pointer.strip_prefix('/')?;
    Some(rest.split('/').map(|part| part.replace("~1", "/").replace("~0", "~")).collect())
}

fn set_in_object(object: &CstObject, parts: &[String], value: &Value) -> Option<()> {
    let (first, rest) = parts.split_first()?;
    match (rest.first(), object.get(first)) {
        (None, Some(property)) => property.set_value(input(value)),
        (None, None) => drop(object.append(first, input(value))),
        (Some(next), None) if is_place(next) => {
            let list = object.append(first, CstInputValue::Array(Vec::new())).array_value()?;
            set_in_list(&list, rest, value)?;
        }
        (Some(_), None) => set_in_object(&object.object_value_or_create(first)?, rest, value)?,
        (Some(_), Some(property)) => set_in(&property.value()?, rest, value)?,
    }
    Some(())
}

fn set_in(node: &CstNode, parts: &[String], value: &Value) -> Option<()> {
    match (node.as_object(), node.as_array()) {
        (Some(object), _) => set_in_object(&object, parts, value),
        (_, Some(list)) => set_in_list(&list, parts, value),
        _ => None,
    }
}

/// An index just beyond the end of a list appends an element.
fn set_in_list(list: &CstArray, parts: &[String], value: &Value) -> Option<()> {
    let (first, rest) = parts.split_first()?;
    let place: usize = first.parse().ok()?;
    let elements = list.elements();
    match (elements.get(place), rest.is_empty()) {
        (Some(element), false) => set_in(element, rest, value)?,
        (Some(element), true) => replace(element, input(value))?,
        (None, true) => drop(list.append(input(value))),
        (None, false) => {
            let added = list.append(CstInputValue::Object(Vec::new()));
            set_in(&added, rest, value)?;
        }
    }
    Some(())
}

/// Replaces an element of a list.
fn replace(element: &CstNode, value: CstInputValue) -> Option<()> {
    if let Some(text) = element.as_string_lit() {
        text.replace_with(value)?;
    } else if let Some(number) = element.as_number_lit() {
        number.replace_with(value)?;
    } else if let Some(switch) = element.as_boolean_lit() {
        switch.replace_with(value)?;
    } else if let Some(nothing) = element.as_null_keyword() {
        nothing.replace_with(value)?;
    } else if let Some(object) = element.as_object() {
        object.replace_with(value)?;
    } else {
        element.as_array()?.replace_with(value)?;
    }
    Some(())
}

/// Removes a value; returns whether the object is then empty.
fn remove_from_object(object: &CstObject, parts: &[String]) -> Option<bool> {
    let (first, rest) = parts.split_first()?;
    let property = object.get(first)?;
    let is_empty = match rest.is_empty() {
        true => true,
        false => remove_from(&property.value()?, rest)?,
    };
    if is_empty {
        property.remove();
    }
    Some(object.properties().is_empty())
}

/// As [`remove_from_object`]. Removing a value from a list, unless it is in an object there, removes the whole list.
fn remove_from(node: &CstNode, parts: &[String]) -> Option<bool> {
    match (node.as_object(), node.as_array()) {
        (Some(object), _) => remove_from_object(&object, parts),
        (_, Some(list)) => {
            let (first, rest) = parts.split_first()?;
            let element = list.elements().get(first.parse::<usize>().ok()?)?.clone();
            match rest.is_empty() {
                true => Some(true),
                false => {
                    if remove_from(&element, rest)? {
                        element.remove();
                    }
                    Some(list.elements().is_empty())
                }
            }
        }
        _ => None,
    }
}

fn is_place(part: &str) -> bool {
    !part.is_empty() && part.bytes().all(|it| it.is_ascii_digit())
}

fn input(value: &Value) -> CstInputValue {
    match value {
        Value::Null => CstInputValue::Null,
        Value::Bool(it) => CstInputValue::Bool(*it),
        Value::Number(it) => CstInputValue::Number(it.to_string()),
        Value::String(it) => CstInputValue::String(it.clone()),
        Value::Array(items) => CstInputValue::Array(items.iter().map(input).collect()),
        Value::Object(keys) => {
            CstInputValue::Object(keys.iter().map(|(key, value)| (key.clone(), input(value))).collect())
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const BENCH: &str = include_str!(concat!(env!("CARGO_MANIFEST_DIR"), "/coil-specs/window-bench.json"));

    fn at(text: &str, pointer: &str) -> Option<Value> {
        serde_json::from_str::<Value>(text).unwrap().pointer(pointer).cloned()
    }

    #[test]
    fn a_value_is_set_taken_out_and_put_back() {
        for (pointer, value) in [
            ("/spacing", Value::from("171 mm")),
            ("/winding/turns", 151.into()),
            ("/tube/gun_exit/1", "2 mm".into()),
            ("/customer/name", "Quay School".into()),
            ("/as_built/b/offset/0", "1 mm".into()),
            ("/instruments/0/what", "ammeter".into()),
        ] {
            let set = with_value(BENCH, pointer, Some(&value)).unwrap();
            assert_eq!(at(&set, pointer), Some(value), "{pointer}: {set}");
            let out = with_value(&set, pointer, None).unwrap();
            assert_eq!(at(&out, pointer), None, "{pointer}");
        }
        // A parent added for a value is removed with it.
        let set = with_value(BENCH, "/customer/name", Some(&"x".into())).unwrap();
        assert_eq!(
            at(&with_value(&set, "/customer/name", None).unwrap(), "/customer"),
            at(BENCH, "/customer")
        );
    }

    #[test]
    fn nothing_else_changes() {
        let set = with_value(BENCH, "/spacing", Some(&at(BENCH, "/spacing").unwrap())).unwrap();
        assert_eq!(set, BENCH);
        assert_eq!(with_value("[1]", "/0", Some(&1.into())), None);
        assert_eq!(with_value("{", "/a", Some(&1.into())), None);
        assert_eq!(with_value("{\"a\": 1}", "/a/b", Some(&1.into())), None);
        assert_eq!(with_value("{}", "", Some(&1.into())), None);
    }

    #[test]
    fn an_item_is_taken_out_and_its_neighbours_stay() {
        let text = "{ \"kinds\": [\"a\", \"b\", // the last\n \"c\"], \"more\": [[1], [2, 3]] }";
        let left = |pointer: &str| without_item(text, pointer).and_then(|left| loose_value(&left));
        for (pointer, wanted) in [
            ("/kinds/0", "{\"kinds\":[\"b\",\"c\"],\"more\":[[1],[2,3]]}"),
            ("/kinds/2", "{\"kinds\":[\"a\",\"b\"],\"more\":[[1],[2,3]]}"),
            ("/more/1/0", "{\"kinds\":[\"a\",\"b\",\"c\"],\"more\":[[1],[3]]}"),
        ] {
            assert_eq!(left(pointer).map(|value| value.to_string()).as_deref(), Some(wanted), "{pointer}");
        }
        assert!(without_item(text, "/kinds/0").unwrap().contains("[\"b\", //"));
        assert_eq!((left("/kinds/3"), left("/kinds"), left("/none/0")), (None, None, None));
    }

    #[test]
    fn a_text_that_is_not_strict_is_read_as_it_is_edited() {
        let text = "{ // as measured\n \"a\": [1, 2,],\n \"b\": \"x\"\n \"b\": \"y\" }";
        assert_eq!(loose_value(text).unwrap().to_string(), "{\"a\":[1,2],\"b\":\"x\"}");
        let set = with_value(text, "/b", Some(&"z".into())).unwrap();
        assert_eq!(set, text.replace("\"x\"", "\"z\""));
        assert_eq!(loose_value("{ \"a\": 1,"), None);
    }

    #[test]
    fn a_place_of_the_text_is_a_value() {
        let text = "{\n  \"winding\": { \"turns\": 1, \"wire\": {} },\n  \"room\": { \"field\": [\"1 uT\", \"2 uT\"] }\n}\n";
        for (line, column, pointer) in [
            (1, 1, ""),
            (2, 5, "/winding"),
            (2, 25, "/winding/turns"),
            (2, 30, "/winding/wire"),
            (3, 33, "/room/field/1"),
            (9, 9, ""),
        ] {
            assert_eq!(pointer_at(text, line, column).unwrap_or_default(), pointer, "{line}:{column}");
        }
    }
}
