//! Which columns a table may have.

use crate::units::Dimension;

/// What the cells of a column hold.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// A number in the unit that the heading names; [`Dimension::Number`] has none.
    Quantity(Dimension),
    /// `yes` or `no`.
    YesNo,
    /// Anything.
    Text,
}

/// One column that a table may have.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Column {
    /// The heading without its unit.
    pub name: &'static str,
    /// What the cells hold.
    pub kind: Kind,
    /// Whether every table has it and every row fills it.
    pub required: bool,
    /// Whether a column of standard uncertainties may stand beside it.
    pub uncertain: bool,
    /// The least and the most that a bench can have, in SI units (°C for temperatures).
    pub limits: Option<[f64; 2]>,
}

impl Column {
    /// A column of numbers with a unit.
    pub const fn quantity(name: &'static str, dimension: Dimension) -> Self {
        Self { name, kind: Kind::Quantity(dimension), required: false, uncertain: false, limits: None }
    }

    /// A column of `yes` and `no`.
    pub(crate) const fn yes_no(name: &'static str) -> Self {
        Self { name, kind: Kind::YesNo, required: false, uncertain: false, limits: None }
    }

    /// A column of text.
    pub const fn text(name: &'static str) -> Self {
        Self { name, kind: Kind::Text, required: false, uncertain: false, limits: None }
    }

    /// The same column, which every table must have and every row must fill.
    pub const fn required(self) -> Self {
        Self { required: true, ..self }
    }

    /// The same column, whose values are refused outside these limits: a slip of the unit or of the point.
    pub const fn within(self, least: f64, most: f64) -> Self {
        Self { limits: Some([least, most]), ..self }
    }

    /// The same column, beside which `NAME_uncertainty_UNIT` may stand.
    pub(crate) const fn with_uncertainty(self) -> Self {
        Self { uncertain: true, ..self }
    }
}
