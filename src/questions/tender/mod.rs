//! What to send to suppliers: a request for quotation from the wishes, and a form for the answer.
//!
//! Every figure in the request comes from the wishes. Only the largest field may follow from the tube that they state.

#[cfg(feature = "paper")]
pub mod files;
mod requirement;
mod sentences;
#[cfg(feature = "paper")]
pub mod words;

pub use requirement::{Open, Requirement, WantedWire};

use crate::files::spec::Wanted;
use crate::numeric::calendar::Day;
use crate::pair::PROGRAM;
use sentences::{as_phrases, with_phrases};
use serde::Serialize;

/// A request for quotation.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Tender {
    /// Program name and version.
    pub program: String,
    /// Title of the wishes.
    pub wishes_title: String,
    /// First 12 hex digits of the SHA-256 of their file.
    pub wishes_digest: String,
    /// The date to print, if any.
    pub date: Option<Day>,
    /// The requirements on the pair; JSON has each with its subject (`what`) and its phrase (`wanted`).
    #[serde(serialize_with = "with_phrases")]
    pub requirements: Vec<Requirement>,
    /// What the wishes leave open and a supplier will ask; phrases in JSON.
    #[serde(serialize_with = "as_phrases")]
    pub open: Vec<Open>,
}

/// Makes the request.
pub fn tender(wanted: &Wanted, date: Option<Day>) -> Tender {
    Tender {
        program: PROGRAM.into(),
        wishes_title: wanted.title.clone(),
        wishes_digest: wanted.digest.clone(),
        date,
        requirements: requirement::requirements(wanted),
        open: requirement::open(wanted),
    }
}
