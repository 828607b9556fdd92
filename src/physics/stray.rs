//! The stray field: the distance at which it falls below a caution level.

use super::field::{Accuracy, Assembly};
use crate::Result;
use crate::constants::MU_0;
use crate::numeric::{compass, roots};
use nalgebra::Vector3;
use std::f64::consts::{PI, TAU};

/// Field tolerance; it suffices for the accuracy of the distance promised below.
const TOLERANCE: f64 = 1e-7;
/// Number of rays from pole to pole, and round the axis.
const POLAR: usize = 24;
const AROUND: usize = 6;
/// Samples along a ray.
const SAMPLES: usize = 64;

/// Halvings of a step beside a winding: 20 reach from a hand's breadth to a ten-thousandth of a millimetre.
const FINEST: i32 = 20;

/// The distance from the centre beyond which |B| stays below `level_tesla` in every direction, at a current of
/// `current_ampere` through the ammeter; zero if |B| is below the level everywhere.
///
/// Rays are sampled inward from a distance at which a dipole of the same moment is well below the level, so that the
/// *outermost* crossing is found. A search over direction then finds the farthest crossing. Accurate to about 1e-6 of
/// the distance where the field above the level fills the middle of the pair.
///
/// A weak current exceeds the level near the windings only, where the rays from the centre may miss it. The edges of
/// the sections are therefore examined as well. The distance is never less than that of the farthest edge of a winding
/// beside which the level is exceeded. It is too large by the size of the section at most.
///
/// # Errors
/// The crossing could not be located; this does not happen with a smooth field.
pub(crate) fn distance_below_m(assembly: &Assembly, current_ampere: f64, level_tesla: f64) -> Result<f64> {
    let level = level_tesla / current_ampere.abs();
    if !level.is_finite() {
        return Ok(0.0);
    }
    let assembly = assembly.clone().with_accuracy(Accuracy::relative(TOLERANCE));
    let windings = assembly.windings();
    let moment: f64 = windings
        .iter()
        .map(|winding| {
            PI * winding.section.mean_radius_m.powi(2) * (winding.turns * winding.current_share).abs()
        })
        .sum();
    let size = windings
        .iter()
        .map(|winding| winding.centre_m.norm() + winding.section.mean_radius_m + winding.section.depth_m)
        .fold(0.0, f64::max);
    // On the axis of a dipole m at distance r: μ0 m/(2π r³). All of the pair lies within `size`.
    let farthest = size + 1.5 * (MU_0 * moment / (TAU * level)).cbrt();
    let rays = Rays { assembly: &assembly, level, step: farthest / SAMPLES as f64 };
    let beside = rays.beside_windings()?;
    let Some(start) = rays.farthest_reaching() else { return Ok(beside) };
    let step = [0.5 * PI / POLAR as f64, if start[0].sin() < 1e-9 { 0.0 } else { 0.5 * TAU / AROUND as f64 }];
    let free = [[f64::NEG_INFINITY, f64::INFINITY]; 2];
    let near = rays.last_crossing(start, farthest)?;
    let climbed = compass::climb(
        |angles| rays.last_crossing(*angles, near + 2.0 * rays.step).unwrap_or(f64::NEG_INFINITY),
        start,
        step,
        free,
        1e-3,
    );
    Ok(climbed.value.max(near).max(beside))
}

/// Rays from the centre, for locating the outermost crossing of a level.
struct Rays<'a> {
    assembly: &'a Assembly,
    /// The level per ampere.
    level: f64,
    step: f64,
}

