//! Writes a grid of any size as CSV, as a numpy array, or as image data for visualisation programs. Computing and
//! writing run side by side, so the memory needed does not grow with the grid.

use super::words::{row, with_verdict, within_line};
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

/// Largest number of finished batches that wait for the disk.
const BATCHES_WAITING: usize = 2;
/// Bytes reserved for a row of seven numbers as text.
const ROW_BYTES: usize = 120;

/// A grid to write at full precision.
pub(crate) struct WrittenGrid<'a> {
    /// The points.
    pub grid: &'a MapGrid,
    /// The coils and the deviation.
    pub deviation: &'a Deviation<'a>,
    /// Which field the field columns hold.
    pub field: MappedField,
    /// The limit on |deviation|, if one was given.
    pub within: Option<&'a Within>,
    /// Program version and spec.
    pub provenance: &'a Provenance,
    /// Called with the number of further points written.
    pub advance: &'a (dyn Fn(u64) + Sync),
}

/// The arrays that image data hold at each point.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum ImageArray {
    Field,
    Deviation,
    InBulb,
    /// Whether the deviation is within the limit.
    Within,
}

impl ImageArray {
    /// The arrays in the file's order.
    fn of(limited: bool) -> impl Iterator<Item = Self> {
        [Self::Field, Self::Deviation, Self::InBulb].into_iter().chain(limited.then_some(Self::Within))
    }

    fn name(self, unit: &str) -> String {
        match self {
            Self::Field => format!("field_{unit}"),
            Self::Deviation => "deviation".into(),
            Self::InBulb => "in_bulb".into(),
            Self::Within => "within".into(),
        }
    }

    fn kind(self) -> PointKind {
        match self {
            Self::Field => PointKind::Vector,
            Self::Deviation => PointKind::Number,
            Self::InBulb | Self::Within => PointKind::YesNo,
        }
    }
}

/// Number of arrays in the image data. `limited`: a limit was given.
pub(super) fn image_arrays(limited: bool) -> u64 {
    ImageArray::of(limited).count() as u64
}

type Outcome = std::result::Result<(), FillFailure>;

impl WrittenGrid<'_> {
    /// Writes one line for each point.
    pub(crate) fn csv(&self, format: NumberFormat, out: &mut (dyn Write + Send)) -> Outcome {
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
                row(&mut table, &self.numbers(point), self.within);
            }
            table.into_text().into()
        })
    }

    /// Writes the CSV's numbers as an array: by row and column for a plane, point by point for the bulb.
    pub(crate) fn npy(&self, out: &mut (dyn Write + Send)) -> Outcome {
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

    /// Writes the box round the bulb. The arrays are field, deviation, whether a point lies in the bulb and, if a limit
    /// was given, whether it is within. The field is computed again for each array, so that it need not be kept in
    /// memory.
    pub(crate) fn image_data(&self, out: &mut (dyn Write + Send)) -> Outcome {
        let image = vti::ImageData {
            origin_m: self.grid.origin_m(),
            step_m: self.grid.steps_m(),
            counts: self.grid.counts(),
            arrays: self.point_arrays(),
        };
        out.write_all(image.opening(&self.source()).as_bytes())?;
        let level = image.counts[0] * image.counts[1];
        for array in ImageArray::of(self.within.is_some()) {
            let finish = |fields: &[Vector3<f64>], inside: &[bool]| self.bytes_of(array, fields, inside);
            let levels = level_fields(self.grid, self.deviation, finish).flatten();
            image.write(array.kind(), levels.inspect(|_| (self.advance)(level)), out)?;
        }
        Ok(out.write_all(vti::CLOSING.as_bytes())?)
    }

    fn point_arrays(&self) -> Vec<vti::PointArray> {
        let named = |array: ImageArray| vti::PointArray { name: array.name(self.unit()), kind: array.kind() };
        ImageArray::of(self.within.is_some()).map(named).collect()
    }

    /// One array's bytes over one level of the grid.
    fn bytes_of(&self, array: ImageArray, fields: &[Vector3<f64>], inside: &[bool]) -> Vec<u8> {
        let mut bytes = Vec::new();
        match array {
            ImageArray::Field => {
                npy::push(&mut bytes, fields.iter().flat_map(|field| <[f64; 3]>::from(self.mapped(field))));
            }
            ImageArray::Deviation => {
                npy::push(&mut bytes, fields.iter().map(|field| self.deviation.of(field)));
            }
            ImageArray::InBulb => bytes.extend(inside.iter().map(|inside| u8::from(*inside))),
            ImageArray::Within => {
                let holds = |field| self.within.is_some_and(|within| within.holds(self.deviation.of(field)));
                bytes.extend(fields.iter().map(|field| u8::from(holds(field))));
            }
        }
        bytes
    }

    fn unit(&self) -> &'static str {
        match self.field {
            MappedField::PerAmpere => "tesla_per_ampere",
            MappedField::WithRoom(_) => "tesla",
        }
    }

    /// The comment line that names program, spec and added room field.
    fn source(&self) -> String {
        match self.field {
            MappedField::PerAmpere => self.provenance.to_string(),
            MappedField::WithRoom(room) => {
                let current = display(room.current_ampere(), Dimension::Current, 6);
                format!("{}; the room's field added at {current}", self.provenance)
            }
        }
    }

    fn mapped(&self, coils_tesla_per_ampere: &Vector3<f64>) -> Vector3<f64> {
        match self.field {
            MappedField::PerAmpere => *coils_tesla_per_ampere,
            MappedField::WithRoom(room) => room.at(coils_tesla_per_ampere),
        }
    }

    /// Position, field and deviation.
    fn numbers(&self, point: &GridPoint) -> [f64; 7] {
        let (p, b) = (point.point_m, self.mapped(&point.coils_tesla_per_ampere));
        [p.x, p.y, p.z, b.x, b.y, b.z, point.deviation]
    }

    /// Writes the opening, then every point in the grid's order. A separate thread writes, because this thread
    /// computes, possibly as one of the worker threads.
    fn stream(
        &self,
        opening: &[u8],
        out: &mut (dyn Write + Send),
        rows: impl Fn(&[GridPoint]) -> Vec<u8> + Sync,
    ) -> Outcome {
        out.write_all(opening)?;
        let rows = |points: &[GridPoint]| (rows(points), points.len() as u64);
        let advance = self.advance;
        std::thread::scope(|scope| {
            let (send, receive) = sync_channel::<Vec<(Vec<u8>, u64)>>(BATCHES_WAITING);
            let writing = scope.spawn(move || -> std::io::Result<()> {
                for (bytes, points) in receive.into_iter().flatten() {
                    out.write_all(&bytes)?;
                    advance(points);
                }
                Ok(())
            });
            for batch in grid_fields(self.grid, self.deviation, &rows) {
                // The writer has stopped after an error; its error is returned below.
                if send.send(batch).is_err() {
                    break;
                }
            }
            drop(send);
            match writing.join() {
                Ok(written) => Ok(written?),
                Err(panic) => std::panic::resume_unwind(panic),
            }
        })
    }
}
