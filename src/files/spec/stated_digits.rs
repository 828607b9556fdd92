//! The digits to which a maker states the figures of a finished pair.

use crate::pair::StatedByMaker;
use crate::units::{Dimension, parse};
use serde_json::{Map, Value as Json};

/// Half a unit of the last digit of each stated figure, SI; `None` for a figure that is not stated.
pub(super) fn half_units(file: &Map<String, Json>) -> StatedByMaker {
    let stated = file.get("stated").and_then(Json::as_object);
    let of = |key: &str, dimension: Dimension| {
        let half = half_unit(stated?.get(key)?.as_str()?);
        match dimension {
            Dimension::TemperatureDifference => Some(difference_kelvin(&half)?),
            _ => parse(&half, dimension).ok(),
        }
    };
    StatedByMaker {
        conductor_mass_kg: of("copper_mass", Dimension::Mass),
        resistance_ohm: of("resistance", Dimension::Resistance),
        field_constant_tesla_per_ampere: of("field_constant", Dimension::FieldConstant),
        inner_diameter_m: of("inner_diameter", Dimension::Length),
        outer_diameter_m: of("outer_diameter", Dimension::Length),
        largest_field_tesla: of("largest_field", Dimension::FluxDensity),
        largest_field_voltage_volt: of("largest_field_voltage", Dimension::Voltage),
        largest_field_current_ampere: of("largest_field_current", Dimension::Current),
        hottest_surface_celsius: of("hottest_surface", Dimension::TemperatureDifference),
        hottest_surface_after_s: None,
        insulation_test_voltage_volt: None,
        insulation_resistance_ohm: None,
        standards: None,
        terminals: None,
        held_by: None,
    }
}

/// A temperature difference, in the unit of a temperature: that of `0.5 degC` is 0.5 K, and so is that of `0.5 K`.
fn difference_kelvin(text: &str) -> Option<f64> {
    let celsius = |text: &str| parse(text, Dimension::Temperature).ok();
    let unit = text.trim_start_matches(|c: char| c.is_ascii_digit() || c == '.');
    Some(celsius(text)? - celsius(&format!("0{unit}"))?)
}

/// Half a unit of the last digit, as a quantity: `8.2 ohm` gives `0.05 ohm`, `310 mm` gives `0.5 mm`.
fn half_unit(text: &str) -> String {
    let end = text.find(|c: char| !c.is_ascii_digit() && !".+-−".contains(c)).unwrap_or(text.len());
    let (digits, rest) = text.split_at(end);
    let decimals = digits.split_once('.').map_or(0, |(_, decimals)| decimals.len());
    format!("0.{}5{rest}", "0".repeat(decimals))
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn half_a_unit_follows_the_digits_that_are_written() {
        for (written, half) in [
            ("8.2 ohm", "0.05 ohm"),
            ("8.20 ohm", "0.005 ohm"),
            ("310 mm", "0.5 mm"),
            ("1.4e-3 T/A", "0.05e-3 T/A"),
            ("2.4kg", "0.05kg"),
        ] {
            assert_eq!(half_unit(written), half);
        }
        let file = json!({ "stated": { "resistance": "8.2 ohm", "copper_mass": "2 kg" } });
        let halves = half_units(file.as_object().unwrap());
        assert_eq!((halves.resistance_ohm, halves.conductor_mass_kg), (Some(0.05), Some(0.5)));
        assert_eq!(halves.inner_diameter_m, None);
    }

    #[test]
    fn half_a_unit_of_a_temperature_is_a_difference_whatever_its_unit() {
        for (written, half) in
            [("46 degC", 0.5), ("319 K", 0.5), ("319.2 K", 0.05), ("46.0 °C", 0.05), ("46", f64::NAN)]
        {
            let file = json!({ "stated": { "hottest_surface": written, "largest_field_current": "2 A" } });
            let halves = half_units(file.as_object().unwrap());
            let got = halves.hottest_surface_celsius.unwrap_or(f64::NAN);
            assert!((got - half).abs() < 1e-9 || half.is_nan() && got.is_nan(), "{written}: {got}");
            assert_eq!(halves.largest_field_current_ampere, Some(0.5));
        }
    }
}
