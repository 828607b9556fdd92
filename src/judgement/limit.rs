//! A value with its uncertainty compared with a limit, by a stated decision rule.
//!
//! JCGM 106:2012, 7 and 8.3 (guarded acceptance and guarded rejection), and ILAC-G8:09/2019, 4.2 (simple acceptance;
//! binary and non-binary statements with a guard band). With the guard band w = U = k u at k = 2, a value declared
//! inside lies outside with a probability of at most 2.3 % for each limit, and vice versa. The two conditional answers
//! of the non-binary rule, "conditional pass" and "conditional fail", are one here: too close to tell.

use super::normal::ln_upper_tail;
use crate::{Error, Result};
use serde::Serialize;

/// A decision rule.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Rule {
    /// A guard band of `coverage_factor` standard uncertainties on both sides of the limit.
    Guarded {
        /// k in U = k u.
        coverage_factor: f64,
    },
    /// The value alone, without regard to its uncertainty: buyer and seller share the risk, up to 50 % at the limit.
    Simple,
}

impl Default for Rule {
    /// Guarded with k = 2.
    fn default() -> Self {
        Self::Guarded { coverage_factor: 2.0 }
    }
}

/// The allowed range; `None` for an open side.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Limits {
    /// Smallest allowed.
    pub low: Option<f64>,
    /// Largest allowed.
    pub high: Option<f64>,
}

#[cfg(feature = "paper")]
impl Limits {
    /// Those that are set.
    pub(crate) fn stated(self) -> impl Iterator<Item = f64> {
        [self.low, self.high].into_iter().flatten()
    }
}

/// The verdict on a need.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Verdict {
    /// Inside the limits by at least the guard band.
    Met,
    /// Outside the limits by more than the guard band.
    Missed,
    /// The uncertainty allows neither.
    TooCloseToTell,
}

/// The verdict on a delivery or a part.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Acceptance {
    /// Every quantity is met.
    Pass,
    /// At least one is missed.
    Fail,
    /// None is missed, and at least one is too close to tell.
    Undecided,
}

/// A decision and its basis.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Decision {
    /// The verdict.
    pub verdict: Verdict,
    /// Width of the guard band, U = k u; 0 under the simple rule.
    pub guard_band: f64,
    /// Distance from the value to the nearest limit, positive inside, in the value's unit.
    pub margin: f64,
}

/// Relative difference of stored numbers that counts as none.
const ROUNDING: f64 = 1e-12;

/// Decides whether a value with this standard uncertainty lies within the limits.
///
/// On the inner edge of the guard band a value counts as met; on the outer edge it does not count as missed.
///
/// Refused: numbers that are not finite, a negative uncertainty, no limit at all, a lower limit above the upper one.
///
/// ```
/// use coilwright::judgement::limit::{Limits, Rule, Verdict, decide};
/// // A surface of at most 60 °C, found at 57.5 with u = 1.5: 60 − 2 × 1.5 = 57.
/// let limits = Limits { low: None, high: Some(60.0) };
/// assert_eq!(decide(57.5, 1.5, limits, Rule::default())?.verdict, Verdict::TooCloseToTell);
/// assert_eq!(decide(57.5, 1.5, limits, Rule::Simple)?.verdict, Verdict::Met);
/// # Ok::<(), coilwright::Error>(())
/// ```
pub fn decide(value: f64, standard_uncertainty: f64, limits: Limits, rule: Rule) -> Result<Decision> {
    let Limits { low, high } = limits;
    let finite =
        [Some(value), Some(standard_uncertainty), low, high].into_iter().flatten().all(f64::is_finite);
    if !finite || standard_uncertainty < 0.0 {
        return Err(Error::value(format!(
            "{value} with standard uncertainty {standard_uncertainty} cannot be held against {low:?} to {high:?}"
        )));
    }
    let coverage_factor = match rule {
        Rule::Guarded { coverage_factor } => coverage_factor,
        Rule::Simple => 0.0,
    };
    if !(0.0..=10.0).contains(&coverage_factor) {
        return Err(Error::value(format!("a coverage factor of {coverage_factor} makes no guard band")));
    }
    let margin = match (low, high) {
        (None, None) => return Err(Error::value("a value without a limit can be neither met nor missed")),
        (Some(low), Some(high)) if low > high => {
            return Err(Error::value(format!("the lower limit {low} lies above the upper limit {high}")));
        }
        (Some(low), Some(high)) => (value - low).min(high - value),
        (Some(low), None) => value - low,
        (None, Some(high)) => high - value,
    };
    let guard_band = coverage_factor * standard_uncertainty;
    // A reading of few digits that lies on an edge may be a last bit off it, by how the numbers are stored.
    let largest =
        [Some(value), low, high].into_iter().flatten().fold(guard_band, |most, one| most.max(one.abs()));
    let slack = ROUNDING * largest;
    let verdict = if margin >= guard_band - slack {
        Verdict::Met
    } else if margin < -guard_band - slack {
        Verdict::Missed
    } else {
        Verdict::TooCloseToTell
    };
    Ok(Decision { verdict, guard_band, margin })
}

