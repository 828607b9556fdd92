//! The request for quotation: two pages, A4 or Letter, without script, network or colour.

use crate::Result;
use crate::paper::markup::rendered;
use crate::questions::tender::words::{RULE, SAFETY, STATED, TESTS, open_sentence, provenance};
use crate::questions::tender::{Requirement, Tender};
use crate::questions::words::cautions::{Caution, sentences};
use askama::Template;

/// What the page shows; every text is escaped by the template.
#[derive(Template)]
#[template(path = "tender/files/tender.html")]
struct Request<'a> {
    title: &'a str,
    date: String,
    requirements: &'a [Requirement],
    open: Option<String>,
    tests: [&'static str; TESTS.len()],
    rule: &'static str,
    stated: [&'static str; STATED.len()],
    safety: [&'static str; SAFETY.len()],
    cautions: Vec<&'static str>,
    provenance: String,
}

/// The page as HTML.
pub fn html(record: &Tender) -> Result<String> {
    let page = Request {
        title: &record.wishes_title,
        date: record.date.map_or(String::new(), |date| date.to_string()),
        requirements: &record.requirements,
        open: open_sentence(record),
        tests: TESTS,
        rule: RULE,
        stated: STATED,
        safety: SAFETY,
        cautions: sentences(&Caution::ALL),
        provenance: provenance(record),
    };
    rendered(&page, "request")
}
