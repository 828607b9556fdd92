//! `weigh`: classes with every stated error drawn, and one fault planted in some of them.

use super::count::{Said, standard_uncertainty};
use coilwright::files::spec::read_bench;
use coilwright::judgement::priors;
use coilwright::numeric::random::SampleGenerator;
use coilwright::pair::{AmmeterPosition, Bench, Distribution, Meter};
use coilwright::physics::beam::{BeamBench, Electron, FieldLine};
use coilwright::questions::weigh::{
    Cause, Finding, RadiusPlace, Request, Run, Runs, Suspect, Weighing, weigh,
};
use rayon::prelude::*;

/// One class on one bench.
#[derive(Clone, Copy, Debug)]
pub struct Setup {
    /// The bench's spec, in `coil-specs/`.
    pub spec: &'static str,
    /// How many runs.
    pub runs: usize,
    /// Whether half of them are with the current reversed.
    pub both_directions: bool,
    /// Whether the meters are those of a good bench: four digits for three, radii to 0.5 mm.
    pub fine: bool,
}

/// The class that the wanted figures are counted on.
pub const WANTED: Setup = Setup { spec: "window-bench", runs: 12, both_directions: true, fine: false };

/// A fault of `weigh`.
pub const FAULTS: [Cause; 6] = [
    Cause::MisreadRun,
    Cause::RadiusOffset,
    Cause::VoltageOffset,
    Cause::AmmeterOffset,
    Cause::RoomField,
    Cause::SharedError,
];

/// What is true of one class and its meters, each as an error that spec and meters do not show.
#[derive(Clone, Debug)]
struct Truth {
    slope: f64,
    ammeter_gain: f64,
    /// Shown too much, |I| before the reversal or I after it.
    ammeter_ampere: f64,
    position: AmmeterPosition,
    voltmeter_gain: f64,
    voltage_volt: f64,
    room_tesla: f64,
    radius_m: f64,
    radius_factor: f64,
    misread: Option<(usize, f64)>,
    /// A second one beside it.
    also_misread: Option<(usize, f64)>,
}

impl Truth {
    const NONE: Self = Self {
        slope: 0.0,
        ammeter_gain: 0.0,
        ammeter_ampere: 0.0,
        position: AmmeterPosition::BeforeReversal,
        voltmeter_gain: 0.0,
        voltage_volt: 0.0,
        room_tesla: 0.0,
        radius_m: 0.0,
        radius_factor: 0.0,
        misread: None,
        also_misread: None,
    };
}

/// A bench with the runs of a perfect reader.
pub struct Class {
    pub setup: Setup,
    bench: Bench,
    perfect: Runs,
    /// Effective field of the coils in each run, T.
    coils_tesla: Vec<f64>,
    /// What the beam of each run got, V.
    beam_volt: Vec<f64>,
    axial_tesla: f64,
    own_m: f64,
    magnification: f64,
    relative_slope: f64,
    line: FieldLine,
    /// Standard uncertainties of each kind of fault with either place of the ammeter, e/m left free.
    determined: Vec<(AmmeterPosition, [f64; FAULTS.len()])>,
}

const FOUR_DIGITS: [Meter; 2] = [
    Meter { resolution: Some(1e-3), accuracy_of_reading: Some(0.008), accuracy_digits: 5.0 },
    Meter { resolution: Some(0.1), accuracy_of_reading: Some(0.01), accuracy_digits: 5.0 },
];

