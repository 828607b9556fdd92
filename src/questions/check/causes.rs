//! Which fault would bring readings like these: every known one, weighed against the others.

use super::expected::{FROM_WIRE, Values, predicted, predicted_but_inductance};
use super::record::{Cause, CauseClass, CauseMember, Quantity, UnlikeCoils};
use super::unlike::differ_in_winding;
use crate::constants::Conductor;
use crate::judgement::priors;
use crate::judgement::{Data, Effect, Evidence, Fault, FaultEvidence, Judgement, Sizes, judge, weigh_faults};
use crate::pair::{Bench, Coil, Connection};
use crate::physics::electrical;
use crate::physics::field::Assembly;
use crate::{Error, Result};
use std::f64::consts::{FRAC_1_SQRT_2, LN_2, PI};

/// Probability from which a class is told.
const WORTH_NAMING: f64 = 0.05;
/// A member that leaves so much more chi-square than the best of its class would need another size than it can have.
const MUCH_WORSE: f64 = 6.0;
/// Part of the spacing or radius by which a change is looked at on both sides.
const REACH: f64 = 0.15;
/// Inductance that is left with shorted turns, of what the other turns would have: anything up to this.
const SHORTED_INDUCTANCE: f64 = 0.95;
/// A fault without a size of its own may be off by this part all the same: what it multiplies is not known exactly.
const WITHOUT_SIZE: Sizes = Sizes::Uniform { low: 0.95, high: 1.05 };
/// Largest tilt of a probe that nobody would see, rad.
const LARGEST_TILT_RAD: f64 = 0.7;

/// The readings over what the spec says, minus one; `None` where nothing was measured.
pub(super) struct Residuals {
    pub(super) relative: [Option<f64>; Quantity::COUNT],
    /// Relative standard uncertainties of these differences.
    pub(super) standard_uncertainties: Values,
    /// Relative standard uncertainties of the readings alone.
    pub(super) of_reading: Values,
    /// The same of what the spec leaves open in one quantity alone, beside what its build tolerance does to several.
    pub(super) of_model: Values,
    /// The copper's temperature, as noted.
    pub(super) celsius: f64,
}

/// By how much pairs differ from each other, as a standard deviation in the logarithm of each quantity, in the order of
/// [`Quantity::ALL`] (common practice, no source).
const AMONG_PAIRS: Values = [0.7, 0.4, 0.8, 0.6, 0.3, 0.2, 0.2, 0.4, 0.2];

impl Residuals {
    /// Relative standard uncertainty of a reading that it shares with no other.
    fn own(&self, quantity: usize) -> f64 {
        let read = self.relative[quantity].map_or(1.0, |it| (1.0 + it).abs().clamp(0.1, 10.0));
        (self.of_reading[quantity].hypot(read * self.of_model[quantity])).max(1e-6)
    }

    /// ln p(readings | another pair): each quantity log-normal about the spec's, the field of either sign; the powers
    /// of 2π left out that are left out of every hypothesis.
    fn ln_evidence_of_another_pair(&self) -> f64 {
        let one = |i: &usize| {
            let ratio = self.relative[*i].map_or(1.0, |it| 1.0 + it);
            let spread = AMONG_PAIRS[*i].hypot(self.standard_uncertainties[*i]);
            // Below a thousandth it is no reading of a pair, but scatter about nought.
            let ln = ratio.abs().max(1e-3).ln();
            let sign = if *i == 1 { -LN_2 } else { 0.0 };
            -0.5 * (ln / spread).powi(2) - spread.ln() - ln + sign
        };
        self.measured().iter().map(one).sum()
    }

    fn measured(&self) -> Vec<usize> {
        (0..Quantity::COUNT).filter(|i| self.relative[*i].is_some()).collect()
    }
}

/// What the readings say of every fault.
pub(super) struct Found {
    pub(super) none: f64,
    pub(super) classes: Vec<CauseClass>,
    /// For each member, class by class: chi-square left, and whether every reading is within two uncertainties.
    pub(super) left: Vec<(f64, bool)>,
}

/// Relative change of every quantity by a fault of a size.
enum Change<'a> {
    /// So much for a size of one.
    Linear(Values),
    /// As a function of the size.
    Curved(Box<dyn Fn(f64) -> Values + 'a>),
}

impl Change<'_> {
    fn at(&self, size: f64) -> Values {
        match self {
            Self::Linear(each) => each.map(|part| part * size),
            Self::Curved(change) => change(size),
        }
    }
}

/// A fault with what it does.
struct Hypothesis<'a> {
    cause: Cause,
    prior: f64,
    choices: usize,
    sizes: Sizes,
    of: f64,
    change: Change<'a>,
}

