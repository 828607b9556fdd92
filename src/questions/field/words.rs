//! Field vectors as rows of CSV or JSON, with the fewest digits that read back as the same number, or as they are in numpy's
//! format.

use crate::files::npy;
use crate::files::out::csv::{NumberFormat, TableFile};
use crate::files::out::json;
use crate::questions::words::notes::{SourceNote, Told};
use crate::questions::words::phrases::signed_percent;
use crate::units::{Dimension, display, display_beside, inert};
use nalgebra::Vector3;

/// The columns of a row and the members of its object. The last one is written only if the error estimate is requested.
const NAMES: [&str; 7] = ["x_m", "y_m", "z_m", "bx_tesla", "by_tesla", "bz_tesla", "error_tesla"];
/// Bytes for a row of six or seven numbers with their names.
const ROW_BYTES: usize = 160;

/// The field at a point, with its error estimate if requested.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FieldValue {
    /// The field.
    pub field_tesla: Vector3<f64>,
    /// Estimated numerical error of its magnitude.
    pub error_tesla: Option<f64>,
}

/// The format of the rows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RowFormat {
    /// `x,y,z,bx,by,bz` and the error if requested, one line for each point.
    Csv(NumberFormat),
    /// One object for each point, preceded by a comma and a line end.
    Json,
    /// The numbers of the CSV in numpy's `.npy` format.
    Npy,
}

/// The columns of a row.
pub fn columns(with_error: bool) -> &'static [&'static str] {
    if with_error { &NAMES } else { &NAMES[..6] }
}

/// What a `.npy` file with so many rows begins with; it is equally long for any number of rows.
pub fn array_opening(rows: u64, with_error: bool) -> Vec<u8> {
    npy::opening(&[rows, columns(with_error).len() as u64])
}

/// What stands before the first row. A CSV names the sheet here; an array has to be told its rows at the end, by
/// [`array_opening`].
pub fn opening(format: RowFormat, with_error: bool, note: Option<&SourceNote>) -> Vec<u8> {
    match format {
        RowFormat::Csv(numbers) => {
            let comments: Vec<String> = note.map(SourceNote::sentence).into_iter().collect();
            TableFile::new(numbers, &comments, columns(with_error)).into_text().into()
        }
        RowFormat::Json => "{\"points\":[".into(),
        RowFormat::Npy => array_opening(0, with_error),
    }
}

/// The text after the last row of a JSON document, which names the sheet here.
pub fn closing(note: Option<&SourceNote>) -> String {
    let notes = note.map(|note| format!(",\"notes\":[{}]", serde_json::Value::String(note.sentence())));
    inert::json(&format!("\n]{}}}\n", notes.unwrap_or_default())).into_owned()
}

/// The field at one point in a few words: its components, its size, and its deviation from the field at the centre, where there
/// is one to compare with.
pub fn at_a_point(value: &FieldValue, deviation: Option<f64>) -> Vec<(&'static str, String)> {
    let field = value.field_tesla;
    let largest = field.amax();
    let beside = |component: f64| display_beside(component, largest, Dimension::FluxDensity, 5);
    let components = field.iter().map(|component| beside(*component)).collect::<Vec<_>>().join(", ");
    let mut told =
        vec![("field x, y, z", components), ("size", display(field.norm(), Dimension::FluxDensity, 6))];
    told.extend(deviation.map(|deviation| ("deviation", signed_percent(deviation))));
    told
}

/// One row for each point.
pub fn rows(format: RowFormat, points_m: &[Vector3<f64>], values: &[FieldValue]) -> Vec<u8> {
    let all = points_m
        .iter()
        .zip(values)
        .map(|(point, value)| point.iter().chain(&value.field_tesla).chain(&value.error_tesla).copied());
    match format {
        RowFormat::Csv(format) => {
            let mut table = TableFile::more_rows(format, ROW_BYTES * points_m.len());
            all.for_each(|numbers| table.exact(numbers.map(Some)));
            table.into_text().into()
        }
        RowFormat::Json => {
            let mut text = String::with_capacity(ROW_BYTES * points_m.len());
            all.for_each(|numbers| {
                text.push_str(",\n");
                json::push_object(&mut text, &NAMES, numbers);
            });
            text.into()
        }
        RowFormat::Npy => {
            let mut bytes = Vec::with_capacity(size_of::<f64>() * NAMES.len() * points_m.len());
            all.for_each(|numbers| npy::push(&mut bytes, numbers));
            bytes
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_read_back_as_the_very_same_numbers() {
        let point = Vector3::new(0.1, -1.0 / 3.0, 1e-20);
        let field = Vector3::new(6.283_185_307_179_586e-7, -0.0, 1.0);
        for error_tesla in [None, Some(1.0 / 3e15)] {
            let value = FieldValue { field_tesla: field, error_tesla };
            let told = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
            let text = told(rows(RowFormat::Csv(NumberFormat::Point), &[point], &[value]));
            let cells: Vec<f64> = text.trim().split(',').map(|cell| cell.parse().unwrap()).collect();
            let wanted = [point.x, point.y, point.z, field.x, field.y, field.z];
            assert_eq!(cells, [&wanted[..], error_tesla.as_slice()].concat());
            let heading = told(opening(RowFormat::Csv(NumberFormat::Point), error_tesla.is_some(), None));
            assert_eq!(heading.split(',').count(), cells.len());

            let array = rows(RowFormat::Npy, &[point], &[value]);
            let numbers = array.chunks(8).map(|bytes| f64::from_le_bytes(bytes.try_into().unwrap()));
            assert_eq!(numbers.collect::<Vec<_>>(), cells);

            let text = told(rows(RowFormat::Json, &[point], &[value]));
            let record: serde_json::Value =
                serde_json::from_str(text.trim_start_matches([',', '\n'])).unwrap();
            assert_eq!(record["bx_tesla"], field.x);
            assert_eq!(record["y_m"], point.y);
            assert_eq!(record.get("error_tesla").and_then(serde_json::Value::as_f64), error_tesla);
        }
    }
}
