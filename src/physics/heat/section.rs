//! Conduction of heat inside a winding's section: a rectangle heated throughout and cooled on four sides.

use crate::numeric::symmetric_eigen::symmetric_eigen;
use nalgebra::{SMatrix, SVector};
use std::sync::LazyLock;

/// Polynomials in each direction. Six give the square with cold sides to 2e-4, and sections with weaker cooling more
/// accurately.
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

    /// Its name.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Outer => "outer surface",
            Self::Inner => "bore surface",
            Self::Facing => "side facing the other coil",
            Self::Away => "side away from the other coil",
        }
    }
}

/// A rectangular section and the cooling of its sides, per metre of circumference.
#[derive(Clone, Copy, Debug)]
pub(crate) struct CooledSection {
    /// Extent along the axis.
    pub width_m: f64,
    /// Extent along the radius.
    pub depth_m: f64,
    /// Conductivity of the material.
    pub conductivity_watt_per_m_kelvin: f64,
    /// Heat leaving each side per area of that side and kelvin between it and its sink.
    pub side_watt_per_m2_kelvin: [f64; 4],
}

/// Temperatures in the section, above the common temperature of the sinks.
#[derive(Clone, Copy, Debug)]
pub struct Profile {
    /// Mean over the section.
    pub mean_kelvin: f64,
    /// Mean over each side.
    pub side_kelvin: [f64; 4],
    coefficients: Matrix,
}

/// A section prepared for computing profiles.
///
/// The equation k ∇²θ + q = 0 with −k ∂θ/∂n = U θ + flux on the sides is solved by Galerkin's method with Legendre
/// polynomials in both directions, so the heat generated equals the heat leaving the sides to rounding. The ring's
/// curvature is neglected.
///
/// The axial direction is diagonalised anew whenever the cooling of its sides changes. The radial direction is
/// diagonalised once. A later change of the cooling of its two ends is a change of rank two. The formula of Sherman,
/// Morrison and Woodbury applies it for each axial eigenvector (W. W. Hager, SIAM Review 31, 221 (1989)). This pays
/// because the surface temperatures are sought in many rounds that change the cooling of the outer side alone.
#[derive(Clone, Copy, Debug)]
pub(crate) struct SolvedSection {
    along_axis: Direction,
    /// The radial direction, diagonalised with the cooling that its ends had then.
    along_radius: Direction,
    /// Change of the cooling of those ends since.
    radial_change: [f64; 2],
    /// Reciprocals of the sums of an axial and a radial eigenvalue; one row for each axial one.
    inverse: Matrix,
    /// For each axial eigenvector the products of the radial direction's traces.
    radial: [RadialProducts; TERMS],
}

/// The radial direction seen by one axial eigenvector: with D the reciprocals of its eigenvalues and the axial one's sum,
/// and U the end values, (D⁻¹ + U C Uᵀ)⁻¹ = D − D U `correction` Uᵀ D for a change C of the cooling.
#[derive(Clone, Copy, Debug)]
struct RadialProducts {
    /// tᵀ (…)⁻¹ t′ for the traces t in the order constant, low, high.
    traces: [[f64; 3]; 3],
    correction: [[f64; 2]; 2],
}

impl RadialProducts {
    fn of(radius: &Direction, inverse: &Vector, [low, high]: [f64; 2]) -> Self {
        let traces = [&radius.constant, &radius.low, &radius.high];
        let weighed = traces.map(|trace| trace.component_mul(inverse));
        let mut products = [[0.0; 3]; 3];
        for i in 0..3 {
            for j in i..3 {
                products[i][j] = weighed[i].dot(traces[j]);
                products[j][i] = products[i][j];
            }
        }
        if low == 0.0 && high == 0.0 {
            return Self { traces: products, correction: [[0.0; 2]; 2] };
        }
        // C (1 + UᵀDU C)⁻¹, symmetric.
        let [[a, b], [_, d]] = [[products[1][1], products[1][2]], [products[2][1], products[2][2]]];
        let determinant = (1.0 + a * low) * (1.0 + d * high) - b * b * low * high;
        let beside = -b * low * high / determinant;
        let correction =
            [[low * (1.0 + d * high) / determinant, beside], [beside, high * (1.0 + a * low) / determinant]];
        let mut traces = products;
        for i in 0..3 {
            for j in 0..3 {
                for k in 0..2 {
                    for l in 0..2 {
                        traces[i][j] -= products[i][k + 1] * correction[k][l] * products[l + 1][j];
                    }
                }
            }
        }
        Self { traces, correction }
    }
}

