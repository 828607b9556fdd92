//! How often the judgement is right, counted over simulated calibrations with planted faults and drawn systematic errors.
//!
//! `COILWRIGHT_SIMULATIONS=20` takes twenty times as many.

use super::hypotheses::Hypotheses;
use super::points::Points;
use super::{Cause, Hypothesis, Judged, judge_readings};
use crate::judgement::{Effect, weigh_faults};
use crate::numeric::random::SampleGenerator;
use crate::pair::{Bench, FieldMeter};
use crate::physics::field::Assembly;
use crate::questions::calibrate::fit::{Fit, fit, fit_budget};
use crate::questions::calibrate::readings::{Reading, Readings};
use crate::questions::calibrate::slope::{AdoptedFrom, Slope};
use crate::questions::calibrate::{adoption, agreement, budget, tests};
use nalgebra::Vector3;

/// Standard uncertainty of one field reading.
const SCATTER_TESLA: f64 = 1.5e-6;
const LEVELS_AMPERE: [f64; 4] = [0.6, 1.2, 1.8, 2.4];

fn times() -> u64 {
    std::env::var("COILWRIGHT_SIMULATIONS").ok().and_then(|text| text.parse().ok()).unwrap_or(1)
}

struct Laboratory {
    bench: Bench,
    assembly: Assembly,
    computed: Slope,
}

impl Laboratory {
    fn new() -> Self {
        let mut bench = tests::bench();
        bench.field_meter = Some(FieldMeter { accuracy_of_reading: Some(0.015), zero_tesla: Some(4e-6) });
        let assembly = Assembly::of(&bench);
        let k = assembly.field_per_ampere(&Vector3::zeros()).z;
        let computed = Slope::of(AdoptedFrom::Computed, k, budget::of_the_build(&bench).unwrap());
        Self { bench, assembly, computed }
    }

    /// Sixteen readings, half with the probe turned round; every systematic error drawn from its stated distribution. Returns
    /// the true slope too.
    fn readings(&self, random: &mut SampleGenerator) -> (Readings, f64) {
        self.readings_of(1.0, random)
    }

    /// The same of a pair that is connected so that it makes this part of its field.
    fn readings_of(&self, part: f64, random: &mut SampleGenerator) -> (Readings, f64) {
        let ammeter = self.bench.ammeter.unwrap();
        let probe_gain = random.rectangular(0.015);
        let ammeter_gain = random.rectangular(ammeter.gain_limit());
        let ammeter_zero = random.rectangular(ammeter.digits_limit());
        let before_reversal = random.unit() < 0.5;
        let k = self.computed.tesla_per_ampere
            + random.normal(self.computed.standard_uncertainty_tesla_per_ampere);
        let (room, zero) = (random.rectangular(40e-6), random.rectangular(4e-6));
        let mut readings = Vec::new();
        for turned in [1.0, -1.0] {
            for sign in [-1.0, 1.0] {
                for level in LEVELS_AMPERE {
                    let shown = sign * level;
                    let off = ammeter_zero * if before_reversal { sign } else { 1.0 };
                    let true_ampere = (shown - off) / (1.0 + ammeter_gain);
                    let field = turned * (part * k * true_ampere + room);
                    readings.push(Reading {
                        line: readings.len() as u64 + 2,
                        label: None,
                        current_ampere: shown,
                        field_tesla: (1.0 + probe_gain) * field + zero + random.normal(SCATTER_TESLA),
                        current_uncertainty_ampere: None,
                        field_uncertainty_tesla: Some(SCATTER_TESLA),
                        probe_m: Vector3::zeros(),
                        direction: turned * Vector3::z(),
                    });
                }
            }
        }
        (Readings { path: "simulated.csv".into(), sheet: None, readings, same_ammeter: false }, k)
    }

    fn judged(&self, readings: &Readings) -> (Judged, Fit) {
        let fit = fit(readings, &self.assembly).unwrap();
        (judge_readings(&self.bench, &self.assembly, &self.computed, readings, &fit).unwrap(), fit)
    }

