//! The walk through all windings, in parallel, with the same result whatever the thread count: everything kept is the
//! least under a total order, or a count.

use super::judge::{Draft, Judge, Winding};
use super::space::{Space, Spacings, layers, turns_per_layer, wound_section_m};
use crate::files::spec::Prefer;
use crate::pair::Connection;
use crate::physics::field::Section;
use rayon::prelude::*;
use std::cmp::Ordering;

/// Windings kept for each wire and connection, so that another stands behind one that the exact model refuses.
const KEPT: usize = 4;
/// A near miss misses one wish alone, by no more than this.
pub(super) const NEAR: f64 = 0.1;
/// Conductor masses of the trade-off front: bars of equal ratio from 10 g to 1 t.
const FRONT_BARS: usize = 400;
const FRONT_FROM_KG: f64 = 0.01;
const FRONT_DECADES: f64 = 5.0;
/// The front is kept for all that meet the wishes, and for those with half and a quarter of the deviation wished.
pub(super) const FRONT_SHARES: [f64; 3] = [1.0, 0.5, 0.25];

/// What makes one winding better than another: a number to be small.
#[derive(Clone, Copy, Debug)]
pub(super) struct Preference {
    pub prefer: Prefer,
    /// Least mass, power and deviation to be had, for `balanced`.
    pub least: [f64; 3],
}

impl Preference {
    pub fn score(&self, winding: &Winding) -> f64 {
        let deviation = winding.worst_beam_deviation.abs();
        match self.prefer {
            Prefer::CopperMass | Prefer::Price => winding.conductor_mass_kg,
            Prefer::Power => winding.power_watt,
            Prefer::Uniformity => deviation,
            Prefer::Balanced => {
                let over_least = |value: f64, least: f64| if least > 0.0 { value / least } else { 0.0 };
                over_least(winding.conductor_mass_kg, self.least[0])
                    + over_least(winding.power_watt, self.least[1])
                    + over_least(deviation, self.least[2])
            }
        }
    }

    /// A total order: score, then mass, power, wire and the rest of what tells two windings apart.
    pub fn order(&self, a: &Winding, b: &Winding) -> Ordering {
        self.score(a)
            .total_cmp(&self.score(b))
            .then(a.conductor_mass_kg.total_cmp(&b.conductor_mass_kg))
            .then(a.power_watt.total_cmp(&b.power_watt))
            .then(a.wire.cmp(&b.wire))
            .then(a.turns_per_layer.cmp(&b.turns_per_layer))
            .then(a.layers.cmp(&b.layers))
            .then(a.section.mean_radius_m.total_cmp(&b.section.mean_radius_m))
            .then(a.spacing_m.total_cmp(&b.spacing_m))
            .then((a.connection as u8).cmp(&(b.connection as u8)))
    }
}

/// What the walk kept.
#[derive(Clone)]
pub(super) struct Found {
    pub searched: u64,
    pub feasible: u64,
    /// Least mass, power and deviation of those that meet the wishes.
    pub least: [f64; 3],
    /// The best of each wire and connection, best first.
    pub by_group: Vec<Vec<Winding>>,
    /// For each wish, how many miss it alone.
    pub stopped_alone: [u64; 5],
    /// For each wish, the best that misses it alone and by no more than [`NEAR`].
    pub near: [Option<Winding>; 5],
    /// For each share of the deviation and bar of mass, the least power.
    pub front: Vec<Option<Winding>>,
}

impl Found {
    fn none(space: &Space) -> Self {
        Self {
            searched: 0,
            feasible: 0,
            least: [f64::INFINITY; 3],
            by_group: vec![Vec::new(); 2 * space.wires.len()],
            stopped_alone: [0; 5],
            near: [None; 5],
            front: vec![None; FRONT_BARS * FRONT_SHARES.len()],
        }
    }

