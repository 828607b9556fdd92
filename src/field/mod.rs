//! The magnetic field of placed windings.

mod assembly;
mod deviation;
mod loop_field;
mod pair_series;

pub use assembly::{Assembly, PlacedWinding, Section};
pub use deviation::Deviation;
pub use pair_series::{PairSeries, SampledRegion};
