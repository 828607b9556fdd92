//! What speaks against a line that is used all the same.

use super::checks::FailedCheck;
use super::in_force::InForce;
use super::reason::NotInForce;
use super::step::Step;
use crate::pair::Bench;
use crate::physics::beam::RoomContradiction;
use crate::questions::calibrate::{AdoptedLine, NotThisPair, not_of_this_pair};

/// One thing that speaks against a line.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum Reservation {
    /// It was adopted in spite of a dispute about its readings.
    Disputed,
    /// It is not in force.
    NotInForce {
        /// Number of its entry.
        entry: u64,
        /// Why.
        why: NotInForce,
    },
    /// A later calibration is withdrawn, so that this one holds again.
    LaterWithdrawn {
        /// Number of its entry.
        entry: u64,
        /// Number of the later one.
        withdrawn: u64,
    },
    /// Its certificate is replaced after the day of use.
    ReplacedLater {
        /// Number of its entry.
        entry: u64,
        /// Number of the entry that replaces it.
        by: u64,
    },
    /// Its readings are unlike those before, and it hides that.
    Step(Step),
    /// The pair failed the last quick check against its spec.
    FailedCheck(FailedCheck),
    /// The last quick check of the field is off it.
    CheckOffLine {
        /// Number of the check's entry.
        entry: u64,
        /// E_n.
        normalised_difference: f64,
    },
    /// Its B0 no longer holds.
    InterceptEnded {
        /// Whether the spec in use states another place or orientation; else the bench was moved, turned or changed.
        elsewhere: bool,
        /// Whether the spec in use states the room's field.
        room_stated: bool,
    },
    /// Its slope is not that of the spec's pair.
    OtherPair(NotThisPair),
    /// Its calibration contradicts the room's field of the spec.
    RoomContradicted(RoomContradiction),
}

/// What speaks against a line by itself, and by its place in a register where it comes from one.
pub fn reservations(line: &AdoptedLine, found: Option<&InForce>) -> Vec<Reservation> {
    let disputed = line.in_dispute.then_some(Reservation::Disputed);
    disputed.into_iter().chain(found.into_iter().flat_map(in_register)).collect()
}

/// That a line is not that of the spec's pair.
pub fn of_another_pair(bench: &Bench, line: &AdoptedLine) -> Option<Reservation> {
    not_of_this_pair(bench, line).ok().flatten().map(Reservation::OtherPair)
}

/// That the calibration of a line contradicts the room's field of the spec, which is used all the same.
pub fn of_another_room(bench: &Bench, line: &AdoptedLine) -> Option<Reservation> {
    RoomContradiction::of(bench, line.room_found()).map(Reservation::RoomContradicted)
}

/// What the register says against the line that is taken from it.
fn in_register(found: &InForce) -> Vec<Reservation> {
    let entry = found.number;
    let not_in_force = found.in_spite_of.clone().map(|why| Reservation::NotInForce { entry, why });
    let withdrawn = found.later_withdrawn.map(|withdrawn| Reservation::LaterWithdrawn { entry, withdrawn });
    let replaced = found.replaced_later.map(|by| Reservation::ReplacedLater { entry, by });
    let failed = found.failed_check.map(Reservation::FailedCheck);
    let off = found
        .check_off_line
        .map(|(entry, normalised_difference)| Reservation::CheckOffLine { entry, normalised_difference });
    let (elsewhere, room_stated) = (found.elsewhere, found.room_stated);
    let ended = found.intercept_ended.then_some(Reservation::InterceptEnded { elsewhere, room_stated });
    let step = found.step.map(Reservation::Step);
    [not_in_force, withdrawn, replaced, step, failed, off, ended].into_iter().flatten().collect()
}
