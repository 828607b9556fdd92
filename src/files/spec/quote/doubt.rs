//! What a quote says and what may be meant in more than one way.

use super::form::QUOTE_FIELDS;
use serde::Serialize;

/// A value of a quote that may be meant in more than one way. It counts as left out until its maker has answered.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Doubt {
    /// Its key in a spec.
    pub key: String,
    /// Its label in the form.
    pub label: String,
    /// What is written there.
    pub text: String,
    /// What may be meant.
    #[serde(flatten)]
    pub meanings: Meanings,
}

/// What a value may mean.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(tag = "doubt", rename_all = "snake_case")]
#[non_exhaustive]
pub enum Meanings {
    /// A tax rate below 1 %, which may be the fraction itself.
    TaxRate {
        /// The rate if it is in percent, as a fraction.
        in_percent: f64,
        /// The rate if the number is the fraction.
        as_fraction: f64,
    },
    /// One mark before three digits: a decimal mark, or thousands.
    Thousands {
        /// The number if the mark is the decimal mark.
        with_decimals: f64,
        /// The number if the mark separates thousands.
        with_thousands: f64,
    },
    /// The form has two rows of this name with unlike values.
    StatedTwice {
        /// What the other rows say.
        others: Vec<String>,
    },
    /// The currency beside a price is not the stated one.
    Currencies {
        /// As written beside the price.
        written: String,
        /// As stated.
        stated: String,
    },
    /// A stock size and diameters of another wire.
    WireTwice {
        /// The stock size, with its enamel if that is stated.
        size: String,
        /// Diameter of the bare conductor, if stated.
        bare_diameter_m: Option<f64>,
        /// Diameter over the enamel, if stated.
        overall_diameter_m: Option<f64>,
    },
}

impl Doubt {
    /// Whether two statements contradict each other, and not one of them is unclear.
    pub(crate) fn is_contradiction(&self) -> bool {
        matches!(self.meanings, Meanings::WireTwice { .. } | Meanings::StatedTwice { .. })
    }

    /// A doubt about the field with this key.
    pub(super) fn about(key: &str, text: &str, meanings: Meanings) -> Self {
        let field = QUOTE_FIELDS.iter().find(|field| field.path == key);
        Self {
            key: key.into(),
            label: field.map_or(key, |field| field.label).into(),
            text: text.trim().into(),
            meanings,
        }
    }
}

/// The largest tax rate that is asked about: nobody levies less than 1 % (common practice, no source).
const SMALLEST_TAX: f64 = 0.01;

/// The doubt about a tax rate; `None` if it can only be meant as written.
pub(super) fn of_tax_rate(rate: f64, text: &str) -> Option<Doubt> {
    (rate > 0.0 && rate < SMALLEST_TAX).then(|| {
        let meanings = Meanings::TaxRate { in_percent: rate, as_fraction: 100.0 * rate };
        Doubt::about("price.tax_rate", text, meanings)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_a_rate_between_nought_and_one_percent_is_doubted() {
        for (rate, doubted) in [(0.0, false), (0.0019, true), (0.0099, true), (0.01, false), (0.19, false)] {
            assert_eq!(of_tax_rate(rate, "").is_some(), doubted, "{rate}");
        }
        let doubt = of_tax_rate(0.0019, "0.19 %").unwrap();
        let Meanings::TaxRate { as_fraction, .. } = doubt.meanings else { panic!() };
        assert!((as_fraction - 0.19).abs() < 1e-12);
        assert_eq!(doubt.label, "tax rate");
    }
}
