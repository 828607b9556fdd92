//! Records written out: text, tables, files.

pub mod beam_chart;
pub mod cautions;
pub mod columns;
pub mod files;
pub mod orbit;
pub mod page;
pub mod uniformity;
