//! Files that we write.

pub mod csv;
pub mod folder;
pub(crate) mod shortest;
