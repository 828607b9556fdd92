//! Options side by side on one printable page that needs no network, no script and no colour.
//!
//! It fits A4 and Letter; what is missed is bold and framed, never only coloured.

use crate::Result;
use crate::paper::markup::{kept_together, rendered};
use crate::questions::compare::words::{
    REMARKS, Row, caution_sentences, need_rows, provenance, questions, remarks, rows, verdicts,
};
use crate::questions::compare::{Comparison, PairOption, picture};
use crate::questions::words::notes::told;
use askama::Template;

/// What the page shows; every text is escaped by the template.
#[derive(Template)]
#[template(path = "compare/files/page.html")]
struct Page<'a> {
    title: String,
    verdicts: Vec<String>,
    options: &'a [PairOption],
    needs: Vec<Row>,
    figures: Vec<Row>,
    picture: String,
    questions: Vec<String>,
    remarks_heading: &'a str,
    remarks: Vec<String>,
    notes: Vec<String>,
    provenance: String,
}

/// The whole page.
pub fn html(record: &Comparison) -> Result<String> {
    let picture = picture::comparison(record).svg();
    let page = Page {
        title: match &record.needs_title {
            Some(needs) => format!("Options against: {needs}"),
            None => "Options side by side".to_owned(),
        },
        verdicts: kept(verdicts(record)),
        options: &record.options,
        needs: if record.needs.is_empty() { Vec::new() } else { kept_rows(need_rows(record)) },
        figures: kept_rows(rows(record)),
        picture: picture[picture.find("<svg").unwrap_or(0)..].to_owned(),
        questions: kept(questions(record)),
        remarks_heading: REMARKS,
        remarks: kept(remarks(record)),
        notes: kept(told(&record.notes).into_iter().chain(caution_sentences(record)).collect()),
        provenance: provenance(record),
    };
    rendered(&page, "page")
}

/// Sentences whose numbers stay with their units.
fn kept(sentences: Vec<String>) -> Vec<String> {
    sentences.iter().map(|sentence| kept_together(sentence)).collect()
}

/// Rows whose numbers stay with their units.
fn kept_rows(rows: Vec<Row>) -> Vec<Row> {
    rows.into_iter().map(|row| Row { name: kept_together(&row.name), cells: kept(row.cells) }).collect()
}

/// Whether a cell tells of a need that is not met.
fn stands_out(cell: &str) -> bool {
    cell.starts_with("MISSED") || cell.starts_with("doubtful")
}
