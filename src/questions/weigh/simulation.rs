//! How often the judgement of runs is right, by simulation with faults planted and fixed seeds.
//!
//! `COILWRIGHT_JUDGEMENTS` sets how many classes are drawn for each question; 60 where it is not set, and then the
//! allowances are three standard errors wider.

use super::hypotheses::Hypothesis;
use super::judge::determined;
use super::*;
use crate::judgement::priors;
use crate::numeric::random::SampleGenerator;
use crate::pair::{AmmeterPosition, BeamEdge, Bench, FieldMeter, Meter, RadiusReading, Room, RoomField};
use crate::physics::beam::{BeamBench, PathLength, Setting, tube_bench};
use nalgebra::Vector3;
use rayon::prelude::*;

const OWN_M: f64 = 0.5e-3;
const ROOM_TESLA: f64 = 14e-6;

/// Small and large circles at three gun voltages, both ways round.
const SETTINGS: [(f64, f64); 12] = [
    (110.0, 1.05),
    (110.0, -1.30),
    (110.0, 1.90),
    (110.0, -2.20),
    (180.0, 1.35),
    (180.0, -1.60),
    (180.0, 2.40),
    (180.0, -2.80),
    (270.0, 1.65),
    (270.0, -1.95),
    (270.0, 2.90),
    (270.0, -3.40),
];

fn drawn() -> u64 {
    std::env::var("COILWRIGHT_JUDGEMENTS").ok().and_then(|text| text.parse().ok()).unwrap_or(60)
}

/// A share of so many, with three standard errors on top.
fn at_most(share: f64, count: u64) -> f64 {
    share + 3.0 * (share * (1.0 - share) / count as f64).sqrt()
}

fn at_least(share: f64, count: u64) -> f64 {
    share - 3.0 * (share * (1.0 - share) / count as f64).sqrt()
}

fn bench() -> Bench {
    let mut bench = Bench {
        reading: Some(RadiusReading {
            edge: BeamEdge::Outer,
            radius_uncertainty_m: Some(OWN_M),
            camera_distance_m: None,
            scale_offset_m: 0.0,
        }),
        ammeter: Some(Meter {
            resolution: Some(1e-3),
            accuracy_of_reading: Some(0.008),
            accuracy_digits: 5.0,
        }),
        ammeter_position: Some(AmmeterPosition::BeforeReversal),
        voltmeter: Some(Meter {
            resolution: Some(0.1),
            accuracy_of_reading: Some(0.01),
            accuracy_digits: 5.0,
        }),
        field_meter: Some(FieldMeter { accuracy_of_reading: Some(0.02), zero_tesla: Some(4e-6) }),
        room: Some(Room {
            temperature_celsius: None,
            field: Some(RoomField::Measured(Vector3::new(0.0, 0.0, ROOM_TESLA))),
        }),
        ..tube_bench(Vector3::new(0.0, -0.02, 0.0))
    };
    if let Some(tube) = &mut bench.tube {
        tube.bulb_radius_m = Some(0.14);
        tube.gun_voltage_offset_volt = Some([0.0, 0.5]);
    }
    bench
}

/// What is true of one class, each as an error that its spec and meters do not show.
#[derive(Clone, Copy, Debug, Default)]
struct Truth {
    slope: f64,
    ammeter_gain: f64,
    /// The meter shows so much more than |I|.
    ammeter_ampere: f64,
    voltmeter_gain: f64,
    voltage_volt: f64,
    room_tesla: f64,
    radius_m: f64,
    radius_factor: f64,
    misread: Option<(usize, f64)>,
}

struct Simulated {
    bench: Bench,
    /// The runs of a perfect reader, with the coils' effective field of each.
    perfect: Runs,
    coils_tesla: Vec<f64>,
}

