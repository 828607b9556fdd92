//! Tables as CSV files that spreadsheets open: provenance above, then a heading and plain numbers.

use crate::units::{inert, significant, unit};
use std::io;
use std::io::Write;

/// How a CSV file writes its numbers.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum NumberFormat {
    /// Decimal point, cells parted by commas.
    #[default]
    Point,
    /// Decimal comma, cells parted by semicolons.
    Comma,
}

impl NumberFormat {
    fn separator(self) -> char {
        match self {
            Self::Point => ',',
            Self::Comma => ';',
        }
    }

    /// A number to nine significant digits, never with an exponent; an absent one leaves the cell empty.
    pub fn number(self, value: Option<f64>) -> String {
        let Some(value) = value.filter(|value| value.is_finite()) else { return String::new() };
        let text = significant(value, unit::ONE, 9);
        let text = if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
        match self {
            Self::Point => text.into(),
            Self::Comma => text.replace('.', ","),
        }
    }

    /// Rewrites rows of plain numbers that have points in them and commas between them.
    pub fn rewrite(self, rows: &mut [u8]) {
        if self == Self::Comma {
            for byte in rows {
                *byte = match *byte {
                    b',' => b';',
                    b'.' => b',',
                    other => other,
                };
            }
        }
    }

    /// A writer that takes rows as [`Self::rewrite`] does, for tables too long to hold.
    pub fn rows(self, out: &mut dyn Write) -> Rows<'_> {
        Rows { format: self, out }
    }

    /// A text as a cell: inert, quoted where needed, and never one that a spreadsheet takes for a formula, nor in parts if it
    /// takes the other separator.
    pub fn text(self, text: &str) -> String {
        let harmless = without_formula(&without_formulas_inside(&inert::line(text)));
        if harmless.contains([self.separator(), '"', '\n', '\r']) {
            format!("\"{}\"", harmless.replace('"', "\"\""))
        } else {
            harmless
        }
    }
}

/// Rows of plain numbers on their way to a file.
pub struct Rows<'a> {
    format: NumberFormat,
    out: &'a mut dyn Write,
}

impl Write for Rows<'_> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        match self.format {
            NumberFormat::Point => self.out.write(bytes),
            NumberFormat::Comma => {
                let mut rewritten = bytes.to_vec();
                self.format.rewrite(&mut rewritten);
                self.out.write_all(&rewritten)?;
                Ok(bytes.len())
            }
        }
    }

    fn flush(&mut self) -> io::Result<()> {
        self.out.flush()
    }
}

/// A text that a spreadsheet would take for a formula gets an apostrophe before it, which the spreadsheet hides.
pub fn without_formula(text: &str) -> String {
    if text.starts_with(['=', '+', '-', '@', '\t', '\r']) { format!("'{text}") } else { text.into() }
}

/// A comment above a table: `# `, the text inert and on one line, and a line end.
///
/// A spreadsheet parts the line at its separators, whichever it takes for one. A part of it that would be a formula gets an
/// apostrophe before it.
///
/// ```
/// use coilwright::files::out::csv::comment_line;
/// assert_eq!(comment_line("Bench,=1+1; -0.2 %, beam"), "# Bench,'=1+1; -0.2 %, beam\n");
/// ```
pub fn comment_line(comment: &str) -> String {
    format!("# {}\n", without_formulas_inside(&inert::line(comment)))
}

/// An apostrophe before each part, behind a comma or semicolon, that would be a formula.
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

/// Whether a spreadsheet evaluates a cell that begins so; a signed number is one without being dangerous.
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

/// One CSV file being written.
#[derive(Clone, Debug)]
pub struct TableFile {
    format: NumberFormat,
    text: String,
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
        Self { format, text }
    }

    /// One row of cells, each already written by [`NumberFormat`].
    pub fn row(&mut self, cells: &[String]) {
        self.text.push_str(&cells.join(&self.format.separator().to_string()));
        self.text.push('\n');
    }

    /// One row of numbers.
    pub fn numbers(&mut self, numbers: &[Option<f64>]) {
        let cells: Vec<String> = numbers.iter().map(|number| self.format.number(*number)).collect();
        self.row(&cells);
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
    fn long_tables_are_rewritten_on_their_way() {
        for (format, wanted) in
            [(NumberFormat::Point, "x_m,y_m\n0.5,-1e-20\n"), (NumberFormat::Comma, "x_m;y_m\n0,5;-1e-20\n")]
        {
            let mut file = Vec::new();
            let mut rows = format.rows(&mut file);
            writeln!(rows, "x_m,y_m").unwrap();
            writeln!(rows, "{:?},{:?}", 0.5, -1e-20).unwrap();
            assert_eq!(String::from_utf8(file).unwrap(), wanted);
        }
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
