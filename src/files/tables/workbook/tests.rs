//! Tests with sheets written by another library, and with hostile ones written by hand.

use super::super::sheet::cell_name;
use super::*;
use crate::files::tables::{Column, PointReader, Table, TableReader};
use crate::units::Dimension;
use proptest::prelude::*;
use rust_xlsxwriter::{ExcelDateTime, Format, Workbook as Writer};
use std::io::Write;

const COLUMNS: &[Column] = &[
    Column::text("label"),
    Column::quantity("current", Dimension::Current).required(),
    Column::quantity("field", Dimension::FluxDensity).required(),
    Column::yes_no("probe_flipped"),
];

fn read(bytes: Vec<u8>) -> Result<Table> {
    Table::collect(TableReader::from_reader("r.xlsx", Cursor::new(bytes), COLUMNS)?)
}

/// A workbook whose second sheet has readings under a title, from column B.
fn xlsx() -> Writer {
    let mut writer = Writer::new();
    writer.add_worksheet().set_name("Notes").unwrap().write(0, 0, "Nothing to see, 5").unwrap();
    let sheet = writer.add_worksheet().set_name("Readings").unwrap();
    sheet.write(0, 1, "North bench, 3 March").unwrap();
    for (column, heading) in ["label", "current_A", "field_mT", "probe_flipped"].iter().enumerate() {
        sheet.write(2, column as u16 + 1, *heading).unwrap();
    }
    for (row, (label, current, field, flipped)) in
        [("A01", 0.1 + 0.2, 0.26, None), ("A02", -1.5, -1.283, Some(true))].into_iter().enumerate()
    {
        let row = row as u32 + 3;
        sheet.write(row, 1, label).unwrap();
        sheet.write(row, 2, current).unwrap();
        sheet.write(row, 3, field).unwrap();
        if let Some(flipped) = flipped {
            sheet.write(row, 4, flipped).unwrap();
        }
    }
    writer
}

fn saved(mut writer: Writer) -> Vec<u8> {
    writer.save_to_buffer().unwrap()
}

fn readings(writer: &mut Writer) -> &mut rust_xlsxwriter::Worksheet {
    writer.worksheet_from_name("Readings").unwrap()
}

/// An `.ods` file with this content in its one sheet, in the form that office programs write.
fn ods(rows: &str) -> Vec<u8> {
    let mut archive = zip::ZipWriter::new(Cursor::new(Vec::new()));
    let options = zip::write::SimpleFileOptions::default();
    let mut part = |name: &str, text: &str| {
        archive.start_file(name, options).unwrap();
        archive.write_all(text.as_bytes()).unwrap();
    };
    part("mimetype", "application/vnd.oasis.opendocument.spreadsheet");
    part(
        "META-INF/manifest.xml",
        "<?xml version=\"1.0\"?><manifest:manifest \
         xmlns:manifest=\"urn:oasis:names:tc:opendocument:xmlns:manifest:1.0\"/>",
    );
    let content = format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?><office:document-content><office:body><office:spreadsheet>\
         <table:table table:name=\"Runs\">{rows}</table:table></office:spreadsheet></office:body>\
         </office:document-content>"
    );
    part("content.xml", &content);
    archive.finish().unwrap().into_inner()
}

fn text(text: &str) -> String {
    format!("<table:table-cell office:value-type=\"string\"><text:p>{text}</text:p></table:table-cell>")
}

fn float(value: f64) -> String {
    format!(
        "<table:table-cell office:value-type=\"float\" office:value=\"{value}\"><text:p>{value:.1}</text:p></table:table-cell>"
    )
}

fn row(cells: &[String]) -> String {
    let empty = "<table:table-cell table:number-columns-repeated=\"1020\"></table:table-cell>";
    format!("<table:table-row>{}{empty}</table:table-row>", cells.concat())
}

const REST: &str = "<table:table-row table:number-rows-repeated=\"1048570\"><table:table-cell \
                    table:number-columns-repeated=\"1024\"></table:table-cell></table:table-row>";

fn ods_readings() -> Vec<u8> {
    let heading = row(&["label", "current_A", "field_mT"].map(text));
    let first = row(&[text("A01"), float(0.1 + 0.2), text("0,26")]);
    let second = row(&[text("A02"), float(-1.5), float(-1.283)]);
    ods(&format!("{heading}{first}{second}{REST}"))
}

