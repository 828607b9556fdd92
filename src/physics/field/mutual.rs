//! Mutual inductance of windings wherever they stand.
//!
//! ```text
//! M = Σ over the turns of one winding of ∮ A·dl, A the vector potential of the other per ampere
//! ```
//!
//! Each section is averaged by a Gauss product of loops. The nearest part of the other winding decides its order (see
//! [`nearness`](super::nearness)). Coaxial loops need one point each. Others are integrated by the trapezoidal rule
//! round the loop, whose steps are doubled until the result no longer changes. Coaxial windings too near for that,
//! touching ones included, are computed by [`coaxial`](super::coaxial). If tilted or offset windings are too near, the
//! one with the longer section is halved across its longer side until the parts are far enough apart or too small to
//! matter.

use super::coaxial::inductance_of_one_turn;
use super::filament::AxialPoints;
use super::nearness::{are_coaxial, halved, is_finite, longest, loop_point, order_for, outer_radius};
use super::placed::PlacedWinding;
use super::potential::add_potential;
use super::section::{OrderChoice, ProductOrder};
use crate::numeric::lanes::InstructionSet;
use nalgebra::Vector3;
use std::f64::consts::TAU;

/// Relative accuracy aimed at, a tenth of the accuracy promised.
const TOLERANCE: f64 = 1e-11;
/// After this many halvings of tilted or offset windings, parts are integrated with a coarse rule.
const MOST_HALVINGS: u32 = 10;
/// Most points round a loop.
const MOST_STEPS: usize = 1 << 18;
/// Most pairs of a loop and a point on another: with sufficient rules, and with the coarse rule.
const MOST_PAIRS: [usize; 2] = [1 << 24, 1 << 18];

/// Mutual inductance of two windings, H: the flux through `other`'s turns, positive along its axis, per ampere in
/// `one`. The current shares do not enter. Relative accuracy 1e-10; if tilt or offset makes the inductance vanish,
/// 1e-10 of the coaxial value. Coaxial sections may touch and overlap.
///
/// Tilted or offset windings less than a tenth of their section apart lose digits, down to 1e-6 where they touch and to
/// 1e-5 for filaments that cross; windings that interpenetrate, as real ones cannot, are accurate to 1e-3 and take a
/// second.
///
/// Infinite for filaments that coincide; zero if either has no turns; NaN if a dimension or position is not finite.
///
/// ```
/// use coilwright::physics::field::{PlacedWinding, Section, mutual_inductance_henry};
/// let turn = |z: f64, radius: f64| {
///     PlacedWinding::on_axis(Section { mean_radius_m: radius, width_m: 0.0, depth_m: 0.0 }, 1.0, z)
/// };
/// // Circles of 25 and 20 cm radius, 10 cm apart: 248.787 nH (Rosa & Grover 1912, Scientific Paper 169; from memory).
/// let mutual = mutual_inductance_henry(&turn(0.0, 0.25), &turn(0.1, 0.20));
/// assert!((mutual * 1e9 - 248.787).abs() < 1e-3);
/// ```
pub fn mutual_inductance_henry(one: &PlacedWinding, other: &PlacedWinding) -> f64 {
    if one.turns == 0.0 || other.turns == 0.0 {
        return 0.0;
    }
    if !is_finite(one) || !is_finite(other) {
        return f64::NAN;
    }
    if longest(one) == 0.0
        && one.section == other.section
        && one.centre_m == other.centre_m
        && are_coaxial(one, other)
    {
        return f64::INFINITY * (one.axis.dot(&other.axis) * one.turns * other.turns);
    }
    // The larger winding's potential changes more slowly round the smaller winding than the reverse.
    if outer_radius(other) > outer_radius(one) { linkage(other, one, 0) } else { linkage(one, other, 0) }
}

