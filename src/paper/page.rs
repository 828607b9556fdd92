//! A plain-text page: a title, sections, labelled rows, wrapped notes.

use super::wrap;
use unicode_width::UnicodeWidthStr;

/// Width of a page in columns.
const WIDTH: usize = 88;
/// Column at which values start.
const VALUE_COLUMN: usize = 36;

/// A page in the making.
#[derive(Clone, Debug, Default)]
pub struct Page {
    text: String,
}

impl Page {
    /// A page with a title and, below it, the origin of its numbers.
    pub fn new(title: &str, provenance: &str) -> Self {
        let mut page = Self::default();
        page.line(title);
        page.line(&"=".repeat(title.width().min(WIDTH)));
        page.paragraph(provenance);
        page
    }

    /// Starts a section.
    pub fn section(&mut self, heading: &str) {
        self.text.push('\n');
        self.line(heading);
        self.line(&"-".repeat(heading.width()));
    }

    /// Adds a labelled value. A long value continues in the value column.
    pub fn row(&mut self, label: &str, value: &str) {
        let gap = VALUE_COLUMN.saturating_sub(label.width() + 2).max(1);
        let mut start = format!("  {label}{}", " ".repeat(gap));
        for line in wrapped(value, WIDTH - VALUE_COLUMN) {
            self.line(&format!("{start}{line}"));
            start = " ".repeat(VALUE_COLUMN);
        }
    }

    /// Adds a paragraph across the page.
    pub(crate) fn paragraph(&mut self, text: &str) {
        for line in wrapped(text, WIDTH) {
            self.line(&line);
        }
    }

    /// Adds paragraphs, each with a dash in front.
    pub fn list<'a>(&mut self, items: impl IntoIterator<Item = &'a str>) {
        for item in items {
            let mut start = "- ";
            for line in wrapped(item, WIDTH - 2) {
                self.line(&format!("{start}{line}"));
                start = "  ";
            }
        }
    }

    /// Adds a section of notes if there are any.
    pub fn notes(&mut self, notes: &[String]) {
        if !notes.is_empty() {
            self.section("Notes");
            self.list(notes.iter().map(String::as_str));
        }
    }

    /// Adds text that is already laid out, such as a table.
    pub fn block(&mut self, text: &str) {
        for line in text.lines() {
            self.line(line);
        }
    }

    /// The text of the page. Every line ends with a line break.
    pub fn into_text(self) -> String {
        self.text
    }

    fn line(&mut self, line: &str) {
        self.text.push_str(line.trim_end());
        self.text.push('\n');
    }
}

/// Breaks text between words into lines of at most `width` columns. A longer word stands alone on its line.
fn wrapped(text: &str, width: usize) -> Vec<String> {
    wrap::wrapped(text, |line| line.width() <= width)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_align_and_long_values_wrap_under_themselves() {
        let mut page = Page::new("µ bench", "spec 0123");
        page.section("Field");
        page.row("field constant", "0.8 mT/A");
        page.row("µ", &"word ".repeat(14));
        let text = page.into_text();
        let lines: Vec<&str> = text.lines().collect();
        assert_eq!(lines[..5], ["µ bench", "=======", "spec 0123", "", "Field"]);
        assert_eq!(lines[6], "  field constant                    0.8 mT/A");
        assert!(lines[7].starts_with("  µ                                 word"));
        assert!(lines[8].starts_with("                                    word"));
        assert!(lines.iter().all(|line| line.width() <= WIDTH && !line.ends_with(' ')));
    }
}
