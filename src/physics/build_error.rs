//! The effect of each build error on the pair: the linear part of every uncertainty that comes from building.
//!
//! A build has 17 independent parameters: turns, mean radius, width, depth, offset (x and y) and tilt (about x and y)
//! of each coil, and the spacing of the pair. `build_tolerance` gives the limit of error of each. Coils in parallel
//! whose resistances are not measured have one parameter more, because the resistances decide how the current splits.
//! The effect of a parameter on any number that an [`Assembly`] gives is found by moving it a little up and a little
//! down, one parameter at a time (JCGM 100:2008, 5.1.3 and 5.1.4).

pub(crate) mod drawn;

use super::field::{Assembly, PreparedPair};
use crate::Result;
use crate::pair::circuit;
use crate::pair::{Bench, BuildTolerance, Coil, Connection, Distribution, MeasuredResistance, missing};
use nalgebra::Vector3;
use serde::{Deserialize, Serialize};

/// One dimension of the build that can be wrong.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum BuildParameter {
    /// Turns of one coil.
    Turns,
    /// Mean radius of one coil.
    MeanRadius,
    /// Width of one coil's section.
    Width,
    /// Depth of one coil's section.
    Depth,
    /// Displacement of one coil along x.
    OffsetX,
    /// Displacement of one coil along y.
    OffsetY,
    /// Tilt of one coil about x.
    TiltX,
    /// Tilt of one coil about y.
    TiltY,
    /// Spacing of the pair.
    Spacing,
    /// Difference of the coils' resistances over their mean, positive if coil a's is the larger.
    ResistanceDifference,
}

/// The geometry that building decides: the coils of a pair and their spacing.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct BuiltPair {
    pub coils: [Coil; 2],
    pub spacing_m: f64,
}

/// Limit of the difference between the resistances of two coils wound from one order of wire: a bare diameter within
/// ±1 % each (IEC 60317-0-1, conductor tolerance) changes a resistance by 2 %, over the mean of two.
const RESISTANCE_DIFFERENCE_LIMIT: f64 = 0.02;
/// A first difference smaller than this part of the quantity counts as zero, because it may be the field's own
/// numerical error. The step of a parameter that has an effect changes the quantity by 1e-9 or more.
const ERROR_OF_FIRST: f64 = 1e-11;
/// A second difference smaller than this part of the quantity counts as zero, because it may be rounding.
const ERROR_OF_SECOND: f64 = 1e-14;

/// Which coil of the pair.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum CoilName {
    /// The coil at negative z.
    A,
    /// The coil at positive z.
    B,
}

/// One independent build error and its effect on a quantity Q.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct BuildError {
    /// The parameter in error.
    pub parameter: BuildParameter,
    /// Its coil; `None` if it belongs to the pair.
    pub coil: Option<CoilName>,
    /// The unit of the parameter: `m`, `rad`, `turn` or `1`.
    pub unit: &'static str,
    /// The limit that the spec states, or the wire's standard for the resistances.
    pub limit: f64,
    /// The distribution that the limit describes.
    pub distribution: Distribution,
    /// Standard uncertainty of the parameter.
    pub standard_uncertainty: f64,
    /// dQ/dx, in the unit of Q per unit of the parameter.
    pub sensitivity: f64,
    /// d²Q/dx², in the unit of Q per squared unit of the parameter.
    pub curvature: f64,
}

impl BuildError {
    /// Standard uncertainty of Q from this error alone: √((c u)² + ½ (c' u²)²), c the sensitivity and c' the curvature.
    /// The second term matters if the first vanishes by symmetry, as for an offset across the axis (JCGM 100:2008,
    /// 5.1.2, note).
    pub fn contribution(&self) -> f64 {
        let u = self.standard_uncertainty;
        (self.sensitivity * u).hypot(self.curvature * u * u / 2f64.sqrt())
    }
}

impl BuildParameter {
    /// Every parameter, once for both coils.
    pub const ALL: [Self; 10] = [
        Self::Turns,
        Self::MeanRadius,
        Self::Width,
        Self::Depth,
        Self::OffsetX,
        Self::OffsetY,
        Self::TiltX,
        Self::TiltY,
        Self::Spacing,
        Self::ResistanceDifference,
    ];

