//! The first line of a table: which column stands where, and in which unit.

use super::line::LineReader;
use super::{Column, Kind};
use crate::units::nearest::nearest;
use crate::units::{Dimension, Unit, shortened, unit};
use crate::{Error, Result};

/// What one column of the file holds.
#[derive(Clone, Copy, Debug)]
pub(super) struct Cell {
    /// Its place in the list of known columns.
    pub column: usize,
    /// Whether these are the standard uncertainties of that column.
    pub uncertainty: bool,
    /// The unit of the heading.
    pub unit: Unit,
}

/// The heading of a table, understood.
pub(super) struct Heading {
    /// The line it stands on.
    pub line: u64,
    /// Comma or semicolon.
    pub separator: u8,
    /// What each column of the file holds; none where it is passed over.
    pub cells: Vec<Option<Cell>>,
    /// The headings as written.
    pub names: Vec<String>,
}

impl Heading {
    /// Reads the heading; lines before it that start with `#` are passed over. So are columns that are not known where
    /// every known one is required.
    pub fn read(lines: &mut LineReader, columns: &[Column]) -> Result<Self> {
        let separator = first_line(lines)?;
        lines.cut(separator)?;
        let mut names: Vec<String> =
            lines.fields().map(|field| String::from_utf8_lossy(field).into_owned()).collect();
        // Spreadsheets like to end every line with separators.
        while names.last().is_some_and(String::is_empty) {
            names.pop();
        }
        let mut cells: Vec<Option<Cell>> = Vec::new();
        for name in &names {
            let cell = understood(name, columns);
            let same = |known: &Cell| {
                cell.is_some_and(|cell| (cell.column, cell.uncertainty) == (known.column, known.uncertainty))
            };
            if cells.iter().flatten().any(same) {
                let message = format!("`{}` is the second column of its kind", shortened(name));
                return Err(lines.refuse(message, Some("keep one of the two")));
            }
            cells.push(cell);
        }
        let has =
            |column: usize| cells.iter().flatten().any(|cell| cell.column == column && !cell.uncertainty);
        let lacking = (0..columns.len()).find(|column| columns[*column].required && !has(*column));
        let strange = names.iter().zip(&cells).find(|(_, cell)| cell.is_none()).map(|(name, _)| name);
        if let Some(name) =
            strange.filter(|_| lacking.is_some() || columns.iter().any(|column| !column.required))
        {
            return Err(unknown(lines, name, columns));
        }
        if let Some(column) = lacking {
            return Err(missing(lines, &columns[column]));
        }
        if let Some(alone) = cells.iter().flatten().find(|cell| cell.uncertainty && !has(cell.column)) {
            return Err(missing(lines, &columns[alone.column]));
        }
        Ok(Self { line: lines.line(), separator, cells, names })
    }

    /// Whether the table has this column.
    pub fn has(&self, columns: &[Column], name: &str, uncertainty: bool) -> bool {
        let wanted = |cell: &Cell| columns[cell.column].name == name && cell.uncertainty == uncertainty;
        self.cells.iter().flatten().any(wanted)
    }

    /// Whether the first column of the file holds text.
    pub fn starts_with_text(&self, columns: &[Column]) -> bool {
        matches!(self.cells.first(), Some(Some(cell)) if columns[cell.column].kind == Kind::Text)
    }

    /// Refuses a row that is longer or shorter than the heading, unless only empty cells make the difference.
    pub fn check_count(&self, lines: &LineReader) -> Result<()> {
        let (found, wanted) = (lines.count(), self.cells.len());
        let extra_is_empty = (wanted..found).all(|place| lines.field(place).is_empty());
        if found == wanted || (found > wanted && extra_is_empty) {
            return Ok(());
        }
        let hint = match self.separator {
            b',' if found > wanted => {
                "a decimal comma needs semicolons between the columns; otherwise write a decimal point"
            }
            _ => "leave a cell empty where nothing is known, but keep its separator",
        };
        let entries = if found == 1 { "1 cell" } else { &format!("{found} cells") };
        Err(lines.refuse(format!("{entries}, and the heading has {wanted}"), Some(hint)))
    }
}

