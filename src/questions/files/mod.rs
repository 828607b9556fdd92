//! The table of the files that a question writes: the name of each, what it is for, when it is made, from which part of
//! the record.
//!
//! One table drives the check of the names and of the right to write, the writing, the paths that are printed and the
//! help. [`FileTable::open`] makes the check and comes before the work; only what it returns can write.

use crate::Result;
use crate::files::out::csv::NumberFormat;
use crate::files::out::folder::{FillFailure, OutputFolder, PreparedFile};
use crate::files::out::json;
use crate::paper::Figure;
use rayon::prelude::*;
use serde::Serialize;
use std::io::Write;
use std::path::Path;

/// The files of a question, which are written in the table's order. `A` is the part of the request that decides which
/// files are made, `R` the record that they are made from.
#[derive(Debug)]
pub struct FileTable<A, R>(pub Vec<FileRow<A, R>>);

/// One row: one file, a figure as an SVG and a PNG file, or a file for each of several things.
#[derive(Debug)]
pub struct FileRow<A, R> {
    /// The name. For a figure without its ending; for several files with the part in capitals in which their names
    /// differ.
    name: &'static str,
    /// What it is for, in a few words.
    purpose: &'static str,
    when: Option<When<A>>,
    contents: Contents<A, R>,
}

/// The condition for a file that is not always made.
#[derive(Debug)]
struct When<A> {
    /// In words that follow the purpose, such as "with --readings".
    words: &'static str,
    is_asked: fn(&A) -> bool,
}

/// The contents of a file. `None` if the record lacks them.
#[derive(Debug)]
enum Contents<A, R> {
    Each { names: fn(&A) -> Vec<String>, contents: EachContents<R> },
    Figure(fn(&R) -> Option<Figure>),
    Csv(fn(&R, NumberFormat) -> Option<String>),
    Text(fn(&R) -> Result<String>),
    Bytes(fn(&R) -> Result<Vec<u8>>),
    Streamed(StreamedContents<R>),
}

/// Names and texts.
type EachContents<R> = fn(&R) -> Result<Vec<(String, String)>>;

/// Writes rows one after the other, because all of them together may be larger than memory.
type StreamedContents<R> =
    fn(&R, NumberFormat, &mut (dyn Write + Send)) -> std::result::Result<(), FillFailure>;

impl<A, R> FileRow<A, R> {
    fn new(name: &'static str, purpose: &'static str, contents: Contents<A, R>) -> Self {
        Self { name, purpose, when: None, contents }
    }

    /// A figure as `name.svg` and `name.png`.
    pub fn figure(name: &'static str, purpose: &'static str, contents: fn(&R) -> Option<Figure>) -> Self {
        Self::new(name, purpose, Contents::Figure(contents))
    }

    /// A table that spreadsheets open.
    pub fn csv(
        name: &'static str,
        purpose: &'static str,
        contents: fn(&R, NumberFormat) -> Option<String>,
    ) -> Self {
        Self::new(name, purpose, Contents::Csv(contents))
    }

    /// A table or an array too long to hold.
    pub(crate) fn streamed(name: &'static str, purpose: &'static str, contents: StreamedContents<R>) -> Self {
        Self::new(name, purpose, Contents::Streamed(contents))
    }

    /// The whole record as a JSON document.
    pub fn json(name: &'static str, purpose: &'static str) -> Self
    where
        R: Serialize,
    {
        Self::new(name, purpose, Contents::Text(|record| json::document(record)))
    }

    /// A text, such as a printable page.
    pub fn text(name: &'static str, purpose: &'static str, contents: fn(&R) -> Result<String>) -> Self {
        Self::new(name, purpose, Contents::Text(contents))
    }

    /// A workbook of a spreadsheet program.
    pub fn workbook(name: &'static str, purpose: &'static str, contents: fn(&R) -> Result<Vec<u8>>) -> Self {
        Self::new(name, purpose, Contents::Bytes(contents))
    }

