//! The field against published closed forms and arrangements, and its invariants.

use coilwright::constants::MU_0;
use coilwright::numeric::lanes::InstructionSet;
use coilwright::physics::field::{Accuracy, Assembly, PlacedWinding, PlaneGrid, Section};
use nalgebra::{Rotation3, Vector3};
use proptest::prelude::*;

fn winding(z: f64, (mean_radius_m, width_m, depth_m): (f64, f64, f64), turns: f64) -> PlacedWinding {
    PlacedWinding::on_axis(Section { mean_radius_m, width_m, depth_m }, turns, z)
}

fn thick_pair() -> Assembly {
    let section = (0.15, 0.024, 0.02);
    Assembly::new(vec![winding(-0.075, section, 1.0), winding(0.075, section, 1.0)])
}

/// S, the scale of the tolerance: the sum of |B| of the windings, plus mu0 J min(width, depth) inside one.
fn scale(windings: &[PlacedWinding], point: &Vector3<f64>) -> f64 {
    let of = |winding: &PlacedWinding| {
        let from = point - winding.centre_m;
        let zeta = from.dot(&winding.axis);
        let rho = (from - winding.axis * zeta).norm();
        let section = &winding.section;
        let inside = (rho - section.mean_radius_m).abs() <= 0.5 * section.depth_m
            && zeta.abs() <= 0.5 * section.width_m;
        let own = MU_0 * winding.turns.abs() / section.width_m.max(section.depth_m);
        Assembly::new(vec![*winding]).field_per_ampere(point).norm() + if inside { own } else { 0.0 }
    };
    windings.iter().map(of).sum()
}

#[test]
fn a_thick_pair_agrees_with_the_30_digit_table_in_the_bore_outside_inside_and_on_its_surface() {
    // Source: tests/data/thick_coil_field_mpmath.csv: sheets by cel integrals (Derby & Olbert 2010) and an independent
    // double quadrature. The table's own digits at the surface agree to 4e-14.
    for set in [InstructionSet::Fastest, InstructionSet::Scalar] {
        let pair = thick_pair().with_instruction_set(set);
        let mut rows = 0;
        for line in include_str!("../data/thick_coil_field_mpmath.csv").lines().skip(2) {
            let cells: Vec<&str> = line.split(',').collect();
            let number = |i: usize| cells[i].parse::<f64>().unwrap();
            let point = Vector3::new(number(1), 0.0, number(2));
            let wanted = Vector3::new(number(5), 0.0, number(6));
            let error = (pair.field_per_ampere(&point) - wanted).norm() / scale(pair.windings(), &point);
            assert!(error < 1e-12, "{set:?} {line}: {error:e}");
            rows += 1;
        }
        assert_eq!(rows, 47);
    }
}

#[test]
fn a_thick_solenoid_has_the_closed_form_at_its_centre() {
    // B = μ0 J r1 β ln[(α + √(α² + β²))/(1 + √(1 + β²))] (Montgomery, Solenoid Magnet Design, 1969, ch. 1, from memory);
    // tests/data/thick_solenoid.csv has F to 16 digits, checked by quadrature.
    let mut rows = 0;
    for line in include_str!("../data/thick_solenoid.csv").lines().skip(2) {
        let cells: Vec<f64> = line.split(',').map(|cell| cell.parse().unwrap()).collect();
        let [alpha, beta, f] = cells[..3] else { panic!("{line}") };
        let (width, depth) = (2.0 * beta, alpha - 1.0);
        let solenoid = winding(0.0, (0.5 * (1.0 + alpha), width, depth), width * depth);
        let got = Assembly::new(vec![solenoid]).field_per_ampere(&Vector3::zeros()).z / MU_0;
        assert!((got / f - 1.0).abs() < 1e-12, "{line}: {got}");
        rows += 1;
    }
    assert_eq!(rows, 49);
}

