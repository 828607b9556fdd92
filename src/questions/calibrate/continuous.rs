//! How much current the coils carry for as long as one likes, and how long more.

use crate::pair::Bench;
use crate::physics::heat::circuit::Drive;
use crate::physics::heat::limits::{CurrentLimit, TemperatureLimits};
use crate::physics::heat::range::{predicted_range_ampere, to_rely_on};
use crate::physics::heat::{HeatedPair, Limits};
use crate::questions::words::limits::as_name;
use serde::Serialize;

/// How much current the coils carry for as long as one likes.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ContinuousCurrent {
    /// The current of the supply, as computed.
    pub continuous_current_ampere: f64,
    /// The lower end of its range over all that is assumed: what a lab may rely on.
    pub reliable_continuous_current_ampere: f64,
    /// Which limit sets it.
    #[serde(serialize_with = "as_name")]
    pub limited_by: CurrentLimit,
    /// Larger currents, and how long cold coils carry them.
    pub above: Vec<AllowedTime>,
}

/// How long cold coils carry a current above the continuous one.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct AllowedTime {
    /// The current of the supply.
    pub current_ampere: f64,
    /// Until the first temperature limit is reached, of the pair as it may be relied on.
    pub time_s: f64,
}

/// What the heat of the pair allows for ever, where it can be told from the spec.
pub(super) fn continuous_limits(bench: &Bench) -> Option<Limits> {
    let pair = HeatedPair::of(bench).ok()?;
    Some(pair.limits(&TemperatureLimits::of(bench), bench.supply.as_ref()))
}

/// The continuous current, where the heat of the pair can be told from the spec, and how long cold coils carry more.
pub(super) fn continuous_current(bench: &Bench, current_limit_ampere: f64) -> Option<ContinuousCurrent> {
    let limits = continuous_limits(bench)?;
    let pair = HeatedPair::of(bench).ok()?;
    let temperatures = TemperatureLimits::of(bench);
    let supply = bench.supply.as_ref();
    let [lowest, _] = predicted_range_ampere(bench, &pair, &temperatures).ok()?;
    let relied_on = to_rely_on(&pair, &temperatures, supply, lowest);
    let span = current_limit_ampere - lowest;
    let above = [1.0 / 3.0, 2.0 / 3.0, 1.0].into_iter().filter(|_| span > 0.01 * lowest).filter_map(|part| {
        let current_ampere = lowest + part * span;
        let drive = Drive::held(current_ampere);
        let (time_s, _) = relied_on.time_to_limit(&drive, &temperatures).ok()??;
        Some(AllowedTime { current_ampere, time_s })
    });
    Some(ContinuousCurrent {
        continuous_current_ampere: limits.continuous_current_ampere,
        reliable_continuous_current_ampere: lowest,
        above: above.collect(),
        limited_by: limits.limited_by,
    })
}
