//! What a program that uses the library may rely on.

use coilwright::Error;
use coilwright::files::spec::{Measured, Wanted};
use coilwright::files::tables::{PointReader, TableReader};
use coilwright::nalgebra::Vector3;
use coilwright::pair::{Bench, StatedTube};
use coilwright::physics::field::{Assembly, Deviation, PreparedPair};
use coilwright::physics::heat::HeatedPair;
use coilwright::physics::heat::circuit::Drive;
use coilwright::physics::heat::limits::TemperatureLimits;
use coilwright::physics::safety::caution_distance_m;
use coilwright::questions::{
    build, calibrate, check, compare, heat, identify, map, orbit, sheet, size, tolerance, uniformity, weigh,
};

fn is_shared<T: Send + Sync + std::fmt::Debug>() {}

fn is_handed_on<T: Send + std::fmt::Debug>() {}

#[test]
fn whatever_a_library_user_holds_can_be_shared_between_threads_and_shown() {
    is_shared::<Error>();
    is_shared::<Bench>();
    is_shared::<Wanted>();
    is_shared::<Measured>();
    is_shared::<Assembly>();
    is_shared::<PreparedPair>();
    is_shared::<build::BuildPapers>();
    is_shared::<calibrate::Calibration>();
    is_shared::<check::LessonCheck>();
    is_shared::<compare::Comparison>();
    is_shared::<heat::HeatStudy>();
    is_shared::<identify::Identification>();
    is_shared::<map::FieldMap>();
    is_shared::<orbit::Orbit>();
    is_shared::<sheet::Sheet>();
    is_shared::<size::Sizing>();
    is_shared::<tolerance::Tolerance>();
    is_shared::<uniformity::Uniformity>();
    is_shared::<weigh::Weighing>();
}

#[test]
fn a_reader_can_be_handed_to_another_thread() {
    is_handed_on::<TableReader>();
    is_handed_on::<PointReader>();
}

#[test]
fn parts_of_the_questions_can_be_asked_for_alone() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/coil-specs/window-bench.json");
    let bench = coilwright::files::spec::read_bench(path).unwrap();
    let prepared = PreparedPair::of(&bench);
    let assembly = prepared.assembly();
    let deviation = Deviation::new(assembly, Vector3::zeros()).unwrap();
    let question = uniformity::uniformity(&prepared, &uniformity::Request::within(0.01)).unwrap();

    let tube = bench.tube_with_beam().unwrap();
    assert_eq!(Some(&tube), bench.tube.as_ref().and_then(StatedTube::with_gun).as_ref());
    assert_eq!(tube, bench.tube_with_gun().unwrap());
    let worst = |beam: Option<uniformity::RegionDeviation>| beam.unwrap().worst_deviation;
    // The question's assembly is finer where its limit needs it.
    assert!((worst(uniformity::over_beam(&deviation, &tube)) - worst(question.beam)).abs() < 1e-9);
    let reach = uniformity::reach(&deviation, 0.01).unwrap();
    assert!((reach.sphere_radius_m - question.reach.sphere_radius_m).abs() < 1e-7);
    let points = [Vector3::zeros(), Vector3::new(0.03, 0.0, 0.01)];
    for (each, point) in deviation.at_each(&points).iter().zip(&points) {
        // One point and many are computed in different ways, to the same tolerance.
        assert!((each - deviation.at(point)).abs() < 1e-11, "{point:?}");
    }
    let centre = assembly.axis_terms(0.04).unwrap().centre_tesla_per_ampere;
    assert!((centre / question.centre_field_tesla_per_ampere[2] - 1.0).abs() < 1e-9);

    let pair = HeatedPair::of(&bench).unwrap();
    let temperatures = TemperatureLimits::of(&bench);
    let continuous_ampere = pair.limits(&temperatures, None).continuous_current_ampere;
    let held = |factor: f64| Drive::new(factor * continuous_ampere, f64::INFINITY).unwrap();
    let steady = pair.steady(&held(0.9)).unwrap();
    assert!(steady.hottest_surface_celsius() > pair.room_celsius);
    assert!(steady.hot_spot_celsius() >= steady.hottest_surface_celsius());
    assert_eq!(pair.time_to_limit(&held(0.9), &temperatures).unwrap(), None);
    let (seconds, _) = pair.time_to_limit(&held(1.5), &temperatures).unwrap().unwrap();
    assert!((60.0..36_000.0).contains(&seconds), "{seconds} s");

    let ammeter = bench.ammeter.unwrap();
    assert_eq!(ammeter.limit_of_error(-2.0), ammeter.limit_of_error(2.0));
    let distance_m = caution_distance_m(&prepared).unwrap().unwrap();
    assert!((0.05..2.0).contains(&distance_m), "{distance_m} m");
}
