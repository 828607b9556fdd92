//! `field SPEC --points P.csv`: the field vector at these points, streamed.

use super::engine::EngineArgs;
use super::export::NumberFormatArgs;
use super::output;
use super::quantity::{SpecArgs, current};
use coilwright::Result;
use coilwright::error::shown;
use coilwright::files::out::folder::{FillFailure, OutputFile};
use coilwright::files::tables::PointReader;
use coilwright::physics::room;
use coilwright::questions::field::words::{
    FieldValue, RowFormat, array_opening, closing, columns, opening, rows,
};
use coilwright::questions::words::notes::{SourceNote, Told};
use coilwright::units::inert;
use nalgebra::Vector3;
use rayon::prelude::*;
use std::io::{SeekFrom, Write};
use std::path::PathBuf;
use std::sync::mpsc::{Receiver, SyncSender, sync_channel};

/// Points read, computed and written together.
const BATCH: usize = 1 << 15;
/// Points whose rows one thread formats.
const ROWS: usize = 1 << 11;

/// The arguments of `field`.
#[derive(clap::Args)]
pub struct FieldArgs {
    #[command(flatten)]
    spec: SpecArgs,
    /// The points: CSV, .xlsx or .ods with columns x_m, y_m, z_m, or another length unit in the headings; other columns are
    /// ignored. Or numpy's .npy, an array of three columns in metres
    #[arg(long, value_name = "FILE")]
    points: PathBuf,
    /// Coil current through the ammeter
    #[arg(long, default_value = "1 A", allow_hyphen_values = true, value_parser = current())]
    current: f64,
    /// Add the room's field to the coils'
    #[arg(long)]
    with_room: bool,
    /// Add a column with the estimated numerical error of each field: the method's bound and rounding
    #[arg(long)]
    with_error: bool,
    #[command(flatten)]
    engine: EngineArgs,
    #[command(flatten)]
    numbers: NumberFormatArgs,
    /// Write the rows to this file as an array in numpy's .npy format, with the columns of the CSV
    #[arg(long, value_name = "FILE", conflicts_with = "json")]
    npy: Option<PathBuf>,
    /// Replace the file that is already there
    #[arg(long, requires = "npy")]
    force: bool,
    /// Print one JSON document
    #[arg(long)]
    json: bool,
}

pub fn run(arguments: &FieldArgs) -> Result<()> {
    let bench = arguments.spec.read()?;
    let background = match arguments.with_room {
        true => room::required_field_tesla(&bench)?,
        false => Vector3::zeros(),
    };
    let array = arguments.array_file()?;
    let pair = arguments.engine.pair(&bench);
    let assembly = pair.assembly();
    let reader = PointReader::open(&arguments.points)?;
    let current = arguments.current;
    let value = |per_ampere: Vector3<f64>, error: Option<f64>| FieldValue {
        field_tesla: room::whole_field_tesla(&per_ampere, current, &background),
        error_tesla: error.map(|error| error * current.abs()),
    };
    let field = |points: &[Vector3<f64>]| {
        Ok(match arguments.with_error {
            true => {
                let estimates = assembly.try_field_per_ampere_at(points)?.into_iter();
                estimates.map(|e| value(e.tesla_per_ampere, Some(e.error_tesla_per_ampere))).collect()
            }
            false => assembly.field_per_ampere_at(points).into_iter().map(|b| value(b, None)).collect(),
        })
    };
    match array {
        Some(file) => arguments.write_array(file, reader, field),
        None => {
            let format = match arguments.json {
                true => RowFormat::Json,
                false => RowFormat::Csv(arguments.numbers.format()),
            };
            let streamed =
                stream(reader, (format, arguments.with_error), field, &mut std::io::stdout()).map(drop);
            streamed.map_err(|stopped| match stopped {
                FillFailure::Io(error) => output::stdout_error(error),
                FillFailure::Failed(error) => error,
            })
        }
    }
}

impl FieldArgs {
    /// The file for the array, which must not be one of those that are read.
    fn array_file(&self) -> Result<Option<OutputFile>> {
        let open = |path| OutputFile::create(path, self.force)?.apart_from(&[&self.spec.spec, &self.points]);
        self.npy.as_deref().map(open).transpose()
    }

