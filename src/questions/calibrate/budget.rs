//! The uncertainty budget of the slope: its sources and their contributions (JCGM 100:2008).

use crate::Result;
use crate::error::{CentreFieldFor, Refused};
use crate::pair::{Bench, Distribution};
use crate::physics::budget_source::BudgetSource;
use crate::physics::heat::expansion::WarmField;
use crate::physics::heat::transient::ThermalState;
use crate::physics::slope::{BudgetEntry, Spread};

/// How far above room temperature the coils may be when the calibration is used, in kelvin (common practice, no
/// source).
pub(crate) const WARMING_KELVIN: f64 = 40.0;

/// The entry for coils warmer or colder than the slope assumes, winding and former alike, T within [`WARMING_KELVIN`]
/// either way: dk/dT = k × relative growth per kelvin, from [`crate::physics::heat::expansion`]. `None` if the coils
/// cancel.
pub(crate) fn of_warming(bench: &Bench, slope_tesla_per_ampere: f64) -> Option<BudgetEntry> {
    let room_celsius = bench.room_temperature_celsius();
    let field = WarmField::of(bench, room_celsius);
    let warmed = |by| field.growth_fraction(&ThermalState::uniform(room_celsius + by));
    let per_kelvin = (warmed(WARMING_KELVIN)? - warmed(-WARMING_KELVIN)?) / (2.0 * WARMING_KELVIN);
    let kelvin = Distribution::Rectangular.standard_uncertainty(WARMING_KELVIN);
    let sensitivity = per_kelvin * slope_tesla_per_ampere;
    Some(BudgetEntry {
        source: BudgetSource::Temperature,
        coil: None,
        unit: "K".into(),
        distribution: Spread::Rectangular,
        standard_uncertainty: kelvin,
        sensitivity_tesla_per_ampere_per_unit: sensitivity,
        contribution_tesla_per_ampere: (sensitivity * kelvin).abs(),
        degrees_of_freedom: None,
    })
}

/// Refuses a slope by which nothing can be divided.
pub(crate) fn check_slope(slope_tesla_per_ampere: f64) -> Result<()> {
    // One turn of a kilometre's radius makes 6e-10 T/A; coils that cancel leave rounding, about 1e-18.
    if slope_tesla_per_ampere.is_finite() && slope_tesla_per_ampere.abs() > 1e-15 {
        return Ok(());
    }
    Err(Refused::CoilsCancel { wanted: CentreFieldFor::Calibration }.into())
}
