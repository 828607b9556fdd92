//! The entries of a register in order of time: which series they form, and which calibration is in force.

use super::statement::{CalibrationEntry, CheckEntry, Event, EventKind, RuleEntry, Statement, Withdrawal};
use crate::Result;
use crate::files::register::{Chain, Digest, Entry};
use crate::numeric::calendar::Day;
use crate::pair::{Instrument, meters_renewed};
use crate::questions::calibrate::Condition;
use serde::Serialize;

/// The content of one kind of entry, with its place in the register.
#[derive(Clone, Debug, PartialEq)]
pub struct Entered<T> {
    /// Number of the entry.
    pub number: u64,
    /// Its digest.
    pub digest: Digest,
    /// What it says.
    pub said: T,
}

/// The content of a register, by kind of entry.
#[derive(Clone, Debug, Default)]
pub struct History {
    /// Calibrations, sorted by the day for which they hold, then by number.
    pub calibrations: Vec<Entered<CalibrationEntry>>,
    /// Withdrawals, by number.
    pub withdrawals: Vec<Entered<Withdrawal>>,
    /// Events that count, by number.
    pub events: Vec<Entered<Event>>,
    /// Events that were withdrawn, by number.
    pub withdrawn_events: Vec<Entered<Event>>,
    /// Rules of the owner, by number. The last one holds.
    pub rules: Vec<Entered<RuleEntry>>,
    /// Quick checks that count, by number.
    pub checks: Vec<Entered<CheckEntry>>,
    /// Quick checks that were withdrawn, by number.
    pub withdrawn_checks: Vec<Entered<CheckEntry>>,
}

/// State of a calibration on a day.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum State {
    /// It is the one to use.
    InForce,
    /// A later one takes its place.
    Superseded,
    /// It was withdrawn.
    Withdrawn,
    /// It is the latest but no longer holds: too old, or the coils were changed since.
    Expired,
    /// It is issued on a later day.
    NotYet,
}

impl State {
    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Self::InForce => "in force",
            Self::Superseded => "superseded",
            Self::Withdrawn => "withdrawn",
            Self::Expired => "expired",
            Self::NotYet => "of a later day",
        }
    }
}

/// A state and why.
#[derive(Clone, Debug, PartialEq)]
pub struct Standing {
    /// The state.
    pub state: State,
    /// The cause.
    pub cause: StandingReason,
}

/// Why a calibration has its state.
#[derive(Clone, Debug, PartialEq)]
pub enum StandingReason {
    /// Nothing speaks against it.
    Latest,
    /// The calibration of this number is later.
    Later(u64),
    /// The certificate of the calibration is replaced.
    Reissued {
        /// Number of the calibration.
        replaced: u64,
        /// Number of the entry that replaces it.
        by: u64,
    },
    /// Withdrawn in this entry.
    Withdrawn(u64),
    /// It was due on this day.
    Due(Day),
    /// This event changed the coils.
    Changed(u64),
    /// The pair was adjusted before the calibration of this number, which does not count itself.
    Adjusted(u64),
    /// The day of its issue has not come.
    Day,
}

impl History {
    /// The history of the sound part of a register.
    ///
    /// # Errors
    /// An entry holds something that this version cannot read.
    pub fn of(chain: &Chain) -> Result<Self> {
        let mut history = Self::default();
        for entry in &chain.entries {
            history.add(entry)?;
        }
        history.calibrations.sort_by_key(|entered| (entered.said.day(), entered.number));
        history.part_withdrawn();
        Ok(history)
    }

    /// Parts the events and checks that count from those that are withdrawn.
    fn part_withdrawn(&mut self) {
        fn part<T>(count: &mut Vec<Entered<T>>, withdrawn: &mut Vec<Entered<T>>, numbers: &[u64]) {
            let mut all: Vec<Entered<T>> = count.drain(..).chain(withdrawn.drain(..)).collect();
            all.sort_by_key(|entered| entered.number);
            (*withdrawn, *count) = all.into_iter().partition(|entered| numbers.contains(&entered.number));
        }
        let numbers: Vec<u64> = self.withdrawals.iter().map(|entered| entered.said.withdraws).collect();
        part(&mut self.events, &mut self.withdrawn_events, &numbers);
        part(&mut self.checks, &mut self.withdrawn_checks, &numbers);
    }

