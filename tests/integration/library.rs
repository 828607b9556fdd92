//! What a program that uses the library may rely on.

use coilwright::Error;
use coilwright::files::spec::{Measured, Wanted};
use coilwright::files::tables::{PointReader, TableReader};
use coilwright::pair::Bench;
use coilwright::physics::field::Assembly;
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
