//! The field engine compared with simpler methods: `cargo bench --bench field`.
//!
//! Each group names its baseline: `special` is the textbook formula with K and E of the `special` crate, for one loop
//! or for a section divided into loops; `biot-savart` is the trapezoidal rule on the defining integral; `scalar` is the
//! engine on scalar instructions. Times are for all points of a call; the element rate is points (or pairs of loop and
//! point) per second. One core unless the name says otherwise.

use coilwright::constants::MU_0;
use coilwright::numeric::lanes::InstructionSet;
use coilwright::numeric::quadrature::gauss_legendre;
use coilwright::physics::field::{
    Accuracy, Assembly, FieldColumns, Filament, PlacedWinding, PlaneGrid, Section, filaments_field,
};
use criterion::{BenchmarkId, Criterion, Throughput, criterion_group, criterion_main};
use nalgebra::Vector3;
use special::Elliptic;
use std::f64::consts::TAU;
use std::hint::black_box;
use std::time::Duration;

const SETS: [(&str, InstructionSet); 3] = [
    ("fastest", InstructionSet::Fastest),
    ("avx2", InstructionSet::Avx2),
    ("scalar", InstructionSet::Scalar),
];
const TOLERANCES: [f64; 3] = [1e-6, 1e-9, 1e-12];

fn winding(z: f64) -> PlacedWinding {
    PlacedWinding::on_axis(Section { mean_radius_m: 1.0, width_m: 0.15, depth_m: 0.15 }, 1.0, z)
}

fn pair(tolerance: f64, set: InstructionSet) -> Assembly {
    Assembly::new(vec![winding(-0.5), winding(0.5)])
        .with_accuracy(Accuracy::relative(tolerance))
        .with_instruction_set(set)
}

/// Points throughout a ball.
fn ball(radius: f64, count: u32) -> Vec<Vector3<f64>> {
    let point = |i: u32| {
        let t = f64::from(i);
        let (r, u, phi) =
            ((t * 0.618_034).fract().cbrt(), (t * 0.754_878).fract() * 2.0 - 1.0, t * 2.399_963);
        let s = f64::sqrt(1.0 - u * u);
        Vector3::new(s * phi.cos(), s * phi.sin(), u) * (radius * r)
    };
    (0..count).map(point).collect()
}

fn by_special(radius: f64, rho: f64, zeta: f64) -> (f64, f64) {
    let (alpha2, beta2) = ((radius - rho).powi(2) + zeta * zeta, (radius + rho).powi(2) + zeta * zeta);
    let (k, e) = (4.0 * radius * rho / beta2).elliptic_ke();
    let front = MU_0 / (TAU * beta2.sqrt());
    let (a2, r2, z2) = (radius * radius, rho * rho, zeta * zeta);
    (front * zeta / rho * ((a2 + r2 + z2) / alpha2 * e - k), front * ((a2 - r2 - z2) / alpha2 * e + k))
}

/// The axial component of one winding at a height, its section divided into loops with the textbook formula.
fn section_by_special(rule: &[(f64, f64)], height: f64, point: &Vector3<f64>) -> f64 {
    let rho = point.x.hypot(point.y);
    let mut sum = 0.0;
    for (u, weight_u) in rule {
        for (v, weight_v) in rule {
            let b_z = by_special(1.0 + 0.075 * u, rho, point.z - height - 0.075 * v).1;
            sum += 0.25 * weight_u * weight_v * b_z;
        }
    }
    sum
}

fn by_biot_savart(radius: f64, rho: f64, zeta: f64, steps: u32) -> (f64, f64) {
    let (mut radial, mut axial) = (0.0, 0.0);
    for i in 0..steps {
        let cos = (TAU * f64::from(i) / f64::from(steps)).cos();
        let cube = (rho * rho + radius * radius - 2.0 * rho * radius * cos + zeta * zeta).powf(1.5);
        radial += zeta * cos / cube;
        axial += (radius - rho * cos) / cube;
    }
    let front = 0.5 * MU_0 * radius / f64::from(steps);
    (front * radial, front * axial)
}

fn one_loop(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("one loop, points in the bore");
    let points = 4096;
    let at = |i: u32, step: f64| (f64::from(i) * step).fract();
    let rho: Vec<f64> = (1..=points).map(|i| 0.6 * at(i, 0.618_034)).collect();
    let zeta: Vec<f64> = (1..=points).map(|i| at(i, 0.754_878) - 0.5).collect();
    group.throughput(Throughput::Elements(u64::from(points)));
    let turn = [Filament { radius_m: 1.0, height_m: 0.0, current_ampere: 1.0 }];
    for (name, set) in SETS {
        group.bench_function(name, |b| b.iter(|| filaments_field(black_box(&turn), &rho, &zeta, set)));
    }
    let by = |formula: fn(f64, f64) -> (f64, f64)| {
        rho.iter()
            .zip(&zeta)
            .map(|(&rho, &zeta)| formula(rho, zeta))
            .fold((0.0, 0.0), |s, f| (s.0 + f.0, s.1 + f.1))
    };
    group.bench_function("special", |b| b.iter(|| by(|rho, zeta| by_special(black_box(1.0), rho, zeta))));
    group.bench_function("biot-savart 128", |b| {
        b.iter(|| by(|rho, zeta| by_biot_savart(black_box(1.0), rho, zeta, 128)))
    });
    group.finish();
}