/// Weighs every fault against the readings, with the leads in the resistance or without where nobody says: the states of
/// affairs, equally likely, the one that fits better first.
pub(super) fn causes(bench: &Bench, states: &[Residuals], unlike: Option<&UnlikeCoils>) -> Result<Found> {
    let unlike = unlike.filter(|unlike| differ_in_winding(unlike));
    let Some(residuals) = states.first() else { return Err(Error::value("nothing was measured")) };
    let used = residuals.measured();
    let hypotheses: Vec<Hypothesis> = all(bench, residuals)
        .into_iter()
        .filter(|it| used.iter().any(|i| it.change.at(middle(it.sizes))[*i] != 0.0))
        .collect();
    let of_build = of_the_build(bench, residuals.celsius);
    let mut faults: Vec<Fault<Cause>> = hypotheses
        .iter()
        .map(|it| Fault {
            cause: it.cause,
            effect: match &it.change {
                Change::Linear(each) => Effect::Linear(used.iter().map(|i| each[*i]).collect()),
                Change::Curved(change) => Effect::Curved(Box::new(|size| {
                    let changed = change(size);
                    used.iter().map(|i| changed[*i]).collect()
                })),
            },
            sizes: it.sizes,
            prior: it.prior,
            choices: it.choices,
        })
        .collect();
    let weighed = states.iter().map(|residuals| -> Result<(f64, Evidence)> {
        let mut evidence = weigh_faults(&data(residuals, &of_build, &used)?, &faults)?;
        for (it, found) in hypotheses.iter().zip(&mut evidence.faults) {
            // The inductance that shorted turns leave is anything below a limit: its own density, not the reading's.
            if it.cause == Cause::ShortedTurns && residuals.relative[2].is_some() {
                let u = residuals.standard_uncertainties[2];
                found.ln_evidence += ((2.0 * PI).sqrt() * u / SHORTED_INDUCTANCE).ln().min(0.0);
            }
        }
        Ok((-(states.len() as f64).ln(), evidence))
    });
    let mut evidence = Evidence::of_states(weighed.collect::<Result<_>>()?)
        .ok_or_else(|| Error::value("nothing was weighed"))?;
    faults.push(Fault {
        cause: Cause::AnotherPair,
        effect: Effect::Linear(vec![0.0; used.len()]),
        sizes: WITHOUT_SIZE,
        prior: priors::ANOTHER_PAIR,
        choices: 1,
    });
    evidence.faults.push(FaultEvidence::of_anything(residuals.ln_evidence_of_another_pair()));
    let judgement: Judgement<Cause> = judge(&faults, &evidence)?;
    drop(faults);
    let mut left = Vec::new();
    let mut classes = Vec::new();
    for class in judgement.classes.iter().filter(|class| class.probability >= WORTH_NAMING) {
        let mut members: Vec<(CauseMember, (f64, bool))> = class
            .members
            .iter()
            .map(|member| {
                let Some(it) = hypotheses.get(member.fault) else { return another_pair(bench) };
                let left = left_by(residuals, &it.change.at(member.size));
                let told = CauseMember {
                    cause: it.cause,
                    size: member.size,
                    standard_uncertainty: member.standard_uncertainty,
                    plausible: member.possible,
                    of: it.of,
                    connection: bench.connection,
                    coils_differ: unlike.is_some(),
                    turns_apart: unlike.and_then(|unlike| unlike.turns).map(|turns| turns.value),
                };
                (told, left)
            })
            .collect();
        // A size at the end of its range that leaves much unexplained is no plausible one.
        let best = members.iter().map(|(_, (chi_square, _))| *chi_square).fold(f64::INFINITY, f64::min);
        for (member, (chi_square, _)) in &mut members {
            member.plausible &= *chi_square <= best + MUCH_WORSE;
        }
        members.sort_by_key(|(member, _)| !member.plausible);
        left.extend(members.iter().map(|(_, left)| *left));
        classes.push(CauseClass {
            probability: class.probability,
            members: members.into_iter().map(|(member, _)| member).collect(),
        });
    }
    Ok(Found { none: judgement.none, classes, left })
}

/// Nothing of this pair is left to explain.
fn another_pair(bench: &Bench) -> (CauseMember, (f64, bool)) {
    let told = CauseMember {
        cause: Cause::AnotherPair,
        size: f64::NAN,
        standard_uncertainty: f64::NAN,
        plausible: true,
        of: f64::NAN,
        connection: bench.connection,
        coils_differ: false,
        turns_apart: None,
    };
    (told, (0.0, true))
}