    /// A text for each of several things. `names` lists the names of all that may be made for a request.
    pub fn each(
        name: &'static str,
        purpose: &'static str,
        names: fn(&A) -> Vec<String>,
        contents: EachContents<R>,
    ) -> Self {
        Self::new(name, purpose, Contents::Each { names, contents })
    }

    /// Makes the file only if this is asked for. `words` follow the purpose, such as "with --readings".
    pub fn when(mut self, words: &'static str, is_asked: fn(&A) -> bool) -> Self {
        self.when = Some(When { words, is_asked });
        self
    }

    fn is_asked(&self, asked: &A) -> bool {
        self.when.as_ref().is_none_or(|when| (when.is_asked)(asked))
    }

    /// The names of the files that may be written for a request.
    fn names_for(&self, asked: &A) -> Vec<String> {
        match self.contents {
            Contents::Each { names, .. } => names(asked),
            _ => self.names(),
        }
    }

    fn names(&self) -> Vec<String> {
        match self.contents {
            Contents::Figure(_) => vec![format!("{}.svg", self.name), format!("{}.png", self.name)],
            _ => vec![self.name.into()],
        }
    }

    /// The files with their names, except one that is streamed.
    fn made(&self, record: &R, format: NumberFormat) -> Result<Vec<(String, Vec<u8>)>> {
        let one = |bytes: Vec<u8>| vec![(self.name.to_owned(), bytes)];
        Ok(match self.contents {
            Contents::Figure(draw) => match draw(record) {
                Some(figure) => {
                    let (svg, png) = rayon::join(|| figure.svg(), || figure.png());
                    vec![(format!("{}.svg", self.name), svg.into()), (format!("{}.png", self.name), png?)]
                }
                None => Vec::new(),
            },
            Contents::Csv(write) => write(record, format).map_or(Vec::new(), |text| one(text.into())),
            Contents::Text(write) => one(write(record)?.into()),
            Contents::Bytes(write) => one(write(record)?),
            Contents::Each { contents, .. } => {
                contents(record)?.into_iter().map(|(name, text)| (name, text.into())).collect()
            }
            Contents::Streamed(_) => Vec::new(),
        })
    }
}

impl<A, R: Sync> FileRow<A, R> {
    /// The files, written but not yet moved to their places.
    fn prepared(&self, folder: &OutputFolder, record: &R, format: NumberFormat) -> Result<Vec<PreparedFile>> {
        if let Contents::Streamed(write) = self.contents {
            return Ok(vec![folder.prepare(self.name, |file| write(record, format, file))?]);
        }
        let made = self.made(record, format)?;
        made.par_iter().map(|(name, bytes)| folder.prepare(name, |file| Ok(file.write_all(bytes)?))).collect()
    }
}

impl<A, R> FileTable<A, R> {
    /// Checks that the files for a request can be written to this folder, which is made if it is missing.
    ///
    /// # Errors
    /// The folder cannot be written to; a name is taken and `replace` is not set; a file would replace one of `inputs`,
    /// which the run reads.
    pub fn open(self, folder: &Path, replace: bool, asked: &A, inputs: &[&Path]) -> Result<OpenFiles<A, R>> {
        let rows: Vec<_> = self.0.into_iter().filter(|row| row.is_asked(asked)).collect();
        let names: Vec<String> = rows.iter().flat_map(|row| row.names_for(asked)).collect();
        let names: Vec<&str> = names.iter().map(String::as_str).collect();
        let folder = OutputFolder::create(folder, replace, &names)?.apart_from(inputs)?;
        Ok(OpenFiles { rows, folder })
    }

    /// Every file that may be made, one line each: its names, what it is for, and when it is made.
    pub fn help(&self) -> String {
        self.lines(None)
    }

