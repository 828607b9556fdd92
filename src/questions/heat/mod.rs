//! How much current, for how long, how hot: the whole answer in one record.

pub mod assumptions;
mod at_current;
#[cfg(feature = "paper")]
pub mod files;
mod held;
#[cfg(feature = "paper")]
pub mod picture;
mod record;
mod table;
pub mod warm_up;
#[cfg(feature = "paper")]
pub mod words;

use crate::numeric::calendar::Day;
pub use held::{Held, held};
pub use record::{AtCurrent, CurvePoint, DutyRecord, HeatStudy, SurfaceRecord, TableRow};

use crate::pair::{Bench, Provenance, Supply};
use crate::physics::field::PreparedPair;
use crate::physics::heat::accuracy::SURFACE_ACCURACY;
use crate::physics::heat::circuit::Drive;
use crate::physics::heat::duty::Duty;
use crate::physics::heat::expansion::WarmField;
use crate::physics::heat::limits::{CurrentLimit, TemperatureLimits};
use crate::physics::heat::pair::HeatedPair;
use crate::physics::heat::range::{Alternatives, to_rely_on};
use crate::physics::heat::transient::ThermalState;
use crate::physics::safety::caution_distance_m;
use crate::{Error, Result};
use assumptions::assumptions;
use warm_up::WarmUpTest;

/// The request.
#[derive(Clone, Debug, Default)]
pub struct HeatRequest {
    /// The current at switch-on, within the supply's limits; the supply's current limit if `None`.
    pub current_ampere: Option<f64>,
    /// Switching on and off.
    pub duty: Option<Duty>,
    /// A warm-up test for fitting the model.
    pub warm_up: Option<WarmUpTest>,
    /// The user's own limit of the surface temperature, besides those of the standards.
    pub surface_limit_celsius: Option<f64>,
    /// A date to print.
    pub date: Option<Day>,
}

/// Answers the request for a bench.
pub fn study(bench: &Bench, request: &HeatRequest) -> Result<HeatStudy> {
    let predicted = HeatedPair::of(bench)?;
    let warm_up = request.warm_up.as_ref().map(|test| test.fit(bench, &predicted)).transpose()?;
    let (surface_factor, capacity_factor, doubt) = match &warm_up {
        Some(fit) => (
            fit.surface_coefficient_factor,
            fit.heat_capacity_factor,
            2.0 * fit.surface_coefficient_factor_standard_uncertainty / fit.surface_coefficient_factor,
        ),
        None => (1.0, 1.0, SURFACE_ACCURACY),
    };
    let pair = predicted.with_factors(surface_factor, capacity_factor);
    // A test that hardly determines the factor leaves a wide range, but not a negative one.
    let doubt = doubt.min(0.9);
    let factors = [surface_factor, capacity_factor];
    let alternatives = Alternatives::of(bench, &pair, factors, doubt)?;
    let mut temperatures = TemperatureLimits::of(bench);
    temperatures.own_surface_celsius = request.surface_limit_celsius;
    let supply = bench.supply.as_ref();
    let (limits, range) = rayon::join(
        || pair.limits(&temperatures, supply),
        || alternatives.continuous_range_ampere(&temperatures, supply),
    );
    let relied_on = to_rely_on(&pair, &temperatures, supply, range[0]);

    let asked = match request.current_ampere {
        Some(current) if !current.is_finite() => {
            return Err(Error::value(format!("a current of {current} A is not a finite number")));
        }
        Some(current) => Some(current.abs()),
        None => supply.and_then(|supply| supply.current_limit_ampere),
    };
    let context = Context {
        pair: &pair,
        relied_on: &relied_on,
        alternatives: &alternatives,
        field: WarmField::of(bench, pair.room_celsius),
        temperatures: &temperatures,
    };
    let drive = |current| pair.circuit.drive(supply, current, pair.room_celsius);
    let ((table, reliable), at_current) = rayon::join(
        || (context.table(&limits, supply), relied_on.limits(&temperatures, supply).limits),
        || asked.map(|current| context.at_current(current, &drive(current), supply)).transpose(),
    );
    let at_current = at_current?;
    let duty = request.duty.map(|duty| context.duty(&duty, asked.map(drive), supply)).transpose()?;
    let table = table?;
    Ok(HeatStudy {
        provenance: Provenance::of(bench, request.date),
        model: bench.model,
        room_temperature_celsius: pair.room_celsius,
        continuous_current_ampere: limits.continuous_current_ampere,
        continuous_current_range_ampere: range,
        reliable_continuous_current_ampere: range[0],
        caution_distance_m: caution_distance_m(&PreparedPair::of(bench))?,
        limited_by: limits.limited_by,
        reliable_limit_current_ampere: reliable.iter().map(|limit| limit.current_ampere).collect(),
        limits: limits.limits,
        critical_current_ampere: limits.critical_current_ampere,
        surface_coefficient_factor: surface_factor,
        heat_capacity_factor: capacity_factor,
        cold_resistance_ohm: pair.circuit.total_ohm([pair.room_celsius; 2]),
        heat_capacity_joule_per_kelvin: pair.heat_capacity_joule_per_kelvin(),
        wire_pack: pair.coils[0].pack,
        surfaces: surfaces(&pair),
        at_current,
        table,
        duty,
        warm_up,
        assumptions: assumptions(bench, &pair, &temperatures),
    })
}

