//! The slope fitted to the readings of a calibration, kept beside another line that was adopted: the one value of it that
//! can show a drift.
//!
//! A combined slope holds the geometry's by its weight, which may be nearly all of it, and a computed one holds nothing
//! else: neither moves with the pair. Whoever looks for a drift takes the fitted slope, whatever line was adopted.

use super::budget;
use crate::pair::Bench;
use crate::physics::slope::{AdoptedFrom, BudgetEntry, Slope};
use serde::{Deserialize, Serialize};

/// A fitted slope as a calibration keeps it beside another line that was adopted.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[non_exhaustive]
pub struct FittedSlope {
    /// k.
    pub slope_tesla_per_ampere: f64,
    /// What contributes how much to u(k), the warmth of the day with it.
    pub budget: Vec<BudgetEntry>,
}

impl FittedSlope {
    /// A fitted slope, to which the warmth of the day is added.
    pub(super) fn of(bench: &Bench, fitted: &Slope) -> Self {
        let warming = budget::of_warming(bench, fitted.tesla_per_ampere);
        Self {
            slope_tesla_per_ampere: fitted.tesla_per_ampere,
            budget: fitted.budget.iter().cloned().chain(warming).collect(),
        }
    }

    /// With the uncertainty that its budget gives.
    pub(in crate::questions::calibrate) fn slope(&self) -> Slope {
        Slope::of(AdoptedFrom::Fit, self.slope_tesla_per_ampere, self.budget.clone())
    }
}
