//! How warm the coils get, how long that takes, what it does to the field, and where it must stop.

pub mod air;
pub mod circuit;
pub mod coil;
pub mod convection;
pub mod faces;
pub mod limits;
pub mod materials;
pub mod pack;
pub mod pair;
pub mod radiation;
pub mod section;

pub use limits::{Limit, Limits, limits};
pub use pair::HeatedPair;
