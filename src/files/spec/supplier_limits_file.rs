//! What a file of a supplier's limits may hold.

use super::quantity::{
    Current, FluxDensity, Fraction, Inductance, Length, Mass, Resistance, Temperature, Voltage,
};
use schemars::JsonSchema;
use serde::Deserialize;

/// Limits that a supplier promises. They replace what follows from the spec's tolerance, for the quantities named.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(title = "coilwright supplier limits")]
pub(super) struct SupplierLimitsFile {
    /// Where the limits come from.
    #[schemars(length(min = 1), example = "Data sheet of 2026-02-14")]
    pub title: String,
    /// Resistance of the pair at its terminals.
    pub resistance: Option<ResistanceLimits>,
    /// Wire diameter over the enamel.
    pub overall_wire_diameter: Option<RangeFile<Length>>,
    /// Inner diameter of the wound copper.
    pub inner_diameter: Option<RangeFile<Length>>,
    /// Outer diameter of the wound copper.
    pub outer_diameter: Option<RangeFile<Length>>,
    /// Width of the wound copper.
    pub width: Option<RangeFile<Length>>,
    /// From the middle of one coil to the middle of the other.
    pub spacing: Option<RangeFile<Length>>,
    /// Field at the centre.
    pub field: Option<FieldLimits>,
    /// Inductance of the pair as connected.
    pub inductance: Option<RangeFile<Inductance>>,
    /// Mass of the conductor of both coils.
    pub mass: Option<RangeFile<Mass>>,
    /// Each coil alone.
    pub coil: Option<CoilLimitsFile>,
    /// Field at points, about what the spec gives there.
    pub fields: Option<PartLimits>,
    /// Hottest touchable surface, at the current and time at which it is measured.
    pub surface_temperature: Option<RangeFile<Temperature>>,
    /// Voltage at the pair's terminals, at the current and time at which it is measured.
    pub warm_voltage: Option<RangeFile<Voltage>>,
    /// Largest less smallest distance of the coils round the rim.
    pub spacing_difference: Option<RangeFile<Length>>,
    /// Step from rim to rim along the axis.
    pub rim_step: Option<RangeFile<Length>>,
    /// Resistance between winding and former.
    pub insulation_resistance: Option<RangeFile<Resistance>>,
}

/// Limits of each coil alone.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct CoilLimitsFile {
    /// Turns.
    pub turns: Option<TurnsLimits>,
    /// Resistance.
    pub resistance: Option<ResistanceLimits>,
    /// Inner diameter of the wound copper.
    pub inner_diameter: Option<RangeFile<Length>>,
    /// Outer diameter of the wound copper.
    pub outer_diameter: Option<RangeFile<Length>>,
    /// Radius of the middle of the wound section, from both diameters.
    pub mean_radius: Option<RangeFile<Length>>,
    /// Extent of the section along the radius, from both diameters.
    pub depth: Option<RangeFile<Length>>,
    /// Width of the wound copper.
    pub width: Option<RangeFile<Length>>,
    /// Its own inductance.
    pub inductance: Option<RangeFile<Inductance>>,
    /// Mass of its conductor.
    pub mass: Option<RangeFile<Mass>>,
}

/// A range: its ends, or a part of what the spec gives.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct RangeFile<T> {
    /// Smallest allowed.
    pub at_least: Option<T>,
    /// Largest allowed.
    pub at_most: Option<T>,
    /// Instead of both: so much above or below what the spec gives.
    #[schemars(example = "5 %")]
    pub within: Option<Fraction>,
}

/// A range of resistances, and the copper's temperature for which it holds.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct ResistanceLimits {
    /// Smallest allowed.
    #[schemars(example = "4.1 ohm")]
    pub at_least: Option<Resistance>,
    /// Largest allowed.
    #[schemars(example = "4.4 ohm")]
    pub at_most: Option<Resistance>,
    /// Instead of both: so much above or below what the spec gives.
    #[schemars(example = "5 %")]
    pub within: Option<Fraction>,
    /// The copper's temperature for which the ends hold; 20 °C where not given.
    #[schemars(example = "20 degC")]
    pub at: Option<Temperature>,
}

/// A range of fields, and the current for which it holds.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct FieldLimits {
    /// Smallest allowed.
    #[schemars(example = "0.83 mT")]
    pub at_least: Option<FluxDensity>,
    /// Largest allowed.
    #[schemars(example = "0.85 mT")]
    pub at_most: Option<FluxDensity>,
    /// Instead of both: so much above or below what the spec gives.
    #[schemars(example = "2 %")]
    pub within: Option<Fraction>,
    /// The current for which the ends hold; 1 A where not given.
    #[schemars(example = "1 A")]
    pub current: Option<Current>,
}

/// A range of turns.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct TurnsLimits {
    /// Fewest allowed.
    #[schemars(range(min = 0), example = 149.5)]
    pub at_least: Option<f64>,
    /// Most allowed.
    #[schemars(range(min = 0), example = 150.5)]
    pub at_most: Option<f64>,
    /// Instead of both: so much above or below what the spec gives.
    #[schemars(example = "1 %")]
    pub within: Option<Fraction>,
}

/// A part of what the spec gives.
#[derive(Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct PartLimits {
    /// So much above or below what the spec gives.
    #[schemars(example = "2 %")]
    pub within: Fraction,
}
