//! The field of a coil turn by turn: real wires instead of a smooth current density.
//!
//! Each turn is a ring of round wire, its current spread evenly over the bare conductor. Outside the wire such a ring
//! acts as a filament of radius √(a² + r²/4), r the wire's radius. The reason: the flux linkage M of a loop obeys
//! ∂²M/∂a² − (1/a) ∂M/∂a + ∂²M/∂z² = 0, so its mean over the disc is M + (r²/8a) ∂M/∂a to second order; the dipole
//! moment is exact. The error is of order (r/a)² of the wire's own field, on benches 1e-5 at most and that only at the
//! wire's surface. Inside the wire, its own field is integrated in polar coordinates about the point, where s ds
//! cancels the 1/s of the filaments:
//!
//! ```text
//! B = J ∫ dψ ∫₀^{L(ψ)} B_loop(at distance s in direction ψ) s ds       J = I/(π r²)
//! ```
//!
//! **Difference from the smooth section.** In the bore, beyond about three wire pitches from the winding, the two
//! differ only by the averaging over the layers' edges: below 1e-5 of the field on benches. Within one pitch of the
//! wires they differ by as much as one wire's own field, μ0 I/(2π r), and inside the winding usually by that much.

use super::filament::{AxialPoints, Filament};
use super::winding::AxialField;
use crate::numeric::lanes::InstructionSet;
use crate::numeric::quadrature::gauss_legendre;
use std::f64::consts::{FRAC_PI_2, PI};
use std::sync::LazyLock;

/// The turns of one coil about its own centre and axis.
#[derive(Clone, Debug)]
pub(super) struct Turns {
    /// Positions and currents of the wires.
    wires: Vec<Filament>,
    /// The filaments that replace them outside the wires.
    filaments: Vec<Filament>,
    wire_radius_m: f64,
}

/// Relative accuracy of a wire's own field inside it and at its surface.
const INSIDE: f64 = 1e-5;

static ALONG: LazyLock<Vec<(f64, f64)>> = LazyLock::new(|| gauss_legendre(8));
static AROUND: LazyLock<Vec<(f64, f64)>> = LazyLock::new(|| gauss_legendre(16));

impl Turns {
    /// Wires of the given radius, each with its current.
    pub(super) fn new(wires: Vec<Filament>, wire_radius_m: f64) -> Self {
        let outside =
            |wire: &Filament| Filament { radius_m: wire.radius_m.hypot(0.5 * wire_radius_m), ..*wire };
        Self { filaments: wires.iter().map(outside).collect(), wires, wire_radius_m }
    }

    /// The filaments that replace the turns outside the wires.
    pub(crate) fn filaments(&self) -> &[Filament] {
        &self.filaments
    }

    /// Distance from a point of the axis to the nearest wire.
    pub(super) fn clearance(&self, height: f64) -> f64 {
        let to = |wire: &Filament| wire.radius_m.hypot(wire.height_m - height) - self.wire_radius_m;
        self.wires.iter().map(to).fold(f64::INFINITY, f64::min)
    }

    /// The fields at the given finite (ρ, ζ), in their order.
    pub(super) fn at(&self, points: &[(f64, f64)], set: InstructionSet) -> Vec<AxialField> {
        let mut fields = vec![AxialField::default(); points.len()];
        let mut outside = Vec::with_capacity(points.len());
        let mut batch = AxialPoints::default();
        for (index, &(rho, zeta)) in points.iter().enumerate() {
            let (nearest, distance) = self.nearest(rho, zeta);
            if distance < self.wire_radius_m {
                fields[index] = self.inside(nearest, rho, zeta, set);
            } else {
                outside.push(index);
                batch.push(rho, zeta);
            }
        }
        batch.pad();
        batch.add(&self.filaments, set);
        for (k, &index) in outside.iter().enumerate() {
            let (b_rho_tesla, b_zeta_tesla) = (batch.b_rho_tesla[k], batch.b_zeta_tesla[k]);
            let error_tesla = 1e-14 * b_rho_tesla.hypot(b_zeta_tesla);
            fields[index] = AxialField { b_rho_tesla, b_zeta_tesla, error_tesla };
        }
        fields
    }

    /// The index of the nearest wire, and the distance from its middle.
    fn nearest(&self, rho: f64, zeta: f64) -> (usize, f64) {
        let square = |wire: &Filament| (wire.radius_m - rho).powi(2) + (wire.height_m - zeta).powi(2);
        let least = self.wires.iter().map(square).enumerate().min_by(|one, other| one.1.total_cmp(&other.1));
        least.map_or((0, f64::INFINITY), |(index, square)| (index, square.sqrt()))
    }

    /// The field inside one wire: the field of the others plus its own.
    fn inside(&self, own: usize, rho: f64, zeta: f64, set: InstructionSet) -> AxialField {
        let others: Vec<Filament> =
            self.filaments.iter().enumerate().filter(|(index, _)| *index != own).map(|(_, f)| *f).collect();
        let mut point = AxialPoints::default();
        point.push(rho, zeta);
        point.pad();
        point.add(&others, set);
        let (b_rho, b_zeta) = (point.b_rho_tesla[0], point.b_zeta_tesla[0]);
        point.add(&self.spread(own, rho, zeta), set);
        let own = (point.b_rho_tesla[0] - b_rho).hypot(point.b_zeta_tesla[0] - b_zeta);
        AxialField {
            b_rho_tesla: point.b_rho_tesla[0],
            b_zeta_tesla: point.b_zeta_tesla[0],
            error_tesla: INSIDE * own,
        }
    }

