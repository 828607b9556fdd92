//! Reading a quantity that a person wrote.

use super::dimension::{Dimension, Scale, Unit, ascii_unit, shift};

/// Most digits on each side of the point: no measurement has more, and the exponent stays in range.
const MOST_DIGITS: usize = 40;

/// Why a text is not the quantity that was expected.
#[derive(Clone, Debug, PartialEq)]
pub struct QuantityError {
    /// What is wrong: one lower-case sentence with the value found.
    pub message: String,
    /// What is allowed and how to write it.
    pub hint: String,
}

impl std::fmt::Display for QuantityError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.message)
    }
}

impl std::error::Error for QuantityError {}

/// Reads a quantity: a decimal number, an optional space, a unit of this dimension. The result is in SI units
/// (temperatures in °C), always finite.
///
/// The number may have a sign (`-`, `+` or the typographic minus), a decimal point and an exponent of at most
/// two digits. Case matters. A decimal unit only shifts the exponent before the one rounding to a double:
///
/// ```
/// use coilwright::units::{Dimension, parse};
/// assert_eq!(parse("165 mm", Dimension::Length).unwrap(), 0.165);
/// assert_eq!(parse("−1.4 A", Dimension::Current).unwrap(), -1.4);
/// assert_eq!(parse("20 °C", Dimension::Temperature).unwrap(), 20.0);
/// assert_eq!(parse("1%", Dimension::Fraction).unwrap(), 0.01);
/// assert!(parse("165", Dimension::Length).is_err());
/// ```
pub fn parse(text: &str, dimension: Dimension) -> Result<f64, QuantityError> {
    let trimmed = text.trim_matches(is_space);
    let Some((digits, rest)) = split_number(trimmed) else {
        return Err(not_a_quantity(trimmed, dimension));
    };
    let rest = rest.trim_start_matches(is_space);
    if rest.is_empty() && dimension != Dimension::Number {
        return Err(without_unit(trimmed, dimension));
    }
    match dimension.unit_named(rest) {
        Some(unit) => number_of(&digits, unit).ok_or_else(|| out_of_range(trimmed, dimension)),
        None => Err(wrong_unit(trimmed, rest, dimension)),
    }
}

/// The unit that a quantity is written in; `None` if [`parse`] refuses it.
pub(crate) fn unit_written(text: &str, dimension: Dimension) -> Option<Unit> {
    let (_, rest) = split_number(text.trim_matches(is_space))?;
    dimension.unit_named(rest.trim_start_matches(is_space))
}

/// Reads a plain decimal number as [`parse`] reads the number of a quantity, into this unit's SI value. It must be
/// fast, since tables have millions of numbers.
pub fn number(text: &str, unit: Unit) -> Option<f64> {
    if let Some(value) = short_number(text.as_bytes(), unit) {
        return Some(value);
    }
    if let Scale::Decimal(shift) = unit.scale
        && text.bytes().all(|byte| matches!(byte, b'0'..=b'9' | b'.' | b'e' | b'E' | b'+' | b'-'))
    {
        return any_number(text, shift);
    }
    match split_number(text.trim_matches(is_space)) {
        Some((digits, "")) => number_of(&digits, unit),
        _ => None,
    }
}

/// Reads a short number without an exponent. Its digits and the power of ten are both exact as doubles, so the single
/// division or product rounds correctly (Clinger 1990, "How to read floating point numbers accurately").
fn short_number(bytes: &[u8], unit: Unit) -> Option<f64> {
    const LARGEST_EXACT: u64 = 1 << 53;
    let (negative, digits) = match bytes.split_first()? {
        (b'-', rest) => (true, rest),
        _ => (false, bytes),
    };
    // Seventeen digits are more than a double holds exactly, and nineteen could overflow the sum.
    if digits.is_empty() || digits.len() > 17 {
        return None;
    }
    let (mut sum, mut decimals, mut point, mut any) = (0_u64, 0, false, false);
    for byte in digits {
        match byte {
            b'0'..=b'9' => {
                sum = 10 * sum + u64::from(byte - b'0');
                decimals += i32::from(point);
                any = true;
            }
            b'.' if !point => point = true,
            _ => return None,
        }
    }
    let Scale::Decimal(places) = unit.scale else { return None };
    let exponent = places - decimals;
    if !any || sum > LARGEST_EXACT || !(-22..=22).contains(&exponent) {
        return None;
    }
    let magnitude = shift(sum as f64, exponent);
    Some(if negative { -magnitude } else { magnitude })
}

