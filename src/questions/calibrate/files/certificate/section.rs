//! A section of the certificate: a box, labelled values, sentences, tables, a picture.

/// Printed if the spec does not state a value, so that the gap is not overlooked.
pub(super) const NOT_STATED: &str = "not stated";

/// One section: a box, labelled values, sentences, tables, a picture, in this order.
#[derive(Default)]
pub(super) struct Section {
    pub(super) id: &'static str,
    pub(super) title: &'static str,
    pub(super) boxed: Vec<String>,
    pub(super) rows: Vec<(&'static str, String)>,
    pub(super) paragraphs: Vec<String>,
    pub(super) tables: Vec<Table>,
    pub(super) picture: Option<String>,
}

/// A table with the words above it. The columns listed in `left` are text.
pub(super) struct Table {
    pub(super) caption: String,
    pub(super) headings: Vec<&'static str>,
    pub(super) left: Vec<usize>,
    pub(super) rows: Vec<Vec<String>>,
}

impl Section {
    pub(super) fn new(id: &'static str, title: &'static str) -> Self {
        Self { id, title, ..Self::default() }
    }

    pub(super) fn row(mut self, label: &'static str, value: impl Into<String>) -> Self {
        self.rows.push((label, value.into()));
        self
    }

    /// Adds a row if it has a value.
    pub(super) fn row_if(self, label: &'static str, value: Option<String>) -> Self {
        match value {
            Some(value) => self.row(label, value),
            None => self,
        }
    }

    pub(super) fn sentence(mut self, sentence: impl Into<String>) -> Self {
        self.paragraphs.push(sentence.into());
        self
    }

    /// Whether it is short enough to stand on one page unbroken.
    pub(super) fn short(&self) -> bool {
        self.tables.iter().all(|table| table.rows.len() <= 12)
    }
}

pub(super) fn stated(it: Option<&impl ToString>) -> String {
    it.map_or_else(|| NOT_STATED.into(), ToString::to_string)
}
