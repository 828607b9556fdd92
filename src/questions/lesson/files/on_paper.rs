//! What the files of a lesson are made from: the record, the scales and the words.

use crate::questions::lesson::Lesson;
use crate::questions::lesson::words::WordTable;
use crate::questions::orbit::ReadingScale;
use crate::questions::words::origin::on_page;
use crate::questions::words::phrases::line_origin;
use crate::units::rounded;

/// A lesson and what its files need besides the record.
#[derive(Clone, Debug)]
pub struct LessonOnPaper {
    /// The lesson.
    pub lesson: Lesson,
    /// The reading scales for its settings, one for each direction of the current.
    pub scales: Vec<ReadingScale>,
    /// The words of the page and the sheets.
    pub words: WordTable,
}

/// The word table as the templates call it.
pub(super) struct Words<'a>(pub(super) &'a WordTable);

impl Words<'_> {
    pub(super) fn of<'b>(&'b self, key: &'b str) -> &'b str {
        self.0.of_key(key)
    }
}

/// Where a sheet comes from, and where its line does if that is a calibration.
pub(super) fn provenance(lesson: &Lesson) -> String {
    let from = on_page(&lesson.provenance);
    match lesson.line.calibration {
        Some(_) => format!("{from}; k: {}", line_origin(&lesson.line)),
        None => from,
    }
}

/// |k| in mT/A.
pub(super) fn slope_millitesla(lesson: &Lesson) -> f64 {
    lesson.line.slope.tesla_per_ampere.abs() * 1e3
}

/// k from a calibration and its expanded uncertainty, in mT/A with the same number of decimals. `None` if the line is
/// the spec's own, or if the uncertainty is not known.
pub(super) fn calibrated_slope(lesson: &Lesson, words: &WordTable) -> Option<[String; 2]> {
    lesson.line.calibration.as_ref()?;
    let expanded = lesson.line.slope.expanded_uncertainty()? * 1e3;
    let k = slope_millitesla(lesson);
    let (_, told) = rounded(k, expanded);
    let decimals = told.split_once('.').map_or(0, |(_, part)| part.len());
    (expanded > 0.0).then(|| [k, expanded].map(|value| words.number(value, decimals)))
}
