//! `lesson`: the page, the sheets and the scale for a lesson on this bench.

use super::export::{DateArgs, NumberFormatArgs};
use super::line::{LineArgs, UsedLine};
use super::output;
use super::output::{Files, FolderArgs, naming};
use super::quantity::SpecArgs;
use coilwright::Result;
use coilwright::physics::beam::BeamBench;
use coilwright::questions::lesson::files::{LessonOnPaper, files};
use coilwright::questions::lesson::words::{self, WordTable};
use coilwright::questions::lesson::{Request, lesson, read_settings, scales};
use coilwright::units::QuantityError;
use std::path::PathBuf;

/// The arguments of `lesson`.
#[derive(clap::Args)]
#[command(mut_arg("out", |out| naming(out, &[files().help()])))]
pub struct LessonArgs {
    #[command(flatten)]
    spec: SpecArgs,
    /// The settings for the class, such as "200 V 1.4 A, 200 V -1.4 A"; suggested ones by default
    #[arg(long, value_name = "SETTINGS", value_parser = settings, allow_hyphen_values = true)]
    settings: Option<Settings>,
    #[command(flatten)]
    line: LineArgs,
    /// Use the line even if its slope is not that of this pair
    #[arg(long, requires = "a_line")]
    even_if_another_pair: bool,
    /// Take the words of page and sheets from this file, to have them in another language
    #[arg(long, value_name = "FILE")]
    words: Option<PathBuf>,
    #[command(flatten)]
    folder: FolderArgs,
    #[command(flatten)]
    numbers: NumberFormatArgs,
    #[command(flatten)]
    date: DateArgs,
    /// Print one JSON document
    #[arg(long)]
    json: bool,
}

/// The settings of one argument.
#[derive(Clone, Debug)]
struct Settings(Vec<[f64; 2]>);

fn settings(text: &str) -> std::result::Result<Settings, QuantityError> {
    read_settings(text).map(Settings)
}

/// Reads the bench, prepares the lesson, writes its files.
pub fn run(arguments: &LessonArgs) -> Result<()> {
    if !arguments.json {
        arguments.folder.must_be_named()?;
    }
    let date = arguments.date.day()?;
    let bench = arguments.spec.read()?;
    let used = arguments.line.read_of_this_pair(&bench, date, arguments.even_if_another_pair)?;
    let words = arguments.words.as_ref().map_or_else(|| Ok(WordTable::english()), WordTable::read)?;
    let beams = BeamBench::prepare(&bench, used.as_ref().map(UsedLine::field_line))?;
    let request = Request {
        settings: arguments.settings.as_ref().map_or(Vec::new(), |settings| settings.0.clone()),
        date,
    };
    let files = Files {
        table: files(),
        asked: &(),
        inputs: &output::inputs([
            Some(&arguments.spec.spec),
            arguments.line.input(),
            arguments.words.as_ref(),
        ]),
        format: arguments.numbers.format(),
    };
    let (drawn, written) = arguments.folder.answer(files, || {
        let lesson = lesson(&beams, &request)?;
        let scales = scales(&beams, &lesson)?;
        Ok(LessonOnPaper { lesson, scales, words })
    })?;
    match arguments.json {
        true => output::print_json(&drawn.lesson),
        false => output::print(&(words::text(&drawn.lesson) + &output::written_lines(&written))),
    }
}
