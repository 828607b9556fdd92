//! Checks the files that are no documents: tables that people fill in, calibrations, registers and words of a lesson.
//! Each is read by the reader of the command that takes it.

use crate::desk::folder::Table;
use coilwright::Error;
use coilwright::error::ProblemRecord;
use coilwright::files::register::{Chain, Damage, End};
use coilwright::files::tables::PointReader;
use coilwright::questions::calibrate::{adopted_line_from_text, readings_from_text};
use coilwright::questions::heat::warm_up::WarmUpTest;
use coilwright::questions::lesson::words::WordTable;
use coilwright::questions::weigh::Runs;
use std::path::Path;

/// Number of points read at a time.
const POINTS_AT_ONCE: usize = 4096;

/// The result of reading a file: what it holds, or what is wrong with it and where.
pub struct Read {
    /// A sentence with the verdict.
    pub verdict: String,
    pub problems: Vec<ProblemRecord>,
    /// Whether the file is right.
    pub is_right: bool,
}

impl Read {
    fn of(what: &str, read: Result<String, Error>) -> Self {
        match read {
            Ok(holds) => {
                Self { verdict: format!("Right: {what}, {holds}."), problems: Vec::new(), is_right: true }
            }
            Err(Error::Row { line, message, hint, .. }) => Self {
                verdict: format!("Wrong as {what}:"),
                problems: vec![ProblemRecord {
                    severity: "error",
                    line: usize::try_from(line).unwrap_or(1),
                    column: 1,
                    message,
                    hint,
                }],
                is_right: false,
            },
            Err(error) => {
                let hint = error.hint().map(|hint| format!(" ({hint})")).unwrap_or_default();
                Self {
                    verdict: format!("Wrong as {what}: {error}{hint}"),
                    problems: Vec::new(),
                    is_right: false,
                }
            }
        }
    }
}

/// Reads a table. `None` if its heading does not say what it holds.
pub fn table(name: &str, text: &str, table: Table) -> Option<Read> {
    let columns = columns(text);
    let holds = |rows: usize, of: &str| format!("{rows} {of} with the columns {}", columns.join(", "));
    Some(match table {
        Table::Readings => Read::of(
            "readings of a calibration",
            readings_from_text(name, text).map(|read| holds(read.readings.len(), "rows")),
        ),
        Table::Runs => Read::of(
            "runs of a class",
            Runs::from_text(name, text).map(|read| holds(read.runs.len(), "runs")),
        ),
        Table::WarmUp => {
            Read::of("a warm-up test", WarmUpTest::from_text(name, text).map(|_| holds(rows(text), "rows")))
        }
        Table::Points => Read::of("points", points(name, text).map(|count| holds(count, "points"))),
        Table::Result | Table::Unknown => return None,
    })
}

fn points(name: &str, text: &str) -> Result<usize, Error> {
    let mut reader = PointReader::from_reader(name, std::io::Cursor::new(text.as_bytes().to_vec()))?;
    let (mut points, mut count) = (Vec::new(), 0);
    loop {
        reader.fill(&mut points, POINTS_AT_ONCE)?;
        if points.is_empty() {
            return Ok(count);
        }
        count += points.len();
    }
}

/// Reads a calibration.
pub fn calibration(name: &str, text: &str) -> Read {
    let line = adopted_line_from_text(Path::new(name), text);
    Read::of("a calibration", line.map(|line| format!("its line adopted from {}", line.slope.from.name())))
}

/// Reads the words of a lesson.
pub fn words(name: &str, text: &str) -> Read {
    Read::of("words of a lesson", WordTable::from_text(name, text).map(|_| "every key is known".into()))
}

