//! Plans the readings for a wanted uncertainty of the slope.
//!
//! A round is three currents in each direction, a third, two thirds and all of the largest, with the probe one way
//! round and then the other: twelve readings. The ends of the range fix the slope, and the middle shows a bend.
//! Reversing the current separates the coils from room and meter zero; turning the probe separates those two from each
//! other. More rounds reduce the scatter. The errors of the meters are the same in all readings and set the floor.

use super::ammeter::Ammeter;
use crate::Result;
use crate::error::Refused;
use crate::numeric::calendar::Day;
use crate::pair::{AmmeterPosition, Bench, Distribution, Provenance, circuit, missing};
use crate::physics::budget_source::BudgetSource;
use crate::physics::heat::range::reliable_continuous_current_ampere;
use crate::physics::slope::Slope;
use serde::Serialize;

/// Fractions of the largest current in a round, used in each direction.
const LEVELS: [f64; 3] = [1.0 / 3.0, 2.0 / 3.0, 1.0];
/// Readings in a round: each level, each way, with the probe each way round.
const READINGS_PER_ROUND: usize = 4 * LEVELS.len();
/// Most rounds planned (common practice, no source).
const MOST_ROUNDS: usize = 25;
/// Rounds planned if the wish cannot be met: enough to make the scatter small compared with the meters' errors.
const FALLBACK_ROUNDS: usize = 3;

/// The wish.
#[derive(Clone, Debug, PartialEq)]
pub struct PlanRequest {
    /// Expanded uncertainty of the slope, as a part of the slope.
    pub wanted_fraction: f64,
    /// Standard deviation of one field reading; by default the field meter's zero limit over √3.
    pub reading_scatter_tesla: Option<f64>,
    /// The date to print, if any.
    pub date: Option<Day>,
}

/// The readings to take.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Plan {
    /// Wanted expanded uncertainty of the slope, as a fraction of it.
    pub wanted_fraction: f64,
    /// Whether these readings and meters reach that.
    pub reachable: bool,
    /// The expanded uncertainty that they reach.
    pub expected_fraction: f64,
    /// Expanded uncertainty of the computed slope over the slope, if `build_tolerance` gives one.
    pub computed_fraction: Option<f64>,
    /// Whether the computed line meets the wish without any reading.
    pub computed_meets_the_wish: bool,
    /// Uncertainty from the meters' shared errors alone, which more readings do not reduce.
    pub floor_fraction: f64,
    /// The largest contribution to that floor.
    pub floor_set_by: Option<BudgetSource>,
    /// The standard deviation of one field reading that was assumed.
    pub reading_scatter_tesla: f64,
    /// Whether that is a guess from the field meter's zero.
    pub scatter_guessed: bool,
    /// The largest current to use: the coils carry it for any time.
    pub largest_current_ampere: f64,
    /// Number of rounds.
    pub rounds: usize,
    /// Number of reversals of the current.
    pub reversals: usize,
    /// Number of turns of the probe.
    pub probe_turns: usize,
    /// The readings in their order.
    pub readings: Vec<PlannedReading>,
}

/// A plan with program and spec.
#[derive(Clone, Debug, Serialize)]
#[non_exhaustive]
pub struct PlanRecord {
    /// Program and spec.
    pub provenance: Provenance,
    /// The plan.
    #[serde(flatten)]
    pub plan: Plan,
}

/// One reading to take.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct PlannedReading {
    /// The round as a letter, and the number of the reading in it: `A01`. A spreadsheet leaves such a label unchanged,
    /// but turns `1.10` into `1.1`.
    pub label: String,
    /// The current to set.
    pub current_ampere: f64,
    /// Whether the probe is turned round.
    pub probe_flipped: bool,
}