    /// What was known on a day, by the days that the entries bear: no calibration before its day of issue, and no event, check,
    /// rule or withdrawal of a later day. A withdrawal without a day counts for every day.
    #[must_use]
    pub fn as_of(&self, on: Day) -> Self {
        let until = |number, date| self.day_at_least(number, date).is_none_or(|date| date <= on);
        let mut known = self.clone();
        known.withdrawals.retain(|entered| entered.said.date.is_none_or(|date| date <= on));
        known.part_withdrawn();
        known.calibrations.retain(|entered| entered.said.is_issued(on));
        known.events.retain(|entered| until(entered.number, entered.said.date));
        known.rules.retain(|entered| until(entered.number, entered.said.date));
        known.checks.retain(|entered| entered.said.date <= on);
        known
    }

    /// The history for whoever uses a line: a withdrawal counts for the days before it as well.
    #[must_use]
    pub(super) fn as_used(&self) -> Self {
        let mut used = self.clone();
        used.withdrawals.iter_mut().for_each(|entered| entered.said.date = None);
        used
    }

    /// What was known to whoever entered the entry of this number and day.
    #[must_use]
    pub(super) fn when_entered(&self, number: u64, on: Day) -> Self {
        let mut above = self.clone();
        above.withdrawals.retain(|entered| entered.said.date.is_some() || entered.number < number);
        above.part_withdrawn();
        above.as_of(on)
    }

    /// The day of an entry. An entry without a day takes its place in the register, not before the calibrations and
    /// checks above it.
    pub(super) fn day_at_least(&self, number: u64, date: Option<Day>) -> Option<Day> {
        let calibrations = self.calibrations.iter().map(|entered| (entered.number, entered.said.day()));
        let checks = self.checks.iter().map(|entered| (entered.number, entered.said.date));
        let above = calibrations.chain(checks).filter(|(above, _)| *above < number);
        date.or_else(|| above.map(|(_, day)| day).max())
    }

    /// The history with a calibration that is to be entered, and that calibration.
    pub(super) fn with(&self, number: u64, entry: &CalibrationEntry) -> (Self, Entered<CalibrationEntry>) {
        let mut history = self.clone();
        let entered = Entered { number, digest: Digest::NONE, said: entry.clone() };
        history.calibrations.push(entered.clone());
        history.calibrations.sort_by_key(|entered| (entered.said.day(), entered.number));
        (history, entered)
    }

    fn add(&mut self, entry: &Entry) -> Result<()> {
        fn entered<T>(entry: &Entry, said: T) -> Entered<T> {
            Entered { number: entry.number, digest: entry.digest, said }
        }
        match Statement::of(entry)? {
            Statement::Calibration(said) => self.calibrations.push(entered(entry, *said)),
            Statement::Withdrawal(said) => self.withdrawals.push(entered(entry, said)),
            Statement::Event(said) => self.events.push(entered(entry, said)),
            Statement::Rule(said) => self.rules.push(entered(entry, said)),
            Statement::Check(said) => self.checks.push(entered(entry, said)),
        }
        Ok(())
    }

    /// The events that count and those that were withdrawn, by number.
    pub(super) fn all_events(&self) -> Vec<Entered<Event>> {
        let mut all: Vec<_> = self.events.iter().chain(&self.withdrawn_events).cloned().collect();
        all.sort_by_key(|entered| entered.number);
        all
    }

    /// The quick checks that count and those that were withdrawn, by number.
    pub(super) fn all_checks(&self) -> Vec<Entered<CheckEntry>> {
        let mut all: Vec<_> = self.checks.iter().chain(&self.withdrawn_checks).cloned().collect();
        all.sort_by_key(|entered| entered.number);
        all
    }

    /// The calibration of this number.
    pub fn calibration(&self, number: u64) -> Option<&Entered<CalibrationEntry>> {
        self.calibrations.iter().find(|entered| entered.number == number)
    }

    /// The rule in force.
    pub fn rule(&self) -> Option<&RuleEntry> {
        self.last_rule().map(|entered| &entered.said)
    }

    /// The rule of the latest day, and of one day the one entered last.
    pub fn last_rule(&self) -> Option<&Entered<RuleEntry>> {
        self.rules.iter().max_by_key(|entered| self.day_of_rule(entered))
    }

    /// Day and number of a rule.
    pub fn day_of_rule(&self, rule: &Entered<RuleEntry>) -> (Option<Day>, u64) {
        (self.day_at_least(rule.number, rule.said.date), rule.number)
    }

    /// The day of the last entry with a day. Withdrawn entries do not count.
    pub fn last_day(&self) -> Option<Day> {
        self.last_dated().map(|(_, day)| day)
    }

