//! Reads a register, as far as it is sound.

use super::line::{self, Digest, Entry, Fault};
use super::lock;
use crate::error::reason_unread;
use crate::{Error, Result};
use std::fs::File;
use std::io::Read;
use std::path::Path;

/// Largest register that is read, bytes: some ten thousand calibrations.
const LARGEST_FILE_BYTES: u64 = 256 << 20;

/// The contents of a register.
#[derive(Clone, Debug, PartialEq)]
pub struct Chain {
    /// The sound entries, first to last.
    pub entries: Vec<Entry>,
    /// Its end.
    pub end: End,
    /// Bytes of the sound entries.
    pub(super) sound_bytes: u64,
}

/// The end of a register.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum End {
    /// A whole entry.
    Sound,
    /// A whole entry without its line end.
    WithoutLineEnd,
    /// Part of an entry that was torn while being written, or was cut.
    Torn {
        /// Its bytes.
        bytes: usize,
    },
    /// A line that is not the entry expected there; nothing after it can be relied on.
    Damaged {
        /// The line, counted from 1.
        line: u64,
        /// The damage.
        damage: Damage,
    },
}

/// The damage to a line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Damage {
    /// It is not a line of a register.
    NotAnEntry,
    /// It was changed: its digest does not match its text.
    Changed,
    /// It is a whole entry, but not the successor of the entry before: an entry was removed, inserted or moved.
    OutOfPlace,
    /// Its line end was changed, as some editors and transfers do.
    LineEnd,
}

impl Chain {
    /// Digest of the last sound entry.
    pub fn last_digest(&self) -> Digest {
        self.entries.last().map_or(Digest::NONE, |entry| entry.digest)
    }

    /// Whether every byte belongs to a sound entry.
    pub fn is_sound(&self) -> bool {
        matches!(self.end, End::Sound | End::WithoutLineEnd)
    }

    /// The entry whose digest is this one or starts with it.
    pub fn entry_of(&self, digest: &str) -> Option<&Entry> {
        self.entries.iter().find(|entry| entry.digest.to_string().starts_with(digest))
    }

    /// The chain as it was before the entry of this number.
    #[must_use]
    pub fn before(&self, number: u64) -> Self {
        let entries: Vec<Entry> =
            self.entries.iter().filter(|entry| entry.number < number).cloned().collect();
        Self { entries, end: End::Sound, sound_bytes: 0 }
    }

    /// The chain in these bytes.
    pub fn of(bytes: &[u8]) -> Self {
        let mut chain = Self { entries: Vec::new(), end: End::Sound, sound_bytes: 0 };
        let mut rest = bytes;
        while !rest.is_empty() {
            let number = chain.entries.len() as u64 + 1;
            let (line, after, ended) = match rest.iter().position(|byte| *byte == b'\n') {
                Some(end) => (&rest[..end], &rest[end + 1..], true),
                None => (rest, &rest[rest.len()..], false),
            };
            match line::entry(line, number, chain.last_digest()) {
                Ok(entry) => chain.entries.push(entry),
                Err(fault) => {
                    chain.end = end_at(line, number, fault, ended, chain.last_digest());
                    return chain;
                }
            }
            chain.sound_bytes += line.len() as u64 + u64::from(ended);
            if !ended {
                chain.end = End::WithoutLineEnd;
            }
            rest = after;
        }
        chain
    }
}

/// The end of a register at a line that is not an entry.
fn end_at(line: &[u8], number: u64, fault: Fault, ended: bool, previous: Digest) -> End {
    let damaged = |damage| End::Damaged { line: number, damage };
    let is_whole_within = |line: &[u8]| line::entry(line, number, previous).is_ok();
    if line.strip_suffix(b"\r").is_some_and(is_whole_within) {
        return damaged(Damage::LineEnd);
    }
    // A torn line is the start of an entry. If its last bytes are already there, it was changed instead. A file whose only
    // line starts as no entry does was never a register, and is not to be made one.
    let grown = line.split_last().is_some_and(|(_, before)| is_whole_within(before));
    let was_register = number > 1 || starts_as_first_entry(line) || line.iter().all(|byte| *byte == 0);
    if !ended && fault != Fault::Place && !grown && was_register {
        return End::Torn { bytes: line.len() };
    }
    damaged(match fault {
        _ if grown => Damage::LineEnd,
        Fault::Form => Damage::NotAnEntry,
        Fault::Digest => Damage::Changed,
        Fault::Place => Damage::OutOfPlace,
    })
}

/// Whether a line starts as the first entry does, as far as it goes. A file system may leave zeros instead after a loss of
/// power.
fn starts_as_first_entry(line: &[u8]) -> bool {
    let start = line::start(1, Digest::NONE);
    line.iter().zip(start.as_bytes()).all(|(found, wanted)| found == wanted)
}

/// Reads a register, waiting for a writer.
///
/// # Errors
/// The file does not exist or cannot be read. Damage is not an error; see [`Chain::end`].
pub fn read(path: &Path) -> Result<Chain> {
    let unread = |error: std::io::Error| Error::Read { path: path.to_owned(), reason: reason_unread(&error) };
    let irregular = || Error::Read { path: path.to_owned(), reason: "it is no regular file".into() };
    // Checked before opening, because opening a pipe without a writer would block.
    if std::fs::metadata(path).is_ok_and(|found| !found.is_file()) {
        return Err(irregular());
    }
    let file = File::open(path).map_err(unread)?;
    if !file.metadata().is_ok_and(|found| found.is_file()) {
        return Err(irregular());
    }
    lock::shared(&file).map_err(unread)?;
    bytes(&file, path).map(|bytes| Chain::of(&bytes))
}