impl Simulated {
    fn of(bench: Bench) -> Self {
        let beams = BeamBench::prepare(&bench, None).unwrap();
        let run = |(i, &(gun_voltage_volt, current_ampere)): (usize, &(f64, f64))| {
            let setting = Setting { gun_voltage_volt, current_ampere, gun_tilt_rad: 0.0 };
            let path = beams.path(&setting, PathLength::HalfCircle).unwrap();
            Run {
                line: i as u64 + 2,
                label: Some(format!("A{:02}", i + 1)),
                gun_voltage_volt,
                current_ampere,
                radius_m: path.read_radius_m().unwrap(),
                radius_place: RadiusPlace::Scale,
                gun_voltage_uncertainty_volt: None,
                current_uncertainty_ampere: None,
                radius_uncertainty_m: None,
            }
        };
        let runs = SETTINGS.iter().enumerate().map(run).collect();
        let perfect =
            Runs { path: "runs.csv".into(), sheet: None, runs, left_out: Vec::new(), without_circle: 0 };
        let result = weigh(&beams, &perfect, &Request::default()).unwrap();
        let axial = beams.room_tesla.map_or(0.0, |field| field.z);
        let coils_tesla = result
            .runs
            .iter()
            .map(|run| run.field_tesla - run.current_ampere.signum() * result.outcome.room_axial_tesla)
            .collect();
        assert!((result.outcome.room_axial_tesla - axial).abs() < 0.1e-6);
        Self { bench, perfect, coils_tesla }
    }

    fn beams(&self) -> BeamBench<'_> {
        BeamBench::prepare(&self.bench, None).unwrap()
    }

    /// What a class would write down: r goes as √V/(B + s b), and then there is the reader's own scatter.
    fn runs(&self, truth: &Truth, random: &mut SampleGenerator) -> Runs {
        let mut runs = self.perfect.clone();
        for (i, run) in runs.runs.iter_mut().enumerate() {
            let sign = run.current_ampere.signum();
            let coils = self.coils_tesla[i];
            let axial = sign * ROOM_TESLA;
            let size = run.current_ampere.abs();
            let current = (size - truth.ammeter_ampere) / (1.0 + truth.ammeter_gain) / size;
            let field = coils * current * (1.0 + truth.slope) + axial + sign * truth.room_tesla;
            let volt = (run.gun_voltage_volt - truth.voltage_volt) / (1.0 + truth.voltmeter_gain);
            run.radius_m *= (volt / run.gun_voltage_volt).sqrt() * (coils + axial) / field;
            run.radius_m *= 1.0 + truth.radius_factor;
            run.radius_m += truth.radius_m + random.normal(OWN_M);
            if let Some((place, size)) = truth.misread.filter(|(place, _)| *place == i) {
                let _ = place;
                run.radius_m += size;
            }
        }
        runs
    }

    /// Stated errors drawn from their stated distributions.
    fn sound(&self, random: &mut SampleGenerator) -> Truth {
        let beams = self.beams();
        let slope = beams.line.slope_standard_uncertainty_tesla_per_ampere.unwrap_or(0.0)
            / beams.line.slope_tesla_per_ampere;
        let (ammeter, voltmeter) = (self.bench.ammeter.unwrap(), self.bench.voltmeter.unwrap());
        let meter = self.bench.field_meter.unwrap();
        Truth {
            slope: random.normal(slope),
            ammeter_gain: random.rectangular(ammeter.gain_limit()),
            ammeter_ampere: random.rectangular(ammeter.digits_limit()),
            voltmeter_gain: random.rectangular(voltmeter.gain_limit()),
            voltage_volt: random.rectangular(voltmeter.digits_limit()) + random.normal(0.5),
            room_tesla: random.rectangular(meter.zero_tesla.unwrap())
                + random.rectangular(meter.accuracy_of_reading.unwrap()) * ROOM_TESLA,
            ..Truth::default()
        }
    }

    fn weighed(&self, truth: &Truth, random: &mut SampleGenerator) -> Weighing {
        weigh(&self.beams(), &self.runs(truth, random), &Request::default()).unwrap()
    }

    /// The uncertainty with which these runs determine a fault, e/m left free.
    fn determined(&self, wanted: Hypothesis) -> f64 {
        let beams = self.beams();
        let (prepared, room) = prepared(&beams, &self.perfect, &Request::default()).unwrap();
        let all = determined(&beams, &prepared, &room, &Request::default()).unwrap();
        all.into_iter().find(|(one, _)| *one == wanted).unwrap().1
    }
}

