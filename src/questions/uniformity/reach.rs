//! Distance from the centre at which the deviation first crosses a limit.

use super::region::{AZIMUTHS, worst_on_sphere};
use crate::Result;
use crate::error::Refused;
use crate::numeric::{compass, roots};
use crate::physics::field::Deviation;
use nalgebra::Vector3;
use serde::Serialize;
use std::f64::consts::TAU;

/// Distances from the centre to the first crossing of the limit.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Reach {
    /// In the mid-plane, the smallest over azimuth.
    pub mid_plane_radius_m: f64,
    /// Along the axis, the smaller of both directions.
    pub axial_half_length_m: f64,
    /// In any direction: radius of the largest centred sphere within the limit.
    pub sphere_radius_m: f64,
}

/// Scan steps per mean radius along a ray. Extremes between two steps are located too. A crossing is therefore found
/// whenever the deviation exceeds the limit for longer than one step.
const STEPS_PER_RADIUS: f64 = 80.0;

/// Distances from the centre to the first crossing of `limit`, a fraction of the centre field.
///
/// A ray is scanned in steps of 1/80 of the mean radius, and the extremes between two steps are located too.
///
/// # Errors
/// [`Refused::DeviationLimit`] if the limit is not between 1e-9 and 0.5.
pub fn reach(deviation: &Deviation, limit: f64) -> Result<Reach> {
    if !(1e-9..=0.5).contains(&limit) {
        return Err(Refused::DeviationLimit { fraction: limit }.into());
    }
    let windings = deviation.assembly().windings();
    let radius = windings.iter().map(|winding| winding.section.mean_radius_m).fold(0.0, f64::max);
    let farthest = windings.iter().map(|winding| winding.centre_m.norm()).fold(0.0, f64::max) + 4.0 * radius;
    let ray = Ray { deviation, limit, step: radius / STEPS_PER_RADIUS, farthest };
    let azimuths = if deviation.is_axisymmetric() { 1 } else { AZIMUTHS };

    let axial = ray.first_crossing(Vector3::z())?.min(ray.first_crossing(-Vector3::z())?);
    let mid_plane = smallest_over_azimuth(azimuths, |azimuth| {
        ray.first_crossing(Vector3::new(azimuth.cos(), azimuth.sin(), 0.0))
    })?;
    let sphere = sphere_radius(deviation, azimuths, limit, axial.min(mid_plane))?;
    Ok(Reach { mid_plane_radius_m: mid_plane, axial_half_length_m: axial, sphere_radius_m: sphere })
}

/// Rays from the centre along which the first crossing of the limit is sought.
struct Ray<'a> {
    deviation: &'a Deviation<'a>,
    limit: f64,
    step: f64,
    farthest: f64,
}

impl Ray<'_> {
    fn first_crossing(&self, direction: Vector3<f64>) -> Result<f64> {
        const CHUNK: usize = 16;
        let size = |distance: f64| self.deviation.at(&(direction * distance)).abs();
        let mut behind = [(0.0, 0.0); 2];
        let mut from = 0.0;
        while from < self.farthest {
            let distances: Vec<f64> = (1..=CHUNK).map(|i| from + self.step * i as f64).collect();
            let points: Vec<_> = distances.iter().map(|distance| direction * *distance).collect();
            for (distance, value) in distances.iter().zip(self.deviation.at_each(&points)) {
                let here = (*distance, value.abs());
                let low = if here.1 > self.limit {
                    Some((behind[1].0, here.0))
                } else if behind[1].1 > behind[0].1 && behind[1].1 > here.1 && behind[1].1 > 0.9 * self.limit
                {
                    // A maximum between the samples may exceed the limit although no sample does.
                    let crest = roots::brent_minimum(|x| -size(x), behind[0].0, here.0, 1e-6 * self.step);
                    (-crest.value > self.limit).then_some((behind[0].0, crest.at))
                } else {
                    None
                };
                if let Some((low, high)) = low {
                    return roots::brent_root(|x| size(x) - self.limit, low, high, 1e-12 * high)
                        .place("the distance at which the deviation reaches its limit");
                }
                behind = [behind[1], here];
            }
            from = distances[CHUNK - 1];
        }
        Ok(self.farthest)
    }
}

/// The minimum of a smooth periodic function of azimuth.
fn smallest_over_azimuth(azimuths: usize, distance_at: impl Fn(f64) -> Result<f64>) -> Result<f64> {
    let step = TAU / azimuths as f64;
    let mut best = (0.0, f64::INFINITY);
    for i in 0..azimuths {
        let azimuth = step * i as f64;
        let distance = distance_at(azimuth)?;
        if distance < best.1 {
            best = (azimuth, distance);
        }
    }
    if azimuths > 1 {
        let refined = compass::climb(
            |azimuth| distance_at(azimuth[0]).map_or(f64::NEG_INFINITY, |distance| -distance),
            [best.0],
            [0.5 * step],
            [[f64::NEG_INFINITY, f64::INFINITY]],
            1e-4,
        );
        best.1 = best.1.min(-refined.value);
    }
    Ok(best.1)
}

/// Radius of the largest centred sphere within the limit. The deviation is harmonic, so its largest size over a ball
/// grows with the ball and there is only one root. `upper` is a distance at which some ray has crossed the limit.
fn sphere_radius(deviation: &Deviation, azimuths: usize, limit: f64, upper: f64) -> Result<f64> {
    let excess =
        |radius: f64| worst_on_sphere(deviation, Vector3::zeros(), radius, azimuths).deviation.abs() - limit;
    if excess(upper * (1.0 - 1e-9)) <= 0.0 {
        return Ok(upper);
    }
    roots::brent_root(excess, 0.0, upper, 1e-9 * upper).place("the radius of the sphere within the limit")
}
