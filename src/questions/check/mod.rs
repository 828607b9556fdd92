//! Is this file right, and is the pair on the bench still the pair of the spec?

mod lesson;
#[cfg(feature = "paper")]
pub mod words;

pub use lesson::*;
