//! What speaks against a line, in words: a warning with its hint to whoever uses it, and a phrase where the line is named.

use super::checks::sees;
use super::steps::step_sentence;
use crate::questions::register::{FailedCheck, InForce, Reservation, reservations};
use crate::questions::words::notes::room_contradicted;

/// A warning, and what to do about it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Warning {
    /// What speaks against the line.
    pub warning: String,
    /// What to do.
    pub hint: &'static str,
}

/// What to tell whoever uses a line.
pub fn warning(of: &Reservation) -> Warning {
    let (warning, hint) = match of {
        Reservation::Disputed => (
            "this line was adopted in spite of a dispute about its readings".into(),
            "its certificate says what speaks against them; calibrate anew before anything rests on it",
        ),
        Reservation::NotInForce { entry, why } => (
            format!("entry {entry} of the register is used in spite of: {}", why.sentence()),
            "calibrate anew before anything rests on it",
        ),
        Reservation::LaterWithdrawn { entry, withdrawn } => (
            format!("entry {withdrawn}, later than entry {entry} which is used, is withdrawn"),
            "`register FILE` says why; see whether the earlier line may still be trusted",
        ),
        Reservation::ReplacedLater { entry, by } => (
            format!(
                "the certificate of entry {entry}, which is used, is replaced by that of entry {by}, issued later"
            ),
            "`register FILE` shows both; take the later line with a --date from its issue on",
        ),
        Reservation::Step(step) => (
            step_sentence(step),
            "the line in force rests on the geometry and hardly follows that; calibrate anew before anything rests on it",
        ),
        Reservation::FailedCheck(check) => failed_check(check),
        Reservation::CheckOffLine { entry, normalised_difference } => (
            format!(
                "the quick check of entry {entry} of the register is off the line in force, E_n = {normalised_difference:.1}"
            ),
            "find out which of the two is wrong before anything rests on the line",
        ),
        Reservation::InterceptEnded { elsewhere, room_stated } => {
            let why = match elsewhere {
                true => "belongs to another place or orientation than the spec states",
                false => "ended when the bench was moved, turned or changed",
            };
            match room_stated {
                true => (
                    format!("the calibration's B0 {why}: only its slope is used, and the spec's room field"),
                    "see that `room.field` is that of this place and orientation",
                ),
                false => (
                    format!("the calibration's B0 {why}: only its slope is used, and no room field is known"),
                    "measure the room's field anew, or take readings with the current reversed",
                ),
            }
        }
        Reservation::RoomContradicted(room) => (
            format!("{}: the spec's is used", room_contradicted(room)),
            "measure the field with the coils off, and correct the spec's `room.field` or calibrate anew",
        ),
        Reservation::OtherPair(other) => {
            (other.sentence(), "name the calibration of this pair in its present state, or correct the spec")
        }
    };
    Warning { warning, hint }
}

/// The spec's limits are for the pair as designed: a check that fails them may agree with the line, or not tell of it.
fn failed_check(check: &FailedCheck) -> (String, &'static str) {
    let FailedCheck { entry, date, line, .. } = check;
    let failed = format!("the pair failed the last quick check, entry {entry} of the register, on {date}");
    match line {
        Some(line) if line.agrees() => (
            format!("{failed}, against its spec; its field agrees with the line in force, {}", sees(line)),
            "the pair is not as its spec says, and nothing there speaks against the line: correct what differs, or the spec",
        ),
        Some(_) => (
            failed,
            "the line of its last calibration may no longer hold: calibrate anew before anything rests on it",
        ),
        None => (
            format!("{failed}, against its spec; no check since tells of the line in force"),
            "the line of its last calibration may no longer hold: measure the field, or calibrate anew before anything rests on it",
        ),
    }
}

/// Where the line of a register comes from, in a few words: `entry 3 of the register`.
pub fn origin(found: &InForce) -> String {
    let mut told: Vec<(u8, String)> =
        reservations(&found.line, Some(found)).iter().filter_map(phrase).collect();
    told.sort_by_key(|(place, _)| *place);
    let entry = format!("entry {} of the register", found.number);
    std::iter::once(entry).chain(told.into_iter().map(|(_, phrase)| phrase)).collect::<Vec<_>>().join(", ")
}

/// A reservation in a few words, and its place among others.
fn phrase(of: &Reservation) -> Option<(u8, String)> {
    Some(match of {
        Reservation::Disputed => (0, "adopted in spite of a dispute about its readings".into()),
        Reservation::InterceptEnded { elsewhere: true, .. } => {
            (1, "whose room field belongs to another place or orientation than the spec's".into())
        }
        Reservation::InterceptEnded { elsewhere: false, .. } => {
            (1, "whose room field ended when the bench was moved, turned or changed".into())
        }
        Reservation::Step(step) => (2, format!("whose readings are unlike those of entry {}", step.before)),
        Reservation::FailedCheck(FailedCheck { entry, date, line, .. }) => {
            let agrees = line.is_some_and(|line| line.agrees());
            let but = if agrees { " against its spec, while the field agrees with this line" } else { "" };
            (2, format!("though the pair failed the check of entry {entry} on {date}{but}"))
        }
        Reservation::CheckOffLine { entry, .. } => {
            (2, format!("though the check of entry {entry} is off it"))
        }
        Reservation::NotInForce { why, .. } => (3, format!("in spite of: {}", why.sentence())),
        Reservation::LaterWithdrawn { .. }
        | Reservation::ReplacedLater { .. }
        | Reservation::OtherPair(_)
        | Reservation::RoomContradicted(_) => return None,
    })
}