    fn take(&mut self, winding: Winding, judge: &Judge, preference: &Preference) {
        if let Some((wish, miss)) = winding.only_miss() {
            let wish = wish as usize;
            self.stopped_alone[wish] += 1;
            if miss <= NEAR {
                keep_least(&mut self.near[wish], winding, |a, b| preference.order(a, b));
            }
            return;
        }
        if !winding.meets_everything() {
            return;
        }
        self.feasible += 1;
        let deviation = winding.worst_beam_deviation.abs();
        for (least, value) in
            self.least.iter_mut().zip([winding.conductor_mass_kg, winding.power_watt, deviation])
        {
            *least = least.min(value);
        }
        insert(&mut self.by_group[2 * winding.wire + winding.connection as usize], winding, preference);
        let limit = judge.beam_deviation.unwrap_or(f64::INFINITY);
        for (class, share) in FRONT_SHARES.into_iter().enumerate() {
            if class == 0 || deviation <= share * limit && limit.is_finite() {
                let bar = class * FRONT_BARS + front_bar(winding.conductor_mass_kg);
                let by_power = |a: &Winding, b: &Winding| {
                    a.power_watt.total_cmp(&b.power_watt).then(preference.order(a, b))
                };
                keep_least(&mut self.front[bar], winding, by_power);
            }
        }
    }

    fn with(mut self, other: Self, preference: &Preference) -> Self {
        self.searched += other.searched;
        self.feasible += other.feasible;
        for (least, value) in self.least.iter_mut().zip(other.least) {
            *least = least.min(value);
        }
        for (group, windings) in self.by_group.iter_mut().zip(other.by_group) {
            for winding in windings {
                insert(group, winding, preference);
            }
        }
        for (count, more) in self.stopped_alone.iter_mut().zip(other.stopped_alone) {
            *count += more;
        }
        for (near, winding) in self.near.iter_mut().zip(other.near) {
            if let Some(winding) = winding {
                keep_least(near, winding, |a, b| preference.order(a, b));
            }
        }
        for (bar, winding) in self.front.iter_mut().zip(other.front) {
            if let Some(winding) = winding {
                keep_least(bar, winding, |a, b| {
                    a.power_watt.total_cmp(&b.power_watt).then(preference.order(a, b))
                });
            }
        }
        self
    }

    /// The trade-off front of one share of the deviation: from the lightest on, each with less power than all lighter.
    pub fn front_of(&self, class: usize) -> Vec<Winding> {
        let mut front: Vec<Winding> = Vec::new();
        for winding in self.front[class * FRONT_BARS..(class + 1) * FRONT_BARS].iter().flatten() {
            if front.last().is_none_or(|lighter| winding.power_watt < lighter.power_watt) {
                front.push(*winding);
            }
        }
        front
    }
}

fn front_bar(conductor_mass_kg: f64) -> usize {
    let place = (conductor_mass_kg / FRONT_FROM_KG).log10() / FRONT_DECADES;
    ((place * FRONT_BARS as f64).max(0.0) as usize).min(FRONT_BARS - 1)
}

pub(super) fn keep_least(
    kept: &mut Option<Winding>,
    winding: Winding,
    order: impl Fn(&Winding, &Winding) -> Ordering,
) {
    if kept.as_ref().is_none_or(|kept| order(&winding, kept) == Ordering::Less) {
        *kept = Some(winding);
    }
}

fn insert(group: &mut Vec<Winding>, winding: Winding, preference: &Preference) {
    if group.len() == KEPT && preference.order(&winding, &group[KEPT - 1]) != Ordering::Less {
        return;
    }
    let place = group.partition_point(|kept| preference.order(kept, &winding) == Ordering::Less);
    group.insert(place, winding);
    group.truncate(KEPT);
}

/// Looks at every winding of the space; `advance` is told of every wire done at one radius.
pub(super) fn search(
    space: &Space,
    judge: &Judge,
    preference: &Preference,
    advance: &(impl Fn(u64) + Sync),
) -> Found {
    walk(
        space,
        judge,
        || Found::none(space),
        |mut found, winding| {
            found.take(winding, judge, preference);
            found
        },
        |mut found, count| {
            found.searched += count;
            advance(1);
            found
        },
        |a, b| a.with(b, preference),
    )
}

/// How many steps [`search`] tells of.
pub(super) fn steps(space: &Space) -> u64 {
    (space.wires.len() * space.mean_radii_m.len()) as u64
}

