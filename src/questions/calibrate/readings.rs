//! The readings a calibration is fitted to, from a CSV file or a sheet.

use super::ammeter::Ammeter;
use super::reading::{LeftOutReading, Reading, Share};
use crate::Result;
use crate::error::Refused;
use crate::files::tables::{Column, Row, Table, TableReader};
use crate::pair::{Bench, Distribution};
use crate::units::Dimension;
use nalgebra::Vector3;
use std::path::{Path, PathBuf};

/// A file of readings.
#[derive(Clone, Debug, PartialEq)]
pub struct Readings {
    /// Their file.
    pub path: PathBuf,
    /// The sheet of the workbook; `None` for a text file.
    pub sheet: Option<String>,
    /// The readings, in the order of the file.
    pub readings: Vec<Reading>,
    /// Whether a comment `# same ammeter` says that the lessons use the ammeter of these readings.
    pub same_ammeter: bool,
    /// The rounding of the currents, as a standard uncertainty, if it is taken as theirs.
    pub rounding_ampere: Option<f64>,
    /// Standard uncertainty of the zero of their ammeter, if that may stand before the reversal of the current. The tests
    /// of the scatter allow for such a zero.
    pub zero_before_reversal_ampere: Option<f64>,
    /// The readings of the file that a `#` leaves out.
    pub left_out: Vec<LeftOutReading>,
}

/// The columns of a file of readings, in the order of a blank one. Values beyond these limits mean a wrong unit or
/// decimal point (common practice, no source). The limits are wide, so that published data can be fitted under these
/// headings. A wrong unit within them shows in the comparison with the computed line.
pub const COLUMNS: &[Column] = &[
    Column::label(),
    Column::quantity("current", Dimension::Current)
        .as_symbol(&["I"])
        .required()
        .with_uncertainty()
        .within(-1e3, 1e3),
    Column::quantity("field", Dimension::FluxDensity)
        .as_symbol(&["B"])
        .required()
        .with_uncertainty()
        .within(-1e3, 1e3),
    Column::yes_no("probe_flipped"),
    Column::quantity("current_field_correlation", Dimension::Number).within(-1.0, 1.0),
    Column::text("current_shared_by"),
    Column::quantity("current_shared_uncertainty", Dimension::Current).within(0.0, 1e3),
    Column::text("field_shared_by"),
    Column::quantity("field_shared_uncertainty", Dimension::FluxDensity).within(0.0, 1e3),
    Column::quantity("x", Dimension::Length).within(-10.0, 10.0),
    Column::quantity("y", Dimension::Length).within(-10.0, 10.0),
    Column::quantity("z", Dimension::Length).within(-10.0, 10.0),
    Column::quantity("nx", Dimension::Number).within(-1e3, 1e3),
    Column::quantity("ny", Dimension::Number).within(-1e3, 1e3),
    Column::quantity("nz", Dimension::Number).within(-1e3, 1e3),
];

impl Readings {
    /// Readings made in code. A reading whose line is 0 gets its number in the list, from 1.
    ///
    /// ```
    /// use coilwright::questions::calibrate::{Reading, Readings};
    /// let mut readings = Vec::new();
    /// for (ampere, tesla) in [(-2.0, -1.62e-3), (-1.0, -0.80e-3), (1.0, 0.81e-3), (2.0, 1.63e-3)] {
    ///     readings.push(Reading { field_uncertainty_tesla: Some(5e-6), ..Reading::new(ampere, tesla)? });
    /// }
    /// assert_eq!(Readings::new(readings)?.readings[3].line, 4);
    /// # Ok::<(), coilwright::Error>(())
    /// ```
    ///
    /// # Errors
    /// - [`Refused::TooFewPoints`]: fewer than two readings.
    /// - [`Refused::UnusableReading`]: a number that is not finite, an uncertainty not above zero, a direction not of length
    ///   one, a correlation or a shared uncertainty without uncertainties of the reading's own.
    /// - [`Refused::UncertaintyNotOfAll`]: some readings state an uncertainty that others do not.
    pub fn new(mut readings: Vec<Reading>) -> Result<Self> {
        const NEEDED: usize = 2;
        if readings.len() < NEEDED {
            return Err(Refused::TooFewPoints { points: readings.len(), lines: 1, needed: NEEDED }.into());
        }
        for (number, reading) in (1..).zip(&mut readings) {
            if reading.line == 0 {
                reading.line = number;
            }
        }
        let readings = Self {
            path: "readings".into(),
            sheet: None,
            readings,
            same_ammeter: false,
            rounding_ampere: None,
            zero_before_reversal_ampere: None,
            left_out: Vec::new(),
        };
        readings.check()?;
        Ok(readings)
    }

