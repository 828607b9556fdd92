//! `calibrate`: readings of a pair built at random within its tolerance with meters within their limits, one fault planted
//! in some of them; and how often the intervals of the slope hold the true one.

use super::count::{Said, standard_uncertainty};
use coilwright::files::spec::read_bench;
use coilwright::judgement::priors;
use coilwright::numeric::random::SampleGenerator;
use coilwright::pair::{AmmeterPosition, Bench, Distribution};
use coilwright::physics::budget_source::BudgetSource;
use coilwright::physics::build_error::{
    BuildParameter, build_tolerance, field_constant_standard_uncertainty_tesla_per_ampere,
    field_constant_tesla_per_ampere,
};
use coilwright::physics::field::Assembly;
use coilwright::questions::calibrate::agreement::{Agreement, Dispute};
use coilwright::questions::calibrate::causes::{Cause, CauseClass};
use coilwright::questions::calibrate::{AdoptedFrom, Outcome, Reading, Readings, Request, Slope, outcome};
use nalgebra::Vector3;
use rayon::prelude::*;

/// Standard uncertainty of one field reading.
const SCATTER_TESLA: f64 = 1.5e-6;
/// Room and probe's zero, as limits.
const ROOM_TESLA: f64 = 40e-6;

/// One set of readings on one bench.
#[derive(Clone, Copy, Debug)]
pub struct Setup {
    /// The bench's spec, in `coil-specs/`.
    pub spec: &'static str,
    /// How many readings.
    pub readings: usize,
    /// Whether half of them are with the current reversed.
    pub both_directions: bool,
    /// Whether half of them are with the probe turned round.
    pub turned: bool,
    /// Whether their uncertainty is stated.
    pub stated: bool,
    /// Whether the spec says where the ammeter stands.
    pub position: bool,
}

/// The readings that the wanted figures are counted on.
pub const WANTED: Setup = Setup {
    spec: "window-bench",
    readings: 12,
    both_directions: true,
    turned: true,
    stated: true,
    position: true,
};

/// A fault of readings.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Planted {
    MisreadReading,
    MisreadCurrent,
    NotStraight,
    Drift,
    AmmeterZero,
    ProbeGain,
    AmmeterGain,
    TurnsMissing,
    Spacing,
    MeanRadius,
    ProbeTilted,
    ProbeAlongAxis,
    UnitsMixedUp,
    UnitsOfOneReading,
    CoilReversed,
    LeadsReversed,
    OneCoilAlone,
    FlipFlagsForgotten,
    /// Fields in another unit than the heading's, their uncertainties in the heading's.
    FieldsInAnotherUnit,
}

/// All of them.
pub const FAULTS: [Planted; 19] = [
    Planted::MisreadReading,
    Planted::MisreadCurrent,
    Planted::NotStraight,
    Planted::Drift,
    Planted::AmmeterZero,
    Planted::ProbeGain,
    Planted::AmmeterGain,
    Planted::TurnsMissing,
    Planted::Spacing,
    Planted::MeanRadius,
    Planted::ProbeTilted,
    Planted::ProbeAlongAxis,
    Planted::UnitsMixedUp,
    Planted::UnitsOfOneReading,
    Planted::CoilReversed,
    Planted::LeadsReversed,
    Planted::OneCoilAlone,
    Planted::FlipFlagsForgotten,
    Planted::FieldsInAnotherUnit,
];

