//! The tables that people fill in: CSV whose headings carry the unit (`current_A`, `field_mT`, `x_m`).
//!
//! The columns are separated by commas, semicolons or tabs; a decimal comma is allowed only with the latter two, and
//! then throughout. A byte order mark, CRLF, UTF-16 with its mark and Windows-1252 are accepted. So are a title above
//! the heading, and a first line `sep=;`. Lines that start with `#` are skipped; if the first column is text, which may
//! itself start with `#`, only those before the heading. An unknown heading is an error (it may be a typo), except in
//! tables whose known columns are all required: there a typo already shows as a missing column, so extra columns are
//! skipped. Ambiguous input is refused with its line.
//!
//! A workbook (`.xlsx`, `.ods`) can be read as a table too: its first sheet with a known heading.
//!
//! [`TableReader`] reads row by row in constant memory, [`Table::read`] a whole small table, and [`PointReader`] points
//! at speed, from numpy's arrays too.

mod column;
mod encoding;
#[cfg(test)]
mod forms;
mod heading;
mod heading_search;
mod left_out;
mod line;
#[cfg(not(feature = "sheets"))]
mod no_workbook;
mod points;
mod sheet;
#[cfg(feature = "sheets")]
mod workbook;

use crate::error::{reason_unread, said_by_system};
use crate::units::{Dimension, Unit, brief, number, shortened, unit};
use crate::{Error, Result};
pub use column::{Column, Kind};
pub use heading::quantity_and_unit;
use heading::{Heading, NotFound};
pub(crate) use left_out::LeftOut;
use line::{CellKind, LineReader};
#[cfg(not(feature = "sheets"))]
use no_workbook::Workbook;
pub use points::PointReader;
use std::fs::File;
use std::io::{BufReader, Read};
use std::path::{Path, PathBuf};
use std::sync::Arc;
#[cfg(feature = "sheets")]
use workbook::Workbook;

/// One row, with its cells accessible by column name.
#[derive(Clone, Debug)]
pub struct Row {
    path: Arc<Path>,
    sheet: Option<Arc<str>>,
    columns: &'static [Column],
    /// The line in the file or the row of the sheet, counted from 1 with the heading.
    pub line: u64,
    quantities: Vec<Option<f64>>,
    uncertainties: Vec<Option<f64>>,
    answers: Vec<Option<bool>>,
    texts: Vec<Option<String>>,
    /// What stands in cells without a heading, if the reader keeps it.
    strays: Vec<String>,
}

impl Row {
    fn empty(path: Arc<Path>, sheet: Option<Arc<str>>, columns: &'static [Column]) -> Self {
        let count = columns.len();
        Self {
            path,
            sheet,
            columns,
            line: 0,
            quantities: vec![None; count],
            uncertainties: vec![None; count],
            answers: vec![None; count],
            texts: vec![None; count],
            strays: Vec::new(),
        }
    }

    fn at(&self, name: &str) -> Option<usize> {
        let found = self.columns.iter().position(|column| column.name == name);
        debug_assert!(found.is_some(), "no column is named {name}");
        found
    }

    /// The value in SI (temperatures in °C), if the cell is filled.
    pub fn quantity(&self, name: &str) -> Option<f64> {
        self.quantities[self.at(name)?]
    }

    /// The value in SI, or an error that names this row.
    pub fn required(&self, name: &str) -> Result<f64> {
        self.quantity(name)
            .ok_or_else(|| self.refuse(format!("`{name}` is not filled in"), Some(FILL_IN.into())))
    }

    /// The standard uncertainty in SI, if the cell is filled.
    pub fn uncertainty(&self, name: &str) -> Option<f64> {
        self.uncertainties[self.at(name)?]
    }

    /// The answer, if the cell is filled.
    pub fn yes(&self, name: &str) -> Option<bool> {
        self.answers[self.at(name)?]
    }

    /// The text, if the cell is filled.
    pub fn text(&self, name: &str) -> Option<&str> {
        self.texts[self.at(name)?].as_deref()
    }

    /// What stands in its cells without a heading; only a table read with [`Table::read_with_strays`] has any.
    pub(crate) fn strays(&self) -> &[String] {
        &self.strays
    }

    /// An error that names this row.
    pub fn refuse(&self, message: impl Into<String>, hint: Option<String>) -> Error {
        Error::in_table(&*self.path, self.sheet.as_deref(), self.line, message, hint)
    }
}

/// Reads a table row by row, in constant memory.
pub struct TableReader {
    path: Arc<Path>,
    columns: &'static [Column],
    heading: Heading,
    lines: LineReader,
    decimal_mark: DecimalMark,
    /// Whether cells without a heading are kept instead of refused.
    keeps_strays: bool,
    /// The rows left out by a `#`, if the reader keeps them.
    left_out: Option<Vec<LeftOut>>,
}