    /// The entry of the last day, by its number. Withdrawn entries do not count.
    pub fn last_dated(&self) -> Option<(u64, Day)> {
        fn dated<T>(entered: &[Entered<T>], day: impl Fn(&T) -> Option<Day>) -> Vec<(u64, Day)> {
            entered.iter().filter_map(|one| Some((one.number, day(&one.said)?))).collect()
        }
        let calibrations = dated(&self.calibrations, |said| Some(said.date));
        let standing = calibrations.into_iter().filter(|(number, _)| self.withdrawal_of(*number).is_none());
        let others = [
            dated(&self.checks, |said| Some(said.date)),
            dated(&self.events, |said| said.date),
            dated(&self.withdrawals, |said| said.date),
            dated(&self.rules, |said| said.date),
        ];
        standing.chain(others.into_iter().flatten()).max_by_key(|(number, day)| (*day, *number))
    }

    /// The first calibration that is issued, or event that happens, on a later day, by its number.
    pub fn first_after(&self, on: Day) -> Option<(u64, Day)> {
        let calibrations = self.calibrations.iter().filter(|entered| self.counts(entered));
        let days = calibrations.map(|entered| (entered.number, entered.said.date));
        let events = self.events.iter().filter_map(|entered| Some((entered.number, entered.said.date?)));
        days.chain(events).filter(|(_, day)| *day > on).min_by_key(|(number, day)| (*day, *number))
    }

    /// The withdrawal of an entry, if there is one.
    pub fn withdrawal_of(&self, number: u64) -> Option<&Entered<Withdrawal>> {
        self.withdrawals.iter().find(|entered| entered.said.withdraws == number)
    }

    /// The calibration whose certificate replaces that of another, if there is one.
    pub(super) fn replacement_of(&self, replaced: &Entered<CalibrationEntry>) -> Option<u64> {
        let later = self.calibrations.iter().filter(|entered| entered.number > replaced.number);
        let replaces = |entered: &&Entered<CalibrationEntry>| {
            entered.said.replaces.as_deref().is_some_and(|number| replaced.said.has_certificate(number))
        };
        later.filter(replaces).map(|entered| entered.number).next()
    }

    /// Whether a calibration counts: neither withdrawn nor replaced by another evaluation of the same readings.
    pub fn counts(&self, calibration: &Entered<CalibrationEntry>) -> bool {
        self.withdrawal_of(calibration.number).is_none() && self.replacement_of(calibration).is_none()
    }

    /// Whether an event came after a calibration: on a later day, or the same day and entered later. An event without a
    /// day takes its place in the register, not before the calibrations and checks above it.
    pub(super) fn is_after(&self, event: &Entered<Event>, calibration: &Entered<CalibrationEntry>) -> bool {
        match self.day_at_least(event.number, event.said.date) {
            Some(date) => (date, event.number) > (calibration.said.day(), calibration.number),
            None => event.number > calibration.number,
        }
    }

