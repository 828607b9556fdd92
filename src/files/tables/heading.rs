//! The heading of a table: its columns and their units.

use super::column::{Column, Kind};
use super::line::LineReader;
use crate::units::nearest::nearest;
use crate::units::{Dimension, Unit, shortened, unit};
use crate::{Error, Result};

/// The content of one column of the file.
#[derive(Clone, Copy, Debug)]
pub(super) struct Cell {
    /// Its index in the list of known columns.
    pub column: usize,
    /// Whether these are the standard uncertainties of that column.
    pub uncertainty: bool,
    /// The unit of the heading.
    pub unit: Unit,
}

/// The parsed heading of a table.
pub(super) struct Heading {
    /// Its line.
    pub line: u64,
    /// Comma, semicolon or tab.
    pub separator: u8,
    /// The content of each column of the file; `None` if it is skipped.
    pub cells: Vec<Option<Cell>>,
    /// The headings as written.
    pub names: Vec<String>,
    /// Whether unknown columns are skipped.
    passes_over: bool,
}

/// No heading was found.
pub(super) struct NotFound {
    pub error: Error,
    /// Whether some row has a known heading, so that this is the intended table.
    pub some_known: bool,
}

impl From<Error> for NotFound {
    fn from(error: Error) -> Self {
        Self { error, some_known: false }
    }
}

/// The fields of the last line read, as text.
pub(super) fn names(lines: &LineReader) -> Vec<String> {
    lines.fields().map(|field| String::from_utf8_lossy(field).into_owned()).collect()
}

/// The meaning of each heading; `None` if it is unknown.
fn cells(lines: &LineReader, names: &[String], columns: &[Column]) -> Result<Vec<Option<Cell>>> {
    let mut cells: Vec<Option<Cell>> = Vec::with_capacity(names.len());
    for (place, name) in names.iter().enumerate() {
        let cell = understood(name, columns);
        let same = |known: &Cell| {
            cell.is_some_and(|cell| (cell.column, cell.uncertainty) == (known.column, known.uncertainty))
        };
        if cells.iter().flatten().any(same) {
            let message = format!("`{}` is the second column of its kind", shortened(name));
            let hint = format!("keep one of the two; {}", known(columns));
            return Err(lines.refuse_field(place, message, Some(&hint)));
        }
        cells.push(cell);
    }
    Ok(cells)
}

impl Heading {
    /// The heading on the last line read, split at `separator`. Unknown columns are skipped if every known one is
    /// required.
    pub(super) fn of_line(lines: &LineReader, separator: u8, columns: &[Column]) -> Result<Self> {
        let mut names = names(lines);
        // Spreadsheets often end every line with separators.
        while names.last().is_some_and(String::is_empty) {
            names.pop();
        }
        let cells = cells(lines, &names, columns)?;
        let has =
            |column: usize| cells.iter().flatten().any(|cell| cell.column == column && !cell.uncertainty);
        let lacking = (0..columns.len()).find(|column| columns[*column].required && !has(*column));
        let passes_over = columns.iter().all(|column| column.required);
        let strange = (0..names.len()).find(|place| cells[*place].is_none() && !names[*place].is_empty());
        if let Some(place) = strange.filter(|_| lacking.is_some() || !passes_over) {
            return Err(unknown(lines, place, &names[place], columns));
        }
        if let Some(column) = lacking {
            return Err(missing(lines, &columns[column], columns));
        }
        if let Some(alone) = cells.iter().flatten().find(|cell| cell.uncertainty && !has(cell.column)) {
            return Err(missing(lines, &columns[alone.column], columns));
        }
        Ok(Self { line: lines.line(), separator, cells, names, passes_over })
    }

    /// Refuses a row with a value in a column without a heading.
    pub(crate) fn check_named(&self, lines: &LineReader) -> Result<()> {
        let stray = (0..self.names.len())
            .find(|place| self.names[*place].is_empty() && !lines.field(*place).is_empty());
        match stray.filter(|_| !self.passes_over) {
            None => Ok(()),
            Some(place) => Err(lines.refuse_field(
                place,
                format!("column {} has no heading and is not empty", place + 1),
                Some("name every column, or delete what stands in it"),
            )),
        }
    }

    /// Whether the table has this column.
    pub(super) fn has(&self, columns: &[Column], name: &str, uncertainty: bool) -> bool {
        let wanted = |cell: &Cell| columns[cell.column].name == name && cell.uncertainty == uncertainty;
        self.cells.iter().flatten().any(wanted)
    }

    /// Whether the first column of the file contains text.
    pub(crate) fn starts_with_text(&self, columns: &[Column]) -> bool {
        matches!(self.cells.first(), Some(Some(cell)) if matches!(columns[cell.column].kind, Kind::Text | Kind::TextOrDay))
    }

