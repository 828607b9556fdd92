//! The word table of page and sheets: English built in, other languages from a file.

use crate::error::reason_unread;
use crate::questions::words::cautions::{Caution, DEFER};
use crate::units::{inert, nearest, shortened};
use crate::{Error, Result};
use std::collections::BTreeMap;
use std::io::Read;
use std::path::Path;

/// The English words, one sentence for each key.
const ENGLISH: &str = include_str!("../page/words-en.json");
/// Largest size of a file of words that is read, bytes.
const LARGEST_FILE_BYTES: u64 = 1 << 20;

/// The words by key. `{name}` in a sentence stands for a figure.
#[derive(Clone, Debug, PartialEq)]
pub struct WordTable {
    words: BTreeMap<String, String>,
}

/// Keys of the cautions, whose English is shared with all other pages.
pub(crate) const CAUTIONS: [(&str, Caution); 5] = [
    ("caution_gun_voltage", Caution::GunVoltage),
    ("caution_hot_coils", Caution::HotCoils),
    ("caution_inductive_kick", Caution::InductiveKick),
    ("caution_evacuated_glass", Caution::EvacuatedGlass),
    ("caution_implants", Caution::Implants),
];
/// Key of the sentence that says who decides in the end.
pub(crate) const DEFER_KEY: &str = "caution_defer";

impl WordTable {
    /// The words in English.
    pub fn english() -> Self {
        let mut words: BTreeMap<String, String> = serde_json::from_str(ENGLISH).unwrap_or_default();
        words.extend(CAUTIONS.map(|(key, caution)| (key.to_owned(), caution.text().to_owned())));
        words.insert(DEFER_KEY.into(), DEFER.into());
        Self { words }
    }

    /// Reads the words from a JSON file. A key that the file leaves out stays English.
    ///
    /// # Errors
    /// If the file cannot be read, is larger than 1 MiB or is not a JSON object of texts. If it has an unknown key, a
    /// sentence with a figure that the English one does not have, or a decimal mark other than point or comma.
    pub fn read(path: impl AsRef<Path>) -> Result<Self> {
        let path = path.as_ref();
        let unread = |error: std::io::Error| Error::Read { path: path.into(), reason: reason_unread(&error) };
        let mut text = String::new();
        let file = std::fs::File::open(path).map_err(unread)?;
        file.take(LARGEST_FILE_BYTES + 1).read_to_string(&mut text).map_err(unread)?;
        Self::from_text(path, &text)
    }

    /// Reads the words from the text of such a file; `path` stands for it in messages.
    ///
    /// # Errors
    /// As [`Self::read`].
    pub fn from_text(path: impl AsRef<Path>, text: &str) -> Result<Self> {
        let path = path.as_ref();
        let unusable =
            |reason: String, hint: String| Error::Unusable { path: path.into(), reason, hint: Some(hint) };
        if text.len() as u64 > LARGEST_FILE_BYTES {
            return Err(unusable(
                "it is larger than 1 MiB".into(),
                "a file of words has some hundred sentences".into(),
            ));
        }
        Self::of(text).map_err(|(reason, hint)| unusable(reason, hint))
    }

    /// Reads the words from a text. On failure returns what is wrong and what to do.
    fn of(text: &str) -> std::result::Result<Self, (String, String)> {
        let given: BTreeMap<String, String> = serde_json::from_str(text.trim_start_matches('\u{feff}'))
            .map_err(|error| {
                (
                    format!("it is no table of words: {error}"),
                    "write `{ \"key\": \"sentence\", ... }` as in lab-files/words-de.json".to_owned(),
                )
            })?;
        let mut table = Self::english();
        for (key, sentence) in given {
            let Some(english) = table.words.get(&key) else {
                let meant = nearest::nearest(&key, table.words.keys().map(String::as_str));
                let hint = match meant {
                    Some(meant) => format!("did you mean `{meant}`?"),
                    None => "lab-files/words-de.json has every key".to_owned(),
                };
                return Err((format!("unknown key `{}`", shortened(&key)), hint));
            };
            if let Some(strange) =
                figures(&sentence).find(|name| !figures(english).any(|known| known == *name))
            {
                let known: Vec<String> = figures(english).map(|name| format!("{{{name}}}")).collect();
                return Err((
                    format!("`{key}` names {{{}}}, which it has no figure for", shortened(strange)),
                    match known.is_empty() {
                        true => "this sentence has no figures".to_owned(),
                        false => format!("its figures: {}", known.join(", ")),
                    },
                ));
            }
            if key == "decimal_mark" && ![".", ","].contains(&sentence.as_str()) {
                return Err((
                    "`decimal_mark` is neither a point nor a comma".into(),
                    "write \".\" or \",\"".into(),
                ));
            }
            table.words.insert(key, inert::line(&sentence).into_owned());
        }
        Ok(table)
    }

    /// The sentence of a key, or the key itself if the table has none.
    pub(crate) fn of_key<'a>(&'a self, key: &'a str) -> &'a str {
        debug_assert!(self.words.contains_key(key), "no words for {key}");
        self.words.get(key).map_or(key, String::as_str)
    }

