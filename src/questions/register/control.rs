//! A control chart of single values: centre line, warning and action limits.
//!
//! From eight values on, the moving ranges R_i = |x_i − x_(i−1)| of the series give the spread (ISO 7870-2:2023, 6.5, chart of
//! individuals and moving ranges; spans of two):
//!
//! ```text
//! σ = R̄ / d2,   d2 = 2/√π,   action limits x̄ ± 3 σ = x̄ ± 2.660 R̄,   warning limits x̄ ± 2 σ
//! R above D4 R̄ = 3.267 R̄ stands out, D4 = 1 + 3 d3/d2, d3 = √(2 − 4/π)
//! ```
//!
//! d2 and d3 are mean and standard deviation of |x − y| for two independent standard normal values; x − y has variance
//! 2.
//!
//! With fewer values the limits are provisional, and σ comes from the part of the uncertainty that the values do not
//! share. A value may have an uncertainty of its own far larger than the others, from few readings over a short range.
//! Such a value does not enter σ and the moving ranges, has less weight in the centre line, and gets limits as wide as
//! its own uncertainty.
//!
//! If a meter was calibrated or replaced, the values before and after have separate centre lines. Seven values in a row
//! on one side of the centre line, or seven that rise or fall, also indicate a change.

use serde::Serialize;
use std::f64::consts::PI;

/// From this number of values on the moving ranges give the limits.
pub const ENOUGH: usize = 8;
/// Number of values in a row on one side of the centre line, or all rising or falling, that indicates a change. By
/// chance seven given values lie on one side with probability 2/2⁷ = 1.6 %, and rise or fall with probability 2/7! =
/// 0.04 %. Rules in use ask for six to nine (common practice, no source).
const RUN: usize = 7;

/// Where the spread of a chart comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum SpreadFrom {
    /// Moving ranges of the series itself.
    MovingRanges,
    /// The part of the uncertainty that its values do not share: provisional.
    UnsharedUncertainty,
}

/// Centre line and limits.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct ControlLimits {
    /// Where the spread comes from.
    pub spread_from: SpreadFrom,
    /// Whether the limits are provisional.
    pub provisional: bool,
    /// x̄.
    pub centre_tesla_per_ampere: f64,
    /// σ.
    pub standard_deviation_tesla_per_ampere: f64,
    /// x̄ ± 2 σ.
    pub warning_tesla_per_ampere: [f64; 2],
    /// x̄ ± 3 σ.
    pub action_tesla_per_ampere: [f64; 2],
    /// R̄, if the limits come from moving ranges.
    pub mean_moving_range_tesla_per_ampere: Option<f64>,
    /// Largest moving range that does not indicate a change.
    pub moving_range_limit_tesla_per_ampere: Option<f64>,
}

/// A sign that something has changed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case", tag = "sign", content = "at")]
pub enum Sign {
    /// A value beyond an action limit: its place in the series.
    BeyondAction(usize),
    /// A value beyond a warning limit.
    BeyondWarning(usize),
    /// A moving range beyond its limit: place of the later value.
    MovingRange(usize),
    /// Seven on one side of the centre line: place of the last.
    OneSide(usize),
    /// Seven rising or falling: place of the last.
    Trend(usize),
}

impl Sign {
    /// The sign with its place translated to another list.
    pub(super) fn moved(self, place: impl Fn(usize) -> usize) -> Self {
        match self {
            Self::BeyondAction(at) => Self::BeyondAction(place(at)),
            Self::BeyondWarning(at) => Self::BeyondWarning(place(at)),
            Self::MovingRange(at) => Self::MovingRange(place(at)),
            Self::OneSide(at) => Self::OneSide(place(at)),
            Self::Trend(at) => Self::Trend(place(at)),
        }
    }
}

fn d2() -> f64 {
    2.0 / PI.sqrt()
}

fn range_limit_over_mean() -> f64 {
    1.0 + 3.0 * (2.0 - 4.0 / PI).sqrt() / d2()
}

/// Centre line of some values. A value has less weight the more its uncertainty exceeds the usual one.
pub fn centre(values: &[f64], unshared: &[f64], usual: f64) -> f64 {
    let weight = |u: &f64| widened(*u, usual).powi(-2);
    let all: f64 = unshared.iter().map(weight).sum();
    let sum: f64 = values.iter().zip(unshared).map(|(value, u)| weight(u) * value).sum();
    if all > 0.0 { sum / all } else { values.iter().sum::<f64>() / values.len() as f64 }
}

