//! The best spacing for a section and a beam.
//!
//! Three spacings, and their gain over the textbook's one mean radius.
//!
//! - The spacing that cancels the second-order term at the centre for the real section: Maxwell's
//!   d/a ≈ 1 + 3 b²/(10 a²) − 31 c²/(120 a²), b the width and c the depth, which is one mean radius for
//!   c/b = √(36/31) (after J. C. Maxwell, *A Treatise on Electricity and Magnetism*, art. 713; re-derived, not read).
//! - The spacing that makes the worst deviation over the beam smallest: a small second-order term of the opposite sign
//!   balances the fourth order. In the beam plane the second order is −1/2 of the coefficient of z², times ρ², and the
//!   fourth is −(54/125) ρ⁴/a⁴, so the balance needs a spacing a little *narrower* than the first.
//! - The same along the axis, where the fourth order falls as −(144/125) z⁴/a⁴ and the balance needs a *wider* spacing
//!   (after R. K. Cacak and J. R. Craig, Rev. Sci. Instrum. 40, 1468 (1969)).
//!
//! All three are computed from the exact series, not from these expansions.

use super::field::{PairSeries, SampledRegion, Section};
use crate::Result;
use crate::numeric::roots::{brent_minimum, brent_root};
use crate::pair::Bench;
use serde::Serialize;

/// Spacings worth building, and the worst deviation over the beam at each. All but the first are `None` if the spec
/// states no beam.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Spacings {
    /// The spacing at which the second-order term of the real section vanishes at the centre.
    pub spacing_second_order_m: f64,
    /// The spacing at which the worst deviation over the beam is smallest.
    pub spacing_beam_optimum_m: Option<f64>,
    /// The spacing at which the worst deviation along the axis is smallest, up to the beam's largest distance from the
    /// centre.
    pub spacing_axis_optimum_m: Option<f64>,
    /// Worst deviation over the beam at the spec's own spacing, for the symmetric pair as designed.
    pub worst_beam_deviation: Option<f64>,
    /// Worst deviation over the beam at a spacing of one mean radius.
    pub worst_beam_deviation_at_one_radius: Option<f64>,
    /// Worst deviation over the beam at [`spacing_second_order_m`](Self::spacing_second_order_m).
    pub worst_beam_deviation_at_second_order: Option<f64>,
    /// Worst deviation over the beam at [`spacing_beam_optimum_m`](Self::spacing_beam_optimum_m).
    pub worst_beam_deviation_at_beam_optimum: Option<f64>,
}

/// Relative accuracy of the field series.
const SERIES_TOLERANCE: f64 = 1e-11;
/// Spacings searched, over the mean radius.
const SEARCHED: [f64; 2] = [0.7, 1.6];

/// The spacings for the designed section and the spec's tube.
///
/// # Errors
/// No spacing between 0.7 and 1.6 mean radii cancels the second order; a section as wide as the radius is an example.
pub(crate) fn spacings(bench: &Bench) -> Result<Spacings> {
    let winding = &bench.winding;
    let section =
        Section { mean_radius_m: winding.mean_radius_m, width_m: winding.width_m, depth_m: winding.depth_m };
    let region = bench.tube_with_beam().ok().and_then(|tube| SampledRegion::of_beam(&tube));
    let worst_at = |spacing_m| worst_deviation(&section, spacing_m, region.as_ref()?);
    let second_order = second_order_spacing_m(&section)?;
    let optimum = region.as_ref().and_then(|region| optimum_spacing_m(&section, region));
    Ok(Spacings {
        spacing_second_order_m: second_order,
        spacing_beam_optimum_m: optimum,
        spacing_axis_optimum_m: region
            .as_ref()
            .and_then(|region| optimum_spacing_m(&section, &SampledRegion::on_axis(region.reach_m()))),
        worst_beam_deviation: worst_at(bench.spacing_m),
        worst_beam_deviation_at_one_radius: worst_at(section.mean_radius_m),
        worst_beam_deviation_at_second_order: worst_at(second_order),
        worst_beam_deviation_at_beam_optimum: optimum.and_then(worst_at),
    })
}

