//! Points near the axis of a group of windings, by its central series.

use super::axis_series::ZonalPoint;
use super::coaxial_group::{CentralSeries, CoaxialGroup};
use super::columns::{Columns, Lists};
use crate::numeric::lanes::{InstructionSet, Lanes, SIDE_BY_SIDE};
use pulp::{Simd, WithSimd};

/// Neighbouring points that take the same number of terms, whatever the instruction set. With fewer, choosing the
/// number (and the processor's wrong guesses of the loop's length) costs more than the terms saved.
const TOGETHER: usize = 64;

/// Adds a group's field at the points its central series serves. Returns the indices of the other points, NaN among
/// them. Each [`TOGETHER`] points take as many terms as the farthest of them needs.
pub(super) fn add_series(group: &CoaxialGroup, points: &mut Columns, set: InstructionSet) -> Vec<u32> {
    let count = points.count();
    let Some(series) = group.series() else {
        return (0..count as u32).collect();
    };
    let mut lists = points.lists();
    set.run(AddSeries { group, series, lists: &mut lists });
    let reach = series.farthest_reach();
    // The same comparison as in the sum, and no branch per point.
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
        let point = [S::as_simd_f64s(x).0, S::as_simd_f64s(y).0, S::as_simd_f64s(z).0];
        let b_x = S::as_mut_simd_f64s(b_x).0;
        let b_y = S::as_mut_simd_f64s(b_y).0;
        let b_z = S::as_mut_simd_f64s(b_z).0;
        let error = S::as_mut_simd_f64s(error_tesla).0;
        let squares = S::as_mut_simd_f64s(scratch).0;
        let frame = Frame::<S>::new(simd, self.group, self.series.scale_m);
        let axis = frame.axis;
        let zero = Lanes::splat(simd, 0.0);
        let reach = Lanes::splat(simd, self.series.farthest_reach());
        let together = TOGETHER / S::F64_LANES;
        for start in (0..squares.len()).step_by(together) {
            let end = (start + together).min(squares.len());
            let mut farthest = zero;
            for (i, square) in squares[start..end].iter_mut().enumerate() {
                let [u, v, w] = frame.seen(simd, &point, start + i);
                // No fused operations, so that every instruction set decides alike.
                let r2 = u * u + v * v + w * w;
                *square = r2.value();
                farthest = farthest.max(r2.if_less(reach, r2, zero));
            }
            let length = self.series.length_at(farthest.largest());
            let error_here = Lanes::splat(simd, length.error_tesla);
            for first in (start..end).step_by(SIDE_BY_SIDE) {
                let mut from_centre = [[zero; 3]; SIDE_BY_SIDE];
                let mut places = [ZonalPoint::new(zero, zero); SIDE_BY_SIDE];
                for i in 0..SIDE_BY_SIDE {
                    let [u, v, w] = frame.seen(simd, &point, first + i);
                    let zeta = u.mul_add(axis[0], v.mul_add(axis[1], w * axis[2]));
                    // Points that are not served are moved to the centre, so that nothing overflows.
                    let r2 = Lanes::new(simd, squares[first + i]);
                    places[i] = ZonalPoint::new(r2.if_less(reach, zeta, zero), r2.if_less(reach, r2, zero));
                    from_centre[i] = [u, v, w];
                }
                let (axial, radial) = self.series.zonal.field(length.highest, &places);
                for i in 0..SIDE_BY_SIDE {
                    let at = first + i;
                    let r2 = Lanes::new(simd, squares[at]);
                    // B = (ρ/scale) · (B_ρ scale/ρ) away from the axis, and B_ζ along it.
                    let along = axial[i] - places[i].zeta * radial[i];
                    let [u, v, w] = from_centre[i];
                    let b = [
                        u.mul_add(radial[i], axis[0] * along),
                        v.mul_add(radial[i], axis[1] * along),
                        w.mul_add(radial[i], axis[2] * along),
                    ];
                    b_x[at] = (Lanes::new(simd, b_x[at]) + r2.if_less(reach, b[0], zero)).value();
                    b_y[at] = (Lanes::new(simd, b_y[at]) + r2.if_less(reach, b[1], zero)).value();
                    b_z[at] = (Lanes::new(simd, b_z[at]) + r2.if_less(reach, b[2], zero)).value();
                    error[at] = (Lanes::new(simd, error[at]) + r2.if_less(reach, error_here, zero)).value();
                }
            }
        }
    }
}

/// Centre and axis of the series, in registers.
struct Frame<S: Simd> {
    centre: [Lanes<S>; 3],
    axis: [Lanes<S>; 3],
    inverse_scale: Lanes<S>,
}

impl<S: Simd> Frame<S> {
    #[inline(always)]
    fn new(simd: S, group: &CoaxialGroup, scale_m: f64) -> Self {
        let (centre, axis) = (&group.centre_m, &group.axis);
        Self {
            centre: [centre.x, centre.y, centre.z].map(|c| Lanes::splat(simd, c)),
            axis: [axis.x, axis.y, axis.z].map(|c| Lanes::splat(simd, c)),
            inverse_scale: Lanes::splat(simd, 1.0 / scale_m),
        }
    }

    /// One register of points seen from the centre, in units of the scale.
    #[inline(always)]
    fn seen(&self, simd: S, point: &[&[S::f64s]; 3], at: usize) -> [Lanes<S>; 3] {
        let [x, y, z] = point;
        [
            (Lanes::new(simd, x[at]) - self.centre[0]) * self.inverse_scale,
            (Lanes::new(simd, y[at]) - self.centre[1]) * self.inverse_scale,
            (Lanes::new(simd, z[at]) - self.centre[2]) * self.inverse_scale,
        ]
    }
}
