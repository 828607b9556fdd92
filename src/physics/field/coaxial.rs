//! Inductance of coaxial windings of rectangular section at any distance, zero included.
//!
//! M(a, a', u) of two circles depends only on their radii a and a' and the axial distance u. With s = a' − a and
//! c = (a + a')/2:
//!
//! ```text
//! M = N N'/(w d w' d') ∫ ds ∫ W(u) du ∫ M(c − s/2, c + s/2, u) dc
//! ```
//!
//! where W(u) is the length over which two axial intervals shifted by u overlap, and the range of c is the overlap of
//! the radial ones; both are piecewise linear. The integrand is smooth along c. In the (s, u) plane M has a logarithm
//! at the origin: the plane is cut where W or the range of c has a kink and at s = 0 and u = 0, then every piece is
//! halved until it is no larger than its distance from the origin, or has the origin as a corner. There it is cut into
//! two triangles, each mapped from a unit square by τ⁴ along and a ratio v across (Duffy, SIAM J. Numer. Anal. 19, 1260
//! (1982)), which leaves τ⁷ ln τ for Gauss–Legendre. The force per current squared is the same integral with −dW/du in
//! place of W.

use super::section::Section;
use crate::constants::MU_0;
use crate::numeric::elliptic::kk_and_dd_of;
use crate::numeric::quadrature::gauss_legendre;
use std::f64::consts::PI;
use std::sync::LazyLock;

static RULE: LazyLock<Vec<(f64, f64)>> = LazyLock::new(|| unit_rule(14));
static CORNER_RULE: LazyLock<Vec<(f64, f64)>> = LazyLock::new(|| unit_rule(32));

/// Gauss–Legendre on [0, 1].
fn unit_rule(nodes: usize) -> Vec<(f64, f64)> {
    gauss_legendre(nodes).into_iter().map(|(x, weight)| (0.5 * (1.0 + x), 0.5 * weight)).collect()
}

/// Self inductance of a winding, H, for uniform current density in its section; relative accuracy 1e-10 for sections
/// up to as deep as the mean radius and sides up to a million to one.
///
/// Infinite for a filament. A zero width with a depth, or a zero depth with a width, counts as a millionth of the other
/// side.
///
/// ```
/// use coilwright::physics::field::{Section, self_inductance_henry};
/// // Brooks coil, square section of side c, mean radius 3c/2: L = 1.6994e-6 a N² H (Brooks 1931; from memory).
/// let section = Section { mean_radius_m: 0.15, width_m: 0.1, depth_m: 0.1 };
/// let inductance = self_inductance_henry(&section, 100.0);
/// assert!((inductance / (0.15 * 100.0 * 100.0) - 1.6994e-6).abs() < 1e-10);
/// ```
pub fn self_inductance_henry(section: &Section, turns: f64) -> f64 {
    if turns == 0.0 {
        return 0.0;
    }
    if section.width_m == 0.0 && section.depth_m == 0.0 {
        return f64::INFINITY;
    }
    turns * turns * inductance_of_one_turn(section, section, 0.0)
}

/// Mutual inductance of two coaxial windings of one turn each, `distance_m` between their centres, H.
pub(super) fn inductance_of_one_turn(one: &Section, other: &Section, distance_m: f64) -> f64 {
    Pair::new(one, other, distance_m).integral(Overlap::length)
}

/// Derivative of that inductance with respect to the distance, H/m: the force that drives two unit currents apart.
pub(super) fn slope_of_one_turn(one: &Section, other: &Section, distance_m: f64) -> f64 {
    Pair::new(one, other, distance_m).integral(|overlap, u| -overlap.slope(u))
}

/// Two intervals [low, high], the second shifted by −u: how far they overlap.
#[derive(Clone, Copy)]
struct Overlap {
    one: [f64; 2],
    other: [f64; 2],
}

impl Overlap {
    fn new(one: f64, other: f64, centre: f64) -> Self {
        Self { one: [-0.5 * one, 0.5 * one], other: [centre - 0.5 * other, centre + 0.5 * other] }
    }

    /// The arguments at which the overlap has a kink, ascending, with 0 added if it lies between them.
    fn kinks(&self) -> Vec<f64> {
        let mut kinks = vec![
            self.other[0] - self.one[1],
            self.other[0] - self.one[0],
            self.other[1] - self.one[1],
            self.other[1] - self.one[0],
        ];
        kinks.sort_unstable_by(f64::total_cmp);
        // A kink within rounding of the origin is on it.
        let negligible = 1e-14 * (self.other[1].abs() + self.other[0].abs() + self.one[1]);
        for kink in &mut kinks {
            if kink.abs() <= negligible {
                *kink = 0.0;
            }
        }
        if kinks[0] < 0.0 && kinks[3] > 0.0 {
            kinks.push(0.0);
            kinks.sort_unstable_by(f64::total_cmp);
        }
        kinks.dedup();
        kinks
    }

