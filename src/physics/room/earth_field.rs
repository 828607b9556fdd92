//! The earth's main field at a place and a date, as a record.

use serde::Serialize;

/// First day, inclusive, that the built-in models hold for (WMM2020, then WMM2025 from 2025-01-01).
pub const MODEL_VALID_FROM: &str = "2020-01-01";

/// Last day, inclusive, that the built-in models hold for.
pub const MODEL_VALID_UNTIL: &str = "2029-12-31";

/// The earth's main field at a place and a date.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct EarthField {
    /// Which model it comes from.
    pub model: &'static str,
    /// First day this model holds for.
    pub valid_from: &'static str,
    /// Last day this model holds for.
    pub valid_until: &'static str,
    /// Component toward true north.
    pub north_tesla: f64,
    /// Component toward east.
    pub east_tesla: f64,
    /// Component downward.
    pub down_tesla: f64,
    /// Standard uncertainties of the three, the model's own (root mean square over the globe; WMM2020 and
    /// WMM2025 technical reports, section 3.4); steel in the building is not in it.
    pub standard_uncertainty_tesla: [f64; 3],
}
