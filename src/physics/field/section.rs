//! The rectangular section of a winding, and the order of quadrature a point needs.

use super::filament::Filament;
use crate::numeric::quadrature::gauss_legendre;
use std::sync::LazyLock;

/// The rectangular section of one winding.
///
/// A section without area (`width_m` and `depth_m` zero) is a filament.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Section {
    /// Radius of the middle of the section.
    pub mean_radius_m: f64,
    /// Extent along the axis.
    pub width_m: f64,
    /// Extent along the radius.
    pub depth_m: f64,
}

/// The Gauss–Legendre orders in use.
const ORDERS: [usize; 15] = [1, 2, 3, 4, 5, 6, 7, 8, 10, 12, 14, 16, 20, 24, 32];

static RULES: LazyLock<[Vec<(f64, f64)>; ORDERS.len()]> = LazyLock::new(|| ORDERS.map(gauss_legendre));

/// Gauss product rule for one point: indices into the orders.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct ProductOrder {
    radial: u8,
    axial: u8,
}

impl ProductOrder {
    /// A rule that serves wherever either of the two does.
    pub(crate) fn union(self, other: Self) -> Self {
        Self { radial: self.radial.max(other.radial), axial: self.axial.max(other.axial) }
    }

    /// A number below 250, different for each rule.
    pub(crate) fn rank(self) -> u8 {
        const { assert!(ORDERS.len() * ORDERS.len() < 250) };
        self.radial * ORDERS.len() as u8 + self.axial
    }

    /// Nodes along the axis.
    pub(crate) fn axial_nodes(self) -> usize {
        ORDERS[usize::from(self.axial)]
    }

    /// Loops in all.
    pub(super) fn loops(self) -> usize {
        ORDERS[usize::from(self.radial)] * ORDERS[usize::from(self.axial)]
    }
}

/// Chooses orders for one section and one tolerance.
///
/// The field of a loop, as a function of the loop's radius or height, is analytic except where the loop meets the
/// point: at radius ρ ± i|ζ| and at height ζ ± i|ρ − a|. On the Bernstein ellipse through the nearest of these, with
/// foci at the section's faces and half axes cosh x and sinh x, Gauss–Legendre with n nodes errs by less than
/// C e^(−2nx) M (Trefethen, Approximation Theory and Approximation Practice, 2013, theorem 19.3), where M is the
/// field's largest size on the ellipse. For the radius, M grows as (1 + (half axis/mean radius)²), the area of the
/// loop. So n nodes serve every point whose half axis is at least the one at which the bound equals the tolerance.
#[derive(Clone, Debug)]
pub(super) struct OrderChoice {
    section: Section,
    least_half_axis: [[f64; ORDERS.len()]; 2],
}

/// The C above. The largest needed on the 640 points of the tests is 61, far away, where the field is a pole of third
/// order.
const BOUND: f64 = 80.0;
const RADIAL: usize = 0;
const AXIAL: usize = 1;

impl OrderChoice {
    pub(super) fn new(section: Section, tolerance: f64) -> Self {
        let growth = 0.5 * section.depth_m / section.mean_radius_m;
        let least_half_axis = [RADIAL, AXIAL].map(|direction| {
            let growth = if direction == RADIAL { growth } else { 0.0 };
            ORDERS.map(|nodes| least_half_axis(nodes as f64, growth, tolerance))
        });
        Self { section, least_half_axis }
    }

    fn bound(&self, direction: usize, nodes: usize, half_axis: f64) -> f64 {
        let area = if direction == RADIAL {
            1.0 + (0.5 * half_axis * self.section.depth_m / self.section.mean_radius_m).powi(2)
        } else {
            1.0
        };
        BOUND * area * (-2.0 * nodes as f64 * half_axis.max(1.0).acosh()).exp()
    }

    /// The product rule for a point at (ρ, ζ) about the section's centre; `None` if the highest order does not suffice.
    #[inline]
    pub(super) fn at(&self, rho_m: f64, zeta_m: f64) -> Option<ProductOrder> {
        let (half_depth, half_width) = (0.5 * self.section.depth_m, 0.5 * self.section.width_m);
        let (off_radius, height) = (rho_m - self.section.mean_radius_m, zeta_m.abs());
        let beyond_radius = (off_radius.abs() - half_depth).max(0.0);
        let beyond_height = (height - half_width).max(0.0);
        let radial = self.index(RADIAL, half_axis(off_radius, beyond_height, half_depth))?;
        let axial = self.index(AXIAL, half_axis(height, beyond_radius, half_width))?;
        Some(ProductOrder { radial, axial })
    }

    fn index(&self, direction: usize, half_axis: f64) -> Option<u8> {
        self.least_half_axis[direction].iter().position(|&least| half_axis >= least).map(|index| index as u8)
    }

