//! Conduction of heat inside a winding's section: a rectangle heated throughout and cooled on four sides.

use nalgebra::{SMatrix, SVector, SymmetricEigen};

/// Polynomials in each direction. Eight give the square with cold sides to 1.2e-5 and anything softer better.
const TERMS: usize = 8;
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

/// Temperatures in the section, above a common zero.
#[derive(Clone, Copy, Debug)]
pub struct Profile {
    /// Heat made in the section, per metre of circumference.
    pub source_watt_per_m: f64,
    /// Mean over each side.
    pub side_kelvin: [f64; 4],
    coefficients: Matrix,
}

impl CooledSection {
    /// The profile with a given mean, when each side gives its heat to a sink of the given temperature: how much
    /// heat must then be made, evenly, in the section.
    ///
    /// The equation k ∇²θ + q = 0 with k ∂θ/∂n + U (θ − θ_sink) = 0 on the sides is solved by Galerkin's method
    /// with Legendre polynomials in both directions, so the heat made equals the heat leaving the sides to
    /// rounding. The ring's curvature is left out.
    pub fn profile(&self, mean_kelvin: f64, sinks_kelvin: [f64; 4]) -> Profile {
        let (half_width, half_depth) = (0.5 * self.width_m, 0.5 * self.depth_m);
        let k = self.conductivity_watt_per_m_kelvin;
        let [outer, inner, facing, away] = self.side_watt_per_m2_kelvin;
        // x runs along the axis from −1 (facing) to 1 (away), y along the radius from −1 (inner) to 1 (outer).
        let along_x = stiffness(k * half_depth / half_width, half_depth * facing, half_depth * away);
        let along_y = stiffness(k * half_width / half_depth, half_width * inner, half_width * outer);
        let (x, y) = (SymmetricEigen::new(along_x), SymmetricEigen::new(along_y));

        let solve = |load: &Matrix| {
            let mut modes = x.eigenvectors.transpose() * load * y.eigenvectors;
            for (row, column) in (0..TERMS).flat_map(|row| (0..TERMS).map(move |column| (row, column))) {
                modes[(row, column)] /= x.eigenvalues[row] + y.eigenvalues[column];
            }
            x.eigenvectors * modes * y.eigenvectors.transpose()
        };
        // One watt per metre, made evenly: the constant orthonormal polynomial is ½ on the reference square.
        let mut even = Matrix::zeros();
        even[(0, 0)] = 0.5;
        let heated = solve(&even);
        let (low, high) = edge_values();
        let constant = Vector::ith(0, std::f64::consts::SQRT_2);
        let drawn = if sinks_kelvin == [0.0; 4] {
            Matrix::zeros()
        } else {
            let [outer_sink, inner_sink, facing_sink, away_sink] = sinks_kelvin;
            let x_load = low * (half_depth * facing * facing_sink) + high * (half_depth * away * away_sink);
            let y_load = low * (half_width * inner * inner_sink) + high * (half_width * outer * outer_sink);
            solve(&(x_load * constant.transpose() + constant * y_load.transpose()))
        };
        let mean_of = |coefficients: &Matrix| 0.5 * coefficients[(0, 0)];
        let source_watt_per_m = (mean_kelvin - mean_of(&drawn)) / mean_of(&heated);
        let coefficients = drawn + heated * source_watt_per_m;
        // Mean over a side: the constant polynomial's share along it, the edge value across it.
        let along_y_mean = coefficients.column(0) / std::f64::consts::SQRT_2;
        let along_x_mean = coefficients.row(0).transpose() / std::f64::consts::SQRT_2;
        let side_kelvin = [
            high.dot(&along_x_mean),
            low.dot(&along_x_mean),
            low.dot(&along_y_mean),
            high.dot(&along_y_mean),
        ];
        Profile { source_watt_per_m, side_kelvin, coefficients }
    }
}

impl Profile {
    /// The hottest place in the section, to about 1e-4 of the rise inside it.
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

    #[test]
    fn a_slab_heated_throughout_follows_its_closed_form() {
        // 20 mm thick, 2e5 W/m³, 0.5 W/(m K), both faces held cold: the middle is q t²/(8k) = 20 K above them, the
        // mean two thirds of that. U = 1e9 holds the faces to 2e-6 K.
        let section = slab(0.02, 0.5, [0.0, 0.0, 1e9, 1e9]);
        let profile = section.profile(20.0 * 2.0 / 3.0, [0.0; 4]);
        assert_relative_eq!(profile.source_watt_per_m, 2e5 * 0.02 * 0.01, max_relative = 1e-6);
        assert_relative_eq!(profile.hottest_kelvin(), 20.0, max_relative = 1e-6);
    }

    #[test]
    fn a_slab_cooled_by_newton_on_one_face_and_tight_on_the_other_follows_its_closed_form() {
        // q t/h on the surface, q t²/(2k) more at the tight face, mean q t²/(3k) above the surface.
        let (thickness, k, h, q) = (0.01, 0.12, 12.0, 1.9e5);
        let section = slab(thickness, k, [0.0, 0.0, 0.0, h]);
        let surface = q * thickness / h;
        let inside = q * thickness * thickness / (2.0 * k);
        let profile = section.profile(surface + inside * 2.0 / 3.0, [0.0; 4]);
        assert_relative_eq!(profile.side_kelvin[Side::Away as usize], surface, max_relative = 1e-11);
        assert_relative_eq!(
            profile.side_kelvin[Side::Facing as usize],
            surface + inside,
            max_relative = 1e-11
        );
        assert_relative_eq!(profile.hottest_kelvin(), surface + inside, max_relative = 1e-11);
        assert_relative_eq!(profile.source_watt_per_m, q * thickness * 0.01, max_relative = 1e-11);
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
        let profile = section.profile(0.035144253738, [0.0; 4]);
        assert_relative_eq!(profile.source_watt_per_m, 1.0, max_relative = 1.2e-5);
        assert_relative_eq!(profile.hottest_kelvin(), 0.073671353329, max_relative = 1e-4);
    }

    #[test]
    fn heat_made_equals_heat_leaving_and_sinks_superpose() {
        let section = CooledSection {
            width_m: 0.021,
            depth_m: 0.0085,
            conductivity_watt_per_m_kelvin: 0.11,
            side_watt_per_m2_kelvin: [11.0, 7.0, 60.0, 3.0],
        };
        let lengths = [0.021, 0.021, 0.0085, 0.0085];
        for sinks in [[0.0; 4], [0.0, 0.0, 17.0, -3.0]] {
            let profile = section.profile(40.0, sinks);
            let leaving: f64 = (0..4)
                .map(|side| {
                    section.side_watt_per_m2_kelvin[side]
                        * lengths[side]
                        * (profile.side_kelvin[side] - sinks[side])
                })
                .sum();
            assert_relative_eq!(profile.source_watt_per_m, leaving, max_relative = 1e-12);
        }
        // All sinks lifted by one number lift everything by it.
        let (plain, lifted) = (section.profile(40.0, [0.0; 4]), section.profile(45.0, [5.0; 4]));
        assert_relative_eq!(plain.source_watt_per_m, lifted.source_watt_per_m, max_relative = 1e-11);
        assert_relative_eq!(plain.hottest_kelvin() + 5.0, lifted.hottest_kelvin(), max_relative = 1e-11);
        // Nothing made and nothing drawn: as warm everywhere as the sinks.
        assert!(section.profile(7.0, [7.0; 4]).source_watt_per_m.abs() < 1e-10);
    }
}
