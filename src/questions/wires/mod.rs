//! Which wires are known?

#[cfg(feature = "paper")]
pub mod words;
