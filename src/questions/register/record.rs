//! The answer of `register`.

use super::checks::AgainstLine;
use super::control::{ControlLimits, Sign};
use super::history::State;
use super::places::PlaceContradiction;
use super::rate::{DriftRate, Equivalent};
use super::reason::{EndedLater, Reason};
use super::statement::{CheckEntry, Event, RuleEntry, Withdrawal};
use super::step::Step;
use crate::files::register::{Digest, End};
use crate::numeric::calendar::Day;
use crate::pair::RenewedMeter;
use crate::questions::calibrate::{AdoptedFrom, Condition};
use serde::Serialize;

/// Everything about a register on one page.
#[derive(Clone, Debug, Serialize)]
#[non_exhaustive]
pub struct Overview {
    /// Whether every byte of it belongs to a sound entry.
    pub sound: bool,
    /// How the file ends.
    #[serde(flatten, serialize_with = "serialize_end")]
    pub end: End,
    /// Title of the pair, from its latest calibration.
    pub title: Option<String>,
    /// Its serial number, where the spec had one.
    pub serial: Option<String>,
    /// Digest of the last sound entry.
    pub last_digest: Digest,
    /// The digest looked for, if any, and where it was found.
    pub expected: Option<Expected>,
    /// The day for which states and due dates are given: the one asked for, else that of the last entry.
    pub on: Option<Day>,
    /// Every calibration, oldest first.
    pub entries: Vec<CalibrationRow>,
    /// Number of the calibration in force.
    pub in_force: Option<u64>,
    /// Number of the event that ended the validity of its B0; `None` if B0 holds.
    pub intercept_ended_by: Option<u64>,
    /// Drift per year of the latest series.
    pub drift_per_year_fraction: Option<f64>,
    /// Its standard uncertainty.
    pub drift_standard_uncertainty_per_year_fraction: Option<f64>,
    /// The owner's rule for the next calibration.
    pub rule: Option<RuleEntry>,
    /// U(k) over k of the line in force, if the owner allows a smaller error than that.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub uncertainty_above_allowed_error_fraction: Option<f64>,
    /// When the next calibration is due by that rule, and which part of the rule decided.
    pub next_due: Option<Due>,
    /// The series; a new one begins where something happened.
    pub series: Vec<Series>,
    /// Each calibration compared with the one before it.
    pub neighbours: Vec<Neighbours>,
    /// What happened, those of a later day included.
    pub events: Vec<Numbered<Event>>,
    /// Where the places and orientations that the specs state do not agree with the events.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub place_contradictions: Vec<PlaceContradiction>,
    /// What was withdrawn.
    pub withdrawals: Vec<Numbered<Withdrawal>>,
    /// Events that were withdrawn by that day.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub withdrawn_events: Vec<Numbered<Event>>,
    /// Quick checks that were not withdrawn by that day.
    pub checks: Vec<CheckRow>,
    /// The step or drift that the readings of the calibration in force show and its line does not.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub step: Option<Step>,
    /// The last quick check since the calibration in force, if the pair failed it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub failed_check: Option<u64>,
    /// The last quick check of the field from that one on, against the line in force.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub failed_check_against_line: Option<AgainstLine>,
    /// The last quick check of the field since, if |E_n| against the line in force is above 1.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub check_off_line: Option<u64>,
    /// How far it is off.
    #[serde(skip)]
    pub off_line: Option<AgainstLine>,
}

fn serialize_end<S: serde::Serializer>(end: &End, serializer: S) -> Result<S::Ok, S::Error> {
    #[derive(Serialize)]
    struct Keys {
        torn_bytes: Option<usize>,
        damaged_line: Option<u64>,
    }
    let (torn_bytes, damaged_line) = match *end {
        End::Sound | End::WithoutLineEnd => (None, None),
        End::Torn { bytes } => (Some(bytes), None),
        End::Damaged { line, .. } => (None, Some(line)),
    };
    Keys { torn_bytes, damaged_line }.serialize(serializer)
}

/// A digest that was looked for.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Expected {
    /// The digest as given.
    pub digest: String,
    /// Number of the entry with this digest. `None` if there is none.
    pub number: Option<u64>,
}

/// One calibration.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct CalibrationRow {
    /// Number of the entry.
    pub number: u64,
    /// Day of issue.
    pub date: Day,
    /// Day of measurement, if it is another.
    pub measured: Option<Day>,
    /// Who.
    pub by: Option<String>,
    /// Number of the certificate.
    pub certificate: Option<String>,
    /// Number of the certificate that this one replaces.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub replaces: Option<String>,
    /// What is different from that one, and why.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub because: Option<String>,
    /// As found or as left.
    #[serde(rename = "as")]
    pub condition: Condition,
    /// What the slope rests on.
    pub adopted_from: AdoptedFrom,
    /// Whether it was adopted although something spoke against its readings.
    pub in_dispute: bool,
    /// k.
    pub slope_tesla_per_ampere: f64,
    /// U(k); `None` if it is not known.
    pub slope_expanded_uncertainty_tesla_per_ampere: Option<f64>,
    /// Its coverage factor.
    pub coverage_factor: Option<f64>,
    /// Standard uncertainty of k from errors that differ from one calibration to the next.
    pub slope_unshared_standard_uncertainty_tesla_per_ampere: f64,
    /// The slope fitted to the readings, whatever line was adopted. `None` if the entry holds none.
    pub fitted_slope_tesla_per_ampere: Option<f64>,
    /// Its standard uncertainty from errors that differ from one calibration to the next.
    pub fitted_slope_unshared_standard_uncertainty_tesla_per_ampere: Option<f64>,
    /// B0.
    pub intercept_tesla: f64,
    /// u(B0).
    pub intercept_standard_uncertainty_tesla: f64,
    /// Its state on the day asked for: `in_force`, `superseded`, `withdrawn`, `expired`, or `not_yet` before its day of issue.
    pub state: State,
    /// Why; `None` if nothing speaks against it.
    pub reason: Option<Reason>,
    /// Number of the entry whose certificate replaces its own by that day.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub replaced_by: Option<u64>,
    /// What ends it after that day.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ended_later: Option<EndedLater>,
    /// Its digest.
    pub digest: Digest,
}

