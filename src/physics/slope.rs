//! A slope with its uncertainty. The type is the same for a slope computed from the geometry, fitted to readings,
//! combined from both, or read from a calibration.

use crate::Result;
use crate::numeric::coverage;
use crate::numeric::coverage::Contribution;
use crate::pair::{Bench, Distribution, missing};
use crate::physics::budget_source::BudgetSource;
use crate::physics::build_error::{BuildError, CoilName, field_constant_errors};
use serde::{Deserialize, Serialize, Serializer};
use std::borrow::Cow;

/// The origin of a slope.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum AdoptedFrom {
    /// The geometry.
    Computed,
    /// Readings.
    Fit,
    /// The weighted mean of both.
    Combined,
}

impl AdoptedFrom {
    /// The word in reports and in JSON.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Computed => "computed",
            Self::Fit => "fit",
            Self::Combined => "combined",
        }
    }
}

/// k of B = k I + B0, the coils' field at the centre per ampere, with its uncertainty.
#[derive(Clone, Debug, PartialEq)]
pub struct Slope {
    /// Its origin.
    pub from: AdoptedFrom,
    /// k.
    pub tesla_per_ampere: f64,
    /// Its uncertainty; `None` if it is not known.
    pub uncertainty: Option<SlopeUncertainty>,
    /// The contributions to u(k); empty if they are not known.
    pub budget: Vec<BudgetEntry>,
}

/// The uncertainty of a slope.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SlopeUncertainty {
    /// u(k).
    pub standard_tesla_per_ampere: f64,
    /// U(k) = coverage factor × u(k).
    pub expanded_tesla_per_ampere: f64,
    /// 2, or Student's t if u(k) has few degrees of freedom.
    pub coverage_factor: f64,
    /// Effective degrees of freedom of u(k) by Welch–Satterthwaite; `None` if every contribution counts as exactly known.
    pub degrees_of_freedom: Option<f64>,
}

impl SlopeUncertainty {
    /// The numbers that `calibration.json` and registers hold for an uncertainty that is not known, beside an empty budget.
    pub(crate) const UNKNOWN_IN_FILES: Self = Self {
        standard_tesla_per_ampere: 0.0,
        expanded_tesla_per_ampere: 0.0,
        coverage_factor: 2.0,
        degrees_of_freedom: None,
    };
}

impl Slope {
    /// A slope with the uncertainty from its budget; of an empty budget it is not known.
    pub fn of(from: AdoptedFrom, tesla_per_ampere: f64, budget: Vec<BudgetEntry>) -> Self {
        let uncertainty = (!budget.is_empty()).then(|| combine(&budget));
        Self { from, tesla_per_ampere, uncertainty, budget }
    }

    /// Whether its uncertainty is known.
    pub(crate) fn is_judged(&self) -> bool {
        self.uncertainty.is_some()
    }

    /// u(k); `None` if it is not known.
    pub fn standard_uncertainty(&self) -> Option<f64> {
        self.uncertainty.map(|uncertainty| uncertainty.standard_tesla_per_ampere)
    }

    /// U(k); `None` if it is not known.
    pub fn expanded_uncertainty(&self) -> Option<f64> {
        self.uncertainty.map(|uncertainty| uncertainty.expanded_tesla_per_ampere)
    }

    /// Its uncertainty, or an error that says what it would come from.
    pub(crate) fn known_uncertainty(&self) -> Result<SlopeUncertainty> {
        const WHY: &str = "the uncertainty of the slope comes from it";
        self.uncertainty.ok_or_else(|| missing("build_tolerance", WHY))
    }

    /// The line of its budget with this source, if there is one.
    pub(crate) fn entry_of(&self, source: &BudgetSource) -> Option<&BudgetEntry> {
        self.budget.iter().find(|entry| entry.source == *source)
    }

    /// E_n of this slope against another, treating the two as independent; see [`coverage::normalised_difference`].
    pub(crate) fn normalised_difference(&self, other: &Self) -> Option<f64> {
        coverage::normalised_difference(
            [self.tesla_per_ampere, other.tesla_per_ampere],
            [self.expanded_uncertainty(), other.expanded_uncertainty()],
        )
    }

    /// The slope computed from the geometry with the coils at room temperature. Its uncertainty is that of the build,
    /// if the spec states a tolerance.
    pub(crate) fn computed(bench: &Bench, tesla_per_ampere: f64) -> Self {
        Self::of(AdoptedFrom::Computed, tesla_per_ampere, of_the_build(bench).unwrap_or_default())
    }