    /// One wire's current spread over its disc, as filaments about a point inside it.
    fn spread(&self, own: usize, rho: f64, zeta: f64) -> Vec<Filament> {
        let wire = &self.wires[own];
        let radius = self.wire_radius_m;
        let (x, y) = (rho - wire.radius_m, zeta - wire.height_m);
        let off = x.hypot(y);
        let outward = y.atan2(x);
        let density = wire.current_ampere / (PI * radius * radius);
        let mut filaments = Vec::new();
        // Four quarters of the circle of directions, graded by a cube toward ±90° from outward, where the chord has a
        // kink for a point on the surface.
        for (kink, side) in [(FRAC_PI_2, 1.0), (FRAC_PI_2, -1.0), (-FRAC_PI_2, 1.0), (-FRAC_PI_2, -1.0)] {
            for &(t, weight_t) in AROUND.iter() {
                let t = 0.5 * (1.0 + t);
                let psi = kink + side * FRAC_PI_2 * t * t * t;
                let step = FRAC_PI_2 * 3.0 * t * t * 0.5 * weight_t;
                let (sin, cos) = psi.sin_cos();
                let chord = ((radius * radius - (off * sin).powi(2)).max(0.0).sqrt() - off * cos).max(0.0);
                let (sin, cos) = (outward + psi).sin_cos();
                for &(s, weight_s) in ALONG.iter() {
                    let s = 0.5 * chord * (1.0 + s);
                    filaments.push(Filament {
                        radius_m: rho + s * cos,
                        height_m: zeta + s * sin,
                        current_ampere: density * step * 0.5 * chord * weight_s * s,
                    });
                }
            }
        }
        filaments
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::constants::MU_0;

    fn one_turn(radius: f64, wire: f64) -> Turns {
        Turns::new(vec![Filament { radius_m: radius, height_m: 0.0, current_ampere: 1.0 }], wire)
    }

    fn field(turns: &Turns, rho: f64, zeta: f64) -> (f64, f64) {
        let field = turns.at(&[(rho, zeta)], InstructionSet::Fastest)[0];
        (field.b_rho_tesla, field.b_zeta_tesla)
    }

    #[test]
    fn inside_a_wire_the_field_is_that_of_a_straight_round_wire_plus_the_rings_own() {
        // B = μ0 I s/(2π r²) about the middle of a straight wire of uniform current density (e.g. Jackson 1999, 5.3);
        // a ring adds μ0 I/(4π a) [ln(8a/r) − 1/4 …] on its axis' side, so opposite points are subtracted.
        let (a, r) = (0.168, 0.475e-3);
        let turns = one_turn(a, r);
        for part in [0.2, 0.6, 0.95] {
            let s = part * r;
            let wanted = MU_0 * s / (2.0 * PI * r * r);
            let (above, below) = (field(&turns, a, s), field(&turns, a, -s));
            let (outer, inner) = (field(&turns, a + s, 0.0), field(&turns, a - s, 0.0));
            assert!((0.5 * (above.0 - below.0) / wanted - 1.0).abs() < 1e-4, "{part}: {above:?} {below:?}");
            assert!((0.5 * (inner.1 - outer.1) / wanted - 1.0).abs() < 1e-4, "{part}: {inner:?} {outer:?}");
        }
    }

    #[test]
    fn the_field_is_continuous_through_the_surface_of_a_wire() {
        let (a, r) = (0.168, 0.475e-3);
        let turns = one_turn(a, r);
        let size = MU_0 / (2.0 * PI * r);
        for i in 0..24 {
            let (sin, cos) = (f64::from(i) * 0.2618).sin_cos();
            let (near, far) = (r * (1.0 - 1e-7), r * (1.0 + 1e-7));
            let (within, without) =
                (field(&turns, a + near * cos, near * sin), field(&turns, a + far * cos, far * sin));
            let step = (within.0 - without.0).hypot(within.1 - without.1) / size;
            assert!(step < INSIDE, "angle {i}: a step of {step:e} of the wire's own field");
        }
    }

    #[test]
    fn the_current_of_a_wire_is_spread_without_loss() {
        let turns = one_turn(0.168, 0.475e-3);
        for (x, y) in [(0.0, 0.0), (0.3e-3, 0.1e-3), (-0.2e-3, 0.4e-3), (0.475e-3, 0.0)] {
            let total: f64 = turns.spread(0, 0.168 + x, y).iter().map(|f| f.current_ampere).sum();
            // From the surface the chord is a cosine, which sixteen nodes with the cubic grading do not resolve
            // exactly.
            assert!((total - 1.0).abs() < 1e-6, "({x}, {y}): {total}");
        }
    }

    #[test]
    fn a_ring_of_thick_wire_has_the_field_of_loops_all_over_its_section() {
        let (a, r) = (0.1, 0.02);
        let turns = one_turn(a, r);
        // The same spread from the middle of the wire, seen from outside: an independent average over the disc.
        let spread = turns.spread(0, a, 0.0);
        for (rho, zeta) in [(0.0, 0.0), (0.05, 0.03), (0.3, 0.1), (0.0, 0.2)] {
            let mut point = AxialPoints::default();
            point.push(rho, zeta);
            point.pad();
            point.add(&spread, InstructionSet::Scalar);
            let (wanted, got) = ((point.b_rho_tesla[0], point.b_zeta_tesla[0]), field(&turns, rho, zeta));
            let error = (got.0 - wanted.0).hypot(got.1 - wanted.1) / wanted.0.hypot(wanted.1);
            // (r/a)⁴ = 1.6e-3, with a small factor; a bench's wire has 1e-10.
            assert!(error < 2e-4, "({rho}, {zeta}): {error:e}");
        }
    }
}
