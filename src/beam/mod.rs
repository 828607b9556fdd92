//! The electron beam: its path in a static magnetic field and what a reader makes of it.

mod effective_field;
mod electron;
mod path;

pub use effective_field::{
    CurrentDirection, effective_field_ratio, effective_field_ratio_towards,
    first_order_effective_field_ratio, first_order_effective_field_ratio_towards,
};
pub use electron::Electron;
pub use path::{Extent, Gun, Halt, Path, PathOptions, PathPoint, trace};
