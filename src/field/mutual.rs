//! Mutual inductance of windings wherever they stand.
//!
//! ```text
//! M = Σ over the turns of one winding of ∮ A·dl, A the vector potential of the other per ampere
//! ```
//!
//! Each section is averaged by a Gauss product of loops, whose order the distance decides as for the field (see
//! [`OrderChoice`]). Coaxial loops need one point each; others the trapezoidal rule round the loop, doubled until
//! nothing changes. Coaxial windings too near for that, touching ones included, are the business of
//! [`coaxial`](super::coaxial); tilted or offset ones are halved, the longer way, until the parts are far enough apart
//! or too small to matter.

use super::assembly::PlacedWinding;
use super::coaxial::inductance_of_one_turn;
use super::filament::AxialPoints;
use super::potential::add_potential;
use super::section::{OrderChoice, ProductOrder, Section};
use crate::numeric::lanes::InstructionSet;
use nalgebra::Vector3;
use std::f64::consts::TAU;

/// Relative accuracy aimed at, a tenth of what is promised.
const TOLERANCE: f64 = 1e-11;
/// Loops of the largest product that is not split further.
const MOST_LOOPS: usize = 100;
/// Halvings of tilted or offset windings after which parts are taken with the highest order.
pub(super) const MOST_HALVINGS: u32 = 6;
/// Most points round a loop.
const MOST_STEPS: usize = 1024;

/// Mutual inductance of two windings, H: the flux through `other`'s turns, positive along its axis, per ampere in
/// `one`. The current shares do not enter. Relative accuracy 1e-10, of the coaxial value where tilt makes it vanish;
/// coaxial sections may touch, tilted or offset ones that nearly touch lose digits, down to 1e-6.
///
/// Zero if either has no turns; infinite for filaments that coincide; not a number if the windings are not finite.
///
/// ```
/// use coilwright::field::{PlacedWinding, Section, mutual_inductance_henry};
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
    linkage(one, other, 0)
}

fn linkage(one: &PlacedWinding, other: &PlacedWinding, halvings: u32) -> f64 {
    let (along, across) = gap(one, other);
    match (order_for(&one.section, along, across), order_for(&other.section, along, across)) {
        (Some(a), Some(b)) if a.loops() <= MOST_LOOPS && b.loops() <= MOST_LOOPS => flux(one, a, other, b),
        _ if are_coaxial(one, other) => {
            let distance = (other.centre_m - one.centre_m).norm();
            let one_turn = inductance_of_one_turn(&one.section, &other.section, distance);
            one.turns * other.turns * one.axis.dot(&other.axis) * one_turn
        }
        _ if halvings < MOST_HALVINGS => {
            let split_one = longest(&one.section) >= longest(&other.section);
            let pair = |half: &PlacedWinding| {
                if split_one { linkage(half, other, halvings + 1) } else { linkage(one, half, halvings + 1) }
            };
            halved(if split_one { one } else { other }).iter().map(pair).sum()
        }
        (a, b) => {
            let highest = OrderChoice::highest();
            flux(one, a.unwrap_or(highest), other, b.unwrap_or(highest))
        }
    }
}

/// The flux linkage by product rules `a` for `one` and `b` for `other`.
fn flux(one: &PlacedWinding, a: ProductOrder, other: &PlacedWinding, b: ProductOrder) -> f64 {
    let sources = OrderChoice::new(one.section, TOLERANCE).filaments(a, one.turns);
    let receivers = OrderChoice::new(other.section, TOLERANCE).filaments(b, other.turns);
    let round = |steps: usize, phase: f64| {
        let mut points = AxialPoints::default();
        let mut lengths = Vec::new();
        for receiver in &receivers {
            for step in 0..steps {
                let angle = TAU * (step as f64 + phase) / steps as f64;
                let (place, direction) = loop_point(other, receiver.radius_m, receiver.height_m, angle);
                let (rho, zeta, turning) = seen_from(one, &place, &direction);
                points.push(rho, zeta);
                lengths.push(turning * receiver.current_ampere * TAU * receiver.radius_m / steps as f64);
            }
        }
        points.pad();
        let mut potential = vec![0.0; points.rho_m.len()];
        add_potential(&mut potential, &points, &sources, InstructionSet::Fastest);
        lengths.iter().zip(&potential).map(|(length, potential)| length * potential).sum::<f64>()
    };
    if are_coaxial(one, other) { round(1, 0.0) } else { doubled(round) }
}