/// One direction of a section, with its conduction and the cooling of its two ends diagonalised.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Direction {
    conduction: f64,
    ends: [f64; 2],
    values: Vector,
    vectors: Matrix,
    /// The constant polynomial and the values at either end, in terms of the eigenvectors.
    constant: Vector,
    low: Vector,
    high: Vector,
}

/// Number of loads of a section, in the order of [`SolvedSection::responses`]: 1 W/m generated evenly in it, then 1 W/m
/// drawn out evenly through each side, in addition to the flow by the sides' own cooling.
pub(crate) const LOADS: usize = 5;

/// The temperatures due to each load: mean over the section and over each side.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Responses {
    /// Mean over the section, one per load.
    pub mean_kelvin: [f64; LOADS],
    /// Means over the sides, in the order of [`Side::ALL`], one list per load.
    pub side_kelvin: [[f64; 4]; LOADS],
}

impl CooledSection {
    /// Prepares the section.
    #[cfg(test)]
    pub(crate) fn solve(&self) -> SolvedSection {
        self.solve_after(None)
    }

    /// Prepares the section. A solved section of the same size and material saves work where it still serves.
    pub(crate) fn solve_after(&self, before: Option<&SolvedSection>) -> SolvedSection {
        let (half_width, half_depth) = (0.5 * self.width_m, 0.5 * self.depth_m);
        let k = self.conductivity_watt_per_m_kelvin;
        let [outer, inner, facing, away] = self.side_watt_per_m2_kelvin;
        // x runs along the axis from −1 (facing) to 1 (away), y along the radius from −1 (inner) to 1 (outer).
        let axial = (k * half_depth / half_width, [half_depth * facing, half_depth * away]);
        let radial = (k * half_width / half_depth, [half_width * inner, half_width * outer]);
        let of = |(conduction, ends): (f64, [f64; 2])| Direction::of(conduction, ends);
        let kept =
            before.map(|before| before.along_axis).filter(|axis| (axis.conduction, axis.ends) == axial);
        let along_axis = kept.unwrap_or_else(|| of(axial));
        let kept = before.map(|before| before.along_radius).filter(|radius| radius.serves(radial));
        let along_radius = kept.unwrap_or_else(|| of(radial));
        let radial_change = [0, 1].map(|end| radial.1[end] - along_radius.ends[end]);
        let inverse =
            Matrix::from_fn(|row, column| 1.0 / (along_axis.values[row] + along_radius.values[column]));
        let radial = std::array::from_fn(|row| {
            RadialProducts::of(&along_radius, &inverse.row(row).transpose(), radial_change)
        });
        SolvedSection { along_axis, along_radius, radial_change, inverse, radial }
    }
}

impl Direction {
    fn of(conduction: f64, ends: [f64; 2]) -> Self {
        let (low, high) = edge_values();
        let solved = symmetric_eigen(&stiffness(conduction, ends[0], ends[1]));
        let vectors = Matrix::from_fn(|row, column| solved.vectors[row][column]);
        Self {
            conduction,
            ends,
            values: solved.values.into(),
            vectors,
            constant: vectors.row(0).transpose(),
            low: vectors.tr_mul(&low),
            high: vectors.tr_mul(&high),
        }
    }

    /// Whether this cooling of the ends can be reached from the present one by a change of rank two without losing
    /// digits.
    fn serves(&self, (conduction, ends): (f64, [f64; 2])) -> bool {
        const MOST: f64 = 8.0;
        let is_near = |(here, there): (&f64, &f64)| {
            here == there || (*here > 0.0 && (1.0 / MOST..MOST).contains(&(there / here)))
        };
        conduction == self.conduction && self.ends.iter().zip(&ends).all(is_near)
    }
}

