//! The uncertainty budgets of k and B0, and the propagation of distributions, on the certificate.

use super::section::{Section, Table};
use crate::physics::budget_source::BudgetSource;
use crate::questions::calibrate::Calibration;
use crate::questions::calibrate::validation::IntervalDifference;
use crate::questions::calibrate::words::sentences::{interval_ends, sampled_uncertainty, samples_sentence};
use crate::questions::words::phrases::{percent, percent_of};
use crate::units::{degrees_of_freedom, scientific, unit};

pub(super) fn budget(record: &Calibration) -> Section {
    let of_intercept = !record.intercept_budget.is_empty();
    let title = if of_intercept { "Uncertainty budgets of k and B0" } else { "Uncertainty budget of k" };
    let mut section = Section::new("budget", title);
    let slope = record.slope.tesla_per_ampere;
    let second_order = record.slope.budget.iter().any(|entry| {
        entry.sensitivity_tesla_per_ampere_per_unit == 0.0 && entry.contribution_tesla_per_ampere > 0.0
    });
    let micro = |slope| scientific(unit::MICROTESLA_PER_AMPERE.from_si(slope), 2);
    let rows = record.slope.budget.iter().map(|entry| {
        vec![
            entry.name(),
            entry.spread_name().into(),
            scientific(entry.standard_uncertainty, 2),
            if entry.unit == "1" { "-".into() } else { entry.unit.to_string() },
            scientific(entry.sensitivity_tesla_per_ampere_per_unit, 3),
            micro(entry.contribution_tesla_per_ampere),
            share(entry.contribution_tesla_per_ampere / slope),
            degrees_of_freedom(entry.degrees_of_freedom),
        ]
    });
    let mut rows: Vec<Vec<String>> = rows.collect();
    rows.extend(record.slope.uncertainty.map(|combined| {
        vec![
            "combined".into(),
            String::new(),
            String::new(),
            String::new(),
            String::new(),
            micro(combined.standard_tesla_per_ampere),
            share(combined.standard_tesla_per_ampere / slope),
            degrees_of_freedom(combined.degrees_of_freedom),
        ]
    }));
    let counted = match record.taken_as_exact()[..] {
        [] => "Every contribution, none left out.",
        _ => "Every contribution that is counted.",
    };
    let of_intercept_table = of_intercept.then(|| intercept_budget(record));
    let has = |source: &BudgetSource| record.slope.entry_of(source).is_some();
    let of_ammeter = match has(&BudgetSource::AmmeterGain) && has(&BudgetSource::AmmeterDigits) {
        true => {
            " The ammeter's limit of error has two parts, of the reading and of digits: they count as two independent errors, each \
             rectangular within its part."
        }
        false => "",
    };
    let of_k = if of_intercept { "Of k. " } else { "" };
    section.tables.push(Table {
        caption: match second_order {
            true => format!(
                "{of_k}{counted}{of_ammeter} Where the sensitivity is 0, the contribution is of second order (JCGM 100:2008, 5.1.2, note)."
            ),
            false => format!("{of_k}{counted}{of_ammeter}"),
        },
        headings: vec![
            "source",
            "distribution",
            "standard uncertainty",
            "unit",
            "sensitivity, T/A per unit",
            "in µT/A",
            "of k",
            "degrees of freedom",
        ],
        left: vec![0, 1],
        rows,
    });
    section.tables.extend(of_intercept_table);
    section
}

/// The budget of B0, from which u(B0) follows.
fn intercept_budget(record: &Calibration) -> Table {
    let micro = |tesla| scientific(unit::MICROTESLA.from_si(tesla), 2);
    let mut rows: Vec<Vec<String>> = record
        .intercept_budget
        .iter()
        .map(|entry| {
            vec![
                entry.source.name().into(),
                entry.distribution.name().into(),
                scientific(entry.standard_uncertainty, 2),
                if entry.unit == "1" { "-".into() } else { entry.unit.into() },
                scientific(entry.sensitivity_tesla_per_unit, 3),
                micro(entry.contribution_tesla),
                degrees_of_freedom(entry.degrees_of_freedom),
            ]
        })
        .collect();
    let mut combined = vec![String::new(); 7];
    combined[0] = "combined".into();
    combined[5] = micro(record.intercept_standard_uncertainty_tesla);
    rows.push(combined);
    let zero = match record.counts_meter_zero() {
        true => " The field meter's zero counts because k I + B0 is taken for the true field.",
        false => "",
    };
    Table {
        caption: format!(
            "Of B0. Every contribution that is counted; the ammeter's digits by its place in the circuit, the worse if that is not \
             stated.{zero}"
        ),
        headings: vec![
            "source",
            "distribution",
            "standard uncertainty",
            "unit",
            "sensitivity, T per unit",
            "in µT",
            "degrees of freedom",
        ],
        left: vec![0, 1],
        rows,
    }
}

pub(super) fn monte_carlo(record: &Calibration) -> Option<Section> {
    let run = record.monte_carlo.as_ref()?;
    let ends = |interval| interval_ends(record, interval);
    let verdict = match record.monte_carlo_difference {
        None => "agrees with the budget".to_owned(),
        Some(IntervalDifference::SmallSample) => {
            format!("not decided: {}", IntervalDifference::SmallSample.sentence())
        }
        Some(difference) => format!("differs from the budget: {}", difference.sentence()),
    };
    Some(
        Section::new("monte-carlo", "Propagation of distributions (JCGM 101:2008)")
            .row("samples", samples_sentence(run))
            .row("standard uncertainty of k", sampled_uncertainty(run))
            .row(
                "coverage interval of k",
                format!(
                    "{}; {} {}, half of the rest on either side",
                    ends(run.interval_tesla_per_ampere),
                    match record.is_in_dispute() {
                        true => "the line is in dispute, and no coverage probability is claimed; part of the samples inside",
                        false => "coverage probability",
                    },
                    percent(run.coverage_probability)
                ),
            )
            .row("the same by the budget", ends(run.linear_interval_tesla_per_ampere))
            .row("verdict", verdict),
    )
}

/// A part of k in percent, two digits.
fn share(part: f64) -> String {
    percent_of(part.abs(), 2).replacen("less than", "<", 1)
}
