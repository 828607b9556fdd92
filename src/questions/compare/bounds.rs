//! Bounds a gap in a quote by what the rest of the quote states.
//!
//! The true value of an honest quote lies within every bound. A figure stated of the finished pair counts with its
//! usual tolerance and half a unit of its last digit. If several grounds bound the gap, the narrowest range is taken.

use crate::constants::MU_0;
use crate::files::spec::{Gap, StatedWinding, enamelled};
use crate::pair::wires::{StockWire, stock_wires};
use crate::pair::{Connection, Layout, Packing, StatedByMaker, Winding, Wire};
use serde::Serialize;
use std::f64::consts::{PI, SQRT_2, TAU};

/// What bounds a gap.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Ground {
    /// Inner and outer diameter of the winding, or one of them with the depth.
    Diameters,
    /// The stated resistance and mass.
    ResistanceAndMass,
    /// The stated resistance, with what else is known of the winding.
    Resistance,
    /// The stated mass, with what else is known of the winding.
    Mass,
    /// The stated field constant, with what else is known of turns, mean radius and spacing.
    FieldConstant,
    /// The section, with wire or turns.
    Section,
    /// Layers and turns in a layer.
    Layers,
    /// The wire and the turns.
    WireAndTurns,
    /// The size or the build, which only a few stock wires have.
    Stock,
    /// There are only two ways.
    TwoWays,
}

/// What a gap may be.
#[derive(Clone, Debug)]
pub(super) enum Range {
    /// From one number to another, SI.
    Numbers([f64; 2]),
    /// One of these wires, from the thinnest to the thickest.
    Wires(Vec<Wire>),
    /// One of these connections.
    Connections(Vec<Connection>),
}

pub(super) type Bounded = Option<(Range, Ground)>;

/// Relative tolerance of a stated resistance or mass. Wire drawn to 1 % has a section within 2 % (IEC 60317-0-1); the
/// rest allows for the lead-outs (common practice, no source).
const OF_STATED: f64 = 0.05;
/// Relative tolerance of a stated field constant, for a pair built to half a millimetre (common practice, no source).
const OF_STATED_CONSTANT: f64 = 0.01;
/// A wound section is at least as large as its wires side by side, and at most this factor larger (common practice, no
/// source).
pub(super) const LOOSEST: f64 = 1.3;
/// One side of a section is at most this factor larger than its wires side by side (common practice, no source).
const LOOSEST_SIDE: f64 = 1.1;
/// A resistance or a field constant that differs by less than this factor from that of a connection speaks for it.
const NEAR: f64 = 1.3;
/// Smallest and largest width over depth, if neither is known (common practice, no source).
const SHAPES: [f64; 2] = [0.3, 3.5];
/// Pitch of nested layers over the wire's diameter, √3/2.
pub(super) const NESTED_PITCH: f64 = 0.866_025_403_784_438_6;
/// Relative slack, so that rounding does not reject turns that fit exactly.
const SLACK: f64 = 1e-6;

/// What is known of a quote while a gap is bounded.
pub(super) struct Known<'a> {
    pub(super) winding: &'a StatedWinding,
    pub(super) stated: &'a StatedByMaker,
    pub(super) half_units: &'a StatedByMaker,
    /// Factor on the usual tolerances of stated figures.
    pub(super) slack: f64,
}