const KINDS: [Cause; 6] = [
    Cause::MisreadRun,
    Cause::RadiusOffset,
    Cause::VoltageOffset,
    Cause::AmmeterOffset,
    Cause::RoomField,
    Cause::SharedError,
];

/// Plants one fault of this size, in either direction.
fn planted(cause: Cause, size: f64, sound: Truth, random: &mut SampleGenerator) -> Truth {
    let size = if random.unit() < 0.5 { size } else { -size };
    match cause {
        Cause::MisreadRun => Truth { misread: Some((random.whole(SETTINGS.len()), size)), ..sound },
        Cause::RadiusOffset => Truth { radius_m: size, ..sound },
        Cause::VoltageOffset => Truth { voltage_volt: sound.voltage_volt + size, ..sound },
        Cause::AmmeterOffset => Truth { ammeter_ampere: sound.ammeter_ampere + size, ..sound },
        Cause::RoomField => Truth { room_tesla: sound.room_tesla + size, ..sound },
        Cause::RadiusFactor | Cause::SharedError => Truth { radius_factor: size, ..sound },
    }
}

/// Whether a finding is about what was planted.
fn right(finding: &Finding, cause: Cause, truth: &Truth) -> bool {
    let named = match cause {
        Cause::MisreadRun => {
            return finding.cause == cause
                && truth.misread.is_some_and(|(place, _)| finding.lines.contains(&(place as u64 + 2)));
        }
        Cause::RadiusOffset => Suspect::RadiusOffset,
        Cause::VoltageOffset => Suspect::VoltageOffset,
        Cause::AmmeterOffset => Suspect::AmmeterZeroBeforeReversal,
        Cause::RoomField => Suspect::RoomField,
        Cause::RadiusFactor | Cause::SharedError => Suspect::RadiusFactor,
    };
    finding.members.iter().any(|member| member.suspect == named)
}

#[test]
fn sound_classes_are_accused_in_at_most_one_in_twenty_and_u_covers() {
    let simulated = Simulated::of(bench());
    let count = drawn();
    let results: Vec<(bool, bool)> = (0..count)
        .into_par_iter()
        .map(|sample| {
            let mut random = SampleGenerator::new(41, sample);
            let truth = simulated.sound(&mut random);
            let result = simulated.weighed(&truth, &mut random);
            let apart = result.outcome.difference_in_standard_uncertainties.unwrap();
            (!result.findings.is_empty(), apart.abs() <= 2.0)
        })
        .collect();
    let share = |wanted: fn(&(bool, bool)) -> bool| {
        results.iter().filter(|result| wanted(result)).count() as f64 / count as f64
    };
    let (accused, covered) = (share(|result| result.0), share(|result| result.1));
    println!("of {count} sound classes {accused:.4} accused, k = 2 covers {covered:.4}");
    assert!(accused <= at_most(0.05, count), "{accused}");
    assert!(covered >= at_least(0.9445, count), "{covered}");
}

