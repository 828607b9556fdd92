//! The columns that a table may have.

use crate::units::Dimension;

/// The content of a column's cells.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// A number in the unit of the heading; [`Dimension::Number`] has none.
    Quantity(Dimension),
    /// `yes` or `no`.
    YesNo,
    /// Anything but a date, which a spreadsheet made of something else.
    Text,
    /// Anything.
    TextOrDay,
}

/// A column that a table may have.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Column {
    /// The heading without its unit.
    pub name: &'static str,
    /// What the cells hold.
    pub kind: Kind,
    /// Whether every table must have it and every row must fill it.
    pub required: bool,
    /// Whether rows may leave it blank although every table must have it.
    pub may_be_blank: bool,
    /// Whether a column of standard uncertainties may accompany it.
    pub uncertain: bool,
    /// The letters that usually stand for the quantity.
    pub symbols: &'static [&'static str],
    /// Smallest and largest possible value, in SI units (°C for temperatures).
    pub limits: Option<[f64; 2]>,
}

impl Column {
    /// A column of numbers with a unit.
    pub const fn quantity(name: &'static str, dimension: Dimension) -> Self {
        Self {
            name,
            kind: Kind::Quantity(dimension),
            required: false,
            may_be_blank: false,
            uncertain: false,
            symbols: &[],
            limits: None,
        }
    }

    /// A column of `yes` and `no`.
    pub(crate) const fn yes_no(name: &'static str) -> Self {
        Self {
            name,
            kind: Kind::YesNo,
            required: false,
            may_be_blank: false,
            uncertain: false,
            symbols: &[],
            limits: None,
        }
    }

    /// A column of text.
    pub const fn text(name: &'static str) -> Self {
        Self {
            name,
            kind: Kind::Text,
            required: false,
            may_be_blank: false,
            uncertain: false,
            symbols: &[],
            limits: None,
        }
    }

    /// A column of text in which dates are meant as such.
    pub(crate) const fn text_or_day(name: &'static str) -> Self {
        Self {
            name,
            kind: Kind::TextOrDay,
            required: false,
            may_be_blank: false,
            uncertain: false,
            symbols: &[],
            limits: None,
        }
    }

    /// The same column, required in every table and filled in every row.
    pub const fn required(self) -> Self {
        Self { required: true, ..self }
    }

    /// The same column, required in every table, which rows may leave blank.
    pub(crate) const fn in_every_table(self) -> Self {
        Self { required: true, may_be_blank: true, ..self }
    }

    /// The same column, with values outside these limits refused as a wrong unit or decimal point.
    pub const fn within(self, least: f64, most: f64) -> Self {
        Self { limits: Some([least, most]), ..self }
    }

    /// The user's name for a row, under the headings that people give it.
    pub(crate) const fn label() -> Self {
        Self::text("label").as_symbol(&["group", "name", "run", "reading"])
    }

    /// The same column, which may be headed by one of these letters and a unit, as in "I (A)"; one of texts by one of these
    /// words.
    pub const fn as_symbol(self, symbols: &'static [&'static str]) -> Self {
        Self { symbols, ..self }
    }

    /// The same column, which `NAME_uncertainty_UNIT` may accompany.
    pub(crate) const fn with_uncertainty(self) -> Self {
        Self { uncertain: true, ..self }
    }
}
