//! The spec file: reading, checking, and the checked bench it gives.

mod bench;
mod diagnosis;
mod file;
mod fit;
mod instruments;
mod kind;
mod layout;
mod limits;
mod measured;
mod needed;
mod physical;
mod place;
mod quantity;
mod reader;
mod resolve;
mod source;
mod structure;
mod syntax;
mod tube;
mod tube_fit;
mod wanted;
pub mod wires;
mod written;

pub use bench::*;
pub use diagnosis::{Diagnosis, Problem, ProblemRecord, Severity, Stage};
pub use instruments::*;
pub use layout::{Layout, TurnPlace};
pub use measured::{Measured, Reading, measured_from_text, measured_schema, read_measured};
pub(crate) use needed::{left_out, missing, missing_in, unstated_of_meter};
pub use reader::{CheckedBench, bench_from_text, bench_schema, check_bench, read_bench};
pub(crate) use source::reason_of;
pub use tube::*;
pub use wanted::{Prefer, Search, SpacingChoice, Wanted, read_wanted, wanted_from_text, wanted_schema};
pub use written::spec_text;
