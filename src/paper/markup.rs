//! Escapes text for HTML and SVG, the same way in templates and in pictures.

use crate::units::{Dimension, inert};
use crate::{Error, Result};
use askama::Template;
use askama::filters::Escaper;
use std::fmt;
use std::fmt::Write;

/// The escaper that `askama.toml` sets for all templates. It makes any text harmless as content or attribute of a page
/// or picture.
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

/// The page that a template makes. `what` names the page if that fails.
pub(crate) fn rendered(page: &impl Template, what: &str) -> Result<String> {
    page.render().map_err(|error| Error::value(format!("cannot write the {what}: {error}")))
}

/// Escapes text for the content or an attribute of a page or picture.
///
/// ```
/// assert_eq!(coilwright::paper::markup::escaped("<b> & \"c\""), "&lt;b&gt; &amp; &quot;c&quot;");
/// ```
pub fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    // Writing to a string cannot fail.
    let _: fmt::Result = Markup.write_escaped_str(&mut out, text);
    out
}

/// Makes the ids of a picture its own, so that several pictures can stand on one page.
pub(crate) fn with_own_ids(svg: &str, of: &str) -> String {
    ["title", "check-bar"].iter().fold(svg.to_owned(), |svg, name| {
        svg.replace(&format!("id=\"{name}\""), &format!("id=\"{name}-{of}\""))
            .replace(&format!("aria-labelledby=\"{name}\""), &format!("aria-labelledby=\"{name}-{of}\""))
    })
}

/// Text in which a number stays on one line with its unit: the space between them becomes a no-break space.
pub(crate) fn kept_together(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 16);
    let mut words = text.split(' ').peekable();
    while let Some(word) = words.next() {
        out.push_str(word);
        let Some(next) = words.peek() else { break };
        let joined = word.ends_with(|c: char| c.is_ascii_digit()) && is_unit(next);
        out.push(if joined { '\u{a0}' } else { ' ' });
    }
    out
}

/// Whether a word, without the punctuation around it, is a unit, a calendar span or a currency code.
fn is_unit(word: &str) -> bool {
    let word = word.trim_matches(|c: char| ",.;:?!()\u{201c}\u{201d}".contains(c));
    let is_code = word.len() == 3 && word.bytes().all(|byte| byte.is_ascii_uppercase());
    let is_span = ["day", "week", "month", "year"].contains(&word.trim_end_matches('s'));
    let named = || Dimension::ALL.iter().flat_map(|it| it.units()).any(|unit| unit.names.contains(&word));
    // `unit.names` are those of files, such as `degC` and `ohm`. People write `°C` and `Ω`.
    is_code || is_span || ["°C", "Ω"].contains(&word) || !word.is_empty() && named()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_stays_with_its_unit_and_other_words_may_break() {
        let joined = kept_together(
            "met: 55.6 °C, U 7.0 K; 0.598 % to 0.8 %, 6 weeks (484.33 EUR), 1.4 mT/A of 2 coils",
        );
        let wanted = "met: 55.6~°C, U 7.0~K; 0.598~% to 0.8~%, 6~weeks (484.33~EUR), 1.4~mT/A of 2 coils";
        assert_eq!(joined.replace('\u{a0}', "~"), wanted);
        assert_eq!(kept_together(" two  blanks "), " two  blanks ");
    }
}