/// The spacing at which the coefficient of z² at the centre vanishes for this section.
pub(crate) fn second_order_spacing_m(section: &Section) -> Result<f64> {
    let radius = section.mean_radius_m;
    let curvature = |spacing_m: f64| {
        // Only the term in z² is needed, so a small reach and a short series suffice.
        PairSeries::of(section, spacing_m, 0.01 * radius, SERIES_TOLERANCE)
            .map_or(f64::NAN, |series| series.relative_term(1))
    };
    let low = (SEARCHED[0] * radius).max(section.width_m);
    brent_root(curvature, low, SEARCHED[1] * radius, 1e-13 * radius)
        .place("the spacing that cancels the second-order term")
}

/// The spacing at which the worst deviation over the region is smallest; `None` if at every spacing a winding is too
/// near to it.
///
/// Scans 0.7 to 1.6 mean radii in steps of 1/40 and refines the lowest by Brent's method, to 1e-6 of the radius.
pub(crate) fn optimum_spacing_m(section: &Section, region: &SampledRegion) -> Option<f64> {
    let radius = section.mean_radius_m;
    let size = |spacing_m: f64| worst_deviation(section, spacing_m, region).map_or(f64::INFINITY, f64::abs);
    let step = radius / 40.0;
    let first = (SEARCHED[0] * radius).max(section.width_m);
    let steps = ((SEARCHED[1] * radius - first) / step).floor().max(0.0) as usize;
    let lowest = (0..=steps)
        .map(|i| first + step * i as f64)
        .map(|spacing_m| (spacing_m, size(spacing_m)))
        .filter(|(_, worst)| worst.is_finite())
        .min_by(|a, b| a.1.total_cmp(&b.1))?;
    let refined = brent_minimum(size, (lowest.0 - step).max(first), lowest.0 + step, 1e-6 * radius);
    Some(if refined.value <= lowest.1 { refined.at } else { lowest.0 })
}

