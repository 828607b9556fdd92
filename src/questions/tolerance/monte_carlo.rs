//! Many pairs built at random within their tolerances.

use super::wish::Wish;
use super::worst_deviation::{BeamRegion, Built, WorstDeviations};
use crate::Result;
use crate::numeric::random::SampleGenerator;
use crate::pair::Bench;
use crate::physics::build_error::BuiltPair;
use crate::physics::build_error::drawn::Builder;
use crate::physics::field::TOGETHER;
use rayon::prelude::*;
use serde::Serialize;

/// The seed of every run, so that the same spec gives the same builds.
const SEED: u64 = 20_260_301;
/// Pairs that one thread builds at a time.
const CHUNK: usize = 16 * TOGETHER;
/// Number of bars of a histogram.
const BARS: usize = 40;

/// The result of the builds.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct MonteCarlo {
    /// Number of pairs built.
    pub builds: usize,
    /// Seed of the random numbers; build n depends only on seed and n.
    pub seed: u64,
    /// The field constants.
    pub field_constant_tesla_per_ampere: Summary,
    /// The sizes of the worst deviations over the beam; `None` if the spec states no beam.
    pub worst_beam_deviation: Option<Summary>,
    /// The shares that meet the wish.
    pub share: Share,
}

/// The share of builds that meet a wish, 0 to 1; `None` if there is no wish.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Share {
    /// The field constant is near enough to the computed one.
    pub field_constant: Option<f64>,
    /// The deviation over the beam is small enough.
    pub beam_deviation: Option<f64>,
    /// Every wish is met.
    pub everything: Option<f64>,
    /// Standard uncertainty of `everything` because of the finite number of builds.
    pub everything_standard_uncertainty: Option<f64>,
}

/// Statistics of one number over the builds.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Summary {
    /// Mean.
    pub mean: f64,
    /// Standard deviation.
    pub standard_deviation: f64,
    /// Smallest.
    pub smallest: f64,
    /// 2.5 % lie below.
    pub percentile_2_5: f64,
    /// Half lie below.
    pub median: f64,
    /// 95 % lie below.
    pub percentile_95: f64,
    /// 97.5 % lie below.
    pub percentile_97_5: f64,
    /// Largest.
    pub largest: f64,
    /// Counts in bars of equal width from smallest to largest.
    pub histogram: Histogram,
}

/// Counts in bars of equal width.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Histogram {
    /// Left edge of the first bar.
    pub from: f64,
    /// Right edge of the last bar.
    pub to: f64,
    /// Counts, left to right.
    pub counts: Vec<u32>,
}

/// Builds the pairs in parallel and summarises them.
pub(super) fn monte_carlo(
    bench: &Bench,
    constant: f64,
    wish: Wish,
    builds: usize,
    advance: impl Fn(u64) + Sync,
) -> Result<MonteCarlo> {
    let builder = Builder::new(bench)?;
    let beam = BeamRegion::of(bench);
    let near = builder.near_pairs(beam.as_ref().map_or(0.0, BeamRegion::reach_m));
    let chunks = builds.div_ceil(CHUNK);
    let chunk = |chunk: usize| {
        let mut worst = WorstDeviations::of(bench, beam.as_ref(), near.as_ref());
        let mut results = Vec::with_capacity(CHUNK);
        let end = ((chunk + 1) * CHUNK).min(builds);
        for first in (chunk * CHUNK..end).step_by(TOGETHER) {
            let pairs: Vec<BuiltPair> = (first..(first + TOGETHER).min(end))
                .map(|number| builder.draw(&mut SampleGenerator::new(SEED, number as u64)))
                .collect();
            results.extend(worst.of_eight(&builder, &pairs)?);
        }
        advance(results.len() as u64);
        Ok(results)
    };
    let results: Vec<Vec<Built>> = (0..chunks).into_par_iter().map(chunk).collect::<Result<_>>()?;
    let results = results.concat();
    let constant_meets = |result: &Built| {
        wish.field_constant_within_fraction
            .is_none_or(|within| (result.field_constant_tesla_per_ampere / constant - 1.0).abs() <= within)
    };
    let beam_meets = |result: &Built| {
        wish.beam_deviation
            .is_none_or(|limit| result.worst_beam_deviation.is_some_and(|worst| worst.abs() <= limit))
    };
    let share = |meets: &dyn Fn(&Built) -> bool| {
        results.iter().filter(|result| meets(result)).count() as f64 / builds as f64
    };
    let everything =
        (wish != Wish::default()).then(|| share(&|result| constant_meets(result) && beam_meets(result)));
    let worst: Option<Vec<f64>> =
        results.iter().map(|result| result.worst_beam_deviation.map(f64::abs)).collect();
    Ok(MonteCarlo {
        builds,
        seed: SEED,
        field_constant_tesla_per_ampere: Summary::of(
            results.iter().map(|result| result.field_constant_tesla_per_ampere).collect(),
        ),
        worst_beam_deviation: worst.map(Summary::of),
        share: Share {
            field_constant: wish.field_constant_within_fraction.map(|_| share(&constant_meets)),
            beam_deviation: wish.beam_deviation.map(|_| share(&beam_meets)),
            everything,
            everything_standard_uncertainty: everything
                .map(|share| (share * (1.0 - share) / builds as f64).sqrt()),
        },
    })
}

