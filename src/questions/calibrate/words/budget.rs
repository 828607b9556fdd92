//! The uncertainty budgets of k and B0 on the page.

use crate::paper::columns::columns;
use crate::paper::page::Page;
use crate::physics::slope::BudgetEntry;
use crate::questions::calibrate::Calibration;
use crate::questions::words::phrases::percent;
use crate::units::{Dimension, degrees_of_freedom, display, fixed, significant, unit};

/// Contributions below this fraction of the whole are named but not listed. The JSON has them all.
pub(crate) const NEGLIGIBLE: f64 = 0.01;

/// The budget of k.
pub(super) fn slope(page: &mut Page, record: &Calibration) {
    page.section("Uncertainty budget of the slope");
    let least = NEGLIGIBLE * record.slope.standard_uncertainty().unwrap_or(0.0);
    let (some, none): (Vec<&BudgetEntry>, Vec<&BudgetEntry>) =
        record.slope.budget.iter().partition(|entry| entry.contribution_tesla_per_ampere > least);
    let rows: Vec<Vec<String>> = some
        .iter()
        .map(|entry| {
            let contribution = entry.contribution_tesla_per_ampere;
            vec![
                entry.name(),
                entry.spread_name().into(),
                of_unit(entry.standard_uncertainty, &entry.unit),
                significant(contribution, unit::MICROTESLA_PER_AMPERE, 3),
                percent((contribution / record.slope.tesla_per_ampere).abs()),
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
    if let Some(uncertainty) = record.slope.uncertainty {
        page.row("effective degrees of freedom", &degrees_of_freedom(uncertainty.degrees_of_freedom));
    }
}

/// The standard uncertainty of a source in the unit people read.
fn of_unit(u: f64, unit: &str) -> String {
    match unit {
        "m" => display(u, Dimension::Length, 2),
        "rad" => display(u, Dimension::Angle, 2),
        "A" => display(u, Dimension::Current, 2),
        "K" => fixed(u, unit::KELVIN, 0),
        "T" => display(u, Dimension::FluxDensity, 2),
        "T/A" => display(u, Dimension::FieldConstant, 2),
        "turn" => format!("{u:.2} turns"),
        _ => percent(u),
    }
}

/// The budget of B0, if the line has one.
pub(super) fn intercept(page: &mut Page, record: &Calibration) {
    if record.intercept_budget.is_empty() {
        return;
    }
    page.section("Uncertainty budget of B0");
    let rows: Vec<Vec<String>> = record
        .intercept_budget
        .iter()
        .map(|entry| {
            vec![
                entry.source.name().into(),
                entry.distribution.name().into(),
                of_unit(entry.standard_uncertainty, entry.unit),
                significant(entry.contribution_tesla, unit::MICROTESLA, 3),
                degrees_of_freedom(entry.degrees_of_freedom),
            ]
        })
        .collect();
    page.block(&columns(
        &["source", "distribution", "std. uncertainty", "in µT", "deg. of freedom"],
        &[0, 1],
        &rows,
    ));
    page.row("together", &display(record.intercept_standard_uncertainty_tesla, Dimension::FluxDensity, 2));
}
