//! The course of a judgement: runs found misread are left out, and the others are judged afresh.
//!
//! A verdict on the others then never depends on a fit that includes a misread run. If no single fault explains the
//! runs, several misread ones are sought together (see [`super::several`]), because each hides the others from a search
//! for one.

use super::Request;
use super::finding::Conclusion;
use super::fit::fit;
use super::judge::{CLAIMED, Judged, judged};
use super::prepared::Prepared;
use super::room::KnownRoom;
use super::several::{Misread, several};
use super::shift::Shift;
use crate::Result;
use crate::physics::beam::BeamBench;

/// The whole course: the runs found misread, the remaining runs, and the judgement of those.
pub(super) struct Course {
    pub misread: Vec<Misread>,
    pub kept: Vec<usize>,
    pub last: Judged,
}

impl Course {
    /// The conclusion.
    pub(crate) fn conclusion(&self) -> Conclusion {
        let last = &self.last;
        match last.named().next() {
            Some(class) if class.probability >= CLAIMED => Conclusion::MostLikely,
            _ if !self.misread.is_empty() => Conclusion::MostLikely,
            _ if last.is_unexplained() || last.is_no_chance() => Conclusion::Unexplained,
            Some(_) if last.judgement.none < CLAIMED => Conclusion::CannotTell,
            Some(_) => Conclusion::Perhaps,
            None => Conclusion::NothingFound,
        }
    }
}

/// Judges the runs. Leaves out those found misread one after the other, at most a third.
pub(super) fn course(
    beams: &BeamBench<'_>,
    prepared: &Prepared<'_>,
    room: &KnownRoom,
    request: &Request,
) -> Result<Course> {
    let mut kept: Vec<usize> = (0..prepared.len()).collect();
    let mut misread = Vec::new();
    let mut last = judged(beams, prepared, room, request)?;
    while 3 * (misread.len() + 1) <= prepared.len() {
        let found: Vec<Misread> = match last.claimed_run() {
            Some((place, class)) => vec![Misread { class: class.clone(), place: kept[place] }],
            None if last.is_unexplained() => {
                several(&kept, prepared.len() / 3 - misread.len(), &last, prepared, room, |kept| {
                    judged(beams, &prepared.keeping(kept), room, request)
                })?
            }
            None => break,
        };
        let others: Vec<usize> =
            kept.iter().copied().filter(|i| found.iter().all(|one| one.place != *i)).collect();
        let rest = prepared.keeping(&others);
        // Without these runs the rest may not suffice to separate the room's field from e/m.
        if found.is_empty() || fit(&rest.points(&Shift::none())?, room.in_fit()).is_err() {
            break;
        }
        misread.extend(found);
        kept = others;
        last = judged(beams, &rest, room, request)?;
    }
    Ok(Course { misread, kept, last })
}
