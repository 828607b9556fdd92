//! Checked file names: a single path component with a known ending, harmless on every system.

use std::fmt;

/// Endings of the files that the desk shows and writes.
const ENDINGS: [&str; 7] = ["json", "csv", "tsv", "txt", "xlsx", "ods", "register"];
/// Endings of pages, pictures and drawings that a question made and that are kept in the folder. They are shown in a sandbox, and
/// only a run's own file gets such a name.
const PAGES: [&str; 4] = ["html", "svg", "png", "dxf"];
/// Longest name, in bytes.
const LONGEST: usize = 120;
/// Names that are devices on some systems, with any ending; the last two with a digit from 1 to 9.
const DEVICES: [&str; 4] = ["con", "prn", "aux", "nul"];
const NUMBERED_DEVICES: [&str; 2] = ["com", "lpt"];

/// A checked file name.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Name(String);

impl Name {
    /// Checks the name of a file that people write. The error is a sentence that says what is wrong.
    pub fn of(text: &str) -> Result<Self, String> {
        Self::ending_with(text, &ENDINGS)
    }

    /// Checks the name of a file that is shown or kept: pages and pictures count too.
    pub fn shown(text: &str) -> Result<Self, String> {
        Self::ending_with(text, &[ENDINGS.as_slice(), PAGES.as_slice()].concat())
    }

    /// Whether it is the name of a page or a picture.
    pub fn is_page(&self) -> bool {
        PAGES.contains(&ending(&self.0).as_str())
    }

    fn ending_with(text: &str, endings: &[&str]) -> Result<Self, String> {
        if text.is_empty() || text.len() > LONGEST {
            return Err(format!("A name has 1 to {LONGEST} characters."));
        }
        if text.starts_with(['.', '-', ' ', '\'', '’', '‘', '–', '—']) || text.ends_with(['.', ' ']) {
            return Err(
                "A name does not begin with a point, a dash, an apostrophe or a blank, nor end with a point or a blank."
                    .into(),
            );
        }
        if let Some(wrong) = text.chars().find(|it| !is_allowed(*it)) {
            return Err(format!(
                "A name has letters, digits, blanks and - – — _ . ( ) & , + # ° ' ’ only, not “{}”.",
                wrong.escape_default()
            ));
        }
        if !endings.contains(&ending(text).as_str()) {
            return Err(format!("A name ends with one of .{}.", endings.join(", .")));
        }
        let stem = text.rsplit_once('.').map_or(text, |(stem, _)| stem);
        let first = stem.split('.').next().unwrap_or_default().trim_end().to_ascii_lowercase();
        // Windows also takes superscript digits for digits.
        let is_numbered =
            NUMBERED_DEVICES.iter().filter_map(|device| first.strip_prefix(device)).any(|number| {
                let mut signs = number.chars();
                matches!((signs.next(), signs.next()), (Some('1'..='9' | '¹' | '²' | '³'), None))
            });
        if is_numbered || DEVICES.contains(&first.as_str()) {
            return Err(format!("“{first}” is a device on some systems: take another name."));
        }
        Ok(Self(text.to_owned()))
    }

    /// The name as text.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

/// Letters with accents, digits, and characters without special meaning in the paths of any system. They are also
/// harmless in addresses and shells, where they are percent-encoded or quoted.
fn is_allowed(character: char) -> bool {
    character.is_alphanumeric()
        || ('\u{300}'..='\u{36f}').contains(&character)
        || " -–—_.()&,+#°'’‘".contains(character)
}

/// The ending of a name, in lower case.
pub fn ending(text: &str) -> String {
    text.rsplit_once('.').map_or_else(String::new, |(_, ending)| ending.to_ascii_lowercase())
}

/// Whether a name has a known ending, so that the desk would show the file if its characters were allowed.
pub(super) fn has_known_ending(text: &str) -> bool {
    let ending = ending(text);
    !text.starts_with('.') && (ENDINGS.contains(&ending.as_str()) || PAGES.contains(&ending.as_str()))
}

impl fmt::Display for Name {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(&self.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_leads_nowhere_else() {
        for right in [
            "pair.json",
            "Prüfbank 2 (neu).json",
            "a.b.csv",
            "com.json",
            "COM10.csv",
            "lpt0.json",
            "con2.json",
            "x.XLSX",
            "bench.register",
            "Smith & Co, 2026.json",
            "Pru\u{308}f#2.json",
            "Miller's quote.json",
            "Miller’s quote – final.json",
        ] {
            assert!(Name::of(right).is_ok(), "{right}");
        }
        for wrong in [
            "",
            ".",
            "..",
            "../pair.json",
            "/etc/x.json",
            "a/b.json",
            "a\\b.json",
            "..\\x.json",
            "%2e%2e.json",
            "c:x.json",
            "pair.json\0",
            "pair.json/",
            ".hidden.json",
            "-out.json",
            "pair",
            "pair.sh",
            "pair.json ",
            "pair.json.",
            "a\nb.json",
            "\u{202e}nosj.json",
            "nul.json",
            "COM1.csv",
            "com\u{b9}.csv",
            "LPT\u{b2} .json",
            "con.x.json",
            "a*.json",
            "~.json",
            "$HOME.json",
            "pair.json:stream",
            "'.json",
            "–x.json",
            "page.html",
            "map.svg",
        ] {
            assert!(Name::of(wrong).is_err(), "{wrong:?}");
        }
        assert!(Name::of(&format!("{}.json", "a".repeat(200))).is_err());
        for page in ["certificate.html", "map.SVG", "map.png", "former.dxf"] {
            assert!(Name::shown(page).is_ok_and(|name| name.is_page()), "{page}");
        }
        assert!(Name::shown("pair.json").is_ok_and(|name| !name.is_page()));
        assert!(Name::shown("../x.html").is_err() && Name::shown("x.js").is_err());
    }
}