#[test]
fn the_first_sheet_with_a_known_heading_is_read_with_its_numbers_as_they_are() {
    let table = read(saved(xlsx())).unwrap();
    assert_eq!(table.sheet.as_deref(), Some("Readings"));
    let [first, second] = &table.rows[..] else { panic!("{table:?}") };
    // A sum that no short decimal represents is read back to the last bit.
    assert_eq!(first.quantity("current"), Some(0.1 + 0.2));
    assert_eq!((first.line, first.text("label"), first.yes("probe_flipped")), (4, Some("A01"), None));
    assert_eq!((second.quantity("field"), second.yes("probe_flipped")), (Some(-1.283e-3), Some(true)));
}

#[test]
fn a_hidden_sheet_is_passed_over_and_of_two_shown_ones_neither_is_taken() {
    let with = |hidden: bool| {
        let mut writer = Writer::new();
        for (name, current) in [("Old", 9.0), ("Day 1", 1.5)] {
            let sheet = writer.add_worksheet().set_name(name).unwrap();
            sheet.write(0, 0, "current_A").unwrap().write(0, 1, "field_mT").unwrap();
            sheet.write(1, 0, current).unwrap().write(1, 1, 1.28).unwrap();
            if name == "Old" && hidden {
                sheet.set_hidden(true);
            } else {
                sheet.set_active(true);
            }
        }
        read(saved(writer))
    };
    let table = with(true).unwrap();
    assert_eq!((table.rows.len(), table.rows[0].quantity("current")), (1, Some(1.5)));
    let refused = with(false).unwrap_err().to_string();
    assert!(refused.contains("`Old` and `Day 1` both have the heading"), "{refused}");
}

#[test]
fn an_open_document_sheet_is_read_and_text_in_it_as_in_csv() {
    let table = read(ods_readings()).unwrap();
    assert_eq!(table.sheet.as_deref(), Some("Runs"));
    assert_eq!(table.rows[0].quantity("current"), Some(0.1 + 0.2));
    assert_eq!(table.rows[0].quantity("field"), Some(0.26e-3));
    assert_eq!(table.rows[1].quantity("field"), Some(-1.283e-3));
    assert_eq!(table.rows.len(), 2);
}

#[test]
fn a_refusal_names_sheet_row_and_cell() {
    let mut writer = xlsx();
    readings(&mut writer).write(4, 3, "1.3 mT").unwrap();
    let error = read(saved(writer)).unwrap_err();
    assert_eq!(
        error.to_string(),
        "r.xlsx, sheet `Readings`, row 5, cell D5: `field_mT`: `1.3 mT` is not a number"
    );
    assert!(error.hint().unwrap().contains("unit belongs into the heading"));

    let mut writer = xlsx();
    let date = ExcelDateTime::from_ymd(2026, 5, 1).unwrap();
    let format = Format::new().set_num_format("yyyy-mm-dd");
    readings(&mut writer).write_datetime_with_format(3, 2, &date, &format).unwrap();
    let error = read(saved(writer)).unwrap_err();
    assert_eq!(
        error.to_string(),
        "r.xlsx, sheet `Readings`, row 4, cell C4: `current_A` holds a date or a time of day"
    );
    assert!(error.hint().unwrap().contains("format the column"));

    let mut writer = xlsx();
    readings(&mut writer).write(2, 2, "curent_A").unwrap();
    let error = read(saved(writer)).unwrap_err();
    assert_eq!(error.to_string(), "r.xlsx, sheet `Readings`, row 3, cell C3: unknown heading `curent_A`");

    let mut writer = Writer::new();
    writer.add_worksheet().set_name("Other").unwrap().write(0, 0, "nothing").unwrap();
    let error = read(saved(writer)).unwrap_err();
    assert_eq!(
        error.to_string(),
        "cannot read r.xlsx: none of its sheets has a known heading (looked at: `Other`)"
    );
    assert!(error.hint().unwrap().contains("`current_A`"));
}

#[test]
fn points_may_stand_in_a_sheet() {
    let mut writer = Writer::new();
    let sheet = writer.add_worksheet();
    sheet.write_row(0, 0, ["x_mm", "y_mm", "z_mm"]).unwrap();
    sheet.write_row(1, 0, [10.0, 0.5, -2.0]).unwrap();
    let mut points = Vec::new();
    PointReader::from_reader("p.xlsx", Cursor::new(saved(writer))).unwrap().fill(&mut points, 10).unwrap();
    assert_eq!(points, [nalgebra::Vector3::new(0.01, 0.0005, -0.002)]);
}