/// The readings beside the spec, with what a pair built within its tolerance does to several of them together.
///
/// Spreads of the build are taken in proportion to what was read, so that they stay what they are where a fault changes it.
fn data(residuals: &Residuals, of_build: &[Values], used: &[usize]) -> Result<Data> {
    let relative: Vec<f64> = used.iter().filter_map(|i| residuals.relative[*i]).collect();
    let read = |i: usize| residuals.relative[i].map_or(1.0, |it| (1.0 + it).abs().clamp(0.1, 10.0));
    let own: Vec<f64> = used.iter().map(|i| residuals.own(*i)).collect();
    let data = Data::independent(&relative, &own)?;
    Ok(of_build
        .iter()
        .map(|effect| used.iter().map(|i| read(*i) * effect[*i]).collect())
        .fold(data, Data::sharing))
}

/// Relative change of every quantity by one standard uncertainty of each length of the build, of the turns and of the
/// wire's bare diameter; of two coils alike, their mean.
fn of_the_build(bench: &Bench, celsius: f64) -> Vec<Values> {
    let tolerance = bench.tolerance_or_ordinary();
    // What a length does to the inductance is lost in what is uncertain about that itself.
    let nominal = predicted_but_inductance(bench, celsius);
    let of = |limit: f64| tolerance.distribution.standard_uncertainty(limit);
    let of_both = |limit: f64| of(limit) * FRAC_1_SQRT_2;
    let changed = |change: &dyn Fn(&mut Bench)| -> Values {
        let mut other = bench.clone();
        other.set_coils(bench.coils());
        change(&mut other);
        let changed = predicted_but_inductance(&other, celsius);
        std::array::from_fn(|i| if nominal[i] == 0.0 { 0.0 } else { changed[i] / nominal[i] - 1.0 })
    };
    let coils =
        |change: &dyn Fn(&mut Coil)| changed(&|bench| bench.as_built.iter_mut().flatten().for_each(change));
    let turns = of_both(tolerance.turns) / bench.winding.turns;
    // A resistance that was measured knows nothing of the wire or its length.
    let by_wire = |by: f64| if bench.coils().iter().all(|coil| coil.resistance.is_some()) { 0.0 } else { by };
    vec![
        coils(&|coil| coil.mean_radius_m += of_both(tolerance.mean_radius_m)),
        coils(&|coil| coil.depth_m += of_both(tolerance.depth_m)),
        coils(&|coil| coil.width_m += of_both(tolerance.width_m)),
        changed(&|bench| bench.spacing_m += of(tolerance.spacing_m)),
        only(&[(0, by_wire(turns)), (1, turns), (2, 2.0 * turns), (3, turns)]),
        only(&[(0, by_wire(-FROM_WIRE)), (3, FROM_WIRE)]),
    ]
}

/// Chi-square that a change leaves, and whether every reading is then within two uncertainties.
fn left_by(residuals: &Residuals, change: &Values) -> (f64, bool) {
    let rest = residuals
        .relative
        .iter()
        .zip(change)
        .zip(&residuals.standard_uncertainties)
        .filter_map(|((relative, change), u)| relative.map(|relative| (relative - change) / u));
    rest.fold((0.0, true), |(sum, all), in_u: f64| (sum + in_u * in_u, all && in_u.abs() <= 2.0))
}

fn middle(sizes: Sizes) -> f64 {
    match sizes {
        Sizes::Uniform { low, high } => 0.5 * (low + high) + 0.25 * (high - low),
        Sizes::LogUniform { near, far } => near.signum() * (near * far).sqrt(),
        Sizes::LogUniformEitherSign { smallest, largest } => (smallest * largest).sqrt(),
    }
}

/// A change of the quantities named, the rest as they are.
fn only(changes: &[(usize, f64)]) -> Values {
    let mut values = [0.0; Quantity::COUNT];
    for (quantity, change) in changes {
        values[*quantity] = *change;
    }
    values
}

