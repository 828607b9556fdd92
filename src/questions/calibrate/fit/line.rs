//! The record of a fitted line.

use crate::questions::calibrate::ammeter::ZeroInfluences;
use crate::questions::calibrate::shared::SharedQuantity;
use serde::Serialize;

/// The uncertainties that a fit uses.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum FitMethod {
    /// Uncertainty in the field only.
    Weighted,
    /// Uncertainty in both, or in the current only.
    Generalised,
    /// Readings share errors, so that their covariance matrices are full.
    Correlated,
    /// None is stated: one common uncertainty of the field, from the scatter.
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
    /// u(k) from the scatter or from the stated uncertainties of the readings alone, without the gains of the meters.
    /// Multiplied by `scatter_factor`, as every uncertainty of this record.
    pub slope_standard_uncertainty_tesla_per_ampere: f64,
    /// Field that the probe shows at zero current, not turned round: the room's field along it plus the meter's zero.
    pub intercept_tesla: f64,
    /// u(intercept).
    pub intercept_standard_uncertainty_tesla: f64,
    /// cov(k, intercept), in T²/A.
    pub covariance: f64,
    /// Σ (residual over its standard uncertainty)², without what shared errors and a zero of the ammeter explain and with
    /// the squares of these over their own. `None` if the uncertainty came from the scatter itself.
    pub chi_square: Option<f64>,
    /// Number of readings minus that of fitted parameters.
    pub degrees_of_freedom: usize,
    /// Probability of a chi-square at least this large if the stated uncertainties are right.
    pub chi_square_probability: Option<f64>,
    /// Factor by which the stated uncertainties are multiplied: the Birge ratio √(chi-square/degrees of freedom) if the
    /// scatter is improbable, else 1. `None` if the uncertainty came from the scatter itself.
    pub scatter_factor: Option<f64>,
    /// Standard deviation of the residuals about the line.
    pub residual_standard_deviation_tesla: Option<f64>,
    /// The room's field along the probe and the meter's zero separately, if the probe was turned round.
    pub separated: Option<Separated>,
    /// Whether readings with the probe turned round have the sign of the others. Then either the sign was corrected by
    /// hand, or `probe_flipped` is wrong.
    pub turned_probe_shows_the_same_sign: bool,
    /// Effect of a zero of the ammeter on the line.
    #[serde(skip)]
    pub ammeter_zero: ZeroInfluences,
    /// The zero of the ammeter, if the readings at both current directions show one. It stays in the line.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ammeter_zero_seen: Option<AmmeterZeroSeen>,
    /// The zero of the ammeter that chi-square and the weighted residuals allow for, if there may be one before the reversal.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ammeter_zero_taken_out: Option<AmmeterZeroTakenOut>,
    /// The errors that the file says the readings share.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub shared: Vec<SharedEstimate>,
    /// Each reading compared with the line.
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

    /// The coils' field at the centre according to one reading: that of the line plus the residual.
    ///
    /// A probe turned round shows the opposite sign, and one off the centre a different size. Both are corrected.
    pub fn coil_field_tesla(&self, reading: &Residual) -> f64 {
        let on_the_line = self.slope_tesla_per_ampere * reading.current_ampere;
        on_the_line + reading.residual_tesla / reading.position_factor
    }

    /// Whether the weighted residuals leave out what an error explains that the readings share, so that they are not the
    /// printed residuals over the printed uncertainties.
    #[cfg(feature = "paper")]
    pub(crate) fn weighs_without_shared_errors(&self) -> bool {
        const VISIBLE: f64 = 0.005;
        let differs = |one: &Residual| {
            (one.weighted_residual - one.residual_tesla / one.standard_uncertainty_tesla).abs() > VISIBLE
        };
        self.method != FitMethod::EqualScatter && self.residuals.iter().any(differs)
    }

    /// Sum of the squares of the weighted residuals: chi-square without the squares of what is taken out of them.
    #[cfg(feature = "paper")]
    pub(crate) fn sum_of_squares_tested(&self) -> f64 {
        self.residuals.iter().map(|one| one.weighted_residual.powi(2)).sum()
    }

    /// Sum of the squares of the residuals of the line over their standard uncertainties, with nothing taken out of them.
    #[cfg(feature = "paper")]
    pub(crate) fn sum_of_squares_of_line(&self) -> f64 {
        let weighted = |one: &Residual| one.residual_tesla / one.standard_uncertainty_tesla;
        self.residuals.iter().map(|one| weighted(one).powi(2)).sum()
    }

    /// The readings that stand out.
    pub(crate) fn outliers(&self) -> impl Iterator<Item = &Residual> {
        self.residuals.iter().filter(|residual| residual.outlier)
    }

    /// Whether there are readings at both current directions.
    pub(crate) fn has_both_directions(&self) -> bool {
        self.current_range_ampere[0] < 0.0 && self.current_range_ampere[1] > 0.0
    }
}

