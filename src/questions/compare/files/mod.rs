//! Options side by side as files.

pub mod page;
pub mod workbook;
