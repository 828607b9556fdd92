//! Converts the encodings of tables to UTF-8. A spreadsheet's "Unicode text" is UTF-16 with a byte order mark, and its
//! plain CSV is Windows-1252 on many machines.

use std::io::{Chain, Cursor, Read, Result};

/// A reader whose first bytes were read and put back.
pub(super) type Peeked<R> = Chain<Cursor<Vec<u8>>, R>;

/// The first `count` bytes, fewer if the file is shorter, and a reader that still returns them.
pub(super) fn peek<R: Read>(mut reader: R, count: usize) -> Result<(Vec<u8>, Peeked<R>)> {
    let mut start = Vec::with_capacity(count);
    reader.by_ref().take(count as u64).read_to_end(&mut start)?;
    Ok((start.clone(), Cursor::new(start).chain(reader)))
}

/// The text as UTF-8 if it starts with a byte order mark of UTF-16; otherwise the bytes unchanged.
pub(super) fn decoded(reader: impl Read + Send + 'static) -> Result<Box<dyn Read + Send>> {
    let (start, reader) = peek(reader, 2)?;
    Ok(match start[..] {
        [0xff, 0xfe] => Box::new(Utf16::new(reader, u16::from_le_bytes)),
        [0xfe, 0xff] => Box::new(Utf16::new(reader, u16::from_be_bytes)),
        _ => Box::new(reader),
    })
}

/// Reads UTF-16 as UTF-8, block by block. Half of a surrogate pair alone becomes U+FFFD.
struct Utf16<R> {
    reader: R,
    unit: fn([u8; 2]) -> u16,
    /// Bytes that do not yet make a whole character.
    rest: Vec<u8>,
    text: Cursor<Vec<u8>>,
}

impl<R: Read> Utf16<R> {
    fn new(reader: R, unit: fn([u8; 2]) -> u16) -> Self {
        Self { reader, unit, rest: Vec::new(), text: Cursor::default() }
    }

    /// Decodes the next block; `false` at the end of the file.
    fn refill(&mut self) -> Result<bool> {
        const BLOCK: u64 = 1 << 16;
        let read = self.reader.by_ref().take(BLOCK).read_to_end(&mut self.rest)?;
        let mut units: Vec<u16> =
            self.rest.chunks_exact(2).map(|pair| (self.unit)([pair[0], pair[1]])).collect();
        // The first half of a pair waits for the second.
        if read > 0 && units.last().is_some_and(|unit| (0xd800..0xdc00).contains(unit)) {
            units.pop();
        }
        self.rest.drain(..2 * units.len());
        let mut text: String = char::decode_utf16(units)
            .map(|character| character.unwrap_or(char::REPLACEMENT_CHARACTER))
            .collect();
        if read == 0 && !std::mem::take(&mut self.rest).is_empty() {
            text.push(char::REPLACEMENT_CHARACTER);
        }
        let is_more = read > 0 || !text.is_empty();
        self.text = Cursor::new(text.into_bytes());
        Ok(is_more)
    }
}

impl<R: Read> Read for Utf16<R> {
    fn read(&mut self, buffer: &mut [u8]) -> Result<usize> {
        loop {
            let count = self.text.read(buffer)?;
            if count > 0 || buffer.is_empty() || !self.refill()? {
                return Ok(count);
            }
        }
    }
}

/// A line that is not UTF-8, read as Windows-1252; `None` if it contains one of the five unassigned bytes.
///
/// Bytes from 0xa0 are the characters of the same number. Those from 0x80 follow the table of the Encoding Standard
/// (WHATWG, index windows-1252); the five that it assigns to control characters are refused.
pub(super) fn windows_1252(line: &[u8]) -> Option<String> {
    const FROM_0X80: [char; 32] = [
        '€', '\0', '‚', 'ƒ', '„', '…', '†', '‡', 'ˆ', '‰', 'Š', '‹', 'Œ', '\0', 'Ž', '\0', //
        '\0', '‘', '’', '“', '”', '•', '–', '—', '˜', '™', 'š', '›', 'œ', '\0', 'ž', 'Ÿ',
    ];
    line.iter()
        .map(|byte| match byte {
            0x80..=0x9f => Some(FROM_0X80[usize::from(byte - 0x80)]).filter(|character| *character != '\0'),
            byte => Some(char::from(*byte)),
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn utf16(text: &str, bytes: fn(u16) -> [u8; 2]) -> Vec<u8> {
        std::iter::once(0xfeff).chain(text.encode_utf16()).flat_map(bytes).collect()
    }

    fn read(bytes: Vec<u8>) -> String {
        let mut text = String::new();
        decoded(Cursor::new(bytes)).unwrap().read_to_string(&mut text).unwrap();
        text
    }

    proptest! {
        #[test]
        fn utf16_of_either_order_is_read_as_the_same_text(text in "(?s).{0,200}") {
            prop_assert_eq!(read(utf16(&text, u16::to_le_bytes)), format!("\u{feff}{text}"));
            prop_assert_eq!(read(utf16(&text, u16::to_be_bytes)), format!("\u{feff}{text}"));
        }

        #[test]
        fn no_bytes_after_a_mark_break_the_reader(bytes in prop::collection::vec(any::<u8>(), 0..200)) {
            read([&[0xff, 0xfe], &bytes[..]].concat());
        }
    }

    #[test]
    fn a_pair_across_the_border_of_two_blocks_stays_whole() {
        // The mark takes two bytes, so an odd number of letters puts the pair across the border.
        let text = "x".repeat((1 << 15) - 2) + "\u{1f9f2} end";
        assert_eq!(read(utf16(&text, u16::to_le_bytes)), format!("\u{feff}{text}"));
    }

    #[test]
    fn windows_1252_agrees_with_the_encoding_standard_and_five_bytes_mean_nothing() {
        assert_eq!(windows_1252(b"20 \xb0C, \xb5T, \x80").unwrap(), "20 °C, µT, €");
        let none: Vec<u8> = (0..=255).filter(|byte| windows_1252(&[*byte]).is_none()).collect();
        assert_eq!(none, [0x81, 0x8d, 0x8f, 0x90, 0x9d]);
    }
}
