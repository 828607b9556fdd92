//! The record of a fitted line.

use crate::questions::calibrate::ammeter::ZeroInfluences;
use crate::questions::calibrate::shared::SharedQuantity;
use serde::Serialize;

/// Which uncertainties the fit took from the readings.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum FitMethod {
    /// Uncertainty in the field only.
    Weighted,
    /// Uncertainty in both, or in the current only.
    Generalised,
    /// Readings share errors, so that their covariance matrices are full.
    Correlated,
    /// None stated: one common uncertainty of the field, from the scatter.
    EqualScatter,
}

/// A fitted line.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Fit {
    /// Which uncertainties were used.
    pub method: FitMethod,
    /// k.
    pub slope_tesla_per_ampere: f64,
    /// u(k), from the scatter or the stated uncertainties of the readings alone: no gain of a meter is in it. Enlarged by
    /// `scatter_factor`, as every uncertainty of this record.
    pub slope_standard_uncertainty_tesla_per_ampere: f64,
    /// What the probe shows at no current, not turned round: the room's field along it plus the meter's zero.
    pub intercept_tesla: f64,
    /// u(intercept).
    pub intercept_standard_uncertainty_tesla: f64,
    /// cov(k, intercept), in T²/A.
    pub covariance: f64,
    /// Σ (residual over its standard uncertainty)²; `None` where the uncertainty came from the scatter itself.
    pub chi_square: Option<f64>,
    /// Readings less the numbers fitted.
    pub degrees_of_freedom: usize,
    /// The probability of a chi-square at least this large, were the stated uncertainties right.
    pub chi_square_probability: Option<f64>,
    /// What the stated uncertainties are multiplied by: the Birge ratio √(chi-square/degrees of freedom) where the scatter
    /// is no chance, else 1; `None` where the uncertainty came from the scatter itself.
    pub scatter_factor: Option<f64>,
    /// Standard deviation of the residuals about the line.
    pub residual_standard_deviation_tesla: Option<f64>,
    /// The room's field along the probe and the meter's zero apart, where the probe was turned round.
    pub separated: Option<Separated>,
    /// Whether readings with the probe turned round have the sign of the others. Then someone corrected the sign by hand, or
    /// `probe_flipped` is wrong.
    pub turned_probe_shows_the_same_sign: bool,
    /// What a zero of the ammeter that is off does to the line.
    #[serde(skip)]
    pub ammeter_zero: ZeroInfluences,
    /// The errors that the readings were said to share.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub shared: Vec<SharedEstimate>,
    /// Each reading against the line.
    pub residuals: Vec<Residual>,
    /// The largest |current| of the readings.
    pub largest_current_ampere: f64,
    /// The smallest and the largest current.
    pub current_range_ampere: [f64; 2],
    /// The current nearest to zero, without its sign.
    pub smallest_current_ampere: f64,
}

/// A covariance over the standard uncertainties of its two quantities; 0 if one of these is 0.
pub(in crate::questions::calibrate) fn correlation(covariance: f64, one: f64, other: f64) -> f64 {
    let product = one * other;
    if product > 0.0 { covariance / product } else { 0.0 }
}

impl Fit {
    /// The correlation of slope and intercept, cov(k, intercept) over u(k) u(intercept), from -1 to 1; 0 if one of them
    /// has no uncertainty.
    pub fn correlation(&self) -> f64 {
        correlation(
            self.covariance,
            self.slope_standard_uncertainty_tesla_per_ampere,
            self.intercept_standard_uncertainty_tesla,
        )
    }

    /// Whether the scatter is more than the stated uncertainties allow.
    pub(crate) fn has_excess_scatter(&self) -> bool {
        self.scatter_factor.is_some_and(|factor| factor > 1.0)
    }

    /// Degrees of freedom of the uncertainties of this record; `None` if they are the stated ones.
    pub(crate) fn degrees_of_freedom_of_uncertainty(&self) -> Option<f64> {
        let from_scatter = self.method == FitMethod::EqualScatter || self.has_excess_scatter();
        from_scatter.then_some(self.degrees_of_freedom as f64)
    }

    /// The coils' field at the centre that one reading shows: the line's, and what the reading is off it.
    ///
    /// A probe turned round shows the other sign, and one off the centre another size; both are taken out.
    pub fn coil_field_tesla(&self, reading: &Residual) -> f64 {
        let on_the_line = self.slope_tesla_per_ampere * reading.current_ampere;
        on_the_line + reading.residual_tesla / reading.position_factor
    }

    /// The readings that stand out.
    pub(crate) fn outliers(&self) -> impl Iterator<Item = &Residual> {
        self.residuals.iter().filter(|residual| residual.outlier)
    }

    /// Whether there are readings at currents of either sign.
    pub(crate) fn has_both_directions(&self) -> bool {
        self.current_range_ampere[0] < 0.0 && self.current_range_ampere[1] > 0.0
    }
}

/// An error that readings share, and what the readings say of it.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct SharedEstimate {
    /// What it is an error of.
    pub quantity: SharedQuantity,
    /// What the file calls it; empty where it has one for all readings.
    pub shared_by: String,
    /// How many readings have a part in it.
    pub readings: usize,
    /// Its standard uncertainty, the largest of its readings, in A or T.
    pub largest_standard_uncertainty: f64,
    /// Its size as the readings show it, over its standard uncertainty.
    pub estimate_in_standard_uncertainties: f64,
}

/// Room and meter apart, from readings with the probe turned round.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Separated {
    /// The room's field along the probe's direction before it was turned.
    pub room_tesla: f64,
    /// Its standard uncertainty.
    pub room_standard_uncertainty_tesla: f64,
    /// Its covariance with the slope, in T²/A.
    pub room_covariance_with_slope: f64,
    /// What the meter shows in no field.
    pub meter_zero_tesla: f64,
    /// Its standard uncertainty.
    pub meter_zero_standard_uncertainty_tesla: f64,
    /// Whether the probe read along the axis, so that the room's field above is its axial part.
    pub along_axis: bool,
}

/// One reading against the fitted line.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Residual {
    /// Its line in the file.
    pub line: u64,
    /// What the user calls it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub label: Option<String>,
    /// What the ammeter showed.
    pub current_ampere: f64,
    /// What the field meter showed.
    pub field_tesla: f64,
    /// The coils' field along the probe there over their field at the centre; −1 for a probe turned round.
    pub position_factor: f64,
    /// Shown field less the line.
    pub residual_tesla: f64,
    /// Its standard uncertainty: √(u(field)² + (k × place × u(current))²), or the common one from the scatter.
    pub standard_uncertainty_tesla: f64,
    /// Residual over its standard uncertainty.
    pub weighted_residual: f64,
    /// Whether it stands out from the others; it stays in the fit all the same.
    pub outlier: bool,
}