/// Plans readings for a bench with this computed slope.
///
/// `computed` is the computed slope with its uncertainty, if `build_tolerance` gives one.
pub fn plan(
    bench: &Bench,
    slope_tesla_per_ampere: f64,
    computed: Option<&Slope>,
    request: &PlanRequest,
) -> Result<Plan> {
    if !(1e-5..=0.5).contains(&request.wanted_fraction) {
        return Err(Refused::WantedUncertainty { fraction: request.wanted_fraction }.into());
    }
    let scatter = scatter(bench, request)?;
    let limit = circuit::largest_current_ampere(bench);
    let continuous = reliable_continuous_current_ampere(bench).unwrap_or(f64::INFINITY);
    let limit_ampere = match limit {
        // Without a known limit of the supply, the continuous current is the limit.
        Err(_) if continuous.is_finite() => continuous,
        limit => limit?,
    };
    let resolution = bench.ammeter.and_then(|meter| meter.resolution).unwrap_or(0.01);
    // Rounded down to a current that the ammeter shows exactly.
    let largest = (limit_ampere.min(continuous) / resolution * (1.0 + 1e-9)).floor() * resolution;
    if largest < resolution {
        return Err(Refused::CurrentBelowAmmeterStep {
            largest_ampere: limit_ampere.min(continuous),
            step_ampere: resolution,
        }
        .into());
    }
    let slope = slope_tesla_per_ampere.abs();
    let (floor, floor_set_by) = shared_fraction(bench, largest);
    // Σ x² of a round about its mean, which is zero; each level occurs four times.
    let squares: f64 = LEVELS.iter().map(|level| 4.0 * (level * largest).powi(2)).sum();
    let expanded = |rounds: usize| {
        let fit = scatter / (rounds as f64 * squares).sqrt() / slope;
        2.0 * fit.hypot(floor)
    };
    let enough = (1..=MOST_ROUNDS).find(|rounds| expanded(*rounds) <= request.wanted_fraction);
    let rounds =
        enough.unwrap_or(if 2.0 * floor < request.wanted_fraction { MOST_ROUNDS } else { FALLBACK_ROUNDS });
    Ok(Plan {
        wanted_fraction: request.wanted_fraction,
        reachable: enough.is_some(),
        expected_fraction: expanded(rounds),
        computed_fraction: computed.and_then(Slope::relative_expanded_uncertainty),
        computed_meets_the_wish: computed
            .and_then(Slope::relative_expanded_uncertainty)
            .is_some_and(|computed| computed <= request.wanted_fraction),
        floor_fraction: 2.0 * floor,
        floor_set_by,
        reading_scatter_tesla: scatter,
        scatter_guessed: request.reading_scatter_tesla.is_none(),
        largest_current_ampere: largest,
        rounds,
        // With the probe one way round, the current goes up in one direction and down in the other: one reversal. The
        // next side starts in the direction in which the last ended.
        reversals: 2 * rounds,
        probe_turns: rounds,
        readings: readings(rounds, largest, resolution),
    })
}

fn scatter(bench: &Bench, request: &PlanRequest) -> Result<f64> {
    if let Some(scatter) = request.reading_scatter_tesla {
        return if scatter > 0.0 && scatter.is_finite() {
            Ok(scatter)
        } else {
            Err(Refused::ReadingScatter { tesla: scatter }.into())
        };
    }
    const WHY: &str = "the scatter of one field reading is guessed from its zero unless it is stated";
    let meter = bench.field_meter.ok_or_else(|| missing("field_meter", WHY))?;
    let zero = meter.zero_tesla.filter(|zero| *zero > 0.0).ok_or_else(|| missing("field_meter.zero", WHY))?;
    Ok(Distribution::Rectangular.standard_uncertainty(zero))
}

/// Relative standard uncertainty of the slope from errors that all readings share, and its largest contribution.
fn shared_fraction(bench: &Bench, largest_ampere: f64) -> (f64, Option<BudgetSource>) {
    let rectangular = |limit| Distribution::Rectangular.standard_uncertainty(limit);
    let mut pieces = Vec::new();
    if let Some(ammeter) = Ammeter::of(bench) {
        pieces.push((BudgetSource::AmmeterGain, ammeter.gain_standard_uncertainty));
        // Least squares give Σ|x|/Σx² of the levels, the same in both directions. After the reversal the two directions
        // cancel.
        let influence = match ammeter.position() {
            Some(AmmeterPosition::AfterReversal) => 0.0,
            _ => LEVELS.iter().sum::<f64>() / LEVELS.iter().map(|level| level * level).sum::<f64>(),
        };
        let of_digits = ammeter.zero_standard_uncertainty_ampere * influence / largest_ampere;
        pieces.push((BudgetSource::AmmeterDigits, of_digits));
    }
    if let Some(limit) = bench.field_meter.and_then(|meter| meter.accuracy_of_reading) {
        pieces.push((BudgetSource::ProbeGain, rectangular(limit)));
    }
    let total = pieces.iter().map(|(_, piece)| piece * piece).sum::<f64>().sqrt();
    let largest = pieces.iter().filter(|(_, piece)| *piece > 0.0).max_by(|a, b| a.1.total_cmp(&b.1));
    (total, largest.map(|(source, _)| source.clone()))
}

