//! Temperatures of copper and hottest surface at the end of the time, for thousands of windings.
//!
//! The heating model is evaluated at a few sections and radii, at one rise of the copper, whatever limit is wished for
//! the surface. The figures are the heat lost and how it grows with the rise, the hottest surface's share of the
//! copper's rise, and, if a time is wished, the heat that the coil stores meanwhile. They are smooth between the nodes.
//! A winding is then treated as one body. It generates heat that grows as its copper warms, loses heat as a power of
//! its rise, and stores heat in its wire and in the parts beside it. At a surface 34 K above the room, this agrees with
//! the heating model within 0.5 K (tested for wires from 0.2 mm to 1.9 mm, no former, wood and metal, 5 min to 3 h).
//! The windings shown are computed with the model itself.
//!
//! Nothing here depends on a limit, and neither more heat nor a longer time ever makes a coil cooler. So raising a
//! limit or shortening a time never removes a winding.

use super::between::weights;
use super::wishes::{Wishes, wished_holding};
use crate::Result;
use crate::physics::field::Section;
use crate::physics::heat::circuit::Drive;
use crate::physics::heat::{HeatedPair, HeldFor};
use rayon::prelude::*;

/// Mean rise of the copper at the nodes.
const REFERENCE_KELVIN: f64 = 40.0;
/// The two rises between which the exponents are taken.
const POWERS_BETWEEN_KELVIN: [f64; 2] = [25.0, 64.0];
/// Nodes along mean radius, width and depth.
const NODES: usize = 3;
/// Newton steps, in logarithms, to make the rise consistent with the cooling at that rise.
const ROUNDS: usize = 2;
/// Largest logarithm of the rise over the reference at which the cooling is evaluated, hotter than any limit. Without
/// it an absurd current would cool the coil by its own heat.
const HOTTEST: f64 = 2.0;
/// Fraction of the steady rise that counts as all of it.
const SETTLED: f64 = 0.999;

/// The figures of a section, in the order of the constants below.
type Figures = [f64; 6];
/// Logarithm of the heat, in watts, that one coil loses at [`REFERENCE_KELVIN`].
const LOSS: usize = 0;
/// Exponent with which that loss grows with the rise.
const LOSS_POWER: usize = 1;
/// Logarithm of the hottest surface's share of the copper's rise at [`REFERENCE_KELVIN`].
const SHARE: usize = 2;
/// Exponent with which that share grows with the rise.
const SHARE_POWER: usize = 3;
/// Effective heat capacity beside the winding's own, J/K; negative if less than the winding's own counts.
const BESIDE: usize = 4;
/// Effective heat capacity for the rise of the surface, which lags behind the copper, J/K.
const BESIDE_SURFACE: usize = 5;

/// The heating of a winding at its largest current.
#[derive(Clone, Copy, Debug)]
pub(super) struct Heat {
    /// Power of one coil at 20 °C.
    pub coil_watt_at_20_celsius: f64,
    /// Increase of its power per kelvin, relative to 20 °C.
    pub coefficient_per_kelvin: f64,
    /// Heat capacity of one coil's winding.
    pub winding_joule_per_kelvin: f64,
}

/// Rises above the room.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Rises {
    /// Of the copper's mean.
    pub copper_kelvin: f64,
    /// Of the hottest surface.
    pub surface_kelvin: f64,
}

/// The heating model at its nodes.
pub(super) struct HeatTable {
    axes: [[f64; NODES]; 3],
    nodes: Vec<Figures>,
    room_celsius: f64,
    /// The time; `None` for the steady state.
    seconds: Option<f64>,
}

/// The figures for one mean radius and width, at the nodes of the depth.
pub(super) struct HeatRow {
    along_depth: [Figures; NODES],
}

/// The figures of one section.
#[derive(Clone, Copy, Debug)]
pub(super) struct Warming {
    figures: Figures,
    room_celsius: f64,
    seconds: Option<f64>,
}

impl HeatTable {
    /// For a search over ranges of mean radius, width and depth; `None` if nothing is to be held for any time.
    pub(super) fn of(wishes: &Wishes, ranges: [[f64; 2]; 3]) -> Result<Option<Self>> {
        let seconds = match wished_holding(Some(wishes.wanted)) {
            HeldFor::SwitchOn => return Ok(None),
            HeldFor::Seconds(seconds) => Some(seconds),
            HeldFor::Ever => None,
        };
        let axes = ranges
            .map(|[low, high]| std::array::from_fn(|i| low + (high - low) * i as f64 / (NODES - 1) as f64));
        let nodes = (0..NODES * NODES * NODES)
            .into_par_iter()
            .map(|number| {
                let [radius, width, depth] = node(&axes, number);
                let section =
                    Section { mean_radius_m: radius, width_m: width, depth_m: depth.min(1.2 * radius) };
                ask(wishes, &section, seconds)
            })
            .collect::<Result<_>>()?;
        Ok(Some(Self { axes, nodes, room_celsius: wishes.room_celsius, seconds }))
    }