impl std::fmt::Debug for TableReader {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("TableReader").field("path", &self.path).finish_non_exhaustive()
    }
}

/// The decimal mark of a table's numbers, and the line that showed it first.
#[derive(Clone, Copy, Debug)]
enum DecimalMark {
    Unknown,
    Point(u64),
    Comma(u64),
}

/// Opens a file for reading; a folder is none.
fn opened(path: &Path) -> Result<File> {
    let refused = |reason: String| Error::Read { path: path.into(), reason };
    let file = File::open(path).map_err(|error| refused(reason_unread(&error)))?;
    if file.metadata().is_ok_and(|metadata| metadata.is_dir()) {
        return Err(refused("it is a directory, not a file".into()));
    }
    Ok(file)
}

impl TableReader {
    /// Opens a text file or a workbook and reads its heading.
    pub fn open(path: impl AsRef<Path>, columns: &'static [Column]) -> Result<Self> {
        let path = path.as_ref();
        Self::from_reader(path, opened(path)?, columns)
    }

    /// Reads from any reader, text or workbook; `name` stands for it in messages.
    pub fn from_reader(
        name: impl AsRef<Path>,
        reader: impl Read + Send + 'static,
        columns: &'static [Column],
    ) -> Result<Self> {
        let path: Arc<Path> = name.as_ref().into();
        let unread =
            |error: std::io::Error| Error::Read { path: path.to_path_buf(), reason: said_by_system(&error) };
        let (start, reader) = encoding::peek(reader, 4).map_err(unread)?;
        if sheet::is_workbook(&start) {
            return Self::from_workbook(path, reader, columns);
        }
        let text = encoding::decoded(reader).map_err(unread)?;
        let lines = LineReader::new(path.clone(), BufReader::with_capacity(1 << 18, text));
        Self::from_lines(path, lines, columns).map_err(|not_found| not_found.error)
    }

    /// The only shown sheet with a known heading; if it cannot be used, an error with the reason.
    fn from_workbook(path: Arc<Path>, reader: impl Read, columns: &'static [Column]) -> Result<Self> {
        let mut workbook = Workbook::open(&path, reader)?;
        let names = workbook.sheet_names();
        let mut found: Option<Self> = None;
        for name in &names {
            let sheet = workbook.sheet(&path, name)?;
            match (Self::from_lines(path.clone(), LineReader::of_sheet(path.clone(), sheet), columns), &found)
            {
                (Ok(table), None) => found = Some(table),
                (Ok(table), Some(first)) => return Err(Self::two_sheets(first, &table)),
                (Err(NotFound { error, some_known: true }), None) => return Err(error),
                (Err(_), _) => {}
            }
        }
        if let Some(found) = found {
            return Ok(found);
        }
        let names: Vec<_> = names.iter().take(10).map(|name| format!("`{}`", shortened(name))).collect();
        Err(Error::Unusable {
            path: path.to_path_buf(),
            reason: format!("none of its sheets has a known heading (looked at: {})", names.join(", ")),
            hint: Some(format!("name the columns in a row above the numbers; {}", heading::known(columns))),
        })
    }

    /// The error for two sheets that hold the same kind of table.
    fn two_sheets(first: &Self, second: &Self) -> Error {
        let name = |table: &Self| shortened(table.sheet().unwrap_or_default());
        Error::Unusable {
            path: first.path.to_path_buf(),
            reason: format!(
                "the sheets `{}` and `{}` both have the heading of this table",
                name(first),
                name(second)
            ),
            hint: Some("put all rows in one sheet, or hide the sheet that does not count".into()),
        }
    }

    fn from_lines(
        path: Arc<Path>,
        mut lines: LineReader,
        columns: &'static [Column],
    ) -> std::result::Result<Self, NotFound> {
        let heading = heading_search::search(&mut lines, columns)?;
        let decimal_mark = DecimalMark::Unknown;
        Ok(Self { path, columns, heading, lines, decimal_mark, keeps_strays: false, left_out: None })
    }

    /// The path of the table.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// The sheet of a workbook; `None` for a text file.
    pub fn sheet(&self) -> Option<&str> {
        self.lines.sheet().map(|name| &**name)
    }

    /// An error about the file as a whole.
    fn unusable(&self, reason: impl Into<String>, hint: &str) -> Error {
        self.lines.unusable(reason, hint)
    }

    /// Whether the table has this column.
    pub fn has(&self, name: &str) -> bool {
        self.heading.has(self.columns, name, false)
    }