impl Rays<'_> {
    /// Distance of the farthest place above the level beside the windings; zero if there is none. The places examined
    /// lie on the rays from the centre through the sides of the sections, at those sides and beyond. If the level is
    /// exceeded anywhere beside a winding, the distance is at least that of the winding's farthest edge.
    fn beside_windings(&self) -> Result<f64> {
        let around = if self.assembly.is_axisymmetric() { 1 } else { 2 * AROUND };
        self.assembly.windings().iter().try_fold(0.0, |most: f64, winding| -> Result<f64> {
            let sides: Vec<Vector3<f64>> =
                (0..around).flat_map(|i| winding.sides_m(TAU * i as f64 / around as f64)).collect();
            let farthest = sides.iter().try_fold(0.0, |most: f64, side| -> Result<f64> {
                Ok(self.beyond(side)?.map_or(most, |distance| most.max(distance)))
            })?;
            let edge = sides.iter().map(Vector3::norm).fold(0.0, f64::max);
            Ok(if farthest > 0.0 { most.max(farthest).max(edge) } else { most })
        })
    }

    /// Distance of the outermost place above the level on the ray through `place`, at that place or beyond it. `None`
    /// if there is none.
    fn beyond(&self, place: &Vector3<f64>) -> Result<Option<f64>> {
        let from = place.norm();
        if from == 0.0 {
            return Ok(None);
        }
        let along = place / from;
        let steps = (0..=FINEST).rev().map(|halvings| 4.0 * self.step * 0.5f64.powi(halvings));
        let distances: Vec<f64> = [from].into_iter().chain(steps.map(|step| from + step)).collect();
        let points: Vec<_> = distances.iter().map(|distance| along * *distance).collect();
        let fields = self.assembly.field_per_ampere_at(&points);
        let Some(last) = fields.iter().rposition(|field| field.norm() > self.level) else { return Ok(None) };
        let Some(outer) = distances.get(last + 1) else { return Ok(Some(distances[last])) };
        self.crossing(&along, [distances[last], *outer], 1e-8 * outer).map(Some)
    }

    /// The crossing of the level between two distances along a direction.
    fn crossing(&self, along: &Vector3<f64>, [inner, outer]: [f64; 2], tolerance: f64) -> Result<f64> {
        let excess = |distance: f64| self.assembly.field_per_ampere(&(along * distance)).norm() - self.level;
        roots::brent_root(excess, inner, outer, tolerance)
            .place("the distance at which the stray field meets its level")
    }

    /// Polar angle and azimuth of the ray with the outermost sample above the level; among equals, the ray with the
    /// stronger field there.
    fn farthest_reaching(&self) -> Option<[f64; 2]> {
        let around = if self.assembly.is_axisymmetric() { 1 } else { AROUND };
        let angles = (0..=POLAR).flat_map(|i| {
            let count = if i == 0 || i == POLAR { 1 } else { around };
            (0..count).map(move |j| [PI * i as f64 / POLAR as f64, TAU * j as f64 / AROUND as f64])
        });
        let samples: Vec<([f64; 2], usize)> =
            angles.flat_map(|angles| (0..SAMPLES).map(move |k| (angles, k))).collect();
        let points: Vec<_> =
            samples.iter().map(|(angles, k)| direction(*angles) * (self.step * *k as f64)).collect();
        let fields = self.assembly.field_per_ampere_at(&points);
        let above = samples.iter().zip(&fields).map(|((angles, k), field)| (*angles, *k, field.norm()));
        above
            .filter(|(_, _, strength)| *strength > self.level)
            .max_by(|a, b| a.1.cmp(&b.1).then(a.2.total_cmp(&b.2)))
            .map(|(angles, _, _)| angles)
    }

    /// The outermost crossing on one ray, stepping inward from `from`; zero if there is none.
    fn last_crossing(&self, angles: [f64; 2], from: f64) -> Result<f64> {
        let along = direction(angles);
        let mut outer = from;
        while outer > 0.0 {
            let inner = (outer - self.step).max(0.0);
            if self.assembly.field_per_ampere(&(along * inner)).norm() > self.level {
                return self.crossing(&along, [inner, outer], 1e-8 * from);
            }
            outer = inner;
        }
        Ok(0.0)
    }
}

