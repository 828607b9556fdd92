//! The class's runs, read from a table.

use crate::files::tables::{Column, Row, Table, TableReader};
use crate::pair::RadiusReading;
use crate::units::Dimension;
use crate::{Error, Result};
use serde::Serialize;
use std::path::{Path, PathBuf};

/// The columns of a table of runs. Values beyond these limits mean a wrong unit or decimal point, for a tube that
/// stands on a table (common practice, no source).
const COLUMNS: &[Column] = &[
    Column::quantity("gun_voltage", Dimension::Voltage)
        .as_symbol(&["U", "V"])
        .required()
        .with_uncertainty()
        .within(1.0, 1e4),
    Column::quantity("current", Dimension::Current)
        .as_symbol(&["I"])
        .required()
        .with_uncertainty()
        .within(-1e3, 1e3),
    Column::quantity("radius", Dimension::Length).as_symbol(&["r"]).with_uncertainty().within(1e-3, 5.0),
    Column::quantity("diameter", Dimension::Length).as_symbol(&["d"]).with_uncertainty().within(2e-3, 10.0),
    Column::quantity("radius_in_beam_plane", Dimension::Length).with_uncertainty().within(1e-3, 5.0),
    // The same lengths under the names that `orbit` writes.
    Column::quantity("read_radius", Dimension::Length).within(1e-3, 5.0),
    Column::quantity("scale_radius", Dimension::Length).within(1e-3, 5.0),
    Column::quantity("scale_diameter", Dimension::Length).within(2e-3, 10.0),
    // Other columns of the chart of `orbit`; ignored.
    Column::quantity("textbook_radius", Dimension::Length),
    Column::yes_no("allowed"),
    Column::label(),
];

/// The columns for the size of the circle: name, number of radii, and where it was measured.
const SIZES: [(&str, f64, RadiusPlace); 6] = [
    ("radius", 1.0, RadiusPlace::Scale),
    ("diameter", 2.0, RadiusPlace::Scale),
    ("radius_in_beam_plane", 1.0, RadiusPlace::BeamPlane),
    ("read_radius", 1.0, RadiusPlace::BeamPlane),
    ("scale_radius", 1.0, RadiusPlace::Scale),
    ("scale_diameter", 2.0, RadiusPlace::Scale),
];

/// Most runs weighed together. Each takes an orbit, and no year of classes makes more.
const MOST_RUNS: usize = 5_000;

/// Where a radius was measured.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum RadiusPlace {
    /// As read on the scale, which may stand before or behind the beam plane: parallax is still included.
    Scale,
    /// In the beam plane: half the distance from the gun exit to the opposite crossing.
    BeamPlane,
}

/// One student's run, as the meters and the scale showed it.
#[derive(Clone, Debug, PartialEq)]
pub struct Run {
    /// Its line in the file or row of the sheet, counted from 1 with the heading.
    pub line: u64,
    /// The user's name for it.
    pub label: Option<String>,
    /// The voltmeter's reading.
    pub gun_voltage_volt: f64,
    /// The ammeter's reading; negative for the other direction.
    pub current_ampere: f64,
    /// The circle's radius, as written or half of the diameter.
    pub radius_m: f64,
    /// Whether that radius is as read on the scale, with parallax, or in the beam plane.
    pub radius_place: RadiusPlace,
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
    /// Their file.
    pub path: PathBuf,
    /// The sheet of the workbook; `None` for a text file.
    pub sheet: Option<String>,
    /// The runs, in the order of the file.
    pub runs: Vec<Run>,
    /// Names of the runs left out on request.
    pub left_out: Vec<String>,
    /// Number of rows of a chart without a radius because the beam strikes the glass; they are skipped.
    pub without_circle: usize,
}

impl Runs {
    /// Reads a table of runs: `gun_voltage_V`, `current_A`, and one of `radius_mm`, `diameter_mm` (as read on the
    /// scale, with parallax) and `radius_in_beam_plane_mm` (already corrected), each in any unit that its heading
    /// names, optionally with `..._uncertainty_...` columns and `label`. The table that `orbit --chart` writes can be
    /// read too; its rows without a circle are skipped.
    ///
    /// Errors, with the row: two columns for the size of the circle, a run without current, or a voltage, radius or
    /// diameter outside what a bench can have. The radius gets half the uncertainty of a diameter.
    pub fn read(path: impl AsRef<Path>) -> Result<Self> {
        let reader = TableReader::open(&path, COLUMNS)?;
        check_heading(&reader)?;
        Self::from_table(Table::collect_at_most(reader, MOST_RUNS)?)
    }