    /// Whether the table has the column of this column's standard uncertainties.
    pub(crate) fn has_uncertainty(&self, name: &str) -> bool {
        self.heading.has(self.columns, name, true)
    }

    /// Refuses a table that has none of these columns.
    pub(crate) fn require_one_of(&self, names: &[&str]) -> Result<()> {
        if names.iter().any(|name| self.has(name)) {
            return Ok(());
        }
        let wanted = self.columns.iter().filter(|column| names.contains(&column.name));
        let examples: Vec<_> = wanted.map(|column| format!("`{}`", heading::example(column))).collect();
        Err(Error::in_table(
            &*self.path,
            self.sheet(),
            self.heading.line,
            format!("the heading has no {}", examples.join(" and no ")),
            Some(format!("give one of them; {}", heading::known(self.columns))),
        ))
    }

    /// An empty row for [`Self::read`].
    pub fn row(&self) -> Row {
        Row::empty(self.path.clone(), self.lines.sheet().cloned(), self.columns)
    }

    /// Reads the next row into `row`; `false` at the end. Comments and rows with only empty cells are skipped.
    pub fn read(&mut self, row: &mut Row) -> Result<bool> {
        loop {
            if !self.lines.next_uncut()? {
                return Ok(false);
            }
            // Where labels stand first, `#12` is one of them.
            let is_label =
                self.heading.starts_with_text(self.columns) && self.lines.begins_with_a_number_sign();
            if self.lines.is_comment() && !is_label {
                if let Some(kept) = &mut self.left_out {
                    kept.extend(LeftOut::of(&mut self.lines, &self.heading, self.columns));
                }
                continue;
            }
            self.lines.cut(self.heading.separator)?;
            if self.lines.fields().all(|field| field.is_empty()) {
                continue;
            }
            row.line = self.lines.line();
            row.strays.clear();
            if self.keeps_strays {
                self.keep_strays(row)?;
            } else {
                self.heading.check_count(&self.lines)?;
                self.heading.check_named(&self.lines)?;
            }
            self.fill(row)?;
            return Ok(true);
        }
    }

    /// Keeps what stands in cells without a heading. A line of text with one cell is such a row as well.
    fn keep_strays(&self, row: &mut Row) -> Result<()> {
        let filled = self.lines.fields().filter(|field| !field.is_empty()).count();
        if self.lines.sheet().is_none() && filled > 1 {
            self.heading.check_count(&self.lines)?;
        }
        let headed = |place: &usize| self.heading.names.get(*place).is_some_and(|name| !name.is_empty());
        let strays = (0..self.lines.count()).filter(|place| !headed(place)).map(|place| self.text(place));
        let lines = strays.map(|text| crate::units::inert::line(&text).into_owned());
        row.strays.extend(lines.filter(|text| !text.is_empty()));
        Ok(())
    }

    /// The error for a table that ends with its heading.
    pub(crate) fn no_rows(&self) -> Error {
        self.unusable("it has a heading and no rows", "write at least one row under the heading")
    }

    fn fill(&mut self, row: &mut Row) -> Result<()> {
        for place in 0..self.heading.cells.len() {
            let Some(cell) = self.heading.cells[place] else { continue };
            let column = self.columns[cell.column];
            self.refuse_without_value(place, column.kind)?;
            let field = self.lines.field(place);
            match column.kind {
                Kind::Quantity(dimension) => {
                    let value = match field {
                        b"" => None,
                        _ => Some(self.number(
                            place,
                            cell.unit,
                            heading::of_uncertainty(dimension, cell.uncertainty),
                        )?),
                    };
                    if let (Some(value), Some(limits)) = (value, column.limits) {
                        self.check_within(place, value, (limits, dimension, cell.uncertainty))?;
                    }
                    if cell.uncertainty {
                        row.uncertainties[cell.column] = self.not_negative(place, value)?;
                    } else {
                        row.quantities[cell.column] = value;
                    }
                }
                Kind::YesNo => row.answers[cell.column] = self.answer(place)?,
                Kind::Text | Kind::TextOrDay => {
                    let text = self.text(place);
                    row.texts[cell.column] =
                        (!text.is_empty()).then(|| crate::units::inert::line(&text).into_owned());
                }
            }
            if column.required
                && !column.may_be_blank
                && !cell.uncertainty
                && self.lines.field(place).is_empty()
            {
                let message = format!("`{}` is not filled in", self.heading.names[place]);
                return Err(self.lines.refuse_field(place, message, Some(FILL_IN)));
            }
        }
        Ok(())
    }