/// Reads a number as the standard library does, with its exponent shifted before the single rounding: tables that
/// programs write may hold exponents of any length.
fn any_number(text: &str, shift: i32) -> Option<f64> {
    let (mantissa, exponent) = match text.split_once(['e', 'E']) {
        _ if shift == 0 => (text, None),
        Some((mantissa, exponent)) => (mantissa, Some(exponent.parse::<i32>().ok()?.checked_add(shift)?)),
        None => (text, Some(shift)),
    };
    let value = match exponent {
        None => mantissa.parse::<f64>(),
        Some(exponent) => format!("{mantissa}e{exponent}").parse::<f64>(),
    };
    value.ok().filter(|value| value.is_finite())
}

/// The regular expression, in the syntax that ECMA-262 and RE2 share, for exactly the texts that [`parse`] accepts for
/// this dimension.
pub fn quantity_pattern(dimension: Dimension) -> String {
    const SPACE: &str = "[ \\t\\u00a0\\u2009\\u202f]*";
    let names: Vec<String> =
        dimension.units().iter().flat_map(|unit| unit.names).map(|name| spellings(name)).collect();
    let number =
        format!("([0-9]{{1,{MOST_DIGITS}}}(\\.[0-9]{{0,{MOST_DIGITS}}})?|\\.[0-9]{{1,{MOST_DIGITS}}})");
    let names = names.join("|");
    format!("^{SPACE}[-+\\u2212]?{number}([eE][-+\\u2212]?[0-9]{{1,2}})?{SPACE}({names}){SPACE}$")
}

/// All spellings of an ASCII unit name, as a regular expression; the inverse of [`ascii_unit`].
fn spellings(name: &str) -> String {
    match name {
        "degC" => "deg ?C|[\\u00b0\\u00ba] ?C|\\u2103".into(),
        "deg" => "deg|[\\u00b0\\u00ba]".into(),
        _ => {
            let name = name.replace('2', "[2\\u00b2]").replace("ohm", "(ohm|[\\u03a9\\u2126])");
            match name.strip_prefix('u') {
                Some(rest) => format!("[u\\u00b5\\u03bc]{rest}"),
                None => name,
            }
        }
    }
}

/// The white space allowed around and inside a quantity: space, tab, no-break, thin and narrow no-break space.
fn is_space(character: char) -> bool {
    matches!(character, ' ' | '\t' | '\u{a0}' | '\u{2009}' | '\u{202f}')
}

/// A decimal number: sign, digits without the point, and the power of ten to shift them by.
struct Decimal {
    text: String,
    exponent: i32,
}

/// Splits a text into the number at its start and the rest.
fn split_number(text: &str) -> Option<(Decimal, &str)> {
    let (sign, unsigned) = match text.chars().next()? {
        '-' => ("-", &text[1..]),
        '+' => ("", &text[1..]),
        '\u{2212}' => ("-", &text['\u{2212}'.len_utf8()..]),
        _ => ("", text),
    };
    let bytes = unsigned.as_bytes();
    let whole = bytes.iter().take_while(|byte| byte.is_ascii_digit()).count();
    let mut end = whole;
    let mut decimals = 0;
    if bytes.get(whole) == Some(&b'.') {
        decimals = bytes[whole + 1..].iter().take_while(|byte| byte.is_ascii_digit()).count();
        end = whole + 1 + decimals;
    }
    if whole + decimals == 0 || whole.max(decimals) > MOST_DIGITS {
        return None;
    }
    let mut text = String::with_capacity(end + 8);
    text.push_str(sign);
    text.push_str(&unsigned[..whole]);
    text.push_str(&unsigned[end - decimals..end]);
    let (written_exponent, rest) = split_exponent(&unsigned[end..]);
    Some((Decimal { text, exponent: written_exponent - decimals as i32 }, rest))
}

/// An exponent of one or two digits, or 0 if there is none; and the rest of the text.
fn split_exponent(text: &str) -> (i32, &str) {
    let Some(after) = text.strip_prefix(['e', 'E']) else { return (0, text) };
    let (sign, unsigned) = match after.strip_prefix(['-', '\u{2212}']) {
        Some(unsigned) => (-1, unsigned),
        None => (1, after.strip_prefix('+').unwrap_or(after)),
    };
    let digits = unsigned.bytes().take_while(u8::is_ascii_digit).count();
    match digits {
        1 | 2 => (sign * unsigned[..digits].parse::<i32>().unwrap_or(0), &unsigned[digits..]),
        _ => (0, text),
    }
}

