//! Periodic switching on and off: the current that the periodic steady state allows.

use super::circuit::Drive;
use super::limits::{TemperatureLimit, TemperatureLimits};
use super::pair::{CEILING_CELSIUS, HeatedPair};
use super::transient::{ThermalState, Transient};
use crate::numeric::roots::brent_root;
use crate::units::Dimension;
use crate::{Error, Result, units};
use serde::Serialize;

/// Moments examined in each cycle.
const MOMENTS: usize = 24;

/// A duty cycle: on for a time, off for a time, repeated indefinitely.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Duty {
    /// Time switched on.
    pub on_s: f64,
    /// Time switched off.
    pub off_s: f64,
}

impl std::str::FromStr for Duty {
    type Err = Error;

    /// Reads `10 min/20 min`.
    fn from_str(text: &str) -> Result<Self> {
        let hint = "write on-time and off-time with their units, such as `10 min/20 min`";
        let Some((on, off)) = text.split_once('/') else {
            return Err(Error::Usage {
                message: format!("`{text}` is not a duty cycle: it has no `/`"),
                hint: Some(hint.into()),
            });
        };
        let part = |text: &str, allowed: &dyn Fn(f64) -> bool, what: &str| {
            let seconds = units::parse(text.trim(), Dimension::Time)
                .map_err(|error| Error::Usage { message: error.message, hint: Some(hint.into()) })?;
            if allowed(seconds) {
                Ok(seconds)
            } else {
                Err(Error::Usage {
                    message: format!("an {what} of `{}` is not {}", text.trim(), "1 s to 720 h"),
                    hint: Some(hint.into()),
                })
            }
        };
        let month = 30.0 * 86_400.0;
        Ok(Self {
            on_s: part(on, &|s| (1.0..=month).contains(&s), "on-time")?,
            off_s: part(off, &|s| (1.0..=month).contains(&s), "off-time")?,
        })
    }
}

/// One cycle of the periodic steady state.
#[derive(Clone, Debug)]
pub(crate) struct Cycle {
    /// The part of the cycle switched on.
    pub on: Transient,
    /// The part of the cycle switched off.
    pub off: Transient,
}

impl Duty {
    /// The fraction of the time it is on.
    pub fn fraction(&self) -> f64 {
        self.on_s / (self.on_s + self.off_s)
    }
}

impl Cycle {
    /// Times from the start of the cycle, whether the pair is switched on then, and the states.
    pub(crate) fn moments(&self) -> Vec<(f64, bool, ThermalState)> {
        let mut moments = Vec::with_capacity(2 * MOMENTS + 2);
        let mut begin_s = 0.0;
        for (phase, on) in [(&self.on, true), (&self.off, false)] {
            for step in 0..=MOMENTS {
                let time_s = phase.end_time_s() * step as f64 / MOMENTS as f64;
                moments.push((begin_s + time_s, on, phase.state_at(time_s)));
            }
            begin_s += phase.end_time_s();
        }
        moments
    }
}

impl HeatedPair {
    /// The largest excess over some of the limits in a cycle, and the limit exceeded.
    pub(crate) fn cycle_excess(
        &self,
        drive: &Drive,
        cycle: &Cycle,
        temperatures: &TemperatureLimits,
        limits: &[TemperatureLimit],
    ) -> (f64, TemperatureLimit) {
        let mut worst = (f64::NEG_INFINITY, TemperatureLimit::Insulation);
        for (_, on, state) in cycle.moments() {
            let moment = self.moment(if on { drive } else { &Drive::OFF }, &state);
            for limit in limits.iter().copied() {
                let excess = self.excess_kelvin(temperatures, limit, &moment, &state);
                if excess > worst.0 {
                    worst = (excess, limit);
                }
            }
        }
        worst
    }

    /// The largest current, held while switched on, whose cycle stays within the temperature limits, and the limit
    /// that binds; `continuous_ampere` is the largest without pauses.
    pub(crate) fn duty_current(
        &self,
        duty: &Duty,
        temperatures: &TemperatureLimits,
        continuous_ampere: f64,
    ) -> Result<Option<(f64, TemperatureLimit)>> {
        let surfaces =
            self.duty_current_within(&temperatures.of_surfaces(), duty, temperatures, continuous_ampere)?;
        let insulation = self.badly_conducting().duty_current_within(
            &[TemperatureLimit::Insulation],
            duty,
            temperatures,
            continuous_ampere,
        )?;
        Ok(surfaces.into_iter().chain(insulation).min_by(|a, b| a.0.total_cmp(&b.0)))
    }

