//! The name of each need, and the phrase of each of its values, the same on pages and in JSON.

use super::gap_end::GapEnd;
use super::need::{
    Enough, Found, GuardBand, Margin, Measure, Miss, Need, NeedResult, NeedVerdict, Needed, OpenTerm,
};
use super::need_kind::NeedKind;
use crate::files::spec::Gap;
use crate::questions::words::notes::held_words;
use crate::units::{Dimension, brief, display, length, period, value_and_uncertainty};
use serde::{Serialize, Serializer};
use std::fmt;

impl NeedKind {
    /// Its name for people and scripts.
    pub const fn words(self) -> &'static str {
        match self {
            Self::LargestField => "largest field",
            Self::Current => "current for that field",
            Self::Voltage => "voltage for that field",
            Self::Room => "room for the bulb",
            Self::MeanRadius => "mean radius",
            Self::SectionWidth => "section width",
            Self::SectionDepth => "section depth",
            Self::Spacing => "spacing",
            Self::BeamDeviation => "beam deviation",
            Self::SurfaceTemperature => "surface temperature",
            Self::Cost => "cost",
            Self::Delivery => "delivery",
        }
    }
}

impl fmt::Display for NeedKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.words())
    }
}

impl Serialize for NeedKind {
    fn serialize<S: Serializer>(&self, to: S) -> std::result::Result<S::Ok, S::Error> {
        to.serialize_str(self.words())
    }
}

/// Two values as a range, or as one if they read the same.
pub(super) fn from_to(low: String, high: String) -> String {
    if low == high { low } else { format!("{low} to {high}") }
}

impl Measure {
    fn words(&self, value: f64, digits: usize) -> String {
        match self {
            _ if !value.is_finite() => "no end".into(),
            Self::Of(dimension) => display(value, *dimension, digits),
            Self::Money { currency } => format!("{value:.2} {currency}"),
            Self::Days => period(value),
        }
    }

    /// The words for a difference of two values.
    fn difference(&self, value: f64) -> String {
        match self {
            Self::Of(Dimension::Temperature) => display(value, Dimension::TemperatureDifference, 2),
            _ => self.words(value, 2),
        }
    }
}

/// Each of these is told, and serialised, as one phrase.
macro_rules! phrased {
    ($($type:ty),*) => {$(
        impl fmt::Display for $type {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str(&self.phrase())
            }
        }

        impl Serialize for $type {
            fn serialize<S: Serializer>(&self, to: S) -> std::result::Result<S::Ok, S::Error> {
                to.serialize_str(&self.phrase())
            }
        }
    )*};
}
phrased!(Needed, Found, Miss, Margin, GuardBand, GapEnd);

impl Needed {
    fn phrase(&self) -> String {
        let sign = match self.enough {
            Enough::AtLeast => "at least",
            Enough::AtMost => "at most",
            Enough::Between { least_si } => {
                return from_to(self.measure.words(least_si, 3), self.measure.words(self.si, 3));
            }
        };
        let wanted = self.measure.words(self.si, 3);
        match held_words(self.held) {
            Some(held) => format!("{sign} {wanted} {held}"),
            None => format!("{sign} {wanted}"),
        }
    }
}

impl Found {
    fn phrase(&self) -> String {
        match self {
            Self::NotKnown => "not known".into(),
            // To the same place as the guard band's two digits.
            Self::Value { si, guard_band: Some(guard), measure: Measure::Of(dimension) }
                if *guard > 0.0 && si.is_finite() =>
            {
                value_and_uncertainty(*si, *guard, *dimension).0
            }
            Self::Value { si, measure, .. } => measure.words(*si, 3),
            Self::Range { si, measure } => {
                let [low, high] = si.map(|end| measure.words(end, 3));
                from_to(low, high)
            }
            Self::AtLeast { si, measure } => format!("at least {}", measure.words(*si, 3)),
        }
    }
}

