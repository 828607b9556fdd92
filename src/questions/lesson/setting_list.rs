//! Reads settings as a user types them: `200 V 1.4 A, 220 V -1.5 A`.

use crate::units::{Dimension, QuantityError, parse, shortened};

/// Reads settings separated by commas. Each is a gun voltage and a current, both with units. Returns V and A.
///
/// ```
/// use coilwright::questions::lesson::read_settings;
/// assert_eq!(read_settings("200 V 1.4 A, 220V -1500mA"), Ok(vec![[200.0, 1.4], [220.0, -1.5]]));
/// assert!(read_settings("200 V").is_err());
/// ```
///
/// # Errors
/// If a piece is not a voltage and a current with units, if the voltage is not above zero, or if the current is zero.
pub fn read_settings(text: &str) -> Result<Vec<[f64; 2]>, QuantityError> {
    text.split(',').map(|piece| one(piece.trim())).collect()
}

fn one(piece: &str) -> Result<[f64; 2], QuantityError> {
    let blanks = piece.char_indices().filter(|(_, character)| character.is_whitespace()).map(|(at, _)| at);
    let mut found = blanks.filter_map(|at| {
        let (volt, ampere) = piece.split_at(at);
        Some([parse(volt.trim(), Dimension::Voltage).ok()?, parse(ampere.trim(), Dimension::Current).ok()?])
    });
    match found.next() {
        Some([volt, ampere]) if volt > 0.0 && ampere != 0.0 => Ok([volt, ampere]),
        Some(_) => Err(refused(piece, "a setting has a gun voltage above 0 V and a current other than 0 A")),
        None => Err(refused(
            piece,
            "write each setting as `200 V 1.4 A`, with commas between settings and decimals after a point",
        )),
    }
}

fn refused(piece: &str, hint: &str) -> QuantityError {
    QuantityError { message: format!("`{}` is no setting", shortened(piece)), hint: hint.into() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_setting_without_voltage_current_or_units_is_refused_with_an_example() {
        for text in
            ["", "200 V", "1.4 A 200 V", "200 1.4", "200 V 1,4 A", "200 V 0 A", "-200 V 1 A", "200 V 1.4 A;"]
        {
            let error = read_settings(text).unwrap_err();
            assert!(error.message.ends_with("is no setting"), "{text}: {error:?}");
            assert!(!error.hint.is_empty());
        }
    }
}
