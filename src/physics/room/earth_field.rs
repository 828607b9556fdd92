//! The earth's main field at a place and a date, as a record.

use serde::Serialize;

/// The earth's main field at a place and a date.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct EarthField {
    /// The model it comes from.
    pub model: &'static str,
    /// First day of the model's validity.
    pub valid_from: &'static str,
    /// Last day of the model's validity.
    pub valid_until: &'static str,
    /// Component toward true north.
    pub north_tesla: f64,
    /// Component toward east.
    pub east_tesla: f64,
    /// Component downward.
    pub down_tesla: f64,
    /// Standard uncertainties of the three, the model's own (root mean square over the globe; WMM2020 and WMM2025
    /// technical reports, section 3.4); steel in the building is not included.
    pub standard_uncertainty_tesla: [f64; 3],
}