    /// The same for some of the limits; `None` if they allow more than any cycle within the others.
    fn duty_current_within(
        &self,
        limits: &[TemperatureLimit],
        duty: &Duty,
        temperatures: &TemperatureLimits,
        continuous_ampere: f64,
    ) -> Result<Option<(f64, TemperatureLimit)>> {
        if continuous_ampere <= 0.0 {
            return Ok(None);
        }
        let mut failure = None;
        let mut binding = TemperatureLimit::Insulation;
        let excess = |current_ampere: f64| {
            let drive = Drive::held(current_ampere);
            match self.periodic(&drive, duty) {
                Ok(Some(cycle)) => {
                    let (excess, limit) = self.cycle_excess(&drive, &cycle, temperatures, limits);
                    binding = limit;
                    excess
                }
                Ok(None) => CEILING_CELSIUS,
                Err(error) => {
                    failure.get_or_insert(error);
                    f64::NAN
                }
            }
        };
        // Mean power exceeds the continuous power at most by the growth of the loss with the peak's temperature.
        let most = continuous_ampere / duty.fraction().sqrt() * 1.2;
        let found = brent_root(excess, 0.98 * continuous_ampere, most, 1e-4 * continuous_ampere);
        match failure {
            Some(error) => Err(error),
            None => Ok(found.converged().then_some((found.at, binding))),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    use crate::physics::heat::example;
    use approx::assert_relative_eq;

    #[test]
    fn under_newtons_law_the_peak_follows_its_closed_form() {
        // Between switchings the rise is exponential: peak = R P (1 − e^(−on/τ)) / (1 − e^(−(on+off)/τ)).
        let mut pair = crate::physics::heat::pair::linear_pair(14.0);
        pair.circuit.coefficient_per_kelvin = 0.0;
        let conductance: f64 = pair.coils[0].faces.iter().map(|face| 14.0 * face.surface.area_m2).sum();
        let tau = pair.coils[0].heat_capacity_joule_per_kelvin() / conductance;
        let rise = 2.5f64.powi(2) * pair.circuit.coil_at_20_celsius_ohm[0] / conductance;
        for (on_s, off_s) in [(600.0, 1200.0), (30.0, 90.0), (7200.0, 600.0)] {
            let drive = Drive::held(2.5);
            let cycle = pair.periodic(&drive, &Duty { on_s, off_s }).unwrap().unwrap();
            let peak = cycle.on.end_state().mean_celsius[0] - 22.0;
            let expected = rise * (1.0 - (-on_s / tau).exp()) / (1.0 - (-(on_s + off_s) / tau).exp());
            assert!((peak - expected).abs() < 1e-3, "{on_s}/{off_s}: {peak} K, wanted {expected} K");
        }
    }

    #[test]
    fn pauses_allow_more_current_and_the_peak_then_meets_its_limit() {
        let bench = example::bench();
        let pair = HeatedPair::of(&bench).unwrap();
        let temperatures = TemperatureLimits::of(&bench);
        let continuous = pair.limits(&temperatures, None).continuous_current_ampere;
        let duty = "10 min/20 min".parse::<Duty>().unwrap();
        let (current, limit) = pair.duty_current(&duty, &temperatures, continuous).unwrap().unwrap();
        assert!(current > 1.1 * continuous && current < continuous * 3f64.sqrt(), "{current} A");
        let drive = Drive::held(current);
        let cycle = pair.periodic(&drive, &duty).unwrap().unwrap();
        let (excess, again) = pair.cycle_excess(&drive, &cycle, &temperatures, &temperatures.of_surfaces());
        assert!(excess.abs() < 0.05, "{excess} K");
        assert_eq!(limit, again);
        assert_relative_eq!(
            cycle.off.end_state().mean_celsius[0],
            cycle.on.state_at(0.0).mean_celsius[0],
            epsilon = 1e-3
        );
    }

    #[test]
    fn a_duty_is_read_with_its_units_or_refused_with_the_way_to_write_it() {
        assert_eq!("10 min / 20 min".parse::<Duty>().unwrap(), Duty { on_s: 600.0, off_s: 1200.0 });
        assert_eq!("90s/1 h".parse::<Duty>().unwrap(), Duty { on_s: 90.0, off_s: 3600.0 });
        for wrong in ["10 min", "10/20", "0 s/1 min", "-1 min/2 min", "nan s/1 s", "1 min/", "1 A/2 A", ""] {
            let error = wrong.parse::<Duty>().unwrap_err();
            assert_eq!(error.exit_status(), 2, "{wrong}");
            assert!(error.hint().unwrap().contains("10 min/20 min"), "{wrong}");
        }
    }

    #[test]
    fn a_duty_past_any_steady_state_is_said_to_have_none() {
        let pair = HeatedPair::of(&example::bench()).unwrap();
        let drive = Drive::held(30.0);
        assert!(pair.periodic(&drive, &Duty { on_s: 600.0, off_s: 600.0 }).unwrap().is_none());
    }
}
