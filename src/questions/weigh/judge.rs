//! Judges which fault, if any, explains the runs.
//!
//! Every hypothesis is weighed in states that exclude each other. Either e/m agrees with the accepted value within the
//! errors that all runs share, or it is off by more, and then the runs are compared only among themselves. If the runs
//! determine a room field that nothing states, each of these is split into "no field" and "some field".

use super::Request;
use super::finding::Visible;
use super::hypotheses::Hypothesis;
use super::prepared::Prepared;
use super::record::RunUncertainty;
use super::room::KnownRoom;
use super::scene::{Scene, State};
use super::shift::Shift;
use crate::judgement::agreement::birge;
use crate::judgement::{
    Class, Detectable, Evidence, Fault, Judgement, Member, judge, left_unexplained, ln_sum, priors,
    weigh_faults,
};
use crate::physics::beam::BeamBench;
use crate::{Error, Result};

/// A fault among the runs is claimed from this probability.
pub(super) const CLAIMED: f64 = 0.5;
/// An e/m that is off is claimed from this probability. The errors that all runs share are never stated completely.
const LEVEL_CLAIMED: f64 = 0.5;
/// A fault among the runs is named, if only as a possibility, from this share of its own probability plus that of no
/// fault among the runs. The first threshold holds for one misread run, whose prior is shared by all runs, the second
/// for faults that act on all runs. Both are set by simulation: fewer than one sound class in twenty has a finding, and
/// faults of five standard uncertainties nearly always have one.
pub(super) const RUN_NAMED_FROM: f64 = 0.10;
const NAMED_FROM: f64 = 0.2;
/// An e/m that is off is named from this many standard uncertainties, as they are printed: below it the probability is the
/// prior's, not the runs'.
pub(super) const LEVEL_SHOWS: f64 = 1.5;
/// Scatter less probable than this under every hypothesis contradicts the stated uncertainties.
const UNEXPLAINED: f64 = 1e-3;
/// Runs that scatter less probably than this without any fault are searched for several misread ones.
const SCATTERED: f64 = 0.05;
/// Faults less probable than this are not named.
const NAMED: f64 = 0.05;

/// The judgement of one set of runs.
pub(super) struct Judged {
    /// The faults among the runs and those they share, in classes that these runs can tell apart. An e/m that is off
    /// does not exclude a fault among the runs; its probability includes the cases with both.
    pub judgement: Judgement<Hypothesis>,
    /// Probability that e/m is off and there is no fault among the runs.
    level_alone: f64,
    /// Probability of an unstated room field; `None` if one is stated, or the runs cannot tell.
    pub room_found: Option<f64>,
    /// The sizes of fault that would have been found.
    pub visible: Vec<Visible>,
    /// ln p(runs) over all hypotheses, without the powers of 2π.
    pub ln_total: f64,
    /// Probability of a chi-square as large as the best single fault leaves, if the stated uncertainties are right; `None`
    /// if they are estimated from the scatter.
    pub best_fit_probability: Option<f64>,
    /// Probability of a chi-square as large as the runs leave without any fault.
    pub sound_probability: Option<f64>,
}

impl Judged {
    /// Whether without any fault the runs scatter more than the stated uncertainties allow.
    pub(super) fn is_no_chance(&self) -> bool {
        self.sound_probability.is_some_and(|probability| probability < UNEXPLAINED)
    }

    /// Whether even the best single fault leaves more scatter than the stated uncertainties allow.
    pub(super) fn is_unexplained(&self) -> bool {
        self.best_fit_probability.is_some_and(|probability| probability < UNEXPLAINED)
    }

    /// Whether several of the runs may be misread, each hiding the others.
    pub(super) fn is_scattered(&self) -> bool {
        self.is_unexplained() || self.sound_probability.is_some_and(|probability| probability < SCATTERED)
    }

    /// The classes to name, most probable first; `deviation` is how far e/m is off, in standard uncertainties.
    pub(super) fn named(&self, deviation: f64) -> impl Iterator<Item = &Class<Hypothesis>> {
        let among_runs = |class: &Class<Hypothesis>| {
            let nothing = self.judgement.none + self.level_alone;
            let one_run = matches!(class.first().cause, Hypothesis::MisreadRun(_));
            let from = if one_run { RUN_NAMED_FROM } else { NAMED_FROM };
            !class.contains(&Hypothesis::Level)
                && class.probability >= NAMED
                && class.probability >= from * (class.probability + nothing)
        };
        let spoken = self.judgement.classes.iter().any(among_runs);
        let shows = deviation.abs() >= LEVEL_SHOWS;
        self.judgement.classes.iter().filter(move |class| {
            let level = class.contains(&Hypothesis::Level);
            let off = class.probability >= LEVEL_CLAIMED || (spoken && self.level_alone >= NAMED);
            (level && off && (shows || only_run(class).is_some())) || among_runs(class)
        })
    }

    /// The run claimed to be misread, if there is one: nothing else in its class has a possible size.
    pub(super) fn claimed_run(&self) -> Option<(usize, &Class<Hypothesis>)> {
        let is_run = |member: &Member<Hypothesis>| matches!(member.cause, Hypothesis::MisreadRun(_));
        self.claimed_with_a_run()
            .find(|(_, class)| class.members.iter().all(|member| is_run(member) || !member.possible))
    }

