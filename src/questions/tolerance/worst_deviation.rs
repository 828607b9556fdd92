//! The worst deviation over the beam for many pairs, eight at a time.
//!
//! The search is that of [`uniformity::over_beam`]: the three rim circles are scanned in steps of 5°, and a climb
//! follows from the largest size. Pairs outside the limits of the fast fields are left to that function.

use crate::Result;
use crate::numeric::compass;
use crate::pair::{Bench, Tube};
use crate::physics::build_error::drawn::{Builder, FieldConstants};
use crate::physics::build_error::{BuiltPair, field_constant_tesla_per_ampere};
use crate::physics::field::{
    Assembly, Deviation, Eight, EightPairs, EightVectors, NearPairs, PlacedWinding, ROUGH_TOLERANCE, TOGETHER,
};
use crate::questions::uniformity;
use nalgebra::Vector3;
use std::f64::consts::{PI, TAU};

/// Points of each circle in the scan.
const ANGLES: usize = 72;
/// Half of the scan's step: the first step of the climb.
const FIRST_STEP_RAD: f64 = PI / ANGLES as f64;
/// Parabola steps of the climb, as fractions of the first.
const STEPS: [f64; 3] = [1.0, 0.08, 0.01];
/// The coils count as cancelling if the field at the centre is below this fraction of their separate fields.
const CANCELLED: f64 = 1e-9;

/// One pair that was built.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Built {
    pub field_constant_tesla_per_ampere: f64,
    /// With its sign; `None` if the spec states no beam.
    pub worst_beam_deviation: Option<f64>,
}

/// Every circle that the beam can make.
#[derive(Clone, Debug)]
pub(super) struct BeamRegion {
    tube: Tube,
    radii_m: [f64; 2],
    towards: Vector3<f64>,
    along: Vector3<f64>,
    /// Radius and angle of the scan's points, and the points.
    rim: Vec<[f64; 2]>,
    points: Vec<EightVectors>,
}

impl BeamRegion {
    /// The region of a bench; `None` if it states no beam or the gun points along the axis.
    pub(super) fn of(bench: &Bench) -> Option<Self> {
        let tube = bench.tube_with_beam().ok()?;
        let radii_m = tube.beam_radius_m?;
        let towards = tube.towards_circle_centre();
        if towards == Vector3::zeros() {
            return None;
        }
        let middle = 0.5 * (radii_m[0] + radii_m[1]);
        let angle = |j: usize| TAU * j as f64 / ANGLES as f64;
        let circle = |radius: f64| (0..ANGLES).map(move |j| [radius, angle(j)]);
        let rim: Vec<[f64; 2]> = [radii_m[0], middle, radii_m[1]].into_iter().flat_map(circle).collect();
        let points = rim
            .iter()
            .map(|[radius, angle]| {
                let point = tube.circle_point_m(*radius, *angle);
                [[point.x; TOGETHER], [point.y; TOGETHER], [point.z; TOGETHER]]
            })
            .collect();
        Some(Self { radii_m, towards, along: towards.cross(&Vector3::z()), rim, points, tube })
    }

    /// Largest distance of any of its points from the centre of the pair.
    pub(crate) fn reach_m(&self) -> f64 {
        // A circle's farthest point lies beyond its centre. Between the two radii the sum is convex, so the ends
        // suffice.
        let farthest = |radius: f64| self.tube.circle_centre_m(radius).norm() + radius.abs();
        farthest(self.radii_m[0]).max(farthest(self.radii_m[1]))
    }

    /// One point for each of eight pairs.
    fn points_at(&self, radius_m: &Eight, angle_rad: &Eight) -> EightVectors {
        let mut points = [[0.0; TOGETHER]; 3];
        for lane in 0..TOGETHER {
            let (sin, cos) = angle_rad[lane].sin_cos();
            let point =
                self.tube.gun_exit_m + (self.towards * (1.0 - cos) + self.along * sin) * radius_m[lane];
            for k in 0..3 {
                points[k][lane] = point[k];
            }
        }
        points
    }
}

