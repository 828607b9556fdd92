//! Readings of how the coils stand to each other, taken round the rim.

use super::reading::Reading;
use super::record::LimitsFrom;
use super::subject::Subject;
use crate::files::spec::Measured;
use crate::judgement::limit::Limits;
use crate::pair::Bench;

/// The difference of the coils' distances round the rim, and the step from rim to rim.
///
/// The limits are those of the drawing and of the test sheet: what the tolerances of both coils allow together.
pub(super) fn readings(bench: &Bench, measured: &Measured) -> Vec<Reading> {
    let tolerance = bench.tolerance_or_ordinary();
    let reading = |subject, value, limit| Reading {
        subject,
        value,
        expected: Some(0.0),
        limits: Limits { low: None, high: Some(limit) },
        limits_from: LimitsFrom::Spec,
    };
    let difference = measured.spacing_difference.map(|it| {
        let limit_m = tolerance.rim_difference_m(it.across_m);
        reading(Subject::SpacingDifference { across_m: it.across_m }, it.difference_m, limit_m)
    });
    let step = measured.rim_step_m.map(|step| reading(Subject::RimStep, step, tolerance.rim_step_m()));
    difference.into_iter().chain(step).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::spec::{MeasuredValue, RimReading};
    use nalgebra::{Rotation3, Vector3};

    #[test]
    fn a_pair_within_its_tolerance_keeps_the_limit_and_one_at_its_corner_reaches_it() {
        let bench = crate::physics::heat::example::bench();
        let tolerance = bench.tolerance_or_ordinary();
        let mut measured = Measured::nothing("Round the rim");
        let none = MeasuredValue { value: 0.0, standard_uncertainty: 1e-5 };
        measured.spacing_difference = Some(RimReading { difference_m: none, across_m: 0.3 });
        measured.rim_step_m = Some(none);
        let limits: Vec<f64> = readings(&bench, &measured).iter().map(|it| it.limits.high.unwrap()).collect();
        // Distance between two planes at four places of a circle of 300 mm, for tilts at the corner of their limits, the circle
        // turned in steps.
        let of = |tilts: [f64; 4]| {
            let normal = |x: f64, y: f64| Rotation3::from_euler_angles(x, y, 0.0) * Vector3::z();
            let (a, b) = (normal(tilts[0], tilts[1]), normal(tilts[2], tilts[3]));
            let height = |n: &Vector3<f64>, x: f64, y: f64| -(n.x * x + n.y * y) / n.z;
            let over = |turned: f64| {
                let places = (0..4).map(|i| turned + f64::from(i) * std::f64::consts::FRAC_PI_2);
                let gaps = places.map(|angle| {
                    let (x, y) = (0.15 * angle.cos(), 0.15 * angle.sin());
                    height(&b, x, y) - height(&a, x, y)
                });
                let (low, high) =
                    gaps.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), gap| (l.min(gap), h.max(gap)));
                high - low
            };
            (0..90).map(|degree| over(f64::from(degree).to_radians())).fold(0.0, f64::max)
        };
        let tilt = tolerance.tilt_rad;
        let corner = of([tilt, tilt, -tilt, -tilt]);
        assert!((corner / limits[0] - 1.0).abs() < 1e-4, "{corner} {limits:?}");
        assert!(of([tilt, -0.5 * tilt, 0.2 * tilt, tilt]) < limits[0]);
        assert!((limits[1] / tolerance.offset_m - 8f64.sqrt()).abs() < 1e-12);
    }
}