    /// The classes claimed that hold one run, each with it.
    pub(super) fn claimed_with_a_run(&self) -> impl Iterator<Item = (usize, &Class<Hypothesis>)> {
        let claimed = self.judgement.classes.iter().filter(|class| class.probability >= CLAIMED);
        claimed.filter_map(|class| only_run(class).map(|place| (place, class)))
    }
}

/// The run of a class that holds a single one, misread by a possible size.
pub(super) fn only_run(class: &Class<Hypothesis>) -> Option<usize> {
    let mut runs = class.members.iter().filter_map(|member| match member.cause {
        Hypothesis::MisreadRun(place) => Some(place).filter(|_| member.possible),
        _ => None,
    });
    runs.next().filter(|_| runs.next().is_none())
}

/// One set of runs, judged over all states.
pub(super) fn judged(
    beams: &BeamBench<'_>,
    prepared: &Prepared<'_>,
    room: &KnownRoom,
    request: &Request,
) -> Result<Judged> {
    let points = prepared.points(&Shift::none())?;
    let scene = Scene { beams, prepared, points, room, request };
    let states = scene.states()?;
    let open = &states[states.len() - 1];
    // Small sizes first, then the best sizes found: the effects of voltage, current and room are slightly curved.
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
    let [best_fit_probability, sound_probability] = match prepared.uncertainty {
        RunUncertainty::Stated => [
            Some(best_fit_probability(&scene, &states, &list)?),
            Some(best_fit_probability(&scene, &states, &[])?),
        ],
        RunUncertainty::Scatter => [None, None],
    };
    let ln_total = ln_sum(states.iter().zip(&weighed).map(|(state, (weight, one))| {
        let [ok, off] = level_weights(0.0, 0.0);
        weight + one.total(&list) + if state.level_off { off } else { ok }
    }));
    let sound = 1.0 - list.iter().map(Fault::prior_of_one).sum::<f64>();
    list.push(Hypothesis::level_fault(&scene.points, open.about));
    if let Some(level) = list.last_mut() {
        level.prior = priors::SHARED_ERROR * sound;
    }
    let mut judgement = judge(&list, &joined(&ok, &off)?)?;
    let level_alone = count_both(&mut judgement, &ok, &off);
    Ok(Judged {
        judgement,
        level_alone,
        room_found,
        visible,
        ln_total,
        best_fit_probability,
        sound_probability,
    })
}

/// The largest probability, over the states, of a chi-square as large as the best single fault leaves. The size of that
/// fault is fitted as well.
fn best_fit_probability(
    scene: &Scene<'_>,
    states: &[State],
    faults: &[Fault<'_, Hypothesis>],
) -> Result<f64> {
    states.iter().try_fold(0.0, |most: f64, state| {
        let left = left_unexplained(&scene.data(state)?, faults, 1.0)?;
        Ok(most.max(match left.degrees_of_freedom {
            0 | 1 => 1.0,
            degrees => birge(left.chi_square, degrees - 1)?.probability,
        }))
    })
}

/// Adds to the probability that e/m is off the cases with a fault among the runs as well. Returns the probability
/// without them.
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

/// Adds ln of the priors of an e/m within the shared errors and of one that is off.
fn level_weights(ok: f64, off: f64) -> [f64; 2] {
    [(1.0 - priors::SHARED_ERROR).ln() + ok, priors::SHARED_ERROR.ln() + off]
}

/// Joins the evidence of both states of e/m. Each fault counts with e/m as accepted or off, no fault with e/m as
/// accepted. The last fault, an e/m that is off, counts with no other fault.
fn joined(ok: &Evidence, off: &Evidence) -> Result<Evidence> {
    let [ln_ok, ln_off] = level_weights(0.0, 0.0);
    let mut both = Evidence::of_states(vec![(ln_ok, ok.clone()), (ln_off, off.clone())])
        .ok_or_else(|| Error::value("no state of affairs was weighed"))?;
    both.none = ok.none;
    if let (Some(last), Some(level)) = (both.faults.last_mut(), ok.faults.last()) {
        // With e/m free this fault has no effect; its size and signature are those against the accepted e/m.
        *last = level.clone().with_ln_evidence(off.none);
    }
    Ok(both)
}

/// Probability of the states with an unstated room field.
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

/// The faults that would have been found, each kind once; for single runs, the one that shows least.
fn visible(detectable: &[Detectable<Hypothesis>]) -> Vec<Visible> {
    let mut all: Vec<Visible> = Vec::new();
    for found in detectable {
        let (cause, _, unit) = found.cause.described();
        let size = Some(found.size).filter(|size| *size <= found.cause.largest());
        match all.iter_mut().find(|known| known.cause == cause) {
            // `None`, never visible, is the worst.
            Some(known) => known.size = known.size.zip(size).map(|(one, other)| one.max(other)),
            None => all.push(Visible { cause, size, unit }),
        }
    }
    all
}
