//! The Rust side of `benches/notebook/compare.py`: times the maps on one core and writes the fields at every 1000th point.
//!
//! Prints one line a method: name, nanoseconds a point (the best of several runs of each slice); then the sampled fields.

use coilwright::numeric::lanes::InstructionSet;
use coilwright::numeric::quadrature::gauss_legendre;
use coilwright::physics::field::{
    Assembly, FieldColumns, Filament, PlacedWinding, PlaneGrid, Section, filaments_field,
};
use nalgebra::Vector3;
use std::hint::black_box;
use std::time::Instant;

const COLUMNS: usize = 1000;
const ROWS: usize = 1000;
/// Rows computed in one go, as a map does it plane by plane.
const ROWS_A_SLICE: usize = 40;

/// Seconds for all slices, the best of several runs of each: a slice is short against what a busy machine takes away.
fn best(runs: usize, slices: usize, mut work: impl FnMut(usize)) -> f64 {
    let time = |slice: usize, work: &mut dyn FnMut(usize)| {
        let start = Instant::now();
        work(black_box(slice));
        start.elapsed().as_secs_f64()
    };
    (0..slices).map(|slice| (0..runs).map(|_| time(slice, &mut work)).fold(f64::INFINITY, f64::min)).sum()
}

fn main() {
    rayon::ThreadPoolBuilder::new().num_threads(1).build_global().expect("one thread");
    let winding =
        |z: f64| PlacedWinding::on_axis(Section { mean_radius_m: 1.0, width_m: 0.15, depth_m: 0.15 }, 1.0, z);
    let pair = Assembly::new(vec![winding(-0.5), winding(0.5)]);
    let grid = PlaneGrid {
        origin_m: Vector3::new(0.0, 0.0, -0.5),
        column_step_m: Vector3::x() * (0.6 / (COLUMNS - 1) as f64),
        row_step_m: Vector3::z() * (1.0 / (ROWS - 1) as f64),
        columns: COLUMNS,
        rows: ROWS,
    };
    let points: Vec<Vector3<f64>> =
        (0..ROWS).flat_map(|row| (0..COLUMNS).map(move |column| grid.point(row, column))).collect();

    let slices = ROWS / ROWS_A_SLICE;
    let mut by_rows = vec![FieldColumns::default(); slices];
    let rows_s = best(15, slices, |slice| {
        let origin_m = grid.point(ROWS_A_SLICE * slice, 0);
        let part = PlaneGrid { origin_m, rows: ROWS_A_SLICE, ..grid };
        pair.fill_field_per_ampere_on(&part, &mut by_rows[slice]);
    });
    let mut by_series = vec![Vector3::zeros(); points.len()];
    let series_s = best(15, points.len() / 1000, |slice| {
        let run = 1000 * slice..1000 * (slice + 1);
        by_series[run.clone()].copy_from_slice(&pair.field_per_ampere_at(&points[run]));
    });

    // The loops the notebook sums: 6 x 6 Gauss nodes in each section.
    let rule = gauss_legendre(6);
    let mut loops = Vec::new();
    for z in [-0.5, 0.5] {
        for (u, weight_u) in &rule {
            for (v, weight_v) in &rule {
                loops.push(Filament {
                    radius_m: 1.0 + 0.075 * u,
                    height_m: z + 0.075 * v,
                    current_ampere: 0.25 * weight_u * weight_v,
                });
            }
        }
    }
    let few: Vec<Vector3<f64>> = points.iter().step_by(10).copied().collect();
    let (rho, zeta): (Vec<f64>, Vec<f64>) = few.iter().map(|point| (point.x, point.z)).unzip();
    let mut by_loops = (vec![0.0; few.len()], vec![0.0; few.len()]);
    let loops_s = best(9, few.len() / 1000, |slice| {
        let run = 1000 * slice..1000 * (slice + 1);
        let (b_rho, b_zeta) =
            filaments_field(&loops, &rho[run.clone()], &zeta[run.clone()], InstructionSet::Fastest);
        by_loops.0[run.clone()].copy_from_slice(&b_rho);
        by_loops.1[run].copy_from_slice(&b_zeta);
    });

    println!("rows {}", rows_s * 1e9 / points.len() as f64);
    println!("points {}", series_s * 1e9 / points.len() as f64);
    println!("loops {}", loops_s * 1e9 / few.len() as f64);
    for i in (0..points.len()).step_by(1000 + 37) {
        let (a, b) = (by_rows[i / COLUMNS / ROWS_A_SLICE].at(i % (COLUMNS * ROWS_A_SLICE)), by_series[i]);
        println!("sample {i} {:?} {:?} {:?} {:?}", a.x, a.z, b.x, b.z);
    }
    for (i, (b_rho, b_zeta)) in by_loops.0.iter().zip(&by_loops.1).enumerate().step_by(104) {
        println!("loopsample {} {b_rho:?} {b_zeta:?}", 10 * i);
    }
}
