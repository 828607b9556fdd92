//! Field vectors as rows of CSV or of JSON, shortest digits that read back as the same number.

use crate::files::out::csv::NumberFormat;
use crate::files::out::shortest::Shortest;
use nalgebra::Vector3;

/// The heading of the CSV rows, with or without the estimated error.
pub fn csv_heading(with_error: bool) -> &'static str {
    match with_error {
        false => "x_m,y_m,z_m,bx_tesla,by_tesla,bz_tesla\n",
        true => "x_m,y_m,z_m,bx_tesla,by_tesla,bz_tesla,error_tesla\n",
    }
}

/// The field at a point, and what its calculation may be off by if that was asked for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FieldValue {
    /// The field.
    pub field_tesla: Vector3<f64>,
    /// Estimated numerical error of its length.
    pub error_tesla: Option<f64>,
}

/// How the rows are written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RowFormat {
    /// `x,y,z,bx,by,bz` and the error if there is one, one line a point.
    Csv(NumberFormat),
    /// One object a point, a comma and a line end before each.
    Json,
}

/// Appends one row a point.
pub fn write_rows(out: &mut Vec<u8>, format: RowFormat, points_m: &[Vector3<f64>], values: &[FieldValue]) {
    let start = out.len();
    out.reserve(160 * points_m.len());
    let names: [&[u8]; 7] = match format {
        RowFormat::Csv(_) => [b"", b",", b",", b",", b",", b",", b","],
        RowFormat::Json => [
            b",\n{\"x_m\":",
            b",\"y_m\":",
            b",\"z_m\":",
            b",\"bx_tesla\":",
            b",\"by_tesla\":",
            b",\"bz_tesla\":",
            b",\"error_tesla\":",
        ],
    };
    let end = match format {
        RowFormat::Csv(_) => b'\n',
        RowFormat::Json => b'}',
    };
    let mut shortest = Shortest::new();
    for (point, value) in points_m.iter().zip(values) {
        let numbers = point.iter().chain(&value.field_tesla).chain(&value.error_tesla);
        for (name, number) in names.iter().zip(numbers) {
            out.extend_from_slice(name);
            shortest.push(out, *number);
        }
        out.push(end);
    }
    if let RowFormat::Csv(numbers) = format {
        numbers.rewrite(&mut out[start..]);
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
            let mut out = Vec::new();
            write_rows(&mut out, RowFormat::Csv(NumberFormat::Point), &[point], &[value]);
            let text = String::from_utf8(out).unwrap();
            let cells: Vec<f64> = text.trim().split(',').map(|cell| cell.parse().unwrap()).collect();
            let wanted = [point.x, point.y, point.z, field.x, field.y, field.z];
            assert_eq!(cells, [&wanted[..], error_tesla.as_slice()].concat());
            assert_eq!(csv_heading(error_tesla.is_some()).split(',').count(), cells.len());

            let mut out = Vec::new();
            write_rows(&mut out, RowFormat::Json, &[point], &[value]);
            let text = String::from_utf8(out).unwrap();
            let record: serde_json::Value =
                serde_json::from_str(text.trim_start_matches([',', '\n'])).unwrap();
            assert_eq!(record["bx_tesla"], field.x);
            assert_eq!(record["y_m"], point.y);
            assert_eq!(record.get("error_tesla").and_then(serde_json::Value::as_f64), error_tesla);
        }
    }
}
