//! The windings searched: whole turns in whole layers, with radii and spacings that can be measured.

use super::between::{chebyshev, weights};
use crate::files::spec::{Search, SpacingChoice, Wanted};
use crate::pair::wires::stock_wires;
use crate::pair::{Connection, Wire};
use crate::physics::field::{SampledRegion, Section};
use crate::physics::spacing;
use crate::questions::words::notes::as_sentences;
use crate::{Error, Result};
use serde::Serialize;

/// Width of a wound layer over that of its wires (common practice, no source).
pub(super) const PITCH: f64 = 1.02;
/// Depth of wound layers over that of their wires, bulge included (common practice, no source).
pub(super) const BULGE: f64 = 1.05;
/// Extra width and depth of the former's channel beyond the winding (common practice, no source).
pub(super) const CHANNEL_MARGIN_M: f64 = 1e-3;
/// Mean radii and spacings are multiples of this, wound sections of a tenth of it.
pub(super) const WORKSHOP_STEP_M: f64 = 1e-4;
/// Number of mean radii, see [`steps`].
const MOST_RADII: usize = 21;
/// Number of spacings if they are free in a range, see [`steps`].
const MOST_SPACINGS: usize = 21;
/// Most layer counts, and most turns per layer, for one wire.
const MOST_COUNTS: usize = 200;

/// The windings searched.
pub(super) struct Space {
    pub wires: Vec<Wire>,
    pub connections: Vec<Connection>,
    pub mean_radii_m: Vec<f64>,
    pub width_m: [f64; 2],
    pub depth_m: [f64; 2],
    pub spacing: SpacingChoice,
}

/// The extent of the search, in numbers.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Looked {
    /// Number of wires.
    pub wires: usize,
    /// Number of mean radii.
    pub mean_radii: usize,
    /// Step from one mean radius to the next.
    pub mean_radius_step_m: f64,
    /// Whether some turns per layer or layer counts were skipped because a range allows too many.
    pub skipped_counts: bool,
    /// The assumed workshop practice.
    #[serde(serialize_with = "as_sentences")]
    pub practice: Vec<Practice>,
}

/// The assumed workshop practice.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum Practice {
    /// Layers are wider and deeper than their wires.
    WiderAndDeeper,
    /// The channel is wider and deeper than the winding.
    Channel,
    /// Every layer is full.
    FullLayers,
    /// Mean radius and spacing come in workshop steps.
    Steps,
    /// A spec written from the result states ordinary tolerances.
    OrdinaryTolerances,
}

impl Practice {
    const ALL: [Self; 5] =
        [Self::WiderAndDeeper, Self::Channel, Self::FullLayers, Self::Steps, Self::OrdinaryTolerances];
}

impl Space {
    /// The space of a search.
    ///
    /// # Errors
    /// No wire, radius, turn or layer fits the ranges.
    pub(super) fn of(wanted: &Wanted, search: &Search) -> Result<Self> {
        let wires = match &search.wires {
            Some(wires) => wires.clone(),
            None => stock_wires()
                .iter()
                .map(|wire| wire.wire(crate::constants::Conductor::Copper, None))
                .collect(),
        };
        let wires: Vec<Wire> = once_each(wires)
            .into_iter()
            .filter(|wire| {
                !turns_per_layer(wire, search.width_m).is_empty() && !layers(wire, search.depth_m).is_empty()
            })
            .collect();
        if wires.is_empty() {
            return Err(Error::value_with_hint(
                "no wire fits a whole turn and a whole layer into the ranges of `search.width` and `search.depth`",
                "widen the ranges: a layer is a whole number of overall wire diameters wide",
            ));
        }
        let mean_radii_m = steps(search.mean_radius_m, MOST_RADII);
        let depth_m = search.depth_m;
        if mean_radii_m.iter().all(|radius| 0.5 * depth_m[0] >= *radius) {
            return Err(Error::value_with_hint(
                "every section in `search.depth` is deeper than the largest of `search.mean_radius`",
                "allow larger radii or smaller depths",
            ));
        }
        if search.spacing == SpacingChoice::Beam {
            // The best spacing over the beam needs a beam.
            wanted.tube_with_beam()?;
        }
        Ok(Self {
            wires,
            connections: [Connection::Series, Connection::Parallel]
                .into_iter()
                .filter(|connection| search.connections.contains(connection))
                .collect(),
            mean_radii_m,
            width_m: search.width_m,
            depth_m,
            spacing: search.spacing,
        })
    }

