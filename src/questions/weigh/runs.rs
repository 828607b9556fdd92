//! The class's runs, read from a table.

use crate::files::tables::{Column, Row, Table, TableReader};
use crate::pair::RadiusReading;
use crate::units::Dimension;
use crate::{Error, Result};
use std::path::{Path, PathBuf};

/// What a table of runs may hold. Beyond these limits a unit or a decimal point is wrong, for a tube that stands on a
/// table (common practice, no source).
const COLUMNS: &[Column] = &[
    Column::quantity("gun_voltage", Dimension::Voltage).required().with_uncertainty().within(1.0, 1e4),
    Column::quantity("current", Dimension::Current).required().with_uncertainty().within(-1e3, 1e3),
    Column::quantity("radius", Dimension::Length).with_uncertainty().within(1e-3, 5.0),
    Column::quantity("diameter", Dimension::Length).with_uncertainty().within(2e-3, 10.0),
    Column::text("label"),
];

/// The most runs that are weighed together: each takes an orbit, and no year of classes makes more.
const MOST_RUNS: usize = 5_000;

/// One student's run, as the meters and the scale showed it.
#[derive(Clone, Debug, PartialEq)]
pub struct Run {
    /// Its line in the file or row of the sheet, counted from 1, the heading included.
    pub line: u64,
    /// What the user calls it.
    pub label: Option<String>,
    /// What the voltmeter showed.
    pub gun_voltage_volt: f64,
    /// What the ammeter showed; negative for the other direction.
    pub current_ampere: f64,
    /// Radius as read on the scale, parallax included.
    pub scale_radius_m: f64,
    /// Standard uncertainty of this voltage alone.
    pub gun_voltage_uncertainty_volt: Option<f64>,
    /// Standard uncertainty of this current alone.
    pub current_uncertainty_ampere: Option<f64>,
    /// Standard uncertainty of this radius alone.
    pub radius_uncertainty_m: Option<f64>,
}

/// A file of runs.
#[derive(Clone, Debug, PartialEq)]
pub struct Runs {
    /// Where they come from.
    pub path: PathBuf,
    /// The sheet of the workbook; `None` for a text file.
    pub sheet: Option<String>,
    /// The runs, in the order of the file.
    pub runs: Vec<Run>,
}

impl Runs {
    /// Reads a table of runs: `gun_voltage_V`, `current_A`, and `radius_mm` or `diameter_mm`, each in any unit its
    /// heading names, with `..._uncertainty_...` beside them if known, and `label`.
    ///
    /// Refused, with the row: a run without current, a voltage, current, radius or diameter that no bench has. Half the uncertainty of a diameter is the radius's.
    pub fn read(path: impl AsRef<Path>) -> Result<Self> {
        let reader = TableReader::open(&path, COLUMNS)?;
        check_heading(&reader)?;
        Self::from_table(Table::collect_at_most(reader, MOST_RUNS)?)
    }

    /// Reads runs from text already at hand; `name` stands for it in messages.
    pub fn from_text(name: &str, text: &str) -> Result<Self> {
        let bytes = std::io::Cursor::new(text.as_bytes().to_vec());
        let reader = TableReader::from_reader(name, bytes, COLUMNS)?;
        check_heading(&reader)?;
        Self::from_table(Table::collect_at_most(reader, MOST_RUNS)?)
    }

    fn from_table(table: Table) -> Result<Self> {
        let runs = table.rows.iter().map(run).collect::<Result<_>>()?;
        Ok(Self { path: table.path, sheet: table.sheet, runs })
    }

    /// An error that names the row of a run.
    pub fn refuse(&self, run: &Run, message: impl Into<String>, hint: &str) -> Error {
        Error::in_table(&self.path, self.sheet.as_deref(), run.line, message, Some(hint.into()))
    }
}

impl Run {
    /// Standard uncertainty of the radius: the run's own, or the spec's for every reading.
    pub fn radius_uncertainty_or_usual_m(&self, reading: Option<&RadiusReading>) -> Option<f64> {
        self.radius_uncertainty_m
            .or_else(|| reading.and_then(|reading| reading.radius_uncertainty_m))
            .filter(|uncertainty| *uncertainty > 0.0)
    }
}