impl Planted {
    fn cause(self, bench: &Bench) -> Cause {
        match self {
            Self::MisreadReading => Cause::MisreadReading,
            Self::MisreadCurrent => Cause::MisreadCurrent,
            Self::NotStraight => Cause::NotStraight,
            Self::Drift => Cause::Drift,
            Self::AmmeterZero => Cause::AmmeterZero,
            Self::ProbeGain => Cause::ProbeGain,
            Self::AmmeterGain => Cause::AmmeterGain,
            Self::TurnsMissing => Cause::TurnsMissing,
            Self::Spacing => Cause::Spacing,
            Self::MeanRadius => Cause::MeanRadius,
            Self::ProbeAlongAxis => Cause::ProbeAlongAxis,
            Self::ProbeTilted => Cause::ProbeTilted,
            Self::UnitsMixedUp | Self::FieldsInAnotherUnit => Cause::UnitsMixedUp,
            Self::UnitsOfOneReading => Cause::UnitsOfOneReading,
            Self::CoilReversed => Cause::CoilReversed,
            Self::LeadsReversed => Cause::LeadsReversed,
            Self::OneCoilAlone if bench.connection == coilwright::pair::Connection::Parallel => {
                Cause::SeriesNotParallel
            }
            Self::OneCoilAlone => Cause::OneCoilOrParallel,
            Self::FlipFlagsForgotten => Cause::FlipFlagsForgotten,
        }
    }

    /// Whether a size in standard uncertainties means something, and one of five is possible.
    pub fn has_size(self) -> bool {
        !matches!(
            self,
            Self::ProbeAlongAxis
                | Self::UnitsMixedUp
                | Self::UnitsOfOneReading
                | Self::FieldsInAnotherUnit
                | Self::CoilReversed
                | Self::LeadsReversed
                | Self::OneCoilAlone
                | Self::FlipFlagsForgotten
        )
    }

    /// How common the table of priors takes it to be.
    fn prior(self) -> f64 {
        match self {
            Self::MisreadReading | Self::MisreadCurrent => 0.5 * priors::MISREAD_READING,
            Self::NotStraight => priors::NOT_STRAIGHT,
            Self::Drift => priors::DRIFT,
            Self::AmmeterZero => priors::AMMETER_OFFSET,
            Self::ProbeGain | Self::AmmeterGain => priors::METER_GAIN,
            Self::TurnsMissing => priors::TURNS_MISCOUNTED,
            Self::Spacing => priors::SPACING_OFF,
            Self::MeanRadius => priors::MEAN_RADIUS_OFF,
            // Along the axis or across it.
            Self::ProbeAlongAxis => priors::PROBE_OFF_CENTRE,
            Self::ProbeTilted => priors::PROBE_TILTED,
            Self::UnitsMixedUp | Self::FieldsInAnotherUnit => 0.35 * priors::UNIT_MIX_UP,
            Self::UnitsOfOneReading => 0.2 * priors::UNIT_MIX_UP,
            Self::CoilReversed => priors::COIL_REVERSED,
            Self::LeadsReversed | Self::OneCoilAlone => 0.5 * priors::WRONG_CONNECTION,
            Self::FlipFlagsForgotten => priors::FLIP_FORGOTTEN,
        }
    }
}

/// A bench with the settings of its readings.
pub struct Laboratory {
    pub setup: Setup,
    bench: Bench,
    /// Shown currents and probe directions, in the order of the file.
    settings: Vec<(f64, f64)>,
    k: f64,
    relative_build: f64,
}

/// What a calibration says of readings without fault.
pub struct Clean {
    pub said: Said,
    /// Why no line is adopted.
    pub refused: Option<Dispute>,
    /// Whether a reading is marked as standing out.
    pub marked: bool,
    /// Whether their uncertainties are called too small.
    pub enlarged: bool,
}

/// What was true of one set of readings.
struct Drawn {
    readings: Vec<Reading>,
    /// The true slope at the room's temperature.
    k: f64,
}

impl Laboratory {
    pub fn of(setup: Setup) -> Self {
        let path = format!("{}/coil-specs/{}.json", env!("CARGO_MANIFEST_DIR"), setup.spec);
        let mut bench = read_bench(&path).expect("an example spec");
        // What a beam does with the line is another question.
        bench.tube = None;
        bench.ammeter_position = setup.position.then_some(AmmeterPosition::BeforeReversal);
        let k = field_constant_tesla_per_ampere(&Assembly::of(&bench));
        let u = field_constant_standard_uncertainty_tesla_per_ampere(&bench).expect("a build tolerance");
        let settings = settings(setup, bench.current_limit_ampere().unwrap_or(2.8));
        Self { setup, bench, settings, k, relative_build: u / k }
    }