/// The power p of the leading term z^p of the deviation on the axis, from the deviation at two distances, whose ratio
/// is 2^p.
fn leading_power(windings: Vec<PlacedWinding>) -> f64 {
    let assembly = Assembly::new(windings).with_accuracy(Accuracy::relative(1e-13));
    let at = |z: f64| assembly.field_per_ampere(&Vector3::new(0.0, 0.0, z)).z;
    let deviation = |z: f64| (at(z) / at(0.0) - 1.0).abs();
    (deviation(0.08) / deviation(0.04)).log2()
}

#[test]
fn the_classical_arrangements_cancel_the_orders_they_are_known_for() {
    let thread = |z: f64, radius: f64, turns: f64| winding(z, (radius, 1e-5, 1e-5), turns);
    let pair = vec![thread(-0.5, 1.0, 1.0), thread(0.5, 1.0, 1.0)];
    // Maxwell, Treatise art. 715 (geometry read; derived exactly: z² and z⁴ vanish, the coefficient of z⁶ is −143/70).
    let (r, z) = ((4.0 / 7.0f64).sqrt(), (3.0 / 7.0f64).sqrt());
    let three = vec![thread(-z, r, 49.0), thread(0.0, 1.0, 64.0), thread(z, r, 49.0)];
    let maxwell = Assembly::new(three.clone());
    let centre = maxwell.field_per_ampere(&Vector3::zeros()).z;
    assert!((centre / (MU_0 * 64.0 * 15.0 / 16.0) - 1.0).abs() < 1e-9);
    let deviation = maxwell.field_per_ampere(&Vector3::new(0.0, 0.0, 0.1)).z / centre - 1.0;
    assert!((deviation / (-143.0 / 70.0 * 1e-6 + 2.878e-8) - 1.0).abs() < 2e-3, "{deviation:e}");
    // Four on a sphere (McKeehan, RSI 7, 150 (1936), from memory; derived: cos θ are the Lobatto nodes).
    let (inner, outer) = (0.285_231_516_480_645_f64, 0.765_055_323_929_465_f64);
    let ring = |c: f64, turns: f64| thread(c, (1.0 - c * c).sqrt(), turns);
    let ratio = 0.682_110_916_879_32;
    let sphere = vec![ring(-outer, ratio), ring(-inner, 1.0), ring(inner, 1.0), ring(outer, ratio)];
    // Equal ampere-turns (Braunbek 1934, from memory; derived).
    let (r_out, z_in, z_out) = (0.763_899_397_365_086, 0.278_028_143_303_889, 0.845_664_048_966_243);
    let equal = vec![
        thread(-z_out, r_out, 1.0),
        thread(-z_in, 1.0, 1.0),
        thread(z_in, 1.0, 1.0),
        thread(z_out, r_out, 1.0),
    ];
    for (name, windings, power) in [
        ("pair", pair, 4.0),
        ("Maxwell's three", three, 6.0),
        ("four on a sphere", sphere, 8.0),
        ("four equal", equal, 8.0),
    ] {
        let got = leading_power(windings);
        // The next power contributes a few times z² = 0.0064 of the leading one.
        assert!((got - power).abs() < 0.15, "{name}: leading power {got}");
    }
}

#[test]
fn divergence_vanishes_and_curl_is_the_current_density_in_the_bore_outside_and_inside_a_winding() {
    let pair = thick_pair().with_accuracy(Accuracy::relative(1e-13));
    let density = MU_0 / (0.024 * 0.02);
    for (name, point, step, curl) in [
        ("bore", Vector3::new(0.03, 0.02, 0.01), 4e-3, 0.0),
        ("near the face", Vector3::new(0.1, 0.08, 0.075), 1e-3, 0.0),
        ("outside", Vector3::new(0.2, -0.1, 0.15), 2.5e-3, 0.0),
        ("inside", Vector3::new(0.106, 0.106, 0.076), 2.5e-4, density),
        ("inside the other", Vector3::new(-0.148, 0.01, -0.07), 2.5e-4, density),
    ] {
        // Central differences of eighth order; inside, the faces are 10 mm away, and a step of 1 mm would cost 5e-9.
        let weights = [4.0 / 5.0, -1.0 / 5.0, 4.0 / 105.0, -1.0 / 280.0];
        let slope = |axis: Vector3<f64>| -> Vector3<f64> {
            (1..=4)
                .map(|k| {
                    let shift = axis * (step * f64::from(k));
                    (pair.field_per_ampere(&(point + shift)) - pair.field_per_ampere(&(point - shift)))
                        * (weights[k as usize - 1] / step)
                })
                .sum()
        };
        let (dx, dy, dz) = (slope(Vector3::x()), slope(Vector3::y()), slope(Vector3::z()));
        let divergence = dx.x + dy.y + dz.z;
        let got = Vector3::new(dy.z - dz.y, dz.x - dx.z, dx.y - dy.x);
        let around = Vector3::new(-point.y, point.x, 0.0) / point.xy().norm();
        let wanted = around * curl;
        // S over the length scale, the mean radius.
        let size = scale(pair.windings(), &point) / 0.15;
        assert!(divergence.abs() < 1e-9 * size, "{name}: divergence {:e}", divergence / size);
        assert!(
            (got - wanted).norm() < 1e-9 * size,
            "{name}: curl off by {:e}",
            (got - wanted).norm() / size
        );
    }
}

