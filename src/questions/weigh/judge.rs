//! Which fault, if any, the runs point to.
//!
//! Every hypothesis is weighed under states of affairs that exclude each other: e/m as accepted, within what all runs
//! share, or off by more (then the runs are compared among themselves alone); and, where the runs find the room's field
//! and nothing states it, no field or some. A run that is found misread is left out, and the others are judged afresh: no
//! verdict on them rests on a fit that holds it.

use super::Request;
use super::finding::{Conclusion, Visible};
use super::fit::fit;
use super::hypotheses::Hypothesis;
use super::prepared::Prepared;
use super::room::KnownRoom;
use super::scene::{Scene, State};
use super::shift::Shift;
use crate::judgement::{
    Class, Detectable, Evidence, Fault, Judgement, Member, judge, ln_sum, priors, weigh_faults,
};
use crate::physics::beam::BeamBench;
use crate::{Error, Result};

/// A fault among the runs is claimed from this probability on.
pub(super) const CLAIMED: f64 = 0.5;
/// An e/m that is off is claimed from this probability on: what all runs share is never stated in full.
const LEVEL_CLAIMED: f64 = 0.5;
/// A fault among the runs is named, be it as a mere perhaps, where it has at least this part of the probability that it and
/// no fault among the runs have together: one run among many, whose prior is shared, from the first part on, what acts on
/// all from the second. They are set by the simulation: sound classes have a finding in less than one in twenty, faults of
/// five standard uncertainties nearly always.
const RUN_NAMED_FROM: f64 = 0.10;
const NAMED_FROM: f64 = 0.2;
/// What is less probable than this is not named beside a claim.
const NAMED: f64 = 0.05;

/// The judgement of one set of runs.
pub(super) struct Judged {
    /// Faults among the runs and what they share, by what these runs can tell apart. That e/m is off does not exclude a
    /// fault among the runs: its probability counts both.
    pub judgement: Judgement<Hypothesis>,
    /// Probability that e/m is off and nothing else.
    level_alone: f64,
    /// Probability that there is a room field that nobody stated; none where one is stated, or the runs cannot tell.
    pub room_found: Option<f64>,
    /// What would have been found.
    pub visible: Vec<Visible>,
}

/// One run found misread, by its place among those judged.
pub(super) struct Misread {
    pub class: Class<Hypothesis>,
    /// Its place among all runs.
    pub place: usize,
}

/// The whole course: runs found misread, what is left, and the judgement of that.
pub(super) struct Course {
    pub misread: Vec<Misread>,
    pub kept: Vec<usize>,
    pub last: Judged,
}

impl Judged {
    /// The classes worth naming, most probable first; none where none is to be spoken of.
    pub(super) fn named(&self) -> impl Iterator<Item = &Class<Hypothesis>> {
        let among_runs = |class: &Class<Hypothesis>| {
            let nothing = self.judgement.none + self.level_alone;
            let one_run = matches!(class.first().cause, Hypothesis::MisreadRun(_));
            let from = if one_run { RUN_NAMED_FROM } else { NAMED_FROM };
            !class.contains(&Hypothesis::Level)
                && class.probability >= NAMED
                && class.probability >= from * (class.probability + nothing)
        };
        let spoken = self.judgement.classes.iter().any(among_runs);
        self.judgement.classes.iter().filter(move |class| {
            let level = class.contains(&Hypothesis::Level);
            let off = class.probability >= LEVEL_CLAIMED || (spoken && self.level_alone >= NAMED);
            (level && off) || among_runs(class)
        })
    }

    /// The run that is claimed to be misread, if one is.
    fn claimed_run(&self) -> Option<(usize, &Class<Hypothesis>)> {
        let claimed = self.judgement.classes.iter().filter(|class| class.probability >= CLAIMED);
        claimed.into_iter().find_map(|class| match class.members[..] {
            [Member { cause: Hypothesis::MisreadRun(place), .. }] => Some((place, class)),
            _ => None,
        })
    }
}

impl Course {
    /// What may be said in one word.
    pub(crate) fn conclusion(&self) -> Conclusion {
        let last = &self.last;
        match last.named().next() {
            Some(class) if class.probability >= CLAIMED => Conclusion::MostLikely,
            _ if !self.misread.is_empty() => Conclusion::MostLikely,
            Some(_) if last.judgement.none < CLAIMED => Conclusion::CannotTell,
            Some(_) => Conclusion::Perhaps,
            None => Conclusion::NothingFound,
        }
    }
}

/// Judges the runs, leaving out one found misread after the other, a third of them at most.
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
        let Some((place, class)) = last.claimed_run() else { break };
        let class = class.clone();
        let others: Vec<usize> = kept.iter().copied().filter(|i| *i != kept[place]).collect();
        let rest = prepared.keeping(&others);
        let fits = fit(&rest.points(&Shift::none())?, room.in_fit());
        // Without it nothing may be left to part the room's field from e/m.
        if fits.is_err() {
            break;
        }
        misread.push(Misread { class, place: kept[place] });
        kept = others;
        last = judged(beams, &rest, room, request)?;
    }
    Ok(Course { misread, kept, last })
}

