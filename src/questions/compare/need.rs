//! A need, and how an option meets it.

use super::need_kind::NeedKind;
use crate::files::spec::Gap;
use crate::judgement::limit::Limits;
use crate::physics::heat::HeldFor;
use crate::units::Dimension;
use serde::Serialize;

/// One need, and how every option meets it.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct Need {
    /// What is needed.
    pub name: NeedKind,
    /// How much.
    pub wanted: Needed,
    /// One entry for each option, in their order.
    pub results: Vec<NeedResult>,
}

/// How much is needed.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Needed {
    /// Whether it is a lower or an upper limit, or both.
    pub enough: Enough,
    /// The limit, SI; of two, the upper one.
    pub si: f64,
    /// Its measure.
    pub measure: Measure,
    /// For how long, where the copper's temperature at the end of that time decides it; else at switching on.
    pub held: HeldFor,
}

/// Whether a need is a lower or an upper limit, or both.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Enough {
    /// A lower one.
    AtLeast,
    /// An upper one.
    AtMost,
    /// Both.
    Between {
        /// The lower limit, SI.
        least_si: f64,
    },
}

impl Needed {
    /// The limits, SI.
    pub(super) fn limits(&self) -> Limits {
        match self.enough {
            Enough::AtLeast => Limits { low: Some(self.si), high: None },
            Enough::AtMost => Limits { low: None, high: Some(self.si) },
            Enough::Between { least_si } => Limits { low: Some(least_si), high: Some(self.si) },
        }
    }
}

/// What a need is measured in.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum Measure {
    /// A dimension of the pair.
    Of(Dimension),
    /// Money.
    Money {
        /// Its currency.
        currency: String,
    },
    /// Days.
    Days,
}

impl Measure {
    /// Whether it is a property of the pair, and so affected by gaps and contradictions of the winding.
    pub(super) const fn is_of_the_pair(&self) -> bool {
        matches!(self, Self::Of(_))
    }
}

/// What an option has of what is needed.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum Found {
    /// It is not known.
    NotKnown,
    /// One value.
    Value {
        /// The value, SI; infinite if the copper warms without end.
        si: f64,
        /// Width of its guard band.
        guard_band: Option<f64>,
        /// Its measure.
        measure: Measure,
    },
    /// Any value of a range.
    Range {
        /// Smallest and largest value, SI; the largest is infinite if the copper warms without end.
        si: [f64; 2],
        /// Their measure.
        measure: Measure,
    },
    /// A value to which unstated terms may add.
    AtLeast {
        /// The value, SI.
        si: f64,
        /// Its measure.
        measure: Measure,
    },
}

/// By how much a need is missed.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub enum Miss {
    /// A difference of temperatures; a fraction of one in °C would mean nothing.
    Kelvin(f64),
    /// The distance as a fraction of the need.
    Fraction(f64),
    /// The value over the need, where the distance is ten times the need or more.
    Factor(f64),
}

/// A distance from the limit.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Margin {
    /// From the value to the limit, positive if the limit is kept; SI.
    pub si: f64,
    /// Its measure.
    pub measure: Measure,
}

/// A guard band beside the value that it belongs to.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct GuardBand {
    /// Its width, U = k u.
    pub si: f64,
    /// The value: of a range, its worst end.
    pub of_si: f64,
    /// Their measure.
    pub measure: Measure,
}

/// How one option meets one need.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct NeedResult {
    /// The option's label.
    pub label: String,
    /// The option's value, SI; `None` if it is not known.
    pub found_si: Option<f64>,
    /// Smallest and largest possible value, if gaps leave a range.
    pub found_within_si: Option<[f64; 2]>,
    /// The option's value.
    pub found: Found,
    /// The verdict.
    pub verdict: NeedVerdict,
    /// Whether it is met; `None` if it is too close to tell, doubtful or not known.
    pub met: Option<bool>,
    /// Distance from the value to the limit; `None` if it is not known.
    pub margin: Option<Margin>,
    /// The guard band of the limit.
    pub guard_band: Option<GuardBand>,
    /// The miss as a fraction of the need; `None` if it is met or not known, and for temperatures.
    pub missed_by_fraction: Option<f64>,
    /// By how much it is missed.
    pub missed_by: Option<Miss>,
    /// The gaps whose answers would decide an open result, most influential first.
    pub decided_by: Vec<Gap>,
    /// The terms without which a cost or a time of delivery is not known.
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
    /// What is left of the margin beyond the guard band; `None` without one.
    pub(super) fn margin_beyond_guard(&self) -> Option<Margin> {
        let guard = self.guard_band.as_ref().filter(|guard| guard.si > 0.0)?;
        let margin = self.margin.as_ref()?;
        Some(Margin { si: margin.si - guard.si, measure: margin.measure.clone() })
    }

    /// The result if nothing is known.
    pub(super) fn unknown() -> Self {
        Self {
            label: String::new(),
            found_si: None,
            found_within_si: None,
            found: Found::NotKnown,
            verdict: NeedVerdict::NotKnown,
            met: None,
            margin: None,
            guard_band: None,
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
