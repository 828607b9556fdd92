//! A need, and how an option meets it.

use super::need_kind::NeedKind;
use crate::files::spec::Gap;
use serde::Serialize;

/// One need, and how every option meets it.
#[derive(Clone, Debug, Serialize)]
#[non_exhaustive]
pub struct Need {
    /// What is needed.
    pub name: NeedKind,
    /// How much, for people.
    pub wanted: String,
    /// How much, in SI.
    pub wanted_si: f64,
    /// One entry for each option, in their order.
    pub results: Vec<NeedResult>,
}

/// How one option meets one need.
#[derive(Clone, Debug, Serialize)]
#[non_exhaustive]
pub struct NeedResult {
    /// The option's label.
    pub label: String,
    /// The option's value, SI; `None` if it is not known.
    pub found_si: Option<f64>,
    /// Smallest and largest possible value, if gaps leave a range.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub found_within_si: Option<[f64; 2]>,
    /// The option's value, for people.
    pub found: String,
    /// The verdict.
    pub verdict: NeedVerdict,
    /// Whether it is met; `None` if it is too close to tell, doubtful or not known.
    pub met: Option<bool>,
    /// Distance from the value to the limit, positive if the limit is kept; `None` if it is not known.
    pub margin: Option<f64>,
    /// The same for people.
    pub margin_words: Option<String>,
    /// Width of the guard band, U = k u.
    pub guard_band: Option<f64>,
    /// The same for people, as in "U 6.9 K".
    pub guard_band_words: Option<String>,
    /// The miss as a fraction of the need; `None` if it is met or not known, and for temperatures.
    pub missed_by_fraction: Option<f64>,
    /// By how much it is missed, for people.
    pub missed_by: Option<String>,
    /// The gaps whose answers would decide an open result, most influential first.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub decided_by: Vec<Gap>,
    /// The terms without which a cost or a time of delivery is not known.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub open_terms: Vec<OpenTerm>,
}

/// A term of an offer that is not known.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(tag = "term", rename_all = "snake_case")]
#[non_exhaustive]
pub enum OpenTerm {
    /// The price.
    Price,
    /// Its currency.
    Currency,
    /// What that currency is worth, which the wishes do not state.
    Rate {
        /// The currency.
        currency: String,
    },
    /// Packing and carriage.
    Carriage,
    /// The tax rate.
    Tax,
    /// The time of delivery.
    Delivery,
}

impl OpenTerm {
    /// The key of a spec that states it; `None` if it is not for the supplier to state.
    #[cfg(feature = "paper")]
    pub(super) fn key(&self) -> Option<&'static str> {
        Some(match self {
            Self::Price => "price.amount",
            Self::Currency => "price.currency",
            Self::Rate { .. } => return None,
            Self::Carriage => "price.carriage",
            Self::Tax => "price.tax_rate",
            Self::Delivery => "price.delivery",
        })
    }
}

impl NeedResult {
    /// The result if nothing is known.
    pub(super) fn unknown() -> Self {
        Self {
            label: String::new(),
            found_si: None,
            found_within_si: None,
            found: "not known".into(),
            verdict: NeedVerdict::NotKnown,
            met: None,
            margin: None,
            margin_words: None,
            guard_band: None,
            guard_band_words: None,
            missed_by_fraction: None,
            missed_by: None,
            decided_by: Vec::new(),
            open_terms: Vec::new(),
        }
    }
}

/// The verdict on one option and one need.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum NeedVerdict {
    /// Met, with the guard band.
    Met,
    /// Missed, with the guard band.
    Missed,
    /// Within the guard band.
    TooCloseToTell,
    /// The spec contradicts itself in something that affects it.
    Doubtful,
    /// The figure is not known.
    NotKnown,
}