/// Every fault that the bench can have.
fn all<'a>(bench: &'a Bench, residuals: &'a Residuals) -> Vec<Hypothesis<'a>> {
    // An inductance that nobody measured is not computed.
    let shown: fn(&Bench, f64) -> Values =
        if residuals.relative[2].is_some() { predicted } else { predicted_but_inductance };
    let nominal = shown(bench, residuals.celsius);
    let relative = move |changed: Values| -> Values {
        std::array::from_fn(|i| {
            if nominal[i] == 0.0 { 0.0 } else { (changed[i] - nominal[i]) / nominal[i].abs() }
        })
    };
    let changed = |change: &dyn Fn(&mut Bench)| {
        let mut other = bench.clone();
        other.set_coils(bench.coils());
        change(&mut other);
        relative(shown(&other, residuals.celsius))
    };
    let without_size = |cause, prior, effect: Values| Hypothesis {
        cause,
        prior,
        choices: 1,
        sizes: WITHOUT_SIZE,
        of: f64::NAN,
        change: Change::Linear(effect),
    };
    let mut hypotheses = vec![
        without_size(Cause::GaussForMillitesla, priors::UNIT_MIX_UP, only(&[(1, 9.0)])),
        without_size(Cause::MilliteslaForGauss, 0.3 * priors::UNIT_MIX_UP, only(&[(1, -0.9)])),
        without_size(Cause::FieldReversed, priors::FIELD_REVERSED, only(&[(1, -2.0 * nominal[1].signum())])),
        without_size(Cause::CoilReversed, priors::COIL_REVERSED, changed(&|bench| reverse(bench, 1))),
        without_size(
            Cause::Connection,
            priors::CONNECTION_SWAPPED,
            changed(&|bench| {
                bench.connection = other_connection(bench.connection);
            }),
        ),
        without_size(Cause::OneCoilAlone, priors::ONE_COIL_ALONE, relative(one_coil_alone(bench, &nominal))),
        without_size(Cause::RadiusForDiameter, priors::RADIUS_FOR_DIAMETER, only(&[(5, -0.5), (6, -0.5)])),
    ];
    if bench.winding.wire.conductor == Conductor::Copper {
        let effect = changed(&|bench| bench.winding.wire.conductor = Conductor::Aluminium);
        hypotheses.push(without_size(Cause::Aluminium, priors::ALUMINIUM_FOR_COPPER, effect));
    }
    hypotheses.extend(of_resistance(bench, residuals.celsius, nominal[0]));
    hypotheses.extend(of_winding(bench, residuals));
    hypotheses.extend(of_placing(bench, &changed));
    hypotheses.extend(of_meters());
    hypotheses.extend(one_alone(residuals));
    hypotheses
}

fn of_resistance<'a>(bench: &Bench, celsius: f64, ohm: f64) -> Vec<Hypothesis<'a>> {
    let conductor = bench.winding.wire.conductor;
    let ratio = conductor.resistance_ratio(celsius);
    vec![
        Hypothesis {
            cause: Cause::CopperTemperature,
            prior: priors::COPPER_TEMPERATURE,
            choices: 1,
            sizes: Sizes::Uniform { low: -20.0 - celsius, high: 150.0 - celsius },
            of: celsius,
            change: Change::Linear(only(&[(0, conductor.resistance_coefficient_per_kelvin() / ratio)])),
        },
        Hypothesis {
            cause: Cause::ContactResistance,
            prior: priors::CONTACT_RESISTANCE,
            choices: 1,
            sizes: Sizes::LogUniform { near: 1e-2 * ohm, far: 3.0 * ohm },
            of: ohm,
            change: Change::Linear(only(&[(0, 1.0 / ohm)])),
        },
    ]
}

fn of_winding<'a>(bench: &Bench, residuals: &'a Residuals) -> Vec<Hypothesis<'a>> {
    let turns = bench.winding.turns;
    let mut all = vec![
        Hypothesis {
            cause: Cause::Turns,
            prior: priors::TURNS_MISCOUNTED,
            choices: 1,
            sizes: Sizes::LogUniformEitherSign { smallest: 0.5, largest: 0.6 * turns },
            of: turns,
            change: Change::Curved(Box::new(move |more| {
                let part = more / turns;
                only(&[(0, part), (1, part), (2, (1.0 + part).powi(2) - 1.0), (3, part)])
            })),
        },
        Hypothesis {
            cause: Cause::WireDiameter,
            prior: priors::WIRE_DIAMETER,
            choices: 1,
            sizes: Sizes::LogUniformEitherSign { smallest: 0.02, largest: 0.5 },
            of: bench.winding.wire.bare_diameter_m,
            change: Change::Curved(Box::new(|part| {
                let area = (1.0 + part).powi(2);
                only(&[(0, 1.0 / area - 1.0), (3, area - 1.0), (4, part)])
            })),
        },
    ];
    if bench.connection == Connection::Series {
        let inductance = residuals.relative[2];
        all.push(Hypothesis {
            cause: Cause::ShortedTurns,
            prior: priors::SHORTED_TURNS,
            choices: 1,
            sizes: Sizes::LogUniform { near: 0.5, far: 0.9 * turns },
            of: turns,
            change: Change::Curved(Box::new(move |shorted| {
                let part = -0.5 * shorted / turns;
                let most = SHORTED_INDUCTANCE * (1.0 + part).powi(2) - 1.0;
                only(&[(0, part), (1, part), (2, inductance.map_or(most, |found| found.min(most)))])
            })),
        });
    }
    all
}

