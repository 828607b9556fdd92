//! The slope's uncertainty by propagation of distributions: random geometries and meters, JCGM 101:2008.

use crate::Result;
use crate::error::Refused;
use crate::numeric::coverage::COVERAGE_PROBABILITY;
use crate::numeric::random::SampleGenerator;
use crate::pair::Bench;
use crate::physics::budget_source::BudgetSource;
use crate::physics::build_error::drawn::{Builder, FieldConstants};
use crate::physics::field::TOGETHER;
use crate::physics::slope::{BudgetEntry, Slope, SlopeUncertainty, Spread};
use rayon::prelude::*;
use serde::Serialize;

/// The seed of every run, so that the same input gives the same result.
const SEED: u64 = 20_260_301;
/// Number of samples that one thread draws at a time.
const CHUNK: usize = 256 * TOGETHER;
/// Fewest samples allowed.
pub(crate) const FEWEST_SAMPLES: u64 = 1_000;
/// Most samples allowed, so that they fit in memory.
pub(crate) const MOST_SAMPLES: u64 = 20_000_000;

/// The result of a run.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct MonteCarlo {
    /// Number of samples.
    pub samples: u64,
    /// The seed.
    pub seed: u64,
    /// Mean of the sampled slopes.
    pub mean_tesla_per_ampere: f64,
    /// Standard deviation of the sampled slopes. `None` if the distribution has none.
    pub standard_uncertainty_tesla_per_ampere: Option<f64>,
    /// Coverage probability of the interval.
    pub coverage_probability: f64,
    /// The probabilistically symmetric interval of that probability.
    pub interval_tesla_per_ampere: [f64; 2],
    /// The linear budget's interval: slope ± expanded uncertainty.
    pub linear_interval_tesla_per_ampere: [f64; 2],
    /// Half a unit of the second significant digit of the standard uncertainty (JCGM 101:2008, 7.9.2).
    pub numerical_tolerance_tesla_per_ampere: f64,
    /// Whether both ends of the two intervals agree within that tolerance (JCGM 101:2008, 8.1).
    pub linear_budget_validated: bool,
    /// Whether there are too few samples for a reliable interval (fewer than 10⁴/(1 − p); JCGM 101:2008, 7.2.2).
    pub few_samples: bool,
}

/// The adopted slope as a sum: weight × fitted + (1 − weight) × computed, with the effect of warm coils.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Mixture<'a> {
    /// The bench.
    pub bench: &'a Bench,
    /// The fitted slope and its budget, if there is one.
    pub fitted: Option<(f64, &'a [BudgetEntry])>,
    /// Weight of the fitted slope in the adopted one.
    pub weight_of_fit: f64,
    /// The budget's entry for the temperature, if it has one.
    pub warming: Option<&'a BudgetEntry>,
    /// The budget's entry for a contradiction of the two slopes, if there is one.
    pub contradiction: Option<&'a BudgetEntry>,
}

