//! What a file of measurements may hold.

use super::quantity::{Current, FluxDensity, Inductance, Length, Mass, Resistance, Temperature};
use crate::constants::Conductor;
use crate::pair::Connection;
use schemars::JsonSchema;
use serde::Deserialize;

/// What was measured on a pair; every entry may be left out. An uncertainty is a standard one.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(title = "coilwright measurements")]
pub(super) struct MeasuredFile {
    /// What people call this pair.
    #[schemars(length(min = 1), example = "Unlabelled pair from the cellar")]
    pub title: String,
    /// How the coils were connected while they were measured; `series` where not given.
    pub connection: Option<Connection>,
    /// Resistance of the pair as connected.
    pub resistance: Option<ResistanceReading>,
    /// Wire diameter over the enamel.
    pub overall_wire_diameter: Option<LengthReading>,
    /// Inner diameter of the wound copper.
    pub inner_diameter: Option<LengthReading>,
    /// Outer diameter of the wound copper.
    pub outer_diameter: Option<LengthReading>,
    /// Width of the wound copper along the axis.
    pub width: Option<LengthReading>,
    /// From the middle of one coil to the middle of the other, along the axis.
    pub spacing: Option<LengthReading>,
    /// Field at the centre, the room's taken off (half the difference of both current directions).
    pub field: Option<FieldReading>,
    /// Inductance of the pair as connected.
    pub inductance: Option<InductanceReading>,
    /// Mass of both coils.
    pub mass: Option<MassReading>,
}

/// A resistance, its standard uncertainty, and the copper's temperature.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct ResistanceReading {
    /// The resistance.
    #[schemars(example = "7.4 ohm")]
    pub value: Resistance,
    /// Its standard uncertainty.
    #[schemars(example = "0.04 ohm")]
    pub uncertainty: Resistance,
    /// The copper's temperature; 20 °C where not given.
    #[schemars(example = "22 degC")]
    pub at: Option<Temperature>,
}

/// A length and its standard uncertainty.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct LengthReading {
    /// The length.
    #[schemars(example = "312 mm")]
    pub value: Length,
    /// Its standard uncertainty.
    #[schemars(example = "0.8 mm")]
    pub uncertainty: Length,
}

/// A field, its standard uncertainty, and the current that made it.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct FieldReading {
    /// The field at the centre.
    #[schemars(example = "0.79 mT")]
    pub value: FluxDensity,
    /// Its standard uncertainty.
    #[schemars(example = "0.004 mT")]
    pub uncertainty: FluxDensity,
    /// The current through the ammeter.
    #[schemars(example = "1 A")]
    pub current: Current,
}

/// An inductance and its standard uncertainty.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct InductanceReading {
    /// The inductance.
    #[schemars(example = "27 mH")]
    pub value: Inductance,
    /// Its standard uncertainty.
    #[schemars(example = "0.8 mH")]
    pub uncertainty: Inductance,
}

/// A mass, its standard uncertainty, and what was weighed.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct MassReading {
    /// The mass of both coils together.
    #[schemars(example = "1.9 kg")]
    pub value: Mass,
    /// Its standard uncertainty.
    #[schemars(example = "0.04 kg")]
    pub uncertainty: Mass,
    /// What was weighed; `copper` where not given. Take the former's mass off first.
    pub of: Option<Conductor>,
}
