//! The continuous current of the coils, and how long they carry more.

use crate::physics::field::PreparedPair;
use crate::physics::heat::limits::{CurrentLimit, TemperatureLimits};
use crate::physics::heat::range::{predicted_range_ampere, to_rely_on};
use crate::physics::heat::{AllowedTime, HeatedPair};
use crate::physics::safety::{SafetyFigures, caution_distance_m};
use crate::questions::words::limits::as_name;
use rayon::prelude::*;
use serde::Serialize;

/// The continuous current of the coils.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct ContinuousCurrent {
    /// The computed current of the supply.
    pub continuous_current_ampere: f64,
    /// The lower end of its range over all assumptions, on which a lab may rely.
    pub reliable_continuous_current_ampere: f64,
    /// Distance from the centre beyond which the field at the supply's current limit, the room's included, is below 0.5
    /// mT.
    pub caution_distance_m: Option<f64>,
    /// The limit that binds.
    #[serde(serialize_with = "as_name")]
    pub limited_by: CurrentLimit,
    /// Larger currents, and how long cold coils carry them, for the pair as it may be relied on.
    pub above: Vec<AllowedTime>,
}

impl ContinuousCurrent {
    /// The figures in the cautions.
    pub fn safety(&self) -> SafetyFigures {
        SafetyFigures {
            reliable_continuous_current_ampere: Some(self.reliable_continuous_current_ampere),
            caution_distance_m: self.caution_distance_m,
        }
    }
}

/// The continuous current, and how long cold coils carry more. `None` if the spec does not determine the heating of the
/// pair.
pub(super) fn continuous_current(
    prepared: &PreparedPair,
    current_limit_ampere: f64,
) -> Option<ContinuousCurrent> {
    let bench = prepared.bench();
    let pair = HeatedPair::of(bench).ok()?;
    let temperatures = TemperatureLimits::of(bench);
    let supply = bench.supply.as_ref();
    let (((continuous_current_ampere, limited_by), caution_distance_m), range) = rayon::join(
        || (pair.binding_limit(&temperatures, supply), caution_distance_m(prepared)),
        || predicted_range_ampere(bench, &pair, &temperatures),
    );
    let [lowest, _] = range.ok()?;
    let relied_on = to_rely_on(&pair, &temperatures, supply, lowest);
    let span = current_limit_ampere - lowest;
    let parts = [1.0 / 3.0, 2.0 / 3.0, 1.0].into_par_iter();
    let above = parts
        .filter(|_| span > 0.01 * lowest)
        .filter_map(|part| AllowedTime::of(&relied_on, lowest + part * span, &temperatures));
    Some(ContinuousCurrent {
        continuous_current_ampere,
        reliable_continuous_current_ampere: lowest,
        caution_distance_m: caution_distance_m.ok().flatten(),
        above: above.collect(),
        limited_by,
    })
}
