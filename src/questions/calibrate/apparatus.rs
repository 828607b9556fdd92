//! The pair and its meters as one digest. Two calibrations with the same digest share their meters' errors.

use crate::pair::{Bench, Coil};
use sha2::{Digest, Sha256};
use std::fmt::Write;

/// First 12 hex digits of the SHA-256 of coils, tolerances and accuracies of the meters. Dates, instruments, room, lab
/// and price are not included, so a spec that is kept up to date keeps its digest. Whether a meter was calibrated or
/// replaced is decided from the instruments themselves (`pair::meters_renewed`).
pub(super) fn apparatus_digest(bench: &Bench) -> String {
    let text = apparatus(bench);
    Sha256::digest(text.as_bytes()).iter().take(6).fold(String::new(), |mut digest, byte| {
        let _ = write!(digest, "{byte:02x}");
        digest
    })
}

/// Coils, tolerances and meters as text. No later version of the program may write it differently.
fn apparatus(bench: &Bench) -> String {
    let mut text = String::new();
    let mut put = |name: &str, values: &[f64]| {
        let _ = write!(text, "{name}");
        for value in values {
            let _ = write!(text, " {value:e}");
        }
        text.push('\n');
    };
    for Coil { turns, mean_radius_m, width_m, depth_m, offset_m, tilt_rad, sense, .. } in bench.coils() {
        put("coil", &[turns, mean_radius_m, width_m, depth_m, sense]);
        put("place", &[offset_m.x, offset_m.y, offset_m.z, tilt_rad[0], tilt_rad[1]]);
    }
    put("spacing", &[bench.spacing_m]);
    put("parallel", &[f64::from(u8::from(bench.connection == crate::pair::Connection::Parallel))]);
    if let Some(meter) = bench.ammeter {
        let number = |value: Option<f64>| value.unwrap_or(-1.0);
        put("ammeter", &[number(meter.resolution), number(meter.accuracy_of_reading), meter.accuracy_digits]);
    }
    if let Some(meter) = bench.field_meter {
        put("field meter", &[meter.accuracy_of_reading.unwrap_or(-1.0), meter.zero_tesla.unwrap_or(-1.0)]);
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pair::Instrument;

    #[test]
    fn what_is_written_of_instruments_leaves_the_apparatus_as_it_is_and_another_spacing_does_not() {
        let bench = Bench::thin_pair();
        let before = apparatus_digest(&bench);
        assert_eq!(before.len(), 12);
        let mut later = bench.clone();
        later.paperwork.instruments = vec![Instrument::new("field meter")];
        later.title = "another title".into();
        later.digest = "ffffffffffff".into();
        assert_eq!(apparatus_digest(&later), before);
        let mut other_spacing = bench.clone();
        other_spacing.spacing_m += 1e-4;
        assert_ne!(apparatus_digest(&other_spacing), before);
    }
}
