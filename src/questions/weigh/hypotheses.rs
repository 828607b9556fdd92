//! The faults that a class's runs may have, their effect on the radii, and their possible sizes.
//!
//! The data are the radii. In r = θ c(V)/(B(I) + s b) (see [`super::fit`]), a fault means that the true values differ
//! from those written down, and so changes the radius expected for this V and I. The signature of a fault is that
//! change at its best size, over the size.

use super::finding::{Cause, Suspect};
use super::fit::Point;
use super::prepared::Prepared;
use super::shift::Shift;
use crate::judgement::{Effect, Fault, Sizes, priors};
use crate::pair::AmmeterPosition;

/// Range of |Δ ln θ| for an e/m off by more than the runs share, with equal prior probability for each factor: from
/// half a percent to a factor of four in e/m, as of diameters for radii. Beyond it units are mixed up, and the density
/// does not matter.
pub(super) const LEVEL_OFF: [f64; 2] = [2.5e-3, 0.7];
/// A misreading is at least this many of a run's own standard uncertainties; less is scatter. (Common practice, no
/// source.)
const MISREADING_FROM: f64 = 2.0;
/// It is at most this: no beam circle is larger.
const MISREADING_TO_M: f64 = 0.1;
/// The glow is a few millimetres wide, and rules start a few millimetres from their end (common practice, no source).
const RADIUS_OFFSET_M: [f64; 2] = [0.2e-3, 10e-3];
/// Cathode drop, contact potentials and a voltmeter's zero (common practice, no source).
const VOLTAGE_OFFSET_VOLT: [f64; 2] = [0.5, 40.0];
/// The zero of an ammeter or shunt (common practice, no source).
const AMMETER_OFFSET_AMPERE: [f64; 2] = [5e-3, 0.3];
/// Lower end: the smallest field that matters. Upper end: that of a loudspeaker or a steel bench (common practice, no
/// source).
const ROOM_FIELD_TESLA: [f64; 2] = [2e-6, 200e-6];

/// One hypothesis.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Hypothesis {
    /// The run with this index is misread.
    MisreadRun(usize),
    RadiusOffset,
    VoltageOffset,
    AmmeterZero(AmmeterPosition),
    RoomField,
    /// e/m is off by more than the runs share.
    Level,
}

/// The e/m and room field about which the radii are linearised.
#[derive(Clone, Copy, Debug)]
pub(super) struct About {
    /// 1/√(e/m).
    pub theta: f64,
    pub room_tesla: f64,
}

/// The hypotheses that these runs can test.
pub(super) fn hypotheses(
    count: usize,
    both_directions: bool,
    room_stated: bool,
    position: Option<AmmeterPosition>,
) -> Vec<Hypothesis> {
    use AmmeterPosition::{AfterReversal, BeforeReversal};
    let mut all: Vec<Hypothesis> = (0..count).map(Hypothesis::MisreadRun).collect();
    all.extend([Hypothesis::RadiusOffset, Hypothesis::VoltageOffset]);
    // It stands before the room's field, because the first of equals wins where the current was reversed.
    if !both_directions || position != Some(AfterReversal) {
        all.push(Hypothesis::AmmeterZero(position.unwrap_or(BeforeReversal)));
    }
    if room_stated {
        all.push(Hypothesis::RoomField);
    }
    if both_directions && position != Some(BeforeReversal) {
        all.push(Hypothesis::AmmeterZero(AfterReversal));
    }
    all
}

impl Hypothesis {
    /// The name of its class, its name as a member, and the unit of its size.
    pub(crate) fn described(self) -> (Cause, Suspect, &'static str) {
        match self {
            Self::MisreadRun(_) => (Cause::MisreadRun, Suspect::RadiusReading, "m"),
            Self::RadiusOffset => (Cause::RadiusOffset, Suspect::RadiusOffset, "m"),
            Self::VoltageOffset => (Cause::VoltageOffset, Suspect::VoltageOffset, "V"),
            Self::AmmeterZero(AmmeterPosition::BeforeReversal) => {
                (Cause::AmmeterOffset, Suspect::AmmeterZeroBeforeReversal, "A")
            }
            Self::AmmeterZero(AmmeterPosition::AfterReversal) => {
                (Cause::AmmeterOffset, Suspect::AmmeterZeroAfterReversal, "A")
            }
            Self::RoomField => (Cause::RoomField, Suspect::RoomField, "T"),
            Self::Level => (Cause::SharedError, Suspect::RadiusFactor, "1"),
        }
    }

    /// The largest possible size.
    pub(super) fn largest(self) -> f64 {
        self.range(1e-3)[1]
    }

