//! Names and sources of the current limits, the same on page and in JSON.

use super::notes::Told;
use crate::physics::heat::limits::{CurrentLimit, hot_spot_allowance_kelvin};
use crate::physics::heat::{Limit, Limits};
use serde::{Serialize, Serializer};

impl Told for CurrentLimit {
    /// The name of the limit.
    fn sentence(&self) -> String {
        match self {
            Self::Insulation { class_celsius, assumed: true } => {
                format!("insulation, class {class_celsius:.0} assumed")
            }
            Self::Insulation { class_celsius, assumed: false } => {
                format!("insulation, class {class_celsius:.0}")
            }
            Self::TouchByAccident => "touch by accident".into(),
            Self::TouchForAMinute => "touch for a minute".into(),
            Self::OwnSurface => "surface temperature asked for".into(),
            Self::SupplyCurrent => "supply current".into(),
            Self::SupplyVoltage => "supply voltage".into(),
            Self::NoSteadyState => "no steady state above it".into(),
        }
    }
}

/// Who sets a limit.
pub(crate) fn source(limit: CurrentLimit) -> String {
    match limit {
        CurrentLimit::Insulation { class_celsius, .. } => format!(
            "IEC 60085 thermal class; hot spot taken as at least {:.0} K above the mean, as is common practice",
            hot_spot_allowance_kelvin(class_celsius)
        ),
        CurrentLimit::TouchByAccident => {
            "common practice for outer surfaces, as usually quoted from IEC 61010-1".into()
        }
        CurrentLimit::TouchForAMinute => "ISO 13732-1:2006, burn threshold for contact of 1 min".into(),
        CurrentLimit::OwnSurface => "the user".into(),
        CurrentLimit::SupplyCurrent => "the spec, supply.current_limit".into(),
        CurrentLimit::SupplyVoltage => "the spec, supply.voltage_limit, with the copper warm".into(),
        CurrentLimit::NoSteadyState => "the model".into(),
    }
}

/// Serialises a limit as its name.
pub(crate) fn as_name<S: Serializer>(limit: &CurrentLimit, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.collect_str(&limit.sentence())
}

/// Serialises an optional limit as its name.
pub(crate) fn as_optional_name<S: Serializer>(
    limit: &Option<CurrentLimit>,
    serializer: S,
) -> Result<S::Ok, S::Error> {
    limit.map(|limit| limit.sentence()).serialize(serializer)
}

/// Serialises limits with their names and sources.
pub(crate) fn as_named<S: Serializer>(limits: &[Limit], serializer: S) -> Result<S::Ok, S::Error> {
    serializer.collect_seq(limits.iter().map(Named::of))
}

/// Serialises all limits and the smallest.
pub(crate) fn as_all<S: Serializer>(limits: &Limits, serializer: S) -> Result<S::Ok, S::Error> {
    All {
        continuous_current_ampere: limits.continuous_current_ampere,
        limited_by: limits.limited_by.sentence(),
        limits: limits.limits.iter().map(Named::of).collect(),
        critical_current_ampere: limits.critical_current_ampere,
    }
    .serialize(serializer)
}

#[derive(Serialize)]
struct Named {
    name: String,
    current_ampere: Option<f64>,
    temperature_celsius: Option<f64>,
    source: String,
}

impl Named {
    fn of(limit: &Limit) -> Self {
        Self {
            name: limit.limit.sentence(),
            current_ampere: limit.current_ampere,
            temperature_celsius: limit.temperature_celsius,
            source: source(limit.limit),
        }
    }
}

#[derive(Serialize)]
struct All {
    continuous_current_ampere: f64,
    limited_by: String,
    limits: Vec<Named>,
    critical_current_ampere: f64,
}