impl SolvedSection {
    /// The functionals that give the mean over the section and over each side. Each is a factor, a trace in the axial
    /// direction, and the number of a trace of the radial direction in [`RadialProducts::traces`]: for the section the
    /// constant polynomial, ½ on the reference square; for a side 1/√2 along it and the value at the edge across it.
    /// The same functionals describe the loads, so the response of one to the load of another is symmetric.
    fn traces(&self) -> [(f64, &Vector, usize); LOADS] {
        let x = &self.along_axis;
        let side = std::f64::consts::FRAC_1_SQRT_2;
        [
            (0.5, &x.constant, 0),
            (side, &x.constant, 2),
            (side, &x.constant, 1),
            (side, &x.low, 0),
            (side, &x.high, 0),
        ]
    }

    /// The means due to each load.
    pub(crate) fn responses(&self) -> Responses {
        let traces = self.traces();
        let mut under = [[0.0; LOADS]; LOADS];
        for i in 0..LOADS {
            for j in i..LOADS {
                let ((factor, x, y), (other, other_x, other_y)) = (traces[i], traces[j]);
                let sum: f64 =
                    (0..TERMS).map(|row| x[row] * other_x[row] * self.radial[row].traces[y][other_y]).sum();
                under[i][j] = factor * other * sum;
                under[j][i] = under[i][j];
            }
        }
        // Heat drawn out counts as negative.
        let load = |load: usize, trace: usize| if load == 0 { under[trace][0] } else { -under[trace][load] };
        Responses {
            mean_kelvin: std::array::from_fn(|i| load(i, 0)),
            side_kelvin: std::array::from_fn(|i| std::array::from_fn(|side| load(i, side + 1))),
        }
    }

