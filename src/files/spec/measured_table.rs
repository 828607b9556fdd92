//! Measurements as a table: a sheet or CSV with the columns `name`, `value` and `uncertainty`, and `unit` if the values
//! are plain numbers.
//!
//! The names are the keys of the JSON file: `resistance`, `resistance.at`, `coil_a.mass`, `fields.1`, `fields.1.current`,
//! `fields.1.at.z`, `title`. The table becomes that file's text and is checked as such, so that both forms have one meaning; a problem is told with the row
//! it stands in.

use super::measured::{Measured, measured_of};
use super::source::Source;
use crate::files::tables::{Column, Row, Table};
use crate::{Error, Result};
use std::path::Path;

const COLUMNS: &[Column] = &[
    Column::text("name").required(),
    Column::text("value").required(),
    Column::text("uncertainty"),
    Column::text("unit"),
];

/// The most rows that a file of measurements may have; the format has fewer entries.
const MOST_ROWS: usize = 200;

/// Whether a file of this name holds a table and not JSON.
fn is_table(path: &Path) -> bool {
    let extension = path.extension().and_then(|extension| extension.to_str()).unwrap_or_default();
    let extension = extension.to_ascii_lowercase();
    ["csv", "tsv", "txt", "xlsx", "xlsm", "xls", "ods"].contains(&extension.as_str())
}

/// Reads a file of measurements and checks it.
///
/// A syntax error is reported alone; otherwise all structural errors together, then every physical one whose inputs
/// are sound ([`Error::Diagnosed`](crate::Error::Diagnosed)).
///
/// A CSV, .xlsx or .ods file is a table with the columns `name`, `value` and `uncertainty`, whose names are the keys of the
/// JSON file (`resistance`, `resistance.at`, `coil_a.mass`, `fields.1.at.z`); its first problem is told with its row.
pub fn read_measured(path: impl AsRef<Path>) -> Result<Measured> {
    let path = path.as_ref();
    if is_table(path) {
        return of_table(&Table::read(path, COLUMNS)?);
    }
    measured_of(&Source::read(path)?)
}

fn of_table(table: &Table) -> Result<Measured> {
    if let Some(row) = table.rows.get(MOST_ROWS) {
        let hint = "delete what does not belong to the measurements".to_owned();
        return Err(row.refuse(format!("the table has more than {MOST_ROWS} rows"), Some(hint)));
    }
    let written = Written::of(table)?;
    let source = Source::from_bytes(&table.path, written.text.as_bytes())?;
    measured_of(&source).map_err(|error| written.in_its_row(error, table))
}

/// The JSON text that a table says, and the row of the table behind each of its lines.
struct Written {
    text: String,
    rows: Vec<Option<usize>>,
}

/// Keys that qualify a measurement and have no uncertainty of their own.
const QUALIFIERS: [&str; 8] = ["title", "connection", "at", "of", "current", "after", "room", "test_voltage"];
/// Parts of a place, in their order.
const AXES: [&str; 3] = ["x", "y", "z"];

/// What stands under a name, with the row that said it first.
enum Node {
    /// A value, as JSON.
    Value(String, usize),
    /// x, y and z of a place; what no row gives is 0 mm.
    Place([Option<(String, usize)>; 3], usize),
    /// More names.
    Branch(Branch, usize),
    /// Numbered entries, as `fields.1`.
    List(Vec<(String, Branch)>, usize),
}

/// Names with what stands under them. A name stands there twice where the table has it twice, which is then told.
#[derive(Default)]
struct Branch(Vec<(String, Node)>);

