//! Goes through all windings in parallel. The result does not depend on the number of threads: everything kept is the
//! least under a total order, or a count.

use super::deviations::Deviations;
use super::judge::{Draft, Judge, Row, Winding, share_of};
use super::space::{Space, Spacings, layers, turns_per_layer, wound_section_m};
use crate::files::spec::Prefer;
use crate::pair::{Connection, Wire};
use crate::physics::field::{SampledRegion, Section};
use rayon::prelude::*;
use std::cmp::Ordering;

/// Windings kept for each wire and connection, as replacements for those that the exact model refuses.
const KEPT: usize = 16;
/// A near miss misses exactly one wish, by at most this fraction.
pub(super) const NEAR: f64 = 0.1;
/// Number of bins of conductor mass on the trade-off front, in equal ratios from 10 g to 1 t.
const FRONT_BARS: usize = 400;
const FRONT_FROM_KG: f64 = 0.01;
const FRONT_DECADES: f64 = 5.0;
/// The front is kept for all that meet the wishes, and for those within half and a quarter of the wished deviation.
pub(super) const FRONT_SHARES: [f64; 3] = [1.0, 0.5, 0.25];

/// The figure of merit, to be minimised.
#[derive(Clone, Copy, Debug)]
pub(super) struct Preference {
    pub prefer: Prefer,
    /// Least mass, power and deviation of any feasible winding, for `balanced`.
    pub least: [f64; 3],
}

