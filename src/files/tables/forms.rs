//! Tests: the forms in which people really have their tables all give the same rows.

use super::*;

const COLUMNS: &[Column] = &[
    Column::text("label"),
    Column::quantity("current", Dimension::Current).required().with_uncertainty().within(-1e3, 1e3),
    Column::quantity("field", Dimension::FluxDensity).required(),
    Column::quantity("air", Dimension::Temperature),
    Column::yes_no("probe_flipped"),
];

fn read_bytes(bytes: &[u8]) -> Result<Table> {
    let bytes = std::io::Cursor::new(bytes.to_vec());
    Table::collect(TableReader::from_reader("r.csv", bytes, COLUMNS)?)
}

fn values(table: &Table) -> Vec<(Option<String>, f64, f64, Option<bool>)> {
    let of = |row: &Row| {
        let number = |name: &str| row.quantity(name).unwrap();
        (row.text("label").map(str::to_owned), number("current"), number("field"), row.yes("probe_flipped"))
    };
    table.rows.iter().map(of).collect()
}

fn utf16(text: &str, bytes: fn(u16) -> [u8; 2]) -> Vec<u8> {
    std::iter::once(0xfeff).chain(text.encode_utf16()).flat_map(bytes).collect()
}

#[test]
fn every_form_of_a_table_gives_the_same_rows() {
    let plain = "label,current_A,field_mT,probe_flipped\nA01,0.62,0.531,no\nA10,-1.5,-1.283,yes\n";
    let wanted = values(&read_bytes(plain.as_bytes()).unwrap());
    assert_eq!(wanted[1], (Some("A10".into()), -1.5, -1.283e-3, Some(true)));
    let tabs = plain.replace(',', "\t");
    let forms: Vec<(&str, Vec<u8>)> = vec![
        (
            "saved again by a spreadsheet",
            "\"# bench, \"\"spec\"\"\",,,,,\r\nlabel,current_A,field_mT,probe_flipped,,\r\n\
             A01,0.62,0.531,no,,\r\nA10,-1.5,-1.283,yes,,\r\n,,,,,\r\n"
                .into(),
        ),
        (
            "with its separator named",
            "sep=;\r\nlabel;current_A;field_mT;probe_flipped\r\nA01;0,62;0,531;NO\r\nA10;-1,5;-1,283;YES\r\n"
                .into(),
        ),
        ("with a comma named", format!("sep=,\n{plain}").into()),
        ("with a mark and a named separator", format!("\u{feff}\"sep=,\"\r\n{plain}").into()),
        ("with tabs", tabs.clone().into()),
        ("with tabs and decimal commas", tabs.replace('.', ",").into()),
        ("as what a spreadsheet calls Unicode text", utf16(&tabs.replace('\n', "\r\n"), u16::to_le_bytes)),
        ("in big-endian UTF-16", utf16(plain, u16::to_be_bytes)),
        (
            "under a title",
            format!("Readings of the north bench; taken 3 March, afternoon,,\n,,,\n{plain}").into(),
        ),
        (
            "under a title and a date",
            format!("North bench\nDate,2026-03-01\nBy,A. Teacher\n\n{plain}").into(),
        ),
        (
            "beside an empty column",
            ",label,current_A,,field_mT,probe_flipped\n,A01,0.62,,0.531,no\n,A10,-1.5,,-1.283,yes\n".into(),
        ),
    ];
    for (form, bytes) in forms {
        let table = read_bytes(&bytes).unwrap_or_else(|error| panic!("{form}: {error}"));
        assert_eq!(values(&table), wanted, "{form}");
    }
}

#[test]
fn a_degree_sign_and_letters_of_windows_1252_are_read() {
    let table = read_bytes(b"label;current_A;field_\xb5T;air_\xb0C\nPr\xfcfling;1,5;857;21,5\n").unwrap();
    assert_eq!(table.rows[0].text("label"), Some("Prüfling"));
    assert_eq!(table.rows[0].quantity("air"), Some(21.5));
    assert_eq!(table.rows[0].quantity("field"), Some(857e-6));
    let error = read_bytes(b"current_A,field_mT,label\n1,2,\x81\n").unwrap_err();
    assert_eq!(error.to_string(), "r.csv, line 2: the line is not UTF-8 text");
    assert!(error.hint().unwrap().contains("UTF-8"));
}

#[test]
fn what_stands_above_the_numbers_and_is_no_heading_is_told() {
    for (text, message) in [
        ("Title\ncurent_A,feld_mT\n1,2\n", "r.csv, line 2: unknown heading `curent_A`"),
        ("a title, with three, parts\ncurent_A,feld_mT\n1,2\n", "r.csv, line 2: unknown heading `curent_A`"),
        ("1,2\ncurrent_A,field_mT\n3,4\n", "r.csv, line 1: `1` stands where a heading belongs"),
        ("Title\nanother\n", "r.csv, line 1: unknown heading `Title`"),
        ("Title\ncurrent_A,fild_mT\n1,2\n", "r.csv, line 2: unknown heading `fild_mT`"),
        ("current_A,,field_mT\n1,5,2\n", "r.csv, line 2: column 2 has no heading and is not empty"),
        ("# only\n\n", "cannot read r.csv: it holds no heading"),
    ] {
        let error = read_bytes(text.as_bytes()).expect_err(text);
        assert_eq!(error.to_string(), message);
        assert!(error.hint().is_some(), "{message}");
    }
}

#[test]
fn every_refused_heading_lists_all_headings() {
    for text in [
        "curent_A,field_mT\n1,2\n",
        "current_A\n1\n",
        "current,field_mT\n1,2\n",
        "current_A,current_mA,field_mT\n1,2,3\n",
    ] {
        let hint = read_bytes(text.as_bytes()).unwrap_err().hint().unwrap();
        for known in [
            "`label`",
            "`current_A`",
            "`current_uncertainty_A`",
            "`field_mT`",
            "`air_degC`",
            "`probe_flipped`",
        ] {
            assert!(hint.contains(known), "{text}: {hint}");
        }
    }
}

#[test]
fn values_that_no_bench_has_and_too_many_rows_are_refused() {
    let error = read_bytes(b"current_A,field_mT\n1,2\n1800,2\n").unwrap_err();
    assert_eq!(error.to_string(), "r.csv, line 3: `current_A` is 1800 A, and -1000 A to 1000 A is allowed");
    assert!(error.hint().unwrap().contains("decimal point"));
    let error = read_bytes(b"current_A,current_uncertainty_A,field_mT\n1,1e300,2\n").unwrap_err();
    assert_eq!(
        error.to_string(),
        "r.csv, line 2: `current_uncertainty_A` is 1.000e300 in SI units, and at most 1000 A is allowed"
    );
    let many = String::from("current_A,field_mT\n") + &"1,2\n".repeat(Table::MOST_ROWS + 1);
    let error = read_bytes(many.as_bytes()).unwrap_err();
    assert_eq!(error.to_string(), "cannot read r.csv: it has more than 20000 rows");
    assert!(error.hint().is_some());
}
