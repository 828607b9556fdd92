//! The electron beam: its path in a static magnetic field and the e/m read from it.

mod bench;
mod bias;
mod effective_field;
mod electron;
mod gun;
pub mod parallax;
mod path;

#[cfg(test)]
pub(crate) use bench::tube_bench;
pub use bench::{BeamBench, FieldLine, LineRoom, OtherLine, RoomContradiction, Setting, bias_fraction};
pub use bias::{Bias, BiasParts, bias};
pub use effective_field::{
    CurrentDirection, effective_field_ratio, effective_field_ratio_towards, effective_field_tesla,
    first_order_effective_field_ratio, first_order_effective_field_ratio_towards,
};
pub use electron::Electron;
pub use gun::{GUN_BODY_LENGTH_M, GUN_BODY_RADIUS_M, Gun};
pub use path::{Halt, Path, PathLength, PathOptions, PathPoint, trace};
