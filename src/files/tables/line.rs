//! Splits the lines of a table into fields, with reused buffers. A row of a sheet is a line whose fields are its cells.

use super::encoding::windows_1252;
use super::sheet::{Cell, Sheet, SheetRow, cell_name};
use crate::error::said_by_system;
use crate::{Error, Result};
use std::io::{BufRead, BufReader, Read};
use std::ops::Range;
use std::path::Path;
use std::sync::Arc;

/// The longest line of a table, bytes.
const LONGEST_LINE: u64 = 1 << 16;

/// Separates the cells of a sheet in the buffer; cell texts never contain it.
const UNIT_SEPARATOR: u8 = 0x1f;

/// The source of the lines.
enum Source {
    Text(BufReader<Box<dyn Read + Send>>),
    Sheet { name: Arc<str>, rows: std::vec::IntoIter<SheetRow> },
}

/// What a spreadsheet knows about a cell and text does not.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum CellKind {
    Text,
    Number,
    Percent,
    /// With a currency, which [`LineReader::currency`] tells.
    Money,
    /// A whole day; the field holds it as `2026-03-01`.
    Day,
    /// A time of day, or a date with one.
    Time,
    Uncomputed,
}

/// Reads one line at a time.
pub(super) struct LineReader {
    path: Arc<Path>,
    source: Source,
    buffer: Vec<u8>,
    fields: Vec<Range<usize>>,
    kinds: Vec<CellKind>,
    currencies: Vec<(usize, String)>,
    line: u64,
}

impl LineReader {
    /// The lines of a text.
    pub(super) fn new(path: Arc<Path>, reader: BufReader<Box<dyn Read + Send>>) -> Self {
        Self::of(path, Source::Text(reader))
    }

    /// The rows of a sheet.
    pub(crate) fn of_sheet(path: Arc<Path>, sheet: Sheet) -> Self {
        Self::of(path, Source::Sheet { name: sheet.name.into(), rows: sheet.rows.into_iter() })
    }

    fn of(path: Arc<Path>, source: Source) -> Self {
        Self {
            path,
            source,
            buffer: Vec::new(),
            fields: Vec::new(),
            kinds: Vec::new(),
            currencies: Vec::new(),
            line: 0,
        }
    }

    /// The name of the sheet, if the rows come from one.
    pub(super) fn sheet(&self) -> Option<&Arc<str>> {
        match &self.source {
            Source::Text(_) => None,
            Source::Sheet { name, .. } => Some(name),
        }
    }

    /// The kind of a cell; `Text` if the table is text.
    pub(super) fn kind(&self, place: usize) -> CellKind {
        self.kinds.get(place).copied().unwrap_or(CellKind::Text)
    }

    /// The currency that a cell shows; `None` if it shows none.
    pub(super) fn currency(&self, place: usize) -> Option<&str> {
        self.currencies.iter().find(|(of, _)| *of == place).map(|(_, sign)| sign.as_str())
    }

    /// The number of the last line read, counted from 1.
    pub(super) fn line(&self) -> u64 {
        self.line
    }

    /// Number of fields in the line.
    pub(super) fn count(&self) -> usize {
        self.fields.len()
    }

    /// One field, without surrounding blanks; empty if the line is shorter.
    pub(super) fn field(&self, place: usize) -> &[u8] {
        self.fields.get(place).map_or(b"", |range| &self.buffer[range.clone()])
    }

    /// All fields of the line.
    pub(super) fn fields(&self) -> impl Iterator<Item = &[u8]> {
        self.fields.iter().map(|range| &self.buffer[range.clone()])
    }

    /// An error that names the last line read.
    pub(super) fn refuse(&self, message: impl Into<String>, hint: Option<&str>) -> Error {
        let sheet = self.sheet().map(|name| &**name);
        Error::in_table(&*self.path, sheet, self.line, message, hint.map(str::to_owned))
    }

    /// As [`Self::refuse`], for one field; in a sheet the error also names its cell.
    pub(crate) fn refuse_field(&self, place: usize, message: impl Into<String>, hint: Option<&str>) -> Error {
        let mut error = self.refuse(message, hint);
        if let Error::Sheet { place: found, .. } = &mut error {
            found.cell = u32::try_from(place).ok().map(|column| cell_name(column, found.row));
        }
        error
    }

