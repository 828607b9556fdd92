//! JSON text composed from dotted names and values, with the table row behind each of its lines.
//!
//! Tables of measurements and quotes are turned into the text of the JSON file and checked as such, so that both forms
//! have one meaning. A problem is reported with its row.

use crate::Error;
use crate::Result;
use crate::files::tables::{Row, Table};
use crate::units::shortened;
use std::path::Path;

/// Whether a file with this name is a table and not JSON.
pub(super) fn is_table(path: &Path) -> bool {
    let extension = path.extension().and_then(|extension| extension.to_str()).unwrap_or_default();
    let extension = extension.to_ascii_lowercase();
    ["csv", "tsv", "txt", "xlsx", "xlsm", "xls", "ods"].contains(&extension.as_str())
}

/// The JSON text of a table, and the table row behind each of its lines.
pub(super) struct Written {
    pub(super) text: String,
    rows: Vec<Option<usize>>,
    depth: usize,
}

/// The coordinates of a point, in order.
const AXES: [&str; 3] = ["x", "y", "z"];

/// The content under a name, with the row that gave it first.
pub(super) enum Node {
    /// A value, as JSON, with its row; `None` if it does not come from the table.
    Value(String, Option<usize>),
    /// x, y and z of a point; a coordinate without a row is 0 mm.
    Place([Option<(String, usize)>; 3], usize),
    /// Further names.
    Branch(Branch, usize),
    /// Numbered entries, such as `fields.1`.
    List(Vec<(String, Branch)>, usize),
}

/// Names with their content. A name that the table has twice is kept twice, and then reported.
#[derive(Default)]
pub(super) struct Branch(Vec<(String, Node)>);

/// Deepest nesting of names; no file needs more than five.
const DEEPEST: usize = 8;

/// The parts of a row's dotted name.
///
/// # Errors
/// More parts than any file has.
pub(super) fn parts<'a>(name: &'a str, row: &Row) -> Result<Vec<&'a str>> {
    let parts: Vec<&str> = name.split('.').take(DEEPEST + 1).collect();
    if parts.len() > DEEPEST {
        let message = format!("`{}` has more than {DEEPEST} parts", shortened(name));
        return Err(row.refuse(message, Some("write a name as the blank form or the schema has it".into())));
    }
    Ok(parts)
}

impl Branch {
    /// Puts a value at a dotted path.
    pub(super) fn put(&mut self, path: &[&str], value: String, row: usize) {
        match path {
            [] => {}
            [key] => self.0.push(((*key).into(), Node::Value(value, Some(row)))),
            ["at", axis] if AXES.contains(axis) => self.put_part_of_place(axis, value, row),
            [key, number, rest @ ..] if number.bytes().all(|byte| byte.is_ascii_digit()) => {
                let list =
                    self.under(key, |node| matches!(node, Node::List(..)), || Node::List(Vec::new(), row));
                let Node::List(entries, _) = list else { return };
                let at = entries.iter().position(|(name, _)| name == number).unwrap_or_else(|| {
                    entries.push(((*number).into(), Branch::default()));
                    entries.len() - 1
                });
                entries[at].1.put(rest, value, row);
            }
            [key, rest @ ..] => {
                let made = || Node::Branch(Branch::default(), row);
                if let Node::Branch(branch, _) =
                    self.under(key, |node| matches!(node, Node::Branch(..)), made)
                {
                    branch.put(rest, value, row);
                }
            }
        }
    }

    fn put_part_of_place(&mut self, axis: &str, value: String, row: usize) {
        let made = || Node::Place([const { None }; 3], row);
        let place = self.under("at", |node| matches!(node, Node::Place(..)), made);
        if let (Node::Place(parts, _), Some(at)) = (place, AXES.iter().position(|name| *name == axis)) {
            parts[at] = Some((value, row));
        }
    }

    /// The node of this kind under a key; a new one if there is none.
    fn under(&mut self, key: &str, is_kind: fn(&Node) -> bool, made: impl FnOnce() -> Node) -> &mut Node {
        let at = self.0.iter().position(|(name, node)| name == key && is_kind(node)).unwrap_or_else(|| {
            self.0.push((key.into(), made()));
            self.0.len() - 1
        });
        &mut self.0[at].1
    }
}

impl Branch {
    /// Whether it has this name at the top level.
    pub(super) fn has(&self, key: &str) -> bool {
        self.0.iter().any(|(name, _)| name == key)
    }

    /// Whether it is empty.
    pub(super) fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// Puts a value before all others.
    pub(super) fn put_first(&mut self, key: &str, value: String) {
        self.0.insert(0, (key.into(), Node::Value(value, None)));
    }
}