    fn length(&self, u: f64) -> f64 {
        (self.one[1].min(self.other[1] - u) - self.one[0].max(self.other[0] - u)).max(0.0)
    }

    fn slope(&self, u: f64) -> f64 {
        let top = if self.other[1] - u < self.one[1] { -1.0 } else { 0.0 };
        let bottom = if self.other[0] - u > self.one[0] { -1.0 } else { 0.0 };
        top - bottom
    }
}

struct Pair {
    axial: Overlap,
    radial: Overlap,
    /// 1/(w d w' d').
    density: f64,
    /// Mean radius of the first.
    mean_radius: f64,
}

/// A piece of the (s, u) plane.
#[derive(Clone, Copy)]
struct Piece {
    s: [f64; 2],
    u: [f64; 2],
}

impl Pair {
    fn new(one: &Section, other: &Section, distance: f64) -> Self {
        let longest = one.width_m.max(one.depth_m).max(other.width_m).max(other.depth_m);
        let side = |length: f64| length.max(1e-6 * longest);
        let (w1, d1, w2, d2) =
            (side(one.width_m), side(one.depth_m), side(other.width_m), side(other.depth_m));
        Self {
            axial: Overlap::new(w1, w2, distance.abs()),
            radial: Overlap::new(d1, d2, other.mean_radius_m - one.mean_radius_m),
            density: 1.0 / (w1 * d1 * w2 * d2),
            mean_radius: one.mean_radius_m,
        }
    }

    fn integral(&self, weight: impl Fn(&Overlap, f64) -> f64) -> f64 {
        let (s, u) = (self.radial.kinks(), self.axial.kinks());
        let integrand = |s: f64, u: f64| weight(&self.axial, u) * self.over_c(s, u);
        let mut sum = 0.0;
        for s in s.windows(2) {
            for u in u.windows(2) {
                sum += over_piece(Piece { s: [s[0], s[1]], u: [u[0], u[1]] }, &integrand);
            }
        }
        self.density * sum
    }

    /// The innermost integral.
    fn over_c(&self, s: f64, u: f64) -> f64 {
        let [low, high] = [
            self.radial.one[0].max(self.radial.other[0] - s),
            self.radial.one[1].min(self.radial.other[1] - s),
        ];
        let span = (high - low).max(0.0);
        let at = |x: f64| circles(self.mean_radius + low + span * x + 0.5 * s, s, u);
        span * RULE.iter().map(|&(x, weight)| weight * at(x)).sum::<f64>()
    }
}

fn over_piece(piece: Piece, integrand: &impl Fn(f64, f64) -> f64) -> f64 {
    let Piece { s, u } = piece;
    let (long_s, long_u) = (s[1] - s[0], u[1] - u[0]);
    let nearest = |[low, high]: [f64; 2]| low.max(-high).max(0.0);
    let (near_s, near_u) = (nearest(s), nearest(u));
    let longest = long_s.max(long_u);
    if near_s.hypot(near_u) >= 0.5 * longest {
        return product(piece, integrand);
    }
    if near_s == 0.0 && near_u == 0.0 && longest <= 2.0 * long_s.min(long_u) {
        // The origin is a corner: pieces are cut at s = 0 and u = 0.
        return corner(far_end(s), far_end(u), integrand);
    }
    let halves = if long_s >= long_u {
        let middle = 0.5 * (s[0] + s[1]);
        [Piece { s: [s[0], middle], u }, Piece { s: [middle, s[1]], u }]
    } else {
        let middle = 0.5 * (u[0] + u[1]);
        [Piece { s, u: [u[0], middle] }, Piece { s, u: [middle, u[1]] }]
    };
    halves.map(|half| over_piece(half, integrand)).iter().sum()
}

/// The end of an interval that is not at the origin.
fn far_end([low, high]: [f64; 2]) -> f64 {
    if high > 0.0 { high } else { low }
}

fn product(Piece { s, u }: Piece, integrand: &impl Fn(f64, f64) -> f64) -> f64 {
    let mut sum = 0.0;
    for &(x, weight_x) in RULE.iter() {
        for &(y, weight_y) in RULE.iter() {
            sum += weight_x * weight_y * integrand(s[0] + (s[1] - s[0]) * x, u[0] + (u[1] - u[0]) * y);
        }
    }
    sum * (s[1] - s[0]) * (u[1] - u[0])
}