/// Computes pairs, eight at a time.
pub(super) struct WorstDeviations<'a> {
    bench: &'a Bench,
    beam: Option<&'a BeamRegion>,
    fast: Option<(&'a NearPairs, EightPairs)>,
    constants: FieldConstants,
    fields: Vec<EightVectors>,
}

impl<'a> WorstDeviations<'a> {
    /// Fast for pairs that `near` covers up to the beam's reach.
    pub(super) fn of(bench: &'a Bench, beam: Option<&'a BeamRegion>, near: Option<&'a NearPairs>) -> Self {
        Self {
            bench,
            beam,
            fast: near.map(|near| (near, near.room())),
            constants: FieldConstants::of(near),
            fields: beam.map_or(Vec::new(), |beam| vec![[[0.0; TOGETHER]; 3]; beam.points.len()]),
        }
    }

    /// The results for up to eight pairs.
    ///
    /// # Errors
    /// The coils of a pair cancel at the centre.
    pub(crate) fn of_eight(&mut self, builder: &Builder, pairs: &[BuiltPair]) -> Result<Vec<Built>> {
        let windings: Vec<[PlacedWinding; 2]> = pairs.iter().map(|pair| builder.windings(pair)).collect();
        let (Some(beam), Some((near, room))) = (self.beam, &mut self.fast) else {
            return self.without_series(&windings);
        };
        near.fill(&windings, room);
        let centre = CentreFields::of(&room.fields_at_origin());
        let scale: Eight = std::array::from_fn(|lane| windings.get(lane).map_or(0.0, fields_one_by_one));
        let served: [bool; TOGETHER] =
            std::array::from_fn(|lane| room.serves(lane) && !cancelled(centre.size[lane], scale[lane]));
        let scan = Scan { beam, room, centre: &centre, scale: &scale, served: &served };
        let tops = scan.tops(&mut self.fields);
        (0..pairs.len())
            .map(|lane| match tops[lane] {
                Some(worst) => Ok(Built {
                    field_constant_tesla_per_ampere: centre.field[2][lane],
                    worst_beam_deviation: Some(worst),
                }),
                _ => by_engine(self.bench, &windings[lane]),
            })
            .collect()
    }

    /// The field constants by the fast method if there is no beam; otherwise everything by the full assembly.
    fn without_series(&mut self, windings: &[[PlacedWinding; 2]]) -> Result<Vec<Built>> {
        if self.beam.is_some() {
            return windings.iter().map(|pair| by_engine(self.bench, pair)).collect();
        }
        let constants = self.constants.of_eight(windings);
        windings
            .iter()
            .zip(constants)
            .map(|(pair, constant)| {
                if cancelled(constant, fields_one_by_one(pair)) {
                    return by_engine(self.bench, pair);
                }
                Ok(Built { field_constant_tesla_per_ampere: constant, worst_beam_deviation: None })
            })
            .collect()
    }
}

/// The result for one pair by the full assembly.
fn by_engine(bench: &Bench, pair: &[PlacedWinding; 2]) -> Result<Built> {
    let assembly = Assembly::new(pair.to_vec());
    let deviation = Deviation::new(&assembly, Vector3::zeros())?;
    let region = bench.tube_with_beam().ok().and_then(|tube| uniformity::over_beam(&deviation, &tube));
    Ok(Built {
        field_constant_tesla_per_ampere: field_constant_tesla_per_ampere(&assembly),
        worst_beam_deviation: region.map(|region| region.worst_deviation),
    })
}

/// Approximate sum of the coils' separate fields at the centre, T/A.
fn fields_one_by_one(pair: &[PlacedWinding; 2]) -> f64 {
    let alone = |winding: &PlacedWinding| {
        let a2 = winding.section.mean_radius_m.powi(2);
        let c2 = a2 + winding.centre_m.norm_squared();
        0.5 * crate::constants::MU_0 * (winding.turns * winding.current_share).abs() * a2 / (c2 * c2.sqrt())
    };
    pair.iter().map(alone).sum()
}

/// Whether the coils may cancel at the centre, with ten times the threshold. The full assembly then decides.
fn cancelled(centre_tesla_per_ampere: f64, one_by_one: f64) -> bool {
    // NaN goes to the full assembly as well.
    let is_sure = centre_tesla_per_ampere.abs() > 10.0 * CANCELLED * one_by_one;
    !is_sure
}