impl Written {
    /// The whole file.
    pub(super) fn of(all: &Branch) -> Self {
        let mut written = Self { text: String::new(), rows: Vec::new(), depth: 0 };
        written.branch("", all, "", None);
        written
    }

    fn branch(&mut self, head: &str, branch: &Branch, comma: &str, row: Option<usize>) {
        self.line(&format!("{head}{{"), row);
        for (place, (key, node)) in branch.0.iter().enumerate() {
            let comma = if place + 1 < branch.0.len() { "," } else { "" };
            self.node(&format!("{}: ", json(key)), node, comma);
        }
        self.line(&format!("}}{comma}"), row);
    }

    fn node(&mut self, head: &str, node: &Node, comma: &str) {
        match node {
            Node::Value(value, row) => self.line(&format!("{head}{value}{comma}"), *row),
            Node::Branch(branch, row) => self.branch(head, branch, comma, Some(*row)),
            Node::Place(parts, row) => {
                self.line(&format!("{head}["), Some(*row));
                for (place, part) in parts.iter().enumerate() {
                    let comma = if place + 1 < parts.len() { "," } else { "" };
                    let (value, at) =
                        part.as_ref().map_or(("\"0 mm\"", *row), |(value, at)| (value.as_str(), *at));
                    self.line(&format!("{value}{comma}"), Some(at));
                }
                self.line(&format!("]{comma}"), Some(*row));
            }
            Node::List(entries, row) => {
                self.line(&format!("{head}["), Some(*row));
                for (place, (_, entry)) in entries.iter().enumerate() {
                    let comma = if place + 1 < entries.len() { "," } else { "" };
                    self.branch("", entry, comma, Some(*row));
                }
                self.line(&format!("]{comma}"), Some(*row));
            }
        }
    }

    fn line(&mut self, line: &str, row: Option<usize>) {
        let closes = line.starts_with(['}', ']']);
        self.depth -= usize::from(closes && self.depth > 0);
        self.text.push_str(&"  ".repeat(self.depth));
        self.text.push_str(line);
        self.text.push('\n');
        self.depth += usize::from(line.ends_with(['{', '[']));
        self.rows.push(row);
    }

    /// The table row behind a line, counted from 1.
    pub(super) fn row_of(&self, line: usize) -> Option<usize> {
        self.rows.get(line.checked_sub(1)?).copied().flatten()
    }

    /// The first problem, reported for the table.
    pub(super) fn in_its_row(&self, error: Error, table: &Table) -> Error {
        let Error::Diagnosed { diagnosis, .. } = &error else { return error };
        let Some(problem) = diagnosis.records().into_iter().find(|record| record.severity == "error") else {
            return error;
        };
        match self.row_of(problem.line) {
            Some(row) => table.rows[row].refuse(problem.message, problem.hint),
            None => Error::Unusable {
                path: table.path.clone(),
                reason: problem.message,
                hint: problem.hint.or_else(|| Some("add a row for it".into())),
            },
        }
    }
}

/// The text of a cell as a quantity: with its unit, and with a decimal point instead of a decimal comma. A comma that may
/// mean thousands stays, and is refused as such.
pub(super) fn with_unit(row: &Row, column: &str) -> Result<String> {
    Ok(quantity_text(row.text(column).unwrap_or_default(), row.text("unit")))
}

/// As [`with_unit`], of a text and the unit beside it.
pub(super) fn quantity_text(text: &str, unit: Option<&str>) -> String {
    // A comma before exactly three digits may mean thousands, unless only a zero stands before it.
    let may_be_thousands = |whole: &str, rest: &str| {
        let digits = rest.bytes().take_while(u8::is_ascii_digit).count();
        digits == 3 && !matches!(whole.trim_start_matches(['+', '-', '−', ' ']), "" | "0")
    };
    let text = match text.split_once(',') {
        Some((whole, rest))
            if whole.ends_with(|c: char| c.is_ascii_digit())
                && rest.starts_with(|c: char| c.is_ascii_digit())
                && !may_be_thousands(whole, rest) =>
        {
            format!("{whole}.{rest}")
        }
        _ => text.to_owned(),
    };
    let ends_with_unit = text.ends_with(|c: char| !c.is_ascii_digit() && c != '.');
    match unit {
        Some(unit) if !ends_with_unit => format!("{text} {unit}"),
        _ => text,
    }
}

/// A text as a JSON string.
pub(super) fn json(text: &str) -> String {
    serde_json::Value::from(text).to_string()
}
