//! Place, orientation and instruments as the specs state them, against the events: B0 belongs to one place and one orientation,
//! and a certificate names the instruments.

use super::history::{Entered, History};
use super::statement::{CalibrationEntry, Event, EventKind};
use crate::numeric::calendar::Day;
use crate::pair::Instrument;
use serde::Serialize;

/// What a spec states of the bench and its meters.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Stated {
    /// Its place.
    Place,
    /// Its orientation.
    Orientation,
    /// The instruments.
    Instruments,
}

impl Stated {
    /// The event that changes it.
    fn own_event(self) -> EventKind {
        match self {
            Self::Place => EventKind::Moved,
            Self::Orientation => EventKind::Turned,
            Self::Instruments => EventKind::Meter,
        }
    }

    /// The events with which it may change.
    fn may_change_by(self, event: EventKind) -> bool {
        // A bench that is moved may be turned on the way.
        event == self.own_event() || (self == Self::Orientation && event == EventKind::Moved)
    }

    /// As a calibration states it.
    fn of(self, said: &CalibrationEntry) -> Option<String> {
        match self {
            Self::Place => said.place.clone(),
            Self::Orientation => said.orientation.clone(),
            Self::Instruments => instruments(said),
        }
    }
}

/// The instruments of a calibration in one line; `None` if it states none.
fn instruments(said: &CalibrationEntry) -> Option<String> {
    let one = |it: &Instrument| match &it.serial {
        Some(serial) => format!("{} {serial}", it.name),
        None => it.name.clone(),
    };
    let all: Vec<String> = said.line.instruments.iter().map(one).collect();
    (!all.is_empty()).then(|| all.join(", "))
}

/// A statement of two specs that does not agree with the events between their calibrations.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(tag = "how", rename_all = "snake_case")]
#[non_exhaustive]
pub enum PlaceContradiction {
    /// Another one is stated, and no event says so.
    WithoutEvent {
        /// Number of the later calibration.
        entry: u64,
        /// Number of the one before.
        before: u64,
        /// What differs.
        what: Stated,
        /// As stated before.
        was: String,
        /// As stated since.
        is: String,
    },
    /// An event says so, and the same one is stated as before it.
    InSpiteOfEvent {
        /// Number of the later calibration.
        entry: u64,
        /// Number of the event.
        event: u64,
        /// What happened.
        kind: EventKind,
        /// What did not change.
        what: Stated,
        /// As stated.
        is: String,
    },
}

/// Whether two statements differ; `false` if either is missing.
pub(super) fn differ(before: Option<&String>, now: Option<&String>) -> bool {
    let folded = |text: &String| text.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase();
    before.zip(now).is_some_and(|(before, now)| folded(before) != folded(now))
}

/// What a calibration that is to be entered contradicts.
pub fn place_contradictions(
    history: &History,
    number: u64,
    entry: &CalibrationEntry,
) -> Vec<PlaceContradiction> {
    let (history, entered) = history.with(number, entry);
    of(&history, &entered)
}

/// Those of all calibrations that count.
pub(super) fn all(history: &History) -> Vec<PlaceContradiction> {
    history.calibrations.iter().filter(|it| history.counts(it)).flat_map(|it| of(history, it)).collect()
}

fn of(history: &History, entered: &Entered<CalibrationEntry>) -> Vec<PlaceContradiction> {
    let of = |what| in_spite(history, entered, what).or_else(|| without_event(history, entered, what));
    [Stated::Place, Stated::Orientation, Stated::Instruments].into_iter().filter_map(of).collect()
}

/// An event before a calibration that states what was so before the event, whether other calibrations lie between or not.
fn in_spite(
    history: &History,
    entered: &Entered<CalibrationEntry>,
    what: Stated,
) -> Option<PlaceContradiction> {
    let is = what.of(&entered.said)?;
    let own = history.events.iter().filter(|event| event.said.event == what.own_event());
    let event =
        own.filter(|event| !history.is_after(event, entered)).max_by_key(|event| day(history, event))?;
    let before = last(history, what, |it| history.is_after(event, it))?;
    let others = history.between(before, entered).filter(|other| other.number != event.number);
    let goes_back = others
        .filter(|other| day(history, other) < day(history, event))
        .any(|other| what.may_change_by(other.said.event));
    // What was wrong before the event may have become right by it.
    let contradicts = !differ(what.of(&before.said).as_ref(), Some(&is))
        && !goes_back
        && in_spite(history, before, what).is_none();
    contradicts.then_some(PlaceContradiction::InSpiteOfEvent {
        entry: entered.number,
        event: event.number,
        kind: event.said.event,
        what,
        is,
    })
}

/// Another place or orientation than that of the calibration before, without an event. Another instrument needs none.
fn without_event(
    history: &History,
    entered: &Entered<CalibrationEntry>,
    what: Stated,
) -> Option<PlaceContradiction> {
    let is = what.of(&entered.said).filter(|_| what != Stated::Instruments)?;
    let key = |it: &Entered<CalibrationEntry>| (it.said.day(), it.number);
    let before = last(history, what, |it| key(it) < key(entered))?;
    let was = what.of(&before.said)?;
    let mut events = history.between(before, entered);
    // What an event contradicts there is put right here.
    let contradicts = differ(Some(&was), Some(&is))
        && !events.any(|event| what.may_change_by(event.said.event))
        && in_spite(history, before, what).is_none();
    contradicts.then_some(PlaceContradiction::WithoutEvent {
        entry: entered.number,
        before: before.number,
        what,
        was,
        is,
    })
}

/// The last calibration of these that counts and states this.
fn last(
    history: &History,
    what: Stated,
    of: impl Fn(&Entered<CalibrationEntry>) -> bool,
) -> Option<&Entered<CalibrationEntry>> {
    let says = |it: &&Entered<CalibrationEntry>| history.counts(it) && of(it) && what.of(&it.said).is_some();
    history.calibrations.iter().rfind(says)
}

/// Day and number of an event.
fn day(history: &History, event: &Entered<Event>) -> (Option<Day>, u64) {
    (history.day_at_least(event.number, event.said.date), event.number)
}
