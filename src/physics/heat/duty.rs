//! Periodic switching on and off: the current that the periodic steady state allows.

use super::circuit::Drive;
use super::limits::{TemperatureLimit, TemperatureLimits};
use super::pair::{CEILING_CELSIUS, HeatedPair};
use super::transient::{ThermalState, Transient};
use crate::Result;
use crate::error::Refused;
use crate::numeric::roots::brent_root;

/// Moments examined in each cycle.
const MOMENTS: usize = 24;

/// A duty cycle: on for a time, off for a time, repeated indefinitely.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Duty {
    on_s: f64,
    off_s: f64,
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
    /// Shortest and longest time of each part, s: 1 s to 30 days.
    pub const ALLOWED_S: [f64; 2] = [1.0, 30.0 * 86_400.0];

    /// A cycle that is on for `on_s` and then off for `off_s`, both in seconds.
    ///
    /// ```
    /// use coilwright::physics::heat::duty::Duty;
    /// let duty = Duty::new(600.0, 1200.0)?;
    /// assert!((duty.fraction() - 1.0 / 3.0).abs() < 1e-15);
    /// assert!(Duty::new(-600.0, 10.0).is_err());
    /// # Ok::<(), coilwright::Error>(())
    /// ```
    ///
    /// # Errors
    /// [`Refused::DutyTime`] names the part whose time lies outside [`Self::ALLOWED_S`] or is NaN; the on-time comes
    /// first.
    pub fn new(on_s: f64, off_s: f64) -> Result<Self> {
        let [least, most] = Self::ALLOWED_S;
        for (part, seconds) in [("on-time", on_s), ("off-time", off_s)] {
            if !(least..=most).contains(&seconds) {
                return Err(Refused::DutyTime { part, seconds, allowed_s: Self::ALLOWED_S }.into());
            }
        }
        Ok(Self { on_s, off_s })
    }

    /// Time switched on, s.
    pub fn on_s(&self) -> f64 {
        self.on_s
    }

    /// Time switched off, s.
    pub fn off_s(&self) -> f64 {
        self.off_s
    }

    /// The fraction of the time it is on, between 0 and 1.
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

    /// The largest current for some of the limits, and which of them binds. `None` if they allow more than any cycle
    /// within the others.
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
            let cycle = pair.periodic(&drive, &Duty::new(on_s, off_s).unwrap()).unwrap().unwrap();
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
        let duty = Duty::new(600.0, 1200.0).unwrap();
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
    fn a_duty_of_impossible_times_is_refused_by_its_part() {
        let day_s = 86_400.0;
        assert!(Duty::new(1.0, 30.0 * day_s).is_ok() && Duty::new(30.0 * day_s, 1.0).is_ok());
        let off = |seconds: f64| Duty::new(60.0, seconds);
        let on = |seconds: f64| Duty::new(seconds, 60.0);
        for seconds in [-600.0, 0.0, 0.999, 30.001 * day_s, f64::INFINITY, f64::NAN] {
            for (duty, wanted) in [(on(seconds), "on-time"), (off(seconds), "off-time")] {
                let Err(crate::Error::Refused(Refused::DutyTime { part, .. })) = duty else {
                    panic!("{seconds} s: {duty:?}");
                };
                assert_eq!(part, wanted, "{seconds} s");
            }
        }
    }

    #[test]
    fn a_duty_past_any_steady_state_is_said_to_have_none() {
        let pair = HeatedPair::of(&example::bench()).unwrap();
        let drive = Drive::held(30.0);
        assert!(pair.periodic(&drive, &Duty::new(600.0, 600.0).unwrap()).unwrap().is_none());
    }
}
