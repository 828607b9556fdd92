//! The field of one winding at many points, each by the cheapest method that meets the tolerance.

use super::azimuth::{AzimuthChoice, AzimuthOrder, Corners, winding_field};
use super::filament::AxialPoints;
use super::section::{OrderChoice, ProductOrder, Section};
use crate::constants::MU_0;
use crate::numeric::lanes::InstructionSet;
use std::f64::consts::TAU;

/// One azimuth node takes about as long as this many loops.
const LOOPS_A_NODE: usize = 3;

/// One winding about its own centre and axis, ready for any number of points.
#[derive(Clone, Debug)]
pub(super) struct WindingField {
    section: Section,
    ampere_turns: f64,
    corners: Corners,
    choice: OrderChoice,
    azimuth: AzimuthChoice,
    tolerance: f64,
    /// Largest ratio of the fields of a winding's parts to their sum outside it: beside a long winding they nearly
    /// cancel.
    cancelling: f64,
    set: InstructionSet,
}

/// The field at one point about the axis, and its estimated error.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct AxialField {
    pub b_rho_tesla: f64,
    pub b_zeta_tesla: f64,
    /// Estimated error, T.
    pub error_tesla: f64,
}

/// The method for one point.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Method {
    /// A Gauss product of loops.
    Product(ProductOrder),
    /// Closed form in the section, quadrature over the azimuth.
    Azimuth,
    /// On a filament: infinite along the axis.
    OnFilament,
}

impl Method {
    /// A number different for each method.
    fn rank(self) -> u8 {
        match self {
            Self::Product(rule) => rule.rank(),
            Self::Azimuth => u8::MAX - 1,
            Self::OnFilament => u8::MAX,
        }
    }
}

/// The indices of a list of methods, equal ones together and each in rising order: a counting sort.
fn sorted_by_rank(methods: &[Method]) -> Vec<u32> {
    let mut next = [0_u32; u8::MAX as usize + 1];
    for method in methods {
        next[usize::from(method.rank())] += 1;
    }
    let mut start = 0;
    for place in &mut next {
        (*place, start) = (start, start + *place);
    }
    let mut order = vec![0; methods.len()];
    for (method, index) in methods.iter().zip(0..) {
        let place = &mut next[usize::from(method.rank())];
        order[*place as usize] = index;
        *place += 1;
    }
    order
}

impl WindingField {
    /// `ampere_turns` is turns times current, signed.
    pub(super) fn new(section: Section, ampere_turns: f64, tolerance: f64, set: InstructionSet) -> Self {
        let (half_depth, area) = (0.5 * section.depth_m, section.width_m * section.depth_m);
        let corners = Corners {
            radius_m: [section.mean_radius_m - half_depth, section.mean_radius_m + half_depth],
            half_width_m: 0.5 * section.width_m,
            front_tesla_per_m: MU_0 * ampere_turns / (TAU * area),
        };
        // The flux that leaves the ends returns over a cross section that grows as the square of the length.
        let cancelling = (section.width_m / section.mean_radius_m).powi(2).max(1.0);
        let choice = OrderChoice::new(section, tolerance / cancelling);
        let azimuth = AzimuthChoice::new(&corners, tolerance / cancelling);
        Self { section, ampere_turns, corners, choice, azimuth, tolerance, cancelling, set }
    }

    /// The fields at the given finite (ρ, ζ), in their order. Errors are zero unless `with_error`.
    pub(super) fn at(&self, points: &[(f64, f64)], with_error: bool) -> Vec<AxialField> {
        let mut fields = vec![AxialField::default(); points.len()];
        if self.ampere_turns == 0.0 {
            return fields;
        }
        let methods: Vec<Method> = points.iter().map(|&(rho, zeta)| self.method(rho, zeta)).collect();
        let order = sorted_by_rank(&methods);
        let mut batch = AxialPoints::default();
        for run in order.chunk_by(|&one, &other| methods[one as usize] == methods[other as usize]) {
            let method = methods[run[0] as usize];
            match method {
                Method::Product(rule) => self.add_product(rule, run, points, &mut batch, &mut fields),
                method => {
                    for &index in run {
                        let (rho, zeta) = points[index as usize];
                        fields[index as usize] = self.special(method, rho, zeta);
                    }
                }
            }
            if with_error {
                for &index in run {
                    let (rho, zeta) = points[index as usize];
                    let field = &mut fields[index as usize];
                    field.error_tesla = self.error(method, rho, zeta, field);
                }
            }
        }
        fields
    }

