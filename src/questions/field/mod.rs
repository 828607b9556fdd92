//! The field vector at these points.

#[cfg(feature = "paper")]
pub mod words;