    /// Refuses a row longer or shorter than the heading, unless the difference is only empty cells.
    pub(crate) fn check_count(&self, lines: &LineReader) -> Result<()> {
        let (found, wanted) = (lines.count(), self.cells.len());
        let extra_is_empty = (wanted..found).all(|place| lines.field(place).is_empty());
        // In a sheet each row ends at its last filled cell.
        let may_be_short = lines.sheet().is_some();
        if found == wanted || (found < wanted && may_be_short) || (found > wanted && extra_is_empty) {
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

/// The meaning of a heading; `None` if it is not one of these columns with a unit that the column can have.
///
/// It is written `current_A`, or as people write it: `Current (A)`, `I [A]`, `I/A`, `current in A`; a standard uncertainty
/// `current_uncertainty_A`, `u(I) (A)`, `u(I)/A`, `uncertainty of current in A`.
pub(super) fn understood(name: &str, columns: &[Column]) -> Option<Cell> {
    exactly(name, columns).or_else(|| text_column(name, columns)).or_else(|| {
        let (written, unit) = quantity_and_unit(name)?;
        let of = uncertainty_of(written);
        let quantity = of.unwrap_or(written);
        let spelled = quantity.to_lowercase().replace([' ', '-'], "_");
        let column =
            columns.iter().find(|known| known.name == spelled || known.symbols.contains(&quantity))?;
        let middle = if of.is_some() { "_uncertainty" } else { "" };
        exactly(&format!("{}{middle}_{unit}", column.name), columns)
    })
}

/// A column of texts by one of its names, in capitals or not.
fn text_column(name: &str, columns: &[Column]) -> Option<Cell> {
    let name = name.trim().to_lowercase();
    let is_it = |known: &Column| {
        known.kind == Kind::Text && (known.name == name || known.symbols.contains(&name.as_str()))
    };
    let column = columns.iter().position(is_it)?;
    Some(Cell { column, uncertainty: false, unit: unit::ONE })
}

/// What a standard uncertainty belongs to: `I` of `u(I)`, `u_I` or `uncertainty of I`. A capital U is an expanded one, and no
/// column takes that.
fn uncertainty_of(quantity: &str) -> Option<&str> {
    let in_brackets = quantity.strip_prefix("u(").and_then(|rest| rest.strip_suffix(')'));
    let in_words = || {
        let begins = |words: &str| {
            let first = quantity.get(..words.len())?;
            first.eq_ignore_ascii_case(words).then(|| &quantity[words.len()..])
        };
        begins("uncertainty of ").or_else(|| begins("standard uncertainty of "))
    };
    in_brackets.or_else(|| quantity.strip_prefix("u_")).or_else(in_words).map(str::trim)
}

/// A quantity and its unit apart: `I (A)`, `I [A]`, `I/A`, `I in A`. `None` if the text has no unit.
pub fn quantity_and_unit(name: &str) -> Option<(&str, &str)> {
    let name = name.trim();
    let in_brackets =
        |open: char, close: char| name.strip_suffix(close).and_then(|rest| rest.rsplit_once(open));
    let (quantity, unit) = in_brackets('(', ')')
        .or_else(|| in_brackets('[', ']'))
        .or_else(|| name.rsplit_once(" in "))
        .or_else(|| name.split_once('/'))?;
    let (quantity, unit) = (quantity.trim(), unit.trim());
    (!quantity.is_empty() && !unit.is_empty()).then_some((quantity, unit))
}

fn exactly(name: &str, columns: &[Column]) -> Option<Cell> {
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

/// The uncertainty of a temperature is a temperature difference; every other uncertainty has the dimension of its
/// quantity.
pub(super) fn of_uncertainty(dimension: Dimension, uncertainty: bool) -> Dimension {
    match dimension {
        Dimension::Temperature if uncertainty => Dimension::TemperatureDifference,
        same => same,
    }
}

/// An example of a heading.
pub(super) fn example(column: &Column) -> String {
    match column.kind {
        Kind::Quantity(Dimension::Number) | Kind::YesNo | Kind::Text | Kind::TextOrDay => {
            column.name.to_owned()
        }
        Kind::Quantity(dimension) => format!("{}_{}", column.name, dimension.units()[0].names[0]),
    }
}

/// All accepted headings, one for each unit.
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

/// All headings of the table, one for each column, for an error message.
pub(super) fn known(columns: &[Column]) -> String {
    let mut headings = Vec::new();
    for column in columns {
        headings.push(format!("`{}`", example(column)));
        if let Kind::Quantity(dimension) = column.kind
            && column.uncertain
        {
            let unit = of_uncertainty(dimension, true).units()[0].names[0];
            let unit = if unit.is_empty() { String::new() } else { format!("_{unit}") };
            headings.push(format!("`{}_uncertainty{unit}`", column.name));
        }
    }
    format!("known: {}, each in any unit of its kind", headings.join(", "))
}

/// The error for an unknown heading, with the heading probably meant.
pub(super) fn unknown(lines: &LineReader, place: usize, name: &str, columns: &[Column]) -> Error {
    if name.parse::<f64>().is_ok() {
        let wanted: Vec<_> = columns.iter().map(example).collect();
        return lines.refuse_field(
            place,
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
        let hint = format!("write it with its unit, such as `{}`; {}", example(column), known(columns));
        return lines.refuse_field(place, message, Some(&hint));
    }
    let all = all_headings(columns);
    let known = known(columns);
    if quantity_and_unit(name).is_some_and(|(quantity, _)| quantity.starts_with("U(")) {
        let message = format!("`{}` is an expanded uncertainty", shortened(name));
        let hint = format!("divide it by its coverage factor, and head it with a small u; {known}");
        return lines.refuse_field(place, message, Some(&hint));
    }
    let hint = match nearest(name, all.iter().map(String::as_str)) {
        Some(meant) => format!("did you mean `{meant}`? {known}"),
        None => known,
    };
    lines.refuse_field(place, format!("unknown heading `{}`", shortened(name)), Some(&hint))
}

fn missing(lines: &LineReader, column: &Column, columns: &[Column]) -> Error {
    let units = match column.kind {
        Kind::Quantity(dimension) if dimension != Dimension::Number => {
            format!(" (units: {})", dimension.allowed())
        }
        _ => String::new(),
    };
    lines.refuse(
        format!("the heading has no `{}`", column.name),
        Some(&format!("add a column such as `{}`{units}; {}", example(column), known(columns))),
    )
}
