//! The phrase of each fault that several questions know.
//!
//! Each question keeps a list of its own causes, because each rests on other readings; what it adds to a phrase is what
//! those readings show of the fault.

use crate::pair::Connection;

/// A fault of a pair, of its wiring, or of what was written down.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Fault {
    /// The field was read in one unit and written as another.
    FieldUnit {
        /// The unit that the meter showed.
        read: &'static str,
        /// The unit that was written.
        written: &'static str,
    },
    /// The current was read in one unit and written as another.
    #[cfg(feature = "paper")]
    CurrentUnit {
        /// The unit that the meter showed.
        read: &'static str,
        /// The unit that was written.
        written: &'static str,
    },
    /// One coil is connected backwards.
    CoilReversed,
    /// The whole pair, or the probe, is the other way round.
    LeadsReversed,
    /// Only one coil carries the current.
    OneCoilAlone,
    /// The coils are not connected as is stated.
    Connection {
        /// How they are connected.
        really: Connection,
    },
    /// The wire is aluminium where copper is stated.
    Aluminium,
    /// Radii stand where diameters were asked for.
    RadiusForDiameter,
}

impl Fault {
    /// Gauss written as millitesla.
    pub(crate) const GAUSS_FOR_MILLITESLA: Self = Self::FieldUnit { read: "gauss", written: "millitesla" };
    /// Millitesla written as gauss.
    pub(crate) const MILLITESLA_FOR_GAUSS: Self = Self::FieldUnit { read: "millitesla", written: "gauss" };

    /// The fault as a clause.
    pub(crate) fn phrase(self) -> String {
        match self {
            Self::FieldUnit { read, written } => {
                format!("the field was read in {read} and written as {written}")
            }
            #[cfg(feature = "paper")]
            Self::CurrentUnit { read, written } => {
                format!("the current was read in {read} and written as {written}")
            }
            Self::CoilReversed => "one coil is connected backwards and works against the other".into(),
            Self::LeadsReversed => "the leads of the pair, or the probe, are the wrong way round".into(),
            Self::OneCoilAlone => "only one coil carries the current".into(),
            Self::Connection { really: Connection::Parallel } => {
                "the coils are in parallel, not in series".into()
            }
            Self::Connection { really: Connection::Series } => {
                "the coils are in series, not in parallel".into()
            }
            Self::Aluminium => "the wire is aluminium, not copper".into(),
            Self::RadiusForDiameter => "radii were written for the inner and outer diameter".into(),
        }
    }

    /// The fault, and what it makes of the readings or what to look at.
    pub(crate) fn and(self, what_follows: &str) -> String {
        format!("{}: {what_follows}", self.phrase())
    }
}