impl Class {
    pub fn of(setup: Setup) -> Self {
        let path = format!("{}/coil-specs/{}.json", env!("CARGO_MANIFEST_DIR"), setup.spec);
        let mut bench = read_bench(&path).expect("an example spec");
        if setup.fine {
            [bench.ammeter, bench.voltmeter] = FOUR_DIGITS.map(Some);
            bench.ammeter_position = Some(AmmeterPosition::BeforeReversal);
            let reading = bench.reading.as_mut().expect("a reading");
            reading.radius_uncertainty_m = Some(0.5e-3);
            bench.tube.as_mut().expect("a tube").gun_voltage_offset_volt = Some([0.0, 0.5]);
        }
        let beams = BeamBench::prepare(&bench, None).expect("a bench with a tube");
        let own_m = bench.reading.and_then(|it| it.radius_uncertainty_m).expect("a radius uncertainty");
        let axial_tesla = beams.room_tesla.map_or(0.0, |room| room.z);
        let relative_slope =
            beams.line.slope.standard_uncertainty().unwrap_or(0.0) / beams.line.slope.tesla_per_ampere;
        let offset = beams.gun_voltage_offset_volt();
        let line = beams.line.clone();
        let mut perfect = settings(&beams, setup);
        let beam_volt: Vec<f64> = perfect.runs.iter().map(|run| run.gun_voltage_volt - offset).collect();
        // The radius at which beam and effective field agree: the field depends on the circle.
        let (mut coils_tesla, mut magnification) = (Vec::new(), 1.0);
        for _ in 0..8 {
            let result = weigh(&beams, &perfect, &Request::default()).expect("runs");
            magnification = result.scale_magnification;
            let found = result.outcome.room_axial_tesla;
            let signed = |run: &Run| run.current_ampere.signum();
            let coils = result.runs.iter().zip(&perfect.runs);
            coils_tesla = coils.map(|(one, run)| one.field_tesla - signed(run) * found).collect();
            for ((run, coils), volt) in perfect.runs.iter_mut().zip(&coils_tesla).zip(&beam_volt) {
                let rigidity = Electron::after(*volt).expect("a voltage").rigidity_tesla_m();
                run.radius_m = rigidity / (coils + signed(run) * axial_tesla) * magnification;
            }
        }
        drop(beams);
        let mut class = Self {
            setup,
            bench,
            perfect,
            coils_tesla,
            beam_volt,
            axial_tesla,
            own_m,
            magnification,
            relative_slope,
            line,
            determined: Vec::new(),
        };
        class.determined = class.positions().into_iter().map(|at| (at, class.determine(at))).collect();
        // Where the spec does not say where the ammeter stands, the worse of the two is all that is known.
        for at in (0..FAULTS.len()).filter(|at| FAULTS[*at] != Cause::AmmeterOffset) {
            let worse = class.determined.iter().map(|(_, of)| of[at]).fold(0.0, f64::max);
            class.determined.iter_mut().for_each(|(_, of)| of[at] = worse);
        }
        class
    }

    fn positions(&self) -> Vec<AmmeterPosition> {
        use AmmeterPosition::{AfterReversal, BeforeReversal};
        self.bench.ammeter_position.map_or(vec![BeforeReversal, AfterReversal], |at| vec![at])
    }

    /// What stands in the rule's column without scatter: r ∝ √V/(B + s b).
    fn radii(&self, truth: &Truth) -> Vec<f64> {
        let radius = |(i, run): (usize, &Run)| {
            let sign = run.current_ampere.signum();
            let size = run.current_ampere.abs();
            let zero = match truth.position {
                AmmeterPosition::BeforeReversal => truth.ammeter_ampere,
                AmmeterPosition::AfterReversal => sign * truth.ammeter_ampere,
            };
            let current = (size - zero) / (1.0 + truth.ammeter_gain) / size;
            let (coils, axial) = (self.coils_tesla[i], sign * self.axial_tesla);
            let field = coils * current * (1.0 + truth.slope) + axial + sign * truth.room_tesla;
            let shown = run.gun_voltage_volt / (1.0 + truth.voltmeter_gain);
            let volt = self.beam_volt[i] + shown - run.gun_voltage_volt - truth.voltage_volt;
            let in_plane = run.radius_m * (volt / self.beam_volt[i]).sqrt() * (coils + axial) / field;
            in_plane * (1.0 + truth.radius_factor) + truth.radius_m * self.magnification
        };
        let mut radii: Vec<f64> = self.perfect.runs.iter().enumerate().map(radius).collect();
        for (place, size) in truth.misread.into_iter().chain(truth.also_misread) {
            radii[place] += size;
        }
        radii
    }

    fn digit(meter: Option<Meter>) -> f64 {
        meter.and_then(|meter| meter.resolution).unwrap_or(0.0)
    }

