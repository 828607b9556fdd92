//! B0 of the adopted line.

use super::fit::Fit;
use super::intercept_budget::{InterceptEntry, intercept_budget};
use super::record::InterceptMeaning;
use super::table::{FitShare, LineIntercept};
use super::without_current;
use crate::pair::Bench;

/// B0 of the adopted line, its meaning, and its form in the tables.
pub(super) struct Intercept {
    pub(super) meaning: InterceptMeaning,
    pub(super) tesla: f64,
    /// The ammeter's zero and the field meter's gain are counted.
    pub(super) standard_uncertainty_tesla: f64,
    /// The contributions to that.
    pub(super) budget: Vec<InterceptEntry>,
    /// As the tables need it. `None` if the line rests on no readings.
    pub(super) line: Option<LineIntercept>,
}

impl Intercept {
    /// That of the fit on which the line rests, or of coils alone; `weight_of_fit` is the fitted slope's share of the
    /// adopted one. Only that share is correlated with B0, which the combination with a computed slope leaves as it was read.
    pub(super) fn of(bench: &Bench, fit: Option<&Fit>, weight_of_fit: f64) -> Self {
        let Some(fit) = fit else {
            return Self {
                meaning: InterceptMeaning::CoilsAlone,
                tesla: 0.0,
                standard_uncertainty_tesla: 0.0,
                budget: Vec::new(),
                line: None,
            };
        };
        let is_axial = fit.separated.is_some_and(|separated| separated.along_axis);
        let [tesla, standard_uncertainty_tesla] = without_current::of_fit(bench, fit);
        let [of_scatter, covariance_of_scatter] = without_current::of_scatter(fit);
        let [variance, covariance] = without_current::without_ammeter(bench, fit);
        Self {
            meaning: if is_axial { InterceptMeaning::RoomAxial } else { InterceptMeaning::RoomAndMeterZero },
            tesla,
            standard_uncertainty_tesla,
            budget: intercept_budget(bench, fit),
            line: Some(LineIntercept {
                tesla,
                standard_uncertainty_tesla,
                covariance_with_slope: weight_of_fit * without_current::covariance_with_slope(bench, fit),
                without_zero: [variance, weight_of_fit * covariance],
                of_fit: FitShare {
                    standard_uncertainty_tesla: of_scatter,
                    covariance_with_slope: weight_of_fit * covariance_of_scatter,
                    degrees_of_freedom: fit.degrees_of_freedom_of_uncertainty(),
                },
            }),
        }
    }

    /// Student's factor of the readings; 2 without readings.
    pub(super) fn coverage_factor(&self) -> f64 {
        self.line.as_ref().map_or(2.0, LineIntercept::coverage_factor)
    }

    pub(super) fn expanded_uncertainty_tesla(&self) -> f64 {
        self.coverage_factor() * self.standard_uncertainty_tesla
    }

    pub(super) fn covariance_with_slope(&self) -> Option<f64> {
        self.line.as_ref().map(|line| line.covariance_with_slope)
    }
}
