//! Force and torque between windings wherever they stand.
//!
//! ```text
//! F = Σ over the turns of ∮ dl × B      τ = Σ over the turns of ∮ r × (dl × B)
//! ```
//!
//! per ampere in each, B the field of the other winding, r from the centre of the winding that feels it. The section is
//! averaged as in [`mutual`](super::mutual). The loop is integrated by the trapezoidal rule, whose steps are doubled
//! until the result no longer changes. For coaxial windings too near for that, the force is the derivative of their
//! inductance, from [`coaxial`](super::coaxial). The integral runs round the smaller winding; the larger one feels the
//! opposite force, and the torque is moved to its own centre.

use super::assembly::{Accuracy, Assembly};
use super::coaxial::slope_of_one_turn;
use super::nearness::{are_coaxial, halved, is_finite, loop_point, order_for, outer_radius};
use super::placed::PlacedWinding;
use super::section::OrderChoice;
use nalgebra::Vector3;
use std::f64::consts::TAU;

/// Relative change at which the doubling of the trapezoidal rule stops.
const TOLERANCE: f64 = 1e-12;
/// After this many halvings of tilted or offset windings, parts are integrated with a coarse rule.
const MOST_HALVINGS: u32 = 7;
/// Most points round all loops of a part: with a sufficient rule, and with the coarse rule.
const MOST_POINTS: [usize; 2] = [1 << 16, 1 << 12];

/// What one winding does to another, per ampere in each.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ForceAndTorque {
    /// Force, N/A².
    pub force_newton_per_ampere_squared: Vector3<f64>,
    /// Torque about the centre of the winding that feels it, N m/A².
    pub torque_newton_m_per_ampere_squared: Vector3<f64>,
}

/// Force and torque on `on` in the field of `from`, per ampere in each, both currents positive about their own axes;
/// the current shares do not enter. Relative accuracy 1e-10 of the force of the same windings on a common axis; coaxial
/// sections may touch and overlap.
///
/// Tilted or offset windings less than a tenth of their section apart lose digits, down to 1e-6, and take up to seconds
/// where they interpenetrate. Filaments that cross or coincide have no definite force: do not use the result.
///
/// ```
/// use coilwright::physics::field::{PlacedWinding, Section, force_and_torque};
/// let section = Section { mean_radius_m: 0.15, width_m: 0.0, depth_m: 0.0 };
/// let turn = |z: f64| PlacedWinding::on_axis(section, 1.0, z);
/// // Like currents attract: the upper of two equal circles one radius apart is pulled down by 0.5717 mu0 I².
/// let pull = force_and_torque(&turn(0.15), &turn(0.0)).force_newton_per_ampere_squared.z;
/// assert!((pull / coilwright::constants::MU_0 + 0.571_657_238_968).abs() < 1e-11);
/// ```
pub fn force_and_torque(on: &PlacedWinding, from: &PlacedWinding) -> ForceAndTorque {
    if !is_finite(on) || !is_finite(from) {
        return ForceAndTorque {
            force_newton_per_ampere_squared: Vector3::repeat(f64::NAN),
            torque_newton_m_per_ampere_squared: Vector3::repeat(f64::NAN),
        };
    }
    // The larger winding's field changes more slowly round the smaller winding than the reverse.
    if outer_radius(on) > outer_radius(from) {
        let Sum { force, torque, .. } = sum_round(from, on);
        let arm = from.centre_m - on.centre_m;
        return ForceAndTorque {
            force_newton_per_ampere_squared: -force,
            torque_newton_m_per_ampere_squared: -(torque + arm.cross(&force)),
        };
    }
    let Sum { force, torque, .. } = sum_round(on, from);
    ForceAndTorque { force_newton_per_ampere_squared: force, torque_newton_m_per_ampere_squared: torque }
}

