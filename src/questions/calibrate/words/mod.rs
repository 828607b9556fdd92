//! A calibration as text for people.

pub mod plan;
pub mod sentences;

use crate::paper::columns::columns;
use crate::paper::page::Page;
use crate::questions::calibrate::budget::BudgetEntry;
use crate::questions::calibrate::{Calibration, table};
use crate::questions::words::cautions::{Caution, sentences};
use crate::questions::words::phrases::{model_sentence, percent, signed_percent};
use crate::units::{Dimension, degrees_of_freedom, display, fixed, scientific, significant, uncertain, unit};
use sentences::{
    chi_square_sentence, current_cells, drift_rows, explanation_sentence, field_cells, intercept_sentence,
    method, number, reversed_sentence, room_sentences, slope_sentence, validity_rows, verdict,
};

/// The page for people.
pub fn text(record: &Calibration) -> String {
    let mut page =
        Page::new(&format!("Calibration: {}", record.provenance.spec_title), &record.provenance.to_string());
    page.paragraph(model_sentence(record.model));
    line(&mut page, record);
    fit(&mut page, record);
    agreement(&mut page, record);
    budget(&mut page, record);
    monte_carlo(&mut page, record);
    drift(&mut page, record);
    tables(&mut page, record);
    beam_correction(&mut page, record);
    room(&mut page, record);
    validity(&mut page, record);
    if !record.notes.is_empty() {
        page.section("Notes");
        page.list(record.notes.iter().map(String::as_str));
    }
    page.section("Cautions");
    page.list(sentences(&Caution::ALL));
    page.into_text()
}

fn line(page: &mut Page, record: &Calibration) {
    page.section("Line: B = k I + B0");
    page.row("slope, expanded uncertainty", &slope_sentence(record));
    page.row(
        "slope, standard uncertainty",
        &format!(
            "{}, {} of it",
            display(record.slope_standard_uncertainty_tesla_per_ampere, Dimension::FieldConstant, 2),
            percent(
                (record.slope_standard_uncertainty_tesla_per_ampere / record.slope_tesla_per_ampere).abs()
            )
        ),
    );
    page.row("adopted from", record.adopted_from.name());
    page.row("B0", &intercept_sentence(record));
}

/// Contributions below this part of the whole are named, not listed; the JSON has them all.
const NEGLIGIBLE: f64 = 0.01;

fn budget(page: &mut Page, record: &Calibration) {
    page.section("Uncertainty budget of the slope");
    let least = NEGLIGIBLE * record.slope_standard_uncertainty_tesla_per_ampere;
    let (some, none): (Vec<&BudgetEntry>, Vec<&BudgetEntry>) =
        record.budget.iter().partition(|entry| entry.contribution_tesla_per_ampere > least);
    let rows: Vec<Vec<String>> = some
        .iter()
        .map(|entry| {
            let contribution = entry.contribution_tesla_per_ampere;
            vec![
                entry.name(),
                entry.spread_name().into(),
                input(entry),
                significant(contribution, unit::MICROTESLA_PER_AMPERE, 3),
                percent((contribution / record.slope_tesla_per_ampere).abs()),
                degrees_of_freedom(entry.degrees_of_freedom),
            ]
        })
        .collect();
    page.block(&columns(
        &["source", "distribution", "std. uncertainty", "in µT/A", "of the slope", "deg. of freedom"],
        &[0, 1],
        &rows,
    ));
    if !none.is_empty() {
        let names: Vec<String> = none.iter().map(|entry| entry.name()).collect();
        page.paragraph(&format!("Under {} of the whole each: {}.", percent(NEGLIGIBLE), names.join("; ")));
    }
    page.row("effective degrees of freedom", &degrees_of_freedom(record.effective_degrees_of_freedom));
}

/// The standard uncertainty of a source in the unit people read.
fn input(entry: &BudgetEntry) -> String {
    let u = entry.standard_uncertainty;
    match entry.unit {
        "m" => display(u, Dimension::Length, 2),
        "rad" => display(u, Dimension::Angle, 2),
        "A" => display(u, Dimension::Current, 2),
        "K" => fixed(u, unit::KELVIN, 0),
        "T/A" => display(u, Dimension::FieldConstant, 2),
        "turn" => format!("{u:.2} turns"),
        _ => percent(u),
    }
}

fn tables(page: &mut Page, record: &Calibration) {
    page.section("Coil field at the centre, from the current");
    let with_room = record.table.iter().any(|row| row.axial_field_with_room_tesla.is_some());
    let mut headings = vec!["I in A", "B in mT", "± in mT", "coverage factor"];
    if with_room {
        headings.push("with the room's axial field, in mT");
    }
    page.block(&columns(&headings, &[], &field_cells(record)));
    page.section("Current, from the coil field at the centre");
    page.block(&columns(&["B in mT", "I in A", "± in A", "coverage factor"], &[], &current_cells(record)));
}