    /// Writes the array, whole or not at all, and says what it holds.
    fn write_array(
        &self,
        file: OutputFile,
        reader: PointReader,
        field: impl Fn(&[Vector3<f64>]) -> Result<Vec<FieldValue>>,
    ) -> Result<()> {
        let note = sheet_note(&reader);
        let mut count = 0;
        file.write_with(|file| {
            count = stream(reader, (RowFormat::Npy, self.with_error), field, file)?;
            file.seek(SeekFrom::Start(0))?;
            Ok(file.write_all(&array_opening(count, self.with_error))?)
        })?;
        let path = self.npy.as_deref().map(shown).unwrap_or_default();
        let columns = columns(self.with_error).join(", ");
        let note = note.map(|note| format!("note: {}\n", note.sentence())).unwrap_or_default();
        output::print(&format!("wrote {path}: {count} rows of {columns}\n{note}"))
    }
}

/// The note that names the sheet of a workbook.
fn sheet_note(reader: &PointReader) -> Option<SourceNote> {
    reader.sheet().map(|sheet| SourceNote::FromSheet { what: "points", sheet: sheet.to_owned() })
}

/// Reads, computes and writes at the same time, a few batches in flight, and counts the points. Stops at the first bad
/// row: the rows before it are written.
fn stream(
    reader: PointReader,
    form: (RowFormat, bool),
    field: impl Fn(&[Vector3<f64>]) -> Result<Vec<FieldValue>>,
    out: &mut (impl Write + Send + ?Sized),
) -> std::result::Result<u64, FillFailure> {
    let note = sheet_note(&reader);
    let (to_compute, batches) = sync_channel(2);
    let (to_write, texts) = sync_channel(2);
    std::thread::scope(|scope| {
        scope.spawn(move || read(reader, &to_compute));
        let writer = scope.spawn(move || write(&texts, out));
        let computed = compute(&batches, &to_write, form, note.as_ref(), field);
        // Without senders the writer ends, without receivers the reader does.
        drop((batches, to_write));
        writer.join().unwrap_or_else(|_| Err(std::io::Error::other("the writing thread stopped")))?;
        Ok(computed?)
    })
}

fn read(mut reader: PointReader, batches: &SyncSender<Result<Vec<Vector3<f64>>>>) {
    loop {
        let mut points = Vec::with_capacity(BATCH);
        let outcome = reader.fill(&mut points, BATCH);
        let is_last = points.is_empty() || outcome.is_err();
        if !points.is_empty() && batches.send(Ok(points)).is_err() {
            return;
        }
        if let Err(error) = outcome {
            // If the receiver is gone, it has an error of its own.
            drop(batches.send(Err(error)));
        }
        if is_last {
            return;
        }
    }
}

fn compute(
    batches: &Receiver<Result<Vec<Vector3<f64>>>>,
    texts: &SyncSender<Vec<u8>>,
    (format, with_error): (RowFormat, bool),
    note: Option<&SourceNote>,
    field: impl Fn(&[Vector3<f64>]) -> Result<Vec<FieldValue>>,
) -> Result<u64> {
    let mut count = 0;
    // A failed send means that the writer stopped; its error is the one to report.
    let send = |text: Vec<u8>| texts.send(text).is_ok();
    let mut opening = Some(opening(format, with_error, note));
    for batch in batches {
        let points = match batch {
            Ok(points) => points,
            Err(error) => {
                // The JSON document is closed nevertheless, and says that it is incomplete.
                if format == RowFormat::Json {
                    let said = serde_json::Value::String(error.to_string());
                    send(inert::json(&format!("\n],\"stopped_at\":{said}}}\n")).into_owned().into());
                }
                return Err(error);
            }
        };
        let values = field(&points)?;
        // A table without a single good point prints nothing.
        if opening.take().is_some_and(|opening| !send(opening)) {
            return Ok(count);
        }
        let batch: Vec<Vec<u8>> = points
            .par_chunks(ROWS)
            .zip(values.par_chunks(ROWS))
            .map(|(points, values)| rows(format, points, values))
            .collect();
        let mut text = batch.concat();
        if count == 0 && format == RowFormat::Json {
            // No comma before the first object.
            text.remove(0);
        }
        count += points.len() as u64;
        if !send(text) {
            return Ok(count);
        }
    }
    if format == RowFormat::Json {
        send(closing(note).into());
    }
    Ok(count)
}

fn write(texts: &Receiver<Vec<u8>>, out: &mut (impl Write + ?Sized)) -> std::io::Result<()> {
    for text in texts {
        out.write_all(&text)?;
    }
    out.flush()
}
