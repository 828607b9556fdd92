//! Is this file right, and is the pair on the bench, or just delivered, the pair of the spec?

mod causes;
mod expected;
mod lesson;
mod record;
mod sentences;
#[cfg(feature = "paper")]
pub mod words;

pub use lesson::lesson_check;
pub use record::*;
