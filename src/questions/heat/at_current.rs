//! The pair at one setting of the supply: its steady state, its warming, its cooling.

use super::record::{AtCurrent, CurvePoint};
use super::{Context, hotter_coil};
use crate::Result;
use crate::numeric::roots::brent_root;
use crate::pair::{Regulation, Supply};
use crate::physics::heat::circuit::Drive;
use crate::physics::heat::limits::{CurrentLimit, TemperatureLimit};
use crate::physics::heat::pair::SteadyPair;
use crate::physics::heat::section::Side;
use crate::physics::heat::transient::{Moment, ThermalState, Transient};

/// A surface counts as safe to touch again this far below the limit: 10 % of an ordinary rise, for the error of the
/// model.
const TOUCH_MARGIN_KELVIN: f64 = 3.0;
/// Points of a curve.
const CURVE_POINTS: usize = 120;

impl Context<'_> {
    pub(super) fn at_current(
        &self,
        asked_current_ampere: f64,
        drive: &Drive,
        supply: Option<&Supply>,
    ) -> Result<AtCurrent> {
        let pair = self.pair;
        let room = pair.room_celsius;
        let regulation = supply.map(|supply| supply.regulation);
        let (held, held_back) = pair.circuit.held_at_switch_on(drive, regulation, asked_current_ampere, room);
        let current_ampere = match held_back {
            Some(_) => pair.circuit.currents(drive, [room; 2]).supply_ampere,
            None => asked_current_ampere,
        };
        let steady = pair.steady(drive);
        let heating = pair.warm_up(drive, steady.as_ref())?;
        let end_s = if current_ampere > 0.0 { heating.end_time_s() } else { pair.rough_time_constant_s() };
        let hot = heating.end_state();
        let cooling_s = 5.0 * pair.rough_time_constant_s();
        let cooling = pair.follow(&|_| Drive::OFF, &hot, cooling_s, None)?;

        let drift = |state: &ThermalState| self.field.drift_fraction(&pair.circuit, drive, state);
        let settled = steady.as_ref().map(ThermalState::of_steady);
        let limit = self.relied_on.time_to_limit(drive, self.temperatures)?;
        let hotter =
            steady.as_ref().map(|steady| &steady.coils[hotter_coil(&ThermalState::of_steady(steady))]);
        let hottest_side = hotter.map(|coil| {
            let sides = Side::ALL.into_iter().zip(coil.surface_celsius);
            sides.max_by(|a, b| a.1.total_cmp(&b.1)).map_or(Side::Outer, |(side, _)| side).name()
        });
        let ampere = |steady: &SteadyPair, coil: usize| steady.currents.coil_ampere[coil];
        let power = |steady: &SteadyPair| -> f64 {
            let ohm = |coil: usize| pair.circuit.coil_ohm(coil, steady.coils[coil].mean_celsius);
            (0..2).map(|coil| ampere(steady, coil).powi(2) * ohm(coil)).sum()
        };
        let range = |of: fn(&SteadyPair) -> f64| {
            self.alternatives.range(|pair| pair.steady(drive).map(|steady| of(&steady)))
        };
        let made = heating.heat_made_joule(end_s);
        let balance = made - heating.heat_given_joule(end_s) - pair.stored_joule(&heating.state_at(end_s));
        Ok(AtCurrent {
            current_ampere,
            asked_current_ampere,
            held_back_by: held_back.map(|limit| match limit {
                Regulation::Current => CurrentLimit::SupplyCurrent,
                Regulation::Voltage => CurrentLimit::SupplyVoltage,
            }),
            supply_holds: match held {
                Regulation::Current => "current",
                Regulation::Voltage => "voltage",
            },
            steady_mean_temperature_celsius: steady.map(|steady| steady.hottest_mean_celsius()),
            steady_mean_temperature_range_celsius: range(SteadyPair::hottest_mean_celsius),
            steady_hot_spot_temperature_celsius: steady.map(|steady| steady.hot_spot_celsius()),
            steady_hot_spot_temperature_upper_celsius: pair
                .badly_conducting()
                .steady(drive)
                .map(|steady| steady.hot_spot_celsius()),
            steady_hot_spot_temperature_range_celsius: range(SteadyPair::hot_spot_celsius),
            steady_surface_temperature_celsius: steady.map(|steady| steady.hottest_surface_celsius()),
            steady_surface_temperature_range_celsius: range(SteadyPair::hottest_surface_celsius),
            hottest_surface: hottest_side.filter(|_| current_ampere > 0.0),
            steady_side_temperatures_celsius: hotter.map(|coil| coil.surface_celsius),
            steady_current_ampere: settled
                .map(|state| pair.circuit.currents(drive, state.mean_celsius).supply_ampere),
            steady_voltage_volt: settled
                .map(|state| pair.circuit.currents(drive, state.mean_celsius).supply_volt),
            cold_power_watt: pair.moment(drive, &ThermalState::uniform(room)).made_watt.iter().sum(),
            steady_power_watt: steady.as_ref().map(power),
            time_constant_s: steady.as_ref().and_then(|steady| {
                self.time_to_fraction(&heating, room, steady.hottest_mean_celsius(), -f64::exp_m1(-1.0))
            }),
            time_to_limit_s: limit.map(|(time, _)| time),
            time_to_limit_by: limit.map(|(_, limit)| self.temperatures.of_current(limit)),
            cooling_time_constant_s: self.time_to_fraction(
                &cooling,
                hot.mean_celsius[0].max(hot.mean_celsius[1]),
                room,
                -f64::exp_m1(-1.0),
            ),
            cool_to_touch_s: self.cool_to_touch(drive)?,
            field_drift_fraction: settled.and_then(|state| drift(&state)),
            field_drift_by_expansion_fraction: settled.and_then(|state| self.field.growth_fraction(&state)),
            energy_balance_fraction: if made > 0.0 { balance / made } else { 0.0 },
            curve: self.curve(&heating, end_s, drive, &drift),
            cooling: self.curve(&cooling, cooling_s, &Drive::OFF, &|_| None),
        })
    }

    /// The time at which the hotter winding has covered a fraction of the way between two temperatures.
    fn time_to_fraction(&self, run: &Transient, from: f64, to: f64, fraction: f64) -> Option<f64> {
        let goal = from + fraction * (to - from);
        let hotter = |time| {
            let state = run.state_at(time);
            state.mean_celsius[0].max(state.mean_celsius[1]) - goal
        };
        let found = brent_root(hotter, 0.0, run.end_time_s(), 1e-3);
        (from != to && found.converged()).then_some(found.at)
    }

    /// Time after switching off until every surface is below the limit for a minute's touch by a margin; zero if none
    /// was above it. It is computed for the pair to be relied on, which is hotter when it is switched off.
    fn cool_to_touch(&self, drive: &Drive) -> Result<Option<f64>> {
        let pair = self.relied_on;
        let hot = &pair.warm_up(drive, pair.steady(drive).as_ref())?.end_state();
        let excess = |moment: &Moment, state: &ThermalState| {
            pair.excess_kelvin(self.temperatures, TemperatureLimit::TouchForAMinute, moment, state)
        };
        if excess(&pair.moment(&Drive::OFF, hot), hot) <= 0.0 {
            return Ok(Some(0.0));
        }
        let cooled = |moment: &dyn Fn() -> Moment, state: &ThermalState| {
            -excess(&moment(), state) - TOUCH_MARGIN_KELVIN
        };
        let run = pair.follow(&|_| Drive::OFF, hot, 50.0 * pair.rough_time_constant_s(), Some(&cooled))?;
        Ok(run.stopped_early().then(|| run.end_time_s()))
    }

    fn curve(
        &self,
        run: &Transient,
        end_s: f64,
        drive: &Drive,
        drift: &dyn Fn(&ThermalState) -> Option<f64>,
    ) -> Vec<CurvePoint> {
        (0..=CURVE_POINTS)
            .map(|index| {
                let time_s = end_s * index as f64 / CURVE_POINTS as f64;
                let state = run.state_at(time_s);
                self.point(time_s, drive, &state, drift(&state))
            })
            .collect()
    }

    pub(super) fn point(
        &self,
        time_s: f64,
        drive: &Drive,
        state: &ThermalState,
        field_drift_fraction: Option<f64>,
    ) -> CurvePoint {
        let moment = self.pair.moment(drive, state);
        let hotter = hotter_coil(state);
        CurvePoint {
            time_s,
            mean_temperature_celsius: state.mean_celsius[hotter],
            hot_spot_temperature_celsius: moment.coils[hotter].hot_spot_celsius(),
            surface_temperature_celsius: moment.hottest_surface_celsius(),
            current_ampere: moment.currents.supply_ampere,
            voltage_volt: moment.currents.supply_volt,
            field_drift_fraction,
        }
    }
}
