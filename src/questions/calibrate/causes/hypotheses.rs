//! The faults that readings or pair may have, the effect of each on the readings, and its possible sizes.

use super::points::{Point, Points};
use super::record::{Bend, Cause, Hypothesis};
use crate::judgement::priors::{
    AMMETER_OFFSET, COIL_REVERSED, DRIFT, FLIP_FORGOTTEN, MEAN_RADIUS_OFF, METER_GAIN, MISREAD_READING,
    NOT_STRAIGHT, PROBE_OFF_CENTRE, PROBE_TILTED, SPACING_OFF, TURNS_MISCOUNTED, UNIT_MIX_UP,
    UNSEEN_TILT_RAD, WRONG_CONNECTION,
};
use crate::judgement::{Effect, Fault, Sizes};
use crate::pair::{AmmeterPosition, Connection};
use crate::physics::build_error::{BuildParameter, CoilName, field_constant_tesla_per_ampere};
use crate::physics::field::{Assembly, PreparedPair};
use crate::physics::slope::Slope;
use nalgebra::Vector3;

pub(super) type CalibrationFault<'a> = Fault<'a, Hypothesis>;

/// A fault such as a wrong unit has a fixed size. This is the half-width of the range around it, as a fraction of the
/// slope that the fault leaves. It allows for errors of build and meters.
const ALL_OR_NOTHING: f64 = 0.03;
/// That half-width, as a fraction of the sound slope, if the fault leaves no slope.
const LEFT_OF_NONE: f64 = 0.01;
/// A cause that needs a relative change larger than this is not offered as an explanation.
const LARGEST_PART: f64 = 0.12;
/// Largest error of a meter's gain that is considered.
const LARGEST_GAIN: f64 = 0.15;
/// Largest bend of a line by a probe or an ammeter in use, as a fraction of the largest reading (common practice, no
/// source).
const LARGEST_BEND: f64 = 0.3;
/// Number of places of the probe at which its deviation is tabulated.
const PLACES: usize = 24;

/// Everything that the hypotheses need.
pub(super) struct Hypotheses<'a> {
    pub pair: &'a PreparedPair<'a>,
    pub computed: &'a Slope,
    pub points: &'a Points,
}

