//! The content of an entry of a register.

use crate::error::Error;
use crate::files::register::Entry;
use crate::numeric::calendar::Day;
use crate::physics::slope::Slope;
use crate::questions::calibrate::{AdoptedLine, Condition};
use crate::{Result, units};
use serde::{Deserialize, Serialize};

/// The content of an entry; `kind` tells which.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum Statement {
    /// The pair was calibrated.
    Calibration(Box<CalibrationEntry>),
    /// An earlier calibration no longer holds.
    Withdrawal(Withdrawal),
    /// Something happened to the pair or to what it is measured with.
    Event(Event),
    /// The owner's rule for calibrations from now on.
    Rule(RuleEntry),
    /// The pair was measured quickly and compared with its spec.
    Check(CheckEntry),
}

/// A calibration.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[non_exhaustive]
pub struct CalibrationEntry {
    /// Day of issue.
    pub date: Day,
    /// Day of measurement, if it is another.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub measured: Option<Day>,
    /// Who calibrated.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by: Option<String>,
    /// Number of the certificate.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub certificate: Option<String>,
    /// Number of the certificate that this one replaces: another evaluation of the same readings.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub replaces: Option<String>,
    /// What is different from that one, and why. `None` in older entries.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub because: Option<String>,
    /// Whether the pair was measured as it was found, or as it was left after an adjustment.
    #[serde(rename = "as")]
    pub condition: Condition,
    /// Serial number of the pair.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub serial: Option<String>,
    /// SHA-256 of the file of readings; `None` for a computed line.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub readings_sha256: Option<String>,
    /// SHA-256 of the values read, whatever their file. `None` in older entries.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub values_sha256: Option<String>,
    /// Whether the readings were adopted although something spoke against them.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub in_dispute: bool,
    /// Where the bench stood, if that was stated: B0 belongs to the place.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub place: Option<String>,
    /// How its axis was turned, if that was stated.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub orientation: Option<String>,
    /// Changes of the slope with the pair.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub changes: Option<Changes>,
    /// The line.
    pub line: AdoptedLine,
}

/// Changes of the slope of a pair with its build.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[non_exhaustive]
pub struct Changes {
    /// For an increase of the spacing, T/A for each metre.
    pub spacing_tesla_per_ampere_per_m: f64,
    /// For one turn more in one coil, T/A: the mean over its turns.
    pub turn_tesla_per_ampere: f64,
    /// For one turn more, T/A: of the turn with the smallest and of the one with the largest effect in either section.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub turn_range_tesla_per_ampere: Option<[f64; 2]>,
}

/// A calibration withdrawn.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[non_exhaustive]
pub struct Withdrawal {
    /// Day, if it was given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub date: Option<Day>,
    /// Number of the entry withdrawn.
    pub withdraws: u64,
    /// Why.
    pub reason: String,
    /// By whom.
    pub by: String,
}

/// Something that happened.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[non_exhaustive]
pub struct Event {
    /// Day, if it was given. Otherwise it lies between the entries before and after it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub date: Option<Day>,
    /// What.
    pub event: EventKind,
    /// More about it: where to, which coil, which meter.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
    /// Who reported it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by: Option<String>,
}

/// What can happen to a pair.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum EventKind {
    /// The bench was moved.
    Moved,
    /// The bench was turned.
    Turned,
    /// A coil was repaired.
    Repaired,
    /// A coil was rewound.
    Rewound,
    /// The coils were adjusted.
    Adjusted,
    /// Another meter is used.
    Meter,
}

impl EventKind {
    /// Every kind.
    pub const ALL: [Self; 6] =
        [Self::Moved, Self::Turned, Self::Repaired, Self::Rewound, Self::Adjusted, Self::Meter];