    /// Refuses a cell whose content is not what was typed.
    fn refuse_without_value(&self, place: usize, kind: Kind) -> Result<()> {
        let (what, hint) = match self.lines.kind(place) {
            CellKind::Text | CellKind::Number | CellKind::Percent | CellKind::Money => return Ok(()),
            CellKind::Day if kind == Kind::TextOrDay => return Ok(()),
            CellKind::Day | CellKind::Time => (
                "a date or a time of day",
                "spreadsheets make dates of what looks like one, such as 1.5 or 3-4: format the column as number or \
                 text, then type the value again",
            ),
            CellKind::Uncomputed => (
                "a formula without its value",
                "the program that wrote the file did not compute it: open it in a spreadsheet program and save it again",
            ),
        };
        let message = format!("`{}` holds {what}", self.heading.names[place]);
        Err(self.lines.refuse_field(place, message, Some(hint)))
    }

    /// A cell as it is shown: one that contains 0.19 and shows `19 %` is `19 %`, one that shows a currency has its sign.
    fn text(&self, place: usize) -> std::borrow::Cow<'_, str> {
        let text = String::from_utf8_lossy(self.lines.field(place));
        if let Some(sign) = self.lines.currency(place) {
            return format!("{text} {sign}").into();
        }
        match (self.lines.kind(place), text.parse::<f64>()) {
            (CellKind::Percent, Ok(fraction)) => {
                // Rounded, because a hundred times 0.19 is not quite 19.
                let percent = (1e12 * fraction).round() / 1e10;
                format!("{percent} %").into()
            }
            _ => text,
        }
    }

    /// The fraction in a cell that the sheet shows in percent: the cell contains 0.005 where it shows `0.5 %`.
    fn percent(&self, place: usize, shown: Option<f64>, dimension: Dimension) -> Result<f64> {
        match (shown, dimension) {
            (Some(fraction), Dimension::Fraction | Dimension::Number) => Ok(fraction),
            (shown, _) => {
                let name = &self.heading.names[place];
                let shown = shown
                    .map_or(String::new(), |fraction| format!(" ({})", brief(fraction, Dimension::Fraction)));
                let message = format!("`{name}` is shown in percent{shown}, but is not a fraction");
                let hint =
                    "format the column as number, then type the value again in the unit of the heading";
                Err(self.lines.refuse_field(place, message, Some(hint)))
            }
        }
    }

    /// Refuses a value outside its column's limits. An uncertainty needs only to be at most the upper limit.
    fn check_within(
        &self,
        place: usize,
        value: f64,
        ([least, most], dimension, uncertainty): ([f64; 2], Dimension, bool),
    ) -> Result<()> {
        let least = if uncertainty { f64::NEG_INFINITY } else { least };
        if (least..=most).contains(&value) {
            return Ok(());
        }
        let name = &self.heading.names[place];
        let allowed = match uncertainty {
            true => format!("at most {} is", brief(most, dimension)),
            false => format!("{} to {} is", brief(least, dimension), brief(most, dimension)),
        };
        let message = format!("`{name}` is {}, and {allowed} allowed", readable(value, dimension));
        let hint = match value < 0.0 && least >= 0.0 {
            true => "write it without a sign",
            false => "check the decimal point, and the unit in the heading",
        };
        Err(self.lines.refuse_field(place, message, Some(hint)))
    }

    /// The number in a cell as the SI value of the heading's unit.
    fn number(&mut self, place: usize, unit: Unit, dimension: Dimension) -> Result<f64> {
        let field = self.lines.field(place);
        if self.lines.kind(place) == CellKind::Percent {
            let shown = std::str::from_utf8(field).ok().and_then(|text| number(text, unit::ONE));
            return self.percent(place, shown, dimension);
        }
        if let Some(value) = std::str::from_utf8(field).ok().and_then(|text| number(text, unit)) {
            if field.contains(&b'.') && self.lines.kind(place) == CellKind::Text {
                self.saw_point(place)?;
            }
            return Ok(value);
        }
        let name = &self.heading.names[place];
        let text = String::from_utf8_lossy(field).into_owned();
        let comma_is_free = self.heading.separator != b',' || self.lines.sheet().is_some();
        let halves = text.split_once(',').filter(|_| comma_is_free);
        if let Some(value) = halves.and_then(|(whole, decimals)| number(&format!("{whole}.{decimals}"), unit))
        {
            self.saw_comma(place)?;
            return Ok(value);
        }
        let message = format!("`{name}`: `{}` is not a number", shortened(&text));
        Err(match text.starts_with('#') && text.len() > 1 {
            true => self.lines.refuse_field(
                place,
                message + ", but a spreadsheet's error",
                Some("correct the formula, or type the number"),
            ),
            false => self.lines.refuse_field(place, message, Some(number_hint(&text))),
        })
    }

    fn saw_point(&mut self, place: usize) -> Result<()> {
        match self.decimal_mark {
            DecimalMark::Unknown => self.decimal_mark = DecimalMark::Point(self.lines.line()),
            DecimalMark::Point(_) => {}
            DecimalMark::Comma(line) => return Err(self.mixed_marks(place, "point", line, "comma")),
        }
        Ok(())
    }

    fn saw_comma(&mut self, place: usize) -> Result<()> {
        match self.decimal_mark {
            DecimalMark::Unknown => self.decimal_mark = DecimalMark::Comma(self.lines.line()),
            DecimalMark::Comma(_) => {}
            DecimalMark::Point(line) => return Err(self.mixed_marks(place, "comma", line, "point")),
        }
        Ok(())
    }

    fn mixed_marks(&self, place: usize, here: &str, line: u64, there: &str) -> Error {
        let text = String::from_utf8_lossy(self.lines.field(place)).into_owned();
        self.lines.refuse_field(
            place,
            format!("`{}` has a decimal {here}, and line {line} has a decimal {there}", shortened(&text)),
            Some("use one decimal mark in the whole table, and none for thousands"),
        )
    }

    fn not_negative(&self, place: usize, value: Option<f64>) -> Result<Option<f64>> {
        match value {
            Some(value) if value < 0.0 => {
                let message = format!("`{}` is negative", self.heading.names[place]);
                Err(self.lines.refuse_field(place, message, Some("a standard uncertainty is zero or more")))
            }
            _ => Ok(value),
        }
    }

    fn answer(&self, place: usize) -> Result<Option<bool>> {
        let field = self.lines.field(place).to_ascii_lowercase();
        match field.as_slice() {
            b"" => Ok(None),
            b"yes" | b"y" | b"true" | b"1" => Ok(Some(true)),
            b"no" | b"n" | b"false" | b"0" => Ok(Some(false)),
            other => {
                let text = String::from_utf8_lossy(other);
                let message =
                    format!("`{}`: `{}` is neither yes nor no", self.heading.names[place], shortened(&text));
                Err(self.lines.refuse_field(place, message, Some("write `yes` or `no`")))
            }
        }
    }
}

