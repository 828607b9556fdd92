//! Records written out: text, tables, files.

pub mod files;