    /// Interpolated for one mean radius and width.
    pub(super) fn row(&self, mean_radius_m: f64, width_m: f64) -> HeatRow {
        let [along_radius, along_width] =
            [weights(&self.axes[0], mean_radius_m), weights(&self.axes[1], width_m)];
        let mut along_depth = [[0.0; 6]; NODES];
        for (number, node) in self.nodes.iter().enumerate() {
            let [i, j, k] = places(number);
            let weight = along_radius[i] * along_width[j];
            for (sum, value) in along_depth[k].iter_mut().zip(node) {
                *sum += weight * value;
            }
        }
        HeatRow { along_depth }
    }

    /// Interpolated for one section of a row.
    pub(super) fn warming(&self, row: &HeatRow, depth_m: f64) -> Warming {
        let mut figures = [0.0; 6];
        for (weight, node) in weights(&self.axes[2], depth_m).into_iter().zip(&row.along_depth) {
            for (sum, value) in figures.iter_mut().zip(node) {
                *sum += weight * value;
            }
        }
        figures[LOSS] = figures[LOSS].exp();
        figures[SHARE] = figures[SHARE].exp();
        Warming { figures, room_celsius: self.room_celsius, seconds: self.seconds }
    }
}

impl Warming {
    /// Rise of copper and hottest surface above the room by the end of the time; infinite if nothing stops the warming.
    pub(crate) fn rises(&self, heat: &Heat) -> Rises {
        let copper = self.logarithm(heat, self.figures[BESIDE], 0.0, ROUNDS);
        let copper_kelvin = REFERENCE_KELVIN * copper.exp();
        if !copper_kelvin.is_finite() {
            return Rises { copper_kelvin, surface_kelvin: f64::INFINITY };
        }
        // The surface has the share of the copper's rise of a settled coil, for a body of larger capacity.
        let behind = match self.seconds {
            Some(_) => self.logarithm(heat, self.figures[BESIDE_SURFACE], copper, 1),
            None => copper,
        };
        let share = self.figures[SHARE] * (self.figures[SHARE_POWER] * behind).exp();
        Rises { copper_kelvin, surface_kelvin: REFERENCE_KELVIN * behind.exp() * share.min(1.0) }
    }

    /// Logarithm of a one-body coil's rise over the reference, from a first guess.
    ///
    /// With the conductance G taken at the final rise, C dθ/dt = P₀ + (P₁ − G) θ. Hence θ = (P₀ t/C) (1 − e^(−x))/x
    /// with x = (G − P₁) t/C, and θ = P₀/(G − P₁) in the steady state.
    fn logarithm(&self, heat: &Heat, beside: f64, guess: f64, rounds: usize) -> f64 {
        let growth = heat.coil_watt_at_20_celsius * heat.coefficient_per_kelvin;
        let cold = heat.coil_watt_at_20_celsius + growth * (self.room_celsius - 20.0);
        let capacity = (heat.winding_joule_per_kelvin + beside).max(0.2 * heat.winding_joule_per_kelvin);
        let at_reference = self.figures[LOSS] / REFERENCE_KELVIN;
        let power = self.figures[LOSS_POWER] - 1.0;
        let mut logarithm = guess;
        for _ in 0..rounds {
            let conductance = at_reference * (power * logarithm.min(HOTTEST)).exp();
            let excess = conductance - growth;
            // The rise, and the slope of its logarithm against that of the excess, with the sign reversed.
            let (rise, steepness) = match self.seconds {
                Some(seconds) => {
                    let x = excess * seconds / capacity;
                    let approached = -(-x).exp_m1();
                    match x.abs() < 1e-6 {
                        true => (cold * seconds / capacity, 0.0),
                        false => (cold / excess * approached, 1.0 - x * (1.0 - approached) / approached),
                    }
                }
                None if excess > 0.0 => (cold / excess, 1.0),
                None => (f64::INFINITY, 1.0),
            };
            if !rise.is_finite() {
                return f64::INFINITY;
            }
            // Newton step to the rise at which the cooling belongs to the rise itself.
            let by = (rise.max(f64::MIN_POSITIVE) / REFERENCE_KELVIN).ln() - logarithm;
            let slope = if steepness == 0.0 { 0.0 } else { power * steepness * conductance / excess };
            logarithm += by / (1.0 + slope);
        }
        logarithm
    }
}

