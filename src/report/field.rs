//! Field vectors as rows of CSV or of JSON, shortest digits that read back as the same number.

use super::table_file::NumberFormat;
use nalgebra::Vector3;
use std::io::Write;

/// The heading of the CSV rows.
pub const CSV_HEADING: &str = "x_m,y_m,z_m,bx_tesla,by_tesla,bz_tesla\n";

/// How the rows are written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RowFormat {
    /// `x,y,z,bx,by,bz`, one line a point.
    Csv(NumberFormat),
    /// One object a point, a comma and a line end before each.
    Json,
}

/// Appends one row a point.
pub fn write_rows(
    out: &mut Vec<u8>,
    format: RowFormat,
    points_m: &[Vector3<f64>],
    field_tesla: &[Vector3<f64>],
) {
    let start = out.len();
    out.reserve(140 * points_m.len());
    for (point, field) in points_m.iter().zip(field_tesla) {
        let ([x, y, z], [bx, by, bz]) = ((*point).into(), (*field).into());
        // Writing to a Vec cannot fail.
        let _: std::io::Result<()> = match format {
            RowFormat::Csv(_) => writeln!(out, "{x:?},{y:?},{z:?},{bx:?},{by:?},{bz:?}"),
            RowFormat::Json => write!(
                out,
                ",\n{{\"x_m\":{x:?},\"y_m\":{y:?},\"z_m\":{z:?},\"bx_tesla\":{bx:?},\"by_tesla\":{by:?},\"bz_tesla\":{bz:?}}}"
            ),
        };
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
        let mut out = Vec::new();
        write_rows(&mut out, RowFormat::Csv(NumberFormat::Point), &[point], &[field]);
        let text = String::from_utf8(out).unwrap();
        let cells: Vec<f64> = text.trim().split(',').map(|cell| cell.parse().unwrap()).collect();
        assert_eq!(cells, [point.x, point.y, point.z, field.x, field.y, field.z]);

        let mut out = Vec::new();
        write_rows(&mut out, RowFormat::Json, &[point], &[field]);
        let text = String::from_utf8(out).unwrap();
        let record: serde_json::Value = serde_json::from_str(text.trim_start_matches([',', '\n'])).unwrap();
        assert_eq!(record["bx_tesla"], field.x);
        assert_eq!(record["y_m"], point.y);
    }
}
