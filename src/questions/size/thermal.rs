//! How much heat a winding gets rid of before its surface is too hot, for thousands of windings.
//!
//! The heating model is asked at a few sections and radii: what heat holds the hottest surface at its limit for ever,
//! and, where a time is wished, with what heat the surface comes to the limit in just that time. Between these nodes its
//! answers are smooth. A winding is then one body: it makes heat as its copper warms, loses it as a power of its rise,
//! and stores it in its wire and in what the model at the nodes says is stored beside it (the former's walls, and what
//! the surface lags behind). With the current that this lets a winding just carry for the time wished, the heating
//! model's own surface is within 0.5 K of a limit 34 K above the room (tested over wires from 0.2 mm to 1.9 mm, formers
//! of none, wood and metal, 5 min to 3 h); what the windings shown really reach is asked of the model itself.

use super::Wishes;
use crate::Result;
use crate::error::Refused;
use crate::numeric::quadrature::gauss_legendre;
use crate::numeric::roots::brent_root;
use crate::physics::field::Section;
use crate::physics::heat::HeatedPair;
use crate::physics::heat::circuit::Drive;
use crate::physics::heat::transient::{Moment, ThermalState};
use rayon::prelude::*;

/// What the heating model says of one section when its hottest surface is at the limit.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct AtLimit {
    /// Heat that one coil gives to the room.
    loss_watt: f64,
    /// Mean temperature of the copper above the room.
    mean_rise_kelvin: f64,
    /// Heat capacity that counts beside the winding's own; below nought where it counts for less than all of it.
    beside_winding_joule_per_kelvin: f64,
}

impl AtLimit {
    /// Heat capacity of a coil as one body: its winding's and what counts beside it, a fifth of the winding's at least.
    fn joule_per_kelvin(&self, winding_joule_per_kelvin: f64) -> f64 {
        (winding_joule_per_kelvin + self.beside_winding_joule_per_kelvin).max(0.2 * winding_joule_per_kelvin)
    }
}

/// Nodes along mean radius, width and depth.
const NODES: usize = 3;
/// The heat at which a node is followed in time is set anew until it takes the time wished to within this part, or so
/// often.
const NEAR_ENOUGH: f64 = 0.05;
const ROUNDS: usize = 3;

/// The heating model at its nodes.
pub(super) struct SurfaceTable {
    axes: [[f64; NODES]; 3],
    at_limit: Vec<AtLimit>,
    body: Body,
}

/// A coil's loss grows as this power of its rise: convection's 5/4 and radiation's little over 1 together.
const LOSS_POWER: f64 = 1.15;

/// What a winding makes of its largest current.
#[derive(Clone, Copy, Debug)]
pub(super) struct Heat {
    /// Power of one coil at 20 °C.
    pub coil_watt_at_20_celsius: f64,
    /// Growth of its resistance per kelvin, over that at 20 °C.
    pub coefficient_per_kelvin: f64,
    /// Heat capacity of one coil's winding.
    pub winding_joule_per_kelvin: f64,
}

/// A coil as one body that warms.
#[derive(Clone, Copy, Debug)]
struct Body {
    room_celsius: f64,
    carried_s: Option<f64>,
    /// Nodes and weights on 0..1, and the share of the loss at the limit that is lost there.
    warming: [(f64, f64, f64); 6],
}

impl Body {
    fn of(wishes: &Wishes) -> Self {
        let rule = gauss_legendre(6);
        let warming = std::array::from_fn(|i| {
            let x = 0.5 * (1.0 + rule[i].0);
            (x, 0.5 * rule[i].1, x.powf(LOSS_POWER))
        });
        Self { room_celsius: wishes.room_celsius, carried_s: wishes.carried_s, warming }
    }

    /// Heat made by one coil whose mean rise is given.
    fn made_watt(&self, heat: &Heat, rise_kelvin: f64) -> f64 {
        heat.coil_watt_at_20_celsius
            * (1.0 + heat.coefficient_per_kelvin * (self.room_celsius + rise_kelvin - 20.0))
    }

    /// The heat at 20 °C with which the surface comes to its limit in a time; none where the time is so long that it is
    /// as good as for ever.
    fn watt_that_takes(&self, seconds: f64, at: &AtLimit, heat: &impl Fn(f64) -> Heat) -> Option<f64> {
        let capacity = at.joule_per_kelvin(heat(0.0).winding_joule_per_kelvin);
        let excess = |watt: f64| match self.kelvin_s_per_joule(&heat(watt), at) {
            Some(each) => (each * capacity / seconds).ln(),
            None => f64::INFINITY,
        };
        // From what the surface gives off at its limit to what would bring it there in a tenth of the time without loss.
        let least = at.loss_watt / self.made_watt(&heat(1.0), at.mean_rise_kelvin);
        let most = least + 10.0 * capacity * at.mean_rise_kelvin / seconds;
        (excess(least) > 0.0).then(|| brent_root(excess, least, most, 1e-6 * most).at)
    }

