//! The check before a lesson, as text.

use super::lesson::{LessonCheck, Quantity};
use crate::paper::columns::columns;
use crate::paper::page::Page;
use crate::units::{Dimension, display};

/// The page for people.
pub fn text(record: &LessonCheck) -> String {
    let mut page = Page::new(&record.provenance.spec_title, &record.provenance.to_string());
    page.section(&format!("Measured: {}", record.measured_title));
    let rows: Vec<Vec<String>> = record
        .comparisons
        .iter()
        .map(|it| {
            let (name, dimension) = match it.quantity {
                Quantity::ResistanceOhm => ("resistance", Dimension::Resistance),
                Quantity::FieldTeslaPerAmpere => ("field per ampere", Dimension::FieldConstant),
                Quantity::InductanceHenry => ("inductance", Dimension::Inductance),
            };
            vec![
                name.to_owned(),
                display(it.measured, dimension, 4),
                display(it.expected, dimension, 4),
                display(it.standard_uncertainty, dimension, 2),
                format!("{:+.1}", it.difference_in_uncertainties),
            ]
        })
        .collect();
    page.block(&columns(&["quantity", "measured", "spec", "u", "difference/u"], &[0], &rows));
    if record.agrees {
        page.paragraph("Everything agrees with the spec: the pair is ready for the lesson.");
        return page.into_text();
    }
    page.paragraph("Something differs from the spec by more than two standard uncertainties.");
    page.section("What would explain it");
    let mut sentences: Vec<String> = record
        .explanations
        .iter()
        .map(|it| {
            let how = if it.explains_everything { "explains everything" } else { "explains a part" };
            format!("{} ({how}): {}", it.cause, it.sentence)
        })
        .collect();
    if sentences.is_empty() {
        sentences
            .push("no single known fault does: repeat the measurements, then measure each coil alone".into());
    }
    page.list(sentences.iter().map(String::as_str));
    page.into_text()
}