/// The indices of a node along the three axes.
fn places(number: usize) -> [usize; 3] {
    [number / (NODES * NODES), number / NODES % NODES, number % NODES]
}

/// The mean radius, width and depth of a node.
fn node(axes: &[[f64; NODES]; 3], number: usize) -> [f64; 3] {
    let places = places(number);
    std::array::from_fn(|axis| axes[axis][places[axis]])
}

/// Evaluates the heating model for a section filled with ordinary wire.
fn ask(wishes: &Wishes, section: &Section, seconds: Option<f64>) -> Result<Figures> {
    let pair = HeatedPair::of(&wishes.typical_bench(section))?;
    let coil = &pair.coils[0];
    let settled = |rise: f64| {
        let at = coil.settled(pair.room_celsius + rise);
        let surface = at.surface_celsius.into_iter().fold(f64::NEG_INFINITY, f64::max) - pair.room_celsius;
        [at.loss_watt, surface / rise].map(f64::ln)
    };
    let [low, high] = POWERS_BETWEEN_KELVIN.map(settled);
    let apart = (POWERS_BETWEEN_KELVIN[1] / POWERS_BETWEEN_KELVIN[0]).ln();
    let [loss, share] = settled(REFERENCE_KELVIN);
    let figures = [
        loss,
        (high[0] - low[0]) / apart,
        share,
        (high[1] - low[1]) / apart,
        coil.wall_joule_per_kelvin.iter().sum(),
        0.0,
    ];
    let long_ago = 100.0 * pair.rough_time_constant_s();
    match seconds.filter(|seconds| *seconds < long_ago) {
        Some(seconds) => in_time(&pair, &figures, seconds),
        None => Ok(figures),
    }
}

/// The figures with the capacities for a given time, from one run of the model that ends near the reference.
fn in_time(pair: &HeatedPair, settled: &Figures, seconds: f64) -> Result<Figures> {
    let coil = &pair.coils[0];
    let coefficient_per_kelvin = pair.circuit.coefficient_per_kelvin;
    // The power that, with half of the walls' capacity, reaches the reference by an exponential approach in this time.
    let loss_watt = settled[LOSS].exp();
    let capacity = coil.winding_joule_per_kelvin + 0.5 * settled[BESIDE];
    let approached = -(-loss_watt / REFERENCE_KELVIN * seconds / capacity).exp_m1();
    let ratio = 1.0 + coefficient_per_kelvin * (pair.room_celsius + REFERENCE_KELVIN - 20.0);
    let heat = Heat {
        coil_watt_at_20_celsius: loss_watt / approached / ratio,
        coefficient_per_kelvin,
        winding_joule_per_kelvin: coil.winding_joule_per_kelvin,
    };
    let ampere = (heat.coil_watt_at_20_celsius / pair.circuit.coil_at_20_celsius_ohm[0]).sqrt();
    let state = pair.roughly_after(ampere, seconds)?;
    let surface = pair.moment(&Drive::held(ampere), &state).hottest_surface_celsius() - pair.room_celsius;
    let rise = state.mean_celsius[0] - pair.room_celsius;
    let mut figures = *settled;
    let beside = |rise: f64| {
        capacity_for(&heat, rise, settled, pair.room_celsius, seconds) - coil.winding_joule_per_kelvin
    };
    figures[BESIDE] = beside(rise);
    // The copper rise of a settled coil with this surface, from surface = θ · share · (θ/reference)^power.
    let over_reference = (surface / REFERENCE_KELVIN).ln() - settled[SHARE];
    figures[BESIDE_SURFACE] =
        beside(REFERENCE_KELVIN * (over_reference / (1.0 + settled[SHARE_POWER])).exp());
    Ok(figures)
}

