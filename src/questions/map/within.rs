//! What lies within a limit on |deviation|: the share of the bulb's volume, and the reach from the centre.

use crate::Result;
use crate::pair::Bulb;
use crate::physics::field::Deviation;
use crate::questions::uniformity::{Reach, reach};
use nalgebra::Vector3;
use rayon::prelude::*;
use serde::Serialize;
use std::f64::consts::TAU;

/// Number of shells about the bulb's centre.
const SHELLS: usize = 192;
/// Steps of an arc from pole to pole, equal in the cosine of the polar angle.
const STEPS: usize = 192;
/// Arcs round the axis, used if the deviation or the bulb is not axisymmetric.
const AZIMUTHS: usize = 32;

/// What lies within a limit of |deviation|.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Within {
    /// The limit on |deviation|.
    pub limit_fraction: f64,
    /// Distances from the centre to the first crossing of the limit.
    pub reach: Reach,
    /// Share of the bulb's volume with |deviation| at or below the limit, accurate to 0.0005. `None` if the spec gives
    /// no bulb radius.
    pub bulb_volume_share: Option<f64>,
}

impl Within {
    /// The region with |deviation| up to `limit_fraction`.
    ///
    /// # Errors
    /// If the limit is outside 1e-9 to 0.5.
    pub(super) fn of(deviation: &Deviation<'_>, bulb: Option<&Bulb>, limit_fraction: f64) -> Result<Self> {
        Ok(Self {
            limit_fraction,
            reach: reach(deviation, limit_fraction)?,
            bulb_volume_share: bulb.map(|bulb| volume_share(deviation, bulb, limit_fraction)),
        })
    }

    /// Whether a deviation is within the limit.
    pub fn holds(&self, deviation: f64) -> bool {
        deviation.abs() <= self.limit_fraction
    }
}

/// Share of the bulb's volume with |deviation| up to `limit`. The volume is divided into shells, and on each shell the
/// share is the mean over arcs of ½ ∫d(cos θ) over the part within.
/// The region within the limit has narrow arms along the surfaces where the deviation changes sign. An arc from pole to
/// pole crosses an arm, while a ray from the centre may run along it. The deviation is taken as linear within a step,
/// so an arm that lies between two steps still counts.
fn volume_share(deviation: &Deviation<'_>, bulb: &Bulb, limit: f64) -> f64 {
    let on_axis = bulb.centre_m.x == 0.0 && bulb.centre_m.y == 0.0;
    let azimuths = if on_axis && deviation.is_axisymmetric() { 1 } else { AZIMUTHS };
    let part = |shell: f64| shell / SHELLS as f64;
    let of_shell = |shell: usize| {
        let shell = shell as f64;
        let radius_m = part(shell + 0.5) * bulb.radius_m;
        let arcs = (0..azimuths).map(|i| TAU * i as f64 / azimuths as f64);
        let share = arcs.map(|azimuth| arc_share(deviation, bulb, radius_m, azimuth, limit)).sum::<f64>();
        (part(shell + 1.0).powi(3) - part(shell).powi(3)) * share / azimuths as f64
    };
    let shells: Vec<f64> = (0..SHELLS).into_par_iter().map(of_shell).collect();
    shells.iter().sum::<f64>().min(1.0)
}

/// ½ ∫d(cos θ) over the part of an arc with |deviation| up to `limit`.
fn arc_share(deviation: &Deviation<'_>, bulb: &Bulb, radius_m: f64, azimuth: f64, limit: f64) -> f64 {
    let point = |i: usize| {
        let cos = 2.0 * i as f64 / STEPS as f64 - 1.0;
        let sin = (1.0 - cos * cos).max(0.0).sqrt();
        bulb.centre_m + Vector3::new(sin * azimuth.cos(), sin * azimuth.sin(), cos) * radius_m
    };
    let deviations = deviation.at_each(&(0..=STEPS).map(point).collect::<Vec<_>>());
    let share = |ends: &[f64]| {
        let [from, to] = part_within([ends[0], ends[1]], limit);
        to - from
    };
    deviations.windows(2).map(share).sum::<f64>() / STEPS as f64
}

