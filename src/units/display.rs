//! Writing a quantity for people to read.

use super::dimension::{Dimension, Scale, Unit, unit};

/// Writes an SI value (temperatures in °C) in the usual unit for its size, to `digits` significant digits.
///
/// ```
/// use coilwright::units::{Dimension, display};
/// assert_eq!(display(0.00085623, Dimension::FluxDensity, 4), "0.8562 mT");
/// assert_eq!(display(0.168, Dimension::Length, 4), "168.0 mm");
/// assert_eq!(display(-44e-6, Dimension::FluxDensity, 2), "-44 µT");
/// assert_eq!(display(0.005, Dimension::Fraction, 2), "0.50 %");
/// ```
pub fn display(si: f64, dimension: Dimension, digits: usize) -> String {
    let unit = unit_for(si, dimension, digits);
    with_symbol(of_any_size(si, unit, digits), unit)
}

/// As [`display`], beside values of which `largest` is the largest: where its own unit would be another than theirs, it is
/// written in theirs, to the place of the largest. So `-0.01 µm` beside `0.5000 mm` is `0.0000 mm`.
#[cfg(any(test, feature = "paper"))]
pub(crate) fn display_beside(si: f64, largest: f64, dimension: Dimension, digits: usize) -> String {
    let unit = unit_for(largest, dimension, digits);
    if si == 0.0 || unit_for(si, dimension, digits) == unit {
        return display(si, dimension, digits);
    }
    let text = of_any_size(largest, unit, digits);
    let decimals = text.split_once('.').map_or(0, |(_, part)| part.len());
    with_symbol(plain_fixed(si, unit, decimals), unit)
}

/// As [`display`], to at most six digits and without trailing zeros: `8.5 mm`, `160 mm`. For values that people wrote,
/// and for limits.
pub fn brief(si: f64, dimension: Dimension) -> String {
    let unit = unit_for(si, dimension, 6);
    let number = of_any_size(si, unit, 6);
    let short = match number.contains('.') && !number.contains('e') {
        true => number.trim_end_matches('0').trim_end_matches('.'),
        false => &number,
    };
    with_symbol(short.into(), unit)
}

/// As [`significant`], but with an exponent below 1e-12 and from 1e15 of the unit. No measurement has such values;
/// plain, they would fill a line with zeros.
fn of_any_size(si: f64, unit: Unit, digits: usize) -> String {
    let value = unit.from_si(si);
    match value.is_finite() && value != 0.0 && !(-12..15).contains(&decimal_exponent(value, digits)) {
        true => format!("{value:.*e}", digits.max(1) - 1),
        false => significant(si, unit, digits),
    }
}

/// Writes an SI value in the given unit with the given number of decimals: `fixed(0.168, MILLIMETRE, 1)` is `168.0 mm`.
/// It has fewer decimals if the number would otherwise have more than six digits.
pub fn fixed(si: f64, unit: Unit, decimals: usize) -> String {
    with_symbol(plain_fixed(si, unit, fewer_decimals(unit.from_si(si), decimals)), unit)
}

/// A length in millimetres with `decimals` decimals, from ten metres on in metres: `209.9 m` instead of `209945.9 mm`.
pub fn length(si: f64, decimals: usize) -> String {
    const SMALLEST_IN_METRES: f64 = 10.0;
    if si.is_finite() && si.abs() >= SMALLEST_IN_METRES {
        return with_symbol(significant(si, unit::METRE, 4), unit::METRE);
    }
    fixed(si, unit::MILLIMETRE, decimals)
}

/// A number with `decimals` decimals, or fewer if it would otherwise have more than six digits.
pub fn number_of_six(value: f64, decimals: usize) -> String {
    plain_fixed(value, unit::ONE, fewer_decimals(value, decimals))
}

/// A number of any size: `8.38731e6`, but without an exponent between a thousandth and a million, where it is harder to
/// read.
pub fn scientific(value: f64, digits: usize) -> String {
    if !value.is_finite() {
        return not_finite(value).into();
    }
    match decimal_exponent(value, digits) {
        _ if value == 0.0 => "0".into(),
        exponent if (-3..=5).contains(&exponent) => significant(value, unit::ONE, digits),
        _ => format!("{value:.*e}", digits.max(1) - 1),
    }
}

