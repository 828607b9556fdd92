//! The magnetic field of placed windings.

mod assembly;
mod axis_series;
mod azimuth;
mod coaxial;
mod coaxial_group;
mod deviation;
mod filament;
mod force;
mod mutual;
mod pair_series;
mod potential;
mod section;
mod winding;

pub use assembly::{Assembly, FieldEstimate, PlacedWinding, Tolerance};
pub use coaxial::self_inductance_henry;
pub use deviation::Deviation;
pub use force::{ForceAndTorque, force_and_torque};
pub use mutual::mutual_inductance_henry;
pub use pair_series::{PairSeries, SampledRegion};
pub use section::Section;