    /// U(k) over |k|; `None` if it is not known.
    pub(crate) fn relative_expanded_uncertainty(&self) -> Option<f64> {
        self.expanded_uncertainty().map(|expanded| (expanded / self.tesla_per_ampere).abs())
    }

    /// The keys of the adopted line, including its budget.
    pub(crate) fn as_adopted<S: Serializer>(
        slope: &Self,
        serializer: S,
    ) -> std::result::Result<S::Ok, S::Error> {
        #[derive(Serialize)]
        struct Keys<'a> {
            adopted_from: AdoptedFrom,
            slope_tesla_per_ampere: f64,
            slope_standard_uncertainty_tesla_per_ampere: f64,
            slope_expanded_uncertainty_tesla_per_ampere: f64,
            coverage_factor: f64,
            effective_degrees_of_freedom: Option<f64>,
            budget: &'a [BudgetEntry],
        }
        let uncertainty = slope.uncertainty.unwrap_or(SlopeUncertainty::UNKNOWN_IN_FILES);
        Keys {
            adopted_from: slope.from,
            slope_tesla_per_ampere: slope.tesla_per_ampere,
            slope_standard_uncertainty_tesla_per_ampere: uncertainty.standard_tesla_per_ampere,
            slope_expanded_uncertainty_tesla_per_ampere: uncertainty.expanded_tesla_per_ampere,
            coverage_factor: uncertainty.coverage_factor,
            effective_degrees_of_freedom: uncertainty.degrees_of_freedom,
            budget: &slope.budget,
        }
        .serialize(serializer)
    }

    /// The keys of the older line that a calibration is compared with.
    pub(crate) fn as_previous<S: Serializer>(
        slope: &Self,
        serializer: S,
    ) -> std::result::Result<S::Ok, S::Error> {
        #[derive(Serialize)]
        struct Keys {
            previous_slope_tesla_per_ampere: f64,
            previous_slope_expanded_uncertainty_tesla_per_ampere: Option<f64>,
            previous_coverage_factor: Option<f64>,
        }
        Keys {
            previous_slope_tesla_per_ampere: slope.tesla_per_ampere,
            previous_slope_expanded_uncertainty_tesla_per_ampere: slope.expanded_uncertainty(),
            previous_coverage_factor: slope.uncertainty.map(|uncertainty| uncertainty.coverage_factor),
        }
        .serialize(serializer)
    }

    /// The keys of the field constant from a calibration.
    pub(crate) fn as_field_constant<S: Serializer>(
        slope: &Self,
        serializer: S,
    ) -> std::result::Result<S::Ok, S::Error> {
        #[derive(Serialize)]
        struct Keys {
            field_constant_tesla_per_ampere: f64,
            expanded_uncertainty_tesla_per_ampere: Option<f64>,
            coverage_factor: Option<f64>,
        }
        Keys {
            field_constant_tesla_per_ampere: slope.tesla_per_ampere,
            expanded_uncertainty_tesla_per_ampere: slope.expanded_uncertainty(),
            coverage_factor: slope.uncertainty.map(|uncertainty| uncertainty.coverage_factor),
        }
        .serialize(serializer)
    }

    /// The keys of the line that a class uses.
    pub(crate) fn as_field_line<S: Serializer>(
        slope: &Self,
        serializer: S,
    ) -> std::result::Result<S::Ok, S::Error> {
        #[derive(Serialize)]
        struct Keys {
            slope_tesla_per_ampere: f64,
            slope_standard_uncertainty_tesla_per_ampere: Option<f64>,
            adopted_from: AdoptedFrom,
        }
        Keys {
            slope_tesla_per_ampere: slope.tesla_per_ampere,
            slope_standard_uncertainty_tesla_per_ampere: slope.standard_uncertainty(),
            adopted_from: slope.from,
        }
        .serialize(serializer)
    }
}

/// The keys of a slope reported besides the adopted one.
impl Serialize for Slope {
    fn serialize<S: Serializer>(&self, serializer: S) -> std::result::Result<S::Ok, S::Error> {
        #[derive(Serialize)]
        struct Keys {
            slope_tesla_per_ampere: f64,
            slope_standard_uncertainty_tesla_per_ampere: Option<f64>,
            slope_expanded_uncertainty_tesla_per_ampere: Option<f64>,
        }
        Keys {
            slope_tesla_per_ampere: self.tesla_per_ampere,
            slope_standard_uncertainty_tesla_per_ampere: self.standard_uncertainty(),
            slope_expanded_uncertainty_tesla_per_ampere: self.expanded_uncertainty(),
        }
        .serialize(serializer)
    }
}