    /// Scatter of each radius: the reader's own, and the last digits of both meters.
    fn own(&self) -> Vec<f64> {
        let rectangular = |digit: f64| digit / 12f64.sqrt();
        let (ampere, volt) =
            (rectangular(Self::digit(self.bench.ammeter)), rectangular(Self::digit(self.bench.voltmeter)));
        let own = |(run, beam): (&Run, &f64)| {
            let relative = (ampere / run.current_ampere).hypot(0.5 * volt / beam);
            self.own_m.hypot(relative * run.radius_m)
        };
        self.perfect.runs.iter().zip(&self.beam_volt).map(own).collect()
    }

    /// Limits and standard uncertainties of the room's field as measured.
    fn room_limits(&self) -> [f64; 2] {
        let meter = self.bench.field_meter;
        let zero = meter.and_then(|meter| meter.zero_tesla).unwrap_or(0.0);
        [zero, meter.and_then(|meter| meter.accuracy_of_reading).unwrap_or(0.0) * self.axial_tesla.abs()]
    }

    fn is_of_a_site(&self) -> bool {
        self.setup.spec == "quote-thick"
    }

    /// By how much the radii change for a small change of the truth, per unit.
    fn slope_of(&self, change: impl Fn(&mut Truth, f64), unit: f64, position: AmmeterPosition) -> Vec<f64> {
        let mut truth = Truth { position, ..Truth::NONE };
        let before = self.radii(&truth);
        change(&mut truth, unit);
        self.radii(&truth).iter().zip(before).map(|(after, before)| (after - before) / unit).collect()
    }

    fn determine(&self, position: AmmeterPosition) -> [f64; FAULTS.len()] {
        let rectangular = |limit: f64| Distribution::Rectangular.standard_uncertainty(limit);
        let (ammeter, voltmeter) = (self.bench.ammeter, self.bench.voltmeter);
        let digits = |meter: Option<Meter>| rectangular(meter.map_or(0.0, |meter| meter.digits_limit()));
        let gain = |meter: Option<Meter>| rectangular(meter.map_or(0.0, |meter| meter.gain_limit()));
        let room = if self.is_of_a_site() {
            5e-6
        } else {
            let [zero, gain] = self.room_limits();
            rectangular(zero).hypot(rectangular(gain))
        };
        let volt = digits(voltmeter).hypot(self.gun_volt());
        let level = self.slope_of(|it, by| it.radius_factor = by, 1e-3, position);
        let zero = |ampere: f64| {
            let effect = self.slope_of(|it, by| it.ammeter_ampere = by, 1e-3, position);
            effect.into_iter().map(|effect| effect * ampere).collect::<Vec<f64>>()
        };
        let scaled = |effect: Vec<f64>, by: f64| effect.into_iter().map(|it| it * by).collect::<Vec<f64>>();
        let of_room = self.slope_of(|it, by| it.room_tesla = by, 1e-7, position);
        let of_volt = self.slope_of(|it, by| it.voltage_volt = by, 0.01, position);
        let shared = [zero(digits(ammeter)), scaled(of_room.clone(), room), scaled(of_volt.clone(), volt)];
        let factor = self.relative_slope.hypot(gain(ammeter)).hypot(0.5 * gain(voltmeter));
        let whole: Vec<Vec<f64>> = shared.iter().cloned().chain([scaled(level.clone(), factor)]).collect();
        let own = self.own();
        let free = [level.clone()];
        let of = |effect: &[f64]| standard_uncertainty(effect, &own, &shared, &free);
        let mut one_run = vec![0.0; own.len()];
        one_run[own.len() / 3] = 1.0;
        FAULTS.map(|cause| match cause {
            Cause::MisreadRun => of(&one_run),
            Cause::RadiusOffset => of(&self.slope_of(|it, by| it.radius_m = by, 1e-5, position)),
            Cause::VoltageOffset => of(&of_volt),
            Cause::AmmeterOffset => of(&zero(1.0)),
            Cause::RoomField => of(&of_room),
            Cause::RadiusFactor | Cause::SharedError => standard_uncertainty(&level, &own, &whole, &[]),
            other => unreachable!("{other:?} is not planted"),
        })
    }

    fn gun_volt(&self) -> f64 {
        self.bench.tube.as_ref().and_then(|tube| tube.gun_voltage_offset_volt).map_or(0.0, |[_, u]| u)
    }

