//! The blank class sheet, as CSV and as a workbook with live formulas. `weigh` reads both.

use super::on_paper::LessonOnPaper;
use crate::files::out::csv::{NumberFormat, TableFile};
use crate::questions::lesson::words::WordTable;
use crate::questions::lesson::{Lesson, MOST_SETTINGS};
use crate::{Error, Result};
use rust_xlsxwriter::{
    Chart, ChartMarker, ChartMarkerType, ChartType, DataValidation, DataValidationRule, DocProperties,
    ExcelDateTime, Format, FormatBorder, Formula, Workbook, Worksheet, XlsxError,
};

/// Column headings that `weigh` knows.
const HEADINGS: [&str; 4] = ["gun_voltage_V", "current_A", "diameter_mm", "label"];
/// Name of the worksheet that `weigh` reads.
const RUNS: &str = "Runs";
/// Number of rows covered by formulas and validation, the rows with suggested settings included.
const MOST_ROWS: u32 = MOST_SETTINGS as u32;

/// Voltage, current and group label of each row. A group takes both current directions of a setting.
fn rows(lesson: &Lesson, words: &WordTable) -> Vec<(f64, f64, String)> {
    let mut group = 0;
    let mut before = f64::NAN;
    lesson
        .settings
        .iter()
        .map(|one| {
            if one.current_ampere != -before {
                group += 1;
            }
            before = one.current_ampere;
            let label = words.say("table_group", &[("number", &group.to_string())]);
            (one.gun_voltage_volt, one.current_ampere, label)
        })
        .collect()
}

/// The blank table as CSV.
pub(super) fn csv(on_paper: &LessonOnPaper, format: NumberFormat) -> String {
    let LessonOnPaper { lesson, words, .. } = on_paper;
    let comments = [lesson.provenance.to_string(), words.of_key("table_about").to_owned()];
    let mut file = TableFile::new(format, &comments, &HEADINGS);
    for (volt, ampere, label) in rows(lesson, words) {
        file.row(&[
            format.number(Some(volt)),
            format.number(Some(ampere)),
            String::new(),
            format.text(&label),
        ]);
    }
    file.into_text()
}

/// The workbook as bytes.
pub(super) fn xlsx(on_paper: &LessonOnPaper) -> Result<Vec<u8>> {
    build(&on_paper.lesson, &on_paper.words)
        .map_err(|error| Error::value(format!("cannot make the workbook: {error}")))
}

fn build(lesson: &Lesson, words: &WordTable) -> std::result::Result<Vec<u8>, XlsxError> {
    let mut workbook = Workbook::new();
    // A fixed date: the same input must give the same bytes.
    let created = ExcelDateTime::from_ymd(2000, 1, 1)?;
    workbook.set_properties(
        &DocProperties::new().set_title(&lesson.provenance.spec_title).set_creation_datetime(&created),
    );
    runs_sheet(workbook.add_worksheet(), lesson, words)?;
    results_sheet(workbook.add_worksheet(), lesson, words)?;
    workbook.save_to_buffer()
}

fn heading() -> Format {
    Format::new().set_bold().set_text_wrap().set_border_bottom(FormatBorder::Thin)
}

fn runs_sheet(
    sheet: &mut Worksheet,
    lesson: &Lesson,
    words: &WordTable,
) -> std::result::Result<(), XlsxError> {
    sheet.set_name(RUNS)?;
    for (column, name) in HEADINGS.iter().enumerate() {
        sheet.write_string_with_format(0, column as u16, *name, &heading())?;
        sheet.set_column_width(column as u16, 16)?;
    }
    let framed = Format::new().set_border(FormatBorder::Thin);
    for (i, (volt, ampere, label)) in rows(lesson, words).into_iter().enumerate() {
        let row = i as u32 + 1;
        sheet.write_number(row, 0, volt)?;
        sheet.write_number(row, 1, ampere)?;
        sheet.write_blank(row, 2, &framed)?;
        sheet.write_string(row, 3, &label)?;
    }
    validate(sheet, lesson, words)?;
    sheet.set_freeze_panes(1, 0)?;
    printed(sheet)
}