    /// An error about the file as a whole.
    pub(crate) fn unusable(&self, reason: impl Into<String>, hint: &str) -> Error {
        let reason = match self.sheet() {
            None => reason.into(),
            Some(name) => format!("sheet `{}`: {}", crate::units::shortened(name), reason.into()),
        };
        Error::Unusable { path: self.path.to_path_buf(), reason, hint: Some(hint.into()) }
    }

    /// Reads the next line without splitting it; `false` at the end of the file.
    pub(crate) fn next_uncut(&mut self) -> Result<bool> {
        self.buffer.clear();
        self.fields.clear();
        match &mut self.source {
            Source::Text(_) => self.next_line(),
            Source::Sheet { rows, .. } => {
                let row = rows.next();
                Ok(row.map(|row| self.take(row)).is_some())
            }
        }
    }

    fn next_line(&mut self) -> Result<bool> {
        let Source::Text(reader) = &mut self.source else { return Ok(false) };
        let mut limited = reader.by_ref().take(LONGEST_LINE + 1);
        let read = limited
            .read_until(b'\n', &mut self.buffer)
            .map_err(|error| Error::Read { path: self.path.to_path_buf(), reason: said_by_system(&error) })?;
        if read == 0 {
            return Ok(false);
        }
        self.line += 1;
        if read as u64 > LONGEST_LINE {
            return Err(
                self.refuse("the line is longer than 64 KiB", Some("a table has short lines of numbers"))
            );
        }
        while matches!(self.buffer.last(), Some(b'\n' | b'\r')) {
            self.buffer.pop();
        }
        if std::str::from_utf8(&self.buffer).is_err() {
            let text = windows_1252(&self.buffer).ok_or_else(|| {
                self.refuse("the line is not UTF-8 text", Some("save the file as UTF-8 (\"CSV UTF-8\")"))
            })?;
            self.buffer = text.into_bytes();
        }
        Ok(true)
    }

    /// Joins the cells of a row, including empty ones between them.
    fn take(&mut self, row: SheetRow) {
        self.line = row.number;
        self.kinds.clear();
        self.currencies.clear();
        for (column, cell) in row.cells {
            while self.fields.len() < column as usize {
                self.push_field(b"", CellKind::Text);
            }
            match cell {
                Cell::Number(value) => self.push_field(written(value).as_bytes(), CellKind::Number),
                Cell::Percent(value) => self.push_field(written(value).as_bytes(), CellKind::Percent),
                Cell::Money(value, sign) => {
                    self.currencies.push((self.fields.len(), sign));
                    self.push_field(written(value).as_bytes(), CellKind::Money);
                }
                Cell::Date(Some(day)) => self.push_field(day.as_bytes(), CellKind::Day),
                Cell::Date(None) => self.push_field(b"time", CellKind::Time),
                Cell::Uncomputed => self.push_field(b"formula", CellKind::Uncomputed),
                Cell::Text(text) => {
                    let text = text.replace(char::is_control, " ");
                    self.push_field(text.as_bytes(), CellKind::Text);
                }
            }
        }
    }

    fn push_field(&mut self, bytes: &[u8], kind: CellKind) {
        let start = self.buffer.len();
        self.buffer.extend_from_slice(bytes);
        self.fields.push(trimmed(&self.buffer, start..self.buffer.len()));
        self.buffer.push(UNIT_SEPARATOR);
        self.kinds.push(kind);
    }

    /// The last line read, not split.
    pub(super) fn text(&mut self) -> &mut Vec<u8> {
        &mut self.buffer
    }

    /// Whether the last line read is a comment. A spreadsheet puts a comment with a separator into quotation marks.
    pub(crate) fn is_comment(&self) -> bool {
        self.buffer.strip_prefix(b"\"").unwrap_or(&self.buffer).starts_with(b"#")
    }

    /// Whether the last line read begins with a number behind a `#`, as people number their rows: `#12`.
    pub(super) fn begins_with_a_number_sign(&self) -> bool {
        let text = self.buffer.strip_prefix(b"\"").unwrap_or(&self.buffer);
        let behind = text.strip_prefix(b"#").unwrap_or_default();
        let digits = behind.iter().take_while(|byte| byte.is_ascii_digit()).count();
        digits > 0 && behind.get(digits).is_none_or(|byte| b",;\t\"\x1f".contains(byte))
    }