    /// Refuses readings to which no line can be fitted. Too few readings are not checked here.
    pub(super) fn check(&self) -> Result<()> {
        self.readings.iter().try_for_each(Reading::check)?;
        let stated_by_all_or_none = |quantity, states: fn(&Reading) -> bool| {
            let stating = self.readings.iter().filter(|one| states(one)).count();
            match stating == 0 || stating == self.readings.len() {
                true => Ok(()),
                false => {
                    Err(Refused::UncertaintyNotOfAll { quantity, stating, readings: self.readings.len() })
                }
            }
        };
        stated_by_all_or_none("current", |one| one.current_uncertainty_ampere.is_some())?;
        stated_by_all_or_none("field", |one| one.field_uncertainty_tesla.is_some())?;
        Ok(())
    }

    /// The rounding of every current to the resolution of the bench's ammeter, as a standard uncertainty, if the
    /// readings state uncertainties of the field and none of the current. `None` if the currents are written more
    /// finely, because another meter then read them.
    fn found_rounding_ampere(&self, bench: &Bench) -> Option<f64> {
        let resolution = bench.ammeter?.resolution?;
        let is_rounded = |current: f64| (current / resolution - (current / resolution).round()).abs() < 1e-6;
        let alike = self.readings.iter().all(|one| {
            one.field_uncertainty_tesla.is_some()
                && one.current_uncertainty_ampere.is_none()
                && is_rounded(one.current_ampere)
        });
        (alike && resolution > 0.0).then(|| Distribution::Rectangular.standard_uncertainty(0.5 * resolution))
    }

    /// The readings with what the bench's ammeter does to them: its rounding as the uncertainty of each current, and its
    /// zero.
    pub(super) fn with_errors_of_the_ammeter(&self, bench: &Bench) -> Self {
        let rounding = self.found_rounding_ampere(bench);
        let zero = Ammeter::of(bench).and_then(|ammeter| ammeter.zero_before_reversal_ampere());
        let mut readings =
            Self { rounding_ampere: rounding, zero_before_reversal_ampere: zero, ..self.clone() };
        for reading in &mut readings.readings {
            reading.current_uncertainty_ampere = reading.current_uncertainty_ampere.or(rounding);
        }
        readings
    }
}

/// Reads a file of readings.
///
/// The headings of `current` and `field` contain the unit (`current_A`, `field_mT`). A column of uncertainties must
/// have a positive number in every row. A probe whose position is not given is at the centre; one whose direction is
/// not given points along +z; `probe_flipped` turns that direction round.
///
/// `field_shared_uncertainty` states an error that is common to all readings with the same word in `field_shared_by`,
/// such as the zero of one range of the meter. An empty cell means that the reading does not have the error. Without
/// that column all readings share one. `current_shared_uncertainty` does the same for the currents.
/// `current_field_correlation` is the correlation of a reading's own two errors. All three need the readings' own
/// uncertainties.
///
/// A row with a `#` before it is left out, and told in `left_out`; text in a cell after the last column is the reason.
pub fn read_readings(path: &Path) -> Result<Readings> {
    let readings = of_table(TableReader::open(path, COLUMNS)?)?;
    // A pipe can be read only once, so its comments are not looked at.
    let is_file = std::fs::metadata(path).is_ok_and(|metadata| metadata.is_file());
    let text = if is_file { std::fs::read(path).unwrap_or_default() } else { Vec::new() };
    Ok(Readings { same_ammeter: says_same_ammeter(&String::from_utf8_lossy(&text)), ..readings })
}

/// Reads readings from text, as [`read_readings`] does from a file; `name` stands for the file in messages.
pub fn readings_from_text(name: &str, text: &str) -> Result<Readings> {
    let bytes = std::io::Cursor::new(text.as_bytes().to_vec());
    let readings = of_table(TableReader::from_reader(name, bytes, COLUMNS)?)?;
    Ok(Readings { same_ammeter: says_same_ammeter(text), ..readings })
}

/// Whether a comment says `# same ammeter`. A spreadsheet may have added quotes or separators.
fn says_same_ammeter(text: &str) -> bool {
    text.lines().any(|line| {
        let line = line
            .trim_start_matches('\u{feff}')
            .trim_matches(|c: char| c.is_whitespace() || "\",;".contains(c));
        line.strip_prefix('#').is_some_and(|said| {
            said.split_whitespace().map(str::to_lowercase).collect::<Vec<_>>() == ["same", "ammeter"]
        })
    })
}