/// Degrees of freedom as a whole number, truncated as JCGM 100:2008, G.4.1, note 1 allows. Beyond a thousand the
/// coverage factor no longer depends on them. `None` means infinitely many.
///
/// ```
/// use coilwright::units::degrees_of_freedom;
/// assert_eq!(degrees_of_freedom(Some(7.9)), "7");
/// assert_eq!(degrees_of_freedom(Some(1.9e14)), "over 1000");
/// assert_eq!(degrees_of_freedom(None), "infinite");
/// ```
pub fn degrees_of_freedom(number: Option<f64>) -> String {
    match number {
        None => "infinite".into(),
        Some(number) if number.is_nan() => "undefined".into(),
        Some(number) if number > 1000.0 => "over 1000".into(),
        Some(number) => format!("{:.0}", number.floor()),
    }
}

/// Most significant digits of a number written for people.
const MOST_DIGITS: i32 = 6;

/// The decimals asked for, or fewer if the number would otherwise have more than [`MOST_DIGITS`] digits.
fn fewer_decimals(value: f64, decimals: usize) -> usize {
    let room = MOST_DIGITS - 1 - decimal_exponent(value, MOST_DIGITS as usize);
    decimals.min(room.max(0) as usize)
}

/// As [`fixed`], rounded down, the safe side for an upper limit: `fixed_down(1.879, AMPERE, 2)` is `1.87 A`. For
/// currents and times that may be used up to the printed value.
pub fn fixed_down(si: f64, unit: Unit, decimals: usize) -> String {
    fixed_to(si, unit, decimals, f64::floor)
}

/// As [`fixed`], rounded up, the safe side for a lower limit: `fixed_up(0.731, METRE, 2)` is `0.74 m`. For distances
/// and waiting times that must at least be kept.
pub fn fixed_up(si: f64, unit: Unit, decimals: usize) -> String {
    fixed_to(si, unit, decimals, f64::ceil)
}

fn fixed_to(si: f64, unit: Unit, decimals: usize, round: fn(f64) -> f64) -> String {
    let value = unit.from_si(si);
    if !value.is_finite() {
        return with_symbol(not_finite(value).into(), unit);
    }
    // A value within rounding of a step counts as that step.
    let power = 10f64.powi(decimals as i32);
    let nearest = (value * power).round();
    let steps = if (value * power - nearest).abs() < 1e-7 { nearest } else { round(value * power) };
    with_symbol(format!("{:.decimals$}", steps / power), unit)
}

/// An SI value in a given unit to `digits` significant digits, without trailing zeros, rounded up or down. The printed
/// value, read back, is not below (above) the value.
pub(crate) fn significant_to(si: f64, unit: Unit, digits: usize, side: Side) -> String {
    let value = unit.from_si(si);
    if !value.is_finite() || value == 0.0 {
        return with_symbol(significant(si, unit, digits), unit);
    }
    let decimals = digits as i32 - 1 - decimal_exponent(value, digits);
    let step = 10f64.powi(decimals.abs());
    let of_steps = |steps: f64| if decimals >= 0 { steps / step } else { steps * step };
    let steps = if decimals >= 0 { value * step } else { value / step };
    let (mut whole, away): (f64, f64) = match side {
        Side::Up => (steps.ceil(), 1.0),
        Side::Down => (steps.floor(), -1.0),
    };
    // A value within rounding of a step becomes that step, if that is on the right side.
    let holds = |steps: f64| away * (unit.to_si(of_steps(steps)) - si) >= 0.0;
    if holds(whole - away) {
        whole -= away;
    } else if !holds(whole) {
        whole += away;
    }
    let number = format!("{:.*}", decimals.max(0) as usize, of_steps(whole));
    let short = match number.contains('.') {
        true => number.trim_end_matches('0').trim_end_matches('.').to_owned(),
        false => number,
    };
    with_symbol(short, unit)
}

/// The direction of rounding.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Side {
    /// Towards plus infinity.
    Up,
    /// Towards minus infinity.
    Down,
}

/// The number alone, in the given unit, to `digits` significant digits, never with an exponent.
pub fn significant(si: f64, unit: Unit, digits: usize) -> String {
    let value = unit.from_si(si);
    if !value.is_finite() {
        return not_finite(value).into();
    }
    if value == 0.0 {
        return "0".into();
    }
    let exponent = decimal_exponent(value, digits);
    let decimals = digits as i32 - 1 - exponent;
    if decimals >= 0 {
        return plain_fixed(si, unit, decimals as usize);
    }
    // If there are more digits before the point than are significant, round there and fill with zeros.
    let power = 10f64.powi(-decimals);
    format!("{:.0}", (value / power).round() * power)
}