/// The heat capacity with which [`Warming::rises`] gives this rise of the copper after the time.
fn capacity_for(heat: &Heat, rise: f64, figures: &Figures, room_celsius: f64, seconds: f64) -> f64 {
    let growth = heat.coil_watt_at_20_celsius * heat.coefficient_per_kelvin;
    let cold = heat.coil_watt_at_20_celsius + growth * (room_celsius - 20.0);
    let at_reference = figures[LOSS].exp() / REFERENCE_KELVIN;
    let excess = at_reference * (rise / REFERENCE_KELVIN).powf(figures[LOSS_POWER] - 1.0) - growth;
    // θ (G − P₁)/P₀ = 1 − e^(−x).
    let x = -(1.0 - (rise * excess / cold).min(SETTLED)).ln();
    if x.abs() < 1e-9 { cold * seconds / rise } else { excess * seconds / x }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::constants::Conductor;
    use crate::files::spec::wanted_from_text;
    use crate::numeric::roots::brent_root;
    use crate::pair::Connection;
    use crate::pair::wires::stock_wires;
    use crate::physics::heat::pack::wire_joule_per_m_kelvin;
    use crate::questions::size::space::wound_section_m;
    use crate::questions::size::wishes::spec_winding;
    use std::f64::consts::TAU;

    const RANGES: [[f64; 2]; 3] = [[0.135, 0.2], [0.012, 0.036], [0.008, 0.036]];
    const LIMIT_CELSIUS: f64 = 55.0;

    /// Stock wire, mean radius, turns per layer, layers: thin and thick, at the edges and in the middle of the ranges.
    const WINDINGS: [(&str, f64, u32, u32); 4] = [
        ("0.2 mm grade 2", 0.15, 60, 40),
        ("0.53 mm grade 2", 0.135, 20, 18),
        ("AWG 18 heavy", 0.17, 16, 12),
        ("1.9 mm grade 1", 0.2, 14, 10),
    ];

    /// For each winding, at the current for which the search puts the surface just at its limit in the time wished: the
    /// surface by the heating model after that time.
    fn at_the_edge_of_the_search(former: &str, carried: &str) -> Vec<f64> {
        let text = format!(
            r#"{{ "title": "Warm", "largest_field": "1.5 mT", {former} "time_at_largest_current": "{carried}",
                 "surface_temperature_limit": "{LIMIT_CELSIUS} degC", "room": {{ "temperature": "21 degC" }},
                 "search": {{ "mean_radius": ["135 mm", "200 mm"], "width": ["12 mm", "36 mm"], "depth": ["8 mm", "36 mm"],
                              "spacing": "radius", "connection": ["series"], "wires": "stock" }} }}"#
        );
        let wanted = wanted_from_text("wishes.json", &text).unwrap();
        let wishes = Wishes::of(&wanted);
        let table = HeatTable::of(&wishes, RANGES).unwrap().unwrap();
        let of_winding = |(wire, radius, turns_per_layer, layers): (&str, f64, u32, u32)| {
            let wire = stock_wires()
                .iter()
                .map(|wire| wire.wire(Conductor::Copper, None))
                .find(|stock| stock.name.as_deref() == Some(wire))
                .unwrap();
            let [width_m, depth_m] = wound_section_m(&wire, turns_per_layer, layers);
            let section = Section { mean_radius_m: radius, width_m, depth_m };
            let turns = f64::from(turns_per_layer * layers);
            let winding = spec_winding(turns, Some([layers, turns_per_layer]), wire.clone());
            let bench = wishes.bench(&section, radius, Connection::Series, winding);
            let pair = HeatedPair::of(&bench).unwrap();
            let warming = table.warming(&table.row(radius, width_m), depth_m);
            let heat = |ampere: f64| Heat {
                coil_watt_at_20_celsius: ampere * ampere * pair.circuit.coil_at_20_celsius_ohm[0],
                coefficient_per_kelvin: wire.conductor.resistance_coefficient_per_kelvin(),
                winding_joule_per_kelvin: wire_joule_per_m_kelvin(&wire) * TAU * radius * turns,
            };
            let over = |ampere: f64| {
                let rise = warming.rises(&heat(ampere)).surface_kelvin;
                (rise / (LIMIT_CELSIUS - wishes.room_celsius)).clamp(1e-6, 1e3).ln()
            };
            let edge = brent_root(over, 0.02, 50.0, 1e-9);
            assert!(edge.converged());
            let drive = Drive::held(edge.at);
            pair.hottest_surface_celsius_after(&drive, wishes.carried_s).unwrap().unwrap()
        };
        WINDINGS.into_iter().map(of_winding).collect()
    }

    #[test]
    fn the_edge_of_the_search_is_the_heating_models_within_half_a_kelvin() {
        let plywood = r#""former": { "material": "plywood", "wall": "5 mm" },"#;
        let aluminium = r#""former": { "material": "aluminium", "wall": "3 mm" },"#;
        // The limit is 34 K above the room: 0.5 K is 1.5 % of the rise.
        for (former, carried) in
            [("", "5 min"), ("", "3 h"), (plywood, "20 min"), (aluminium, "5 min"), (aluminium, "3 h")]
        {
            for ((wire, ..), celsius) in WINDINGS.into_iter().zip(at_the_edge_of_the_search(former, carried))
            {
                let off = celsius - LIMIT_CELSIUS;
                assert!(off.abs() < 0.5, "{wire}, {former} {carried}: {off} K");
            }
        }
    }
}