/// One set of runs, weighed under every state.
fn judged(
    beams: &BeamBench<'_>,
    prepared: &Prepared<'_>,
    room: &KnownRoom,
    request: &Request,
) -> Result<Judged> {
    let points = prepared.points(&Shift::none())?;
    let scene = Scene { beams, prepared, points, room, request };
    let states = scene.states()?;
    let open = &states[states.len() - 1];
    // First through small sizes, then through the best ones: voltage, current and room act a little bent.
    let rough = weigh_faults(&scene.data(open)?, &scene.faults(open.about, None))?;
    let through: Vec<f64> = rough.faults.iter().map(|found| found.size).collect();
    let mut weighed = Vec::new();
    for state in &states {
        let mut faults = scene.faults(state.about, Some(&through));
        faults.push(Hypothesis::level_fault(&scene.points, state.about));
        weighed.push((state.ln_weight, weigh_faults(&scene.data(state)?, &faults)?));
    }
    let under = |level_off: bool| -> Result<Evidence> {
        let some = states.iter().zip(&weighed).filter(|(state, _)| state.level_off == level_off);
        Evidence::of_states(some.map(|(_, one)| one.clone()).collect())
            .ok_or_else(|| Error::value("no state of affairs was weighed"))
    };
    let (ok, off) = (under(false)?, under(true)?);
    let mut list = scene.faults(open.about, Some(&through));
    let visible = visible(&Detectable::of(&scene.data(open)?, &list)?);
    let room_found = scene.finds_room().then(|| room_share(&states, &weighed, &list));
    let sound = 1.0 - list.iter().map(Fault::prior_of_one).sum::<f64>();
    list.push(Hypothesis::level_fault(&scene.points, open.about));
    if let Some(level) = list.last_mut() {
        level.prior = priors::SHARED_ERROR * sound;
    }
    let mut judgement = judge(&list, &joined(&ok, &off)?)?;
    let level_alone = count_both(&mut judgement, &ok, &off);
    Ok(Judged { judgement, level_alone, room_found, visible })
}

/// Adds to the probability that e/m is off the cases in which there is a fault among the runs as well; gives what it was.
fn count_both(judgement: &mut Judgement<Hypothesis>, ok: &Evidence, off: &Evidence) -> f64 {
    let of_level = |class: &Class<Hypothesis>| class.contains(&Hypothesis::Level);
    let both: f64 = judgement
        .classes
        .iter()
        .filter(|class| !of_level(class))
        .map(|class| {
            let fault = class.first().fault;
            let [ok, off] = level_weights(ok.faults[fault].ln_evidence, off.faults[fault].ln_evidence);
            class.probability * (off - ln_sum([ok, off].into_iter())).exp()
        })
        .sum();
    let Some(level) = judgement.classes.iter_mut().find(|class| of_level(class)) else { return 0.0 };
    let alone = level.probability;
    level.probability = (alone + both).min(1.0);
    judgement.classes.sort_by(|a, b| b.probability.total_cmp(&a.probability));
    alone
}

/// ln of the two, weighted by the priors of an e/m that is within what the runs share and one that is off.
fn level_weights(ok: f64, off: f64) -> [f64; 2] {
    [(1.0 - priors::SHARED_ERROR).ln() + ok, priors::SHARED_ERROR.ln() + off]
}

/// The evidence for each fault with e/m as accepted or off, for none with e/m as accepted, and for an e/m that is off,
/// the last of the faults, with no other.
fn joined(ok: &Evidence, off: &Evidence) -> Result<Evidence> {
    let [ln_ok, ln_off] = level_weights(0.0, 0.0);
    let mut both = Evidence::of_states(vec![(ln_ok, ok.clone()), (ln_off, off.clone())])
        .ok_or_else(|| Error::value("no state of affairs was weighed"))?;
    both.none = ok.none;
    if let (Some(last), Some(level)) = (both.faults.last_mut(), ok.faults.last()) {
        // With e/m free its effect is gone; its size and signature are those against the accepted e/m.
        *last = level.clone().with_ln_evidence(off.none);
    }
    Ok(both)
}

/// Probability of the states with a room field that nobody stated.
fn room_share(states: &[State], weighed: &[(f64, Evidence)], list: &[Fault<'_, Hypothesis>]) -> f64 {
    let of = |wanted: fn(&State) -> bool| {
        let some = states.iter().zip(weighed).filter(|(state, _)| wanted(state));
        let terms: Vec<f64> = some
            .map(|(state, (weight, one))| {
                let [ok, off] = level_weights(0.0, 0.0);
                weight + one.total(list) + if state.level_off { off } else { ok }
            })
            .collect();
        ln_sum(terms.into_iter())
    };
    (of(|state| state.room_found) - of(|_| true)).exp()
}

/// What would have been found, each kind once; of the runs the one that shows least.
fn visible(detectable: &[Detectable<Hypothesis>]) -> Vec<Visible> {
    let mut all: Vec<Visible> = Vec::new();
    for found in detectable {
        let (cause, _, unit) = found.cause.described();
        let size = Some(found.size).filter(|size| *size <= found.cause.largest());
        match all.iter_mut().find(|known| known.cause == cause) {
            // None is the worst.
            Some(known) => known.size = known.size.zip(size).map(|(one, other)| one.max(other)),
            None => all.push(Visible { cause, size, unit }),
        }
    }
    all
}
