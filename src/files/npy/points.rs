//! Points from an array in numpy's `.npy` format: one row a point, its x, y and z in metres.
//!
//! Only what an array of numbers needs is read, and nothing in a file is executed: the heading is a Python literal of three
//! known keys.

use crate::error::reason_unread;
use crate::{Error, Result};
use nalgebra::Vector3;
use std::fs::File;
use std::io::{BufReader, ErrorKind, Read, Seek, SeekFrom};
use std::path::{Path, PathBuf};

/// Longest heading that is read. Of an array of numbers it has some hundred bytes.
const LONGEST_HEADING: u32 = 1 << 16;
const BUFFER: usize = 1 << 16;

/// Reads the points of an array row by row, in constant memory.
pub(crate) struct ArrayPoints {
    path: PathBuf,
    /// One lane with the numbers row by row, or three with a column each.
    lanes: Vec<Box<dyn Read + Send>>,
    form: Form,
    rows: u64,
    next: u64,
}

/// How a number is stored.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Form {
    bytes: usize,
    big_endian: bool,
}

/// What the heading says.
#[derive(Debug, PartialEq, Eq)]
struct Heading {
    descr: String,
    by_columns: bool,
    lengths: Vec<u64>,
}

impl ArrayPoints {
    /// Reads the heading from `reader`, which begins with [`MAGIC`](super::MAGIC). `file` is the path to open again for an array that
    /// lies column by column.
    pub(crate) fn open(
        path: &Path,
        mut reader: impl Read + Send + 'static,
        file: Option<&Path>,
    ) -> Result<Self> {
        let unusable = |reason: String, hint: &str| Error::Unusable {
            path: path.to_owned(),
            reason,
            hint: Some(hint.to_owned()),
        };
        let mut before = 0;
        let heading = read_heading(&mut reader, &mut before)
            .map_err(|reason| unusable(reason, "write it again with numpy.save(file, points)"))?;
        let form = form(&heading.descr).ok_or_else(|| {
            unusable(
                format!("its numbers are of the type `{}`, not floating-point numbers", heading.descr),
                "coordinates are in metres: save points.astype(float)",
            )
        })?;
        let rows = match heading.lengths[..] {
            [rows, 3] => rows,
            _ => {
                let lengths: Vec<_> = heading.lengths.iter().map(u64::to_string).collect();
                let hint = match heading.lengths.last() {
                    Some(3) => "give one row for each point, x, y and z in metres: points.reshape(-1, 3)",
                    _ => "give one row for each point, x, y and z in metres: numpy.column_stack([x, y, z])",
                };
                let reason =
                    format!("it is an array of the shape ({}), not of three columns", lengths.join(", "));
                return Err(unusable(reason, hint));
            }
        };
        let reader = BufReader::with_capacity(BUFFER, reader);
        let lanes: Vec<Box<dyn Read + Send>> = match (heading.by_columns, file) {
            (false, _) => vec![Box::new(reader)],
            (true, Some(file)) => columns(file, before, rows.saturating_mul(form.bytes as u64))
                .map_err(|error| Error::Read { path: path.to_owned(), reason: reason_unread(&error) })?,
            (true, None) => {
                return Err(unusable(
                    "its numbers lie column by column".into(),
                    "save numpy.ascontiguousarray(points)",
                ));
            }
        };
        Ok(Self { path: path.to_owned(), lanes, form, rows, next: 0 })
    }

    /// Reads at most `most` points more. After an error `points_m` contains those before the bad row.
    pub(crate) fn fill(&mut self, points_m: &mut Vec<Vector3<f64>>, most: usize) -> Result<()> {
        for _ in 0..most {
            if self.next == self.rows {
                return Ok(());
            }
            let mut point = Vector3::zeros();
            for i in 0..3 {
                let lane = i % self.lanes.len();
                point[i] = number(&mut self.lanes[lane], self.form).map_err(|error| self.cut_off(&error))?;
            }
            if !point.iter().all(|coordinate: &f64| coordinate.is_finite()) {
                return Err(self.unusable(
                    format!("row {} (counted from 0) holds a number that is not finite", self.next),
                    "leave such rows out: points[numpy.isfinite(points).all(axis=1)]",
                ));
            }
            points_m.push(point);
            self.next += 1;
        }
        Ok(())
    }

    /// The error for an array without points.
    pub(crate) fn no_rows(&self) -> Error {
        self.unusable("it is an array without rows".into(), "give at least one point")
    }

    fn cut_off(&self, error: &std::io::Error) -> Error {
        match error.kind() {
            ErrorKind::UnexpectedEof => self.unusable(
                format!(
                    "it ends in row {} (counted from 0), where its heading tells of {} rows",
                    self.next, self.rows
                ),
                "the file was cut off: copy or save it again",
            ),
            _ => Error::Read { path: self.path.clone(), reason: reason_unread(error) },
        }
    }

