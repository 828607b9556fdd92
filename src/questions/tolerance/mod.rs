//! What must be held while building, and what follows if it is not?
//!
//! Each build error alone is moved to its limit to see its effect on the field constant and on the worst deviation over
//! the beam (linear, [`crate::physics::build_error`]). Then many whole pairs are drawn at random within the limits and
//! computed as built (JCGM 101:2008). If both agree, the linear part can be trusted for what is worth holding.

#[cfg(feature = "paper")]
pub mod files;
mod hold;
mod monte_carlo;
#[cfg(feature = "paper")]
pub mod picture;
mod sensitivity;
mod wish;
#[cfg(feature = "paper")]
pub mod words;
mod worst_deviation;

use crate::numeric::calendar::Day;
pub use hold::{Advice, Hold};
pub use monte_carlo::{Histogram, MonteCarlo, Share, Summary};
pub use sensitivity::Sensitivity;
pub use wish::Wish;

use crate::Result;
use crate::error::Refused;
use crate::pair::{Bench, Model, Provenance};
use crate::physics::build_error::drawn::Builder;
use crate::physics::build_error::{
    BuildError, BuiltPair, build_tolerance, combined, field_constant_errors, field_constant_tesla_per_ampere,
};
use crate::physics::field::{Assembly, Deviation, TOGETHER};
use crate::questions::uniformity;
use crate::questions::words::notes::{SourceNote, as_sentences, left_out, with_sentences};
use nalgebra::Vector3;
use serde::Serialize;
use worst_deviation::{BeamRegion, WorstDeviations};

/// The request.
#[derive(Clone, Debug, PartialEq)]
pub struct Request {
    /// The wish for the finished pair.
    pub wish: Wish,
    /// Number of pairs to build at random.
    pub builds: usize,
    /// The date to print, if any.
    pub date: Option<Day>,
}

/// The answer of [`tolerance()`].
#[derive(Clone, Debug, Serialize)]
#[non_exhaustive]
pub struct Tolerance {
    /// Program, spec and digest.
    pub provenance: Provenance,
    /// Which geometry the build starts from.
    pub model: Model,
    /// What was asked for.
    pub wish: Wish,
    /// Field constant without build errors.
    pub field_constant_tesla_per_ampere: f64,
    /// Worst deviation over the beam without build errors; `None` if the spec states no beam.
    pub worst_beam_deviation: Option<f64>,
    /// Standard uncertainty of the field constant from the sensitivities alone.
    pub field_constant_standard_uncertainty_tesla_per_ampere: f64,
    /// One entry for each build error.
    pub sensitivities: Vec<Sensitivity>,
    /// The pairs built at random.
    pub monte_carlo: MonteCarlo,
    /// What to hold, most worthwhile first; sentences in JSON.
    #[serde(serialize_with = "with_sentences")]
    pub hold: Vec<Hold>,
    /// Results left out because the spec lacks something they need.
    #[serde(serialize_with = "as_sentences")]
    pub notes: Vec<SourceNote>,
}

/// Answers for a bench. `advance` is called with the number of pairs built.
///
/// # Errors
/// The spec states no `build_tolerance`; the wish is not between 1e-9 and 1; fewer than 10 builds or more than ten
/// million; or the wish needs a beam that the spec does not state.
pub fn tolerance(bench: &Bench, request: &Request, advance: impl Fn(u64) + Sync) -> Result<Tolerance> {
    let Request { wish, builds, date } = *request;
    check(bench, wish, builds)?;
    let Effects { constant, nominal, errors, sensitivities } = effects(bench)?;
    let monte_carlo = monte_carlo::monte_carlo(bench, constant, wish, builds, advance)?;
    let hold = hold::hold(&sensitivities, nominal, wish);
    Ok(Tolerance {
        provenance: Provenance::of(bench, date),
        model: bench.model,
        wish,
        field_constant_tesla_per_ampere: constant,
        worst_beam_deviation: nominal,
        field_constant_standard_uncertainty_tesla_per_ampere: combined(&errors),
        sensitivities,
        monte_carlo,
        hold,
        notes: Vec::from_iter(left_out("the deviation over the beam is", &bench.tube_with_beam())),
    })
}

