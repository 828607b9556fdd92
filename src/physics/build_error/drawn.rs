//! Pairs drawn at random within their tolerances, and a fast method for their field near the centre.

use crate::Result;
use crate::numeric::random::SampleGenerator;
use crate::pair::{Bench, Distribution};
use crate::physics::build_error::{
    BuildParameter, BuiltPair, CoilName, build_tolerance, field_constant_tesla_per_ampere,
};
use crate::physics::field::{Assembly, EightPairs, NearPairs, PlacedWinding, TOGETHER};

/// The fast method serves normally distributed parameters up to this many standard uncertainties. One parameter in
/// 16 000 lies beyond; its pair is computed by [`Assembly`].
const NORMAL_REACH: f64 = 4.0;

/// Draws pairs, each parameter with a random error within its limit.
#[derive(Clone, Debug)]
pub(crate) struct Builder<'a> {
    bench: &'a Bench,
    start: BuiltPair,
    parameters: Vec<Drawn>,
}

/// One parameter and its distribution.
#[derive(Clone, Copy, Debug)]
struct Drawn {
    parameter: BuildParameter,
    coil: Option<CoilName>,
    distribution: Distribution,
    limit: f64,
}

impl<'a> Builder<'a> {
    /// Starts from the geometry that `bench.model` says. A bench without `build_tolerance` is an error.
    pub(crate) fn new(bench: &'a Bench) -> Result<Self> {
        let tolerance = build_tolerance(bench)?;
        let drawn = |(parameter, coil): (BuildParameter, Option<CoilName>)| Drawn {
            parameter,
            coil,
            distribution: parameter.distribution(&tolerance),
            limit: parameter.limit(&tolerance),
        };
        let parameters = BuildParameter::of(bench).into_iter().map(drawn).collect();
        let start = BuiltPair { coils: bench.coils(), spacing_m: bench.spacing_m };
        Ok(Self { bench, start, parameters })
    }

    /// Draws the next pair from a generator.
    pub(crate) fn draw(&self, generator: &mut SampleGenerator) -> BuiltPair {
        let mut pair = self.start.clone();
        for drawn in &self.parameters {
            let by = match drawn.distribution {
                Distribution::Rectangular => generator.rectangular(drawn.limit),
                Distribution::Normal => {
                    generator.normal(Distribution::Normal.standard_uncertainty(drawn.limit))
                }
            };
            drawn.parameter.displace_pair(self.bench, &mut pair, drawn.coil, by);
        }
        pair
    }

    /// The pair with one parameter moved.
    pub(crate) fn displaced(&self, parameter: BuildParameter, coil: Option<CoilName>, by: f64) -> BuiltPair {
        let mut pair = self.start.clone();
        parameter.displace_pair(self.bench, &mut pair, coil, by);
        pair
    }

    /// The pair as windings.
    pub(crate) fn windings(&self, pair: &BuiltPair) -> [PlacedWinding; 2] {
        PlacedWinding::pair(self.bench, &pair.coils, pair.spacing_m)
    }

    /// The fast method for the field of such pairs at points up to `reach_m` from the centre; `None` if the points come
    /// too near to a winding.
    pub(crate) fn near_pairs(&self, reach_m: f64) -> Option<NearPairs> {
        let start = self.windings(&self.start);
        let farthest_m = start.iter().map(|winding| winding.centre_m.norm()).fold(0.0, f64::max);
        let most = |parameter: BuildParameter| {
            let of = |drawn: &Drawn| match drawn.distribution {
                Distribution::Rectangular => drawn.limit,
                Distribution::Normal => NORMAL_REACH * Distribution::Normal.standard_uncertainty(drawn.limit),
            };
            let alike = self.parameters.iter().filter(|drawn| drawn.parameter == parameter);
            alike.map(of).fold(0.0, f64::max)
        };
        let side_m = most(BuildParameter::MeanRadius)
            .max(most(BuildParameter::Width))
            .max(most(BuildParameter::Depth));
        // A coil's foot moves with its offset and its tilt, each in two directions. Its height moves with the spacing,
        // and so does the foot of a coil whose nominal place is tilted.
        let offset_m = most(BuildParameter::OffsetX).hypot(most(BuildParameter::OffsetY));
        let tilt_rad = most(BuildParameter::TiltX).hypot(most(BuildParameter::TiltY));
        let spread_m = side_m + offset_m + tilt_rad * farthest_m + 0.5 * most(BuildParameter::Spacing);
        NearPairs::around(&start, spread_m * (1.0 + 1e-9), reach_m)
    }
}

/// The field constants of pairs, T/A: by the fast method if it serves the pair, else by [`Assembly`].
pub(crate) struct FieldConstants {
    fast: Option<(NearPairs, EightPairs)>,
}

