//! What [`super::study`] answers with.

use super::assumptions::Assumption;
use super::warm_up::WarmUpFit;
use crate::pair::{Model, Provenance};
use crate::physics::heat::Limit;
use crate::physics::heat::limits::CurrentLimit;
use crate::physics::heat::materials::TouchMaterial;
use crate::physics::heat::pack::WirePack;
use crate::questions::words::limits::{as_name, as_named, as_optional_name};
use crate::questions::words::notes::as_sentences;
use serde::Serialize;

/// Everything about the heat of a pair.
#[derive(Clone, Debug, Serialize)]
#[non_exhaustive]
pub struct HeatStudy {
    /// What the answer rests on.
    pub provenance: Provenance,
    /// Which geometry was used.
    pub model: Model,
    /// Air and walls of the room.
    pub room_temperature_celsius: f64,
    /// The largest current that no limit forbids, for as long as one likes.
    pub continuous_current_ampere: f64,
    /// Its range: surfaces that give off 15 % less or more (or the warm-up test's uncertainty, k = 2), the wire pack over
    /// its published range, the former's walls ±30 %, the room ±2 K, their changes added as squares.
    pub continuous_current_range_ampere: [f64; 2],
    /// The lower end of that range: what to rely on where a hand or the insulation is at stake.
    pub reliable_continuous_current_ampere: f64,
    /// From the centre to where the field at the supply's current limit, the room's included, is below 0.5 mT; `None`
    /// without a limit.
    pub caution_distance_m: Option<f64>,
    /// The limit that binds.
    #[serde(serialize_with = "as_name")]
    pub limited_by: CurrentLimit,
    /// Each limit on its own.
    #[serde(serialize_with = "as_named")]
    pub limits: Vec<Limit>,
    /// The current past which there is no steady state below 500 °C.
    pub critical_current_ampere: f64,
    /// What the surface coefficients were multiplied by: 1, or the warm-up test's.
    pub surface_coefficient_factor: f64,
    /// What the heat capacities were multiplied by: 1, or the warm-up test's.
    pub heat_capacity_factor: f64,
    /// Resistance at the supply's terminals with the copper at room temperature.
    pub cold_resistance_ohm: f64,
    /// Heat capacity of both coils, formers included.
    pub heat_capacity_joule_per_kelvin: f64,
    /// The wire pack of one coil.
    pub wire_pack: WirePack,
    /// The sides of coil a.
    pub surfaces: Vec<SurfaceRecord>,
    /// What happens at the current asked for.
    #[serde(flatten)]
    pub at_current: Option<AtCurrent>,
    /// From current to steady temperature and allowed time.
    pub table: Vec<TableRow>,
    /// On and off for ever.
    pub duty: Option<DutyRecord>,
    /// What the warm-up test says.
    pub warm_up: Option<WarmUpFit>,
    /// What had to be assumed, and what the numbers do not hold.
    #[serde(serialize_with = "as_sentences")]
    pub assumptions: Vec<Assumption>,
}

/// One side of a coil.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct SurfaceRecord {
    /// Which side.
    pub name: &'static str,
    /// Its area.
    pub area_m2: f64,
    /// Its emissivity towards the room.
    pub emissivity: f64,
    /// Resistance of the former's wall before it; null where it is bare.
    pub wall_kelvin_per_watt: Option<f64>,
    /// How it feels to the hand.
    pub touch: TouchMaterial,
}

