//! One line: an entry with its number, its digest and the digest of the entry before.

use serde_json::{Map, Value};
use sha2::{Digest as _, Sha256};
use std::fmt::{Display, Formatter};

/// A SHA-256.
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
pub struct Digest([u8; 32]);

impl Digest {
    /// The previous digest in the first entry.
    pub const NONE: Self = Self([0; 32]);
    /// Number of hex digits.
    pub const LENGTH: usize = 64;

    /// The digest of these bytes.
    pub fn of(bytes: &[u8]) -> Self {
        Self(Sha256::digest(bytes).into())
    }
}

impl Display for Digest {
    fn fmt(&self, f: &mut Formatter<'_>) -> std::fmt::Result {
        self.0.iter().try_for_each(|byte| write!(f, "{byte:02x}"))
    }
}

impl std::fmt::Debug for Digest {
    fn fmt(&self, f: &mut Formatter<'_>) -> std::fmt::Result {
        Display::fmt(self, f)
    }
}

impl serde::Serialize for Digest {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

/// A sound entry.
#[derive(Clone, Debug, PartialEq)]
pub struct Entry {
    /// Its number, from 1.
    pub number: u64,
    /// Digest of the entry before.
    pub previous: Digest,
    /// Its own digest.
    pub digest: Digest,
    /// Its members other than `number`, `previous` and `digest`.
    pub content: Map<String, Value>,
}

/// The text between the covered bytes and the digest.
const BEFORE_DIGEST: &str = ",\"digest\":\"";
/// The text after the digest, without the line end.
const AFTER_DIGEST: &str = "\"}";

/// An entry ready to be written.
#[derive(Clone, Debug)]
pub(super) struct Written {
    /// Its line, with the line end.
    pub line: String,
    /// Its digest.
    pub digest: Digest,
}

/// The start of every line: number and the digest of the entry before.
pub(super) fn start(number: u64, previous: Digest) -> String {
    format!("{{\"number\":{number},\"previous\":\"{previous}\",")
}

/// The line of an entry; `content` is one JSON object on one line, with at least one member.
pub(super) fn written(number: u64, previous: Digest, content: &str) -> Written {
    let members = content.trim().trim_start_matches('{').trim_end().strip_suffix('}').unwrap_or_default();
    let covered = start(number, previous) + members;
    let digest = Digest::of(covered.as_bytes());
    Written { line: format!("{covered}{BEFORE_DIGEST}{digest}{AFTER_DIGEST}\n"), digest }
}

/// Why a line is not the entry expected there.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Fault {
    /// It is not an entry.
    Form,
    /// It is an entry with a wrong digest.
    Digest,
    /// It is a whole entry with another number, or after another entry.
    Place,
}

/// Reads a line, without its line end, that should be entry `number` after the entry with digest `previous`.
pub(super) fn entry(line: &[u8], number: u64, previous: Digest) -> Result<Entry, Fault> {
    let tail = BEFORE_DIGEST.len() + Digest::LENGTH + AFTER_DIGEST.len();
    let start = line.len().checked_sub(tail).ok_or(Fault::Form)?;
    let (covered, tail) = line.split_at(start);
    let tail = std::str::from_utf8(tail).map_err(|_| Fault::Form)?;
    let stated = tail.strip_prefix(BEFORE_DIGEST).and_then(|tail| tail.strip_suffix(AFTER_DIGEST));
    let stated = stated.ok_or(Fault::Form)?;
    let digest = Digest::of(covered);
    if digest.to_string() != stated {
        return Err(Fault::Digest);
    }
    let mut content: Map<String, Value> =
        serde_json::from_slice(&[covered, b"}"].concat()).map_err(|_| Fault::Form)?;
    let stated_number = content.remove("number").and_then(|stated| stated.as_u64());
    let stated_previous = content.remove("previous");
    let in_place = stated_number == Some(number)
        && stated_previous.as_ref().and_then(Value::as_str) == Some(&previous.to_string());
    if !in_place {
        return Err(Fault::Place);
    }
    Ok(Entry { number, previous, digest, content })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_digest_is_that_of_the_bytes_before_it() {
        let written = written(1, Digest::NONE, r#"{"kind":"note"}"#);
        // printf '{"number":1,"previous":"000…0","kind":"note"' | sha256sum
        let covered = format!("{{\"number\":1,\"previous\":\"{}\",\"kind\":\"note\"", "0".repeat(64));
        assert!(written.line.starts_with(&covered));
        assert_eq!(written.line, format!("{covered},\"digest\":\"{}\"}}\n", Digest::of(covered.as_bytes())));
        assert_eq!(
            Digest::of(b"abc").to_string(),
            // FIPS 180-4, example of SHA-256 for "abc".
            "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
        );
    }

    #[test]
    fn a_line_reads_back_as_what_was_written() {
        let before = Digest::of(b"before");
        let one = written(7, before, r#"{"kind":"note","k":8.432913e-4,"text":"a \"}\" in it"}"#);
        let read = entry(one.line.trim_end().as_bytes(), 7, before).unwrap();
        assert_eq!((read.number, read.previous, read.digest), (7, before, one.digest));
        assert_eq!(read.content["k"], 8.432913e-4);
        assert_eq!(read.content["text"], "a \"}\" in it");
        assert_eq!(entry(one.line.trim_end().as_bytes(), 8, before), Err(Fault::Place));
        assert_eq!(entry(one.line.trim_end().as_bytes(), 7, Digest::NONE), Err(Fault::Place));
        assert_eq!(entry(b"{}", 7, before), Err(Fault::Form));
    }
}
