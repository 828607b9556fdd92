//! A calibration as text for people.

mod budget;
pub mod causes;
pub mod drift;
pub mod fit;
mod parts;
pub mod plan;
pub mod refusal;
pub mod sentences;
pub mod short;
pub mod validity;

use crate::paper::columns::columns;
use crate::paper::page::Page;
use crate::questions::calibrate::Calibration;
use crate::questions::calibrate::ContinuousCurrent;
use crate::questions::calibrate::notes::Note;
use crate::questions::words::cautions::{Caution, sentences_with};
use crate::questions::words::origin::on_page;
use crate::questions::words::phrases::{model_sentence, percent, percent_of};
use crate::units::{Dimension, display, uncertain, unit};
pub(crate) use budget::NEGLIGIBLE;
use causes::measurement_sentences;
use sentences::{
    current_cells, dispute_box, ended_sentences, field_cells, has_intercept_columns,
    has_own_factor_with_intercept, has_room_column, intercept_sentence, interval_ends, line_form, number,
    opinion_sentences, reversed_sentence, room_beside_line_sentence, room_sentences, sampled_uncertainty,
    samples_sentence, slope_sentence, table_sentence,
};
use validity::validity_rows;

/// The page for people.
pub fn text(record: &Calibration) -> String {
    let mut page =
        Page::new(&format!("Calibration: {}", record.provenance.spec_title), &on_page(&record.provenance));
    page.paragraph(model_sentence(record.model));
    dispute(&mut page, record);
    line(&mut page, record);
    if let Some(fit) = &record.fit {
        parts::fit(&mut page, fit);
    }
    agreement(&mut page, record);
    budget::slope(&mut page, record);
    budget::intercept(&mut page, record);
    monte_carlo(&mut page, record);
    drift(&mut page, record);
    tables(&mut page, record);
    beam_correction(&mut page, record);
    room(&mut page, record);
    validity(&mut page, record);
    if !record.notes.is_empty() {
        page.section("Notes");
        let notes: Vec<String> = record.notes.iter().map(Note::sentence).collect();
        page.list(notes.iter().map(String::as_str));
    }
    page.section("Cautions");
    let safety = record.continuous.as_ref().map(ContinuousCurrent::safety).unwrap_or_default();
    page.list(sentences_with(&Caution::ALL, &safety).iter().map(String::as_str));
    page.into_text()
}

fn line(page: &mut Page, record: &Calibration) {
    page.section(&format!("Line: {}", line_form(record)));
    page.row("slope ± expanded uncertainty", &slope_sentence(record));
    let standard = |u: f64| {
        let part = percent_of((u / record.slope.tesla_per_ampere).abs(), 2);
        format!("{}, {part} of it", display(u, Dimension::FieldConstant, 2))
    };
    if let Some(u) = record.slope.standard_uncertainty() {
        page.row("slope, standard uncertainty", &standard(u));
    }
    if let Some(u) = record.slope_standard_uncertainty_same_ammeter_tesla_per_ampere {
        page.row("the same, per ampere of the readings' ammeter", &standard(u));
    }
    page.row("adopted from", record.slope.from.name());
    if let Some(sentence) = intercept_sentence(record) {
        page.row("B0", &sentence);
    }
    if let Some(sentence) = room_beside_line_sentence(record) {
        page.row("room's axial field", &sentence);
    }
}

fn tables(page: &mut Page, record: &Calibration) {
    page.section("Coil field at the centre, from the current");
    page.paragraph(table_sentence(record));
    let mut headings = vec!["I in A", "coil field k I in mT", "U in mT", "coverage factor"];
    let with_intercept = has_intercept_columns(record);
    let own_factor = has_own_factor_with_intercept(record);
    if with_intercept {
        headings.extend(["k I + B0 in mT", "its U in mT"]);
    }
    if own_factor {
        headings.push("its factor");
    }
    if has_room_column(record) {
        headings.push("with the room's axial field, in mT");
    }
    page.block(&columns(&headings, &[], &field_cells(record)));
    page.section("Current, from the field at the centre");
    let mut headings = vec!["B in mT", "I in A, B the coil field", "U in A", "coverage factor"];
    if with_intercept {
        headings.extend(["I in A, B with B0", "its U in A"]);
    }
    if own_factor {
        headings.push("its factor");
    }
    page.block(&columns(&headings, &[], &current_cells(record)));
}