/// What to hold for a wish, most worthwhile first, without random builds.
///
/// # Errors
/// The spec states no `build_tolerance`; the wish needs a beam that the spec does not state.
pub(crate) fn worth_holding(bench: &Bench, wish: Wish) -> Result<Vec<Hold>> {
    if wish.beam_deviation.is_some() {
        bench.tube_with_beam()?;
    }
    let effects = effects(bench)?;
    Ok(hold::hold(&effects.sensitivities, effects.nominal, wish))
}

/// The effects of the build errors.
struct Effects {
    constant: f64,
    nominal: Option<f64>,
    errors: Vec<BuildError>,
    sensitivities: Vec<Sensitivity>,
}

fn effects(bench: &Bench) -> Result<Effects> {
    let constant = field_constant_tesla_per_ampere(&Assembly::of(bench));
    let nominal = worst_beam_deviation(bench)?;
    let errors = field_constant_errors(bench)?;
    let growths = growths(bench, &errors, nominal)?;
    let sensitivities =
        errors.iter().zip(growths).map(|(error, growth)| Sensitivity::of(error, constant, growth)).collect();
    Ok(Effects { constant, nominal, errors, sensitivities })
}

fn check(bench: &Bench, wish: Wish, builds: usize) -> Result<()> {
    build_tolerance(bench)?;
    for (name, wanted) in
        [("--within", wish.field_constant_within_fraction), ("beam_deviation", wish.beam_deviation)]
    {
        if let Some(wanted) = wanted.filter(|wanted| !(1e-9..=1.0).contains(wanted)) {
            return Err(Refused::WishedFraction { name, fraction: wanted }.into());
        }
    }
    if wish.beam_deviation.is_some() {
        bench.tube_with_beam()?;
    }
    if !(10..=10_000_000).contains(&builds) {
        return Err(Refused::Builds { asked: builds }.into());
    }
    Ok(())
}

/// The deviation of largest size over the beam, with its sign; `None` if the spec states no beam.
pub(crate) fn worst_beam_deviation(bench: &Bench) -> Result<Option<f64>> {
    let assembly = Assembly::of(bench);
    let deviation = Deviation::new(&assembly, Vector3::zeros())?;
    let over_beam = bench.tube_with_beam().ok().and_then(|tube| uniformity::over_beam(&deviation, &tube));
    Ok(over_beam.map(|region| region.worst_deviation))
}