impl Preference {
    pub(crate) fn score(&self, winding: &Winding) -> f64 {
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

    /// A total order: score, then mass, power, wire and the other figures that distinguish two windings.
    pub(super) fn order(&self, a: &Winding, b: &Winding) -> Ordering {
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

/// The result of the search.
#[derive(Clone)]
pub(super) struct Found {
    pub searched: u64,
    pub feasible: u64,
    /// Least mass, power and deviation of those that meet the wishes.
    pub least: [f64; 3],
    /// The best of each wire and connection, best first.
    pub by_group: Vec<Vec<Winding>>,
    /// For each wish, the number of windings that miss it alone.
    pub stopped_alone: [u64; 5],
    /// For each wish, the best winding that misses it alone and by at most [`NEAR`].
    pub near: [Option<Winding>; 5],
    /// For each share of the deviation and bin of mass, the winding with the least power.
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

    /// The trade-off front of one share of the deviation: from the lightest, each with less power than all lighter
    /// ones.
    pub(crate) fn front_of(&self, class: usize) -> Vec<Winding> {
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

/// Judges every winding of the space. `advance` is called after each wire at each radius.
pub(super) fn search(
    space: &Space,
    region: Option<&SampledRegion>,
    judge: &Judge,
    preference: &Preference,
    advance: &(impl Fn(u64) + Sync),
) -> Found {
    walk(
        space,
        region,
        judge,
        || Found::none(space),
        |found, winding| found.take(winding, judge, preference),
        |mut found, count| {
            found.searched += count;
            advance(1);
            found
        },
        |a, b| a.with(b, preference),
    )
}

/// Number of steps that [`search`] reports.
pub(super) fn steps(space: &Space) -> u64 {
    (space.wires.len() * space.mean_radii_m.len()) as u64
}

/// Judges every winding of the space and collects with `take` those within the judge's patience. `done` is called with
/// the number of windings of each wire at each radius.
pub(super) fn walk<T: Send>(
    space: &Space,
    region: Option<&SampledRegion>,
    judge: &Judge,
    none: impl Fn() -> T + Sync + Send,
    take: impl Fn(&mut T, Winding) + Sync + Send,
    done: impl Fn(T, u64) -> T + Sync + Send,
    with: impl Fn(T, T) -> T + Sync + Send,
) -> T {
    let radii: Vec<Option<AtRadius>> =
        space.mean_radii_m.par_iter().map(|radius| AtRadius::of(space, *radius, region)).collect();
    let tasks: Vec<(usize, usize)> = (0..space.wires.len())
        .flat_map(|wire| (0..space.mean_radii_m.len()).map(move |radius| (wire, radius)))
        .collect();
    tasks
        .par_iter()
        .fold(&none, |mut kept, &(wire, radius)| {
            let mut count = 0;
            if let Some(at_radius) = &radii[radius] {
                let task = Task { space, judge, at_radius, wire };
                count = task.run(&mut |winding| take(&mut kept, winding));
            }
            done(kept, count)
        })
        .reduce(&none, &with)
}

/// Shared by all windings of one mean radius.
struct AtRadius<'a> {
    mean_radius_m: f64,
    spacings: Spacings,
    deviations: Option<Deviations<'a>>,
}

impl<'a> AtRadius<'a> {
    fn of(space: &Space, mean_radius_m: f64, region: Option<&'a SampledRegion>) -> Option<Self> {
        let spacings = Spacings::of(space, mean_radius_m, region)?;
        let sides = space.sides_m(mean_radius_m);
        let deviations = region.map(|region| Deviations::of(region, mean_radius_m, sides, &spacings));
        Some(Self { mean_radius_m, spacings, deviations })
    }

    fn row(&'a self, judge: &Judge, width_m: f64) -> Row<'a> {
        Row {
            spacing: self.spacings.row(width_m),
            heat: judge.heat.as_ref().map(|table| table.row(self.mean_radius_m, width_m)),
            deviation: self.deviations.as_ref().map(|deviations| deviations.row(width_m)),
        }
    }
}

/// One wire at one mean radius.
struct Task<'a> {
    space: &'a Space,
    judge: &'a Judge,
    at_radius: &'a AtRadius<'a>,
    wire: usize,
}

impl Task<'_> {
    /// Judges every winding of the task. Returns their number, including those excluded by a bound.
    fn run(&self, take: &mut impl FnMut(Winding)) -> u64 {
        let wire = &self.space.wires[self.wire];
        let mean_radius_m = self.at_radius.mean_radius_m;
        let all_layers = layers(wire, self.space.depth_m);
        let deepest = wound_section_m(wire, 1, all_layers.last().copied().unwrap_or(1))[1];
        let (inner, outer) = (mean_radius_m - 0.5 * deepest, mean_radius_m + 0.5 * deepest);
        let spacings = self.at_radius.spacings.count();
        let mut count = 0;
        for turns_per_layer in turns_per_layer(wire, self.space.width_m) {
            let width_m = wound_section_m(wire, turns_per_layer, 1)[0];
            count += all_layers.len() as u64 * spacings as u64 * self.space.connections.len() as u64;
            let least_m = self.at_radius.spacings.row(width_m).least_m(self.space.depth_m);
            let bounds = [inner.max(0.0), outer, 0.5 * (least_m - width_m)];
            let connections = self.worth_a_look(wire, bounds);
            let Some(fewest) = connections.iter().map(|(_, fewest)| *fewest).reduce(f64::min) else {
                continue;
            };
            let row = self.at_radius.row(self.judge, width_m);
            for layers in &all_layers {
                let turns = f64::from(layers * turns_per_layer);
                if turns < fewest {
                    continue;
                }
                let depth_m = wound_section_m(wire, 1, *layers)[1];
                let section = Section { mean_radius_m, width_m, depth_m };
                for number in 0..spacings {
                    let draft =
                        Draft { wire_number: self.wire, wire, turns_per_layer, layers: *layers, section };
                    let figures = self.judge.figures(&row, &section, number);
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

    /// The connections for which the wire is not too thin, each with the lower bound of its turns.
    fn worth_a_look(&self, wire: &Wire, bounds: [f64; 3]) -> Vec<(Connection, f64)> {
        let [inner, outer, aside] = bounds;
        let connections = self.space.connections.iter().copied().filter_map(|connection| {
            let share = share_of(connection);
            (!self.judge.too_thin(wire, self.at_radius.mean_radius_m, bounds, share))
                .then(|| (connection, self.judge.fewest_turns(inner, outer, aside, share)))
        });
        connections.collect()
    }
}
