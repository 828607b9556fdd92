//! The content of a workbook's sheet, and how to recognise a workbook.

/// The content of a filled cell.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(not(feature = "sheets"), expect(dead_code, reason = "only a reader of workbooks makes cells"))]
pub(super) enum Cell {
    Number(f64),
    /// A number that the sheet shows in percent: 0.005 for `0.5 %`.
    Percent(f64),
    /// A number that the sheet shows with the sign or code of a currency.
    Money(f64, String),
    Text(String),
    /// A date or time of day, which a spreadsheet makes of `3-4` or `1.5`; as `2026-03-01` if it is a whole day.
    Date(Option<String>),
    /// A formula whose value was not computed by the program that wrote the file.
    Uncomputed,
}

/// The filled cells of one row, in order, with their columns counted from 0.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct SheetRow {
    /// The row's number, counted from 1.
    pub number: u64,
    pub cells: Vec<(u32, Cell)>,
}

/// One sheet: its non-empty rows in order.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Sheet {
    pub name: String,
    pub rows: Vec<SheetRow>,
}

/// Whether these first bytes are those of a workbook, or of an old one that people take for one.
pub(super) fn is_workbook(start: &[u8]) -> bool {
    start.starts_with(b"PK\x03\x04") || start.starts_with(OLD_WORKBOOK)
}

/// First bytes of `.xls` files, and of workbooks locked by a password.
pub(super) const OLD_WORKBOOK: &[u8] = b"\xd0\xcf\x11\xe0";

/// The name of a cell as a spreadsheet shows it: column 0 of row 1 is `A1`.
pub(super) fn cell_name(column: u32, row: u64) -> String {
    let mut letters = Vec::new();
    let mut rest = u64::from(column) + 1;
    while rest > 0 {
        rest -= 1;
        letters.push(char::from(b'A' + (rest % 26) as u8));
        rest /= 26;
    }
    letters.iter().rev().collect::<String>() + &row.to_string()
}