    /// Seconds until the surface is at its limit, per J/K of heat capacity; none where it never is:
    /// ∫ dθ/(P(θ) − P_loss (θ/θ_limit)^1.15) from 0 to θ_limit.
    fn kelvin_s_per_joule(&self, heat: &Heat, at: &AtLimit) -> Option<f64> {
        let mut sum = 0.0;
        for (x, weight, share) in self.warming {
            let gain = self.made_watt(heat, x * at.mean_rise_kelvin) - share * at.loss_watt;
            if gain <= 0.0 {
                return None;
            }
            sum += weight / gain;
        }
        Some(at.mean_rise_kelvin * sum)
    }
}

impl SurfaceTable {
    /// Of a search; `None` where no surface temperature is wished.
    pub fn of(wishes: &Wishes, ranges: [[f64; 2]; 3]) -> Result<Option<Self>> {
        let Some(limit_celsius) = wishes.surface_limit_celsius else { return Ok(None) };
        let room_celsius = wishes.room_celsius;
        if limit_celsius <= room_celsius + 1.0 {
            return Err(Refused::SurfaceLimitBelowRoom { limit_celsius, room_celsius }.into());
        }
        let axes = ranges
            .map(|[low, high]| std::array::from_fn(|i| low + (high - low) * i as f64 / (NODES - 1) as f64));
        let body = Body::of(wishes);
        let at_limit = (0..NODES * NODES * NODES)
            .into_par_iter()
            .map(|number| {
                let [radius, width, depth] = node(&axes, number);
                let section =
                    Section { mean_radius_m: radius, width_m: width, depth_m: depth.min(1.2 * radius) };
                ask(wishes, &body, &section, limit_celsius)
            })
            .collect::<Result<_>>()?;
        Ok(Some(Self { axes, at_limit, body }))
    }

    /// How far the wish is missed: the time wished over the time until the surface is too hot, minus one, or, where no
    /// time is wished, heat made over heat lost at the limit, minus one; at most 0 where the wish is met.
    pub fn miss(&self, at: &AtLimit, heat: &Heat) -> f64 {
        let made = self.body.made_watt(heat, at.mean_rise_kelvin);
        let in_the_end = made / at.loss_watt - 1.0;
        let Some(carried_s) = self.body.carried_s.filter(|_| in_the_end > 0.0) else { return in_the_end };
        let Some(kelvin_s_per_joule) = self.body.kelvin_s_per_joule(heat, at) else { return -1.0 };
        carried_s / (at.joule_per_kelvin(heat.winding_joule_per_kelvin) * kelvin_s_per_joule) - 1.0
    }

    /// What the heating model says of a section, between its nodes.
    pub fn at_limit(&self, section: &Section) -> AtLimit {
        let place = [section.mean_radius_m, section.width_m, section.depth_m];
        let weights: [[f64; NODES]; 3] = std::array::from_fn(|axis| weights(&self.axes[axis], place[axis]));
        let mut sum = AtLimit::default();
        for (number, node) in self.at_limit.iter().enumerate() {
            let [i, j, k] = places(number);
            let weight = weights[0][i] * weights[1][j] * weights[2][k];
            sum.loss_watt += weight * node.loss_watt;
            sum.mean_rise_kelvin += weight * node.mean_rise_kelvin;
            sum.beside_winding_joule_per_kelvin += weight * node.beside_winding_joule_per_kelvin;
        }
        sum
    }
}

/// The place of a node along each axis.
fn places(number: usize) -> [usize; 3] {
    [number / (NODES * NODES), number / NODES % NODES, number % NODES]
}

/// The mean radius, width and depth of a node.
fn node(axes: &[[f64; NODES]; 3], number: usize) -> [f64; 3] {
    let places = places(number);
    std::array::from_fn(|axis| axes[axis][places[axis]])
}

/// Weights of the parabola through three nodes; all on the first where they are one.
fn weights(nodes: &[f64; NODES], x: f64) -> [f64; NODES] {
    if nodes[NODES - 1] - nodes[0] <= 1e-9 {
        return [1.0, 0.0, 0.0];
    }
    std::array::from_fn(|i| {
        (0..NODES).filter(|j| *j != i).map(|j| (x - nodes[j]) / (nodes[i] - nodes[j])).product()
    })
}

