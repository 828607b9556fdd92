//! Finds the heading of a table: people put titles above it, and spreadsheets a line with the separator.

use super::column::Column;
use super::heading::{Heading, NotFound, names, understood, unknown};
use super::line::LineReader;
use crate::units::{number, unit};
use crate::{Error, Result};

/// Most rows above the heading, not counting comments and blank ones.
const MOST_ROWS_ABOVE: usize = 50;

/// A row at or above the heading.
enum Found {
    Heading(Heading),
    /// A row with a known heading, but unusable for this reason.
    Faulty(Error),
    /// A row without any known heading, with the error that it would be as a heading, and its number of filled cells.
    Title(Error, usize),
    /// A row of numbers: the heading cannot be below it.
    Numbers(Error),
}

/// Finds the heading: the first row with a known one. Rows above it may be comments, a title, or a line such as `sep=;`
/// with which spreadsheets state their separator.
pub(super) fn search(lines: &mut LineReader, columns: &[Column]) -> std::result::Result<Heading, NotFound> {
    let mut stated_separator = None;
    // The row to report if none is a heading: the one with the most filled cells, and the first of these.
    let mut fullest: Option<(Error, usize)> = None;
    let mut last = None;
    let mut rows = 0;
    while rows < MOST_ROWS_ABOVE {
        if !next_row(lines)? {
            break;
        }
        rows += 1;
        if rows == 1
            && let Some(separator) = stated(lines.text())
        {
            stated_separator = Some(separator);
            continue;
        }
        match found(lines, stated_separator, columns)? {
            Found::Heading(heading) => return Ok(heading),
            Found::Faulty(error) => return Err(NotFound { error, some_known: true }),
            // The heading was probably meant to be right above the numbers.
            Found::Numbers(error) => {
                return Err(last.or(fullest.map(|(error, _)| error)).unwrap_or(error).into());
            }
            Found::Title(error, filled) if fullest.as_ref().is_none_or(|(_, most)| filled > *most) => {
                last = None;
                fullest = Some((error, filled));
            }
            Found::Title(error, filled) => last = (filled > 1).then_some(error),
        }
    }
    let nothing = || lines.unusable("it holds no heading", "name the columns on a line above the numbers");
    Err(fullest.map_or_else(nothing, |(error, _)| error).into())
}

/// Reads the next row that is neither a comment nor blank; `false` at the end.
fn next_row(lines: &mut LineReader) -> Result<bool> {
    while lines.next_uncut()? {
        if lines.line() == 1 && lines.text().starts_with(b"\xef\xbb\xbf") {
            lines.text().drain(..3);
        }
        let text = lines.text();
        if text.starts_with(b"{") {
            return Err(lines.unusable("it is JSON, not a table", "give a table: CSV, .xlsx or .ods"));
        }
        if text.contains(&0) {
            let hint = "save it as CSV in UTF-8, or as .xlsx or .ods";
            return Err(lines.unusable("it is not a text file: it holds zero bytes", hint));
        }
        if !lines.is_comment() && !lines.is_blank() {
            return Ok(true);
        }
    }
    Ok(false)
}

/// The separator stated by a line such as `sep=;`.
fn stated(text: &[u8]) -> Option<u8> {
    let text = text.strip_prefix(b"\"").and_then(|text| text.strip_suffix(b"\"")).unwrap_or(text);
    match text.get(..4).map(<[u8]>::to_ascii_lowercase)?.as_slice() {
        b"sep=" => text.get(4).copied().filter(|byte| b",;\t".contains(byte)),
        _ => None,
    }
}

fn found(lines: &mut LineReader, stated: Option<u8>, columns: &[Column]) -> Result<Found> {
    let [comma, semicolon, tab] = [b',', b';', b'\t'].map(|byte| lines.has_outside_quotes(byte));
    let separator = match (stated, comma, semicolon, tab) {
        (Some(separator), ..) => separator,
        (None, true, true, _) => return both_separators(lines, columns),
        (None, _, true, _) => b';',
        (None, false, false, true) => b'\t',
        (None, ..) => b',',
    };
    lines.cut(separator)?;
    let names = names(lines);
    if names.iter().any(|name| understood(name, columns).is_some()) {
        return Ok(match Heading::of_line(lines, separator, columns) {
            Ok(heading) => Found::Heading(heading),
            Err(error) => Found::Faulty(error),
        });
    }
    let filled: Vec<(usize, &String)> =
        names.iter().enumerate().filter(|(_, name)| !name.is_empty()).collect();
    let numbers: Vec<_> = filled.iter().filter(|(_, name)| is_number(name)).collect();
    if let Some((place, name)) = numbers.first().filter(|_| numbers.len() > 1 || filled.len() == 1) {
        return Ok(Found::Numbers(unknown(lines, *place, name, columns)));
    }
    Ok(match filled.first() {
        Some((place, name)) => Found::Title(unknown(lines, *place, name, columns), filled.len()),
        None => Found::Title(lines.refuse("the row is empty", None), 0),
    })
}

/// A row with commas and semicolons is a title, unless one of the separators gives a known heading.
fn both_separators(lines: &mut LineReader, columns: &[Column]) -> Result<Found> {
    let error = lines.refuse(
        "the heading has commas and semicolons",
        Some("separate the columns by one of the two, and use neither inside a heading"),
    );
    let text = String::from_utf8_lossy(lines.text()).into_owned();
    let is_known = |name: &str| understood(name.trim_matches([' ', '"', '\t']), columns).is_some();
    Ok(match text.split([',', ';']).any(is_known) {
        true => Found::Faulty(error),
        false => Found::Title(error, 1),
    })
}

fn is_number(text: &str) -> bool {
    number(text, unit::ONE).is_some() || number(&text.replacen(',', ".", 1), unit::ONE).is_some()
}
