//! A contradiction within a spec, which warns and stops nothing.

use crate::units::{Dimension, brief, display};
use serde::Serialize;
use std::fmt;

/// A coil's stated resistance, and the one its wire gives.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct ResistanceContradiction {
    /// "a" or "b".
    pub coil: &'static str,
    /// The stated resistance.
    pub stated_ohm: f64,
    /// The resistance from wire, turns and mean radius at the same temperature.
    pub by_wire_ohm: f64,
    /// That temperature.
    pub at_celsius: f64,
    /// Turns of the coil.
    pub turns: f64,
}

impl fmt::Display for ResistanceContradiction {
    /// One sentence without a full stop.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "the spec contradicts itself: coil {} is stated to have {}, and {} turns of its wire have {} at {}",
            self.coil,
            display(self.stated_ohm, Dimension::Resistance, 4),
            brief(self.turns, Dimension::Number),
            display(self.by_wire_ohm, Dimension::Resistance, 4),
            brief(self.at_celsius, Dimension::Temperature)
        )
    }
}