/// The product rule for averaging over a section what is smooth but for places beyond the given gaps from it.
pub(super) fn order_for(section: &Section, gap_along: f64, gap_across: f64) -> Option<ProductOrder> {
    let inner = section.mean_radius_m - 0.5 * section.depth_m - gap_across;
    let rho = match gap_across {
        _ if gap_across <= 0.0 => section.mean_radius_m,
        _ if inner > 0.0 => inner,
        _ => section.mean_radius_m + 0.5 * section.depth_m + gap_across,
    };
    OrderChoice::new(*section, TOLERANCE).at(rho, 0.5 * section.width_m + gap_along)
}

/// The trapezoidal rule round a period, doubled until two results agree.
fn doubled(flux: impl Fn(usize, f64) -> f64) -> f64 {
    let mut steps = 16;
    let mut value = flux(steps, 0.0);
    while steps < MOST_STEPS {
        let finer = 0.5 * (value + flux(steps, 0.5));
        let change = (finer - value).abs();
        value = finer;
        steps *= 2;
        if change <= TOLERANCE * value.abs() {
            break;
        }
    }
    value
}

/// A point of a loop of the winding, and the direction of its current there.
pub(super) fn loop_point(
    winding: &PlacedWinding,
    radius: f64,
    height: f64,
    angle: f64,
) -> (Vector3<f64>, Vector3<f64>) {
    let axis = winding.axis;
    let start = if axis.x.abs() < 0.6 { Vector3::x() } else { Vector3::y() };
    let first = (start - axis * axis.dot(&start)).normalize();
    let second = axis.cross(&first);
    let (sin, cos) = angle.sin_cos();
    let outward = first * cos + second * sin;
    (winding.centre_m + axis * height + outward * radius, second * cos - first * sin)
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

pub(super) fn are_coaxial(one: &PlacedWinding, other: &PlacedWinding) -> bool {
    let between = other.centre_m - one.centre_m;
    let sideways = between - one.axis * between.dot(&one.axis);
    one.axis.cross(&other.axis).norm() == 0.0 && sideways.norm() == 0.0
}

/// Least distance of the two sections along the axis and across it, less what tilt and offset may take away.
pub(super) fn gap(one: &PlacedWinding, other: &PlacedWinding) -> (f64, f64) {
    let between = other.centre_m - one.centre_m;
    let along = between.dot(&one.axis);
    let sideways = (between - one.axis * along).norm();
    let (a, b) = (&one.section, &other.section);
    let tilt = one.axis.cross(&other.axis).norm() * (b.mean_radius_m + 0.5 * b.depth_m);
    let gap_along = along.abs() - 0.5 * (a.width_m + b.width_m) - tilt;
    let gap_across =
        (a.mean_radius_m - b.mean_radius_m).abs() - 0.5 * (a.depth_m + b.depth_m) - sideways - tilt;
    (gap_along.max(0.0), gap_across.max(0.0))
}

fn longest(section: &Section) -> f64 {
    section.width_m.max(section.depth_m)
}

/// The two halves of a winding, cut across its longer side.
pub(super) fn halved(winding: &PlacedWinding) -> [PlacedWinding; 2] {
    [-0.25, 0.25].map(|part| {
        let mut half = *winding;
        let section = &mut half.section;
        half.turns *= 0.5;
        if section.width_m >= section.depth_m {
            half.centre_m += winding.axis * (part * section.width_m);
            section.width_m *= 0.5;
        } else {
            section.mean_radius_m += part * section.depth_m;
            section.depth_m *= 0.5;
        }
        half
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::constants::MU_0;
    use crate::field::self_inductance_henry;

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
        for line in include_str!("../../tests/data/inductance.csv").lines() {
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
            // A − a is not a double where they nearly touch.
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
        // L(whole) = L(a) + L(b) + 2 M: nothing but the definition. Halves along the axis and along the radius.
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
}
