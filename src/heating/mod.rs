//! How warm the coils get, how long that takes, what it does to the field, and where it must stop.

pub mod air;
pub mod convection;
pub mod materials;
pub mod pack;
pub mod radiation;
pub mod section;