    fn unusable(&self, reason: String, hint: &str) -> Error {
        Error::Unusable { path: self.path.clone(), reason, hint: Some(hint.into()) }
    }
}

impl std::fmt::Debug for ArrayPoints {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("ArrayPoints").field("path", &self.path).finish_non_exhaustive()
    }
}

/// A reader for each of three columns that lie one after the other.
fn columns(file: &Path, before: u64, column: u64) -> std::io::Result<Vec<Box<dyn Read + Send>>> {
    (0..3)
        .map(|i| {
            let mut file = File::open(file)?;
            file.seek(SeekFrom::Start(before.saturating_add(column.saturating_mul(i))))?;
            Ok(Box::new(BufReader::with_capacity(BUFFER, file)) as Box<dyn Read + Send>)
        })
        .collect()
}

fn number(lane: &mut dyn Read, form: Form) -> std::io::Result<f64> {
    let mut bytes = [0; 8];
    let bytes = &mut bytes[..form.bytes];
    lane.read_exact(bytes)?;
    if form.big_endian {
        bytes.reverse();
    }
    Ok(match *bytes {
        [a, b, c, d] => f64::from(f32::from_le_bytes([a, b, c, d])),
        [a, b, c, d, e, f, g, h] => f64::from_le_bytes([a, b, c, d, e, f, g, h]),
        _ => f64::NAN,
    })
}

/// The forms of floating-point numbers that are read.
fn form(descr: &str) -> Option<Form> {
    let (order, kind) = descr.split_at_checked(1)?;
    let bytes = match kind {
        "f4" => 4,
        "f8" => 8,
        _ => return None,
    };
    match order {
        "<" => Some(Form { bytes, big_endian: false }),
        ">" => Some(Form { bytes, big_endian: true }),
        _ => None,
    }
}

/// Reads magic, version and heading; `before` becomes the number of bytes before the numbers.
fn read_heading(reader: &mut impl Read, before: &mut u64) -> std::result::Result<Heading, String> {
    let cut_off = |_| "its heading is cut off".to_owned();
    let mut start = [0; 8];
    reader.read_exact(&mut start).map_err(cut_off)?;
    let mut length = [0; 4];
    let counted = match start[6..] {
        [1, _] => 2,
        [2 | 3, _] => 4,
        _ => {
            return Err(format!(
                "it is a .npy file of version {}.{}, which is not known",
                start[6], start[7]
            ));
        }
    };
    reader.read_exact(&mut length[..counted]).map_err(cut_off)?;
    let length = u32::from_le_bytes(length);
    if length > LONGEST_HEADING {
        return Err(format!("its heading would have {length} bytes"));
    }
    let mut text = vec![0; length as usize];
    reader.read_exact(&mut text).map_err(cut_off)?;
    *before = 8 + counted as u64 + u64::from(length);
    let text = std::str::from_utf8(&text).map_err(|_| "its heading is not text".to_owned())?;
    heading(text).ok_or_else(|| "its heading does not describe an array of numbers".to_owned())
}

/// Parses `{'descr': '<f8', 'fortran_order': False, 'shape': (4, 3), }`, keys in any order. `None` for anything else.
fn heading(text: &str) -> Option<Heading> {
    let mut rest = text.trim().strip_prefix('{')?.strip_suffix('}')?.trim();
    let (mut descr, mut by_columns, mut lengths) = (None, None, None);
    while !rest.is_empty() {
        let (key, after) = quoted(rest)?;
        let value = after.trim_start().strip_prefix(':')?.trim_start();
        rest = match key {
            "descr" => {
                let (name, after) = quoted(value)?;
                descr = Some(name.to_owned());
                after
            }
            "fortran_order" => {
                let (answer, after) = yes_or_no(value)?;
                by_columns = Some(answer);
                after
            }
            "shape" => {
                let (inside, after) = value.strip_prefix('(')?.split_once(')')?;
                let cells = inside.trim().trim_end_matches(',').split(',').map(str::trim);
                let counts = cells.filter(|cell| !cell.is_empty()).map(str::parse);
                lengths = Some(counts.collect::<std::result::Result<Vec<u64>, _>>().ok()?);
                after
            }
            _ => return None,
        };
        rest = rest.trim_start();
        rest = match rest.strip_prefix(',') {
            Some(more) => more.trim_start(),
            None if rest.is_empty() => rest,
            None => return None,
        };
    }
    Some(Heading { descr: descr?, by_columns: by_columns?, lengths: lengths? })
}

fn yes_or_no(text: &str) -> Option<(bool, &str)> {
    let yes = text.strip_prefix("True").map(|rest| (true, rest));
    yes.or_else(|| text.strip_prefix("False").map(|rest| (false, rest)))
}

