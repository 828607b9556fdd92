//! The coil pair of an electron-beam teaching bench: its field, its uniformity, its calibration, its limits.

pub mod constants;
pub mod error;
pub mod files;
pub mod judgement;
pub mod numeric;
pub mod pair;
#[cfg(feature = "paper")]
pub mod paper;
pub mod physics;
pub mod questions;
pub mod units;

pub use error::{Document, Error, Result};