/// The hint for an empty cell that every row needs.
const FILL_IN: &str = "fill it in, or delete the row";

/// The hint for a number that could not be read.
fn number_hint(text: &str) -> &'static str {
    if text.contains(',') {
        "write a decimal point, or a decimal comma with semicolons between the columns, and no mark for thousands"
    } else if text.contains(char::is_alphabetic) && text.starts_with(|c: char| c.is_ascii_digit()) {
        "the unit belongs into the heading, and only the number into the cell"
    } else {
        "write the number alone, such as 1.25, or leave the cell empty where that is allowed"
    }
}

/// A value for a message; one that is off by many orders is shown in powers of ten.
fn readable(si: f64, dimension: Dimension) -> String {
    match si.abs() {
        size if size == 0.0 || (1e-9..1e9).contains(&size) => brief(si, dimension),
        _ => format!("{si:.3e} in SI units"),
    }
}

/// A whole table in memory.
#[derive(Clone, Debug)]
pub struct Table {
    /// Its path.
    pub path: PathBuf,
    /// The sheet of the workbook; `None` for a text file.
    pub sheet: Option<String>,
    /// Its rows, at least one.
    pub rows: Vec<Row>,
    /// The rows left out by a `#`; only of a reader that keeps them.
    pub(crate) left_out: Vec<LeftOut>,
}

impl Table {
    /// Most rows of a table in memory: more than any calibration has, and few enough for pages and pictures of them.
    pub(crate) const MOST_ROWS: usize = 20_000;

    /// Reads a whole table; it must have at least one row.
    pub fn read(path: impl AsRef<Path>, columns: &'static [Column]) -> Result<Self> {
        Self::collect(TableReader::open(path, columns)?)
    }

    /// As [`Self::read`], but what stands in cells without a heading is kept instead of refused.
    pub(crate) fn read_with_strays(path: impl AsRef<Path>, columns: &'static [Column]) -> Result<Self> {
        let reader = TableReader::open(path, columns)?;
        Self::collect(TableReader { keeps_strays: true, ..reader })
    }

    /// As [`Self::collect`], and the rows that are left out by a `#` are told.
    pub(crate) fn collect_with_left_out(reader: TableReader) -> Result<Self> {
        Self::collect(TableReader { left_out: Some(Vec::new()), ..reader })
    }

    /// All remaining rows of a reader; at least one.
    pub fn collect(reader: TableReader) -> Result<Self> {
        Self::collect_at_most(reader, Self::MOST_ROWS)
    }