    /// A pair built within its tolerance.
    fn built(&self, random: &mut SampleGenerator) -> Bench {
        let tolerance = build_tolerance(&self.bench).expect("a build tolerance");
        let mut built = self.bench.clone();
        for (parameter, coil) in BuildParameter::of(&self.bench) {
            let limit = parameter.limit(&tolerance);
            let by = match parameter.distribution(&tolerance) {
                Distribution::Rectangular => random.rectangular(limit),
                Distribution::Normal => random.normal(0.5 * limit),
            };
            built = parameter.displaced(&built, coil, by);
        }
        built
    }

    /// Readings of a sound pair that makes `part` of its field.
    fn readings(&self, part: f64, random: &mut SampleGenerator) -> Drawn {
        let (ammeter, probe) = (self.bench.ammeter, self.bench.field_meter);
        let probe_limit = probe.and_then(|meter| meter.accuracy_of_reading).unwrap_or(0.0);
        let zero_limit = probe.and_then(|meter| meter.zero_tesla).unwrap_or(0.0);
        let probe_gain = random.rectangular(probe_limit);
        let ammeter_gain = random.rectangular(ammeter.map_or(0.0, |meter| meter.gain_limit()));
        let ammeter_zero = random.rectangular(ammeter.map_or(0.0, |meter| meter.digits_limit()));
        let resolution = self.resolution_ampere();
        let before_reversal = random.unit() < 0.5 || self.setup.position;
        let k = field_constant_tesla_per_ampere(&Assembly::of(&self.built(random)));
        let (room, zero) = (random.rectangular(ROOM_TESLA), random.rectangular(zero_limit));
        let reading = |(i, (shown, turned)): (usize, &(f64, f64))| {
            let off = ammeter_zero * if before_reversal { shown.signum() } else { 1.0 };
            // What is shown is rounded to the meter's resolution.
            let current = shown + random.rectangular(0.5 * resolution);
            let field = turned * (part * k * (current - off) / (1.0 + ammeter_gain) + room);
            Reading {
                line: i as u64 + 2,
                label: None,
                current_ampere: *shown,
                field_tesla: (1.0 + probe_gain) * field + zero + random.normal(SCATTER_TESLA),
                current_uncertainty_ampere: None,
                field_uncertainty_tesla: self.setup.stated.then_some(SCATTER_TESLA),
                current_field_correlation: 0.0,
                current_shared: None,
                field_shared: None,
                probe_m: Vector3::zeros(),
                direction: *turned * Vector3::z(),
            }
        };
        Drawn { readings: self.settings.iter().enumerate().map(reading).collect(), k }
    }

    fn asked(readings: Vec<Reading>) -> Request {
        let readings = Readings {
            path: "readings.csv".into(),
            sheet: None,
            readings,
            same_ammeter: false,
            rounding_ampere: None,
            zero_before_reversal_ampere: None,
            left_out: Vec::new(),
        };
        Request { readings: Some(readings), ..Request::default() }
    }

    fn agreement(&self, readings: Vec<Reading>) -> (Agreement, Outcome) {
        let outcome = outcome(&self.bench, &Self::asked(readings)).expect("readings that give a line");
        let agreement = match &outcome {
            Outcome::Calibrated(one) => one.agreement.clone().expect("readings"),
            Outcome::Refused(one) => one.agreement.clone(),
        };
        (agreement, outcome)
    }

