//! The answer of the check before a lesson or on delivery.

use super::consistency::Contradiction;
use super::subject::{CoilQuantity, Quantity, Subject};
use crate::constants::Conductor;
use crate::files::spec::MeasuredValue;
use crate::judgement::limit::{Acceptance, Limits, Rule};
use crate::pair::{Connection, NotStated, Provenance};
use crate::physics::build_error::CoilName;
use crate::questions::words::notes::with_sentences;
use serde::Serialize;

/// Why a pair is undecided although each measured value passes.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(tag = "why", rename_all = "snake_case")]
#[non_exhaustive]
pub enum HeldBack {
    /// The weighed conductor is another one than the spec's.
    OtherConductor,
    /// Two readings of the same thing cannot both be right.
    Contradiction,
    /// The coils' inductances differ by more than those of two equal coils.
    UnlikeInductances,
    /// All readings together contradict the turns of the spec.
    Turns {
        /// The most probable turns of a coil.
        most_probable: u32,
        /// Those of the spec.
        spec: f64,
        /// The probability of the spec's turns.
        probability_of_spec: f64,
    },
    /// All readings together fit other turns of one coil, or of each, better than the spec's.
    TurnsOfACoil {
        /// The turns that fit best, coil a first.
        best: [f64; 2],
        /// Those of the spec.
        spec: [f64; 2],
        /// Whether the readings tell which coil has which.
        told_apart: bool,
        /// Whether both coils count as wound from one reel.
        of_one_reel: bool,
    },
}

/// The answer to "is this the pair of the spec?".
#[derive(Clone, Debug, Serialize)]
#[non_exhaustive]
pub struct LessonCheck {
    /// Program, spec and digest.
    pub provenance: Provenance,
    /// Title of the measurements.
    pub measured_title: String,
    /// Pass: every quantity lies within its limits, guard band included. Fail: at least one lies outside, guard band
    /// included. Undecided: anything else.
    pub verdict: Acceptance,
    /// The decision rule.
    pub decision: Rule,
    /// Why the pair does not pass although everything measured passes.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub held_back: Option<HeldBack>,
    /// Whether every measurement agrees with the spec: the verdict is `pass`.
    pub agrees: bool,
    /// Every quantity measured, against its limits.
    pub quantities: Vec<QuantityCheck>,
    /// Pairs of readings of the same thing that cannot both be right.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub contradictions: Vec<Contradiction>,
    /// Each measurement with the spec's value.
    pub comparisons: Vec<BesideSpec>,
    /// Probability that none of the known faults is present; `None` if no reading depends on them.
    pub probability_of_no_fault: Option<f64>,
    /// Faults in classes that these readings can tell apart, most probable first. Empty if no fault is more probable
    /// than the absence of any. If something does not pass, only faults that cause it; if everything passes, those
    /// indicated by all readings together.
    pub causes: Vec<CauseClass>,
    /// Every member of those classes separately, in the same order.
    #[serde(serialize_with = "with_sentences")]
    pub explanations: Vec<Explanation>,
    /// Failing quantities that none of those faults causes.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub unexplained: Vec<Unexplained>,
    /// How the coils' own readings differ, if by more than their uncertainty and the build's. `None` if they do not.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub unlike_coils: Option<UnlikeCoils>,
    /// Assumptions, and notes to the reader.
    pub notes: Vec<Note>,
}

/// One quantity against its limits.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct QuantityCheck {
    /// Its key in the file of measurements, such as `coil_a.resistance` or `fields[0]`.
    pub name: String,
    /// What it is.
    #[serde(skip)]
    pub subject: Subject,
    /// The value measured, SI; temperatures in °C.
    pub value: f64,
    /// Standard uncertainty of the measurement.
    pub standard_uncertainty: f64,
    /// The spec's value; `None` if it gives none.
    pub expected: Option<f64>,
    /// The limits from spec and tolerance, or from the supplier.
    pub limits: Limits,
    /// Who set the limits.
    pub limits_from: LimitsFrom,
    /// Where it fails, if that is not its upper limit. Between the two another measurement decides. `None` otherwise.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub fails_above: Option<f64>,
    /// Width of the guard band, U = k u.
    pub guard_band: f64,
    /// The verdict.
    pub verdict: Acceptance,
}