    /// Rules of four by four and five by five nodes, for two parts too near for any rule to be exact, yet too small to
    /// matter. The orders differ so that no loops coincide where the parts do.
    pub(super) fn coarse() -> [ProductOrder; 2] {
        [3, 4].map(|index| ProductOrder { radial: index, axial: index })
    }

    /// Bound of the relative error of a product rule at a point.
    pub(crate) fn error_bound(&self, order: ProductOrder, rho_m: f64, zeta_m: f64) -> f64 {
        let (half_depth, half_width) = (0.5 * self.section.depth_m, 0.5 * self.section.width_m);
        let (off_radius, height) = (rho_m - self.section.mean_radius_m, zeta_m.abs());
        let beyond_radius = (off_radius.abs() - half_depth).max(0.0);
        let beyond_height = (height - half_width).max(0.0);
        let nodes = |index: u8| ORDERS[usize::from(index)];
        let radial = half_axis(off_radius, beyond_height, half_depth);
        let axial = half_axis(height, beyond_radius, half_width);
        let of = |direction, index, half_axis: f64| {
            if half_axis.is_finite() { self.bound(direction, nodes(index), half_axis) } else { 0.0 }
        };
        of(RADIAL, order.radial, radial) + of(AXIAL, order.axial, axial)
    }

    /// The ends of the current sheets that replace the axial nodes of a product rule, one sheet per radial node, for a
    /// total current of `current_ampere`. The current of an end is the sheet's current over the width, A/m, negative at
    /// the upper end.
    pub(super) fn ends(&self, order: ProductOrder, current_ampere: f64) -> Vec<Filament> {
        let section = &self.section;
        let sheets = RULES[usize::from(order.radial)].iter().flat_map(|&(u, weight)| {
            [-1.0, 1.0].map(|side| Filament {
                radius_m: section.mean_radius_m + 0.5 * section.depth_m * u,
                height_m: 0.5 * section.width_m * side,
                current_ampere: -0.5 * weight * side * current_ampere / section.width_m,
            })
        });
        sheets.collect()
    }

    /// The nodes of a product rule in half depths and half widths from the middle of the section, and their weights, which
    /// sum to 1.
    pub(crate) fn relative_nodes(&self, order: ProductOrder) -> Vec<[f64; 3]> {
        let axial = &RULES[usize::from(order.axial)];
        let nodes = RULES[usize::from(order.radial)].iter().flat_map(|&(u, weight_u)| {
            axial.iter().map(move |&(v, weight_v)| [u, v, 0.25 * weight_u * weight_v])
        });
        nodes.collect()
    }

    /// The loops of a product rule carrying `current_ampere` in all, about the section's centre.
    pub(crate) fn filaments(&self, order: ProductOrder, current_ampere: f64) -> Vec<Filament> {
        let radial = &RULES[usize::from(order.radial)];
        let axial = &RULES[usize::from(order.axial)];
        let section = &self.section;
        let loops = radial.iter().flat_map(|&(u, weight_u)| {
            axial.iter().map(move |&(v, weight_v)| Filament {
                radius_m: section.mean_radius_m + 0.5 * section.depth_m * u,
                height_m: 0.5 * section.width_m * v,
                current_ampere: 0.25 * weight_u * weight_v * current_ampere,
            })
        });
        loops.collect()
    }
}

/// The smallest half axis beyond which C (1 + (growth · half axis)²) e^(−2nx) stays within the tolerance; infinite if
/// there is none.
fn least_half_axis(nodes: f64, growth: f64, tolerance: f64) -> f64 {
    if nodes == 1.0 && growth > 0.0 {
        // Growth and decay both go as the square of the half axis, so the bound stops falling at C growth²/4.
        return if 0.25 * BOUND * growth * growth < 0.5 * tolerance {
            (0.5 * BOUND / tolerance).sqrt().max(1.0)
        } else {
            f64::INFINITY
        };
    }
    let mut x = (BOUND / tolerance).ln() / (2.0 * nodes);
    let mut step = 0.0;
    if growth > 0.0 {
        for _ in 0..6 {
            let grown = 1.0 + (growth * x.cosh()).powi(2);
            let next = (BOUND * grown / tolerance).ln() / (2.0 * nodes);
            (x, step) = (next, next - x);
        }
    }
    // Each step is shorter than the last at least by a factor of the number of nodes.
    (x + step / (nodes - 1.0).max(1.0)).cosh()
}

/// Half the long axis, in units of `half_length`, of the ellipse with foci ±half_length through (along, across);
/// infinite for an interval without length.
#[inline]
fn half_axis(along: f64, across: f64, half_length: f64) -> f64 {
    if half_length == 0.0 {
        return f64::INFINITY;
    }
    let across2 = across * across;
    let (near, far) = (along - half_length, along + half_length);
    0.5 * ((near * near + across2).sqrt() + (far * far + across2).sqrt()) / half_length
}
