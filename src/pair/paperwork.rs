//! The contents of a certificate besides the physics of the pair: persons, places and instruments.

use serde::{Deserialize, Serialize};

/// Names, places and instruments, as far as the spec states them.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
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
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
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

impl Paperwork {
    /// Whether nothing is stated.
    pub fn says_nothing(&self) -> bool {
        *self == Self::default()
    }
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

    /// Whether the other is the same instrument.
    fn is(&self, other: &Self) -> bool {
        (&self.name, &self.serial) == (&other.name, &other.serial)
    }

    /// Whether this is the same instrument after another calibration of its own: another certificate or day, or the first of
    /// which anything is known.
    fn is_calibrated_anew_since(&self, earlier: &Self) -> bool {
        let other = |old: bool, new: bool, differ: bool| new && (!old || differ);
        let certificate = other(
            earlier.certificate.is_some(),
            self.certificate.is_some(),
            earlier.certificate != self.certificate,
        );
        let day = other(
            earlier.calibrated.is_some(),
            self.calibrated.is_some(),
            earlier.calibrated != self.calibrated,
        );
        self.is(earlier) && (certificate || day)
    }
}

/// The names of the instruments of a later use that no earlier one had, where others took part in both or each list names some
/// that the other does not: another meter is used.
pub(crate) fn instruments_replaced(earlier: &[Instrument], later: &[Instrument]) -> Vec<String> {
    let lacks = |list: &[Instrument], one: &Instrument| !list.iter().any(|other| other.is(one));
    let gone = earlier.iter().any(|one| lacks(later, one));
    let new = later.iter().filter(|one| lacks(earlier, one)).map(|one| one.name.clone());
    if gone { new.collect() } else { Vec::new() }
}

/// The names of the instruments that were calibrated themselves, or replaced, between two uses.
pub(crate) fn instruments_renewed(earlier: &[Instrument], later: &[Instrument]) -> Vec<String> {
    let renewed = |one: &&Instrument| {
        let before = earlier.iter().find(|other| one.is(other));
        before.is_none_or(|before| one.is_calibrated_anew_since(before))
    };
    match earlier.is_empty() {
        true => Vec::new(),
        false => later.iter().filter(renewed).map(|one| one.name.clone()).collect(),
    }
}
