//! How text stands in HTML and in SVG: one escaping, for the templates and for pictures.

use crate::units::inert;
use crate::{Error, Result};
use askama::Template;
use askama::filters::Escaper;
use std::fmt;
use std::fmt::Write;

/// Text of people as the text or the attribute of a page or picture, inert. `askama.toml` gives it to every template.
#[derive(Clone, Copy, Debug)]
pub struct Markup;

impl Escaper for Markup {
    fn write_escaped_str<W: Write>(&self, mut out: W, text: &str) -> fmt::Result {
        for character in inert::line(text).chars() {
            match character {
                '&' => out.write_str("&amp;")?,
                '<' => out.write_str("&lt;")?,
                '>' => out.write_str("&gt;")?,
                '"' => out.write_str("&quot;")?,
                other => out.write_char(other)?,
            }
        }
        Ok(())
    }
}

/// The page that a template makes; `what` names it in the error of one that fails.
pub(crate) fn rendered(page: &impl Template, what: &str) -> Result<String> {
    page.render().map_err(|error| Error::value(format!("cannot write the {what}: {error}")))
}

/// Text as a page or picture has it.
///
/// ```
/// assert_eq!(coilwright::paper::markup::escaped("<b> & \"c\""), "&lt;b&gt; &amp; &quot;c&quot;");
/// ```
pub fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    // Writing to a String cannot fail.
    let _: fmt::Result = Markup.write_escaped_str(&mut out, text);
    out
}
