//! The quote form as a filled table and as a blank file, both for [`super`].

use super::doubt::{Doubt, Meanings};
use super::form::{QUOTE_FIELDS, QuoteField, Unreadable, Written as Field};
use super::remark::{Remark, beyond};
use super::typed::{Entry, Reading, field_of, is_blank_text, reading};
use super::unreadable::told_without_key;
use crate::files::spec::source::Source;
use crate::files::spec::table_text::{Branch, Written, json, parts};
use crate::files::tables::{Column, Row, Table};
use crate::{Error, Result};
use std::collections::BTreeMap;
use std::path::Path;

/// A place to be filled in.
pub(super) const BLANK: &str = "___";
const COLUMNS: &[Column] = &[
    Column::text_or_day("label"),
    Column::text_or_day("value"),
    Column::text_or_day("unit"),
    Column::text_or_day("note"),
    Column::text_or_day("name").in_every_table(),
];
/// Most rows of a quote; the form has fewer.
const MOST_ROWS: usize = 200;

/// The error for a form in which nothing is filled in.
pub(super) fn not_filled_in(path: &Path) -> Error {
    let needed = QUOTE_FIELDS.iter().filter(|field| field.required);
    let names: Vec<String> = needed.map(|field| format!("`{}` ({})", field.path, field.label)).collect();
    Error::Unusable {
        path: path.into(),
        reason: format!(
            "the quote is not filled in: {} and `winding.wire` (a stock size with its enamel, or both diameters) are missing",
            names.join(", ")
        ),
        hint: Some("fill in what is known; `compare` asks for what stays blank".into()),
    }
}

/// A filled table: its JSON text, and its rows in that text.
pub(super) struct FilledTable {
    pub(super) source: Source,
    /// The values that are left out because they cannot be read, in the order in which they were found.
    pub(super) unreadable: Vec<Unreadable>,
    /// The values that are left out because they may be meant in more than one way.
    pub(super) doubts: Vec<Doubt>,
    /// What the supplier wrote beside the fields and below them.
    pub(super) remarks: Vec<Remark>,
    /// The shorter end of a time of delivery from one to another.
    pub(super) shortest_delivery_days: Option<f64>,
    /// The rows of the values that cannot be read.
    left_out: Vec<usize>,
    written: Written,
    table: Table,
}

impl FilledTable {
    /// Reads a sheet or CSV with the columns `name`, `value` and `unit`.
    ///
    /// # Errors
    /// No row has a value.
    pub(super) fn read(path: &Path) -> Result<Self> {
        Self::of(Table::read_with_strays(path, COLUMNS)?, Vec::new(), Vec::new())
    }

    fn of(table: Table, left_out: Vec<usize>, unreadable: Vec<Unreadable>) -> Result<Self> {
        if let Some(row) = table.rows.get(MOST_ROWS) {
            let hint = "delete what does not belong to the quote".to_owned();
            return Err(row.refuse(format!("the table has more than {MOST_ROWS} rows"), Some(hint)));
        }
        let Cells { all, doubts, shortest_delivery_days } = Cells::of(&table, &left_out)?;
        let remarks = remarks(&table)?;
        if !table.rows.iter().any(|row| field_of(row).is_some()) {
            return Err(Error::Unusable {
                path: table.path,
                reason: "none of its rows has the name of a field".into(),
                hint: Some(
                    "take the form as it was sent: its column `name` says which value stands where".into(),
                ),
            });
        }
        if all.is_empty() && doubts.is_empty() {
            return Err(not_filled_in(&table.path));
        }
        let written = Written::of(&all);
        let source = Source::from_bytes(&table.path, written.text.as_bytes())?;
        Ok(Self { source, unreadable, doubts, remarks, shortest_delivery_days, left_out, written, table })
    }

    /// The same table without the value that is the first problem of its text.
    ///
    /// # Errors
    /// The problem is not the value of a known field, or nothing else is filled in.
    pub(super) fn without_unreadable(self, error: Error) -> Result<Self> {
        let Error::Diagnosed { diagnosis, .. } = &error else { return Err(error) };
        let records = diagnosis.records();
        let problem = records.iter().find(|record| record.severity == "error");
        let row = problem.and_then(|problem| self.written.row_of(problem.line));
        let known = row.and_then(|row| {
            let name = self.table.rows[row].text("name")?;
            QUOTE_FIELDS.iter().find(|field| field.path == name)
        });
        let (Some(problem), Some(row), Some(field)) = (problem, row, known) else {
            return Err(self.written.in_its_row(error, &self.table));
        };
        let text = Entry::of(&self.table.rows[row]).map_or_else(String::new, |entry| {
            if field.form_unit().is_empty() { entry.whole() } else { entry.value.to_owned() }
        });
        let mut unreadable = self.unreadable;
        unreadable.push(Unreadable {
            key: field.path.into(),
            label: field.label.into(),
            text,
            problem: told_without_key(problem, field.path),
        });
        let left_out = [self.left_out, vec![row]].concat();
        let refused = self.table.rows[row].refuse(problem.message.clone(), problem.hint.clone());
        // If nothing else is filled in, the problem says more than that.
        Self::of(self.table, left_out, unreadable).map_err(|_| refused)
    }

