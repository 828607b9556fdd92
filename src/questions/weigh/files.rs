//! The files of a weighing.

use super::{Weighing, picture, words};
use crate::files::out::json;
use crate::questions::files::{FileRow, FileTable};

/// The table of the files.
pub fn files() -> FileTable<(), Weighing> {
    FileTable(vec![
        FileRow::figure("weigh", "e/m of each run, and the straight line", |weighing| {
            Some(picture::figure(weighing))
        }),
        FileRow::csv("weigh-runs.csv", "every run reduced", |weighing, format| {
            Some(words::runs_csv(weighing, format))
        }),
        FileRow::text("weigh.json", "everything, for scripts", |weighing| {
            json::document(&words::document(weighing))
        }),
    ])
}
