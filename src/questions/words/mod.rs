//! Words shared by several questions. Those needed to serialise records are part of the core.

#[cfg(feature = "paper")]
pub(crate) mod cautions;
pub(crate) mod faults;
pub mod limits;
pub mod notes;
#[cfg(feature = "paper")]
pub(crate) mod origin;
#[cfg(feature = "paper")]
pub(crate) mod phrases;
