//! What a file is, from its ending and, for JSON, its keys; and whether it is right.

use crate::desk::judged::{Judged, Standing};
use coilwright::Document;
use coilwright::files::spec;
use serde_json::Value;

/// What a file is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Kind {
    /// A spec.
    Spec(About),
    /// A spec with gaps, such as a quote.
    Quote(About),
    /// Wishes.
    Wishes(About),
    /// Measurements.
    Measurements(About),
    /// A supplier's limits.
    SupplierLimits(About),
    /// A calibration written by `calibrate`.
    Calibration,
    /// A register.
    Register,
    /// A table: readings, runs, points, a warm-up test, measurements.
    Table,
    /// Other JSON, such as the words of a lesson.
    Other,
}

/// What is known about a document that people write.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct About {
    /// The title. `None` if it cannot be read.
    pub title: Option<String>,
    /// Whether the document is right.
    pub health: Health,
}

/// Whether a document is right.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Health {
    Right,
    Warnings(usize),
    Wrong,
}

impl Kind {
    /// Whether the contents are needed to tell what a file is.
    pub fn needs_contents(name: &str) -> bool {
        name.rsplit('.').next().unwrap_or_default().eq_ignore_ascii_case("json")
    }

    /// Tells what a file is.
    pub fn of(name: &str, bytes: &[u8]) -> Self {
        let ending = name.rsplit('.').next().unwrap_or_default().to_ascii_lowercase();
        match ending.as_str() {
            "register" => Self::Register,
            "json" => Self::of_json(name, &String::from_utf8_lossy(bytes)),
            _ => Self::Table,
        }
    }

    fn of_json(name: &str, text: &str) -> Self {
        let written: Option<Value> = serde_json::from_str(text).ok();
        let has = |key: &str| written.as_ref().is_some_and(|keys| keys.get(key).is_some());
        if has("adopted_from") && has("provenance") {
            return Self::Calibration;
        }
        if has("language") && has("decimal_mark") {
            return Self::Other;
        }
        if written.is_some() && spec::document_kind(text).is_none() {
            return Self::Other;
        }
        Self::of_document(Judged::of(name, text))
    }

    fn of_document(judged: Judged) -> Self {
        let is_quote = judged.standing == Standing::Unfinished;
        let health = match (judged.standing, judged.problems.len()) {
            (Standing::Wrong(_), _) => Health::Wrong,
            (Standing::Unfinished, _) | (Standing::Right, 0) => Health::Right,
            (Standing::Right, count) => Health::Warnings(count),
        };
        let about = About { title: judged.title, health };
        match judged.kind {
            Document::Spec if is_quote => Self::Quote(about),
            Document::Spec => Self::Spec(about),
            Document::Wishes => Self::Wishes(about),
            Document::Measurements => Self::Measurements(about),
            Document::SupplierLimits => Self::SupplierLimits(about),
        }
    }

    /// The kind of document. `None` if the file is not a document that people write.
    pub fn document(&self) -> Option<Document> {
        match self {
            Self::Spec(_) | Self::Quote(_) => Some(Document::Spec),
            Self::Wishes(_) => Some(Document::Wishes),
            Self::Measurements(_) => Some(Document::Measurements),
            Self::SupplierLimits(_) => Some(Document::SupplierLimits),
            Self::Calibration | Self::Register | Self::Table | Self::Other => None,
        }
    }

    /// The kind in one or two words, for the list.
    pub fn words(&self) -> &'static str {
        match self {
            Self::Spec(_) => "spec",
            Self::Quote(_) => "unfinished quote",
            Self::Wishes(_) => "wishes",
            Self::Measurements(_) => "measurements",
            Self::SupplierLimits(_) => "supplier's limits",
            Self::Calibration => "calibration",
            Self::Register => "register",
            Self::Table => "table",
            Self::Other => "other",
        }
    }

    /// What is known about the document. `None` if the file is not a document that people write.
    pub fn about(&self) -> Option<&About> {
        match self {
            Self::Spec(about)
            | Self::Quote(about)
            | Self::Wishes(about)
            | Self::Measurements(about)
            | Self::SupplierLimits(about) => Some(about),
            _ => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn kind(path: &str) -> Kind {
        let path = format!("{}/{path}", env!("CARGO_MANIFEST_DIR"));
        Kind::of(&path, &std::fs::read(&path).unwrap())
    }

    #[test]
    fn every_example_is_known_for_what_it_is() {
        for (path, words) in [
            ("coil-specs/window-bench.json", "spec"),
            ("lab-files/quote-unfinished.json", "unfinished quote"),
            ("lab-files/lessons.json", "wishes"),
            ("lab-files/delivery.json", "measurements"),
            ("lab-files/supplier-limits.json", "supplier's limits"),
            ("lab-files/window-bench.register", "register"),
            ("lab-files/readings.csv", "table"),
            ("lab-files/words-de.json", "other"),
            ("tests/outputs/window-bench/calibrate/json-stdout.json", "calibration"),
        ] {
            let found = kind(path);
            assert_eq!(found.words(), words, "{path}");
            let wrong = found.about().is_some_and(|about| matches!(about.health, Health::Wrong));
            assert!(!wrong, "{found:?}");
        }
        assert!(matches!(Kind::of("a.json", b"{"), Kind::Spec(About { health: Health::Wrong, .. })));
        assert!(matches!(
            Kind::of("a.json", b"\xff\xfe\x00"),
            Kind::Spec(About { health: Health::Wrong, .. })
        ));
        assert_eq!(Kind::of("a.json", b"{\"a\": 1}"), Kind::Other);
    }
}
