//! The currencies that people mean by a sign, a word or a code.

/// Signs, words and the codes of ISO 4217 that they may mean. `$` stands for several currencies.
const SIGNS: [(&str, &[&str]); 29] = [
    ("€", &["EUR"]),
    ("euro", &["EUR"]),
    ("euros", &["EUR"]),
    ("£", &["GBP"]),
    ("pound sterling", &["GBP"]),
    ("pounds sterling", &["GBP"]),
    ("$", &["USD", "CAD", "AUD", "NZD", "SGD", "HKD", "TWD", "MXN"]),
    ("dollar", &["USD", "CAD", "AUD", "NZD", "SGD", "HKD", "TWD", "MXN"]),
    ("dollars", &["USD", "CAD", "AUD", "NZD", "SGD", "HKD", "TWD", "MXN"]),
    ("us$", &["USD"]),
    ("us-$", &["USD"]),
    ("us dollar", &["USD"]),
    ("us dollars", &["USD"]),
    ("c$", &["CAD"]),
    ("ca$", &["CAD"]),
    ("a$", &["AUD"]),
    ("au$", &["AUD"]),
    ("fr.", &["CHF"]),
    ("sfr.", &["CHF"]),
    ("swiss franc", &["CHF"]),
    ("swiss francs", &["CHF"]),
    ("¥", &["JPY", "CNY"]),
    ("yen", &["JPY"]),
    ("kr", &["SEK", "NOK", "DKK", "ISK"]),
    ("kr.", &["SEK", "NOK", "DKK", "ISK"]),
    ("zł", &["PLN"]),
    ("kč", &["CZK"]),
    ("ft", &["HUF"]),
    ("₹", &["INR"]),
];

/// Codes that are known without a sign.
const CODES: [&str; 35] = [
    "EUR", "GBP", "USD", "CAD", "AUD", "NZD", "SGD", "HKD", "TWD", "MXN", "CHF", "JPY", "CNY", "SEK", "NOK",
    "DKK", "ISK", "PLN", "CZK", "HUF", "INR", "RON", "BGN", "TRY", "UAH", "ILS", "ZAR", "BRL", "ARS", "CLP",
    "KRW", "THB", "MYR", "IDR", "RUB",
];

/// The codes that a text may mean; empty if it names no currency that is known here.
pub(crate) fn currencies_named(text: &str) -> Vec<&'static str> {
    let text = text.trim();
    let lower = text.to_lowercase();
    if let Some(code) = CODES.iter().find(|code| code.eq_ignore_ascii_case(text)) {
        return vec![code];
    }
    SIGNS.iter().find(|(sign, _)| *sign == lower).map_or_else(Vec::new, |(_, codes)| codes.to_vec())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sign_means_every_currency_that_uses_it_and_every_sign_has_a_known_code() {
        assert_eq!(currencies_named(" € "), ["EUR"]);
        assert_eq!(currencies_named("eur"), ["EUR"]);
        assert_eq!(currencies_named("Euro"), ["EUR"]);
        assert_eq!(currencies_named("US$"), ["USD"]);
        assert!(currencies_named("$").contains(&"CAD"));
        assert!(currencies_named("per coil").is_empty() && currencies_named("").is_empty());
        for (sign, codes) in SIGNS {
            assert!(codes.iter().all(|code| CODES.contains(code)), "{sign}");
            assert_eq!(sign, sign.to_lowercase());
        }
    }
}
