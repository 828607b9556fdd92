//! Finds whether the two coils differ by more than readings and build allow, which of them is off, and whether turns
//! explain it.
//!
//! Two sound coils differ by √2 u of the build, besides the uncertainty of the readings. Several quantities are
//! compared, and the turns as well. The coverage factor k is set so that all comparisons together accuse a sound pair
//! no more often than a single one at k = 2 (Šidák 1967, Journal of the American Statistical Association 62, 626, from
//! memory).

use super::expected::{ExpectedCoil, FROM_WIRE};
use super::readings::coil_readings;
use super::record::{CoilDifference, QuantityCheck, UnlikeCoils};
use super::subject::{CoilQuantity, Subject};
use crate::files::spec::{Measured, MeasuredValue};
use crate::judgement::coverage_of_many;
use crate::judgement::limit::Acceptance;
use crate::pair::Bench;
use crate::physics::build_error::CoilName;
use crate::physics::test_limits::inductance_of_build_fraction;
use nalgebra::{Matrix3, Vector3};
use std::f64::consts::SQRT_2;

/// Coverage factor for a difference in counted turns, which the build cannot explain.
const COVERAGE: f64 = 2.0;
/// A coil is named if its sum of squared distances from the spec, in uncertainties, exceeds the other's by this.
const CLEARLY_FARTHER: f64 = 4.0;
/// Relative part of an inductance, from wire and meter, that two coils of one make do not share (common practice, no
/// source).
const OF_INDUCTANCE: f64 = 0.002;
/// Geometric mean distance of a section over (width + depth). It gives the change of a coil's inductance with its
/// section at constant mean radius: −d ln L/d ln(width + depth) is about 1/(ln(8 r/GMD) − 2) with GMD = 0.2235 (width +
/// depth) (Rosa and Grover 1912, Bulletin of the Bureau of Standards 8, 1, from memory).
const GMD_OF_SIDES: f64 = 0.2235;

/// Compares the coils' own readings; `None` if they do not differ in turns, wire or size.
///
/// A coil is named only if one of its own differing readings does not pass among `judged`.
pub(super) fn unlike_coils(
    bench: &Bench,
    measured: &Measured,
    judged: &[QuantityCheck],
) -> Option<UnlikeCoils> {
    let expected = [CoilName::A, CoilName::B]
        .map(|name| ExpectedCoil::of(bench, name, &measured.coils[usize::from(name == CoilName::B)]));
    let pairs = differences(bench, measured, &expected);
    // One more for the turns, which follow from the quantities together.
    let several = pairs.iter().filter(|it| it.quantity != CoilQuantity::Turns).count();
    let coverage = coverage_of_many(COVERAGE, several + 1);
    let differences: Vec<CoilDifference> = pairs
        .iter()
        .map(|pair| pair.with_build(bench, &expected))
        .filter(|it| {
            let enough = if it.quantity == CoilQuantity::Turns { COVERAGE } else { coverage };
            it.difference.abs() > enough * it.standard_uncertainty
        })
        .collect();
    let turns = turns(bench, &pairs, coverage);
    if differences.is_empty() && turns.is_none() {
        return None;
    }
    let telling = |quantity: CoilQuantity| {
        differences.iter().any(|it| it.quantity == quantity)
            || turns.is_some() && of_turns(quantity).is_some()
    };
    let passes = |coil: CoilName| {
        judged
            .iter()
            .filter(
                |it| matches!(it.subject, Subject::Coil(name, quantity) if name == coil && telling(quantity)),
            )
            .all(|it| it.verdict == Acceptance::Pass)
    };
    let coil = farther(measured, &expected, &telling).filter(|coil| !passes(*coil));
    Some(UnlikeCoils { coil, turns, differences })
}

impl CoilDifference {
    /// Adds the uncertainty from two coils built within the spec's limits, which count as two standard uncertainties.
    /// Counted turns have none. The limits of an inductance hold the error of the model, which both coils share.
    fn with_build(&self, bench: &Bench, expected: &[ExpectedCoil; 2]) -> Self {
        let limits =
            CoilQuantity::ALL.iter().position(|it| *it == self.quantity).map(|i| expected[0].limits[i]);
        let half = limits.and_then(|it| Some(0.5 * (it.high? - it.low?))).unwrap_or(0.0);
        let of_build = match self.quantity {
            CoilQuantity::Turns => 0.0,
            CoilQuantity::InductanceHenry => {
                SQRT_2 * self.mean * inductance_of_build_fraction(bench).hypot(OF_INDUCTANCE)
            }
            _ => SQRT_2 * 0.5 * half,
        };
        Self { standard_uncertainty: self.standard_uncertainty.hypot(of_build), ..self.clone() }
    }
}