fn agreement(page: &mut Page, record: &Calibration) {
    let (Some(agreement), Some(fitted)) = (&record.agreement, &record.fit_slope_with_meters) else {
        return;
    };
    parts::slopes(page, &record.computed, fitted, agreement);
    if let Some(combined) = &record.combined
        && let Some(standard) = combined.slope.standard_uncertainty()
    {
        page.row(
            "combined ± standard uncertainty",
            &format!(
                "{}; the fit counts {}",
                uncertain(combined.slope.tesla_per_ampere, standard, Dimension::FieldConstant),
                percent(combined.weight_of_fit)
            ),
        );
    }
    if let Some(causes) = opinion_sentences(record) {
        page.paragraph("What may be wrong, most probable first:");
        page.list(causes.iter().map(String::as_str));
        page.paragraph("What would tell:");
        page.list(measurement_sentences(agreement));
    }
}

/// What ended the line before its issue, and the reason that the user overruled, at the top of the page.
fn dispute(page: &mut Page, record: &Calibration) {
    let ended = ended_sentences(record);
    if !ended.is_empty() {
        page.section("No longer in force");
        ended.iter().for_each(|sentence| page.paragraph(sentence));
    }
    if let Some(sentence) = dispute_box(record) {
        page.section("In dispute");
        page.paragraph(&sentence);
    }
}

fn monte_carlo(page: &mut Page, record: &Calibration) {
    let Some(run) = &record.monte_carlo else { return };
    page.section("Propagation of distributions");
    let ends = |interval| interval_ends(record, interval);
    page.row("samples", &samples_sentence(run));
    page.row("standard uncertainty", &sampled_uncertainty(run));
    page.row(
        &format!("{} interval", percent(run.coverage_probability)),
        &ends(run.interval_tesla_per_ampere),
    );
    page.row("by the linear budget", &ends(run.linear_interval_tesla_per_ampere));
    let validated = format!(
        "the ends {} agree within {}",
        if run.linear_budget_validated { "do" } else { "do not" },
        display(run.numerical_tolerance_tesla_per_ampere, Dimension::FieldConstant, 1)
    );
    page.row(
        "linear budget",
        &match record.monte_carlo_difference {
            None => format!("validated: {validated}"),
            Some(difference) => format!("not validated: {validated}; {}", difference.sentence()),
        },
    );
}

fn room(page: &mut Page, record: &Calibration) {
    page.section("Room field");
    match &record.room {
        Some(room) => page.list(room_sentences(room).iter().map(String::as_str)),
        None => page.paragraph(
            "The room's own field is not known: give `room.field` or `room.site` in the spec, or take readings \
             with the probe turned round.",
        ),
    }
}

fn beam_correction(page: &mut Page, record: &Calibration) {
    if record.beam_correction.is_empty() {
        return;
    }
    page.section("What a beam circle feels: B(I, r) = k I × ratio");
    let rows: Vec<Vec<String>> = record
        .beam_correction
        .iter()
        .map(|row| {
            vec![
                number(row.read_radius_m, unit::MILLIMETRE, 1),
                format!("{:.5}", row.effective_field_ratio),
                format!("{:.5}", row.first_order_effective_field_ratio),
                row.reversed.map_or("-".into(), |reversed| format!("{:.5}", reversed.effective_field_ratio)),
            ]
        })
        .collect();
    page.block(&columns(
        &["read radius in mm", "ratio", "first-order check", "current reversed"],
        &[],
        &rows,
    ));
    if let Some(sentence) = reversed_sentence(&record.beam_correction) {
        page.paragraph(sentence);
    }
}

fn drift(page: &mut Page, record: &Calibration) {
    let found = record.issue.as_found.as_ref();
    if let Some((found, change)) = found.and_then(|found| Some((found, found.fitted_change.as_ref()?))) {
        page.section("Before and after");
        page.row(drift::result_before(Some(found)), &format!("certificate {}", found.certificate));
        for (label, value) in drift::found_rows(change) {
            page.row(label, &value);
        }
    }
    let Some(since) = &record.drift else { return };
    page.section("Since the older calibration");
    for (label, value) in drift::rows(since) {
        page.row(label, &value);
    }
}

fn validity(page: &mut Page, record: &Calibration) {
    page.section("What the tables hold for");
    for (label, value) in validity_rows(record) {
        page.row(label, &value);
    }
}