#[test]
fn defined_answers_where_there_is_no_ordinary_one() {
    let pair = thick_pair();
    let nan = pair.field_per_ampere(&Vector3::new(0.0, f64::NAN, 0.0));
    assert!(nan.iter().all(|b| b.is_nan()));
    for far in [f64::INFINITY, -f64::INFINITY, 1e300] {
        assert_eq!(pair.field_per_ampere(&Vector3::new(0.0, far, 0.0)), Vector3::zeros());
    }
    assert!(pair.try_field_per_ampere_at(&[Vector3::new(0.0, f64::NAN, 0.0)]).is_err());
    let error = pair.try_field_per_ampere_at(&[Vector3::new(f64::INFINITY, 0.0, 0.0)]).unwrap_err();
    assert!(error.to_string().contains("finite"), "{error}");

    let filament = Assembly::new(vec![winding(0.0, (1.0, 0.0, 0.0), 1.0)]);
    assert_eq!(filament.field_per_ampere(&Vector3::new(1.0, 0.0, 0.0)).z, f64::INFINITY);
    assert!(filament.try_field_per_ampere_at(&[Vector3::new(1.0, 0.0, 0.0)]).is_err());

    let off = Assembly::new(vec![winding(0.0, (1.0, 0.1, 0.1), 0.0)]);
    assert_eq!(off.field_per_ampere(&Vector3::new(0.3, 0.0, 0.0)), Vector3::zeros());
    let twice = Assembly::new(vec![pair.windings()[0]; 2]);
    let once = Assembly::new(vec![pair.windings()[0]]);
    let point = Vector3::new(0.05, 0.02, 0.3);
    assert!((twice.field_per_ampere(&point) - 2.0 * once.field_per_ampere(&point)).norm() < 1e-20);
}

#[test]
fn the_number_of_threads_does_not_change_a_bit_and_a_points_companions_no_more_than_the_tolerance() {
    let pair = thick_pair();
    let points: Vec<_> = (0..5000)
        .map(|i| {
            let t = f64::from(i);
            Vector3::new(
                (t * 0.618_034).fract() - 0.5,
                (t * 0.754_878).fract() - 0.5,
                (t * 0.569_84).fract() - 0.5,
            ) * 0.5
        })
        .collect();
    let with = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        pool.install(|| pair.field_per_ampere_at(&points))
    };
    let all = with(1);
    assert_eq!(all, with(3));
    for i in (0..points.len()).step_by(97) {
        let alone = pair.field_per_ampere(&points[i]);
        assert!((alone - all[i]).norm() < 5e-13 * alone.norm(), "{:?}: {alone} {}", points[i], all[i]);
    }
}