impl<'a> Hypotheses<'a> {
    /// All hypotheses; those of a fixed size come first.
    pub(super) fn all(&self) -> Vec<CalibrationFault<'a>> {
        let mut faults = self.of_connection();
        faults.extend(self.of_units().into_iter().filter(|fault| self.leaves_a_field(fault)));
        faults.extend(self.flip_flags());
        faults.extend(self.of_the_build());
        faults.extend(self.of_the_probe());
        faults.extend(self.of_the_meters());
        faults.extend(self.of_single_readings());
        faults.extend(self.drift());
        faults.extend(self.bends());
        faults
    }

    /// The fault that every reading is `ratio` times what the computed line predicts.
    fn ratio(&self, hypothesis: Hypothesis, ratio: f64, prior: f64, choices: usize) -> CalibrationFault<'a> {
        let half = (ALL_OR_NOTHING * ratio.abs()).max(if ratio == 0.0 { LEFT_OF_NONE } else { 0.0 });
        let half = half / (ratio - 1.0).abs();
        Fault {
            cause: hypothesis,
            effect: Effect::Linear(self.points.each(|point| (ratio - 1.0) * point.predicted_tesla)),
            sizes: Sizes::Uniform { low: 1.0 - half, high: 1.0 + half },
            prior,
            choices,
        }
    }

    /// Whether a change of unit leaves a field larger than the scatter. If not, the hypothesis is left out.
    fn leaves_a_field(&self, fault: &CalibrationFault) -> bool {
        let Effect::Linear(effect) = &fault.effect else { return true };
        let left = self.points.points.iter().zip(effect);
        left.into_iter().any(|(point, effect)| (point.predicted_tesla + effect).abs() > 3.0 * point.own_tesla)
    }

    fn of_units(&self) -> Vec<CalibrationFault<'a>> {
        const POWERS: [i32; 10] = [1, -1, 2, -2, 3, -3, 4, -4, 6, -6];
        let mut faults: Vec<CalibrationFault<'a>> = POWERS
            .iter()
            .map(|power| {
                let hypothesis = Hypothesis { power: Some(*power), ..Hypothesis::of(Cause::UnitsMixedUp) };
                self.ratio(hypothesis, 10f64.powi(*power), 0.7 * UNIT_MIX_UP, POWERS.len())
            })
            .collect();
        // With the columns exchanged the fitted slope is, in the unit of the headings, one over the computed one: T/A,
        // mT/A, G/A, µT/A, or the same over mA.
        const UNITS: [f64; 5] = [1.0, 1e-1, 1e-3, 1e-4, 1e-6];
        faults.extend(UNITS.iter().map(|unit| {
            let ratio = (unit / self.computed.tesla_per_ampere).powi(2);
            self.ratio(Hypothesis::of(Cause::CurrentAndFieldSwapped), ratio, 0.1 * UNIT_MIX_UP, UNITS.len())
        }));
        faults
    }

    fn of_connection(&self) -> Vec<CalibrationFault<'a>> {
        let hypothesis = Hypothesis::of;
        let mut faults = vec![self.ratio(hypothesis(Cause::LeadsReversed), -1.0, WRONG_CONNECTION, 2)];
        faults.extend(self.coil_reversed());
        faults.push(match self.pair.bench().connection {
            Connection::Series => self.ratio(hypothesis(Cause::OneCoilOrParallel), 0.5, WRONG_CONNECTION, 2),
            Connection::Parallel => {
                self.ratio(hypothesis(Cause::SeriesNotParallel), 2.0, WRONG_CONNECTION, 2)
            }
        });
        faults
    }

    /// One coil is reversed. The field at the centre vanishes; off the centre a little remains.
    fn coil_reversed(&self) -> Vec<CalibrationFault<'a>> {
        let reversed = |which: usize| {
            let mut bench = self.pair.bench().clone();
            let mut coils = bench.coils();
            coils[which].sense = -coils[which].sense;
            bench.as_built = Some(coils);
            let assembly = Assembly::of(&bench);
            let effect = self.points.each(|point| {
                let field = assembly.field_per_ampere(&point.probe_m).dot(&point.direction);
                field * point.current_ampere - point.predicted_tesla
            });
            Fault {
                cause: Hypothesis::of(Cause::CoilReversed),
                effect: Effect::Linear(effect),
                sizes: Sizes::Uniform { low: 1.0 - LEFT_OF_NONE, high: 1.0 + LEFT_OF_NONE },
                prior: COIL_REVERSED,
                choices: 2,
            }
        };
        vec![reversed(0), reversed(1)]
    }

    /// Some readings have the sign of a probe turned the other way.
    fn flip_flags(&self) -> Option<CalibrationFault<'a>> {
        let against = self.points.each(|point| {
            let turned = point.field_tesla * point.predicted_tesla < 0.0;
            if turned { -2.0 * point.predicted_tesla } else { 0.0 }
        });
        let count = against.iter().filter(|effect| **effect != 0.0).count();
        (count > 1 && count < against.len()).then(|| Fault {
            cause: Hypothesis::of(Cause::FlipFlagsForgotten),
            effect: Effect::Linear(against),
            sizes: Sizes::Uniform { low: 1.0 - 2.0 * ALL_OR_NOTHING, high: 1.0 + 2.0 * ALL_OR_NOTHING },
            prior: FLIP_FORGOTTEN,
            choices: 1,
        })
    }

    /// A small change of the slope: `relative` for unit size.
    fn slope(
        &self,
        cause: Cause,
        relative: f64,
        [smallest, largest]: [f64; 2],
        prior: f64,
    ) -> CalibrationFault<'a> {
        Fault {
            cause: Hypothesis::of(cause),
            effect: Effect::Linear(self.points.each(|point| relative * point.predicted_tesla)),
            sizes: Sizes::LogUniformEitherSign { smallest, largest: largest.max(2.0 * smallest) },
            prior,
            choices: 1,
        }
    }

    fn of_the_build(&self) -> Vec<CalibrationFault<'a>> {
        let tolerance = self.pair.bench().build_tolerance;
        let limit = |parameter: BuildParameter, least: f64| {
            tolerance.map_or(least, |tolerance| parameter.limit(&tolerance).max(least))
        };
        let turns: f64 = self.pair.bench().coils().iter().map(|coil| coil.turns).sum();
        let (spacing, radius) = (self.pair.bench().spacing_m, self.pair.bench().winding.mean_radius_m);
        vec![
            // Counted over both coils: half the effect of one turn less on each.
            self.slope(
                Cause::TurnsMissing,
                -0.5 * self.relative_of_both(BuildParameter::Turns, 1.0),
                [limit(BuildParameter::Turns, 0.5), LARGEST_PART * turns],
                TURNS_MISCOUNTED,
            ),
            self.slope(
                Cause::Spacing,
                self.relative_of_both(BuildParameter::Spacing, 1e-4 * spacing),
                [limit(BuildParameter::Spacing, 1e-3 * spacing), LARGEST_PART * spacing],
                SPACING_OFF,
            ),
            self.slope(
                Cause::MeanRadius,
                self.relative_of_both(BuildParameter::MeanRadius, 1e-4 * radius),
                [limit(BuildParameter::MeanRadius, 1e-3 * radius), LARGEST_PART * radius],
                MEAN_RADIUS_OFF,
            ),
        ]
    }

    /// d ln k if the parameter of both coils is moved by one unit.
    fn relative_of_both(&self, parameter: BuildParameter, step: f64) -> f64 {
        let moved = |by: f64| {
            let mut bench = self.pair.bench().clone();
            let coils = bench.coils();
            bench.set_coils(coils);
            match parameter {
                BuildParameter::Spacing => parameter.displace(&mut bench, None, by),
                _ => {
                    for coil in [CoilName::A, CoilName::B] {
                        parameter.displace(&mut bench, Some(coil), by);
                    }
                }
            }
            field_constant_tesla_per_ampere(&Assembly::of(&bench))
        };
        (moved(step) - moved(-step)) / (2.0 * step * self.computed.tesla_per_ampere)
    }

    fn of_the_probe(&self) -> Vec<CalibrationFault<'a>> {
        let predicted = self.points.each(|point| point.predicted_tesla);
        let tilted = Fault {
            cause: Hypothesis::of(Cause::ProbeTilted),
            effect: Effect::Curved(Box::new(move |tilt: f64| {
                predicted.iter().map(|predicted| (tilt.cos() - 1.0) * predicted).collect()
            })),
            sizes: Sizes::Uniform { low: 0.03, high: UNSEEN_TILT_RAD },
            prior: PROBE_TILTED,
            choices: 1,
        };
        let mut faults = vec![tilted];
        let directions = [(Cause::ProbeAlongAxis, Vector3::z()), (Cause::ProbeOffAxis, Vector3::x())];
        faults.extend(directions.map(|(cause, direction)| self.moved_probe(cause, direction)));
        faults
    }

    /// The probe was at another place than the file states, for all readings alike.
    fn moved_probe(&self, cause: Cause, direction: Vector3<f64>) -> CalibrationFault<'a> {
        // A probe farther off than a third of the radius is not taken for the centre (common practice, no source).
        let largest = self.pair.bench().winding.mean_radius_m / 3.0;
        // Readings at one place share a table of the effect of the move, per ampere.
        let mut places: Vec<(Vector3<f64>, Vector3<f64>, Vec<f64>)> = Vec::new();
        let mut of_point = Vec::new();
        for point in &self.points.points {
            let known =
                places.iter().position(|place| (place.0, place.1) == (point.probe_m, point.direction));
            of_point.push(known.unwrap_or(places.len()));
            if known.is_none() {
                let at = |distance: f64| {
                    let place = point.probe_m + direction * distance;
                    self.pair.assembly().field_per_ampere(&place).dot(&point.direction)
                };
                let centre = at(0.0);
                let table = (0..=PLACES).map(|step| at(largest * step as f64 / PLACES as f64) - centre);
                places.push((point.probe_m, point.direction, table.collect()));
            }
        }
        let currents = self.points.each(|point| point.current_ampere);
        let effect = move |distance: f64| {
            let place = (distance / largest * PLACES as f64).clamp(0.0, PLACES as f64);
            let step = (place.floor() as usize).min(PLACES - 1);
            let part = place - step as f64;
            let along: Vec<f64> = places
                .iter()
                .map(|(_, _, table)| table[step] + part * (table[step + 1] - table[step]))
                .collect();
            of_point.iter().zip(&currents).map(|(place, current)| along[*place] * current).collect()
        };
        Fault {
            cause: Hypothesis::of(cause),
            effect: Effect::Curved(Box::new(effect)),
            sizes: Sizes::LogUniform { near: 3e-3_f64.min(0.1 * largest), far: largest },
            prior: PROBE_OFF_CENTRE,
            choices: 2,
        }
    }

    fn of_the_meters(&self) -> Vec<CalibrationFault<'a>> {
        let probe = self.pair.bench().field_meter.and_then(|meter| meter.accuracy_of_reading).unwrap_or(0.01);
        let ammeter = self.pair.bench().ammeter.map_or(0.01, |meter| meter.gain_limit());
        let beyond = |limit: f64| [limit.max(1e-3), LARGEST_GAIN];
        let mut faults = vec![
            self.slope(Cause::ProbeGain, 1.0, beyond(probe), METER_GAIN),
            // The meter shows this fraction too little, so the true current is larger.
            self.slope(Cause::AmmeterGain, 1.0, beyond(ammeter), METER_GAIN),
        ];
        if self.pair.bench().ammeter_position != Some(AmmeterPosition::AfterReversal) {
            let digits = self.pair.bench().ammeter.map_or(0.0, |meter| meter.limit_of_error(0.0));
            let smallest = if digits > 0.0 { digits } else { 0.01 };
            faults.push(Fault {
                cause: Hypothesis::of(Cause::AmmeterZero),
                effect: Effect::Linear(self.points.each(|point| point.sign_tesla_per_ampere)),
                sizes: Sizes::LogUniformEitherSign { smallest, largest: 30.0 * smallest },
                prior: AMMETER_OFFSET,
                choices: 1,
            });
        }
        faults
    }

    fn of_single_readings(&self) -> Vec<CalibrationFault<'a>> {
        let n = self.points.points.len();
        if n < 3 {
            return Vec::new();
        }
        let only = |i: usize, amount: f64| {
            let mut effect = vec![0.0; n];
            effect[i] = amount;
            Effect::Linear(effect)
        };
        let largest = 2.0 * self.points.largest_tesla;
        let mut faults = Vec::new();
        for (i, point) in self.points.points.iter().enumerate() {
            let reading = Some(point.reading);
            for power in [1, -1, 3, -3] {
                // Tried only if the reading is near the value with the mixed-up unit; elsewhere the hypothesis has no
                // weight.
                let wanted = 10f64.powi(power) * point.predicted_tesla;
                if (point.field_tesla / wanted - 1.0).abs() < 0.3 {
                    let power = Some(power);
                    faults.push(Fault {
                        cause: Hypothesis { reading, power, ..Hypothesis::of(Cause::UnitsOfOneReading) },
                        effect: only(i, wanted - point.predicted_tesla),
                        sizes: Sizes::Uniform { low: 0.9, high: 1.1 },
                        prior: 0.2 * UNIT_MIX_UP,
                        choices: 4 * n,
                    });
                }
            }
            let smallest = (2.0 * point.own_tesla).min(0.5 * largest);
            faults.push(Fault {
                cause: Hypothesis { reading, ..Hypothesis::of(Cause::MisreadReading) },
                effect: only(i, 1.0),
                sizes: Sizes::LogUniformEitherSign { smallest, largest },
                prior: 0.5 * MISREAD_READING,
                choices: n,
            });
            // A misread current. It shifts the field that this reading should show.
            let here = point.predicted_tesla / point.current_ampere;
            let per_ampere = match here.is_finite() && here != 0.0 {
                true => here,
                false => self.computed.tesla_per_ampere,
            };
            let ampere = |tesla: f64| tesla / per_ampere.abs();
            faults.push(Fault {
                cause: Hypothesis { reading, ..Hypothesis::of(Cause::MisreadCurrent) },
                effect: only(i, -per_ampere),
                sizes: Sizes::LogUniformEitherSign { smallest: ampere(smallest), largest: ampere(largest) },
                prior: 0.5 * MISREAD_READING,
                choices: n,
            });
        }
        faults
    }

    /// A zero that drifts steadily from the first reading to the last.
    fn drift(&self) -> Option<CalibrationFault<'a>> {
        let own = self.points.points.iter().map(|point| point.own_tesla).fold(0.0, f64::max);
        (self.points.points.len() > 3).then(|| Fault {
            cause: Hypothesis::of(Cause::Drift),
            effect: Effect::Linear(self.points.each(|point| point.order)),
            sizes: Sizes::LogUniformEitherSign {
                smallest: (2.0 * own).min(0.02 * self.points.largest_tesla),
                largest: 0.2 * self.points.largest_tesla,
            },
            prior: DRIFT,
            choices: 1,
        })
    }

    /// Field against current is bent, by a fraction of the largest reading: as the third power, or as the square.
    fn bends(&self) -> Vec<CalibrationFault<'a>> {
        let points = &self.points.points;
        let largest = points.iter().map(|point| point.predicted_tesla.abs()).fold(0.0, f64::max);
        if points.len() < 4 || largest == 0.0 {
            return Vec::new();
        }
        let own = points.iter().map(|point| point.own_tesla).fold(0.0, f64::max);
        let bent = |bend: Bend, effect: Vec<f64>| Fault {
            cause: Hypothesis { bend: Some(bend), ..Hypothesis::of(Cause::NotStraight) },
            effect: Effect::Linear(effect),
            sizes: Sizes::LogUniformEitherSign {
                smallest: (2.0 * own / largest).min(0.1 * LARGEST_BEND),
                largest: LARGEST_BEND,
            },
            prior: NOT_STRAIGHT,
            choices: 2,
        };
        let part = |point: &Point| point.predicted_tesla / largest;
        vec![
            bent(Bend::Odd, self.points.each(|point| largest * part(point).powi(3))),
            bent(Bend::Even, self.points.each(|point| largest * part(point).powi(2))),
        ]
    }
}
