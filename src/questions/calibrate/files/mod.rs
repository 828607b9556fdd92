//! A calibration as files.

pub mod certificate;
pub mod handout;
pub mod tables;
pub mod workbook;

use super::picture::{Against, calibration_budget, calibration_line, calibration_residuals};
use super::plan::PlanRecord;
use super::words::plan::blank_csv;
use super::{Calibration, Request};
use crate::pair::Bench;
use crate::questions::files::{FileRow, FileTable};

/// What decides which files are made.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Asked {
    /// The line is fitted to readings.
    pub with_readings: bool,
    /// The spec gives beam radii.
    pub with_beam_radii: bool,
}

impl Asked {
    /// For a request on a bench.
    pub fn of(bench: &Bench, request: &Request) -> Self {
        Self {
            with_readings: request.readings.is_some(),
            with_beam_radii: bench.tube.as_ref().is_some_and(|tube| tube.beam_radius_m.is_some()),
        }
    }
}

/// The table of the files.
pub fn files() -> FileTable<Asked, Calibration> {
    const WITH_READINGS: &str = "with --readings";
    let with_readings = |asked: &Asked| asked.with_readings;
    FileTable(vec![
        FileRow::text("certificate.html", "the certificate to print and sign", certificate::html),
        FileRow::text("handout.html", "one page to print for pupils", handout::html),
        FileRow::csv(
            "calibration.csv",
            "field from current, at every step of the ammeter",
            |record, format| Some(tables::field_csv(record, format)),
        ),
        FileRow::csv("current.csv", "current from field", |record, format| {
            Some(tables::current_csv(record, format))
        }),
        FileRow::json("calibration.json", "the line for --calibration and --previous, and for scripts"),
        FileRow::workbook("calibration.xlsx", "the tables and the budget as a workbook", workbook::xlsx),
        FileRow::figure("calibration", "the line", |record| Some(calibration_line(record))),
        FileRow::figure(
            "calibration-budget",
            "what adds how much to the uncertainty of the slope",
            calibration_budget,
        ),
        FileRow::csv("residuals.csv", "each reading against the line", tables::residuals_csv)
            .when(WITH_READINGS, with_readings),
        FileRow::figure("residuals", "residuals against current", |record| {
            calibration_residuals(record, Against::Current)
        })
        .when(WITH_READINGS, with_readings),
        FileRow::figure("residuals-order", "residuals in the order of the readings", |record| {
            calibration_residuals(record, Against::Order)
        })
        .when(WITH_READINGS, with_readings),
        FileRow::csv(
            "beam_correction.csv",
            "what beam circles feel of the field",
            tables::beam_correction_csv,
        )
        .when("where the spec gives beam radii", |asked| asked.with_beam_radii),
    ])
}

/// The table of the files of a plan.
pub fn plan_files() -> FileTable<(), PlanRecord> {
    FileTable(vec![FileRow::csv("readings.csv", "the blank table to fill in", |record, format| {
        Some(blank_csv(&record.plan, &record.provenance, format))
    })])
}
