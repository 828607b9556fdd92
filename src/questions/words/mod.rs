//! Words that several questions share.

pub mod cautions;
pub(crate) mod phrases;
