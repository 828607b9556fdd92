//! Words that several questions share; those that records are serialised with are part of the core.

#[cfg(feature = "paper")]
pub(crate) mod cautions;
pub mod limits;
pub mod notes;
#[cfg(feature = "paper")]
pub(crate) mod phrases;
