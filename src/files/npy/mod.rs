//! Arrays in numpy's `.npy` format: points in, fields out.
//!
//! Written here because the crates for it parse the heading with a grammar of the whole of Python's literals, whose crates
//! assemble with a C compiler.

mod points;
#[cfg(feature = "paper")]
mod written;

pub(crate) use points::ArrayPoints;
#[cfg(feature = "paper")]
pub(crate) use written::{opening, push};

/// What such a file begins with; the version follows.
pub(crate) const MAGIC: [u8; 6] = *b"\x93NUMPY";
