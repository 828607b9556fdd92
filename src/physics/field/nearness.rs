//! How near two windings come to each other, and the product rule this needs for averaging over a section.

use super::placed::PlacedWinding;
use super::section::{OrderChoice, ProductOrder};
use nalgebra::Vector3;
use std::f64::consts::PI;

/// Most loops of a product rule; windings that need more are split or treated as coaxial.
const MOST_LOOPS: usize = 100;
/// A box is accepted if its rule has at most this many times the loops that its middle needs.
const WASTE: f64 = 1.5;
/// Halvings of the other winding in the search for its nearest part.
const DEPTH: u32 = 16;

/// Chooses the Gauss product rule for averaging over the section of `winding` a function whose only singularities lie
/// in `other`. `None` if it needs more than 100 loops.
///
/// As a function of a loop's height or radius, the effect of a filament of the other winding is singular where the
/// loop, continued to complex numbers, meets the filament. For a point of the filament at (ρ, ζ) about the winding's
/// axis, this singularity is no nearer than that of the field at (ρ, ζ), for which [`OrderChoice`] chooses its rule.
/// The rule returned therefore serves all points of the other winding. They are enclosed in boxes of ρ and ζ; a box is
/// halved while it needs many more loops than its middle.
pub(super) fn order_for(
    winding: &PlacedWinding,
    other: &PlacedWinding,
    tolerance: f64,
) -> Option<ProductOrder> {
    let search = Search { choice: OrderChoice::new(winding.section, tolerance), winding, other };
    let section = &other.section;
    let all = Part {
        angle: 0.0,
        half_angle: if are_coaxial(winding, other) { 0.0 } else { PI },
        radius: section.mean_radius_m,
        half_depth: 0.5 * section.depth_m,
        height: 0.0,
        half_width: 0.5 * section.width_m,
    };
    search.order(&all, None, DEPTH).filter(|order| order.loops() <= MOST_LOOPS)
}

struct Search<'a> {
    choice: OrderChoice,
    winding: &'a PlacedWinding,
    other: &'a PlacedWinding,
}

/// A part of a winding, both in section and round the axis.
#[derive(Clone, Copy)]
struct Part {
    angle: f64,
    half_angle: f64,
    radius: f64,
    half_depth: f64,
    height: f64,
    half_width: f64,
}

impl Search<'_> {
    /// The rule that serves this part and everything that `so_far` serves.
    fn order(&self, part: &Part, so_far: Option<ProductOrder>, depth: u32) -> Option<ProductOrder> {
        let axis = &self.winding.axis;
        let (middle, tangent) = loop_point(self.other, part.radius, part.height, part.angle);
        let outward = tangent.cross(&self.other.axis);
        let from_centre = middle - self.winding.centre_m;
        let zeta = from_centre.dot(axis);
        let rho = (from_centre - axis * zeta).norm();
        let with = |order: ProductOrder| so_far.map_or(order, |so_far| so_far.union(order));
        let least = with(self.choice.at(rho, zeta)?);

        // No point of the part is farther from its middle than this, along the axis and across it.
        let arc = (part.radius + part.half_depth) * part.half_angle;
        let tilt = axis.cross(&self.other.axis).norm();
        let along = part.half_depth * axis.dot(&outward).abs()
            + part.half_width * axis.dot(&self.other.axis).abs()
            + arc * tilt;
        let across = part.half_depth * axis.cross(&outward).norm() + part.half_width * tilt + arc;
        let nearest_rho = self.winding.section.mean_radius_m.clamp((rho - across).max(0.0), rho + across);
        let nearest_zeta = 0.0_f64.clamp(zeta - along, zeta + along);
        let most = self.choice.at(nearest_rho, nearest_zeta).map(with);
        let coaxial = part.half_angle == 0.0;
        match most {
            Some(most) if most.loops() as f64 <= WASTE * least.loops() as f64 => Some(most),
            _ if depth == 0 || coaxial => most,
            _ => {
                let [one, two] = part.halves(arc);
                let so_far = self.order(&one, Some(least), depth - 1)?;
                self.order(&two, Some(so_far), depth - 1)
            }
        }
    }
}

impl Part {
    /// Cut across its longest side.
    fn halves(&self, arc: f64) -> [Self; 2] {
        [-0.5, 0.5].map(|side| {
            let mut half = *self;
            if arc >= self.half_width && arc >= self.half_depth {
                half.angle += side * self.half_angle;
                half.half_angle *= 0.5;
            } else if self.half_width >= self.half_depth {
                half.height += side * self.half_width;
                half.half_width *= 0.5;
            } else {
                half.radius += side * self.half_depth;
                half.half_depth *= 0.5;
            }
            half
        })
    }
}

pub(super) fn are_coaxial(one: &PlacedWinding, other: &PlacedWinding) -> bool {
    let between = other.centre_m - one.centre_m;
    let sideways = between - one.axis * between.dot(&one.axis);
    one.axis.cross(&other.axis).norm() == 0.0 && sideways.norm() == 0.0
}

/// Whether every number that says where a winding lies is finite.
pub(super) fn is_finite(winding: &PlacedWinding) -> bool {
    let section = &winding.section;
    let lengths = [section.mean_radius_m, section.width_m, section.depth_m, winding.turns];
    lengths.iter().chain(winding.centre_m.iter()).chain(winding.axis.iter()).all(|number| number.is_finite())
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

/// Radius of a winding's outside.
pub(super) fn outer_radius(winding: &PlacedWinding) -> f64 {
    winding.section.mean_radius_m + 0.5 * winding.section.depth_m
}

/// The longer side of a winding's section.
pub(super) fn longest(winding: &PlacedWinding) -> f64 {
    winding.section.width_m.max(winding.section.depth_m)
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
