//! The range of the continuous current over everything that the model assumes.

use crate::Result;
use crate::pair::{Bench, Supply};
use crate::physics::heat::limits::TemperatureLimits;
use crate::physics::heat::materials::ASSUMED_WALL_M;
use crate::physics::heat::pair::HeatedPair;

/// The room may be off what is stated by so much while a lesson lasts (common practice, no source).
const ROOM_KELVIN: f64 = 2.0;
/// Part by which a former's walls may conduct better or worse than taken: plywood from 0.09 to 0.17 W/(m K) about 0.13
/// (common practice, no source), written as thickness.
const FORMER: f64 = 0.3;

/// Smallest and largest continuous current: the surfaces' range, the room, the wire pack over its published range and the
/// former, each on its own, their changes added as squares (they have nothing to do with each other).
pub(super) fn continuous_range_ampere(
    bench: &Bench,
    pair: &HeatedPair,
    factors: [f64; 2],
    temperatures: &TemperatureLimits,
    by_surfaces: [f64; 2],
) -> Result<[f64; 2]> {
    let supply: Option<&Supply> = bench.supply.as_ref();
    let current = |pair: &HeatedPair| pair.limits(temperatures, supply).continuous_current_ampere;
    let taken = current(pair);
    let mut others = vec![by_surfaces.to_vec()];
    others
        .push([ROOM_KELVIN, -ROOM_KELVIN].map(|by| current(&pair.in_room(pair.room_celsius + by))).to_vec());
    let published = pair.coils[0].pack.published_range_watt_per_m_kelvin;
    others.push(published.map(|conductivity| current(&with_pack(pair, conductivity))).to_vec());
    if let Some(former) = &bench.former {
        let wall_m = former.wall_m.unwrap_or(ASSUMED_WALL_M);
        let mut walls = Vec::new();
        for part in [1.0 + FORMER, 1.0 - FORMER] {
            let mut other = bench.clone();
            if let Some(former) = &mut other.former {
                former.wall_m = Some(part * wall_m);
            }
            walls.push(current(&HeatedPair::of(&other)?.with_factors(factors[0], factors[1])));
        }
        others.push(walls);
    }
    let spread = |sign: f64| {
        let squares = others
            .iter()
            .map(|values| values.iter().map(|value| sign * (value - taken)).fold(0.0, f64::max).powi(2));
        squares.sum::<f64>().sqrt()
    };
    Ok([(taken - spread(-1.0)).max(0.0), taken + spread(1.0)])
}

fn with_pack(pair: &HeatedPair, conductivity: f64) -> HeatedPair {
    let mut other = pair.clone();
    for coil in &mut other.coils {
        coil.pack.conductivity_watt_per_m_kelvin = conductivity;
    }
    other
}
