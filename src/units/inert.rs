//! Makes text of users harmless before it is shown: titles, labels, paths, cells, arguments.
//!
//! A control character moves a terminal's cursor or starts an escape sequence, a direction override makes a text look
//! like another one, a noncharacter is not allowed in XML. None of them is shown; an escape such as `\u{1b}` replaces
//! it. Letters of every script, accents and joined emoji stay as they are.

use std::borrow::Cow;

/// Whether a character may appear in an output unchanged.
///
/// Not allowed are control characters (Unicode class Cc), line and paragraph separators, marks, embeddings, overrides
/// and isolates of the direction of writing (Unicode Standard Annex 9, table 2), interlinear annotation, byte order
/// mark, tag characters and noncharacters.
pub fn is_inert(character: char) -> bool {
    let code = u32::from(character);
    !(character.is_control()
        || matches!(
            character,
            '\u{61c}'
                | '\u{200e}'
                | '\u{200f}'
                | '\u{2028}'..='\u{202e}'
                | '\u{2066}'..='\u{2069}'
                | '\u{feff}'
                | '\u{fff9}'..='\u{fffb}'
                | '\u{fdd0}'..='\u{fdef}'
                | '\u{e0000}'..='\u{e007f}'
        )
        || code & 0xfffe == 0xfffe)
}

/// The text on one line, with escapes for the characters that must not be shown.
///
/// ```
/// use coilwright::units::inert;
/// assert_eq!(inert::line("North \u{1b}[31mpair\n"), "North \\u{1b}[31mpair\\n");
/// assert_eq!(inert::line("Élévation 磁場"), "Élévation 磁場");
/// ```
pub fn line(text: &str) -> Cow<'_, str> {
    written_out(text, is_inert, |out, character| out.extend(character.escape_default()))
}

/// A text of several lines, with escapes for the characters that must not be shown. Line ends are kept.
pub fn page(text: &str) -> Cow<'_, str> {
    written_out(
        text,
        |character| character == '\n' || is_inert(character),
        |out, character| out.extend(character.escape_default()),
    )
}

/// A JSON document, with JSON's own escapes for the characters that must not be shown.
///
/// ```
/// assert_eq!(coilwright::units::inert::json("{\"title\":\"a\u{202e}b\"}\n"), "{\"title\":\"a\\u202eb\"}\n");
/// ```
pub fn json(text: &str) -> Cow<'_, str> {
    written_out(
        text,
        |character| character == '\n' || is_inert(character),
        |out, character| {
            for unit in character.encode_utf16(&mut [0; 2]) {
                out.push_str(&format!("\\u{unit:04x}"));
            }
        },
    )
}

fn written_out(
    text: &str,
    stays: impl Fn(char) -> bool,
    write_out: impl Fn(&mut String, char),
) -> Cow<'_, str> {
    // Plain ASCII, by far the most frequent text, needs no check of its characters.
    let plain = |byte: u8| (0x20..0x7f).contains(&byte) || byte == b'\n' && stays('\n');
    if text.bytes().all(plain) || text.chars().all(&stays) {
        return Cow::Borrowed(text);
    }
    let mut out = String::with_capacity(text.len() + 16);
    for character in text.chars() {
        if stays(character) { out.push(character) } else { write_out(&mut out, character) }
    }
    Cow::Owned(out)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn what_moves_a_cursor_or_turns_the_direction_is_written_out() {
        for (hostile, shown) in [
            ("\u{1b}]0;owned\u{7}", "\\u{1b}]0;owned\\u{7}"),
            ("a\u{202e}b\u{2066}c", "a\\u{202e}b\\u{2066}c"),
            ("\u{9b}31m", "\\u{9b}31m"),
            ("a\r\nerror: b\0", "a\\r\\nerror: b\\u{0}"),
            ("\u{fffe}\u{1ffff}\u{feff}", "\\u{fffe}\\u{1ffff}\\u{feff}"),
            ("\u{2028}\u{e0041}", "\\u{2028}\\u{e0041}"),
        ] {
            assert_eq!(line(hostile), shown);
        }
        assert_eq!(page("a\nb\tc"), "a\nb\\tc");
    }

    #[test]
    fn letters_accents_and_joined_emoji_stay() {
        for text in ["Zürich 2 µT", "עברית", "नमस्ते", "e\u{301}", "👩\u{200d}🔬", "a\u{a0}b", "θ₂ − θₐ"]
        {
            assert!(matches!(line(text), Cow::Borrowed(same) if same == text), "{text}");
        }
    }

    proptest! {
        #[test]
        fn nothing_that_was_made_inert_needs_it_again(text in any::<String>()) {
            let once = line(&text).into_owned();
            prop_assert!(once.chars().all(is_inert));
            prop_assert_eq!(line(&once), once.as_str());
            let document = serde_json::json!({ "text": text }).to_string();
            let back: serde_json::Value = serde_json::from_str(&json(&document)).unwrap();
            prop_assert_eq!(back["text"].as_str(), Some(text.as_str()));
        }
    }
}
