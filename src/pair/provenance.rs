//! The origin of a result: the program that made it and the spec it was made from.

use super::{Bench, ResistanceContradiction};
use crate::numeric::calendar::Day;
use serde::{Deserialize, Serialize};

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
    /// The contradictions within the spec, one sentence each.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub contradictions: Vec<String>,
}

impl Provenance {
    /// The provenance of a result computed from this bench by this program.
    pub fn of(bench: &Bench, date: Option<Day>) -> Self {
        Self {
            program: concat!("coilwright ", env!("CARGO_PKG_VERSION")).into(),
            spec_title: bench.title.clone(),
            spec_digest: bench.digest.clone(),
            date,
            contradictions: ResistanceContradiction::of(bench).iter().map(ToString::to_string).collect(),
        }
    }

    /// The first line of a page: the origin of its numbers, and what is doubtful about them.
    pub fn on_page(&self) -> String {
        let doubtful = self.contradictions.iter().map(|contradiction| {
            format!(
                ". DOUBTFUL: {contradiction}; voltage, heat and whatever else rests on the resistance: ask which of the \
                 two is right"
            )
        });
        std::iter::once(self.to_string()).chain(doubtful).collect()
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
}
