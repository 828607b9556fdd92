//! `field SPEC --points P.csv`: the field vector at these points, streamed.

use super::engine::EngineArgs;
use super::export::NumberFormatArgs;
use super::output;
use super::quantity::{SpecArgs, current};
use coilwright::files::tables::PointReader;
use coilwright::physics::room;
use coilwright::questions::field::at_current;
use coilwright::questions::field::words::{FieldValue, RowFormat, closing, opening, rows};
use coilwright::questions::words::notes::SourceNote;
use coilwright::units::inert;
use coilwright::{Error, Result};
use nalgebra::Vector3;
use rayon::prelude::*;
use std::io::Write;
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
    /// The points: CSV, .xlsx or .ods with columns x_m, y_m, z_m, or another length unit in the headings; other columns are ignored
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
    let assembly = arguments.engine.assembly(&bench);
    let reader = PointReader::open(&arguments.points)?;
    let format = match arguments.json {
        true => RowFormat::Json,
        false => RowFormat::Csv(arguments.numbers.format()),
    };
    let current = arguments.current;
    let value = |per_ampere: Vector3<f64>, error: Option<f64>| FieldValue {
        field_tesla: at_current(&per_ampere, current, &background),
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
    stream(reader, (format, arguments.with_error), field)
}

/// Reads, computes and writes at the same time, a few batches in flight. Stops at the first bad row: the rows before
/// it are written.
fn stream(
    reader: PointReader,
    form: (RowFormat, bool),
    field: impl Fn(&[Vector3<f64>]) -> Result<Vec<FieldValue>>,
) -> Result<()> {
    let note = reader.sheet().map(|sheet| SourceNote::FromSheet { what: "points", sheet: sheet.to_owned() });
    let (to_compute, batches) = sync_channel(2);
    let (to_write, texts) = sync_channel(2);
    std::thread::scope(|scope| {
        scope.spawn(move || read(reader, &to_compute));
        let writer = scope.spawn(move || write(&texts));
        let computed = compute(&batches, &to_write, form, note.as_ref(), field);
        // Without senders the writer ends, without receivers the reader does.
        drop((batches, to_write));
        let written = writer.join().unwrap_or_else(|_| Err(Error::value("the writing thread stopped")));
        written.and(computed)
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
    texts: &SyncSender<String>,
    (format, with_error): (RowFormat, bool),
    note: Option<&SourceNote>,
    field: impl Fn(&[Vector3<f64>]) -> Result<Vec<FieldValue>>,
) -> Result<()> {
    let mut is_first = true;
    // A failed send means that the writer stopped; its error is the one to report.
    let send = |text: String| texts.send(text).is_ok();
    let mut opening = Some(opening(format, with_error, note));
    for batch in batches {
        let points = match batch {
            Ok(points) => points,
            Err(error) => {
                // The JSON document is closed nevertheless, and says that it is incomplete.
                if format == RowFormat::Json {
                    let said = serde_json::Value::String(error.to_string());
                    send(inert::json(&format!("\n],\"stopped_at\":{said}}}\n")).into_owned());
                }
                return Err(error);
            }
        };
        let values = field(&points)?;
        // A table without a single good point prints nothing.
        if opening.take().is_some_and(|opening| !send(opening)) {
            return Ok(());
        }
        let batch: Vec<String> = points
            .par_chunks(ROWS)
            .zip(values.par_chunks(ROWS))
            .map(|(points, values)| rows(format, points, values))
            .collect();
        let mut text = batch.concat();
        if is_first && format == RowFormat::Json {
            // No comma before the first object.
            text.remove(0);
        }
        is_first = false;
        if !send(text) {
            return Ok(());
        }
    }
    if format == RowFormat::Json {
        send(closing(note));
    }
    Ok(())
}

fn write(texts: &Receiver<String>) -> Result<()> {
    let mut stdout = std::io::stdout().lock();
    for text in texts {
        stdout.write_all(text.as_bytes()).map_err(output::stdout_error)?;
    }
    stdout.flush().map_err(output::stdout_error)
}
