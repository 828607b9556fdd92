//! A request for quotation as files.

pub mod form;
pub mod request;
pub mod workbook;

use super::Tender;
use crate::files::spec::blank_quote_text;
use crate::questions::files::{FileRow, FileTable};

/// The table of the files.
pub fn files() -> FileTable<(), Tender> {
    FileTable(vec![
        FileRow::text("tender.html", "the request, two pages to print or send", request::html),
        FileRow::text("quote.html", "the quote form, to print", form::html),
        FileRow::text("quote.json", "the quote form as a file that `compare` reads back", |_| {
            Ok(blank_quote_text())
        }),
        FileRow::workbook(
            "quote.xlsx",
            "the same as a workbook, which `compare` reads back as well",
            workbook::workbook,
        ),
    ])
}
