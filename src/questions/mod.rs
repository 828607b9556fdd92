//! One folder a question: what is asked, its record, and the words, pictures and files made from the record.

pub mod accept;
pub mod build;
pub mod calibrate;
pub mod check;
pub mod compare;
pub mod field;
#[cfg(feature = "paper")]
pub mod files;
pub mod heat;
pub mod identify;
pub mod lesson;
pub mod map;
pub mod orbit;
#[cfg(feature = "paper")]
pub mod picture;
pub mod register;
pub mod sheet;
pub mod size;
pub mod tender;
pub mod tolerance;
pub mod uniformity;
pub mod weigh;
pub mod wires;
pub mod words;