/// Whether a quantity differs that depends on turns or wire, so that no single number of turns holds for both coils.
pub(super) fn differ_in_winding(unlike: &UnlikeCoils) -> bool {
    unlike.turns.is_some() || unlike.differences.iter().any(|it| of_turns(it.quantity).is_some())
}

/// Exponents of turns, wire area and mean radius in a quantity.
const fn of_turns(quantity: CoilQuantity) -> Option<[f64; 3]> {
    match quantity {
        CoilQuantity::Turns => Some([1.0, 0.0, 0.0]),
        CoilQuantity::ResistanceOhm => Some([1.0, -1.0, 1.0]),
        CoilQuantity::ConductorMassKg => Some([1.0, 1.0, 1.0]),
        CoilQuantity::InductanceHenry => Some([2.0, 0.0, 1.5]),
        CoilQuantity::InnerDiameterM
        | CoilQuantity::OuterDiameterM
        | CoilQuantity::WidthM
        | CoilQuantity::OffsetXM
        | CoilQuantity::OffsetYM
        | CoilQuantity::TiltXRad
        | CoilQuantity::TiltYRad => None,
    }
}

/// Every quantity read on both coils; their positions are not compared.
fn differences(bench: &Bench, measured: &Measured, expected: &[ExpectedCoil; 2]) -> Vec<CoilDifference> {
    let [a, b] = &measured.coils;
    let conductor = bench.winding.wire.conductor;
    let as_warm_as_a = conductor.resistance_ratio(a.resistance_at_celsius)
        / conductor.resistance_ratio(b.resistance_at_celsius);
    let all = CoilQuantity::ALL.into_iter().zip(coil_readings(a)).zip(coil_readings(b)).enumerate();
    all.filter(|(_, ((quantity, _), _))| {
        use CoilQuantity::{OffsetXM, OffsetYM, TiltXRad, TiltYRad};
        !matches!(quantity, OffsetXM | OffsetYM | TiltXRad | TiltYRad)
    })
    .filter_map(|(i, ((quantity, of_a), of_b))| {
        let (of_a, of_b) = of_a.zip(of_b)?;
        let factor = if quantity == CoilQuantity::ResistanceOhm { as_warm_as_a } else { 1.0 };
        let of_spec = factor * expected[1].values[i] - expected[0].values[i];
        Some(CoilDifference {
            name: quantity.key(),
            quantity,
            difference: factor * of_b.value - of_a.value - of_spec,
            standard_uncertainty: of_a.standard_uncertainty.hypot(factor * of_b.standard_uncertainty),
            mean: 0.5 * (of_a.value + factor * of_b.value),
        })
    })
    .collect()
}

/// The coil farther from the spec in the differing quantities, in uncertainties of reading and build.
fn farther(
    measured: &Measured,
    expected: &[ExpectedCoil; 2],
    telling: &dyn Fn(CoilQuantity) -> bool,
) -> Option<CoilName> {
    let distance = |name: CoilName| -> f64 {
        let number = usize::from(name == CoilName::B);
        let (coil, expected) = (&measured.coils[number], &expected[number]);
        let readings = CoilQuantity::ALL.into_iter().zip(coil_readings(coil)).enumerate();
        let of_what_differs = readings.filter(|(_, (quantity, _))| telling(*quantity));
        of_what_differs
            .filter_map(|(i, (_, reading))| {
                let (reading, limits) = (reading?, expected.limits[i]);
                let half = 0.5 * (limits.high? - limits.low?);
                let u = reading.standard_uncertainty.hypot(0.5 * half);
                Some(((reading.value - expected.values[i]) / u).powi(2))
            })
            .sum()
    };
    let [a, b] = [CoilName::A, CoilName::B].map(distance);
    match () {
        () if a > b + CLEARLY_FARTHER => Some(CoilName::A),
        () if b > a + CLEARLY_FARTHER => Some(CoilName::B),
        () => None,
    }
}

