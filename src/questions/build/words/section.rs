//! The parts of a printed sheet: facts, tables, lists, pictures.

/// A part of a printed sheet.
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
    /// Its heading.
    pub heading: String,
    /// How it is set.
    pub kind: ColumnKind,
}

/// How a column is set.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum ColumnKind {
    /// Text, to the left.
    Text,
    /// Numbers, to the right.
    Number,
    /// Empty, to write in.
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