/// One line of the budget.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[non_exhaustive]
pub struct BudgetEntry {
    /// The uncertain quantity.
    pub source: BudgetSource,
    /// Its coil, if it belongs to one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub coil: Option<CoilName>,
    /// The unit of the source.
    #[serde(default)]
    pub unit: Cow<'static, str>,
    /// The distribution of its possible values.
    #[serde(default)]
    pub distribution: Spread,
    /// Standard uncertainty of the source, in its unit.
    #[serde(default)]
    pub standard_uncertainty: f64,
    /// Change of the slope per unit of the source.
    pub sensitivity_tesla_per_ampere_per_unit: f64,
    /// Standard uncertainty of the slope from this source alone. If the slope has an extremum at the source's best
    /// value, as for a tilt, it is the second-order effect.
    pub contribution_tesla_per_ampere: f64,
    /// Degrees of freedom; `None` for a stated limit, which counts as exactly known.
    pub degrees_of_freedom: Option<f64>,
}

/// The distribution of the possible values of a source.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Spread {
    /// Equally probable everywhere within a limit.
    Rectangular,
    /// The normal distribution.
    #[default]
    Normal,
    /// Student's distribution: normal with a width estimated from few readings.
    Student,
}

impl From<Distribution> for Spread {
    fn from(distribution: Distribution) -> Self {
        match distribution {
            Distribution::Rectangular => Self::Rectangular,
            Distribution::Normal => Self::Normal,
        }
    }
}

impl Spread {
    /// Its name, for people.
    pub(crate) fn name(self) -> &'static str {
        match self {
            Self::Rectangular => "rectangular",
            Self::Normal => "normal",
            Self::Student => "Student's t",
        }
    }
}

impl BudgetEntry {
    /// This entry with its effect on the slope multiplied by a weight, as for one part of a weighted mean.
    pub(crate) fn weighted(&self, weight: f64) -> Self {
        Self {
            sensitivity_tesla_per_ampere_per_unit: weight * self.sensitivity_tesla_per_ampere_per_unit,
            contribution_tesla_per_ampere: weight.abs() * self.contribution_tesla_per_ampere,
            ..self.clone()
        }
    }

    /// The uncertain quantity and its coil, for people.
    pub fn name(&self) -> String {
        match self.coil {
            Some(CoilName::A) => format!("{}, coil a", self.source),
            Some(CoilName::B) => format!("{}, coil b", self.source),
            None => self.source.to_string(),
        }
    }

    /// The name of the distribution, for people.
    pub fn spread_name(&self) -> &'static str {
        self.distribution.name()
    }

    /// An entry that is a fraction of the slope, such as a gain.
    pub fn relative(source: BudgetSource, distribution: Spread, fraction: f64, slope: f64) -> Self {
        Self {
            source,
            coil: None,
            unit: "1".into(),
            distribution,
            standard_uncertainty: fraction,
            sensitivity_tesla_per_ampere_per_unit: slope,
            contribution_tesla_per_ampere: (fraction * slope).abs(),
            degrees_of_freedom: None,
        }
    }

    fn of_build_error(error: &BuildError) -> Self {
        Self {
            source: BudgetSource::Build(error.parameter),
            coil: error.coil,
            unit: error.unit.into(),
            distribution: error.distribution.into(),
            standard_uncertainty: error.standard_uncertainty,
            sensitivity_tesla_per_ampere_per_unit: error.sensitivity,
            contribution_tesla_per_ampere: error.contribution(),
            degrees_of_freedom: None,
        }
    }
}

/// The entries of a slope computed from the geometry: one for each build parameter.
pub(crate) fn of_the_build(bench: &Bench) -> Result<Vec<BudgetEntry>> {
    Ok(field_constant_errors(bench)?.iter().map(BudgetEntry::of_build_error).collect())
}

/// Sums a budget up: u(k) = √Σ contribution².
pub fn combine(budget: &[BudgetEntry]) -> SlopeUncertainty {
    let contributions = contributions(budget);
    let standard = coverage::combined_standard_uncertainty(&contributions);
    let degrees_of_freedom = coverage::effective_degrees_of_freedom(&contributions);
    let coverage_factor = coverage::coverage_factor(degrees_of_freedom);
    SlopeUncertainty {
        standard_tesla_per_ampere: standard,
        expanded_tesla_per_ampere: coverage_factor * standard,
        coverage_factor,
        degrees_of_freedom,
    }
}

fn contributions(budget: &[BudgetEntry]) -> Vec<Contribution> {
    budget
        .iter()
        .map(|entry| Contribution {
            standard_uncertainty: entry.contribution_tesla_per_ampere,
            degrees_of_freedom: entry.degrees_of_freedom,
        })
        .collect()
}