    /// Its name in the register and on the command line.
    pub const fn key(self) -> &'static str {
        match self {
            Self::Moved => "moved",
            Self::Turned => "turned",
            Self::Repaired => "repaired",
            Self::Rewound => "rewound",
            Self::Adjusted => "adjusted",
            Self::Meter => "meter",
        }
    }

    /// What it means for earlier calibrations, in words.
    pub fn consequence(self) -> &'static str {
        match (self.changes_slope(), self.changes_intercept()) {
            (true, _) => "earlier calibrations end",
            (false, true) => "B0 of earlier calibrations ends",
            (false, false) => "a new series begins",
        }
    }

    /// Whether the slope of an earlier calibration no longer holds.
    pub fn changes_slope(self) -> bool {
        matches!(self, Self::Repaired | Self::Rewound | Self::Adjusted)
    }

    /// Whether B0 of an earlier calibration no longer holds: the room's field belongs to a place and an orientation.
    pub fn changes_intercept(self) -> bool {
        matches!(self, Self::Moved | Self::Turned) || self.changes_slope()
    }
}

/// When the owner wants the pair calibrated again.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[non_exhaustive]
pub struct RuleEntry {
    /// Day, if it was given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub date: Option<Day>,
    /// Whose rule it is.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by: Option<String>,
    /// The longest time between two calibrations.
    pub every: Interval,
    /// An earlier day, if the drift may have used its part of the allowed error.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub drift: Option<DriftRule>,
}

/// A time between two calibrations.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Interval {
    /// Calendar months.
    Months(u32),
    /// Days.
    Days(u32),
}

/// How much drift is too much.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[non_exhaustive]
pub struct DriftRule {
    /// Largest error of the slope that the owner allows, as a fraction of it.
    pub allowed_error_fraction: f64,
    /// The part of it that drift may use.
    pub part: f64,
}

/// A quick measurement compared with the spec.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[non_exhaustive]
pub struct CheckEntry {
    /// Day.
    pub date: Day,
    /// By whom.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by: Option<String>,
    /// `pass`, `fail` or `undecided`, by the limits of the spec.
    pub verdict: String,
    /// Field at the centre per ampere, if it was measured.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub field_tesla_per_ampere: Option<f64>,
    /// Its standard uncertainty.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub field_standard_uncertainty_tesla_per_ampere: Option<f64>,
    /// Whether it was measured with the meters of the calibration in force on its day.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub same_meters: bool,
    /// First 12 hex digits of the SHA-256 of the spec.
    pub spec_digest: String,
    /// The quantities that failed, by their keys in the file of measurements. Older entries do not say.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub failed: Vec<String>,
    /// The quantities that passed.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub passed: Vec<String>,
    /// SHA-256 of the file of measurements. `None` in older entries.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub measured_sha256: Option<String>,
}

impl Interval {
    /// Longest interval allowed.
    const MOST_YEARS: u32 = 50;

    /// Reads `12 months`, `2 years`, `90 days`.
    ///
    /// # Errors
    /// The text has another form, or the time is zero or over 50 years.
    pub fn parse(text: &str) -> std::result::Result<Self, units::QuantityError> {
        let wrong = |message: String| units::QuantityError {
            message,
            hint: "write it like this: \"12 months\", \"2 years\" or \"90 days\"".into(),
        };
        let text = text.trim();
        let digits = text.find(|c: char| !c.is_ascii_digit()).unwrap_or(text.len());
        let number: Option<u32> = text[..digits].parse().ok();
        let unit = text[digits..].trim();
        let interval = match (number, unit) {
            (Some(number), "year" | "years" | "a") => number.checked_mul(12).map(Self::Months),
            (Some(number), "month" | "months") => Some(Self::Months(number)),
            (Some(number), "week" | "weeks") => number.checked_mul(7).map(Self::Days),
            (Some(number), "day" | "days" | "d") => Some(Self::Days(number)),
            _ => None,
        };
        let interval = interval
            .ok_or_else(|| wrong(format!("`{}` is no time between calibrations", units::shortened(text))))?;
        let (Self::Months(count) | Self::Days(count)) = interval;
        let most = match interval {
            Self::Months(_) => 12 * Self::MOST_YEARS,
            Self::Days(_) => 366 * Self::MOST_YEARS,
        };
        match (1..=most).contains(&count) {
            true => Ok(interval),
            false => Err(wrong(format!(
                "`{text}` is out of range: at least a day, at most {} years",
                Self::MOST_YEARS
            ))),
        }
    }

