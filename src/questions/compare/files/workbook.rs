//! Options side by side as a workbook: real numbers in the units of the page under frozen headings, each sheet one page wide.

use crate::questions::compare::figures::shown;
use crate::questions::compare::words::{
    REMARKS, provenance, questions, remarks, verdict, verdict_key, verdicts,
};
use crate::questions::compare::{Comparison, PairOption};
use crate::questions::words::notes::{Told, told};
use crate::{Error, Result};
use rust_xlsxwriter::{DocProperties, ExcelDateTime, Format, FormatAlign, Workbook, Worksheet, XlsxError};

/// The workbook's bytes; the same record gives the same bytes.
pub fn workbook(record: &Comparison) -> Result<Vec<u8>> {
    build(record).map_err(|error| Error::value(format!("cannot make the workbook: {error}")))
}

type Amount = fn(&PairOption) -> Option<f64>;
type Words = fn(&PairOption) -> String;
type Written = std::result::Result<(), XlsxError>;

/// The formats of the workbook.
struct Formats {
    bold: Format,
    wrapped: Format,
    number: Format,
    money: Format,
}

/// Price, carriage and tax.
const COST: &str = "cost in all";

fn build(record: &Comparison) -> std::result::Result<Vec<u8>, XlsxError> {
    let formats = Formats {
        bold: Format::new().set_bold().set_text_wrap().set_align(FormatAlign::Top),
        wrapped: Format::new().set_text_wrap().set_align(FormatAlign::Top),
        number: Format::new().set_num_format("0.0000").set_align(FormatAlign::Top),
        money: Format::new().set_num_format("0.00").set_align(FormatAlign::Top),
    };
    let mut workbook = Workbook::new();
    // A fixed creation date: the same record gives the same bytes.
    let date = ExcelDateTime::from_ymd(2000, 1, 1)?;
    workbook.set_properties(&DocProperties::new().set_creation_datetime(&date));
    verdict_sheet(workbook.add_worksheet(), record, &formats)?;
    figures_sheet(workbook.add_worksheet(), record, &formats)?;
    if !record.needs.is_empty() {
        needs_sheet(workbook.add_worksheet(), record, &formats)?;
    }
    notes_sheet(workbook.add_worksheet(), record, &formats)?;
    workbook.save_to_buffer()
}

/// One page wide, landscape, A4; as many pages as needed.
fn one_page_wide(sheet: &mut Worksheet, last: [u32; 2]) -> Written {
    sheet.set_landscape().set_paper_size(9).set_print_fit_to_pages(1, 0);
    sheet.set_print_area(0, 0, last[0], last[1] as u16)?;
    Ok(())
}

/// Who passes, at the top.
fn verdict_sheet(sheet: &mut Worksheet, record: &Comparison, formats: &Formats) -> Written {
    sheet.set_name("Verdict")?;
    let headings = ["option", "verdict", "title", "spec digest"];
    for (column, heading) in headings.iter().enumerate() {
        sheet.write_string_with_format(0, column as u16, *heading, &formats.bold)?;
    }
    let mut row = 0;
    for option in &record.options {
        row += 1;
        let key = option.verdict.map_or("not judged", verdict_key);
        // Written as text, so that a title that starts with = does not become a formula.
        for (column, text) in [&option.label, key, &option.title, &option.digest].into_iter().enumerate() {
            sheet.write_string_with_format(row, column as u16, text, &formats.wrapped)?;
        }
    }
    for sentence in verdicts(record) {
        row += 1;
        sheet.merge_range(row, 0, row, 3, &sentence, &formats.wrapped)?;
        sheet.set_row_height(row, if sentence.len() > 95 { 45 } else { 16 })?;
    }
    for (column, width) in [24, 14, 48, 16].into_iter().enumerate() {
        sheet.set_column_width(column as u16, width)?;
    }
    sheet.set_freeze_panes(1, 1)?;
    one_page_wide(sheet, [row, 3])
}