fn direction([polar, azimuth]: [f64; 2]) -> Vector3<f64> {
    Vector3::new(polar.sin() * azimuth.cos(), polar.sin() * azimuth.sin(), polar.cos())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::physics::field::{PlacedWinding, Section};

    fn winding(z: f64, turns: f64) -> PlacedWinding {
        PlacedWinding::on_axis(Section { mean_radius_m: 0.2, width_m: 1e-6, depth_m: 1e-6 }, turns, z)
    }

    /// Field of a filament on its own axis: μ0 N I a² / (2 (a² + z²)^{3/2}).
    fn on_axis(z: f64, turns: f64) -> f64 {
        0.5 * MU_0 * turns * 0.04 / (0.04 + z * z).powf(1.5)
    }

    #[test]
    fn far_away_a_pair_reaches_farthest_along_its_axis() {
        for (turns_a, turns_b) in [(150.0, 150.0), (100.0, 200.0)] {
            let pair = Assembly::new(vec![winding(-0.1, turns_a), winding(0.1, turns_b)]);
            let got = distance_below_m(&pair, 2.0, 5e-6).unwrap();
            // The crossing is farther out on the side of the larger coil.
            let field = 2.0 * (on_axis(got + 0.1, turns_a) + on_axis(got - 0.1, turns_b));
            approx::assert_relative_eq!(field, 5e-6, max_relative = 1e-7);
        }
    }

    #[test]
    fn nothing_beyond_the_distance_is_above_the_level_and_something_at_it_is_at_the_level() {
        let pair = Assembly::new(vec![winding(-0.1, 150.0), winding(0.1, 150.0)]);
        let got = distance_below_m(&pair, 2.0, 0.5e-3).unwrap();
        let strongest_at = |distance: f64| {
            (0..=1800)
                .map(|i| PI * f64::from(i) / 1800.0)
                .map(|polar| Vector3::new(polar.sin(), 0.0, polar.cos()) * distance)
                .map(|point| pair.field_per_ampere(&point).norm() * 2.0)
                .fold(0.0, f64::max)
        };
        approx::assert_relative_eq!(strongest_at(got), 0.5e-3, max_relative = 1e-5);
        for factor in [1.001, 1.01, 1.1, 1.5, 3.0] {
            assert!(strongest_at(factor * got) < 0.5e-3, "factor {factor}");
        }
    }

    #[test]
    fn twice_eight_times_the_current_doubles_the_distance_far_away() {
        let pair = Assembly::new(vec![winding(-0.1, 150.0), winding(0.1, 150.0)]);
        let far = |current| distance_below_m(&pair, current, 1e-9).unwrap();
        // A dipole's field falls with the cube; the next term is (size/r)² of it, 1e-4 here.
        approx::assert_relative_eq!(far(16.0) / far(2.0), 2.0, max_relative = 1e-3);
    }

    #[test]
    fn a_weak_current_in_a_thin_winding_is_kept_away_from_where_it_exceeds_the_level() {
        // Sections of 3 mm: rays from the centre pass the field beside them by.
        for (side, turns, current) in
            [(3e-3, 20.0, 0.8), (3e-3, 20.0, 0.9), (5e-3, 50.0, 0.2), (5e-3, 50.0, 0.3)]
        {
            let section = Section { mean_radius_m: 0.15, width_m: side, depth_m: side };
            let of = |z: f64| PlacedWinding::on_axis(section, turns, z);
            let pair = Assembly::new(vec![of(-0.075), of(0.075)]);
            let level = 0.433e-3;
            let got = distance_below_m(&pair, current, level).unwrap();
            // Every place of a fine grid round a section.
            let fine = |i: i32| 0.25e-3 * f64::from(i);
            let places = (-80..=80).flat_map(|i| (-80..=80).map(move |j| (i, j)));
            let points: Vec<_> =
                places.map(|(i, j)| Vector3::new(0.15 + fine(i), 0.0, 0.075 + fine(j))).collect();
            let fields = pair.field_per_ampere_at(&points);
            let above = points.iter().zip(&fields).filter(|(_, field)| field.norm() * current > level);
            let farthest = above.map(|(point, _)| point.norm()).fold(0.0, f64::max);
            assert!(farthest > 0.168, "{farthest}");
            assert!(got > farthest - 0.4e-3 && got < farthest + side, "{got} m for {farthest} m");
        }
        // Below the level everywhere.
        let section = Section { mean_radius_m: 0.15, width_m: 5e-3, depth_m: 5e-3 };
        let pair = Assembly::new(vec![PlacedWinding::on_axis(section, 50.0, 0.0)]);
        assert_eq!(distance_below_m(&pair, 1e-3, 0.5e-3).unwrap(), 0.0);
    }

    #[test]
    fn without_current_there_is_nothing_to_keep_away_from() {
        let pair = Assembly::new(vec![winding(-0.1, 150.0), winding(0.1, 150.0)]);
        assert_eq!(distance_below_m(&pair, 0.0, 0.5e-3).unwrap(), 0.0);
    }
}