    /// The profile under the given amount of each load.
    pub(crate) fn profile(&self, amounts: &[f64; LOADS]) -> Profile {
        let radius = &self.along_radius;
        let radial = [&radius.constant, &radius.low, &radius.high];
        let mut load = Matrix::zeros();
        for (index, ((factor, x, y), amount)) in self.traces().into_iter().zip(amounts).enumerate() {
            let sign = if index == 0 { 1.0 } else { -1.0 };
            if *amount != 0.0 {
                load += (x * (sign * factor * amount)) * radial[y].transpose();
            }
        }
        let mut modes = load.component_mul(&self.inverse);
        if self.radial_change != [0.0; 2] {
            for (row, products) in self.radial.iter().enumerate() {
                let before = modes.row(row).transpose();
                let at_ends = [radius.low.dot(&before), radius.high.dot(&before)];
                let [low, high] =
                    [0, 1].map(|end| (0..2).map(|i| products.correction[end][i] * at_ends[i]).sum::<f64>());
                let drawn =
                    (radius.low * low + radius.high * high).component_mul(&self.inverse.row(row).transpose());
                modes.set_row(row, &(before - drawn).transpose());
            }
        }
        Profile::of(self.along_axis.vectors * modes * radius.vectors.transpose())
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

    /// The hottest place in the section, to 1.2e-3 of the rise inside it if the sides are held cold; otherwise more
    /// accurate.
    pub(crate) fn hottest_kelvin(&self) -> f64 {
        const PLACES: usize = 33;
        static VALUES: LazyLock<[Vector; PLACES]> = LazyLock::new(|| {
            std::array::from_fn(|index| legendre(2.0 * index as f64 / (PLACES - 1) as f64 - 1.0))
        });
        let values = &*VALUES;
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
    static HIGH: LazyLock<Vector> = LazyLock::new(|| Vector::from_fn(|n, _| (n as f64 + 0.5).sqrt()));
    let high = *HIGH;
    (high.map_with_location(|n, _, value| if n % 2 == 0 { value } else { -value }), high)
}

/// conduction · ∫ φ_m' φ_n' dx + low · φ_m(−1) φ_n(−1) + high · φ_m(1) φ_n(1).
///
/// ∫ P_m' P_n' dx = l (l + 1) with l the smaller order where m + n is even, 0 where it is odd.
fn stiffness(conduction: f64, low: f64, high: f64) -> [[f64; TERMS]; TERMS] {
    let (at_low, at_high) = edge_values();
    let of = |m: usize, n: usize| {
        let order = m.min(n) as f64;
        let slopes =
            if (m + n).is_multiple_of(2) { order * (order + 1.0) * at_high[m] * at_high[n] } else { 0.0 };
        conduction * slopes + low * at_low[m] * at_low[n] + high * at_high[m] * at_high[n]
    };
    std::array::from_fn(|m| std::array::from_fn(|n| of(m, n)))
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

    fn only(load: usize, amount: f64) -> [f64; LOADS] {
        std::array::from_fn(|i| if i == load { amount } else { 0.0 })
    }

    /// The heat that gives a mean temperature, and the profile.
    fn with_mean(section: &CooledSection, mean_kelvin: f64) -> (f64, Profile) {
        let solved = section.solve();
        let watt_per_m = mean_kelvin / solved.responses().mean_kelvin[0];
        (watt_per_m, solved.profile(&[watt_per_m, 0.0, 0.0, 0.0, 0.0]))
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
        let drawn = section.solve().profile(&only(3, 5.0));
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
        assert_relative_eq!(leaving(&solved.profile(&only(0, 1.0))), 1.0, max_relative = 1e-12);
        for side in 1..LOADS {
            assert_relative_eq!(leaving(&solved.profile(&only(side, 1.0))), -1.0, max_relative = 1e-12);
        }
        let both = solved.profile(&[1.0, 1.0, 0.0, 0.0, 0.0]);
        assert!(leaving(&both).abs() < 1e-12);
    }

    #[test]
    fn responses_are_the_means_of_the_profiles() {
        let section = CooledSection {
            width_m: 0.021,
            depth_m: 0.0085,
            conductivity_watt_per_m_kelvin: 0.11,
            side_watt_per_m2_kelvin: [11.0, 7.0, 60.0, 3.0],
        };
        let solved = section.solve();
        let responses = solved.responses();
        for load in 0..LOADS {
            let profile = solved.profile(&only(load, 1.0));
            let scale = profile.mean_kelvin.abs();
            assert!((responses.mean_kelvin[load] - profile.mean_kelvin).abs() < 1e-12 * scale);
            for side in 0..4 {
                let (one, other) = (responses.side_kelvin[load][side], profile.side_kelvin[side]);
                assert!((one - other).abs() < 1e-12 * scale, "{load}, {side}: {one} {other}");
            }
        }
    }

    #[test]
    fn a_section_solved_after_another_is_the_same_to_rounding() {
        let cooled =
            [[3.0, 4.0, 5.0, 6.0], [0.0, 7.0, 0.0, 0.0], [11.0, 7.0, 60.0, 3.0], [1e4, 1e3, 2.0, 0.5]];
        let mut worst = 0f64;
        for side in cooled {
            let mut section = slab(0.02, 0.11, side);
            let first = section.solve();
            let mut before = first;
            // On every side: factors just below and just above the switch, at eight times and at an eighth of the
            // cooling.
            let by_side = (0..4).flat_map(|side| [0.12, 8.1, 0.126, 7.9].map(|factor| (side, factor)));
            let others = [1.1, 0.9, 1.3, 0.4, 5.0, 1e3, 1e-4, 2.0, 1.0, 7.9];
            for (side, factor) in by_side.chain((0..4).cycle().zip(others)) {
                section.side_watt_per_m2_kelvin[side] *= factor;
                let anew = section.solve();
                let scale = anew.responses().mean_kelvin[0];
                let mut compare = |one: f64, other: f64| worst = worst.max((one - other).abs() / scale);
                for after in [section.solve_after(Some(&first)), section.solve_after(Some(&before))] {
                    let (wanted, got) = (anew.responses(), after.responses());
                    for load in 0..LOADS {
                        compare(wanted.mean_kelvin[load], got.mean_kelvin[load]);
                        for side in 0..4 {
                            compare(wanted.side_kelvin[load][side], got.side_kelvin[load][side]);
                        }
                    }
                    let amounts = [3.0, -1.0, 0.5, 2.0, -0.25];
                    let (wanted, got) = (anew.profile(&amounts), after.profile(&amounts));
                    wanted.coefficients.iter().zip(&got.coefficients).for_each(|(a, b)| compare(*a, *b));
                    before = after;
                }
            }
        }
        // Eigenvalues are good to rounding of the largest, beside which the smallest is small here. The surfaces' temperatures are
        // sought to 1e-9.
        assert!(worst < 1e-10, "{worst:e}");
    }
}