/// A table of fractions. The field shows that a quantity with a unit is not one.
const PARTS: &[Column] =
    &[Column::quantity("accuracy", Dimension::Fraction), Column::quantity("field", Dimension::FluxDensity)];

fn parts(bytes: Vec<u8>) -> Result<Table> {
    Table::collect(TableReader::from_reader("r.xlsx", Cursor::new(bytes), PARTS)?)
}

#[test]
fn a_cell_shown_as_money_is_a_text_with_its_currency_and_a_number_as_any_other() {
    const PRICES: &[Column] =
        &[Column::text("note"), Column::quantity("turns", Dimension::Number).required()];
    let of = |bytes: Vec<u8>| {
        let reader = TableReader::from_reader("p.xlsx", Cursor::new(bytes), PRICES).unwrap();
        let row = Table::collect(reader).unwrap().rows.remove(0);
        (row.text("note").unwrap().to_owned(), row.quantity("turns"))
    };
    let money = Format::new().set_num_format("[$$-409]#,##0.00");
    let mut writer = Writer::new();
    let sheet = writer.add_worksheet();
    sheet.write(0, 0, "note").unwrap().write(0, 1, "turns").unwrap();
    sheet.write_number_with_format(1, 0, 385.5, &money).unwrap();
    sheet.write_number_with_format(1, 1, 300, &money).unwrap();
    assert_eq!(of(saved(writer)), ("385.5 $".into(), Some(300.0)));
    let cell =
        "<table:table-cell office:value-type=\"currency\" office:currency=\"GBP\" office:value=\"385.5\"/>";
    let rows = row(&[text("note"), text("turns")]) + &row(&[cell.into(), cell.into()]);
    assert_eq!(of(ods(&rows)), ("385.5 GBP".into(), Some(385.5)));
}

#[test]
fn a_cell_shown_in_percent_is_read_as_shown_whatever_the_unit_of_its_heading() {
    for heading in ["accuracy_percent", "accuracy_ppm"] {
        let mut writer = Writer::new();
        let sheet = writer.add_worksheet();
        sheet.write(0, 0, heading).unwrap();
        for (row, format) in ["0.0%", "0.00 %", "[Red]0%", "#,##0.0\\ %"].into_iter().enumerate() {
            let format = Format::new().set_num_format(format);
            sheet.write_number_with_format(row as u32 + 1, 0, 0.005, &format).unwrap();
        }
        let table = parts(saved(writer)).unwrap();
        assert!(table.rows.iter().all(|row| row.quantity("accuracy") == Some(0.005)), "{table:?}");
        assert_eq!(table.rows.len(), 4);
        let percent = "<table:table-cell office:value-type=\"percentage\" office:value=\"0.005\"><text:p>0.5 %</text:p>\
                       </table:table-cell>";
        let rows =
            row(&[text(heading)]) + &row(&[percent.into()]) + &row(&[float(2.0)]) + &row(&[percent.into()]);
        let table = parts(ods(&rows)).unwrap();
        let values: Vec<_> = table.rows.iter().map(|row| row.quantity("accuracy").unwrap()).collect();
        let plain = if heading == "accuracy_percent" { 0.02 } else { 2e-6 };
        assert_eq!(values, [0.005, plain, 0.005]);
    }
    // A percent sign within quoted text changes nothing, and a field is not a fraction.
    let mut writer = xlsx();
    let text = Format::new().set_num_format("0.0 \"of 100 %\"");
    readings(&mut writer).write_number_with_format(3, 3, 0.26, &text).unwrap();
    assert_eq!(read(saved(writer)).unwrap().rows[0].quantity("field"), Some(0.26e-3));
    let mut writer = xlsx();
    let percent = Format::new().set_num_format("0%");
    readings(&mut writer).write_number_with_format(3, 3, 0.26, &percent).unwrap();
    let error = read(saved(writer)).unwrap_err();
    assert_eq!(
        error.to_string(),
        "r.xlsx, sheet `Readings`, row 4, cell D4: `field_mT` is shown in percent (26 %), but is not a fraction"
    );
    assert!(error.hint().unwrap().contains("format the column as number"));
}

