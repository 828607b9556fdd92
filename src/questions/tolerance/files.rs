//! The files of a tolerance study.

use super::{Tolerance, picture};
use crate::questions::files::{FileRow, FileTable};

/// The table of the files.
pub fn files() -> FileTable<(), Tolerance> {
    FileTable(vec![
        FileRow::json("tolerance.json", "everything, for scripts"),
        FileRow::figure("tolerance", "spread of the pairs built at random", |record| {
            Some(picture::tolerance_spread(record))
        }),
    ])
}
