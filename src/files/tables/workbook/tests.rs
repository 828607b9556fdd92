//! Sheets written by another library, and hostile ones written by hand.

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

/// A workbook whose second sheet holds readings under a title, from column B on.
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

/// An `.ods` file with this content in its one sheet, in the form in which office programs write it.
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
    // The sum that no short decimal writes survives to the last bit.
    assert_eq!(first.quantity("current"), Some(0.1 + 0.2));
    assert_eq!((first.line, first.text("label"), first.yes("probe_flipped")), (4, Some("A01"), None));
    assert_eq!((second.quantity("field"), second.yes("probe_flipped")), (Some(-1.283e-3), Some(true)));
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

/// The archive again with one of its parts spoiled, so that the spoiled text reaches the reader of sheets.
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