fn readings(rounds: usize, largest_ampere: f64, resolution_ampere: f64) -> Vec<PlannedReading> {
    let shown = |ampere: f64| (ampere / resolution_ampere).round() * resolution_ampere;
    let mut readings = Vec::with_capacity(rounds * READINGS_PER_ROUND);
    for round in 1..=rounds {
        // Odd rounds end with the probe turned and even ones start so: one turn a round.
        let sides = if round % 2 == 1 { [false, true] } else { [true, false] };
        let mut number = 0;
        for probe_flipped in sides {
            for sign in [1.0, -1.0] {
                for level in LEVELS {
                    number += 1;
                    readings.push(PlannedReading {
                        label: label(round, number),
                        current_ampere: sign * shown(level * largest_ampere),
                        probe_flipped,
                    });
                }
            }
        }
    }
    readings
}

/// The label of a reading: rounds and numbers count from 1.
fn label(round: usize, number: usize) -> String {
    // There are no more rounds than letters.
    let letter = char::from(b'A' + ((round - 1) % 26) as u8);
    format!("{letter}{number:02}")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pair::{FieldMeter, Meter};
    use crate::questions::calibrate::tests::bench;
    use approx::assert_relative_eq;

    fn good_meters() -> Bench {
        let mut bench = bench();
        bench.ammeter =
            Some(Meter { resolution: Some(0.001), accuracy_of_reading: Some(1e-4), accuracy_digits: 0.0 });
        bench.field_meter = Some(FieldMeter { accuracy_of_reading: Some(1e-4), zero_tesla: Some(5e-6) });
        bench
    }

    fn request(wanted_fraction: f64) -> PlanRequest {
        PlanRequest { wanted_fraction, reading_scatter_tesla: Some(3e-6), date: None }
    }

    #[test]
    fn more_rounds_are_planned_for_a_smaller_wish_until_the_meters_forbid_it() {
        let bench = good_meters();
        let easy = plan(&bench, 0.8e-3, None, &request(0.01)).unwrap();
        assert!(easy.reachable && easy.rounds == 1 && easy.readings.len() == READINGS_PER_ROUND);
        let harder = plan(&bench, 0.8e-3, None, &request(0.5 * easy.expected_fraction)).unwrap();
        assert!(harder.reachable && harder.rounds > 1);
        assert!(harder.expected_fraction <= 0.5 * easy.expected_fraction);
        // By hand: Σx² of a round is 4 (1/9 + 4/9 + 1) of the largest current squared.
        let squares = 56.0 / 9.0 * easy.largest_current_ampere.powi(2);
        let one = 2.0 * (3e-6 / squares.sqrt() / 0.8e-3_f64).hypot(easy.floor_fraction / 2.0);
        assert_relative_eq!(easy.expected_fraction, one, max_relative = 1e-9);
        let impossible = plan(&bench, 0.8e-3, None, &request(0.5 * easy.floor_fraction)).unwrap();
        assert!(!impossible.reachable && impossible.rounds == FALLBACK_ROUNDS);
        assert!(impossible.floor_set_by.is_some());
    }

    #[test]
    fn labels_are_no_numbers_and_sort_in_the_order_of_the_readings() {
        let labels: Vec<String> =
            readings(MOST_ROUNDS, 2.0, 0.01).into_iter().map(|reading| reading.label).collect();
        assert_eq!((labels[0].as_str(), labels[9].as_str(), labels[12].as_str()), ("A01", "A10", "B01"));
        assert!(labels.windows(2).all(|pair| pair[0] < pair[1]), "{labels:?}");
    }

    #[test]
    fn every_current_is_met_both_ways_and_with_the_probe_both_ways_round() {
        let plan = plan(&good_meters(), 0.8e-3, None, &request(0.01)).unwrap();
        let sum = |flipped: bool| -> f64 {
            plan.readings.iter().filter(|r| r.probe_flipped == flipped).map(|r| r.current_ampere).sum()
        };
        assert!(sum(false).abs() < 1e-12 && sum(true).abs() < 1e-12);
        assert_eq!(plan.readings.iter().filter(|r| r.probe_flipped).count() * 2, plan.readings.len());
        for reading in &plan.readings {
            let steps = reading.current_ampere / 0.001;
            assert!(
                (steps - steps.round()).abs() < 1e-9,
                "the ammeter cannot show {}",
                reading.current_ampere
            );
        }
    }

    #[test]
    fn a_wish_that_makes_no_sense_and_a_scatter_unknown_are_refused() {
        for wanted in [0.0, -0.01, 0.9, f64::NAN] {
            assert!(plan(&good_meters(), 0.8e-3, None, &request(wanted)).is_err());
        }
        let mut unknown = good_meters();
        unknown.field_meter = None;
        let request = PlanRequest { wanted_fraction: 0.01, reading_scatter_tesla: None, date: None };
        assert!(plan(&unknown, 0.8e-3, None, &request).unwrap_err().to_string().contains("`field_meter`"));
    }
}
