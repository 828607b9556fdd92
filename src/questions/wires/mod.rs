//! Which wires are known?

pub mod words;