impl Branch {
    /// Puts a value at a dotted path.
    fn put(&mut self, path: &[&str], value: String, row: usize) {
        match path {
            [] => {}
            [key] => self.0.push(((*key).into(), Node::Value(value, row))),
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

    /// The node of this kind under a key; a new one where there is none.
    fn under(&mut self, key: &str, is_kind: fn(&Node) -> bool, made: impl FnOnce() -> Node) -> &mut Node {
        let at = self.0.iter().position(|(name, node)| name == key && is_kind(node)).unwrap_or_else(|| {
            self.0.push((key.into(), made()));
            self.0.len() - 1
        });
        &mut self.0[at].1
    }
}

impl Written {
    fn of(table: &Table) -> Result<Self> {
        let mut all = Branch::default();
        for (number, row) in table.rows.iter().enumerate() {
            let name = row.text("name").unwrap_or_default();
            let mut path: Vec<&str> = name.split('.').collect();
            let last = path.last().copied().unwrap_or_default();
            let qualifies = QUALIFIERS.contains(&last) || path.iter().rev().nth(1) == Some(&"at");
            if !qualifies {
                path.push("value");
            }
            // A title is a text, whatever commas and figures it has.
            let value = match qualifies && path.len() == 1 {
                true => json(row.text("value").unwrap_or_default()),
                false => value_of(last, with_unit(row, "value")?),
            };
            all.put(&path, value, number);
            if row.text("uncertainty").is_some() {
                if qualifies {
                    let message = format!("`{name}` takes no uncertainty");
                    return Err(row.refuse(message, Some("leave the cell empty".into())));
                }
                path.pop();
                path.push("uncertainty");
                all.put(&path, value_of(last, with_unit(row, "uncertainty")?), number);
            }
        }
        if !all.0.iter().any(|(key, _)| key == "title") {
            let title = table.path.file_stem().map_or("measurements".into(), |stem| stem.to_string_lossy());
            all.0.insert(0, ("title".into(), Node::Value(json(&title), 0)));
        }
        let mut written = Self { text: String::new(), rows: Vec::new() };
        written.branch("", &all, "", None);
        Ok(written)
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
            Node::Value(value, row) => self.line(&format!("{head}{value}{comma}"), Some(*row)),
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
        self.text.push_str(line);
        self.text.push('\n');
        self.rows.push(row);
    }

    /// The first problem, in the words of the table.
    fn in_its_row(&self, error: Error, table: &Table) -> Error {
        let Error::Diagnosed { diagnosis, .. } = &error else { return error };
        let Some(problem) = diagnosis.records().into_iter().find(|record| record.severity == "error") else {
            return error;
        };
        let row = self.rows.get(problem.line - 1).copied().flatten();
        match row {
            Some(row) => table.rows[row].refuse(problem.message, problem.hint),
            None => Error::Unusable {
                path: table.path.clone(),
                reason: problem.message,
                hint: problem.hint.or_else(|| Some("add a row for it".into())),
            },
        }
    }
}

/// A cell as a quantity is written: with its unit, and with a decimal point where the cell has a decimal comma.
fn with_unit(row: &Row, column: &str) -> Result<String> {
    let text = row.text(column).unwrap_or_default();
    let text = match text.split_once(',') {
        Some((whole, rest))
            if whole.ends_with(|c: char| c.is_ascii_digit())
                && rest.starts_with(|c: char| c.is_ascii_digit()) =>
        {
            format!("{whole}.{rest}")
        }
        _ => text.to_owned(),
    };
    let ends_with_unit = text.ends_with(|c: char| !c.is_ascii_digit() && c != '.');
    Ok(match row.text("unit") {
        Some(unit) if !ends_with_unit => format!("{text} {unit}"),
        _ => text,
    })
}

/// A cell as JSON: turns are numbers, everything else is a text.
fn value_of(key: &str, text: String) -> String {
    match key == "turns" && text.parse::<f64>().is_ok_and(f64::is_finite) {
        // As a number is written in JSON, whatever the cell writes: 0130, +130, 1e2.
        true => text.parse::<f64>().map_or(json(&text), |turns| format!("{turns}")),
        false => json(&text),
    }
}

/// A text as JSON writes it.
fn json(text: &str) -> String {
    serde_json::Value::from(text).to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read_text(text: &str) -> Result<Measured> {
        of_table(&Table::from_text("pair.csv", text, COLUMNS)?)
    }

    #[test]
    fn a_table_says_what_the_json_file_says() {
        let json = r#"{ "title": "Pair from the attic", "connection": "series",
            "resistance": { "value": "7.4 ohm", "uncertainty": "0.04 ohm", "at": "22 degC" },
            "field": { "value": "1.6 mT", "uncertainty": "0.008 mT", "current": "2 A" },
            "mass": { "value": "1.9 kg", "uncertainty": "0.05 kg", "of": "copper" },
            "coil_a": { "turns": { "value": 130.5 }, "resistance": { "value": "3.7 ohm", "uncertainty": "0.02 ohm", "at": "23 degC" } },
            "fields": [
                { "value": "0.8 mT", "uncertainty": "4 uT", "current": "1 A", "at": ["0 mm", "0 mm", "30 mm"] },
                { "value": "-1.6 mT", "uncertainty": "8 uT", "current": "-2 A" } ],
            "insulation_resistance": { "value": "250 Mohm", "uncertainty": "10 Mohm", "test_voltage": "250 V" } }"#;
        let wanted = crate::files::spec::measured_from_text("pair.json", json).unwrap();
        let table = "name;value;uncertainty;unit\ntitle;Pair from the attic;;\nconnection;series;;\n\
                     resistance;7,4;0,04;ohm\nresistance.at;22;;degC\nfield;1.6 mT;0.008 mT;\nfield.current;2 A;;\n\
                     mass;1.9;0.05;kg\nmass.of;copper;;\ncoil_a.turns;130,5;;\n\
                     coil_a.resistance;3,7 ohm;0,02 ohm;\ncoil_a.resistance.at;23;;degC\n\
                     fields.1;0.8;0.004;mT\nfields.1.current;1 A;;\nfields.2;-1,6 mT;8 uT;\nfields.1.at.z;30;;mm\n\
                     fields.2.current;-2 A;;\ninsulation_resistance;250;10;Mohm\n\
                     insulation_resistance.test_voltage;250 V;;\n";
        let found = read_text(table).unwrap();
        let found = Measured { digest: wanted.digest.clone(), ..found };
        assert_eq!(format!("{found:?}"), format!("{wanted:?}"));
        assert_eq!(read_text("name,value,uncertainty\nwidth,20 mm,0.5 mm\n").unwrap().title, "pair");
    }

    #[test]
    fn a_problem_is_told_with_its_row() {
        for (rows, message) in [
            ("resistance,7.4,0.04\n", "pair.csv, line 2: `resistance.value`: `7.4` has no unit"),
            (
                "width,20 mm,0.5 mm\nspacing,15 A,1 mm\n",
                "line 3: `spacing.value`: `15 A` is a current, not a length",
            ),
            ("width,20 mm,0 mm\n", "line 2: `width.uncertainty` is 0 mm"),
            ("width,20 mm,1 mm\nwidth,20 mm,1 mm\n", "line 3: "),
            ("widht,20 mm,1 mm\n", "line 2: "),
            ("fields.1,1 mT,1 uT\nfields.1.current,0 A,\n", "line 3: `fields[0].current` is 0 A"),
            ("coil_a.turns,many,\n", "line 2: `coil_a.turns.value` is"),
            ("fields.1,1 mT,1 uT\nfields.1.at.z,1 mT,\n", "line 2: `fields[0]` has no `current`"),
            ("resistance,7.4 ohm,0.1 ohm\nresistance.at,22 degC,1 K\n", "line 3: `resistance.at` takes no"),
        ] {
            let error = read_text(&format!("name,value,uncertainty\n{rows}")).expect_err(rows);
            assert!(error.to_string().contains(message), "{rows}: {error}");
            assert!(error.hint().is_some(), "{rows}: {error}");
        }
    }
}
