//! The readings of a warm-up test: its table read and checked.

use crate::files::tables::{Column, Row, TableReader};
use crate::units::{Dimension, brief};
use crate::{Error, Result};
use std::path::{Path, PathBuf};

/// The columns of a warm-up table. Values beyond these limits mean a wrong unit or decimal point (common practice, no
/// source).
const COLUMNS: &[Column] = &[
    Column::quantity("time", Dimension::Time).as_symbol(&["t"]).required(),
    Column::quantity("voltage", Dimension::Voltage).as_symbol(&["U", "V"]).required().within(-1e3, 1e3),
    Column::quantity("current", Dimension::Current).as_symbol(&["I"]).required().within(-1e3, 1e3),
    Column::quantity("room_temperature", Dimension::Temperature).within(-20.0, 60.0),
];

/// Most rows that are read: more than a logger with ten readings a second gives in a day.
const MOST_ROWS: usize = 1_000_000;

/// Fewest rows from which three parameters and a scatter can be determined.
const FEWEST_ROWS: usize = 4;
/// More rows than this are averaged in groups of neighbours before the fit.
pub(super) const MOST_BLOCKS: usize = 60;

/// No coils of this kind take longer to settle.
const LONGEST_TEST_S: f64 = 24.0 * 3600.0;

/// The readings of a warm-up test.
#[derive(Clone, Debug, PartialEq)]
pub struct WarmUpTest {
    pub(super) path: PathBuf,
    pub(super) readings: Vec<WarmUpReading>,
    pub(super) sheet: Option<String>,
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct WarmUpReading {
    /// Its line in the table; for a mean, that of the first row.
    pub(super) line: u64,
    pub(super) time_s: f64,
    pub(super) voltage_volt: f64,
    pub(super) current_ampere: f64,
    pub(super) room_celsius: Option<f64>,
    /// Number of rows averaged.
    pub(super) rows: f64,
}

impl WarmUpTest {
    /// Reads a table with the columns `time_s` (or `time_min`), `voltage_V`, `current_A` and, if wanted,
    /// `room_temperature_degC`.
    pub fn read(path: impl AsRef<Path>) -> Result<Self> {
        Self::of_table(TableReader::open(path, COLUMNS)?)
    }

    /// Reads the table from text; `name` stands for the file in messages.
    pub fn from_text(name: &str, text: &str) -> Result<Self> {
        let bytes = std::io::Cursor::new(text.as_bytes().to_vec());
        Self::of_table(TableReader::from_reader(name, bytes, COLUMNS)?)
    }

    fn of_table(mut table: TableReader) -> Result<Self> {
        let mut readings: Vec<WarmUpReading> = Vec::new();
        let mut row = table.row();
        while table.read(&mut row)? {
            if readings.len() == MOST_ROWS {
                let hint = "keep every tenth row".to_owned();
                return Err(row.refuse(format!("the table has more than {MOST_ROWS} rows"), Some(hint)));
            }
            readings.push(reading(&row, readings.last())?);
        }
        if readings.len() < FEWEST_ROWS {
            let rows = match readings.len() {
                0 => return Err(table.no_rows()),
                1 => "1 row".into(),
                more => format!("{more} rows"),
            };
            return Err(Error::value_with_hint(
                format!("{}: a warm-up test of {rows} cannot be fitted", table.path().display()),
                format!(
                    "take at least {FEWEST_ROWS} rows, better 20, from switching on until the voltage is steady"
                ),
            ));
        }
        let test =
            Self { path: table.path().to_path_buf(), readings, sheet: table.sheet().map(str::to_owned) };
        test.refuse_unlike_rows()?;
        Ok(test)
    }

    /// The readings, averaged in groups of neighbours if there are many.
    pub(super) fn blocks(&self) -> Vec<WarmUpReading> {
        let size = self.readings.len().div_ceil(MOST_BLOCKS);
        self.readings
            .chunks(size)
            .map(|rows| {
                let mean =
                    |of: fn(&WarmUpReading) -> f64| rows.iter().map(of).sum::<f64>() / rows.len() as f64;
                WarmUpReading {
                    line: rows[0].line,
                    time_s: mean(|r| r.time_s),
                    voltage_volt: mean(|r| r.voltage_volt),
                    current_ampere: mean(|r| r.current_ampere),
                    room_celsius: None,
                    rows: rows.len() as f64,
                }
            })
            .collect()
    }
}

/// One row, checked by itself and against the row before it.
fn reading(row: &Row, before: Option<&WarmUpReading>) -> Result<WarmUpReading> {
    let reading = WarmUpReading {
        line: row.line,
        time_s: row.required("time")?,
        voltage_volt: row.required("voltage")?,
        current_ampere: row.required("current")?,
        room_celsius: row.quantity("room_temperature"),
        rows: 1.0,
    };
    if reading.time_s < 0.0 {
        let hint = "count the time from switching on".to_owned();
        return Err(
            row.refuse(format!("the time is {} s, before switching on at 0 s", reading.time_s), Some(hint))
        );
    }
    if reading.time_s > LONGEST_TEST_S {
        return Err(row.refuse(
            format!("the time is {} h, and a test of up to 24 h is allowed", reading.time_s / 3600.0),
            Some("check the unit in the heading, `time_s` or `time_min`".into()),
        ));
    }
    if let Some(before) = before.filter(|before| reading.time_s <= before.time_s) {
        let message = if reading.time_s == before.time_s {
            format!("the time {} s occurs twice", reading.time_s)
        } else {
            format!("the time falls from {} s to {} s", before.time_s, reading.time_s)
        };
        return Err(row.refuse(message, Some("put the rows in order of time".into())));
    }
    if reading.voltage_volt / reading.current_ampere <= 0.0 || reading.current_ampere == 0.0 {
        return Err(row.refuse(
            format!(
                "{} at {} gives no resistance",
                brief(reading.voltage_volt, Dimension::Voltage),
                brief(reading.current_ampere, Dimension::Current)
            ),
            Some("leave out rows without current, and give voltage and current the same sign".into()),
        ));
    }
    Ok(reading)
}
