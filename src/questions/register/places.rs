//! Place and orientation as the specs state them, against the events: B0 belongs to one place and one orientation.

use super::history::{Entered, History};
use super::statement::{CalibrationEntry, Event, EventKind};
use serde::Serialize;

/// What a spec states of the bench's standing.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Stated {
    /// Its place.
    Place,
    /// Its orientation.
    Orientation,
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

/// Against the last calibration before it that counts.
fn of(history: &History, entered: &Entered<CalibrationEntry>) -> Vec<PlaceContradiction> {
    let key = |it: &Entered<CalibrationEntry>| (it.said.day(), it.number);
    let is_before = |it: &&Entered<CalibrationEntry>| key(it) < key(entered) && history.counts(it);
    let Some(before) = history.calibrations.iter().rfind(is_before) else { return Vec::new() };
    let event = |counts: &[EventKind]| {
        let is_between = |event: &&Entered<Event>| {
            counts.contains(&event.said.event)
                && history.is_after(event, before)
                && !history.is_after(event, entered)
        };
        history.events.iter().rfind(is_between)
    };
    let found =
        |what: Stated, was: &Option<String>, is: &Option<String>, own: EventKind, any: &[EventKind]| {
            let (was, is) = (was.as_ref()?, is.as_ref()?);
            match (differ(Some(was), Some(is)), event(any), event(&[own])) {
                (true, None, _) => Some(PlaceContradiction::WithoutEvent {
                    entry: entered.number,
                    before: before.number,
                    what,
                    was: was.clone(),
                    is: is.clone(),
                }),
                (false, _, Some(event)) => Some(PlaceContradiction::InSpiteOfEvent {
                    entry: entered.number,
                    event: event.number,
                    kind: own,
                    what,
                    is: is.clone(),
                }),
                _ => None,
            }
        };
    let (was, is) = (&before.said, &entered.said);
    // A bench that is moved may be turned on the way.
    let turned = [EventKind::Turned, EventKind::Moved];
    let place = found(Stated::Place, &was.place, &is.place, EventKind::Moved, &[EventKind::Moved]);
    let orientation =
        found(Stated::Orientation, &was.orientation, &is.orientation, EventKind::Turned, &turned);
    place.into_iter().chain(orientation).collect()
}