    /// As [`Self::collect`], with an error for more than `most` rows.
    pub(crate) fn collect_at_most(mut reader: TableReader, most: usize) -> Result<Self> {
        let mut rows = Vec::new();
        let mut row = reader.row();
        while reader.read(&mut row)? {
            if rows.len() == most {
                return Err(reader.unusable(
                    format!("it has more than {most} rows"),
                    "keep every tenth row, or means of rows that belong together",
                ));
            }
            rows.push(row.clone());
        }
        if rows.is_empty() {
            return Err(reader.no_rows());
        }
        Ok(Self {
            path: reader.path.to_path_buf(),
            sheet: reader.sheet().map(str::to_owned),
            rows,
            left_out: reader.left_out.unwrap_or_default(),
        })
    }

    /// Reads a whole table from text; `name` stands for it in messages.
    pub fn from_text(name: &str, text: &str, columns: &'static [Column]) -> Result<Self> {
        let bytes = std::io::Cursor::new(text.as_bytes().to_vec());
        Self::collect(TableReader::from_reader(name, bytes, columns)?)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const COLUMNS: &[Column] = &[
        Column::quantity("current", Dimension::Current).as_symbol(&["I"]).required().with_uncertainty(),
        Column::quantity("field", Dimension::FluxDensity).as_symbol(&["B"]).required().with_uncertainty(),
        Column::quantity("nx", Dimension::Number),
        Column::quantity("air", Dimension::Temperature).with_uncertainty(),
        Column::yes_no("probe_flipped"),
        Column::text("label"),
    ];

    fn read(text: &str) -> Result<Table> {
        Table::from_text("r.csv", text, COLUMNS)
    }

    fn refusal(text: &str) -> (String, String) {
        let error = read(text).expect_err(text);
        (error.to_string(), error.hint().unwrap_or_default())
    }

    #[test]
    fn the_unit_of_the_heading_holds_for_its_column() {
        let table = read(
            "\u{feff}current_mA,field_G,field_uncertainty_uT,probe_flipped,label\r\n\
             -1400,8.57,2.5,yes,\"first, cold\"\r\n\
             ,,,,\r\n\
             +2,0,,,\r\n",
        )
        .unwrap();
        let [first, second] = &table.rows[..] else { panic!("{table:?}") };
        assert_eq!(first.quantity("current"), Some(-1.4));
        assert_eq!(first.quantity("field"), Some(8.57e-4));
        assert_eq!(first.uncertainty("field"), Some(2.5e-6));
        assert_eq!(first.uncertainty("current"), None);
        assert_eq!(first.yes("probe_flipped"), Some(true));
        assert_eq!(first.text("label"), Some("first, cold"));
        assert_eq!((first.line, second.line), (2, 4));
        assert_eq!(second.uncertainty("field"), None);
        assert_eq!(second.text("label"), None);
        assert_eq!(second.required("nx").unwrap_err().to_string(), "r.csv, line 4: `nx` is not filled in");
    }

    #[test]
    fn a_heading_is_understood_as_people_write_it() {
        for heading in [
            "I (A)\tB (mT)",
            "I/A\tB/mT",
            "I [A]\tB [mT]",
            "Current in A\tField in mT",
            "current (A)\tField(mT)",
        ] {
            let table = read(&format!("{heading}\n1.5\t0.86\n")).unwrap();
            assert_eq!(table.rows[0].quantity("current"), Some(1.5), "{heading}");
            assert_eq!(table.rows[0].quantity("field"), Some(0.86e-3), "{heading}");
        }
        for heading in [
            "I (A)\tB (mT)\tu(B) (mT)",
            "I/A\tB/mT\tu(B)/mT",
            "I [A]\tB [mT]\tu_B [mT]",
            "Current in A\tField in mT\tuncertainty of field in mT",
            "current_A\tfield_mT\tStandard uncertainty of B (mT)",
        ] {
            let table = read(&format!("{heading}\n1.5\t0.86\t0.01\n")).unwrap();
            assert_eq!(table.rows[0].uncertainty("field"), Some(1e-5), "{heading}");
        }
        // An expanded uncertainty is no standard one.
        let refused = read("I (A)\tB (mT)\tU(B) (mT)\n1.5\t0.86\t0.02\n").unwrap_err();
        assert!(refused.to_string().contains("is an expanded uncertainty"), "{refused}");
        // Lower case is another quantity, and a bracket without its unit is none.
        for unknown in ["i (A)\tB (mT)", "I (V)\tB (mT)", "I ()\tB (mT)", "X (A)\tB (mT)"] {
            assert!(read(&format!("{unknown}\n1.5\t0.86\n")).is_err(), "{unknown}");
        }
    }

    #[test]
    fn the_long_form_and_the_uncertainty_of_a_temperature_are_read() {
        let table = read("current_ampere,field_tesla,air_C,air_uncertainty_K\n1,0.001,20,0.5\n").unwrap();
        assert_eq!(table.rows[0].quantity("field"), Some(0.001));
        assert_eq!(table.rows[0].quantity("air"), Some(20.0));
        assert_eq!(table.rows[0].uncertainty("air"), Some(0.5));
    }

    #[test]
    fn a_decimal_comma_needs_semicolons_and_holds_throughout() {
        let table = read("current_A;field_mT\n1,5;0,857\n2;1,143\n").unwrap();
        assert_eq!(table.rows[0].quantity("current"), Some(1.5));
        assert_eq!(table.rows[1].quantity("field"), Some(0.001143));
        assert!(read("current_A;field_mT\n1.5;0.857\n").is_ok());
        for (text, message, hint) in [
            (
                "current_A,field_mT\n1,5,0,857\n",
                "r.csv, line 2: 4 cells, and the heading has 2",
                "a decimal comma needs semicolons",
            ),
            (
                "current_A;field_mT\n1,5;0.857\n",
                "r.csv, line 2: `0.857` has a decimal point, and line 2 has a decimal comma",
                "one decimal mark",
            ),
            (
                "current_A;field_mT\n1.5;2\n1;1,234\n",
                "r.csv, line 3: `1,234` has a decimal comma, and line 2 has a decimal point",
                "none for thousands",
            ),
            (
                "current_A;field_mT\n1.234,5;2\n",
                "r.csv, line 2: `current_A`: `1.234,5` is not a number",
                "thousands",
            ),
        ] {
            let found = refusal(text);
            assert_eq!(found.0, message);
            assert!(found.1.contains(hint), "{found:?}");
        }
    }

    #[test]
    fn a_refusal_names_its_line_and_what_would_do() {
        for (text, message, hint) in [
            ("curent_A,field_mT\n", "r.csv, line 1: unknown heading `curent_A`", "did you mean `current_A`?"),
            ("current_A,field_MT\n", "r.csv, line 1: unknown heading `field_MT`", "did you mean `field_mT`?"),
            ("current,field_mT\n", "r.csv, line 1: the heading `current` has no unit", "such as `current_A`"),
            (
                "current_A\n",
                "r.csv, line 1: the heading has no `field`",
                "such as `field_mT` (units: mT, uT, T, nT, G, mG)",
            ),
            (
                "current_A,current_mA,field_mT\n",
                "r.csv, line 1: `current_mA` is the second column of its kind",
                "",
            ),
            ("current_A,air_uncertainty_K,field_mT\n", "r.csv, line 1: the heading has no `air`", ""),
            ("current_A,field_mT\n1,2\n1,\n", "r.csv, line 3: `field_mT` is not filled in", ""),
            (
                "current_A,field_mT\n1,2\n1\n",
                "r.csv, line 3: 1 cell, and the heading has 2",
                "keep its separator",
            ),
            ("current_A,field_mT\n1,two\n", "r.csv, line 2: `field_mT`: `two` is not a number", ""),
            (
                "current_A,field_mT\n1,2 mT\n",
                "r.csv, line 2: `field_mT`: `2 mT` is not a number",
                "only the number",
            ),
            ("current_A,field_mT\n1,NaN\n", "r.csv, line 2: `field_mT`: `NaN` is not a number", ""),
            ("current_A,field_mT\n1,inf\n", "r.csv, line 2: `field_mT`: `inf` is not a number", ""),
            ("current_A,field_mT\n1,1e999\n", "r.csv, line 2: `field_mT`: `1e999` is not a number", ""),
            ("current_A,field_mT\n1e999,1\n", "r.csv, line 2: `current_A`: `1e999` is not a number", ""),
            (
                "current_A,field_mT,field_uncertainty_mT\n1,2,-1\n",
                "r.csv, line 2: `field_uncertainty_mT` is negative",
                "",
            ),
            (
                "current_A,field_mT,probe_flipped\n1,2,perhaps\n",
                "r.csv, line 2: `probe_flipped`: `perhaps` is neither yes nor no",
                "",
            ),
            ("current_A,field_mT\n", "cannot read r.csv: it has a heading and no rows", ""),
            ("", "cannot read r.csv: it holds no heading", ""),
            ("{\n", "cannot read r.csv: it is JSON, not a table", ""),
            ("current_A,field_mT;label\n", "r.csv, line 1: the heading has commas and semicolons", ""),
        ] {
            let found = refusal(text);
            assert_eq!(found.0, message);
            assert!(found.1.contains(hint), "{found:?}");
        }
        let long = format!("current_A,field_mT\n{}\n", "1".repeat(100_000));
        assert_eq!(refusal(&long).0, "r.csv, line 2: the line is longer than 64 KiB");
    }

    #[test]
    fn lines_that_start_with_a_hash_are_comments_unless_a_numbered_label_stands_there() {
        let table = read("# by hand\ncurrent_A,field_mT,label\n# cold, then\n1,0.8,#1\n#\n2,1.6,\n").unwrap();
        assert_eq!(table.rows.len(), 2);
        assert_eq!(table.rows[0].text("label"), Some("#1"));
        assert_eq!(table.rows[1].line, 6);
        let labelled = read("# by hand\nlabel,current_A,field_mT\n#1,1,0.8\n").unwrap();
        assert_eq!(labelled.rows[0].text("label"), Some("#1"));
        // A row that is left out by its mark, as in a plan filled in, and a remark.
        let text = "label,current_A,field_mT\nA01,1,0.8\n#A02,2,1.5\n# A03,2,1.5,slipped\n# at noon\n#1 of 2\n#12,3,2.4\n";
        let marked = read(text).unwrap();
        let labels: Vec<_> = marked.rows.iter().map(|row| row.text("label")).collect();
        assert_eq!(labels, [Some("A01"), Some("#12")]);
    }

    #[test]
    fn columns_that_are_not_known_are_passed_over_only_where_nothing_optional_could_be_meant() {
        const POINTS: &[Column] = &[
            Column::quantity("x", Dimension::Length).required(),
            Column::quantity("y", Dimension::Length).required(),
        ];
        let table =
            Table::from_text("p.csv", "bx_tesla,x_m,remark,y_mm\nwhatever,1,a b,2\n", POINTS).unwrap();
        assert_eq!(table.rows[0].quantity("x"), Some(1.0));
        assert_eq!(table.rows[0].quantity("y"), Some(0.002));
        for (text, message, hint) in [
            ("x_m,yy_m\n", "p.csv, line 1: unknown heading `yy_m`", "did you mean `y_m`?"),
            ("x_m\n", "p.csv, line 1: the heading has no `y`", "such as `y_mm`"),
            (
                "# x_m,y_m\n0.1,0.2\n",
                "p.csv, line 2: `0.1` stands where a heading belongs",
                "without a `#`: x_mm,y_mm",
            ),
            ("x_m,y_m,b\n1,2\n", "p.csv, line 2: 2 cells, and the heading has 3", "keep its separator"),
        ] {
            let error = Table::from_text("p.csv", text, POINTS).unwrap_err();
            assert_eq!(error.to_string(), message);
            assert!(error.hint().unwrap().contains(hint), "{error:?}");
        }
        let (message, hint) = refusal("current_A,field_mT,remark\n1,2,3\n");
        assert_eq!(message, "r.csv, line 1: unknown heading `remark`");
        assert!(hint.contains("known: "), "{hint}");
    }

    #[test]
    fn one_of_two_columns_may_be_asked_for() {
        const EITHER: &[Column] =
            &[Column::quantity("radius", Dimension::Length), Column::quantity("diameter", Dimension::Length)];
        let reader = |text: &'static str| TableReader::from_reader("r.csv", text.as_bytes(), EITHER).unwrap();
        assert!(reader("diameter_mm\n").require_one_of(&["radius", "diameter"]).is_ok());
        assert!(reader("diameter_mm\n").has("diameter"));
        let error = reader("\n#\nradius_mm\n").require_one_of(&["diameter"]).unwrap_err();
        assert_eq!(error.to_string(), "r.csv, line 3: the heading has no `diameter_mm`");
    }

    proptest! {
        #[test]
        fn reading_never_panics_and_never_gives_a_number_that_is_not_finite(
            heading in "(current_A|field_mT|label|[a-z_]{1,9})([,;](current_mA|field_G|nx|probe_flipped)){0,3}",
            rows in prop::collection::vec(prop::collection::vec(any::<u8>(), 0..40), 0..8),
        ) {
            let mut bytes = heading.into_bytes();
            for row in rows {
                bytes.push(b'\n');
                bytes.extend(row);
            }
            let Ok(mut reader) = TableReader::from_reader("r.csv", std::io::Cursor::new(bytes), COLUMNS) else {
                return Ok(());
            };
            let mut row = reader.row();
            while let Ok(true) = reader.read(&mut row) {
                prop_assert!(row.quantities.iter().flatten().all(|value| value.is_finite()));
            }
        }
    }
}
