//! Gets the text of a spec file, with limits of size, encoding and nesting.

use crate::error::reason_unread;
use crate::{Error, Result};
use sha2::{Digest, Sha256};
use std::fs::File;
use std::io::Read;
use std::path::{Path, PathBuf};

/// Largest file that is read, bytes. A spec with every part filled in takes three thousand.
const LARGEST_FILE: u64 = 1 << 20;

/// The text of one file.
#[derive(Clone, Debug)]
pub(super) struct Source {
    /// Its path, for messages.
    pub path: PathBuf,
    /// UTF-8, without byte order mark, with LF line ends.
    pub text: String,
    /// First 12 hex digits of the SHA-256 of `text`.
    pub digest: String,
}

impl Source {
    /// Reads a file; refuses what cannot be a spec before parsing it.
    pub(super) fn read(path: &Path) -> Result<Self> {
        let refused = |reason: String| Error::Read { path: path.into(), reason };
        let file = File::open(path).map_err(|error| refused(reason_unread(&error)))?;
        let is_directory = file.metadata().is_ok_and(|metadata| metadata.is_dir());
        if is_directory {
            return Err(refused("it is a directory, not a file".into()));
        }
        let mut bytes = Vec::new();
        file.take(LARGEST_FILE + 1)
            .read_to_end(&mut bytes)
            .map_err(|error| refused(reason_unread(&error)))?;
        Self::from_bytes(path, &bytes)
    }

    /// Takes these bytes; `path` only names them in messages.
    pub(crate) fn from_bytes(path: &Path, bytes: &[u8]) -> Result<Self> {
        let refused = |reason: String| Err(Error::Read { path: path.into(), reason });
        let wrong_encoding = |reason: String| {
            let hint = Some("save the file as UTF-8".to_owned());
            Err(Error::Unusable { path: path.into(), reason, hint })
        };
        if bytes.len() as u64 > LARGEST_FILE {
            return refused("it is larger than 1 MiB, the most that a spec may have".into());
        }
        if let Some(encoding) = other_encoding(bytes) {
            return wrong_encoding(format!("it is {encoding} text"));
        }
        let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
        let text = match std::str::from_utf8(bytes) {
            Ok(text) => text.replace("\r\n", "\n"),
            Err(error) => {
                let before = &bytes[..error.valid_up_to()];
                let line = 1 + before.iter().filter(|byte| **byte == b'\n').count();
                return wrong_encoding(format!("line {line} is not UTF-8 text"));
            }
        };
        if text.contains('\0') {
            return refused("it is not a text file: it holds zero bytes".into());
        }
        if text.trim().is_empty() {
            return refused("it is empty".into());
        }
        let digest =
            Sha256::digest(text.as_bytes()).iter().take(6).map(|byte| format!("{byte:02x}")).collect();
        Ok(Self { path: path.into(), text, digest })
    }
}

/// The name of the encoding, if it is another one in which JSON text is sometimes saved.
fn other_encoding(bytes: &[u8]) -> Option<&'static str> {
    match bytes {
        [0xff, 0xfe, 0, 0, ..] | [0, 0, 0xfe, 0xff, ..] => Some("UTF-32"),
        [0xff, 0xfe, ..] => Some("UTF-16 (little-endian)"),
        [0xfe, 0xff, ..] => Some("UTF-16 (big-endian)"),
        [b'{' | b' ' | b'\n' | b'\r', 0, 0, 0, ..] | [0, 0, 0, b'{', ..] => Some("UTF-32"),
        [b'{' | b' ' | b'\n' | b'\r', 0, ..] => Some("UTF-16 (little-endian)"),
        [0, b'{' | b' ' | b'\n' | b'\r', ..] => Some("UTF-16 (big-endian)"),
        [0x1f, 0x8b, ..] => Some("compressed"),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn source(bytes: &[u8]) -> Result<Source> {
        Source::from_bytes(Path::new("pair.json"), bytes)
    }

    #[test]
    fn byte_order_mark_and_line_ends_do_not_change_the_digest() {
        let plain = source(b"{\n}\n").unwrap();
        assert_eq!(source(b"\xef\xbb\xbf{\r\n}\r\n").unwrap().digest, plain.digest);
        // sha256sum of the four bytes `{`, LF, `}`, LF.
        assert_eq!(plain.digest, "d914176fd50b");
    }

    #[test]
    fn what_cannot_be_a_spec_is_refused_by_its_kind() {
        let utf16: Vec<u8> =
            [0xfeff_u16].into_iter().chain("{}".encode_utf16()).flat_map(u16::to_le_bytes).collect();
        for (bytes, wanted) in [
            (utf16.as_slice(), "cannot read pair.json: it is UTF-16 (little-endian) text"),
            (&utf16[2..], "cannot read pair.json: it is UTF-16 (little-endian) text"),
            (b"{\n\"title\": \"M\xfcnchen\"}", "cannot read pair.json: line 2 is not UTF-8 text"),
            (b"", "cannot read pair.json: it is empty"),
            (b" \r\n\t", "cannot read pair.json: it is empty"),
            (b"abc\0def", "cannot read pair.json: it is not a text file: it holds zero bytes"),
        ] {
            assert_eq!(source(bytes).unwrap_err().to_string(), wanted);
        }
        let large = vec![b' '; LARGEST_FILE as usize + 1];
        assert!(source(&large).unwrap_err().to_string().contains("larger than 1 MiB"));
    }
}