    /// The sentence of a key, with its figures filled in.
    pub(crate) fn say(&self, key: &str, figures: &[(&str, &str)]) -> String {
        let sentence = self.of_key(key);
        let mut said = String::with_capacity(sentence.len() + 32);
        let mut rest = sentence;
        // A single pass, so that an inserted value that looks like a placeholder stays as it is.
        while let Some((before, name, after)) = next_figure(rest) {
            said.push_str(before);
            match figures.iter().find(|(known, _)| *known == name) {
                Some((_, value)) => said.push_str(value),
                None => said.push_str(&rest[before.len()..rest.len() - after.len()]),
            }
            rest = after;
        }
        said + rest
    }

    /// A number with this many decimals, with the language's decimal mark and a true minus sign.
    pub(crate) fn number(&self, value: f64, decimals: usize) -> String {
        let text = format!("{value:.decimals$}").replace('.', self.of_key("decimal_mark"));
        let is_nought = text.chars().all(|character| "-0.,".contains(character));
        text.replace('-', if is_nought { "" } else { "−" })
    }

    /// The words that the page needs, without those of the printed sheets.
    pub(crate) fn of_page(&self) -> BTreeMap<&str, &str> {
        let of_sheets = ["sheet_", "answers_", "scale_", "table_"];
        let is_of_page = |key: &str| {
            key == "scale_switch"
                || key == "scale_in_mm"
                || !of_sheets.iter().any(|start| key.starts_with(start))
        };
        self.words
            .iter()
            .map(|(key, value)| (key.as_str(), value.as_str()))
            .filter(|(key, _)| is_of_page(key))
            .collect()
    }
}

/// The text before the first `{name}`, the name, and the text after it.
fn next_figure(text: &str) -> Option<(&str, &str, &str)> {
    let mut from = 0;
    loop {
        let open = from + text[from..].find('{')?;
        let close = open + text[open..].find('}')?;
        let name = &text[open + 1..close];
        if !name.is_empty()
            && name.chars().all(|character| character.is_ascii_alphanumeric() || character == '_')
        {
            return Some((&text[..open], name, &text[close + 1..]));
        }
        from = open + 1;
    }
}

/// The names of the figures in a sentence.
fn figures(sentence: &str) -> impl Iterator<Item = &str> {
    let mut rest = sentence;
    std::iter::from_fn(move || {
        let (_, name, after) = next_figure(rest)?;
        rest = after;
        Some(name)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sentence_takes_its_figures_once_and_keeps_what_is_no_figure() {
        let table = WordTable::english();
        assert!(table.words.len() > 100, "{}", table.words.len());
        let said = table.say("about_spec", &[("program", "p 1"), ("title", "{digest} {x"), ("digest", "d")]);
        assert_eq!(said, "Made by p 1 from \"{digest} {x\", d.");
        assert_eq!(table.number(-0.004, 2), "0.00");
        assert_eq!(table.number(-1.25, 1), "−1.2");
    }

    #[test]
    fn the_german_example_has_every_sentence_of_page_and_sheets_and_none_besides() {
        let path = concat!(env!("CARGO_MANIFEST_DIR"), "/lab-files/words-de.json");
        let given: BTreeMap<String, String> =
            serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap();
        let english = WordTable::english();
        let keys: Vec<&String> = english.words.keys().collect();
        assert_eq!(given.keys().collect::<Vec<_>>(), keys);
        for (key, sentence) in &given {
            let mut german: Vec<&str> = figures(sentence).collect();
            let mut of_english: Vec<&str> = figures(&english.words[key]).collect();
            german.sort_unstable();
            of_english.sort_unstable();
            assert_eq!(german, of_english, "{key}");
            // A sentence of three words or more that equals the English one was not translated; figures and signs are
            // not words.
            let words =
                sentence.split(' ').filter(|word| word.chars().all(char::is_alphabetic) && word.len() > 1);
            assert!(words.count() < 3 || *sentence != english.words[key], "{key}: {sentence}");
        }
    }

    #[test]
    fn another_language_replaces_what_it_has_and_slips_are_told() {
        let table =
            WordTable::of("{\"language\": \"de\", \"decimal_mark\": \",\", \"undo\": \"Zurück\"}").unwrap();
        assert_eq!((table.of_key("undo"), table.of_key("export")), ("Zurück", "Save as CSV"));
        assert_eq!(table.number(1.5, 1), "1,5");
        for (text, complaint, hint) in [
            ("{\"und\": \"x\"}", "unknown key `und`", "did you mean `undo`?"),
            ("{\"undo\": 1}", "it is no table of words", "words-de.json"),
            ("{\"undo\": \"x {y}\"}", "`undo` names {y}, which", "no figures"),
            ("{\"about_date\": \"{day}\"}", "`about_date` names {day}", "its figures: {date}"),
            ("{\"decimal_mark\": \";\"}", "neither a point nor a comma", "write"),
        ] {
            let (reason, advice) = WordTable::of(text).unwrap_err();
            assert!(reason.contains(complaint) && advice.contains(hint), "{reason} | {advice}");
        }
    }
}
