//! Conduction of heat inside a winding's section: a rectangle heated throughout and cooled on four sides.

use nalgebra::{SMatrix, SVector, SymmetricEigen};

/// Polynomials in each direction. Six give the square with cold sides to 2e-4 and anything softer better.
const TERMS: usize = 6;
type Matrix = SMatrix<f64, TERMS, TERMS>;
type Vector = SVector<f64, TERMS>;

/// The four sides of a section, in the order used everywhere here.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// The cylinder of the largest radius.
    Outer = 0,
    /// The cylinder of the smallest radius.
    Inner = 1,
    /// The flat face on the side of the other coil.
    Facing = 2,
    /// The flat face away from the other coil.
    Away = 3,
}

impl Side {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::Outer, Self::Inner, Self::Facing, Self::Away];

    /// The words for it.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Outer => "outer surface",
            Self::Inner => "bore surface",
            Self::Facing => "side facing the other coil",
            Self::Away => "side away from the other coil",
        }
    }
}

/// A rectangular section and what cools its sides, per metre of circumference.
#[derive(Clone, Copy, Debug)]
pub struct CooledSection {
    /// Extent along the axis.
    pub width_m: f64,
    /// Extent along the radius.
    pub depth_m: f64,
    /// Conductivity of the material.
    pub conductivity_watt_per_m_kelvin: f64,
    /// Heat leaving each side per area of that side and kelvin between it and its sink.
    pub side_watt_per_m2_kelvin: [f64; 4],
}

/// Temperatures in the section, above a common zero: the sinks' temperature.
#[derive(Clone, Copy, Debug)]
pub struct Profile {
    /// Mean over the section.
    pub mean_kelvin: f64,
    /// Mean over each side.
    pub side_kelvin: [f64; 4],
    coefficients: Matrix,
}

/// A section ready to be asked for profiles.
///
/// The equation k ∇²θ + q = 0 with −k ∂θ/∂n = U θ + flux on the sides is solved by Galerkin's method with Legendre
/// polynomials in both directions, so the heat made equals the heat leaving the sides to rounding. The ring's
/// curvature is left out.
#[derive(Clone, Copy, Debug)]
pub struct SolvedSection {
    x: SymmetricEigen<f64, nalgebra::Const<TERMS>>,
    y: SymmetricEigen<f64, nalgebra::Const<TERMS>>,
}

impl CooledSection {
    /// Prepares the section.
    pub fn solve(&self) -> SolvedSection {
        let (half_width, half_depth) = (0.5 * self.width_m, 0.5 * self.depth_m);
        let k = self.conductivity_watt_per_m_kelvin;
        let [outer, inner, facing, away] = self.side_watt_per_m2_kelvin;
        // x runs along the axis from −1 (facing) to 1 (away), y along the radius from −1 (inner) to 1 (outer).
        let along_x = stiffness(k * half_depth / half_width, half_depth * facing, half_depth * away);
        let along_y = stiffness(k * half_width / half_depth, half_width * inner, half_width * outer);
        SolvedSection { x: SymmetricEigen::new(along_x), y: SymmetricEigen::new(along_y) }
    }
}

impl SolvedSection {
    /// The profile with 1 W/m made evenly in the section.
    pub fn heated(&self) -> Profile {
        // The constant orthonormal polynomial is ½ on the reference square.
        let mut load = Matrix::zeros();
        load[(0, 0)] = 0.5;
        self.profile(&load)
    }

    /// The profile with 1 W/m drawn out evenly through one side, besides what the sides give of themselves.
    pub fn drawn(&self, side: Side) -> Profile {
        let (low, high) = edge_values();
        let constant = Vector::ith(0, -std::f64::consts::FRAC_1_SQRT_2);
        self.profile(&match side {
            Side::Outer => constant * high.transpose(),
            Side::Inner => constant * low.transpose(),
            Side::Facing => low * constant.transpose(),
            Side::Away => high * constant.transpose(),
        })
    }

    fn profile(&self, load: &Matrix) -> Profile {
        let mut modes = self.x.eigenvectors.transpose() * load * self.y.eigenvectors;
        for (row, column) in (0..TERMS).flat_map(|row| (0..TERMS).map(move |column| (row, column))) {
            modes[(row, column)] /= self.x.eigenvalues[row] + self.y.eigenvalues[column];
        }
        Profile::of(self.x.eigenvectors * modes * self.y.eigenvectors.transpose())
    }
}

