//! Tables in the sheets of a workbook: `.xlsx` and `.ods`.
//!
//! A workbook is a ZIP archive that may unpack to any size, and a sheet may say "this cell 16 000 times". Both are
//! therefore checked before the workbook is opened ([`unpacked`], [`repeats`]), and cells are counted while they are
//! read. A cell's name may lie beyond any sheet, so names are checked before the library reads them ([`references`]).

mod currency;
mod references;
mod repeats;
mod shown;
mod unpacked;

use super::sheet::{Cell, OLD_WORKBOOK, Sheet, SheetRow};
use crate::error::reason_unread;
use crate::{Error, Result};
use calamine::{Data, DataRef, Ods, Reader, SheetVisible, Style, Xlsx};
use shown::Shown;
use std::collections::BTreeMap;
use std::io::{Cursor, Read};
use std::path::Path;

/// Largest workbook that is read, bytes.
const LARGEST_FILE: u64 = 32 << 20;
/// Most filled cells of a sheet.
pub(super) const MOST_CELLS: usize = 1_000_000;
/// Most bytes of text in the cells of a sheet together.
const MOST_TEXT: usize = 32 << 20;
/// Longest text of one cell; spreadsheet programs do not accept longer ones.
const LONGEST_TEXT: usize = 32_767;

/// An open workbook.
pub(super) enum Workbook {
    Xlsx(Box<Xlsx<Cursor<Vec<u8>>>>),
    /// With the cells of its sheets that are shown in percent or as money, which the library does not report.
    Ods(Box<Ods<Cursor<Vec<u8>>>>, shown::ShownCells),
}

impl Workbook {
    /// Opens a workbook after checking its unpacked size.
    pub(super) fn open(path: &Path, reader: impl Read) -> Result<Self> {
        let mut bytes = Vec::new();
        reader
            .take(LARGEST_FILE + 1)
            .read_to_end(&mut bytes)
            .map_err(|error| Error::Read { path: path.into(), reason: reason_unread(&error) })?;
        if bytes.len() as u64 > LARGEST_FILE {
            return Err(refused(path, "the workbook is larger than 32 MiB", TAKE_CSV));
        }
        if bytes.starts_with(OLD_WORKBOOK) {
            let hint = "save it as .xlsx, .ods or CSV, without a password";
            return Err(refused(path, "it is an old workbook (.xls) or a locked one", hint));
        }
        let kind = unpacked::check(&bytes).map_err(|(reason, hint)| refused(path, reason, hint))?;
        match kind {
            unpacked::Kind::Xlsx => {
                references::check(&bytes).map_err(|reason| refused(path, reason, TAKE_CSV))?;
                Xlsx::new(Cursor::new(bytes))
                    .map(|workbook| Self::Xlsx(Box::new(workbook)))
                    .map_err(|error| damaged(path, &error))
            }
            unpacked::Kind::Ods { content } => {
                repeats::check(&content).map_err(|reason| refused(path, reason, TAKE_CSV))?;
                let shown = shown::cells(&content).map_err(|reason| refused(path, reason, TAKE_CSV))?;
                Ods::new(Cursor::new(bytes))
                    .map(|workbook| Self::Ods(Box::new(workbook), shown))
                    .map_err(|error| damaged(path, &error))
            }
        }
    }

    /// The names of the sheets that a spreadsheet program shows, in their order; of all if it shows none.
    pub(crate) fn sheet_names(&self) -> Vec<String> {
        let sheets = match self {
            Self::Xlsx(workbook) => workbook.sheets_metadata(),
            Self::Ods(workbook, _) => workbook.sheets_metadata(),
        };
        let is_shown = |sheet: &&calamine::Sheet| sheet.visible == SheetVisible::Visible;
        let shown: Vec<String> = sheets.iter().filter(is_shown).map(|sheet| sheet.name.clone()).collect();
        if shown.is_empty() { sheets.iter().map(|sheet| sheet.name.clone()).collect() } else { shown }
    }

    /// One sheet; empty if it contains a chart.
    pub(super) fn sheet(&mut self, path: &Path, name: &str) -> Result<Sheet> {
        let mut cells = Cells { path, name, rows: BTreeMap::new(), count: 0, text: 0 };
        match self {
            Self::Xlsx(workbook) => cells.of_xlsx(workbook)?,
            Self::Ods(workbook, shown) => cells.of_ods(workbook, shown)?,
        }
        cells.check_width()?;
        let rows = cells.rows.into_iter().map(|(number, cells)| SheetRow {
            number: u64::from(number) + 1,
            cells: cells.into_iter().collect(),
        });
        Ok(Sheet { name: name.to_owned(), rows: rows.collect() })
    }
}