/// Propagates the distributions through the full model and compares the result with the linear budget of this slope.
///
/// The ends of the two intervals must agree within half a unit of the second digit of the budget's standard
/// uncertainty. That of the samples is not used, because Student's distribution with few degrees of freedom has none.
///
/// Each sample has its own generator and the samples keep their order, so the result does not depend on the number of
/// threads. `advance` is called with the number of further samples.
pub(crate) fn monte_carlo(
    mixture: &Mixture,
    samples: u64,
    adopted: &Slope,
    advance: impl Fn(u64) + Sync,
) -> Result<MonteCarlo> {
    if !(FEWEST_SAMPLES..=MOST_SAMPLES).contains(&samples) {
        return Err(Refused::Samples { asked: samples, allowed: [FEWEST_SAMPLES, MOST_SAMPLES] }.into());
    }
    let SlopeUncertainty { standard_tesla_per_ampere: standard, expanded_tesla_per_ampere: expanded, .. } =
        adopted.known_uncertainty()?;
    // A fitted slope does not depend on the build.
    let builder = match mixture.weight_of_fit {
        1.0 => None,
        _ => Some(Builder::new(mixture.bench)?),
    };
    let near = builder.as_ref().and_then(|builder| builder.near_pairs(0.0));
    let mut slopes = vec![0.0; samples as usize];
    slopes.par_chunks_mut(CHUNK).enumerate().for_each(|(chunk, slopes)| {
        let mut constants = FieldConstants::of(near.as_ref());
        for (part, slopes) in slopes.chunks_mut(TOGETHER).enumerate() {
            let first = (chunk * CHUNK + part * TOGETHER) as u64;
            mixture.sample(first, slopes, builder.as_ref(), &mut constants);
        }
        advance(slopes.len() as u64);
    });
    let slope = adopted.tesla_per_ampere;
    let n = samples as f64;
    let mean = slope + slopes.iter().map(|sampled| sampled - slope).sum::<f64>() / n;
    let variance = slopes.iter().map(|sampled| (sampled - mean).powi(2)).sum::<f64>() / (n - 1.0);
    slopes.par_sort_unstable_by(f64::total_cmp);
    let interval = symmetric_interval(&slopes, COVERAGE_PROBABILITY);
    let linear = [slope - expanded, slope + expanded];
    let numerical_tolerance = numerical_tolerance(standard);
    let apart = |end: usize| (interval[end] - linear[end]).abs();
    Ok(MonteCarlo {
        samples,
        seed: SEED,
        mean_tesla_per_ampere: mean,
        standard_uncertainty_tesla_per_ampere: mixture.has_a_variance().then(|| variance.sqrt()),
        coverage_probability: COVERAGE_PROBABILITY,
        interval_tesla_per_ampere: interval,
        linear_interval_tesla_per_ampere: linear,
        numerical_tolerance_tesla_per_ampere: numerical_tolerance,
        linear_budget_validated: apart(0) <= numerical_tolerance && apart(1) <= numerical_tolerance,
        few_samples: n < 1e4 / (1.0 - COVERAGE_PROBABILITY),
    })
}

impl Mixture<'_> {
    /// Whether the variance exists: Student's distribution has one above two degrees of freedom.
    fn has_a_variance(&self) -> bool {
        let parts = self.fitted.iter().flat_map(|(_, budget)| *budget);
        let student = parts.filter(|part| part.distribution == Spread::Student);
        self.weight_of_fit == 0.0
            || student.filter_map(|part| part.degrees_of_freedom).all(|freedom| freedom > 2.0)
    }

    /// Up to eight slopes from sample number `first` on.
    fn sample(
        &self,
        first: u64,
        slopes: &mut [f64],
        builder: Option<&Builder>,
        constants: &mut FieldConstants,
    ) {
        let mut generators: [SampleGenerator; TOGETHER] =
            std::array::from_fn(|lane| SampleGenerator::new(SEED, first + lane as u64));
        let computed = match builder {
            Some(builder) => {
                let pairs = generators.each_mut().map(|generator| builder.windings(&builder.draw(generator)));
                constants.of_eight(&pairs[..slopes.len()])
            }
            None => [0.0; TOGETHER],
        };
        for ((slope, generator), computed) in slopes.iter_mut().zip(&mut generators).zip(computed) {
            *slope = self.mixed(generator, computed);
        }
    }

    /// The adopted slope for a drawn computed slope, with all else drawn as well.
    fn mixed(&self, generator: &mut SampleGenerator, computed: f64) -> f64 {
        let fitted = self.fitted.map_or(0.0, |(slope, budget)| sampled_fit(generator, slope, budget));
        let contradiction = self.contradiction.map_or(0.0, |entry| draw(generator, entry));
        let mixed = self.weight_of_fit * fitted + (1.0 - self.weight_of_fit) * computed + contradiction;
        match self.warming {
            // k falls as the dimensions grow: k / (1 + α ΔT), with α ΔT = −(dk/dT) ΔT / k.
            Some(entry) => {
                let kelvin = draw(generator, entry);
                mixed / (1.0 - entry.sensitivity_tesla_per_ampere_per_unit * kelvin / mixed)
            }
            None => mixed,
        }
    }
}

/// A fitted slope drawn from its own scatter and the meters' gains.
fn sampled_fit(generator: &mut SampleGenerator, slope: f64, budget: &[BudgetEntry]) -> f64 {
    budget.iter().fold(slope, |sampled, entry| {
        let by = draw(generator, entry);
        match entry.source {
            // A meter that shows 1 + g times the true value: the true slope is the shown one divided by that for the
            // probe, multiplied by it for the ammeter.
            BudgetSource::ProbeGain => sampled / (1.0 + by),
            BudgetSource::AmmeterGain => sampled * (1.0 + by),
            _ => sampled + entry.sensitivity_tesla_per_ampere_per_unit * by,
        }
    })
}