fn many_loops(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("64 loops, points in the bore, a pair of loop and point");
    let points = 4096;
    let at = |i: u32, step: f64| (f64::from(i) * step).fract();
    let rho: Vec<f64> = (1..=points).map(|i| 0.6 * at(i, 0.618_034)).collect();
    let zeta: Vec<f64> = (1..=points).map(|i| at(i, 0.754_878) - 0.5).collect();
    let place = |i: u32| Filament {
        radius_m: 0.94 + 0.04 * f64::from(i % 4),
        height_m: if i < 32 { -0.5 } else { 0.5 } + 0.02 * f64::from(i / 4 % 8) - 0.07,
        current_ampere: 1.0,
    };
    let loops: Vec<Filament> = (0..64).map(place).collect();
    group.throughput(Throughput::Elements(64 * u64::from(points)));
    for (name, set) in SETS {
        group.bench_function(name, |b| b.iter(|| filaments_field(black_box(&loops), &rho, &zeta, set)));
    }
    group.bench_function("special", |b| {
        b.iter(|| {
            let mut sum = 0.0;
            for turn in black_box(&loops) {
                for (rho, zeta) in rho.iter().zip(&zeta) {
                    sum += by_special(turn.radius_m, *rho, zeta - turn.height_m).1;
                }
            }
            sum
        });
    });
    group.finish();
}

fn map(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("map of a thick pair, 1000 x 1000, row series");
    let grid = PlaneGrid {
        origin_m: Vector3::new(0.0, 0.0, -0.5),
        column_step_m: Vector3::x() * (0.6 / 999.0),
        row_step_m: Vector3::z() * (1.0 / 999.0),
        columns: 1000,
        rows: 1000,
    };
    group.throughput(Throughput::Elements(1_000_000));
    let mut field = FieldColumns::default();
    let alone = rayon::ThreadPoolBuilder::new().num_threads(1).build().expect("a pool of one thread");
    for tolerance in TOLERANCES {
        for (name, set) in SETS {
            let pair = pair(tolerance, set);
            let id = BenchmarkId::new(format!("{name}, one core"), format!("{tolerance:e}"));
            group.bench_function(id, |b| {
                alone.install(|| b.iter(|| pair.fill_field_per_ampere_on(black_box(&grid), &mut field)))
            });
        }
        let pair = pair(tolerance, InstructionSet::Fastest);
        let id = BenchmarkId::new("fastest, all cores", format!("{tolerance:e}"));
        group.bench_function(id, |b| b.iter(|| pair.fill_field_per_ampere_on(black_box(&grid), &mut field)));
    }
    group.finish();
}

fn scattered(criterion: &mut Criterion) {
    for (name, radius) in [("scattered in the bore, r < 0.5 R", 0.5), ("scattered around, r < 3 R", 3.0)] {
        let mut group = criterion.benchmark_group(name);
        let points = ball(radius, 16_384);
        group.throughput(Throughput::Elements(points.len() as u64));
        let alone = rayon::ThreadPoolBuilder::new().num_threads(1).build().expect("a pool of one thread");
        for tolerance in TOLERANCES {
            for (name, set) in SETS {
                let pair = pair(tolerance, set);
                let id = BenchmarkId::new(format!("{name}, one core"), format!("{tolerance:e}"));
                group.bench_function(id, |b| {
                    alone.install(|| b.iter(|| pair.field_per_ampere_at(black_box(&points))))
                });
            }
            let pair = pair(tolerance, InstructionSet::Fastest);
            let id = BenchmarkId::new("fastest, all cores", format!("{tolerance:e}"));
            group.bench_function(id, |b| b.iter(|| pair.field_per_ampere_at(black_box(&points))));
        }
        let rule = gauss_legendre(6);
        let pair = |point| section_by_special(&rule, -0.5, point) + section_by_special(&rule, 0.5, point);
        group.bench_function("special, 72 loops", |b| b.iter(|| points.iter().map(pair).sum::<f64>()));
        group.finish();
    }
}

fn near(criterion: &mut Criterion) {
    type Place = fn(f64, f64) -> (f64, f64);
    let places: [(&str, Place); 4] = [
        ("inside", |u, v| (0.926 + 0.148 * u, 0.148 * v - 0.074)),
        ("near a face", |u, v| (1.0751 + 0.02 * u, 0.15 * v - 0.075)),
        ("near a corner", |u, v| (1.0751 + 0.003 * u, 0.0751 + 0.003 * v)),
        ("on a face", |_, v| (1.075, 0.15 * v - 0.075)),
    ];
    for (name, place) in places {
        let mut group = criterion.benchmark_group(format!("one winding, {name}"));
        let at = |i: u32| {
            let (rho, zeta) = place((f64::from(i) * 0.618_034).fract(), (f64::from(i) * 0.754_878).fract());
            Vector3::new(rho, 0.0, zeta)
        };
        let points: Vec<_> = (0..256).map(at).collect();
        group.throughput(Throughput::Elements(points.len() as u64));
        for tolerance in TOLERANCES {
            for (name, set) in SETS {
                let one = Assembly::new(vec![winding(0.0)])
                    .with_accuracy(Accuracy::relative(tolerance))
                    .with_instruction_set(set);
                let id = BenchmarkId::new(name, format!("{tolerance:e}"));
                group.bench_function(id, |b| b.iter(|| one.field_per_ampere_at(black_box(&points))));
            }
        }
        // For half of the points the error is more than 6 % inside, 3 % on the face and 3e-8 at the corner.
        let rule = gauss_legendre(30);
        let at = |point| section_by_special(&rule, 0.0, point);
        group.bench_function("special, 900 loops", |b| b.iter(|| points.iter().map(at).sum::<f64>()));
        group.finish();
    }
}

fn quick() -> Criterion {
    Criterion::default()
        .sample_size(12)
        .warm_up_time(Duration::from_millis(100))
        .measurement_time(Duration::from_millis(600))
}

criterion_group! { name = benches; config = quick(); targets = one_loop, many_loops, map, scattered, near }
criterion_main!(benches);