impl Known<'_> {
    /// The range of a gap and its ground; `None` if nothing bounds it.
    pub(super) fn bounded(&self, gap: Gap) -> Bounded {
        match gap {
            Gap::MeanRadius => self.mean_radius(),
            Gap::Width => self.width(),
            Gap::Depth => self.depth(),
            Gap::Turns => self.turns(),
            Gap::Wire => self.wire(),
            Gap::Spacing => self.spacing(),
            Gap::Connection => Some(self.connection()),
        }
    }

    /// The connections that a stated field constant and resistance allow; both if they do not decide. In parallel the
    /// pair has half the field constant and a quarter of the resistance, so a rough comparison suffices.
    fn connection(&self) -> (Range, Ground) {
        let winding = self.winding;
        let by_field = || {
            let turns = winding.turns?;
            let each = thin_pair_field(winding.mean_radius_m?, winding.spacing_m?);
            Some(self.field_constant()?.map(|constant| constant / (turns * each)))
        };
        let by_resistance = || {
            let wire = self.one_conductor()?;
            let length = TAU * winding.mean_radius_m? * winding.turns?;
            let coil = wire.conductor.resistivity_at_20_celsius_ohm_m() * length / wire.conductor_area_m2();
            let [low, high] = self.stated(|it| it.resistance_ohm, OF_STATED)?;
            let without_leads = (low - winding.lead_ohm.unwrap_or(0.0)).max(0.1 * low);
            Some([without_leads, high].map(|ohm| ohm / (2.0 * coil)))
        };
        // Each as a fraction of its value in series. A value near that of neither connection tells nothing, because
        // something else in the quote is wrong then.
        let near = |[low, high]: [f64; 2], parallel: f64| {
            let found = (low * high).sqrt();
            let is_near = |value: f64| (1.0 / NEAR..NEAR).contains(&(found / value));
            match (is_near(1.0), is_near(parallel)) {
                (true, _) => Some(Connection::Series),
                (_, true) => Some(Connection::Parallel),
                _ => None,
            }
        };
        let told = [
            (by_field().and_then(|part| near(part, 0.5)), Ground::FieldConstant),
            (by_resistance().and_then(|part| near(part, 0.25)), Ground::Resistance),
        ];
        match told {
            [(Some(field), _), (Some(resistance), _)] if field != resistance => {
                (Range::Connections(vec![Connection::Series, Connection::Parallel]), Ground::TwoWays)
            }
            [(Some(one), ground), _] | [_, (Some(one), ground)] => (Range::Connections(vec![one]), ground),
            _ => (Range::Connections(vec![Connection::Series, Connection::Parallel]), Ground::TwoWays),
        }
    }

    /// Smallest and largest true value of a stated figure with the relative tolerance `part`, rounded to its last
    /// digit.
    fn stated(&self, of: fn(&StatedByMaker) -> Option<f64>, part: f64) -> Option<[f64; 2]> {
        let value = of(self.stated)?;
        let off = self.slack * part * value + of(self.half_units).unwrap_or(0.0);
        Some([(value - off).max(0.01 * value), value + off])
    }

    fn field_constant(&self) -> Option<[f64; 2]> {
        self.stated(|it| it.field_constant_tesla_per_ampere, OF_STATED_CONSTANT)
    }

    fn inner_diameter(&self) -> Option<[f64; 2]> {
        self.stated(|it| it.inner_diameter_m, 0.0)
    }

    fn outer_diameter(&self) -> Option<[f64; 2]> {
        self.stated(|it| it.outer_diameter_m, 0.0)
    }

    /// Resistance of one coil at 20 °C. A stated resistance of the pair may include the leads or not.
    fn coil_ohm(&self) -> Option<[f64; 2]> {
        let [low, high] = self.stated(|it| it.resistance_ohm, OF_STATED)?;
        let share = if self.winding.parallel { 2.0 } else { 0.5 };
        let without_leads = (low - self.winding.lead_ohm.unwrap_or(0.0)).max(0.1 * low);
        Some([share * without_leads, share * high])
    }

    fn coil_kg(&self) -> Option<[f64; 2]> {
        Some(self.stated(|it| it.conductor_mass_kg, OF_STATED)?.map(|pair| 0.5 * pair))
    }

    /// The wire, if exactly one is known.
    fn one_wire(&self) -> Option<&Wire> {
        match &self.winding.wires[..] {
            [wire] => Some(wire),
            _ => None,
        }
    }

    /// The wire, if its conductor is known and only its enamel may be missing.
    fn one_conductor(&self) -> Option<&Wire> {
        let (first, others) = self.winding.wires.split_first()?;
        let bare_m = first.bare_diameter_m;
        others.iter().all(|wire| wire.bare_diameter_m == bare_m).then_some(first)
    }

    fn section(&self) -> Option<f64> {
        Some(self.winding.width_m? * self.winding.depth_m?)
    }

    /// Ways in which the wires may lie.
    fn packings(&self) -> Vec<Packing> {
        self.winding.packing.map_or_else(|| vec![Packing::Square, Packing::Nested], |packing| vec![packing])
    }

    /// Smallest cross-section that a wire takes up, over its diameter squared.
    fn least_part(&self) -> f64 {
        if self.packings().contains(&Packing::Nested) { NESTED_PITCH } else { 1.0 }
    }

    /// Turns that count for the pair's field constant: half of them if the coils are in parallel.
    fn acting_turns(&self) -> Option<f64> {
        Some(self.winding.turns? * if self.winding.parallel { 0.5 } else { 1.0 })
    }

    /// Length of the wire of one coil, with its ground.
    fn wire_length(&self) -> Option<([f64; 2], Ground)> {
        let wire = self.one_conductor()?;
        let area = wire.conductor_area_m2();
        let rho = wire.conductor.resistivity_at_20_celsius_ohm_m();
        let density = wire.conductor.density_kg_per_m3();
        let by_resistance = self.coil_ohm().map(|ohm| (ohm.map(|ohm| ohm * area / rho), Ground::Resistance));
        let by_mass = || Some((self.coil_kg()?.map(|kg| kg / (density * area)), Ground::Mass));
        by_resistance.or_else(by_mass)
    }

    fn mean_radius(&self) -> Bounded {
        let depth = self.winding.depth_m;
        let by_diameters = match (self.inner_diameter(), self.outer_diameter(), depth) {
            (Some(inner), Some(outer), _) if outer[1] > inner[0] => {
                Some([0, 1].map(|end| 0.25 * (inner[end] + outer[end])))
            }
            (Some(inner), _, Some(depth)) => Some(inner.map(|inner| 0.5 * (inner + depth))),
            (_, Some(outer), Some(depth)) if outer[0] > depth => {
                Some(outer.map(|outer| 0.5 * (outer - depth)))
            }
            _ => None,
        };
        if let Some(ends) = by_diameters {
            return numbers(ends, Ground::Diameters);
        }
        let by_length = || {
            let (length, ground) = self.wire_length()?;
            let turns = self.winding.turns?;
            numbers(length.map(|length| length / (TAU * turns)), ground)
        };
        narrowest([self.mean_radius_by_field(), by_length()])
    }

    /// Mean radius from the field constant. Two radii have the same constant; this is the larger, R ≥ s/√2, because a
    /// pair set further apart gives no uniform field.
    fn mean_radius_by_field(&self) -> Bounded {
        let [low, high] = self.field_constant()?;
        let (turns, spacing) = (self.acting_turns()?, self.winding.spacing_m?);
        let least = spacing / SQRT_2;
        let field = |radius: f64| turns * thin_pair_field(radius, spacing);
        if low >= field(least) {
            return None;
        }
        // μ0 N/R exceeds the pair's field constant, so this radius is beyond the root.
        let radius = |constant: f64| falling(field, constant, [least, MU_0 * turns / constant]);
        numbers([radius(high.min(field(least))), radius(low)], Ground::FieldConstant)
    }

    fn turns(&self) -> Bounded {
        let winding = self.winding;
        let whole =
            |ends: [f64; 2], ground| numbers([ends[0].max(1.0).floor(), ends[1].max(1.0).ceil()], ground);
        let by_field = || {
            let share = if winding.parallel { 0.5 } else { 1.0 };
            let each = share * thin_pair_field(winding.mean_radius_m?, winding.spacing_m?);
            whole(self.field_constant()?.map(|constant| constant / each), Ground::FieldConstant)
        };
        let by_length = || {
            let (length, ground) = self.wire_length()?;
            let radius = winding.mean_radius_m?;
            whole(length.map(|length| length / (TAU * radius)), ground)
        };
        let by_layers = || {
            let (layers, beside) = (f64::from(winding.layers?), f64::from(winding.turns_per_layer?));
            numbers([(layers - 1.0) * beside + 1.0, layers * beside], Ground::Layers)
        };
        let by_section = || {
            let side_by_side = self.section()? / self.one_wire()?.overall_diameter_m.powi(2);
            let ends = [side_by_side / LOOSEST, side_by_side / self.least_part()];
            numbers([ends[0].max(1.0).ceil(), (ends[1] * (1.0 + SLACK)).max(1.0).floor()], Ground::Section)
        };
        narrowest([by_field(), by_length(), by_layers(), by_section()])
    }

    fn spacing(&self) -> Bounded {
        let radius = self.winding.mean_radius_m?;
        let turns = self.acting_turns()?;
        let of = |constant: f64| {
            let reach = (MU_0 * turns * radius.powi(2) / constant).powf(2.0 / 3.0) - radius.powi(2);
            (reach > 0.0).then(|| 2.0 * reach.sqrt())
        };
        let [low, high] = self.field_constant()?;
        // The smallest spacing is that of coils that touch.
        let nearest = self.winding.width_m.unwrap_or(0.1 * radius);
        let farthest = of(low)?;
        numbers([of(high).unwrap_or(nearest).max(nearest).min(farthest), farthest], Ground::FieldConstant)
    }

    fn width(&self) -> Bounded {
        let (wire, turns) = (self.one_wire()?.overall_diameter_m, self.winding.turns?);
        if let Some(beside) = self.winding.turns_per_layer {
            return self.side(|packing| beside_width(f64::from(beside), wire, packing), 0.0);
        }
        if let Some(layers) = self.winding.layers {
            let beside = (turns / f64::from(layers)).ceil();
            return self.side(|packing| beside_width(beside, wire, packing), 0.0);
        }
        let area = turns * wire * wire;
        match self.winding.depth_m {
            Some(depth) => {
                self.side(|packing| tight_width(turns, wire, depth, packing), LOOSEST * area / depth)
            }
            // Wide enough that the turns fit, whatever the shape.
            None => numbers(SHAPES.map(|shape| (LOOSEST_SIDE * area * shape).sqrt()), Ground::WireAndTurns),
        }
    }

    fn depth(&self) -> Bounded {
        if let (Some(inner), Some(outer)) = (self.inner_diameter(), self.outer_diameter())
            && outer[0] > inner[1]
        {
            return numbers([0.5 * (outer[0] - inner[1]), 0.5 * (outer[1] - inner[0])], Ground::Diameters);
        }
        let (wire, turns) = (self.one_wire()?.overall_diameter_m, self.winding.turns?);
        let beside = self.winding.turns_per_layer.map(|beside| (turns / f64::from(beside)).ceil());
        if let Some(layers) = self.winding.layers.map(f64::from).or(beside) {
            return self.side(|packing| layers_depth(layers, wire, packing), 0.0);
        }
        let area = turns * wire * wire;
        match self.winding.width_m {
            Some(width) => {
                self.side(|packing| tight_depth(turns, wire, width, packing), LOOSEST * area / width)
            }
            None => numbers(SHAPES.map(|shape| (LOOSEST_SIDE * area / shape).sqrt()), Ground::WireAndTurns),
        }
    }

    /// One side of the section: from the least that its wires take to the most that a loose winding takes.
    fn side(&self, tight: impl Fn(Packing) -> f64, loose: f64) -> Bounded {
        let sides = self.packings().into_iter().map(tight);
        let [least, most] = sides.fold([f64::INFINITY, 0.0], |[low, high], it| [low.min(it), high.max(it)]);
        let fitting = 1.0 + SLACK;
        numbers([fitting * least, loose.max(LOOSEST_SIDE * most)], Ground::WireAndTurns)
    }

    fn wire(&self) -> Bounded {
        let fitting = |wires: Vec<Wire>, ground| {
            let fitting: Vec<Wire> = wires.iter().filter(|wire| self.fits_section(wire)).cloned().collect();
            // If no wire fits, keep all: each then reports its own problem.
            let mut wires = if fitting.is_empty() { wires } else { fitting };
            wires.sort_by(|one, other| {
                let bare = one.bare_diameter_m.total_cmp(&other.bare_diameter_m);
                bare.then(one.overall_diameter_m.total_cmp(&other.overall_diameter_m))
            });
            Some((Range::Wires(wires), ground))
        };
        if !self.winding.wires.is_empty() {
            return fitting(self.winding.wires.clone(), Ground::Stock);
        }
        if let Some((area, ground)) = self.conductor_area() {
            // The wire is drawn to 1 %.
            let [thin, thick] = area.map(|area| (4.0 * area / PI).sqrt());
            let (least, most) = (0.99 * thin, 1.01 * thick);
            let stock = self.stock(&|it| (least..=most).contains(&it.bare_diameter_m));
            let made =
                || enamelled(thin, thick, self.winding.conductor, self.winding.thermal_class_celsius).into();
            return fitting(stock.unwrap_or_else(made), ground);
        }
        let room = (self.section()? / self.winding.turns?).sqrt();
        let (least, most) = (room / LOOSEST.sqrt(), room / self.least_part().sqrt() * (1.0 + SLACK));
        let stock = self.stock(&|it| (least..=most).contains(&it.overall_diameter_m))?;
        fitting(stock, Ground::Section)
    }

    /// Section of the conductor, from resistance and mass, or from one of them with the wire's length.
    fn conductor_area(&self) -> Option<([f64; 2], Ground)> {
        let rho = self.winding.conductor.resistivity_at_20_celsius_ohm_m();
        let density = self.winding.conductor.density_kg_per_m3();
        let (ohm, kg) = (self.coil_ohm(), self.coil_kg());
        if let (Some(ohm), Some(kg)) = (ohm, kg) {
            let area = |kg: f64, ohm: f64| (kg * rho / (density * ohm)).sqrt();
            return Some(([area(kg[0], ohm[1]), area(kg[1], ohm[0])], Ground::ResistanceAndMass));
        }
        let length = TAU * self.winding.mean_radius_m? * self.winding.turns?;
        let by_resistance =
            ohm.map(|[low, high]| ([high, low].map(|ohm| rho * length / ohm), Ground::Resistance));
        by_resistance.or_else(|| kg.map(|kg| (kg.map(|kg| kg / (density * length)), Ground::Mass)))
    }

    /// Stock wires that fit and have the stated build; `None` if there are none.
    fn stock(&self, fits: &dyn Fn(&StockWire) -> bool) -> Option<Vec<Wire>> {
        let of_build = |it: &StockWire| self.winding.build.is_none_or(|build| it.build == build);
        let found: Vec<Wire> = stock_wires()
            .iter()
            .filter(|it| of_build(it) && fits(it))
            .map(|it| it.wire(self.winding.conductor, self.winding.thermal_class_celsius))
            .collect();
        (!found.is_empty()).then_some(found)
    }

    /// Whether the wire's turns fit the section. True if one of them is unknown.
    fn fits_section(&self, wire: &Wire) -> bool {
        let stated = self.winding;
        let (Some(width), Some(depth), Some(turns)) = (stated.width_m, stated.depth_m, stated.turns) else {
            return true;
        };
        let bench_of = |packing| Winding {
            layers: stated.layers,
            turns_per_layer: stated.turns_per_layer,
            packing,
            ..Winding::new(depth, width, depth, turns, wire.clone())
        };
        self.packings().into_iter().any(|packing| {
            let layout = Layout::of(&bench_of(packing));
            layout.holds_all_turns() && layout.fits_width() && layout.fits_depth()
        })
    }
}

