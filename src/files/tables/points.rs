//! Reads large numbers of points: a table `x_m,y_m,z_m`, with any length unit in the headings, or an array in numpy's
//! `.npy` format with a row of metres for each.

use super::{Column, Row, TableReader, encoding, opened};
use crate::error::said_by_system;
use crate::files::npy::{self, ArrayPoints};
use crate::units::Dimension;
use crate::{Error, Result};
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
    source: Source,
    /// Whether a point was read; a file without points is an error.
    any: bool,
}

#[derive(Debug)]
enum Source {
    Table(Box<(TableReader, Row)>),
    Array(ArrayPoints),
}

impl PointReader {
    /// Opens a file and reads its heading.
    pub fn open(path: impl AsRef<Path>) -> Result<Self> {
        let path = path.as_ref();
        Self::of(path, opened(path)?, Some(path))
    }

    /// Reads from any reader; `name` stands for it in messages. An array must lie row by row.
    pub fn from_reader(name: impl AsRef<Path>, reader: impl Read + Send + 'static) -> Result<Self> {
        Self::of(name.as_ref(), reader, None)
    }

    fn of(path: &Path, reader: impl Read + Send + 'static, file: Option<&Path>) -> Result<Self> {
        let (start, reader) = encoding::peek(reader, npy::MAGIC.len())
            .map_err(|error| Error::Read { path: path.to_owned(), reason: said_by_system(&error) })?;
        let source = if start == npy::MAGIC {
            Source::Array(ArrayPoints::open(path, reader, file)?)
        } else {
            let table = TableReader::from_reader(path, reader, COLUMNS)?;
            let row = table.row();
            Source::Table(Box::new((table, row)))
        };
        Ok(Self { source, any: false })
    }

    /// The sheet of a workbook; `None` for a text file or an array.
    pub fn sheet(&self) -> Option<&str> {
        match &self.source {
            Source::Table(table) => table.0.sheet(),
            Source::Array(_) => None,
        }
    }

    /// Clears `points_m` and reads at most `most` points into it; it stays empty at the end of the file. After an
    /// error it contains the points before the bad row. A file without points is an error.
    pub fn fill(&mut self, points_m: &mut Vec<Vector3<f64>>, most: usize) -> Result<()> {
        points_m.clear();
        match &mut self.source {
            Source::Table(table) => {
                let (table, row) = &mut **table;
                while points_m.len() < most && table.read(row)? {
                    // All three columns are required, so all three cells are filled.
                    if let [Some(x), Some(y), Some(z)] = row.quantities[..] {
                        points_m.push(Vector3::new(x, y, z));
                    }
                }
            }
            Source::Array(array) => array.fill(points_m, most)?,
        }
        if points_m.is_empty() && most > 0 && !self.any {
            return Err(match &self.source {
                Source::Table(table) => table.0.no_rows(),
                Source::Array(array) => array.no_rows(),
            });
        }
        self.any = true;
        Ok(())
    }
}