/// An error that readings share, with its estimate from the readings.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct SharedEstimate {
    /// The quantity that it is an error of.
    pub quantity: SharedQuantity,
    /// Its name in the file. Empty if the file has one error for all readings.
    pub shared_by: String,
    /// Number of readings that it affects.
    pub readings: usize,
    /// Its largest standard uncertainty among those readings, in A or T.
    pub largest_standard_uncertainty: f64,
    /// Its size as estimated from the readings, over its standard uncertainty.
    pub estimate_in_standard_uncertainties: f64,
}

/// A zero of the ammeter that readings at both current directions show.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct AmmeterZeroSeen {
    /// What the ammeter shows without current, as estimated from the readings and its digits; positive if it shows more
    /// than flows.
    pub ampere: f64,
    /// Standard uncertainty of the zero before the readings: of its digits.
    pub stated_standard_uncertainty_ampere: f64,
}

/// A zero of the ammeter before the reversal, as one more error that the readings share, and the lines with it. At these lines
/// chi-square is taken.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct AmmeterZeroTakenOut {
    /// What the ammeter shows without current, as estimated from the readings and its digits.
    pub ampere: f64,
    /// Standard uncertainty of the zero before the readings: of its digits.
    pub stated_standard_uncertainty_ampere: f64,
    /// The slope with it.
    pub slope_tesla_per_ampere: f64,
    /// The intercept of each direction of the probe with it, the one not turned round first.
    pub intercepts_tesla: Vec<f64>,
}

/// The room's field and the meter's zero, separated by readings with the probe turned round.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Separated {
    /// The room's field along the probe's direction before it was turned.
    pub room_tesla: f64,
    /// Its standard uncertainty.
    pub room_standard_uncertainty_tesla: f64,
    /// Its covariance with the slope, in T²/A.
    pub room_covariance_with_slope: f64,
    /// Reading of the meter at zero field.
    pub meter_zero_tesla: f64,
    /// Its standard uncertainty.
    pub meter_zero_standard_uncertainty_tesla: f64,
    /// Whether the probe read along the axis, so that the room's field above is its axial part.
    pub along_axis: bool,
}

/// One reading compared with the fitted line.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Residual {
    /// Its line in the file.
    pub line: u64,
    /// The user's name for it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub label: Option<String>,
    /// Reading of the ammeter.
    pub current_ampere: f64,
    /// Reading of the field meter.
    pub field_tesla: f64,
    /// The coils' field along the probe at its place, over their field at the centre; −1 for a probe turned round.
    pub position_factor: f64,
    /// Field read minus that of the line.
    pub residual_tesla: f64,
    /// Its standard uncertainty: √(u(field)² + (k × place × u(current))²), or the common one from the scatter.
    pub standard_uncertainty_tesla: f64,
    /// What shared errors and a zero of the ammeter leave of the residual, over the reading's own standard uncertainty.
    pub weighted_residual: f64,
    /// Whether it stands out from the others. It stays in the fit all the same.
    pub outlier: bool,
}
