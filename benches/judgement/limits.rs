//! `compare`: the figures of an option and their uncertainties, against pairs built within its tolerance.
//!
//! The decision itself is [`decide`], as `compare` uses it; the pair's own figures are computed anew for each pair built.

use super::check::Verdicts;
use coilwright::files::spec::{Quote, read_bench};
use coilwright::judgement::limit::{Acceptance, Limits, Rule, decide};
use coilwright::numeric::random::SampleGenerator;
use coilwright::pair::{Bench, Distribution};
use coilwright::physics::build_error::{BuildParameter, build_tolerance};
use coilwright::questions::compare::{QuoteFile, Request, compare};
use coilwright::questions::sheet;
use rayon::prelude::*;

/// A figure that a need is held against.
#[derive(Clone, Copy, Debug)]
pub enum Figure {
    LargestField,
    RoomForBulb,
    BeamDeviation,
}

/// All of them.
pub const FIGURES: [Figure; 3] = [Figure::LargestField, Figure::RoomForBulb, Figure::BeamDeviation];

/// What a figure of an option is said to be, and what it is in pairs built.
pub struct Option {
    /// Value and standard uncertainty of each figure.
    stated: [(f64, f64); FIGURES.len()],
    built: Vec<[f64; FIGURES.len()]>,
}

fn built(bench: &Bench, random: &mut SampleGenerator) -> Bench {
    let tolerance = build_tolerance(bench).expect("a build tolerance");
    let mut built = bench.clone();
    for (parameter, coil) in BuildParameter::of(bench) {
        let limit = parameter.limit(&tolerance);
        let by = match parameter.distribution(&tolerance) {
            Distribution::Rectangular => random.rectangular(limit),
            Distribution::Normal => random.normal(0.5 * limit),
        };
        built = parameter.displaced(&built, coil, by);
    }
    built
}

impl Option {
    pub fn of(spec: &'static str, seed: u64, count: u64) -> Self {
        let path = format!("{}/coil-specs/{spec}.json", env!("CARGO_MANIFEST_DIR"));
        let bench = read_bench(&path).expect("an example spec");
        let file =
            QuoteFile { path: path.into(), quote: Quote::of(&bench).expect("a bench that a spec describes") };
        let compared = compare(&[file.clone(), file], &Request::default()).expect("a comparison");
        let option = &compared.options[0];
        let u = &option.standard_uncertainties;
        let field = option.largest_field_tesla.expect("a supply");
        let stated = [
            (field, u.largest_field_tesla.expect("a supply")),
            (option.room_for_bulb_m.expect("a bulb"), u.room_for_bulb_m),
            (option.worst_beam_deviation.expect("a tube").abs(), u.worst_beam_deviation.expect("a tube")),
        ];
        let ampere = field / option.field_constant_tesla_per_ampere.expect("a whole spec").abs();
        let one = |case| {
            let pair = built(&bench, &mut SampleGenerator::new(seed, case));
            let sheet = sheet::sheet(&pair, &sheet::Request::default()).expect("a sheet");
            let centre = pair.tube.as_ref().expect("a tube").bulb_centre_m;
            [
                sheet.field_constant_tesla_per_ampere.abs() * ampere,
                pair.room_for_bulb_m(&centre),
                sheet.beam.expect("a tube").worst_deviation.abs(),
            ]
        };
        Self { stated, built: (0..count).into_par_iter().map(one).collect() }
    }

    /// Verdicts with limits all over the neighbourhood of the figure, and with the limit just where the guard band ends: at
    /// most (for a deviation) or at least.
    pub fn verdicts(&self, figure: Figure, seed: u64) -> (Verdicts, Verdicts) {
        let (value, u) = self.stated[figure as usize];
        let (mut all, mut edge) = (Verdicts::default(), Verdicts::default());
        for (case, built) in self.built.iter().enumerate() {
            let truth = built[figure as usize];
            let mut random = SampleGenerator::new(seed, case as u64);
            // Just inside the band where it says "met", just beyond where it says "missed".
            let sides = [2.000_001, -2.000_001];
            for (times, verdicts) in [(random.rectangular(8.0), &mut all), (sides[case % 2], &mut edge)] {
                let limits = match figure {
                    Figure::BeamDeviation => Limits { low: None, high: Some(value + times * u) },
                    _ => Limits { low: Some(value - times * u), high: None },
                };
                let found = decide(value, u, limits, Rule::default()).expect("a limit");
                let margin = match figure {
                    Figure::BeamDeviation => value + times * u - truth,
                    _ => truth - value + times * u,
                };
                verdicts.count(margin, found.guard_band, Acceptance::of([found.verdict]));
            }
        }
        (all, edge)
    }
}
