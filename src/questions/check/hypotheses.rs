//! The faults that a pair can have, with their effects on the measured quantities.

// Ranges of sizes here: common practice, no source.

use super::expected::{
    Values, predicted, predicted_but_inductance, relative_change, resistance_is_stated, with_change,
};
use super::record::Cause;
use super::residuals::{Residuals, only};
use super::subject::Quantity;
use crate::constants::Conductor;
use crate::judgement::{Sizes, priors};
use crate::pair::{Bench, Connection};
use crate::physics::electrical;
use crate::physics::field::PreparedPair;

/// Change of spacing or radius, as a fraction, with which the parabola is taken on both sides.
const REACH: f64 = 0.15;
/// Largest inductance with shorted turns, over that of the remaining turns; any smaller one is possible.
pub(super) const SHORTED_INDUCTANCE: f64 = 0.95;
/// A fault without a size of its own may still vary within these limits, because its factor is not known exactly.
pub(super) const WITHOUT_SIZE: Sizes = Sizes::Uniform { low: 0.95, high: 1.05 };

/// Relative change of every quantity for a fault of a given size.
pub(super) enum Change<'a> {
    /// The change for unit size.
    Linear(Values),
    /// As a function of the size.
    Curved(Box<dyn Fn(f64) -> Values + 'a>),
}

impl Change<'_> {
    pub(super) fn at(&self, size: f64) -> Values {
        match self {
            Self::Linear(each) => each.map(|part| part * size),
            Self::Curved(change) => change(size),
        }
    }
}

/// A fault with its effect.
pub(super) struct Hypothesis<'a> {
    pub(super) cause: Cause,
    pub(super) prior: f64,
    pub(super) choices: usize,
    pub(super) sizes: Sizes,
    pub(super) of: f64,
    pub(super) change: Change<'a>,
}