impl FieldConstants {
    /// The field constants of pairs that a builder draws.
    pub(crate) fn of(near: Option<&NearPairs>) -> Self {
        Self { fast: near.map(|near| (near.clone(), near.room())) }
    }

    /// The field constants of up to eight pairs.
    pub(crate) fn of_eight(&mut self, pairs: &[[PlacedWinding; 2]]) -> [f64; TOGETHER] {
        let by_engine =
            |pair: &[PlacedWinding; 2]| field_constant_tesla_per_ampere(&Assembly::new(pair.to_vec()));
        let Some((near, room)) = &mut self.fast else {
            return std::array::from_fn(|lane| pairs.get(lane).map_or(0.0, by_engine));
        };
        near.fill(pairs, room);
        let [_, _, along_z] = room.fields_at_origin();
        std::array::from_fn(|lane| match pairs.get(lane) {
            Some(_) if room.serves(lane) => along_z[lane],
            Some(pair) => by_engine(pair),
            None => 0.0,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pair::{BuildTolerance, Connection};

    fn benches() -> Vec<Bench> {
        let mut benches = Vec::new();
        for (width, depth) in [(0.0, 0.0), (0.015, 0.010), (0.045, 0.045), (0.004, 0.05)] {
            for distribution in [Distribution::Rectangular, Distribution::Normal] {
                for connection in [Connection::Series, Connection::Parallel] {
                    let mut bench = Bench::thin_pair();
                    (bench.winding.width_m, bench.winding.depth_m) = (width, depth);
                    bench.connection = connection;
                    let side = if width > 0.0 { 0.4e-3 } else { 0.0 };
                    bench.build_tolerance = Some(BuildTolerance {
                        mean_radius_m: 0.5e-3,
                        spacing_m: 0.6e-3,
                        turns: 0.5,
                        width_m: side,
                        depth_m: side,
                        offset_m: 0.5e-3,
                        tilt_rad: 5e-3,
                        distribution,
                        not_stated: crate::pair::NotStated::default(),
                    });
                    benches.push(bench);
                }
            }
        }
        benches
    }

    #[test]
    fn field_constants_of_random_pairs_agree_with_the_engine_over_several_tolerances() {
        for (index, bench) in benches().into_iter().enumerate() {
            let builder = Builder::new(&bench).unwrap();
            let mut constants = FieldConstants::of(builder.near_pairs(0.0).as_ref());
            // As the tolerances grow, the pairs go from within the limits to beyond them.
            for factor in [0.1, 1.0, 3.0, 10.0, 40.0] {
                let mut loose = bench.clone();
                let tolerance = loose.build_tolerance.as_mut().unwrap();
                tolerance.mean_radius_m *= factor;
                tolerance.spacing_m *= factor;
                tolerance.offset_m *= factor;
                tolerance.tilt_rad *= factor;
                let wide = Builder::new(&loose).unwrap();
                let draw = |i: usize| wide.draw(&mut SampleGenerator::new(3, i as u64));
                let drawn: [BuiltPair; TOGETHER] = std::array::from_fn(draw);
                let windings = drawn.each_ref().map(|pair| wide.windings(pair));
                let found = constants.of_eight(&windings);
                for (pair, found) in windings.iter().zip(found) {
                    let wanted = field_constant_tesla_per_ampere(&Assembly::new(pair.to_vec()));
                    assert!((found / wanted - 1.0).abs() < 2e-12, "{index}, {factor}: {found} {wanted}");
                }
            }
        }
    }

    #[test]
    fn nearly_every_pair_within_the_tolerances_is_served() {
        for (index, bench) in benches().into_iter().enumerate() {
            let builder = Builder::new(&bench).unwrap();
            let near = builder.near_pairs(0.05).unwrap();
            let mut room = near.room();
            let mut missed = 0;
            for first in 0..100 {
                let pairs: [_; TOGETHER] = std::array::from_fn(|lane| {
                    let number = (TOGETHER * first + lane) as u64;
                    builder.windings(&builder.draw(&mut SampleGenerator::new(4, number)))
                });
                near.fill(&pairs, &mut room);
                missed += (0..TOGETHER).filter(|lane| !room.serves(*lane)).count();
            }
            let normal = bench.build_tolerance.unwrap().distribution == Distribution::Normal;
            assert!(missed <= if normal { 8 } else { 0 }, "{index}: {missed} of 800");
        }
    }

    #[test]
    fn a_pair_on_its_own_is_displaced_as_one_in_its_bench() {
        for bench in benches() {
            let builder = Builder::new(&bench).unwrap();
            for (parameter, coil) in BuildParameter::of(&bench) {
                let moved = parameter.displaced(&bench, coil, 1e-3);
                let wanted = Assembly::of(&moved);
                let pair = builder.displaced(parameter, coil, 1e-3);
                assert_eq!(wanted.windings(), builder.windings(&pair), "{parameter:?}");
            }
        }
    }
}
