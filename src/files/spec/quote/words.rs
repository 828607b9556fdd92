//! Words, dates and times as people type them into a form.

use crate::numeric::calendar::Day;

/// Words that add nothing to the choice between a few words.
const FILLERS: [&str; 12] =
    ["in", "the", "of", "on", "coil", "coils", "connected", "connection", "wired", "is", "are", "wire"];

/// Other words for those of the form.
const SAME: [(&str, &str); 11] = [
    ("serial", "series"),
    ("serially", "series"),
    ("cu", "copper"),
    ("al", "aluminium"),
    ("alu", "aluminium"),
    ("aluminum", "aluminium"),
    ("varnished", "varnish"),
    ("horizontally", "horizontal"),
    ("vertically", "vertical"),
    ("grade1", "grade 1"),
    ("grade2", "grade 2"),
];

/// The one of these words that a text means; `None` if none or several, or if it says more.
pub(super) fn word_typed(text: &str, words: &[&'static str]) -> Option<&'static str> {
    let lower = text.to_lowercase();
    let plain = lower.split(|c: char| c.is_whitespace() || ",.;:()".contains(c)).filter(|it| !it.is_empty());
    let plain: Vec<&str> = plain.collect();
    let whole = plain.join(" ");
    if let Some(word) = words.iter().find(|word| **word == whole) {
        return Some(word);
    }
    let mut said = plain.iter().filter(|word| !FILLERS.contains(word));
    let (one, more) = (said.next()?, said.next());
    let meant = SAME.iter().find(|(other, _)| other == one).map_or(*one, |(_, word)| word);
    words.iter().copied().find(|word| *word == meant && more.is_none())
}

/// A limit without the sign that says that it holds to both sides.
pub(super) fn without_both_signs(text: &str) -> &str {
    let text = text.trim();
    let signs = ["±", "+/-", "+/−", "+ / -", "+-", "+−", "≤", "<=", "<"];
    signs.iter().find_map(|sign| text.strip_prefix(sign)).map_or(text, str::trim_start)
}

/// Thermal classes and their letters (IEC 60085, from memory).
const CLASSES: [(&str, f64); 8] = [
    ("Y", 90.0),
    ("A", 105.0),
    ("E", 120.0),
    ("B", 130.0),
    ("F", 155.0),
    ("H", 180.0),
    ("N", 200.0),
    ("R", 220.0),
];

/// A thermal class by its letter, its temperature or both, °C; `None` if they do not agree.
pub(super) fn thermal_class_typed(text: &str) -> Option<f64> {
    let upper = text.to_uppercase();
    let words = upper.split(|c: char| c.is_whitespace() || "()[]/,;:-".contains(c));
    let (mut letter, mut number) = (None, None);
    for word in
        words.filter(|word| !matches!(*word, "" | "CLASS" | "THERMAL" | "INSULATION" | "°C" | "C" | "DEGC"))
    {
        let of_letter = CLASSES.iter().find(|(name, _)| *name == word).map(|(_, celsius)| *celsius);
        let bare = word.trim_end_matches("DEGC").trim_end_matches("°C");
        match (of_letter, bare.parse::<f64>()) {
            (Some(celsius), _) if letter.is_none() => letter = Some(celsius),
            (None, Ok(celsius)) if number.is_none() => number = Some(celsius),
            _ => return None,
        }
    }
    match (letter, number) {
        (Some(letter), Some(number)) => (letter == number).then_some(number),
        (letter, number) => letter.or(number),
    }
}

/// The spans of the calendar with what people write for them.
const SPANS: [(&str, &[&str]); 4] = [
    ("days", &["day", "days", "d", "calendar days"]),
    ("weeks", &["week", "weeks", "wk", "wks", "w"]),
    ("months", &["month", "months", "mo"]),
    ("years", &["year", "years", "yr", "yrs"]),
];

/// What says from when a delivery counts, which the form says already.
const FROM_ORDER: [&str; 8] = [
    "after order",
    "after receipt of order",
    "after the order",
    "after ordering",
    "from order",
    "from receipt of order",
    "aro",
    "after your order",
];

/// A period as a file has it, and its shorter end if it is stated from one to another.
pub(super) fn period_typed(text: &str) -> Option<(String, Option<String>)> {
    let lower = text.trim().to_lowercase();
    let lower = lower.trim_end_matches('.');
    let plain = FROM_ORDER.iter().find_map(|from| lower.strip_suffix(from)).unwrap_or(lower).trim();
    let unit_at = plain.rfind(|c: char| c.is_ascii_digit())? + 1;
    let (numbers, unit) = plain.split_at(unit_at);
    let (unit, _) = SPANS.iter().find(|(_, names)| names.contains(&unit.trim()))?;
    let of = |number: &str| {
        let number = number.trim();
        let is_plain = number.bytes().all(|byte| byte.is_ascii_digit() || byte == b'.');
        number.parse::<f64>().ok().filter(|_| is_plain)
    };
    let numbers = numbers.replace(['–', '—'], "-").replace(" to ", "-").replace(" or ", "-");
    match numbers.split_once('-') {
        Some((from, to)) => {
            let (from, to) = (of(from)?, of(to)?);
            (from < to).then(|| (format!("{to} {unit}"), Some(format!("{from} {unit}"))))
        }
        None => Some((format!("{} {unit}", of(&numbers)?), None)),
    }
}

/// The months by their first three letters.
const MONTHS: [&str; 12] =
    ["jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"];

/// A day as a file has it; `None` if day and month may be exchanged, or if it is none.
///
/// With points the day stands first, with dashes or strokes and a year of four digits in front the year does.
pub(super) fn day_typed(text: &str) -> Option<String> {
    let lower = text.trim().trim_end_matches('.').to_lowercase();
    let parts: Vec<&str> =
        lower.split(|c: char| c.is_whitespace() || ".,/-".contains(c)).filter(|it| !it.is_empty()).collect();
    let [one, two, three] = parts[..] else { return None };
    let number = |text: &str| text.parse::<u8>().ok();
    let ordinal = |text: &str| number(text.trim_end_matches(|c: char| c.is_ascii_alphabetic()));
    let month = |text: &str| {
        let letters = text.len() >= 3 && text.bytes().all(|byte| byte.is_ascii_alphabetic());
        let at = MONTHS.iter().position(|month| letters && text.starts_with(month))?;
        Some(at as u8 + 1)
    };
    let year = |text: &str| {
        let year: i32 = text.parse().ok()?;
        match text.len() {
            4 => Some(year),
            2 => Some(2000 + year),
            _ => None,
        }
    };
    let day = if one.len() == 4 {
        Day::new(year(one)?, number(two)?, number(three)?)
    } else if let Some(month) = month(two) {
        Day::new(year(three)?, month, ordinal(one)?)
    } else if let Some(month) = month(one) {
        Day::new(year(three)?, month, ordinal(two)?)
    } else {
        let (first, second) = (number(one)?, number(two)?);
        match lower.contains('.') {
            true => Day::new(year(three)?, second, first),
            false if first > 12 && three.len() == 4 => Day::new(year(three)?, second, first),
            false if second > 12 && three.len() == 4 => Day::new(year(three)?, first, second),
            false => None,
        }
    };
    day.map(|day| day.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_choice_is_read_with_capitals_and_small_words_and_never_guessed() {
        let words = &["series", "parallel"];
        for (text, word) in [
            ("Parallel", Some("parallel")),
            ("in parallel", Some("parallel")),
            ("Coils connected in series.", Some("series")),
            ("series or parallel", None),
            ("not parallel", None),
            ("", None),
            ("anti-parallel", None),
        ] {
            assert_eq!(word_typed(text, words), word, "{text}");
        }
        assert_eq!(word_typed("Grade 2", &["grade 1", "grade 2"]), Some("grade 2"));
        assert_eq!(word_typed("Cu", &["copper", "aluminium"]), Some("copper"));
    }

    #[test]
    fn a_thermal_class_is_read_by_letter_and_temperature_if_they_agree() {
        for (text, celsius) in [
            ("F", Some(155.0)),
            ("Class H", Some(180.0)),
            ("155", Some(155.0)),
            ("F (155 °C)", Some(155.0)),
            ("155°C", Some(155.0)),
            ("F (180)", None),
            ("Z", None),
            ("good", None),
            ("B or F", None),
            ("", None),
        ] {
            assert_eq!(thermal_class_typed(text), celsius, "{text}");
        }
    }

    #[test]
    fn a_period_may_have_two_ends_and_the_longer_one_counts() {
        let of = |text: &str| period_typed(text);
        assert_eq!(of("6-8 weeks"), Some(("8 weeks".into(), Some("6 weeks".into()))));
        assert_eq!(of("6 – 8 Weeks after order"), Some(("8 weeks".into(), Some("6 weeks".into()))));
        assert_eq!(of("6 to 8 wks"), Some(("8 weeks".into(), Some("6 weeks".into()))));
        assert_eq!(of("6weeks"), Some(("6 weeks".into(), None)));
        assert_eq!(of("1.5 months"), Some(("1.5 months".into(), None)));
        for text in
            ["soon", "8-6 weeks", "30 working days", "about 6 weeks", "6", "", "-6 weeks", "1,5 weeks"]
        {
            assert_eq!(of(text), None, "{text}");
        }
    }

    #[test]
    fn a_day_is_read_unless_day_and_month_may_be_exchanged() {
        for (text, day) in [
            ("31.3.2027", Some("2027-03-31")),
            ("01.04.27", Some("2027-04-01")),
            ("2027/03/31", Some("2027-03-31")),
            ("31/3/2027", Some("2027-03-31")),
            ("3/31/2027", Some("2027-03-31")),
            ("31 March 2027", Some("2027-03-31")),
            ("March 31st, 2027", Some("2027-03-31")),
            ("3/4/2027", None),
            ("31.2.2027", None),
            ("soon", None),
            ("3/4/27", None),
        ] {
            assert_eq!(day_typed(text).as_deref(), day, "{text}");
        }
    }
}