impl Profile {
    fn of(coefficients: Matrix) -> Self {
        let (low, high) = edge_values();
        // Mean over a side: the constant polynomial's share along it, the edge value across it.
        let along_y = coefficients.column(0) * std::f64::consts::FRAC_1_SQRT_2;
        let along_x = coefficients.row(0).transpose() * std::f64::consts::FRAC_1_SQRT_2;
        Self {
            mean_kelvin: 0.5 * coefficients[(0, 0)],
            side_kelvin: [high.dot(&along_x), low.dot(&along_x), low.dot(&along_y), high.dot(&along_y)],
            coefficients,
        }
    }

    /// This profile times a number.
    pub fn times(&self, factor: f64) -> Self {
        Self::of(self.coefficients * factor)
    }

    /// This profile and another one together.
    pub fn plus(&self, other: &Self) -> Self {
        Self::of(self.coefficients + other.coefficients)
    }

    /// The hottest place in the section, to 1.2e-3 of the rise inside it where the sides are held cold, better elsewhere.
    pub fn hottest_kelvin(&self) -> f64 {
        const PLACES: usize = 33;
        let values: [Vector; PLACES] =
            std::array::from_fn(|index| legendre(2.0 * index as f64 / (PLACES - 1) as f64 - 1.0));
        let mut hottest = (f64::NEG_INFINITY, 0, 0);
        for (row, x) in values.iter().enumerate() {
            let along = self.coefficients.transpose() * x;
            for (column, y) in values.iter().enumerate() {
                let value = along.dot(y);
                if value > hottest.0 {
                    hottest = (value, row, column);
                }
            }
        }
        let (value, row, column) = hottest;
        let at = |row: usize, column: usize| values[row].dot(&(self.coefficients * values[column]));
        // The top of the parabola through three places, in each direction.
        let lift = |before: f64, after: f64| {
            let bend = before - 2.0 * value + after;
            if bend < 0.0 { -(after - before).powi(2) / (8.0 * bend) } else { 0.0 }
        };
        let inside = 1..PLACES - 1;
        let mut top = value;
        if inside.contains(&row) {
            top += lift(at(row - 1, column), at(row + 1, column));
        }
        if inside.contains(&column) {
            top += lift(at(row, column - 1), at(row, column + 1));
        }
        top
    }
}

/// Orthonormal Legendre polynomials √((2n+1)/2) P_n at x.
fn legendre(x: f64) -> Vector {
    let mut values = Vector::zeros();
    let (mut before, mut here) = (0.0, 1.0);
    for n in 0..TERMS {
        values[n] = (n as f64 + 0.5).sqrt() * here;
        let order = n as f64;
        (before, here) = (here, ((2.0 * order + 1.0) * x * here - order * before) / (order + 1.0));
    }
    values
}

/// Their values at −1 and at 1.
fn edge_values() -> (Vector, Vector) {
    let high = Vector::from_fn(|n, _| (n as f64 + 0.5).sqrt());
    (high.map_with_location(|n, _, value| if n % 2 == 0 { value } else { -value }), high)
}

