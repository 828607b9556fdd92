//! Several misread runs at once.
//!
//! Two or three misread runs hide each other: each draws the fit towards itself, and with one left out the others still
//! contradict the rest. So the runs that agree best are sought first (least trimmed squares: Rousseeuw, P. J. 1984,
//! J. Am. Stat. Assoc. 79, 871), and those farthest from their fit are weighed as misread, all together, against every
//! hypothesis of one fault or of uncertainties stated too small.

use super::fit::{Fitted, Point, RoomAxial, fit};
use super::hypotheses::Hypothesis;
use super::judge::{Judged, RUN_NAMED_FROM};
use super::prepared::Prepared;
use super::room::KnownRoom;
use super::shift::Shift;
use crate::Result;
use crate::judgement::{Class, ln_sum, priors};
use std::f64::consts::TAU;

/// Most misread runs that are looked for together, and most runs among which they are looked for. A class has no more
/// runs, and every further set must be judged again.
const MOST_TOGETHER: usize = 5;
const MOST_RUNS: usize = 120;
/// Starts for the search of runs that agree.
const STARTS: usize = 400;
/// Improvements of each start.
const STEPS: usize = 3;

/// One run found misread, with its class in the judgement of the runs then left.
pub(super) struct Misread {
    pub class: Class<Hypothesis>,
    /// Its index among all runs.
    pub place: usize,
}

/// The runs among `kept` that are most probably misread together, at most `most`, and how probable that is: each of the runs
/// carries that probability at most. Empty where each is not claimed with the others left out, or where there are more than
/// [`MOST_RUNS`]. `judged` judges the runs of the given indices.
pub(super) fn several(
    kept: &[usize],
    most: usize,
    all: &Judged,
    prepared: &Prepared<'_>,
    room: &KnownRoom,
    judged: impl Fn(&[usize]) -> Result<Judged>,
) -> Result<(f64, Vec<Misread>)> {
    let most = most.min(MOST_TOGETHER);
    if most < 2 || kept.len() > MOST_RUNS {
        return Ok((0.0, Vec::new()));
    }
    let points = prepared.keeping(kept).points(&Shift::none())?;
    let Some(apart) = distances(&points, points.len() - most, room.in_fit()) else {
        return Ok((0.0, Vec::new()));
    };
    let mut order: Vec<usize> = (0..points.len()).collect();
    order.sort_by(|a, b| apart[*b].abs().total_cmp(&apart[*a].abs()));
    let mut ln_of_sets = Vec::new();
    for count in 2..=most {
        let rest: Vec<usize> = kept_without(kept, &order[..count]);
        let ln_sizes: f64 = order[..count]
            .iter()
            .map(|i| Hypothesis::MisreadRun(*i).ln_density(&points, apart[*i] * points[*i].uncertainty_m))
            .sum();
        let choices: f64 = (0..count).map(|i| (points.len() - i) as f64 / (i + 1) as f64).product();
        let ln_prior = (priors::several_misread(count) / choices).ln();
        ln_of_sets.push(ln_prior + ln_sizes + judged(&rest)?.ln_total + 0.5 * count as f64 * TAU.ln());
    }
    let whole = ln_sum(ln_of_sets.iter().copied().chain([all.ln_total]));
    let best = (0..ln_of_sets.len()).max_by(|a, b| ln_of_sets[*a].total_cmp(&ln_of_sets[*b]));
    let Some((count, probability)) = best.map(|best| (best + 2, (ln_of_sets[best] - whole).exp())) else {
        return Ok((0.0, Vec::new()));
    };
    if probability.is_nan() || probability < RUN_NAMED_FROM {
        return Ok((0.0, Vec::new()));
    }
    let suspects = &order[..count];
    let mut found = Vec::new();
    for suspect in suspects {
        let others: Vec<usize> = suspects.iter().copied().filter(|other| other != suspect).collect();
        let with_one: Vec<usize> = kept_without(kept, &others);
        let last = judged(&with_one)?;
        let claimed = last.claimed_run().filter(|(place, _)| with_one[*place] == kept[*suspect]);
        let Some((_, class)) = claimed else { return Ok((0.0, Vec::new())) };
        let class = Class { probability: class.probability.min(probability), ..class.clone() };
        found.push(Misread { class, place: kept[*suspect] });
    }
    Ok((probability, found))
}

fn kept_without(kept: &[usize], places: &[usize]) -> Vec<usize> {
    kept.iter().enumerate().filter(|(place, _)| !places.contains(place)).map(|(_, run)| *run).collect()
}

/// Every run's distance, in its own standard uncertainties, from the fit of the `count` runs that agree best. `None` if no
/// such fit exists.
fn distances(points: &[Point], count: usize, room: RoomAxial) -> Option<Vec<f64>> {
    let n = points.len();
    // One run fixes e/m; a room's field takes one for each direction.
    let starts: Vec<Vec<usize>> = match room {
        RoomAxial::Held(_) => (0..n).map(|i| vec![i]).collect(),
        RoomAxial::Free => {
            let pairs = (0..n).flat_map(|i| (i + 1..n).map(move |j| vec![i, j]));
            pairs.filter(|pair| points[pair[0]].direction != points[pair[1]].direction).collect()
        }
    };
    // Spread evenly where there are more than are tried.
    let step = starts.len().div_ceil(STARTS).max(1);
    let fits = starts.iter().step_by(step).filter_map(|start| {
        let mut chosen = start.clone();
        let mut apart = Vec::new();
        for _ in 0..STEPS {
            apart = away(points, &fit_of(points, &chosen, room)?);
            chosen = nearest(&apart, count);
        }
        let square: f64 = chosen.iter().map(|i| apart[*i] * apart[*i]).sum();
        square.is_finite().then_some((square, chosen))
    });
    let (_, chosen) = fits.min_by(|a, b| a.0.total_cmp(&b.0))?;
    Some(away(points, &fit_of(points, &chosen, room)?))
}

fn fit_of(points: &[Point], chosen: &[usize], room: RoomAxial) -> Option<Fitted> {
    let some: Vec<Point> = chosen.iter().map(|i| points[*i]).collect();
    fit(&some, room).ok()
}

fn away(points: &[Point], fitted: &Fitted) -> Vec<f64> {
    let theta = fitted.charge_to_mass.sqrt().recip();
    let of = |point: &Point| {
        (point.radius_m - point.model_m(theta, fitted.room_axial_tesla)) / point.uncertainty_m
    };
    points.iter().map(of).collect()
}

/// The indices of the `count` smallest distances.
fn nearest(apart: &[f64], count: usize) -> Vec<usize> {
    let mut order: Vec<usize> = (0..apart.len()).collect();
    order.sort_by(|a, b| apart[*a].abs().total_cmp(&apart[*b].abs()));
    order.truncate(count);
    order
}