/// A drawn deviation of a source from its best value.
fn draw(generator: &mut SampleGenerator, entry: &BudgetEntry) -> f64 {
    let u = entry.standard_uncertainty;
    match entry.distribution {
        Spread::Rectangular => generator.rectangular(3f64.sqrt() * u),
        Spread::Normal => generator.normal(u),
        // t = z / √(χ²/ν), the scaled and shifted t of JCGM 101:2008, 6.4.9.
        Spread::Student => {
            let nu = entry.degrees_of_freedom.unwrap_or(1.0).round().max(1.0);
            let z = generator.normal(1.0);
            let chi_square: f64 = (0..nu as u64).map(|_| generator.normal(1.0).powi(2)).sum();
            u * z / (chi_square / nu).sqrt()
        }
    }
}

/// The interval between the (1 − p)/2 and (1 + p)/2 points of sorted values (JCGM 101:2008, 7.7).
fn symmetric_interval(sorted: &[f64], probability: f64) -> [f64; 2] {
    let n = sorted.len();
    let inside = ((probability * n as f64).round() as usize).min(n - 1);
    let low = (n - inside) / 2;
    [sorted[low], sorted[(low + inside).min(n - 1)]]
}

/// Half a unit of the second significant digit (JCGM 101:2008, 7.9.2).
fn numerical_tolerance(standard_uncertainty: f64) -> f64 {
    if standard_uncertainty <= 0.0 {
        return 0.0;
    }
    let exponent = standard_uncertainty.log10().floor() as i32 - 1;
    0.5 * 10f64.powi(exponent)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pair::Distribution;
    use crate::physics::build_error::field_constant_tesla_per_ampere;
    use crate::physics::field::Assembly;
    use crate::physics::slope::{AdoptedFrom, combine, of_the_build};
    use crate::questions::calibrate::tests::bench;
    use approx::{assert_abs_diff_eq, assert_relative_eq};

    fn run(bench: &Bench, samples: u64) -> MonteCarlo {
        let mixture = Mixture { bench, fitted: None, weight_of_fit: 0.0, warming: None, contradiction: None };
        let k = field_constant_tesla_per_ampere(&Assembly::of(bench));
        let slope = Slope::of(AdoptedFrom::Computed, k, of_the_build(bench).unwrap());
        monte_carlo(&mixture, samples, &slope, |_| {}).unwrap()
    }

    #[test]
    fn normal_build_errors_validate_the_linear_budget() {
        let mut bench = bench();
        let tolerance = bench.build_tolerance.as_mut().unwrap();
        tolerance.distribution = Distribution::Normal;
        // u(k) of 1.3 µT/A, whose numerical tolerance of 0.05 µT/A is 0.04 of it, three times what 40 000 samples
        // leave open at the ends of the interval (0.014 u).
        (tolerance.mean_radius_m, tolerance.spacing_m) = (0.92e-3, 0.69e-3);
        let entries = of_the_build(&bench).unwrap();
        let linear = combine(&entries).standard_tesla_per_ampere;
        let run = run(&bench, 40_000);
        // 40 000 samples: the standard deviation is known to 1/√80 000 = 0.35 %.
        assert_relative_eq!(run.standard_uncertainty_tesla_per_ampere.unwrap(), linear, max_relative = 0.015);
        assert!(run.linear_budget_validated, "{run:?}");
        assert!(run.few_samples);
    }

    #[test]
    fn one_rectangular_error_alone_is_narrower_than_two_standard_uncertainties() {
        // A single rectangular quantity of half-width a: 95.45 % lies within 0.9545 a, and 2 a/√3 is 1.155 a.
        let mut bench = bench();
        let tolerance = bench.build_tolerance.as_mut().unwrap();
        (tolerance.mean_radius_m, tolerance.spacing_m) = (0.0, 0.3e-3);
        let run = run(&bench, 20_000);
        let half = |interval: [f64; 2]| 0.5 * (interval[1] - interval[0]);
        assert_relative_eq!(
            half(run.interval_tesla_per_ampere) / half(run.linear_interval_tesla_per_ampere),
            0.9545 * 3f64.sqrt() / 2.0,
            max_relative = 0.01
        );
        assert!(!run.linear_budget_validated);
    }

    #[test]
    fn the_result_does_not_depend_on_the_number_of_threads() {
        let bench = bench();
        let on = |threads| {
            let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
            pool.install(|| run(&bench, 2_000))
        };
        assert_eq!(on(1), on(3));
    }

    #[test]
    fn a_fitted_slope_is_spread_by_its_scatter_and_the_gains() {
        let bench = bench();
        let fit = BudgetEntry {
            source: BudgetSource::Fit,
            coil: None,
            unit: "T/A".into(),
            distribution: Spread::Student,
            standard_uncertainty: 1e-6,
            sensitivity_tesla_per_ampere_per_unit: 1.0,
            contribution_tesla_per_ampere: 1e-6,
            degrees_of_freedom: Some(10.0),
        };
        let gain = BudgetEntry::relative(BudgetSource::ProbeGain, Spread::Rectangular, 1e-3, 8e-4);
        let budget = [fit, gain];
        let mixture = Mixture {
            bench: &bench,
            fitted: Some((8e-4, &budget)),
            weight_of_fit: 1.0,
            warming: None,
            contradiction: None,
        };
        let slope = Slope::of(AdoptedFrom::Fit, 8e-4, budget.to_vec());
        let run = monte_carlo(&mixture, 40_000, &slope, |_| {}).unwrap();
        // Student's t with 10 degrees of freedom has a variance of 10/8.
        let wanted = (1.25e-12f64 + (8e-7f64).powi(2)).sqrt();
        assert_relative_eq!(run.standard_uncertainty_tesla_per_ampere.unwrap(), wanted, max_relative = 0.02);
        assert_relative_eq!(run.mean_tesla_per_ampere, 8e-4, max_relative = 2e-5);
    }

    #[test]
    fn a_slope_of_three_readings_has_no_sampled_uncertainty_and_is_judged_by_its_own() {
        // One degree of freedom: U = 13.97 u by the budget, and the run's interval ends there, too. With a rectangular gain of
        // twice u beside it the effective degrees of freedom rise to 25 and the budget is far too small.
        let bench = bench();
        let fit = BudgetEntry {
            distribution: Spread::Student,
            degrees_of_freedom: Some(1.0),
            ..BudgetEntry::relative(BudgetSource::Fit, Spread::Student, 1e-3, 8e-4)
        };
        let run_of = |budget: &[BudgetEntry]| {
            let slope = Slope::of(AdoptedFrom::Fit, 8e-4, budget.to_vec());
            let mixture = Mixture {
                bench: &bench,
                fitted: Some((8e-4, budget)),
                weight_of_fit: 1.0,
                warming: None,
                contradiction: None,
            };
            (monte_carlo(&mixture, 20_000, &slope, |_| {}).unwrap(), slope)
        };
        let gain = BudgetEntry::relative(BudgetSource::ProbeGain, Spread::Rectangular, 2e-3, 8e-4);
        let (run, slope) = run_of(&[fit.clone(), gain]);
        assert_eq!(run.standard_uncertainty_tesla_per_ampere, None);
        assert!(!run.linear_budget_validated, "{run:?}");
        let tolerance = numerical_tolerance(slope.standard_uncertainty().unwrap());
        assert_relative_eq!(run.numerical_tolerance_tesla_per_ampere, tolerance);
        let half = |[low, high]: [f64; 2]| 0.5 * (high - low);
        assert!(half(run.interval_tesla_per_ampere) > 3.0 * half(run.linear_interval_tesla_per_ampere));
        let (alone, slope) = run_of(&[fit]);
        let expanded = slope.expanded_uncertainty().unwrap();
        assert_relative_eq!(half(alone.interval_tesla_per_ampere), expanded, max_relative = 0.1);
    }

    /// A source of the mass calibration, in its own unit about its best value.
    fn source(distribution: Spread, standard_uncertainty: f64) -> BudgetEntry {
        BudgetEntry {
            standard_uncertainty,
            ..BudgetEntry::relative(BudgetSource::Other("probe".into()), distribution, 1.0, 1.0)
        }
    }

    #[test]
    fn the_mass_calibration_of_jcgm_101_comes_out() {
        // The model and input distributions of JCGM 101:2008, 9.3. The standard's own results were sampled and could not be
        // read here, so the wanted ones do not rest on them: tests/data/mass_calibration.py integrates the same
        // distribution by quadrature. u 0.0754793 mg and a 95 % interval of 1.234 mg ± 0.1495658 mg.
        //
        // u also in closed form: P = 1e5 (ρ_a − 1.2)(1/ρ_W − 1/ρ_R) has the variance 1e10 × 0.1²/3 × E[(1/ρ_W − 1/ρ_R)²], with
        // E[1/ρ] = ln(b/a)/(b − a) and E[1/ρ²] = 1/(a b) for a density between a and b.
        let half = |half_width: f64| half_width / 3f64.sqrt();
        let sources = [
            source(Spread::Normal, 0.050),
            source(Spread::Normal, 0.020),
            source(Spread::Rectangular, half(0.10)),
            source(Spread::Rectangular, half(1e3)),
            source(Spread::Rectangular, half(50.0)),
        ];
        let samples = 400_000;
        let mut values: Vec<f64> = (0..samples)
            .map(|sample| {
                let mut generator = SampleGenerator::new(SEED, sample);
                let [mass, added, air, weight, reference] =
                    sources.each_ref().map(|entry| draw(&mut generator, entry));
                let buoyancy = air * (1.0 / (8e3 + weight) - 1.0 / (8e3 + reference));
                (100_000.0 + mass + 1.234 + added) * (1.0 + buoyancy) - 100_000.0
            })
            .collect();
        let n = samples as f64;
        let mean = values.iter().sum::<f64>() / n;
        let u = (values.iter().map(|value| (value - mean).powi(2)).sum::<f64>() / (n - 1.0)).sqrt();
        values.sort_unstable_by(f64::total_cmp);
        let [low, high] = symmetric_interval(&values, 0.95);
        let inverse = |low: f64, high: f64| ((high / low).ln() / (high - low), 1.0 / (low * high));
        let ((of_weight, square_of_weight), (of_reference, square_of_reference)) =
            (inverse(7e3, 9e3), inverse(7950.0, 8050.0));
        let difference = square_of_weight - 2.0 * of_weight * of_reference + square_of_reference;
        let wanted = (0.05f64.powi(2) + 0.02f64.powi(2) + 1e10 * 0.1f64.powi(2) / 3.0 * difference).sqrt();
        assert_abs_diff_eq!(wanted, 0.075_479_3, epsilon = 5e-8);
        // First order, as a linear budget has it, misses the product of air density and density difference.
        assert_abs_diff_eq!(0.05f64.hypot(0.02), 0.0539, epsilon = 1e-4);
        // Four standard errors of 400 000 samples: u/√n = 0.00012 of the mean, u/√(2n) = 0.000084 of u, and
        // √(p q/n)/density = 0.00032 of an end, where the density is 0.78 per mg.
        assert_abs_diff_eq!(mean, 1.234, epsilon = 4.8e-4);
        assert_abs_diff_eq!(u, wanted, epsilon = 3.4e-4);
        assert_abs_diff_eq!(low, 1.234 - 0.149_565_8, epsilon = 1.3e-3);
        assert_abs_diff_eq!(high, 1.234 + 0.149_565_8, epsilon = 1.3e-3);
    }

    #[test]
    fn the_numerical_tolerance_is_half_a_unit_of_the_second_digit() {
        // JCGM 101:2008, 7.9.2, examples: u = 0.000 35 gives 0.5 × 10⁻⁵; u = 2 (two digits: 2.0) gives 0.05.
        assert_abs_diff_eq!(numerical_tolerance(0.00035), 0.5e-5, epsilon = 1e-18);
        assert_abs_diff_eq!(numerical_tolerance(2.0), 0.05, epsilon = 1e-15);
        assert_eq!(numerical_tolerance(0.0), 0.0);
    }

    #[test]
    fn too_few_and_too_many_samples_are_refused() {
        let bench = bench();
        let mixture =
            Mixture { bench: &bench, fitted: None, weight_of_fit: 0.0, warming: None, contradiction: None };
        let slope = Slope::of(AdoptedFrom::Computed, 1e-3, Vec::new());
        for samples in [0, 999, MOST_SAMPLES + 1] {
            assert!(monte_carlo(&mixture, samples, &slope, |_| {}).is_err());
        }
    }
}