    /// Takes the `#` of a comment away, so that it can be split like a row.
    pub(super) fn uncomment(&mut self) {
        let is_mark = |byte: &u8| b"# ".contains(byte);
        if let (Source::Sheet { .. }, Some(first)) = (&self.source, self.fields.first_mut()) {
            let marks = self.buffer[first.clone()].iter().take_while(|byte| is_mark(byte)).count();
            first.start += marks;
            return;
        }
        if self.buffer.first() == Some(&b'"') {
            self.buffer.retain(|byte| *byte != b'"');
        }
        let marks = self.buffer.iter().take_while(|byte| is_mark(byte)).count();
        self.buffer.drain(..marks);
    }

    /// Whether the last line read has only blanks and separators.
    pub(crate) fn is_blank(&self) -> bool {
        self.buffer.iter().all(|byte| b" \t,;\"\x1f".contains(byte))
    }

    /// Whether the last line read has this byte outside quotation marks.
    pub(crate) fn has_outside_quotes(&self, wanted: u8) -> bool {
        let mut quoted = false;
        self.buffer.iter().any(|byte| {
            quoted ^= *byte == b'"';
            *byte == wanted && !quoted
        })
    }

    /// Splits the last line read into its fields.
    pub(crate) fn cut(&mut self, separator: u8) -> Result<()> {
        if self.sheet().is_some() {
            return Ok(());
        }
        self.fields.clear();
        if self.buffer.contains(&b'"') {
            return self.cut_quoted(separator);
        }
        let mut start = 0;
        for at in 0..self.buffer.len() {
            if self.buffer[at] == separator {
                self.fields.push(trimmed(&self.buffer, start..at));
                start = at + 1;
            }
        }
        self.fields.push(trimmed(&self.buffer, start..self.buffer.len()));
        Ok(())
    }

    /// As [`Self::cut`], for fields in quotation marks, which are doubled inside. The result is written in place,
    /// because it is never longer.
    fn cut_quoted(&mut self, separator: u8) -> Result<()> {
        let (mut start, mut write, mut quoted, mut at) = (0, 0, false, 0);
        while at < self.buffer.len() {
            let byte = self.buffer[at];
            match byte {
                b'"' if quoted && self.buffer.get(at + 1) == Some(&b'"') => {
                    self.buffer[write] = b'"';
                    write += 1;
                    at += 1;
                }
                b'"' => quoted = !quoted,
                _ if byte == separator && !quoted => {
                    self.fields.push(trimmed(&self.buffer, start..write));
                    // A gap separates this field's end from the next one's start.
                    write += 1;
                    start = write;
                }
                _ => {
                    self.buffer[write] = byte;
                    write += 1;
                }
            }
            at += 1;
        }
        if quoted {
            return Err(self.refuse(
                "a quotation mark is not closed on its line",
                Some("write each row on one line, and a quotation mark inside a cell twice"),
            ));
        }
        self.fields.push(trimmed(&self.buffer, start..write));
        Ok(())
    }
}

/// A number of a sheet with the fewest digits that read back as the same number.
fn written(value: f64) -> String {
    match value.abs() {
        0.0 => "0".into(),
        size if (1e-5..1e15).contains(&size) => format!("{value}"),
        _ => format!("{value:e}"),
    }
}

/// A range without the blanks at its ends.
fn trimmed(bytes: &[u8], range: Range<usize>) -> Range<usize> {
    let Range { mut start, mut end } = range;
    while start < end && matches!(bytes[start], b' ' | b'\t') {
        start += 1;
    }
    while end > start && matches!(bytes[end - 1], b' ' | b'\t') {
        end -= 1;
    }
    start..end
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cut(line: &str) -> Result<Vec<String>> {
        let bytes: Box<dyn Read + Send> = Box::new(std::io::Cursor::new(line.as_bytes().to_vec()));
        let mut lines = LineReader::new(Path::new("t.csv").into(), BufReader::new(bytes));
        assert!(lines.next_uncut()?);
        lines.cut(b',')?;
        Ok(lines.fields().map(|field| String::from_utf8_lossy(field).into_owned()).collect())
    }

    #[test]
    fn quotation_marks_hold_separators_and_doubled_marks() {
        assert_eq!(cut("a, b ,c\r\n").unwrap(), ["a", "b", "c"]);
        assert_eq!(cut(r#""a,b","say ""so""",c"#).unwrap(), ["a,b", r#"say "so""#, "c"]);
        assert_eq!(cut(",,").unwrap(), ["", "", ""]);
        let error = cut("a,\"b").unwrap_err();
        assert_eq!(error.to_string(), "t.csv, line 1: a quotation mark is not closed on its line");
    }
}
