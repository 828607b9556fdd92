//! How long cold coils carry a current.

use super::circuit::Drive;
use super::limits::TemperatureLimits;
use super::pair::HeatedPair;
use serde::Serialize;

/// How long cold coils carry a current above the continuous one.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct AllowedTime {
    /// Current of the supply.
    pub current_ampere: f64,
    /// Time until the first temperature limit is reached.
    pub time_s: f64,
}

impl AllowedTime {
    /// The time for which a pair carries a current. `None` if it carries it for ever, or if the time cannot be computed.
    pub(crate) fn of(
        pair: &HeatedPair,
        current_ampere: f64,
        temperatures: &TemperatureLimits,
    ) -> Option<Self> {
        let (time_s, _) = pair.time_to_limit(&Drive::held(current_ampere), temperatures).ok()??;
        Some(Self { current_ampere, time_s })
    }
}