#[test]
fn every_instruction_set_gives_the_same_field_to_1e_14_of_s() {
    let fast = thick_pair();
    let points: Vec<_> = (0..3000)
        .map(|i| {
            let t = f64::from(i);
            Vector3::new(
                (t * 0.618_034).fract() - 0.5,
                (t * 0.754_878).fract() - 0.5,
                (t * 0.569_84).fract() - 0.5,
            ) * if i % 2 == 0 { 0.2 } else { 1.0 }
        })
        .collect();
    let grid = PlaneGrid {
        origin_m: Vector3::new(-0.1, 0.01, -0.1),
        column_step_m: Vector3::x() * 0.0031,
        row_step_m: Vector3::z() * 0.0067,
        columns: 75,
        rows: 31,
    };
    let on_grid: Vec<_> = (0..31 * 75).map(|i| grid.point(i / 75, i % 75)).collect();
    let listed = fast.field_per_ampere_at(&points);
    let gridded = fast.field_per_ampere_on(&grid);
    for set in [InstructionSet::Scalar, InstructionSet::Avx2] {
        let other = thick_pair().with_instruction_set(set);
        let fields = other.field_per_ampere_at(&points).into_iter().chain(other.field_per_ampere_on(&grid));
        let wanted = listed.iter().chain(&gridded);
        for ((point, wanted), got) in points.iter().chain(&on_grid).zip(wanted).zip(fields) {
            let difference = (got - wanted).norm() / scale(fast.windings(), point);
            assert!(difference < 1e-14, "{set:?} {point}: {difference:e}");
        }
        let alone = (other.field_per_ampere(&points[7]) - fast.field_per_ampere(&points[7])).norm();
        assert!(alone < 1e-14 * listed[7].norm());
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn fields_superpose_mirror_reverse_scale_and_turn_with_their_coils(
        radius in 0.05..0.5f64, width in 0.05..0.6f64, depth in 0.02..0.9f64, turns in 0.5..500.0f64,
        place in prop::array::uniform3(-1.5..1.5f64), size in 0.1..10.0f64, angle in -3.0..3.0f64,
    ) {
        let section = (radius, width * radius, depth * radius);
        let one = winding(-0.5 * radius, section, turns);
        let other = winding(0.55 * radius, (0.9 * radius, width * radius, 0.5 * depth * radius), turns);
        let both = Assembly::new(vec![one, other]);
        let point = Vector3::from(place) * radius;
        let scale = scale(both.windings(), &point);
        let field = both.field_per_ampere(&point);
        let apart = Assembly::new(vec![one]).field_per_ampere(&point) + Assembly::new(vec![other]).field_per_ampere(&point);
        prop_assert!((field - apart).norm() <= 2.1e-12 * scale, "superposition {field} {apart}");

        // In the mirror z → −z an axial vector keeps B_z and reverses B_x and B_y.
        let mirrored = Assembly::new([one, other].map(|w| PlacedWinding { centre_m: -w.centre_m, ..w }).to_vec());
        let seen = mirrored.field_per_ampere(&Vector3::new(point.x, point.y, -point.z));
        prop_assert!((seen - Vector3::new(-field.x, -field.y, field.z)).norm() <= 2.1e-12 * scale, "mirror {seen} {field}");

        let reversed = Assembly::new([one, other].map(|w| PlacedWinding { current_share: -1.0, ..w }).to_vec());
        prop_assert!((reversed.field_per_ampere(&point) + field).norm() == 0.0);

        let larger = |w: PlacedWinding| PlacedWinding {
            section: Section {
                mean_radius_m: w.section.mean_radius_m * size,
                width_m: w.section.width_m * size,
                depth_m: w.section.depth_m * size,
            },
            centre_m: w.centre_m * size,
            ..w
        };
        let scaled = Assembly::new([one, other].map(larger).to_vec()).field_per_ampere(&(point * size)) * size;
        prop_assert!((scaled - field).norm() <= 2.1e-12 * scale, "size {scaled} {field}");

        let turn = Rotation3::new(Vector3::new(0.3, -0.8, 0.5) * angle);
        let turned = |w: PlacedWinding| PlacedWinding { centre_m: turn * w.centre_m, axis: turn * w.axis, ..w };
        let seen = Assembly::new([one, other].map(turned).to_vec()).field_per_ampere(&(turn * point));
        // A point within rounding of a surface moves by 1e-16 of the radius.
        prop_assert!((seen - turn * field).norm() <= 2.5e-12 * scale, "turned {seen} {field}");
    }
}
