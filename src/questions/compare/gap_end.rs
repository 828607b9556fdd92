//! A value at an end of what may fill a gap of a quote.

use crate::files::spec::{Gap, GapFilling};
use crate::pair::Connection;

/// A value at an end of what may fill a gap.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum GapEnd {
    /// Turns of a coil.
    Turns(f64),
    /// A length, m.
    Length(f64),
    /// A connection.
    Connection(Connection),
    /// A wire.
    Wire {
        /// Its name in a table.
        name: Option<String>,
        /// Diameter of the bare conductor.
        bare_diameter_m: f64,
        /// Diameter over the enamel.
        overall_diameter_m: f64,
    },
}

impl GapEnd {
    /// The end of a gap that is filled so.
    pub(super) fn of(gap: Gap, filling: &GapFilling) -> Self {
        match (gap, filling) {
            (Gap::Turns, GapFilling::Number(turns)) => Self::Turns(*turns),
            (_, GapFilling::Number(metre)) => Self::Length(*metre),
            (_, GapFilling::Connection(connection)) => Self::Connection(*connection),
            (_, GapFilling::Wire(wire)) => Self::Wire {
                name: wire.name.clone(),
                bare_diameter_m: wire.bare_diameter_m,
                overall_diameter_m: wire.overall_diameter_m,
            },
        }
    }

    /// Its place in the order of sizes.
    pub(super) fn size(&self) -> f64 {
        match self {
            Self::Turns(number) | Self::Length(number) => *number,
            Self::Connection(connection) => f64::from(*connection as u8),
            Self::Wire { bare_diameter_m, overall_diameter_m, .. } => {
                bare_diameter_m + 1e-3 * overall_diameter_m
            }
        }
    }
}
