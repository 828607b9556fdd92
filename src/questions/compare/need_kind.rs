//! The needs that options are compared with, by name.

use serde::{Serialize, Serializer};
use std::fmt;

/// A need: what it is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NeedKind {
    /// The largest field.
    LargestField,
    /// The current for that field.
    Current,
    /// The voltage for that field.
    Voltage,
    /// Room for the bulb.
    Room,
    /// Deviation over the beam.
    BeamDeviation,
    /// Temperature of the hottest surface.
    SurfaceTemperature,
    /// All that is to pay.
    Cost,
    /// From order to delivery.
    Delivery,
}

impl NeedKind {
    pub(super) const ALL: [Self; 8] = [
        Self::LargestField,
        Self::Current,
        Self::Voltage,
        Self::Room,
        Self::BeamDeviation,
        Self::SurfaceTemperature,
        Self::Cost,
        Self::Delivery,
    ];

    /// Its name for people and scripts.
    pub const fn words(self) -> &'static str {
        match self {
            Self::LargestField => "largest field",
            Self::Current => "current for that field",
            Self::Voltage => "voltage for that field",
            Self::Room => "room for the bulb",
            Self::BeamDeviation => "beam deviation",
            Self::SurfaceTemperature => "surface temperature",
            Self::Cost => "cost",
            Self::Delivery => "delivery",
        }
    }
}

impl fmt::Display for NeedKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.words())
    }
}

impl Serialize for NeedKind {
    fn serialize<S: Serializer>(&self, to: S) -> std::result::Result<S::Ok, S::Error> {
        to.serialize_str(self.words())
    }
}