impl Miss {
    fn phrase(&self) -> String {
        match *self {
            Self::Kelvin(kelvin) => display(kelvin, Dimension::TemperatureDifference, 3),
            Self::Fraction(fraction) => display(fraction, Dimension::Fraction, 2),
            // It reads better than a percentage of many hundreds.
            Self::Factor(factor) => format!("a factor of {}", display(factor, Dimension::Number, 2)),
        }
    }
}

impl Margin {
    fn phrase(&self) -> String {
        self.measure.difference(self.si)
    }
}

impl GuardBand {
    fn phrase(&self) -> String {
        let guard = match &self.measure {
            Measure::Of(dimension) if self.si > 0.0 && self.of_si.is_finite() => {
                value_and_uncertainty(self.of_si, self.si, *dimension).1
            }
            measure => measure.difference(self.si),
        };
        format!("U {guard}")
    }
}

impl GapEnd {
    /// The value in words.
    pub(super) fn phrase(&self) -> String {
        match self {
            Self::Turns(turns) => brief(*turns, Dimension::Number),
            Self::Length(metre) => length(*metre, 1),
            Self::Connection(connection) => connection.word().into(),
            Self::Wire { name: Some(name), .. } => name.clone(),
            Self::Wire { name: None, bare_diameter_m, overall_diameter_m } => format!(
                "{} bare, {} over the enamel",
                display(*bare_diameter_m, Dimension::Length, 3),
                display(*overall_diameter_m, Dimension::Length, 3)
            ),
        }
    }
}

impl Serialize for Need {
    fn serialize<S: Serializer>(&self, to: S) -> std::result::Result<S::Ok, S::Error> {
        #[derive(Serialize)]
        struct Phrased<'a> {
            name: NeedKind,
            wanted: &'a Needed,
            wanted_si: f64,
            #[serde(skip_serializing_if = "Option::is_none")]
            wanted_least_si: Option<f64>,
            results: &'a [NeedResult],
        }
        let Self { name, wanted, results } = self;
        let wanted_least_si = match wanted.enough {
            Enough::Between { least_si } => Some(least_si),
            Enough::AtLeast | Enough::AtMost => None,
        };
        Phrased { name: *name, wanted, wanted_si: wanted.si, wanted_least_si, results }.serialize(to)
    }
}

impl Serialize for NeedResult {
    fn serialize<S: Serializer>(&self, to: S) -> std::result::Result<S::Ok, S::Error> {
        #[derive(Serialize)]
        struct Phrased<'a> {
            label: &'a str,
            found_si: Option<f64>,
            #[serde(skip_serializing_if = "Option::is_none")]
            found_within_si: Option<[f64; 2]>,
            found: &'a Found,
            verdict: NeedVerdict,
            met: Option<bool>,
            margin: Option<f64>,
            margin_words: Option<&'a Margin>,
            margin_beyond_guard_words: Option<Margin>,
            guard_band: Option<f64>,
            guard_band_words: Option<&'a GuardBand>,
            missed_by_fraction: Option<f64>,
            missed_by: Option<Miss>,
            #[serde(skip_serializing_if = "<[Gap]>::is_empty")]
            decided_by: &'a [Gap],
            #[serde(skip_serializing_if = "<[OpenTerm]>::is_empty")]
            open_terms: &'a [OpenTerm],
        }
        Phrased {
            label: &self.label,
            found_si: self.found_si,
            found_within_si: self.found_within_si,
            found: &self.found,
            verdict: self.verdict,
            met: self.met,
            margin: self.margin.as_ref().map(|margin| margin.si),
            margin_words: self.margin.as_ref(),
            margin_beyond_guard_words: self.margin_beyond_guard(),
            guard_band: self.guard_band.as_ref().map(|guard| guard.si),
            guard_band_words: self.guard_band.as_ref(),
            missed_by_fraction: self.missed_by_fraction,
            missed_by: self.missed_by,
            decided_by: &self.decided_by,
            open_terms: &self.open_terms,
        }
        .serialize(to)
    }
}
