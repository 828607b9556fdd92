//! The assembled pair: spacers and bolts, and how square and concentric the formers must stand, as lengths a workshop
//! can measure.

use super::former::FormerPlan;
use crate::Result;
use crate::pair::{Bench, BuildTolerance};
use crate::questions::tolerance::{Hold, Wish, worth_holding};
use crate::questions::words::notes::with_sentences;
use serde::Serialize;

/// The pair assembled with its spacers.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct AssemblyPlan {
    /// Distance between the coils' centre planes.
    pub spacing_m: f64,
    /// Limit of the error of the spacing.
    pub spacing_limit_m: f64,
    /// Length of the spacers as drawn. In the workshop they are cut to the spacing less the measured width of a former.
    pub spacer_length_m: f64,
    /// Outer diameter of the spacers.
    pub spacer_diameter_m: f64,
    /// Number of spacers.
    pub spacers: u32,
    /// Length of the bolts or threaded rods.
    pub bolt_length_m: f64,
    /// Distance between the outer faces of the two formers.
    pub overall_length_m: f64,
    /// Squareness: how much the distance between the rims may vary around them.
    pub squareness: RimTolerance,
    /// Concentricity: how far the coils' centres may lie apart across the axis.
    pub concentricity: RimTolerance,
    /// What is worth holding, most worthwhile first, as in `tolerance`.
    #[serde(serialize_with = "with_sentences")]
    pub hold: Vec<Hold>,
    /// Whether the spec states a build tolerance. If not, an ordinary one is assumed.
    pub tolerance_stated: bool,
}

/// A tolerance in the form in which a workshop measures it.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct RimTolerance {
    /// The limit, which one coil alone may reach: across the rim for squareness, from centre to centre for concentricity.
    pub limit_m: f64,
    /// What both coils may reach together. A pair between the limits keeps the tolerance if each coil does, which must then be
    /// measured of each.
    pub both_coils_m: f64,
    /// Diameter over which the limit is measured.
    pub over_diameter_m: f64,
    /// The limit of the build tolerance from which it follows, in radians or metres.
    pub from_limit: f64,
    /// Whether it is tighter than the spec states, because a wish needs it.
    pub tightened: bool,
}

/// A limit below this fraction of the stated one cannot be held; the drawing then keeps the stated one.
const HOPELESS: f64 = 0.05;
/// Outer diameter of a spacer, in thread diameters (common practice, no source).
const SPACER_OVER_THREAD: f64 = 2.0;
/// Length of bolt taken by washers and nuts at both ends, in thread diameters (common practice, no source).
const ENDS_OVER_THREAD: f64 = 4.0;

/// The tightest limit to which turns can be held: the leads come out anywhere within half a turn (common practice, no
/// source).
const LEAST_TURNS_LIMIT: f64 = 0.5;

/// What a wish needs to be held, and the tolerance that follows.
pub(super) struct Held {
    pub(super) hold: Vec<Hold>,
    /// The stated tolerance, or an ordinary one, tightened as far as the wish needs.
    pub(super) tolerance: BuildTolerance,
    /// Whether any limit is tighter than the stated tolerance, or than the ordinary one.
    pub(super) tightened: bool,
}

/// What a wish needs from the build of a bench.
pub(super) fn held(bench: &Bench, wish: Wish) -> Result<Held> {
    let stated = bench.tolerance_or_ordinary();
    let tolerated = Bench { build_tolerance: Some(stated), ..bench.clone() };
    let hold = worth_holding(&tolerated, wish)?;
    let limit_of = |name: &str, stated: f64| needed(&hold, name, stated);
    let tolerance = BuildTolerance {
        turns: limit_of("turns", stated.turns).max(LEAST_TURNS_LIMIT.min(stated.turns)),
        mean_radius_m: limit_of("mean radius", stated.mean_radius_m),
        width_m: limit_of("width", stated.width_m),
        depth_m: limit_of("depth", stated.depth_m),
        spacing_m: limit_of("spacing", stated.spacing_m),
        offset_m: limit_of("offset", stated.offset_m),
        tilt_rad: limit_of("tilt", stated.tilt_rad),
        ..stated
    };
    Ok(Held { hold, tolerance, tightened: tolerance != stated })
}

