//! The spec file: reading, checking, and the checked bench it gives.

mod document;
mod file;
mod fit;
mod kind;
mod limits;
mod measured;
mod physical;
mod place;
mod quantity;
mod reader;
mod resolve;
mod source;
mod structure;
mod syntax;
mod tube_fit;
mod wanted;
mod written;

pub use document::{CheckedDocument, check_document};
pub use measured::{Measured, Reading, measured_from_text, measured_schema, read_measured};
pub use reader::{CheckedBench, bench_from_text, bench_schema, check_bench, read_bench};
pub(crate) use source::reason_of;
pub use wanted::{Prefer, Search, SpacingChoice, Wanted, read_wanted, wanted_from_text, wanted_schema};
pub use written::spec_text;