/// conduction · ∫ φ_m' φ_n' dx + low · φ_m(−1) φ_n(−1) + high · φ_m(1) φ_n(1).
///
/// ∫ P_m' P_n' dx = l (l + 1) with l the smaller order where m + n is even, 0 where it is odd.
fn stiffness(conduction: f64, low: f64, high: f64) -> Matrix {
    let (at_low, at_high) = edge_values();
    Matrix::from_fn(|m, n| {
        let order = m.min(n) as f64;
        let slopes = if (m + n) % 2 == 0 { order * (order + 1.0) * at_high[m] * at_high[n] } else { 0.0 };
        conduction * slopes + low * at_low[m] * at_low[n] + high * at_high[m] * at_high[n]
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn slab(thickness_m: f64, conductivity: f64, side: [f64; 4]) -> CooledSection {
        CooledSection {
            width_m: thickness_m,
            depth_m: 0.01,
            conductivity_watt_per_m_kelvin: conductivity,
            side_watt_per_m2_kelvin: side,
        }
    }

    /// The profile with a given mean, and the heat made for it.
    fn with_mean(section: &CooledSection, mean_kelvin: f64) -> (f64, Profile) {
        let heated = section.solve().heated();
        let watt_per_m = mean_kelvin / heated.mean_kelvin;
        (watt_per_m, heated.times(watt_per_m))
    }

    #[test]
    fn a_slab_heated_throughout_follows_its_closed_form() {
        // 20 mm thick, 2e5 W/m³, 0.5 W/(m K), both faces held cold: the middle is q t²/(8k) = 20 K above them, the
        // mean two thirds of that. U = 1e9 holds the faces to 2e-6 K.
        let (source, profile) = with_mean(&slab(0.02, 0.5, [0.0, 0.0, 1e9, 1e9]), 20.0 * 2.0 / 3.0);
        assert_relative_eq!(source, 2e5 * 0.02 * 0.01, max_relative = 1e-6);
        assert_relative_eq!(profile.hottest_kelvin(), 20.0, max_relative = 1e-6);
    }

    #[test]
    fn a_slab_cooled_by_newton_on_one_face_and_tight_on_the_other_follows_its_closed_form() {
        // q t/h on the surface, q t²/(2k) more at the tight face, mean q t²/(3k) above the surface.
        let (thickness, k, h, q) = (0.01, 0.12, 12.0, 1.9e5);
        let surface = q * thickness / h;
        let inside = q * thickness * thickness / (2.0 * k);
        let section = slab(thickness, k, [0.0, 0.0, 0.0, h]);
        let (source, profile) = with_mean(&section, surface + inside * 2.0 / 3.0);
        assert_relative_eq!(profile.side_kelvin[Side::Away as usize], surface, max_relative = 1e-11);
        assert_relative_eq!(
            profile.side_kelvin[Side::Facing as usize],
            surface + inside,
            max_relative = 1e-11
        );
        assert_relative_eq!(profile.hottest_kelvin(), surface + inside, max_relative = 1e-11);
        assert_relative_eq!(source, q * thickness * 0.01, max_relative = 1e-11);
        // Drawing heat out through the tight face: flux · t / k across the slab, and q″/h lower at the open one.
        let drawn = section.solve().drawn(Side::Facing).times(5.0);
        let flux = 5.0 / 0.01;
        assert_relative_eq!(drawn.side_kelvin[Side::Away as usize], -flux / h, max_relative = 1e-11);
        let through = -flux / h - flux * thickness / k;
        assert_relative_eq!(drawn.side_kelvin[Side::Facing as usize], through, max_relative = 1e-11);
    }

    #[test]
    fn a_square_with_cold_sides_agrees_with_the_torsion_of_a_square_bar() {
        // S. Timoshenko, J. N. Goodier, Theory of Elasticity, art. 109: torsion constant 0.1406 a⁴, which is four
        // times the mean of ∇²φ = −1 on the unit square: 0.0351443; its largest value is 0.0736714 (series, 12 digits:
        // 0.035144253738, 0.073671353329).
        let section = CooledSection {
            width_m: 1.0,
            depth_m: 1.0,
            conductivity_watt_per_m_kelvin: 1.0,
            side_watt_per_m2_kelvin: [1e9; 4],
        };
        let (source, profile) = with_mean(&section, 0.035144253738);
        assert_relative_eq!(source, 1.0, max_relative = 2e-4);
        assert_relative_eq!(profile.hottest_kelvin(), 0.073671353329, max_relative = 1.2e-3);
    }

    #[test]
    fn heat_made_equals_heat_leaving() {
        let section = CooledSection {
            width_m: 0.021,
            depth_m: 0.0085,
            conductivity_watt_per_m_kelvin: 0.11,
            side_watt_per_m2_kelvin: [11.0, 7.0, 60.0, 3.0],
        };
        let lengths = [0.021, 0.021, 0.0085, 0.0085];
        let leaving = |profile: &Profile| -> f64 {
            (0..4)
                .map(|side| section.side_watt_per_m2_kelvin[side] * lengths[side] * profile.side_kelvin[side])
                .sum()
        };
        let solved = section.solve();
        assert_relative_eq!(leaving(&solved.heated()), 1.0, max_relative = 1e-12);
        for side in Side::ALL {
            assert_relative_eq!(leaving(&solved.drawn(side)), -1.0, max_relative = 1e-12);
        }
        let both = solved.heated().plus(&solved.drawn(Side::Outer));
        assert!(leaving(&both).abs() < 1e-12);
    }
}
