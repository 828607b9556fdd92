//! The range of currents and temperatures over everything that the model assumes, and the pair as it may be relied on.

use super::accuracy::SURFACE_ACCURACY;
use super::limits::TemperatureLimits;
use super::pair::HeatedPair;
use crate::Result;
use crate::numeric::roots::brent_root;
use crate::pair::materials::ASSUMED_WALL_M;
use crate::pair::{Bench, Supply};
use rayon::prelude::*;

/// Largest difference of the room's temperature from the stated one during a lesson (common practice, no source).
const ROOM_KELVIN: f64 = 2.0;
/// Part by which the conductivity of a former's walls may differ from the assumed one: for plywood 0.09 to 0.17 W/(m K)
/// about 0.13 (common practice, no source). It is applied to the thickness.
const FORMER: f64 = 0.3;

/// A pair with its alternatives: for each assumption of the model, the pair at both ends of the assumption's range. The
/// surfaces come first.
#[derive(Clone, Debug)]
pub(crate) struct Alternatives {
    taken: HeatedPair,
    others: Vec<[HeatedPair; 2]>,
}

impl Alternatives {
    /// Alternatives for the surfaces (by the fraction `doubt`), the room, the wire pack over its published range, and
    /// the former. Surface coefficients and heat capacities of the pair are multiplied by `factors`.
    pub(crate) fn of(bench: &Bench, pair: &HeatedPair, factors: [f64; 2], doubt: f64) -> Result<Self> {
        let mut others = vec![[1.0 - doubt, 1.0 + doubt].map(|factor| pair.with_factors(factor, 1.0))];
        others.push([ROOM_KELVIN, -ROOM_KELVIN].map(|by| pair.in_room(pair.room_celsius + by)));
        let published = pair.coils[0].pack.published_range_watt_per_m_kelvin;
        others.push(published.map(|conductivity| with_pack(pair, conductivity)));
        if let Some(former) = &bench.former {
            let wall_m = former.wall_m.unwrap_or(ASSUMED_WALL_M);
            let with_wall = |part: f64| -> Result<HeatedPair> {
                let mut other = bench.clone();
                if let Some(former) = &mut other.former {
                    former.wall_m = Some(part * wall_m);
                }
                Ok(HeatedPair::of(&other)?.with_factors(factors[0], factors[1]))
            };
            others.push([with_wall(1.0 + FORMER)?, with_wall(1.0 - FORMER)?]);
        }
        Ok(Self { taken: pair.clone(), others })
    }

    /// Smallest and largest value of a function of the pair. The changes by each assumption alone are independent and
    /// are added as squares. An end is `None` if some alternative has no value.
    pub(crate) fn range(&self, value: impl Fn(&HeatedPair) -> Option<f64> + Sync) -> [Option<f64>; 2] {
        let values: Vec<[Option<f64>; 2]> =
            self.others.par_iter().map(|ends| [value(&ends[0]), value(&ends[1])]).collect();
        let Some(taken) = value(&self.taken) else { return [None; 2] };
        let spread = |sign: f64| {
            let most = |ends: &[Option<f64>; 2]| {
                ends.iter().flatten().map(|value| sign * (value - taken)).fold(0.0, f64::max)
            };
            values.iter().map(|ends| most(ends).powi(2)).sum::<f64>().sqrt()
        };
        let without_end = values.iter().flatten().any(Option::is_none);
        [Some(taken - spread(-1.0)), Some(taken + spread(1.0)).filter(|_| !without_end)]
    }

    /// Smallest and largest continuous current.
    pub(crate) fn continuous_range_ampere(
        &self,
        temperatures: &TemperatureLimits,
        supply: Option<&Supply>,
    ) -> [f64; 2] {
        let current = |pair: &HeatedPair| Some(pair.continuous_current_ampere(temperatures, supply));
        let [low, high] = self.range(current).map(Option::unwrap_or_default);
        [low.max(0.0), high]
    }
}

/// The same range for a pair without a warm-up test: the heat given off by its surfaces agrees with the correlations
/// within [`SURFACE_ACCURACY`].
pub(crate) fn predicted_range_ampere(
    bench: &Bench,
    pair: &HeatedPair,
    temperatures: &TemperatureLimits,
) -> Result<[f64; 2]> {
    let alternatives = Alternatives::of(bench, pair, [1.0, 1.0], SURFACE_ACCURACY)?;
    Ok(alternatives.continuous_range_ampere(temperatures, bench.supply.as_ref()))
}

/// The continuous current that a lab may rely on: the lower end of [`predicted_range_ampere`].
///
/// # Errors
/// The heating of the pair cannot be computed from the spec.
pub(crate) fn reliable_continuous_current_ampere(bench: &Bench) -> Result<f64> {
    let pair = HeatedPair::of(bench)?;
    predicted_range_ampere(bench, &pair, &TemperatureLimits::of(bench)).map(|[lowest, _]| lowest)
}

/// The pair at the safe end of the range: its surfaces give off less heat, so that its continuous current is
/// `lowest_ampere`, the lower end of the range. A current that this pair allows is allowed over the whole range of the
/// unknowns. The error is on the safe side and below a thousandth of the surfaces' heat. If the supply and not the heat
/// sets that current, the surfaces give off [`SURFACE_ACCURACY`] less.
pub(crate) fn to_rely_on(
    pair: &HeatedPair,
    temperatures: &TemperatureLimits,
    supply: Option<&Supply>,
    lowest_ampere: f64,
) -> HeatedPair {
    const LEAST_FACTOR: f64 = 0.05;
    const FACTOR_TOLERANCE: f64 = 1e-3;
    let usual = 1.0 - SURFACE_ACCURACY;
    let above = |factor: f64| {
        pair.with_factors(factor, 1.0).continuous_current_ampere(temperatures, supply) - lowest_ampere
    };
    // If the current is already lower at the usual factor, or never lower, the supply's limit decides.
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
    use crate::physics::heat::circuit::Drive;
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
        // The factor of the surfaces is found to a thousandth, and the current varies about as its root.
        assert!(carried <= low && carried > low * (1.0 - 2e-3), "{carried} {low}");
    }

    #[test]
    fn temperatures_spread_over_all_that_is_assumed_and_more_than_over_the_surfaces_alone() {
        let bench = example::bench();
        let pair = HeatedPair::of(&bench).unwrap();
        let alternatives = Alternatives::of(&bench, &pair, [1.0, 1.0], SURFACE_ACCURACY).unwrap();
        let drive = Drive::held(2.0);
        let surface = |pair: &HeatedPair| pair.steady(&drive).map(|steady| steady.hottest_surface_celsius());
        let taken = surface(&pair).unwrap();
        let [low, high] = alternatives.range(surface).map(Option::unwrap);
        let [warm, cool] = [0.85, 1.15].map(|factor| surface(&pair.with_factors(factor, 1.0)).unwrap());
        assert!(
            low < cool && cool < taken && taken < warm && warm < high,
            "{low} {cool} {taken} {warm} {high}"
        );
        // The room's 2 K shift everything by about 2 K, which is added to the surfaces' change as squares.
        assert!(high - taken > (warm - taken).hypot(1.9), "{high} {warm} {taken}");
        // A current that only the pair itself survives has no upper end.
        let nearly = Drive::held(0.99 * pair.critical_current_ampere());
        let mean = |pair: &HeatedPair| pair.steady(&nearly).map(|steady| steady.hottest_mean_celsius());
        let [low, high] = alternatives.range(mean);
        assert!(low.is_some() && high.is_none());
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
