//! Finds the cells of an `.ods` workbook that are shown in percent or as money. The library that reads the sheets gives
//! only their numbers.

use super::repeats::number;
use quick_xml::Reader;
use quick_xml::events::{BytesStart, Event};
use std::collections::BTreeMap;
use std::ops::Range;

/// How a cell shows its number, if not as it is.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Shown {
    /// In percent.
    Percent,
    /// With this sign or code of a currency.
    Money(String),
}

/// Longest sign or code of a currency, bytes. It is kept for each cell, and a hostile one may be long.
const LONGEST_SIGN: usize = 16;

impl Shown {
    /// With a sign or code of a currency; `None` if it is too long to be one.
    pub(super) fn money(sign: String) -> Option<Self> {
        (sign.len() <= LONGEST_SIGN).then_some(Self::Money(sign))
    }
}

/// Cells of one row that are shown alike, in order.
type OfRow = Vec<(Range<u64>, Shown)>;

/// Such cells of one sheet: for each run of equal rows, by its first row, its end and its cells.
type OfSheet = BTreeMap<u64, (u64, OfRow)>;

/// Such cells of a workbook, by sheet.
#[derive(Debug, Default)]
pub(in crate::files::tables) struct ShownCells(BTreeMap<String, OfSheet>);

impl ShownCells {
    /// How a cell, with row and column counted from 0, shows its number; `None` if as it is.
    pub(super) fn at(&self, sheet: &str, row: u32, column: u32) -> Option<&Shown> {
        let [row, column] = [row, column].map(u64::from);
        let (_, (end, cells)) = self.0.get(sheet)?.range(..=row).next_back()?;
        let after = cells.partition_point(|(range, _)| range.start <= column);
        let (range, shown) = cells.get(after.checked_sub(1)?)?;
        (row < *end && range.contains(&column)).then_some(shown)
    }
}

/// Such cells of a workbook whose repeats are already checked.
pub(super) fn cells(content: &[u8]) -> Result<ShownCells, String> {
    let mut reader = Reader::from_reader(content);
    let mut found = ShownCells::default();
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
    cells: OfRow,
}

impl Place {
    fn opened(&mut self, tag: &BytesStart, found: &mut ShownCells) {
        match tag.name().as_ref() {
            "table:table" => {
                let name = text(tag, "table:name").unwrap_or_default();
                *self = Self { sheet: name, ..Self::default() };
                found.0.entry(self.sheet.clone()).or_default();
            }
            "table:table-row" => {
                self.row_repeats = number(tag, "table:number-rows-repeated");
                self.column = 0;
                self.cells.clear();
            }
            "table:table-cell" | "table:covered-table-cell" => {
                let end = self.column.saturating_add(number(tag, "table:number-columns-repeated"));
                let shown = match text(tag, "office:value-type").as_deref() {
                    Some("percentage") => Some(Shown::Percent),
                    Some("currency") => text(tag, "office:currency").and_then(Shown::money),
                    _ => None,
                };
                self.cells.extend(shown.map(|shown| (self.column..end, shown)));
                self.column = end;
            }
            _ => {}
        }
    }

    fn closed(&mut self, name: &str, found: &mut ShownCells) {
        if name != "table:table-row" {
            return;
        }
        let end = self.row.saturating_add(self.row_repeats);
        if !self.cells.is_empty() {
            let cells = std::mem::take(&mut self.cells);
            found.0.entry(self.sheet.clone()).or_default().insert(self.row, (end, cells));
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
