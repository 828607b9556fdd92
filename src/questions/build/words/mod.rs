//! The build papers in words: the page for the screen, and the sections of the printed sheets.

pub mod order;
pub mod phrases;
pub mod test;
pub mod winding;

use super::BuildPapers;
use crate::paper::columns::columns;
use crate::paper::page::Page;
use crate::questions::words::cautions::{Caution, sentences_with};
use crate::questions::words::notes::told;
use crate::units::{Dimension, display, unit};
use phrases::number;

/// A part of a printed sheet.
#[derive(Clone, Debug)]
pub(crate) enum Section {
    /// Names with their values.
    Facts { heading: &'static str, facts: Vec<(String, String)> },
    /// A table.
    Table { heading: String, caption: String, columns: Vec<Column>, rows: Vec<Vec<String>> },
    /// Sentences.
    List { heading: &'static str, items: Vec<String> },
    /// A picture as SVG.
    Picture { svg: String },
}

/// A column of a printed table.
#[derive(Clone, Debug)]
pub(crate) struct Column {
    /// Its heading.
    pub heading: String,
    /// How it is set.
    pub kind: ColumnKind,
}

/// How a column is set.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum ColumnKind {
    /// Text, to the left.
    Text,
    /// Numbers, to the right.
    Number,
    /// Empty, to write in.
    Blank,
}

pub(crate) fn text_column(heading: &str) -> Column {
    Column { heading: heading.into(), kind: ColumnKind::Text }
}

pub(crate) fn number_column(heading: &str) -> Column {
    Column { heading: heading.into(), kind: ColumnKind::Number }
}

pub(crate) fn blank_column(heading: &str) -> Column {
    Column { heading: heading.into(), kind: ColumnKind::Blank }
}

/// The cautions of every sheet.
pub(crate) fn cautions(record: &BuildPapers) -> Vec<String> {
    sentences_with(&Caution::ALL, &record.safety)
}

/// The notes as sentences.
pub(crate) fn notes(record: &BuildPapers) -> Vec<String> {
    told(&record.notes)
}

/// The page for the screen.
pub fn text(record: &BuildPapers) -> String {
    let title = format!("Build papers: {}", record.provenance.spec_title);
    let mut page = Page::new(&title, &record.provenance.on_page());
    page.section("Former");
    for (name, value) in phrases::former_facts(record) {
        page.row(&name, &value);
    }
    page.section("Winding, either coil");
    for (name, value) in winding::facts(record) {
        page.row(&name, &value);
    }
    page.section("Assembly");
    for (name, value) in phrases::assembly_facts(record) {
        page.row(&name, &value);
    }
    page.list(record.assembly.hold.iter().map(|hold| hold.sentence.as_str()));
    page.section("Order");
    let rows: Vec<Vec<String>> = order::rows(record).into_iter().map(|row| row[..3].to_vec()).collect();
    page.block(&columns(&["item", "quantity", "unit"], &[0, 2], &rows));
    page.section("Tests");
    page.block(&columns(&["quantity", "expected", "at least", "at most"], &[0], &test::summary_rows(record)));
    page.notes(&notes(record));
    page.section("Cautions");
    let cautions = cautions(record);
    page.list(cautions.iter().map(String::as_str));
    page.into_text()
}

/// Length of wire for people, in metres.
pub(crate) fn metres(metre: f64) -> String {
    number(metre, unit::METRE, 2)
}

/// A mass for people.
pub(crate) fn mass(kg: f64) -> String {
    display(kg, Dimension::Mass, 3)
}
