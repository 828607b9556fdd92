//! A hypothesis: a possible fault, its possible sizes, and its prior probability.

use crate::{Error, Result};

/// One possible fault.
#[derive(Debug)]
pub struct Fault<'a, C> {
    /// The caller's name for it.
    pub cause: C,
    /// Its effect on the data.
    pub effect: Effect<'a>,
    /// The sizes that are physically possible.
    pub sizes: Sizes,
    /// Prior probability of a fault of this family.
    pub prior: f64,
    /// Number of members that share that prior; for a fault in one of twelve runs it is twelve.
    pub choices: usize,
}

impl<C> Fault<'_, C> {
    /// Prior of this fault: that of its family divided by the number of members.
    pub(crate) fn prior_of_one(&self) -> f64 {
        self.prior / self.choices.max(1) as f64
    }
}

/// The effect of a fault on the data.
pub enum Effect<'a> {
    /// The change of each datum per unit of size.
    Linear(Vec<f64>),
    /// The change of each datum as a function of size; zero at size zero.
    Curved(Box<dyn Fn(f64) -> Vec<f64> + 'a>),
}

impl std::fmt::Debug for Effect<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Linear(effect) => f.debug_tuple("Linear").field(effect).finish(),
            Self::Curved(_) => f.debug_tuple("Curved").finish_non_exhaustive(),
        }
    }
}

/// Prior of a fault's size, bounded by what is physically possible.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Sizes {
    /// Uniform between the two.
    Uniform {
        /// Smallest, may be negative.
        low: f64,
        /// Largest.
        high: f64,
    },
    /// Log-uniform between the two, which have one sign: both above zero, or both below.
    LogUniform {
        /// The end nearer zero; smaller sizes would not matter.
        near: f64,
        /// The end farther from zero.
        far: f64,
    },
    /// Log-uniform, both signs equally likely.
    LogUniformEitherSign {
        /// Smallest amount that would matter.
        smallest: f64,
        /// Largest amount possible.
        largest: f64,
    },
}

impl Sizes {
    /// The stretches of sizes, each ascending, and whether the density falls as 1/|size| in them.
    pub(super) fn stretches(self) -> (Vec<[f64; 2]>, bool) {
        match self {
            Self::Uniform { low, high } => (vec![[low, high]], false),
            Self::LogUniform { near, far } => (vec![[near.min(far), near.max(far)]], true),
            Self::LogUniformEitherSign { smallest, largest } => {
                (vec![[-largest, -smallest], [smallest, largest]], true)
            }
        }
    }

    /// The least and the largest size, the least amount first where both have one sign.
    pub(crate) fn ends(self) -> [f64; 2] {
        match self {
            Self::Uniform { low, high } => [low, high],
            Self::LogUniform { near, far } => [near, far],
            Self::LogUniformEitherSign { largest, .. } => [-largest, largest],
        }
    }

    /// ln of the prior density at a size inside the range.
    pub(crate) fn ln_density(self, size: f64) -> f64 {
        match self {
            Self::Uniform { low, high } => -(high - low).ln(),
            Self::LogUniform { near, far } => -(size.abs() * (far / near).ln()).ln(),
            Self::LogUniformEitherSign { smallest, largest } => {
                -(2.0 * size.abs() * (largest / smallest).ln()).ln()
            }
        }
    }

    /// Whether a size known to within its standard uncertainty is a possible one.
    ///
    /// No size beyond the largest is, however uncertain it is. A size too small to matter is no fault, but it is possible,
    /// and so is one of the wrong sign within two standard uncertainties of nought. A uniform range lies about a size that
    /// the fault foretells; two standard uncertainties beside it still agree with that.
    pub fn allows(self, size: f64, standard_uncertainty: f64) -> bool {
        let margin = 2.0 * standard_uncertainty;
        match self {
            Self::LogUniformEitherSign { largest, .. } => size.abs() <= largest,
            Self::LogUniform { near, far } => size.abs() <= far.abs() && size * near.signum() >= -margin,
            Self::Uniform { low, high } => size >= low - margin && size <= high + margin,
        }
    }

    /// Whether a size lies in the range.
    pub(crate) fn allows_exactly(self, size: f64) -> bool {
        self.stretches().0.iter().any(|[low, high]| (*low..=*high).contains(&size))
    }

    /// The size in the range that is nearest to this one.
    pub(super) fn nearest(self, size: f64) -> f64 {
        let (stretches, _) = self.stretches();
        let inside = stretches.iter().map(|[low, high]| size.clamp(*low, *high));
        inside.min_by(|a, b| (a - size).abs().total_cmp(&(b - size).abs())).unwrap_or(size)
    }

    pub(super) fn checked(self) -> Result<()> {
        let good = match self {
            Self::Uniform { low, high } => low < high && low.is_finite() && high.is_finite(),
            Self::LogUniform { near, far } => {
                near.is_finite() && far.is_finite() && near != 0.0 && far / near > 1.0
            }
            Self::LogUniformEitherSign { smallest, largest } => {
                smallest > 0.0 && largest > smallest && largest.is_finite()
            }
        };
        if good { Ok(()) } else { Err(Error::value(format!("{self:?} is no range of sizes"))) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ranges_that_hold_nothing_are_refused() {
        assert!(Sizes::Uniform { low: 1.0, high: 1.0 }.checked().is_err());
        assert!(Sizes::LogUniform { near: 1.0, far: -2.0 }.checked().is_err());
        assert!(Sizes::LogUniform { near: -1.0, far: -2.0 }.checked().is_ok());
        assert!(Sizes::LogUniformEitherSign { smallest: 0.0, largest: 2.0 }.checked().is_err());
        assert!(Sizes::Uniform { low: 0.0, high: f64::INFINITY }.checked().is_err());
    }

    #[test]
    fn no_size_beyond_the_largest_is_possible() {
        let drop = Sizes::LogUniform { near: -0.1, far: -20.0 };
        assert!(drop.allows(-5.0, 1.0) && drop.allows(1.5, 1.0) && !drop.allows(2.5, 1.0));
        assert!(drop.allows(-20.0, 1.0) && !drop.allows(-20.1, 1.0));
        let offset = Sizes::LogUniformEitherSign { smallest: 0.2, largest: 10.0 };
        assert!(offset.allows(-9.9, 2.3) && offset.allows(0.0, 2.3) && !offset.allows(-12.0, 2.3));
        // Gauss under millitesla foretells a factor of ten.
        let foretold = Sizes::Uniform { low: 0.97, high: 1.03 };
        assert!(foretold.allows(1.04, 0.01) && !foretold.allows(1.06, 0.01));
    }
}