/// Probability that the true value lies outside the limits, given the measured one: JCGM 106:2012, 7.2 to 7.4, for a
/// normal distribution and nothing known beforehand. Without uncertainty it is 0 or 1.
///
/// ```
/// use coilwright::judgement::limit::{Limits, probability_outside};
/// // Two standard uncertainties inside one limit: 2.3 %.
/// let limits = Limits { low: None, high: Some(60.0) };
/// assert!((probability_outside(57.0, 1.5, limits) - 0.02275).abs() < 1e-5);
/// ```
pub fn probability_outside(value: f64, standard_uncertainty: f64, limits: Limits) -> f64 {
    let beyond = |margin: f64| match standard_uncertainty > 0.0 {
        true => ln_upper_tail(margin / standard_uncertainty).exp(),
        false if margin < 0.0 => 1.0,
        false => 0.0,
    };
    let below = limits.low.map_or(0.0, |low| beyond(value - low));
    let above = limits.high.map_or(0.0, |high| beyond(high - value));
    (below + above).min(1.0)
}

impl Rule {
    /// Largest probability that a value whose true value lies outside is passed, or one inside failed: at the limit
    /// itself, Φ(−k) for a guard band of k standard uncertainties.
    pub fn wrong_at_most(self) -> f64 {
        match self {
            Self::Guarded { coverage_factor } => ln_upper_tail(coverage_factor).exp(),
            Self::Simple => 0.5,
        }
    }
}

