//! How much heat a winding gets rid of before its surface is too hot, for thousands of windings.
//!
//! The heating model is asked at a few sections and radii; between them its answers are smooth. What the best windings
//! really reach is asked of the model itself.

use super::Wishes;
use crate::field::Section;
use crate::heating::HeatedPair;
use crate::numeric::quadrature::gauss_legendre;
use crate::spec::{Bench, Model};
use crate::{Error, Result};

/// What the heating model says of one section when its hottest surface is at the limit.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct AtLimit {
    /// Heat that one coil gives to the room.
    loss_watt: f64,
    /// Mean temperature of the copper above the room.
    mean_rise_kelvin: f64,
}

/// Nodes along mean radius, width and depth.
const NODES: usize = 3;

/// The heating model at its nodes.
pub(super) struct SurfaceTable {
    axes: [[f64; NODES]; 3],
    at_limit: [[[AtLimit; NODES]; NODES]; NODES],
    room_celsius: f64,
    carried_s: Option<f64>,
    winding_joule_per_kg_kelvin: f64,
    /// Nodes and weights on 0..1, and the share of the loss at the limit that is lost there.
    warming: [(f64, f64, f64); 6],
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
    /// Mass of one coil's conductor.
    pub coil_conductor_kg: f64,
}

impl SurfaceTable {
    /// Of a search; `None` where no surface temperature is wished.
    pub fn of(wishes: &Wishes, ranges: [[f64; 2]; 3]) -> Result<Option<Self>> {
        let Some(limit_celsius) = wishes.surface_limit_celsius else { return Ok(None) };
        let room_celsius = wishes.room_celsius;
        if limit_celsius <= room_celsius + 1.0 {
            return Err(Error::value_with_hint(
                format!(
                    "`surface_temperature_limit` is {limit_celsius} °C, and the room is at {room_celsius} °C"
                ),
                "a coil that carries current is warmer than the room: allow a few kelvin",
            ));
        }
        let axes = ranges
            .map(|[low, high]| std::array::from_fn(|i| low + (high - low) * i as f64 / (NODES - 1) as f64));
        let mut at_limit = [[[AtLimit::default(); NODES]; NODES]; NODES];
        let mut joule_per_kg_kelvin = f64::INFINITY;
        for (i, radius) in axes[0].iter().enumerate() {
            for (j, width) in axes[1].iter().enumerate() {
                for (k, depth) in axes[2].iter().enumerate() {
                    let section =
                        Section { mean_radius_m: *radius, width_m: *width, depth_m: depth.min(1.2 * radius) };
                    let bench = wishes.typical_bench(&section);
                    let pair = HeatedPair::of(&bench, Model::Nominal)?;
                    let mass =
                        super::judge::coil_conductor_kg(&bench.winding.wire, bench.winding.turns, *radius);
                    joule_per_kg_kelvin =
                        joule_per_kg_kelvin.min(pair.coils[0].winding_joule_per_kelvin / mass);
                    if let Some(steady) =
                        pair.steady_where(|pair| pair.hottest_surface_celsius() - limit_celsius)
                    {
                        at_limit[i][j][k] = AtLimit {
                            loss_watt: 0.5 * (steady.coils[0].loss_watt + steady.coils[1].loss_watt),
                            mean_rise_kelvin: steady.hottest_mean_celsius() - room_celsius,
                        };
                    }
                }
            }
        }
        let rule = gauss_legendre(6);
        let warming = std::array::from_fn(|i| {
            let x = 0.5 * (1.0 + rule[i].0);
            (x, 0.5 * rule[i].1, x.powf(LOSS_POWER))
        });
        Ok(Some(Self {
            axes,
            at_limit,
            room_celsius,
            carried_s: wishes.carried_s,
            winding_joule_per_kg_kelvin: joule_per_kg_kelvin,
            warming,
        }))
    }

