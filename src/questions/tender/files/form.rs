//! The printed quote form: every field of a quote with a place to write.

use crate::Result;
use crate::files::spec::{QUOTE_FIELDS, QuoteField, Written};
use crate::paper::markup::rendered;
use crate::questions::tender::Tender;
use crate::questions::tender::words::provenance;
use crate::questions::words::cautions::{Caution, sentences};
use askama::Template;

/// What the page shows; every text is escaped by the template.
#[derive(Template)]
#[template(path = "tender/files/quote.html")]
struct Form<'a> {
    title: &'a str,
    parts: Vec<(&'static str, Vec<FormRow>)>,
    cautions: Vec<&'static str>,
    provenance: String,
}

/// One line of the form.
struct FormRow {
    label: &'static str,
    unit: &'static str,
    /// The words to choose from.
    words: &'static [&'static str],
    note: &'static str,
    required: bool,
}

/// The page as HTML.
pub fn html(record: &Tender) -> Result<String> {
    let mut parts: Vec<(&'static str, Vec<FormRow>)> = Vec::new();
    for field in QUOTE_FIELDS {
        match parts.iter_mut().find(|(part, _)| *part == field.part) {
            Some((_, rows)) => rows.push(row(&field)),
            None => parts.push((field.part, vec![row(&field)])),
        }
    }
    let page = Form {
        title: &record.wishes_title,
        parts,
        cautions: sentences(&Caution::ALL),
        provenance: provenance(record),
    };
    rendered(&page, "quote form")
}

fn row(field: &QuoteField) -> FormRow {
    let (unit, words): (_, &[&str]) = match field.written {
        Written::With(unit) => (unit.symbol, &[]),
        Written::OneOf(words) => ("", words),
        _ => ("", &[]),
    };
    FormRow { label: field.label, unit, words, note: field.note, required: field.marked }
}