/// Shared by the parts of the study.
struct Context<'a> {
    pair: &'a HeatedPair,
    /// The pair from which usable currents and times are taken.
    relied_on: &'a HeatedPair,
    alternatives: &'a Alternatives,
    field: WarmField,
    temperatures: &'a TemperatureLimits,
}

impl Context<'_> {
    fn duty(&self, duty: &Duty, drive: Option<Drive>, supply: Option<&Supply>) -> Result<DutyRecord> {
        // First the current by temperature alone, then at most what the supply gives.
        let continuous_ampere = self.relied_on.continuous_current_ampere(self.temperatures, None);
        let by_warmth = self
            .relied_on
            .duty_current(duty, self.temperatures, continuous_ampere)?
            .map(|(current, limit)| (current, self.temperatures.of_current(limit)));
        let allowed = match (by_warmth, supply.and_then(|supply| supply.current_limit_ampere)) {
            (Some((current, _)), Some(limit)) if limit < current => {
                Some((limit, CurrentLimit::SupplyCurrent))
            }
            (by_warmth, _) => by_warmth,
        };
        let cycle = match &drive {
            Some(drive) => self.pair.periodic(drive, duty)?.map(|cycle| {
                cycle
                    .moments()
                    .into_iter()
                    .map(|(time, on, state)| {
                        self.point(time, if on { drive } else { &Drive::OFF }, &state, None)
                    })
                    .collect::<Vec<_>>()
            }),
            None => None,
        };
        let most = |of: fn(&CurvePoint) -> f64| {
            cycle.as_ref().map(|cycle| cycle.iter().map(of).fold(f64::NEG_INFINITY, f64::max))
        };
        Ok(DutyRecord {
            on_s: duty.on_s(),
            off_s: duty.off_s(),
            current_ampere: allowed.as_ref().map(|(current, _)| *current),
            limited_by: allowed.map(|(_, limit)| limit),
            peak_mean_temperature_celsius: most(|point| point.mean_temperature_celsius),
            peak_hot_spot_temperature_celsius: most(|point| point.hot_spot_temperature_celsius),
            peak_surface_temperature_celsius: most(|point| point.surface_temperature_celsius),
            lowest_mean_temperature_celsius: most(|point| -point.mean_temperature_celsius).map(|low| -low),
            cycle: cycle.unwrap_or_default(),
        })
    }
}

fn hotter_coil(state: &ThermalState) -> usize {
    usize::from(state.mean_celsius[1] > state.mean_celsius[0])
}

fn surfaces(pair: &HeatedPair) -> Vec<SurfaceRecord> {
    pair.coils[0]
        .faces
        .iter()
        .map(|face| SurfaceRecord {
            name: face.side.name(),
            area_m2: face.surface.area_m2,
            emissivity: face.surface.emissivity,
            wall_kelvin_per_watt: face.wall.map(|wall| wall.resistance_kelvin_per_watt),
            touch: face.surface.touch,
        })
        .collect()
}