    /// Every stated error drawn from its stated distribution.
    fn sound(&self, random: &mut SampleGenerator) -> Truth {
        let positions = self.positions();
        let gain = |meter: Option<Meter>| meter.map_or(0.0, |meter| meter.gain_limit());
        let digits = |meter: Option<Meter>| meter.map_or(0.0, |meter| meter.digits_limit());
        let (ammeter, voltmeter) = (self.bench.ammeter, self.bench.voltmeter);
        let [zero, of_reading] = self.room_limits();
        Truth {
            slope: random.normal(self.relative_slope),
            ammeter_gain: random.rectangular(gain(ammeter)),
            ammeter_ampere: random.rectangular(digits(ammeter)),
            position: positions[random.whole(positions.len())],
            voltmeter_gain: random.rectangular(gain(voltmeter)),
            voltage_volt: random.rectangular(digits(voltmeter)) + random.normal(self.gun_volt()),
            room_tesla: if self.is_of_a_site() {
                random.normal(5e-6)
            } else {
                random.rectangular(zero) + random.rectangular(of_reading)
            },
            ..Truth::NONE
        }
    }

    /// What the class writes down: the last digits of the meters, and the reader's scatter.
    fn runs(&self, truth: &Truth, random: &mut SampleGenerator) -> Runs {
        let mut runs = self.perfect.clone();
        let [ampere, volt] = [self.bench.ammeter, self.bench.voltmeter].map(|meter| 0.5 * Self::digit(meter));
        for ((run, radius_m), beam) in runs.runs.iter_mut().zip(self.radii(truth)).zip(&self.beam_volt) {
            let current = 1.0 + random.rectangular(ampere) / run.current_ampere.abs();
            let voltage = (1.0 + random.rectangular(volt) / beam).sqrt();
            run.radius_m = radius_m * voltage / current + random.normal(self.own_m);
        }
        runs
    }

    fn judged(&self, cause: Option<Cause>, truth: &Truth, random: &mut SampleGenerator) -> Option<Weighing> {
        let line = Some(self.line.clone());
        let beams = BeamBench::prepare(&self.bench, line).expect("a bench with a tube");
        let runs = self.runs(truth, random);
        // A radius that no bulb holds is refused, and no judgement.
        match weigh(&beams, &runs, &Request::default()) {
            Ok(weighing) => Some(weighing),
            Err(error) => {
                assert!(cause.is_some(), "a sound class is refused: {error}");
                None
            }
        }
    }

    fn said(&self, cause: Option<Cause>, truth: &Truth, weighing: &Weighing) -> Said {
        let findings: Vec<(f64, bool)> = weighing
            .findings
            .iter()
            .map(|it| (it.probability, cause.is_some_and(|cause| self.right(it, cause, truth))))
            .collect();
        Said { stated: findings.clone(), findings }
    }

    fn right(&self, finding: &Finding, cause: Cause, truth: &Truth) -> bool {
        let named = match cause {
            Cause::MisreadRun => {
                return finding.cause == cause
                    && truth.misread.is_some_and(|(place, _)| finding.lines.contains(&(place as u64 + 2)));
            }
            Cause::RadiusOffset => Suspect::RadiusOffset,
            Cause::VoltageOffset => Suspect::VoltageOffset,
            Cause::AmmeterOffset if !self.setup.both_directions => Suspect::AmmeterZero,
            Cause::AmmeterOffset => match truth.position {
                AmmeterPosition::BeforeReversal => Suspect::AmmeterZeroBeforeReversal,
                AmmeterPosition::AfterReversal => Suspect::AmmeterZeroAfterReversal,
            },
            Cause::RoomField => Suspect::RoomField,
            Cause::RadiusFactor | Cause::SharedError => Suspect::RadiusFactor,
            other => unreachable!("{other:?} is not planted"),
        };
        finding.members.iter().any(|member| member.suspect == named)
    }

    /// Size of a fault of so many standard uncertainties; none where nothing that large is possible.
    pub fn size(&self, cause: Cause, times: f64) -> Option<[f64; 2]> {
        let at = FAULTS.iter().position(|one| *one == cause)?;
        let [smallest, largest] = range(cause, self.own_m).1;
        let sizes: Vec<f64> = self.determined.iter().map(|(_, of)| times * of[at]).collect();
        let ends =
            [sizes.iter().copied().fold(f64::INFINITY, f64::min), sizes.iter().copied().fold(0.0, f64::max)];
        (ends[1] <= largest && ends[0] >= smallest).then_some(ends)
    }

