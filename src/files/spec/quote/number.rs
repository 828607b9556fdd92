//! Numbers and amounts of money as people type them into a form.

use super::doubt::Meanings;
use crate::units::currencies_named;

/// A number as typed.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Typed {
    /// It can be read in one way only.
    Number(f64),
    /// Its one mark may be the decimal mark or separate thousands.
    Doubtful(Meanings),
}

/// An amount of money as typed.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Money {
    pub(super) amount: Typed,
    /// The currency written with it, and the codes that this may mean.
    pub(super) currency: Option<(String, Vec<&'static str>)>,
}

/// Reads a number with marks for decimals and thousands; `None` if it is none.
///
/// Two different marks, or one mark several times, tell which is which. One mark before exactly three digits does not.
pub(super) fn number_typed(text: &str) -> Option<Typed> {
    let text = text.trim();
    let (sign, digits) = match text.strip_prefix(['-', '−']) {
        Some(rest) => (-1.0, rest),
        None => (1.0, text.strip_prefix('+').unwrap_or(text)),
    };
    let is_blank = |c: char| matches!(c, ' ' | '\u{a0}' | '\u{202f}' | '\'' | '’');
    let allowed = |c: char| c.is_ascii_digit() || matches!(c, '.' | ',') || is_blank(c);
    let starts = digits.starts_with(|c: char| c.is_ascii_digit() || matches!(c, '.' | ','));
    if !starts || !digits.chars().all(allowed) || !digits.contains(|c: char| c.is_ascii_digit()) {
        return None;
    }
    let blanks = digits.contains(is_blank);
    let (points, commas) = (digits.matches('.').count(), digits.matches(',').count());
    let decimal = match (points, commas) {
        (0, 0) => None,
        (_, 1) if points > 0 && digits.rfind(',') > digits.rfind('.') => Some(','),
        (1, _) if commas > 0 && digits.rfind('.') > digits.rfind(',') => Some('.'),
        (1, 0) => Some('.'),
        (0, 1) => Some(','),
        (_, 0) | (0, _) => None,
        _ => return None,
    };
    let (whole, decimals) = match decimal {
        Some(mark) => digits.rsplit_once(mark)?,
        None => (digits, ""),
    };
    let whole = without_groups(whole)?;
    if !decimals.bytes().all(|byte| byte.is_ascii_digit()) {
        return None;
    }
    let value = |text: String| text.parse::<f64>().ok().map(|value| sign * value);
    let read = value(format!("0{whole}.{decimals}0"))?;
    let one_mark = points + commas == 1 && !blanks;
    let may_group = (1..=3).contains(&whole.len()) && !whole.starts_with('0');
    if one_mark && decimals.len() == 3 && may_group {
        let with_thousands = value(format!("{whole}{decimals}"))?;
        return Some(Typed::Doubtful(Meanings::Thousands { with_decimals: read, with_thousands }));
    }
    Some(Typed::Number(read))
}

/// The digits before the decimal mark without the marks between groups of three; `None` if the groups are others.
fn without_groups(text: &str) -> Option<String> {
    let groups: Vec<&str> = text.split(|c: char| !c.is_ascii_digit()).collect();
    let marks: Vec<char> = text.chars().filter(|c| !c.is_ascii_digit()).collect();
    let [first, rest @ ..] = &groups[..] else { return None };
    let alike = marks.windows(2).all(|pair| pair[0] == pair[1]);
    let grouped = rest.is_empty() || !first.is_empty() && first.len() <= 3;
    (alike && grouped && rest.iter().all(|group| group.len() == 3)).then(|| groups.concat())
}

/// Reads an amount with or without its currency before or after it; `None` if it is none.
pub(super) fn money_typed(text: &str) -> Option<Money> {
    let first = text.find(|c: char| c.is_ascii_digit())?;
    let last = text.rfind(|c: char| c.is_ascii_digit())?;
    let signed = text[..first].trim_end_matches(['-', '−', '+']);
    let (before, after) = (signed.trim(), text[last + 1..].trim());
    // `385,-` and `385.--` are whole amounts.
    let after = match after.strip_prefix([',', '.']) {
        Some(rest) => rest.trim_start_matches(['-', '–', '—']).trim_start(),
        None => after,
    };
    let currency = match (before, after) {
        ("", "") => None,
        (sign, "") | ("", sign) => {
            let codes = currencies_named(sign);
            if codes.is_empty() {
                return None;
            }
            Some((sign.to_owned(), codes))
        }
        _ => return None,
    };
    Some(Money { amount: number_typed(&text[signed.len()..=last])?, currency })
}

/// The doubt about a number of an amount that has more decimals than money has; `None` if there is none.
///
/// A spreadsheet that takes the point for the decimal mark makes 1.385 of a typed `1.385`.
pub(super) fn doubt_of_amount(amount: f64) -> Option<Meanings> {
    match number_typed(&format!("{amount}"))? {
        Typed::Doubtful(meanings) => Some(meanings),
        Typed::Number(_) => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn thousands(with_decimals: f64, with_thousands: f64) -> Option<Typed> {
        Some(Typed::Doubtful(Meanings::Thousands { with_decimals, with_thousands }))
    }

    #[test]
    fn marks_for_decimals_and_thousands_are_told_apart_or_doubted() {
        for (text, value) in [
            ("385", 385.0),
            ("385.5", 385.5),
            ("385,00", 385.0),
            ("1.385,00", 1385.0),
            ("1,385.00", 1385.0),
            ("1 385,00", 1385.0),
            ("1\u{202f}385", 1385.0),
            ("1'385.50", 1385.5),
            ("1.385.000", 1_385_000.0),
            ("12345.678", 12345.678),
            ("0.125", 0.125),
            (",5", 0.5),
            ("-12", -12.0),
        ] {
            assert_eq!(number_typed(text), Some(Typed::Number(value)), "{text}");
        }
        assert_eq!(number_typed("1.385"), thousands(1.385, 1385.0));
        assert_eq!(number_typed("1,385"), thousands(1.385, 1385.0));
        for text in ["", ".", "x", "1.38.5", "1,38.5,0", "12 34", "1e3", "1.2,3.4"] {
            assert_eq!(number_typed(text), None, "{text}");
        }
    }

    #[test]
    fn money_is_read_with_its_currency_before_or_after_it() {
        let of = |text: &str| {
            let money = money_typed(text)?;
            let code = money.currency.map(|(_, codes)| codes[0]);
            Some((money.amount, code.unwrap_or("")))
        };
        for (text, value, code) in [
            ("385 EUR", 385.0, "EUR"),
            ("€ 385,00", 385.0, "EUR"),
            ("EUR 1.385,00", 1385.0, "EUR"),
            ("385,- €", 385.0, "EUR"),
            ("385.-", 385.0, ""),
            ("$385.50", 385.5, "USD"),
            ("-385 EUR", -385.0, "EUR"),
        ] {
            assert_eq!(of(text), Some((Typed::Number(value), code)), "{text}");
        }
        for text in ["per coil", "385 per coil", "2 x 385", "385 EUR net", "EUR 385 EUR"] {
            assert_eq!(of(text), None, "{text}");
        }
        assert!(doubt_of_amount(1.385).is_some() && doubt_of_amount(385.25).is_none());
    }
}