fn check_heading(reader: &TableReader) -> Result<()> {
    reader.require_one_of(&["radius", "diameter"])?;
    if reader.has("radius") && reader.has("diameter") {
        return Err(Error::value_with_hint(
            "the heading has both a radius and a diameter",
            "keep the one that was read; the other follows from it",
        ));
    }
    Ok(())
}

fn run(row: &Row) -> Result<Run> {
    let gun_voltage_volt = row.required("gun_voltage")?;
    let current_ampere = row.required("current")?;
    if current_ampere == 0.0 {
        return Err(row.refuse(
            "the current is 0 A, and a straight beam has no radius",
            Some("delete the row, or write the current of the run".into()),
        ));
    }
    let (name, half) = if row.quantity("radius").is_some() { ("radius", 1.0) } else { ("diameter", 0.5) };
    let Some(read_m) = row.quantity(name) else {
        let hint = "fill in what was read, or delete the row".to_owned();
        return Err(row.refuse("the radius or diameter is not filled in", Some(hint)));
    };
    Ok(Run {
        line: row.line,
        label: row.text("label").map(str::to_owned),
        gun_voltage_volt,
        current_ampere,
        scale_radius_m: half * read_m,
        gun_voltage_uncertainty_volt: row.uncertainty("gun_voltage"),
        current_uncertainty_ampere: row.uncertainty("current"),
        radius_uncertainty_m: row.uncertainty(name).map(|uncertainty| half * uncertainty),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn units_stand_in_the_heading_and_a_diameter_counts_half() {
        let text = "gun_voltage_V;current_mA;diameter_cm;diameter_uncertainty_mm;label\n\
                    100;790;11,0;2;first\n150;-900;10,4;;\n";
        let runs = Runs::from_text("runs.csv", text).unwrap().runs;
        assert_eq!(runs[0].scale_radius_m, 0.055);
        assert_eq!(runs[0].radius_uncertainty_m, Some(0.001));
        assert_eq!(runs[0].current_ampere, 0.79);
        assert_eq!(runs[0].label.as_deref(), Some("first"));
        assert_eq!((runs[1].current_ampere, runs[1].radius_uncertainty_m), (-0.9, None));
        assert_eq!(runs[1].line, 3);
    }

    #[test]
    fn rows_and_headings_that_mean_nothing_are_refused_by_name() {
        let heading = "gun_voltage_V,current_A,radius_mm\n";
        for (text, complaint) in [
            ("gun_voltage_V,current_A\n100,1\n".to_owned(), "no `radius_mm`"),
            ("gun_voltage_V,current_A,radius_mm,diameter_mm\n100,1,40,80\n".to_owned(), "both a radius and"),
            (format!("{heading}100,0,40\n"), "line 2: the current is 0 A"),
            (
                format!("{heading}100,1,40\n0,1,40\n"),
                "line 3: `gun_voltage_V` is 0 V, and 1 V to 10 kV is allowed",
            ),
            (format!("{heading}-90,1,40\n"), "`gun_voltage_V` is -90 V, and 1 V to"),
            (
                "gun_voltage_kV,current_A,radius_mm\n240,1,40\n".to_owned(),
                "line 2: `gun_voltage_kV` is 240 kV, and 1 V to 10 kV is allowed",
            ),
            (format!("{heading}100,1,-40\n"), "`radius_mm` is -40 mm, and 1 mm to 5 m is allowed"),
            (format!("{heading}100,1e5,40\n"), "`current_A` is 100000 A, and -1000 A to 1000 A is allowed"),
            (format!("{heading}100,1,\n"), "not filled in"),
            (format!("{heading}100,1,4 cm\n"), "not a number"),
            ("gun_voltage_V,current_A,radius_V\n100,1,40\n".to_owned(), "unknown heading"),
            (heading.to_owned(), "no rows"),
        ] {
            let error = Runs::from_text("runs.csv", &text).unwrap_err().to_string();
            assert!(error.contains(complaint), "{text}: {error}");
        }
    }
}
