//! One note on a comparison: its numbers and its sentence.

use crate::judgement::limit::Rule;
use crate::physics::heat::HeldFor;
use crate::questions::words::notes::{Told, held_words};

/// One note; options are named in it.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum Note {
    /// Prices are in these currencies, and no exchange rate is stated.
    SeveralCurrencies(Vec<String>),
    /// Prices of these are in a currency without a rate.
    NoRate(Vec<String>),
    /// No price is stated.
    NoPrice(Vec<String>),
    /// A price without a currency.
    NoCurrency(Vec<String>),
    /// What is written as the price cannot be read, or may be meant in more than one way.
    UnclearPrice(Vec<String>),
    /// Costs of these leave out carriage or tax, which are not stated, or not clearly.
    TermsUnstated(Vec<String>),
    /// A part that neither the file nor the needs state.
    Missing {
        /// Its dotted path.
        part: &'static str,
        /// The options.
        labels: Vec<String>,
    },
    /// Two options are one file.
    SameFile([String; 2]),
    /// Figures are given as ranges.
    Bounds(Vec<String>),
    /// Figures are left out.
    LeftOut(Vec<String>),
    /// For how long voltage and field are held while the copper warms.
    Held(HeldFor),
    /// There are no needs.
    NoNeeds,
    /// How a need near its limit is decided.
    Decision(Rule),
    /// How good the heating model is.
    Heating,
}

impl Told for Note {
    fn sentence(&self) -> String {
        let list = |labels: &[String]| labels.join(", ");
        match self {
            Self::SeveralCurrencies(currencies) => format!(
                "prices are in different currencies ({}) and cannot be compared as they stand; `purchase.rates` in the needs \
                 says what they are worth",
                list(currencies)
            ),
            Self::NoRate(labels) => {
                format!("the needs state no rate for the currency of {}: not compared by price", list(labels))
            }
            Self::NoPrice(labels) => format!("no price is stated for {}", list(labels)),
            Self::NoCurrency(labels) => format!("the price of {} is stated without a currency", list(labels)),
            Self::UnclearPrice(labels) => {
                format!("the price of {} is not clear: not compared by price until it is answered", list(labels))
            }
            Self::TermsUnstated(labels) => format!(
                "carriage, tax or both are not stated, or not clearly, for {}: the cost shown is without them",
                list(labels)
            ),
            Self::Missing { part, labels } => {
                let then = match part.starts_with("supply.") {
                    true => "the supply is taken to have no such limit",
                    false => "the figures that need it are left out",
                };
                format!("no `{part}` is stated for {}: {then}", list(labels))
            }
            Self::SameFile([one, other]) => format!("{one} and {other} are the same file"),
            Self::Bounds(labels) => format!(
                "{} leaves something out that the rest of the quote bounds: figures are given as \"from to\", and a need is met \
                 or missed only where it is at both ends",
                list(labels)
            ),
            Self::LeftOut(labels) => format!(
                "{} leaves something out that nothing bounds: figures that depend on it are shown as a gap",
                list(labels)
            ),
            Self::Held(held) => match held_words(*held) {
                Some(held) => format!(
                    "largest field, voltage, power, drift and surface are those in the end when the current is held {held}, \
                     the copper as warm as it is then"
                ),
                None => "largest field, voltage and power are those with the copper at room temperature, drift and surface \
                         those of the steady state"
                    .into(),
            },
            Self::NoNeeds => {
                "no needs were given: with a file of wishes it is told what is met and missed".into()
            }
            Self::Decision(Rule::Guarded { .. }) => {
                "a need is met, or missed, only beyond a guard band of the expanded uncertainty U, k = 2 (JCGM 106:2012; \
                 ILAC-G8:09/2019): build tolerance for field and deviation, the wire's ±1 % for the resistance, 20 % of the \
                 rise for temperatures"
                    .into()
            }
            Self::Decision(Rule::Simple) => "needs are judged by the figures alone (simple acceptance): near a limit up to \
                                             half of the verdicts are wrong"
                .into(),
            Self::Heating => "continuous currents rest on a heating model good to 10 to 20 %; touch and insulation limits as \
                              in `heat`"
                .into(),
        }
    }
}
