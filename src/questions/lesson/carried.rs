//! How long cold coils carry a current: a table fine enough for the page to look times up in it.

use crate::pair::{Bench, circuit};
use crate::physics::heat::limits::TemperatureLimits;
use crate::physics::heat::range::to_rely_on;
use crate::physics::heat::{AllowedTime, HeatedPair};
use crate::physics::safety::SafetyFigures;
use rayon::prelude::*;

/// Number of currents in the table.
const ROWS: u32 = 24;

/// How long cold coils carry currents above the continuous current to rely on, up to the largest that the supply drives. Empty if the
/// spec lacks the data.
pub(super) fn allowed_times(bench: &Bench, safety: &SafetyFigures) -> Vec<AllowedTime> {
    let (Some(lowest), Ok(limit)) =
        (safety.reliable_continuous_current_ampere, circuit::largest_current_ampere(bench))
    else {
        return Vec::new();
    };
    let Ok(pair) = HeatedPair::of(bench) else { return Vec::new() };
    let temperatures = TemperatureLimits::of(bench);
    let relied_on = to_rely_on(&pair, &temperatures, bench.supply.as_ref(), lowest);
    let row = |i: u32| {
        let current_ampere = lowest + (limit - lowest) * f64::from(i) / f64::from(ROWS);
        AllowedTime::of(&relied_on, current_ampere, &temperatures)
    };
    if limit <= lowest {
        return Vec::new();
    }
    (1..=ROWS).into_par_iter().filter_map(row).collect()
}
