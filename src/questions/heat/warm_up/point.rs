//! One point of a warm-up test, and the copper's temperature there by its resistance.

use crate::constants::Conductor;
use serde::Serialize;

/// One reading, or the mean of a few neighbours.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct WarmUpPoint {
    /// Since switching on.
    pub time_s: f64,
    /// Voltage over current, without leads.
    pub resistance_ohm: f64,
    /// Mean copper temperature by resistance.
    pub temperature_celsius: f64,
    /// The fitted model's.
    pub model_temperature_celsius: f64,
}

/// Mean temperature of a winding from its resistance: θ₂ = R₂/R₁ (k + θ₁) − k.
///
/// IEC 60034-1, rise by the resistance method, with k = 234.5 for copper and 225 for aluminium (from memory); the rise is
/// θ₂ less the coolant's temperature at the end. The model's own copper, α = 0.00393/K, has k = 234.45: the two differ by
/// 0.02 % of the rise.
///
/// ```
/// use coilwright::{constants::Conductor, questions::heat::warm_up::temperature_by_resistance_celsius};
/// // Twice the resistance: 2 (234.5 + 20) − 234.5.
/// assert_eq!(temperature_by_resistance_celsius(Conductor::Copper, 2.0, 20.0), 274.5);
/// ```
pub fn temperature_by_resistance_celsius(
    conductor: Conductor,
    resistance_ratio: f64,
    cold_celsius: f64,
) -> f64 {
    let k = conductor.rise_by_resistance_constant_celsius();
    resistance_ratio * (k + cold_celsius) - k
}
