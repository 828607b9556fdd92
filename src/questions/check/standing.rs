//! Readings of how the coils stand to each other, taken round the rim.

use super::reading::Reading;
use super::record::LimitsFrom;
use super::subject::Subject;
use crate::files::spec::{CoilReadings, Measured, MeasuredValue};
use crate::judgement::limit::Limits;
use crate::pair::{Bench, RimLimits};

/// The difference of the coils' distances round the rim, and the step from rim to rim.
///
/// They pass up to the limits of the drawing and the test sheet, which one coil alone may reach, and fail beyond what both
/// coils may reach together. In between each coil's own tilt or offset decides. Where the file has those of both coils,
/// each is judged by itself, and what both may reach together is the only limit.
pub(super) fn readings(bench: &Bench, measured: &Measured) -> Vec<Reading> {
    let tolerance = bench.tolerance_or_ordinary();
    let reading = |subject, value, limits: RimLimits, each_is_known: bool| Reading {
        subject,
        value,
        expected: Some(0.0),
        limits: Limits {
            low: None,
            high: Some(if each_is_known { limits.both_coils_m } else { limits.one_coil_m }),
        },
        limits_from: LimitsFrom::Spec,
        fails_above: (!each_is_known).then_some(limits.both_coils_m),
    };
    let of_each = |of: fn(&CoilReadings) -> [Option<MeasuredValue>; 2]| {
        measured.coils.iter().all(|coil| of(coil).iter().all(Option::is_some))
    };
    let difference = measured.spacing_difference.map(|it| {
        let tilts = of_each(|coil| coil.tilt_rad);
        let limits = tolerance.rim_difference_m(it.across_m);
        reading(Subject::SpacingDifference { across_m: it.across_m }, it.difference_m, limits, tilts)
    });
    let step = measured.rim_step_m.map(|step| {
        let offsets = of_each(|coil| coil.offset_m);
        reading(Subject::RimStep, step, tolerance.rim_step_m(), offsets)
    });
    difference.into_iter().chain(step).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::spec::RimReading;
    use crate::judgement::limit::{Rule, Verdict};
    use crate::numeric::random::SampleGenerator;
    use nalgebra::{Rotation3, Vector3};
    use std::f64::consts::TAU;

    const ACROSS_M: f64 = 0.36;

    /// Largest less smallest distance between two planes all round a circle, for tilts of coil a about x and y and of coil b.
    fn all_round(tilts: [f64; 4]) -> f64 {
        let normal = |x: f64, y: f64| Rotation3::from_euler_angles(x, y, 0.0) * Vector3::z();
        let (a, b) = (normal(tilts[0], tilts[1]), normal(tilts[2], tilts[3]));
        let slope = |n: &Vector3<f64>| [-n.x / n.z, -n.y / n.z];
        let ([ax, ay], [bx, by]) = (slope(&a), slope(&b));
        // The distance is linear across the circle.
        ACROSS_M * (bx - ax).hypot(by - ay)
    }

    fn read(difference_m: f64, standard_uncertainty: f64) -> Measured {
        let mut measured = Measured::nothing("Round the rim");
        let difference_m = MeasuredValue { value: difference_m, standard_uncertainty };
        measured.spacing_difference = Some(RimReading { difference_m, across_m: ACROSS_M });
        measured.rim_step_m = Some(MeasuredValue { value: 0.0, standard_uncertainty });
        measured
    }

    fn bench() -> Bench {
        crate::physics::heat::example::bench()
    }

    #[test]
    fn a_pair_within_its_tolerance_never_fails_and_one_at_its_corner_reaches_that_limit() {
        let tolerance = bench().tolerance_or_ordinary();
        let found = readings(&bench(), &read(0.0, 1e-5));
        let (one, both) = (found[0].limits.high.unwrap(), found[0].fails_above.unwrap());
        let tilt = tolerance.tilt_rad;
        let corner = all_round([tilt, tilt, -tilt, -tilt]);
        assert!((corner / both - 1.0).abs() < 1e-4, "{corner} {both}");
        assert!((all_round([tilt, 0.0, 0.0, 0.0]) / one - 1.0).abs() < 1e-6);
        assert!(all_round([tilt, -0.5 * tilt, 0.2 * tilt, tilt]) < both);
        assert_eq!(found[1].limits.high, Some(tolerance.offset_m));
        assert!((found[1].fails_above.unwrap() / tolerance.offset_m - 8f64.sqrt()).abs() < 1e-12);
    }

    #[test]
    fn where_each_coils_tilts_are_known_what_both_may_make_is_the_only_limit() {
        let mut measured = read(0.0, 1e-5);
        let none = MeasuredValue { value: 0.0, standard_uncertainty: 1e-5 };
        measured.coils[0].tilt_rad = [Some(none); 2];
        let between = &readings(&bench(), &measured)[0];
        assert!(between.fails_above.is_some(), "one coil alone leaves the other open");
        measured.coils[1].tilt_rad = [Some(none); 2];
        let [difference, step] = &readings(&bench(), &measured)[..] else { panic!("two readings") };
        let both = bench().tolerance_or_ordinary().rim_difference_m(ACROSS_M).both_coils_m;
        assert_eq!((difference.limits.high, difference.fails_above), (Some(both), None));
        assert!(step.fails_above.is_some());
    }

    /// Share of pairs that pass, fail and are undecided, their difference read with U of a tenth of the limit.
    fn shares(seed: u64, tilts: impl Fn(&mut SampleGenerator, f64) -> [f64; 4]) -> [f64; 3] {
        const PAIRS: u64 = 20_000;
        let bench = bench();
        let tilt = bench.tolerance_or_ordinary().tilt_rad;
        let mut reading = readings(&bench, &read(0.0, 0.0)).remove(0);
        let u = 0.05 * reading.limits.high.unwrap();
        let mut counts = [0.0; 3];
        for pair in 0..PAIRS {
            let mut random = SampleGenerator::new(seed, pair);
            let truth = all_round(tilts(&mut random, tilt));
            reading.value = MeasuredValue { value: truth + random.normal(u), standard_uncertainty: u };
            let place = match reading.decided(Rule::default()).unwrap().verdict {
                Verdict::Met => 0,
                Verdict::Missed => 1,
                Verdict::TooCloseToTell => 2,
            };
            counts[place] += 1.0 / PAIRS as f64;
        }
        counts
    }

    #[test]
    fn pairs_with_a_coil_askew_pass_in_less_than_one_in_forty_and_sound_ones_never_fail() {
        let about = |size: f64, turned: f64| [size * turned.cos(), size * turned.sin()];
        // One coil, about any axis, just beyond its limit and up to three times that.
        let worst = shares(1, |_, limit| [1.000_001 * limit, 0.0, 0.0, 0.0]);
        assert!(worst[0] < 0.025 && worst[1] == 0.0, "{worst:?}");
        let single = shares(2, |random, limit| {
            let mut tilt = about((1.0 + 2.0 * random.unit()) * limit, TAU * random.unit());
            if tilt.iter().all(|part| part.abs() <= limit) {
                tilt[0] = 1.01 * limit;
            }
            [tilt[0], tilt[1], 0.0, 0.0]
        });
        assert!(single[0] < 0.025 && single[1] < 0.2, "{single:?}");
        // Both coils against each other, each beyond its limit.
        let against = shares(3, |random, limit| {
            let size = (1.0 + 2.0 * random.unit()) * limit;
            [size, 0.0, -size, 0.0]
        });
        assert!(against[0] == 0.0 && against[1] > 0.7, "{against:?}");
        // Sound pairs: both coils anywhere within their limits.
        let sound = shares(4, |random, limit| std::array::from_fn(|_| random.rectangular(limit)));
        assert!(sound[1] < 0.001 && sound[0] > 0.3, "{sound:?}");
        // Both coils any way, at least one of them beyond its limit: some stand nearly as the other does.
        let both = shares(6, |random, limit| {
            let mut tilts: [f64; 4] = std::array::from_fn(|_| random.rectangular(3.0 * limit));
            if tilts.iter().all(|part| part.abs() <= limit) {
                tilts[0] = 1.5 * limit;
            }
            tilts
        });
        assert!(both[0] < 0.15 && both[1] > 0.1, "{both:?}");
        println!(
            "at the limit {worst:?}, single {single:?}, against {against:?}, both any way {both:?}, sound {sound:?}"
        );
        // A tilt that both coils share does not show round the rim, whatever its limit; each coil's own tilt must be read.
        let shared = shares(5, |random, limit| {
            let size = (1.0 + 2.0 * random.unit()) * limit;
            [size, 0.0, size, 0.0]
        });
        assert!(shared[0] > 0.97, "{shared:?}");
    }
}
