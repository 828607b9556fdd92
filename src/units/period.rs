//! Calendar periods, in days, read from and written in ordinary words.

use super::{Dimension, QuantityError, brief, shortened};

/// Days of each word, longest first; a month is a twelfth of a year of 365.25 days.
const WORDS: [(&str, f64); 4] = [("year", 365.25), ("month", 365.25 / 12.0), ("week", 7.0), ("day", 1.0)];

/// Reads `6 weeks`, as days.
///
/// # Errors
/// Anything other than a plain number and one of the words.
pub(crate) fn parse_period(text: &str) -> Result<f64, QuantityError> {
    let refused = || QuantityError {
        message: format!("`{}` is not a period", shortened(text)),
        hint: "write a number of days, weeks, months or years, such as `6 weeks`".into(),
    };
    let (number, word) = text.trim().split_once(' ').ok_or_else(refused)?;
    let plain = number.bytes().all(|byte| byte.is_ascii_digit() || byte == b'.');
    let number: f64 = number.parse().ok().filter(|_| plain).ok_or_else(refused)?;
    let word = word.trim();
    let days = WORDS.iter().find(|(name, _)| word.strip_suffix('s').unwrap_or(word) == *name);
    days.map(|(_, days)| number * days).ok_or_else(refused)
}

/// Writes days in the longest word that gives a whole number.
pub(crate) fn period(days: f64) -> String {
    let whole = |(name, of): (&'static str, f64)| {
        let count = days / of;
        (count >= 1.0 && (count - count.round()).abs() < 1e-9).then(|| (name, count.round()))
    };
    let (name, count) = WORDS.into_iter().find_map(whole).unwrap_or(("day", days.round()));
    format!("{} {name}{}", brief(count, Dimension::Number), if count == 1.0 { "" } else { "s" })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_period_is_read_in_the_words_of_a_letter_and_written_so() {
        for (text, days) in [("6 weeks", 42.0), ("1 day", 1.0), ("2 years", 730.5), ("1 month", 30.4375)] {
            assert_eq!(parse_period(text), Ok(days), "{text}");
            assert_eq!(period(days), text);
        }
        assert_eq!(parse_period("1.5 months").map(period), Ok("46 days".into()));
        for wrong in
            ["6", "weeks", "six weeks", "6 fortnights", "-6 weeks", "1e3 days", "inf days", "6 weekss"]
        {
            assert!(parse_period(wrong).is_err(), "{wrong}");
        }
    }
}
