//! Writing files.

#[cfg(feature = "paper")]
pub mod csv;
#[cfg(feature = "paper")]
pub mod folder;
pub mod json;
#[cfg(feature = "paper")]
pub(crate) mod shortest;
