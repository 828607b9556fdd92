//! The supply, the meters, and how the beam radius is read.

use serde::{Deserialize, Serialize};

/// The current supply.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Supply {
    /// Highest voltage, if known.
    pub voltage_limit_volt: Option<f64>,
    /// Highest current, if known.
    pub current_limit_ampere: Option<f64>,
    /// The quantity it holds constant.
    pub regulation: Regulation,
}

/// Which quantity a supply holds constant.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Regulation {
    /// Constant current.
    #[default]
    Current,
    /// Constant voltage.
    Voltage,
}

/// A digital meter: limit of error = fraction of reading + digits × resolution. An unknown part counts as zero.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Meter {
    /// One step of the last digit, in the meter's SI unit, if known.
    pub resolution: Option<f64>,
    /// Limit of error, as a fraction of the reading, if known.
    pub accuracy_of_reading: Option<f64>,
    /// Limit of error, in steps of the last digit.
    pub accuracy_digits: f64,
}

impl Meter {
    /// Limit of error at a reading, in the meter's SI unit: fraction of reading + digits × resolution. The digits count
    /// for at least half a digit, since no digital meter resolves less (JCGM 100:2008, F.2.2.1).
    ///
    /// The limit does not depend on the sign of the reading. A part that is not stated counts as zero. By hand: at 2 A a
    /// meter of 0.5 % and 2 digits of 0.01 A is off by 0.010 A + 0.02 A at most.
    ///
    /// ```
    /// use coilwright::pair::Meter;
    /// let meter = Meter { resolution: Some(0.01), accuracy_of_reading: Some(0.005), accuracy_digits: 2.0 };
    /// assert!((meter.limit_of_error(-2.0) - 0.030).abs() < 1e-15);
    /// ```
    pub fn limit_of_error(&self, reading: f64) -> f64 {
        let digits = self.accuracy_digits.max(0.5) * self.resolution.unwrap_or(0.0);
        self.gain_limit() * reading.abs() + digits
    }

    /// Limit of the gain's error, as a fraction of the reading.
    pub fn gain_limit(&self) -> f64 {
        self.accuracy_of_reading.unwrap_or(0.0)
    }

    /// Limit of error of the stated digits alone, in the meter's SI unit.
    pub fn digits_limit(&self) -> f64 {
        self.accuracy_digits * self.resolution.unwrap_or(0.0)
    }

    /// Standard uncertainty at a reading: a rectangular distribution within the limit of error.
    pub fn standard_uncertainty(&self, reading: f64) -> f64 {
        Distribution::Rectangular.standard_uncertainty(self.limit_of_error(reading))
    }
}

/// Where the ammeter stands, seen from the switch or plugs that reverse the current in the coils. It decides what an
/// error of its zero does: see each.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum AmmeterPosition {
    /// On the supply's side: the meter sees |I|. A zero that is off by δ counts as δ sign(I), the same way in both
    /// directions, and acts on the slope.
    BeforeReversal,
    /// On the coils' side: the meter sees the current reversed. A zero that is off by δ keeps its sign, and imitates a
    /// room field of −k δ.
    AfterReversal,
}

/// A field meter: limit of error = fraction of reading, and a zero error that is unknown within a limit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FieldMeter {
    /// Limit of error, as a fraction of the reading, if known.
    pub accuracy_of_reading: Option<f64>,
    /// Limit of the zero's error, if known.
    pub zero_tesla: Option<f64>,
}

/// How the beam radius is read.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RadiusReading {
    /// Which edge of the glow is read.
    pub edge: BeamEdge,
    /// Standard uncertainty of one reading of the radius.
    pub radius_uncertainty_m: Option<f64>,
    /// Distance from the camera to the beam plane.
    pub camera_distance_m: Option<f64>,
    /// Distance of the scale behind the beam plane, seen from the camera (negative: before it).
    pub scale_offset_m: f64,
}

/// Which edge of the glow is read.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum BeamEdge {
    /// The inner edge.
    Inner,
    /// The middle of the glow.
    #[default]
    Middle,
    /// The outer edge.
    Outer,
}

/// The distribution that a stated limit describes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Distribution {
    /// Anywhere within the limit alike: u = limit/√3.
    #[default]
    Rectangular,
    /// The limit is two standard uncertainties.
    Normal,
}

impl Distribution {
    /// Standard uncertainty of a quantity with this limit (JCGM 100:2008, 4.3.7 and 4.3.4).
    pub fn standard_uncertainty(self, limit: f64) -> f64 {
        match self {
            Self::Rectangular => limit / 3f64.sqrt(),
            Self::Normal => limit / 2.0,
        }
    }
}
