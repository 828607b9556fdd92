//! A calibration as a workbook: real numbers with their units, the line as a chart, provenance on a sheet of its own.

use crate::questions::calibrate::Calibration;
use crate::questions::calibrate::table::FieldRow;
use crate::questions::calibrate::words::sentences::{
    decimals, dispute_box, ended_sentences, intercept_sentence, line_form, probability_phrase,
    room_beside_line_sentence, slope_sentence,
};
use crate::questions::calibrate::words::validity::validity_rows;
use crate::units::{Unit, unit};
use crate::{Error, Result};
use rust_xlsxwriter::{
    Chart, ChartType, DocProperties, ExcelDateTime, Format, FormatBorder, Workbook, Worksheet, XlsxError,
};

/// The sheet that the chart's data stand on.
const FIELD_SHEET: &str = "Field from current";

/// One column: heading, decimals shown, values in the heading's unit.
struct ColumnOfNumbers {
    heading: &'static str,
    decimals: usize,
    values: Vec<Option<f64>>,
}

impl ColumnOfNumbers {
    fn new(heading: &'static str, decimals: usize, unit: Unit, values: impl Iterator<Item = f64>) -> Self {
        Self { heading, decimals, values: values.map(|si| Some(unit.from_si(si))).collect() }
    }
}

/// The workbook as the bytes of an XLSX file; the same record gives the same bytes.
///
/// Every text is written as text, so that a text that starts with =, +, - or @ does not become a formula.
pub fn xlsx(record: &Calibration) -> Result<Vec<u8>> {
    build(record).map_err(|error| Error::value(format!("cannot write the workbook: {error}")))
}

fn build(record: &Calibration) -> std::result::Result<Vec<u8>, XlsxError> {
    let mut workbook = Workbook::new();
    // A fixed creation date: the same record gives the same bytes.
    let created = ExcelDateTime::from_ymd(2000, 1, 1)?;
    workbook.set_properties(
        &DocProperties::new()
            .set_title(format!("Calibration: {}", record.provenance.spec_title))
            .set_creation_datetime(&created),
    );
    let field = table(workbook.add_worksheet(), FIELD_SHEET, &field_columns(record))?;
    field.insert_chart(1, 9, &line_chart(record))?;
    table(workbook.add_worksheet(), "Current from field", &current_columns(record))?;
    if !record.beam_correction.is_empty() {
        table(workbook.add_worksheet(), "Beam correction", &beam_columns(record))?;
    }
    budget(workbook.add_worksheet(), record)?;
    if !record.intercept_budget.is_empty() {
        intercept_budget(workbook.add_worksheet(), record)?;
    }
    about(workbook.add_worksheet(), record)?;
    workbook.save_to_buffer()
}

/// A sheet of numbers with a frozen heading.
fn table<'a>(
    sheet: &'a mut Worksheet,
    name: &str,
    columns: &[ColumnOfNumbers],
) -> std::result::Result<&'a mut Worksheet, XlsxError> {
    sheet.set_name(name)?;
    for (place, column) in columns.iter().enumerate() {
        let place = place as u16;
        sheet.write_string_with_format(0, place, column.heading, &heading_format())?;
        sheet.set_column_width(place, 18.0)?;
        let format = Format::new().set_num_format(number_format(column.decimals));
        for (row, value) in column.values.iter().enumerate() {
            if let Some(value) = value.filter(|value| value.is_finite()) {
                sheet.write_number_with_format(row as u32 + 1, place, value, &format)?;
            }
        }
    }
    finish_sheet(sheet)
}

/// Freezes the heading, repeats it on every printed page, and makes the sheet one page wide.
fn finish_sheet(sheet: &mut Worksheet) -> std::result::Result<&mut Worksheet, XlsxError> {
    sheet.set_freeze_panes(1, 0)?;
    sheet.set_repeat_rows(0, 0)?;
    Ok(sheet.set_print_fit_to_pages(1, 0))
}

fn heading_format() -> Format {
    Format::new().set_bold().set_text_wrap().set_border_bottom(FormatBorder::Thin)
}

