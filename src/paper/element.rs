//! Writes SVG elements. Attributes and texts are escaped here, for every picture.

use super::mark::{Anchor, Weight};
use super::markup::escaped;
use std::fmt::Display;

/// Finished elements, one after the other.
#[derive(Clone, Debug, Default)]
pub(crate) struct Elements(String);

impl Elements {
    /// Elements that another writer has escaped.
    pub(crate) fn of_other_writer(elements: &str) -> Self {
        Self(elements.to_owned())
    }

    /// Adds elements.
    pub(crate) fn add(&mut self, elements: &Self) {
        self.0 += &elements.0;
    }

    /// Adds elements and a line end.
    pub(crate) fn add_line(&mut self, elements: &Self) {
        self.add(elements);
        self.0.push('\n');
    }

    /// The elements as text.
    pub(crate) fn into_text(self) -> String {
        self.0
    }
}

/// An element in the making. Its attributes stand in the order in which they are given.
#[derive(Clone, Debug)]
#[must_use]
pub(crate) struct Element {
    name: &'static str,
    /// The opening tag without its end.
    opening: String,
}

impl Element {
    /// An element without attributes.
    pub(crate) fn new(name: &'static str) -> Self {
        Self { name, opening: format!("<{name}") }
    }

    /// A document.
    pub(crate) fn document() -> Self {
        Self::new("svg").with("xmlns", "http://www.w3.org/2000/svg")
    }

    /// A picture of this size in millimetres, named by the element `title` in it.
    pub(crate) fn picture_in_mm([width, height]: [impl Display; 2]) -> Self {
        Self::document()
            .with("width", format_args!("{width}mm"))
            .with("height", format_args!("{height}mm"))
            .with("viewBox", format_args!("0 0 {width} {height}"))
            .with("role", "img")
            .with("aria-labelledby", "title")
    }

    /// A path.
    pub(crate) fn path(data: impl Display) -> Self {
        Self::new("path").with("d", data)
    }

    /// A circle.
    pub(crate) fn circle([x, y]: [impl Display; 2], radius: impl Display) -> Self {
        Self::new("circle").with("cx", x).with("cy", y).with("r", radius)
    }

    /// A line of text. The place is on its baseline.
    pub(crate) fn text([x, y]: [impl Display; 2], size: impl Display) -> Self {
        Self::new("text").with("x", x).with("y", y).with("font-size", size)
    }

    /// Adds an attribute.
    pub(crate) fn with(mut self, name: &str, value: impl Display) -> Self {
        self.opening += &format!(" {name}=\"{}\"", escaped(&value.to_string()));
        self
    }

    /// Adds an attribute if it has a value.
    pub(crate) fn with_any(self, name: &str, value: Option<impl Display>) -> Self {
        match value {
            Some(value) => self.with(name, value),
            None => self,
        }
    }

    /// Says which point of a text lies at its place. The start does so without being said.
    pub(crate) fn anchored(self, anchor: Anchor) -> Self {
        self.with_any("text-anchor", (anchor != Anchor::Start).then(|| anchor.name()))
    }

    /// Says that a text is bold, if it is.
    pub(crate) fn weighted(self, weight: Weight) -> Self {
        self.with_any("font-weight", (weight == Weight::Bold).then_some(600))
    }

    /// The element without contents.
    pub(crate) fn alone(self) -> Elements {
        Elements(self.opening + "/>")
    }

    /// The element around a text.
    pub(crate) fn saying(self, text: &str) -> Elements {
        let Self { name, opening } = self;
        Elements(format!("{opening}>{}</{name}>", escaped(text)))
    }

    /// The element around others.
    pub(crate) fn around(self, inner: &Elements) -> Elements {
        let Self { name, opening } = self;
        Elements(format!("{opening}>{}</{name}>", inner.0))
    }

    /// The element around others that stand on lines of their own.
    pub(crate) fn around_lines(self, inner: &Elements) -> Elements {
        let Self { name, opening } = self;
        Elements(format!("{opening}>\n{}</{name}>", inner.0))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn attributes_and_texts_are_escaped_and_elements_are_not_escaped_twice() {
        let text =
            Element::text(["1", "2"], 3).anchored(Anchor::End).weighted(Weight::Bold).saying("a < \"b\"");
        let mut inner = Elements::default();
        inner.add_line(&text);
        let group = Element::new("g").with("id", "\"><script>").around_lines(&inner).into_text();
        assert_eq!(
            group,
            "<g id=\"&quot;&gt;&lt;script&gt;\">\n<text x=\"1\" y=\"2\" font-size=\"3\" text-anchor=\"end\" \
             font-weight=\"600\">a &lt; &quot;b&quot;</text>\n</g>"
        );
        assert_eq!(Element::path("M 0 0").anchored(Anchor::Start).alone().into_text(), "<path d=\"M 0 0\"/>");
    }
}