    /// A problem of the text, reported for the table.
    #[cfg(test)]
    fn in_its_row(&self, error: Error) -> Error {
        self.written.in_its_row(error, &self.table)
    }
}

/// The remarks in a form, in the order of its rows.
///
/// # Errors
/// A row of the form with a value and without its name.
fn remarks(table: &Table) -> Result<Vec<Remark>> {
    let mut remarks = Vec::new();
    for row in &table.rows {
        let value = row.text("value").filter(|value| !is_blank_text(value));
        let entry = Entry::of(row);
        match (field_of(row), row.text("name")) {
            (Some(field), _) => remarks.extend(beside(field, row, entry)),
            (None, None) => match printed_as(row) {
                Some(field) if value.is_some() => {
                    let hint = format!("write `{}` there again", field.path);
                    let message = format!("the name of the row `{}` is not there", field.form_label());
                    return Err(row.refuse(message, Some(hint)));
                }
                Some(field) => remarks.extend(beside(field, row, None)),
                None => remarks.extend(alone(row)),
            },
            // A name with blanks and no value is a sentence in the last column.
            (None, Some(name)) if value.is_none() && name.contains(' ') => remarks.extend(alone(row)),
            (None, Some(_)) => {}
        }
    }
    Ok(remarks)
}

/// The field whose label the form prints in a row.
fn printed_as(row: &Row) -> Option<&'static QuoteField> {
    let label = row.text("label")?;
    QUOTE_FIELDS.iter().find(|field| field.form_label() == label)
}

/// The remarks in the row of a field.
fn beside(field: &QuoteField, row: &Row, entry: Option<Entry>) -> Vec<Remark> {
    let label = row.text("label").and_then(|label| {
        let printed =
            [field.form_label(), field.label.into()].into_iter().find(|it| label.starts_with(it))?;
        beyond(&printed, label)
    });
    // Beside a number it is read with it, and in the place of one as one.
    let is_text = matches!(field.written, Field::Text | Field::OneOf(_));
    let unit = match entry {
        Some(Entry { unit, .. }) if is_text => unit,
        Some(_) => None,
        None => row.text("unit"),
    };
    let unit = unit.and_then(|unit| beyond(field.form_unit(), unit));
    // A form of an older program marks fewer fields as needed.
    let printed = field.form_note();
    let unmarked = printed.trim_start_matches("needed").trim_start_matches(": ");
    let note = row.text("note").and_then(|note| {
        let marked = note.trim_start().starts_with("needed") || note.contains(&printed);
        beyond(if marked { &printed } else { unmarked }, note)
    });
    let texts = [label, unit, note].into_iter().flatten().chain(row.strays().iter().cloned());
    let value = entry.map(|entry| if is_text { entry.value.to_owned() } else { entry.whole() });
    texts.map(|text| Remark::beside(field, value.clone(), text)).collect()
}

/// The remark in a row of its own; `None` if it is blank.
fn alone(row: &Row) -> Option<Remark> {
    let cells = ["label", "value", "unit", "note", "name"].into_iter().filter_map(|column| row.text(column));
    let texts: Vec<&str> = cells.chain(row.strays().iter().map(String::as_str)).collect();
    (!texts.is_empty()).then(|| Remark::alone(texts.join("; ")))
}

/// The values of a form, and the doubts about those that are left out.
#[derive(Default)]
struct Cells {
    all: Branch,
    doubts: Vec<Doubt>,
    /// The shorter end of a time of delivery from one to another.
    shortest_delivery_days: Option<f64>,
}

/// The key of the currency.
const CURRENCY: &str = "price.currency";