#[test]
fn a_single_fault_of_five_standard_uncertainties_is_named_first() {
    let simulated = Simulated::of(bench());
    let count = drawn();
    for cause in KINDS {
        let size = 5.0
            * match cause {
                Cause::MisreadRun => simulated.determined(Hypothesis::MisreadRun(4)),
                Cause::RadiusOffset => simulated.determined(Hypothesis::RadiusOffset),
                Cause::VoltageOffset => simulated.determined(Hypothesis::VoltageOffset),
                Cause::AmmeterOffset => {
                    simulated.determined(Hypothesis::AmmeterZero(AmmeterPosition::BeforeReversal))
                }
                Cause::RoomField => simulated.determined(Hypothesis::RoomField),
                Cause::RadiusFactor | Cause::SharedError => {
                    let beams = simulated.beams();
                    let outcome = |runs: &Runs| weigh(&beams, runs, &Request::default()).unwrap().outcome;
                    // Larger circles lie in less field: e/m moves a little less than twice the factor.
                    let mut scaled = simulated.perfect.clone();
                    scaled.runs.iter_mut().for_each(|run| run.radius_m *= 1.01);
                    let plain = outcome(&simulated.perfect);
                    let q = plain.charge_to_mass_coulomb_per_kg;
                    let moved = 1.0 - outcome(&scaled).charge_to_mass_coulomb_per_kg / q;
                    0.01 / moved * plain.charge_to_mass_standard_uncertainty_coulomb_per_kg.unwrap() / q
                }
            };
        let results: Vec<(bool, bool, bool)> = (0..count)
            .into_par_iter()
            .map(|sample| {
                let mut random = SampleGenerator::new(42 + cause as u64, sample);
                let sound = simulated.sound(&mut random);
                let truth = planted(cause, size, sound, &mut random);
                let findings = simulated.weighed(&truth, &mut random).findings;
                let place = findings.iter().position(|finding| right(finding, cause, &truth));
                let wrong = findings
                    .iter()
                    .any(|finding| finding.probability > 0.5 && !right(finding, cause, &truth));
                (place == Some(0), place.is_some_and(|place| place < 2), wrong)
            })
            .collect();
        let share = |wanted: fn(&(bool, bool, bool)) -> bool| {
            results.iter().filter(|result| wanted(result)).count() as f64 / count as f64
        };
        let (first, second, wrong) = (share(|r| r.0), share(|r| r.1), share(|r| r.2));
        println!(
            "{cause:?} of {size:.3e}: first {first:.4}, first two {second:.4}, wrong above 50 % {wrong:.4}"
        );
        assert!(first >= at_least(0.90, count), "{cause:?}: first in {first}");
        assert!(second >= at_least(0.98, count), "{cause:?}: first two in {second}");
        assert!(wrong <= at_most(0.02, count), "{cause:?}: wrong above 50 % in {wrong}");
    }
}

#[test]
fn stated_probabilities_match_how_often_they_are_right() {
    let simulated = Simulated::of(bench());
    let count = 4 * drawn();
    // As the judgement takes them, but that no misreading may leave the bulb.
    let prior = |cause: Cause| match cause {
        Cause::MisreadRun => (priors::MISREAD_RUN, [1e-3, 0.02]),
        Cause::RadiusOffset => (priors::RADIUS_OFFSET, [0.2e-3, 10e-3]),
        Cause::VoltageOffset => (priors::VOLTAGE_OFFSET, [0.5, 40.0]),
        Cause::AmmeterOffset => (priors::AMMETER_OFFSET, [5e-3, 0.3]),
        Cause::RoomField => (priors::ROOM_FIELD, [2e-6, 200e-6]),
        Cause::RadiusFactor | Cause::SharedError => (priors::SHARED_ERROR, [2.5e-3, 0.3]),
    };
    let stated: Vec<(f64, bool)> = (0..count)
        .into_par_iter()
        .flat_map_iter(|sample| {
            let mut random = SampleGenerator::new(77, sample);
            let sound = simulated.sound(&mut random);
            let pick = random.unit();
            let mut sum = 0.0;
            let cause = KINDS.into_iter().find(|cause| {
                sum += prior(*cause).0;
                pick < sum
            });
            let truth = match cause {
                Some(cause) => {
                    let [smallest, largest]: [f64; 2] = prior(cause).1;
                    let size = smallest * (largest / smallest).powf(random.unit());
                    planted(cause, size, sound, &mut random)
                }
                None => sound,
            };
            let findings = simulated.weighed(&truth, &mut random).findings;
            let judged = |finding: Finding| {
                (finding.probability, cause.is_some_and(|cause| right(&finding, cause, &truth)))
            };
            findings.into_iter().map(judged).collect::<Vec<_>>()
        })
        .collect();
    for tenth in 0..10 {
        let inside: Vec<_> =
            stated.iter().filter(|(stated, _)| ((stated * 10.0) as usize).min(9) == tenth).collect();
        let many = inside.len() as f64;
        let mean = inside.iter().map(|(stated, _)| stated).sum::<f64>() / many;
        let right = inside.iter().filter(|(_, right)| *right).count() as f64 / many;
        println!("tenth {tenth}: {many} findings, stated {mean:.3}, right {right:.3}");
        let allowed = 0.05 + 3.0 * (mean * (1.0 - mean) / many).sqrt();
        assert!(many == 0.0 || (mean - right).abs() < allowed, "tenth {tenth}: {mean} stated, {right} right");
    }
}
