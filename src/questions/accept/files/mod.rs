//! A delivery as files.

pub mod protocol;

use super::Delivery;
use crate::questions::files::{FileRow, FileTable};

/// The table of the files.
pub fn files() -> FileTable<(), Delivery> {
    FileTable(vec![
        FileRow::text("protocol.html", "the protocol to print and sign", protocol::html),
        FileRow::json("accept.json", "everything, for scripts"),
    ])
}