    /// Sound classes: what is said of each, and whether e/m lies within U of the true one.
    pub fn clean(&self, seed: u64, count: u64) -> Vec<(Said, bool)> {
        (0..count)
            .into_par_iter()
            .map(|case| {
                let mut random = SampleGenerator::new(seed, case);
                let truth = self.sound(&mut random);
                let weighing = self.judged(None, &truth, &mut random).expect("a sound class");
                let apart = weighing.outcome.difference_in_standard_uncertainties.expect("an uncertainty");
                (self.said(None, &truth, &weighing), apart.abs() <= 2.0)
            })
            .collect()
    }

    /// Classes with one fault of so many standard uncertainties, of either sign.
    pub fn planted(&self, cause: Cause, times: f64, seed: u64, count: u64) -> Vec<Said> {
        let at = FAULTS.iter().position(|one| *one == cause).expect("a fault of runs");
        (0..count)
            .into_par_iter()
            .filter_map(|case| {
                let mut random = SampleGenerator::new(seed + 100 * at as u64, case);
                let sound = self.sound(&mut random);
                let of = self.determined.iter().find(|(position, _)| *position == sound.position)?.1;
                let truth = self.with(cause, times * of[at], sound, &mut random);
                let weighing = self.judged(Some(cause), &truth, &mut random)?;
                Some(self.said(Some(cause), &truth, &weighing))
            })
            .collect()
    }

    /// Classes with two misread runs, each so many standard uncertainties off: in how many both are named, some are and
    /// nothing else first, and nothing is said.
    pub fn two_misread(&self, times: f64, seed: u64, count: u64) -> TwoMisread {
        let one = |case| {
            let mut random = SampleGenerator::new(seed, case);
            let sound = self.sound(&mut random);
            let of = self.determined.iter().find(|(position, _)| *position == sound.position)?.1;
            let first = self.with(Cause::MisreadRun, times * of[0], sound, &mut random);
            let (place, _) = first.misread?;
            let also = (place + 1 + random.whole(self.perfect.runs.len() - 1)) % self.perfect.runs.len();
            let size = if random.unit() < 0.5 { times * of[0] } else { -times * of[0] };
            let truth = Truth { also_misread: Some((also, size)), ..first };
            let weighing = self.judged(Some(Cause::MisreadRun), &truth, &mut random)?;
            let planted = [place, also].map(|place| place as u64 + 2);
            let names = |finding: &Finding| finding.lines.iter().any(|line| planted.contains(line));
            let both = planted.iter().all(|line| {
                weighing.findings.iter().any(|it| it.cause == Cause::MisreadRun && it.lines == [*line])
            });
            Some((both, weighing.findings.first().is_some_and(names), weighing.findings.is_empty()))
        };
        let all: Vec<(bool, bool, bool)> = (0..count).into_par_iter().filter_map(one).collect();
        let of = |pick: fn(&(bool, bool, bool)) -> bool| all.iter().filter(|one| pick(one)).count();
        TwoMisread { cases: all.len(), both: of(|it| it.0), first: of(|it| it.1), silent: of(|it| it.2) }
    }

    /// Classes with faults as common and as large as the table of priors says.
    pub fn drawn(&self, seed: u64, count: u64) -> Vec<Said> {
        (0..count)
            .into_par_iter()
            .filter_map(|case| {
                let mut random = SampleGenerator::new(seed, case);
                let sound = self.sound(&mut random);
                let pick = random.unit();
                let mut sum = 0.0;
                let cause = FAULTS.into_iter().find(|cause| {
                    sum += range(*cause, self.own_m).0;
                    pick < sum
                });
                let truth = match cause {
                    Some(cause) => {
                        let [smallest, largest] = range(cause, self.own_m).1;
                        let size = smallest * (largest / smallest).powf(random.unit());
                        self.with(cause, size, sound, &mut random)
                    }
                    None => sound,
                };
                let weighing = self.judged(cause, &truth, &mut random)?;
                Some(self.said(cause, &truth, &weighing))
            })
            .collect()
    }

