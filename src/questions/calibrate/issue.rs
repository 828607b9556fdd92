//! The issue of a calibration: by whom, when, with which number, from which files, in which register.

use crate::error::reason_unread;
use crate::numeric::calendar::Day;
use crate::physics::budget_source::BudgetSource;
use crate::physics::slope::AdoptedFrom;
use crate::{Error, Result};
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::path::Path;

/// State in which a pair was measured.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Condition {
    /// As it was found.
    #[default]
    Found,
    /// As it was left after an adjustment.
    Left,
}

impl Condition {
    /// In one word.
    pub fn word(self) -> &'static str {
        match self {
            Self::Found => "found",
            Self::Left => "left",
        }
    }
}

/// The certificate of a pair as it was before an adjustment or a repair: as found, or the last one before.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct AsFound {
    /// Its number.
    pub certificate: String,
    /// Day of its measurement, if it is known.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub measured: Option<Day>,
    /// Its slope and U, if they are known.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub slope_and_expanded_uncertainty_tesla_per_ampere: Option<[f64; 2]>,
    /// Whether it is a result as left after an adjustment: the last one before a repair, of which none as found exists.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub as_left: bool,
    /// Whether it was adopted although something spoke against its readings.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub in_dispute: bool,
    /// The change of the slope fitted to readings since, if both results hold one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub fitted_change: Option<FoundToNow>,
}

/// The slopes fitted to the readings before and after an adjustment or repair, and their difference. The adopted lines may be
/// of different kinds; these are of one.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct FoundToNow {
    /// The slope as found.
    pub found_tesla_per_ampere: f64,
    /// Its expanded uncertainty.
    pub found_expanded_uncertainty_tesla_per_ampere: Option<f64>,
    /// The slope now.
    pub now_tesla_per_ampere: f64,
    /// Its expanded uncertainty.
    pub now_expanded_uncertainty_tesla_per_ampere: Option<f64>,
    /// New over old, minus one.
    pub relative_change: f64,
    /// E_n, treating the two as independent.
    pub normalised_difference: Option<f64>,
    /// E_n with the shared errors cancelled. `None` if the specs differ in coils or meters, or another meter is used.
    pub normalised_difference_same_meters: Option<f64>,
    /// The errors that cancel in that.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub shared_sources: Vec<BudgetSource>,
}

impl AsFound {
    /// A certificate of which only the number is known.
    pub fn new(certificate: impl Into<String>) -> Self {
        Self {
            certificate: certificate.into(),
            measured: None,
            slope_and_expanded_uncertainty_tesla_per_ampere: None,
            as_left: false,
            in_dispute: false,
            fitted_change: None,
        }
    }
}

/// Something that was done to the pair since the previous calibration.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Happened {
    /// The day, if it is known.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub date: Option<Day>,
    /// What was done.
    pub what: String,
}

impl Happened {
    /// What was done, and when.
    pub fn new(what: impl Into<String>, date: Option<Day>) -> Self {
        Self { date, what: what.into() }
    }

    /// Both in words.
    pub fn sentence(&self) -> String {
        match self.date {
            Some(day) => format!("{} ({day})", self.what),
            None => self.what.clone(),
        }
    }
}

/// That the register holds no result as found from just before an adjustment or repair.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct NoAsFound {
    /// What changed the pair since its last result as found; `None` where it holds no such result at all.
    pub since: Option<ChangedSince>,
}

impl NoAsFound {
    /// None at all, or none since this.
    pub fn new(since: Option<ChangedSince>) -> Self {
        Self { since }
    }

    /// In words.
    pub fn sentence(&self) -> String {
        match &self.since {
            None => "the register holds no result as found".into(),
            Some(since) => format!(
                "no result as found exists since entry {} of the register: {}",
                since.entry,
                since.happened.sentence()
            ),
        }
    }
}

/// An entry that changed the pair.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct ChangedSince {
    /// Its number.
    pub entry: u64,
    /// What was done, and when.
    #[serde(flatten)]
    pub happened: Happened,
}

impl ChangedSince {
    /// What this entry says was done.
    pub fn new(entry: u64, happened: Happened) -> Self {
        Self { entry, happened }
    }
}

/// A file that a calibration was made from.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[non_exhaustive]
pub struct InputFile {
    /// Its part: `spec`, `readings`.
    pub part: &'static str,
    /// Its name, without the folders it lies in.
    pub name: String,
    /// SHA-256 of its bytes, in hex.
    pub sha256: String,
}

impl InputFile {
    /// The file at a path. `None` if it can be read only once, such as a pipe.
    ///
    /// # Errors
    /// It cannot be read.
    pub fn of(part: &'static str, path: &Path) -> Result<Option<Self>> {
        if !std::fs::metadata(path).is_ok_and(|found| found.is_file()) {
            return Ok(None);
        }
        let bytes = std::fs::read(path)
            .map_err(|error| Error::Read { path: path.to_owned(), reason: reason_unread(&error) })?;
        let name = path.file_name().unwrap_or_default().to_string_lossy();
        let sha256 = Sha256::digest(&bytes).iter().map(|byte| format!("{byte:02x}")).collect();
        Ok(Some(Self { part, name: crate::units::inert::line(&name).into_owned(), sha256 }))
    }
}

/// That a line ended before its certificate was issued.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct EndedBeforeIssue {
    /// Number of the entry that ended it.
    pub entry: u64,
    /// What was done, and when.
    #[serde(flatten)]
    pub happened: Happened,
}