fn number_format(decimals: usize) -> String {
    if decimals == 0 { "0".into() } else { format!("0.{}", "0".repeat(decimals)) }
}

fn field_columns(record: &Calibration) -> Vec<ColumnOfNumbers> {
    let rows = &record.table;
    let mut columns = vec![
        ColumnOfNumbers::new(
            "current in A",
            decimals(record.table_step_ampere),
            unit::AMPERE,
            rows.iter().map(|row| row.current_ampere),
        ),
        ColumnOfNumbers::new(
            "coil field in mT",
            4,
            unit::MILLITESLA,
            rows.iter().map(|row| row.coil_field_tesla),
        ),
        ColumnOfNumbers::new(
            "expanded uncertainty in mT",
            4,
            unit::MILLITESLA,
            rows.iter().map(|row| row.expanded_uncertainty_tesla),
        ),
        ColumnOfNumbers::new("coverage factor", 2, unit::ONE, rows.iter().map(|row| row.coverage_factor)),
    ];
    if rows.iter().any(|row| row.axial_field_with_room_tesla.is_some()) {
        columns.push(ColumnOfNumbers {
            heading: "axial field with the room's in mT",
            decimals: 4,
            values: rows
                .iter()
                .map(|row| row.axial_field_with_room_tesla.map(|tesla| unit::MILLITESLA.from_si(tesla)))
                .collect(),
        });
    }
    if rows.iter().any(|row| row.field_with_intercept_tesla.is_some()) {
        let milli = |value: fn(&FieldRow) -> Option<f64>| {
            rows.iter().map(|row| value(row).map(|tesla| unit::MILLITESLA.from_si(tesla))).collect()
        };
        columns.push(ColumnOfNumbers {
            heading: "field with B0, k I + B0, in mT",
            decimals: 4,
            values: milli(|row| row.field_with_intercept_tesla),
        });
        columns.push(ColumnOfNumbers {
            heading: "expanded uncertainty of the field with B0 in mT",
            decimals: 4,
            values: milli(|row| row.field_with_intercept_expanded_uncertainty_tesla),
        });
        columns.push(ColumnOfNumbers {
            heading: "coverage factor with B0",
            decimals: 2,
            values: rows.iter().map(|row| row.field_with_intercept_coverage_factor).collect(),
        });
    }
    columns
}

fn current_columns(record: &Calibration) -> Vec<ColumnOfNumbers> {
    let rows = &record.current_table;
    let mut columns = vec![
        ColumnOfNumbers::new(
            "coil field in mT",
            3,
            unit::MILLITESLA,
            rows.iter().map(|row| row.coil_field_tesla),
        ),
        ColumnOfNumbers::new("current in A", 3, unit::AMPERE, rows.iter().map(|row| row.current_ampere)),
        ColumnOfNumbers::new(
            "expanded uncertainty in A",
            3,
            unit::AMPERE,
            rows.iter().map(|row| row.expanded_uncertainty_ampere),
        ),
        ColumnOfNumbers::new("coverage factor", 2, unit::ONE, rows.iter().map(|row| row.coverage_factor)),
    ];
    if rows.iter().any(|row| row.current_with_intercept_ampere.is_some()) {
        columns.push(ColumnOfNumbers {
            heading: "current for that field with B0 in A",
            decimals: 3,
            values: rows.iter().map(|row| row.current_with_intercept_ampere).collect(),
        });
        columns.push(ColumnOfNumbers {
            heading: "its expanded uncertainty in A",
            decimals: 3,
            values: rows.iter().map(|row| row.current_with_intercept_expanded_uncertainty_ampere).collect(),
        });
        columns.push(ColumnOfNumbers {
            heading: "its coverage factor",
            decimals: 2,
            values: rows.iter().map(|row| row.current_with_intercept_coverage_factor).collect(),
        });
    }
    columns
}