impl Summary {
    /// The statistics of at least one number.
    fn of(mut values: Vec<f64>) -> Self {
        values.sort_unstable_by(f64::total_cmp);
        let count = values.len();
        // Differences from the median keep the digits that a small spread needs.
        let median = values[count / 2];
        let shift = values.iter().map(|value| value - median).sum::<f64>() / count as f64;
        let mean = median + shift;
        let squares = values.iter().map(|value| (value - mean).powi(2)).sum::<f64>();
        let at = |fraction: f64| values[((fraction * count as f64) as usize).min(count - 1)];
        Self {
            mean,
            standard_deviation: (squares / (count.max(2) - 1) as f64).sqrt(),
            smallest: values[0],
            percentile_2_5: at(0.025),
            median,
            percentile_95: at(0.95),
            percentile_97_5: at(0.975),
            largest: values[count - 1],
            histogram: Histogram::of(&values),
        }
    }
}

impl Histogram {
    /// The histogram of sorted numbers.
    fn of(sorted: &[f64]) -> Self {
        let (from, to) = (sorted[0], sorted[sorted.len() - 1]);
        let mut counts = vec![0; BARS];
        for value in sorted {
            // All in the first bar if there is no spread.
            let place = if to > from { (value - from) / (to - from) } else { 0.0 };
            counts[((place * BARS as f64) as usize).min(BARS - 1)] += 1;
        }
        Self { from, to, counts }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::physics::build_error::field_constant_tesla_per_ampere;
    use crate::physics::field::Assembly;

    #[test]
    fn a_summary_of_one_to_a_hundred_is_what_one_expects() {
        let summary = Summary::of((1..=100).rev().map(f64::from).collect());
        assert_eq!((summary.mean, summary.smallest, summary.largest), (50.5, 1.0, 100.0));
        assert!((summary.standard_deviation - (101.0f64 * 100.0 / 12.0).sqrt()).abs() < 1e-12);
        assert_eq!(summary.histogram.counts.iter().sum::<u32>(), 100);
    }

    #[test]
    fn shares_count_the_builds_that_meet_the_wish() {
        let bench = crate::questions::tolerance::tests::bench();
        let constant = field_constant_tesla_per_ampere(&Assembly::of(&bench));
        let run = |wish| monte_carlo(&bench, constant, wish, 200, |_| {}).unwrap();
        let loose = Wish { field_constant_within_fraction: Some(0.5), beam_deviation: Some(0.5) };
        assert_eq!(run(loose).share.everything, Some(1.0));
        let tight = Wish { field_constant_within_fraction: Some(1e-9), beam_deviation: None };
        let share = run(tight).share;
        assert_eq!((share.everything, share.beam_deviation), (Some(0.0), None));
        assert_eq!(run(Wish::default()).share.everything, None);
        // Half of the builds meet a wish set at the median deviation.
        let spread = run(Wish::default()).field_constant_tesla_per_ampere;
        let half = Wish {
            field_constant_within_fraction: Some(0.6745 * spread.standard_deviation / constant),
            beam_deviation: None,
        };
        assert!((run(half).share.everything.unwrap() - 0.5).abs() < 0.15);
    }
}