/// The deviation of largest size over the region, with its sign; `None` if a winding is too near.
pub fn worst_deviation(section: &Section, spacing_m: f64, region: &SampledRegion) -> Option<f64> {
    let series = PairSeries::of(section, spacing_m, region.reach_m(), SERIES_TOLERANCE)?;
    Some(region.worst_deviation(&series))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pair::{StatedTube, Tube};
    use approx::assert_relative_eq;
    use nalgebra::Vector3;

    fn section(width_m: f64, depth_m: f64) -> Section {
        Section { mean_radius_m: 1.0, width_m, depth_m }
    }

    #[test]
    fn the_second_order_vanishes_where_the_exact_optimum_is() {
        // Source: root of the exactly integrated second derivative (mpmath), sections over the mean radius.
        for (width, depth, wanted) in [
            (0.1, 0.1, 1.000_431_265_640_58),
            (0.1, 0.092_796_072_713_833_7, 1.000_788_096_205_66),
            (0.1, 0.107_763_181_216_065, 1.000_016_855_425_66),
            (0.2, 0.1, 1.009_475_784_212_02),
            (0.1, 0.2, 0.992_718_641_390_913),
        ] {
            let found = second_order_spacing_m(&section(width, depth)).unwrap();
            assert!((found - wanted).abs() < 1e-11, "{width} x {depth}: {found} for {wanted}");
        }
    }

    #[test]
    fn a_small_section_of_maxwells_ratio_wants_a_spacing_of_one_radius() {
        // Maxwell's √(36/31): the remainder is of fourth order in the section.
        let width = 0.02;
        let found = second_order_spacing_m(&section(width, width * (36.0f64 / 31.0).sqrt())).unwrap();
        assert!((found - 1.0).abs() < 0.2 * width.powi(4), "{found}");
        let thread = second_order_spacing_m(&section(1e-6, 1e-6)).unwrap();
        assert!((thread - 1.0).abs() < 1e-11, "{thread}");
    }

    #[test]
    fn thin_pairs_hold_a_limit_longest_at_the_spacings_of_cacak_and_craig() {
        // The setting of Cacak and Craig (1969), abstract read; values computed with scipy on a grid of 1e-4:
        // limit, half-length at one radius, best spacing, half-length there.
        for (limit, at_one, spacing, half_length) in [
            (1e-4, 0.096_78, 1.0112, 0.150_71),
            (1e-3, 0.173_08, 1.0358, 0.271_53),
            (5e-3, 0.261_60, 1.0813, 0.415_28),
            (1e-2, 0.313_75, 1.1163, 0.502_35),
            (2e-2, 0.377_86, 1.1670, 0.612_00),
        ] {
            let thread = section(1e-6, 1e-6);
            let worst = worst_deviation(&thread, 1.0, &SampledRegion::on_axis(at_one)).unwrap();
            assert_relative_eq!(worst.abs(), limit, max_relative = 5e-4);
            let region = SampledRegion::on_axis(half_length);
            let found = optimum_spacing_m(&thread, &region).unwrap();
            assert!((found - spacing).abs() < 1.5e-4, "{limit}: {found} for {spacing}");
            // The table's spacing lies within half a grid step of the optimum, and a change of spacing by d changes
            // the deviation at z by about (48/25) d z² (the second order of the ideal pair).
            let worst = worst_deviation(&thread, found, &region).unwrap().abs();
            assert!((worst - limit).abs() < 1.92 * 0.6e-4 * half_length.powi(2), "{limit}: {worst}");
        }
    }

    fn bench_with_beam() -> Bench {
        let mut bench = Bench::thin_pair();
        bench.winding.width_m = 0.02;
        bench.winding.depth_m = 0.01;
        bench.tube = Some(StatedTube::from(Tube {
            bulb_radius_m: Some(0.07),
            bulb_centre_m: Vector3::zeros(),
            gun_exit_m: Vector3::new(0.045, 0.0, 0.0),
            gun_direction: Vector3::y_axis(),
            gun_voltage_volt: None,
            gun_voltage_offset_volt: None,
            beam_radius_m: Some([0.02, 0.05]),
        }));
        bench
    }

    #[test]
    fn the_optimum_over_the_beam_is_narrower_than_second_order_and_no_neighbour_beats_it() {
        let found = spacings(&bench_with_beam()).unwrap();
        let optimum = found.spacing_beam_optimum_m.unwrap();
        assert!(optimum < found.spacing_second_order_m, "{optimum}");
        assert!(found.spacing_axis_optimum_m.unwrap() > found.spacing_second_order_m);
        let best = found.worst_beam_deviation_at_beam_optimum.unwrap().abs();
        assert!(best < 0.5 * found.worst_beam_deviation_at_one_radius.unwrap().abs());
        let bench = bench_with_beam();
        let region = SampledRegion::of_beam(&bench.tube_with_beam().unwrap()).unwrap();
        let section = Section { mean_radius_m: 0.15, width_m: 0.02, depth_m: 0.01 };
        for by in [-1e-4, 1e-4] {
            assert!(worst_deviation(&section, optimum + by, &region).unwrap().abs() > best);
        }
    }

    #[test]
    fn in_the_plane_of_an_ideal_pair_the_balance_is_where_its_two_lowest_orders_meet() {
        // Small circles: deviation −p ρ² − q ρ⁴, q = 54/125 and p = (48/25)/2 per unit of relative spacing beyond one
        // radius. Worst over 0..L is smallest where the interior extreme p²/(4q) equals |p L² + q L⁴|:
        // p = −2 (√2 − 1) q L².
        let reach = 0.05;
        let thread = section(1e-6, 1e-6);
        let region = SampledRegion::along((0.0, reach), |rho| (rho, 0.0));
        let found = optimum_spacing_m(&thread, &region).unwrap();
        let wanted = 1.0 - 2.0 * (2f64.sqrt() - 1.0) * (54.0 / 125.0) * reach * reach / 0.96;
        // 5e-6: the sixth order, smaller by reach squared, and the search's 1e-6.
        assert!((found - wanted).abs() < 5e-6, "{found} for {wanted}");
    }

    #[test]
    fn without_a_beam_only_the_second_order_is_told() {
        let found = spacings(&Bench::thin_pair()).unwrap();
        assert_relative_eq!(found.spacing_second_order_m, 0.15, max_relative = 1e-8);
        assert_eq!(found.spacing_beam_optimum_m, None);
    }
}
