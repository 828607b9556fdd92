//! The spec file: reading, checking, and the checked bench it gives.

mod beam_circle;
mod bench;
mod layout;

pub use bench::*;
pub use layout::{Layout, TurnPlace};
