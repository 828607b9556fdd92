//! What a file is, from its ending and, for JSON, its keys; and whether it is right.

use super::name::Name;
use crate::desk::judged::{Judged, Standing, kind_of};
use coilwright::Document;
use coilwright::files::spec;
use coilwright::files::tables::quantity_and_unit;
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
    /// A table.
    Table(Table),
    /// A page or a picture that a question made.
    Page,
    /// Other JSON, such as the words of a lesson.
    Other,
}

/// What a table holds, by its heading.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Table {
    Readings,
    Runs,
    WarmUp,
    Points,
    /// What a question computed. Nobody fills it in.
    Result,
    /// Something else, such as a quote or measurements; or a workbook, whose heading is not looked at.
    Unknown,
}

/// Columns that only questions fill.
const COMPUTED: [&str; 7] = [
    "residual",
    "coverage_factor",
    "expanded_uncertainty",
    "deviation",
    "hot_spot_temperature",
    "charge_to_mass",
    "vx",
];

/// Number of lines in which the heading of a table is looked for: a title and remarks may stand above it.
const HEADING_WITHIN: usize = 40;

impl Table {
    /// What the table in this text holds.
    pub fn of(text: &str) -> Self {
        let Some((_, cells)) = Self::heading(text) else { return Self::Unknown };
        Self::headed(&cells)
    }

    /// The number of the heading's line, counted from 0, and its cells. `None` if no line is the heading of a known
    /// table.
    pub fn heading(text: &str) -> Option<(usize, Vec<String>)> {
        let lines = text.lines().enumerate().take(HEADING_WITHIN);
        let cut = |line: &str| -> Vec<String> {
            let cells = line.trim_start_matches('\u{feff}').split([',', ';', '\t']);
            cells
                .map(|cell| cell.trim().trim_matches('"').to_owned())
                .filter(|cell| !cell.is_empty())
                .collect()
        };
        lines
            .filter(|(_, line)| !line.starts_with('#'))
            .map(|(at, line)| (at, cut(line)))
            .find(|(_, cells)| Self::headed(cells) != Self::Unknown)
    }

    /// What a table with this heading holds. The unit that a cell ends with does not matter.
    fn headed(cells: &[String]) -> Self {
        let has = |name: &str, symbols: &[&str]| {
            let is_it = |cell: &String| {
                let spelled = |text: &str| text.to_lowercase().replace([' ', '-'], "_");
                let plain = spelled(cell);
                plain.strip_prefix(name).is_some_and(|rest| rest.is_empty() || rest.starts_with('_'))
                    || quantity_and_unit(cell)
                        .is_some_and(|(quantity, _)| spelled(quantity) == name || symbols.contains(&quantity))
            };
            cells.iter().any(is_it)
        };
        let (current, voltage) = (has("current", &["I"]), ["U", "V"]);
        match () {
            () if COMPUTED.iter().any(|name| has(name, &[])) => Self::Result,
            () if current && has("field", &["B"]) => Self::Readings,
            () if has("time", &["t"]) && has("voltage", &voltage) => Self::WarmUp,
            () if current && has("gun_voltage", &voltage) => Self::Runs,
            () if has("x", &[]) && has("y", &[]) && has("z", &[]) => Self::Points,
            () => Self::Unknown,
        }
    }
}

/// What the text of a file is to be read as.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Contents {
    Document(Document),
    Calibration,
    Register,
    Table(Table),
    Words,
    /// JSON whose keys do not say what it is.
    Other,
}

impl Contents {
    /// By the ending of the name and the text. JSON that cannot be read counts as a spec, so that its error is told.
    pub fn of(name: &str, text: &str) -> Self {
        let ending = name.rsplit('.').next().unwrap_or_default().to_ascii_lowercase();
        match ending.as_str() {
            "register" => Self::Register,
            "json" => Self::of_json(text),
            "csv" | "tsv" | "txt" => Self::Table(Table::of(text)),
            _ => Self::Table(Table::Unknown),
        }
    }

    fn of_json(text: &str) -> Self {
        let written: Option<Value> = serde_json::from_str(text).ok();
        let has = |key: &str| written.as_ref().is_some_and(|keys| keys.get(key).is_some());
        if has("adopted_from") && has("provenance") {
            return Self::Calibration;
        }
        if has("language") && has("decimal_mark") {
            return Self::Words;
        }
        match spec::document_kind(text) {
            None if written.is_some() => Self::Other,
            _ => Self::Document(kind_of(text)),
        }
    }
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
    /// Something that a whole spec needs is missing.
    Unfinished,
    Wrong,
}

