//! The build papers in words: the text page for the screen, and the sections of the printed sheets.

pub mod order;
pub mod phrases;
pub(crate) mod section;
pub mod test;
pub mod winding;

use super::BuildPapers;
use crate::paper::columns::columns;
use crate::paper::page::Page;
use crate::questions::words::cautions::{Caution, sentences_with};
use crate::questions::words::notes::told;
use crate::questions::words::origin::on_page;

/// The cautions on every sheet.
pub(crate) fn cautions(record: &BuildPapers) -> Vec<String> {
    sentences_with(&Caution::ALL, &record.safety)
}

/// The notes as sentences.
pub(crate) fn notes(record: &BuildPapers) -> Vec<String> {
    told(&record.notes)
}

/// The text page for the screen.
pub fn text(record: &BuildPapers) -> String {
    let title = format!("Build papers: {}", record.provenance.spec_title);
    let mut page = Page::new(&title, &on_page(&record.provenance));
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
    page.list(told(&record.assembly.hold).iter().map(String::as_str));
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
