//! The figures in the cautions: the continuous current to be relied on, and the distance to which the field may disturb
//! implants.

use super::field::PreparedPair;
use super::heat::HeatedPair;
use super::heat::limits::TemperatureLimits;
use super::heat::range::predicted_range_ampere;
use super::{room, stray};
use crate::Result;
use crate::constants::IMPLANT_CAUTION_TESLA;
use serde::Serialize;

/// The strongest field of the Earth, used if a spec states no room field (IGRF: 67 µT near the southern magnetic pole,
/// from memory).
const LARGEST_EARTH_FIELD_TESLA: f64 = 67e-6;

/// The figures in a bench's cautions; `None` if the spec does not determine them.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
#[non_exhaustive]
pub struct SafetyFigures {
    /// The continuous current to be relied on: the lower end of its range.
    pub reliable_continuous_current_ampere: Option<f64>,
    /// Distance from the centre beyond which the field at the supply's current limit, with the room's, is below 0.5 mT.
    pub caution_distance_m: Option<f64>,
}

impl SafetyFigures {
    /// For a pair.
    pub fn of(pair: &PreparedPair) -> Self {
        let bench = pair.bench();
        let range = HeatedPair::of(bench)
            .and_then(|heated| predicted_range_ampere(bench, &heated, &TemperatureLimits::of(bench)));
        Self {
            reliable_continuous_current_ampere: range.ok().map(|[low, _]| low),
            caution_distance_m: caution_distance_m(pair).ok().flatten(),
        }
    }
}

/// Distance from the centre (m) beyond which the field at the supply's current limit is below 0.5 mT, for any direction of
/// the room's field. `None` without a current limit.
///
/// The room's field is that of the spec, or 67 µT if the spec states none. A room's field above 0.45 mT counts as 0.45 mT.
///
/// # Errors
/// The room's field cannot be computed for its site and date, or the distance does not converge.
pub fn caution_distance_m(pair: &PreparedPair) -> Result<Option<f64>> {
    let bench = pair.bench();
    let Ok(limit_ampere) = bench.current_limit_ampere() else { return Ok(None) };
    let room_tesla = room::field_tesla(bench)?.map_or(LARGEST_EARTH_FIELD_TESLA, |room| room.norm());
    let left_tesla = (IMPLANT_CAUTION_TESLA - room_tesla).max(0.1 * IMPLANT_CAUTION_TESLA);
    stray::distance_below_m(pair.assembly(), limit_ampere, left_tesla).map(Some)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::physics::heat::example;

    #[test]
    fn a_bench_without_a_supply_has_a_current_and_no_distance_and_one_with_has_both() {
        let mut bench = example::bench();
        let figures = SafetyFigures::of(&PreparedPair::of(&bench));
        let (current, distance) =
            (figures.reliable_continuous_current_ampere.unwrap(), figures.caution_distance_m.unwrap());
        assert!(current > 0.5 && current <= 3.0, "{current} A");
        // 0.5 mT minus the Earth's 67 µT, on the axis, where 2·160 turns of 3 A give about μ0 N I a²/z³.
        let estimate = (4e-7 * std::f64::consts::PI * 160.0 * 3.0 * 0.168f64.powi(2) / 4.33e-4).cbrt();
        assert!((distance / estimate - 1.0).abs() < 0.3, "{distance} m for {estimate}");
        bench.supply = None;
        let figures = SafetyFigures::of(&PreparedPair::of(&bench));
        assert!(figures.reliable_continuous_current_ampere.is_some() && figures.caution_distance_m.is_none());
    }
}
