//! The effect of one build error, for the record.

use crate::pair::Distribution;
use crate::physics::build_error::{BuildError, CoilName};
use serde::Serialize;

/// The effect of one build error.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Sensitivity {
    /// The error.
    pub name: &'static str,
    /// Its coil; `None` if it belongs to the pair.
    pub coil: Option<CoilName>,
    /// The unit of the limit: `m`, `rad`, `turn` or `1`.
    pub unit: &'static str,
    /// The limit.
    pub limit: f64,
    /// The distribution that the limit stands for.
    pub distribution: Distribution,
    /// Standard uncertainty of the error, in the same unit.
    pub standard_uncertainty: f64,
    /// Change of the field constant per unit, T/A.
    pub field_constant_tesla_per_ampere_per_unit: f64,
    /// Relative standard uncertainty of the field constant from this error alone.
    pub field_constant_relative_contribution: f64,
    /// Growth of the size of the worst deviation over the beam at the worse of the two limits, at least 0; `None` if
    /// the spec states no beam.
    pub beam_deviation_growth_at_limit: Option<f64>,
}

impl Sensitivity {
    /// For a field constant of this size. `growth` is that of the worst deviation over the beam.
    pub(super) fn of(error: &BuildError, constant: f64, growth: Option<f64>) -> Self {
        Self {
            name: error.parameter.name(),
            coil: error.coil,
            unit: error.unit,
            limit: error.limit,
            distribution: error.distribution,
            standard_uncertainty: error.standard_uncertainty,
            field_constant_tesla_per_ampere_per_unit: error.sensitivity,
            field_constant_relative_contribution: error.contribution() / constant.abs(),
            beam_deviation_growth_at_limit: growth,
        }
    }
}
