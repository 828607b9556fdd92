//! The contents of a certificate besides the physics of the pair: persons, places and instruments.

use crate::numeric::calendar::Day;
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
    /// The day of its own calibration.
    pub calibrated: Option<Day>,
    /// What its readings are traceable to.
    pub traceable_to: Option<String>,
    /// What it reads, where that is stated; else its name may tell.
    #[serde(default)]
    pub reads: Option<Read>,
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
        Self {
            name: name.into(),
            serial: None,
            certificate: None,
            calibrated: None,
            traceable_to: None,
            reads: None,
        }
    }

    /// Whether the other is the same instrument: of one serial number where both state it, else of one name.
    fn is(&self, other: &Self) -> bool {
        let plain = |serial: &str| -> String {
            serial.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).collect()
        };
        match self.serial.as_deref().zip(other.serial.as_deref()) {
            Some((one, other)) => plain(one) == plain(other),
            None => folded(&self.name) == folded(&other.name),
        }
    }

    /// Whether this is the same instrument after another calibration of its own: of another certificate, or of another day where
    /// not both certificates are stated.
    fn is_calibrated_anew_since(&self, earlier: &Self) -> bool {
        let certificates = earlier.certificate.as_deref().zip(self.certificate.as_deref());
        let days = earlier.calibrated.zip(self.calibrated);
        self.is(earlier)
            && match certificates {
                Some((before, now)) => folded(before) != folded(now),
                None => days.is_some_and(|(before, now)| before != now),
            }
    }

    /// What it reads of a calibration: as stated, else by the words of its name. `None` for an instrument that reads neither, such
    /// as a thermometer.
    pub(crate) fn meter(&self) -> Option<Read> {
        let name = folded(&self.name);
        let any = |words: &[&str]| words.iter().any(|word| name.contains(word));
        match () {
            () if self.reads.is_some() => self.reads,
            () if any(&["thermo", "temperature", "resistance", "calliper", "caliper", "holder", "stand"]) => {
                None
            }
            () if any(&["field", "gauss", "tesla", "probe", "hall", "magnetometer"]) => Some(Read::Field),
            () if any(&["ammeter", "ampere", "clamp", "current", "multimeter", "shunt", "dmm"]) => {
                Some(Read::Current)
            }
            () => None,
        }
    }
}

/// Text as two people write the same.
fn folded(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase()
}

/// What a meter reads.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Read {
    /// The field.
    Field,
    /// The current.
    Current,
}

/// A meter that was itself calibrated, or replaced, between two uses.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct RenewedMeter {
    /// Its name.
    pub(crate) name: String,
    /// What it reads.
    pub(crate) reads: Read,
    /// Whether another one took its place.
    pub(crate) is_another: bool,
    /// The one whose place it took, and itself, by name, with their serial numbers where the names agree.
    pub(crate) replaced_and_new: Option<[String; 2]>,
}

/// Two meters so named that a reader can tell them apart.
fn told_apart(before: &Instrument, now: &Instrument) -> [String; 2] {
    let named = |one: &Instrument| match &one.serial {
        Some(serial) if folded(&before.name) == folded(&now.name) => format!("{} {serial}", one.name),
        _ => one.name.clone(),
    };
    [named(before), named(now)]
}

/// The meters that were calibrated themselves, or replaced, between two uses. One that the earlier use does not name took the place
/// of another of its kind if that one is gone.
pub(crate) fn meters_renewed(earlier: &[Instrument], later: &[Instrument]) -> Vec<RenewedMeter> {
    let is_gone = |one: &Instrument| !later.iter().any(|other| other.is(one));
    let renewed = |one: &Instrument| {
        let reads = one.meter()?;
        let replaced = match earlier.iter().find(|other| one.is(other)) {
            Some(before) if !one.is_calibrated_anew_since(before) => return None,
            Some(_) => None,
            None => Some(earlier.iter().find(|other| other.meter() == Some(reads) && is_gone(other))?),
        };
        Some(RenewedMeter {
            name: one.name.clone(),
            reads,
            is_another: replaced.is_some(),
            replaced_and_new: replaced.map(|replaced| told_apart(replaced, one)),
        })
    };
    later.iter().filter_map(renewed).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn meter(name: &str, serial: Option<&str>, certificate: Option<&str>) -> Instrument {
        Instrument {
            serial: serial.map(str::to_owned),
            certificate: certificate.map(str::to_owned),
            ..Instrument::new(name)
        }
    }

    #[test]
    fn only_a_meter_calibrated_anew_or_replaced_is_renewed() {
        let before = [
            meter("Field meter", Some("F 1"), Some("K-2016-01")),
            meter("ammeter", None, Some("K-2016-02")),
            meter("thermometer", Some("T 1"), Some("K-2016-03")),
        ];
        let told = |later: &[Instrument]| -> Vec<(Read, bool)> {
            meters_renewed(&before, later).into_iter().map(|one| (one.reads, one.is_another)).collect()
        };
        // The same written otherwise, a serial stated for the first time, another thermometer, a calliper.
        let same = [
            meter("Teslameter with probe", Some("f-1"), Some("k-2016-01")),
            meter("Ammeter", Some("A 9"), Some("K-2016-02")),
            meter("thermometer", Some("T 2"), Some("K-2017-03")),
            meter("non-magnetic calliper", None, None),
            meter("multimeter (winding resistance)", Some("9"), None),
            meter("axial Hall probe", Some("H 2"), None),
        ];
        assert_eq!(told(&same), []);
        let mut anew = before.clone();
        anew[1].certificate = Some("K-2017-02".into());
        assert_eq!(told(&anew), [(Read::Current, false)]);
        anew[0].serial = Some("F 2".into());
        assert_eq!(told(&anew), [(Read::Field, true), (Read::Current, false)]);
        // A day alone tells where no two certificates are stated.
        let mut days = before.clone();
        days[0].calibrated = Day::new(2016, 3, 1);
        let mut slip = days.clone();
        slip[0].calibrated = Day::new(2016, 3, 2);
        assert!(meters_renewed(&days, &slip).is_empty());
        (days[0].certificate, slip[0].certificate) = (None, None);
        assert_eq!(meters_renewed(&days, &slip).len(), 1);
        // A name in another language says nothing; what it reads may be stated.
        let named = |reads| Instrument { reads, ..meter("Feldmesser", Some("F 1"), Some("K-1")) };
        let later = |reads| Instrument { certificate: Some("K-2".into()), ..named(reads) };
        assert!(meters_renewed(&[named(None)], &[later(None)]).is_empty());
        let field = Some(Read::Field);
        assert_eq!(meters_renewed(&[named(field)], &[later(field)]).len(), 1);
        // Nothing was known before.
        assert!(meters_renewed(&[], &before).is_empty());
    }
}