    /// The fault for the judgement. Its effect is linear, with the slope taken at the given size.
    pub(super) fn fault(
        self,
        prepared: &Prepared<'_>,
        points: &[Point],
        about: About,
        through: f64,
        places: usize,
    ) -> Fault<'static, Self> {
        let (prior, choices) = match self {
            Self::MisreadRun(_) => (priors::MISREAD_RUN, points.len()),
            Self::RadiusOffset => (priors::RADIUS_OFFSET, 1),
            Self::VoltageOffset => (priors::VOLTAGE_OFFSET, 1),
            // The two possible places of the ammeter share one prior.
            Self::AmmeterZero(_) => (priors::AMMETER_OFFSET, places),
            Self::RoomField => (priors::ROOM_FIELD, 1),
            Self::Level => (priors::SHARED_ERROR, 1),
        };
        let effect = self.effect(prepared, points, about, through).unwrap_or_else(|| {
            self.effect(prepared, points, about, self.small()).unwrap_or_else(|| vec![0.0; points.len()])
        });
        Fault { cause: self, effect: Effect::Linear(effect), sizes: self.sizes(points), prior, choices }
    }

    /// The fault that e/m is off: every radius grows by the size, as a fraction.
    pub(crate) fn level_fault(points: &[Point], about: About) -> Fault<'static, Self> {
        let radii = points.iter().map(|point| point.model_m(about.theta, about.room_tesla)).collect();
        Fault {
            cause: Self::Level,
            effect: Effect::Linear(radii),
            sizes: Self::Level.sizes(points),
            prior: priors::SHARED_ERROR,
            choices: 1,
        }
    }

    /// A size small enough for the effect to be linear.
    pub(super) fn small(self) -> f64 {
        1e-3 * self.range(1e-3)[1]
    }

    fn range(self, own_m: f64) -> [f64; 2] {
        match self {
            Self::MisreadRun(_) => [(MISREADING_FROM * own_m).min(0.5 * MISREADING_TO_M), MISREADING_TO_M],
            Self::RadiusOffset => RADIUS_OFFSET_M,
            Self::VoltageOffset => VOLTAGE_OFFSET_VOLT,
            Self::AmmeterZero(_) => AMMETER_OFFSET_AMPERE,
            Self::RoomField => ROOM_FIELD_TESLA,
            Self::Level => LEVEL_OFF,
        }
    }

    fn sizes(self, points: &[Point]) -> Sizes {
        let own_m = match self {
            Self::MisreadRun(place) => points[place].uncertainty_m,
            _ => 1e-3,
        };
        let [smallest, largest] = self.range(own_m);
        Sizes::LogUniformEitherSign { smallest, largest }
    }

    /// ln of the prior density of a size; −∞ outside the range.
    pub(super) fn ln_density(self, points: &[Point], size: f64) -> f64 {
        let sizes = self.sizes(points);
        if sizes.allows_exactly(size) { sizes.ln_density(size) } else { f64::NEG_INFINITY }
    }

    /// A size within the range, for taking a signature.
    pub(crate) fn bounded(self, size: f64) -> f64 {
        let largest = self.range(1e-3)[1];
        let size = size.clamp(-largest, largest);
        if size.abs() > self.small() { size } else { self.small() }
    }

    /// Change of the radii for a fault of unit size, from its effect at this size; `None` if that size leaves no beam.
    fn effect(self, prepared: &Prepared<'_>, points: &[Point], about: About, size: f64) -> Option<Vec<f64>> {
        let About { theta, room_tesla } = about;
        let shift = match self {
            Self::MisreadRun(place) => {
                return Some((0..points.len()).map(|i| if i == place { 1.0 } else { 0.0 }).collect());
            }
            Self::RadiusOffset => return Some(vec![1.0; points.len()]),
            // The meter reads too high by the size, so the true value is lower.
            Self::VoltageOffset => Shift { voltage_volt: -size, ..Shift::none() },
            Self::AmmeterZero(AmmeterPosition::BeforeReversal) => {
                Shift { current_size_ampere: -size, ..Shift::none() }
            }
            Self::AmmeterZero(AmmeterPosition::AfterReversal) => {
                Shift { current_ampere: -size, ..Shift::none() }
            }
            Self::RoomField => Shift { room_tesla: size, ..Shift::none() },
            Self::Level => {
                return Some(points.iter().map(|point| point.model_m(theta, room_tesla)).collect());
            }
        };
        let changed = effect_of(prepared, points, about, &shift)?;
        Some(changed.into_iter().map(|change| change / size).collect())
    }
}

/// Change of the radii if the true values differ by `shift`; `None` if that leaves no beam.
pub(super) fn effect_of(
    prepared: &Prepared<'_>,
    points: &[Point],
    about: About,
    shift: &Shift,
) -> Option<Vec<f64>> {
    let About { theta, room_tesla } = about;
    let shifted = prepared.points(shift).ok()?;
    let change = |(then, now): (&Point, &Point)| {
        then.model_m(theta, room_tesla + shift.room_tesla) - now.model_m(theta, room_tesla)
    };
    Some(shifted.iter().zip(points).map(change).collect())
}