fn beam_columns(record: &Calibration) -> Vec<ColumnOfNumbers> {
    let rows = &record.beam_correction;
    vec![
        ColumnOfNumbers::new(
            "read radius in mm",
            1,
            unit::MILLIMETRE,
            rows.iter().map(|row| row.read_radius_m),
        ),
        ColumnOfNumbers::new(
            "effective over centre field",
            5,
            unit::ONE,
            rows.iter().map(|row| row.effective_field_ratio),
        ),
        ColumnOfNumbers {
            heading: "with the current reversed",
            decimals: 5,
            values: rows.iter().map(|row| Some(row.reversed?.effective_field_ratio)).collect(),
        },
    ]
}

/// A line of a budget as it stands in a sheet.
struct BudgetRow<'a> {
    source: String,
    distribution: &'a str,
    unit: &'a str,
    /// Standard uncertainty, sensitivity and contribution.
    numbers: [f64; 3],
    degrees_of_freedom: Option<f64>,
}

/// A sheet with a budget in a unit, `mT/A` or `mT`.
fn budget_sheet<'a>(
    sheet: &mut Worksheet,
    name: &str,
    unit: &str,
    rows: impl Iterator<Item = BudgetRow<'a>>,
) -> std::result::Result<(), XlsxError> {
    sheet.set_name(name)?;
    let headings = [
        "source",
        "distribution",
        "unit",
        "standard uncertainty",
        &format!("sensitivity in {unit} per unit"),
        &format!("contribution in {unit}"),
        "degrees of freedom",
    ];
    for (place, heading) in headings.into_iter().enumerate() {
        sheet.write_string_with_format(0, place as u16, heading, &heading_format())?;
        sheet.set_column_width(place as u16, if place == 0 { 26.0 } else { 18.0 })?;
    }
    let small = Format::new().set_num_format("0.00E+00");
    for (row, entry) in (1..).zip(rows) {
        for (place, text) in (0..).zip([&entry.source, entry.distribution, entry.unit]) {
            sheet.write_string(row, place, text)?;
        }
        for (place, number) in (3..).zip(entry.numbers) {
            sheet.write_number_with_format(row, place, number, &small)?;
        }
        match entry.degrees_of_freedom {
            Some(nu) => sheet.write_number(row, 6, nu)?,
            None => sheet.write_string(row, 6, "infinite")?,
        };
    }
    finish_sheet(sheet).map(drop)
}

fn budget(sheet: &mut Worksheet, record: &Calibration) -> std::result::Result<(), XlsxError> {
    let milli = |si| unit::MILLITESLA_PER_AMPERE.from_si(si);
    let rows = record.slope.budget.iter().map(|entry| BudgetRow {
        source: entry.name(),
        distribution: entry.spread_name(),
        unit: &entry.unit,
        numbers: [
            entry.standard_uncertainty,
            milli(entry.sensitivity_tesla_per_ampere_per_unit),
            milli(entry.contribution_tesla_per_ampere),
        ],
        degrees_of_freedom: entry.degrees_of_freedom,
    });
    budget_sheet(sheet, "Uncertainty budget", "mT/A", rows)
}

/// The sheet with the contributions to u(B0).
fn intercept_budget(sheet: &mut Worksheet, record: &Calibration) -> std::result::Result<(), XlsxError> {
    let milli = |si| unit::MILLITESLA.from_si(si);
    let rows = record.intercept_budget.iter().map(|entry| BudgetRow {
        source: entry.source.name().into(),
        distribution: entry.distribution.name(),
        unit: entry.unit,
        numbers: [
            entry.standard_uncertainty,
            milli(entry.sensitivity_tesla_per_unit),
            milli(entry.contribution_tesla),
        ],
        degrees_of_freedom: entry.degrees_of_freedom,
    });
    budget_sheet(sheet, "Uncertainty budget of B0", "mT", rows)
}

