//! A calibration as text for people and as CSV.

use super::cautions::{Caution, sentences};
use super::columns::columns;
use super::page::Page;
use super::table_file::{NumberFormat, TableFile};
use super::uniformity::{model_sentence, percent};
use crate::calibration::Calibration;
use crate::calibration::budget::BudgetEntry;
use crate::spec::Connection;
use crate::units::{Dimension, Unit, display, fixed, significant, uncertain, unit};

/// The page for people.
pub fn text(record: &Calibration) -> String {
    let mut page =
        Page::new(&format!("Calibration: {}", record.provenance.spec_title), &record.provenance.to_string());
    page.paragraph(model_sentence(record.model));
    line(&mut page, record);
    budget(&mut page, record);
    tables(&mut page, record);
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

/// The line in the form people copy: k = (0.8562 ± 0.0034) mT/A, coverage factor 2.
pub fn slope_sentence(record: &Calibration) -> String {
    format!(
        "k = {}, coverage factor {}",
        uncertain(
            record.slope_tesla_per_ampere,
            record.slope_expanded_uncertainty_tesla_per_ampere,
            Dimension::FieldConstant
        ),
        factor(record.coverage_factor)
    )
}

/// A coverage factor: `2`, or `2.28`.
pub fn factor(coverage_factor: f64) -> String {
    let text = format!("{coverage_factor:.2}");
    text.trim_end_matches('0').trim_end_matches('.').into()
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
    page.row(
        "B0",
        &if record.intercept_standard_uncertainty_tesla > 0.0 {
            uncertain(
                record.intercept_tesla,
                record.intercept_standard_uncertainty_tesla,
                Dimension::FluxDensity,
            )
        } else {
            "0 mT: the coils alone make no field without current".into()
        },
    );
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
                entry.degrees_of_freedom.map_or("∞".into(), |nu| format!("{nu:.0}")),
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
    page.row(
        "effective degrees of freedom",
        &record.effective_degrees_of_freedom.map_or("∞".into(), |nu| format!("{nu:.1}")),
    );
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
    let milli = |tesla| number(tesla, unit::MILLITESLA, 4);
    let decimals = decimals(record.table_step_ampere);
    let rows: Vec<Vec<String>> = record
        .table
        .iter()
        .map(|row| {
            let mut cells = vec![
                format!("{:.decimals$}", row.current_ampere),
                milli(row.coil_field_tesla),
                milli(row.expanded_uncertainty_tesla),
                factor(row.coverage_factor),
            ];
            cells.extend(row.axial_field_with_room_tesla.map(milli));
            cells
        })
        .collect();
    page.block(&columns(&headings, &[], &rows));
    page.section("Current, from the coil field at the centre");
    let field_step = record.current_table.get(1).map_or(1e-6, |row| row.coil_field_tesla.abs());
    let field_decimals = self::decimals(unit::MILLITESLA.from_si(field_step));
    let rows: Vec<Vec<String>> = record
        .current_table
        .iter()
        .map(|row| {
            vec![
                number(row.coil_field_tesla, unit::MILLITESLA, field_decimals),
                format!("{:.3}", row.current_ampere),
                format!("{:.3}", row.expanded_uncertainty_ampere),
                factor(row.coverage_factor),
            ]
        })
        .collect();
    page.block(&columns(&["B in mT", "I in A", "± in A", "coverage factor"], &[], &rows));
}

/// A number alone, in a unit, with so many decimals.
fn number(si: f64, unit: Unit, decimals: usize) -> String {
    fixed(si, unit, decimals).trim_end_matches(unit.symbol).trim_end().into()
}

/// Decimals that show every multiple of a step.
pub fn decimals(step: f64) -> usize {
    (0..9)
        .find(|decimals| {
            let shown: f64 = format!("{step:.decimals$}").parse().unwrap_or(0.0);
            (shown / step - 1.0).abs() < 1e-9
        })
        .unwrap_or(9)
}

fn room(page: &mut Page, record: &Calibration) {
    page.section("Room field");
    match record.room {
        Some(room) => page.row("along the axis", &display(room.axial_tesla, Dimension::FluxDensity, 3)),
        None => {
            page.paragraph("The room's own field is not known: give `room.field` or `room.site` in the spec.")
        }
    }
}

fn validity(page: &mut Page, record: &Calibration) {
    page.section("What the tables hold for");
    for (label, value) in validity_rows(record) {
        page.row(label, &value);
    }
}

/// What the tables hold for, label and value.
pub fn validity_rows(record: &Calibration) -> Vec<(&'static str, String)> {
    let validity = &record.validity;
    let ammeter = match validity.ammeter {
        Some(meter) => format!(
            "resolution {}, limit of error {} of reading + {} digits",
            display(meter.resolution, Dimension::Current, 1),
            percent(meter.accuracy_of_reading),
            meter.accuracy_digits
        ),
        None => "taken as exact".into(),
    };
    let connection = match validity.connection {
        Connection::Series => "in series",
        Connection::Parallel => "in parallel; the current is that of the supply",
    };
    vec![
        (
            "currents",
            format!(
                "0 A to {}, and the other way round with every sign of the coil field changed",
                display(validity.current_limit_ampere, Dimension::Current, 3)
            ),
        ),
        (
            "coils",
            format!(
                "{connection}; within {:.0} K of {}",
                validity.warming_kelvin,
                fixed(validity.room_temperature_celsius, unit::CELSIUS, 1)
            ),
        ),
        ("place", validity.place.into()),
        ("ammeter", ammeter),
        ("spec", format!("\"{}\", {}", record.provenance.spec_title, record.provenance.spec_digest)),
        ("program", record.provenance.program.clone()),
    ]
}

/// The comment lines of a CSV file of this calibration.
fn comments(record: &Calibration) -> Vec<String> {
    let mut comments = vec![
        record.provenance.to_string(),
        format!("{} ({})", slope_sentence(record), record.adopted_from.name()),
    ];
    comments.extend(validity_rows(record).iter().take(4).map(|(label, value)| format!("{label}: {value}")));
    comments
}

/// `calibration.csv`: current to coil field at every step of the ammeter.
pub fn field_csv(record: &Calibration, format: NumberFormat) -> String {
    let with_room = record.every_step.iter().any(|row| row.axial_field_with_room_tesla.is_some());
    let mut heading =
        vec!["current_ampere", "coil_field_tesla", "expanded_uncertainty_tesla", "coverage_factor"];
    if with_room {
        heading.push("axial_field_with_room_tesla");
    }
    let mut file = TableFile::new(format, &comments(record), &heading);
    for row in &record.every_step {
        let mut cells = vec![
            Some(row.current_ampere),
            Some(row.coil_field_tesla),
            Some(row.expanded_uncertainty_tesla),
            Some(row.coverage_factor),
        ];
        if with_room {
            cells.push(row.axial_field_with_room_tesla);
        }
        file.numbers(&cells);
    }
    file.into_text()
}

/// `current.csv`: field to current.
pub fn current_csv(record: &Calibration, format: NumberFormat) -> String {
    let heading = ["coil_field_tesla", "current_ampere", "expanded_uncertainty_ampere", "coverage_factor"];
    let mut file = TableFile::new(format, &comments(record), &heading);
    for row in &record.current_table {
        file.numbers(&[
            Some(row.coil_field_tesla),
            Some(row.current_ampere),
            Some(row.expanded_uncertainty_ampere),
            Some(row.coverage_factor),
        ]);
    }
    file.into_text()
}