impl QuantityCheck {
    /// Whether no better reading of it is sure to decide, because even an exact one would lie between its upper limit and that
    /// above which it fails.
    pub(crate) fn lies_between(&self) -> bool {
        self.verdict == Acceptance::Undecided
            && self
                .fails_above
                .zip(self.limits.high)
                .is_some_and(|(most, high)| self.value > high && self.value < most)
    }
}

/// Who set a limit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum LimitsFrom {
    /// The spec, its build tolerance, and values derived from them.
    Spec,
    /// The supplier's own limits.
    Supplier,
    /// The supplier's lower limit and the spec's upper one.
    SupplierAtLeast,
    /// The supplier's upper limit and the spec's lower one.
    SupplierAtMost,
    /// Common practice, if neither states any.
    CommonPractice,
}

#[cfg(feature = "paper")]
impl LimitsFrom {
    /// Whether the lower and the upper limit are the supplier's.
    pub(crate) fn supplier_sets(self) -> [bool; 2] {
        match self {
            Self::Supplier => [true; 2],
            Self::SupplierAtLeast => [true, false],
            Self::SupplierAtMost => [false, true],
            Self::Spec | Self::CommonPractice => [false; 2],
        }
    }
}

/// Coils that differ from each other by more than in the spec.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct UnlikeCoils {
    /// The differences; empty if only all readings together indicate different turns.
    pub differences: Vec<CoilDifference>,
    /// The coil farther from the spec, if one of its readings does not pass; `None` otherwise.
    pub coil: Option<CoilName>,
    /// Turns of coil b minus turns of coil a, if turns would explain the differences.
    pub turns: Option<MeasuredValue>,
}

/// One quantity in which the coils differ.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct CoilDifference {
    /// Its key in the file of measurements, below the coil's.
    pub name: &'static str,
    /// What it is.
    #[serde(skip)]
    pub quantity: CoilQuantity,
    /// Coil b minus coil a, minus the same in the spec, SI; a resistance at the copper temperature of coil a.
    pub difference: f64,
    /// Its standard uncertainty, from both readings and from the build of both coils.
    pub standard_uncertainty: f64,
    /// The mean of both readings.
    pub mean: f64,
}

/// One measurement with the spec's value.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct BesideSpec {
    /// What was measured.
    pub quantity: Quantity,
    /// The value measured, SI.
    pub measured: f64,
    /// The spec's value, SI.
    pub expected: f64,
    /// Standard uncertainty of their difference.
    pub standard_uncertainty: f64,
    /// Measured minus expected, in that uncertainty.
    pub difference_in_uncertainties: f64,
}

/// A known fault of benches and deliveries.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum Cause {
    /// The field in gauss, written as millitesla.
    GaussForMillitesla,
    /// The field in millitesla, written as gauss.
    MilliteslaForGauss,
    /// The sign of field or current is reversed.
    FieldReversed,
    /// One coil connected backwards.
    CoilReversed,
    /// Parallel for series, or series for parallel.
    Connection,
    /// One coil bypassed or open.
    OneCoilAlone,
    /// The copper was at another temperature than noted.
    CopperTemperature,
    /// A bad contact, or the leads were included.
    ContactResistance,
    /// The number of turns differs from the spec's.
    Turns,
    /// Turns of one coil short-circuited.
    ShortedTurns,
    /// The coils are at another distance.
    Spacing,
    /// Coils of another radius.
    MeanRadius,
    /// Wire of another diameter.
    WireDiameter,
    /// Aluminium for copper.
    Aluminium,
    /// Gain of the field meter or the ammeter.
    MeterGain,
    /// The probe is not along the axis.
    ProbeTilted,
    /// Radii written for diameters.
    RadiusForDiameter,
    /// One quantity alone: misread, miswritten, or off by itself.
    Alone(Quantity),
    /// Another pair than the spec's: no single fault of this one explains the readings.
    AnotherPair,
}

