//! The deviation over a region: the beam's or the bulb's.

use crate::numeric::compass;
use crate::numeric::quadrature::gauss_legendre;
use crate::pair::{Bulb, Tube};
use crate::physics::field::Deviation;
use nalgebra::Vector3;
use serde::Serialize;
use std::f64::consts::{PI, TAU};

/// Number of azimuths scanned if the assembly is not rotationally symmetric.
pub(super) const AZIMUTHS: usize = 48;

/// Deviation over a region.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct RegionDeviation {
    /// The deviation of largest size, with its sign.
    pub worst_deviation: f64,
    /// Its position.
    pub worst_at_m: [f64; 3],
    /// Root mean square of the deviation over the region's area (beam) or volume (bulb).
    pub rms_deviation: f64,
    /// Largest angle between the local field and the coils' own field at the centre, over the region and its surface.
    pub worst_direction_error_rad: f64,
}

/// A deviation and its position.
#[derive(Clone, Copy)]
pub(super) struct Worst {
    pub(super) deviation: f64,
    at: Vector3<f64>,
}

/// The deviation of largest size on a sphere.
pub(super) fn worst_on_sphere(
    deviation: &Deviation,
    centre: Vector3<f64>,
    radius: f64,
    azimuths: usize,
) -> Worst {
    let sphere = Sphere { centre, radius };
    let angles = sphere_angles(azimuths);
    let points: Vec<_> = angles.iter().map(|angles| sphere.point(*angles)).collect();
    let start = largest(&deviation.at_each(&points));
    let top = sphere.climb(angles[start], azimuths, |point| deviation.at(point).abs());
    let at = sphere.point(top.0);
    Worst { deviation: deviation.at(&at), at }
}

/// The largest direction error on a sphere.
fn worst_direction_on_sphere(
    deviation: &Deviation,
    centre: Vector3<f64>,
    radius: f64,
    azimuths: usize,
) -> f64 {
    let sphere = Sphere { centre, radius };
    let angles = sphere_angles(azimuths);
    let points: Vec<_> = angles.iter().map(|angles| sphere.point(*angles)).collect();
    let errors = directions(deviation, &deviation.fields(&points));
    sphere.climb(angles[largest(&errors)], azimuths, |point| direction_at(deviation, point)).1
}

fn directions(deviation: &Deviation, fields: &[Vector3<f64>]) -> Vec<f64> {
    fields.iter().map(|field| deviation.direction_error_rad(field)).collect()
}

fn direction_at(deviation: &Deviation, point: &Vector3<f64>) -> f64 {
    directions(deviation, &deviation.fields(&[*point]))[0]
}

/// Number of steps from pole to pole.
const POLAR: usize = 36;

/// Polar angle and azimuth of the points scanned on a sphere.
fn sphere_angles(azimuths: usize) -> Vec<[f64; 2]> {
    (0..=POLAR)
        .flat_map(|i| {
            let around = if i == 0 || i == POLAR { 1 } else { azimuths };
            (0..around).map(move |j| [PI * i as f64 / POLAR as f64, TAU * j as f64 / azimuths as f64])
        })
        .collect()
}

#[derive(Clone, Copy)]
struct Sphere {
    centre: Vector3<f64>,
    radius: f64,
}

impl Sphere {
    fn point(&self, [polar, azimuth]: [f64; 2]) -> Vector3<f64> {
        let (sin, cos) = polar.sin_cos();
        self.centre + Vector3::new(sin * azimuth.cos(), sin * azimuth.sin(), cos) * self.radius
    }

    /// Climbs from a scanned point to the nearby maximum; returns its position and height.
    fn climb(
        &self,
        start: [f64; 2],
        azimuths: usize,
        height: impl Fn(&Vector3<f64>) -> f64,
    ) -> ([f64; 2], f64) {
        let free = [[f64::NEG_INFINITY, f64::INFINITY]; 2];
        let step = [0.5 * PI / POLAR as f64, if azimuths > 1 { PI / azimuths as f64 } else { 0.0 }];
        let top = compass::climb(|angles| height(&self.point(*angles)), start, step, free, 1e-4);
        (top.at, top.value)
    }
}

/// Index of the value of largest magnitude.
fn largest(values: &[f64]) -> usize {
    let mut best = 0;
    for (i, value) in values.iter().enumerate() {
        if value.abs() > values[best].abs() {
            best = i;
        }
    }
    best
}

