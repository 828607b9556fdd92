//! Points near the axis of a group of windings, by its central series.

use super::axis_series::ZonalPoint;
use super::coaxial_group::{CentralSeries, CoaxialGroup};
use super::columns::{Columns, Lists};
use crate::numeric::lanes::{InstructionSet, Lanes, SIDE_BY_SIDE};
use pulp::{Simd, WithSimd};

/// Adds a group's field where its central series serves; returns the indices of the other points, NaN among them.
///
/// Registers side by side take as many terms as their farthest point needs.
pub(super) fn add_series(group: &CoaxialGroup, points: &mut Columns, set: InstructionSet) -> Vec<u32> {
    let count = points.count();
    let Some(series) = group.series() else {
        return (0..count as u32).collect();
    };
    let mut lists = points.lists();
    set.run(AddSeries { group, series, lists: &mut lists });
    let reach = series.farthest_reach();
    // The very comparison that decided about the sum, and without a branch a point.
    let is_beyond = |r2: f64| if r2 < reach { 0 } else { 1 };
    let r2 = &lists.scratch[..count];
    let beyond: usize = r2.iter().map(|&r2| is_beyond(r2)).sum();
    let mut rest = Vec::with_capacity(beyond);
    if beyond > 0 {
        rest.extend((0..count as u32).filter(|&i| is_beyond(r2[i as usize]) > 0));
    }
    rest
}

struct AddSeries<'a, 'b> {
    group: &'a CoaxialGroup,
    series: &'a CentralSeries,
    lists: &'a mut Lists<'b>,
}

impl WithSimd for AddSeries<'_, '_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) {
        let Lists { point_m: [x, y, z], field_tesla: [b_x, b_y, b_z], error_tesla, scratch } = self.lists;
        let [x, y, z] = [S::as_simd_f64s(x).0, S::as_simd_f64s(y).0, S::as_simd_f64s(z).0];
        let b_x = S::as_mut_simd_f64s(b_x).0;
        let b_y = S::as_mut_simd_f64s(b_y).0;
        let b_z = S::as_mut_simd_f64s(b_z).0;
        let error = S::as_mut_simd_f64s(error_tesla).0;
        let squares = S::as_mut_simd_f64s(scratch).0;
        let (centre, axis) = (&self.group.centre_m, &self.group.axis);
        let inverse = Lanes::splat(simd, 1.0 / self.series.scale_m);
        let centre = [centre.x, centre.y, centre.z].map(|c| Lanes::splat(simd, c));
        let axis = [axis.x, axis.y, axis.z].map(|c| Lanes::splat(simd, c));
        let zero = Lanes::splat(simd, 0.0);
        let reach = Lanes::splat(simd, self.series.farthest_reach());
        for first in (0..x.len()).step_by(SIDE_BY_SIDE) {
            let mut from_centre = [[zero; 3]; SIDE_BY_SIDE];
            let mut places = [ZonalPoint::new(zero, zero); SIDE_BY_SIDE];
            let mut r2 = [zero; SIDE_BY_SIDE];
            let mut farthest = zero;
            for i in 0..SIDE_BY_SIDE {
                let at = first + i;
                let [u, v, w] = [
                    (Lanes::new(simd, x[at]) - centre[0]) * inverse,
                    (Lanes::new(simd, y[at]) - centre[1]) * inverse,
                    (Lanes::new(simd, z[at]) - centre[2]) * inverse,
                ];
                from_centre[i] = [u, v, w];
                let zeta = u.mul_add(axis[0], v.mul_add(axis[1], w * axis[2]));
                r2[i] = u.mul_add(u, v.mul_add(v, w * w));
                squares[at] = r2[i].value();
                // Points that are not served are taken to the centre, so that nothing overflows.
                let served = r2[i].if_less(reach, r2[i], zero);
                places[i] = ZonalPoint::new(r2[i].if_less(reach, zeta, zero), served);
                farthest = farthest.max(served);
            }
            let length = self.series.length_at(farthest.largest());
            let (axial, radial) = self.series.zonal.field(length.highest, &places);
            let error_here = Lanes::splat(simd, length.error_tesla);
            for i in 0..SIDE_BY_SIDE {
                let at = first + i;
                // B = (ρ/scale) · (B_ρ scale/ρ) away from the axis, and B_ζ along it.
                let along = axial[i] - places[i].zeta * radial[i];
                let [u, v, w] = from_centre[i];
                let b = [
                    u.mul_add(radial[i], axis[0] * along),
                    v.mul_add(radial[i], axis[1] * along),
                    w.mul_add(radial[i], axis[2] * along),
                ];
                b_x[at] = (Lanes::new(simd, b_x[at]) + r2[i].if_less(reach, b[0], zero)).value();
                b_y[at] = (Lanes::new(simd, b_y[at]) + r2[i].if_less(reach, b[1], zero)).value();
                b_z[at] = (Lanes::new(simd, b_z[at]) + r2[i].if_less(reach, b[2], zero)).value();
                error[at] = (Lanes::new(simd, error[at]) + r2[i].if_less(reach, error_here, zero)).value();
            }
        }
    }
}
