//! The sentence of each further measurement, the same on the page and in JSON.

use super::next_measurement::{NextMeasurement, ToMeasure};
use crate::questions::words::notes::Told;
use crate::units::{Dimension, display};
use serde::{Serialize, Serializer};

impl ToMeasure {
    /// The quantity and the means.
    #[must_use]
    pub const fn phrase(self) -> &'static str {
        match self {
            Self::Resistance => "the resistance with four wires",
            Self::Field => "the field at the centre with a calibrated probe, current reversed",
            Self::Inductance => "the inductance at a low frequency",
            Self::Mass => "the mass of the copper",
            Self::WireDiameter => "the wire's diameter over the enamel with a micrometer",
        }
    }
}

impl Serialize for ToMeasure {
    fn serialize<S: Serializer>(&self, to: S) -> std::result::Result<S::Ok, S::Error> {
        to.serialize_str(self.phrase())
    }
}

impl Told for NextMeasurement {
    fn sentence(&self) -> String {
        format!(
            "{}, to {}, would settle {:.0} % of what is open",
            self.quantity.phrase(),
            display(self.relative_standard_uncertainty, Dimension::Fraction, 1),
            if self.open_bits > 0.0 { 100.0 * self.expected_bits / self.open_bits } else { 0.0 }
        )
    }
}
