//! Tables as CSV files for spreadsheets: provenance in comments, then a heading and plain numbers.

use super::shortest::Shortest;
use crate::units::{inert, significant, unit};
use std::ops::Range;

/// How a CSV file writes its numbers.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum NumberFormat {
    /// Decimal point, cells separated by commas.
    #[default]
    Point,
    /// Decimal comma, cells separated by semicolons.
    Comma,
}

impl NumberFormat {
    fn separator(self) -> char {
        match self {
            Self::Point => ',',
            Self::Comma => ';',
        }
    }

    fn decimal_mark(self) -> char {
        match self {
            Self::Point => '.',
            Self::Comma => ',',
        }
    }

    /// A number to nine significant digits, never with an exponent; `None` gives an empty cell.
    pub fn number(self, value: Option<f64>) -> String {
        let Some(value) = value.filter(|value| value.is_finite()) else { return String::new() };
        let text = significant(value, unit::ONE, 9);
        let text = if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
        match self {
            Self::Point => text.into(),
            Self::Comma => text.replace('.', ","),
        }
    }

    /// A text as a cell: inert, quoted if needed. A spreadsheet takes no part of it for a formula, even if it uses the
    /// other separator.
    pub fn text(self, text: &str) -> String {
        let harmless = without_formula(&without_formulas_inside(&inert::line(text)));
        if harmless.contains([self.separator(), '"', '\n', '\r']) {
            format!("\"{}\"", harmless.replace('"', "\"\""))
        } else {
            harmless
        }
    }
}

/// Puts an apostrophe, which spreadsheets hide, before a text that they would take for a formula.
pub(crate) fn without_formula(text: &str) -> String {
    if text.starts_with(['=', '+', '-', '@', '\t', '\r']) { format!("'{text}") } else { text.into() }
}

/// A comment above a table: `# `, the text, inert and on one line, and a line end.
///
/// A spreadsheet splits the line at either separator. A part that would then be a formula gets an apostrophe before it.
///
/// ```
/// use coilwright::files::out::csv::comment_line;
/// assert_eq!(comment_line("Bench,=1+1; -0.2 %, beam"), "# Bench,'=1+1; -0.2 %, beam\n");
/// ```
pub fn comment_line(comment: &str) -> String {
    format!("# {}\n", without_formulas_inside(&inert::line(comment)))
}

/// Puts an apostrophe before each part, after a comma or semicolon, that would be a formula.
fn without_formulas_inside(text: &str) -> String {
    let mut harmless = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(at) = rest.find([',', ';']) {
        let (before, after) = rest.split_at(at + 1);
        harmless.push_str(before);
        let end = after.find([',', ';']).unwrap_or(after.len());
        if is_formula(after[..end].trim_start_matches([' ', '"', '\''])) {
            harmless.push('\'');
        }
        rest = after;
    }
    harmless.push_str(rest);
    harmless
}

/// Whether a spreadsheet evaluates a cell that begins like this. A signed number is evaluated too but is not dangerous.
fn is_formula(cell: &str) -> bool {
    let mut characters = cell.chars();
    match characters.next() {
        Some('=' | '@') => true,
        Some('+' | '-') => {
            let operators = ['+', '-', '*', '/', '^', '&', '=', '<', '>', '|', '!', '(', '{', '[', '"', '@'];
            !characters.as_str().starts_with(|first: char| first.is_ascii_digit() || first == '.')
                || characters.as_str().contains(operators)
        }
        _ => false,
    }
}

/// A CSV file in preparation, or some of its rows if the file is too long for the memory.
///
/// ```
/// use coilwright::files::out::csv::{NumberFormat, TableFile};
/// let mut file = TableFile::new(NumberFormat::Comma, &["Bench".into()], &["x_m", "y_m"]);
/// file.exact([Some(0.5), None]);
/// assert_eq!(file.into_text(), "# Bench\nx_m;y_m\n0,5;\n");
/// ```
#[derive(Clone, Debug)]
pub struct TableFile {
    format: NumberFormat,
    text: String,
    /// For the previous row, written by [`Self::exact`]: each number's bits and the range of its text.
    before: Vec<(u64, Range<usize>)>,
}

impl TableFile {
    /// A file with its comment lines and its heading.
    pub fn new(format: NumberFormat, comments: &[String], heading: &[&str]) -> Self {
        let mut text = String::new();
        for comment in comments {
            text.push_str(&comment_line(comment));
        }
        let separator = format.separator().to_string();
        text.push_str(&heading.join(&separator));
        text.push('\n');
        Self { format, text, before: Vec::new() }
    }

    /// Rows that continue a file, with `capacity` bytes reserved.
    pub(crate) fn more_rows(format: NumberFormat, capacity: usize) -> Self {
        Self { format, text: String::with_capacity(capacity), before: Vec::new() }
    }