/// Reads up to the heading and finds what separates the columns.
fn first_line(lines: &mut LineReader) -> Result<u8> {
    loop {
        if !lines.next_uncut()? {
            return Err(lines.unreadable("it holds no heading"));
        }
        if lines.line() == 1 {
            let text = lines.text();
            if text.starts_with(b"\xff\xfe") || text.starts_with(b"\xfe\xff") {
                return Err(lines.unreadable("it is UTF-16 text; save it as UTF-8"));
            }
            if text.starts_with(b"\xef\xbb\xbf") {
                text.drain(..3);
            }
        }
        let text = lines.text();
        if text.starts_with(b"{") {
            return Err(lines.unreadable("it is JSON, not a table"));
        }
        if text.contains(&0) {
            return Err(lines.unreadable("it is not a text file: it holds zero bytes"));
        }
        if !lines.is_comment() && lines.text().iter().any(|byte| !b" \t,;".contains(byte)) {
            break;
        }
    }
    let text = lines.text();
    let has = |byte: u8| text.contains(&byte);
    match (has(b','), has(b';'), has(b'\t')) {
        (true, true, _) => Err(lines.refuse(
            "the heading has commas and semicolons",
            Some("separate the columns by one of the two, and use neither inside a heading"),
        )),
        (_, true, _) => Ok(b';'),
        (false, false, true) => {
            Err(lines.refuse("the columns are separated by tabs", Some("save with commas or semicolons")))
        }
        _ => Ok(b','),
    }
}

/// What a heading means, if it is one of these columns in a unit that the column can have.
fn understood(name: &str, columns: &[Column]) -> Option<Cell> {
    columns.iter().enumerate().find_map(|(column, known)| {
        let rest = name.strip_prefix(known.name)?;
        let Kind::Quantity(dimension) = known.kind else {
            return rest.is_empty().then_some(Cell { column, uncertainty: false, unit: unit::ONE });
        };
        let (rest, uncertainty) = match rest.strip_prefix("_uncertainty") {
            Some(rest) if known.uncertain => (rest, true),
            _ => (rest, false),
        };
        let unit = match (dimension, rest.strip_prefix('_')) {
            (Dimension::Number, None) if rest.is_empty() => unit::ONE,
            (_, Some(written)) => of_uncertainty(dimension, uncertainty).unit_named(written)?,
            _ => return None,
        };
        Some(Cell { column, uncertainty, unit })
    })
}

/// The uncertainty of a temperature is a difference; every other one is of its own kind.
fn of_uncertainty(dimension: Dimension, uncertainty: bool) -> Dimension {
    match dimension {
        Dimension::Temperature if uncertainty => Dimension::TemperatureDifference,
        same => same,
    }
}

/// A heading as it may be written.
pub(super) fn example(column: &Column) -> String {
    match column.kind {
        Kind::Quantity(Dimension::Number) | Kind::YesNo | Kind::Text => column.name.to_owned(),
        Kind::Quantity(dimension) => format!("{}_{}", column.name, dimension.units()[0].names[0]),
    }
}

/// Every heading that is understood, one for each unit.
fn all_headings(columns: &[Column]) -> Vec<String> {
    let mut all = Vec::new();
    for column in columns {
        let Kind::Quantity(dimension) = column.kind else {
            all.push(column.name.to_owned());
            continue;
        };
        let uncertainties: &[bool] = if column.uncertain { &[false, true] } else { &[false] };
        for &uncertainty in uncertainties {
            let middle = if uncertainty { "_uncertainty" } else { "" };
            for unit in of_uncertainty(dimension, uncertainty).units() {
                all.extend(unit.names.iter().map(|name| match *name {
                    "" => format!("{}{middle}", column.name),
                    name => format!("{}{middle}_{name}", column.name),
                }));
            }
        }
    }
    all
}

fn unknown(lines: &LineReader, name: &str, columns: &[Column]) -> Error {
    if name.is_empty() {
        return lines.refuse("a column has no heading", Some("name every column, or delete the empty one"));
    }
    if name.parse::<f64>().is_ok() {
        let wanted: Vec<_> = columns.iter().map(example).collect();
        return lines.refuse(
            format!("`{}` stands where a heading belongs", shortened(name)),
            Some(&format!(
                "name the columns on a line above the numbers, without a `#`: {}",
                wanted.join(",")
            )),
        );
    }
    let without_unit = columns.iter().find(|column| column.name == name);
    if let Some(column) = without_unit {
        let message = format!("the heading `{name}` has no unit");
        return lines
            .refuse(message, Some(&format!("write it with its unit, such as `{}`", example(column))));
    }
    let all = all_headings(columns);
    let known: Vec<_> = columns.iter().map(|column| format!("`{}`", example(column))).collect();
    let known = format!("known: {}", known.join(", "));
    let hint = match nearest(name, all.iter().map(String::as_str)) {
        Some(meant) => format!("did you mean `{meant}`? {known}"),
        None => known,
    };
    lines.refuse(format!("unknown heading `{}`", shortened(name)), Some(&hint))
}

fn missing(lines: &LineReader, column: &Column) -> Error {
    let units = match column.kind {
        Kind::Quantity(dimension) if dimension != Dimension::Number => {
            format!(" (units: {})", dimension.allowed())
        }
        _ => String::new(),
    };
    lines.refuse(
        format!("the heading has no `{}`", column.name),
        Some(&format!("add a column such as `{}`{units}", example(column))),
    )
}
