//! The sections of a printed sheet: facts, tables, lists and pictures.

/// A section of a printed sheet.
#[derive(Clone, Debug)]
pub(crate) enum Section {
    /// Names with their values.
    Facts { heading: &'static str, facts: Vec<(String, String)> },
    /// A table.
    Table { heading: String, caption: String, columns: Vec<Column>, rows: Vec<Vec<String>> },
    /// Sentences.
    List { heading: &'static str, items: Vec<String> },
    /// A picture as SVG.
    Picture { svg: String },
}

/// A column of a printed table.
#[derive(Clone, Debug)]
pub(crate) struct Column {
    /// Heading of the column.
    pub heading: String,
    /// What the column holds, which decides its style.
    pub kind: ColumnKind,
}

/// What a column holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum ColumnKind {
    /// Text, aligned left.
    Text,
    /// Numbers, aligned right.
    Number,
    /// Empty cells to write in.
    Blank,
}

pub(crate) fn text_column(heading: &str) -> Column {
    Column { heading: heading.into(), kind: ColumnKind::Text }
}

pub(crate) fn number_column(heading: &str) -> Column {
    Column { heading: heading.into(), kind: ColumnKind::Number }
}

pub(crate) fn blank_column(heading: &str) -> Column {
    Column { heading: heading.into(), kind: ColumnKind::Blank }
}
