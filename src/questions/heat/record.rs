//! The answer of [`super::study`].

use super::assumptions::Assumption;
use super::warm_up::WarmUpFit;
use crate::pair::materials::TouchMaterial;
use crate::pair::{Model, Provenance};
use crate::physics::heat::Limit;
use crate::physics::heat::limits::CurrentLimit;
use crate::physics::heat::pack::WirePack;
use crate::questions::words::limits::{as_name, as_named, as_optional_name};
use crate::questions::words::notes::as_sentences;
use serde::Serialize;

/// The heat of a pair.
#[derive(Clone, Debug, Serialize)]
#[non_exhaustive]
pub struct HeatStudy {
    /// Program, spec and digest.
    pub provenance: Provenance,
    /// Which geometry was used.
    pub model: Model,
    /// Temperature of the room's air and walls.
    pub room_temperature_celsius: f64,
    /// The largest current that may flow continuously.
    pub continuous_current_ampere: f64,
    /// Its range: surfaces that give off 15 % less or more (or the warm-up test's uncertainty, k = 2), the wire pack over
    /// its published range, the former's walls ±30 %, the room ±2 K, their changes added as squares.
    pub continuous_current_range_ampere: [f64; 2],
    /// The lower end of that range, to be relied on for touching and for the insulation.
    pub reliable_continuous_current_ampere: f64,
    /// Distance from the centre beyond which the field at the supply's current limit, with the room's, is below 0.5 mT;
    /// `None` without a limit.
    pub caution_distance_m: Option<f64>,
    /// The limit that binds.
    #[serde(serialize_with = "as_name")]
    pub limited_by: CurrentLimit,
    /// Each limit on its own.
    #[serde(serialize_with = "as_named")]
    pub limits: Vec<Limit>,
    /// The current at which each of them is reached by the pair to be relied on, in the same order; `None` if never.
    pub reliable_limit_current_ampere: Vec<Option<f64>>,
    /// The current above which there is no steady state below 500 °C.
    pub critical_current_ampere: f64,
    /// Factor on the surface coefficients: 1, or that of the warm-up test.
    pub surface_coefficient_factor: f64,
    /// Factor on the heat capacities: 1, or that of the warm-up test.
    pub heat_capacity_factor: f64,
    /// Resistance at the supply's terminals with the copper at room temperature.
    pub cold_resistance_ohm: f64,
    /// Heat capacity of both coils, formers included.
    pub heat_capacity_joule_per_kelvin: f64,
    /// The wire pack of one coil.
    pub wire_pack: WirePack,
    /// The sides of coil a.
    pub surfaces: Vec<SurfaceRecord>,
    /// The pair at the requested current.
    #[serde(flatten)]
    pub at_current: Option<AtCurrent>,
    /// Steady temperature and allowed time for a range of currents.
    pub table: Vec<TableRow>,
    /// The repeated cycle.
    pub duty: Option<DutyRecord>,
    /// The result of the warm-up test.
    pub warm_up: Option<WarmUpFit>,
    /// The assumptions, and the effects left out.
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
    /// Resistance of the former's wall before it; `None` if it is bare.
    pub wall_kelvin_per_watt: Option<f64>,
    /// Its material, as it feels to the hand.
    pub touch: TouchMaterial,
}

