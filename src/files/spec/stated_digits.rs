//! The digits to which a maker states the figures of a finished pair.

use crate::pair::StatedByMaker;
use crate::units::{Dimension, parse};
use serde_json::{Map, Value as Json};

/// Half a unit of the last digit of each stated figure, SI; `None` for a figure that is not stated.
pub(super) fn half_units(file: &Map<String, Json>) -> StatedByMaker {
    let stated = file.get("stated").and_then(Json::as_object);
    let of = |key: &str, dimension: Dimension| {
        let text = stated?.get(key)?.as_str()?;
        parse(&half_unit(text), dimension).ok()
    };
    StatedByMaker {
        conductor_mass_kg: of("copper_mass", Dimension::Mass),
        resistance_ohm: of("resistance", Dimension::Resistance),
        field_constant_tesla_per_ampere: of("field_constant", Dimension::FieldConstant),
        inner_diameter_m: of("inner_diameter", Dimension::Length),
        outer_diameter_m: of("outer_diameter", Dimension::Length),
        largest_field_tesla: of("largest_field", Dimension::FluxDensity),
        largest_field_voltage_volt: of("largest_field_voltage", Dimension::Voltage),
        hottest_surface_celsius: of("hottest_surface", Dimension::Temperature),
        ..StatedByMaker::default()
    }
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
}
