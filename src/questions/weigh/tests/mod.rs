//! `weigh` against known benches, with runs computed as orbits and not by this module.

mod judged;
mod outcome;

use super::*;
use crate::constants::{ELECTRON_MASS_KG, ELEMENTARY_CHARGE_COULOMB};
use crate::pair::{
    AmmeterPosition, BeamEdge, Bench, Meter, RadiusReading, Regulation, Room, RoomField, Supply,
};
use crate::physics::beam::{FieldLine, LineRoom, PathLength, Setting, tube_bench};
use crate::physics::room;
use crate::questions::words::notes::{Told, told};
use approx::assert_relative_eq;
use nalgebra::Vector3;
use rand_distr::{Distribution, Normal};
use rand_xoshiro::Xoshiro256PlusPlus;
use rand_xoshiro::rand_core::SeedableRng;

fn bench() -> Bench {
    Bench {
        reading: Some(RadiusReading {
            edge: BeamEdge::Outer,
            radius_uncertainty_m: Some(0.5e-3),
            camera_distance_m: None,
            scale_offset_m: 0.0,
        }),
        // From the middle, so that circles in either direction fit.
        ..tube_bench(Vector3::new(0.0, -0.02, 0.0))
    }
}

fn with_room(mut bench: Bench, field: Vector3<f64>) -> Bench {
    bench.room = Some(Room { temperature_celsius: None, field: Some(RoomField::Measured(field)) });
    bench
}

const SETTINGS: [(f64, f64); 8] = [
    (100.0, 1.6),
    (100.0, -1.7),
    (150.0, 1.9),
    (150.0, -2.0),
    (200.0, 2.2),
    (200.0, -2.4),
    (250.0, 2.3),
    (250.0, -2.6),
];

/// Twelve runs with circles of 26 to 55 mm.
const TWELVE: [(f64, f64); 12] = [
    (120.0, 1.10),
    (120.0, -1.30),
    (160.0, 1.30),
    (160.0, -1.60),
    (200.0, 1.20),
    (200.0, -1.50),
    (200.0, 1.90),
    (240.0, -1.32),
    (240.0, 1.60),
    (240.0, -2.10),
    (280.0, 1.70),
    (280.0, -2.40),
];

/// A large bulb with the gun near its middle, so that circles in either direction fit.
fn bench_of_a_wide_tube() -> Bench {
    let mut bench = bench();
    if let Some(tube) = &mut bench.tube {
        tube.bulb_radius_m = Some(0.14);
    }
    bench
}

/// The runs of a perfect reader at the true bench, computed as orbits and not by this module.
fn perfect_runs(truth: &Bench, settings: &[(f64, f64)]) -> Runs {
    let beams = BeamBench::prepare(truth, None).unwrap();
    let run = |(i, &(gun_voltage_volt, current_ampere)): (usize, &(f64, f64))| {
        let setting = Setting { gun_voltage_volt, current_ampere, gun_tilt_rad: 0.0 };
        let path = beams.path(&setting, PathLength::HalfCircle).unwrap();
        Run {
            line: i as u64 + 2,
            label: None,
            gun_voltage_volt,
            current_ampere,
            radius_place: RadiusPlace::Scale,
            radius_m: path.read_radius_m().unwrap(),
            gun_voltage_uncertainty_volt: None,
            current_uncertainty_ampere: None,
            radius_uncertainty_m: None,
        }
    };
    Runs {
        path: "runs.csv".into(),
        sheet: None,
        runs: settings.iter().enumerate().map(run).collect(),
        left_out: Vec::new(),
        without_circle: 0,
    }
}

fn weighed(bench: &Bench, runs: &Runs) -> Weighing {
    let beams = BeamBench::prepare(bench, None).unwrap();
    weigh(&beams, runs, &Request::default()).unwrap()
}
