//! The files of a lesson.

mod page;

use super::Lesson;
use super::words::WordTable;
use crate::files::out::csv::NumberFormat;
use crate::questions::files::{FileRow, FileTable};
use crate::questions::orbit::ReadingScale;

/// A lesson with what its files need besides the record.
#[derive(Clone, Debug)]
pub struct LessonOnPaper {
    /// The lesson.
    pub lesson: Lesson,
    /// The scales for its settings, one for each direction of the current.
    pub scales: Vec<ReadingScale>,
    /// The words of page and sheets.
    pub words: WordTable,
    /// How tables write numbers.
    pub format: NumberFormat,
}

/// The table of the files.
pub fn files() -> FileTable<(), LessonOnPaper> {
    FileTable(vec![FileRow::text(
        "lesson.html",
        "the bench and the class's runs, for any browser, without network",
        page::html,
    )])
}