    /// What five standard uncertainties of a fault do to each reading, or what the fault does where it is all or nothing.
    fn effects(&self) -> Vec<(Hypothesis, Vec<f64>)> {
        let (clean, _) = self.readings(&mut SampleGenerator::new(3, 0));
        let fit = fit(&clean, &self.assembly).unwrap();
        let points = Points::of(&clean, &fit, &self.computed);
        let faults = Hypotheses {
            bench: &self.bench,
            assembly: &self.assembly,
            computed: &self.computed,
            points: &points,
        }
        .all();
        let evidence = weigh_faults(&points.data(&self.bench, &self.computed).unwrap(), &faults).unwrap();
        let linear = faults.iter().zip(&evidence.faults).filter_map(|(fault, found)| {
            let Effect::Linear(effect) = &fault.effect else { return None };
            let size =
                if fault.cause.cause.is_all_or_nothing() { 1.0 } else { 5.0 * found.standard_uncertainty };
            Some((fault.cause, effect.iter().map(|unit| size * unit).collect()))
        });
        linear.collect()
    }
}

/// The part of its field that a pair makes which is connected wrongly; of coils that cancel, what two
/// that are not quite alike leave.
fn part_of_the_field(cause: Cause) -> Option<f64> {
    match cause {
        Cause::CoilReversed => Some(0.002),
        Cause::LeadsReversed => Some(-1.0),
        Cause::OneCoilOrParallel => Some(0.5),
        _ => None,
    }
}

/// Whether the class of this rank holds the hypothesis.
fn holds(judged: &Judged, rank: usize, planted: Hypothesis) -> bool {
    let line = planted.reading.map(|reading| reading as u64 + 2);
    judged.classes.get(rank).is_some_and(|class| {
        class.members.iter().any(|one| {
            one.cause == planted.cause
                && (line.is_none() || one.line == line)
                && (planted.power.is_none() || one.power_of_ten == planted.power)
        })
    })
}

#[test]
fn clean_readings_are_accused_in_at_most_one_case_of_twenty() {
    let laboratory = Laboratory::new();
    let count = 300 * times();
    let found = (0..count).filter(|case| {
        let (readings, _) = laboratory.readings(&mut SampleGenerator::new(21, *case));
        laboratory.judged(&readings).0.none < 0.5
    });
    let found = found.count() as f64 / count as f64;
    println!("clean: {:.2} % with a finding, of {count}", 100.0 * found);
    assert!(found <= 0.05, "{found}");
}