    /// The independent parameters of a pair, each with the coil it belongs to: the 17 of its geometry, then, for coils
    /// in parallel without measured resistances, the difference of the resistances.
    pub fn of(bench: &Bench) -> Vec<(Self, Option<CoilName>)> {
        use BuildParameter::*;
        let of_a_coil = [Turns, MeanRadius, Width, Depth, OffsetX, OffsetY, TiltX, TiltY];
        let mut all: Vec<_> = [CoilName::A, CoilName::B]
            .iter()
            .flat_map(|coil| of_a_coil.iter().map(|parameter| (*parameter, Some(*coil))))
            .collect();
        all.push((Spacing, None));
        let measured = || bench.coils().iter().all(|coil| coil.resistance.is_some());
        if bench.connection == Connection::Parallel && !measured() {
            all.push((ResistanceDifference, None));
        }
        all
    }

    /// The limit of error of this parameter.
    pub fn limit(self, tolerance: &BuildTolerance) -> f64 {
        match self {
            Self::Turns => tolerance.turns,
            Self::MeanRadius => tolerance.mean_radius_m,
            Self::Width => tolerance.width_m,
            Self::Depth => tolerance.depth_m,
            Self::OffsetX | Self::OffsetY => tolerance.offset_m,
            Self::TiltX | Self::TiltY => tolerance.tilt_rad,
            Self::Spacing => tolerance.spacing_m,
            Self::ResistanceDifference => RESISTANCE_DIFFERENCE_LIMIT,
        }
    }

    /// The distribution that this limit describes.
    pub fn distribution(self, tolerance: &BuildTolerance) -> Distribution {
        match self {
            Self::ResistanceDifference => Distribution::Rectangular,
            _ => tolerance.distribution,
        }
    }

    /// The unit of the parameter.
    pub fn unit(self) -> &'static str {
        match self {
            Self::Turns => "turn",
            Self::TiltX | Self::TiltY => "rad",
            Self::ResistanceDifference => "1",
            _ => "m",
        }
    }

    /// The usual name of the parameter.
    pub fn name(self) -> &'static str {
        match self {
            Self::Turns => "turns",
            Self::MeanRadius => "mean radius",
            Self::Width => "width",
            Self::Depth => "depth",
            Self::OffsetX => "offset along x",
            Self::OffsetY => "offset along y",
            Self::TiltX => "tilt about x",
            Self::TiltY => "tilt about y",
            Self::Spacing => "spacing",
            Self::ResistanceDifference => "current split",
        }
    }

    /// The pair with this parameter moved by `by` (in [`unit`](Self::unit)s).
    pub fn displaced(self, bench: &Bench, coil: Option<CoilName>, by: f64) -> Bench {
        let mut displaced = bench.clone();
        displaced.set_coils(bench.coils());
        self.displace(&mut displaced, coil, by);
        displaced
    }

    /// Moves this parameter of a pair whose `as_built` is filled in; the spacing does not need it. Move the resistances
    /// last, since they depend on the turns and radii.
    pub(crate) fn displace(self, bench: &mut Bench, coil: Option<CoilName>, by: f64) {
        let mut pair = BuiltPair { coils: bench.coils(), spacing_m: bench.spacing_m };
        self.displace_pair(bench, &mut pair, coil, by);
        bench.spacing_m = pair.spacing_m;
        if self != Self::Spacing {
            bench.as_built = Some(pair.coils);
        }
    }

    /// Moves this parameter of a pair given as its coils and their spacing. Of the bench only the wire matters.
    pub(crate) fn displace_pair(self, bench: &Bench, pair: &mut BuiltPair, coil: Option<CoilName>, by: f64) {
        if self == Self::ResistanceDifference {
            for (coil, sign) in pair.coils.iter_mut().zip([0.5, -0.5]) {
                let ohm = circuit::coil_resistance_at_20_celsius_ohm(bench, coil);
                let ohm = ohm * (1.0 + sign * by);
                coil.resistance = Some(MeasuredResistance { ohm, at_celsius: 20.0 });
            }
            return;
        }
        let coil = &mut pair.coils[usize::from(coil == Some(CoilName::B))];
        match self {
            Self::Spacing => pair.spacing_m += by,
            Self::Turns => coil.turns += by,
            Self::MeanRadius => coil.mean_radius_m += by,
            Self::Width => coil.width_m += by,
            Self::Depth => coil.depth_m += by,
            Self::OffsetX => coil.offset_m.x += by,
            Self::OffsetY => coil.offset_m.y += by,
            Self::TiltX => coil.tilt_rad[0] += by,
            Self::TiltY => coil.tilt_rad[1] += by,
            Self::ResistanceDifference => {}
        }
    }

    /// The step of the central differences. It is small enough for the third derivative to be negligible (it enters as
    /// the square of step over mean radius, 1e-8) and large enough for rounding to be (1e-16 over 1e-4).
    pub(crate) fn step(self, bench: &Bench) -> f64 {
        const FRACTION: f64 = 1e-4;
        match self {
            Self::Turns => FRACTION * bench.winding.turns,
            Self::TiltX | Self::TiltY | Self::ResistanceDifference => FRACTION,
            // A step larger than a thread-thin section would turn it inside out.
            Self::Width => FRACTION * bench.winding.width_m,
            Self::Depth => FRACTION * bench.winding.depth_m,
            _ => FRACTION * bench.winding.mean_radius_m,
        }
    }
}

