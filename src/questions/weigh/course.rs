//! The course of a judgement: runs found misread are left out, and the others are judged afresh.
//!
//! A verdict on the others then never depends on a fit that includes a misread run. If no single fault explains the
//! runs, several misread ones are sought together (see [`super::several`]), because each hides the others from a search
//! for one.

use super::Request;
use super::finding::Conclusion;
use super::fit::fit;
use super::hypotheses::Hypothesis;
use super::judge::{CLAIMED, Judged, LEVEL_SHOWS, judged};
use super::outcome::{Reduced, reduce};
use super::prepared::Prepared;
use super::record::Evaluation;
use super::room::KnownRoom;
use super::several::{Misread, several};
use super::shift::Shift;
use crate::Result;
use crate::judgement::Class;
use crate::physics::beam::BeamBench;

/// The whole course: the runs found misread, the remaining runs, and the judgement of those.
pub(super) struct Course {
    pub misread: Vec<Misread>,
    pub kept: Vec<usize>,
    pub last: Judged,
    /// Runs that may be misread together, less probably than not, with the result without them.
    pub perhaps: Option<(Vec<Misread>, Reduced)>,
    /// The result without the runs found misread, and without those that may be misread or else all runs are off.
    pub without_suspects: Option<Reduced>,
    /// How far the e/m that is printed last is off, in its standard uncertainties.
    deviation: f64,
}

impl Course {
    /// The classes to name for the runs that are kept, most probable first.
    pub(super) fn named(&self) -> impl Iterator<Item = &Class<Hypothesis>> {
        self.last.named(self.deviation)
    }

    /// Whether e/m is far enough off for that to be said.
    pub(super) fn level_shows(&self) -> bool {
        self.deviation.abs() >= LEVEL_SHOWS
    }

    /// The conclusion.
    pub(crate) fn conclusion(&self) -> Conclusion {
        let last = &self.last;
        match self.named().next() {
            Some(class) if class.probability >= CLAIMED => Conclusion::MostLikely,
            _ if !self.misread.is_empty() => Conclusion::MostLikely,
            _ if last.is_unexplained() || last.is_no_chance() => Conclusion::Unexplained,
            Some(_) if last.judgement.none < CLAIMED => Conclusion::CannotTell,
            Some(_) => Conclusion::Perhaps,
            None if self.perhaps.is_some() => Conclusion::Perhaps,
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
    all: &Evaluation,
) -> Result<Course> {
    let mut kept: Vec<usize> = (0..prepared.len()).collect();
    let (mut misread, mut perhaps) = (Vec::new(), None);
    let mut last = judged(beams, prepared, room, request)?;
    while 3 * (misread.len() + 1) <= prepared.len() {
        let found: Vec<Misread> = match last.claimed_run() {
            Some((place, class)) => vec![Misread { class: class.clone(), place: kept[place] }],
            None if last.is_scattered() => {
                let most = prepared.len() / 3 - misread.len();
                let (probability, found) = several(&kept, most, &last, prepared, room, |kept| {
                    judged(beams, &prepared.keeping(kept), room, request)
                })?;
                if !found.is_empty() && probability < CLAIMED {
                    perhaps = Some(found);
                    break;
                }
                found
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
    let suspects: Vec<usize> = last.claimed_with_a_run().map(|(place, _)| kept[place]).collect();
    let unsuspected: Vec<usize> = kept.iter().copied().filter(|place| !suspects.contains(place)).collect();
    let without = |some: &[usize]| reduce(beams, &prepared.keeping(some), room, request);
    // Without the suspects the rest may not suffice to separate the room's field from e/m.
    let without_suspects = match (unsuspected.len() < prepared.len(), misread.is_empty()) {
        (false, _) => None,
        (true, true) => without(&unsuspected).ok(),
        (true, false) => Some(without(&unsuspected).or_else(|_| without(&kept))?),
    };
    let printed = without_suspects.as_ref().map_or(all, |without| &without.outcome);
    let deviation = printed.difference_in_standard_uncertainties.unwrap_or(0.0);
    let perhaps = perhaps.and_then(|perhaps: Vec<Misread>| {
        let is_left = |place: &usize| perhaps.iter().all(|one| one.place != *place);
        let left: Vec<usize> = kept.iter().copied().filter(is_left).collect();
        without(&left).ok().map(|reduced| (perhaps, reduced))
    });
    Ok(Course { misread, kept, last, perhaps, without_suspects, deviation })
}
