//! The contents of a certificate besides the physics of the pair: persons, places and instruments.

use serde::{Deserialize, Serialize};

/// Names, places and instruments, as far as the spec states them.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Paperwork {
    /// Serial number of the pair.
    pub serial: Option<String>,
    /// The calibrating laboratory.
    pub laboratory: Option<Party>,
    /// The customer.
    pub customer: Option<Party>,
    /// Circumstances of the measurement.
    pub conditions: Conditions,
    /// The instruments used.
    pub instruments: Vec<Instrument>,
}

/// A laboratory or a customer.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Party {
    /// Name.
    pub name: String,
    /// Address, or another way to reach it.
    pub address: Option<String>,
}

/// Circumstances of a measurement.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Conditions {
    /// Place of the bench.
    pub place: Option<String>,
    /// Its orientation there.
    pub orientation: Option<String>,
    /// Iron and steel near it.
    pub iron_nearby: Option<String>,
    /// Temperature of the windings.
    pub winding_temperature_celsius: Option<f64>,
    /// Whether the coils were cold or had been warmed by current.
    pub coils: Option<CoilsWere>,
}

/// Whether the coils had been warmed by current.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum CoilsWere {
    /// At room temperature.
    Cold,
    /// Warmed by the current of the readings, or by one before them.
    Warmed,
}

/// An instrument.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Instrument {
    /// What it is.
    pub name: String,
    /// Serial number.
    pub serial: Option<String>,
    /// Number of its own certificate.
    pub certificate: Option<String>,
    /// Year, month and day of its own calibration.
    pub calibrated: Option<(i32, u8, u8)>,
    /// What its readings are traceable to.
    pub traceable_to: Option<String>,
}

impl Party {
    /// A party with this name.
    pub fn new(name: impl Into<String>, address: Option<String>) -> Self {
        Self { name: name.into(), address }
    }
}

impl Instrument {
    /// An instrument with this name; nothing else is known.
    pub fn new(name: impl Into<String>) -> Self {
        Self { name: name.into(), serial: None, certificate: None, calibrated: None, traceable_to: None }
    }
}