const TAKE_CSV: &str = "delete what does not belong to the table, or save the sheet as CSV";

fn refused(path: &Path, reason: impl Into<String>, hint: &str) -> Error {
    Error::Unusable { path: path.into(), reason: reason.into(), hint: Some(hint.into()) }
}

fn damaged(path: &Path, error: &dyn std::fmt::Display) -> Error {
    let reason = format!("the workbook is damaged: {}", crate::units::shortened(&error.to_string()));
    refused(path, reason, "open it in a spreadsheet program and save it again, or save the sheet as CSV")
}

/// A date without a time of day.
fn whole_day(at: &calamine::ExcelDateTime) -> Option<String> {
    let (year, month, day, hour, minute, second, milli) = at.to_ymd_hms_milli();
    let is_day = at.is_datetime() && (hour, minute, second, milli) == (0, 0, 0, 0);
    is_day.then(|| format!("{year:04}-{month:02}-{day:02}"))
}

/// The day of a date as OpenDocument writes it.
fn iso_day(text: &str) -> Option<String> {
    let day = text.strip_suffix("T00:00:00").unwrap_or(text);
    (day.len() == 10 && !day.contains('T')).then(|| day.to_owned())
}

/// The filled cells of a sheet, counted while they are read.
struct Cells<'a> {
    path: &'a Path,
    name: &'a str,
    rows: BTreeMap<u32, BTreeMap<u32, Cell>>,
    count: usize,
    text: usize,
}