/// Judges every winding of the space and gathers what `take` makes of those worth telling; `done` is told how many each
/// wire at one radius has.
pub(super) fn walk<T: Send>(
    space: &Space,
    judge: &Judge,
    none: impl Fn() -> T + Sync + Send,
    take: impl Fn(T, Winding) -> T + Sync + Send,
    done: impl Fn(T, u64) -> T + Sync + Send,
    with: impl Fn(T, T) -> T + Sync + Send,
) -> T {
    let spacings: Vec<Option<Spacings>> = space
        .mean_radii_m
        .par_iter()
        .map(|radius| Spacings::of(space, *radius, judge.region.as_ref()))
        .collect();
    let tasks: Vec<(usize, usize)> = (0..space.wires.len())
        .flat_map(|wire| (0..space.mean_radii_m.len()).map(move |radius| (wire, radius)))
        .collect();
    tasks
        .par_iter()
        .fold(&none, |mut kept, &(wire, radius)| {
            let mut count = 0;
            if let Some(spacings) = &spacings[radius] {
                let task = Task { space, judge, spacings, wire, mean_radius_m: space.mean_radii_m[radius] };
                let mut holder = Some(kept);
                count = task.run(&mut |winding| {
                    if let Some(state) = holder.take() {
                        holder = Some(take(state, winding));
                    }
                });
                kept = holder.unwrap_or_else(&none);
            }
            done(kept, count)
        })
        .reduce(&none, &with)
}

/// One wire at one mean radius.
struct Task<'a> {
    space: &'a Space,
    judge: &'a Judge,
    spacings: &'a Spacings,
    wire: usize,
    mean_radius_m: f64,
}

impl Task<'_> {
    /// Judges every winding of the task and returns how many there are, those left out by a bound included.
    fn run(&self, take: &mut impl FnMut(Winding)) -> u64 {
        let wire = &self.space.wires[self.wire];
        let all_layers = layers(wire, self.space.depth_m);
        let deepest = wound_section_m(wire, 1, all_layers.last().copied().unwrap_or(1))[1];
        let (inner, outer) = (self.mean_radius_m - 0.5 * deepest, self.mean_radius_m + 0.5 * deepest);
        let mut count = 0;
        for turns_per_layer in turns_per_layer(wire, self.space.width_m) {
            let width_m = wound_section_m(wire, turns_per_layer, 1)[0];
            let (least_spacing, spacings) = self.spacings.least_and_count(width_m, self.space.depth_m);
            count += all_layers.len() as u64 * spacings as u64 * self.space.connections.len() as u64;
            let aside = 0.5 * (least_spacing - width_m);
            let connections = self.space.connections.iter().copied().filter_map(|connection| {
                let share = match connection {
                    Connection::Series => 1.0,
                    Connection::Parallel => 0.5,
                };
                let bounds = [inner.max(0.0), outer, aside];
                (!self.judge.too_thin(wire, self.mean_radius_m, bounds, share))
                    .then(|| (connection, self.judge.fewest_turns(inner.max(0.0), outer, aside, share)))
            });
            let connections: Vec<(Connection, f64)> = connections.collect();
            if connections.is_empty() {
                continue;
            }
            for layers in &all_layers {
                let turns = f64::from(layers * turns_per_layer);
                if connections.iter().all(|(_, fewest)| turns < *fewest) {
                    continue;
                }
                let depth_m = wound_section_m(wire, 1, *layers)[1];
                let section = Section { mean_radius_m: self.mean_radius_m, width_m, depth_m };
                for spacing_m in self.spacings.of_section(width_m, depth_m) {
                    let draft = Draft {
                        wire_number: self.wire,
                        wire,
                        turns_per_layer,
                        layers: *layers,
                        section,
                        spacing_m,
                    };
                    let figures = self.judge.figures(&section, spacing_m);
                    for (connection, fewest) in &connections {
                        if turns >= *fewest
                            && let Some(winding) = self.judge.judge(&draft, &figures, *connection)
                        {
                            take(winding);
                        }
                    }
                }
            }
        }
        count
    }
}
