//! The heating of the coils: temperatures, warm-up time, effect on the field, and limits.

pub mod accuracy;
pub(crate) mod air;
mod allowed_time;
pub(crate) mod carried;
pub mod circuit;
pub mod coil;
pub(crate) mod convection;
pub mod duty;
pub(crate) mod expansion;
pub mod faces;
pub mod limits;
pub mod pack;
pub mod pair;
mod periodic;
pub(crate) mod radiation;
pub mod range;
pub mod section;
pub(crate) mod transient;

pub use allowed_time::AllowedTime;
pub use carried::{Carried, HeldFor};
pub use limits::{Limit, Limits, limits};
pub use pair::HeatedPair;

#[cfg(test)]
pub(crate) mod example {
    use crate::pair::*;

    /// An invented pair on plywood, standing upright, with a supply.
    pub(crate) fn bench() -> Bench {
        let mut bench = Bench::thin_pair();
        bench.title = "Heated pair".into();
        bench.winding.mean_radius_m = 0.168;
        bench.winding.width_m = 0.021;
        bench.winding.depth_m = 0.0085;
        bench.winding.turns = 160.0;
        bench.winding.wire.bare_diameter_m = 0.95e-3;
        bench.winding.wire.overall_diameter_m = 1.041e-3;
        bench.winding.wire.thermal_class_celsius = Some(130.0);
        bench.spacing_m = 0.168;
        bench.former = Some(Former {
            material: Some("plywood".into()),
            wall_m: Some(4e-3),
            cheeks: Cheeks::Both,
            expansion_per_kelvin: Some(5e-6),
        });
        bench.supply = Some(Supply {
            voltage_limit_volt: Some(30.0),
            current_limit_ampere: Some(3.0),
            regulation: Regulation::Current,
        });
        bench.room = Some(Room { temperature_celsius: Some(22.0), field: None });
        bench
    }
}
