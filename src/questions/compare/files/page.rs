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
    needs: Vec<Part>,
    figures: Vec<Part>,
    picture: String,
    questions: Vec<String>,
    remarks_heading: &'a str,
    remarks: Vec<String>,
    notes: Vec<String>,
    provenance: String,
}

/// Most options in a part of a table: with more, what a cell says does not fit the width of the paper.
const MOST_IN_PART: usize = 5;

/// Some options of a table, with the names of its rows repeated.
struct Part {
    labels: Vec<String>,
    rows: Vec<Row>,
}

/// A table in as few parts as fit the paper, of about as many options each.
fn parts(options: &[PairOption], rows: &[Row]) -> Vec<Part> {
    let number = options.len().div_ceil(MOST_IN_PART).max(1);
    let each = options.len().div_ceil(number).max(1);
    let starts = (0..options.len()).step_by(each).filter(|_| !rows.is_empty());
    starts
        .map(|start| {
            let end = (start + each).min(options.len());
            let of = |row: &Row| Row { name: row.name.clone(), cells: row.cells[start..end].to_vec() };
            Part {
                labels: options[start..end].iter().map(|option| option.label.clone()).collect(),
                rows: rows.iter().map(of).collect(),
            }
        })
        .collect()
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
        needs: match record.needs.is_empty() {
            true => Vec::new(),
            false => parts(&record.options, &kept_rows(need_rows(record))),
        },
        figures: parts(&record.options, &kept_rows(rows(record))),
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_part_of_a_table_has_more_options_than_the_paper_is_wide_and_none_is_lost() {
        for number in 1..=12 {
            let named = |i: usize| PairOption::without_figures(&format!("option {i}"), "");
            let options: Vec<PairOption> = (0..number).map(named).collect();
            let row = Row { name: "spacing".into(), cells: (0..number).map(|i| i.to_string()).collect() };
            let parts = parts(&options, &[row]);
            assert!(
                parts.iter().all(|part| part.labels.len() <= MOST_IN_PART && part.rows[0].name == "spacing")
            );
            let cells: Vec<String> = parts.into_iter().flat_map(|part| part.rows[0].cells.clone()).collect();
            assert_eq!(cells, (0..number).map(|i| i.to_string()).collect::<Vec<_>>());
        }
    }
}