    fn add_product(
        &self,
        rule: ProductOrder,
        run: &[u32],
        points: &[(f64, f64)],
        batch: &mut AxialPoints,
        fields: &mut [AxialField],
    ) {
        batch.clear();
        for &index in run {
            let (rho, zeta) = points[index as usize];
            // By mirror symmetry only ζ ≥ 0 is computed.
            batch.push(rho, zeta.abs());
        }
        batch.pad();
        batch.add(&self.choice.filaments(rule, self.ampere_turns), self.set);
        for (&index, (&b_rho, &b_zeta)) in run.iter().zip(batch.b_rho_tesla.iter().zip(&batch.b_zeta_tesla)) {
            let b_rho = if points[index as usize].1 < 0.0 { -b_rho } else { b_rho };
            fields[index as usize] =
                AxialField { b_rho_tesla: b_rho, b_zeta_tesla: b_zeta, error_tesla: 0.0 };
        }
    }

    fn special(&self, method: Method, rho: f64, zeta: f64) -> AxialField {
        let (b_rho_tesla, b_zeta_tesla) = match method {
            Method::Azimuth => winding_field(&self.corners, rho, zeta, self.azimuth(rho, zeta), self.set),
            Method::OnFilament => (0.0, f64::INFINITY * self.ampere_turns),
            Method::Product(_) => (0.0, 0.0),
        };
        AxialField { b_rho_tesla, b_zeta_tesla, error_tesla: 0.0 }
    }

    fn method(&self, rho: f64, zeta: f64) -> Method {
        let without_area = self.section.width_m == 0.0 && self.section.depth_m == 0.0;
        if without_area && rho == self.section.mean_radius_m && zeta == 0.0 {
            return Method::OnFilament;
        }
        let Some(rule) = self.choice.at(rho, zeta) else { return Method::Azimuth };
        let is_cheaper = || rule.loops() <= LOOPS_A_NODE * self.azimuth(rho, zeta).nodes();
        // Close to the winding, the field is about that of a straight conductor, μ0 J · area/(2π distance).
        let off = rho - self.section.mean_radius_m;
        let distance = (off * off + zeta * zeta).sqrt();
        let field = self.section.width_m * self.section.depth_m / distance;
        if self.rounding_of_azimuth(rho, zeta) > self.tolerance * field || is_cheaper() {
            Method::Product(rule)
        } else {
            Method::Azimuth
        }
    }

    /// Rounding error of the azimuth integral over μ0 J/2π: its terms are as large as the greatest length in it.
    fn rounding_of_azimuth(&self, rho: f64, zeta: f64) -> f64 {
        2e-15 * (rho + self.corners.radius_m[1] + zeta.abs() + self.corners.half_width_m)
    }

    fn azimuth(&self, rho: f64, zeta: f64) -> AzimuthOrder {
        self.azimuth.at(rho, self.distance_from_boundary(rho, zeta))
    }

    /// Distance of a point, outside or inside, from the section's boundary.
    fn distance_from_boundary(&self, rho: f64, zeta: f64) -> f64 {
        let beyond_radius = (rho - self.section.mean_radius_m).abs() - 0.5 * self.section.depth_m;
        let beyond_height = zeta.abs() - self.corners.half_width_m;
        if beyond_radius < 0.0 && beyond_height < 0.0 {
            -beyond_radius.max(beyond_height)
        } else {
            let (across, along) = (beyond_radius.max(0.0), beyond_height.max(0.0));
            (across * across + along * along).sqrt()
        }
    }