    /// Reads runs from text; `name` stands for the file in messages.
    pub fn from_text(name: &str, text: &str) -> Result<Self> {
        let bytes = std::io::Cursor::new(text.as_bytes().to_vec());
        let reader = TableReader::from_reader(name, bytes, COLUMNS)?;
        check_heading(&reader)?;
        Self::from_table(Table::collect_at_most(reader, MOST_RUNS)?)
    }

    fn from_table(table: Table) -> Result<Self> {
        let runs = table.rows.iter().filter_map(|row| run(row).transpose()).collect::<Result<Vec<_>>>()?;
        if runs.is_empty() {
            return Err(Error::value_with_hint(
                format!("{} holds no run with a circle", table.path.display()),
                "the beam strikes the glass at each of these settings; take others",
            ));
        }
        let without_circle = table.rows.len() - runs.len();
        Ok(Self { path: table.path, sheet: table.sheet, runs, left_out: Vec::new(), without_circle })
    }

    /// The runs without those named: by label, or as `line 7` for a run without one.
    ///
    /// Errors: a name that no run has, or no run left.
    pub fn without(mut self, names: &[String]) -> Result<Self> {
        for name in names {
            if !self.runs.iter().any(|run| run.name() == *name) {
                let known: Vec<String> = self.runs.iter().map(|run| format!("`{}`", run.name())).collect();
                return Err(Error::value_with_hint(
                    format!("{} has no run `{name}`", self.path.display()),
                    format!("its runs: {}", known.join(", ")),
                ));
            }
        }
        self.runs.retain(|run| !names.contains(&run.name()));
        if self.runs.is_empty() {
            return Err(Error::value("no run is left"));
        }
        self.left_out = names.to_vec();
        Ok(self)
    }

    /// An error that names the row of a run.
    pub fn refuse(&self, run: &Run, message: impl Into<String>, hint: &str) -> Error {
        Error::in_table(&self.path, self.sheet.as_deref(), run.line, message, Some(hint.into()))
    }
}

impl Run {
    /// The name of this run in all output: its label, or `line 7` if it has none.
    pub fn name(&self) -> String {
        self.label.clone().unwrap_or_else(|| format!("line {}", self.line))
    }

    /// Standard uncertainty of the radius: the run's own, or the spec's for every reading.
    pub(crate) fn radius_uncertainty_or_usual_m(&self, reading: Option<&RadiusReading>) -> Option<f64> {
        self.radius_uncertainty_m
            .or_else(|| reading.and_then(|reading| reading.radius_uncertainty_m))
            .filter(|uncertainty| *uncertainty > 0.0)
    }
}

fn check_heading(reader: &TableReader) -> Result<()> {
    let given: Vec<&str> = SIZES.iter().map(|(name, ..)| *name).filter(|name| reader.has(name)).collect();
    match given[..] {
        [] => reader.require_one_of(&["radius", "diameter", "radius_in_beam_plane"]),
        [_] => Ok(()),
        ["radius", "diameter"] => Err(Error::value_with_hint(
            "the heading has both a radius and a diameter",
            "keep the one that was read; the other follows from it",
        )),
        [one, other, ..] => Err(Error::value_with_hint(
            format!("the heading has both a `{one}` and a `{other}`"),
            "keep the one that was read; the other follows from it",
        )),
    }
}