/// A value with its uncertainty: `(0.8562 ± 0.0034) mT/A`. See [`rounded`]; with zero uncertainty the value alone, to
/// six digits.
///
/// The caller says which uncertainty it is, standard or expanded.
pub fn uncertain(si: f64, uncertainty_si: f64, dimension: Dimension) -> String {
    if uncertainty_si == 0.0 {
        return display(si, dimension, MOST_DIGITS as usize);
    }
    let (value, uncertainty, unit) = rounded_in_unit(si, uncertainty_si, dimension);
    with_symbol(format!("({value} ± {uncertainty})"), unit)
}

/// A value with its standard uncertainty: `0.8562 mT/A, u = 0.0017 mT/A`. A standard uncertainty does not stand after ±, which
/// is for an interval of high coverage probability (JCGM 100:2008, 7.2.2, note). Digits as in [`uncertain`].
#[cfg(feature = "paper")]
pub(crate) fn with_standard_uncertainty(si: f64, uncertainty_si: f64, dimension: Dimension) -> String {
    let (value, uncertainty) = value_and_uncertainty(si, uncertainty_si, dimension);
    format!("{value}, u = {uncertainty}")
}

/// A value and its standard uncertainty as two texts. The uncertainty of a temperature is in kelvins.
pub(crate) fn value_and_uncertainty(si: f64, uncertainty_si: f64, dimension: Dimension) -> (String, String) {
    let (value, uncertainty, unit) = rounded_in_unit(si, uncertainty_si, dimension);
    let of_difference = if dimension == Dimension::Temperature { unit::KELVIN } else { unit };
    (with_symbol(value, unit), with_symbol(uncertainty, of_difference))
}

/// A value and its uncertainty rounded together, in one unit that suits both.
fn rounded_in_unit(si: f64, uncertainty_si: f64, dimension: Dimension) -> (String, String, Unit) {
    let size = if uncertainty_si.is_finite() { si.abs().max(uncertainty_si.abs()) } else { si };
    let unit = unit_for(size, dimension, 4);
    let uncertainty = match unit.scale {
        Scale::Offset(_) => uncertainty_si,
        _ => unit.from_si(uncertainty_si),
    };
    let (value, uncertainty) = rounded(unit.from_si(si), uncertainty);
    (value, uncertainty, unit)
}

/// A value and its uncertainty for people: two significant digits of the uncertainty, and the value to the same place
/// (JCGM 100:2008, 7.2.6). If that gives the value more than six digits, both end at its sixth, and the uncertainty is
/// rounded up.
///
/// ```
/// use coilwright::units::rounded;
/// assert_eq!(rounded(0.85623, 0.00344), ("0.8562".into(), "0.0034".into()));
/// assert_eq!(rounded(176_203.0, 2_345.0), ("176200".into(), "2300".into()));
/// assert_eq!(rounded(1.812_551_4, 0.000_005_6), ("1.81255".into(), "0.00001".into()));
/// ```
pub fn rounded(value: f64, uncertainty: f64) -> (String, String) {
    if !uncertainty.is_finite() || uncertainty <= 0.0 {
        return (significant(value, unit::ONE, MOST_DIGITS as usize), significant(uncertainty, unit::ONE, 2));
    }
    let second_digit = decimal_exponent(uncertainty, 2) - 1;
    let sixth_digit = decimal_exponent(value, MOST_DIGITS as usize) - (MOST_DIGITS - 1);
    if value == 0.0 || !value.is_finite() || second_digit >= sixth_digit {
        return (at_place(value, second_digit), at_place(uncertainty, second_digit));
    }
    let step = 10f64.powi(sixth_digit);
    (at_place(value, sixth_digit), at_place((uncertainty / step).ceil() * step, sixth_digit))
}

/// A number rounded at a power of ten.
fn at_place(value: f64, exponent: i32) -> String {
    if exponent <= 0 {
        return plain_fixed(value, unit::ONE, exponent.unsigned_abs() as usize);
    }
    let step = 10f64.powi(exponent);
    plain_fixed((value / step).round() * step, unit::ONE, 0)
}

fn with_symbol(number: String, unit: Unit) -> String {
    match unit.symbol {
        "" => number,
        "°" => number + "°",
        symbol => format!("{number} {symbol}"),
    }
}

