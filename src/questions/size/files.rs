//! The files of a search for windings.

use super::{Sizing, picture, words};
use crate::questions::files::{FileRow, FileTable};

/// The table of the files.
pub fn files() -> FileTable<(), Sizing> {
    FileTable(vec![
        FileRow::csv("size.csv", "the windings, best first", |record, format| {
            Some(words::csv(record, format))
        }),
        FileRow::json("size.json", "everything, for scripts"),
        FileRow::figure("front", "what each wish costs", |record| Some(picture::sizing_front(record))),
    ])
}
