//! Breaks text between words into lines.

/// Breaks text between words into lines that fit. A word that does not fit stands alone on its line. Text without
/// words is one empty line.
pub(crate) fn wrapped(text: &str, fits: impl Fn(&str) -> bool) -> Vec<String> {
    let mut lines = Vec::new();
    let mut line = String::new();
    for word in text.split_whitespace() {
        let longer = if line.is_empty() { word.to_owned() } else { format!("{line} {word}") };
        if line.is_empty() || fits(&longer) {
            line = longer;
        } else {
            lines.push(std::mem::replace(&mut line, word.to_owned()));
        }
    }
    lines.push(line);
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_are_as_long_as_fits_and_a_longer_word_stands_alone() {
        let lines = |text| wrapped(text, |line| line.len() <= 9);
        assert_eq!(lines("one two  three\nfour"), ["one two", "three", "four"]);
        assert_eq!(lines("a bc incomprehensible d e"), ["a bc", "incomprehensible", "d e"]);
        assert_eq!(lines(" \n"), [""]);
    }
}
