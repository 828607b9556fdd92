//! The quote form as a workbook that `compare` reads back: one row for each field, with cells that refuse invalid
//! values.

use crate::files::spec::{QUOTE_COLUMNS, QUOTE_FIELDS, QuoteField, Written};
use crate::questions::tender::Tender;
use crate::questions::tender::words::provenance;
use crate::{Error, Result};
use rust_xlsxwriter::{
    Color, DataValidation, DataValidationRule, DocProperties, ExcelDateTime, Format, FormatBorder, Workbook,
    Worksheet, XlsxError,
};

/// Rows before the first field: title and headings.
const FIRST_ROW: u32 = 2;
/// The column of the values.
const VALUE: u16 = 1;

/// The workbook's bytes; the same record gives the same bytes.
pub fn workbook(record: &Tender) -> Result<Vec<u8>> {
    build(record).map_err(|error| Error::value(format!("cannot make the workbook: {error}")))
}

fn build(record: &Tender) -> std::result::Result<Vec<u8>, XlsxError> {
    let mut workbook = Workbook::new();
    // A fixed creation date: the same record gives the same bytes.
    let created = ExcelDateTime::from_ymd(2000, 1, 1)?;
    workbook.set_properties(
        &DocProperties::new()
            .set_title(format!("Quote: {}", record.wishes_title))
            .set_creation_datetime(&created),
    );
    form(workbook.add_worksheet(), record)?;
    about(workbook.add_worksheet(), record)?;
    workbook.save_to_buffer()
}

fn form(sheet: &mut Worksheet, record: &Tender) -> std::result::Result<(), XlsxError> {
    let bold = Format::new().set_bold();
    let needed = Format::new()
        .set_bold()
        .set_border(FormatBorder::Medium)
        .set_background_color(Color::RGB(0xF2_F2_F2));
    let open = Format::new().set_border(FormatBorder::Thin).set_background_color(Color::RGB(0xF2_F2_F2));
    sheet.set_name("Quote")?;
    sheet.write_string_with_format(0, 0, format!("Quote: {}", record.wishes_title), &bold)?;
    for (column, heading) in QUOTE_COLUMNS.iter().enumerate() {
        sheet.write_string_with_format(1, column as u16, *heading, &bold)?;
    }
    for (number, field) in QUOTE_FIELDS.iter().enumerate() {
        let row = FIRST_ROW + number as u32;
        sheet.write_string(row, 0, field.form_label())?;
        sheet.write_blank(row, VALUE, if field.marked { &needed } else { &open })?;
        sheet.write_string(row, 2, field.form_unit())?;
        sheet.write_string(row, 3, field.form_note())?;
        sheet.write_string(row, 4, field.path)?;
        if let Some(validation) = validation(field)? {
            sheet.add_data_validation(row, VALUE, row, VALUE, &validation)?;
        }
    }
    for (column, width) in [44, 22, 8, 46, 30].into_iter().enumerate() {
        sheet.set_column_width(column as u16, width)?;
    }
    sheet.set_freeze_panes(FIRST_ROW, 0)?;
    sheet.set_print_fit_to_pages(1, 0);
    sheet.set_landscape();
    sheet.set_repeat_rows(0, 1)?;
    sheet.set_footer("&LPage &P of &N");
    sheet.set_print_area(0, 0, FIRST_ROW + QUOTE_FIELDS.len() as u32 - 1, 3)?;
    Ok(())
}

/// The validation of a cell; `None` for text.
fn validation(field: &QuoteField) -> std::result::Result<Option<DataValidation>, XlsxError> {
    let told = |validation: DataValidation, message: &str| {
        validation.set_error_title("Not a value")?.set_error_message(message)
    };
    let least = match field.written {
        // Temperatures may be negative.
        Written::With(unit) if unit.names[0] == "degC" => -60.0,
        _ => 0.0,
    };
    Ok(match field.written {
        Written::Text => None,
        Written::OneOf(words) => {
            let list = DataValidation::new().allow_list_strings(words)?;
            Some(told(list, &format!("write one of: {}", words.join(", ")))?)
        }
        Written::Count => {
            let rule = DataValidationRule::Between(1, 100_000);
            Some(told(DataValidation::new().allow_whole_number(rule), "write a whole number")?)
        }
        Written::Number | Written::With(_) => {
            let rule = DataValidationRule::Between(least, 1e9);
            Some(told(
                DataValidation::new().allow_decimal_number(rule),
                "write a number; its unit stands beside it",
            )?)
        }
    })
}

fn about(sheet: &mut Worksheet, record: &Tender) -> std::result::Result<(), XlsxError> {
    sheet.set_name("About")?;
    let lines = [
        "Fill in the column `value` of the sheet Quote. Cells with a thick frame are needed; leave blank what is not known.".to_owned(),
        "Leave the column `name` as it is: by it the form is read back.".to_owned(),
        provenance(record),
    ];
    for (row, line) in lines.iter().enumerate() {
        sheet.write_string(row as u32, 0, line)?;
    }
    sheet.set_column_width(0, 110)?;
    Ok(())
}
