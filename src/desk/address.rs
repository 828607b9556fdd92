//! Percent-encoding of texts that are parts of an address.

/// Decodes a part of an address: `%C3%BC` becomes `ü`. An invalid sequence stays as it is, and so does a part that is
/// not UTF-8 once decoded.
pub fn decoded(part: &str) -> String {
    let mut bytes = Vec::with_capacity(part.len());
    let mut rest = part.as_bytes();
    while let [first, after @ ..] = rest {
        let digits = after.get(..2).and_then(|two| std::str::from_utf8(two).ok());
        let byte = digits.filter(|two| two.bytes().all(|it| it.is_ascii_hexdigit()));
        match byte.filter(|_| *first == b'%').and_then(|two| u8::from_str_radix(two, 16).ok()) {
            Some(byte) => {
                bytes.push(byte);
                rest = &after[2..];
            }
            None => {
                bytes.push(*first);
                rest = after;
            }
        }
    }
    String::from_utf8(bytes).unwrap_or_else(|_| part.to_owned())
}

/// Encodes a text as part of an address: all bytes except ASCII letters, digits and `-._~` are percent-encoded.
pub fn encoded(text: &str) -> String {
    text.bytes()
        .map(|byte| match byte {
            b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'-' | b'.' | b'_' | b'~' => {
                char::from(byte).to_string()
            }
            other => format!("%{other:02X}"),
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_put_in_per_cent_comes_back() {
        for text in ["Prüf.json", "2.2 A", "100%", "a%2", "%zz", "µ+ü", ""] {
            assert_eq!(decoded(&encoded(text)), text);
        }
        assert_eq!(decoded("100%"), "100%");
        assert_eq!(decoded("%FF"), "%FF", "no text");
    }
}