/// The SI value; `None` if it is not finite.
fn number_of(decimal: &Decimal, unit: Unit) -> Option<f64> {
    let rounded = |exponent: i32| format!("{}e{exponent}", decimal.text).parse::<f64>().ok();
    let value = match unit.scale {
        Scale::Decimal(shift) => rounded(decimal.exponent + shift)?,
        Scale::Factor(_) | Scale::Offset(_) => unit.to_si(rounded(decimal.exponent)?),
    };
    value.is_finite().then_some(value)
}

fn how_to_write(dimension: Dimension) -> String {
    match dimension {
        Dimension::Number => "write a number without a unit, such as `3`".into(),
        _ => format!(
            "write {} as a number and a unit, such as `{}` (units: {})",
            dimension.name(),
            dimension.example(),
            dimension.allowed()
        ),
    }
}

fn not_a_quantity(text: &str, dimension: Dimension) -> QuantityError {
    let comma = text.split_once(',').is_some_and(|(before, after)| {
        before.ends_with(|c: char| c.is_ascii_digit()) && after.starts_with(|c: char| c.is_ascii_digit())
    });
    if comma {
        return decimal_comma(text);
    }
    let unsigned = text.trim_start_matches(['-', '+', '\u{2212}']);
    let digits = unsigned.split(|c: char| !c.is_ascii_digit()).next().unwrap_or_default();
    let decimals = unsigned[digits.len()..].strip_prefix('.').unwrap_or_default();
    let decimals = decimals.split(|c: char| !c.is_ascii_digit()).next().unwrap_or_default();
    let too_long = digits.len().max(decimals.len()) > MOST_DIGITS;
    QuantityError {
        message: match too_long {
            true => {
                format!("`{}` has more than {MOST_DIGITS} digits before or after its point", shortened(text))
            }
            false => format!("`{}` is not {}", shortened(text), dimension.name()),
        },
        hint: how_to_write(dimension),
    }
}

fn decimal_comma(text: &str) -> QuantityError {
    QuantityError {
        message: format!("`{}` has a comma in its number", shortened(text)),
        hint: "write the decimals after a point, as in `8.5 mm`, and thousands without a mark".into(),
    }
}

fn without_unit(text: &str, dimension: Dimension) -> QuantityError {
    QuantityError {
        message: format!("`{}` has no unit", shortened(text)),
        hint: format!(
            "write the unit too, such as `{text} {}` (units: {})",
            dimension.units()[0].names[0],
            dimension.allowed()
        ),
    }
}

fn out_of_range(text: &str, dimension: Dimension) -> QuantityError {
    QuantityError {
        message: format!("`{}` is too large for {}", shortened(text), dimension.name()),
        hint: how_to_write(dimension),
    }
}

fn wrong_unit(text: &str, unit: &str, dimension: Dimension) -> QuantityError {
    let text = shortened(text);
    if unit.starts_with(|c: char| c == ',' || c.is_ascii_digit()) {
        return match unit.starts_with(',') {
            true => decimal_comma(&text),
            false => QuantityError {
                message: format!("`{text}` holds more than one number"),
                hint: how_to_write(dimension),
            },
        };
    }
    let exponent = unit.strip_prefix(['e', 'E']).map(|rest| rest.trim_start_matches(['-', '+', '\u{2212}']));
    if exponent.is_some_and(|rest| rest.starts_with(|c: char| c.is_ascii_digit())) {
        return QuantityError {
            message: format!("`{text}` has an exponent of more than two digits"),
            hint: how_to_write(dimension),
        };
    }
    if dimension == Dimension::Number {
        return QuantityError {
            message: format!("`{text}` has a unit where a plain number belongs"),
            hint: how_to_write(dimension),
        };
    }
    if let Some(other) = Dimension::ALL.into_iter().find(|other| other.unit_named(unit).is_some()) {
        return QuantityError {
            message: format!("`{text}` is {}, not {}", other.name(), dimension.name()),
            hint: format!("write {} in one of: {}", dimension.name(), dimension.allowed()),
        };
    }
    let written = ascii_unit(unit);
    let names = dimension.units().iter().flat_map(|unit| unit.names).copied();
    let nearest = crate::units::nearest::nearest(&written, names);
    QuantityError {
        message: format!("`{text}` has the unknown unit `{}`", shortened(unit)),
        hint: match nearest {
            Some(name) => {
                format!("did you mean `{name}`? units of {}: {}", dimension.name(), dimension.allowed())
            }
            None => format!("units of {}: {}", dimension.name(), dimension.allowed()),
        },
    }
}

