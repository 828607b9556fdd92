//! The ranges of possible values, each written once: check, message and hint use the same line.

use crate::units::{Dimension, brief};

/// The possible values of a quantity.
#[derive(Clone, Copy, Debug)]
pub(super) struct Limits {
    pub dimension: Dimension,
    pub least: f64,
    pub most: f64,
}

const fn limits(dimension: Dimension, least: f64, most: f64) -> Limits {
    Limits { dimension, least, most }
}

impl Limits {
    /// Whether a value is possible.
    pub(super) fn allow(&self, si: f64) -> bool {
        (self.least..=self.most).contains(&si)
    }

    /// The range as text: `1 mm to 10 m`.
    pub(super) fn text(&self) -> String {
        format!("{} to {}", brief(self.least, self.dimension), brief(self.most, self.dimension))
    }
}

use std::f64::consts::{FRAC_PI_2, FRAC_PI_4, PI, TAU};

pub(super) const MEAN_RADIUS: Limits = limits(Dimension::Length, 1e-3, 10.0);
pub(super) const SECTION_SIDE: Limits = limits(Dimension::Length, 1e-6, 10.0);
pub(super) const TURNS: Limits = limits(Dimension::Number, 0.25, 1e6);
pub(super) const SPACING: Limits = limits(Dimension::Length, 1e-3, 10.0);
pub(super) const WIRE_DIAMETER: Limits = limits(Dimension::Length, 1e-5, 0.025);
/// Most characters of a title.
pub(super) const LONGEST_TITLE: usize = 200;
/// IEC 60085:2007 lists thermal classes from 90 to 250 °C.
pub(super) const THERMAL_CLASS: Limits = limits(Dimension::Temperature, 90.0, 250.0);
pub(super) const EMISSIVITY: Limits = limits(Dimension::Number, 0.0, 1.0);
pub(super) const LEAD_RESISTANCE: Limits = limits(Dimension::Resistance, 0.0, 100.0);
pub(super) const WALL: Limits = limits(Dimension::Length, 1e-4, 0.2);
pub(super) const OFFSET: Limits = limits(Dimension::Length, -1.0, 1.0);
pub(super) const TILT: Limits = limits(Dimension::Angle, -FRAC_PI_4, FRAC_PI_4);
pub(super) const COIL_RESISTANCE: Limits = limits(Dimension::Resistance, 1e-4, 1e6);
pub(super) const COPPER_TEMPERATURE: Limits = limits(Dimension::Temperature, -60.0, 250.0);
pub(super) const TEMPERATURE_UNCERTAINTY: Limits = limits(Dimension::TemperatureDifference, 0.0, 50.0);
pub(super) const LENGTH_TOLERANCE: Limits = limits(Dimension::Length, 0.0, 0.1);
pub(super) const TURNS_TOLERANCE: Limits = limits(Dimension::Number, 0.0, 1e4);
pub(super) const TILT_TOLERANCE: Limits = limits(Dimension::Angle, 0.0, FRAC_PI_4);
pub(super) const BULB_RADIUS: Limits = limits(Dimension::Length, 1e-3, 10.0);
pub(super) const PLACE: Limits = limits(Dimension::Length, -10.0, 10.0);
pub(super) const GUN_VOLTAGE: Limits = limits(Dimension::Voltage, 1.0, 1e5);
pub(super) const VOLTAGE_OFFSET: Limits = limits(Dimension::Voltage, -1e3, 1e3);
pub(super) const VOLTAGE_UNCERTAINTY: Limits = limits(Dimension::Voltage, 0.0, 1e3);
pub(super) const BEAM_RADIUS: Limits = limits(Dimension::Length, 1e-4, 10.0);
pub(super) const SUPPLY_VOLTAGE: Limits = limits(Dimension::Voltage, 1e-3, 1e4);
pub(super) const SUPPLY_CURRENT: Limits = limits(Dimension::Current, 1e-3, 1e4);
pub(super) const AMMETER_RESOLUTION: Limits = limits(Dimension::Current, 1e-9, 100.0);
pub(super) const VOLTMETER_RESOLUTION: Limits = limits(Dimension::Voltage, 1e-6, 1e3);
pub(super) const ACCURACY_OF_READING: Limits = limits(Dimension::Fraction, 0.0, 0.5);
pub(super) const ACCURACY_DIGITS: Limits = limits(Dimension::Number, 0.0, 1e4);
pub(super) const FIELD_ZERO: Limits = limits(Dimension::FluxDensity, 0.0, 0.1);
pub(super) const RADIUS_UNCERTAINTY: Limits = limits(Dimension::Length, 1e-6, 0.1);
pub(super) const CAMERA_DISTANCE: Limits = limits(Dimension::Length, 0.01, 100.0);
pub(super) const ROOM_TEMPERATURE: Limits = limits(Dimension::Temperature, -40.0, 60.0);
pub(super) const ROOM_FIELD: Limits = limits(Dimension::FluxDensity, -0.01, 0.01);
pub(super) const LATITUDE: Limits = limits(Dimension::Angle, -FRAC_PI_2, FRAC_PI_2);
pub(super) const LONGITUDE: Limits = limits(Dimension::Angle, -PI, TAU);
pub(super) const HEIGHT: Limits = limits(Dimension::Length, -500.0, 9000.0);
pub(super) const BEARING: Limits = limits(Dimension::Angle, -TAU, TAU);
pub(super) const PRICE: Limits = limits(Dimension::Number, 0.0, 1e9);
pub(super) const TAX_RATE: Limits = limits(Dimension::Fraction, 0.0, 1.0);
/// Days.
pub(super) const PERIOD: Limits = limits(Dimension::Number, 0.0, 36_525.0);
pub(super) const EXCHANGE_RATE: Limits = limits(Dimension::Number, 1e-9, 1e9);
pub(super) const STATED_FIELD: Limits = limits(Dimension::FluxDensity, 1e-9, 10.0);
pub(super) const HELD_TIME: Limits = limits(Dimension::Time, 1.0, 1e7);
pub(super) const INSULATION_RESISTANCE: Limits = limits(Dimension::Resistance, 1.0, 1e14);
pub(super) const MASS: Limits = limits(Dimension::Mass, 1e-4, 1e4);
pub(super) const FIELD_CONSTANT: Limits = limits(Dimension::FieldConstant, 1e-9, 1.0);
pub(super) const DIAMETER: Limits = limits(Dimension::Length, 1e-3, 20.0);