fn figures_sheet(sheet: &mut Worksheet, record: &Comparison, formats: &Formats) -> Written {
    sheet.set_name("Figures")?;
    sheet.write_string_with_format(0, 0, "figure", &formats.bold)?;
    sheet.write_string_with_format(0, 1, "unit", &formats.bold)?;
    for (number, option) in record.options.iter().enumerate() {
        sheet.write_string_with_format(0, number as u16 + 2, &option.label, &formats.bold)?;
        sheet.set_column_width(number as u16 + 2, 20)?;
    }
    let mut row = 0;
    for (name, figure) in shown() {
        row += 1;
        let unit = figure.dimension.units()[0];
        sheet.write_string(row, 0, name)?;
        sheet.write_string(row, 1, unit.names[0])?;
        for (number, option) in record.options.iter().enumerate() {
            let column = number as u16 + 2;
            if let Some([low, high]) = option.bounds.get(figure.key) {
                let ends = format!("{:.4} to {:.4}", unit.from_si(*low), unit.from_si(*high));
                sheet.write_string(row, column, ends)?;
            } else if let Some(value) = (figure.of)(option) {
                sheet.write_number_with_format(row, column, unit.from_si(value), &formats.number)?;
            }
        }
    }
    let currency = record.currency.as_deref().unwrap_or("-");
    let terms: [(&str, &str, Amount); 6] = [
        ("price", "own currency", |it| it.price),
        ("carriage", "own currency", |it| it.carriage),
        ("tax on top", "%", |it| it.tax_fraction.map(|rate| 100.0 * rate)),
        (COST, currency, |it| it.cost),
        ("delivery", "days", |it| it.delivery_days),
        ("warranty", "days", |it| it.warranty_days),
    ];
    for (name, unit, of) in terms {
        row += 1;
        sheet.write_string(row, 0, name)?;
        sheet.write_string(row, 1, unit)?;
        for (number, option) in record.options.iter().enumerate() {
            let column = number as u16 + 2;
            match of(option) {
                // A part of a cost is no number to be sorted by.
                Some(value) if name == COST && !option.has_whole_terms() => {
                    sheet.write_string(row, column, format!("at least {value:.2}"))?;
                }
                Some(value) => {
                    sheet.write_number_with_format(row, column, value, &formats.money)?;
                }
                None => {}
            }
        }
    }
    let texts: [(&str, Words); 2] = [
        ("limited by", |it| it.limited_by.map_or_else(String::new, |limit| limit.sentence())),
        ("currency", |it| it.currency.clone().unwrap_or_else(|| "not stated".into())),
    ];
    for (name, of) in texts {
        row += 1;
        sheet.write_string(row, 0, name)?;
        for (number, option) in record.options.iter().enumerate() {
            sheet.write_string_with_format(row, number as u16 + 2, of(option), &formats.wrapped)?;
        }
    }
    sheet.set_column_width(0, 26)?;
    sheet.set_column_width(1, 12)?;
    sheet.set_freeze_panes(1, 2)?;
    one_page_wide(sheet, [row, record.options.len() as u32 + 1])
}

fn needs_sheet(sheet: &mut Worksheet, record: &Comparison, formats: &Formats) -> Written {
    sheet.set_name("Needs")?;
    sheet.write_string_with_format(0, 0, "need", &formats.bold)?;
    sheet.write_string_with_format(0, 1, "wanted", &formats.bold)?;
    for (number, option) in record.options.iter().enumerate() {
        sheet.write_string_with_format(0, number as u16 + 2, &option.label, &formats.bold)?;
        sheet.set_column_width(number as u16 + 2, 26)?;
    }
    for (number, need) in record.needs.iter().enumerate() {
        let row = number as u32 + 1;
        sheet.write_string_with_format(row, 0, need.name.words(), &formats.wrapped)?;
        sheet.write_string_with_format(row, 1, need.wanted.to_string(), &formats.wrapped)?;
        for (option, result) in need.results.iter().enumerate() {
            sheet.write_string_with_format(row, option as u16 + 2, verdict(result), &formats.wrapped)?;
        }
    }
    sheet.set_column_width(0, 22)?;
    sheet.set_column_width(1, 26)?;
    sheet.set_freeze_panes(1, 1)?;
    one_page_wide(sheet, [record.needs.len() as u32, record.options.len() as u32 + 1])
}

fn notes_sheet(sheet: &mut Worksheet, record: &Comparison, formats: &Formats) -> Written {
    sheet.set_name("Notes")?;
    sheet.write_string_with_format(0, 0, provenance(record), &formats.bold)?;
    let mut row = 0;
    let parts = [
        ("To ask before ordering", questions(record)),
        (REMARKS, remarks(record)),
        ("Notes", told(&record.notes)),
    ];
    for (heading, lines) in
        parts.into_iter().filter(|(heading, lines)| *heading != REMARKS || !lines.is_empty())
    {
        row += 1;
        sheet.write_string_with_format(row, 0, heading, &formats.bold)?;
        for line in lines {
            row += 1;
            sheet.write_string_with_format(row, 0, &line, &formats.wrapped)?;
        }
    }
    sheet.set_column_width(0, 110)?;
    sheet.set_freeze_panes(1, 0)?;
    one_page_wide(sheet, [row, 0])
}
