//! What one build error does, as the record tells it.

use crate::pair::Distribution;
use crate::physics::build_error::{BuildError, CoilName};
use serde::Serialize;

/// What one build error does.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Sensitivity {
    /// What is off.
    pub name: &'static str,
    /// On which coil; none for what belongs to the pair.
    pub coil: Option<CoilName>,
    /// The unit that the limit is counted in: `m`, `rad`, `turn` or `1`.
    pub unit: &'static str,
    /// How far it may be off.
    pub limit: f64,
    /// What the limit means.
    pub distribution: Distribution,
    /// Standard uncertainty of what is off, in the same unit.
    pub standard_uncertainty: f64,
    /// Change of the field constant per unit, T/A.
    pub field_constant_tesla_per_ampere_per_unit: f64,
    /// Standard uncertainty of the field constant from this error alone, over the constant.
    pub field_constant_relative_contribution: f64,
    /// By how much the size of the worst deviation over the beam grows at the worse of the two limits, at least 0;
    /// none where the spec states no beam.
    pub beam_deviation_growth_at_limit: Option<f64>,
}

impl Sensitivity {
    /// Of a field constant of this size; `growth` is that of the worst deviation over the beam.
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