/// The number with `decimals` decimals in this unit; a value that rounds to zero loses its sign.
fn plain_fixed(si: f64, unit: Unit, decimals: usize) -> String {
    let value = unit.from_si(si);
    if !value.is_finite() {
        return not_finite(value).into();
    }
    let text = format!("{value:.decimals$}");
    match text.strip_prefix('-') {
        Some(rest) if rest.chars().all(|c| c == '0' || c == '.') => rest.into(),
        _ => text,
    }
}

fn not_finite(value: f64) -> &'static str {
    if value.is_nan() { "undefined" } else { "infinite" }
}

/// The power of ten of the first digit after rounding to `digits` digits.
fn decimal_exponent(value: f64, digits: usize) -> i32 {
    let text = format!("{value:.*e}", digits.max(1) - 1);
    text.split_once('e').and_then(|(_, exponent)| exponent.parse().ok()).unwrap_or(0)
}

/// The unit whose range holds the rounded value: 999.97 mm to four digits becomes 1.000 m.
fn unit_for(si: f64, dimension: Dimension, digits: usize) -> Unit {
    let rounded = format!("{:.*e}", digits.max(1) - 1, si.abs()).parse::<f64>().unwrap_or(0.0);
    let steps = steps(dimension);
    let found = steps.iter().find(|(smallest, _)| rounded >= *smallest);
    let usual = steps.last().map_or(unit::ONE, |(_, unit)| *unit);
    // Zero has no size; it takes the dimension's first unit, the usual one for ordinary values.
    if rounded == 0.0 { dimension.units()[0] } else { found.map_or(usual, |(_, unit)| *unit) }
}

