//! Checks the cell names in an `.xlsx` workbook: a name such as `ZZZZZZ3` is valid XML but not a cell of any sheet.
//!
//! The library that reads the sheets does not check names, and its sums over letters and digits may overflow.

use quick_xml::Reader;
use quick_xml::events::{BytesStart, Event};
use std::io::{BufRead, BufReader, Cursor};
use zip::ZipArchive;

/// Most rows of a sheet (ECMA-376 part 1, 18.3.1.73, and the limits of spreadsheet programs, from memory).
pub(super) const MOST_ROWS: u32 = 1_048_576;
/// Most columns; the last is `XFD`.
pub(super) const MOST_COLUMNS: u32 = 16_384;
/// The problem of a sheet with a cell outside.
pub(super) const BEYOND: &str = "a cell beyond row 1048576 or column XFD, the last of any sheet";

/// Refuses a workbook with a cell, row or range outside every sheet. Invalid XML is left to the reader.
pub(super) fn check(bytes: &[u8]) -> Result<(), String> {
    let Ok(mut archive) = ZipArchive::new(Cursor::new(bytes)) else { return Ok(()) };
    for part in 0..archive.len() {
        let Ok(part) = archive.by_index(part) else { continue };
        check_part(BufReader::new(part))?;
    }
    Ok(())
}

fn check_part(part: impl BufRead) -> Result<(), String> {
    let mut reader = Reader::from_reader(part);
    let mut buffer = Vec::new();
    loop {
        buffer.clear();
        match reader.read_event_into(&mut buffer) {
            Ok(Event::Start(tag) | Event::Empty(tag)) => check_tag(&tag)?,
            Ok(Event::Eof) | Err(_) => return Ok(()),
            _ => {}
        }
    }
}

/// Checks the names in a tag: of a cell, of a row, of the range of a formula or a sheet.
fn check_tag(tag: &BytesStart) -> Result<(), String> {
    let wanted = match tag.local_name().as_ref() {
        "c" | "row" => "r",
        "f" | "dimension" | "mergeCell" => "ref",
        _ => return Ok(()),
    };
    let attribute = tag.attributes().flatten().find(|attribute| {
        let key: &str = attribute.key.as_ref();
        key == wanted
    });
    let Some(attribute) = attribute else { return Ok(()) };
    let names: &str = attribute.value.as_ref();
    match names.split([':', ' ']).all(is_within) {
        true => Ok(()),
        false => Err(format!("the workbook has {BEYOND}: `{}`", crate::units::shortened(names))),
    }
}

/// Whether a name such as `AB12`, `12` or `AB` lies within a sheet. True for anything that is not such a name; the
/// reader handles it.
fn is_within(name: &str) -> bool {
    let letters = name.len() - name.trim_start_matches(|letter: char| letter.is_ascii_alphabetic()).len();
    let (letters, digits) = name.split_at(letters);
    let column = letters.bytes().fold(0_u32, |sum, letter| {
        sum.saturating_mul(26).saturating_add(u32::from(letter.to_ascii_uppercase() - b'A') + 1)
    });
    let row = digits
        .bytes()
        .take_while(u8::is_ascii_digit)
        .fold(0_u32, |sum, digit| sum.saturating_mul(10).saturating_add(u32::from(digit - b'0')));
    column <= MOST_COLUMNS && row <= MOST_ROWS
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_last_cell_of_a_sheet_is_within_and_the_next_ones_are_not() {
        for name in ["A1", "XFD1048576", "xfd1", "12", "AB", "", "?"] {
            assert!(is_within(name), "{name}");
        }
        for name in ["XFE1", "A1048577", "ZZZZZZ3", "ZZZZZZZZZZZZZZZZ3", "A99999999999999999999", "AAAA1"] {
            assert!(!is_within(name), "{name}");
        }
    }
}