/// Spacing and mean radius, each by the parabola through what the spec says and a change to both sides.
/// What a pair with a change made to it would show.
type Changed<'c> = dyn Fn(&dyn Fn(&mut Bench)) -> Values + 'c;

fn of_placing<'a>(bench: &Bench, changed: &Changed<'_>) -> Vec<Hypothesis<'a>> {
    let parabola = |cause, prior, of: f64, largest: f64, change: &dyn Fn(&mut Bench, f64)| {
        let reach = REACH * of;
        let [down, up] = [-reach, reach].map(|by| changed(&|bench| change(bench, by)));
        Hypothesis {
            cause,
            prior,
            choices: 1,
            sizes: Sizes::LogUniformEitherSign { smallest: 5e-4, largest },
            of,
            change: Change::Curved(Box::new(move |by| {
                let x = by / reach;
                std::array::from_fn(|i| 0.5 * (up[i] - down[i]) * x + 0.5 * (up[i] + down[i]) * x * x)
            })),
        }
    };
    let spacing = bench.spacing_m;
    // Closer than their own width they would touch.
    let nearest = (spacing - bench.winding.width_m).min(0.3 * spacing);
    let mut all = vec![parabola(
        Cause::MeanRadius,
        priors::MEAN_RADIUS_OFF,
        bench.winding.mean_radius_m,
        0.3 * bench.winding.mean_radius_m,
        &|bench, by| {
            for coil in bench.as_built.iter_mut().flatten() {
                coil.mean_radius_m += by;
            }
        },
    )];
    if nearest > REACH * spacing {
        all.push(parabola(Cause::Spacing, priors::SPACING_OFF, spacing, nearest, &|bench, by| {
            bench.spacing_m += by
        }));
    }
    all
}

fn of_meters<'a>() -> Vec<Hypothesis<'a>> {
    vec![
        Hypothesis {
            cause: Cause::MeterGain,
            prior: priors::METER_GAIN,
            choices: 1,
            sizes: Sizes::LogUniformEitherSign { smallest: 0.005, largest: 0.2 },
            of: f64::NAN,
            change: Change::Linear(only(&[(1, 1.0)])),
        },
        Hypothesis {
            cause: Cause::ProbeTilted,
            prior: priors::PROBE_TILTED,
            choices: 1,
            sizes: Sizes::LogUniform { near: 0.05, far: LARGEST_TILT_RAD },
            of: f64::NAN,
            change: Change::Curved(Box::new(|angle: f64| only(&[(1, angle.cos() - 1.0)]))),
        },
    ]
}

/// One quantity off for a reason of its own.
fn one_alone<'a>(residuals: &Residuals) -> Vec<Hypothesis<'a>> {
    let measured = residuals.measured();
    let choices = measured.len();
    measured
        .into_iter()
        .map(|i| {
            let smallest = 2.0 * residuals.standard_uncertainties[i];
            Hypothesis {
                cause: Cause::Alone(Quantity::ALL[i]),
                prior: priors::ONE_QUANTITY_OFF,
                choices,
                sizes: Sizes::LogUniformEitherSign { smallest, largest: (10.0 * smallest).max(10.0) },
                of: f64::NAN,
                change: Change::Linear(only(&[(i, 1.0)])),
            }
        })
        .collect()
}

/// One coil carries nothing: bypassed in series, open in parallel.
fn one_coil_alone(bench: &Bench, nominal: &Values) -> Values {
    let own = electrical::inductances(bench, &Assembly::of(bench)).self_henry[0];
    let (resistance, field) = match bench.connection {
        Connection::Series => (0.5 * nominal[0], 0.5 * nominal[1]),
        Connection::Parallel => (2.0 * nominal[0], nominal[1]),
    };
    let mut alone = *nominal;
    (alone[0], alone[1], alone[2]) = (resistance, field, own);
    alone
}

pub(super) const fn other_connection(connection: Connection) -> Connection {
    match connection {
        Connection::Series => Connection::Parallel,
        Connection::Parallel => Connection::Series,
    }
}

pub(super) fn reverse(bench: &mut Bench, coil: usize) {
    if let Some(coils) = &mut bench.as_built {
        coils[coil].sense = -coils[coil].sense;
    }
}