impl Kind {
    /// Whether the contents are needed to tell what a file is.
    pub fn needs_contents(name: &str) -> bool {
        let ending = name.rsplit('.').next().unwrap_or_default().to_ascii_lowercase();
        matches!(ending.as_str(), "json" | "csv" | "tsv" | "txt")
    }

    /// Tells what a file is.
    pub fn of(name: &str, bytes: &[u8]) -> Self {
        if Name::shown(name).is_ok_and(|name| name.is_page()) {
            return Self::Page;
        }
        let text = String::from_utf8_lossy(bytes);
        match Contents::of(name, &text) {
            Contents::Document(_) => Self::of_document(Judged::of(name, &text)),
            Contents::Calibration => Self::Calibration,
            Contents::Register => Self::Register,
            Contents::Table(table) => Self::Table(table),
            Contents::Words | Contents::Other => Self::Other,
        }
    }

    fn of_document(judged: Judged) -> Self {
        let is_quote = matches!(judged.standing, Standing::Unfinished(_));
        let health = match (judged.standing, judged.problems.len()) {
            (Standing::Wrong(_), _) => Health::Wrong,
            (Standing::Unfinished(_), _) => Health::Unfinished,
            (Standing::Right, 0) => Health::Right,
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
            Self::Calibration | Self::Register | Self::Table(_) | Self::Page | Self::Other => None,
        }
    }

    /// The kind in one or two words, for the list.
    pub fn words(&self) -> &'static str {
        match self {
            Self::Spec(_) => "spec",
            Self::Quote(_) => "unfinished spec or quote",
            Self::Wishes(_) => "wishes",
            Self::Measurements(_) => "measurements",
            Self::SupplierLimits(_) => "supplier's limits",
            Self::Calibration => "calibration",
            Self::Register => "register",
            Self::Table(Table::Readings) => "readings",
            Self::Table(Table::Runs) => "runs",
            Self::Table(Table::WarmUp) => "warm-up test",
            Self::Table(Table::Points) => "points",
            Self::Table(Table::Result) => "result",
            Self::Table(Table::Unknown) => "table",
            Self::Page => "page or picture",
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
            ("lab-files/quote-unfinished.json", "unfinished spec or quote"),
            ("lab-files/lessons.json", "wishes"),
            ("lab-files/delivery.json", "measurements"),
            ("lab-files/supplier-limits.json", "supplier's limits"),
            ("lab-files/window-bench.register", "register"),
            ("lab-files/readings.csv", "readings"),
            ("lab-files/runs.csv", "runs"),
            ("lab-files/warm-up.csv", "warm-up test"),
            ("lab-files/points.csv", "points"),
            ("lab-files/words-de.json", "other"),
            ("tests/outputs/calibrate-combine/out/calibration.csv", "result"),
            ("tests/outputs/calibrate-combine/out/residuals.csv", "result"),
            ("tests/outputs/calibrate-plan-out/out/readings.csv", "readings"),
            ("tests/outputs/orbit-chart-out/out/beam-radius.csv", "runs"),
            ("tests/outputs/heat-all/out/heat-curve.csv", "result"),
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
        for unknown in ["", "a,b\n1,2\n", "label;value;unit;note\n", "excuse,zone,yard\n"] {
            assert_eq!(Kind::of("a.csv", unknown.as_bytes()), Kind::Table(Table::Unknown), "{unknown}");
        }
        let titled = "Readings of May\n\nCurrent_A;Field_mT\n1;0,85\n";
        assert_eq!(Kind::of("a.csv", titled.as_bytes()), Kind::Table(Table::Readings));
        for (heading, wanted) in [
            ("I (A)\tB (mT)", Table::Readings),
            ("Current in A;Field in mT", Table::Readings),
            ("U/V;I/A;r/mm", Table::Runs),
            ("Gun voltage (V);Current (A);Radius (mm)", Table::Runs),
            ("t [min];U [V];I [A]", Table::WarmUp),
        ] {
            let text = format!("{heading}\n1;2;3\n");
            assert_eq!(Kind::of("a.csv", text.as_bytes()), Kind::Table(wanted), "{heading}");
        }
    }
}
