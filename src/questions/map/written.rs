//! A grid of any size as CSV, as an array of numpy, and as image data for visualisation programs: computed, set and written
//! side by side, in memory that does not grow with the grid.

use super::words::{with_verdict, within_line};
use super::{GridPoint, MapGrid, MappedField, Within, grid_fields, level_fields};
use crate::files::npy;
use crate::files::out::csv::{NumberFormat, TableFile};
use crate::files::out::folder::FillFailure;
use crate::files::vti::{self, PointKind};
use crate::pair::Provenance;
use crate::physics::field::Deviation;
use crate::units::{Dimension, display};
use nalgebra::Vector3;
use std::io::Write;
use std::sync::mpsc::sync_channel;

/// Finished batches of rows that may wait for the disk.
const BATCHES_WAITING: usize = 2;
/// Room for a row of seven numbers as text, in bytes.
const ROW_BYTES: usize = 120;

/// A grid to be written, at full precision.
pub(crate) struct WrittenGrid<'a> {
    /// Its points.
    pub grid: &'a MapGrid,
    /// The coils and their deviation.
    pub deviation: &'a Deviation<'a>,
    /// What the field columns hold.
    pub field: MappedField,
    /// The limit asked about.
    pub within: Option<&'a Within>,
    /// Program and spec.
    pub provenance: &'a Provenance,
    /// Hears how many more points are written.
    pub advance: &'a (dyn Fn(u64) + Sync),
}

type Outcome = std::result::Result<(), FillFailure>;

impl WrittenGrid<'_> {
    /// One line a point.
    pub(crate) fn csv(&self, format: NumberFormat, out: &mut dyn Write) -> Outcome {
        let unit = self.unit();
        let field = ["bx", "by", "bz"].map(|name| format!("{name}_{unit}"));
        let [bx, by, bz] = field.each_ref().map(String::as_str);
        let heading = with_verdict(&["x_m", "y_m", "z_m", bx, by, bz, "deviation"], self.within);
        let comments: Vec<String> =
            std::iter::once(self.source()).chain(self.within.map(within_line)).collect();
        let opening = TableFile::new(format, &comments, &heading);
        self.stream(opening.into_text().as_bytes(), out, |points| {
            let mut table = TableFile::more_rows(format, points.len() * ROW_BYTES);
            for point in points {
                let cells = self.numbers(point).into_iter().map(Some);
                match self.within {
                    None => table.exact(cells),
                    Some(within) => {
                        table.exact_and_text(cells, if within.holds(point.deviation) { "1" } else { "0" });
                    }
                }
            }
            table.into_text().into()
        })
    }

    /// The numbers of the CSV, of a plane row by row and column by column, of the bulb point by point.
    pub(crate) fn npy(&self, out: &mut dyn Write) -> Outcome {
        let columns = 7 + u64::from(self.within.is_some());
        let lengths = [self.grid.lengths(), vec![columns]].concat();
        self.stream(&npy::opening(&lengths), out, |points| {
            let mut bytes = Vec::with_capacity(points.len() * columns as usize * size_of::<f64>());
            for point in points {
                npy::push(&mut bytes, self.numbers(point));
                npy::push(&mut bytes, self.within.map(|within| f64::from(within.holds(point.deviation))));
            }
            bytes
        })
    }

    /// The box round the bulb with field, deviation, whether a point lies in the bulb, and whether within the limit asked
    /// about. The field is computed anew for each array: that takes less than keeping it.
    pub(crate) fn image_data(&self, out: &mut dyn Write) -> Outcome {
        let image = vti::ImageData {
            origin_m: self.grid.origin_m(),
            step_m: self.grid.steps_m(),
            counts: self.grid.counts(),
            arrays: self.point_arrays(),
        };
        out.write_all(image.opening(&self.source()).as_bytes())?;
        for (i, array) in image.arrays.iter().enumerate() {
            let finish = |fields: &[Vector3<f64>], inside: &[bool]| self.numbers_of(i, fields, inside);
            let levels = level_fields(self.grid, self.deviation, finish);
            image.write(array.kind, levels.flatten(), out)?;
            (self.advance)(image.points());
        }
        Ok(out.write_all(vti::CLOSING.as_bytes())?)
    }

    fn point_arrays(&self) -> Vec<vti::PointArray> {
        let array = |name: &str, kind| vti::PointArray { name: name.into(), kind };
        let mut arrays = vec![
            array(&format!("field_{}", self.unit()), PointKind::Vector),
            array("deviation", PointKind::Number),
            array("in_bulb", PointKind::YesNo),
        ];
        arrays.extend(self.within.map(|_| array("within", PointKind::YesNo)));
        arrays
    }

    /// The bytes of one of the [`Self::point_arrays`] over a piece of the grid.
    fn numbers_of(&self, array: usize, fields: &[Vector3<f64>], inside: &[bool]) -> Vec<u8> {
        let mut bytes = Vec::new();
        match array {
            0 => npy::push(&mut bytes, fields.iter().flat_map(|field| <[f64; 3]>::from(self.mapped(field)))),
            1 => npy::push(&mut bytes, fields.iter().map(|field| self.deviation.of(field))),
            2 => bytes.extend(inside.iter().map(|inside| u8::from(*inside))),
            _ => {
                let holds = |field| self.within.is_some_and(|within| within.holds(self.deviation.of(field)));
                bytes.extend(fields.iter().map(|field| u8::from(holds(field))));
            }
        }
        bytes
    }

    fn unit(&self) -> &'static str {
        match self.field {
            MappedField::PerAmpere => "tesla_per_ampere",
            MappedField::WithRoom { .. } => "tesla",
        }
    }

    /// The comment that says what the numbers rest on.
    fn source(&self) -> String {
        match self.field {
            MappedField::PerAmpere => self.provenance.to_string(),
            MappedField::WithRoom { current_ampere, .. } => {
                let current = display(current_ampere, Dimension::Current, 6);
                format!("{}; the room's field added at {current}", self.provenance)
            }
        }
    }

    fn mapped(&self, coils_tesla_per_ampere: &Vector3<f64>) -> Vector3<f64> {
        match self.field {
            MappedField::PerAmpere => *coils_tesla_per_ampere,
            MappedField::WithRoom { current_ampere, room_tesla } => {
                coils_tesla_per_ampere * current_ampere + room_tesla
            }
        }
    }

    /// Place, field and deviation.
    fn numbers(&self, point: &GridPoint) -> [f64; 7] {
        let (p, b) = (point.point_m, self.mapped(&point.coils_tesla_per_ampere));
        [p.x, p.y, p.z, b.x, b.y, b.z, point.deviation]
    }

    /// Writes the opening, then every point in the grid's order.
    fn stream(
        &self,
        opening: &[u8],
        out: &mut dyn Write,
        rows: impl Fn(&[GridPoint]) -> Vec<u8> + Sync,
    ) -> Outcome {
        out.write_all(opening)?;
        let (grid, deviation) = (self.grid, self.deviation);
        let rows = |points: &[GridPoint]| (rows(points), points.len() as u64);
        std::thread::scope(|scope| {
            let (send, receive) = sync_channel::<Vec<(Vec<u8>, u64)>>(BATCHES_WAITING);
            let rows = &rows;
            scope.spawn(move || {
                for batch in grid_fields(grid, deviation, rows) {
                    // A writer that has stopped wants no more.
                    if send.send(batch).is_err() {
                        break;
                    }
                }
            });
            for (bytes, points) in receive.into_iter().flatten() {
                out.write_all(&bytes)?;
                (self.advance)(points);
            }
            Ok(())
        })
    }
}
