//! A checked coil pair as plain data: winding, wire, placement, tube, meters, supply, room.

mod bench;
mod build_tolerance;
pub mod circuit;
mod clearance;
mod contradiction;
mod instruments;
mod layout;
pub(crate) mod materials;
pub(crate) mod needed;
mod paperwork;
mod possible;
mod provenance;
mod tube;
mod wire_limits;
pub mod wires;

pub use crate::error::ResistanceContradiction;
pub use bench::*;
pub(crate) use build_tolerance::RimLimits;
pub use build_tolerance::{BuildTolerance, NotStated};
pub use contradiction::resistance_contradictions;
pub use instruments::*;
pub use layout::{Layout, TurnPlace, WoundSection};
pub(crate) use needed::{missing, missing_in, unstated_of_meter};
pub use paperwork::{CoilsWere, Conditions, Instrument, Paperwork, Party, Read};
pub(crate) use paperwork::{RenewedMeter, meters_renewed};
pub(crate) use provenance::PROGRAM;
pub use provenance::{Contradiction, Provenance, SourceFile};
pub use tube::*;
pub(crate) use wire_limits::resistivity_of_wire;
pub use wire_limits::{Allowed, WireLimits};