/// Makes the sheet refuse, as they are typed, numbers that this bench cannot give.
fn validate(sheet: &mut Worksheet, lesson: &Lesson, words: &WordTable) -> std::result::Result<(), XlsxError> {
    let [low, high] = lesson.tube.gun_voltage_volt.map_or([1.0, 1e4], |[low, high]| [0.5 * low, 1.5 * high]);
    let limit = lesson.current_limit_ampere.unwrap_or(1e3);
    let largest = 2e3 * lesson.tube.bulb_radius_m * lesson.reading.magnification;
    let [low, high, largest] = [low.floor(), high.ceil(), largest.ceil()];
    let said = |key: &str, figures: &[(&str, f64)]| {
        let texts: Vec<(&str, String)> = figures
            .iter()
            .map(|(name, value)| (*name, words.number(*value, if *name == "limit" { 2 } else { 0 })))
            .collect();
        let figures: Vec<(&str, &str)> = texts.iter().map(|(name, text)| (*name, text.as_str())).collect();
        words.say(key, &figures)
    };
    let refusals = [
        (0, [low, high], said("table_refuse_volt", &[("low", low), ("high", high)])),
        (1, [-limit, limit], said("table_refuse_ampere", &[("limit", limit)])),
        (2, [2.0, largest], said("table_refuse_diameter", &[("largest", largest)])),
    ];
    for (column, [least, most], message) in refusals {
        let rule = DataValidation::new()
            .allow_decimal_number(DataValidationRule::Between(least, most))
            .set_error_message(message)?;
        sheet.add_data_validation(1, column, MOST_ROWS, column, &rule)?;
    }
    Ok(())
}

/// The cached result of a formula before anything is filled in. The writer would store an empty text as 0, and a
/// spreadsheet program that does not compute on opening would then count that 0 in the mean.
const EMPTY: &str = " ";

/// Column of the constants on the results sheet: labels in column I, values in J.
const CONSTANTS: u16 = 8;

