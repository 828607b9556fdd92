//! The spec file: reading, checking, and the checked bench it gives.

mod bench;

pub use bench::*;