/// Deviation over the beam region: the points of every circle of the given radii from the gun exit. `None` if the
/// spec gives no radii or the gun points along the axis.
pub fn over_beam(deviation: &Deviation, tube: &Tube) -> Option<RegionDeviation> {
    const RADII: usize = 9;
    const ANGLES: usize = 72;
    let [smallest, largest_radius] = tube.beam_radius_m?;
    if tube.towards_circle_centre() == Vector3::zeros() {
        return None;
    }
    // Area element of the family of circles through one point: r (1 − cos φ) dr dφ.
    let (middle, half) = (0.5 * (smallest + largest_radius), 0.5 * (largest_radius - smallest));
    let rule = gauss_legendre(RADII);
    let mut samples = Vec::with_capacity(RADII * ANGLES);
    for (x, weight) in &rule {
        for j in 0..ANGLES {
            let (radius, angle) = (middle + half * x, TAU * j as f64 / ANGLES as f64);
            samples.push((tube.circle_point_m(radius, angle), weight * radius * (1.0 - angle.cos())));
        }
    }
    // The worst point usually lies on the rim, so the rim's circles are scanned too.
    let rim: Vec<[f64; 2]> = [smallest, middle, largest_radius]
        .iter()
        .flat_map(|radius| (0..ANGLES).map(|j| [*radius, TAU * j as f64 / ANGLES as f64]))
        .collect();
    let rim_points: Vec<_> = rim.iter().map(|[radius, angle]| tube.circle_point_m(*radius, *angle)).collect();
    let rim_fields = deviation.fields(&rim_points);
    let deviations: Vec<f64> = rim_fields.iter().map(|field| deviation.of(field)).collect();
    let start = rim[largest(&deviations)];
    let bounds = [[smallest, largest_radius], [f64::NEG_INFINITY, f64::INFINITY]];
    let top = compass::climb(
        |at| deviation.at(&tube.circle_point_m(at[0], at[1])).abs(),
        start,
        [0.5 * half, PI / ANGLES as f64],
        bounds,
        1e-5,
    );
    let at = tube.circle_point_m(top.at[0], top.at[1]);
    let turned = compass::climb(
        |at| direction_at(deviation, &tube.circle_point_m(at[0], at[1])),
        rim[largest(&directions(deviation, &rim_fields))],
        [0.5 * half, PI / ANGLES as f64],
        bounds,
        1e-5,
    );
    Some(region(deviation, &samples, Worst { deviation: deviation.at(&at), at }, turned.value))
}

/// Deviation over the bulb. The worst point lies on the glass, because the deviation is harmonic where there is no
/// copper.
pub fn over_bulb(deviation: &Deviation, bulb: &Bulb) -> RegionDeviation {
    const RADII: usize = 8;
    const POLAR: usize = 14;
    const AROUND: usize = 20;
    let centred = deviation.is_axisymmetric() && bulb.centre_m.xy() == nalgebra::Vector2::zeros();
    let around = if centred { 1 } else { AROUND };
    let mut samples = Vec::with_capacity(RADII * POLAR * around);
    for (x, radial_weight) in gauss_legendre(RADII) {
        let radius = 0.5 * bulb.radius_m * (1.0 + x);
        for (cos, polar_weight) in gauss_legendre(POLAR) {
            let sin = (1.0 - cos * cos).sqrt();
            for j in 0..around {
                let azimuth = TAU * j as f64 / around as f64;
                let direction = Vector3::new(sin * azimuth.cos(), sin * azimuth.sin(), cos);
                samples.push((
                    bulb.centre_m + direction * radius,
                    radial_weight * polar_weight * radius * radius,
                ));
            }
        }
    }
    let azimuths = if centred { 1 } else { AZIMUTHS };
    let worst = worst_on_sphere(deviation, bulb.centre_m, bulb.radius_m, azimuths);
    let turned = worst_direction_on_sphere(deviation, bulb.centre_m, bulb.radius_m, azimuths);
    region(deviation, &samples, worst, turned)
}

/// The record of a region, from its weighted samples, its worst point and the largest direction error on its surface.
fn region(
    deviation: &Deviation,
    samples: &[(Vector3<f64>, f64)],
    worst: Worst,
    direction_on_surface: f64,
) -> RegionDeviation {
    let points: Vec<_> = samples.iter().map(|(point, _)| *point).collect();
    let (mut square, mut weights, mut direction) = (0.0, 0.0, direction_on_surface);
    for (field, (_, weight)) in deviation.fields(&points).iter().zip(samples) {
        square += weight * deviation.of(field).powi(2);
        weights += weight;
        direction = direction.max(deviation.direction_error_rad(field));
    }
    RegionDeviation {
        worst_deviation: worst.deviation,
        worst_at_m: worst.at.into(),
        rms_deviation: (square / weights).sqrt(),
        worst_direction_error_rad: direction,
    }
}