    /// What a unit of a fault does to each reading: T for a reading or a drift, A for the ammeter's zero, else a part of k.
    fn effect(&self, planted: Planted, place: usize) -> Vec<f64> {
        let n = self.settings.len();
        let each = |of: &dyn Fn(usize, f64, f64) -> f64| {
            self.settings.iter().enumerate().map(|(i, (shown, turned))| of(i, *shown, *turned)).collect()
        };
        match planted {
            Planted::MisreadReading => each(&|i, _, _| f64::from(u8::from(i == place))),
            Planted::MisreadCurrent => each(&|i, _, turned| match i == place {
                true => -turned * self.k,
                false => 0.0,
            }),
            // As the third power, up to one at the largest current.
            Planted::NotStraight => {
                each(&|_, shown, turned| turned * self.k * self.largest() * (shown / self.largest()).powi(3))
            }
            Planted::Drift => each(&|i, _, _| i as f64 / (n - 1) as f64 - 0.5),
            Planted::AmmeterZero => each(&|_, shown, turned| -turned * self.k * shown.signum()),
            _ => each(&|_, shown, turned| turned * self.k * shown),
        }
    }

    /// To what the ammeter rounds.
    fn resolution_ampere(&self) -> f64 {
        self.bench.ammeter.and_then(|meter| meter.resolution).unwrap_or(0.0)
    }

    /// The largest current.
    fn largest(&self) -> f64 {
        self.settings.iter().map(|(shown, _)| shown.abs()).fold(0.0, f64::max)
    }

    /// Standard uncertainty of a fault's size in these readings.
    pub fn determined(&self, planted: Planted, place: usize) -> f64 {
        let rectangular = |limit: f64| Distribution::Rectangular.standard_uncertainty(limit);
        let (ammeter, probe) = (self.bench.ammeter, self.bench.field_meter);
        let gain = self
            .relative_build
            .hypot(rectangular(probe.and_then(|meter| meter.accuracy_of_reading).unwrap_or(0.0)))
            .hypot(rectangular(ammeter.map_or(0.0, |meter| meter.gain_limit())));
        let zero = rectangular(ammeter.map_or(0.0, |meter| meter.digits_limit()));
        let scaled = |effect: Vec<f64>, by: f64| effect.into_iter().map(|it| it * by).collect::<Vec<f64>>();
        let shared = [
            scaled(self.effect(Planted::ProbeGain, 0), gain),
            scaled(self.effect(Planted::AmmeterZero, 0), zero),
        ];
        let free: Vec<Vec<f64>> = [1.0, -1.0]
            .map(|side| self.settings.iter().map(|it| f64::from(u8::from(it.1 == side))).collect())
            .into_iter()
            .filter(|of: &Vec<f64>| of.iter().any(|it| *it != 0.0))
            .collect();
        let rounding = self.k * rectangular(0.5 * self.resolution_ampere());
        let own = vec![SCATTER_TESLA.hypot(rounding); self.settings.len()];
        standard_uncertainty(&self.effect(planted, place), &own, &shared, &free)
    }

    /// Sets of readings without fault.
    pub fn clean(&self, seed: u64, count: u64) -> Vec<Clean> {
        let one = |case| {
            let drawn = self.readings(1.0, &mut SampleGenerator::new(seed, case));
            let (agreement, outcome) = self.agreement(drawn.readings);
            let fit = match &outcome {
                Outcome::Calibrated(one) => one.fit.as_ref().expect("readings"),
                Outcome::Refused(one) => &one.fit,
            };
            Clean {
                said: self.said(None, &agreement),
                refused: agreement.dispute(),
                marked: fit.residuals.iter().any(|reading| reading.outlier),
                enlarged: fit.scatter_factor.is_some_and(|factor| factor > 1.0),
            }
        };
        (0..count).into_par_iter().map(one).collect()
    }