    /// One row of cells, each already written by [`NumberFormat`].
    pub fn row(&mut self, cells: &[String]) {
        self.text.push_str(&cells.join(&self.format.separator().to_string()));
        self.text.push('\n');
    }

    /// One row of numbers to nine digits.
    pub fn numbers(&mut self, numbers: &[Option<f64>]) {
        let cells: Vec<String> = numbers.iter().map(|number| self.format.number(*number)).collect();
        self.row(&cells);
    }

    /// One row of numbers, each with the fewest digits that read back as the same number; `None` gives an empty cell.
    pub fn exact(&mut self, numbers: impl IntoIterator<Item = Option<f64>>) {
        self.exact_cells(numbers);
        self.text.push('\n');
    }

    /// One row of numbers as [`Self::exact`] writes it, and a text at the end, already written by
    /// [`NumberFormat::text`].
    pub(crate) fn exact_and_text(&mut self, numbers: impl IntoIterator<Item = Option<f64>>, text: &str) {
        self.exact_cells(numbers);
        self.text.push(self.format.separator());
        self.text.push_str(text);
        self.text.push('\n');
    }

    fn exact_cells(&mut self, numbers: impl IntoIterator<Item = Option<f64>>) {
        let mut shortest = Shortest::new();
        for (column, number) in numbers.into_iter().enumerate() {
            if column > 0 {
                self.text.push(self.format.separator());
            }
            let start = self.text.len();
            let bits = number.map_or(0, f64::to_bits);
            // Neighbours on a grid share coordinates, and copying a text is faster than formatting it again.
            match (number, self.before.get(column)) {
                (Some(_), Some((same, place))) if *same == bits && !place.is_empty() => {
                    self.text.extend_from_within(place.clone());
                }
                (Some(number), _) => shortest.push(&mut self.text, number, self.format.decimal_mark()),
                (None, _) => {}
            }
            let cell = (bits, start..self.text.len());
            match self.before.get_mut(column) {
                Some(before) => *before = cell,
                None => self.before.push(cell),
            }
        }
    }

    /// The whole file.
    pub fn into_text(self) -> String {
        self.text
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_keep_nine_digits_and_no_exponent() {
        assert_eq!(NumberFormat::Point.number(Some(7.790_123_456_789e-4)), "0.000779012346");
        assert_eq!(NumberFormat::Point.number(Some(0.1)), "0.1");
        assert_eq!(NumberFormat::Comma.number(Some(-2.5)), "-2,5");
        assert_eq!(NumberFormat::Comma.number(None), "");
        assert_eq!(NumberFormat::Point.number(Some(f64::NAN)), "");
        assert_eq!(NumberFormat::Point.number(Some(300.0)), "300");
    }

    #[test]
    fn exact_numbers_are_written_in_the_format_asked_for() {
        for (format, wanted) in [
            (NumberFormat::Point, "x_m,y_m\n0.5,-1e-20\n0.5,\n0.25,no\n"),
            (NumberFormat::Comma, "x_m;y_m\n0,5;-1e-20\n0,5;\n0,25;no\n"),
        ] {
            let mut file = TableFile::new(format, &[], &["x_m", "y_m"]);
            file.exact([Some(0.5), Some(-1e-20)]);
            file.exact([Some(0.5), None]);
            file.exact_and_text([Some(0.25)], "no");
            assert_eq!(file.into_text(), wanted);
        }
    }

    #[test]
    fn zero_after_an_empty_cell_is_written() {
        let mut rows = TableFile::more_rows(NumberFormat::Point, 0);
        rows.exact([None]);
        rows.exact([Some(0.0)]);
        rows.exact([Some(-0.0)]);
        assert_eq!(rows.into_text(), "\n0.0\n-0.0\n");
    }

    #[test]
    fn a_text_cell_never_becomes_a_formula() {
        for text in ["=1+1", "+1", "-cmd", "@SUM(A1)", "\t=1"] {
            let cell = NumberFormat::Point.text(text);
            assert!(!cell.trim_matches('"').starts_with(['=', '+', '-', '@', '\t']), "{cell}");
        }
        assert_eq!(NumberFormat::Point.text("a,b"), "\"a,b\"");
        assert_eq!(NumberFormat::Comma.text("a,b"), "a,b");
        assert_eq!(NumberFormat::Comma.text("say \"a;b\""), "\"say \"\"a;b\"\"\"");
    }

    #[test]
    fn a_file_carries_its_comments_above_its_heading() {
        let comments = ["two\nlines".to_owned()];
        let mut file = TableFile::new(NumberFormat::Comma, &comments, &["current_ampere", "note"]);
        file.row(&[NumberFormat::Comma.number(Some(0.5)), NumberFormat::Comma.text("x")]);
        assert_eq!(file.into_text(), "# two\\nlines\ncurrent_ampere;note\n0,5;x\n");
    }
}
