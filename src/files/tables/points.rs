//! Reads large numbers of points: `x_m,y_m,z_m`, with any length unit in the headings.

use super::{Column, Row, TableReader};
use crate::Result;
use crate::units::Dimension;
use nalgebra::Vector3;
use std::io::Read;
use std::path::Path;

const COLUMNS: &[Column] = &[
    Column::quantity("x", Dimension::Length).required(),
    Column::quantity("y", Dimension::Length).required(),
    Column::quantity("z", Dimension::Length).required(),
];

/// Reads points in batches, into a reused buffer.
///
/// ```
/// use coilwright::files::tables::PointReader;
/// let mut reader = PointReader::from_reader("points.csv", &b"x_m,y_mm,z_m\n0.01,5,-2e-3\n"[..])?;
/// let mut points = Vec::new();
/// reader.fill(&mut points, 1000)?;
/// assert_eq!(points[0], nalgebra::Vector3::new(0.01, 0.005, -0.002));
/// reader.fill(&mut points, 1000)?;
/// assert!(points.is_empty());
/// # Ok::<(), coilwright::Error>(())
/// ```
#[derive(Debug)]
pub struct PointReader {
    table: TableReader,
    row: Row,
    /// Whether a point was read; a table with a heading and nothing else is an error.
    any: bool,
}

impl PointReader {
    /// Opens a file and reads its heading.
    pub fn open(path: impl AsRef<Path>) -> Result<Self> {
        Ok(Self::of(TableReader::open(path, COLUMNS)?))
    }

    /// Reads from any reader; `name` stands for it in messages.
    pub fn from_reader(name: impl AsRef<Path>, reader: impl Read + Send + 'static) -> Result<Self> {
        Ok(Self::of(TableReader::from_reader(name, reader, COLUMNS)?))
    }

    fn of(table: TableReader) -> Self {
        let row = table.row();
        Self { table, row, any: false }
    }

    /// The sheet of a workbook; `None` for a text file.
    pub fn sheet(&self) -> Option<&str> {
        self.table.sheet()
    }

    /// Clears `points_m` and reads at most `most` points into it; it stays empty at the end of the table. After an
    /// error it contains the points before the bad row. A table without points is an error.
    pub fn fill(&mut self, points_m: &mut Vec<Vector3<f64>>, most: usize) -> Result<()> {
        points_m.clear();
        while points_m.len() < most && self.table.read(&mut self.row)? {
            // All three columns are required, so all three cells are filled.
            if let [Some(x), Some(y), Some(z)] = self.row.quantities[..] {
                points_m.push(Vector3::new(x, y, z));
            }
        }
        if points_m.is_empty() && most > 0 && !self.any {
            return Err(self.table.no_rows());
        }
        self.any = true;
        Ok(())
    }
}