    /// Whether a fault of so many standard uncertainties changes no reading by more than the largest field. One that a
    /// free intercept absorbs, as the ammeter's zero with the current one way only, has no bound.
    pub fn is_possible(&self, planted: Planted, times: f64) -> bool {
        let largest = |of: &mut dyn Iterator<Item = f64>| of.map(f64::abs).fold(0.0, f64::max);
        let field = largest(&mut self.settings.iter().map(|(shown, _)| shown * self.k));
        let change = largest(&mut self.effect(planted, 0).into_iter());
        !planted.has_size() || times * self.determined(planted, 0) * change <= field
    }

    /// Sets of readings with one fault of so many standard uncertainties, of either sign.
    pub fn planted(&self, planted: Planted, times: f64, seed: u64, count: u64) -> Vec<Said> {
        let at = FAULTS.iter().position(|one| *one == planted).unwrap_or(0) as u64;
        let one = |case| {
            let mut random = SampleGenerator::new(seed + 100 * at, case);
            let place = random.whole(self.settings.len());
            let size = times * self.determined(planted, place);
            self.with(planted, place, size, &mut random)
        };
        (0..count).into_par_iter().map(one).collect()
    }

    /// Sets of readings with faults as common and as large as the table of priors says.
    pub fn drawn(&self, seed: u64, count: u64) -> Vec<Said> {
        let one = |case| {
            let mut random = SampleGenerator::new(seed, case);
            let pick = random.unit();
            let mut sum = 0.0;
            let usual = |planted: &&Planted| self.setup.turned || **planted != Planted::FlipFlagsForgotten;
            let planted = FAULTS.iter().filter(usual).find(|planted| {
                sum += planted.prior();
                pick < sum
            });
            let Some(planted) = planted else {
                let drawn = self.readings(1.0, &mut random);
                return self.said(None, &self.agreement(drawn.readings).0);
            };
            let place = random.whole(self.settings.len());
            let [smallest, largest] = self.range(*planted);
            let size = smallest * (largest / smallest).powf(random.unit());
            self.with(*planted, place, size, &mut random)
        };
        (0..count).into_par_iter().map(one).collect()
    }

    /// Sizes, all orders alike, in the unit of [`effect`](Self::effect).
    fn range(&self, planted: Planted) -> [f64; 2] {
        let largest = self.largest() * self.k;
        let digits = self.bench.ammeter.map_or(0.01, |meter| meter.digits_limit().max(1e-4));
        let probe = self.bench.field_meter.and_then(|meter| meter.accuracy_of_reading).unwrap_or(0.01);
        let ammeter = self.bench.ammeter.map_or(0.01, |meter| meter.gain_limit());
        match planted {
            Planted::MisreadReading => [2.0 * SCATTER_TESLA, 2.0 * largest],
            Planted::MisreadCurrent => [2.0 * SCATTER_TESLA / self.k, 2.0 * self.largest()],
            Planted::NotStraight => [2.0 * SCATTER_TESLA / largest, 0.3],
            Planted::Drift => [2.0 * SCATTER_TESLA, 0.2 * largest],
            Planted::AmmeterZero => [digits, 30.0 * digits],
            Planted::ProbeGain => [probe, 0.15],
            Planted::AmmeterGain => [ammeter, 0.15],
            Planted::ProbeTilted => [1.0 - 0.03f64.cos(), 1.0 - 0.52f64.cos()],
            // Of both coils' turns together, half a turn and more.
            Planted::TurnsMissing => [0.25 / self.bench.winding.turns, 0.12],
            // A pair one radius apart: k ∝ 1/R, and −0.6 of the spacing's part.
            Planted::Spacing => [0.6 * self.limits()[0], 0.6 * 0.12],
            Planted::MeanRadius => [0.4 * self.limits()[1], 0.4 * 0.12],
            // 1.15 (z/R)⁴ of the field from 3 mm to a third of the radius.
            Planted::ProbeAlongAxis => [2e-7, 0.0142],
            _ => [1.0, 1.0],
        }
    }