/// Asks the heating model about a section filled with ordinary wire.
fn ask(wishes: &Wishes, body: &Body, section: &Section, limit_celsius: f64) -> Result<AtLimit> {
    let bench = wishes.typical_bench(section);
    let pair = HeatedPair::of(&bench)?;
    // Where nothing warms the surface to its limit the node stays empty, and every winding near it is too hot.
    let Some(steady) = pair.steady_where(|pair| pair.hottest_surface_celsius() - limit_celsius) else {
        return Ok(AtLimit::default());
    };
    let mut at = AtLimit {
        loss_watt: 0.5 * (steady.coils[0].loss_watt + steady.coils[1].loss_watt),
        mean_rise_kelvin: steady.hottest_mean_celsius() - wishes.room_celsius,
        beside_winding_joule_per_kelvin: pair.coils[0].wall_joule_per_kelvin.iter().sum(),
    };
    let Some(carried_s) = wishes.carried_s else { return Ok(at) };
    let heat = |coil_watt_at_20_celsius: f64| Heat {
        coil_watt_at_20_celsius,
        coefficient_per_kelvin: bench.winding.wire.conductor.resistance_coefficient_per_kelvin(),
        winding_joule_per_kelvin: pair.coils[0].winding_joule_per_kelvin,
    };
    for _ in 0..ROUNDS {
        let Some(watt) = body.watt_that_takes(carried_s, &at, &heat) else { break };
        let ampere = (watt / pair.circuit.coil_at_20_celsius_ohm[0]).sqrt();
        let over = |moment: &dyn Fn() -> Moment, _: &ThermalState| {
            moment().hottest_surface_celsius() - limit_celsius
        };
        let cold = ThermalState::uniform(pair.room_celsius);
        let run = pair.follow(&|_| Drive::held(ampere), &cold, 5.0 * carried_s, Some(&over))?;
        let Some(each) = body.kelvin_s_per_joule(&heat(watt), &at).filter(|_| run.stopped_early()) else {
            break;
        };
        at.beside_winding_joule_per_kelvin = run.end_time_s() / each - pair.coils[0].winding_joule_per_kelvin;
        if (run.end_time_s() / carried_s - 1.0).abs() < NEAR_ENOUGH {
            break;
        }
    }
    Ok(at)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::constants::Conductor;
    use crate::files::spec::wanted_from_text;
    use crate::pair::Connection;
    use crate::pair::wires::stock_wires;
    use crate::physics::heat::pack::wire_joule_per_m_kelvin;
    use crate::questions::size::space::wound_section_m;
    use crate::questions::size::wishes::spec_winding;
    use std::f64::consts::TAU;

    const RANGES: [[f64; 2]; 3] = [[0.135, 0.2], [0.012, 0.036], [0.008, 0.036]];
    const LIMIT_CELSIUS: f64 = 55.0;

    /// Stock wire, mean radius, turns in a layer, layers: thin and thick, at the edges of the ranges and amid them.
    const WINDINGS: [(&str, f64, u32, u32); 4] = [
        ("0.2 mm grade 2", 0.15, 60, 40),
        ("0.53 mm grade 2", 0.135, 20, 18),
        ("AWG 18 heavy", 0.17, 16, 12),
        ("1.9 mm grade 1", 0.2, 14, 10),
    ];

    /// For each winding, with the current for which the search says that the surface just comes to its limit in the time
    /// wished: what the heating model says of the surface after that time.
    fn at_the_edge_of_the_search(former: &str, carried: &str) -> Vec<f64> {
        let text = format!(
            r#"{{ "title": "Warm", "largest_field": "1.5 mT", {former} "time_at_largest_current": "{carried}",
                 "surface_temperature_limit": "{LIMIT_CELSIUS} degC", "room": {{ "temperature": "21 degC" }},
                 "search": {{ "mean_radius": ["135 mm", "200 mm"], "width": ["12 mm", "36 mm"], "depth": ["8 mm", "36 mm"],
                              "spacing": "radius", "connection": ["series"], "wires": "stock" }} }}"#
        );
        let wanted = wanted_from_text("wishes.json", &text).unwrap();
        let wishes = Wishes::of(&wanted);
        let table = SurfaceTable::of(&wishes, RANGES).unwrap().unwrap();
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
            let at = table.at_limit(&section);
            let heat = |ampere: f64| Heat {
                coil_watt_at_20_celsius: ampere * ampere * pair.circuit.coil_at_20_celsius_ohm[0],
                coefficient_per_kelvin: wire.conductor.resistance_coefficient_per_kelvin(),
                winding_joule_per_kelvin: wire_joule_per_m_kelvin(&wire) * TAU * radius * turns,
            };
            let edge = brent_root(|ampere| table.miss(&at, &heat(ampere)), 0.05, 50.0, 1e-9);
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
