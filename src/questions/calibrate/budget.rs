//! The uncertainty budget of the slope: what contributes how much (JCGM 100:2008).

use crate::Result;
use crate::error::{CentreFieldFor, Refused};
use crate::numeric::coverage;
use crate::numeric::coverage::Contribution;
use crate::pair::{Bench, Distribution};
use crate::physics::build_error::{BuildError, CoilName, field_constant_errors};
use crate::physics::heat::expansion::WarmField;
use crate::physics::heat::transient::ThermalState;
use serde::Serialize;

/// How far above room temperature the coils may be when the calibration is used, in kelvin (common practice, no
/// source).
pub(crate) const WARMING_KELVIN: f64 = 40.0;

/// The source that stands for the scatter of the readings about their line.
pub(crate) const FIT: &str = "fit";

/// The source that stands for the ammeter's error proportional to the current.
pub(crate) const AMMETER_GAIN: &str = "ammeter gain";

/// The source that stands for the ammeter's zero, anywhere within its digits.
pub(crate) const AMMETER_DIGITS: &str = "ammeter digits";

/// The source that stands for the field meter's error proportional to the field.
pub(crate) const PROBE_GAIN: &str = "probe gain";

/// The source that stands for coils warmer or colder than supposed.
pub const TEMPERATURE: &str = "temperature";

/// One line of the budget.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct BudgetEntry {
    /// What is uncertain.
    pub source: &'static str,
    /// On which coil, if on one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub coil: Option<CoilName>,
    /// The unit that the source is counted in.
    pub unit: &'static str,
    /// How its possible values are spread.
    pub distribution: Spread,
    /// Standard uncertainty of the source, in its unit.
    pub standard_uncertainty: f64,
    /// Change of the slope per unit of the source.
    pub sensitivity_tesla_per_ampere_per_unit: f64,
    /// Standard uncertainty of the slope from this source alone; where the slope turns over at the source's best
    /// value, as for a tilt, its second order.
    pub contribution_tesla_per_ampere: f64,
    /// Degrees of freedom; `None` for a stated limit, which is taken as known.
    pub degrees_of_freedom: Option<f64>,
}

/// How the possible values of a source are spread.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Spread {
    /// Anywhere within a limit alike.
    Rectangular,
    /// The normal distribution.
    Normal,
    /// Student's distribution: a normal one whose width was found from few readings.
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

/// A budget summed up.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Combined {
    /// √Σ contribution².
    pub standard_uncertainty_tesla_per_ampere: f64,
    /// Welch–Satterthwaite; `None` where every contribution is known without doubt.
    pub effective_degrees_of_freedom: Option<f64>,
    /// 2, or Student's t where few degrees of freedom stand behind the whole.
    pub coverage_factor: f64,
    /// Coverage factor × standard uncertainty.
    pub expanded_uncertainty_tesla_per_ampere: f64,
}

impl BudgetEntry {
    /// This entry with its effect on the slope multiplied, as when it belongs to one part of a weighted mean.
    pub(crate) fn weighted(&self, weight: f64) -> Self {
        Self {
            sensitivity_tesla_per_ampere_per_unit: weight * self.sensitivity_tesla_per_ampere_per_unit,
            contribution_tesla_per_ampere: weight.abs() * self.contribution_tesla_per_ampere,
            ..self.clone()
        }
    }

    /// What is uncertain and on which coil, for people.
    pub fn name(&self) -> String {
        match self.coil {
            Some(CoilName::A) => format!("{}, coil a", self.source),
            Some(CoilName::B) => format!("{}, coil b", self.source),
            None => self.source.into(),
        }
    }

    /// How its values are spread, for people.
    pub fn spread_name(&self) -> &'static str {
        match self.distribution {
            Spread::Rectangular => "rectangular",
            Spread::Normal => "normal",
            Spread::Student => "Student's t",
        }
    }

    /// An entry that is a fraction of the slope, such as a gain.
    pub fn relative(source: &'static str, distribution: Spread, fraction: f64, slope: f64) -> Self {
        Self {
            source,
            coil: None,
            unit: "1",
            distribution,
            standard_uncertainty: fraction,
            sensitivity_tesla_per_ampere_per_unit: slope,
            contribution_tesla_per_ampere: (fraction * slope).abs(),
            degrees_of_freedom: None,
        }
    }

    fn of_build_error(error: &BuildError) -> Self {
        Self {
            source: error.parameter.name(),
            coil: error.coil,
            unit: error.unit,
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

/// The entry for coils warmer or colder than the slope supposes, winding and former alike, T within
/// [`WARMING_KELVIN`] either way: dk/dT = k × relative growth per kelvin, of [`crate::physics::heat::expansion`]. None where
/// the coils cancel.
pub(crate) fn of_warming(bench: &Bench, slope_tesla_per_ampere: f64) -> Option<BudgetEntry> {
    let room_celsius = bench.room_temperature_celsius();
    let field = WarmField::of(bench, room_celsius);
    let warmed = |by| field.growth_fraction(&ThermalState::uniform(room_celsius + by));
    let per_kelvin = (warmed(WARMING_KELVIN)? - warmed(-WARMING_KELVIN)?) / (2.0 * WARMING_KELVIN);
    let kelvin = Distribution::Rectangular.standard_uncertainty(WARMING_KELVIN);
    let sensitivity = per_kelvin * slope_tesla_per_ampere;
    Some(BudgetEntry {
        source: TEMPERATURE,
        coil: None,
        unit: "K",
        distribution: Spread::Rectangular,
        standard_uncertainty: kelvin,
        sensitivity_tesla_per_ampere_per_unit: sensitivity,
        contribution_tesla_per_ampere: (sensitivity * kelvin).abs(),
        degrees_of_freedom: None,
    })
}

/// Sums a budget up.
pub fn combine(budget: &[BudgetEntry]) -> Combined {
    let contributions = contributions(budget);
    let standard = coverage::combined_standard_uncertainty(&contributions);
    let effective = coverage::effective_degrees_of_freedom(&contributions);
    let factor = coverage::coverage_factor(effective);
    Combined {
        standard_uncertainty_tesla_per_ampere: standard,
        effective_degrees_of_freedom: effective,
        coverage_factor: factor,
        expanded_uncertainty_tesla_per_ampere: factor * standard,
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

/// Refuses a slope that is no number to divide by.
pub(crate) fn check_slope(slope_tesla_per_ampere: f64) -> Result<()> {
    // One turn of a kilometre's radius makes 6e-10 T/A; coils that cancel leave rounding, about 1e-18.
    if slope_tesla_per_ampere.is_finite() && slope_tesla_per_ampere.abs() > 1e-15 {
        return Ok(());
    }
    Err(Refused::CoilsCancel { wanted: CentreFieldFor::Calibration }.into())
}