/// Limits of a series. `unshared` are the parts of the standard uncertainties that its values do not share; an infinite one
/// leaves its value out. `None` if σ is zero or not finite.
pub fn limits(values: &[f64], unshared: &[f64]) -> Option<ControlLimits> {
    let usual = usual(unshared)?;
    let ranges: Vec<f64> =
        (1..values.len()).filter_map(|place| range(values, unshared, usual, place)).collect();
    let mean_range = (ranges.len() + 1 >= ENOUGH).then(|| ranges.iter().sum::<f64>() / ranges.len() as f64);
    let sigma = mean_range.map_or(usual, |range| range / d2());
    let centre = centre(values, unshared, usual);
    let about = |times: f64| [centre - times * sigma, centre + times * sigma];
    (sigma > 0.0 && sigma.is_finite()).then(|| ControlLimits {
        spread_from: match mean_range {
            Some(_) => SpreadFrom::MovingRanges,
            None => SpreadFrom::UnsharedUncertainty,
        },
        provisional: mean_range.is_none(),
        centre_tesla_per_ampere: centre,
        standard_deviation_tesla_per_ampere: sigma,
        warning_tesla_per_ampere: about(2.0),
        action_tesla_per_ampere: about(3.0),
        mean_moving_range_tesla_per_ampere: mean_range,
        moving_range_limit_tesla_per_ampere: mean_range.map(|range| range_limit_over_mean() * range),
    })
}

/// The moving range that ends at a value; `None` if either value's uncertainty is far larger than usual.
fn range(values: &[f64], unshared: &[f64], usual: f64, place: usize) -> Option<f64> {
    let before = place.checked_sub(1)?;
    let is_usual = |place: usize| widened(unshared[place], usual) == 1.0;
    (is_usual(before) && is_usual(place)).then(|| (values[place] - values[before]).abs())
}

/// An uncertainty is far larger than the others if it exceeds their median by this factor (common practice, no source).
const FAR_LARGER: f64 = 3.0;

/// Root mean square of the uncertainties that are not far larger than the others. `None` without any.
pub fn usual(uncertainties: &[f64]) -> Option<f64> {
    let mut sorted: Vec<f64> = uncertainties.iter().copied().filter(|u| u.is_finite()).collect();
    sorted.sort_by(f64::total_cmp);
    let median = 0.5 * (sorted.get(sorted.len().checked_sub(1)? / 2)? + sorted[sorted.len() / 2]);
    let usual: Vec<f64> = sorted.into_iter().filter(|u| *u <= FAR_LARGER * median).collect();
    Some((usual.iter().map(|u| u * u).sum::<f64>() / usual.len() as f64).sqrt())
}

/// Ratio of an uncertainty to the usual one if it is far larger, else 1; 1 also if there is no usual one.
fn widened(uncertainty: f64, usual: f64) -> f64 {
    let times = uncertainty / usual;
    if uncertainty == f64::INFINITY || (usual > 0.0 && times > 2.0) { times } else { 1.0 }
}