/// The build tolerance, or an error that says why it is needed.
pub fn build_tolerance(bench: &Bench) -> Result<BuildTolerance> {
    bench
        .build_tolerance
        .ok_or_else(|| missing("build_tolerance", "the uncertainty of the field constant comes from it"))
}

/// Every build error of the pair and its effect on `quantity`, which must be smooth in the geometry.
///
/// The bench gives the geometry to start from; `quantity` is a function of the assembly. The result has one entry for
/// each parameter, in the order of [`BuildParameter::of`]. A bench without `build_tolerance` is an error.
pub(crate) fn build_errors(bench: &Bench, quantity: impl Fn(&Assembly) -> f64) -> Result<Vec<BuildError>> {
    let tolerance = build_tolerance(bench)?;
    let [errors] = errors_of_each(bench, &tolerance, |pair| [quantity(pair.assembly())]);
    Ok(errors)
}

/// The same for several quantities of a pair, under any tolerance.
pub(crate) fn errors_of_each<const N: usize>(
    bench: &Bench,
    tolerance: &BuildTolerance,
    quantities: impl Fn(&PreparedPair) -> [f64; N],
) -> [Vec<BuildError>; N] {
    let of_bench = |bench: &Bench| quantities(&PreparedPair::of(bench));
    let start = of_bench(bench);
    let mut all = std::array::from_fn(|_| Vec::new());
    for error in BuildParameter::of(bench) {
        for (all, one) in all.iter_mut().zip(errors_of(bench, tolerance, error, &start, of_bench)) {
            all.push(one);
        }
    }
    all
}

/// One build error and its effect on several quantities: first and second derivative by central differences. `start`
/// holds the quantities without the error.
pub(crate) fn errors_of<const N: usize>(
    bench: &Bench,
    tolerance: &BuildTolerance,
    (parameter, coil): (BuildParameter, Option<CoilName>),
    start: &[f64; N],
    quantities: impl Fn(&Bench) -> [f64; N],
) -> [BuildError; N] {
    let step = parameter.step(bench);
    let [up, down] = [step, -step].map(|by| quantities(&parameter.displaced(bench, coil, by)));
    let (limit, distribution) = (parameter.limit(tolerance), parameter.distribution(tolerance));
    // The difference, or zero if it may be a numerical error.
    let beyond = |rounding: f64, i: usize, difference: f64| {
        if difference.abs() <= rounding * up[i].abs().max(down[i].abs()) { 0.0 } else { difference }
    };
    std::array::from_fn(|i| BuildError {
        parameter,
        coil,
        unit: parameter.unit(),
        limit,
        distribution,
        standard_uncertainty: distribution.standard_uncertainty(limit),
        sensitivity: beyond(ERROR_OF_FIRST, i, up[i] - down[i]) / (2.0 * step),
        curvature: beyond(ERROR_OF_SECOND, i, up[i] - 2.0 * start[i] + down[i]) / (step * step),
    })
}