    /// The ranges of width and depth for one mean radius. A wider section leaves no room for a second coil, a deeper
    /// one no bore.
    pub(crate) fn sides_m(&self, mean_radius_m: f64) -> [[f64; 2]; 2] {
        let deepest = self.depth_m[1].min(1.2 * mean_radius_m);
        let widest = self.width_m[1].min(mean_radius_m).max(self.width_m[0]);
        [[self.width_m[0], widest], [self.depth_m[0].min(deepest), deepest]]
    }

    /// This space with fewer radii, for judging every winding completely.
    pub(crate) fn thinned(&self, radii: usize) -> Self {
        let step = self.mean_radii_m.len().div_ceil(radii);
        Self {
            wires: self.wires.clone(),
            connections: self.connections.clone(),
            mean_radii_m: self.mean_radii_m.iter().copied().step_by(step).collect(),
            ..*self
        }
    }

    /// The extent of the search.
    pub(super) fn looked(&self) -> Looked {
        let radii = &self.mean_radii_m;
        let skipped = |wire: &Wire| {
            let all =
                |range: [f64; 2], factor: f64| whole_counts(range, wire.overall_diameter_m * factor).len();
            all(self.width_m, PITCH) > MOST_COUNTS || all(self.depth_m, BULGE) > MOST_COUNTS
        };
        Looked {
            wires: self.wires.len(),
            mean_radii: radii.len(),
            mean_radius_step_m: radii.get(1).map_or(0.0, |second| second - radii[0]),
            skipped_counts: self.wires.iter().any(skipped),
            practice: Practice::ALL.to_vec(),
        }
    }
}

/// The wires without duplicates under other names; the first of each stays.
fn once_each(wires: Vec<Wire>) -> Vec<Wire> {
    let as_is = |wire: &Wire| {
        (wire.conductor, wire.bare_diameter_m, wire.overall_diameter_m, wire.thermal_class_celsius)
    };
    let mut once: Vec<Wire> = Vec::with_capacity(wires.len());
    for wire in wires {
        if once.iter().all(|other| as_is(other) != as_is(&wire)) {
            once.push(wire);
        }
    }
    once
}

/// The turns per layer that a range of widths allows.
pub(super) fn turns_per_layer(wire: &Wire, width_m: [f64; 2]) -> Vec<u32> {
    thinned(whole_counts(width_m, wire.overall_diameter_m * PITCH))
}

/// The layer counts that a range of depths allows.
pub(super) fn layers(wire: &Wire, depth_m: [f64; 2]) -> Vec<u32> {
    thinned(whole_counts(depth_m, wire.overall_diameter_m * BULGE))
}

/// Width of a layer with this many turns and depth of this many layers, rounded up to 0.01 mm.
pub(super) fn wound_section_m(wire: &Wire, turns_per_layer: u32, layers: u32) -> [f64; 2] {
    let hundredth = 0.1 * WORKSHOP_STEP_M;
    let up = |length: f64| rounded((length / hundredth - 1e-6).ceil() * hundredth);
    [
        up(f64::from(turns_per_layer) * wire.overall_diameter_m * PITCH),
        up(f64::from(layers) * wire.overall_diameter_m * BULGE),
    ]
}

/// The whole numbers whose multiples of the pitch lie in a range, up to rounding errors of the arithmetic.
fn whole_counts([low, high]: [f64; 2], pitch: f64) -> std::ops::RangeInclusive<u32> {
    let first = (low / pitch - 1e-9).ceil().max(1.0) as u32;
    let last = (high / pitch + 1e-9).floor() as u32;
    first..=last
}

trait Length {
    fn len(&self) -> usize;
}

impl Length for std::ops::RangeInclusive<u32> {
    fn len(&self) -> usize {
        if self.is_empty() { 0 } else { (self.end() - self.start()) as usize + 1 }
    }
}