/// The signs in a series, by their place in it. `unshared` are the parts of the standard uncertainties that its values do not
/// share.
pub fn signs(values: &[f64], unshared: &[f64], limits: &ControlLimits) -> Vec<Sign> {
    let usual = usual(unshared).unwrap_or(0.0);
    let mut signs = Vec::new();
    for (place, value) in values.iter().enumerate() {
        let sigma = limits.standard_deviation_tesla_per_ampere;
        let times = widened(unshared[place], usual);
        let off = (value - limits.centre_tesla_per_ampere).abs()
            / if times > 1.0 { sigma.max(times * usual) } else { sigma };
        if off > 3.0 {
            signs.push(Sign::BeyondAction(place));
        } else if off > 2.0 {
            signs.push(Sign::BeyondWarning(place));
        }
        let range = range(values, unshared, usual, place);
        if range.zip(limits.moving_range_limit_tesla_per_ampere).is_some_and(|(range, most)| range > most) {
            signs.push(Sign::MovingRange(place));
        }
        if let Some(run) = (place + 1).checked_sub(RUN).map(|start| &values[start..=place]) {
            let centre = limits.centre_tesla_per_ampere;
            if run.iter().all(|value| *value > centre) || run.iter().all(|value| *value < centre) {
                signs.push(Sign::OneSide(place));
            }
            let steps = |up: bool| run.windows(2).all(|pair| (pair[1] > pair[0]) == up && pair[1] != pair[0]);
            if steps(true) || steps(false) {
                signs.push(Sign::Trend(place));
            }
        }
    }
    signs
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn the_factors_are_those_of_the_tables() {
        // NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2: d2 = 1.128; its limits, next test, hold 3/d2 = 2.660 and
        // D4 = 3.267 for spans of two. All are rounded.
        assert_relative_eq!(d2(), 1.128, max_relative = 5e-4);
        assert_relative_eq!(3.0 / d2(), 2.660, max_relative = 6e-4);
        assert_relative_eq!(range_limit_over_mean(), 3.267, max_relative = 2e-4);
    }

    #[test]
    fn the_published_chart_of_ten_batches_comes_out() {
        // NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2, flow rate of ten batches, as quoted by test suites of
        // public chart libraries: mean 50.81, mean moving range 1.8778, limits 45.8159 and 55.8041, limit of the ranges
        // 6.1349. Printed with the rounded d2 = 1.128 and D4 = 3.267, which moves the limits by 2.5e-4 of their distance.
        let batches = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1];
        let found = limits(&batches, &[1.0; 10]).unwrap();
        let [low, high] = found.action_tesla_per_ampere;
        assert_relative_eq!(found.centre_tesla_per_ampere, 50.81, max_relative = 1e-12);
        assert_relative_eq!(found.mean_moving_range_tesla_per_ampere.unwrap(), 1.8778, max_relative = 2e-5);
        let rounded = d2() / 1.128;
        assert_relative_eq!(50.81 - rounded * (50.81 - low), 45.8159, max_relative = 2e-6);
        assert_relative_eq!(50.81 + rounded * (high - 50.81), 55.8041, max_relative = 2e-6);
        assert_relative_eq!(found.moving_range_limit_tesla_per_ampere.unwrap(), 6.1349, max_relative = 2e-4);
        assert!(!found.provisional);
        assert_eq!(signs(&batches, &batches.map(|_| 0.1), &found), []);
    }

    #[test]
    fn eight_values_bring_their_own_spread() {
        // By hand: ranges 1, 1, 1, 1, 1, 1, 1 with the values 0 and 1 in turn: mean 0.5, R̄ = 1, σ = √π/2 = 0.8862.
        let values = [0.0, 1.0, 0.0, 1.0, 0.0, 1.0, 0.0, 1.0];
        let found = limits(&values, &[0.1; 8]).unwrap();
        assert!(!found.provisional);
        assert_relative_eq!(found.centre_tesla_per_ampere, 0.5);
        assert_relative_eq!(found.action_tesla_per_ampere[1], 0.5 + 3.0 * 0.886_227, max_relative = 1e-5);
        assert_relative_eq!(found.warning_tesla_per_ampere[0], 0.5 - 2.0 * 0.886_227, max_relative = 1e-5);
        assert_eq!(signs(&values, &values.map(|_| 0.1), &found), []);
        let few = limits(&values[..7], &[0.1; 7]).unwrap();
        assert!(few.provisional);
        assert_relative_eq!(few.standard_deviation_tesla_per_ampere, 0.1, max_relative = 1e-12);
        assert_eq!(limits(&[1.0, 2.0], &[0.0, 0.0]), None);
    }

    #[test]
    fn a_calibration_of_few_readings_neither_widens_the_limits_of_the_others_nor_is_accused() {
        let unshared = [0.5, 0.7, 0.6, 0.5, 6.0];
        let found = limits(&[0.1, -0.2, 0.0, 0.1, 9.0], &unshared).unwrap();
        assert!(found.standard_deviation_tesla_per_ampere < 0.6 && found.centre_tesla_per_ampere.abs() < 0.1);
        assert_eq!(signs(&[0.1, -0.2, 0.0, 0.1, 9.0], &unshared, &found), []);
        // One of the ordinary values at the same place does stand out.
        let off = [0.1, -0.2, 0.0, 9.0, 0.1];
        let found = limits(&off, &unshared).unwrap();
        assert!(signs(&off, &unshared, &found).contains(&Sign::BeyondAction(3)));
        // Seven equal ones scatter as their uncertainty says: about 2 of 100 lie beyond 2 σ, with the centre estimated
        // from them.
        let beyond: usize = (0..2000)
            .map(|case| {
                let mut random = crate::numeric::random::SampleGenerator::new(12, case);
                let unshared = [1.0, 1.0, 1.0, 8.0, 1.0, 1.0, 1.0];
                let values = unshared.map(|u| random.normal(u));
                signs(&values, &unshared, &limits(&values, &unshared).unwrap())
                    .iter()
                    .filter(|sign| matches!(sign, Sign::BeyondAction(_) | Sign::BeyondWarning(_)))
                    .count()
            })
            .sum();
        assert!(beyond as f64 / 14_000.0 < 0.05, "{beyond} of 14000");
    }

    #[test]
    fn every_sign_has_its_case() {
        let steady = ControlLimits {
            spread_from: SpreadFrom::MovingRanges,
            provisional: false,
            centre_tesla_per_ampere: 0.0,
            standard_deviation_tesla_per_ampere: 1.0,
            warning_tesla_per_ampere: [-2.0, 2.0],
            action_tesla_per_ampere: [-3.0, 3.0],
            mean_moving_range_tesla_per_ampere: Some(d2()),
            moving_range_limit_tesla_per_ampere: Some(range_limit_over_mean() * d2()),
        };
        let told = |values: &[f64], limits: &ControlLimits| signs(values, &vec![1.0; values.len()], limits);
        assert_eq!(told(&[0.0, 3.1, 0.0], &steady), [Sign::BeyondAction(1)]);
        assert_eq!(told(&[0.0, -2.5, 0.0], &steady), [Sign::BeyondWarning(1)]);
        assert_eq!(told(&[1.9, -1.9], &steady), [Sign::MovingRange(1)]);
        assert_eq!(told(&[0.5, 0.4, 0.5, 0.4, 0.5, 0.4, 0.5], &steady), [Sign::OneSide(6)]);
        assert_eq!(told(&[-0.3, -0.2, -0.1, 0.0, 0.1, 0.2, 0.3], &steady), [Sign::Trend(6)]);
        assert_eq!(told(&[0.5, 0.4, 0.5, -0.4, 0.5, 0.4, 0.5], &steady), []);
    }
}
