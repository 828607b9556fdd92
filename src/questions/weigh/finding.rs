//! What is concluded about a class's runs, as numbers; the sentences stand in the report.

use serde::Serialize;

/// What may be said of the runs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Conclusion {
    /// No fault is more probable than one.
    NothingFound,
    /// Most probably nothing is wrong; the findings are the most probable faults if something is.
    Perhaps,
    /// The first finding is more probable than all others together.
    MostLikely,
    /// Something is wrong, and these runs do not show which of the findings it is.
    CannotTell,
}

/// The name of a class of faults; scripts rely on it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Cause {
    /// One run misread or miswritten.
    MisreadRun,
    /// All radii off by a common amount: another edge of the glow, the rule's zero.
    RadiusOffset,
    /// All radii off by a factor that names itself: diameters for radii, another unit.
    RadiusFactor,
    /// The beam's voltage off by a common amount.
    VoltageOffset,
    /// The current off by a common amount.
    AmmeterOffset,
    /// The room's axial field other than stated.
    RoomField,
    /// Something that all runs share and that these runs cannot name.
    SharedError,
}

/// One member of a class: a fault that alone would explain the data.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
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
    /// The beam gets less than counted by the size.
    VoltageOffset,
    /// The ammeter, before the reversal, shows too much by the size.
    AmmeterZeroBeforeReversal,
    /// The ammeter, after the reversal, shows too much by the size, sign and all.
    AmmeterZeroAfterReversal,
    /// The room's axial field is larger than counted by the size.
    RoomField,
    /// Every radius is too large by this fraction.
    RadiusFactor,
    /// The radii are written as on the scale and were corrected for parallax already; the fraction that this is.
    RadiiInBeamPlane,
    /// The field constant is too large by this fraction.
    FieldConstant,
    /// The ammeter shows too much by this fraction.
    AmmeterGain,
    /// The voltmeter shows too much by this fraction.
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
}

/// A mix-up that would explain a run or all runs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
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
    /// Columns swapped or of another unit, too far off to say which.
    Columns,
}

/// What would separate the members of a class, or the classes that are left.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Measure {
    /// Take the named runs again.
    RepeatRuns,
    /// Small and large circles at one gun voltage, then one circle at several.
    VaryRadiusAndVoltage,
    /// The current reversed for half the runs.
    ReverseCurrent,
    /// The ammeter's reading with its leads open; the room's field with a probe.
    AmmeterAndRoomAtRest,
    /// The field at the centre, a known length in the beam plane, and both meters against others.
    CheckChain,
}

/// What only one kind of finding has.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum Detail {
    /// About named runs.
    Run {
        /// e/m of the run over that of the runs that are left, minus one.
        own_difference_fraction: f64,
        /// What the column of the radius should hold for the run to fit, as a radius.
        fitting_radius_m: f64,
        /// Standard uncertainty of that radius.
        fitting_radius_standard_uncertainty_m: f64,
        /// What the voltmeter would have to show.
        fitting_gun_voltage_volt: f64,
        /// What the ammeter would have to show.
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

/// A class of faults that may be behind what the runs show.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Finding {
    /// The class.
    pub cause: Cause,
    /// Probability that one of its members is the case. Faults among the runs exclude each other; something shared by all
    /// may be there beside one of them.
    pub probability: f64,
    /// Distance of its best size from zero, in standard uncertainties.
    pub standard_uncertainties: f64,
    /// Lines of the runs it is about; empty when it is about all.
    pub lines: Vec<u64>,
    /// Labels of those of them that have one.
    pub labels: Vec<String>,
    /// The members, each of which alone would explain the data, with the size it would need.
    pub members: Vec<Candidate>,
    /// What would separate them.
    pub measure: Measure,
    /// What only this kind has.
    pub detail: Detail,
}

/// A fault that these runs would have shown in nine cases of ten.
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