/// Whether another process has the register locked for writing, so that [`read`] and an entry wait for it, half a minute at
/// most. `false` for what is no file.
pub fn is_in_use(path: &Path) -> bool {
    let is_file = std::fs::metadata(path).is_ok_and(|found| found.is_file());
    is_file && File::open(path).is_ok_and(|file| lock::is_written(&file))
}

/// All bytes of an open register, from its start.
pub(super) fn bytes(file: &File, path: &Path) -> Result<Vec<u8>> {
    let unread = |reason: String| Error::Read { path: path.to_owned(), reason };
    let mut bytes = Vec::new();
    file.take(LARGEST_FILE_BYTES + 1)
        .read_to_end(&mut bytes)
        .map_err(|error| unread(reason_unread(&error)))?;
    if bytes.len() as u64 > LARGEST_FILE_BYTES {
        return Err(unread(format!(
            "it holds more than {LARGEST_FILE_BYTES} bytes, too many for a register"
        )));
    }
    Ok(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Three entries as bytes.
    fn three() -> Vec<u8> {
        let mut previous = Digest::NONE;
        let mut text = String::new();
        for (number, content) in
            [r#"{"kind":"a"}"#, r#"{"kind":"b","k":8.4e-4}"#, r#"{"kind":"c"}"#].iter().enumerate()
        {
            let one = line::written(number as u64 + 1, previous, content);
            previous = one.digest;
            text.push_str(&one.line);
        }
        text.into_bytes()
    }

    #[test]
    fn every_edit_of_a_single_byte_is_noticed() {
        let sound = three();
        assert_eq!(Chain::of(&sound).end, End::Sound);
        let line_of = |at: usize| 1 + sound[..at].iter().filter(|byte| **byte == b'\n').count();
        for at in 0..sound.len() {
            for other in 0..=255u8 {
                if other == sound[at] {
                    continue;
                }
                let mut edited = sound.clone();
                edited[at] = other;
                let chain = Chain::of(&edited);
                assert!(!chain.is_sound(), "byte {at} as {other}");
                assert_eq!(chain.entries.len() + 1, line_of(at), "byte {at} as {other}: {:?}", chain.end);
            }
        }
    }

    #[test]
    fn every_byte_put_in_or_taken_out_is_noticed() {
        let sound = three();
        for at in 0..=sound.len() {
            let mut longer = sound.clone();
            longer.insert(at, b' ');
            assert!(!Chain::of(&longer).is_sound(), "a blank at {at}");
            if at < sound.len() {
                let mut shorter = sound.clone();
                shorter.remove(at);
                // Only the very last line end may be missing: the entry is whole without it.
                assert_eq!(Chain::of(&shorter).is_sound(), at + 1 == sound.len(), "without byte {at}");
            }
        }
    }

    #[test]
    fn cut_at_every_length_the_whole_entries_stay_and_the_rest_is_torn() {
        let sound = three();
        let ends: Vec<usize> = (0..sound.len()).filter(|at| sound[*at] == b'\n').map(|at| at + 1).collect();
        for length in 0..=sound.len() {
            let chain = Chain::of(&sound[..length]);
            let whole = ends.iter().filter(|end| **end <= length + 1).count();
            assert_eq!(chain.entries.len(), whole, "cut at {length}");
            let end = match ends.iter().rev().find(|end| **end <= length) {
                _ if ends.contains(&(length + 1)) => End::WithoutLineEnd,
                Some(end) if *end == length => End::Sound,
                None if length == 0 => End::Sound,
                end => End::Torn { bytes: length - end.unwrap_or(&0) },
            };
            assert_eq!(chain.end, end, "cut at {length}");
        }
    }

    #[test]
    fn a_single_line_of_another_file_is_no_torn_entry() {
        let damaged = End::Damaged { line: 1, damage: Damage::NotAnEntry };
        for other in
            [&b"{\"title\": \"a spec on one line\"}"[..], b"notes", b"\xff\xfe\x00", b"{\"number\":2"]
        {
            assert_eq!(Chain::of(other).end, damaged, "{other:?}");
        }
        for torn in [&b"{"[..], b"{\"number\":1,\"prev", b"\0\0\0"] {
            assert_eq!(Chain::of(torn).end, End::Torn { bytes: torn.len() }, "{torn:?}");
        }
    }

    #[test]
    fn an_entry_taken_out_put_in_or_moved_is_out_of_place() {
        let text = String::from_utf8(three()).unwrap();
        let lines: Vec<&str> = text.split_inclusive('\n').collect();
        for (order, line) in [(vec![1, 2], 1), (vec![0, 2], 2), (vec![0, 2, 1], 2), (vec![0, 0, 1], 2)] {
            let moved: String = order.iter().map(|place| lines[*place]).collect();
            let damaged = End::Damaged { line, damage: Damage::OutOfPlace };
            assert_eq!(Chain::of(moved.as_bytes()).end, damaged, "{order:?}");
        }
        let crlf = text.replace('\n', "\r\n");
        assert_eq!(Chain::of(crlf.as_bytes()).end, End::Damaged { line: 1, damage: Damage::LineEnd });
        let foreign = format!("{text}not a line of ours\n");
        assert_eq!(Chain::of(foreign.as_bytes()).end, End::Damaged { line: 4, damage: Damage::NotAnEntry });
    }
}
