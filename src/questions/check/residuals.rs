//! The differences of the readings from the spec, and the effect of a build within its tolerance on them.

use super::expected::{
    FROM_WIRE, Values, predicted_but_inductance, relative_change, resistance_is_stated, with_change,
};
use super::subject::Quantity;
use crate::Result;
use crate::judgement::Data;
use crate::pair::{Bench, Coil};
use std::f64::consts::{FRAC_1_SQRT_2, LN_2};

/// The readings over the spec's values, minus one; `None` if not measured.
pub(super) struct Residuals {
    pub(super) relative: [Option<f64>; Quantity::COUNT],
    /// Relative standard uncertainties of these differences.
    pub(super) standard_uncertainties: Values,
    /// Relative standard uncertainties of the readings alone.
    pub(super) of_reading: Values,
    /// Relative standard uncertainties of the spec's values that affect one quantity alone, besides its build
    /// tolerance, which affects several.
    pub(super) of_model: Values,
    /// The copper's temperature, as noted.
    pub(super) celsius: f64,
}

/// Spread among different pairs: standard deviation of the logarithm of each quantity, in the order of
/// [`Quantity::ALL`] (common practice, no source).
const AMONG_PAIRS: Values = [0.7, 0.4, 0.8, 0.6, 0.3, 0.2, 0.2, 0.4, 0.2];

impl Residuals {
    /// The part of a reading's relative standard uncertainty that it shares with no other.
    pub(super) fn own(&self, quantity: usize) -> f64 {
        (self.of_reading[quantity].hypot(self.ratio(quantity) * self.of_model[quantity])).max(1e-6)
    }

    /// Size of a reading over the spec's value. It is limited, so that a slip of a power of ten does not stretch the
    /// spreads of the build.
    fn ratio(&self, quantity: usize) -> f64 {
        self.relative[quantity].map_or(1.0, |it| (1.0 + it).abs().clamp(0.1, 10.0))
    }

    /// ln p(readings | another pair). Each quantity is log-normal about the spec's value, the field with either sign.
    /// The powers of 2π common to all hypotheses are left out.
    pub(super) fn ln_evidence_of_another_pair(&self) -> f64 {
        let one = |i: &usize| {
            let ratio = self.relative[*i].map_or(1.0, |it| 1.0 + it);
            let spread = AMONG_PAIRS[*i].hypot(self.standard_uncertainties[*i]);
            // Below a thousandth it is not the reading of a pair but scatter about zero.
            let ln = ratio.abs().max(1e-3).ln();
            let sign = if *i == 1 { -LN_2 } else { 0.0 };
            -0.5 * (ln / spread).powi(2) - spread.ln() - ln + sign
        };
        self.measured().iter().map(one).sum()
    }

    pub(super) fn measured(&self) -> Vec<usize> {
        (0..Quantity::COUNT).filter(|i| self.relative[*i].is_some()).collect()
    }
}

/// The readings as differences from the spec, with the common effect of a build within its tolerance.
///
/// The spreads of the build are proportional to the reading, so a fault that changes it does not change them.
pub(super) fn data(residuals: &Residuals, of_build: &[Values], used: &[usize]) -> Result<Data> {
    let relative: Vec<f64> = used.iter().filter_map(|i| residuals.relative[*i]).collect();
    let own: Vec<f64> = used.iter().map(|i| residuals.own(*i)).collect();
    let data = Data::independent(&relative, &own)?;
    Ok(of_build
        .iter()
        .map(|effect| used.iter().map(|i| residuals.ratio(*i) * effect[*i]).collect())
        .fold(data, Data::sharing))
}

/// Relative change of every quantity for one standard uncertainty of each length of the build, of the turns, and of the
/// wire's bare diameter; for the mean of two equal coils.
pub(super) fn of_the_build(bench: &Bench, celsius: f64) -> Vec<Values> {
    let tolerance = bench.tolerance_or_ordinary();
    // The effect of a length on the inductance is small compared with the inductance's own uncertainty.
    let nominal = predicted_but_inductance(bench, celsius);
    let of = |limit: f64| tolerance.distribution.standard_uncertainty(limit);
    let of_both = |limit: f64| of(limit) * FRAC_1_SQRT_2;
    let changed = |change: &dyn Fn(&mut Bench)| -> Values {
        relative_change(&nominal, &predicted_but_inductance(&with_change(bench, change), celsius))
    };
    let coils =
        |change: &dyn Fn(&mut Coil)| changed(&|bench| bench.as_built.iter_mut().flatten().for_each(change));
    let turns = of_both(tolerance.turns) / bench.winding.turns;
    // A measured resistance does not depend on the wire or its length.
    let by_wire = |by: f64| if resistance_is_stated(bench) { 0.0 } else { by };
    vec![
        coils(&|coil| coil.mean_radius_m += of_both(tolerance.mean_radius_m)),
        coils(&|coil| coil.depth_m += of_both(tolerance.depth_m)),
        coils(&|coil| coil.width_m += of_both(tolerance.width_m)),
        changed(&|bench| bench.spacing_m += of(tolerance.spacing_m)),
        only(&[(0, by_wire(turns)), (1, turns), (2, 2.0 * turns), (3, turns)]),
        only(&[(0, by_wire(-FROM_WIRE)), (3, FROM_WIRE)]),
    ]
}

/// A change of the given quantities; the others stay.
pub(super) fn only(changes: &[(usize, f64)]) -> Values {
    let mut values = [0.0; Quantity::COUNT];
    for (quantity, change) in changes {
        values[*quantity] = *change;
    }
    values
}
