//! What the files of a lesson are made from.

use crate::questions::lesson::Lesson;
use crate::questions::lesson::words::WordTable;
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
}

/// The words, as a template asks for them.
pub(super) struct Words<'a>(pub(super) &'a WordTable);

impl Words<'_> {
    pub(super) fn of<'b>(&'b self, key: &'b str) -> &'b str {
        self.0.of_key(key)
    }
}