    /// Estimated error of a computed field: truncation and rounding.
    fn error(&self, method: Method, rho: f64, zeta: f64, field: &AxialField) -> f64 {
        let size = field.b_rho_tesla.hypot(field.b_zeta_tesla);
        match method {
            Method::Product(rule) => {
                size * self.cancelling * (self.choice.error_bound(rule, rho, zeta) + 4e-15)
            }
            Method::Azimuth => {
                let order = self.azimuth(rho, zeta);
                let shorter = self.section.width_m.min(self.section.depth_m);
                let left_out =
                    if order.is_on_boundary() { 0.2 * self.tolerance * TAU * shorter } else { 0.0 };
                let rounding = self.rounding_of_azimuth(rho, zeta);
                order.truncation() * self.cancelling * size
                    + (left_out + rounding) * self.corners.front_tesla_per_m.abs()
            }
            _ => 0.0,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Group, section, (ρ, ζ), and the field over μ0 N I.
    type Row = (&'static str, Section, (f64, f64), (f64, f64));

    /// Source: tests/data/winding_field_random.csv, made in 34-digit
    /// arithmetic by tests/data/make_field_tables.py.
    fn table() -> Vec<Row> {
        let rows = include_str!(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/data/winding_field_random.csv"))
            .lines()
            .skip(2);
        rows.map(|line| {
            let (group, rest) = line.split_once(',').unwrap();
            let cells: Vec<f64> = rest.split(',').map(|cell| cell.parse().unwrap()).collect();
            let section = Section { mean_radius_m: cells[0], width_m: cells[1], depth_m: cells[2] };
            (group, section, (cells[3], cells[4]), (cells[5], cells[6]))
        })
        .collect()
    }

    /// S of one winding over μ0 N I: |B|, and inside min(width, depth) times the current density.
    fn scale(section: &Section, (rho, zeta): (f64, f64), (radial, axial): (f64, f64)) -> f64 {
        let inside = (rho - section.mean_radius_m).abs() <= 0.5 * section.depth_m
            && zeta.abs() <= 0.5 * section.width_m;
        let own = if inside { 1.0 / section.width_m.max(section.depth_m) } else { 0.0 };
        radial.hypot(axial) + own
    }

    #[test]
    fn beside_a_long_winding_a_loose_tolerance_is_kept_too_and_the_estimate_holds() {
        let cases = [
            ((2.0, 0.1), (1.05, 0.0)),
            ((5.0, 0.1), (1.05, 0.0)),
            ((12.0, 0.05), (1.0251, 1.0)),
            ((67.1181, 0.403446), (1.201_723_080_103_28, 0.640_651_278_396_149)),
            ((2.752, 0.1836), (1.907_678, 0.571_737)),
            ((85.73, 0.005_834), (2.294_977_858_59, 13.075_759_055_5)),
        ];
        for ((width_m, depth_m), point) in cases {
            let section = Section { mean_radius_m: 1.0, width_m, depth_m };
            let at = |tolerance| {
                WindingField::new(section, 1.0, tolerance, InstructionSet::Fastest).at(&[point], true)[0]
            };
            let exact = at(1e-12);
            let size = exact.b_rho_tesla.hypot(exact.b_zeta_tesla);
            for tolerance in [1e-2, 1e-3, 1e-4, 1e-6] {
                let got = at(tolerance);
                let error =
                    (got.b_rho_tesla - exact.b_rho_tesla).hypot(got.b_zeta_tesla - exact.b_zeta_tesla);
                assert!(error <= tolerance * size, "{width_m} {tolerance:e}: {:e}", error / size);
                assert!(error <= got.error_tesla, "{width_m} {tolerance:e}: {error:e} {:e}", got.error_tesla);
            }
        }
        // Source: mpmath, 30 digits: Biot–Savart with the height integrated in closed form, radius and azimuth by quadrature.
        for ((width_m, depth_m), point, wanted) in [
            ((67.1181, 0.403446), (1.25, 0.5), -8.407_158_697_436_557e-12),
            ((5.0, 0.1), (1.2, 0.5), -1.473_417_421_630_013e-8),
        ] {
            let section = Section { mean_radius_m: 1.0, width_m, depth_m };
            let got = WindingField::new(section, 1.0, 1e-12, InstructionSet::Fastest).at(&[point], true)[0];
            let error = (got.b_zeta_tesla - wanted).abs();
            assert!(error <= got.error_tesla && error < 1e-9 * wanted.abs(), "{width_m}: {error:e}");
        }
    }

    #[test]
    fn a_winding_agrees_with_the_34_digit_table_for_every_section_group_and_tolerance() {
        let rows = table();
        assert!(rows.len() > 600);
        let fastest =
            [1e-12, 1e-11, 1e-9, 1e-7, 1e-6, 1e-4].map(|tolerance| (tolerance, InstructionSet::Fastest));
        let others = [(1e-12, InstructionSet::Scalar), (1e-6, InstructionSet::Avx2)];
        for (tolerance, set) in fastest.into_iter().chain(others) {
            let mut used = std::collections::BTreeSet::new();
            for (group, section, point, wanted) in &rows {
                let field = WindingField::new(*section, 1.0, tolerance, set);
                let got = field.at(&[*point], true)[0];
                let scale = scale(section, *point, *wanted);
                let error =
                    (got.b_rho_tesla / MU_0 - wanted.0).hypot(got.b_zeta_tesla / MU_0 - wanted.1) / scale;
                let estimate = got.error_tesla / MU_0 / scale;
                let method = field.method(point.0, point.1);
                let what = format!("{tolerance:e} {set:?} {group} {section:?} {point:?} {method:?}");
                assert!(error <= tolerance, "{what}: error {error:e}");
                assert!(error <= estimate, "{what}: error {error:e}, estimate {estimate:e}");
                assert!(estimate <= 3.0 * tolerance, "{what}: estimate {estimate:e}");
                used.insert((*group, method == Method::Azimuth));
            }
            assert!(used.contains(&("near", true)) && used.contains(&("near", false)), "{used:?}");
        }
    }
}
