//! The figures of a pair, in the order of page and table: one list for folding, text, CSV, workbook and picture.

use super::record::PairOption;
use crate::units::Dimension;

/// A figure of a pair. Gaps in its quote may leave it as a range or unknown.
#[cfg_attr(
    not(feature = "paper"),
    expect(dead_code, reason = "names and digits are for pages, tables and pictures")
)]
pub(crate) struct Figure {
    /// Its key in the JSON record.
    pub(crate) key: &'static str,
    /// Its name for people; `None` if only tables and scripts have it.
    pub(crate) name: Option<&'static str>,
    /// Its dimension.
    pub(crate) dimension: Dimension,
    /// Significant digits; for a length, decimals of millimetres.
    pub(super) digits: usize,
    pub(crate) of: fn(&PairOption) -> Option<f64>,
    pub(super) leave_out: fn(&mut PairOption),
}

macro_rules! figures {
    ($($field:ident $name:expr, $dimension:ident $digits:literal;)*) => {
        &[$(Figure {
            key: stringify!($field),
            name: $name,
            dimension: Dimension::$dimension,
            digits: $digits,
            of: |it| it.$field,
            leave_out: |it| it.$field = None,
        }),*]
    };
}

/// The figures that depend on the winding.
pub(crate) const FIGURES: &[Figure] = figures![
    field_constant_tesla_per_ampere Some("field constant"), FieldConstant 4;
    field_constant_standard_uncertainty_tesla_per_ampere None, FieldConstant 2;
    largest_current_ampere None, Current 3;
    largest_field_tesla Some("largest field"), FluxDensity 3;
    worst_beam_deviation Some("worst deviation over beam"), Fraction 3;
    working_current_ampere Some("working current"), Current 3;
    copper_temperature_celsius Some("copper then"), Temperature 3;
    voltage_volt Some("voltage then"), Voltage 3;
    power_watt Some("power then"), Power 3;
    warm_up_drift_fraction Some("warm-up drift then"), Fraction 3;
    surface_temperature_celsius Some("surface then"), Temperature 3;
    continuous_current_ampere Some("continuous current"), Current 3;
    continuous_field_tesla Some("field at that current"), FluxDensity 3;
    conductor_mass_kg Some("copper mass"), Mass 3;
    mean_radius_m Some("mean radius"), Length 1;
    section_width_m Some("section width"), Length 1;
    section_depth_m Some("section depth"), Length 1;
    spacing_m Some("spacing"), Length 1;
    outer_diameter_m Some("outer diameter"), Length 1;
    overall_length_m Some("length along the axis"), Length 1;
    room_for_bulb_m Some("room for the bulb"), Length 1;
];

/// Whether a figure is a current that the pair can carry with its supply, or the field at that current.
pub(super) fn is_of_borne_current(key: &str) -> bool {
    matches!(
        key,
        "largest_current_ampere"
            | "largest_field_tesla"
            | "continuous_current_ampere"
            | "continuous_field_tesla"
    )
}

/// The figures that people are shown, with their names.
#[cfg(feature = "paper")]
pub(crate) fn shown() -> impl Iterator<Item = (&'static str, &'static Figure)> {
    FIGURES.iter().filter_map(|figure| Some((figure.name?, figure)))
}

/// The figure of a key.
#[cfg(feature = "paper")]
pub(crate) fn of_key(key: &str) -> Option<&'static Figure> {
    FIGURES.iter().find(|figure| figure.key == key)
}