    /// The events since a calibration, up to a day.
    pub fn events_since<'a>(
        &'a self,
        calibration: &'a Entered<CalibrationEntry>,
        on: Day,
    ) -> impl Iterator<Item = &'a Entered<Event>> {
        let until = move |event: &&Entered<Event>| {
            self.day_at_least(event.number, event.said.date).is_none_or(|date| date <= on)
        };
        self.events.iter().filter(|event| self.is_after(event, calibration)).filter(until)
    }

    /// The series of the calibrations that count. A new series begins at every event, at every adjustment, and when the
    /// specs name another meter.
    pub fn series(&self) -> Vec<Vec<&Entered<CalibrationEntry>>> {
        let mut series: Vec<Vec<&Entered<CalibrationEntry>>> = Vec::new();
        for calibration in self.calibrations.iter().filter(|entered| self.counts(entered)) {
            match series.last_mut() {
                Some(open) if self.continues(open, calibration) => open.push(calibration),
                _ => series.push(vec![calibration]),
            }
        }
        series
    }

    /// Whether nothing came between the last calibration of a series and this one.
    fn continues(&self, open: &[&Entered<CalibrationEntry>], after: &Entered<CalibrationEntry>) -> bool {
        let before = open[open.len() - 1];
        let named = |entered: &&&Entered<CalibrationEntry>| !entered.said.line.instruments.is_empty();
        let instruments: &[Instrument] =
            open.iter().rev().find(named).map_or(&[], |entered| &entered.said.line.instruments);
        after.said.condition == Condition::Found
            && self.between(before, after).next().is_none()
            && self.adjusted_since(before, after.said.day()).is_none_or(|number| number > after.number)
            && !meters_renewed(instruments, &after.said.line.instruments).iter().any(|meter| meter.is_another)
    }

    /// The first calibration as left after this one, up to a day, that does not count itself. Withdrawn or replaced, it
    /// still shows that the pair was adjusted.
    pub(super) fn adjusted_since(&self, calibration: &Entered<CalibrationEntry>, on: Day) -> Option<u64> {
        let is_after = |entered: &&Entered<CalibrationEntry>| {
            (entered.said.day(), entered.number) > (calibration.said.day(), calibration.number)
        };
        let left = |entered: &&Entered<CalibrationEntry>| {
            entered.said.condition == Condition::Left && entered.said.day() <= on && !self.counts(entered)
        };
        self.calibrations.iter().filter(is_after).find(left).map(|entered| entered.number)
    }

    /// The events between two calibrations, by number.
    pub fn between<'a>(
        &'a self,
        before: &'a Entered<CalibrationEntry>,
        after: &'a Entered<CalibrationEntry>,
    ) -> impl DoubleEndedIterator<Item = &'a Entered<Event>> {
        self.events.iter().filter(|event| self.is_after(event, before) && !self.is_after(event, after))
    }

    /// The state of every calibration on a day, in their order; `due` tells when one is due. A calibration takes part from its
    /// day of issue on, and so does a certificate that replaces another.
    pub fn standings(
        &self,
        on: Day,
        due: impl Fn(&Entered<CalibrationEntry>) -> Option<Day>,
    ) -> Vec<Standing> {
        let known = self.as_of(on);
        let latest =
            known.calibrations.iter().rfind(|entered| known.counts(entered)).map(|entered| entered.number);
        let standing = |entered: &Entered<CalibrationEntry>| {
            let (state, cause) = if let Some(withdrawal) = known.withdrawal_of(entered.number) {
                (State::Withdrawn, StandingReason::Withdrawn(withdrawal.number))
            } else if let Some(by) = known.replacement_of(entered) {
                (State::Superseded, StandingReason::Reissued { replaced: entered.number, by })
            } else if !entered.said.is_issued(on) {
                (State::NotYet, StandingReason::Day)
            } else if let Some(later) = latest.filter(|latest| *latest != entered.number) {
                (State::Superseded, StandingReason::Later(later))
            } else {
                known.of_latest(entered, on, due(entered))
            };
            Standing { state, cause }
        };
        self.calibrations.iter().map(standing).collect()
    }

    fn of_latest(
        &self,
        entered: &Entered<CalibrationEntry>,
        on: Day,
        due: Option<Day>,
    ) -> (State, StandingReason) {
        let changed = self.events_since(entered, on).find(|event| event.said.event.changes_slope());
        match (changed, self.adjusted_since(entered, on), due) {
            (Some(event), _, _) => (State::Expired, StandingReason::Changed(event.number)),
            (None, Some(number), _) => (State::Expired, StandingReason::Adjusted(number)),
            (None, None, Some(due)) if due < on => (State::Expired, StandingReason::Due(due)),
            _ => (State::InForce, StandingReason::Latest),
        }
    }

    /// The last calibration after this one, up to a day, that is withdrawn.
    pub(super) fn later_withdrawn(&self, calibration: &Entered<CalibrationEntry>, on: Day) -> Option<u64> {
        let key = |entered: &Entered<CalibrationEntry>| (entered.said.day(), entered.number);
        let later = |entered: &&Entered<CalibrationEntry>| {
            key(entered) > key(calibration)
                && entered.said.is_issued(on)
                && self.withdrawal_of(entered.number).is_some()
        };
        self.calibrations.iter().rfind(later).map(|entered| entered.number)
    }

    /// The event that ended the validity of a calibration's B0 by a day.
    pub fn intercept_ended_by<'a>(
        &'a self,
        calibration: &'a Entered<CalibrationEntry>,
        on: Day,
    ) -> Option<&'a Entered<Event>> {
        self.events_since(calibration, on).find(|event| event.said.event.changes_intercept())
    }

    /// Whether another meter came into use between two calibrations.
    pub fn other_meter_between(
        &self,
        before: &Entered<CalibrationEntry>,
        after: &Entered<CalibrationEntry>,
    ) -> bool {
        self.events.iter().any(|event| {
            event.said.event == EventKind::Meter
                && self.is_after(event, before)
                && !self.is_after(event, after)
        })
    }
}