/// Growth of the size of the worst deviation for each error, at the worse of its two limits.
fn growths(bench: &Bench, errors: &[BuildError], nominal: Option<f64>) -> Result<Vec<Option<f64>>> {
    let (Some(nominal), Some(beam)) = (nominal, BeamRegion::of(bench)) else {
        return Ok(vec![None; errors.len()]);
    };
    let builder = Builder::new(bench)?;
    let moves: Vec<(usize, BuiltPair)> = errors
        .iter()
        .enumerate()
        .flat_map(|(index, error)| [(index, error.limit), (index, -error.limit)])
        .filter(|(_, by)| *by != 0.0)
        .map(|(index, by)| (index, builder.displaced(errors[index].parameter, errors[index].coil, by)))
        .collect();
    let near = builder.near_pairs(beam.reach_m());
    let mut worst = WorstDeviations::of(bench, Some(&beam), near.as_ref());
    let mut growths = vec![0.0_f64; errors.len()];
    for eight in moves.chunks(TOGETHER) {
        let pairs: Vec<BuiltPair> = eight.iter().map(|(_, pair)| pair.clone()).collect();
        for ((index, _), built) in eight.iter().zip(worst.of_eight(&builder, &pairs)?) {
            let worst = built.worst_beam_deviation.unwrap_or(0.0);
            growths[*index] = growths[*index].max(worst.abs() - nominal.abs());
        }
    }
    Ok(growths.into_iter().map(Some).collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pair::{BuildTolerance, Distribution, StatedTube, Tube};
    use approx::assert_relative_eq;

    pub(super) fn bench() -> Bench {
        let mut bench = Bench::thin_pair();
        bench.winding.width_m = 0.016;
        bench.winding.depth_m = 0.010;
        bench.build_tolerance = Some(BuildTolerance {
            mean_radius_m: 0.5e-3,
            spacing_m: 0.5e-3,
            turns: 0.5,
            width_m: 0.3e-3,
            depth_m: 0.3e-3,
            offset_m: 0.5e-3,
            tilt_rad: 5e-3,
            distribution: Distribution::Rectangular,
            not_stated: crate::pair::NotStated::default(),
        });
        bench.tube = Some(StatedTube::from(Tube {
            bulb_radius_m: Some(0.07),
            bulb_centre_m: Vector3::zeros(),
            gun_exit_m: Vector3::new(0.045, 0.0, 0.0),
            gun_direction: Vector3::y_axis(),
            gun_voltage_volt: None,
            gun_voltage_offset_volt: None,
            beam_radius_m: Some([0.02, 0.045]),
        }));
        bench
    }

    fn study(bench: &Bench, wish: Wish, builds: usize) -> Tolerance {
        tolerance(bench, &Request { wish, builds, date: None }, |_| {}).unwrap()
    }

    #[test]
    fn small_errors_make_the_drawn_builds_agree_with_the_linear_budget() {
        let bench = bench();
        let found = study(&bench, Wish::default(), 1600);
        let drawn = found.monte_carlo.field_constant_tesla_per_ampere;
        // 1600 draws determine a standard deviation to 1.8 %; the tolerance is twice that.
        assert_relative_eq!(
            drawn.standard_deviation,
            found.field_constant_standard_uncertainty_tesla_per_ampere,
            max_relative = 0.035
        );
        let error_of_mean = drawn.standard_deviation / 1600f64.sqrt();
        // Offsets and tilts weaken the centre field only in second order, far below the scatter.
        assert!((drawn.mean - found.field_constant_tesla_per_ampere).abs() < 4.0 * error_of_mean);
    }

    #[test]
    fn the_builds_are_the_same_whatever_the_thread_count() {
        let bench = bench();
        let wish = Wish { field_constant_within_fraction: Some(0.003), beam_deviation: Some(0.004) };
        let on = |threads| {
            let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
            pool.install(|| serde_json::to_string(&study(&bench, wish, 60)).unwrap())
        };
        assert_eq!(on(1), on(3));
    }

    #[test]
    fn the_spacing_of_an_ideal_pair_weighs_three_times_its_radius() {
        // d ln k / d ln s = −3/5, d ln k / d ln R = −1/5 for each coil: on-axis field of a loop, s = R.
        let found = study(&bench(), Wish::default(), 10);
        let of = |name: &str| {
            found
                .sensitivities
                .iter()
                .find(|sensitivity| sensitivity.name == name)
                .unwrap()
                .field_constant_tesla_per_ampere_per_unit
        };
        // 1 %, because the section is not infinitely thin.
        assert_relative_eq!(of("spacing") / of("mean radius"), 3.0, max_relative = 0.01);
    }

    #[test]
    fn unequal_resistances_of_a_parallel_pair_hardly_move_its_constant() {
        let mut bench = bench();
        assert!(study(&bench, Wish::default(), 10).sensitivities.iter().all(|s| s.name != "current split"));
        bench.connection = crate::pair::Connection::Parallel;
        let found = study(&bench, Wish::default(), 10);
        let split = found.sensitivities.last().unwrap();
        assert_eq!(split.name, "current split");
        // One coil gains what the other loses.
        assert!(split.field_constant_relative_contribution < 1e-9, "{split:?}");
    }

    #[test]
    fn what_cannot_be_asked_is_refused_with_what_can() {
        let bench = bench();
        let refused = |bench: &Bench, wish, builds| {
            tolerance(bench, &Request { wish, builds, date: None }, |_| {}).unwrap_err()
        };
        let zero = Wish { field_constant_within_fraction: Some(0.0), beam_deviation: None };
        assert!(refused(&bench, zero, 100).to_string().contains("--within is 0 %"));
        assert!(refused(&bench, Wish::default(), 0).to_string().contains("0 builds"));
        let mut without = bench.clone();
        without.build_tolerance = None;
        assert!(refused(&without, Wish::default(), 100).to_string().contains("`build_tolerance`"));
        let mut without = bench.clone();
        without.tube = None;
        let beam = Wish { beam_deviation: Some(0.01), ..Wish::default() };
        assert!(refused(&without, beam, 100).to_string().contains("`tube`"));
        assert_eq!(study(&without, Wish::default(), 10).worst_beam_deviation, None);
    }
}