fn results_sheet(
    sheet: &mut Worksheet,
    lesson: &Lesson,
    words: &WordTable,
) -> std::result::Result<(), XlsxError> {
    let name = words.of_key("table_results");
    // The name of a worksheet has at most 31 characters and none of these.
    let name: String = name.chars().filter(|letter| !"[]:*?/\\'".contains(*letter)).take(31).collect();
    let name = if name.trim().is_empty() || name == RUNS { "Results".to_owned() } else { name };
    sheet.set_name(&name)?;
    let headings = [
        "sheet_group",
        "sheet_column_v",
        "table_field",
        "table_radius",
        "table_square",
        "table_charge_to_mass",
    ];
    for (column, key) in headings.iter().enumerate() {
        sheet.write_string_with_format(0, column as u16, words.of_key(key), &heading())?;
        sheet.set_column_width(column as u16, 15)?;
    }
    let small = Format::new().set_num_format("0.000E+00");
    for row in 2..=MOST_ROWS + 1 {
        let full = format!("AND(ISNUMBER(Runs!A{row}),ISNUMBER(Runs!B{row}),ISNUMBER(Runs!C{row}))");
        let cell = |value: String| Formula::new(format!("=IF({full},{value},\"\")")).set_result(EMPTY);
        let formulas = [
            format!("Runs!D{row}&\"\""),
            format!("Runs!A{row}"),
            format!("$J$1*ABS(Runs!B{row})"),
            format!("Runs!C{row}/2000/$J$2"),
            format!("(C{row}*D{row})^2"),
            format!("2*B{row}/E{row}"),
        ];
        for (column, formula) in formulas.into_iter().enumerate() {
            let column = column as u16;
            let formula = cell(formula);
            match column {
                0 | 1 => sheet.write_formula(row - 1, column, formula)?,
                _ => sheet.write_formula_with_format(row - 1, column, formula, &small)?,
            };
        }
    }
    let last = MOST_ROWS + 1;
    let mean = Format::new().set_bold().set_num_format("0.0000E+00");
    let e = lesson.constants.elementary_charge_coulomb;
    sheet.write_string(0, CONSTANTS, words.of_key("table_slope"))?;
    sheet.write_number(0, CONSTANTS + 1, lesson.line.slope.tesla_per_ampere.abs())?;
    sheet.write_string(1, CONSTANTS, words.of_key("table_magnification"))?;
    sheet.write_number(1, CONSTANTS + 1, lesson.reading.magnification)?;
    sheet.write_string(2, CONSTANTS, words.of_key("table_shared"))?;
    sheet.write_number(2, CONSTANTS + 1, shared_fraction(lesson))?;
    let summary = [
        ("table_mean", format!("=IF(COUNT(F2:F{last})>0,AVERAGE(F2:F{last}),\"\")")),
        ("table_deviation", format!("=IF(COUNT(F2:F{last})>1,STDEV(F2:F{last}),\"\")")),
        ("table_of_mean", format!("=IF(COUNT(F2:F{last})>1,J5/SQRT(COUNT(F2:F{last})),\"\")")),
        ("table_of_both", "=IF(ISNUMBER(J6),SQRT(J6^2+(J3*J4)^2),\"\")".to_owned()),
        ("table_mass", format!("=IF(ISNUMBER(J4),{e:e}/J4,\"\")")),
    ];
    for (i, (key, formula)) in summary.into_iter().enumerate() {
        let row = i as u32 + 3;
        sheet.write_string(row, CONSTANTS, words.of_key(key))?;
        sheet.write_formula_with_format(
            row,
            CONSTANTS + 1,
            Formula::new(formula).set_result(EMPTY),
            &mean,
        )?;
    }
    sheet.set_column_width(CONSTANTS, 46)?;
    sheet.set_column_width(CONSTANTS + 1, 16)?;
    sheet.write_string(9, CONSTANTS, lesson.provenance.to_string())?;
    sheet.write_string(10, CONSTANTS, words.of_key("table_about"))?;
    sheet.insert_chart(12, CONSTANTS, &chart(&name, last, words))?;
    sheet.set_freeze_panes(1, 0)?;
    sheet.set_landscape();
    printed(sheet)
}

/// Print settings of a sheet: one page wide, headings repeated on each page, page numbers.
fn printed(sheet: &mut Worksheet) -> std::result::Result<(), XlsxError> {
    sheet.set_repeat_rows(0, 0)?;
    sheet.set_print_fit_to_pages(1, 0);
    sheet.set_header("&L&A");
    sheet.set_footer("&L&P / &N");
    Ok(())
}

/// Relative standard uncertainty of e/m that all runs share, averaged over the settings.
fn shared_fraction(lesson: &Lesson) -> f64 {
    let parts = lesson.settings.iter().map(|one| one.expected.shared_standard_uncertainty_fraction);
    parts.sum::<f64>() / lesson.settings.len().max(1) as f64
}

fn chart(sheet: &str, last: u32, words: &WordTable) -> Chart {
    let mut chart = Chart::new(ChartType::Scatter);
    chart
        .add_series()
        .set_categories((sheet, 1, 4, last - 1, 4))
        .set_values((sheet, 1, 1, last - 1, 1))
        .set_marker(ChartMarker::new().set_type(ChartMarkerType::Circle).set_size(7));
    chart.title().set_name(words.of_key("table_plot"));
    chart.x_axis().set_name(words.of_key("table_square")).set_min(0.0);
    chart.y_axis().set_name(words.of_key("sheet_column_v")).set_min(0.0);
    chart.legend().set_hidden();
    chart.set_width(640).set_height(420);
    chart
}
