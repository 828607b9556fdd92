//! Conclusions about a class's runs, as numbers. Their sentences stand in `words`.

use serde::Serialize;

/// The conclusion from the runs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Conclusion {
    /// No fault is more probable than the absence of any.
    NothingFound,
    /// Most probably nothing is wrong. The findings are the most probable faults, in case something is.
    Perhaps,
    /// The first finding is more probable than all others together.
    MostLikely,
    /// The runs scatter more than stated, and no fault is more probable than uncertainties stated too small.
    Unexplained,
    /// Something is wrong, but these runs do not show which of the findings it is.
    CannotTell,
}

/// The name of a class of faults; scripts rely on it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[non_exhaustive]
#[serde(rename_all = "snake_case")]
pub enum Cause {
    /// One run misread or miswritten.
    MisreadRun,
    /// All radii off by the same amount: another edge of the glow, or the rule's zero.
    RadiusOffset,
    /// All radii off by a factor that has a known reason: diameters for radii, another unit.
    RadiusFactor,
    /// The beam's voltage off by the same amount.
    VoltageOffset,
    /// The current off by the same amount.
    AmmeterOffset,
    /// The room's axial field differs from the stated one.
    RoomField,
    /// An error that all runs share and that these runs cannot identify.
    SharedError,
}

/// One member of a class: a fault that alone would explain the data.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[non_exhaustive]
#[serde(rename_all = "snake_case")]
pub enum Suspect {
    /// The radius of this run; the size is the reading's error.
    RadiusReading,
    /// The gun voltage of this run.
    GunVoltageReading,
    /// The current of this run.
    CurrentReading,
    /// Every radius reads too large by the size.
    RadiusOffset,
    /// The beam voltage is less than assumed by the size.
    VoltageOffset,
    /// The ammeter shows the size of the current too large by the size; where the current was never reversed.
    AmmeterZero,
    /// The ammeter, before the reversal, reads too high by the size.
    AmmeterZeroBeforeReversal,
    /// The ammeter, after the reversal, reads too high by the size, sign included.
    AmmeterZeroAfterReversal,
    /// The room's axial field is larger than assumed by the size.
    RoomField,
    /// Every radius is too large by this fraction.
    RadiusFactor,
    /// The radii are entered as read on the scale, but were already corrected for parallax; the size is that correction
    /// as a fraction.
    RadiiInBeamPlane,
    /// The field constant is too large by this fraction.
    FieldConstant,
    /// The ammeter reads too high by this fraction.
    AmmeterGain,
    /// The voltmeter reads too high by this fraction.
    VoltmeterGain,
}

/// A member of a class with the size it would need.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Candidate {
    /// What it is.
    pub suspect: Suspect,
    /// The size it would need, in `unit`.
    pub size: f64,
    /// `1` for a fraction, else the SI unit.
    pub unit: &'static str,
    /// Standard uncertainty of that size, if the runs determine one.
    pub standard_uncertainty: Option<f64>,
    /// Whether that size is physically plausible.
    pub possible: bool,
    /// The line of the run that it is about; `None` if it is about all.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub line: Option<u64>,
}

/// A mix-up that would explain a run or all runs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[non_exhaustive]
#[serde(rename_all = "snake_case")]
pub enum MixUp {
    /// A diameter under the heading of a radius.
    DiameterAsRadius,
    /// A radius under the heading of a diameter.
    RadiusAsDiameter,
    /// The sign of the current.
    CurrentSign,
    /// Milliamperes under a heading in amperes.
    MilliampereAsAmpere,
    /// Kilovolts under a heading in volts.
    KilovoltAsVolt,
    /// Millimetres under a heading in centimetres.
    MillimetreAsCentimetre,
    /// Centimetres under a heading in millimetres.
    CentimetreAsMillimetre,
    /// Volts under a heading in kilovolts.
    VoltAsKilovolt,
    /// Amperes under a heading in milliamperes, or metres under one in millimetres.
    AmpereAsMilliampere,
    /// Columns swapped or in other units; e/m is too far off to say which.
    Columns,
}

/// The measurement that would separate the members of a class, or the remaining classes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[non_exhaustive]
#[serde(rename_all = "snake_case")]
pub enum Measure {
    /// Take the named runs again.
    RepeatRuns,
    /// Small and large circles at one gun voltage, then one circle at several voltages.
    VaryRadiusAndVoltage,
    /// The current reversed for half the runs.
    ReverseCurrent,
    /// The ammeter's reading with its leads open, and the room's field with a probe.
    AmmeterAndRoomAtRest,
    /// The field at the centre, a known length in the beam plane, and both meters against reference meters.
    CheckChain,
}

/// Details of one kind of finding.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum Detail {
    /// About named runs.
    Run {
        /// e/m of the run over that of the remaining runs, minus one.
        own_difference_fraction: f64,
        /// The radius that would fit, in the column's convention.
        fitting_radius_m: f64,
        /// Standard uncertainty of that radius.
        fitting_radius_standard_uncertainty_m: f64,
        /// The voltmeter reading that would fit.
        fitting_gun_voltage_volt: f64,
        /// The ammeter reading that would fit.
        fitting_current_ampere: f64,
        /// The mix-up that gives this value; `None` if no mix-up does.
        mix_up: Option<MixUp>,
    },
    /// About all runs.
    All {
        /// The mix-up that gives this value; `None` if no mix-up does.
        mix_up: Option<MixUp>,
    },
}

/// A class of faults that may explain the runs.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Finding {
    /// The class.
    pub cause: Cause,
    /// Probability that one of its members is real. Faults among the runs exclude each other; an error shared by all
    /// may exist beside one of them.
    pub probability: f64,
    /// Distance of its best size from zero, in standard uncertainties.
    pub standard_uncertainties: f64,
    /// Lines of the runs it is about; empty if it is about all.
    pub lines: Vec<u64>,
    /// The labels of those runs that have one.
    pub labels: Vec<String>,
    /// The members. Each alone would explain the data with the size given.
    pub members: Vec<Candidate>,
    /// The measurement that would separate them.
    pub measure: Measure,
    /// Details of this kind of finding.
    pub detail: Detail,
}

/// A fault that these runs would have shown in nine cases out of ten.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Visible {
    /// The fault.
    pub cause: Cause,
    /// Smallest size that would have shown, in `unit`. `None` if no possible size would.
    pub size: Option<f64>,
    /// The SI unit.
    pub unit: &'static str,
}