/// A series of calibrations between which nothing happened.
#[derive(Clone, Debug, Serialize)]
#[non_exhaustive]
pub struct Series {
    /// Numbers of its entries.
    pub numbers: Vec<u64>,
    /// Those that were adopted although something spoke against their readings, and are left out of centre line and
    /// drift.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub left_out: Vec<u64>,
    /// Those without a fitted slope, which chart and drift leave out.
    pub without_fit: Vec<u64>,
    /// Where a meter was calibrated or replaced within it.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub renewed: Vec<Renewed>,
    /// Its centre lines, if a meter was renewed within it. The limits are those about the last one.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub centres: Vec<ChartPart>,
    /// The last of the events that opened it, if one did.
    pub opened_by: Option<u64>,
    /// All events that opened it, by number.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub opening_events: Vec<u64>,
    /// Its control chart.
    pub limits: Option<ControlLimits>,
    /// What stands out in it; places are counted from 0 in `numbers`.
    pub signs: Vec<Sign>,
    /// Its drift.
    pub drift: Option<DriftRate>,
    /// What would change the slope as much; `None` if the drift is not significant.
    pub explained_by: Option<Equivalent>,
}

/// A calibration compared with the one before it.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Neighbours {
    /// Number of the older.
    pub older: u64,
    /// Number of the newer.
    pub newer: u64,
    /// New over old, minus one.
    pub relative_change: f64,
    /// E_n, treating the two as independent.
    pub normalised_difference: Option<f64>,
    /// E_n with the shared sources cancelled.
    pub normalised_difference_same_meters: Option<f64>,
    /// What would change the slope as much, if the two differ by more than their uncertainties allow.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub explained_by: Option<Equivalent>,
    /// Whether the pair was adjusted between them.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub adjusted: bool,
    /// The last event between them, if there was one.
    pub event: Option<u64>,
    /// All events between them, by number.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub events: Vec<u64>,
    /// Instruments that were calibrated or replaced between the two.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub instruments_renewed: Vec<String>,
    /// These, and what was done.
    #[serde(skip)]
    pub(super) meters: Vec<RenewedMeter>,
}

/// The values of a chart by the same meters.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct ChartPart {
    /// Numbers of the first and the last entry.
    pub numbers: [u64; 2],
    /// Their centre line.
    pub centre_tesla_per_ampere: f64,
}

/// The instruments that were calibrated or replaced before an entry.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Renewed {
    /// Number of the entry.
    pub number: u64,
    /// Their names.
    pub instruments: Vec<String>,
    /// These, and what was done.
    #[serde(skip)]
    pub(super) meters: Vec<RenewedMeter>,
}

/// A quick check, compared with the line that held on its day.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct CheckRow {
    /// Number of the entry.
    pub number: u64,
    /// What it says.
    #[serde(flatten)]
    pub said: CheckEntry,
    /// Number of the calibration that held.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub against: Option<u64>,
    /// The field per ampere against its slope.
    #[serde(flatten)]
    pub against_line: Option<AgainstLine>,
}

/// When the next calibration is due.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Due {
    /// The day.
    pub date: Day,
    /// The part of the rule that decided.
    pub by: DueBy,
}

/// What decides when the next calibration is due.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum DueBy {
    /// The longest time of the owner's rule.
    Interval,
    /// The drift, which may by then have used its part of the allowed error.
    Drift,
    /// No line is in force: the pair is to be calibrated at once.
    NoLineInForce,
}

/// What an entry says, with its number.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Numbered<T> {
    /// The number.
    pub number: u64,
    /// What it says.
    #[serde(flatten)]
    pub said: T,
}

impl Overview {
    /// The calibrations as left that count, before which no event says what was done.
    #[cfg(feature = "paper")]
    pub(super) fn adjusted_without_event(&self) -> impl Iterator<Item = &CalibrationRow> {
        let has_event = |number: u64| {
            let series = self.series.iter().find(|series| series.numbers.first() == Some(&number));
            let opening = series.map_or(&[][..], |series| &series.opening_events);
            let opening = self.events.iter().filter(|event| opening.contains(&event.number));
            opening.into_iter().any(|event| event.said.event.changes_slope())
        };
        let counts = |number: u64| self.series.iter().any(|series| series.numbers.contains(&number));
        let left = self.entries.iter().filter(|row| row.condition == Condition::Left && row.is_measured());
        left.filter(move |row| counts(row.number) && !has_event(row.number))
    }
}

impl CalibrationRow {
    /// Whether readings were taken, as far as the entry shows.
    pub fn is_measured(&self) -> bool {
        self.adopted_from != AdoptedFrom::Computed || self.fitted_slope_tesla_per_ampere.is_some()
    }

    /// The state as it is told to people.
    #[cfg(feature = "paper")]
    pub(super) fn state_words(&self) -> &'static str {
        match self.replaced_by {
            Some(_) if self.state == State::Superseded => "replaced",
            _ => self.state.words(),
        }
    }

    /// The day for which it holds: that of measurement, else of issue.
    pub fn day(&self) -> Day {
        self.measured.unwrap_or(self.date)
    }
}
