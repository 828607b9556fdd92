//! The uncertain quantity behind one line of a slope's budget.
//!
//! Files hold it as a word. A word that this program does not write is kept as it is, so that a file goes through the program
//! unchanged.

use super::build_error::BuildParameter;
use crate::pair::Read;
use serde::{Deserialize, Serialize, Serializer};

/// What is uncertain.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
#[serde(from = "String")]
pub enum BudgetSource {
    /// The scatter of the readings about their line.
    Fit,
    /// The ammeter's error proportional to the current.
    AmmeterGain,
    /// The ammeter's zero, anywhere within its digits.
    AmmeterDigits,
    /// The field meter's error proportional to the field.
    ProbeGain,
    /// Coils warmer or colder than supposed.
    Temperature,
    /// Two slopes that are combined although they differ by more than their uncertainties explain.
    Contradiction,
    /// A dimension of the build.
    Build(BuildParameter),
    /// A word of another program or version; [`From`] makes it of no word that has a variant.
    Other(String),
}

impl BudgetSource {
    /// The sources besides the build and other words.
    const MEASURED: [Self; 6] = [
        Self::Fit,
        Self::AmmeterGain,
        Self::AmmeterDigits,
        Self::ProbeGain,
        Self::Temperature,
        Self::Contradiction,
    ];

    /// Its word, in reports and in files.
    pub fn name(&self) -> &str {
        match self {
            Self::Fit => "fit",
            Self::AmmeterGain => "ammeter gain",
            Self::AmmeterDigits => "ammeter digits",
            Self::ProbeGain => "probe gain",
            Self::Temperature => "temperature",
            Self::Contradiction => "contradiction",
            Self::Build(parameter) => parameter.name(),
            Self::Other(word) => word,
        }
    }

    /// Whether it is the same for two lines of one pair and the same meters: all but the scatter of the readings, the
    /// warmth of the day and a contradiction whose cause is not known.
    pub fn is_shared(&self) -> bool {
        !matches!(self, Self::Fit | Self::Temperature | Self::Contradiction)
    }

    /// The meter that it is an error of.
    pub fn meter(&self) -> Option<Read> {
        match self {
            Self::AmmeterGain | Self::AmmeterDigits => Some(Read::Current),
            Self::ProbeGain => Some(Read::Field),
            Self::Fit | Self::Temperature | Self::Contradiction | Self::Build(_) | Self::Other(_) => None,
        }
    }
}

impl From<String> for BudgetSource {
    fn from(word: String) -> Self {
        let build = BuildParameter::ALL.map(Self::Build);
        let known = Self::MEASURED.into_iter().chain(build).find(|source| source.name() == word);
        known.unwrap_or(Self::Other(word))
    }
}

impl Serialize for BudgetSource {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.name())
    }
}

impl std::fmt::Display for BudgetSource {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.name())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The words of every file written so far.
    const WORDS: [&str; 16] = [
        "fit",
        "ammeter gain",
        "ammeter digits",
        "probe gain",
        "temperature",
        "contradiction",
        "turns",
        "mean radius",
        "width",
        "depth",
        "offset along x",
        "offset along y",
        "tilt about x",
        "tilt about y",
        "spacing",
        "current split",
    ];

    fn read(word: &str) -> BudgetSource {
        serde_json::from_value(word.into()).unwrap()
    }

    #[test]
    fn every_word_of_a_file_is_written_as_it_was_read() {
        for word in WORDS {
            let source = read(word);
            assert!(!matches!(source, BudgetSource::Other(_)), "{word}");
            assert_eq!(serde_json::to_value(&source).unwrap(), word);
        }
        for word in ["probe zero", "Fit", "", "fit "] {
            assert_eq!(read(word), BudgetSource::Other(word.into()));
            assert_eq!(serde_json::to_value(read(word)).unwrap(), word);
        }
    }

    #[test]
    fn only_scatter_warmth_and_contradiction_are_each_lines_own_and_three_sources_are_a_meters() {
        let own: Vec<&str> = WORDS.into_iter().filter(|word| !read(word).is_shared()).collect();
        assert_eq!(own, ["fit", "temperature", "contradiction"]);
        let of =
            |meter| WORDS.into_iter().filter(|word| read(word).meter() == Some(meter)).collect::<Vec<_>>();
        assert_eq!(of(Read::Current), ["ammeter gain", "ammeter digits"]);
        assert_eq!(of(Read::Field), ["probe gain"]);
        assert!(read("probe zero").is_shared() && read("probe zero").meter().is_none());
    }
}