fn sum_round(on: &PlacedWinding, from: &PlacedWinding) -> Sum {
    let source = PlacedWinding { current_share: 1.0, ..*from };
    let source = Assembly::new(vec![source]).with_accuracy(Accuracy::relative(1e-13));
    let mut total = Sum::default();
    if on.turns != 0.0 && from.turns != 0.0 {
        add_part(&mut total, on, on, from, &source, 0);
    }
    total
}

#[derive(Clone, Copy, Default)]
struct Sum {
    force: Vector3<f64>,
    torque: Vector3<f64>,
    /// Sum of the sizes of the forces; the convergence test is relative to it.
    size: f64,
}

fn add_part(
    total: &mut Sum,
    part: &PlacedWinding,
    on: &PlacedWinding,
    from: &PlacedWinding,
    source: &Assembly,
    halvings: u32,
) {
    let (order, most_points) = match order_for(part, from, TOLERANCE) {
        Some(order) => (order, MOST_POINTS[0]),
        _ if are_coaxial(part, from) => {
            let between = part.centre_m - from.centre_m;
            let slope = slope_of_one_turn(&from.section, &part.section, between.norm());
            let turns = part.turns * from.turns * on.axis.dot(&from.axis);
            let direction = between.try_normalize(0.0).unwrap_or_else(Vector3::zeros);
            total.force += direction * (turns * slope);
            total.size += (turns * slope).abs();
            return;
        }
        _ if halvings < MOST_HALVINGS => {
            for half in halved(part) {
                add_part(total, &half, on, from, source, halvings + 1);
            }
            return;
        }
        _ => (OrderChoice::coarse()[0], MOST_POINTS[1]),
    };
    let loops = OrderChoice::new(part.section, TOLERANCE).filaments(order, part.turns);
    let round = |steps: usize, phase: f64| {
        let mut points = Vec::with_capacity(loops.len() * steps);
        let mut lengths = Vec::with_capacity(loops.len() * steps);
        for turn in &loops {
            for step in 0..steps {
                let angle = TAU * (step as f64 + phase) / steps as f64;
                let (point, direction) = loop_point(part, turn.radius_m, turn.height_m, angle);
                points.push(point);
                lengths.push(direction * (turn.current_ampere * TAU * turn.radius_m / steps as f64));
            }
        }
        let mut sum = Sum::default();
        for ((point, length), field) in points.iter().zip(&lengths).zip(source.field_per_ampere_at(&points)) {
            let force = length.cross(&field);
            sum.force += force;
            sum.torque += (point - on.centre_m).cross(&force);
            sum.size += force.norm();
        }
        sum
    };
    let mut steps = 8;
    let mut value = round(steps, 0.0);
    while steps * loops.len() < most_points {
        let other = round(steps, 0.5);
        let change = 0.5 * (other.force - value.force).norm();
        let turned = 0.5 * (other.torque - value.torque).norm();
        value = Sum {
            force: 0.5 * (value.force + other.force),
            torque: 0.5 * (value.torque + other.torque),
            size: 0.5 * (value.size + other.size),
        };
        steps *= 2;
        if change <= TOLERANCE * value.size && turned <= TOLERANCE * value.size * on.section.mean_radius_m {
            break;
        }
    }
    total.force += value.force;
    total.torque += value.torque;
    total.size += value.size;
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::constants::MU_0;
    use crate::physics::field::{Section, mutual_inductance_henry};

    fn winding(section: (f64, f64, f64), z: f64) -> PlacedWinding {
        PlacedWinding::on_axis(
            Section { mean_radius_m: section.0, width_m: section.1, depth_m: section.2 },
            1.0,
            z,
        )
    }

    #[test]
    fn coaxial_circles_pull_as_the_closed_form_says() {
        // Source: tests/data/inductance.csv, force_circles: dM/dd of Maxwell art. 701.
        for (a, d, wanted) in [
            (1.0, 1.0, -0.571_657_238_968_166_4),
            (0.5, 0.5, -0.404_222_710_188_769_2),
            (0.5, 0.383_533_965_214_774_34, -0.425_899_621_745_670_87),
        ] {
            let result = force_and_torque(&winding((a, 0.0, 0.0), d), &winding((1.0, 0.0, 0.0), 0.0));
            let force = result.force_newton_per_ampere_squared;
            assert!((force.z / MU_0 / wanted - 1.0).abs() < 1e-12, "{a} {d}: {}", force.z / MU_0);
            assert!(force.xy().norm() < 1e-14 * MU_0);
            assert!(result.torque_newton_m_per_ampere_squared.norm() < 1e-14 * MU_0);
        }
    }

    #[test]
    fn force_and_torque_are_the_slopes_of_the_mutual_inductance() {
        let one = winding((0.15, 0.024, 0.02), 0.0);
        let mut other = winding((0.12, 0.01, 0.03), 0.1);
        other.centre_m.x = 0.02;
        other.axis = Vector3::new(0.1, -0.2, 1.0).normalize();
        // 1e-9: the error of the differences of M, 1e-11 of M over the step.
        force_and_torque_are_slopes(&other, &one, [1e-3, 1e-2], 1e-9);
    }

    /// F·u = dM/du and τ·n = dM/dθ at fixed currents, by central differences of sixth order.
    fn force_and_torque_are_slopes(on: &PlacedWinding, from: &PlacedWinding, step: [f64; 2], tolerance: f64) {
        let result = force_and_torque(on, from);
        let slope = |moved: &dyn Fn(f64) -> PlacedWinding, h: f64| {
            let odd = |k: f64| {
                mutual_inductance_henry(from, &moved(k * h)) - mutual_inductance_henry(from, &moved(-k * h))
            };
            (odd(1.0) * 45.0 - odd(2.0) * 9.0 + odd(3.0)) / (60.0 * h)
        };
        let size = result.force_newton_per_ampere_squared.norm();
        for axis in [Vector3::x(), Vector3::y(), Vector3::z()] {
            let shifted = |s: f64| PlacedWinding { centre_m: on.centre_m + axis * s, ..*on };
            let wanted = slope(&shifted, step[0]);
            let got = result.force_newton_per_ampere_squared.dot(&axis);
            assert!((got - wanted).abs() < tolerance * size, "force along {axis}: {got:e} {wanted:e}");
            let turned = |s: f64| PlacedWinding { axis: nalgebra::Rotation3::new(axis * s) * on.axis, ..*on };
            let wanted = slope(&turned, step[1]);
            let got = result.torque_newton_m_per_ampere_squared.dot(&axis);
            let arm = on.section.mean_radius_m;
            assert!((got - wanted).abs() < tolerance * size * arm, "torque about {axis}: {got:e} {wanted:e}");
        }
    }

    #[test]
    fn a_small_coil_and_a_large_wire_feel_the_slopes_of_their_inductance() {
        let large = winding((1.0, 0.0, 0.0), 0.0);
        let mut small = winding((1e-3, 0.0, 0.0), 0.01);
        small.centre_m.x = 1.0;
        force_and_torque_are_slopes(&large, &small, [2e-4, 2e-4], 1e-6);
        small.axis = Vector3::new(0.3, 0.2, 1.0).normalize();
        force_and_torque_are_slopes(&small, &large, [2e-4, 1e-2], 1e-6);
        force_and_torque_are_slopes(&large, &small, [2e-4, 2e-4], 1e-6);
    }

    #[test]
    fn a_long_solenoid_feels_what_a_filament_in_it_feels() {
        // 2π r B_ρ of the solenoid at the filament, by graded quadrature of 80-bit loop fields.
        let mut solenoid = winding((1.0, 7.438_077_795_243_027, 0.012_283_941_892_226_796), 0.0);
        let filament = winding((0.197_211_513_855_900_6, 0.0, 0.0), 0.807_672_228_490_820_2);
        for axis in [Vector3::z(), -Vector3::z()] {
            solenoid.axis = axis;
            let there = force_and_torque(&solenoid, &filament).force_newton_per_ampere_squared;
            let back = force_and_torque(&filament, &solenoid).force_newton_per_ampere_squared;
            assert!((there.z.abs() / 2.486_125_833e-10 - 1.0).abs() < 5e-10, "{there}");
            assert!((there + back).norm() < 1e-10 * back.norm(), "{there} {back}");
        }
        // The filament outside: here the solenoid is the smaller one.
        let filament = winding((1.3, 0.0, 0.0), 0.807_672_228_490_820_2);
        let there = force_and_torque(&solenoid, &filament).force_newton_per_ampere_squared;
        let h = 1e-3;
        let moved = |s: f64| {
            mutual_inductance_henry(&solenoid, &winding((1.3, 0.0, 0.0), 0.807_672_228_490_820_2 + s))
        };
        let odd = |k: f64| moved(k * h) - moved(-k * h);
        let wanted = -(odd(1.0) * 45.0 - odd(2.0) * 9.0 + odd(3.0)) / (60.0 * h);
        assert!((there.z / wanted - 1.0).abs() < 1e-6, "{there} {wanted:e}");
    }

    #[test]
    fn nested_windings_at_right_angles_do_not_push_each_other_and_crossing_filaments_end() {
        let (one, mut other) = (winding((0.15, 0.02, 0.02), 0.0), winding((0.10, 0.02, 0.02), 0.0));
        other.axis = Vector3::y();
        let force = force_and_torque(&other, &one).force_newton_per_ampere_squared;
        assert!(force.norm() < 1e-14 * MU_0, "{force}");
        let (one, mut other) = (winding((0.15, 0.0, 0.0), 0.0), winding((0.10, 0.0, 0.0), 0.0));
        other.centre_m.x = 0.06;
        let force = force_and_torque(&other, &one).force_newton_per_ampere_squared;
        assert!(force.z.abs() < 1e-12 * MU_0, "{force}");
    }

    #[test]
    fn overlapping_and_touching_windings_a_little_tilted_pull_as_the_coaxial_ones() {
        for (z, tolerance) in [(0.01, 1e-8), (0.02, 1e-8), (0.0201, 1e-6)] {
            let (from, mut on) = (winding((0.15, 0.02, 0.02), 0.0), winding((0.15, 0.02, 0.02), z));
            let wanted = force_and_torque(&on, &from).force_newton_per_ampere_squared.z;
            on.axis = Vector3::new(0.0, 1e-9, 1.0).normalize();
            let got = force_and_torque(&on, &from).force_newton_per_ampere_squared.z;
            assert!((got / wanted - 1.0).abs() < tolerance, "{z}: {got:e} {wanted:e}");
        }
    }

    #[test]
    fn the_thick_pair_pulls_as_its_inductance_says_and_action_is_reaction() {
        // Source: tests/data/inductance.csv, force_thick: −0.573930438873 μ0, a central difference good to 1e-7.
        let (one, other) = (winding((0.15, 0.024, 0.02), 0.0), winding((0.15, 0.024, 0.02), 0.15));
        let there = force_and_torque(&other, &one).force_newton_per_ampere_squared;
        let back = force_and_torque(&one, &other).force_newton_per_ampere_squared;
        assert!((there.z / MU_0 + 0.573_930_438_873).abs() < 1e-6, "{}", there.z / MU_0);
        assert!((there + back).norm() < 1e-12 * there.norm());
    }

    #[test]
    fn touching_windings_pull_alike_both_ways() {
        let (one, other) = (winding((0.15, 0.024, 0.02), 0.0), winding((0.16, 0.02, 0.03), 0.022));
        let there = force_and_torque(&other, &one).force_newton_per_ampere_squared;
        let back = force_and_torque(&one, &other).force_newton_per_ampere_squared;
        assert!((there + back).norm() < 1e-10 * there.norm(), "{there} {back}");
    }
}
