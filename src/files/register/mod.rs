//! The register of a pair: a file of JSON lines that only grows, in which an edited past shows.
//!
//! One line, one entry:
//!
//! ```json
//! {"number":2,"previous":"9f86…","kind":"calibration","date":"2026-03-01",…,"digest":"60303ae2…"}
//! ```
//!
//! `digest` is the SHA-256 of all bytes of the line before `,"digest"`, in hex; `previous` is the digest of the line before,
//! sixty-four zeros in the first; `number` counts from 1. Every byte is covered: those before the digest by it, the digest
//! itself by the same comparison, the end of the line by its form. Whoever edits an entry must rewrite all that follow; the
//! digest of the last entry, kept elsewhere (each certificate prints one), shows even that, and entries cut off the end.
//!
//! A line without its line end was torn in writing, unless it is whole but for that end. It is no entry. What an entry says
//! is its owner's business: here it is a JSON object.

mod append;
mod chain;
mod line;
mod lock;

pub use append::{Appended, Register, Torn};
pub use chain::{Chain, Damage, End, read};
pub use line::{Digest, Entry};
