//! The text of a quote without its blank entries.

use super::gap::Gap;
use super::typed::is_blank_text;
use crate::files::spec::syntax::span;
use jsonc_parser::ast::{Object, ObjectProp, Value as Node};
use std::ops::Range;

/// The text with every blank entry (`null`, `""`, a list of such) overwritten by spaces, so that everything else keeps
/// its position.
pub(super) fn without_blanks(text: &str, tree: &Node) -> String {
    let mut bytes = text.as_bytes().to_vec();
    take_blanks(&mut bytes, tree);
    // Spaces and commas replace only whole characters.
    String::from_utf8(bytes).unwrap_or_else(|_| text.to_owned())
}

fn take_blanks(bytes: &mut [u8], node: &Node) {
    match node {
        Node::Object(object) => {
            object.properties.iter().for_each(|property| take_blanks(bytes, &property.value));
            if object.properties.iter().any(|property| is_blank(&property.value)) {
                keep_only(bytes, object, |_, value| !is_blank(value));
            }
        }
        Node::Array(array) => array.elements.iter().for_each(|element| take_blanks(bytes, element)),
        _ => {}
    }
}

pub(super) fn has_blank_connection(tree: &Node) -> bool {
    let Node::Object(file) = tree else { return false };
    let is_open = |key: &str, value: &Node| key == Gap::Connection.key() && is_blank(value);
    file.properties.iter().any(|property| is_open(property.name.as_str(), &property.value))
}

fn is_blank(node: &Node) -> bool {
    match node {
        Node::NullKeyword(_) => true,
        Node::StringLit(text) => is_blank_text(&text.value),
        Node::Object(object) => {
            !object.properties.is_empty()
                && object.properties.iter().all(|property| is_blank(&property.value))
        }
        Node::Array(array) => !array.elements.is_empty() && array.elements.iter().all(is_blank),
        _ => false,
    }
}

/// Overwrites an object with spaces except for the entries that are kept and commas between them.
pub(super) fn keep_only(bytes: &mut [u8], object: &Object, kept: impl Fn(&str, &Node) -> bool) {
    let kept = |property: &&ObjectProp| kept(property.name.as_str(), &property.value);
    let filled: Vec<_> = object.properties.iter().filter(kept).map(span).collect();
    let Range { start, end } = span(object);
    let gaps = std::iter::once(start + 1..start + 1).chain(filled.iter().cloned());
    let ends = filled.iter().map(|filled| filled.start).chain([end - 1]);
    for (before, next) in gaps.zip(ends) {
        bytes[before.end..next].iter_mut().filter(|byte| **byte != b'\n').for_each(|byte| *byte = b' ');
    }
    for entry in filled.iter().rev().skip(1) {
        bytes[entry.end] = b',';
    }
}
