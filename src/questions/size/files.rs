//! The files of a search for windings.

use super::telling::{ALONG, SHOWN};
use super::{Sizing, picture, words};
use crate::files::spec::spec_text;
use crate::questions::files::{FileRow, FileTable};

/// The table of the files.
pub fn files() -> FileTable<(), Sizing> {
    FileTable(vec![
        FileRow::csv("size.csv", "the windings, best first", |record, format| {
            Some(words::csv(record, format))
        }),
        FileRow::json("size.json", "everything, for scripts"),
        FileRow::each(
            "winding-N.json",
            "each of the best as a spec, ready for every other command, and after them those along the front",
            |()| (1..=SHOWN + ALONG).map(spec_name).collect(),
            |record| {
                let numbered = record.benches.iter().zip(1..);
                Ok(numbered.map(|(bench, number)| (spec_name(number), spec_text(bench))).collect())
            },
        ),
        FileRow::figure("front", "what each wish costs", |record| Some(picture::sizing_front(record))),
    ])
}

/// The name of the spec of the n-th winding, counted from 1: the best in their order, and after them those along the front.
pub fn spec_name(number: usize) -> String {
    format!("winding-{number}.json")
}
