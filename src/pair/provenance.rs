//! The origin of a result: the program that made it and the spec it was made from.

use super::{Bench, resistance_contradictions};
use crate::error::ResistanceContradiction;
use crate::numeric::calendar::Day;
use serde::{Deserialize, Serialize, Serializer};

/// Program name and version.
pub(crate) const PROGRAM: &str = concat!("coilwright ", env!("CARGO_PKG_VERSION"));

/// The origin that every export carries, so that a table found years later still shows what it was computed from.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Provenance {
    /// Program name and version.
    pub program: String,
    /// Title of the spec.
    pub spec_title: String,
    /// First 12 hex digits of the spec file's SHA-256, CRLF read as LF and BOM dropped.
    pub spec_digest: String,
    /// The date the user gave, if any; the clock is never read.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub date: Option<Day>,
    /// The contradictions within the spec; serialised as one sentence each.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub contradictions: Vec<Contradiction>,
}

/// A contradiction within a spec.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(from = "String")]
#[non_exhaustive]
pub enum Contradiction {
    /// A coil's stated resistance is not that of its wire.
    Resistance(ResistanceContradiction),
    /// The sentence that an earlier result tells, read back from its file.
    Told(String),
}

impl From<String> for Contradiction {
    fn from(sentence: String) -> Self {
        Self::Told(sentence)
    }
}

impl std::fmt::Display for Contradiction {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Resistance(found) => write!(f, "{found}"),
            Self::Told(sentence) => f.write_str(sentence),
        }
    }
}

impl Serialize for Contradiction {
    fn serialize<S: Serializer>(&self, to: S) -> std::result::Result<S::Ok, S::Error> {
        to.collect_str(self)
    }
}

impl Provenance {
    /// The provenance of a result computed from this bench by this program.
    pub fn of(bench: &Bench, date: Option<Day>) -> Self {
        Self {
            program: PROGRAM.into(),
            spec_title: bench.title.clone(),
            spec_digest: bench.digest.clone(),
            date,
            contradictions: resistance_contradictions(bench)
                .into_iter()
                .map(Contradiction::Resistance)
                .collect(),
        }
    }
}

impl std::fmt::Display for Provenance {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}; spec \"{}\", {}", self.program, self.spec_title, self.spec_digest)?;
        match &self.date {
            Some(date) => write!(f, "; {date}"),
            None => Ok(()),
        }
    }
}

/// The origin of an answer to a file that is no spec, such as wishes or measurements.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct SourceFile {
    /// Title of the file.
    pub title: String,
    /// First 12 hex digits of the file's SHA-256, CRLF read as LF and BOM dropped.
    pub digest: String,
    /// Program name and version.
    pub program: String,
}

impl SourceFile {
    /// The origin of an answer of this program.
    pub(crate) fn of(title: &str, digest: &str) -> Self {
        Self { title: title.into(), digest: digest.into(), program: PROGRAM.into() }
    }

    /// The first line of a page; `what` says what the file holds, such as "wishes".
    #[cfg(feature = "paper")]
    pub(crate) fn on_page(&self, what: &str) -> String {
        format!("{}; {what} \"{}\", {}", self.program, self.title, self.digest)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_names_program_version_spec_and_only_a_date_that_was_given() {
        let bench = Bench::thin_pair();
        let text = Provenance::of(&bench, None).to_string();
        assert_eq!(
            text,
            format!("coilwright {}; spec \"Thin pair\", 000000000000", env!("CARGO_PKG_VERSION"))
        );
        let dated = Provenance::of(&bench, Day::new(2026, 3, 1)).to_string();
        assert!(dated.ends_with("; 2026-03-01"), "{dated}");
        assert!(!serde_json::to_string(&Provenance::of(&bench, None)).unwrap().contains("date"));
    }

    #[test]
    fn a_contradiction_is_written_as_its_sentence_and_read_back_as_told() {
        let found = ResistanceContradiction {
            coil: "a",
            stated_ohm: 1.2,
            by_wire_ohm: 4.0,
            at_celsius: 20.0,
            turns: 160.0,
        };
        let provenance = Provenance {
            contradictions: vec![Contradiction::Resistance(found)],
            ..Provenance::of(&Bench::thin_pair(), None)
        };
        let written = serde_json::to_value(&provenance).unwrap();
        assert_eq!(written["contradictions"][0], found.to_string());
        let read: Provenance = serde_json::from_value(written).unwrap();
        assert_eq!(read.contradictions, [Contradiction::Told(found.to_string())]);
    }
}