/// Turns of b minus turns of a, by least squares over all quantities that depend on them: d ln Q = p n + q w + s r.
/// Here n is the relative difference of the turns, w that of the wire's area, which may differ between two coils of one
/// order, and r that of the mean radius, within the build's tolerance. `None` if that does not explain the differences,
/// or if they are within the tolerance of turns.
fn turns(bench: &Bench, pairs: &[CoilDifference], coverage: f64) -> Option<MeasuredValue> {
    let tolerance = bench.tolerance_or_ordinary();
    let of_both = |limit: f64| SQRT_2 * tolerance.distribution.standard_uncertainty(limit);
    let of_radius = of_both(tolerance.mean_radius_m) / bench.winding.mean_radius_m;
    let of_section =
        section_part_of_inductance(bench, of_both(tolerance.width_m), of_both(tolerance.depth_m));
    let prior = Vector3::new(0.0, FROM_WIRE.powi(-2), of_radius.max(1e-6).powi(-2));
    let mut normal = Matrix3::from_diagonal(&prior);
    let mut right = Vector3::zeros();
    let mut observed = Vec::new();
    for it in pairs {
        let Some(powers) = of_turns(it.quantity).map(Vector3::from) else { continue };
        let inductance = it.quantity == CoilQuantity::InductanceHenry;
        let own = if inductance { OF_INDUCTANCE.hypot(of_section) } else { 0.0 };
        let weight = (it.standard_uncertainty / it.mean).hypot(own).max(1e-4).powi(-2);
        let read = it.difference / it.mean;
        normal += weight * powers * powers.transpose();
        right += weight * read * powers;
        observed.push((powers, read, weight));
    }
    let covariance = normal.try_inverse()?;
    let found = covariance * right;
    let of_prior: f64 = (0..3).map(|i| prior[i] * found[i].powi(2)).sum();
    let left: f64 =
        observed.iter().map(|(powers, read, weight)| weight * (read - powers.dot(&found)).powi(2)).sum();
    let explained = left + of_prior <= 4.0 + 3.0 * observed.len() as f64;
    let (n, u) = (found[0] * bench.winding.turns, covariance[(0, 0)].sqrt() * bench.winding.turns);
    let counted = pairs.iter().any(|it| it.quantity == CoilQuantity::Turns);
    let differ = match counted {
        true => n.abs() > COVERAGE * u,
        false => n.abs() > coverage * u.hypot(of_both(tolerance.turns)),
    };
    (explained && differ).then_some(MeasuredValue { value: n, standard_uncertainty: u })
}

/// Relative standard uncertainty of the ratio of two coils' inductances, from their widths and depths.
fn section_part_of_inductance(bench: &Bench, of_width_m: f64, of_depth_m: f64) -> f64 {
    let winding = &bench.winding;
    let sides_m = winding.width_m + winding.depth_m;
    let slope = ((8.0 * winding.mean_radius_m / (GMD_OF_SIDES * sides_m)).ln() - 2.0).max(0.5);
    of_width_m.hypot(of_depth_m) / sides_m / slope
}

#[cfg(test)]
mod tests {
    use super::super::expected::Expected;
    use super::super::judged::judged;
    use super::*;
    use crate::files::spec::CoilReadings;
    use crate::judgement::limit::Rule;
    use crate::numeric::random::SampleGenerator;
    use crate::pair::BuildTolerance;

    fn bench() -> Bench {
        let mut bench = Bench::thin_pair();
        bench.winding.width_m = 0.016;
        bench.winding.depth_m = 0.010;
        bench.build_tolerance = Some(BuildTolerance::ORDINARY);
        bench
    }

    fn unlike(measured: &Measured) -> Option<UnlikeCoils> {
        let bench = bench();
        let expected = Expected::of(&bench, measured);
        let (judged, _) = judged(&bench, measured, &expected, None, Rule::default()).unwrap();
        unlike_coils(&bench, measured, &judged)
    }

    /// Both coils within their tolerance, with this many turns missing on coil b, measured with ordinary meters.
    fn measured(missing: f64, seed: u64, case: u64) -> Measured {
        let bench = bench();
        let random = &mut SampleGenerator::new(seed, case);
        let mut measured = Measured::nothing("Delivered");
        for (i, name) in [CoilName::A, CoilName::B].into_iter().enumerate() {
            let all = CoilReadings {
                inductance_henry: Some(MeasuredValue { value: 1.0, standard_uncertainty: 1.0 }),
                ..measured.coils[i]
            };
            let spec = ExpectedCoil::of(&bench, name, &all).values;
            let turns = if i == 1 { 1.0 - missing / bench.winding.turns } else { 1.0 };
            let (area, radius) = (1.0 + random.rectangular(0.01), 1.0 + random.rectangular(0.5e-3) / 0.15);
            let mut read = |true_value: f64, relative: f64| {
                let u = relative * true_value;
                Some(MeasuredValue { value: true_value + random.normal(u), standard_uncertainty: u })
            };
            measured.coils[i] = CoilReadings {
                resistance_ohm: read(spec[1] * turns * radius / area, 0.001),
                inductance_henry: read(spec[5] * turns * turns * radius, 0.002),
                conductor_mass_kg: read(spec[6] * turns * radius * area, 0.002),
                ..measured.coils[i]
            };
        }
        measured
    }