/// The workbook with a text in its second sheet replaced.
fn edited(from: &str, to: &str) -> Vec<u8> {
    let bytes = saved(xlsx());
    let mut archive = zip::ZipArchive::new(Cursor::new(&bytes)).unwrap();
    let mut out = zip::ZipWriter::new(Cursor::new(Vec::new()));
    let mut found = false;
    for index in 0..archive.len() {
        let mut part = archive.by_index(index).unwrap();
        let name = part.name().unwrap().into_owned();
        let mut content = Vec::new();
        part.read_to_end(&mut content).unwrap();
        if name == "xl/worksheets/sheet2.xml" {
            let text = String::from_utf8(content).unwrap();
            found = text.contains(from);
            content = text.replacen(from, to, 1).into_bytes();
        }
        out.start_file(name, zip::write::SimpleFileOptions::default()).unwrap();
        out.write_all(&content).unwrap();
    }
    assert!(found, "{from}");
    out.finish().unwrap().into_inner()
}

#[test]
fn a_cell_beyond_every_sheet_is_refused_before_memory_is_asked_for() {
    for name in ["XFE5", "C1048577", "ZZZZZZ5", "ZZZZZZZZZZ5", "C99999999999"] {
        let error = read(edited("r=\"C5\"", &format!("r=\"{name}\""))).unwrap_err();
        assert_eq!(
            error.to_string(),
            format!(
                "cannot read r.xlsx: the workbook has a cell beyond row 1048576 or column XFD, the last of any sheet: `{name}`"
            )
        );
        assert!(error.hint().is_some());
    }
    for (from, to) in
        [("<row r=\"5\"", "<row r=\"9999999999\""), ("<dimension ref=\"", "<dimension ref=\"ZZZZZZZZZ1:")]
    {
        assert!(read(edited(from, to)).unwrap_err().to_string().contains("beyond row 1048576"), "{to}");
    }
    // The last column is valid; only the table has no heading there.
    let error = read(edited("r=\"D5\"", "r=\"XFD5\"")).unwrap_err().to_string();
    assert!(error.starts_with("r.xlsx, sheet `Readings`, row 5"), "{error}");
    // Cells without a name follow each other and may also leave the sheet.
    let unnamed = "<c/>".repeat(17_000);
    let error = read(edited("<c r=\"D5\"", &format!("{unnamed}<c"))).unwrap_err();
    assert!(error.to_string().contains("the sheet `Readings` has a cell beyond row"), "{error}");
    let far: String =
        (10..300).map(|row| format!("<row r=\"{row}\"><c r=\"XFD{row}\"><v>1</v></c></row>")).collect();
    let error = read(edited("</sheetData>", &(far + "</sheetData>"))).unwrap_err();
    assert!(error.to_string().contains("more than four million cells"), "{error}");
}

#[test]
fn a_formula_without_its_value_is_told_and_one_with_its_value_is_read() {
    let formula = "<c r=\"D5\"><f>2*C5</f>";
    let given = edited("<c r=\"D5\">", formula);
    assert_eq!(read(given).unwrap().rows[1].quantity("field"), Some(-1.283e-3));
    let error = read(edited("<c r=\"D5\"><v>-1.283</v>", formula)).unwrap_err();
    assert_eq!(
        error.to_string(),
        "r.xlsx, sheet `Readings`, row 5, cell D5: `field_mT` holds a formula without its value"
    );
    assert!(error.hint().unwrap().contains("open it in a spreadsheet program and save it again"));
    let heading = row(&["current_A", "field_mT"].map(text));
    let formula = "<table:table-cell table:formula=\"of:=1+1\"/>".to_owned();
    let error = read(ods(&(heading + &row(&[float(1.0), formula])))).unwrap_err();
    assert!(
        error.to_string().ends_with("row 2, cell B2: `field_mT` holds a formula without its value"),
        "{error}"
    );
}