/// The pair at one setting of the supply.
#[derive(Clone, Debug, Serialize)]
#[non_exhaustive]
pub struct AtCurrent {
    /// The current at switch-on: the requested one, or what the supply gives if that is less.
    pub current_ampere: f64,
    /// The requested current.
    pub asked_current_ampere: f64,
    /// The limit that keeps the supply from giving the requested current, "supply current" or "supply voltage"; `None`
    /// if it gives it.
    #[serde(serialize_with = "as_optional_name")]
    pub held_back_by: Option<CurrentLimit>,
    /// What the supply regulates at switch-on.
    pub supply_holds: &'static str,
    /// Mean of the hotter winding; `None` if there is no steady state below 500 °C.
    pub steady_mean_temperature_celsius: Option<f64>,
    /// Its range over all assumptions, like that of the continuous current; `None` if there is no steady state.
    pub steady_mean_temperature_range_celsius: [Option<f64>; 2],
    /// The hottest place in a winding.
    pub steady_hot_spot_temperature_celsius: Option<f64>,
    /// The hottest place if the wire packs conduct as badly as the worst published ones. `None` if there is then no
    /// steady state.
    pub steady_hot_spot_temperature_upper_celsius: Option<f64>,
    /// The hot spot's range over all assumptions.
    pub steady_hot_spot_temperature_range_celsius: [Option<f64>; 2],
    /// The hottest surface.
    pub steady_surface_temperature_celsius: Option<f64>,
    /// Its range over all assumptions.
    pub steady_surface_temperature_range_celsius: [Option<f64>; 2],
    /// Which surface that is.
    pub hottest_surface: Option<&'static str>,
    /// Each side of the hotter coil, in the order of `surfaces`.
    pub steady_side_temperatures_celsius: Option<[f64; 4]>,
    /// The current in the steady state.
    pub steady_current_ampere: Option<f64>,
    /// The voltage at the supply's terminals in the steady state.
    pub steady_voltage_volt: Option<f64>,
    /// Power of both coils at switch-on.
    pub cold_power_watt: f64,
    /// Power of both coils in the steady state.
    pub steady_power_watt: Option<f64>,
    /// Time to 1 − 1/e of the final rise.
    pub time_constant_s: Option<f64>,
    /// Time from cold to the first temperature limit, for the pair to be relied on; `None` if it is never reached.
    pub time_to_limit_s: Option<f64>,
    /// That limit.
    #[serde(serialize_with = "as_optional_name")]
    pub time_to_limit_by: Option<CurrentLimit>,
    /// Time after switching off in which the rise, from the end of the curve, falls to 1/e.
    pub cooling_time_constant_s: Option<f64>,
    /// Time after switching off until no surface is above the limit for a minute's touch; 0 if none ever was.
    pub cool_to_touch_s: Option<f64>,
    /// Centre field in the steady state over that at switch-on, minus 1; `None` without a steady state or a field.
    pub field_drift_fraction: Option<f64>,
    /// The part of it from thermal expansion of windings and former at constant current.
    pub field_drift_by_expansion_fraction: Option<f64>,
    /// Heat generated minus heat given off minus heat stored, over heat generated, at the end of the curve.
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
    /// Centre field over that at switch-on, minus 1; `None` without a field.
    pub field_drift_fraction: Option<f64>,
}

/// One current, held continuously or for the allowed time.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct TableRow {
    /// The current, held at any voltage.
    pub current_ampere: f64,
    /// Mean of the hotter winding; `None` if there is no steady state below 500 °C.
    pub steady_mean_temperature_celsius: Option<f64>,
    /// The hottest place in a winding.
    pub steady_hot_spot_temperature_celsius: Option<f64>,
    /// The hottest surface.
    pub steady_surface_temperature_celsius: Option<f64>,
    /// At the supply's terminals.
    pub steady_voltage_volt: Option<f64>,
    /// Time from cold to the first temperature limit, for the pair to be relied on; `None` if it is never reached.
    pub allowed_s: Option<f64>,
}

/// The pair in repeated operation.
#[derive(Clone, Debug, Serialize)]
#[non_exhaustive]
pub struct DutyRecord {
    /// Time switched on.
    pub on_s: f64,
    /// Time switched off.
    pub off_s: f64,
    /// The largest current while switched on that keeps the pair to be relied on within the temperature limits and that
    /// the supply gives; `None` if none was found.
    pub current_ampere: Option<f64>,
    /// The limit that then binds.
    #[serde(serialize_with = "as_optional_name")]
    pub limited_by: Option<CurrentLimit>,
    /// Highest mean of a winding at the requested current; `None` if the pair warms without end.
    pub peak_mean_temperature_celsius: Option<f64>,
    /// Hottest place.
    pub peak_hot_spot_temperature_celsius: Option<f64>,
    /// Hottest surface.
    pub peak_surface_temperature_celsius: Option<f64>,
    /// Lowest mean.
    pub lowest_mean_temperature_celsius: Option<f64>,
    /// One cycle at the requested current.
    pub cycle: Vec<CurvePoint>,
}

impl HeatStudy {
    /// The repeated cycle; `None` if none was requested or none is reached.
    pub fn repeated(&self) -> Option<&DutyRecord> {
        self.duty.as_ref().filter(|duty| !duty.cycle.is_empty())
    }
}