impl EndedBeforeIssue {
    /// What this entry says was done.
    pub fn new(entry: u64, happened: Happened) -> Self {
        Self { entry, happened }
    }
}

/// The statements of a certificate besides the result.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Issue {
    /// Its number.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub certificate: Option<String>,
    /// Who calibrated.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub by: Option<String>,
    /// Day of the measurement; the day of issue is the record's date.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub measured: Option<Day>,
    /// As found or as left.
    #[serde(rename = "as")]
    pub condition: Condition,
    /// The certificate of the last result as found, for a pair that was adjusted or repaired since.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub as_found: Option<AsFound>,
    /// That there is none in the register.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub no_as_found: Option<NoAsFound>,
    /// What was done to the coils since the previous calibration, according to the register.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub happened: Vec<Happened>,
    /// The certificate that this one replaces, and why.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub replaces: Option<Replaced>,
    /// Largest error of the slope that is allowed, for a statement of conformity.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub allowed_error_fraction: Option<f64>,
    /// Its place in a register.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub registered: Option<Registered>,
    /// When the next calibration is due, as agreed with the owner.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub next_due: Option<AgreedDue>,
    /// What ended the line between the measurement and the issue.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ended: Option<EndedBeforeIssue>,
    /// What ended B0 alone in that time.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub intercept_ended: Option<EndedBeforeIssue>,
    /// Where the spec's place or orientation does not agree with the register, as sentences.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub place_contradictions: Vec<String>,
    /// The clear step or drift of the readings that the line does not show because it rests on the geometry, as a
    /// sentence.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub hides: Option<String>,
}

impl Issue {
    /// Refuses statements that no certificate of this date can make.
    ///
    /// # Errors
    /// A number or name without a letter; a certificate that replaces itself; a measurement after the issue.
    pub fn check(&self, date: Option<Day>) -> Result<()> {
        let replaced = self.replaces.as_ref().map(|replaced| &replaced.certificate);
        let reason = self.replaces.as_ref().map(|replaced| &replaced.reason);
        for (argument, text) in [
            ("--certificate", self.certificate.as_ref()),
            ("--as-found", self.as_found.as_ref().map(|found| &found.certificate)),
            ("--by", self.by.as_ref()),
            ("--replaces", replaced),
            ("--because", reason),
        ] {
            if text.is_some_and(|text| text.trim().is_empty()) {
                return Err(Error::value_with_hint(
                    format!("{argument} is empty"),
                    "write it out, or leave it away",
                ));
            }
            if text.is_some_and(|text| text.contains(char::is_control)) {
                return Err(Error::value_with_hint(
                    format!("{argument} has a line break or another control character"),
                    "write it in one line",
                ));
            }
        }
        if let (Some(own), Some(replaced)) = (&self.certificate, replaced)
            && own.trim().to_lowercase() == replaced.trim().to_lowercase()
        {
            return Err(Error::value_with_hint(
                format!("the certificate `{own}` would replace itself"),
                "a corrected certificate has a number of its own: --certificate NUMBER",
            ));
        }
        match self.measured.zip(date) {
            Some((measured, date)) if measured > date => Err(Error::value_with_hint(
                format!("the measurement, on {measured}, would come after the issue, on {date}"),
                "--measured-on is the day of the readings, --date that of the certificate",
            )),
            _ => Ok(()),
        }
    }

    /// Whether nothing is stated.
    pub(super) fn is_empty(&self) -> bool {
        *self == Self::default()
    }
}

/// A certificate replaced by a corrected one.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Replaced {
    /// Its number.
    pub certificate: String,
    /// What is different, and why.
    pub reason: String,
    /// What the register shows to be different.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub changed: Vec<Change>,
}

/// A difference of a certificate from the one that it replaces.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(tag = "what", rename_all = "snake_case")]
#[non_exhaustive]
pub enum Change {
    /// The values read.
    Readings,
    /// The file of readings, of which one of the two entries does not tell the values.
    FileOfReadings,
    /// No readings are left.
    NoReadings,
    /// The line adopted.
    Line {
        /// Before.
        was: AdoptedFrom,
        /// Since.
        is: AdoptedFrom,
    },
    /// k or U.
    Result {
        /// The slope before.
        was_tesla_per_ampere: f64,
        /// Its expanded uncertainty; `None` if it is not known.
        was_expanded_uncertainty_tesla_per_ampere: Option<f64>,
        /// The slope since.
        is_tesla_per_ampere: f64,
        /// Its expanded uncertainty; `None` if it is not known.
        is_expanded_uncertainty_tesla_per_ampere: Option<f64>,
    },
}

impl Replaced {
    /// The certificate of this number, replaced for this reason.
    pub fn new(certificate: impl Into<String>, reason: impl Into<String>) -> Self {
        Self { certificate: certificate.into(), reason: reason.into(), changed: Vec::new() }
    }
}

/// A place in a register.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[non_exhaustive]
pub struct Registered {
    /// Number of the entry.
    pub entry: u64,
    /// Its digest.
    pub digest: String,
    /// Name of the register's file.
    pub register: String,
}

impl Registered {
    /// The entry of this number and digest in the register of this file name.
    pub fn new(entry: u64, digest: impl Into<String>, register: impl Into<String>) -> Self {
        Self { entry, digest: digest.into(), register: register.into() }
    }
}

/// A next calibration that was agreed.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[non_exhaustive]
pub struct AgreedDue {
    /// The day.
    pub date: Day,
    /// The owner's rule, in words.
    pub rule: String,
}