#[test]
fn archives_that_grow_without_bound_are_refused_before_they_do() {
    let mut archive = zip::ZipWriter::new(Cursor::new(Vec::new()));
    archive.start_file("xl/workbook.xml", zip::write::SimpleFileOptions::default()).unwrap();
    let megabyte = vec![b' '; 1 << 20];
    for _ in 0..100 {
        archive.write_all(&megabyte).unwrap();
    }
    let bytes = archive.finish().unwrap().into_inner();
    assert!(bytes.len() < 1 << 20, "{} bytes", bytes.len());
    assert_eq!(
        read(bytes).unwrap_err().to_string(),
        "cannot read r.xlsx: the workbook unpacks to more than 96 MiB"
    );
    let cell = "<table:table-cell office:value-type=\"float\" office:value=\"1\" \
                table:number-columns-repeated=\"16384\"/>";
    for rows in [
        format!("<table:table-row table:number-rows-repeated=\"1048576\">{cell}</table:table-row>"),
        format!("{}{REST}{}", row(&[text("label")]), row(&[text("far"), cell.to_owned()])),
        format!("<table:table-row>{cell}</table:table-row>").repeat(300),
    ] {
        let message = read(ods(&rows)).unwrap_err().to_string();
        assert!(message.contains("more than four million cells"), "{message}");
    }
    // A number of repeats written with a character reference is decoded by the reader.
    let long = text(&"y".repeat(30_000));
    let coded = format!("<table:table-row table:number-rows-repeated=\"&#57;9999\">{long}</table:table-row>");
    let message = read(ods(&coded)).unwrap_err().to_string();
    assert!(message.contains("more than"), "{message}");
}

#[test]
fn what_is_no_workbook_is_told_by_its_kind() {
    let old = [OLD_WORKBOOK, b"\xa1\xb1\x1a\xe1 and more"].concat();
    let error = read(old).unwrap_err();
    assert_eq!(error.to_string(), "cannot read r.xlsx: it is an old workbook (.xls) or a locked one");
    let mut archive = zip::ZipWriter::new(Cursor::new(Vec::new()));
    archive.start_file("photo.txt", zip::write::SimpleFileOptions::default()).unwrap();
    let error = read(archive.finish().unwrap().into_inner()).unwrap_err();
    assert_eq!(error.to_string(), "cannot read r.xlsx: it is an archive, but no .xlsx or .ods workbook");
    let error = read(saved(xlsx())[..800].to_vec()).unwrap_err();
    assert!(error.to_string().starts_with("cannot read r.xlsx: the workbook is damaged"), "{error}");
}

#[test]
fn cells_are_named_as_a_spreadsheet_names_them() {
    for (column, name) in [(0, "A7"), (25, "Z7"), (26, "AA7"), (701, "ZZ7"), (702, "AAA7"), (16_383, "XFD7")]
    {
        assert_eq!(cell_name(column, 7), name);
    }
}

/// The archive with one of its parts corrupted, so that the corrupted text reaches the reader of sheets.
fn with_spoiled_part(bytes: &[u8], part: usize, at: usize, text: &[u8]) -> Vec<u8> {
    let mut from = zip::ZipArchive::new(Cursor::new(bytes)).unwrap();
    let mut to = zip::ZipWriter::new(Cursor::new(Vec::new()));
    let spoiled = part % from.len();
    for index in 0..from.len() {
        let mut entry = from.by_index(index).unwrap();
        let name = entry.name().unwrap().into_owned();
        let mut content = Vec::new();
        entry.read_to_end(&mut content).unwrap();
        if index == spoiled && !content.is_empty() {
            let start = at % content.len();
            let end = (start + text.len()).min(content.len());
            content.splice(start..end, text.iter().copied());
        }
        to.start_file(name, zip::write::SimpleFileOptions::default()).unwrap();
        to.write_all(&content).unwrap();
    }
    to.finish().unwrap().into_inner()
}

proptest! {
    #[test]
    fn no_spoiled_workbook_makes_the_reader_panic(
        is_ods in any::<bool>(),
        part in 0..20_usize,
        at in 0..20_000_usize,
        text in "([0-9]{1,12}|[<>/\"=&;: a-z]{1,12}|-|[A-Z]{1,4}[0-9]{0,9})",
    ) {
        let bytes = if is_ods { ods_readings() } else { saved(xlsx()) };
        drop(read(with_spoiled_part(&bytes, part, at, text.as_bytes())));
    }

    #[test]
    fn no_spoiled_archive_makes_the_reader_panic(
        edits in prop::collection::vec((0..20_000_usize, any::<u8>()), 1..4),
    ) {
        let mut bytes = saved(xlsx());
        for (at, byte) in edits {
            let at = at % bytes.len();
            bytes[at] = byte;
        }
        drop(read(bytes));
    }
}