/// Plans the assembly of a bench's formers.
pub(super) fn assembly_plan(bench: &Bench, former: &FormerPlan, held: Held) -> AssemblyPlan {
    let stated = bench.tolerance_or_ordinary();
    let Held { hold, tolerance, .. } = held;
    let (tilt_rad, offset_m) = (tolerance.tilt_rad, tolerance.offset_m);
    let (difference, step) = (tolerance.rim_difference_m(former.flange_diameter_m), tolerance.rim_step_m());
    let thread_m = former.bolts.thread_m;
    let overall_length_m = bench.spacing_m + former.overall_width_m;
    AssemblyPlan {
        spacing_m: bench.spacing_m,
        spacing_limit_m: tolerance.spacing_m,
        spacer_length_m: (bench.spacing_m - former.overall_width_m).max(0.0),
        spacer_diameter_m: SPACER_OVER_THREAD * thread_m,
        spacers: former.bolts.holes.count,
        bolt_length_m: (200.0 * (overall_length_m + ENDS_OVER_THREAD * thread_m)).ceil() / 200.0,
        overall_length_m,
        squareness: RimTolerance {
            limit_m: difference.one_coil_m,
            both_coils_m: difference.both_coils_m,
            over_diameter_m: former.flange_diameter_m,
            from_limit: tilt_rad,
            tightened: tilt_rad < stated.tilt_rad,
        },
        concentricity: RimTolerance {
            limit_m: step.one_coil_m,
            both_coils_m: step.both_coils_m,
            over_diameter_m: former.flange_diameter_m,
            from_limit: offset_m,
            tightened: offset_m < stated.offset_m,
        },
        hold,
        tolerance_stated: bench.build_tolerance.is_some(),
    }
}

/// The tightest limit that any wish needs for an error of this name. The stated limit if no wish needs a tighter one,
/// or if the needed one cannot be held.
fn needed(hold: &[Hold], name: &str, stated: f64) -> f64 {
    let limits = hold.iter().filter(|hold| hold.name == name).map(|hold| hold.needed_limit);
    let tightest = limits.fold(stated, f64::min);
    if tightest < HOPELESS * stated { stated } else { tightest }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pair::{NotStated, Winding, Wire};
    use crate::questions::build::former::former_plan;
    use crate::questions::build::request::Request;
    use approx::assert_relative_eq;

    fn bench() -> Bench {
        let winding = Winding::new(0.16, 0.015, 0.010, 150.0, Wire::copper(0.9e-3, 0.989e-3));
        let mut bench = Bench::unchecked("Pair", winding, 0.16);
        bench.build_tolerance =
            Some(BuildTolerance { tilt_rad: 0.25f64.to_radians(), ..BuildTolerance::ORDINARY });
        bench
    }

    fn plan(bench: &Bench, wish: Wish) -> AssemblyPlan {
        let former = former_plan(bench, &Request::default()).unwrap();
        assembly_plan(bench, &former, held(bench, wish).unwrap())
    }

    #[test]
    fn tilts_of_both_coils_are_told_as_millimetres_over_the_rim() {
        let plan = plan(&bench(), Wish::default());
        // 0.25° over 368 mm is 1.606 mm, and two coils about two axes make 2√2 of it.
        assert_relative_eq!(plan.squareness.limit_m, 1.6057e-3, max_relative = 2e-4);
        assert_relative_eq!(plan.squareness.both_coils_m, 8f64.sqrt() * 1.6057e-3, max_relative = 2e-4);
        assert_relative_eq!(plan.spacer_length_m, 0.16 - 0.0255, max_relative = 1e-12);
        assert!(!plan.squareness.tightened && plan.tolerance_stated);
    }

    #[test]
    fn a_wish_tightens_what_is_worth_holding_and_nothing_else() {
        let wish = Wish { field_constant_within_fraction: Some(0.002), beam_deviation: None };
        let (free, wished) = (plan(&bench(), Wish::default()), plan(&bench(), wish));
        assert!(wished.spacing_limit_m < free.spacing_limit_m);
        assert_eq!(wished.squareness.limit_m, free.squareness.limit_m);
        assert!(
            wished.hold.iter().any(|hold| hold.name == "spacing" && hold.needed_limit < hold.stated_limit)
        );
    }

    #[test]
    fn without_a_tolerance_an_ordinary_one_is_drawn() {
        let mut bench = bench();
        bench.build_tolerance = None;
        let plan = plan(&bench, Wish::default());
        assert_eq!(plan.concentricity.limit_m, BuildTolerance::ORDINARY.offset_m);
        assert!(!plan.tolerance_stated);
    }
    #[test]
    fn a_limit_that_is_left_out_is_the_ordinary_one_and_a_stated_nought_stays() {
        let mut bench = bench();
        let left_out = NotStated { offset: true, width: true, ..NotStated::default() };
        bench.build_tolerance = Some(BuildTolerance {
            offset_m: 0.0,
            width_m: 0.0,
            depth_m: 0.0,
            not_stated: left_out,
            ..BuildTolerance::ORDINARY
        });
        let plan = plan(&bench, Wish::default());
        assert_eq!(plan.concentricity.limit_m, BuildTolerance::ORDINARY.offset_m);
        let taken = bench.tolerance_or_ordinary();
        assert_eq!((taken.width_m, taken.depth_m), (BuildTolerance::ORDINARY.width_m, 0.0));
        assert!(taken.not_stated.is_empty());
    }
}