fn linkage(one: &PlacedWinding, other: &PlacedWinding, halvings: u32) -> f64 {
    match (order_for(one, other, TOLERANCE), order_for(other, one, TOLERANCE)) {
        (Some(a), Some(b)) => flux(one, a, other, b, MOST_PAIRS[0]),
        _ if are_coaxial(one, other) => {
            let distance = (other.centre_m - one.centre_m).norm();
            let one_turn = inductance_of_one_turn(&one.section, &other.section, distance);
            one.turns * other.turns * one.axis.dot(&other.axis) * one_turn
        }
        (a, b) if halvings == MOST_HALVINGS => {
            let [coarse, other_coarse] = OrderChoice::coarse();
            flux(one, a.unwrap_or(coarse), other, b.unwrap_or(other_coarse), MOST_PAIRS[1])
        }
        // A filament always has a rule, so the winding that is halved has an extent.
        _ if longest(one) >= longest(other) => {
            halved(one).iter().map(|half| linkage(half, other, halvings + 1)).sum()
        }
        _ => halved(other).iter().map(|half| linkage(one, half, halvings + 1)).sum(),
    }
}

/// The flux linkage by product rules `a` for `one` and `b` for `other`.
fn flux(
    one: &PlacedWinding,
    a: ProductOrder,
    other: &PlacedWinding,
    b: ProductOrder,
    most_pairs: usize,
) -> f64 {
    let sources = OrderChoice::new(one.section, TOLERANCE).filaments(a, one.turns);
    let receivers = OrderChoice::new(other.section, TOLERANCE).filaments(b, other.turns);
    let most_steps = MOST_STEPS.min(most_pairs / (a.loops() * b.loops()));
    let round = |steps: usize, phase: f64| {
        let mut points = AxialPoints::default();
        let mut lengths = Vec::new();
        for receiver in &receivers {
            for step in 0..steps {
                let angle = TAU * (step as f64 + phase) / steps as f64;
                let (place, direction) = loop_point(other, receiver.radius_m, receiver.height_m, angle);
                let (rho, zeta, turning) = seen_from(one, &place, &direction);
                points.push(rho, zeta);
                let length = receiver.current_ampere * TAU * receiver.radius_m / steps as f64;
                lengths.push((length, turning));
            }
        }
        points.pad();
        let mut potential = vec![0.0; points.rho_m.len()];
        add_potential(&mut potential, &points, &sources, InstructionSet::Fastest);
        let mut sum = Round::default();
        for (&(length, turning), &potential) in lengths.iter().zip(&potential) {
            sum.flux += turning * length * potential;
            sum.size += (length * potential).abs();
        }
        sum
    };
    if are_coaxial(one, other) { round(1, 0.0).flux } else { doubled(most_steps, round) }
}

/// A sum round the loops.
#[derive(Clone, Copy, Default)]
struct Round {
    flux: f64,
    /// The flux if the potential were parallel to the loops everywhere; the convergence test is relative to it.
    size: f64,
}

/// The trapezoidal rule round a period, doubled until two results agree.
fn doubled(most_steps: usize, round: impl Fn(usize, f64) -> Round) -> f64 {
    let mut steps = 16;
    let mut value = round(steps, 0.0).flux;
    while steps < most_steps {
        let between = round(steps, 0.5);
        let change = 0.5 * (between.flux - value).abs();
        value = 0.5 * (value + between.flux);
        steps *= 2;
        if change <= TOLERANCE * between.size {
            break;
        }
    }
    value
}