/// Every fault that the bench can have.
pub(super) fn all<'a>(bench: &'a Bench, residuals: &'a Residuals) -> Vec<Hypothesis<'a>> {
    // The inductance is computed only if it was measured.
    let shown: fn(&Bench, f64) -> Values =
        if residuals.relative[2].is_some() { predicted } else { predicted_but_inductance };
    let nominal = shown(bench, residuals.celsius);
    let changed = |change: &dyn Fn(&mut Bench)| {
        relative_change(&nominal, &shown(&with_change(bench, change), residuals.celsius))
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
        without_size(Cause::MilliteslaForGauss, priors::MILLITESLA_FOR_GAUSS, only(&[(1, -0.9)])),
        without_size(Cause::FieldReversed, priors::FIELD_REVERSED, only(&[(1, -2.0)])),
        without_size(Cause::CoilReversed, priors::COIL_REVERSED, changed(&|bench| reverse(bench, 1))),
        without_size(
            Cause::Connection,
            priors::CONNECTION_SWAPPED,
            changed(&|bench| {
                bench.connection = bench.connection.other();
            }),
        ),
        without_size(
            Cause::OneCoilAlone,
            priors::ONE_COIL_ALONE,
            relative_change(&nominal, &one_coil_alone(bench, &nominal)),
        ),
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
    // A resistance that was measured on the pair stays, whatever a slip in turns or wire of the spec.
    let by_wire = if resistance_is_stated(bench) { 0.0 } else { 1.0 };
    let mut all = vec![
        Hypothesis {
            cause: Cause::Turns,
            prior: priors::TURNS_MISCOUNTED,
            choices: 1,
            sizes: Sizes::LogUniformEitherSign { smallest: 0.5_f64.min(0.3 * turns), largest: 0.6 * turns },
            of: turns,
            change: Change::Curved(Box::new(move |more| {
                let part = more / turns;
                only(&[(0, by_wire * part), (1, part), (2, (1.0 + part).powi(2) - 1.0), (3, part)])
            })),
        },
        Hypothesis {
            cause: Cause::WireDiameter,
            prior: priors::WIRE_DIAMETER,
            choices: 1,
            sizes: Sizes::LogUniformEitherSign { smallest: 0.02, largest: 0.5 },
            of: bench.winding.wire.bare_diameter_m,
            change: Change::Curved(Box::new(move |part| {
                let area = (1.0 + part).powi(2);
                only(&[(0, by_wire * (1.0 / area - 1.0)), (3, area - 1.0), (4, part)])
            })),
        },
    ];
    all.push(shorted_turns(bench, residuals));
    all
}

/// Shorted turns of one coil. Its other turns carry the current, and the short damps the inductance.
fn shorted_turns<'a>(bench: &Bench, residuals: &Residuals) -> Hypothesis<'a> {
    let (turns, connection) = (bench.winding.turns, bench.connection);
    let inductance = residuals.relative[2];
    // Computed only if the inductance was measured, because it takes long.
    let coupling = inductance.map_or(0.0, |_| {
        let found = electrical::inductances(&PreparedPair::of(bench));
        found.mutual_henry / (found.self_henry[0] * found.self_henry[1]).sqrt()
    });
    Hypothesis {
        cause: Cause::ShortedTurns,
        prior: priors::SHORTED_TURNS,
        choices: 1,
        sizes: Sizes::LogUniform { near: 0.5, far: 0.9 * turns },
        of: turns,
        change: Change::Curved(Box::new(move |shorted| {
            let left = LeftByShort::of(shorted / turns, connection, coupling);
            let most = SHORTED_INDUCTANCE * (1.0 + left.open_inductance) - 1.0;
            only(&[
                (0, left.resistance_and_field),
                (1, left.resistance_and_field),
                (2, inductance.map_or(most, |found| found.min(most))),
            ])
        })),
    }
}

/// Relative changes of a pair of equal coils if one has lost the fraction p of its turns, with κ = M/L.
///
/// ```text
/// series:    R, B/I: (2 − p)/2            L: (1 + (1−p)² + 2κ(1−p))/(2 + 2κ)
/// parallel:  R, B/I: 2 (1 − p)/(2 − p)    L: 2 (1−p)² (1 − κ)/(1 + (1−p)² − 2κ(1−p))
/// ```
///
/// In parallel both coils have the same voltage U. The shorted one has the resistance R (1 − p) and takes the current
/// U/(R (1 − p)). With N (1 − p) turns these are as many ampere-turns as before. So the field at the centre per volt
/// stays, and the field per ampere falls as the resistance does. L is that of a coil that merely lacks the turns, (L_a
/// L_b − M²)/(L_a + L_b − 2 M) in parallel; the current in the short lowers it further.
struct LeftByShort {
    resistance_and_field: f64,
    open_inductance: f64,
}

impl LeftByShort {
    fn of(part: f64, connection: Connection, coupling: f64) -> Self {
        let rest = 1.0 - part;
        let (resistance_and_field, inductance) = match connection {
            Connection::Series => {
                (0.5 * (1.0 + rest), (1.0 + rest * rest + 2.0 * coupling * rest) / (2.0 + 2.0 * coupling))
            }
            Connection::Parallel => (
                2.0 * rest / (1.0 + rest),
                2.0 * rest * rest * (1.0 - coupling) / (1.0 + rest * rest - 2.0 * coupling * rest),
            ),
        };
        Self { resistance_and_field: resistance_and_field - 1.0, open_inductance: inductance - 1.0 }
    }
}

/// The quantities of a pair after a change.
type Changed<'c> = dyn Fn(&dyn Fn(&mut Bench)) -> Values + 'c;

/// Spacing and mean radius, each by the parabola through the spec's value and one change to each side.
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
    // If closer than their own width, the coils would touch.
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
            sizes: Sizes::LogUniform { near: 0.05, far: priors::UNSEEN_TILT_RAD },
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

/// One coil carries no current: bypassed in series, open in parallel.
fn one_coil_alone(bench: &Bench, nominal: &Values) -> Values {
    let own = electrical::inductances(&PreparedPair::of(bench)).self_henry[0];
    let (resistance, field) = match bench.connection {
        Connection::Series => (0.5 * nominal[0], 0.5 * nominal[1]),
        Connection::Parallel => (2.0 * nominal[0], nominal[1]),
    };
    let mut alone = *nominal;
    (alone[0], alone[1], alone[2]) = (resistance, field, own);
    alone
}

pub(super) fn reverse(bench: &mut Bench, coil: usize) {
    if let Some(coils) = &mut bench.as_built {
        coils[coil].sense = -coils[coil].sense;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::questions::check::expected::predicted;

    #[test]
    fn a_shorted_coil_draws_more_current_and_the_pair_makes_less_field_per_ampere() {
        for connection in [Connection::Series, Connection::Parallel] {
            for shorted in [4.0, 8.0, 20.0, 60.0] {
                let bench = Bench { connection, ..Bench::thin_pair() };
                let mut other = bench.clone();
                let [a, mut b] = bench.coils();
                b.turns -= shorted;
                other.set_coils([a, b]);
                // A coil wound with fewer turns, computed from the circuit, the field and the inductances of the two
                // real coils.
                let [whole, less] = [&bench, &other].map(|bench| predicted(bench, 20.0));
                let [found, without] =
                    [&bench, &other].map(|it| electrical::inductances(&PreparedPair::of(it)));
                let coupling = found.mutual_henry / found.self_henry[0];
                let left = LeftByShort::of(shorted / bench.winding.turns, connection, coupling);
                for (i, told) in [left.resistance_and_field, left.resistance_and_field, left.open_inductance]
                    .into_iter()
                    .enumerate()
                {
                    // To 1e-6: the coils' sections are computed to 1e-9.
                    let wanted = less[i] / whole[i] - 1.0;
                    assert!((told - wanted).abs() < 1e-6, "{connection:?} {shorted} {i}: {told} {wanted}");
                }
                assert!(without.pair_henry < found.pair_henry);
            }
        }
    }
}
