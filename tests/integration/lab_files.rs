//! The example files that people fill in: each is accepted by its reader.

use coilwright::files::spec::{read_measured, read_wanted};
use coilwright::files::tables::{Column, PointReader, Table};
use coilwright::units::Dimension;
use std::path::PathBuf;

fn lab_file(name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("lab-files").join(name)
}

#[test]
fn what_is_wanted_and_what_was_measured_are_read() {
    let wanted = read_wanted(lab_file("lessons.json")).unwrap();
    assert_eq!(wanted.title, "Saltmarsh College, what the lessons need");
    let measured = read_measured(lab_file("cupboard-pair.json")).unwrap();
    assert_eq!(measured.title, "Saltmarsh College, unlabelled pair from the cupboard");
}

#[test]
fn the_tables_are_read_with_points_and_with_decimal_commas() {
    const WARM_UP: &[Column] = &[
        Column::quantity("time", Dimension::Time).required(),
        Column::quantity("voltage", Dimension::Voltage).required(),
        Column::quantity("current", Dimension::Current).required(),
    ];
    let table = Table::read(lab_file("warm-up.csv"), WARM_UP).unwrap();
    assert_eq!(table.rows.len(), 14);
    assert_eq!(table.rows[1].quantity("time"), Some(120.0));
    assert_eq!(table.rows[1].quantity("voltage"), Some(14.91));

    let mut points = Vec::new();
    PointReader::open(lab_file("points.csv")).unwrap().fill(&mut points, 100).unwrap();
    assert_eq!(points.len(), 10);
    assert_eq!(points[1].x, 0.046);
}
