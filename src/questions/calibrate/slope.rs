//! A slope with its uncertainty: one type, whether it comes from the geometry, from readings or from both.

use super::budget::{BudgetEntry, combine};
use serde::{Deserialize, Serialize, Serializer};

/// What a slope rests on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum AdoptedFrom {
    /// The geometry.
    Computed,
    /// Readings.
    Fit,
    /// Both, weighted.
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

/// k of B = k I + B0, the coils' field at the centre per ampere, and how well it is known.
#[derive(Clone, Debug, PartialEq)]
pub struct Slope {
    /// What it rests on.
    pub from: AdoptedFrom,
    /// k.
    pub tesla_per_ampere: f64,
    /// u(k); zero where `budget` is empty, which means that it is not known.
    pub standard_uncertainty_tesla_per_ampere: f64,
    /// Coverage factor × u(k).
    pub expanded_uncertainty_tesla_per_ampere: f64,
    /// 2, or Student's t where few degrees of freedom stand behind u(k).
    pub coverage_factor: f64,
    /// Effective degrees of freedom of u(k); `None` where all is known from stated limits.
    pub degrees_of_freedom: Option<f64>,
    /// What contributes how much to u(k); empty where that is not known.
    pub budget: Vec<BudgetEntry>,
}

impl Slope {
    /// A slope with the uncertainty that its budget gives.
    pub fn of(from: AdoptedFrom, tesla_per_ampere: f64, budget: Vec<BudgetEntry>) -> Self {
        let sum = combine(&budget);
        Self {
            from,
            tesla_per_ampere,
            standard_uncertainty_tesla_per_ampere: sum.standard_uncertainty_tesla_per_ampere,
            expanded_uncertainty_tesla_per_ampere: sum.expanded_uncertainty_tesla_per_ampere,
            coverage_factor: sum.coverage_factor,
            degrees_of_freedom: sum.effective_degrees_of_freedom,
            budget,
        }
    }

    /// Whether its uncertainty is known.
    pub(crate) fn is_judged(&self) -> bool {
        !self.budget.is_empty()
    }

    /// U(k) over |k|.
    pub(crate) fn relative_expanded_uncertainty(&self) -> f64 {
        (self.expanded_uncertainty_tesla_per_ampere / self.tesla_per_ampere).abs()
    }

    /// The keys of the adopted line, its budget with it.
    pub(super) fn as_adopted<S: Serializer>(slope: &Self, serializer: S) -> Result<S::Ok, S::Error> {
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
        Keys {
            adopted_from: slope.from,
            slope_tesla_per_ampere: slope.tesla_per_ampere,
            slope_standard_uncertainty_tesla_per_ampere: slope.standard_uncertainty_tesla_per_ampere,
            slope_expanded_uncertainty_tesla_per_ampere: slope.expanded_uncertainty_tesla_per_ampere,
            coverage_factor: slope.coverage_factor,
            effective_degrees_of_freedom: slope.degrees_of_freedom,
            budget: &slope.budget,
        }
        .serialize(serializer)
    }
}

/// The keys of a slope that stands beside the adopted one.
impl Serialize for Slope {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        #[derive(Serialize)]
        struct Keys {
            slope_tesla_per_ampere: f64,
            slope_standard_uncertainty_tesla_per_ampere: Option<f64>,
            slope_expanded_uncertainty_tesla_per_ampere: Option<f64>,
        }
        let known = |uncertainty| self.is_judged().then_some(uncertainty);
        Keys {
            slope_tesla_per_ampere: self.tesla_per_ampere,
            slope_standard_uncertainty_tesla_per_ampere: known(self.standard_uncertainty_tesla_per_ampere),
            slope_expanded_uncertainty_tesla_per_ampere: known(self.expanded_uncertainty_tesla_per_ampere),
        }
        .serialize(serializer)
    }
}
