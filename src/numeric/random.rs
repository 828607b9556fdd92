//! Random numbers that do not depend on the number of threads: one generator per sample, never one per thread.

use rand_distr::{Distribution, StandardNormal};
use rand_xoshiro::Xoshiro256PlusPlus;
use rand_xoshiro::rand_core::{Rng, SeedableRng};

/// The generator of one sample of a Monte Carlo run.
///
/// xoshiro256++ (D. Blackman and S. Vigna, ACM Trans. Math. Softw. 47, 36 (2021)), its state filled by SplitMix64 from
/// seed and sample number, so that neighbouring samples start far apart.
#[derive(Clone, Debug)]
pub struct SampleGenerator(Xoshiro256PlusPlus);

impl SampleGenerator {
    /// The generator of sample number `sample` of the run with this seed.
    pub fn new(seed: u64, sample: u64) -> Self {
        // An odd constant (2^64 over the golden ratio) keeps runs of neighbouring seeds from sharing samples.
        Self(Xoshiro256PlusPlus::seed_from_u64(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) ^ sample))
    }

    /// Uniform in [0, 1), 53 bits.
    pub fn unit(&mut self) -> f64 {
        (self.0.next_u64() >> 11) as f64 * (0.5f64).powi(53)
    }

    /// Uniform in ±half_width.
    pub fn rectangular(&mut self, half_width: f64) -> f64 {
        half_width * (2.0 * self.unit() - 1.0)
    }

    /// Normal about zero.
    pub fn normal(&mut self, standard_deviation: f64) -> f64 {
        let standard: f64 = StandardNormal.sample(&mut self.0);
        standard_deviation * standard
    }

    /// A whole number from 0 to `below` − 1; `below` must not be 0. The bias is below `below`/2^53.
    pub fn whole(&mut self, below: usize) -> usize {
        ((self.unit() * below as f64) as usize).min(below - 1)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn moments(draw: impl Fn(&mut SampleGenerator) -> f64) -> (f64, f64) {
        const N: u64 = 20_000;
        let values: Vec<f64> = (0..N).map(|sample| draw(&mut SampleGenerator::new(7, sample))).collect();
        let mean = values.iter().sum::<f64>() / N as f64;
        (mean, (values.iter().map(|value| (value - mean).powi(2)).sum::<f64>() / N as f64).sqrt())
    }

    #[test]
    fn first_draws_of_neighbouring_samples_have_the_moments_they_claim() {
        // 20 000 draws: mean within 4 standard errors, standard deviation within 2 %.
        let (mean, deviation) = moments(|generator| generator.rectangular(3.0));
        assert!(mean.abs() < 4.0 * 3f64.sqrt() / 141.0 && (deviation / 3f64.sqrt() - 1.0).abs() < 0.02);
        let (mean, deviation) = moments(|generator| generator.normal(2.0));
        assert!(mean.abs() < 4.0 * 2.0 / 141.0 && (deviation / 2.0 - 1.0).abs() < 0.02);
    }

    #[test]
    fn the_same_sample_gives_the_same_numbers_and_another_gives_others() {
        let first = |seed, sample| SampleGenerator::new(seed, sample).unit();
        assert_eq!(first(1, 5), first(1, 5));
        assert_ne!(first(1, 5), first(1, 6));
        assert_ne!(first(1, 5), first(2, 5));
    }
}
