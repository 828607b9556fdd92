//! The register of a pair: a file of JSON lines that only grows and shows when past entries were edited.
//!
//! One line, one entry:
//!
//! ```json
//! {"number":2,"previous":"9f86…","kind":"calibration","date":"2026-03-01",…,"digest":"60303ae2…"}
//! ```
//!
//! `digest` is the SHA-256 of all bytes of the line before `,"digest"`, in hex. `previous` is the digest of the line
//! before, sixty-four zeros in the first line. `number` counts from 1. Every byte is covered: those before the digest
//! by the digest, the digest itself by comparison with it, the end of the line by its fixed form. Whoever edits an
//! entry must rewrite all that follow. If the digest of the last entry is also kept elsewhere (each certificate prints
//! one), it reveals even that, and entries cut off at the end.
//!
//! A line without a line end was torn while being written, unless only the line end is missing. A torn line is not an
//! entry. The meaning of an entry is up to its owner; here it is a JSON object.

mod append;
mod chain;
mod line;
mod lock;

pub use append::{Appended, Register, Torn};
pub use chain::{Chain, Damage, End, is_in_use, read};
pub use line::{Digest, Entry};
