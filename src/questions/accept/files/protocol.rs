//! The protocol of a delivery: a page to print and sign, A4 or Letter, without script, network or colour.

use crate::Result;
use crate::judgement::limit::Acceptance;
use crate::paper::markup::rendered;
use crate::questions::accept::Delivery;
use crate::questions::accept::words::{
    deciding_sentences, joint_sentences, marked_sentence, not_measured_sentence, risk_sentences,
};
use crate::questions::check::words::{
    QUANTITY_HEADINGS, explanation, note_sentence, quantity_rows, rule_sentence, verdict_sentence,
};
use crate::questions::words::cautions::{Caution, sentences_with};
use crate::questions::words::origin::on_page;
use askama::Template;

/// What the page shows; every text is escaped by the template.
#[derive(Template)]
#[template(path = "accept/files/protocol.html")]
struct Protocol {
    title: String,
    verdict: &'static str,
    sentence: String,
    files: Vec<(&'static str, String)>,
    headings: [&'static str; 7],
    rows: Vec<Vec<String>>,
    marked: Option<String>,
    rule: &'static str,
    risks: Vec<String>,
    deciding: Vec<String>,
    explained: Vec<(String, Vec<String>)>,
    joint: Vec<String>,
    not_measured: Option<String>,
    notes: Vec<String>,
    cautions: Vec<String>,
    provenance: String,
}

/// The page as HTML.
pub fn html(record: &Delivery) -> Result<String> {
    let sentence = verdict_sentence(&record.check);
    let page = Protocol {
        title: record.provenance.spec_title.clone(),
        verdict: match record.verdict {
            Acceptance::Pass => "PASS",
            Acceptance::Fail => "FAIL",
            Acceptance::Undecided => "UNDECIDED",
        },
        // The box already shows the word.
        sentence: sentence.split_once(": ").map_or(sentence.as_str(), |(_, rest)| rest).to_owned(),
        files: files(record),
        headings: QUANTITY_HEADINGS,
        rows: quantity_rows(&record.check.quantities),
        marked: marked_sentence(record),
        rule: rule_sentence(record.decision),
        risks: risk_sentences(record),
        deciding: deciding_sentences(record),
        explained: explanation(&record.check),
        joint: joint_sentences(record),
        not_measured: not_measured_sentence(record),
        notes: record.check.notes.iter().map(note_sentence).collect(),
        cautions: sentences_with(&Caution::ALL, &record.safety),
        provenance: on_page(&record.provenance),
    };
    rendered(&page, "protocol")
}

/// The files that the protocol is based on.
fn files(record: &Delivery) -> Vec<(&'static str, String)> {
    let file = |title: &str, digest: &str| format!("{title} ({digest})");
    let mut files = vec![
        ("Ordered", file(&record.provenance.spec_title, &record.provenance.spec_digest)),
        ("Measured", file(&record.measured_title, &record.measured_digest)),
    ];
    if let (Some(title), Some(digest)) = (&record.supplier_title, &record.supplier_digest) {
        files.push(("Limits of the supplier", file(title, digest)));
    }
    files.push((
        "Date of the protocol",
        record.provenance.date.map_or(String::new(), |date| date.to_string()),
    ));
    files
}

/// Whether a cell marks a quantity that does not pass.
fn stands_out(cell: &str) -> bool {
    matches!(cell, "FAIL" | "undecided")
}
