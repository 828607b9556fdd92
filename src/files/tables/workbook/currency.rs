//! The currency in the number format of a cell.

use crate::units::currencies_named;

/// Formats that every workbook has without saying so. Their `$` stands for the reader's own currency.
const BUILT_IN: [&str; 2] =
    ["_($* #,##0_);_($* (#,##0);_($* \"-\"_);_(@_)", "_($* #,##0.00_);_($* (#,##0.00);_($* \"-\"??_);_(@_)"];

/// The sign or code that a number format writes beside the number; `None` if it is no currency.
///
/// A currency stands as `[$€-407]`, within quotation marks, after a backslash, or as it is.
pub(super) fn of_format(code: &str) -> Option<String> {
    if BUILT_IN.contains(&code) {
        return None;
    }
    let mut letters = code.chars();
    let mut plain = String::new();
    while let Some(letter) = letters.next() {
        let written = match letter {
            '[' => {
                let inside: String = letters.by_ref().take_while(|letter| *letter != ']').collect();
                let sign = inside.strip_prefix('$').map(|rest| rest.split('-').next().unwrap_or_default());
                match sign.filter(|sign| !sign.trim().is_empty()) {
                    Some(sign) => return Some(sign.trim().to_owned()),
                    None => continue,
                }
            }
            '"' => letters.by_ref().take_while(|letter| *letter != '"').collect::<String>(),
            // The letter after these is a blank of its width, or fills the cell.
            '_' | '*' => {
                letters.next();
                " ".into()
            }
            '\\' => letters.next().map(String::from).unwrap_or_default(),
            ';' => break,
            letter => letter.to_string(),
        };
        plain.push_str(&written);
    }
    plain
        .split(|c: char| c.is_whitespace() || c.is_ascii_digit() || "#,.?0()+-%/".contains(c))
        .find(|word| !currencies_named(word).is_empty())
        .map(str::to_owned)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_currency_is_found_however_a_format_writes_it() {
        for (code, sign) in [
            ("[$$-409]#,##0.00", Some("$")),
            ("#,##0.00\\ [$€-407]", Some("€")),
            ("#,##0.00 \"€\"", Some("€")),
            ("_-* #,##0.00\\ \"€\"_-;\\-* #,##0.00\\ \"€\"_-;_-* \"-\"??\\ \"€\"_-;_-@_-", Some("€")),
            ("[$CHF] #,##0.00", Some("CHF")),
            ("[$£-809]#,##0.00", Some("£")),
            ("0.00\" EUR\"", Some("EUR")),
            ("$#,##0", Some("$")),
            ("_(\"$\"* #,##0.00_)", Some("$")),
            ("0.00\" mm\"", None),
            ("[Red]0.00", None),
            ("[$-409]0.00", None),
            ("General", None),
            (BUILT_IN[1], None),
        ] {
            assert_eq!(of_format(code).as_deref(), sign, "{code}");
        }
    }
}