    /// Limits of the build over what they limit: of the spacing and of the mean radius.
    fn limits(&self) -> [f64; 2] {
        let tolerance = build_tolerance(&self.bench).expect("a build tolerance");
        [
            tolerance.spacing_m / self.bench.spacing_m,
            tolerance.mean_radius_m / self.bench.winding.mean_radius_m,
        ]
        .map(|limit| limit.max(1e-3))
    }

    fn with(&self, planted: Planted, place: usize, size: f64, random: &mut SampleGenerator) -> Said {
        let part = match planted {
            // What two coils leave that are not quite alike.
            Planted::CoilReversed => 0.002,
            Planted::LeadsReversed => -1.0,
            Planted::OneCoilAlone => match planted.cause(&self.bench) {
                Cause::SeriesNotParallel => 2.0,
                _ => 0.5,
            },
            _ => 1.0,
        };
        let mut readings = self.readings(part, random).readings;
        let mut power = None;
        match planted {
            Planted::UnitsMixedUp => {
                let chosen = [1, -1, 2, -2, 3, 4][random.whole(6)];
                power = Some(chosen);
                let factor = 10f64.powi(chosen);
                for reading in &mut readings {
                    reading.field_tesla *= factor;
                    reading.field_uncertainty_tesla = reading.field_uncertainty_tesla.map(|u| u * factor);
                }
            }
            Planted::FieldsInAnotherUnit => {
                let chosen = [1, -1, 3][random.whole(3)];
                power = Some(chosen);
                readings.iter_mut().for_each(|reading| reading.field_tesla *= 10f64.powi(chosen));
            }
            Planted::UnitsOfOneReading => {
                let chosen = if random.unit() < 0.5 { 1 } else { -1 };
                power = Some(chosen);
                readings[place].field_tesla *= 10f64.powi(chosen);
            }
            Planted::FlipFlagsForgotten => {
                readings.iter_mut().for_each(|reading| reading.direction = Vector3::z());
            }
            _ if planted.has_size() || planted == Planted::ProbeAlongAxis => {
                // A tilted or moved probe shows less, never more.
                let less = matches!(planted, Planted::ProbeTilted | Planted::ProbeAlongAxis);
                let sign = if less || random.unit() < 0.5 { -1.0 } else { 1.0 };
                let effect = self.effect(planted, place);
                for (reading, effect) in readings.iter_mut().zip(effect) {
                    reading.field_tesla += sign * size * effect;
                }
            }
            _ => {}
        }
        let one_reading =
            matches!(planted, Planted::MisreadReading | Planted::MisreadCurrent | Planted::UnitsOfOneReading);
        let line = one_reading.then_some(place as u64 + 2);
        let agreement = self.agreement(readings).0;
        self.said(Some((planted, line, power)), &agreement)
    }

    fn said(&self, planted: Option<(Planted, Option<u64>, Option<i32>)>, agreement: &Agreement) -> Said {
        let right = |class: &CauseClass| {
            planted.is_some_and(|(planted, line, power)| {
                class.members.iter().any(|one| {
                    // A wrong unit of one reading is a reading miswritten.
                    let same = one.cause == planted.cause(&self.bench)
                        || (planted == Planted::UnitsOfOneReading && one.cause == Cause::MisreadReading);
                    let power_fits = one.power_of_ten.is_none() || power == one.power_of_ten;
                    same && (line.is_none() || one.line == line) && power_fits
                })
            })
        };
        let stated: Vec<(f64, bool)> =
            agreement.causes.iter().map(|class| (class.probability, right(class))).collect();
        let findings = if agreement.has_finding() { stated.clone() } else { Vec::new() };
        Said { findings, stated }
    }
}

/// How many intervals hold the true slope.
#[derive(Clone, Copy, Debug, Default)]
pub struct Coverage {
    pub cases: usize,
    /// Cases in which a line is adopted.
    pub adopted: usize,
    /// Of all: U = k u of the fitted slope, and of the computed one.
    pub fitted: f64,
    pub computed: f64,
    /// Of those adopted: U, with coils anywhere within the warming allowed for; and the Monte Carlo interval.
    pub expanded: f64,
    pub monte_carlo: f64,
    /// The share that the Monte Carlo interval claims.
    pub claimed: f64,
}