/// What a user wrote, for quoting in a message: cut after 40 characters, with control characters made visible.
pub fn shortened(text: &str) -> String {
    const LONGEST: usize = 40;
    let mut quoted: String = text.chars().take(LONGEST).flat_map(visible).collect();
    if text.chars().nth(LONGEST).is_some() {
        quoted.push('…');
    }
    quoted
}

fn visible(character: char) -> impl Iterator<Item = char> {
    let escaped = character.is_control().then(|| character.escape_default());
    let plain = escaped.is_none().then_some(character);
    escaped.into_iter().flatten().chain(plain)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn si(text: &str, dimension: Dimension) -> f64 {
        parse(text, dimension).unwrap_or_else(|error| panic!("{text}: {error}"))
    }

    #[test]
    fn a_decimal_unit_gives_the_double_nearest_the_decimal_value() {
        use Dimension::*;
        for (text, dimension, wanted) in [
            ("165 mm", Length, 0.165),
            ("165mm", Length, 0.165),
            ("168.2 mm", Length, 0.1682),
            ("0.95 mm", Length, 0.00095),
            ("1.041 mm", Length, 0.001041),
            ("2.5 A", Current, 2.5),
            ("0.35 mT", FluxDensity, 0.00035),
            ("-44 uT", FluxDensity, -44e-6),
            ("12 µT", FluxDensity, 12e-6),
            ("12 μT", FluxDensity, 12e-6),
            ("8.57 G", FluxDensity, 8.57e-4),
            ("20 degC", Temperature, 20.0),
            ("20 °C", Temperature, 20.0),
            ("20°C", Temperature, 20.0),
            ("20 deg C", Temperature, 20.0),
            ("0.5 %", Fraction, 0.005),
            ("1%", Fraction, 0.01),
            ("3.3e-1 V", Voltage, 0.33),
            ("4.7 mΩ", Resistance, 0.0047),
            ("4.7 Ω", Resistance, 4.7),
            ("20 min", Time, 1200.0),
            ("1.5 h", Time, 5400.0),
            ("150 um", Length, 150e-6),
            ("−1.4 A", Current, -1.4),
            (" +1.4\u{202f}A ", Current, 1.4),
            (".5 mm", Length, 0.0005),
            ("5. mm", Length, 0.005),
            ("12", Number, 12.0),
            ("32 mH", Inductance, 0.032),
            ("250 g", Mass, 0.25),
        ] {
            assert_eq!(si(text, dimension), wanted, "{text}");
        }
        assert!((si("0.2 deg", Angle) - 0.2f64.to_radians()).abs() < 1e-17);
    }

    #[test]
    fn a_refusal_names_the_value_and_what_is_allowed() {
        for (text, dimension, message, hint) in [
            ("165", Dimension::Length, "`165` has no unit", "`165 mm`"),
            ("2.5 A", Dimension::Length, "`2.5 A` is a current, not a length", "mm, cm, m"),
            ("2.5 MM", Dimension::Length, "`2.5 MM` has the unknown unit `MM`", "did you mean `mm`"),
            ("1 MT", Dimension::FluxDensity, "`1 MT` has the unknown unit `MT`", "did you mean `mT`"),
            ("1,5 mm", Dimension::Length, "`1,5 mm` has a comma in its number", "8.5 mm"),
            ("1 000 mm", Dimension::Length, "`1 000 mm` holds more than one number", "165 mm"),
            ("NaN mm", Dimension::Length, "`NaN mm` is not a length", "165 mm"),
            ("inf A", Dimension::Current, "`inf A` is not a current", "1.2 A"),
            ("", Dimension::Current, "`` is not a current", "1.2 A"),
            ("3 V", Dimension::Number, "`3 V` has a unit where a plain number belongs", "without a unit"),
            ("1e999 mm", Dimension::Length, "`1e999 mm` has an exponent of more than two digits", "165 mm"),
            ("1e-300 m", Dimension::Length, "`1e-300 m` has an exponent of more than two digits", "165 mm"),
            ("1e-300", Dimension::Number, "`1e-300` has an exponent of more than two digits", "such as `3`"),
            ("1em", Dimension::Length, "`1em` has the unknown unit `em`", "did you mean"),
            ("1\u{7} mm", Dimension::Length, "`1\\u{7} mm` has the unknown unit `\\u{7} mm`", "mm"),
        ] {
            let error = parse(text, dimension).expect_err(text);
            assert_eq!(error.message, message);
            assert!(error.hint.contains(hint), "{text}: {}", error.hint);
        }
    }

    #[test]
    fn a_number_of_more_digits_than_can_be_meant_is_told_so() {
        let long = format!("{}.5 mm", "1".repeat(41));
        let error = parse(&long, Dimension::Length).unwrap_err();
        assert!(error.message.ends_with("has more than 40 digits before or after its point"), "{error}");
        assert!(
            parse(&format!("0.{} mm", "3".repeat(41)), Dimension::Length).unwrap_err().message.contains("40")
        );
    }

    #[test]
    fn a_table_may_hold_exponents_of_any_length_in_any_unit() {
        use crate::units::unit::{METRE, MILLIMETRE};
        assert_eq!(number("1e-300", METRE), Some(1e-300));
        assert_eq!(number("1e-300", MILLIMETRE), Some(1e-303));
        assert_eq!(number("2.5E-7", MILLIMETRE), Some(2.5e-10));
        for refused in ["1e999", "1e99999999999", "e5", "1e", "--1", "1-2", ""] {
            assert_eq!(number(refused, METRE), None, "{refused}");
            assert_eq!(number(refused, MILLIMETRE), None, "{refused}");
        }
    }

    #[test]
    fn the_published_pattern_matches_exactly_what_is_read() {
        let mut runner = proptest::test_runner::TestRunner::deterministic();
        let number = "[-+−]?([0-9]{0,3}|[0-9]{39,42})(\\.[0-9]{0,2})?([eE][-+]?[0-9]{0,3})?";
        let units: Vec<String> = Dimension::ALL
            .iter()
            .flat_map(|dimension| dimension.units())
            .flat_map(|unit| unit.names.iter().chain([&unit.symbol]))
            .map(|name| (*name).to_owned())
            .chain(["deg C", "° C", "º", "μT", "kΩ", "Ω", "MM", "", "°ree", "minµte"].map(String::from))
            .collect();
        let text = (number, "[ \u{a0}\t]{0,2}", prop::sample::select(units), "[ x]{0,1}");
        for dimension in Dimension::ALL {
            let pattern = regex::Regex::new(&quantity_pattern(dimension)).unwrap();
            runner
                .run(&text, |(number, space, unit, end)| {
                    let text = format!("{number}{space}{unit}{end}");
                    prop_assert_eq!(pattern.is_match(&text), parse(&text, dimension).is_ok(), "{}", text);
                    Ok(())
                })
                .unwrap();
            assert!(pattern.is_match(dimension.example()));
        }
    }

    proptest! {
        #[test]
        fn reading_never_panics_and_never_gives_a_number_that_is_not_finite(text in ".{0,60}") {
            for dimension in Dimension::ALL {
                if let Ok(value) = parse(&text, dimension) {
                    prop_assert!(value.is_finite());
                }
            }
        }

        #[test]
        fn short_numbers_are_read_as_the_standard_library_reads_them(whole in -99_999i64..99_999, decimals in "[0-9]{0,9}") {
            let text = format!("{whole}.{decimals}");
            let wanted = format!("{text}e-3").parse::<f64>().unwrap();
            prop_assert_eq!(number(&text, crate::units::unit::MILLIMETRE), Some(wanted));
            prop_assert_eq!(number(&text, crate::units::unit::METRE), Some(text.parse().unwrap()));
        }

        #[test]
        fn every_double_survives_being_written_in_millimetres(value in -1e6f64..1e6) {
            // The shortest decimal that reads back as `value`, with the unit's exponent taken out by hand.
            let written = format!("{value}e3 mm");
            prop_assert_eq!(si(&written, Dimension::Length), value);
        }
    }
}
