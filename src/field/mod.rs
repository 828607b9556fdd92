//! The magnetic field of placed windings.

mod assembly;
mod loop_field;

pub use assembly::{Assembly, PlacedWinding, Section};