/// What happens at one setting of the supply.
#[derive(Clone, Debug, Serialize)]
#[non_exhaustive]
pub struct AtCurrent {
    /// The current at switch-on: what was asked for, or what the supply gives if that is less.
    pub current_ampere: f64,
    /// The current asked for.
    pub asked_current_ampere: f64,
    /// The limit that keeps the supply from giving what was asked for, "supply current" or "supply voltage"; null where
    /// it gives that.
    #[serde(serialize_with = "as_optional_name")]
    pub held_back_by: Option<CurrentLimit>,
    /// What the supply holds at switch-on.
    pub supply_holds: &'static str,
    /// Mean of the hotter winding; null where there is no steady state below 500 °C.
    pub steady_mean_temperature_celsius: Option<f64>,
    /// Its range over all that is assumed, as that of the continuous current; null where there is no steady state.
    pub steady_mean_temperature_range_celsius: [Option<f64>; 2],
    /// The hottest place in a winding.
    pub steady_hot_spot_temperature_celsius: Option<f64>,
    /// The same with wire packs that conduct as badly as published windings do at their worst; null where there is no
    /// steady state then.
    pub steady_hot_spot_temperature_upper_celsius: Option<f64>,
    /// The hot spot's range over all that is assumed.
    pub steady_hot_spot_temperature_range_celsius: [Option<f64>; 2],
    /// The hottest surface.
    pub steady_surface_temperature_celsius: Option<f64>,
    /// Its range over all that is assumed.
    pub steady_surface_temperature_range_celsius: [Option<f64>; 2],
    /// Which surface that is.
    pub hottest_surface: Option<&'static str>,
    /// Each side of the hotter coil, in the order of `surfaces`.
    pub steady_side_temperatures_celsius: Option<[f64; 4]>,
    /// The current in the steady state.
    pub steady_current_ampere: Option<f64>,
    /// The voltage at the supply's terminals in the steady state.
    pub steady_voltage_volt: Option<f64>,
    /// Heat made in both coils at switch-on.
    pub cold_power_watt: f64,
    /// Heat made in both coils in the steady state.
    pub steady_power_watt: Option<f64>,
    /// Time to 1 − 1/e of the final rise.
    pub time_constant_s: Option<f64>,
    /// Time from cold to the first temperature limit, of the pair as it may be relied on; null if never.
    pub time_to_limit_s: Option<f64>,
    /// Which limit that is.
    #[serde(serialize_with = "as_optional_name")]
    pub time_to_limit_by: Option<CurrentLimit>,
    /// Time after switching off in which the rise falls to 1/e, from the end of the curve.
    pub cooling_time_constant_s: Option<f64>,
    /// Time after switching off until no surface is above the limit for a minute's touch; 0 if none ever was.
    pub cool_to_touch_s: Option<f64>,
    /// Centre field in the steady state over that at switch-on, minus 1; null without a steady state or a field.
    pub field_drift_fraction: Option<f64>,
    /// The part of it from windings and former growing, the current held.
    pub field_drift_by_expansion_fraction: Option<f64>,
    /// Heat made minus heat given off minus heat stored, over heat made, at the end of the curve.
    pub energy_balance_fraction: f64,
    /// From switching on to the steady state, or to 500 °C.
    pub curve: Vec<CurvePoint>,
    /// After switching off.
    pub cooling: Vec<CurvePoint>,
}

/// The hotter coil at one moment.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct CurvePoint {
    /// Since switching on, or off.
    pub time_s: f64,
    /// Mean of the winding.
    pub mean_temperature_celsius: f64,
    /// The hottest place in the winding.
    pub hot_spot_temperature_celsius: f64,
    /// The hottest surface.
    pub surface_temperature_celsius: f64,
    /// Through the ammeter.
    pub current_ampere: f64,
    /// At the supply's terminals.
    pub voltage_volt: f64,
    /// Centre field over that at switch-on, minus 1; null without a field.
    pub field_drift_fraction: Option<f64>,
}

/// One current, held for ever or for the allowed time.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct TableRow {
    /// The current, held whatever voltage it takes.
    pub current_ampere: f64,
    /// Mean of the hotter winding; null where there is no steady state below 500 °C.
    pub steady_mean_temperature_celsius: Option<f64>,
    /// The hottest place in a winding.
    pub steady_hot_spot_temperature_celsius: Option<f64>,
    /// The hottest surface.
    pub steady_surface_temperature_celsius: Option<f64>,
    /// At the supply's terminals.
    pub steady_voltage_volt: Option<f64>,
    /// Time from cold to the first temperature limit, of the pair as it may be relied on; null if never.
    pub allowed_s: Option<f64>,
}

/// What happens under duty.
#[derive(Clone, Debug, Serialize)]
#[non_exhaustive]
pub struct DutyRecord {
    /// Switched on.
    pub on_s: f64,
    /// Switched off.
    pub off_s: f64,
    /// The largest current, held while on, that keeps to the temperature limits of the pair as it may be relied on and
    /// that the supply gives; null where
    /// none was found.
    pub current_ampere: Option<f64>,
    /// The limit that binds then.
    #[serde(serialize_with = "as_optional_name")]
    pub limited_by: Option<CurrentLimit>,
    /// Highest mean of a winding at the current asked for; null where the pair runs away.
    pub peak_mean_temperature_celsius: Option<f64>,
    /// Hottest place.
    pub peak_hot_spot_temperature_celsius: Option<f64>,
    /// Hottest surface.
    pub peak_surface_temperature_celsius: Option<f64>,
    /// Lowest mean.
    pub lowest_mean_temperature_celsius: Option<f64>,
    /// One cycle at the current asked for.
    pub cycle: Vec<CurvePoint>,
}

impl HeatStudy {
    /// The cycle that is switched on and off for ever. `None` if none was asked for or none is reached.
    pub fn repeated(&self) -> Option<&DutyRecord> {
        self.duty.as_ref().filter(|duty| !duty.cycle.is_empty())
    }
}