    /// The day that lies this time after `day`.
    pub fn after(self, day: Day) -> Option<Day> {
        match self {
            Self::Months(months) => day.months_later(months),
            Self::Days(days) => day.days_later(i64::from(days)),
        }
    }
}

impl std::fmt::Display for Interval {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let (count, one, many) = match *self {
            Self::Months(months) if months % 12 == 0 => (months / 12, "year", "years"),
            Self::Months(months) => (months, "month", "months"),
            Self::Days(days) => (days, "day", "days"),
        };
        write!(f, "{count} {}", if count == 1 { one } else { many })
    }
}

impl CalibrationEntry {
    /// A calibration of this day; other fields are set afterwards.
    pub fn new(date: Day, line: AdoptedLine) -> Self {
        Self {
            date,
            measured: None,
            by: None,
            certificate: None,
            replaces: None,
            because: None,
            condition: Condition::Found,
            serial: None,
            readings_sha256: None,
            values_sha256: None,
            in_dispute: false,
            place: None,
            orientation: None,
            changes: None,
            line,
        }
    }

    /// Whether both rest on the same file of readings.
    pub(super) fn has_the_file_of(&self, other: &Self) -> bool {
        self.readings_sha256.is_some() && self.readings_sha256 == other.readings_sha256
    }

    /// Whether both rest on readings with the same values, whatever their files.
    pub(super) fn has_the_values_of(&self, other: &Self) -> bool {
        self.values_sha256.is_some() && self.values_sha256 == other.values_sha256
    }

    /// Whether its certificate has this number; case is ignored.
    pub(super) fn has_certificate(&self, number: &str) -> bool {
        let plain = |number: &str| number.trim().to_lowercase();
        self.certificate.as_deref().is_some_and(|own| plain(own) == plain(number))
    }

    /// The day for which it holds: that of measurement, else of issue.
    pub fn day(&self) -> Day {
        self.measured.unwrap_or(self.date)
    }

    /// Whether it is issued on a day: nobody can use it before.
    pub(super) fn is_issued(&self, on: Day) -> bool {
        self.date <= on
    }
}

impl Changes {
    /// From the effects of the spacing and of one turn.
    pub fn new(spacing_tesla_per_ampere_per_m: f64, turn_tesla_per_ampere: f64) -> Self {
        Self { spacing_tesla_per_ampere_per_m, turn_tesla_per_ampere, turn_range_tesla_per_ampere: None }
    }
}

impl Withdrawal {
    /// Withdraws an entry; with reason and name.
    pub fn new(withdraws: u64, reason: impl Into<String>, by: impl Into<String>, date: Option<Day>) -> Self {
        Self { date, withdraws, reason: reason.into(), by: by.into() }
    }
}

impl Event {
    /// An event of this kind, with its day if that is known.
    pub fn new(event: EventKind, note: Option<String>, by: Option<String>, date: Option<Day>) -> Self {
        Self { date, event, note, by }
    }
}

impl RuleEntry {
    /// A rule of a longest time, and of a limit of drift if there is one.
    pub fn new(every: Interval, drift: Option<DriftRule>, by: Option<String>, date: Option<Day>) -> Self {
        Self { date, by, every, drift }
    }
}

impl DriftRule {
    /// From the allowed error and the part of it that drift may use.
    pub fn new(allowed_error_fraction: f64, part: f64) -> Self {
        Self { allowed_error_fraction, part }
    }

    /// The part of the slope that drift may use up beside U of the line over k.
    pub(super) fn left_by(&self, expanded_fraction: Option<f64>) -> f64 {
        let part = self.part * self.allowed_error_fraction;
        let left = expanded_fraction.map_or(f64::INFINITY, |own| self.allowed_error_fraction - own);
        if left > 0.0 { part.min(left) } else { part }
    }

    /// U of a slope over it, if the allowed error is smaller: then the line itself may be off by more than is allowed, and no
    /// date keeps that.
    pub(super) fn is_below(&self, slope: &Slope) -> Option<f64> {
        slope.relative_expanded_uncertainty().filter(|own| self.allowed_error_fraction < *own)
    }
}