fn numbers(ends: [f64; 2], ground: Ground) -> Bounded {
    (ends[0] <= ends[1]).then_some((Range::Numbers(ends), ground))
}

/// The narrowest of several ranges of numbers, each with its ground.
fn narrowest(all: impl IntoIterator<Item = Bounded>) -> Bounded {
    let width = |(range, _): &(Range, Ground)| match range {
        Range::Numbers([low, high]) => high - low,
        Range::Wires(_) | Range::Connections(_) => f64::INFINITY,
    };
    all.into_iter().flatten().min_by(|one, other| width(one).total_cmp(&width(other)))
}

/// Field at the centre of two loops for each turn and ampere, μ0 R²/(R² + s²/4)^(3/2).
fn thin_pair_field(radius: f64, spacing: f64) -> f64 {
    MU_0 * radius.powi(2) / (radius.powi(2) + 0.25 * spacing.powi(2)).powf(1.5)
}

/// Root of `of(x) = value` by bisection, for a falling function.
fn falling(of: impl Fn(f64) -> f64, value: f64, [mut low, mut high]: [f64; 2]) -> f64 {
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if of(middle) > value { low = middle } else { high = middle }
    }
    0.5 * (low + high)
}

/// Width of `beside` turns side by side. Every second nested layer is shifted by half a wire.
fn beside_width(beside: f64, wire: f64, packing: Packing) -> f64 {
    wire * match packing {
        Packing::Square => beside,
        Packing::Nested => beside + 0.5,
    }
}