/// A string literal without escapes, and what follows it.
fn quoted(text: &str) -> Option<(&str, &str)> {
    let mark = text.chars().next().filter(|mark| matches!(mark, '\'' | '"'))?;
    text[1..].split_once(mark)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::npy::MAGIC;
    use crate::files::tables::PointReader;
    use std::io::Cursor;

    const POINTS: [[f64; 3]; 4] =
        [[0.01, 0.005, -0.002], [0.0, -0.0625, 0.03125], [0.1, -1.0 / 3.0, 1e-20], [-0.04, 0.02, 0.0]];

    fn all(mut reader: PointReader) -> Result<Vec<Vector3<f64>>> {
        let (mut all, mut batch) = (Vec::new(), Vec::new());
        loop {
            reader.fill(&mut batch, 3)?;
            if batch.is_empty() {
                return Ok(all);
            }
            all.append(&mut batch);
        }
    }

    fn of_numpy(name: &str) -> Result<Vec<Vector3<f64>>> {
        all(PointReader::open(format!("{}/tests/data/{name}", env!("CARGO_MANIFEST_DIR")))?)
    }

    fn of_bytes(bytes: Vec<u8>) -> Result<Vec<Vector3<f64>>> {
        all(PointReader::from_reader("points.npy", Cursor::new(bytes))?)
    }

    fn refused(bytes: Vec<u8>) -> String {
        let error = of_bytes(bytes).unwrap_err();
        assert!(error.hint().is_some(), "{error}");
        error.to_string()
    }

    /// A file with this heading and these bytes.
    fn file(heading: &str, numbers: &[u8]) -> Vec<u8> {
        let mut bytes = MAGIC.to_vec();
        bytes.extend([1, 0]);
        bytes.extend((heading.len() as u16).to_le_bytes());
        [bytes, heading.into(), numbers.into()].concat()
    }

    // The files are numpy's own: tests/data/make_arrays.py.
    #[test]
    fn what_numpy_writes_is_read_row_by_row_and_column_by_column() {
        let points = POINTS.map(Vector3::from);
        assert_eq!(of_numpy("points-numpy.npy").unwrap(), points);
        assert_eq!(of_numpy("points-numpy-columns.npy").unwrap(), points);
        let single = of_numpy("points-numpy-big-endian-single.npy").unwrap();
        assert_eq!(single, points.map(|point| point.map(|coordinate| f64::from(coordinate as f32))));
    }

    #[test]
    fn other_types_and_shapes_are_refused_with_what_to_save_instead() {
        let whole = of_numpy("points-numpy-whole.npy").unwrap_err();
        assert!(whole.to_string().contains("of the type `<i8`"), "{whole}");
        assert!(whole.hint().unwrap().contains("astype(float)"));
        let shape = |shape: &str| {
            refused(file(
                &format!("{{'descr': '<f8', 'fortran_order': False, 'shape': {shape}, }}"),
                &[0; 48],
            ))
        };
        assert!(shape("(3, 2)").contains("shape (3, 2)"));
        assert!(shape("(6,)").contains("shape (6)"));
        assert!(shape("()").contains("shape ()"));
        assert!(shape("(0, 3)").contains("without rows"));
        let columns = "{'descr': '<f8', 'fortran_order': True, 'shape': (2, 3), }";
        assert!(refused(file(columns, &[0; 48])).contains("column by column"));
    }

    #[test]
    fn a_broken_file_is_refused_at_the_row_where_it_breaks() {
        let heading = "{\"shape\": (3, 3), 'fortran_order': False, 'descr': '<f8'}";
        assert!(refused(file(heading, &[0; 60])).contains("ends in row 2 (counted from 0)"));
        let mut numbers = [0; 72];
        numbers[24..32].copy_from_slice(&f64::NAN.to_le_bytes());
        assert!(refused(file(heading, &numbers)).contains("row 1 (counted from 0)"));
        for heading in [
            "",
            "{}",
            "{'descr': '<f8'}",
            "{'descr': [('x', '<f8')], 'fortran_order': False, 'shape': (3, 3)}",
            "{'descr': '<f8', 'fortran_order': False, 'shape': (3, 3), 'more': 1}",
            "{'descr': '<f8' 'fortran_order': False, 'shape': (3, 3)}",
            "{'descr': '<f8', 'fortran_order': False, 'shape': (99999999999999999999, 3)}",
        ] {
            assert!(refused(file(heading, &[0; 72])).contains("heading"), "{heading}");
        }
        assert!(refused(MAGIC.to_vec()).contains("cut off"));
        assert!(refused([&MAGIC[..], &[9, 0, 0, 0]].concat()).contains("version 9.0"));
        assert!(refused([&MAGIC[..], &[2, 0, 255, 255, 255, 255]].concat()).contains("4294967295 bytes"));
        // So many rows are no reason to ask for memory.
        let endless = "{'descr': '<f8', 'fortran_order': False, 'shape': (18446744073709551615, 3)}";
        assert!(refused(file(endless, &[0; 72])).contains("ends in row 3"));
    }
}