fn thinned(counts: std::ops::RangeInclusive<u32>) -> Vec<u32> {
    let step = Length::len(&counts).div_ceil(MOST_COUNTS).max(1);
    counts.step_by(step).collect()
}

/// Values over a range in steps of 1, 2 or 5 times a power of ten, not finer than 0.1 mm, with both ends included.
/// There are about `most` values, at most one more.
fn steps([low, high]: [f64; 2], most: usize) -> Vec<f64> {
    let least = ((high - low) / (most - 1) as f64).max(WORKSHOP_STEP_M);
    let power = 10f64.powf(least.log10().floor());
    let step = [1.0, 2.0, 5.0, 10.0]
        .map(|factor| factor * power)
        .into_iter()
        .find(|step| *step >= least * (1.0 - 1e-9));
    let step = step.unwrap_or(least);
    let first = (low / step - 1e-9).ceil() as i64;
    let last = (high / step + 1e-9).floor() as i64;
    let mut values: Vec<f64> = (first..=last).map(|i| rounded(i as f64 * step)).collect();
    // The ends are always included: a range of one value may contain no multiple of the step.
    if values.first().is_none_or(|value| (value - low).abs() > 1e-9) {
        values.insert(0, low);
    }
    if values.last().is_none_or(|value| (value - high).abs() > 1e-9) {
        values.push(high);
    }
    values
}

/// Rounded to a nanometre, so that sums of steps are the numbers that people write.
fn rounded(length_m: f64) -> f64 {
    (length_m * 1e9).round() / 1e9
}

/// The spacings for sections of one mean radius: exact at nodes over width and depth, interpolated by polynomials, then
/// rounded to 0.1 mm.
pub(super) enum Spacings {
    /// The same for every section.
    Fixed(Vec<f64>),
    /// One for each section.
    Following(Box<Table>),
}

/// Nodes along each side; the spacings are smooth and change little.
const NODES: usize = 4;

/// Spacings at the nodes.
pub(super) struct Table {
    width_m: [f64; NODES],
    depth_m: [f64; NODES],
    spacing_m: [[f64; NODES]; NODES],
}

/// The spacings of sections of one mean radius and width.
pub(super) enum SpacingRow<'a> {
    /// The same for every section.
    Fixed(&'a [f64]),
    /// The nodes of the depth, and the spacings there.
    Following(&'a [f64; NODES], [f64; NODES]),
}

impl Spacings {
    /// For one mean radius; `None` if no spacing is possible, for example because the bulb does not fit.
    pub(super) fn of(space: &Space, mean_radius_m: f64, region: Option<&SampledRegion>) -> Option<Self> {
        let exact = |width_m: f64, depth_m: f64| {
            let section = Section { mean_radius_m, width_m, depth_m };
            match (space.spacing, region) {
                (SpacingChoice::Beam, Some(region)) => spacing::optimum_spacing_m(&section, region),
                _ => spacing::second_order_spacing_m(&section).ok(),
            }
        };
        Some(match space.spacing {
            SpacingChoice::Radius => Self::Fixed(vec![mean_radius_m]),
            SpacingChoice::Range(range) => Self::Fixed(steps(range, MOST_SPACINGS)),
            SpacingChoice::SecondOrder | SpacingChoice::Beam => {
                let [width_m, depth_m] = space.sides_m(mean_radius_m).map(chebyshev);
                let mut spacing_m = [[0.0; NODES]; NODES];
                for (row, width) in spacing_m.iter_mut().zip(width_m) {
                    for (value, depth) in row.iter_mut().zip(depth_m) {
                        *value = exact(width, depth)?;
                    }
                }
                Self::Following(Box::new(Table { width_m, depth_m, spacing_m }))
            }
        })
    }

    /// Whether each section has a spacing of its own.
    pub(crate) fn follow_the_section(&self) -> bool {
        matches!(self, Self::Following(_))
    }

    /// Number of spacings of each section.
    pub(super) fn count(&self) -> usize {
        match self {
            Self::Fixed(spacings) => spacings.len(),
            Self::Following(_) => 1,
        }
    }

    /// The spacings for one width.
    pub(super) fn row(&self, width_m: f64) -> SpacingRow<'_> {
        match self {
            Self::Fixed(spacings) => SpacingRow::Fixed(spacings),
            Self::Following(table) => {
                let along_width = weights(&table.width_m, width_m);
                SpacingRow::Following(
                    &table.depth_m,
                    std::array::from_fn(|depth| {
                        along_width
                            .iter()
                            .zip(&table.spacing_m)
                            .map(|(weight, row)| weight * row[depth])
                            .sum()
                    }),
                )
            }
        }
    }
}

