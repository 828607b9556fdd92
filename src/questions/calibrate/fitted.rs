//! The slope fitted to the readings of a calibration, kept beside another line that was adopted. It is the only value
//! of the calibration that can show a drift.
//!
//! A combined slope contains the geometry's with a weight that may be nearly 1, and a computed slope contains nothing
//! else. Neither follows changes of the pair. To find a drift, compare fitted slopes, whatever line was adopted.
//!
//! Files hold its value and budget. Its uncertainty is that of the budget.

use super::budget;
use crate::pair::Bench;
use crate::physics::slope::{AdoptedFrom, BudgetEntry, Slope};
use serde::{Deserialize, Deserializer, Serialize, Serializer};

/// A fitted slope, to whose budget the warmth of the day is added.
pub(super) fn kept_beside(bench: &Bench, fitted: &Slope) -> Slope {
    let warming = budget::of_warming(bench, fitted.tesla_per_ampere);
    let budget = fitted.budget.iter().cloned().chain(warming).collect();
    Slope::of(AdoptedFrom::Fit, fitted.tesla_per_ampere, budget)
}

/// Writes the slope as files hold it.
pub(super) fn serialize<S: Serializer>(slope: &Option<Slope>, serializer: S) -> Result<S::Ok, S::Error> {
    #[derive(Serialize)]
    struct Keys<'a> {
        slope_tesla_per_ampere: f64,
        budget: &'a [BudgetEntry],
    }
    let keys = slope
        .as_ref()
        .map(|slope| Keys { slope_tesla_per_ampere: slope.tesla_per_ampere, budget: &slope.budget });
    keys.serialize(serializer)
}

/// Reads it back.
pub(super) fn deserialize<'de, D: Deserializer<'de>>(deserializer: D) -> Result<Option<Slope>, D::Error> {
    #[derive(Deserialize)]
    struct Keys {
        slope_tesla_per_ampere: f64,
        budget: Vec<BudgetEntry>,
    }
    let keys = Option::<Keys>::deserialize(deserializer)?;
    Ok(keys.map(|keys| Slope::of(AdoptedFrom::Fit, keys.slope_tesla_per_ampere, keys.budget)))
}