impl Laboratory {
    /// Counts them over sound readings; `adopt` as a user may ask for it.
    pub fn coverage(&self, adopt: Option<AdoptedFrom>, seed: u64, count: u64) -> Coverage {
        const SAMPLES: u64 = 10_000;
        let within = |slope: &Slope, k: f64| {
            let expanded = slope.expanded_uncertainty().expect("a known uncertainty");
            (slope.tesla_per_ampere - k).abs() <= expanded
        };
        let one = |case: u64| {
            let mut random = SampleGenerator::new(seed, case);
            let drawn = self.readings(1.0, &mut random);
            let request =
                Request { adopt, monte_carlo_samples: Some(SAMPLES), ..Self::asked(drawn.readings) };
            let k = drawn.k;
            match outcome(&self.bench, &request).expect("readings that give a line") {
                Outcome::Refused(one) => {
                    ([within(&one.fit_slope_with_meters, k), within(&one.computed, k)], None)
                }
                Outcome::Calibrated(one) => {
                    let mut budget = one.slope.budget.iter();
                    let warming = budget.find(|entry| entry.source == BudgetSource::Temperature);
                    let warm = warming.map_or(0.0, |entry| {
                        let relative =
                            entry.sensitivity_tesla_per_ampere_per_unit / one.slope.tesla_per_ampere;
                        relative * random.rectangular(entry.standard_uncertainty * 3f64.sqrt())
                    });
                    let warm_k = k * (1.0 + warm);
                    let sampled = one.monte_carlo.expect("samples");
                    let [low, high] = sampled.interval_tesla_per_ampere;
                    let fitted = one.fit_slope_with_meters.as_ref().expect("readings");
                    (
                        [within(fitted, k), within(&one.computed, k)],
                        Some((
                            within(&one.slope, warm_k),
                            (low..=high).contains(&warm_k),
                            sampled.coverage_probability,
                        )),
                    )
                }
            }
        };
        let all: Vec<_> = (0..count).into_par_iter().map(one).collect();
        let adopted: Vec<_> = all.iter().filter_map(|(_, adopted)| *adopted).collect();
        let share = |of: &dyn Fn(&(bool, bool, f64)) -> bool| {
            adopted.iter().filter(|one| of(one)).count() as f64 / adopted.len().max(1) as f64
        };
        let of_all = |i: usize| all.iter().filter(|(held, _)| held[i]).count() as f64 / all.len() as f64;
        Coverage {
            cases: all.len(),
            adopted: adopted.len(),
            fitted: of_all(0),
            computed: of_all(1),
            expanded: share(&|one| one.0),
            monte_carlo: share(&|one| one.1),
            claimed: adopted.first().map_or(0.0, |one| one.2),
        }
    }
}

/// Currents and probe directions: each direction and sign in a stretch of its own, rising.
fn settings(setup: Setup, limit_ampere: f64) -> Vec<(f64, f64)> {
    let sides: Vec<f64> = if setup.turned { vec![1.0, -1.0] } else { vec![1.0] };
    let signs: Vec<f64> = if setup.both_directions { vec![-1.0, 1.0] } else { vec![1.0] };
    let stretches: Vec<(f64, f64)> =
        sides.iter().flat_map(|side| signs.iter().map(move |sign| (*side, *sign))).collect();
    let each = setup.readings.div_ceil(stretches.len());
    let all = stretches.iter().flat_map(|(side, sign)| {
        (1..=each).map(move |i| {
            let ampere = 0.92 * limit_ampere * i as f64 / each as f64;
            (sign * (100.0 * ampere).round() / 100.0, *side)
        })
    });
    all.take(setup.readings).collect()
}