    /// The lines of [`help`](Self::help) for files that are made with this option alone.
    pub fn help_for(&self, option: &str) -> String {
        self.lines(Some(format!("with {option}")))
    }

    fn lines(&self, when: Option<String>) -> String {
        let line = |row: &FileRow<A, R>| {
            let conditions: Vec<&str> =
                when.as_deref().into_iter().chain(row.when.as_ref().map(|when| when.words)).collect();
            let when = match conditions[..] {
                [] => String::new(),
                _ => format!(" ({})", conditions.join(", ")),
            };
            format!("{}: {}{when}", row.names().join(", "), row.purpose)
        };
        self.0.iter().map(line).collect::<Vec<_>>().join("\n")
    }
}

/// The files of one question, checked, to be filled when the record is there.
#[must_use = "nothing is written until `fill` is called"]
#[derive(Debug)]
pub struct OpenFiles<A, R> {
    rows: Vec<FileRow<A, R>>,
    folder: OutputFolder,
}

impl<A, R: Sync> OpenFiles<A, R> {
    /// The folder and the names in it, to be compared with those of another set.
    pub fn folder(&self) -> &OutputFolder {
        &self.folder
    }

    /// Writes every file of the record, several at a time; they appear, in the table's order, when the set is finished.
    pub fn fill(self, record: &R, format: NumberFormat) -> Result<OutputFolder>
    where
        A: Sync,
    {
        let Self { rows, mut folder } = self;
        let prepared: Vec<_> = rows.par_iter().map(|row| row.prepared(&folder, record, format)).collect();
        for files in prepared {
            files?.into_iter().for_each(|file| folder.add(file));
        }
        Ok(folder)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What is asked: whether the second file is wanted.
    struct Asked(bool);

    #[derive(Serialize)]
    struct Record {
        rows: Option<f64>,
    }

    fn table() -> FileTable<Asked, Record> {
        FileTable(vec![
            FileRow::json("all.json", "the record"),
            FileRow::csv("rows.csv", "the rows", |record: &Record, format| {
                Some(format.number(Some(record.rows?)))
            })
            .when("with --rows", |asked: &Asked| asked.0),
        ])
    }

    fn written(asked: &Asked, record: &Record) -> Vec<String> {
        let parent = tempfile::tempdir().unwrap();
        let open = table().open(parent.path(), false, asked, &[]).unwrap();
        let paths = open.fill(record, NumberFormat::Comma).unwrap().finish().unwrap();
        if asked.0 && record.rows.is_some() {
            assert_eq!(std::fs::read_to_string(&paths[1]).unwrap(), "1,5");
        }
        paths.iter().map(|path| path.file_name().unwrap().to_str().unwrap().into()).collect()
    }

    #[test]
    fn a_file_is_written_where_it_is_asked_and_the_record_has_its_part() {
        let full = Record { rows: Some(1.5) };
        assert_eq!(written(&Asked(true), &full), ["all.json", "rows.csv"]);
        assert_eq!(written(&Asked(false), &full), ["all.json"]);
        assert_eq!(written(&Asked(true), &Record { rows: None }), ["all.json"]);
    }

    #[test]
    fn only_the_names_asked_for_must_be_free() {
        let parent = tempfile::tempdir().unwrap();
        std::fs::write(parent.path().join("rows.csv"), "old").unwrap();
        assert!(table().open(parent.path(), false, &Asked(false), &[]).is_ok());
        let Err(refused) = table().open(parent.path(), false, &Asked(true), &[]) else { panic!() };
        assert!(refused.to_string().ends_with("rows.csv: the file exists already"), "{refused}");
    }

    #[test]
    fn the_help_names_every_file_and_when_it_is_made() {
        assert_eq!(table().help(), "all.json: the record\nrows.csv: the rows (with --rows)");
        let line = table().help_for("--table").lines().last().map(str::to_owned);
        assert_eq!(line.as_deref(), Some("rows.csv: the rows (with --table, with --rows)"));
    }
}
