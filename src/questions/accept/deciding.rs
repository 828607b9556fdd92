//! The measurement that would decide a quantity too close to its limit.

use crate::questions::check::{CoilQuantity, Quantity, QuantityCheck, Subject};
use serde::Serialize;

/// Nobody repeats a measurement more often than this.
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
    pub how: &'static str,
}

impl Deciding {
    /// For an undecided quantity: its guard band must not be wider than its distance from the limit.
    pub(super) fn of(check: &QuantityCheck) -> Self {
        let low = check.limits.low.map(|low| check.value - low);
        let high = check.limits.high.map(|high| high - check.value);
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
            how: how(check.subject),
        }
    }
}

/// How to measure better (common practice, no source).
const fn how(subject: Subject) -> &'static str {
    const RESISTANCE: &str = "four-wire ohmmeter, after a night in the room: 1 K off is 0.4 % off";
    const INDUCTANCE: &str = "bridge at 100 Hz and at 1 kHz, iron and the other coil far off";
    const MASS: &str = "balance of a finer step, the former weighed by itself";
    const LENGTH: &str = "calliper at eight places round the rim, read by two people";
    match subject {
        Subject::Pair(Quantity::ResistanceOhm) | Subject::Coil(_, CoilQuantity::ResistanceOhm) => RESISTANCE,
        Subject::Pair(Quantity::InductanceHenry)
        | Subject::Coil(_, CoilQuantity::InductanceHenry)
        | Subject::Both(_) => INDUCTANCE,
        Subject::Pair(Quantity::ConductorMassKg) | Subject::Coil(_, CoilQuantity::ConductorMassKg) => MASS,
        Subject::Pair(Quantity::FieldTeslaPerAmpere) | Subject::Field { .. } => {
            "a probe with its own calibration certificate, turned over and with the current reversed, beside a better ammeter"
        }
        Subject::Pair(Quantity::OverallWireDiameterM) => {
            "micrometer at ten places of an end, without pressing the enamel"
        }
        Subject::Coil(_, CoilQuantity::Turns) => {
            "turns tester, or the voltage induced beside that of a coil of known turns"
        }
        Subject::Surface { .. } => {
            "a thin thermocouple with paste at the hottest place, the room's air measured beside it"
        }
        Subject::Voltage { .. } => {
            "voltmeter at the coils' own terminals and a better ammeter, both read at the same moment"
        }
        Subject::SpacingDifference { .. } => {
            "inside calliper or gauge blocks between like faces, at four places marked on the rim"
        }
        Subject::RimStep => "feeler gauge under a true straightedge, at four places of the rim",
        Subject::InductanceDrop { .. } => {
            "bridge at both frequencies, or Q at the higher, metal and the other coil far off"
        }
        Subject::Insulation { .. } => {
            "insulation tester of a higher range, the coil clean and dry, after one minute"
        }
        Subject::Coil(_, CoilQuantity::TiltXRad | CoilQuantity::TiltYRad) => {
            "square and feeler gauge across the flange: 1 mm over 300 mm is 0.2°"
        }
        Subject::Coil(_, CoilQuantity::OffsetXM | CoilQuantity::OffsetYM) => {
            "calliper from both flanges to a rod through the centres, the pair turned by 180° between"
        }
        Subject::Pair(
            Quantity::InnerDiameterM | Quantity::OuterDiameterM | Quantity::WidthM | Quantity::SpacingM,
        )
        | Subject::Section(..)
        | Subject::Coil(
            _,
            CoilQuantity::InnerDiameterM | CoilQuantity::OuterDiameterM | CoilQuantity::WidthM,
        ) => LENGTH,
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