/// Start and end, as fractions of a step, of the part within the limit if the deviation is linear between these ends.
/// Start equals end if no part is within.
fn part_within([near, far]: [f64; 2], limit: f64) -> [f64; 2] {
    if near == far {
        return if near.abs() <= limit { [0.0, 1.0] } else { [0.0, 0.0] };
    }
    let at = |level: f64| ((level - near) / (far - near)).clamp(0.0, 1.0);
    let (one, other) = (at(-limit), at(limit));
    [one.min(other), one.max(other)]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pair::Bench;
    use crate::physics::field::Assembly;

    fn within(bench: &Bench, bulb: &Bulb, limit: f64) -> Within {
        let assembly = Assembly::of(bench);
        let deviation = Deviation::new(&assembly, Vector3::zeros()).unwrap();
        Within::of(&deviation, Some(bulb), limit).unwrap()
    }

    /// A pair that is not axisymmetric, in a bulb off the axis.
    fn crooked() -> (Bench, Bulb) {
        let mut bench = Bench::thin_pair();
        let mut coils = bench.coils();
        (coils[0].offset_m.x, coils[1].turns) = (4e-3, 0.99 * coils[1].turns);
        bench.set_coils(coils);
        (bench, Bulb { radius_m: 0.08, centre_m: Vector3::new(0.01, -0.02, 0.005) })
    }

    #[test]
    fn a_step_counts_as_far_as_a_straight_deviation_is_within() {
        for (ends, wanted) in [
            ([0.0, 0.005], [0.0, 1.0]),
            ([0.0, 0.02], [0.0, 0.5]),
            ([0.02, 0.0], [0.5, 1.0]),
            ([-0.02, 0.02], [0.25, 0.75]),
            ([0.02, 0.03], [0.0, 0.0]),
            ([-0.03, -0.02], [1.0, 1.0]),
            ([0.01, 0.01], [0.0, 1.0]),
            ([0.02, 0.02], [0.0, 0.0]),
        ] {
            let found = part_within(ends, 0.01);
            assert!(found.iter().zip(wanted).all(|(a, b)| (a - b).abs() < 1e-12), "{ends:?}: {found:?}");
        }
    }

    #[test]
    fn a_bulb_no_larger_than_the_sphere_within_the_limit_is_within_altogether() {
        let bench = Bench::thin_pair();
        let sphere = |radius_m: f64| Bulb { radius_m, centre_m: Vector3::zeros() };
        let reach = within(&bench, &sphere(0.05), 0.01).reach.sphere_radius_m;
        let share = |radius_m: f64| within(&bench, &sphere(radius_m), 0.01).bulb_volume_share.unwrap();
        assert!((share(0.999 * reach) - 1.0).abs() < 1e-12);
        assert!(share(1.1 * reach) < 0.9999);
    }

    /// Weighted share of these points that lie within the limit.
    fn counted(bench: &Bench, points: &[(Vector3<f64>, f64)], limit: f64) -> f64 {
        let assembly = Assembly::of(bench);
        let deviation = Deviation::new(&assembly, Vector3::zeros()).unwrap();
        let places: Vec<Vector3<f64>> = points.iter().map(|(point, _)| *point).collect();
        let inside = deviation.at_each(&places).into_iter().zip(points).filter(|(d, _)| d.abs() <= limit);
        inside.map(|(_, (_, weight))| weight).sum::<f64>()
            / points.iter().map(|(_, weight)| weight).sum::<f64>()
    }

    #[test]
    fn the_share_is_what_counting_rings_gives_for_a_pair_of_revolution() {
        const ACROSS: u32 = 600;
        let bench = Bench::thin_pair();
        let bulb = Bulb { radius_m: 0.09, centre_m: Vector3::zeros() };
        let along = |i: u32| (f64::from(i) + 0.5) / f64::from(ACROSS) * bulb.radius_m;
        // A quarter of the x-z plane is enough by symmetry; each ring has its radius as weight.
        let rings: Vec<(Vector3<f64>, f64)> = (0..ACROSS)
            .flat_map(|i| (0..ACROSS).map(move |j| (Vector3::new(along(i), 0.0, along(j)), along(i))))
            .filter(|(point, _)| point.norm() <= bulb.radius_m)
            .collect();
        for limit in [0.001, 0.01, 0.05] {
            let wanted = counted(&bench, &rings, limit);
            let found = within(&bench, &bulb, limit).bulb_volume_share.unwrap();
            // The accuracy promised. The counting itself is uncertain by about 1e-4.
            assert!((found - wanted).abs() < 5e-4, "{limit}: {found} for {wanted}");
        }
    }

    #[test]
    fn the_share_is_what_counting_a_grid_gives_for_a_crooked_pair_in_a_bulb_off_the_axis() {
        const ACROSS: i32 = 90;
        let (bench, bulb) = crooked();
        let along = || (0..ACROSS).map(|i| (2.0 * f64::from(i) + 1.0) / f64::from(ACROSS) - 1.0);
        let points: Vec<(Vector3<f64>, f64)> = along()
            .flat_map(|x| along().flat_map(move |y| along().map(move |z| Vector3::new(x, y, z))))
            .filter(|point| point.norm() <= 1.0)
            .map(|point| (bulb.centre_m + point * bulb.radius_m, 1.0))
            .collect();
        for limit in [0.001, 0.01, 0.05] {
            let wanted = counted(&bench, &points, limit);
            let found = within(&bench, &bulb, limit).bulb_volume_share.unwrap();
            // A grid as coarse as this miscounts the surface by up to 1.2e-3; with 160 points across it would be 2e-4.
            assert!((found - wanted).abs() < 2e-3, "{limit}: {found} for {wanted}");
            assert!(wanted > 0.02 && wanted < 1.0, "{limit}: {wanted}");
        }
    }
}