/// The fields at the centre of eight pairs.
struct CentreFields {
    field: EightVectors,
    size: Eight,
    /// Direction over size: the product of a field with it, minus one, is the deviation.
    over_size: EightVectors,
}

impl CentreFields {
    fn of(field: &EightVectors) -> Self {
        let size: Eight =
            std::array::from_fn(|lane| Vector3::new(field[0][lane], field[1][lane], field[2][lane]).norm());
        let over_size = field.map(|list| std::array::from_fn(|lane| list[lane] / (size[lane] * size[lane])));
        Self { field: *field, size, over_size }
    }

    fn deviations(&self, field: &EightVectors) -> Eight {
        let [u, v, w] = &self.over_size;
        std::array::from_fn(|lane| {
            field[0][lane] * u[lane] + field[1][lane] * v[lane] + field[2][lane] * w[lane] - 1.0
        })
    }
}

/// The search for the largest size over the points of the scan.
struct Scan<'a> {
    beam: &'a BeamRegion,
    room: &'a EightPairs,
    centre: &'a CentreFields,
    /// The coils' separate fields.
    scale: &'a Eight,
    served: &'a [bool; TOGETHER],
}

/// Index and value of each pair's largest size.
struct Largest {
    index: [usize; TOGETHER],
    size: Eight,
}

impl Scan<'_> {
    /// The deviation of largest size for each covered pair; `None` if the climb fails.
    fn tops(&self, fields: &mut [EightVectors]) -> [Option<f64>; TOGETHER] {
        let Largest { index, size } = self.largest(fields);
        let start = index.map(|index| self.beam.rim[index]);
        let climb = Climb { beam: self.beam, room: self.room, centre: self.centre, start, largest: size };
        let along_rim = climb.along_the_rim();
        std::array::from_fn(|lane| match along_rim[lane] {
            _ if !self.served[lane] => None,
            Some(top) => Some(top),
            None => climb.by_compass(lane),
        })
    }

    /// A rough computation of all points leaves a few candidates, which are computed accurately.
    fn largest(&self, fields: &mut [EightVectors]) -> Largest {
        self.room.fields_roughly(&self.beam.points, fields);
        let mut rough = Largest::none();
        for (index, field) in fields.iter().enumerate() {
            rough.take(&[index; TOGETHER], &self.centre.deviations(field));
        }
        // Each of two points may be off by the error. It is doubled because the coils' separate fields at the points
        // differ from those at the centre.
        let least: Eight = std::array::from_fn(|lane| {
            rough.size[lane] - 4.0 * ROUGH_TOLERANCE * self.scale[lane] / self.centre.size[lane]
        });
        let mut candidates: [Vec<usize>; TOGETHER] = Default::default();
        for (index, field) in fields.iter().enumerate() {
            let deviations = self.centre.deviations(field);
            for lane in (0..TOGETHER).filter(|lane| self.served[*lane]) {
                if deviations[lane].abs() >= least[lane] {
                    candidates[lane].push(index);
                }
            }
        }
        let rounds = candidates.iter().map(Vec::len).max().unwrap_or(0);
        let mut largest = Largest::none();
        for round in 0..rounds {
            // A lane with fewer candidates repeats its last one.
            let index: [usize; TOGETHER] = std::array::from_fn(|lane| {
                let of = &candidates[lane];
                of.get(round).or(of.last()).copied().unwrap_or(0)
            });
            let point =
                std::array::from_fn(|k| std::array::from_fn(|lane| self.beam.points[index[lane]][k][lane]));
            let mut field = [[[0.0; TOGETHER]; 3]];
            self.room.fields(&[point], &mut field);
            largest.take(&index, &self.centre.deviations(&field[0]));
        }
        largest
    }
}

impl Largest {
    fn none() -> Self {
        Self { index: [0; TOGETHER], size: [f64::NEG_INFINITY; TOGETHER] }
    }

