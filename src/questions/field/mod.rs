//! The field vector at these points.

pub mod words;
