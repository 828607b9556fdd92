//! Measurements as a table: a sheet or CSV with the columns `name`, `value` and `uncertainty`, and `unit` if the values
//! are plain numbers.
//!
//! The names are the keys of the JSON file: `resistance`, `resistance.at`, `coil_a.mass`, `fields.1`, `fields.1.current`,
//! `fields.1.at.z`, `title`.

use super::{Measured, measured_of};
use crate::Result;
use crate::files::spec::source::Source;
use crate::files::spec::table_text::{Branch, Written, is_table, json, parts, with_unit};
use crate::files::tables::{Column, Table};
use std::path::Path;

const COLUMNS: &[Column] = &[
    Column::text("name").required(),
    Column::text("value").required(),
    Column::text("uncertainty"),
    Column::text("unit"),
];

/// Most rows of a file of measurements; the format has fewer entries.
const MOST_ROWS: usize = 200;

/// Reads a file of measurements and checks it.
///
/// A syntax error is reported alone; otherwise all structural errors together, then every physical error whose inputs
/// are sound ([`Error::Diagnosed`](crate::Error::Diagnosed)).
///
/// A CSV, .xlsx or .ods file is a table with the columns `name`, `value` and `uncertainty`, whose names are the keys of
/// the JSON file (`resistance`, `resistance.at`, `coil_a.mass`, `fields.1.at.z`). Only its first problem is reported,
/// with its row.
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
    let written = written(table)?;
    let source = Source::from_bytes(&table.path, written.text.as_bytes())?;
    measured_of(&source).map_err(|error| written.in_its_row(error, table))
}

/// Keys that qualify a measurement and have no uncertainty of their own.
const QUALIFIERS: [&str; 11] = [
    "title",
    "connection",
    "wound_from",
    "at",
    "at_uncertainty",
    "free_ends",
    "of",
    "current",
    "after",
    "room",
    "test_voltage",
];

/// The JSON text for a table of measurements.
fn written(table: &Table) -> Result<Written> {
    let mut all = Branch::default();
    for (number, row) in table.rows.iter().enumerate() {
        let name = row.text("name").unwrap_or_default();
        let mut path = parts(name, row)?;
        let last = path.last().copied().unwrap_or_default();
        let qualifies = QUALIFIERS.contains(&last) || path.iter().rev().nth(1) == Some(&"at");
        if !qualifies {
            path.push("value");
        }
        // A title is text, even if it contains commas and digits.
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
    if !all.has("title") {
        let title = table.path.file_stem().map_or("measurements".into(), |stem| stem.to_string_lossy());
        all.put_first("title", json(&title));
    }
    Ok(Written::of(&all))
}

/// A cell as JSON: turns become numbers, everything else becomes text.
fn value_of(key: &str, text: String) -> String {
    match key == "turns" && text.parse::<f64>().is_ok_and(f64::is_finite) {
        // Written as a JSON number, however the cell writes it: 0130, +130, 1e2.
        true => text.parse::<f64>().map_or(json(&text), |turns| format!("{turns}")),
        false => json(&text),
    }
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