impl Cells<'_> {
    fn of_xlsx(&mut self, workbook: &mut Xlsx<Cursor<Vec<u8>>>) -> Result<()> {
        let mut reader = match workbook.worksheet_cells_reader(self.name) {
            Ok(reader) => reader,
            Err(calamine::XlsxError::NotAWorksheet(_)) => return Ok(()),
            Err(error) => return Err(damaged(self.path, &error)),
        };
        let shown: Vec<Option<Shown>> = reader.styles().iter().map(shown_by).collect();
        while let Some((cell, style)) =
            reader.next_cell_with_style_id().map_err(|error| damaged(self.path, &error))?
        {
            let (row, column) = cell.get_position();
            let number = |value| number_cell(value, shown.get(style).and_then(Option::as_ref));
            match cell.get_value() {
                DataRef::Empty => {}
                DataRef::Int(value) => self.add(row, column, number(*value as f64))?,
                DataRef::Float(value) => self.add(row, column, number(*value))?,
                DataRef::String(text) => self.add_text(row, column, text)?,
                DataRef::SharedString(text) => self.add_text(row, column, text)?,
                DataRef::Bool(yes) => self.add_text(row, column, if *yes { "true" } else { "false" })?,
                DataRef::Error(error) => self.add_text(row, column, &error.to_string())?,
                DataRef::DateTime(at) => self.add(row, column, Cell::Date(whole_day(at)))?,
                DataRef::DateTimeIso(text) => self.add(row, column, Cell::Date(iso_day(text)))?,
                DataRef::DurationIso(_) => self.add(row, column, Cell::Date(None))?,
            }
        }
        drop(reader);
        self.uncomputed_of_xlsx(workbook)
    }

    /// The formulas without a value, which the first pass reads as empty cells.
    fn uncomputed_of_xlsx(&mut self, workbook: &mut Xlsx<Cursor<Vec<u8>>>) -> Result<()> {
        let damaged = |error: calamine::XlsxError| damaged(self.path, &error);
        let mut reader = workbook.worksheet_cells_reader(self.name).map_err(damaged)?;
        while let Some(cell) = reader.next_cell_with_formula_metadata().map_err(damaged)? {
            if cell.formula.is_some() && cell.value == DataRef::Empty {
                self.add(cell.pos.0, cell.pos.1, Cell::Uncomputed)?;
            }
        }
        Ok(())
    }

    fn of_ods(&mut self, workbook: &mut Ods<Cursor<Vec<u8>>>, shown: &shown::ShownCells) -> Result<()> {
        let damaged = |error: calamine::OdsError| damaged(self.path, &error);
        let range = workbook.worksheet_range(self.name).map_err(damaged)?;
        let formulas = workbook.worksheet_formula(self.name).map_err(damaged)?;
        if let Some((first_row, first_column)) = formulas.start() {
            for (row, column, _) in formulas.used_cells() {
                let (row, column) = (first_row + row as u32, first_column + column as u32);
                if range.get_value((row, column)).is_none_or(|value| *value == Data::Empty) {
                    self.add(row, column, Cell::Uncomputed)?;
                }
            }
        }
        let Some((first_row, first_column)) = range.start() else { return Ok(()) };
        for (row, column, value) in range.used_cells() {
            // A range counts from its own first cell.
            let (row, column) = (first_row + row as u32, first_column + column as u32);
            let number = |value| number_cell(value, shown.at(self.name, row, column));
            match value {
                Data::Empty => {}
                Data::Int(value) => self.add(row, column, number(*value as f64))?,
                Data::Float(value) => self.add(row, column, number(*value))?,
                Data::String(text) => self.add_text(row, column, text)?,
                Data::Bool(yes) => self.add_text(row, column, if *yes { "true" } else { "false" })?,
                Data::Error(error) => self.add_text(row, column, &error.to_string())?,
                Data::DateTime(at) => self.add(row, column, Cell::Date(whole_day(at)))?,
                Data::DateTimeIso(text) => self.add(row, column, Cell::Date(iso_day(text)))?,
                Data::DurationIso(_) => self.add(row, column, Cell::Date(None))?,
            }
        }
        Ok(())
    }

    /// Refuses a sheet whose rows, each up to its last filled cell, have too many cells in total.
    fn check_width(&self) -> Result<()> {
        let widths =
            self.rows.values().filter_map(|row| row.last_key_value()).map(|(last, _)| u64::from(*last) + 1);
        match widths.sum::<u64>() > repeats::MOST_CELLS {
            true => Err(refused(self.path, repeats::TOO_MANY, TAKE_CSV)),
            false => Ok(()),
        }
    }

    fn add_text(&mut self, row: u32, column: u32, text: &str) -> Result<()> {
        if text.is_empty() {
            return Ok(());
        }
        self.text += text.len();
        if text.len() > LONGEST_TEXT || self.text > MOST_TEXT {
            let reason = format!("the sheet `{}` holds too long texts", crate::units::shortened(self.name));
            return Err(refused(self.path, reason, TAKE_CSV));
        }
        self.add(row, column, Cell::Text(text.to_owned()))
    }

    fn add(&mut self, row: u32, column: u32, cell: Cell) -> Result<()> {
        if row >= references::MOST_ROWS || column >= references::MOST_COLUMNS {
            let sheet = crate::units::shortened(self.name);
            let reason = format!("the sheet `{sheet}` has {}", references::BEYOND);
            return Err(refused(self.path, reason, TAKE_CSV));
        }
        self.count += 1;
        if self.count > MOST_CELLS {
            let reason = format!(
                "the sheet `{}` has more than a million filled cells",
                crate::units::shortened(self.name)
            );
            return Err(refused(self.path, reason, TAKE_CSV));
        }
        self.rows.entry(row).or_default().insert(column, cell);
        Ok(())
    }
}

/// A number as the sheet shows it.
fn number_cell(value: f64, shown: Option<&Shown>) -> Cell {
    match shown {
        Some(Shown::Percent) => Cell::Percent(value),
        Some(Shown::Money(sign)) => Cell::Money(value, sign.clone()),
        None => Cell::Number(value),
    }
}

/// How a style shows a number; `None` if as it is.
fn shown_by(style: &Style) -> Option<Shown> {
    if is_percent(style) {
        return Some(Shown::Percent);
    }
    currency::of_format(&style.number_format.as_ref()?.format_code).and_then(Shown::money)
}

/// Whether a number with this style is shown in percent: its format has a `%` outside of quoted text.
fn is_percent(style: &Style) -> bool {
    let Some(format) = &style.number_format else { return false };
    let (mut quoted, mut escaped) = (false, false);
    format.format_code.chars().any(|letter| {
        if std::mem::take(&mut escaped) {
            return false;
        }
        match letter {
            '\\' => escaped = !quoted,
            '"' => quoted = !quoted,
            _ => {}
        }
        letter == '%' && !quoted
    })
}

#[cfg(test)]
mod tests;
