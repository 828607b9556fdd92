//! Files in and out: specs and tables that people write, arrays of other programs, our own files, each written whole or not
//! at all, and the register, which only grows.

pub(crate) mod npy;
pub mod out;
pub mod register;
pub mod spec;
pub mod tables;
#[cfg(feature = "paper")]
pub(crate) mod vti;