#[test]
fn a_planted_fault_of_five_standard_uncertainties_is_first_in_nine_cases_of_ten() {
    let laboratory = Laboratory::new();
    let count = 40 * times();
    let wanted = [
        Cause::UnitsMixedUp,
        Cause::CoilReversed,
        Cause::LeadsReversed,
        Cause::OneCoilOrParallel,
        Cause::TurnsMissing,
        Cause::Spacing,
        Cause::ProbeGain,
        Cause::AmmeterGain,
        Cause::AmmeterZero,
        Cause::MisreadReading,
        Cause::Drift,
    ];
    let effects = laboratory.effects();
    for cause in wanted {
        let members: Vec<&(Hypothesis, Vec<f64>)> =
            effects.iter().filter(|(hypothesis, _)| hypothesis.cause == cause).collect();
        let (mut first, mut two, mut wrong) = (0.0, 0.0, 0.0);
        for case in 0..count {
            let mut random = SampleGenerator::new(22, case);
            let (planted, effect) = members[random.whole(members.len())];
            let sign = if cause.is_all_or_nothing() || random.unit() < 0.5 { 1.0 } else { -1.0 };
            let (planted, readings) = match part_of_the_field(cause) {
                // What is all or nothing acts on pair or file, not on the readings' sum.
                Some(part) => (*planted, laboratory.readings_of(part, &mut random).0),
                None if cause == Cause::UnitsMixedUp => {
                    let power = [1, -1, 2, -2, 3, 4][random.whole(6)];
                    let (mut readings, _) = laboratory.readings(&mut random);
                    for reading in &mut readings.readings {
                        reading.field_tesla *= 10f64.powi(power);
                        reading.field_uncertainty_tesla = Some(SCATTER_TESLA * 10f64.powi(power));
                    }
                    (Hypothesis { power: Some(power), ..*planted }, readings)
                }
                None => {
                    let (mut readings, _) = laboratory.readings(&mut random);
                    for (reading, effect) in readings.readings.iter_mut().zip(effect) {
                        reading.field_tesla += sign * effect;
                    }
                    (*planted, readings)
                }
            };
            let (judged, _) = laboratory.judged(&readings);
            first += f64::from(u8::from(holds(&judged, 0, planted)));
            two += f64::from(u8::from(holds(&judged, 0, planted) || holds(&judged, 1, planted)));
            let wrongly = judged.classes.first().is_some_and(|class| class.probability > 0.5)
                && !holds(&judged, 0, planted);
            wrong += f64::from(u8::from(wrongly));
        }
        let [first, two, wrong] = [first, two, wrong].map(|share: f64| share / count as f64);
        println!(
            "{cause:?}: first {first:.3}, first two {two:.3}, wrong above one half {wrong:.3}, of {count}"
        );
        // Two and a half standard errors of a count.
        let slack = |share: f64| 2.5 * (share * (1.0 - share) / count as f64).sqrt();
        assert!(first >= 0.9 - slack(0.9), "{cause:?} first in {first}");
        assert!(two >= 0.98 - slack(0.98), "{cause:?} among the first two in {two}");
        assert!(wrong <= 0.02 + slack(0.02), "{cause:?} wrongly {wrong}");
    }
}

#[test]
fn forgotten_flip_flags_are_named() {
    let laboratory = Laboratory::new();
    for case in 0..20 * times() {
        let (mut readings, _) = laboratory.readings(&mut SampleGenerator::new(23, case));
        readings.readings.iter_mut().for_each(|reading| reading.direction = Vector3::z());
        let (judged, _) = laboratory.judged(&readings);
        assert_eq!(judged.classes[0].cause, Cause::FlipFlagsForgotten, "{judged:?}");
        assert!(judged.classes[0].probability > 0.99);
    }
}

#[test]
fn expanded_uncertainties_of_the_adopted_slope_hold_the_true_one() {
    let laboratory = Laboratory::new();
    let count = 300 * times();
    let (mut held, mut adopted, mut fit_held) = (0, 0, 0);
    for case in 0..count {
        let (readings, k) = laboratory.readings(&mut SampleGenerator::new(24, case));
        let (judged, fit) = laboratory.judged(&readings);
        let budget = fit_budget(&fit, &laboratory.bench);
        let fitted = Slope::of(AdoptedFrom::Fit, fit.slope_tesla_per_ampere, budget);
        let within =
            |slope: &Slope| (slope.tesla_per_ampere - k).abs() <= slope.expanded_uncertainty_tesla_per_ampere;
        fit_held += u64::from(within(&fitted));
        let agreement = agreement::Agreement::of(&laboratory.computed, &fitted, judged).unwrap();
        if agreement.dispute().is_some() {
            continue;
        }
        let weight = adoption::weight_of_fit(&laboratory.computed, &fitted, None, false);
        adopted += 1;
        held += u64::from(within(&adoption::combined(&laboratory.computed, &fitted, weight)));
    }
    let [of_fit, of_adopted] =
        [(fit_held, count), (held, adopted)].map(|(held, all)| held as f64 / all as f64);
    println!("coverage: fit {of_fit:.4}, combined {of_adopted:.4}, adopted in {adopted} of {count}");
    // k = 2 claims 0.9545 and may fall short by 0.01; 300 cases leave 0.012 open, three times over.
    let slack = 0.01 + 3.0 * (0.9545 * 0.0455 / count as f64).sqrt();
    assert!(of_fit > 0.9545 - slack && of_adopted > 0.9545 - slack, "{of_fit} {of_adopted}");
    assert!(adopted as f64 >= 0.92 * count as f64, "{adopted}");
}
