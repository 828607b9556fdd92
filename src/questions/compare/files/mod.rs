//! Options side by side as files.

pub mod letter;
pub mod page;
pub mod workbook;

use super::{Comparison, picture, words};
use crate::questions::files::{FileRow, FileTable};

/// The table of the files, asked by the names of the options.
pub fn files() -> FileTable<Vec<String>, Comparison> {
    FileTable(vec![
        FileRow::csv("compare.csv", "the options side by side", |record, format| {
            Some(words::csv(record, format))
        }),
        FileRow::workbook("compare.xlsx", "the same as a workbook", workbook::workbook),
        FileRow::text("compare.html", "one page to print", page::html),
        FileRow::json("compare.json", "everything, for scripts"),
        FileRow::figure("compare", "the options against the needs", |record| {
            Some(picture::comparison(record))
        }),
        FileRow::each(
            "letter-OPTION.html",
            "what to ask that supplier, where anything is open",
            |options| letter::file_names(options),
            letter::letters,
        ),
    ])
}
