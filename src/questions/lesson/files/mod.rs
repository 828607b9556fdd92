//! The files that `lesson` writes: page, worksheet, answers, scale and blank tables.

mod answers;
mod on_paper;
mod page;
mod scale;
mod sketch;
mod tables;
mod worksheet;

pub use on_paper::LessonOnPaper;

use crate::questions::files::{FileRow, FileTable};

/// The table of files.
pub fn files() -> FileTable<(), LessonOnPaper> {
    FileTable(vec![
        FileRow::text(
            "lesson.html",
            "the bench and the class's runs, for any browser, without network",
            page::html,
        ),
        FileRow::text("worksheet.html", "two pages to print for pupils", worksheet::html),
        FileRow::text(
            "answers.html",
            "expected readings, mistakes and time plan for the teacher",
            answers::html,
        ),
        FileRow::csv("runs.csv", "the blank class sheet, for weigh", |on_paper, format| {
            Some(tables::csv(on_paper, format))
        }),
        FileRow::workbook("runs.xlsx", "the same with live formulas and a plot", tables::xlsx),
        FileRow::text("scale.html", "the true-size scale for these settings, to print at 100 %", scale::html),
    ])
}
