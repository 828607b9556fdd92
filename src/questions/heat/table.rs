//! From current to steady temperature and allowed time, at round currents.

use super::Context;
use super::record::TableRow;
use crate::Result;
use crate::pair::Supply;
use crate::physics::heat::circuit::Drive;
use crate::physics::heat::limits::Limits;
use rayon::prelude::*;

impl Context<'_> {
    pub(super) fn table(&self, limits: &Limits, supply: Option<&Supply>) -> Result<Vec<TableRow>> {
        let top = supply
            .and_then(|supply| supply.current_limit_ampere)
            .unwrap_or(2.0 * limits.continuous_current_ampere);
        currents_up_to(top)
            .into_par_iter()
            .map(|current_ampere| {
                let drive = Drive::held(current_ampere);
                let steady = self.pair.steady(&drive);
                Ok(TableRow {
                    current_ampere,
                    steady_mean_temperature_celsius: steady.map(|steady| steady.hottest_mean_celsius()),
                    steady_hot_spot_temperature_celsius: steady.map(|steady| steady.hot_spot_celsius()),
                    steady_surface_temperature_celsius: steady.map(|steady| steady.hottest_surface_celsius()),
                    steady_voltage_volt: steady.map(|steady| steady.currents.supply_volt),
                    allowed_s: self.relied_on.time_to_limit(&drive, self.temperatures)?.map(|(time, _)| time),
                })
            })
            .collect::<Vec<Result<TableRow>>>()
            // Collected in order, so that the first row's error is returned whichever thread ends first.
            .into_iter()
            .collect()
    }
}

/// Nine to sixteen currents: round ones, and `top` itself as the last.
fn currents_up_to(top: f64) -> Vec<f64> {
    if top <= 0.0 {
        return Vec::new();
    }
    let decade = 10f64.powf((top / 10.0).log10().floor());
    let step = [1.0, 2.0, 2.5, 5.0, 10.0]
        .into_iter()
        .map(|multiple| multiple * decade)
        .find(|step| top / step <= 16.0)
        .unwrap_or(10.0 * decade);
    let mut currents: Vec<f64> = (1..)
        .map(|index| f64::from(index) * step)
        .take_while(|current| *current < top * (1.0 - 1e-9))
        .collect();
    currents.push(top);
    currents
}
