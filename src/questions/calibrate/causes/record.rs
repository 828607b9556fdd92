//! The record of what may be wrong.

use serde::Serialize;

/// What may be wrong.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[non_exhaustive]
#[serde(rename_all = "snake_case")]
pub enum Cause {
    /// Units of the readings mixed up; the amount is the fitted over the computed slope.
    UnitsMixedUp,
    /// The unit of one reading mixed up.
    UnitsOfOneReading,
    /// The columns of current and field exchanged: the fitted slope is the inverse of the computed one.
    CurrentAndFieldSwapped,
    /// One coil works against the other.
    CoilReversed,
    /// The whole pair, or the probe, is the other way round.
    LeadsReversed,
    /// Only one coil carries the current, or half of it goes through each.
    OneCoilOrParallel,
    /// The coils are in series where the spec has them in parallel.
    SeriesNotParallel,
    /// Readings of the probe turned round that are not marked so, or marked and not turned.
    FlipFlagsForgotten,
    /// One reading misread or miswritten, by this much field.
    MisreadReading,
    /// The current of one reading misread or miswritten, by this much.
    MisreadCurrent,
    /// Field against current is bent: the largest reading shows this fraction too much; negative: too little.
    NotStraight,
    /// A zero that wanders by this much from the first reading to the last.
    Drift,
    /// The ammeter's zero off by this current.
    AmmeterZero,
    /// Something that changes the slope: several members that these readings cannot tell apart.
    SlopeFactor,
    /// Turns missing, over both coils together; negative: too many.
    TurnsMissing,
    /// Spacing larger than the spec's by this; negative: smaller.
    Spacing,
    /// Mean radius of both coils larger than the spec's by this; negative: smaller.
    MeanRadius,
    /// The probe was tilted against the axis by this.
    ProbeTilted,
    /// The probe was this far from the centre along the axis.
    ProbeAlongAxis,
    /// The probe was this far from the axis.
    ProbeOffAxis,
    /// The probe shows this fraction too much; negative: too little.
    ProbeGain,
    /// The ammeter shows this fraction too little; negative: too much.
    AmmeterGain,
}

impl Cause {
    /// The unit of its amount: `turn`, `m`, `rad`, `T`, `A` or `1`.
    pub(super) fn unit(self) -> &'static str {
        match self {
            Self::TurnsMissing => "turn",
            Self::Spacing | Self::MeanRadius | Self::ProbeAlongAxis | Self::ProbeOffAxis => "m",
            Self::ProbeTilted => "rad",
            Self::MisreadReading | Self::Drift => "T",
            Self::AmmeterZero | Self::MisreadCurrent => "A",
            _ => "1",
        }
    }

    /// Whether its size follows from what it is: all or nothing.
    pub(crate) fn is_all_or_nothing(self) -> bool {
        matches!(
            self,
            Self::UnitsMixedUp
                | Self::UnitsOfOneReading
                | Self::CurrentAndFieldSwapped
                | Self::CoilReversed
                | Self::LeadsReversed
                | Self::OneCoilOrParallel
                | Self::SeriesNotParallel
                | Self::FlipFlagsForgotten
        )
    }

    /// Whether it spoils some readings against others, so that no line of theirs is to be trusted.
    pub(crate) fn is_within_the_readings(self) -> bool {
        matches!(
            self,
            Self::UnitsOfOneReading
                | Self::FlipFlagsForgotten
                | Self::MisreadReading
                | Self::MisreadCurrent
                | Self::NotStraight
                | Self::Drift
                | Self::AmmeterZero
        )
    }

    /// Whether it does nothing but change the slope.
    pub(super) fn changes_the_slope_alone(self) -> bool {
        matches!(
            self,
            Self::TurnsMissing
                | Self::Spacing
                | Self::MeanRadius
                | Self::ProbeTilted
                | Self::ProbeAlongAxis
                | Self::ProbeOffAxis
                | Self::ProbeGain
                | Self::AmmeterGain
        )
    }

    /// What would tell it from the others of its class.
    pub(crate) fn measurement(self) -> Measurement {
        match self {
            Self::UnitsMixedUp | Self::CurrentAndFieldSwapped => Measurement::CompareHeadingWithMeter,
            Self::UnitsOfOneReading | Self::MisreadReading | Self::MisreadCurrent => {
                Measurement::RepeatReading
            }
            Self::NotStraight => Measurement::ProbeOnAnotherRange,
            Self::CoilReversed | Self::OneCoilOrParallel | Self::SeriesNotParallel | Self::LeadsReversed => {
                Measurement::EachCoilAlone
            }
            Self::FlipFlagsForgotten => Measurement::NoteEachTurnOfTheProbe,
            Self::Drift => Measurement::RepeatFirstReadingLast,
            Self::AmmeterZero => Measurement::AmmeterWithoutCurrent,
            Self::TurnsMissing => Measurement::ResistanceOfEachCoil,
            Self::Spacing | Self::MeanRadius | Self::SlopeFactor => Measurement::MeasureTheCoils,
            Self::ProbeTilted => Measurement::TurnProbeToLargestReading,
            Self::ProbeAlongAxis | Self::ProbeOffAxis => Measurement::MoveProbe,
            Self::ProbeGain => Measurement::ProbeInKnownField,
            Self::AmmeterGain => Measurement::SecondAmmeter,
        }
    }
}