    /// Takes larger values; of equal ones, the first.
    fn take(&mut self, index: &[usize; TOGETHER], deviations: &Eight) {
        for lane in 0..TOGETHER {
            let size = deviations[lane].abs();
            if size > self.size[lane] {
                (self.size[lane], self.index[lane]) = (size, index[lane]);
            }
        }
    }
}

/// The climb from the largest value of the scan.
struct Climb<'a> {
    beam: &'a BeamRegion,
    room: &'a EightPairs,
    centre: &'a CentreFields,
    start: [[f64; 2]; TOGETHER],
    largest: Eight,
}

impl Climb<'_> {
    /// Deviations of the eight pairs, each at its own places.
    fn at<const N: usize>(&self, places: [(&Eight, &Eight); N]) -> [Eight; N] {
        let points = places.map(|(radius, angle)| self.beam.points_at(radius, angle));
        let mut fields = [[[0.0; TOGETHER]; 3]; N];
        self.room.fields(&points, &mut fields);
        fields.map(|field| self.centre.deviations(&field))
    }

    /// The maximum along the largest or the smallest circle, by parabolas through three places. `None` if it lies on
    /// neither circle, if the size is not concave there, or if it does not fall toward the other circles.
    fn along_the_rim(&self) -> [Option<f64>; TOGETHER] {
        let [smallest, largest] = self.beam.radii_m;
        let radius: Eight = self.start.map(|[radius, _]| radius);
        let mut angle: Eight = self.start.map(|[_, angle]| angle);
        let mut holds: [bool; TOGETHER] =
            std::array::from_fn(|lane| radius[lane] == smallest || radius[lane] == largest);
        for part in STEPS {
            let step = part * FIRST_STEP_RAD;
            let (left, right) = (angle.map(|angle| angle - step), angle.map(|angle| angle + step));
            let [before, here, after] = self.at([(&radius, &left), (&radius, &angle), (&radius, &right)]);
            for lane in 0..TOGETHER {
                let [before, here, after] = [before[lane], here[lane], after[lane]].map(f64::abs);
                let bend = before - 2.0 * here + after;
                let shift = 0.5 * (before - after) / bend;
                holds[lane] &= bend < 0.0 && shift.abs() <= 1.5;
                angle[lane] += if holds[lane] { step * shift } else { 0.0 };
            }
        }
        // Whether the size falls inward, both nearby and at the first step of the compass search.
        let half = 0.5 * (largest - smallest);
        let inward = |by: f64| radius.map(|radius| if radius == largest { radius - by } else { radius + by });
        let (near, far) = (inward(0.01 * half), inward(0.5 * half));
        let first_angle: Eight = self.start.map(|[_, angle]| angle);
        let [top, near, far, far_at_start] =
            self.at([(&radius, &angle), (&near, &angle), (&far, &angle), (&far, &first_angle)]);
        std::array::from_fn(|lane| {
            let size = top[lane].abs();
            let falls = |other: &Eight| half == 0.0 || other[lane].abs() < size;
            let is_top = holds[lane] && size >= self.largest[lane] * (1.0 - 1e-12);
            (is_top && falls(&near) && falls(&far) && falls(&far_at_start)).then_some(top[lane])
        })
    }

    /// The same search as for one pair, with fields from the series.
    fn by_compass(&self, lane: usize) -> Option<f64> {
        let [smallest, largest] = self.beam.radii_m;
        let deviation = |at: &[f64; 2]| self.at([(&[at[0]; TOGETHER], &[at[1]; TOGETHER])])[0][lane];
        let bounds = [[smallest, largest], [f64::NEG_INFINITY, f64::INFINITY]];
        let step = [0.25 * (largest - smallest), FIRST_STEP_RAD];
        let top = compass::climb(|at| deviation(at).abs(), self.start[lane], step, bounds, 1e-5);
        let worst = deviation(&top.at);
        worst.is_finite().then_some(worst)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::numeric::random::SampleGenerator;

    /// Beams whose worst place lies on the largest circle, on the smallest, inside, and on a ridge; tilted ones too.
    fn benches() -> Vec<Bench> {
        let mut benches = Vec::new();
        for (exit, radii) in [
            ([0.045, 0.0, 0.0], [0.02, 0.045]),
            ([0.046, 0.0, 0.0], [0.026, 0.05]),
            ([0.060, 0.0, 0.01], [0.02, 0.03]),
            ([0.030, 0.0, -0.02], [0.01, 0.05]),
            ([0.040, 0.01, 0.0], [0.04, 0.04]),
        ] {
            let mut bench = crate::questions::tolerance::tests::bench();
            if let Some(tube) = &mut bench.tube {
                tube.gun_exit_m = Some(Vector3::from(exit));
                tube.beam_radius_m = Some(radii);
            }
            benches.push(bench);
        }
        let mut wide = crate::questions::tolerance::tests::bench();
        wide.spacing_m *= 1.1;
        benches.push(wide);
        benches
    }

    #[test]
    fn worst_deviations_agree_with_the_engines_within_the_limits_and_beyond() {
        for (index, bench) in benches().into_iter().enumerate() {
            let beam = BeamRegion::of(&bench).unwrap();
            let builder = Builder::new(&bench).unwrap();
            let near = builder.near_pairs(beam.reach_m());
            assert!(near.is_some(), "{index}");
            let mut worst = WorstDeviations::of(&bench, Some(&beam), near.as_ref());
            for factor in [0.2, 1.0, 3.0, 30.0] {
                let mut loose = bench.clone();
                let tolerance = loose.build_tolerance.as_mut().unwrap();
                tolerance.spacing_m *= factor;
                tolerance.offset_m *= factor;
                tolerance.tilt_rad *= factor;
                let wide = Builder::new(&loose).unwrap();
                let drawn: Vec<BuiltPair> =
                    (0..TOGETHER as u64).map(|i| wide.draw(&mut SampleGenerator::new(8, i))).collect();
                let found = worst.of_eight(&wide, &drawn).unwrap();
                for (pair, found) in drawn.iter().zip(found) {
                    let wanted = by_engine(&bench, &wide.windings(pair)).unwrap();
                    let constant =
                        found.field_constant_tesla_per_ampere / wanted.field_constant_tesla_per_ampere;
                    assert!((constant - 1.0).abs() < 2e-12, "{index}, {factor}: {constant}");
                    let (found, wanted) =
                        (found.worst_beam_deviation.unwrap(), wanted.worst_beam_deviation.unwrap());
                    // Relative to the field: two tolerances of the engine, and the distance from the maximum at which
                    // its compass search stops.
                    assert!((found - wanted).abs() < 1e-11, "{index}, {factor}: {found:e} {wanted:e}");
                }
            }
        }
    }

    #[test]
    fn a_beam_near_the_winding_is_left_to_the_engine() {
        let mut bench = crate::questions::tolerance::tests::bench();
        if let Some(tube) = &mut bench.tube {
            tube.gun_exit_m = Some(Vector3::new(0.14, 0.0, 0.0));
            tube.beam_radius_m = Some([0.10, 0.14]);
        }
        let beam = BeamRegion::of(&bench).unwrap();
        let builder = Builder::new(&bench).unwrap();
        assert!(builder.near_pairs(beam.reach_m()).is_none());
        let pairs = vec![builder.draw(&mut SampleGenerator::new(1, 1))];
        let mut worst = WorstDeviations::of(&bench, Some(&beam), None);
        let found = worst.of_eight(&builder, &pairs).unwrap();
        assert_eq!(found[0], by_engine(&bench, &builder.windings(&pairs[0])).unwrap());
    }

    #[test]
    fn opposing_coils_are_refused_as_by_the_engine() {
        let bench = crate::questions::tolerance::tests::bench();
        let beam = BeamRegion::of(&bench).unwrap();
        let builder = Builder::new(&bench).unwrap();
        let mut pair = builder.displaced(crate::physics::build_error::BuildParameter::Turns, None, 0.0);
        pair.coils[1].sense = -1.0;
        for beam in [Some(&beam), None] {
            let near = builder.near_pairs(beam.map_or(0.0, BeamRegion::reach_m));
            let mut worst = WorstDeviations::of(&bench, beam, near.as_ref());
            assert!(worst.of_eight(&builder, std::slice::from_ref(&pair)).is_err());
        }
    }
}