impl Acceptance {
    /// The verdict on a whole from those on its quantities; `Undecided` if there are none.
    pub fn of(verdicts: impl IntoIterator<Item = Verdict>) -> Self {
        let mut any = false;
        let mut worst = Self::Pass;
        for verdict in verdicts {
            any = true;
            worst = match (worst, verdict) {
                (Self::Fail, _) | (_, Verdict::Missed) => Self::Fail,
                (Self::Undecided, _) | (_, Verdict::TooCloseToTell) => Self::Undecided,
                (Self::Pass, Verdict::Met) => Self::Pass,
            };
        }
        if any { worst } else { Self::Undecided }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::numeric::random::SampleGenerator;

    const UPPER: Limits = Limits { low: None, high: Some(10.0) };
    const BOTH: Limits = Limits { low: Some(4.0), high: Some(10.0) };

    fn verdict(value: f64, limits: Limits, rule: Rule) -> Verdict {
        decide(value, 0.5, limits, rule).unwrap().verdict
    }

    #[test]
    fn a_round_reading_on_an_edge_is_met_at_either_end() {
        // 15.0 ± 0.4 mm and 160.0 ± 0.6 mm, with limits as a program computes them and readings as a person writes them.
        for (middle, half, readings) in [
            (15.0, 0.4, [14.6, 15.4]),
            (160.0, 0.6, [159.4, 160.6]),
            (310.0, 1.2, [308.8, 311.2]),
            (0.9, 0.05, [0.85, 0.95]),
        ] {
            let limits =
                Limits { low: Some(1e-3 * middle - 1e-3 * half), high: Some(1e-3 * middle + 1e-3 * half) };
            for reading in readings {
                let verdict = decide(reading * 1e-3, 0.0, limits, Rule::Simple).unwrap().verdict;
                assert_eq!(verdict, Verdict::Met, "{reading}");
                // With U a quarter of the half-width, the inner edge.
                let u = 0.125e-3 * half;
                let inner = middle + (reading - middle) * 0.75;
                let verdict = decide(inner * 1e-3, u, limits, Rule::default()).unwrap().verdict;
                assert_eq!(verdict, Verdict::Met, "{inner}");
                let outside = middle + (reading - middle) * 1.001;
                let verdict = decide(outside * 1e-3, 0.0, limits, Rule::Simple).unwrap().verdict;
                assert_eq!(verdict, Verdict::Missed, "{outside}");
            }
        }
    }

    #[test]
    fn the_guard_band_lies_on_both_sides_of_each_limit() {
        use Verdict::{Met, Missed, TooCloseToTell};
        let guarded = Rule::default();
        for (value, limits, wanted) in [
            (9.0, UPPER, Met),
            (9.01, UPPER, TooCloseToTell),
            (11.0, UPPER, TooCloseToTell),
            (11.01, UPPER, Missed),
            (-1e9, UPPER, Met),
            (5.0, BOTH, Met),
            (4.9, BOTH, TooCloseToTell),
            (2.9, BOTH, Missed),
        ] {
            assert_eq!(verdict(value, limits, guarded), wanted, "{value}");
        }
        assert_eq!(verdict(10.0, UPPER, Rule::Simple), Met);
        assert_eq!(verdict(10.01, UPPER, Rule::Simple), Missed);
        // Limits closer together than two guard bands can be missed but never met.
        let narrow = Limits { low: Some(9.5), high: Some(10.5) };
        assert_eq!(verdict(10.0, narrow, guarded), TooCloseToTell);
    }

    #[test]
    fn verdicts_are_wrong_in_at_most_one_in_forty_and_clear_cases_are_decided() {
        // JCGM 106:2012, 8.3.2: k = 2 leaves at most 2.3 %. 40 000 values at each place: 0.08 % standard error.
        const DRAWINGS: u64 = 40_000;
        let rates = |truth: f64| {
            let mut counts = [0.0; 3];
            for drawing in 0..DRAWINGS {
                let value = truth + SampleGenerator::new(3, drawing).normal(0.5);
                counts[match verdict(value, UPPER, Rule::default()) {
                    Verdict::Met => 0,
                    Verdict::Missed => 1,
                    Verdict::TooCloseToTell => 2,
                }] += 1.0 / DRAWINGS as f64;
            }
            counts
        };
        // Just beyond and just within the limit: the worst places.
        assert!(rates(10.0 + 1e-9)[0] <= 0.025 && rates(10.0 - 1e-9)[1] <= 0.025);
        // Inside and outside by two U.
        assert!(rates(8.0)[0] >= 0.95 && rates(12.0)[1] >= 0.95);
    }

    #[test]
    fn the_probability_outside_is_what_drawings_count() {
        const DRAWINGS: u64 = 40_000;
        for (value, limits) in [(9.5, UPPER), (10.4, UPPER), (9.6, BOTH), (4.1, BOTH)] {
            let outside = (0..DRAWINGS).filter(|drawing| {
                let truth = value + SampleGenerator::new(9, *drawing).normal(0.5);
                limits.low.is_some_and(|low| truth < low) || limits.high.is_some_and(|high| truth > high)
            });
            let counted = outside.count() as f64 / DRAWINGS as f64;
            let stated = probability_outside(value, 0.5, limits);
            // Three standard errors of the count.
            assert!((counted - stated).abs() < 3.0 * (0.25 / DRAWINGS as f64).sqrt(), "{counted} {stated}");
        }
        assert_eq!(probability_outside(10.0, 0.0, UPPER), 0.0);
        assert_eq!(probability_outside(10.1, 0.0, UPPER), 1.0);
        assert!((Rule::default().wrong_at_most() - 0.022_750_131_948).abs() < 1e-9);
    }

    #[test]
    fn a_whole_passes_only_with_all_its_parts() {
        use Verdict::{Met, Missed, TooCloseToTell};
        assert_eq!(Acceptance::of([Met, Met]), Acceptance::Pass);
        assert_eq!(Acceptance::of([Met, TooCloseToTell]), Acceptance::Undecided);
        assert_eq!(Acceptance::of([Missed, TooCloseToTell, Met]), Acceptance::Fail);
        assert_eq!(Acceptance::of([]), Acceptance::Undecided);
    }

    #[test]
    fn what_cannot_be_compared_is_refused() {
        let rule = Rule::default();
        assert!(decide(f64::NAN, 1.0, UPPER, rule).is_err());
        assert!(decide(1.0, f64::INFINITY, UPPER, rule).is_err());
        assert!(decide(1.0, -1.0, UPPER, rule).is_err());
        assert!(decide(1.0, 1.0, Limits { low: None, high: None }, rule).is_err());
        assert!(decide(1.0, 1.0, Limits { low: Some(2.0), high: Some(1.0) }, rule).is_err());
        assert!(decide(1.0, 1.0, UPPER, Rule::Guarded { coverage_factor: f64::NAN }).is_err());
    }
}