/// Reads a register as far as its chain of digests goes. What its entries mean is told by “Register”.
pub fn register(text: &str) -> Read {
    let chain = Chain::of(text.as_bytes());
    let count = chain.entries.len();
    let entries = if count == 1 { "1 entry".to_owned() } else { format!("{count} entries") };
    let wrong = |line: u64, message: &str| Read {
        verdict: "Wrong as a register:".into(),
        problems: vec![ProblemRecord {
            severity: "error",
            line: usize::try_from(line).unwrap_or(1),
            column: 1,
            message: message.into(),
            hint: Some("a register is never edited: “Register” says what still holds".into()),
        }],
        is_right: false,
    };
    match chain.end {
        End::Sound | End::WithoutLineEnd => {
            let verdict = format!("Right: a register, {entries}, each with the digest of the one before.");
            Read { verdict, problems: Vec::new(), is_right: true }
        }
        End::Torn { .. } => wrong(count as u64 + 1, "the entry was torn while being written, or was cut"),
        End::Damaged { line, damage } => wrong(
            line,
            match damage {
                Damage::NotAnEntry => "this is no entry of a register",
                Damage::Changed => "this entry was changed: its digest does not match its text",
                Damage::OutOfPlace => {
                    "this entry does not follow the one before: one was removed, inserted or moved"
                }
                Damage::LineEnd => "the end of this line was changed, as some editors and transfers do",
            },
        ),
    }
}

/// The cells of a table's heading: those of the first line that is a heading of a known kind.
fn columns(text: &str) -> Vec<String> {
    Table::heading(text).map(|(_, cells)| cells).unwrap_or_default()
}

/// The number of lines below the heading that hold anything.
fn rows(text: &str) -> usize {
    let is_row = |line: &&str| !line.starts_with('#') && line.chars().any(char::is_alphanumeric);
    let below = Table::heading(text).map_or(0, |(line, _)| line + 1);
    text.lines().skip(below).filter(is_row).count()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn example(name: &str) -> String {
        std::fs::read_to_string(format!("{}/lab-files/{name}", env!("CARGO_MANIFEST_DIR"))).unwrap()
    }

    #[test]
    fn a_right_file_is_told_with_what_it_holds_and_a_wrong_one_at_its_line() {
        for (name, told, right, wrong) in [
            (
                "readings.csv",
                "readings of a calibration, 16 rows with the columns current_A, field_mT",
                "-1.80,",
                "x,",
            ),
            ("runs.csv", "runs of a class, 12 runs with the columns gun_voltage_V", "140,-1.20", "140,none"),
            ("warm-up.csv", "a warm-up test, ", "14,91", "volts"),
            ("points.csv", "points, ", "0.046,", "far,"),
        ] {
            let text = example(name);
            let read = |text: &str| table(name, text, Table::of(text)).unwrap();
            let found = read(&text);
            assert!(
                found.verdict.starts_with("Right: ") && found.verdict.contains(told),
                "{}",
                found.verdict
            );
            let found = read(&text.replacen(right, wrong, 1));
            assert!(found.verdict.starts_with("Wrong as ") && found.problems[0].line > 1, "{name}");
        }
        assert!(table("a.csv", "a,b\n1,2\n", Table::of("a,b\n1,2\n")).is_none());
    }

    #[test]
    fn registers_calibrations_and_words_are_read_as_such() {
        let text = example("window-bench.register");
        assert!(register(&text).verdict.starts_with("Right: a register, "));
        let second = text.find('\n').unwrap() + 1;
        let changed = format!("{}{}", &text[..second], text[second..].replacen("20", "21", 1));
        assert_eq!(register(&changed).problems[0].line, 2, "{}", register(&changed).verdict);
        assert!(words("w.json", &example("words-de.json")).verdict.starts_with("Right: words"));
        assert!(words("w.json", "{\"language\": \"de\", \"x\": \"y\"}").verdict.contains("unknown key"));
        let calibration = |text: &str| calibration("c.json", text).verdict;
        let kept = include_str!("../../tests/outputs/window-bench/calibrate/json-stdout.json");
        assert!(calibration(kept).starts_with("Right: a calibration, "), "{}", calibration(kept));
        assert!(
            calibration("{\"adopted_from\": 3, \"provenance\": 2}").starts_with("Wrong as a calibration")
        );
    }
}
