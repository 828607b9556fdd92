//! Phrases shared by several questions: geometry, slope, percent, position, voltage.

use crate::pair::Model;
use crate::physics::beam::FieldLine;
use crate::units::{Dimension, display, fixed, uncertain, unit};

/// Which geometry the numbers describe.
pub(crate) fn model_sentence(model: Model) -> &'static str {
    match model {
        Model::AsBuilt => "Geometry: as built where the spec says so, else as designed.",
        Model::Nominal => "Geometry: as designed; `as_built` is ignored.",
    }
}

/// The origin of a line B = k I: `computed`, or `fit, calibration of "Pair 3"`.
pub(crate) fn line_origin(line: &FieldLine) -> String {
    let from = line.slope.from.name();
    match (&line.calibration, &line.register_entry) {
        (None, _) => from.into(),
        (Some(calibration), None) => format!("{from}, calibration of \"{}\"", calibration.spec_title),
        (Some(calibration), Some(entry)) => {
            format!("{from}, {entry}, calibration of \"{}\"", calibration.spec_title)
        }
    }
}

/// A slope with its expanded uncertainty after ±; where that is not known, the slope alone says so.
pub(crate) fn with_expanded(tesla_per_ampere: f64, expanded_uncertainty: Option<f64>) -> String {
    match expanded_uncertainty {
        Some(expanded) => uncertain(tesla_per_ampere, expanded, Dimension::FieldConstant),
        None => format!("{}, uncertainty not known", display(tesla_per_ampere, Dimension::FieldConstant, 5)),
    }
}

/// A normalised difference E_n; zero has no sign.
pub(crate) fn e_n(normalised: f64) -> String {
    format!("{:.2}", (100.0 * normalised).round() / 100.0 + 0.0)
}

/// A probability for people: two decimals, and a bound near both ends.
pub(crate) fn probability(p: f64) -> String {
    match p {
        _ if p > 0.995 => "above 0.99".into(),
        _ if p < 0.01 => "below 0.01".into(),
        _ => format!("{p:.2}"),
    }
}

/// A fraction as percent, three significant digits.
pub(crate) fn percent(fraction: f64) -> String {
    percent_of(fraction, 3)
}

/// A fraction as percent. A very small one is given as an upper bound.
pub(crate) fn percent_of(fraction: f64, digits: usize) -> String {
    const SMALLEST: f64 = 5e-6;
    if fraction != 0.0 && fraction.abs() < SMALLEST {
        return "less than 0.0005 %".into();
    }
    display(fraction, Dimension::Fraction, digits)
}

/// A fraction as percent with its sign.
pub(crate) fn signed_percent(fraction: f64) -> String {
    let text = percent(fraction);
    // A fraction given as a bound has no sign.
    let is_number = text.starts_with(|c: char| c.is_ascii_digit());
    if fraction > 0.0 && is_number { format!("+{text}") } else { text }
}

/// A point in millimetres.
pub(crate) fn place(point_m: [f64; 3]) -> String {
    let [x, y, z] =
        point_m.map(|coordinate| fixed(coordinate, unit::MILLIMETRE, 1).trim_end_matches(" mm").to_owned());
    format!("({x}, {y}, {z}) mm")
}

/// A voltage as a meter displays it.
pub(crate) fn volts(volt: f64) -> String {
    fixed(volt, unit::VOLT, if volt.fract() == 0.0 { 0 } else { 1 })
}