/// The field constant of the pair: the coils' field along +z at the origin per ampere through the ammeter.
pub fn field_constant_tesla_per_ampere(assembly: &Assembly) -> f64 {
    assembly.field_once_per_ampere(&Vector3::zeros()).z
}

/// Every build error and its effect on the field constant, T/A per unit.
pub(crate) fn field_constant_errors(bench: &Bench) -> Result<Vec<BuildError>> {
    build_errors(bench, field_constant_tesla_per_ampere)
}

/// Standard uncertainty of the field constant from `build_tolerance`, or `None` if the spec states none.
///
/// u(k) = √Σ contribution², the errors independent of each other (JCGM 100:2008, equation 10).
pub fn field_constant_standard_uncertainty_tesla_per_ampere(bench: &Bench) -> Option<f64> {
    let errors = field_constant_errors(bench).ok()?;
    Some(combined(&errors))
}

/// The combined standard uncertainty of independent build errors: √Σ contribution².
pub fn combined(errors: &[BuildError]) -> f64 {
    errors.iter().map(|error| error.contribution().powi(2)).sum::<f64>().sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::constants::MU_0;
    use approx::assert_relative_eq;

    fn bench() -> Bench {
        let mut bench = Bench::thin_pair();
        bench.build_tolerance = Some(BuildTolerance {
            mean_radius_m: 0.5e-3,
            spacing_m: 0.4e-3,
            turns: 0.5,
            width_m: 0.0,
            depth_m: 0.0,
            offset_m: 0.5e-3,
            tilt_rad: 5e-3,
            distribution: Distribution::Rectangular,
            not_stated: crate::pair::NotStated::default(),
        });
        bench
    }

    fn of(errors: &[BuildError], parameter: BuildParameter) -> &BuildError {
        errors.iter().find(|error| error.parameter == parameter).unwrap()
    }

    #[test]
    fn sensitivities_of_a_thin_pair_are_those_of_its_closed_form() {
        // k = mu0 N R² / (R² + s²/4)^(3/2) for the pair; with s = R, one coil's share of d ln k / d ln x is
        // 1/2 for turns and −1/5 for the radius; the spacing's is −3/5. Source: on-axis field of a loop.
        let bench = bench();
        let errors = field_constant_errors(&bench).unwrap();
        assert_eq!(errors.len(), 17);
        let (radius, turns) = (bench.winding.mean_radius_m, bench.winding.turns);
        let k = 0.8f64.powf(1.5) * MU_0 * turns / radius;
        for (parameter, wanted) in [
            (BuildParameter::Turns, 0.5 * k / turns),
            (BuildParameter::MeanRadius, -0.2 * k / radius),
            (BuildParameter::Spacing, -0.6 * k / radius),
        ] {
            // 1e-6: the section is not infinitely thin, and the step is 1e-4 of the radius.
            assert_relative_eq!(of(&errors, parameter).sensitivity, wanted, max_relative = 1e-6);
        }
        for parameter in [BuildParameter::OffsetX, BuildParameter::TiltY] {
            assert!(of(&errors, parameter).sensitivity.abs() < 1e-9 * k);
        }
        assert!(of(&errors, BuildParameter::TiltY).contribution() > 1e-7 * k, "the curvature counts");
        // At the centre of such a pair the second derivative along the axis vanishes, and with it those across the
        // axis.
        assert!(of(&errors, BuildParameter::OffsetX).contribution() < 1e-8 * k);
    }

    #[test]
    fn a_tilted_loop_loses_field_as_its_second_derivative_says() {
        // Axial field of a dipole-like loop at distance s/2 on its tilted axis: B.z to second order in the tilt,
        // found independently by turning one coil through 1 degree.
        let bench = bench();
        let errors = field_constant_errors(&bench).unwrap();
        let tilt = of(&errors, BuildParameter::TiltX);
        let k = |by| {
            let displaced = BuildParameter::TiltX.displaced(&bench, Some(CoilName::A), by);
            field_constant_tesla_per_ampere(&Assembly::of(&displaced))
        };
        let angle = 1f64.to_radians();
        let change = k(angle) - k(0.0);
        // 1e-3: fourth order in the angle is 3e-4 of the second.
        assert_relative_eq!(0.5 * tilt.curvature * angle * angle, change, max_relative = 1e-3);
    }

    #[test]
    fn independent_errors_add_in_quadrature() {
        let bench = bench();
        let k = field_constant_tesla_per_ampere(&Assembly::of(&bench));
        let u = field_constant_standard_uncertainty_tesla_per_ampere(&bench).unwrap();
        let (radius, turns) = (bench.winding.mean_radius_m, bench.winding.turns);
        let relative = [
            0.5 * 0.5 / turns,
            0.5 * 0.5 / turns,
            0.2 * 0.5e-3 / radius,
            0.2 * 0.5e-3 / radius,
            0.6 * 0.4e-3 / radius,
        ];
        let wanted = k * relative.iter().map(|part| part * part / 3.0).sum::<f64>().sqrt();
        // 1e-4: offsets and tilts add their second order.
        assert_relative_eq!(u, wanted, max_relative = 1e-4);
    }

    #[test]
    fn without_a_build_tolerance_there_is_no_uncertainty_and_an_error_says_how_to_state_one() {
        let bench = Bench::thin_pair();
        assert_eq!(field_constant_standard_uncertainty_tesla_per_ampere(&bench), None);
        let error = field_constant_errors(&bench).unwrap_err();
        assert!(error.to_string().contains("`build_tolerance`"), "{error}");
        assert!(error.hint().unwrap().contains("mean_radius"));
    }

    #[test]
    fn unequal_coils_side_by_side_are_as_uncertain_as_their_resistances_unless_these_are_measured() {
        let mut bench = bench();
        bench.connection = Connection::Parallel;
        let mut coils = bench.coils();
        coils[1].turns *= 1.1;
        bench.as_built = Some(coils);
        let errors = field_constant_errors(&bench).unwrap();
        let split = errors.last().unwrap();
        assert_eq!((split.parameter.name(), errors.len()), ("current split", 18));
        // The shares are 1/2 ∓ d/4 and the fields about as 1 : 1.1, so d ln k/dd = (1.1 − 1)/(1.1 + 1)/2 to second
        // order in the turns.
        let k = field_constant_tesla_per_ampere(&Assembly::of(&bench));
        assert_relative_eq!(split.sensitivity / k, 0.1 / 2.1 / 2.0, max_relative = 0.01);
        assert_relative_eq!(split.standard_uncertainty, 0.02 / 3f64.sqrt(), max_relative = 1e-12);
        let without = combined(&errors[..17]);
        let all = field_constant_standard_uncertainty_tesla_per_ampere(&bench).unwrap();
        assert_relative_eq!(all, without.hypot(split.contribution()), max_relative = 1e-12);
        let ohms = bench.coils().map(|c| circuit::coil_resistance_at_20_celsius_ohm(&bench, &c));
        for (coil, ohm) in bench.as_built.as_mut().unwrap().iter_mut().zip(ohms) {
            coil.resistance = Some(MeasuredResistance { ohm, at_celsius: 20.0 });
        }
        assert_eq!(field_constant_errors(&bench).unwrap().len(), 17);
    }

    #[test]
    fn a_parallel_pair_shares_its_current_anew_when_one_radius_grows() {
        // A larger coil takes less current: its share falls as half the relative growth.
        let mut bench = bench();
        bench.connection = Connection::Parallel;
        let by = 1e-3 * bench.winding.mean_radius_m;
        let grown = BuildParameter::MeanRadius.displaced(&bench, Some(CoilName::A), by);
        let [a, b] = crate::pair::circuit::current_shares(&grown);
        assert_relative_eq!(a + b, 1.0, max_relative = 1e-15);
        assert_relative_eq!(a, 1.0 / 2.001, max_relative = 1e-12);
    }
}
