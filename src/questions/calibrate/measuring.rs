//! How the field was measured, as far as readings and spec tell.

use super::readings::Readings;
use crate::pair::{AmmeterPosition, Bench};

/// How the readings of a calibration were taken.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct Measuring {
    /// The probe's largest distance from the centre of the pair.
    pub farthest_from_centre_m: f64,
    /// Whether it lay along the axis in every reading, one way round or the other.
    pub along_axis: bool,
    /// Whether it was turned round between readings.
    pub turned_round: bool,
    /// Whether the current was reversed between readings.
    pub both_directions: bool,
    /// Where the ammeter stands, if the spec says so.
    pub ammeter_position: Option<AmmeterPosition>,
}

impl Measuring {
    pub(super) fn of(bench: &Bench, readings: &Readings) -> Self {
        let all = &readings.readings;
        let any = |is: fn(f64) -> bool| all.iter().any(|reading| is(reading.current_ampere));
        Self {
            farthest_from_centre_m: all.iter().map(|reading| reading.probe_m.norm()).fold(0.0, f64::max),
            // Within a degree.
            along_axis: all.iter().all(|reading| reading.direction.z.abs() > 1f64.to_radians().cos()),
            turned_round: all.iter().any(|reading| (reading.direction + all[0].direction).norm() < 1e-6),
            both_directions: any(|current| current > 0.0) && any(|current| current < 0.0),
            ammeter_position: bench.ammeter_position,
        }
    }
}
