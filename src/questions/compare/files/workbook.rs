//! Options side by side as a workbook: real numbers under frozen headings.

use crate::questions::compare::Comparison;
use crate::questions::compare::words::{figures, provenance, verdict, verdict_key};
use crate::questions::words::notes::Told;
use crate::{Error, Result};
use rust_xlsxwriter::{DocProperties, ExcelDateTime, Format, Workbook, XlsxError};

/// The workbook's bytes; the same record gives the same bytes.
pub fn workbook(record: &Comparison) -> Result<Vec<u8>> {
    build(record).map_err(|error| Error::value(format!("cannot make the workbook: {error}")))
}

fn build(record: &Comparison) -> std::result::Result<Vec<u8>, XlsxError> {
    let mut workbook = Workbook::new();
    // The clock has no business in an export.
    let date = ExcelDateTime::from_ymd(2000, 1, 1)?;
    workbook.set_properties(&DocProperties::new().set_creation_datetime(&date));
    let bold = Format::new().set_bold();
    let sheet = workbook.add_worksheet();
    sheet.set_name("Options")?;
    // Text is written as text: a title that starts with = is no formula.
    sheet.write_string_with_format(0, 0, "option", &bold)?;
    sheet.write_string_with_format(1, 0, "title", &bold)?;
    sheet.write_string_with_format(2, 0, "spec digest", &bold)?;
    for (number, option) in record.options.iter().enumerate() {
        let column = number as u16 + 1;
        sheet.write_string_with_format(0, column, &option.label, &bold)?;
        sheet.write_string(1, column, &option.title)?;
        sheet.write_string(2, column, &option.digest)?;
        sheet.set_column_width(column, 22)?;
        let mut row = 3;
        for (name, value) in figures(option) {
            sheet.write_string(row, 0, name)?;
            if let Some(value) = value {
                sheet.write_number(row, column, value)?;
            }
            row += 1;
        }
        sheet.write_string(row, 0, "limited_by")?;
        sheet.write_string(row, column, option.limited_by.sentence())?;
        sheet.write_string(row + 1, 0, "currency")?;
        sheet.write_string(row + 1, column, option.currency.as_deref().unwrap_or("not stated"))?;
        sheet.write_string(row + 2, 0, "verdict")?;
        sheet.write_string(row + 2, column, option.verdict.map_or("not judged", verdict_key))?;
    }
    sheet.set_column_width(0, 52)?;
    sheet.set_freeze_panes(1, 1)?;

    let sheet = workbook.add_worksheet();
    sheet.set_name("Needs")?;
    sheet.write_string_with_format(0, 0, "need", &bold)?;
    sheet.write_string_with_format(0, 1, "wanted", &bold)?;
    sheet.write_string_with_format(0, 2, "wanted, SI", &bold)?;
    for (number, option) in record.options.iter().enumerate() {
        let column = 2 * number as u16 + 3;
        sheet.write_string_with_format(0, column, format!("{}, SI", option.label), &bold)?;
        sheet.write_string_with_format(0, column + 1, &option.label, &bold)?;
        sheet.set_column_width(column + 1, 30)?;
    }
    for (number, need) in record.needs.iter().enumerate() {
        let row = number as u32 + 1;
        sheet.write_string(row, 0, need.name)?;
        sheet.write_string(row, 1, &need.wanted)?;
        sheet.write_number(row, 2, need.wanted_si)?;
        for (option, result) in need.results.iter().enumerate() {
            let column = 2 * option as u16 + 3;
            if let Some(found) = result.found_si {
                sheet.write_number(row, column, found)?;
            }
            sheet.write_string(row, column + 1, verdict(result))?;
        }
    }
    sheet.set_column_width(0, 26)?;
    sheet.set_column_width(1, 20)?;
    sheet.set_freeze_panes(1, 1)?;

    let sheet = workbook.add_worksheet();
    sheet.set_name("Notes")?;
    sheet.write_string(0, 0, provenance(record))?;
    for (number, note) in record.notes.iter().enumerate() {
        sheet.write_string(number as u32 + 1, 0, note)?;
    }
    sheet.set_column_width(0, 100)?;
    workbook.save_to_buffer()
}
