//! A field map as text, as tables, and as a grid of any size.

use super::{FieldMap, GridPoint, MapGrid, Plane, Profile, WorstOnPlane, grid_fields};
use crate::files::out::csv::{NumberFormat, comment_line};
use crate::files::out::folder::FillFailure;
use crate::pair::Provenance;
use crate::paper::page::Page;
use crate::physics::field::Deviation;
use crate::questions::words::phrases::model_sentence;
use crate::units::{Dimension, display, fixed, length, unit};
use nalgebra::Vector3;
use std::io::Write;
use std::sync::mpsc::sync_channel;

/// Finished batches of rows that may wait for the disk.
const BATCHES_WAITING: usize = 2;

/// What a grid's field columns hold.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum GridField {
    /// The coils' field per ampere through the ammeter.
    PerAmpere,
    /// The coils' field at a current plus the room's field.
    WithRoom {
        /// The current through the ammeter.
        current_ampere: f64,
        /// The room's field.
        room_tesla: Vector3<f64>,
    },
}

/// The page for people.
pub fn text(map: &FieldMap, written: &[String]) -> String {
    let mut page = Page::new(&map.provenance.spec_title, &map.provenance.to_string());
    page.paragraph(model_sentence(map.model));
    if let Some(current) = map.with_room_at_ampere {
        page.paragraph(&format!(
            "The room's field is added to the coils' field at {}.",
            display(current, Dimension::Current, 4)
        ));
    }
    let [x, y, z] = map.centre_field_tesla_per_ampere;
    page.section("Field");
    page.row("at the centre", &display(x.hypot(y).hypot(z), Dimension::FieldConstant, 6));
    page.section("Largest deviation in the bulb");
    match (map.worst_on_axial_plane, map.worst_on_mid_plane) {
        (None, None) => page.paragraph("No bulb: the map covers the coils and what is between them."),
        (axial, mid) => {
            worst(&mut page, "axial plane, y = 0", axial);
            worst(&mut page, "mid-plane, z = 0", mid);
        }
    }
    page.notes(&map.notes);
    if !written.is_empty() {
        page.section("Files");
        written.iter().for_each(|path| page.block(&format!("  {path}")));
    }
    page.into_text()
}

fn worst(page: &mut Page, label: &str, worst: Option<WorstOnPlane>) {
    let value = match worst {
        Some(WorstOnPlane { deviation, at_m }) => {
            let [x, y, z] = at_m.map(|c| length(c, 1).trim_end_matches(" mm").to_owned());
            format!("{} at ({x}, {y}, {z}) mm", fixed(deviation, unit::PERCENT, 3))
        }
        None => "the plane does not cut the bulb".into(),
    };
    page.row(label, &value);
}

/// The profiles as CSV, at full precision.
pub fn profiles_csv(
    map: &FieldMap,
    out: &mut dyn Write,
    format: NumberFormat,
) -> std::result::Result<(), FillFailure> {
    out.write_all(comment_line(&map.provenance.to_string()).as_bytes())?;
    let mut out = format.rows(out);
    writeln!(out, "x_m,y_m,z_m,deviation")?;
    for Profile { direction, distance_m, deviation } in [&map.axis_profile, &map.x_profile, &map.y_profile] {
        for (distance, deviation) in distance_m.iter().zip(deviation) {
            let [x, y, z] = direction.map(|part| part * distance + 0.0);
            writeln!(out, "{x:?},{y:?},{z:?},{deviation:?}")?;
        }
    }
    Ok(())
}

/// A grid to be written as CSV.
pub struct GridTable<'a> {
    /// Its points.
    pub grid: &'a MapGrid,
    /// The coils and their deviation.
    pub deviation: &'a Deviation<'a>,
    /// What the field columns hold.
    pub field: GridField,
    /// Program and spec.
    pub provenance: &'a Provenance,
    /// How numbers are written.
    pub format: NumberFormat,
}

impl GridTable<'_> {
    /// Writes the table at full precision: computed, set as text and written side by side, in memory that does not grow
    /// with the grid. `advance` hears how many more points are written.
    pub fn write(&self, out: &mut dyn Write, advance: &dyn Fn(u64)) -> std::result::Result<(), FillFailure> {
        let Self { grid, deviation, field, provenance, format } = *self;
        let (unit, note) = match field {
            GridField::PerAmpere => ("tesla_per_ampere", String::new()),
            GridField::WithRoom { current_ampere, .. } => (
                "tesla",
                format!("; the room's field added at {}", display(current_ampere, Dimension::Current, 6)),
            ),
        };
        out.write_all(comment_line(&format!("{provenance}{note}")).as_bytes())?;
        writeln!(format.rows(out), "x_m,y_m,z_m,bx_{unit},by_{unit},bz_{unit},deviation")?;
        let rows = |points: &[GridPoint]| {
            let mut text = rows(points, field);
            format.rewrite(&mut text);
            (text, points.len() as u64)
        };
        std::thread::scope(|scope| {
            let (send, receive) = sync_channel::<Vec<(Vec<u8>, u64)>>(BATCHES_WAITING);
            scope.spawn(move || {
                for batch in grid_fields(grid, deviation, rows) {
                    // A writer that has stopped wants no more.
                    if send.send(batch).is_err() {
                        break;
                    }
                }
            });
            for (text, points) in receive.into_iter().flatten() {
                out.write_all(&text)?;
                advance(points);
            }
            Ok(())
        })
    }
}

/// The rows of some points as text. Numbers are the shortest that read back the same; zmij writes them several times
/// faster than the standard library, and neighbours in a row share x and y.
fn rows(points: &[GridPoint], field: GridField) -> Vec<u8> {
    let mut number = zmij::Buffer::new();
    let mut text = Vec::with_capacity(points.len() * 120);
    let mut start: (Vec<u8>, Option<[u64; 2]>) = (Vec::new(), None);
    for GridPoint { point_m, coils_tesla_per_ampere, deviation } in points {
        let b = match field {
            GridField::PerAmpere => *coils_tesla_per_ampere,
            GridField::WithRoom { current_ampere, room_tesla } => {
                coils_tesla_per_ampere * current_ampere + room_tesla
            }
        };
        let row = [point_m.x.to_bits(), point_m.y.to_bits()];
        if start.1 != Some(row) {
            start.0.clear();
            for coordinate in [point_m.x, point_m.y] {
                start.0.extend_from_slice(number.format(coordinate).as_bytes());
                start.0.push(b',');
            }
            start.1 = Some(row);
        }
        text.extend_from_slice(&start.0);
        for cell in [point_m.z, b.x, b.y, b.z] {
            text.extend_from_slice(number.format(cell).as_bytes());
            text.push(b',');
        }
        text.extend_from_slice(number.format(*deviation).as_bytes());
        text.push(b'\n');
    }
    text
}

/// The names of a map's files: pictures, profiles, and the grid of the two planes or of the bulb.
pub fn file_names(volume: bool) -> Vec<&'static str> {
    let mut names = vec![
        "axial-plane.svg",
        "axial-plane.png",
        "mid-plane.svg",
        "mid-plane.png",
        "profiles.svg",
        "profiles.png",
        "profiles.csv",
    ];
    names.extend(if volume { &["volume.csv"][..] } else { &["axial-plane.csv", "mid-plane.csv"] });
    names
}

/// The name of the grid of a plane.
pub fn plane_csv_name(plane: Plane) -> &'static str {
    match plane {
        Plane::Axial => "axial-plane.csv",
        Plane::Mid => "mid-plane.csv",
    }
}