fn corner(s: f64, u: f64, integrand: &impl Fn(f64, f64) -> f64) -> f64 {
    let mut sum = 0.0;
    for &(tau, weight_tau) in CORNER_RULE.iter() {
        let t = tau.powi(4);
        let weight = 4.0 * tau.powi(3) * weight_tau * t;
        for &(v, weight_v) in RULE.iter() {
            sum += weight * weight_v * (integrand(s * t, u * t * v) + integrand(s * t * v, u * t));
        }
    }
    sum * (s * u).abs()
}

/// M of coaxial circles of radii c ± s/2, u apart: 4π μ0 a² a'² DD(m)/(α + β)³, see
/// [`potential`](super::potential).
fn circles(c: f64, s: f64, u: f64) -> f64 {
    let product = (c - 0.5 * s) * (c + 0.5 * s);
    let (alpha, beta) = ((s * s + u * u).sqrt(), (4.0 * c * c + u * u).sqrt());
    let total = alpha + beta;
    let k = 4.0 * product / (total * total);
    let (_, dd) = kk_and_dd_of(k * k, 2.0 * (alpha * beta).sqrt() / total);
    4.0 * PI * MU_0 * product * product * dd / (total * total * total)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn self_inductances_agree_with_12_digit_values_of_two_other_methods() {
        // Source: tests/data/inductance.csv rows self_rect and brooks (Bessel–Struve integral and relative-coordinate
        // quadrature, agreeing to 1e-12; Brooks: Bur. Stand. J. Res. 7, 289 (1931), 1.6994e-6 a N² H, from memory).
        for (r1, r2, width, wanted) in [
            (0.14, 0.16, 0.024, 5.294_211_744_992_15e-7),
            (0.095, 0.105, 0.01, 4.007_798_913_743_86e-7),
            (0.09, 0.11, 0.01, 3.500_501_376_125_38e-7),
            (0.09, 0.11, 0.02, 3.143_576_270_005_99e-7),
            // Computed with the μ0 used before 2019, 4π·1e-7 H/m.
            (1.0, 2.0, 1.0, 1.5 * 1.699_378_210_943_561e-6 * MU_0 / (4e-7 * PI)),
        ] {
            let section = Section { mean_radius_m: 0.5 * (r1 + r2), width_m: width, depth_m: r2 - r1 };
            let got = self_inductance_henry(&section, 1.0);
            assert!((got / wanted - 1.0).abs() < 2e-12, "{section:?}: {got:e} {wanted:e}");
        }
    }

    #[test]
    fn a_current_sheet_has_nagaokas_inductance() {
        // L = K μ0 π a² N²/l, K from Lorenz's closed formula (tests/data/inductance.csv, nagaoka; Nagaoka 1909). The
        // depth of a millionth of the length lowers L by a third of depth over radius.
        for (two_a_over_l, k) in [
            (0.25, 0.901_649_329_977_439_8),
            (1.0, 0.688_422_607_320_376_7),
            (4.0, 0.365_431_897_400_354),
            (10.0, 0.203_323_517_521_913_3),
        ] {
            let length = 2.0 / two_a_over_l;
            let section = Section { mean_radius_m: 1.0, width_m: length, depth_m: 0.0 };
            let wanted = k * MU_0 * PI / length;
            let got = self_inductance_henry(&section, 1.0);
            assert!(
                (got / wanted - 1.0 + 1e-6 * length / 3.0).abs() < 1e-6,
                "2a/l = {two_a_over_l}: {got:e} {wanted:e}"
            );
        }
    }

    #[test]
    fn inductance_scales_with_size_and_with_the_square_of_the_turns() {
        let section = Section { mean_radius_m: 0.168, width_m: 0.021, depth_m: 0.0085 };
        let larger = Section { mean_radius_m: 1.68, width_m: 0.21, depth_m: 0.085 };
        let (small, large) = (self_inductance_henry(&section, 160.0), self_inductance_henry(&larger, 1.0));
        assert!((small / (2560.0 * large) - 1.0).abs() < 1e-13);
    }

    #[test]
    fn no_turns_have_no_inductance_and_a_filament_has_an_infinite_one() {
        let section = Section { mean_radius_m: 0.1, width_m: 0.0, depth_m: 0.0 };
        assert_eq!(self_inductance_henry(&section, 0.0), 0.0);
        assert_eq!(self_inductance_henry(&section, 1.0), f64::INFINITY);
    }
}