    fn with(&self, cause: Cause, size: f64, sound: Truth, random: &mut SampleGenerator) -> Truth {
        let size = if random.unit() < 0.5 { size } else { -size };
        match cause {
            Cause::MisreadRun => {
                Truth { misread: Some((random.whole(self.perfect.runs.len()), size)), ..sound }
            }
            Cause::RadiusOffset => Truth { radius_m: size, ..sound },
            Cause::VoltageOffset => Truth { voltage_volt: sound.voltage_volt + size, ..sound },
            Cause::AmmeterOffset => Truth { ammeter_ampere: sound.ammeter_ampere + size, ..sound },
            Cause::RoomField => Truth { room_tesla: sound.room_tesla + size, ..sound },
            Cause::RadiusFactor | Cause::SharedError => Truth { radius_factor: size, ..sound },
            other => unreachable!("{other:?} is not planted"),
        }
    }
}

/// What is said of classes with two misread runs.
#[derive(Clone, Copy, Debug)]
pub struct TwoMisread {
    pub cases: usize,
    /// Both are named, each by itself.
    pub both: usize,
    /// The first finding names one of them.
    pub first: usize,
    /// There is no finding.
    pub silent: usize,
}

/// How common a fault is, and its sizes, all orders alike.
fn range(cause: Cause, own_m: f64) -> (f64, [f64; 2]) {
    match cause {
        Cause::MisreadRun => (priors::MISREAD_RUN, [2.0 * own_m, 0.1]),
        Cause::RadiusOffset => (priors::RADIUS_OFFSET, [0.2e-3, 10e-3]),
        Cause::VoltageOffset => (priors::VOLTAGE_OFFSET, [0.5, 40.0]),
        Cause::AmmeterOffset => (priors::AMMETER_OFFSET, [5e-3, 0.3]),
        Cause::RoomField => (priors::ROOM_FIELD, [2e-6, 200e-6]),
        Cause::RadiusFactor | Cause::SharedError => (priors::SHARED_ERROR, [2.5e-3, 0.7]),
        other => unreachable!("{other:?} is not planted"),
    }
}

/// Runs at several gun voltages and circle sizes within what tube and supply allow, their radii roughly right.
fn settings(beams: &BeamBench<'_>, setup: Setup) -> Runs {
    let tube = &beams.tube;
    let [low, high] = tube.gun_voltage_volt.unwrap_or([120.0, 280.0]);
    let [small, large] = tube.beam_radius_m.unwrap_or([0.026, 0.050]);
    let limit = beams.bench().current_limit_ampere().unwrap_or(2.8);
    let digit = Class::digit(beams.bench().ammeter).max(1e-4);
    let voltages = if setup.runs > 12 { 4 } else { 3 };
    let circles = setup.runs.div_ceil(voltages);
    let between = |part: f64, low: f64, high: f64| low + part * (high - low);
    let part = |i: usize, of: usize| i as f64 / (of.max(2) - 1) as f64;
    let mut runs = Vec::new();
    for i in 0..setup.runs {
        let gun_voltage_volt = between(part(i / circles, voltages), low, high).round();
        let volt = gun_voltage_volt - beams.gun_voltage_offset_volt();
        let rigidity = Electron::after(volt).expect("a voltage").rigidity_tesla_m();
        let slope = beams.line.slope.tesla_per_ampere.abs();
        let least = (rigidity / (slope * 0.97 * limit)).max(1.05 * small);
        let radius_m = between(part(i % circles, circles), least, 0.95 * large);
        let ampere = (rigidity / (slope * radius_m) / digit).round() * digit;
        let sign = if setup.both_directions && i % 2 == 1 { -1.0 } else { 1.0 };
        runs.push(Run {
            line: i as u64 + 2,
            label: Some(format!("A{:02}", i + 1)),
            gun_voltage_volt,
            current_ampere: sign * ampere,
            radius_m,
            radius_place: RadiusPlace::Scale,
            gun_voltage_uncertainty_volt: None,
            current_uncertainty_ampere: None,
            radius_uncertainty_m: None,
        });
    }
    Runs { path: "runs.csv".into(), sheet: None, runs, left_out: Vec::new(), without_circle: 0 }
}
