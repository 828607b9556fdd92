//! The measurement that would decide a quantity too close to its limit.

use crate::questions::check::{CoilQuantity, Quantity, QuantityCheck, Subject};
use serde::Serialize;

/// Most repeats of a measurement that are proposed.
const MOST_REPEATS: f64 = 30.0;
/// A value counts as on the limit if it is nearer to it than this fraction of U, or of half the distance between two
/// limits.
const ON_THE_LIMIT: f64 = 0.1;

/// The measurement that would decide an undecided quantity.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Deciding {
    /// Largest standard uncertainty that would decide it, if the value stays; `None` if the value lies on its limit.
    pub standard_uncertainty: Option<f64>,
    /// Number of such measurements whose mean has that uncertainty, if their errors are independent; `None` if nobody
    /// would make so many.
    pub repeats: Option<u32>,
    /// How to measure it better.
    pub how: BetterWay,
}

/// A way to measure a quantity better.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum BetterWay {
    /// An ohmmeter with four wires, the copper as warm as the room.
    FourWires,
    /// An inductance bridge at two frequencies, away from iron and from the other coil.
    Bridge,
    /// A bridge at the two frequencies of the reading, or the quality factor at the higher.
    BridgeAtBothFrequencies,
    /// A balance of a finer step.
    Balance,
    /// A calliper at several places round the rim.
    CalliperRoundTheRim,
    /// A calliper from both flanges to a rod through the centres.
    CalliperToARod,
    /// A calibrated probe, turned over, with the current reversed.
    CalibratedProbe,
    /// A micrometer at several places of an end of the wire.
    Micrometer,
    /// A turns tester, or the voltage induced beside that of a known coil.
    TurnsTester,
    /// A thin thermocouple at the hottest place.
    Thermocouple,
    /// A voltmeter at the coils' own terminals, read together with the ammeter.
    VoltmeterAtTheCoils,
    /// An inside calliper or gauge blocks between like faces.
    GaugeBlocks,
    /// A feeler gauge under a straightedge.
    FeelerGauge,
    /// An insulation tester of a higher range.
    InsulationTester,
    /// A square and a feeler gauge across the flange.
    Square,
    /// The squareness of each coil by itself.
    SquarenessOfEach,
    /// The place of each coil by itself.
    PlaceOfEach,
}

impl Deciding {
    /// For an undecided quantity: its guard band must not be wider than its distance from the limit.
    pub(super) fn of(check: &QuantityCheck) -> Self {
        if check.lies_between() {
            return Self { standard_uncertainty: None, repeats: None, how: way_for_each(check.subject) };
        }
        let low = check.limits.low.map(|low| check.value - low);
        let beyond = check.fails_above.filter(|most| check.value >= *most);
        let high = beyond.or(check.limits.high).map(|high| high - check.value);
        let margin = [low, high].into_iter().flatten().fold(f64::INFINITY, f64::min);
        let half_apart = check.limits.low.zip(check.limits.high).map(|(low, high)| 0.5 * (high - low));
        // Between two limits that are much closer than U, a value in the middle is near both but on neither.
        let near = ON_THE_LIMIT * half_apart.map_or(check.guard_band, |half| half.min(check.guard_band));
        let coverage_factor = check.guard_band / check.standard_uncertainty;
        let decided = (margin.abs() >= near).then(|| margin.abs() / coverage_factor);
        let repeats = decided.map(|u| (check.standard_uncertainty / u).powi(2).ceil());
        Self {
            standard_uncertainty: decided,
            repeats: repeats.filter(|repeats| *repeats <= MOST_REPEATS).map(|repeats| repeats as u32),
            how: better_way(check.subject),
        }
    }
}

/// What decides where the coils are off against each other by more than one alone may be and less than both may.
const fn way_for_each(subject: Subject) -> BetterWay {
    match subject {
        Subject::RimStep => BetterWay::PlaceOfEach,
        _ => BetterWay::SquarenessOfEach,
    }
}

const fn better_way(subject: Subject) -> BetterWay {
    match subject {
        Subject::Pair(Quantity::ResistanceOhm) | Subject::Coil(_, CoilQuantity::ResistanceOhm) => {
            BetterWay::FourWires
        }
        Subject::Pair(Quantity::InductanceHenry)
        | Subject::Coil(_, CoilQuantity::InductanceHenry)
        | Subject::Both(_) => BetterWay::Bridge,
        Subject::Pair(Quantity::ConductorMassKg) | Subject::Coil(_, CoilQuantity::ConductorMassKg) => {
            BetterWay::Balance
        }
        Subject::Pair(Quantity::FieldTeslaPerAmpere) | Subject::Field { .. } => BetterWay::CalibratedProbe,
        Subject::Pair(Quantity::OverallWireDiameterM) => BetterWay::Micrometer,
        Subject::Coil(_, CoilQuantity::Turns) => BetterWay::TurnsTester,
        Subject::Surface { .. } => BetterWay::Thermocouple,
        Subject::Voltage { .. } => BetterWay::VoltmeterAtTheCoils,
        Subject::SpacingDifference { .. } => BetterWay::GaugeBlocks,
        Subject::RimStep => BetterWay::FeelerGauge,
        Subject::InductanceDrop { .. } => BetterWay::BridgeAtBothFrequencies,
        Subject::Insulation { .. } => BetterWay::InsulationTester,
        Subject::Coil(_, CoilQuantity::TiltXRad | CoilQuantity::TiltYRad) => BetterWay::Square,
        Subject::Coil(_, CoilQuantity::OffsetXM | CoilQuantity::OffsetYM) => BetterWay::CalliperToARod,
        Subject::Pair(
            Quantity::InnerDiameterM | Quantity::OuterDiameterM | Quantity::WidthM | Quantity::SpacingM,
        )
        | Subject::Section(..)
        | Subject::Coil(
            _,
            CoilQuantity::InnerDiameterM | CoilQuantity::OuterDiameterM | CoilQuantity::WidthM,
        ) => BetterWay::CalliperRoundTheRim,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::judgement::limit::{Acceptance, Limits};
    use crate::questions::check::LimitsFrom;

    fn deciding(value: f64, [low, high]: [f64; 2]) -> Deciding {
        Deciding::of(&QuantityCheck {
            name: "spacing".into(),
            subject: Subject::Pair(Quantity::SpacingM),
            value,
            standard_uncertainty: 0.1,
            expected: None,
            limits: Limits { low: Some(low), high: Some(high) },
            limits_from: LimitsFrom::Spec,
            fails_above: None,
            guard_band: 0.2,
            verdict: Acceptance::Undecided,
        })
    }

    #[test]
    fn a_value_lies_on_a_limit_only_where_it_does() {
        // 0.15 inside the limit with U = 0.2: u = 0.075 decides.
        let near = deciding(0.85, [0.0, 1.0]);
        assert!((near.standard_uncertainty.unwrap() - 0.075).abs() < 1e-12 && near.repeats == Some(2));
        assert_eq!(deciding(0.99, [0.0, 1.0]).standard_uncertainty, None);
        // In the middle of limits 0.02 apart: u = 0.005, which no number of repeats reaches.
        let between = deciding(0.5, [0.49, 0.51]);
        assert!((between.standard_uncertainty.unwrap() - 0.005).abs() < 1e-12 && between.repeats.is_none());
        assert_eq!(deciding(0.5095, [0.49, 0.51]).standard_uncertainty, None);
    }
}