    /// How far the wish is missed: the time wished over the time until the surface is too hot, minus one, or, where no
    /// time is wished, heat made over heat lost at the limit, minus one; at most 0 where the wish is met.
    pub fn miss(&self, at: &AtLimit, heat: &Heat) -> f64 {
        let warm = |rise: f64| {
            heat.coil_watt_at_20_celsius
                * (1.0 + heat.coefficient_per_kelvin * (self.room_celsius + rise - 20.0))
        };
        let made = warm(at.mean_rise_kelvin);
        if made <= at.loss_watt {
            return made / at.loss_watt - 1.0;
        }
        let Some(carried_s) = self.carried_s else { return made / at.loss_watt - 1.0 };
        let mut kelvin_s_per_joule = 0.0;
        for (x, weight, share) in self.warming {
            let gain = warm(x * at.mean_rise_kelvin) - share * at.loss_watt;
            if gain <= 0.0 {
                return -1.0;
            }
            kelvin_s_per_joule += weight / gain;
        }
        let capacity = heat.coil_conductor_kg * self.winding_joule_per_kg_kelvin;
        carried_s / (capacity * at.mean_rise_kelvin * kelvin_s_per_joule) - 1.0
    }

    /// What the heating model says of a section, between its nodes.
    pub fn at_limit(&self, section: &Section) -> AtLimit {
        let place = [section.mean_radius_m, section.width_m, section.depth_m];
        let weights: [[f64; NODES]; 3] = std::array::from_fn(|axis| weights(&self.axes[axis], place[axis]));
        let mut sum = AtLimit::default();
        for (plane, by_radius) in self.at_limit.iter().zip(weights[0]) {
            for (row, by_width) in plane.iter().zip(weights[1]) {
                for (node, by_depth) in row.iter().zip(weights[2]) {
                    let weight = by_radius * by_width * by_depth;
                    sum.loss_watt += weight * node.loss_watt;
                    sum.mean_rise_kelvin += weight * node.mean_rise_kelvin;
                }
            }
        }
        sum
    }
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

/// The hottest surface of a pair after its largest current has flowed for a time, or for ever; infinite where nothing
/// stops it below the heating model's ceiling. The copper warms as one, its surface settled with it.
pub(crate) fn surface_celsius_after(
    bench: &Bench,
    model: Model,
    current_ampere: f64,
    carried_s: Option<f64>,
) -> Result<f64> {
    let pair = HeatedPair::of(bench, model)?;
    let hottest = |mean: f64| pair.settled(mean).hottest_surface_celsius();
    let Some(carried_s) = carried_s else {
        let drive = crate::heating::circuit::Drive::held(current_ampere);
        return Ok(pair.steady(&drive).map_or(f64::INFINITY, |steady| steady.hottest_surface_celsius()));
    };
    let share = match bench.connection {
        crate::spec::Connection::Series => 1.0,
        crate::spec::Connection::Parallel => 0.5,
    };
    let capacity = pair.coils[0].winding_joule_per_kelvin;
    let rate = |mean: f64| {
        let made = (share * current_ampere).powi(2) * pair.circuit.coil_ohm(0, mean);
        (made - pair.settled(mean).coils[0].loss_watt) / capacity
    };
    // Runge and Kutta's fourth order, in steps of a few minutes where the time constant is half an hour or more.
    let carried_s = carried_s.min(1e5);
    let steps = (carried_s / 300.0).ceil().max(6.0);
    let step = carried_s / steps;
    let mut mean = pair.room_celsius;
    for _ in 0..steps as usize {
        let k1 = rate(mean);
        let k2 = rate(mean + 0.5 * step * k1);
        let k3 = rate(mean + 0.5 * step * k2);
        let k4 = rate(mean + step * k3);
        mean += step / 6.0 * (k1 + 2.0 * k2 + 2.0 * k3 + k4);
        if !mean.is_finite() || mean > crate::heating::pair::CEILING_CELSIUS {
            return Ok(f64::INFINITY);
        }
    }
    Ok(hottest(mean))
}