/// A measurement that separates causes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[non_exhaustive]
#[serde(rename_all = "snake_case")]
pub enum Measurement {
    /// The unit that the meter shows against the heading.
    CompareHeadingWithMeter,
    /// The reading again.
    RepeatReading,
    /// The field of each coil alone.
    EachCoilAlone,
    /// The largest readings with the probe on another range.
    ProbeOnAnotherRange,
    /// Which readings have the probe turned.
    NoteEachTurnOfTheProbe,
    /// The first reading once more at the end.
    RepeatFirstReadingLast,
    /// What the ammeter shows at no current.
    AmmeterWithoutCurrent,
    /// The resistance of each coil at its own terminals.
    ResistanceOfEachCoil,
    /// Spacing and diameters.
    MeasureTheCoils,
    /// The probe tilted to and fro until it reads most.
    TurnProbeToLargestReading,
    /// The probe moved along the axis and across it.
    MoveProbe,
    /// The probe in a field that is known.
    ProbeInKnownField,
    /// A second ammeter in series.
    SecondAmmeter,
}

/// A hypothesis by name.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hypothesis {
    /// What.
    pub cause: Cause,
    /// On which reading, counted from 0, if on one.
    pub reading: Option<usize>,
    /// Of which power of ten, where units are mixed up.
    pub power: Option<i32>,
    /// Which way it is bent, where it is.
    pub bend: Option<Bend>,
}

/// How field against current is bent.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Bend {
    /// Alike for fields of either sign, as the third power: a probe that saturates.
    Odd,
    /// Too much for one sign and too little for the other, as the square.
    Even,
}

impl Hypothesis {
    pub(super) fn of(cause: Cause) -> Self {
        Self { cause, reading: None, power: None, bend: None }
    }
}

/// Causes that these readings cannot tell apart.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct CauseClass {
    /// The one whose size fits, or `slope_factor` for several.
    pub cause: Cause,
    /// Probability that one of them is the case.
    pub probability: f64,
    /// The members, plausible ones first.
    pub members: Vec<Explanation>,
    /// What would separate them, or prove the only one.
    pub measure: Vec<Measurement>,
}

/// One thing that would explain it alone.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Explanation {
    /// What.
    pub cause: Cause,
    /// How much of it, in `unit`; `None` where it is all or nothing.
    pub amount: Option<f64>,
    /// Standard uncertainty of the amount.
    pub amount_standard_uncertainty: Option<f64>,
    /// The unit of `amount`: `turn`, `m`, `rad`, `T`, `A` or `1`.
    pub unit: &'static str,
    /// The limit that the spec states for it, in `unit`, if it states one.
    pub stated_limit: Option<f64>,
    /// Whether a size like that is possible at all.
    pub plausible: bool,
    /// The line of the file, where it is about one reading.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub line: Option<u64>,
    /// The label of that reading.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub label: Option<String>,
    /// The power of ten between the units, where they are mixed up.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub power_of_ten: Option<i32>,
    /// Which way it is bent, where it is.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub bend: Option<Bend>,
    /// Whether the reading is about what it should be, with the other sign.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub sign_reversed: bool,
}
