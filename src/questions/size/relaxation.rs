//! What must be relaxed for a winding to pass: each limit in the unit as written, rounded to the side on which the
//! winding still passes.

use super::judge::{Winding, Wish};
use super::record::{Choice, Relaxation, RelaxedLimit};
use super::wishes::Wishes;
use crate::files::spec::Wanted;
use crate::units::{Side, Unit, significant_to};

/// Digits of a relaxed limit.
pub(super) const DIGITS: usize = 3;

impl Wish {
    /// The wished limit, if any, its unit as written, and the direction of relaxing.
    fn limit(self, wanted: &Wanted) -> (Option<f64>, Unit, Side) {
        let (supply, units) = (wanted.supply, wanted.units);
        match self {
            Self::Clearance => (Some(wanted.clearance_m), units.clearance, Side::Down),
            Self::CurrentLimit => {
                (supply.and_then(|supply| supply.current_limit_ampere), units.current, Side::Up)
            }
            Self::VoltageLimit => {
                (supply.and_then(|supply| supply.voltage_limit_volt), units.voltage, Side::Up)
            }
            Self::SurfaceTemperature => {
                (wanted.surface_temperature_limit_celsius, units.temperature, Side::Up)
            }
            Self::BeamDeviation => (wanted.beam_deviation, units.deviation, Side::Up),
        }
    }

    /// The limit that would allow a miss of this fraction, as the search counts misses.
    fn needed(self, wishes: &Wishes, missed_by: f64) -> Option<f64> {
        let limit = self.limit(wishes.wanted).0?;
        Some(match self {
            Self::Clearance => {
                let bulb_m = wishes.wanted.bulb().ok()?.radius_m;
                (bulb_m + limit) / (1.0 + missed_by) - bulb_m
            }
            Self::SurfaceTemperature => {
                wishes.room_celsius + (limit - wishes.room_celsius) * (1.0 + missed_by)
            }
            _ => limit * (1.0 + missed_by),
        })
    }

    /// The limit that would allow such a miss, as it is written. `None` if no such limit is possible.
    pub(super) fn relaxed(self, wishes: &Wishes, missed_by: f64) -> Option<RelaxedLimit> {
        let value = self.needed(wishes, missed_by).filter(|needed| self.can_be(*needed))?;
        let (_, unit, side) = self.limit(wishes.wanted);
        Some(RelaxedLimit { value, unit, side })
    }
}

/// Every limit that a winding misses, by the search or by the models themselves, with the limit it needs. `None` if
/// some limit cannot be relaxed so far.
pub(super) fn relaxations(wishes: &Wishes, winding: &Winding, choice: &Choice) -> Option<Vec<Relaxation>> {
    let mut all = Vec::new();
    for (wish, missed_by) in Wish::ALL.into_iter().zip(winding.misses) {
        let (Some(limit), unit, side) = wish.limit(wishes.wanted) else { continue };
        let of_search = match missed_by > 0.0 {
            true => wish.needed(wishes, missed_by)?,
            false => limit,
        };
        let of_models = match wish {
            Wish::Clearance => limit,
            Wish::CurrentLimit => choice.current_ampere,
            Wish::VoltageLimit => choice.voltage_volt,
            Wish::SurfaceTemperature => choice.surface_temperature_celsius?,
            Wish::BeamDeviation => choice.worst_beam_deviation.map_or(0.0, f64::abs),
        };
        let needed = if side == Side::Down { of_search.min(of_models) } else { of_search.max(of_models) };
        let missed = if side == Side::Down { needed < limit } else { needed > limit };
        if !missed {
            continue;
        }
        if !wish.can_be(needed) {
            return None;
        }
        // The search compares in other units, so the last digit must not decide.
        let with_care = needed * if side == Side::Down { 1.0 - 1e-9 } else { 1.0 + 1e-9 };
        all.push(Relaxation {
            wish,
            from: significant_to(limit, unit, 6, side),
            to: significant_to(with_care, unit, DIGITS, side),
            needed_si: needed,
        });
    }
    Some(all)
}

impl Wish {
    /// Whether a file of wishes may state this limit.
    fn can_be(self, limit: f64) -> bool {
        let most = match self {
            Self::Clearance => 1.0,
            Self::SurfaceTemperature => 245.0,
            Self::BeamDeviation => 0.49,
            // The largest supply that a file may state.
            Self::CurrentLimit | Self::VoltageLimit => 9e3,
        };
        (0.0..=most).contains(&limit)
    }
}