    #[test]
    fn missing_turns_of_one_coil_are_found_there_and_sound_coils_are_not_given_any() {
        const CASES: u64 = 60;
        let (mut given, mut found, mut named, mut covered) = (0, 0, 0, 0);
        for case in 0..CASES {
            given += u64::from(unlike(&measured(0.0, 5, case)).is_some_and(|it| it.turns.is_some()));
            // Six of 136 turns are 4.4 %.
            let Some(unlike) = unlike(&measured(6.0, 6, case)) else { continue };
            let Some(turns) = unlike.turns else { continue };
            found += 1;
            covered += u64::from((turns.value + 6.0).abs() <= 2.0 * turns.standard_uncertainty);
            assert_ne!(unlike.coil, Some(CoilName::A), "case {case}: {unlike:?}");
            named += u64::from(unlike.coil == Some(CoilName::B));
        }
        assert!(given * 20 <= CASES, "{given} of {CASES} sound pairs are given other turns");
        assert!(found * 100 >= 99 * CASES && covered * 100 >= 92 * CASES, "{found}, {covered} of {CASES}");
        assert!(named * 10 >= 5 * CASES, "coil b is named in {named} of {CASES}");
    }

    #[test]
    fn sound_coils_differ_in_one_pair_of_twenty_at_most_and_larger_differences_are_found() {
        const CASES: u64 = 200;
        let differs = |change: &dyn Fn(&mut CoilReadings)| -> u64 {
            let of_one = |case: u64| {
                let mut measured = measured(0.0, 8, case);
                // Diameters and widths also vary within their tolerance.
                let random = &mut SampleGenerator::new(9, case);
                for coil in &mut measured.coils {
                    let mut read = |true_value: f64, limit: f64| {
                        let value = true_value + random.rectangular(limit) + random.normal(0.15e-3);
                        Some(MeasuredValue { value, standard_uncertainty: 0.15e-3 })
                    };
                    coil.inner_diameter_m = read(0.290, 1.5e-3);
                    coil.outer_diameter_m = read(0.310, 1.5e-3);
                    coil.width_m = read(0.016, 0.5e-3);
                }
                change(&mut measured.coils[1]);
                u64::from(unlike(&measured).is_some())
            };
            (0..CASES).map(of_one).sum()
        };
        let sound = differs(&|_| {});
        assert!(sound * 20 <= CASES, "{sound} of {CASES} sound pairs differ");
        let wider = differs(&|coil| {
            for diameter in [&mut coil.inner_diameter_m, &mut coil.outer_diameter_m].into_iter().flatten() {
                diameter.value += 10e-3;
            }
        });
        assert_eq!(wider, CASES, "a mean radius of 5 mm more");
        // Two turns of 136 change mass and resistance by 1.5 % each.
        let fewer = differs(&|coil| {
            let part = 1.0 - 2.0 / 136.0;
            for (reading, power) in [
                (&mut coil.resistance_ohm, 1),
                (&mut coil.conductor_mass_kg, 1),
                (&mut coil.inductance_henry, 2),
            ] {
                reading.as_mut().unwrap().value *= f64::powi(part, power);
            }
        });
        assert!(fewer * 10 >= 9 * CASES, "two turns fewer are found in {fewer} of {CASES}");
    }

    #[test]
    fn turns_that_were_counted_differ_however_little() {
        let mut measured = Measured::nothing("Counted");
        for (coil, value) in measured.coils.iter_mut().zip([136.0, 135.0]) {
            coil.turns = Some(MeasuredValue { value, standard_uncertainty: 0.0 });
        }
        let unlike = unlike(&measured).unwrap();
        assert!(differ_in_winding(&unlike) && unlike.coil == Some(CoilName::B), "{unlike:?}");
        assert!((unlike.turns.unwrap().value + 1.0).abs() < 0.01);
        measured.coils[1].turns = measured.coils[0].turns;
        assert_eq!(super::tests::unlike(&measured), None);
    }

    #[test]
    fn an_inductance_that_falls_alone_is_not_laid_to_missing_turns() {
        let mut measured = measured(0.0, 7, 1);
        let henry = measured.coils[1].inductance_henry.as_mut().unwrap();
        henry.value *= 0.7;
        let unlike = unlike(&measured).unwrap();
        assert_eq!((unlike.turns, unlike.coil), (None, Some(CoilName::B)), "{unlike:?}");
    }
}