impl Cells {
    fn of(table: &Table, left_out: &[usize]) -> Result<Self> {
        let mut cells = Self::default();
        let mut currency: Option<(String, usize)> = None;
        // What is written beside the amounts, with the codes that it may mean and its row.
        let mut beside: Vec<(String, Vec<&'static str>, usize)> = Vec::new();
        let rows = || table.rows.iter().enumerate().filter(|(number, _)| !left_out.contains(number));
        // What stands in several rows, as written there.
        let mut said: BTreeMap<&str, Vec<String>> = BTreeMap::new();
        for (_, row) in rows() {
            let (Some(name), Some(entry)) = (row.text("name"), Entry::of(row)) else { continue };
            said.entry(name).or_default().push(entry.whole());
        }
        for (number, row) in rows() {
            let (Some(name), Some(entry)) = (row.text("name"), Entry::of(row)) else { continue };
            // Empty once the name was met.
            let mut written = said.get_mut(name).map(std::mem::take).unwrap_or_default();
            let Some(first) = written.first().cloned() else { continue };
            written.retain(|other| *other != first);
            if !written.is_empty() {
                let meanings = Meanings::StatedTwice { others: written };
                cells.doubts.push(Doubt::about(name, &first, meanings));
                continue;
            }
            let path = parts(name, row)?;
            match reading(name, entry) {
                Reading::Value(json) => cells.all.put(&path, json, number),
                Reading::Amount(json, currency) => {
                    cells.all.put(&path, json, number);
                    beside.extend(currency.map(|(sign, codes)| (sign, codes, number)));
                }
                Reading::Currency(code) if currency.is_none() => currency = Some((code, number)),
                Reading::Currency(code) => cells.all.put(&path, json(&code), number),
                Reading::Between(json, shortest_days) => {
                    cells.all.put(&path, json, number);
                    cells.shortest_delivery_days = Some(shortest_days);
                }
                Reading::Doubtful(meanings) => {
                    cells.doubts.push(Doubt::about(name, &entry.whole(), meanings));
                }
            }
        }
        cells.put_currency(table, currency, &beside);
        Ok(cells)
    }

    /// Puts the currency that the form states or that is written beside its amounts. If these differ, it is a doubt.
    fn put_currency(
        &mut self,
        table: &Table,
        stated: Option<(String, usize)>,
        beside: &[(String, Vec<&'static str>, usize)],
    ) {
        let alone = beside.iter().find_map(|(_, codes, row)| match codes[..] {
            [only] => Some((only.to_owned(), *row)),
            _ => None,
        });
        let Some((code, row)) = stated.or(alone) else { return };
        match beside.iter().find(|(_, codes, _)| !codes.contains(&code.as_str())) {
            Some((written, _, row)) => {
                let text = table.rows[*row].text("value").unwrap_or_default();
                let meanings = Meanings::Currencies { written: written.clone(), stated: code };
                self.doubts.push(Doubt::about(CURRENCY, text, meanings));
            }
            None => {
                let path: Vec<&str> = CURRENCY.split('.').collect();
                self.all.put(&path, json(&code), row);
            }
        }
    }
}

/// The blank form as JSON: every field in its place, with its unit after the blank.
pub fn blank_quote_text() -> String {
    let mut all = Branch::default();
    for QuoteField { path, written, .. } in QUOTE_FIELDS {
        let blank = match written {
            Field::Number | Field::Count => "null".into(),
            Field::With(unit) => json(&format!("{BLANK} {}", unit.names[0])),
            Field::Text => json(BLANK),
            Field::OneOf(words) => json(&format!("{BLANK} {}", words.join(" or "))),
        };
        let path: Vec<&str> = path.split('.').collect();
        all.put(&path, blank, 0);
    }
    Written::of(&all).text
}

#[cfg(test)]
mod tests {
    use super::super::quote_from_text;
    use super::*;

    fn of(table: &str) -> Result<FilledTable> {
        FilledTable::of(Table::from_text("quote.csv", table, COLUMNS)?, Vec::new(), Vec::new())
    }

    const TABLE: &str = "name;value;unit\ntitle;Quote;\nwinding.mean_radius;150;mm\nwinding.width;17;mm\n\
                         winding.depth;9,4;mm\nwinding.turns;136;\nwinding.layers;;\nwinding.wire.size;0,95;\n\
                         winding.wire.build;grade 2;\nspacing;150;mm\nconnection;series;\nprice.amount;120;\nprice.currency;EUR;\n";

    #[test]
    fn a_table_says_what_the_json_file_says() {
        let source = of(TABLE).unwrap().source;
        let quote = quote_from_text("quote.json", &source.text).unwrap();
        let bench = quote.filled(&[]).unwrap().unwrap();
        assert_eq!(bench.winding.depth_m, 0.0094);
        assert_eq!(bench.winding.wire.name.as_deref(), Some("0.95 mm grade 2"));
        assert_eq!(quote.offer.amount, Some(120.0));
    }

    #[test]
    fn a_problem_is_told_with_its_row() {
        let table = of(&TABLE.replace("\nspacing;150;mm", "\nspacing;150;A")).unwrap();
        let error = table.in_its_row(quote_from_text("quote.json", &table.source.text).unwrap_err());
        assert!(error.to_string().contains("quote.csv, line 10: `spacing`: `150 A` is a current"), "{error}");
    }

    #[test]
    fn a_blank_form_has_every_field_with_its_unit_and_is_all_gaps() {
        let text = blank_quote_text();
        let form: serde_json::Value = serde_json::from_str(&text).unwrap();
        for field in QUOTE_FIELDS {
            assert!(form.pointer(&format!("/{}", field.path.replace('.', "/"))).is_some(), "{}", field.path);
        }
        assert!(text.contains("\"mean_radius\": \"___ mm\"") && text.contains("\"turns\": null"), "{text}");
        assert_eq!(quote_from_text("quote.json", &text).unwrap().gaps.len(), 7);
        let error = not_filled_in(Path::new("quote.json")).to_string();
        assert!(error.starts_with("cannot read quote.json: the quote is not filled in: `title`"), "{error}");
    }
}
