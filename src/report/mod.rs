//! Records written out: text, tables, files.

pub mod cautions;
pub mod files;
pub mod page;
pub mod uniformity;
