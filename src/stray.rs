//! The stray field: how far away it has fallen below a caution level.

use crate::Result;
use crate::constants::MU_0;
use crate::field::Assembly;
use crate::numeric::{compass, roots};
use nalgebra::Vector3;
use std::f64::consts::{FRAC_PI_2, PI, TAU};

/// The distance from the centre beyond which |B| stays below `level_tesla` in every direction, at a current of
/// `current_ampere` through the ammeter; zero where the field is nowhere above it outside the copper's reach.
///
/// Marches inward along rays from where a dipole of the same moment is well below the level, so that the *last*
/// crossing is found, then climbs over direction. Good to about 1e-6 of the distance.
///
/// # Errors
/// The crossing could not be located, which a smooth field does not do.
pub fn distance_below_m(assembly: &Assembly, current_ampere: f64, level_tesla: f64) -> Result<f64> {
    let per_ampere = level_tesla / current_ampere.abs();
    if !per_ampere.is_finite() {
        return Ok(0.0);
    }
    let windings = assembly.windings();
    let moment: f64 = windings
        .iter()
        .map(|winding| {
            PI * winding.section.mean_radius_m.powi(2) * winding.turns * winding.current_share.abs()
        })
        .sum();
    let size = windings
        .iter()
        .map(|winding| winding.centre_m.norm() + winding.section.mean_radius_m + winding.section.depth_m)
        .fold(0.0, f64::max);
    // On the axis of a dipole m at distance r: μ0 m/(2π r³). The pair's parts lie within `size`.
    let start = size + 1.5 * (MU_0 * moment / (TAU * per_ampere)).cbrt();
    let step = size / 40.0;
    let along = |polar: f64, azimuth: f64| -> Vector3<f64> {
        Vector3::new(polar.sin() * azimuth.cos(), polar.sin() * azimuth.sin(), polar.cos())
    };
    let last_crossing = |polar: f64, azimuth: f64| -> Result<f64> {
        let direction = along(polar, azimuth);
        let excess = |distance: f64| assembly.field_per_ampere(&(direction * distance)).norm() - per_ampere;
        let mut outer = start;
        while outer > 0.0 {
            let inner = (outer - step).max(0.0);
            if excess(inner) > 0.0 {
                return roots::brent_root(excess, inner, outer, 1e-9 * size)
                    .place("the distance at which the stray field meets its level");
            }
            outer = inner;
        }
        Ok(0.0)
    };

    // The field of coaxial coils is symmetric about the axis and, for equal coils, about the mid-plane; a tilted
    // or unequal pair differs by little, and the climb finds the difference.
    const POLAR: usize = 8;
    const AROUND: usize = 4;
    let mut best = ([0.0, 0.0], 0.0);
    for i in 0..=2 * POLAR {
        let polar = FRAC_PI_2 * i as f64 / POLAR as f64;
        for j in 0..AROUND {
            let azimuth = TAU * j as f64 / AROUND as f64;
            let distance = last_crossing(polar, azimuth)?;
            if distance > best.1 {
                best = ([polar, azimuth], distance);
            }
            if polar.sin() < 1e-9 {
                break;
            }
        }
    }
    let climbed = compass::climb(
        |angle| last_crossing(angle[0], angle[1]).unwrap_or(f64::NEG_INFINITY),
        best.0,
        [0.5 * FRAC_PI_2 / POLAR as f64, 0.25 * TAU / AROUND as f64],
        [[f64::NEG_INFINITY, f64::INFINITY]; 2],
        1e-3,
    );
    Ok(climbed.value.max(best.1))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::field::{PlacedWinding, Section};

    fn winding(z: f64, turns: f64) -> PlacedWinding {
        PlacedWinding {
            section: Section { mean_radius_m: 0.2, width_m: 1e-6, depth_m: 1e-6 },
            turns,
            centre_m: Vector3::new(0.0, 0.0, z),
            axis: Vector3::z(),
            current_share: 1.0,
        }
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
            // The side of the larger coil is the farther one.
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
    fn without_current_there_is_nothing_to_keep_away_from() {
        let pair = Assembly::new(vec![winding(-0.1, 150.0), winding(0.1, 150.0)]);
        assert_eq!(distance_below_m(&pair, 0.0, 0.5e-3).unwrap(), 0.0);
    }
}