/// One run; `None` if the row of a chart has no circle.
fn run(row: &Row) -> Result<Option<Run>> {
    let gun_voltage_volt = row.required("gun_voltage")?;
    let current_ampere = row.required("current")?;
    if current_ampere == 0.0 {
        return Err(row.refuse(
            "the current is 0 A, and a straight beam has no radius",
            Some("delete the row, or write the current of the run".into()),
        ));
    }
    let Some((name, radii, radius_place)) = SIZES.into_iter().find(|(name, ..)| row.quantity(name).is_some())
    else {
        // Only a chart has this column; there the row stands for a circle that does not fit.
        if row.yes("allowed").is_some() {
            return Ok(None);
        }
        let hint = "fill in what was read, or delete the row".to_owned();
        return Err(row.refuse("the radius or diameter is not filled in", Some(hint)));
    };
    let read_m = row.required(name)?;
    Ok(Some(Run {
        line: row.line,
        label: row.text("label").map(str::to_owned),
        gun_voltage_volt,
        current_ampere,
        radius_m: read_m / radii,
        radius_place,
        gun_voltage_uncertainty_volt: row.uncertainty("gun_voltage"),
        current_uncertainty_ampere: row.uncertainty("current"),
        radius_uncertainty_m: row.uncertainty(name).map(|uncertainty| uncertainty / radii),
    }))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn units_stand_in_the_heading_and_a_diameter_counts_half() {
        let text = "gun_voltage_V;current_mA;diameter_cm;diameter_uncertainty_mm;label\n\
                    100;790;11,0;2;first\n150;-900;10,4;;\n";
        let runs = Runs::from_text("runs.csv", text).unwrap().runs;
        assert_eq!(runs[0].radius_m, 0.055);
        assert_eq!(runs[0].radius_uncertainty_m, Some(0.001));
        assert_eq!(runs[0].current_ampere, 0.79);
        assert_eq!(runs[0].label.as_deref(), Some("first"));
        assert_eq!((runs[1].current_ampere, runs[1].radius_uncertainty_m), (-0.9, None));
        assert_eq!(runs[1].line, 3);
    }

    #[test]
    fn labels_stand_under_the_headings_that_people_give_them() {
        for heading in ["label", "Label", "Group", "name", "Run"] {
            let text = format!("{heading},U in V,I in A,diameter in mm\nBeech,200,1.5,84\n");
            let runs = Runs::from_text("runs.csv", &text).unwrap().runs;
            assert_eq!((runs[0].label.as_deref(), runs[0].radius_m), (Some("Beech"), 0.042), "{heading}");
        }
        let refused = Runs::from_text("runs.csv", "Group,label,U in V,I in A,r in mm\n");
        assert!(refused.unwrap_err().to_string().contains("label"));
    }

    #[test]
    fn radii_on_the_scale_and_in_the_beam_plane_are_told_by_their_heading() {
        let place = |heading: &str| {
            let text = format!("gun_voltage_V,current_A,{heading}\n200,1.5,42\n");
            let run = Runs::from_text("runs.csv", &text).unwrap().runs.remove(0);
            (run.radius_place, run.radius_m)
        };
        assert_eq!(place("radius_mm"), (RadiusPlace::Scale, 0.042));
        assert_eq!(place("scale_diameter_mm"), (RadiusPlace::Scale, 0.021));
        assert_eq!(place("radius_in_beam_plane_mm"), (RadiusPlace::BeamPlane, 0.042));
        assert_eq!(place("read_radius_cm"), (RadiusPlace::BeamPlane, 0.42));
    }

    #[test]
    fn a_chart_is_read_without_its_settings_that_strike_the_glass() {
        let text = "gun_voltage_volt,current_ampere,read_radius_m,textbook_radius_m,allowed\n\
                    120,0.9,,0.05,no\n120,1.2,0.036,0.0365,yes\n";
        let runs = Runs::from_text("chart.csv", text).unwrap();
        assert_eq!((runs.runs.len(), runs.without_circle), (1, 1));
        assert!(Runs::from_text("chart.csv", &text.replace("0.036,", ",")).is_err());
    }

    #[test]
    fn runs_are_left_out_by_label_or_by_line() {
        let text = "gun_voltage_V,current_A,radius_mm,label\n200,1.5,42,A01\n200,1.6,40,\n200,1.7,38,A03\n";
        let runs = || Runs::from_text("runs.csv", text).unwrap();
        let left = runs().without(&["A01".into(), "line 3".into()]).unwrap();
        assert_eq!(left.runs.iter().map(Run::name).collect::<Vec<_>>(), ["A03"]);
        let error = runs().without(&["A02".into()]).unwrap_err();
        assert_eq!(error.to_string(), "runs.csv has no run `A02`");
        assert!(runs().without(&["A01".into(), "line 3".into(), "A03".into()]).is_err());
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
            (format!("{heading}100,1,-40\n"), "`radius_mm` is -40 mm, and 1 mm to 5 m is allowed"),
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