/// Units for display, largest first, each with the smallest SI value written in it.
const fn steps(dimension: Dimension) -> &'static [(f64, Unit)] {
    use unit::*;
    match dimension {
        Dimension::Length => &[(1.0, METRE), (1e-5, MILLIMETRE), (0.0, MICROMETRE)],
        Dimension::Angle => &[(0.0, DEGREE)],
        Dimension::Current => &[(1e-2, AMPERE), (1e-5, MILLIAMPERE), (0.0, MICROAMPERE)],
        Dimension::Voltage => &[(1e4, KILOVOLT), (0.1, VOLT), (1e-4, MILLIVOLT), (0.0, MICROVOLT)],
        Dimension::Resistance => &[(1e5, MEGAOHM), (1e4, KILOOHM), (0.1, OHM), (0.0, MILLIOHM)],
        Dimension::FluxDensity => &[(1.0, TESLA), (1e-4, MILLITESLA), (1e-7, MICROTESLA), (0.0, NANOTESLA)],
        Dimension::FieldConstant => {
            &[(1.0, TESLA_PER_AMPERE), (1e-4, MILLITESLA_PER_AMPERE), (0.0, MICROTESLA_PER_AMPERE)]
        }
        Dimension::Temperature => &[(0.0, CELSIUS)],
        Dimension::TemperatureDifference => &[(0.0, KELVIN)],
        Dimension::Time => &[
            (7200.0, HOUR),
            (120.0, MINUTE),
            (1.0, SECOND),
            (1e-3, MILLISECOND),
            (1e-6, MICROSECOND),
            (0.0, NANOSECOND),
        ],
        Dimension::Frequency => &[(1e3, KILOHERTZ), (0.0, HERTZ)],
        Dimension::Mass => &[(1.0, KILOGRAM), (0.0, GRAM)],
        Dimension::Inductance => &[(1.0, HENRY), (1e-4, MILLIHENRY), (0.0, MICROHENRY)],
        Dimension::Power => &[(1e4, KILOWATT), (0.1, WATT), (1e-4, MILLIWATT), (0.0, MICROWATT)],
        Dimension::Energy => &[(0.1, JOULE), (1e-4, MILLIJOULE), (0.0, MICROJOULE)],
        Dimension::Force => &[(0.1, NEWTON), (1e-4, MILLINEWTON), (0.0, MICRONEWTON)],
        Dimension::Speed => &[(1e4, KILOMETRE_PER_SECOND), (0.0, METRE_PER_SECOND)],
        Dimension::MassPerLength => &[(1.0, KILOGRAM_PER_METRE), (0.0, GRAM_PER_METRE)],
        Dimension::ResistancePerLength => &[(1.0, OHM_PER_METRE), (0.0, MILLIOHM_PER_METRE)],
        Dimension::CurrentDensity => &[(0.0, AMPERE_PER_SQUARE_MILLIMETRE)],
        // Fractions are percentages wherever possible; parts per million serve only values too small for that.
        Dimension::Fraction => &[(1e-7, PERCENT), (0.0, PARTS_PER_MILLION)],
        Dimension::Number => &[(0.0, ONE)],
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_size_that_no_measurement_has_is_written_with_an_exponent() {
        // The smallest doubles have fewer digits than are asked for.
        assert!(brief(1e-320, Dimension::Voltage).len() < 20, "{}", brief(1e-320, Dimension::Voltage));
        assert_eq!(display(-2.5e-40, Dimension::Number, 3), "-2.50e-40");
        assert_eq!(brief(1e300, Dimension::Number), "1.00000e300");
        assert_eq!(brief(1e-9, Dimension::Number), "0.000000001");
    }

    #[test]
    fn beside_a_larger_value_a_small_one_is_written_in_its_unit() {
        assert_eq!(display_beside(-1e-8, 5e-4, Dimension::Length, 4), "0.0000 mm");
        assert_eq!(display_beside(5e-4, 5e-4, Dimension::Length, 4), "0.5000 mm");
        assert_eq!(display_beside(-9e-6, 5e-4, Dimension::Length, 4), "-0.0090 mm");
        assert_eq!(display_beside(0.0, 5e-4, Dimension::Length, 4), display(0.0, Dimension::Length, 4));
    }

    #[test]
    fn each_size_is_written_in_the_unit_people_read() {
        use Dimension::*;
        for (si, dimension, digits, wanted) in [
            (0.00085623, FluxDensity, 4, "0.8562 mT"),
            (0.00085623, FieldConstant, 4, "0.8562 mT/A"),
            (0.99997, Length, 4, "1.000 m"),
            (0.9999, Length, 4, "999.9 mm"),
            (168.87, Length, 4, "168.9 m"),
            (0.00095, Length, 3, "0.950 mm"),
            (22.04, Temperature, 3, "22.0 °C"),
            (-3.0, Temperature, 2, "-3.0 °C"),
            (1250.0, Time, 3, "20.8 min"),
            (0.032, Inductance, 3, "32.0 mH"),
            (8.129, Resistance, 3, "8.13 Ω"),
            (2.5, Current, 3, "2.50 A"),
            (-1.4, Current, 2, "-1.4 A"),
            (0.0, FluxDensity, 3, "0 mT"),
            (0.0, Current, 3, "0 A"),
            (18234.0, Power, 2, "18 kW"),
            (1834.0, Power, 2, "1800 W"),
            (1e-7, FluxDensity, 2, "0.10 µT"),
            (0.2f64.to_radians(), Angle, 2, "0.20°"),
            (1.5, Fraction, 3, "150 %"),
            (f64::NAN, Length, 3, "undefined µm"),
        ] {
            assert_eq!(display(si, dimension, digits), wanted);
        }
    }

    #[test]
    fn a_brief_value_has_no_noughts_at_its_end() {
        assert_eq!(brief(0.0085, Dimension::Length), "8.5 mm");
        assert_eq!(brief(0.16, Dimension::Length), "160 mm");
        assert_eq!(brief(0.1682, Dimension::Length), "168.2 mm");
        assert_eq!(brief(300.0, Dimension::Voltage), "300 V");
        assert_eq!(brief(0.0, Dimension::Voltage), "0 V");
    }

    #[test]
    fn a_fixed_number_of_decimals_never_writes_minus_nought() {
        assert_eq!(fixed(0.168, unit::MILLIMETRE, 1), "168.0 mm");
        assert_eq!(fixed(-0.00000001, unit::MILLIMETRE, 2), "0.00 mm");
        assert_eq!(fixed(-0.0123, unit::PERCENT, 2), "-1.23 %");
    }

    #[test]
    fn an_uncertainty_has_two_digits_and_its_value_as_many_decimals() {
        assert_eq!(uncertain(8.5623e-4, 3.44e-6, Dimension::FieldConstant), "(0.8562 ± 0.0034) mT/A");
        assert_eq!(uncertain(0.16812, 0.0005, Dimension::Length), "(168.12 ± 0.50) mm");
        assert_eq!(uncertain(21.3, 0.98, Dimension::Temperature), "(21.30 ± 0.98) °C");
        assert_eq!(uncertain(21.3, 0.997, Dimension::Temperature), "(21.3 ± 1.0) °C");
    }

    #[test]
    fn an_uncertainty_larger_or_far_smaller_than_its_value_keeps_both_readable() {
        assert_eq!(uncertain(0.86e-3, 5.82, Dimension::FluxDensity), "(0.0 ± 5.8) T");
        assert_eq!(uncertain(1.8125514e-3, 5.6e-9, Dimension::FieldConstant), "(1.81255 ± 0.00001) mT/A");
        assert_eq!(uncertain(0.0, 2.34e-6, Dimension::FluxDensity), "(0.0 ± 2.3) µT");
        assert_eq!(uncertain(0.86e-3, 0.0, Dimension::FieldConstant), "0.860000 mT/A");
        assert_eq!(rounded(-0.02, 99.6), ("0".into(), "100".into()));
    }

    #[test]
    fn no_number_has_an_exponent_that_hides_it_or_more_than_six_digits() {
        assert_eq!(scientific(0.0, 3), "0");
        assert_eq!(scientific(8.387_312e6, 6), "8.38731e6");
        assert_eq!(scientific(593_096.6, 6), "593097");
        assert_eq!(scientific(-0.0123, 2), "-0.012");
        assert_eq!(scientific(3.2e-13, 2), "3.2e-13");
        assert_eq!(length(209.9459, 1), "209.9 m");
        assert_eq!(length(0.0523, 1), "52.3 mm");
        assert_eq!(fixed(0.123_456_78, unit::MILLITESLA, 4), "123.457 mT");
        assert_eq!(number_of_six(12_345_678.123, 2), "12345678");
        assert_eq!(degrees_of_freedom(Some(13.0)), "13");
    }

    proptest! {
        #[test]
        fn a_rounded_pair_has_few_digits_and_is_near_what_it_rounds(
            value in -1e6f64..1e6, scale in -9i32..9, part in -12i32..4, mantissa in 1.0f64..10.0,
        ) {
            let value = value * 10f64.powi(scale);
            let uncertainty = (value.abs() + 1e-9) * mantissa * 10f64.powi(part);
            let (shown, plus_minus) = rounded(value, uncertainty);
            let digits = |text: &str| {
                let digits: String = text.chars().filter(char::is_ascii_digit).collect();
                let digits = digits.trim_start_matches('0').to_owned();
                if text.contains('.') { digits.len() } else { digits.trim_end_matches('0').len() }
            };
            prop_assert!(digits(&plus_minus) <= 2 && digits(&shown) <= 6, "{} ± {}", shown, plus_minus);
            let decimals = |text: &str| text.split_once('.').map_or(0, |(_, decimals)| decimals.len());
            prop_assert_eq!(decimals(&shown), decimals(&plus_minus));
            let read: f64 = plus_minus.parse().unwrap();
            prop_assert!(read >= 0.949 * uncertainty, "{} for {}", plus_minus, uncertainty);
            let off = (shown.parse::<f64>().unwrap() - value).abs();
            prop_assert!(off <= 0.51 * read.max(uncertainty), "{} for {}", shown, value);
        }

        #[test]
        fn what_is_written_reads_back_as_the_same_value(value in -1e4f64..1e4, scale in -9i32..3) {
            let si = value * 10f64.powi(scale);
            for dimension in Dimension::ALL {
                let text = display(si, dimension, 12);
                let read = crate::units::parse(&text, dimension)
                    .map_err(|error| TestCaseError::fail(format!("{text}: {error}")))?;
                // Twelve digits were written.
                prop_assert!((read - si).abs() <= 1e-11 * si.abs(), "{} became {} through {}", si, read, text);
            }
        }
    }

    #[test]
    fn safe_figures_round_to_the_safe_side_and_exact_ones_stay() {
        for (value, down, up) in
            [(1.879, "1.87 A", "1.88 A"), (1.87, "1.87 A", "1.87 A"), (0.001, "0.00 A", "0.01 A")]
        {
            assert_eq!(fixed_down(value, unit::AMPERE, 2), down);
            assert_eq!(fixed_up(value, unit::AMPERE, 2), up);
        }
        for step in 0..10_000 {
            let value = f64::from(step) * 0.000_731;
            let number = |text: String| text.trim_end_matches(" m").parse::<f64>().unwrap();
            assert!(number(fixed_down(value, unit::METRE, 2)) <= value + 1e-9);
            assert!(number(fixed_up(value, unit::METRE, 2)) >= value - 1e-9);
        }
    }
}
