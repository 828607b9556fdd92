//! The verdict on faults: most likely, cannot tell, or nothing found.

use super::classes::{Class, Judgement};
use super::data::Data;
use super::evidence::weigh_faults;
use super::fault::{Effect, Fault, Sizes};
use crate::Result;

/// A fault is reported if "none" is less probable than this.
const NONE_BELOW: f64 = 0.5;
/// A class is called most likely from this probability on.
const LIKELY_FROM: f64 = 0.5;
/// Classes less probable than this are not worth a measurement.
const WORTH_NAMING: f64 = 0.05;
/// A fault is found in nine cases of ten if it is this many standard uncertainties larger than one just found on
/// average.
const NINE_IN_TEN: f64 = 1.281_6;

/// The verdict on the faults.
#[derive(Clone, Debug, PartialEq)]
pub enum Verdict<C> {
    /// One class is more probable than all else together.
    MostLikely {
        /// That class.
        class: Class<C>,
        /// The next, if worth naming.
        runner_up: Option<Class<C>>,
    },
    /// Something is wrong, and no class is more probable than all else together.
    CannotTell {
        /// The classes worth naming, most probable first.
        classes: Vec<Class<C>>,
    },
    /// No fault is more probable than the absence of any.
    NothingFound,
}

/// The smallest fault that would have been found.
#[derive(Clone, Debug, PartialEq)]
pub struct Detectable<C> {
    /// The caller's name for it.
    pub cause: C,
    /// The size from which on it is found in nine cases of ten; infinite if these data do not show it.
    pub size: f64,
}

impl<C: Clone> Judgement<C> {
    /// The verdict that these probabilities allow.
    pub fn verdict(&self) -> Verdict<C> {
        if self.none >= NONE_BELOW {
            return Verdict::NothingFound;
        }
        let named = || self.classes.iter().filter(|class| class.probability >= WORTH_NAMING).cloned();
        match named().next() {
            Some(class) if class.probability >= LIKELY_FROM => {
                Verdict::MostLikely { class, runner_up: named().nth(1) }
            }
            _ => Verdict::CannotTell { classes: named().collect() },
        }
    }
}

impl<C: Clone> Detectable<C> {
    /// The smallest size of each fault that data like these would have shown if it were the only one. It is the size at
    /// which the posterior probability against "none" reaches one half at the mean of the scatter, plus 1.28 standard
    /// uncertainties for nine cases of ten. Curved faults are left out.
    pub fn of(data: &Data, faults: &[Fault<'_, C>]) -> Result<Vec<Self>> {
        let evidence = weigh_faults(data, faults)?;
        let none = 1.0 - faults.iter().map(Fault::prior_of_one).sum::<f64>();
        let linear = faults
            .iter()
            .zip(&evidence.faults)
            .filter(|(fault, _)| matches!(fault.effect, Effect::Linear(_)));
        Ok(linear
            .map(|(fault, found)| {
                let deviation = found.standard_uncertainty;
                let odds = fault.prior_of_one() / none;
                let size = if deviation.is_finite() {
                    deviation * (strength_just_found(odds, fault.sizes, deviation) + NINE_IN_TEN)
                } else {
                    f64::INFINITY
                };
                Self { cause: fault.cause.clone(), size }
            })
            .collect())
    }
}

/// z at which prior odds × Bayes factor is 1: z²/2 + ln(σ √(2π) density(zσ)) + ln odds = 0, by bisection.
fn strength_just_found(odds: f64, sizes: Sizes, deviation: f64) -> f64 {
    let balance = |z: f64| {
        0.5 * z * z
            + (deviation * (2.0 * std::f64::consts::PI).sqrt()).ln()
            + sizes.ln_density(z * deviation)
            + odds.ln()
    };
    let (mut low, mut high) = (1.0, 40.0);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if balance(middle) < 0.0 { low = middle } else { high = middle }
    }
    high
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::judgement::judge;
    use crate::numeric::random::SampleGenerator;