/// The sheet with provenance and validity.
fn about(sheet: &mut Worksheet, record: &Calibration) -> std::result::Result<(), XlsxError> {
    sheet.set_name("About")?;
    sheet.set_column_width(0, 16.0)?;
    sheet.set_column_width(1, 90.0)?;
    let mut rows = vec![
        ("item", "value".to_owned()),
        ("line", format!("{}, {}", line_form(record), slope_sentence(record))),
        ("coverage", format!("every expanded uncertainty: {}", probability_phrase(record))),
        ("adopted from", record.slope.from.name().to_owned()),
    ];
    rows.extend(intercept_sentence(record).map(|sentence| ("B0", sentence)));
    rows.extend(room_beside_line_sentence(record).map(|sentence| ("room's field", sentence)));
    rows.extend(ended_sentences(record).into_iter().map(|sentence| ("ended", sentence)));
    rows.extend(dispute_box(record).map(|dispute| ("in dispute", dispute)));
    rows.extend(validity_rows(record));
    rows.extend(record.provenance.date.map(|date| ("date", date.to_string())));
    rows.extend(record.notes.iter().map(|note| ("note", note.sentence())));
    let wrapped = Format::new().set_text_wrap();
    for (row, (label, value)) in rows.iter().enumerate() {
        let format = if row == 0 { heading_format() } else { wrapped.clone() };
        sheet.write_string_with_format(row as u32, 0, *label, &format)?;
        sheet.write_string_with_format(row as u32, 1, value, &format)?;
    }
    finish_sheet(sheet).map(drop)
}

fn line_chart(record: &Calibration) -> Chart {
    let last = record.table.len() as u32;
    let mut chart = Chart::new(ChartType::ScatterStraight);
    chart.add_series().set_name("coil field").set_categories((FIELD_SHEET, 1, 0, last, 0)).set_values((
        FIELD_SHEET,
        1,
        1,
        last,
        1,
    ));
    chart.title().set_name("Calibration line");
    chart.x_axis().set_name("current in A");
    chart.y_axis().set_name("coil field in mT");
    chart.legend().set_hidden();
    chart.set_width(560).set_height(380);
    chart
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::questions::calibrate::words::sentences::tests::calibration;
    use std::io::Read;

    fn parts(bytes: &[u8]) -> Vec<(String, String)> {
        let mut archive = zip::ZipArchive::new(std::io::Cursor::new(bytes)).unwrap();
        (0..archive.len())
            .map(|i| {
                let mut file = archive.by_index(i).unwrap();
                let mut text = String::new();
                file.read_to_string(&mut text).unwrap();
                (file.name().unwrap().into_owned(), text)
            })
            .collect()
    }

    #[test]
    fn it_holds_numbers_a_frozen_heading_and_a_chart() {
        let parts = parts(&xlsx(&calibration("Pair")).unwrap());
        let sheet = &parts.iter().find(|(name, _)| name == "xl/worksheets/sheet1.xml").unwrap().1;
        // 0 A to 3 A at 0.1 A: heading and 31 rows; 3 A stands as a number.
        assert_eq!(sheet.matches("<row ").count(), 32);
        assert!(sheet.contains("<v>3</v>") && sheet.contains("state=\"frozen\""));
        assert!(
            parts.iter().any(|(name, text)| name.starts_with("xl/charts/") && text.contains("scatterChart"))
        );
    }

    #[test]
    fn a_title_that_looks_like_a_formula_stays_a_text() {
        for title in ["=1+1", "+1", "-1", "@SUM(A1)"] {
            let parts = parts(&xlsx(&calibration(title)).unwrap());
            let formulas = parts.iter().filter(|(name, text)| {
                name.starts_with("xl/worksheets/") && (text.contains("<f>") || text.contains("<f "))
            });
            assert_eq!(formulas.count(), 0);
            let strings = &parts.iter().find(|(name, _)| name == "xl/sharedStrings.xml").unwrap().1;
            assert!(strings.contains(&format!("\"{title}\"")) || strings.contains(title), "{strings}");
        }
    }

    #[test]
    fn the_same_record_gives_the_same_bytes() {
        let record = calibration("Pair");
        assert_eq!(xlsx(&record).unwrap(), xlsx(&record).unwrap());
    }
}
