//! Points near the axis of a group of windings, handed to its central series in batches of one length.

use super::assembly::FieldEstimate;
use super::coaxial_group::CoaxialGroup;
use super::coaxial_group::LENGTHS;
use crate::numeric::lanes::WIDEST;
use nalgebra::Vector3;

/// Adds a group's field where its central series serves; returns the indices of the other points, NaN among them.
pub(super) fn add_series(
    group: &CoaxialGroup,
    points_m: &[Vector3<f64>],
    sum: &mut [FieldEstimate],
    with_error: bool,
) -> Vec<u32> {
    let Some(scale) = group.series_scale_m() else {
        return (0..points_m.len() as u32).collect();
    };
    let (axis, centre) = (group.axis, group.centre_m);
    let inverse = 1.0 / scale;
    // Height and squared distance of every point, lengths over the scale, and which series length it needs.
    let place = |point: &Vector3<f64>| {
        let from_centre = (point - centre) * inverse;
        (from_centre.dot(&axis), from_centre.norm_squared())
    };
    let mut counts = [0_usize; LENGTHS + 1];
    let places: Vec<(f64, f64, usize)> = points_m
        .iter()
        .map(|point| {
            let (zeta, r2) = place(point);
            let length = group.length_at(r2);
            counts[length] += 1;
            (zeta, r2, length)
        })
        .collect();

    // A counting sort by length; each length starts on a whole register.
    let mut starts = [0_usize; LENGTHS + 1];
    for length in 0..LENGTHS {
        starts[length + 1] = (starts[length] + counts[length]).next_multiple_of(WIDEST);
    }
    let total = starts[LENGTHS];
    let (mut zeta, mut r2) = (vec![0.0; total], vec![0.0; total]);
    let mut owner = vec![u32::MAX; total];
    let mut rest = Vec::with_capacity(counts[LENGTHS]);
    let mut next = starts;
    for (&(height, square, length), i) in places.iter().zip(0..) {
        if length == LENGTHS {
            rest.push(i);
        } else {
            let slot = next[length];
            next[length] += 1;
            (zeta[slot], r2[slot], owner[slot]) = (height, square, i);
        }
    }
    let (mut axial, mut radial) = (vec![0.0; total], vec![0.0; total]);
    for length in 0..LENGTHS {
        let run = starts[length]..starts[length + 1];
        if counts[length] > 0 {
            let (zeta, r2) = (&zeta[run.clone()], &r2[run.clone()]);
            group.series_field(length, zeta, r2, &mut axial[run.clone()], &mut radial[run]);
        }
    }
    for (slot, &i) in owner.iter().enumerate() {
        if i == u32::MAX {
            continue;
        }
        let sum = &mut sum[i as usize];
        let from_centre = (points_m[i as usize] - centre) * inverse;
        // B = (ρ/scale) · (B_ρ scale/ρ) away from the axis, and B_ζ along it.
        sum.tesla_per_ampere += from_centre * radial[slot] + axis * (axial[slot] - zeta[slot] * radial[slot]);
        if with_error {
            sum.error_tesla_per_ampere += group.series_error(places[i as usize].2, r2[slot].sqrt());
        }
    }
    rest
}
