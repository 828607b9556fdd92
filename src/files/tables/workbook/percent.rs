//! Finds the cells of an `.ods` workbook that are shown in percent. The library that reads the sheets gives only their
//! numbers.

use super::repeats::number;
use quick_xml::Reader;
use quick_xml::events::{BytesStart, Event};
use std::collections::BTreeMap;
use std::ops::Range;

/// The percent cells of one sheet: for each run of equal rows, by its first row, its end and the ranges of columns, in
/// order.
type OfSheet = BTreeMap<u64, (u64, Vec<Range<u64>>)>;

/// The percent cells of a workbook, by sheet.
#[derive(Debug, Default)]
pub(in crate::files::tables) struct PercentCells(BTreeMap<String, OfSheet>);

impl PercentCells {
    /// Whether a cell, with row and column counted from 0, is shown in percent.
    pub(super) fn contains(&self, sheet: &str, row: u32, column: u32) -> bool {
        let [row, column] = [row, column].map(u64::from);
        let rows = self.0.get(sheet).and_then(|rows| rows.range(..=row).next_back());
        let Some((_, (_, columns))) = rows.filter(|(_, (end, _))| row < *end) else { return false };
        let after = columns.partition_point(|range| range.start <= column);
        after > 0 && columns[after - 1].contains(&column)
    }
}

/// The percent cells of a workbook whose repeats are already checked.
pub(super) fn cells(content: &[u8]) -> Result<PercentCells, String> {
    let mut reader = Reader::from_reader(content);
    let mut found = PercentCells::default();
    let mut at = Place::default();
    loop {
        match reader.read_event().map_err(|error| format!("the workbook is damaged: {error}"))? {
            Event::Start(tag) => at.opened(&tag, &mut found),
            Event::Empty(tag) => {
                at.opened(&tag, &mut found);
                at.closed(tag.name().as_ref(), &mut found);
            }
            Event::End(tag) => at.closed(tag.name().as_ref(), &mut found),
            Event::Eof => return Ok(found),
            _ => {}
        }
    }
}

/// The reader's position in the sheets.
#[derive(Default)]
struct Place {
    sheet: String,
    row: u64,
    row_repeats: u64,
    column: u64,
    columns: Vec<Range<u64>>,
}

impl Place {
    fn opened(&mut self, tag: &BytesStart, found: &mut PercentCells) {
        match tag.name().as_ref() {
            "table:table" => {
                let name = text(tag, "table:name").unwrap_or_default();
                *self = Self { sheet: name, ..Self::default() };
                found.0.entry(self.sheet.clone()).or_default();
            }
            "table:table-row" => {
                self.row_repeats = number(tag, "table:number-rows-repeated");
                self.column = 0;
                self.columns.clear();
            }
            "table:table-cell" | "table:covered-table-cell" => {
                let end = self.column.saturating_add(number(tag, "table:number-columns-repeated"));
                if text(tag, "office:value-type").as_deref() == Some("percentage") {
                    self.columns.push(self.column..end);
                }
                self.column = end;
            }
            _ => {}
        }
    }

    fn closed(&mut self, name: &str, found: &mut PercentCells) {
        if name != "table:table-row" {
            return;
        }
        let end = self.row.saturating_add(self.row_repeats);
        if !self.columns.is_empty() {
            let columns = std::mem::take(&mut self.columns);
            found.0.entry(self.sheet.clone()).or_default().insert(self.row, (end, columns));
        }
        self.row = end;
    }
}

/// An attribute with its entities resolved.
fn text(tag: &BytesStart, name: &str) -> Option<String> {
    let attribute = tag.attributes().flatten().find(|attribute| {
        let key: &str = attribute.key.as_ref();
        key == name
    })?;
    let value: &str = attribute.value.as_ref();
    Some(quick_xml::escape::unescape(value).map_or_else(|_| value.to_owned(), |text| text.into_owned()))
}
