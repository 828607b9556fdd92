//! Finds the text of a value.

use super::syntax::{key_span, span};
use jsonc_parser::ast::Value;
use std::ops::Range;

/// The place of the value with a dotted path such as `tube.gun_exit[1]`; if the path leads nowhere, of its last
/// existing part. For an object or list only its first character, because it may span many lines.
pub(super) fn place(tree: &Value, path: &str) -> Range<usize> {
    let mut node = tree;
    let mut key = None;
    for step in path.split(['.', '[']).map(|step| step.trim_end_matches(']')).filter(|step| !step.is_empty())
    {
        let next = match node {
            Value::Object(object) => {
                let found = object.properties.iter().find(|property| property.name.as_str() == step);
                found.map(|property| (Some(key_span(property)), &property.value))
            }
            Value::Array(array) => {
                step.parse::<usize>().ok().and_then(|at| array.elements.get(at)).map(|value| (None, value))
            }
            _ => None,
        };
        let Some((next_key, value)) = next else { break };
        key = next_key;
        node = value;
    }
    match (node, key) {
        (Value::Object(_) | Value::Array(_), Some(key)) => key,
        (Value::Object(_) | Value::Array(_), None) => span(node).start..span(node).start + 1,
        _ => span(node),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_path_leads_to_its_text_or_as_far_as_it_goes() {
        let text = r#"{ "tube": { "gun_exit": ["4 mm", "5 mm"] }, "turns": 7 }"#;
        let tree = crate::files::spec::syntax::tree(text).unwrap();
        for (path, wanted) in [
            ("tube.gun_exit[1]", "\"5 mm\""),
            ("tube.gun_exit", "\"gun_exit\""),
            ("tube.bulb_centre", "\"tube\""),
            ("turns", "7"),
            ("room.field[2]", "{"),
        ] {
            assert_eq!(&text[place(&tree, path)], wanted, "{path}");
        }
    }
}