fn of_table(reader: TableReader) -> Result<Readings> {
    let uncertain = ["current", "field"].map(|name| reader.has_uncertainty(name));
    let table = Table::collect_with_left_out(reader)?;
    let readings = table.rows.iter().map(|row| reading(row, uncertain)).collect::<Result<Vec<Reading>>>()?;
    Ok(Readings {
        path: table.path,
        sheet: table.sheet,
        readings,
        same_ammeter: false,
        rounding_ampere: None,
        zero_before_reversal_ampere: None,
        left_out: table.left_out.into_iter().map(LeftOutReading::from).collect(),
    })
}

fn reading(row: &Row, [current_uncertain, field_uncertain]: [bool; 2]) -> Result<Reading> {
    let uncertainty = |name: &str, stated: bool| match (row.uncertainty(name), stated) {
        (_, false) => Ok(None),
        (Some(value), true) if value > 0.0 => Ok(Some(value)),
        (Some(value), true) => Err(row.refuse(
            format!(
                "the standard uncertainty of the {name} is {value:e} in SI units, and it must be above nought"
            ),
            Some("a meter always leaves something open: half its last digit over 1.73 at the least".into()),
        )),
        (None, true) => Err(row.refuse(
            format!("the standard uncertainty of the {name} is missing"),
            Some("fill it in on every row, or leave the column out".into()),
        )),
    };
    let vector = |names: [&str; 3]| {
        let cells = names.map(|name| row.quantity(name));
        cells.iter().any(Option::is_some).then(|| Vector3::from(cells.map(|cell| cell.unwrap_or(0.0))))
    };
    let direction = match vector(["nx", "ny", "nz"]) {
        None => Vector3::z(),
        Some(given) => given.try_normalize(1e-12).ok_or_else(|| {
            row.refuse(
                "the probe's direction nx, ny, nz is nought",
                Some("write 0, 0, 1 for a probe along the axis".into()),
            )
        })?,
    };
    let flipped = row.yes("probe_flipped").unwrap_or(false);
    let current_uncertainty_ampere = uncertainty("current", current_uncertain)?;
    let field_uncertainty_tesla = uncertainty("field", field_uncertain)?;
    let correlation = correlation(row, current_uncertain && field_uncertain)?;
    let own = current_uncertain || field_uncertain;
    let reading = Reading {
        line: row.line,
        label: row.text("label").map(str::to_owned),
        current_uncertainty_ampere,
        field_uncertainty_tesla,
        current_field_correlation: correlation,
        current_shared: share(row, "current", own)?,
        field_shared: share(row, "field", own)?,
        probe_m: vector(["x", "y", "z"]).unwrap_or_else(Vector3::zeros),
        direction: if flipped { -direction } else { direction },
        ..Reading::new(row.required("current")?, row.required("field")?)?
    };
    reading.check().map_err(|refused| row.refuse(refused.to_string(), None))?;
    Ok(reading)
}

/// The correlation of a reading's own errors; zero if none is stated.
fn correlation(row: &Row, both_stated: bool) -> Result<f64> {
    let Some(correlation) = row.quantity("current_field_correlation").filter(|value| *value != 0.0) else {
        return Ok(0.0);
    };
    if !both_stated {
        return Err(row.refuse(
            "errors of current and field are said to be correlated, and their sizes are not stated",
            Some("state `current_uncertainty_A` and `field_uncertainty_mT` as well".into()),
        ));
    }
    if correlation.abs() >= 1.0 {
        return Err(row.refuse(
            format!("a correlation of {correlation} leaves each error nothing of its own"),
            Some(
                "it lies between -1 and 1; what moves both alike in several readings is a shared uncertainty"
                    .into(),
            ),
        ));
    }
    Ok(correlation)
}

