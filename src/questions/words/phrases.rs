//! Phrases that several questions share: which geometry, a fraction in percent, a place, a voltage.

use crate::pair::Model;
use crate::units::{Dimension, display, fixed, unit};

/// Which geometry the numbers describe.
pub(crate) fn model_sentence(model: Model) -> &'static str {
    match model {
        Model::AsBuilt => "Geometry: as built where the spec says so, else as designed.",
        Model::Nominal => "Geometry: as designed; `as_built` is ignored.",
    }
}

/// A fraction as percent, three significant digits.
pub(crate) fn percent(fraction: f64) -> String {
    display(fraction, Dimension::Fraction, 3)
}

/// A fraction as percent with its sign.
pub(crate) fn signed_percent(fraction: f64) -> String {
    let sign = if fraction > 0.0 { "+" } else { "" };
    format!("{sign}{}", percent(fraction))
}

/// A point in millimetres.
pub(crate) fn place(point_m: [f64; 3]) -> String {
    let [x, y, z] =
        point_m.map(|coordinate| fixed(coordinate, unit::MILLIMETRE, 1).trim_end_matches(" mm").to_owned());
    format!("({x}, {y}, {z}) mm")
}

/// A voltage as a meter shows it.
pub(crate) fn volts(volt: f64) -> String {
    fixed(volt, unit::VOLT, if volt.fract() == 0.0 { 0 } else { 1 })
}
