//! Lines of a table cut into fields, in buffers that are used again.

use crate::error::said_by_system;
use crate::{Error, Result};
use std::io::{BufRead, BufReader, Read};
use std::ops::Range;
use std::path::Path;
use std::sync::Arc;

/// The longest line of a table, bytes.
const LONGEST_LINE: u64 = 1 << 16;

/// Reads one line at a time.
pub(super) struct LineReader {
    path: Arc<Path>,
    reader: BufReader<Box<dyn Read + Send>>,
    buffer: Vec<u8>,
    fields: Vec<Range<usize>>,
    line: u64,
}

impl LineReader {
    pub fn new(path: Arc<Path>, reader: BufReader<Box<dyn Read + Send>>) -> Self {
        Self { path, reader, buffer: Vec::new(), fields: Vec::new(), line: 0 }
    }

    /// The number of the line last read, from 1.
    pub fn line(&self) -> u64 {
        self.line
    }

    /// How many fields the line has.
    pub fn count(&self) -> usize {
        self.fields.len()
    }

    /// One field, without the blanks around it; empty where the line is shorter.
    pub fn field(&self, place: usize) -> &[u8] {
        self.fields.get(place).map_or(b"", |range| &self.buffer[range.clone()])
    }

    /// All fields of the line.
    pub fn fields(&self) -> impl Iterator<Item = &[u8]> {
        self.fields.iter().map(|range| &self.buffer[range.clone()])
    }

    /// An error that names the line last read.
    pub fn refuse(&self, message: impl Into<String>, hint: Option<&str>) -> Error {
        Error::Row {
            path: self.path.to_path_buf(),
            line: self.line,
            message: message.into(),
            hint: hint.map(str::to_owned),
        }
    }

    /// An error about the file as a whole.
    pub fn unreadable(&self, reason: impl Into<String>) -> Error {
        Error::Read { path: self.path.to_path_buf(), reason: reason.into() }
    }

    /// Reads the next line without cutting it; `false` at the end of the file.
    pub fn next_uncut(&mut self) -> Result<bool> {
        self.buffer.clear();
        self.fields.clear();
        let mut limited = self.reader.by_ref().take(LONGEST_LINE + 1);
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
        Ok(true)
    }

    /// The line last read, uncut.
    pub fn text(&mut self) -> &mut Vec<u8> {
        &mut self.buffer
    }

    /// Whether the line last read is a comment.
    pub fn is_comment(&self) -> bool {
        self.buffer.starts_with(b"#")
    }

    /// Cuts the line last read into its fields.
    pub fn cut(&mut self, separator: u8) -> Result<()> {
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

    /// As [`Self::cut`] where fields may stand in quotation marks, doubled inside; written back in place, which
    /// never needs more room.
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
                    // A gap keeps this field's end apart from the next one's start.
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
            return Err(self.refuse("a quotation mark is not closed on its line", None));
        }
        self.fields.push(trimmed(&self.buffer, start..write));
        Ok(())
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