/// The reading's part in the shared error of `quantity`.
fn share(row: &Row, quantity: &str, own_stated: bool) -> Result<Option<Share>> {
    let by = row.text(&format!("{quantity}_shared_by"));
    let uncertainty = row.quantity(&format!("{quantity}_shared_uncertainty"));
    match (by, uncertainty.filter(|uncertainty| *uncertainty > 0.0)) {
        (None, None) => Ok(None),
        (Some(by), None) => Err(row.refuse(
            format!("the {quantity} shares an error with those of \"{by}\", and its uncertainty is missing or nought"),
            Some(format!("fill in `{quantity}_shared_uncertainty`, or clear `{quantity}_shared_by`")),
        )),
        (_, Some(_)) if !own_stated => Err(row.refuse(
            format!("an uncertainty of the {quantity} that readings share is stated, and none that each has of its own"),
            Some(format!("add a column such as `{quantity}_uncertainty`: scatter, or half the last digit over 1.73")),
        )),
        (by, Some(standard_uncertainty)) => {
            Ok(Some(Share { by: by.unwrap_or_default().to_owned(), standard_uncertainty }))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> Result<Readings> {
        let bytes = std::io::Cursor::new(text.as_bytes().to_vec());
        of_table(TableReader::from_reader("readings.csv", bytes, COLUMNS)?)
    }

    #[test]
    fn units_come_from_the_heading_and_a_turned_probe_points_the_other_way() {
        let text = "label;current_mA;field_G;field_uncertainty_uT;z_mm;probe_flipped\n\
                    first;500;4,25;2;10;no\nsecond;-500;4,1;2;0;yes\n";
        let readings = read(text).unwrap().readings;
        let first = &readings[0];
        assert_eq!((first.line, first.label.as_deref()), (2, Some("first")));
        assert!((first.current_ampere - 0.5).abs() < 1e-15);
        assert!((first.field_tesla - 4.25e-4).abs() < 1e-18);
        assert!((first.field_uncertainty_tesla.unwrap() - 2e-6).abs() < 1e-20);
        assert_eq!(first.current_uncertainty_ampere, None);
        assert!((first.probe_m - Vector3::new(0.0, 0.0, 0.01)).norm() < 1e-15);
        assert_eq!(first.direction, Vector3::z());
        assert_eq!(readings[1].direction, -Vector3::z());
    }

    #[test]
    fn a_comment_says_that_the_lessons_use_the_same_ammeter() {
        assert!(says_same_ammeter("# Same ammeter\ncurrent_A,field_mT\n"));
        assert!(says_same_ammeter("a;b\n\"#  same  ammeter\";;\n"));
        assert!(!says_same_ammeter("# not the same ammeter\nsame ammeter\n"));
    }

    #[test]
    fn a_row_behind_a_mark_is_told_as_left_out_with_its_reason_and_a_remark_is_not() {
        let text = "# 12 March, probe 3\ncurrent_A,field_mT,label\n1,0.8,A1\n# 1.5 A looked odd, again at noon\n\
                    #-1.5,-1.2,A2,probe slipped\n# 2 , 1.6\n\"#-2,-1.7\",,\n#,,\n# 2,\n2,1.6,A3\n";
        let read = read(text).unwrap();
        assert_eq!(read.readings.len(), 2);
        let told: Vec<_> =
            read.left_out.iter().map(|one| (one.line, one.label.as_deref(), one.reason.as_deref())).collect();
        assert_eq!(told, [(5, Some("A2"), Some("probe slipped")), (6, None, None), (7, None, None)]);
        let semicolons = "current_A;field_mT\n1;0,8\n#2;1,6;Probe verrutscht\n2;1,6\n";
        let left_out = self::read(semicolons).unwrap().left_out;
        assert_eq!(left_out[0].reason.as_deref(), Some("Probe verrutscht"));
    }

    #[test]
    fn a_direction_is_made_a_unit_vector_and_turned_with_the_probe() {
        let text = "current_A,field_mT,nx,ny,nz,probe_flipped\n1,0.8,0,3,4,yes\n2,1.6,,,,no\n";
        let readings = read(text).unwrap().readings;
        assert!((readings[0].direction - Vector3::new(0.0, -0.6, -0.8)).norm() < 1e-15);
        assert_eq!(readings[1].direction, Vector3::z());
    }

    #[test]
    fn what_cannot_be_used_is_refused_by_its_line() {
        for (text, complaint) in [
            (
                "current_A,field_mT,field_uncertainty_mT\n1,0.8,0.01\n2,1.6,0\n",
                "line 3: the standard uncertainty",
            ),
            ("current_A,field_mT,field_uncertainty_mT\n1,0.8,0.01\n2,1.6,\n", "missing"),
            ("current_A,field_mT,current_uncertainty_A\n1,0.8,-0.01\n", "line 2"),
            ("current_A,field_mT,nx,ny,nz\n1,0.8,0,0,0\n", "line 2: the probe's direction"),
            ("current_A,field_mT\n1,much\n", "line 2"),
            ("current_A,field_mT\n1,\n", "line 2"),
            ("current_A\n1\n", "field"),
        ] {
            let error = read(text).unwrap_err().to_string();
            assert!(error.contains(complaint), "{error}");
        }
    }

    #[test]
    fn a_spreadsheets_file_with_a_mark_and_semicolons_reads_like_a_plain_one() {
        let plain = read("current_A,field_mT\n0.5,0.42\n-0.5,-0.41\n").unwrap();
        let spreadsheet = read("\u{feff}current_A;field_mT\r\n0,5;0,42\r\n-0,5;-0,41\r\n").unwrap();
        assert_eq!(plain.readings, spreadsheet.readings);
    }
}