/// ρ and ζ of a point about a winding, and the part of `direction` that runs along its currents.
fn seen_from(winding: &PlacedWinding, point: &Vector3<f64>, direction: &Vector3<f64>) -> (f64, f64, f64) {
    let from_centre = point - winding.centre_m;
    let zeta = from_centre.dot(&winding.axis);
    let radial = from_centre - winding.axis * zeta;
    let rho = radial.norm();
    let turning = if rho > 0.0 { winding.axis.cross(&radial).dot(direction) / rho } else { 0.0 };
    (rho, zeta, turning)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::constants::MU_0;
    use crate::physics::field::{Section, self_inductance_henry};

    fn winding(section: (f64, f64, f64), z: f64) -> PlacedWinding {
        PlacedWinding::on_axis(
            Section { mean_radius_m: section.0, width_m: section.1, depth_m: section.2 },
            1.0,
            z,
        )
    }

    #[test]
    fn coaxial_circles_agree_with_the_18_digit_table() {
        // Source: tests/data/inductance.csv, mutual_circles_computed: Maxwell art. 701, and Neumann's integral.
        let mut rows = 0;
        for line in include_str!(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/data/inductance.csv")).lines() {
            if !line.starts_with("mutual_circles_computed") {
                continue;
            }
            let number = |key: &str| -> f64 {
                let rest = &line[line.find(key).unwrap() + key.len()..];
                rest[..rest.find([' ', ':']).unwrap()].parse().unwrap()
            };
            let wanted: f64 = line.split(',').nth(2).unwrap().parse().unwrap();
            let (one, other) = ((number("A="), 0.0, 0.0), (number(" a="), 0.0, 0.0));
            let got = mutual_inductance_henry(&winding(one, 0.0), &winding(other, number("d="))) / MU_0;
            // If the circles nearly touch, A − a is not exact as a double.
            assert!((got / wanted - 1.0).abs() < 1e-14, "{line}: {got:e}");
            rows += 1;
        }
        assert_eq!(rows, 11);
    }

    #[test]
    fn a_thick_pair_agrees_with_two_other_methods() {
        // Source: tests/data/inductance.csv, mutual_thick: 7.43735692092e-8 H, two methods agreeing to 6e-12.
        let section = (0.15, 0.024, 0.02);
        let got = mutual_inductance_henry(&winding(section, 0.0), &winding(section, 0.15));
        assert!((got / 7.437_356_920_922_9e-8 - 1.0).abs() < 1e-11, "{got:e}");
    }

    #[test]
    fn two_touching_halves_have_the_inductance_of_the_whole() {
        // L(whole) = L(a) + L(b) + 2 M, by definition. Halves along the axis and along the radius.
        for section in [(0.15, 0.024, 0.02), (1.0, 0.5, 0.8)] {
            let whole = winding(section, 0.0);
            let long = self_inductance_henry(&whole.section, 1.0);
            let [a, b] = halved(&whole);
            let sum = self_inductance_henry(&a.section, 0.5)
                + self_inductance_henry(&b.section, 0.5)
                + 2.0 * mutual_inductance_henry(&a, &b);
            assert!((sum / long - 1.0).abs() < 1e-10, "{section:?}: {sum:e} {long:e}");
        }
    }

    #[test]
    fn mutual_inductance_is_symmetric_and_changes_sign_with_an_axis() {
        let mut one = winding((0.15, 0.024, 0.02), 0.0);
        let mut other = winding((0.12, 0.01, 0.03), 0.1);
        other.centre_m.x = 0.01;
        other.axis = Vector3::new(0.02, -0.03, 1.0).normalize();
        let there = mutual_inductance_henry(&one, &other);
        let back = mutual_inductance_henry(&other, &one);
        assert!((there / back - 1.0).abs() < 1e-11, "{there:e} {back:e}");
        one.axis = -one.axis;
        let turned = mutual_inductance_henry(&one, &other);
        assert!((turned / there + 1.0).abs() < 1e-12);
    }

    #[test]
    fn a_tilted_circle_agrees_with_neumanns_double_integral() {
        // M = (μ0/4π) ∮∮ dl·dl'/|r − r'|; the trapezoidal rule converges exponentially.
        let one = winding((0.15, 0.0, 0.0), 0.0);
        let mut other = winding((0.10, 0.0, 0.0), 0.08);
        other.centre_m.y = 0.03;
        other.axis = Vector3::new(0.5, 0.2, 1.0).normalize();
        let steps = 300;
        let mut sum = 0.0;
        for i in 0..steps {
            let (p, t) = loop_point(&one, 0.15, 0.0, TAU * f64::from(i) / f64::from(steps));
            for j in 0..steps {
                let (q, u) = loop_point(&other, 0.10, 0.0, TAU * f64::from(j) / f64::from(steps));
                sum += t.dot(&u) / (p - q).norm();
            }
        }
        let step = TAU / f64::from(steps);
        let wanted = MU_0 / (4.0 * std::f64::consts::PI) * sum * 0.15 * 0.10 * step * step;
        let got = mutual_inductance_henry(&one, &other);
        assert!((got / wanted - 1.0).abs() < 1e-12, "{got:e} {wanted:e}");
    }

    fn placed(section: (f64, f64, f64), centre: [f64; 3], axis: [f64; 3]) -> PlacedWinding {
        let (centre_m, axis) = (Vector3::from(centre), Vector3::from(axis).normalize());
        PlacedWinding { centre_m, axis, ..winding(section, 0.0) }
    }

    fn both_ways(name: &str, one: &PlacedWinding, other: &PlacedWinding, wanted: f64, tolerance: f64) {
        for (one, other) in [(one, other), (other, one)] {
            let got = mutual_inductance_henry(one, other);
            assert!((got / wanted - 1.0).abs() < tolerance, "{name}: {got:e} {wanted:e}");
        }
    }

    #[test]
    fn crossing_filaments_and_nested_windings_end_and_agree_with_quadrature() {
        // ∮ A·dl, A by Maxwell art. 701: 25-digit elliptic integrals, the integration divided at the angles of the
        // crossings.
        let (one, other) =
            (winding((0.15, 0.0, 0.0), 0.0), placed((0.10, 0.0, 0.0), [0.06, 0.0, 0.0], [0.0, 0.0, 1.0]));
        both_ways("crossing", &one, &other, 2.32255917358147314e-7, 1e-5);
        // 14 by 14 loops in each section and 96 points round; 10 by 10 loops and 64 points agree to 2.4e-15.
        let (one, other) = (
            winding((0.15, 0.02, 0.02), 0.0),
            placed((0.10, 0.02, 0.02), [0.0; 3], [0.0, 0.3_f64.tan(), 1.0]),
        );
        both_ways("tilted", &one, &other, 1.449_949_384_624_756_2e-7, 1e-12);
        // At right angles about one centre: zero by symmetry.
        let other = placed((0.10, 0.02, 0.02), [0.0; 3], [0.0, 1.0, 0.0]);
        assert!(mutual_inductance_henry(&one, &other).abs() < 1e-20);
    }

    #[test]
    fn overlapping_and_touching_windings_a_little_tilted_are_near_the_coaxial_ones() {
        let section = (0.15, 0.02, 0.02);
        for (z, tolerance) in [(0.01, 5e-4), (0.02, 1e-6), (0.021, 1e-8)] {
            let (one, other) = (winding(section, 0.0), placed(section, [0.0, 0.0, z], [0.0, 1e-9, 1.0]));
            let wanted = mutual_inductance_henry(&one, &winding(section, z));
            let got = mutual_inductance_henry(&one, &other);
            assert!((got / wanted - 1.0).abs() < tolerance, "{z}: {got:e} {wanted:e}");
        }
    }

    #[test]
    fn coinciding_filaments_have_an_infinite_inductance_and_a_winding_of_nan_has_none() {
        let filament = winding((0.15, 0.0, 0.0), 0.0);
        let mut turned = filament;
        turned.axis = -turned.axis;
        assert_eq!(mutual_inductance_henry(&filament, &filament), f64::INFINITY);
        assert_eq!(mutual_inductance_henry(&filament, &turned), -f64::INFINITY);
        turned.centre_m.x = f64::NAN;
        assert!(mutual_inductance_henry(&filament, &turned).is_nan());
    }

    #[test]
    fn a_filament_within_a_long_sheet_agrees_with_quadrature() {
        // The mean over the sheet's length of Maxwell's M of circles, 30 digits.
        let (sheet, filament) = (winding((1.0, 3.0, 0.0), 0.0), winding((0.45, 0.0, 0.0), 0.0));
        both_ways("sheet", &sheet, &filament, 2.232_801_162_351_654e-7, 1e-10);
        let mut tilted = filament;
        tilted.axis = Vector3::new(0.0, 1e-9, 1.0);
        both_ways("sheet tilted", &sheet, &tilted, 2.232_801_162_351_654e-7, 1e-10);
    }

    #[test]
    fn a_small_coil_near_a_large_wire_has_one_inductance_both_ways() {
        // ∮ A·dl round the small coil in 80-bit numbers.
        let (small, large) =
            (placed((1e-3, 0.0, 0.0), [1.0, 0.0, 0.01], [0.0, 0.0, 1.0]), winding((1.0, 0.0, 0.0), 0.0));
        both_ways("small", &small, &large, 1.785_450_258e-12, 5e-10);
    }
}
