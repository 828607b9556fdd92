//! Counts the cells of an `.ods` sheet with repeated cells and rows written out.
//!
//! OpenDocument writes a run of equal cells once, with their number in `table:number-columns-repeated`, and equal rows
//! with `table:number-rows-repeated`. The library that reads the sheet expands all of them and fills the rectangle from
//! the first to the last filled cell, so a file of a kilobyte could require any amount of memory.

use quick_xml::Reader;
use quick_xml::events::{BytesStart, Event};

/// Most cells in the filled rectangle of a sheet.
pub(super) const MOST_CELLS: u64 = 4_000_000;
/// The message for a sheet with more.
pub(super) const TOO_MANY: &str =
    "a sheet of the workbook has more than four million cells between its first and its last filled one";
/// Most bytes of the expanded cells.
const MOST_BYTES: u64 = 128 << 20;
/// Most columns of a spreadsheet; the library drops further ones.
const MOST_COLUMNS: u64 = 16_384;

/// Refuses a sheet that would take too much memory.
pub(super) fn check(content: &[u8]) -> Result<(), String> {
    let mut reader = Reader::from_reader(content);
    let mut sheet = Size::default();
    let mut is_over = false;
    while !is_over {
        let at = reader.buffer_position();
        match reader.read_event().map_err(|error| format!("the workbook is damaged: {error}"))? {
            // A run of blanks is written once, with their number, and the library writes them out.
            Event::Start(tag) | Event::Empty(tag) if tag.name().as_ref() == "text:s" => sheet.blanks(&tag),
            Event::Start(tag) => sheet.opened(&tag, at, false),
            Event::Empty(tag) => sheet.opened(&tag, at, true),
            Event::End(tag) if tag.name().as_ref() == "table:table" => sheet = Size::default(),
            Event::End(tag) => sheet.closed(tag.name().as_ref(), reader.buffer_position()),
            Event::Eof => return Ok(()),
            _ => {}
        }
        is_over = sheet.rows.saturating_mul(sheet.width) > MOST_CELLS || sheet.bytes > MOST_BYTES;
    }
    Err(TOO_MANY.into())
}

/// The size of a sheet so far.
#[derive(Default)]
struct Size {
    /// Rows down to the last filled one, and empty ones after it.
    rows: u64,
    empty_rows: u64,
    /// Columns to the last filled cell of any row.
    width: u64,
    /// Bytes of all cells, counted with their repeats.
    bytes: u64,
    row: Row,
}

#[derive(Default)]
struct Row {
    repeats: u64,
    filled: u64,
    empty: u64,
    bytes: u64,
    /// Start of the open cell, and its number of repeats.
    cell: Option<(u64, u64)>,
}

impl Size {
    fn opened(&mut self, tag: &BytesStart, at: u64, is_empty: bool) {
        match tag.name().as_ref() {
            "table:table-row" => {
                self.row = Row { repeats: number(tag, "table:number-rows-repeated"), ..Row::default() };
                if is_empty {
                    self.row_closed();
                }
            }
            "table:table-cell" | "table:covered-table-cell" => {
                let repeats = number(tag, "table:number-columns-repeated").min(MOST_COLUMNS);
                let length = tag.len() as u64;
                let has_value = tag.attributes().flatten().any(|attribute| {
                    let name: &str = attribute.key.as_ref();
                    name.starts_with("office:") || name == "table:formula"
                });
                if !has_value {
                    self.row.empty += repeats;
                    return;
                }
                self.row.filled += self.row.empty + repeats;
                self.row.empty = 0;
                self.row.bytes = self.row.bytes.saturating_add(repeats.saturating_mul(length));
                self.row.cell = (!is_empty).then_some((at, repeats));
            }
            _ => {}
        }
    }

    fn blanks(&mut self, tag: &BytesStart) {
        let repeats = self.row.cell.map_or(1, |(_, repeats)| repeats);
        let blanks = repeats.saturating_mul(number(tag, "text:c"));
        self.row.bytes = self.row.bytes.saturating_add(blanks);
        // The cell is not at its end yet, and its row may never be.
        self.bytes = self.bytes.max(self.row.bytes);
    }

    fn closed(&mut self, name: &str, at: u64) {
        match name {
            "table:table-cell" | "table:covered-table-cell" => {
                if let Some((start, repeats)) = self.row.cell.take() {
                    self.row.bytes = self.row.bytes.saturating_add(repeats.saturating_mul(at - start));
                }
            }
            "table:table-row" => self.row_closed(),
            _ => {}
        }
    }

    fn row_closed(&mut self) {
        let row = std::mem::take(&mut self.row);
        if row.filled == 0 {
            self.empty_rows = self.empty_rows.saturating_add(row.repeats);
            return;
        }
        self.rows = self.rows.saturating_add(self.empty_rows).saturating_add(row.repeats);
        self.empty_rows = 0;
        self.width = self.width.max(row.filled.min(MOST_COLUMNS));
        self.bytes = self.bytes.saturating_add(row.repeats.saturating_mul(row.bytes));
    }
}

/// The number in an attribute; 1 if it is missing. Anything but a plain number counts as too large: programs that write
/// sheets write plain numbers, and the reader might decode an escaped one.
pub(super) fn number(tag: &BytesStart, name: &str) -> u64 {
    let attribute = tag.attributes().flatten().find(|attribute| attribute.key.as_ref() == name);
    attribute.map_or(1, |attribute| attribute.value.parse().unwrap_or(u64::MAX))
}
