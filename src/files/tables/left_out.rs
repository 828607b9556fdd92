//! Rows that were left out by a `#` before them: comments that would be rows without it.

use super::column::{Column, Kind};
use super::heading::Heading;
use super::line::LineReader;
use crate::units::inert;

/// A row left out by a `#`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct LeftOut {
    /// Its line in the file or its row in the sheet.
    pub line: u64,
    /// The text in the column of labels, or in the first column of texts where the table has none.
    pub label: Option<String>,
    /// What stands in its cells without a heading.
    pub said: Option<String>,
}

impl LeftOut {
    /// The comment last read, if every required column of it holds a number. `None` for any other comment.
    pub(super) fn of(lines: &mut LineReader, heading: &Heading, columns: &[Column]) -> Option<Self> {
        lines.uncomment();
        lines.cut(heading.separator).ok()?;
        let text = |place: usize| String::from_utf8_lossy(lines.field(place)).into_owned();
        let filled = |text: String| (!text.is_empty()).then(|| inert::line(&text).into_owned());
        let headed = || heading.cells.iter().enumerate().filter_map(|(place, cell)| Some((place, (*cell)?)));
        let is_number = |text: &str, unit| crate::units::number(&text.replace(',', "."), unit).is_some();
        let mut required = headed().filter(|(_, cell)| columns[cell.column].required && !cell.uncertainty);
        let is_row = required.all(|(place, cell)| is_number(&text(place), cell.unit));
        if !is_row {
            return None;
        }
        let texts = || headed().filter(|(_, cell)| columns[cell.column].kind == Kind::Text);
        let label = texts().find(|(_, cell)| columns[cell.column].name == "label").or_else(|| texts().next());
        let stray = |place: &usize| heading.names.get(*place).is_none_or(String::is_empty);
        let said: Vec<String> =
            (0..lines.count()).filter(stray).filter_map(|place| filled(text(place))).collect();
        Some(Self {
            line: lines.line(),
            label: label.and_then(|(place, _)| filled(text(place))),
            said: (!said.is_empty()).then(|| said.join("; ")),
        })
    }
}
