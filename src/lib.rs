//! The coil pair of an electron-beam teaching bench: its field, its uniformity, its calibration, its limits.

pub mod beam;
pub mod build_error;
pub mod calibration;
pub mod compare;
pub mod constants;
pub mod electrical;
pub mod error;
pub mod field;
pub mod field_map;
pub mod heating;
pub mod identify;
pub mod lesson_check;
mod nearest;
pub mod numeric;
pub mod plot;
pub mod provenance;
pub mod report;
pub mod room;
pub mod sheet;
pub mod sizing;
pub mod spacing;
pub mod spec;
pub mod stray;
pub mod table;
pub mod tolerance;
pub mod uniformity;
pub mod units;
pub mod weigh;

pub use error::{Document, Error, Result};
