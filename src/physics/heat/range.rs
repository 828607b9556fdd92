//! The range of the continuous current over all of the model's assumptions, and the pair at the safe end of it.

use super::accuracy::SURFACE_ACCURACY;
use super::limits::TemperatureLimits;
use super::materials::ASSUMED_WALL_M;
use super::pair::HeatedPair;
use crate::Result;
use crate::numeric::roots::brent_root;
use crate::pair::{Bench, Supply};

/// Largest difference of the room's temperature from the stated one during a lesson (common practice, no source).
const ROOM_KELVIN: f64 = 2.0;
/// Part by which the conductivity of a former's walls may differ from the assumed one: for plywood 0.09 to 0.17 W/(m K)
/// about 0.13 (common practice, no source). It is applied to the thickness.
const FORMER: f64 = 0.3;

/// Smallest and largest continuous current. The surfaces, the room, the wire pack and the former each vary over their
/// own range, and the changes add as squares, since they are independent.
pub fn continuous_range_ampere(
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

/// The same range for a pair without a warm-up test: its surfaces give off the heat of the correlations to within
/// [`SURFACE_ACCURACY`].
pub fn predicted_range_ampere(
    bench: &Bench,
    pair: &HeatedPair,
    temperatures: &TemperatureLimits,
) -> Result<[f64; 2]> {
    let by_surfaces = [1.0 - SURFACE_ACCURACY, 1.0 + SURFACE_ACCURACY].map(|factor| {
        let other = pair.with_factors(factor, 1.0);
        other.limits(temperatures, bench.supply.as_ref()).continuous_current_ampere
    });
    continuous_range_ampere(bench, pair, [1.0, 1.0], temperatures, by_surfaces)
}

/// The continuous current that a lab may rely on: the lower end of [`predicted_range_ampere`].
///
/// # Errors
/// The heating of the pair cannot be computed from the spec.
pub fn reliable_continuous_current_ampere(bench: &Bench) -> Result<f64> {
    let pair = HeatedPair::of(bench)?;
    predicted_range_ampere(bench, &pair, &TemperatureLimits::of(bench)).map(|[lowest, _]| lowest)
}

/// The pair at the safe end of the range: its surfaces give off less heat, so that its continuous current is
/// `lowest_ampere`, the lower end of the range. A current that this pair allows is allowed over the whole range of the
/// unknowns; the error is below a thousandth of the surfaces' heat and to the safe side. If the supply and not the heat
/// sets that current, the surfaces give off [`SURFACE_ACCURACY`] less.
pub fn to_rely_on(
    pair: &HeatedPair,
    temperatures: &TemperatureLimits,
    supply: Option<&Supply>,
    lowest_ampere: f64,
) -> HeatedPair {
    const LEAST_FACTOR: f64 = 0.05;
    const FACTOR_TOLERANCE: f64 = 1e-3;
    let usual = 1.0 - SURFACE_ACCURACY;
    let above = |factor: f64| {
        pair.with_factors(factor, 1.0).limits(temperatures, supply).continuous_current_ampere - lowest_ampere
    };
    // The current is already lower at the usual factor, or never lower: the supply's limit decides.
    let factor = if above(usual) <= 0.0 {
        usual
    } else {
        let found = brent_root(|factor| above(factor) + 1e-9, LEAST_FACTOR, usual, FACTOR_TOLERANCE);
        if found.converged() { (found.at - FACTOR_TOLERANCE).max(LEAST_FACTOR) } else { LEAST_FACTOR }
    };
    pair.with_factors(factor, 1.0)
}

fn with_pack(pair: &HeatedPair, conductivity: f64) -> HeatedPair {
    let mut other = pair.clone();
    for coil in &mut other.coils {
        coil.pack.conductivity_watt_per_m_kelvin = conductivity;
    }
    other
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::physics::heat::example;

    #[test]
    fn the_pair_to_rely_on_carries_the_lower_end_of_the_range_for_ever_and_no_more() {
        let bench = example::bench();
        let pair = HeatedPair::of(&bench).unwrap();
        let temperatures = TemperatureLimits::of(&bench);
        let supply = bench.supply.as_ref();
        let [low, high] = predicted_range_ampere(&bench, &pair, &temperatures).unwrap();
        let taken = pair.limits(&temperatures, supply).continuous_current_ampere;
        assert!(low < taken && taken < high, "{low} {taken} {high}");
        let relied_on = to_rely_on(&pair, &temperatures, supply, low);
        let carried = relied_on.limits(&temperatures, supply).continuous_current_ampere;
        // The surfaces' factor is found to a thousandth, and the current goes about as its root.
        assert!(carried <= low && carried > low * (1.0 - 2e-3), "{carried} {low}");
    }

    #[test]
    fn a_supply_that_cannot_warm_the_pair_leaves_it_the_usual_doubt() {
        let mut bench = example::bench();
        bench.supply.as_mut().unwrap().current_limit_ampere = Some(0.3);
        let pair = HeatedPair::of(&bench).unwrap();
        let temperatures = TemperatureLimits::of(&bench);
        let [low, high] = predicted_range_ampere(&bench, &pair, &temperatures).unwrap();
        assert_eq!((low, high), (0.3, 0.3));
        let relied_on = to_rely_on(&pair, &temperatures, bench.supply.as_ref(), low);
        let settled = relied_on.settled(40.0).currents.supply_ampere;
        assert!(settled < pair.settled(40.0).currents.supply_ampere);
    }
}