/// Depth of a number of layers.
fn layers_depth(layers: f64, wire: f64, packing: Packing) -> f64 {
    wire * match packing {
        Packing::Square => layers,
        Packing::Nested => 1.0 + NESTED_PITCH * (layers - 1.0),
    }
}

/// Depth that the turns take in a given width, counted in whole wires.
fn tight_depth(turns: f64, wire: f64, width: f64, packing: Packing) -> f64 {
    let shift = if packing == Packing::Nested { 0.5 } else { 0.0 };
    let beside = (width / wire * (1.0 + SLACK) - shift).floor().max(1.0);
    layers_depth((turns / beside).ceil(), wire, packing)
}

/// Width that the turns take in a given depth, counted in whole wires.
fn tight_width(turns: f64, wire: f64, depth: f64, packing: Packing) -> f64 {
    let deep = depth / wire * (1.0 + SLACK);
    let layers = match packing {
        Packing::Square => deep.floor(),
        Packing::Nested => ((deep - 1.0) / NESTED_PITCH + 1.0).floor(),
    };
    // A single layer has no layer below to nest in.
    let packing = if layers > 1.0 { packing } else { Packing::Square };
    beside_width((turns / layers.max(1.0)).ceil(), wire, packing)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nested_layers_take_their_own_pitch() {
        // 120 turns of 1 mm, 20.5 mm wide: six layers of 20, 1 + 5 × √3/2 mm deep.
        assert!((tight_depth(120.0, 1e-3, 20.5e-3, Packing::Nested) - 5.3301e-3).abs() < 1e-7);
        assert!((tight_depth(120.0, 1e-3, 20.5e-3, Packing::Square) - 6e-3).abs() < 1e-12);
        assert!((tight_width(120.0, 1e-3, 5.34e-3, Packing::Nested) - 20.5e-3).abs() < 1e-12);
        assert!((tight_width(120.0, 1e-3, 5.34e-3, Packing::Square) - 24e-3).abs() < 1e-12);
    }

    #[test]
    fn a_falling_function_is_met_where_it_has_the_value() {
        assert!((falling(|x| 1.0 / x, 0.25, [1.0, 10.0]) - 4.0).abs() < 1e-12);
    }
}