fn fit(page: &mut Page, record: &Calibration) {
    let Some(fit) = &record.fit else { return };
    page.section("Line fitted to the readings");
    page.row("method", method(fit.method));
    page.row(
        "slope, standard uncertainty",
        &uncertain(
            fit.slope_tesla_per_ampere,
            fit.slope_standard_uncertainty_tesla_per_ampere,
            Dimension::FieldConstant,
        ),
    );
    page.row(
        "intercept, standard uncertainty",
        &uncertain(fit.intercept_tesla, fit.intercept_standard_uncertainty_tesla, Dimension::FluxDensity),
    );
    page.row("covariance", &format!("{} T²/A", scientific(fit.covariance, 2)));
    if let Some(separated) = fit.separated {
        let along = if separated.along_axis { "room's axial field" } else { "room's field along the probe" };
        page.row(
            along,
            &uncertain(
                separated.room_tesla,
                separated.room_standard_uncertainty_tesla,
                Dimension::FluxDensity,
            ),
        );
        page.row(
            "meter's zero",
            &uncertain(
                separated.meter_zero_tesla,
                separated.meter_zero_standard_uncertainty_tesla,
                Dimension::FluxDensity,
            ),
        );
    }
    page.row("chi-square", &chi_square_sentence(fit));
    let rows: Vec<Vec<String>> = fit
        .residuals
        .iter()
        .take(table::PRINTED_ROWS)
        .map(|residual| {
            vec![
                residual.line.to_string(),
                residual.label.clone().unwrap_or_default(),
                significant(residual.current_ampere, unit::AMPERE, 4),
                significant(residual.field_tesla, unit::MILLITESLA, 5),
                format!("{:+.4}", residual.position_factor),
                number(residual.residual_tesla, unit::MICROTESLA, 2),
                number(residual.weighted_residual, unit::ONE, 2),
                if residual.outlier { "stands out".into() } else { String::new() },
            ]
        })
        .collect();
    let headings = ["line", "label", "I in A", "B in mT", "place", "off by, µT", "over its u", ""];
    page.block(&columns(&headings, &[1, 7], &rows));
    if fit.residuals.len() > table::PRINTED_ROWS {
        page.paragraph(&format!(
            "… and {} more, in residuals.csv and in the JSON.",
            fit.residuals.len() - table::PRINTED_ROWS
        ));
    }
}

fn agreement(page: &mut Page, record: &Calibration) {
    let (Some(agreement), Some(measured)) = (&record.agreement, &record.fit_slope_with_meters) else {
        return;
    };
    page.section("Computed and fitted slope");
    let expanded = |slope, uncertainty| uncertain(slope, uncertainty, Dimension::FieldConstant);
    page.row(
        "computed, expanded uncertainty",
        &expanded(
            record.computed.slope_tesla_per_ampere,
            record.computed.slope_expanded_uncertainty_tesla_per_ampere.unwrap_or(f64::NAN),
        ),
    );
    page.row(
        "fitted, expanded uncertainty",
        &expanded(measured.slope_tesla_per_ampere, measured.slope_expanded_uncertainty_tesla_per_ampere),
    );
    page.row("fitted less computed", &signed_percent(agreement.relative_difference));
    page.row("normalised difference E_n", &format!("{:.2}", agreement.normalised_difference));
    page.row("verdict", verdict(agreement));
    if !agreement.explanations.is_empty() {
        page.paragraph("Each of these would explain it alone, the likeliest first:");
        let sentences: Vec<String> = agreement.explanations.iter().map(explanation_sentence).collect();
        page.list(sentences.iter().map(String::as_str));
    }
    if let Some(combined) = record.combined {
        page.row(
            "combined, standard uncertainty",
            &format!(
                "{}; the fit counts {}",
                expanded(
                    combined.slope_tesla_per_ampere,
                    combined.slope_standard_uncertainty_tesla_per_ampere
                ),
                percent(combined.weight_of_fit)
            ),
        );
    }
}

fn monte_carlo(page: &mut Page, record: &Calibration) {
    let Some(run) = &record.monte_carlo else { return };
    page.section("Propagation of distributions");
    let ends = |interval: [f64; 2]| {
        let [low, high] = interval.map(|end| significant(end, unit::MILLITESLA_PER_AMPERE, 6));
        format!("{low} mT/A to {high} mT/A")
    };
    page.row("samples", &run.samples.to_string());
    page.row(
        "standard uncertainty",
        &display(run.standard_uncertainty_tesla_per_ampere, Dimension::FieldConstant, 3),
    );
    page.row(
        &format!("{} interval", percent(run.coverage_probability)),
        &ends(run.interval_tesla_per_ampere),
    );
    page.row("by the linear budget", &ends(run.linear_interval_tesla_per_ampere));
    page.row(
        "linear budget",
        &format!(
            "{}: the ends {} agree within {}{}",
            if run.linear_budget_validated { "validated" } else { "not validated" },
            if run.linear_budget_validated { "do" } else { "do not" },
            display(run.numerical_tolerance_tesla_per_ampere, Dimension::FieldConstant, 1),
            if run.few_samples { "; few samples, ask for 220000 or more to be sure" } else { "" }
        ),
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
    let Some(drift) = &record.drift else { return };
    page.section("Since the older calibration");
    for (label, value) in drift_rows(drift) {
        page.row(label, &value);
    }
}

fn validity(page: &mut Page, record: &Calibration) {
    page.section("What the tables hold for");
    for (label, value) in validity_rows(record) {
        page.row(label, &value);
    }
}