/// Faults that these readings cannot tell apart.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct CauseClass {
    /// Probability that one of them is real.
    pub probability: f64,
    /// The members, best fit first; how common they are does not count.
    pub members: Vec<CauseMember>,
}

/// One fault with the size that it would need.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct CauseMember {
    /// The fault.
    pub cause: Cause,
    /// The size it would need, in the fault's own SI unit.
    pub size: f64,
    /// Standard uncertainty of that size.
    pub standard_uncertainty: f64,
    /// Whether that size is physically plausible.
    pub plausible: bool,
    /// The reference for the size: turns, spacing, temperature, or another value of the spec that the sentence needs.
    pub of: f64,
    /// The connection in the spec.
    pub connection: Connection,
    /// Whether the coils' own readings differ in quantities that depend on turns or wire. No single size then holds for
    /// each of them.
    pub coils_differ: bool,
    /// Turns of coil b minus turns of coil a, if turns explain that.
    pub turns_apart: Option<f64>,
}

/// A possible explanation of the differences.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Explanation {
    /// The fault.
    pub cause: &'static str,
    /// Probability of its class.
    pub probability: f64,
    /// Whether it brings every measurement within two uncertainties.
    pub explains_everything: bool,
    /// Sum of the squared remaining differences, in uncertainties.
    pub chi_square: f64,
    /// The fault with its size.
    #[serde(skip)]
    pub member: CauseMember,
}

/// A failing quantity that no reported fault reaches.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Unexplained {
    /// Its key in the file of measurements.
    pub name: String,
    /// What it is.
    #[serde(skip)]
    pub subject: Subject,
    /// Whether it lies above the spec's value, or above its limits if the spec gives none.
    pub too_large: bool,
}

/// A note to the reader of a check.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(tag = "note", rename_all = "snake_case")]
#[non_exhaustive]
pub enum Note {
    /// The spec states leads, but the measurement does not say whether they were included.
    LeadsOpen {
        /// Expected resistance at the coils' own terminals.
        terminals_ohm: f64,
        /// Expected resistance with the leads.
        with_leads_ohm: f64,
        /// Whether the reading lies nearer the value with the leads.
        nearer_with_leads: bool,
    },
    /// The measurements state another connection than the spec.
    OtherConnection {
        /// How the coils were connected while they were measured.
        measured: Connection,
    },
    /// The weighed conductor is another one than the spec's wire.
    OtherConductor {
        /// The weighed conductor.
        measured: Conductor,
        /// The conductor of the spec's wire.
        spec: Conductor,
    },
    /// The copper's temperature has no stated uncertainty, and one of this size would change a verdict.
    TemperatureDecides {
        /// Standard uncertainty of a temperature read without care.
        kelvin: f64,
    },
    /// Currents without a stated uncertainty have that of the spec's ammeter.
    AmmeterOfSpec,
    /// The room's temperature was stated neither with the surface's nor in the spec.
    RoomTaken {
        /// The temperature assumed.
        celsius: f64,
    },
    /// No limit of the insulation resistance is stated.
    InsulationLimit {
        /// The smallest allowed.
        ohm: f64,
        /// The test voltage for it.
        test_volt: f64,
    },
    /// The insulation was measured at less than the voltage that the spec states.
    InsulationAtLess {
        /// The voltage stated.
        promised_at_volt: f64,
        /// The voltage measured with.
        test_volt: f64,
    },
    /// The spec has no `build_tolerance`, and an ordinary one was taken.
    OrdinaryTolerance {
        /// Limit of each length.
        length_m: f64,
    },
    /// The spec's `build_tolerance` leaves out some limits, and ordinary ones were taken.
    OrdinaryLimits {
        /// Their keys.
        not_stated: NotStated,
    },
}