impl CheckEntry {
    /// A check of this day with its verdict.
    pub fn new(
        date: Day,
        by: Option<String>,
        verdict: impl Into<String>,
        spec_digest: impl Into<String>,
    ) -> Self {
        Self {
            date,
            by,
            verdict: verdict.into(),
            field_tesla_per_ampere: None,
            field_standard_uncertainty_tesla_per_ampere: None,
            same_meters: false,
            spec_digest: spec_digest.into(),
            failed: Vec::new(),
            passed: Vec::new(),
            measured_sha256: None,
        }
    }

    /// The quantities that failed and those that passed, each with one name wherever it was measured. An older entry
    /// does not list them: its verdict then holds for the field, if that was measured, and for everything else
    /// together.
    pub(super) fn failed_and_passed(&self) -> [Vec<String>; 2] {
        const ELSE: &str = "else";
        const FIELD: &str = "field";
        if self.failed.is_empty() && self.passed.is_empty() {
            let field = self.field_tesla_per_ampere.map(|_| FIELD);
            let all = || [Some(ELSE), field].into_iter().flatten().map(str::to_owned).collect();
            return match self.verdict.as_str() {
                "fail" => [vec![field.unwrap_or(ELSE).to_owned()], Vec::new()],
                "pass" => [Vec::new(), all()],
                _ => [Vec::new(), Vec::new()],
            };
        }
        // `fields[2]` is the field, wherever it was measured.
        let what = |key: &String| match key.starts_with(FIELD) {
            true => FIELD.to_owned(),
            false => key.split('[').next().unwrap_or_default().to_owned(),
        };
        [&self.failed, &self.passed].map(|keys| keys.iter().map(what).collect())
    }
}

impl Statement {
    /// As the content of a line: one JSON object on one line, without characters that act on a terminal.
    ///
    /// # Errors
    /// A number that is not finite, which JSON cannot hold.
    pub fn content(&self) -> Result<String> {
        let text = serde_json::to_string(self);
        // Content that cannot be read back is never written: JSON has no infinite number.
        let back = text.and_then(|text| serde_json::from_str::<Self>(&text).map(|_| text));
        let text = back.map_err(|error| Error::value(format!("cannot write the entry as JSON: {error}")))?;
        Ok(units::inert::json(&text).into_owned())
    }

    /// The content of an entry.
    ///
    /// # Errors
    /// It holds something that this version does not know.
    pub fn of(entry: &Entry) -> Result<Self> {
        serde_json::from_value(serde_json::Value::Object(entry.content.clone())).map_err(|error| {
            Error::value_with_hint(
                format!("entry {} of the register says what this version cannot read: {error}", entry.number),
                "a newer version may have written it: use that one",
            )
        })
    }

    /// Every day that the entry states.
    pub(super) fn days(&self) -> Vec<Day> {
        let days = match self {
            Self::Calibration(entry) => [Some(entry.date), entry.measured],
            Self::Check(entry) => [Some(entry.date), None],
            Self::Withdrawal(entry) => [entry.date, None],
            Self::Event(entry) => [entry.date, None],
            Self::Rule(entry) => [entry.date, None],
        };
        days.into_iter().flatten().collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_event_has_the_name_that_the_register_writes() {
        for kind in EventKind::ALL {
            assert_eq!(serde_json::to_value(kind).unwrap(), kind.key());
        }
    }

    #[test]
    fn a_time_between_calibrations_is_read_and_told() {
        for (text, interval, told) in [
            ("12 months", Interval::Months(12), "1 year"),
            ("2 years", Interval::Months(24), "2 years"),
            ("18 months", Interval::Months(18), "18 months"),
            ("90days", Interval::Days(90), "90 days"),
            ("1 day", Interval::Days(1), "1 day"),
        ] {
            assert_eq!(Interval::parse(text).unwrap(), interval);
            assert_eq!(interval.to_string(), told);
        }
        for wrong in ["", "12", "months", "0 days", "51 years", "-3 days", "1.5 years", "99999999999 days"] {
            assert!(Interval::parse(wrong).is_err(), "{wrong}");
        }
    }
}
