//! Measurements as a table: a sheet or CSV with the columns `name`, `value` and `uncertainty`, and `unit` if the values
//! are plain numbers.
//!
//! The names are the keys of the JSON file: `resistance`, `resistance.at`, `field.current`, `mass.of`, `title`. The table
//! becomes that file's text and is checked as such, so that both forms have one meaning; a problem is told with the row
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
/// JSON file (`resistance`, `resistance.at`); its first problem is told with its row.
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

impl Written {
    fn of(table: &Table) -> Result<Self> {
        let mut written = Self { text: String::new(), rows: Vec::new() };
        written.line("{", None);
        let names: Vec<&str> = table.rows.iter().map(|row| row.text("name").unwrap_or_default()).collect();
        let mut tops: Vec<&str> = Vec::new();
        for name in &names {
            let top = name.split_once('.').map_or(*name, |(top, _)| top);
            if !tops.contains(&top) {
                tops.push(top);
            }
        }
        if !tops.contains(&"title") {
            let title = table.path.file_stem().map_or("measurements".into(), |stem| stem.to_string_lossy());
            written.line(&format!("\"title\": {},", json(&title)), None);
        }
        for (at, top) in tops.iter().enumerate() {
            let of_top = (0..names.len()).filter(|row| {
                names[*row] == *top || names[*row].strip_prefix(top).is_some_and(|rest| rest.starts_with('.'))
            });
            let comma = if at + 1 < tops.len() { "," } else { "" };
            let rows: Vec<usize> = of_top.collect();
            if matches!(*top, "title" | "connection") {
                // Nothing to put together; a second row of the name is a duplicate key, which is told.
                for (place, row) in rows.iter().enumerate() {
                    let value = table.rows[*row].text("value").unwrap_or_default();
                    let comma = if place + 1 < rows.len() { "," } else { comma };
                    written.line(&format!("{}: {}{comma}", json(names[*row]), json(value)), Some(*row));
                }
            } else {
                written.object(top, &rows, comma, table)?;
            }
        }
        written.line("}", None);
        Ok(written)
    }

    /// One measurement: its value, its uncertainty, and what its other rows add.
    fn object(&mut self, top: &str, rows: &[usize], comma: &str, table: &Table) -> Result<()> {
        self.line(&format!("{}: {{", json(top)), rows.first().copied());
        let mut entries = Vec::new();
        for row in rows {
            let cells = &table.rows[*row];
            let name = cells.text("name").unwrap_or_default();
            let key = name.strip_prefix(top).and_then(|rest| rest.strip_prefix('.')).unwrap_or("value");
            entries.push((*row, key, with_unit(cells, "value")?));
            if cells.text("uncertainty").is_some() {
                if key != "value" {
                    let message = format!("`{name}` takes no uncertainty");
                    return Err(cells.refuse(message, Some("leave the cell empty".into())));
                }
                entries.push((*row, "uncertainty", with_unit(cells, "uncertainty")?));
            }
        }
        for (place, (row, key, value)) in entries.iter().enumerate() {
            let comma = if place + 1 < entries.len() { "," } else { "" };
            self.line(&format!("{}: {}{comma}", json(key), json(value)), Some(*row));
        }
        self.line(&format!("}}{comma}"), rows.first().copied());
        Ok(())
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
            "mass": { "value": "1.9 kg", "uncertainty": "0.05 kg", "of": "copper" } }"#;
        let wanted = crate::files::spec::measured_from_text("pair.json", json).unwrap();
        let table = "name;value;uncertainty;unit\ntitle;Pair from the attic;;\nconnection;series;;\n\
                     resistance;7,4;0,04;ohm\nresistance.at;22;;degC\nfield;1.6 mT;0.008 mT;\nfield.current;2 A;;\n\
                     mass;1.9;0.05;kg\nmass.of;copper;;\n";
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
            ("resistance,7.4 ohm,0.1 ohm\nresistance.at,22 degC,1 K\n", "line 3: `resistance.at` takes no"),
        ] {
            let error = read_text(&format!("name,value,uncertainty\n{rows}")).expect_err(rows);
            assert!(error.to_string().contains(message), "{rows}: {error}");
            assert!(error.hint().is_some(), "{rows}: {error}");
        }
    }
}
