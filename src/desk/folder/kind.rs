//! What a file is, by its ending and its first words, and whether it is right.

use coilwright::Document;
use coilwright::files::spec::{self, CheckedDocument};
use serde_json::Value;

/// What a file is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Kind {
    /// A spec.
    Spec(About),
    /// A spec that is not finished, as a quote may be.
    Quote(About),
    /// Wishes.
    Wishes(About),
    /// Measurements.
    Measurements(About),
    /// A supplier's limits.
    SupplierLimits,
    /// A calibration that `calibrate` wrote.
    Calibration,
    /// A register.
    Register,
    /// A table: readings, runs, points, a warm-up test, measurements.
    Table,
    /// Other JSON, such as the words of a lesson.
    Other,
}

/// What is known of a document that people write.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct About {
    /// Its title, where it can be read.
    pub title: Option<String>,
    /// Whether it is right.
    pub health: Health,
}

/// Whether a document is right.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Health {
    Right,
    Warnings(usize),
    Wrong(String),
}

impl Kind {
    /// Whether a file must be read to tell what it is.
    pub fn needs_contents(name: &str) -> bool {
        name.rsplit('.').next().unwrap_or_default().eq_ignore_ascii_case("json")
    }

    /// Looks at a file.
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
        match (spec::document_kind(text), &written) {
            (None, Some(_)) => Self::Other,
            (Some(Document::SupplierLimits), _) => Self::SupplierLimits,
            (kind, _) => Self::of_document(kind.unwrap_or(Document::Spec), name, text),
        }
    }

    fn of_document(kind: Document, name: &str, text: &str) -> Self {
        let right = |title: String, health| About { title: Some(title), health };
        match spec::check_document_text(name, text) {
            Ok(CheckedDocument::Spec(checked)) => match checked.warnings.records().len() {
                0 => Self::Spec(right(checked.bench.title, Health::Right)),
                count => Self::Spec(right(checked.bench.title, Health::Warnings(count))),
            },
            Ok(CheckedDocument::Wishes(wanted)) => Self::Wishes(right(wanted.title.clone(), Health::Right)),
            Ok(CheckedDocument::Measurements(measured)) => {
                Self::Measurements(right(measured.title.clone(), Health::Right))
            }
            Err(error) => {
                let about = About { title: title_in(text), health: Health::Wrong(error.to_string()) };
                match kind {
                    Document::Wishes => Self::Wishes(about),
                    Document::Measurements => Self::Measurements(about),
                    _ if spec::quote_from_text(name, text).is_ok() => {
                        Self::Quote(About { health: Health::Right, ..about })
                    }
                    _ => Self::Spec(about),
                }
            }
        }
    }

    /// In one or two words, for the list.
    pub fn words(&self) -> &'static str {
        match self {
            Self::Spec(_) => "spec",
            Self::Quote(_) => "unfinished quote",
            Self::Wishes(_) => "wishes",
            Self::Measurements(_) => "measurements",
            Self::SupplierLimits => "supplier's limits",
            Self::Calibration => "calibration",
            Self::Register => "register",
            Self::Table => "table",
            Self::Other => "other",
        }
    }

    /// What is known of it, where it is a document that people write.
    pub fn about(&self) -> Option<&About> {
        match self {
            Self::Spec(about) | Self::Quote(about) | Self::Wishes(about) | Self::Measurements(about) => {
                Some(about)
            }
            _ => None,
        }
    }
}

fn title_in(text: &str) -> Option<String> {
    let keys: Value = serde_json::from_str(text).ok()?;
    Some(keys.get("title")?.as_str()?.to_owned())
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
            let wrong = found.about().is_some_and(|about| matches!(about.health, Health::Wrong(_)));
            assert!(!wrong, "{found:?}");
        }
        assert!(matches!(Kind::of("a.json", b"{"), Kind::Spec(About { health: Health::Wrong(_), .. })));
        assert!(matches!(
            Kind::of("a.json", b"\xff\xfe\x00"),
            Kind::Spec(About { health: Health::Wrong(_), .. })
        ));
        assert_eq!(Kind::of("a.json", b"{\"a\": 1}"), Kind::Other);
    }
}
