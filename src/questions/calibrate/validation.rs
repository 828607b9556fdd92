//! Why the interval of a Monte Carlo run differs from the linear budget's, and which to use.

use super::monte_carlo::MonteCarlo;
use serde::Serialize;

/// Why the two intervals differ.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum IntervalDifference {
    /// The ends differ by no more than the finite number of samples allows: take more samples.
    SmallSample,
    /// The interval lies to one side of the slope. A tilt or an offset causes this, because it can only weaken the
    /// field.
    Skewed,
    /// Rectangular errors dominate. Their interval is narrower than that of k = 2, so the budget is on the safe side.
    Narrower,
    /// The sampled slopes spread more than the budget says: the budget is too small.
    Wider,
}

impl IntervalDifference {
    /// The reason, if the run did not validate the budget.
    pub(super) fn of(run: &MonteCarlo) -> Option<Self> {
        if run.linear_budget_validated {
            return None;
        }
        let [low, high] =
            [0, 1].map(|end| run.interval_tesla_per_ampere[end] - run.linear_interval_tesla_per_ampere[end]);
        // An end of a 95 % interval of n samples is known to about √(p q/n)/density = 2.6 u/√n (normal distribution;
        // David and Nagaraja 2003, Order Statistics, 10.2), twice that for 95 %.
        // Of a distribution without a variance, whose tails fall as 1/x, by 13 times its half-width (same formula).
        let half = 0.5 * (run.interval_tesla_per_ampere[1] - run.interval_tesla_per_ampere[0]);
        let spread = run.standard_uncertainty_tesla_per_ampere.map_or(13.0 * half, |standard| 5.2 * standard);
        let open = spread / (run.samples as f64).sqrt();
        let (shift, growth) = (0.5 * (low + high), 0.5 * (high - low));
        Some(if low.abs().max(high.abs()) <= open + run.numerical_tolerance_tesla_per_ampere {
            Self::SmallSample
        } else if shift.abs() > growth.abs() {
            Self::Skewed
        } else if growth < 0.0 {
            Self::Narrower
        } else {
            Self::Wider
        })
    }

    /// The reason, and which interval to use.
    pub fn sentence(self) -> &'static str {
        match self {
            Self::SmallSample => {
                "the ends differ by no more than so few samples leave open: ask for 220000 or more"
            }
            Self::Skewed => {
                "the run's interval lies to one side, since tilts and offsets only weaken the field: use the \
                             run's interval; more samples would not change this verdict"
            }
            Self::Narrower => {
                "rectangular errors dominate, which k = 2 covers with more than it claims: the linear \
                               budget is on the safe side, the run's interval is the sharper; more samples would not \
                               change this verdict"
            }
            Self::Wider => {
                "the run spreads more than the linear budget says: use the run's interval; more samples would \
                            not change this verdict"
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn run(interval: [f64; 2], samples: u64) -> MonteCarlo {
        MonteCarlo {
            samples,
            seed: 1,
            mean_tesla_per_ampere: 10.0,
            standard_uncertainty_tesla_per_ampere: Some(1.0),
            coverage_probability: 0.9545,
            interval_tesla_per_ampere: interval,
            linear_interval_tesla_per_ampere: [8.0, 12.0],
            numerical_tolerance_tesla_per_ampere: 0.05,
            linear_budget_validated: false,
            few_samples: samples < 220_000,
        }
    }

    #[test]
    fn more_samples_are_asked_for_only_where_they_would_help() {
        let why = |interval, samples| IntervalDifference::of(&run(interval, samples)).unwrap();
        assert_eq!(why([8.1, 11.9], 1_000), IntervalDifference::SmallSample);
        assert_eq!(why([8.1, 11.9], 1_000_000), IntervalDifference::Narrower);
        assert_eq!(why([7.6, 11.7], 1_000_000), IntervalDifference::Skewed);
        assert_eq!(why([7.6, 12.4], 1_000_000), IntervalDifference::Wider);
    }
}