impl SpacingRow<'_> {
    /// A lower bound of the spacings of all sections of this width.
    pub(crate) fn least_m(&self, depth_m: [f64; 2]) -> f64 {
        match self {
            Self::Fixed(spacings) => spacings.iter().copied().fold(f64::INFINITY, f64::min),
            // Between the ends the spacing curves by much less than 1 mm.
            Self::Following(..) => {
                depth_m.map(|depth| self.smooth_m(depth)).into_iter().fold(f64::INFINITY, f64::min) - 1e-3
            }
        }
    }

    /// The spacing before rounding; the first one if all sections share their spacings.
    pub(crate) fn smooth_m(&self, depth_m: f64) -> f64 {
        match self {
            Self::Fixed(spacings) => spacings[0],
            Self::Following(nodes, spacing_m) => {
                weights(nodes, depth_m).iter().zip(spacing_m).map(|(weight, spacing)| weight * spacing).sum()
            }
        }
    }

    /// One of the spacings of a section, rounded.
    pub(super) fn spacing_m(&self, depth_m: f64, number: usize) -> f64 {
        match self {
            Self::Fixed(spacings) => spacings[number],
            Self::Following(..) => {
                rounded((self.smooth_m(depth_m) / WORKSHOP_STEP_M).round() * WORKSHOP_STEP_M)
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn steps_are_round_and_hold_both_ends() {
        let radii = steps([0.14, 0.22], 41);
        assert_eq!((radii.len(), radii[0], radii[40]), (41, 0.14, 0.22));
        assert_relative_eq!(radii[1] - radii[0], 0.002, max_relative = 1e-6);
        assert_eq!(steps([0.15, 0.15], 41), [0.15]);
        assert_eq!(steps([0.1503, 0.1509], 41).first(), Some(&0.1503));
        assert!(steps([0.001, 1e6], 41).len() <= 43);
    }

    #[test]
    fn counts_are_whole_and_a_wide_range_is_thinned() {
        let wire = Wire {
            name: None,
            conductor: crate::constants::Conductor::Copper,
            bare_diameter_m: 0.95e-3,
            overall_diameter_m: 1e-3,
            thermal_class_celsius: None,
        };
        assert_eq!(turns_per_layer(&wire, [0.0102, 0.0205]), (10..=20).collect::<Vec<_>>());
        assert!(layers(&wire, [0.0101, 0.0102]).is_empty());
        assert!(layers(&wire, [0.001, 10.0]).len() <= 200);
        assert_eq!(wound_section_m(&wire, 20, 8), [0.0204, 0.0084]);
    }

    #[test]
    fn spacings_between_the_nodes_are_those_of_the_exact_series() {
        let space = Space {
            wires: vec![],
            connections: vec![],
            mean_radii_m: vec![0.17],
            width_m: [0.01, 0.04],
            depth_m: [0.006, 0.04],
            spacing: SpacingChoice::SecondOrder,
        };
        let spacings = Spacings::of(&space, 0.17, None).unwrap();
        for (width_m, depth_m) in [(0.01, 0.006), (0.023, 0.017), (0.04, 0.04), (0.012, 0.036)] {
            let section = Section { mean_radius_m: 0.17, width_m, depth_m };
            let exact = spacing::second_order_spacing_m(&section).unwrap();
            let found = spacings.row(width_m).spacing_m(depth_m, 0);
            // Half of the rounding step, and a little for the polynomial.
            assert!((found - exact).abs() < 0.55e-4, "{width_m} x {depth_m}: {found} for {exact}");
        }
    }
}