    /// Ten data on a line; the faults are a slope, a bump in one of the ten, and a bend.
    fn faults() -> Vec<Fault<'static, usize>> {
        let line =
            |power: i32| (0..10).map(|i| f64::from(i).powi(power) / 9f64.powi(power)).collect::<Vec<_>>();
        let sizes = Sizes::LogUniformEitherSign { smallest: 0.5, largest: 40.0 };
        let mut faults = vec![
            Fault { cause: 0, effect: Effect::Linear(line(1)), sizes, prior: 0.1, choices: 1 },
            Fault { cause: 1, effect: Effect::Linear(line(3)), sizes, prior: 0.1, choices: 1 },
        ];
        for i in 0..10 {
            let mut unit = vec![0.0; 10];
            unit[i] = 1.0;
            faults.push(Fault { cause: 2 + i, effect: Effect::Linear(unit), sizes, prior: 0.2, choices: 10 });
        }
        faults
    }

    #[test]
    fn stated_probabilities_match_how_often_they_are_right() {
        // The truth is drawn from the priors; of the classes stated with about some probability, that share is right.
        // 4000 drawings.
        let faults = faults();
        let mut bins = [(0.0, 0.0, 0.0); 10];
        let mut wrong_claims = 0;
        const DRAWINGS: u64 = 4000;
        for drawing in 0..DRAWINGS {
            let mut random = SampleGenerator::new(11, drawing);
            let mut data: Vec<f64> = (0..10).map(|_| random.normal(1.0)).collect();
            let pick = random.unit();
            let mut sum = 0.0;
            let truth = faults.iter().position(|fault| {
                sum += fault.prior / fault.choices as f64;
                pick < sum
            });
            if let Some(i) = truth {
                let size = 0.5 * 80f64.powf(random.unit()) * if random.unit() < 0.5 { 1.0 } else { -1.0 };
                let Effect::Linear(unit) = &faults[i].effect else { panic!("linear") };
                data.iter_mut().zip(unit).for_each(|(value, unit)| *value += size * unit);
            }
            let data = Data::independent(&data, &[1.0; 10]).unwrap().fitting(vec![1.0; 10]);
            let judgement = judge(&faults, &weigh_faults(&data, &faults).unwrap()).unwrap();
            for class in &judgement.classes {
                let right = truth.is_some_and(|i| class.contains(&i));
                let bin = ((class.probability * 10.0) as usize).min(9);
                bins[bin].0 += 1.0;
                bins[bin].1 += class.probability;
                bins[bin].2 += f64::from(u8::from(right));
                wrong_claims += u32::from(class.probability > 0.5 && !right);
            }
        }
        for (count, stated, right) in bins {
            // 0.05, or three standard errors of the count if it is small.
            let allowed: f64 = 0.05_f64.max(3.0 * (0.25_f64 / count).sqrt());
            assert!((stated / count - right / count).abs() < allowed, "{count} {stated} {right}");
        }
        assert!(f64::from(wrong_claims) < 0.02 * DRAWINGS as f64, "{wrong_claims}");
    }

    #[test]
    fn what_is_called_detectable_is_found_in_about_nine_cases_of_ten() {
        let faults = faults();
        let clean = Data::independent(&[0.0; 10], &[1.0; 10]).unwrap().fitting(vec![1.0; 10]);
        let detectable = Detectable::of(&clean, &faults).unwrap();
        let Effect::Linear(unit) = &faults[0].effect else { panic!("linear") };
        let found = (0..400).filter(|drawing| {
            let mut random = SampleGenerator::new(5, *drawing);
            let data: Vec<f64> =
                unit.iter().map(|unit| random.normal(1.0) + detectable[0].size * unit).collect();
            let data = Data::independent(&data, &[1.0; 10]).unwrap().fitting(vec![1.0; 10]);
            let judgement = judge(&faults, &weigh_faults(&data, &faults).unwrap()).unwrap();
            judgement.verdict() != Verdict::NothingFound
        });
        // 400 drawings have a standard error of 1.5 %. Other faults may be blamed too, so the share is a little above
        // nine in ten.
        let found = found.count();
        assert!((340..=400).contains(&found), "{found}");
    }

    #[test]
    fn clean_data_say_nothing_found() {
        let faults = faults();
        let found = (0..1000).filter(|drawing| {
            let mut random = SampleGenerator::new(6, *drawing);
            let data: Vec<f64> = (0..10).map(|_| random.normal(1.0)).collect();
            let data = Data::independent(&data, &[1.0; 10]).unwrap().fitting(vec![1.0; 10]);
            let judgement = judge(&faults, &weigh_faults(&data, &faults).unwrap()).unwrap();
            judgement.verdict() != Verdict::NothingFound
        });
        let found = found.count();
        assert!(found <= 50, "{found} of 1000");
    }
}
