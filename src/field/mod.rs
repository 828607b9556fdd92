//! The magnetic field of placed windings.

mod assembly;
mod deviation;
mod loop_field;

pub use assembly::{Assembly, PlacedWinding, Section};
pub use deviation::Deviation;
