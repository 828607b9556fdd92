//! The magnetic field of placed windings.

mod assembly;
mod axis_row;
mod axis_series;
mod axis_terms;
mod azimuth;
mod central;
mod coaxial;
mod coaxial_group;
mod columns;
mod deviation;
mod filament;
mod force;
mod grid;
mod mutual;
mod near_pairs;
mod nearness;
mod pair_series;
mod placed;
mod potential;
mod section;
mod turns;
mod winding;

pub use assembly::{Assembly, FieldEstimate, Tolerance};
pub use axis_terms::AxisTerms;
pub use coaxial::self_inductance_henry;
pub use deviation::Deviation;
pub use filament::{Filament, filaments_field};
pub use force::{ForceAndTorque, force_and_torque};
pub use grid::{FieldColumns, PlaneGrid};
pub use mutual::mutual_inductance_henry;
pub use near_pairs::{Eight, EightPairs, EightVectors, NearPairs, ROUGH_TOLERANCE, TOGETHER};
pub use pair_series::{PairSeries, SampledRegion};
pub use placed::PlacedWinding;
pub use section::Section;
