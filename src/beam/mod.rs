//! The electron beam: its path in a static magnetic field and what a reader makes of it.

mod bench;
mod bias;
mod chart;
mod effective_field;
mod electron;
mod gun;
mod orbit;
pub mod parallax;
mod path;
mod scale;

#[cfg(test)]
pub(crate) use bench::tube_bench;
pub use bench::{BeamBench, FieldLine, Setting, bias_fraction};
pub use bias::{Bias, BiasParts, bias};
pub use chart::{BiasRow, BiasTable, Chart, ChartCurve, ChartPoint, bias_table, chart};
pub use effective_field::{
    CurrentDirection, effective_field_ratio, effective_field_ratio_towards, effective_field_tesla,
    first_order_effective_field_ratio, first_order_effective_field_ratio_towards,
};
pub use electron::Electron;
pub use gun::Gun;
pub use orbit::{Orbit, PathRow, Strike, orbit};
pub use path::{Extent, Halt, Path, PathOptions, PathPoint, trace};
pub use scale::{ReadingScale, ScaleCircle, reading_scale};
