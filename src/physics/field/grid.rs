//! The field on a regular grid of points, row by row.
//!
//! If all windings share an axis and a row of the grid crosses it at right angles, every point of the row has the same
//! height. The series about the axis at that height is then two polynomials in ρ² ([`axis_row`](super::axis_row)).
//!
//! A point takes as many terms as its distance from the axis needs; near the axis a few suffice. Points beyond the
//! polynomials' reach, and all other grids, use [`Assembly::field_per_ampere_at`].

use super::assembly::Assembly;
use super::axis_row::{AxisRow, AxisRows};
use super::coaxial_group::CoaxialGroup;
use crate::numeric::lanes::{Lanes, WIDEST, two_polynomials};
use nalgebra::Vector3;
use pulp::{Simd, WithSimd};
use rayon::prelude::*;

/// A plane of points: origin + row · row step + column · column step.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PlaneGrid {
    /// The first point.
    pub origin_m: Vector3<f64>,
    /// Step from one point of a row to the next.
    pub column_step_m: Vector3<f64>,
    /// Step from one row to the next.
    pub row_step_m: Vector3<f64>,
    /// Points in a row.
    pub columns: usize,
    /// Rows.
    pub rows: usize,
}

impl PlaneGrid {
    /// One point.
    pub fn point(&self, row: usize, column: usize) -> Vector3<f64> {
        self.origin_m + self.row_step_m * row as f64 + self.column_step_m * column as f64
    }

    fn transposed(&self) -> Self {
        Self {
            column_step_m: self.row_step_m,
            row_step_m: self.column_step_m,
            columns: self.rows,
            rows: self.columns,
            ..*self
        }
    }
}

/// The field at many points, T/A, one list per component.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct FieldColumns {
    /// Along x.
    pub x_tesla_per_ampere: Vec<f64>,
    /// Along y.
    pub y_tesla_per_ampere: Vec<f64>,
    /// Along z.
    pub z_tesla_per_ampere: Vec<f64>,
}

impl FieldColumns {
    /// How many points there are.
    pub fn len(&self) -> usize {
        self.x_tesla_per_ampere.len()
    }

    /// Whether there is no point.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// The field at one point, T/A.
    pub fn at(&self, index: usize) -> Vector3<f64> {
        Vector3::new(
            self.x_tesla_per_ampere[index],
            self.y_tesla_per_ampere[index],
            self.z_tesla_per_ampere[index],
        )
    }

    fn resize(&mut self, len: usize) {
        for list in [&mut self.x_tesla_per_ampere, &mut self.y_tesla_per_ampere, &mut self.z_tesla_per_ampere]
        {
            list.resize(len, 0.0);
        }
    }

    fn set(&mut self, index: usize, field: &Vector3<f64>) {
        self.x_tesla_per_ampere[index] = field.x;
        self.y_tesla_per_ampere[index] = field.y;
        self.z_tesla_per_ampere[index] = field.z;
    }

    fn as_mut(&mut self) -> [&mut [f64]; 3] {
        [&mut self.x_tesla_per_ampere, &mut self.y_tesla_per_ampere, &mut self.z_tesla_per_ampere]
    }
}

/// Rows computed together, so that their heights fill whole registers.
const BLOCK: usize = 2 * WIDEST;

impl Assembly {
    /// The field at the points of a grid per ampere through the ammeter, T/A, row by row. It agrees with
    /// [`field_per_ampere_at`](Self::field_per_ampere_at) to the tolerance, and is much faster for coils on a common
    /// axis if the rows or the columns cross it at right angles. The memory needed is that of the result; compute a
    /// volume as a stack of such grids.
    ///
    /// ```
    /// use coilwright::physics::field::{Assembly, PlaneGrid, PlacedWinding, Section};
    /// use nalgebra::Vector3;
    /// let section = Section { mean_radius_m: 0.168, width_m: 0.021, depth_m: 0.0085 };
    /// let coil = |z: f64| PlacedWinding::on_axis(section, 160.0, z);
    /// let pair = Assembly::new(vec![coil(-0.084), coil(0.084)]);
    /// let step = 0.01;
    /// let grid = PlaneGrid {
    ///     origin_m: Vector3::new(0.0, 0.0, -0.05), column_step_m: Vector3::x() * step, row_step_m: Vector3::z() * step,
    ///     columns: 6, rows: 11,
    /// };
    /// let field = pair.field_per_ampere_on(&grid);
    /// let same = pair.field_per_ampere(&grid.point(3, 5));
    /// assert!((field[3 * 6 + 5] - same).norm() < 1e-12 * same.norm());
    /// ```
    pub fn field_per_ampere_on(&self, grid: &PlaneGrid) -> Vec<Vector3<f64>> {
        let mut columns = FieldColumns::default();
        self.fill_field_per_ampere_on(grid, &mut columns);
        (0..columns.len()).map(|index| columns.at(index)).collect()
    }

    /// The field at the points of a grid per ampere, as [`field_per_ampere_on`](Self::field_per_ampere_on) gives it,
    /// with one list per component. It is written into `field`, whose contents are replaced.
    pub fn fill_field_per_ampere_on(&self, grid: &PlaneGrid, field: &mut FieldColumns) {
        field.resize(grid.rows * grid.columns);
        if field.is_empty() {
            return;
        }
        let across = |group: &CoaxialGroup, step: &Vector3<f64>| group.axis.dot(step) == 0.0;
        match self.groups() {
            [group] if across(group, &grid.column_step_m) => self.on_rows(group, grid, field),
            [group] if across(group, &grid.row_step_m) => {
                let turned = grid.transposed();
                let mut columns = FieldColumns::default();
                columns.resize(field.len());
                self.on_rows(group, &turned, &mut columns);
                for (list, turned) in field.as_mut().into_iter().zip(columns.as_mut()) {
                    for (row, list) in list.chunks_exact_mut(grid.columns).enumerate() {
                        for (column, value) in list.iter_mut().enumerate() {
                            *value = turned[column * grid.rows + row];
                        }
                    }
                }
            }
            _ => {
                let points: Vec<Vector3<f64>> = (0..grid.rows)
                    .flat_map(|row| (0..grid.columns).map(move |column| grid.point(row, column)))
                    .collect();
                for (index, value) in self.field_per_ampere_at(&points).iter().enumerate() {
                    field.set(index, value);
                }
            }
        }
    }

    fn on_rows(&self, group: &CoaxialGroup, grid: &PlaneGrid, field: &mut FieldColumns) {
        let size = BLOCK * grid.columns;
        let [x, y, z] = field.as_mut();
        x.par_chunks_mut(size).zip(y.par_chunks_mut(size)).zip(z.par_chunks_mut(size)).enumerate().for_each(
            |(block, ((x, y), z))| {
                let rows = block * BLOCK..(block * BLOCK + BLOCK).min(grid.rows);
                self.on_block(group, grid, rows, [x, y, z]);
            },
        );
    }

    fn on_block(
        &self,
        group: &CoaxialGroup,
        grid: &PlaneGrid,
        rows: std::ops::Range<usize>,
        [x, y, z]: [&mut [f64]; 3],
    ) {
        let height = |row: usize| group.axis.dot(&(grid.point(row, 0) - group.centre_m));
        let from_axis = |row: usize, column: usize| {
            let from_centre = grid.point(row, column) - group.centre_m;
            from_centre - group.axis * group.axis.dot(&from_centre)
        };
        let heights: Vec<f64> = rows.clone().map(height).collect();
        // The distance from the axis is largest at an end of a straight row.
        let farthest = |row: usize| from_axis(row, 0).norm().max(from_axis(row, grid.columns - 1).norm());
        let series = group.rows(&heights, rows.clone().map(farthest).fold(0.0, f64::max));
        let mut rest = Vec::new();
        for (k, row) in rows.enumerate() {
            let first = k * grid.columns;
            let Some(series) = &series else {
                rest.extend((0..grid.columns).map(|column| (first + column, grid.point(row, column))));
                continue;
            };
            // Columns are counted from the one nearest to the axis, so that no distance is a small difference of large
            // ones.
            let (step, from_first) = (grid.column_step_m, from_axis(row, 0));
            let turn = (-from_first.dot(&step) / step.norm_squared()).round();
            let nearest = if turn > 0.0 { (turn as usize).min(grid.columns - 1) } else { 0 };
            let here = first..first + grid.columns;
            self.instruction_set().run(FillRow {
                rows: series,
                row: &series.rows[k],
                nearest,
                start: &from_axis(row, nearest),
                step: &step,
                axis: &group.axis,
                out: [&mut x[here.clone()], &mut y[here.clone()], &mut z[here]],
            });
            // NaN is not served.
            let reach = series.ratio * series.rows[k].scale_m;
            let is_served = |rho: f64| rho <= reach;
            if !is_served(farthest(row)) {
                let beyond = |&column: &usize| !is_served(from_axis(row, column).norm());
                rest.extend(
                    (0..grid.columns).filter(beyond).map(|column| (first + column, grid.point(row, column))),
                );
            }
        }
        let points: Vec<Vector3<f64>> = rest.iter().map(|(_, point)| *point).collect();
        for ((index, _), value) in rest.iter().zip(self.field_per_ampere_at(&points)) {
            (x[*index], y[*index], z[*index]) = (value.x, value.y, value.z);
        }
    }
}

/// Registers of a row side by side.
const SIDE_BY_SIDE: usize = 4;
/// Neighbouring columns that take the same number of terms, whatever the instruction set.
const TOGETHER: usize = 2 * SIDE_BY_SIDE * WIDEST;

struct FillRow<'a> {
    rows: &'a AxisRows,
    row: &'a AxisRow,
    /// The column nearest to the axis; `start` is the vector from the axis to it, `step` that to the next column.
    nearest: usize,
    start: &'a Vector3<f64>,
    step: &'a Vector3<f64>,
    axis: &'a Vector3<f64>,
    out: [&'a mut [f64]; 3],
}

/// 0, 1, 2, …
const COUNTING: [f64; TOGETHER] = {
    let mut list = [0.0; TOGETHER];
    let mut i = 0;
    while i < list.len() {
        list[i] = i as f64;
        i += 1;
    }
    list
};

impl WithSimd for FillRow<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) {
        let evaluation = Evaluation::<S>::new(simd, &self);
        let [x, y, z] = self.out;
        let columns = x.len();
        let whole = columns - columns % TOGETHER;
        let (x, x_rest) = x.split_at_mut(whole);
        let (y, y_rest) = y.split_at_mut(whole);
        let (z, z_rest) = z.split_at_mut(whole);
        let blocks = x.chunks_exact_mut(TOGETHER).zip(y.chunks_exact_mut(TOGETHER));
        for (block, ((x, y), z)) in blocks.zip(z.chunks_exact_mut(TOGETHER)).enumerate() {
            evaluation.block(simd, block * TOGETHER, [x, y, z]);
        }
        if whole < columns {
            let mut last = [[0.0; TOGETHER]; 3];
            let [x, y, z] = &mut last;
            evaluation.block(simd, whole, [x, y, z]);
            x_rest.copy_from_slice(&last[0][..columns - whole]);
            y_rest.copy_from_slice(&last[1][..columns - whole]);
            z_rest.copy_from_slice(&last[2][..columns - whole]);
        }
    }
}

/// A row in registers.
struct Evaluation<'a, S: Simd> {
    rows: &'a AxisRows,
    row: &'a AxisRow,
    /// (ρ/scale)² = |start + i step|²/scale² of column i, counted from the nearest; constant term first.
    parabola: [f64; 3],
    nearest: f64,
    start: [Lanes<S>; 3],
    step: [Lanes<S>; 3],
    axis: [Lanes<S>; 3],
}

impl<'a, S: Simd> Evaluation<'a, S> {
    #[inline(always)]
    fn new(simd: S, fill: &FillRow<'a>) -> Self {
        let FillRow { rows, row, nearest, start, step, axis, .. } = fill;
        // Near the axis (ρ/scale)² is small against its terms and loses digits, but there the field hardly depends on
        // it.
        let scale2 = 1.0 / (row.scale_m * row.scale_m);
        let parabola =
            [start.norm_squared() * scale2, 2.0 * start.dot(step) * scale2, step.norm_squared() * scale2];
        let splat = |v: &Vector3<f64>| [v.x, v.y, v.z].map(|c| Lanes::splat(simd, c));
        let nearest = *nearest as f64;
        Self { rows, row, parabola, nearest, start: splat(start), step: splat(step), axis: splat(axis) }
    }

    /// The [`TOGETHER`] columns from `first` on.
    #[inline(always)]
    fn block(&self, simd: S, first: usize, [b_x, b_y, b_z]: [&mut [f64]; 3]) {
        let [square, cross, slope] = self.parabola;
        // An upward parabola is largest at an end.
        let low = first as f64 - self.nearest;
        let high = low + (TOGETHER - 1) as f64;
        let at_low = (slope * low + cross) * low + square;
        let at_high = (slope * high + cross) * high + square;
        let terms = self.rows.terms_at(at_low.max(at_high));
        let (axial, radial) = (&self.row.axial[..terms], &self.row.radial_over_rho[..terms]);
        let counting = S::as_simd_f64s(&COUNTING).0.chunks_exact(SIDE_BY_SIDE);
        let b_x = S::as_mut_simd_f64s(b_x).0.chunks_exact_mut(SIDE_BY_SIDE);
        let b_y = S::as_mut_simd_f64s(b_y).0.chunks_exact_mut(SIDE_BY_SIDE);
        let b_z = S::as_mut_simd_f64s(b_z).0.chunks_exact_mut(SIDE_BY_SIDE);
        let (low, square) = (Lanes::splat(simd, low), Lanes::splat(simd, square));
        let (cross, slope) = (square.all(cross), square.all(slope));
        for (((counting, b_x), b_y), b_z) in counting.zip(b_x).zip(b_y).zip(b_z) {
            let (mut column, mut x) = ([low; SIDE_BY_SIDE], [square; SIDE_BY_SIDE]);
            for i in 0..SIDE_BY_SIDE {
                column[i] = low + Lanes::new(simd, counting[i]);
                x[i] = slope.mul_add(column[i], cross).mul_add(column[i], square);
            }
            let (axial, radial) = two_polynomials(axial, radial, &x);
            for i in 0..SIDE_BY_SIDE {
                b_x[i] = self.component(0, column[i], axial[i], radial[i]).value();
                b_y[i] = self.component(1, column[i], axial[i], radial[i]).value();
                b_z[i] = self.component(2, column[i], axial[i], radial[i]).value();
            }
        }
    }

    #[inline(always)]
    fn component(
        &self,
        index: usize,
        column: Lanes<S>,
        axial: Lanes<S>,
        radial_over_rho: Lanes<S>,
    ) -> Lanes<S> {
        let outward = self.step[index].mul_add(column, self.start[index]);
        outward.mul_add(radial_over_rho, self.axis[index] * axial)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::physics::field::{PlacedWinding, Section};

    fn winding(z: f64, section: (f64, f64, f64)) -> PlacedWinding {
        PlacedWinding::on_axis(
            Section { mean_radius_m: section.0, width_m: section.1, depth_m: section.2 },
            1.0,
            z,
        )
    }

    fn check(name: &str, assembly: &Assembly, grid: &PlaneGrid) {
        let field = assembly.field_per_ampere_on(grid);
        assert_eq!(field.len(), grid.rows * grid.columns);
        let points: Vec<_> = (0..grid.rows)
            .flat_map(|row| (0..grid.columns).map(move |column| grid.point(row, column)))
            .collect();
        for ((point, got), (wanted, scale)) in points.iter().zip(field).zip(assembly.without_series(&points))
        {
            assert!(
                (got - wanted).norm() <= 1.1e-12 * scale + 1e-11 * f64::from(scale == 0.0),
                "{name} {point}: {got} {wanted}"
            );
        }
    }

    #[test]
    fn a_map_through_bore_windings_and_outside_agrees_with_the_sum_over_windings() {
        let pair = Assembly::new(vec![winding(-0.5, (1.0, 0.15, 0.15)), winding(0.5, (1.0, 0.15, 0.15))]);
        let plane = PlaneGrid {
            origin_m: Vector3::new(-1.3, 0.0, -0.9),
            column_step_m: Vector3::x() * 0.057,
            row_step_m: Vector3::z() * 0.11,
            columns: 47,
            rows: 18,
        };
        check("rows across the axis", &pair, &plane);
        check("columns across the axis", &pair, &plane.transposed());
        let slice =
            PlaneGrid { origin_m: Vector3::new(-0.7, -0.6, 0.31), row_step_m: Vector3::y() * 0.1, ..plane };
        check("a slice at one height", &pair, &slice);
        let oblique = PlaneGrid {
            row_step_m: Vector3::new(0.01, 0.0, 0.05),
            column_step_m: Vector3::new(0.03, 0.0, 0.01),
            ..plane
        };
        check("an oblique grid", &pair, &oblique);
        let shifted = Assembly::new(
            pair.windings()
                .iter()
                .map(|w| PlacedWinding { centre_m: w.centre_m + Vector3::new(0.1, 0.2, 0.3), ..*w })
                .collect(),
        );
        check("a pair off the grid's axis", &shifted, &plane);
        let mut tilted = pair.windings().to_vec();
        tilted[0].axis = Vector3::new(0.02, 0.01, 1.0).normalize();
        check("a tilted coil", &Assembly::new(tilted), &plane);
    }

    #[test]
    fn a_row_that_starts_far_away_keeps_its_digits_in_the_bore() {
        let pair = Assembly::new(vec![winding(-0.5, (1.0, 0.15, 0.15)), winding(0.5, (1.0, 0.15, 0.15))]);
        for from in [61.8, 618.0, 6180.0] {
            let grid = PlaneGrid {
                origin_m: Vector3::new(-from, 0.05, 0.1),
                column_step_m: Vector3::x() * (from / 4000.0),
                row_step_m: Vector3::z() * 0.1,
                columns: 8001,
                rows: 1,
            };
            let field = pair.field_per_ampere_on(&grid);
            let bore = (0..grid.columns).filter(|column| grid.point(0, *column).x.abs() < 0.6);
            let points: Vec<_> = bore.clone().map(|column| grid.point(0, column)).collect();
            for ((column, point), (wanted, scale)) in bore.zip(&points).zip(pair.without_series(&points)) {
                let off = (field[column] - wanted).norm();
                assert!(off <= 1.1e-12 * scale, "from {from} at {point}: {:e}", off / scale);
            }
        }
    }

    #[test]
    fn an_empty_grid_has_no_field() {
        let pair = Assembly::new(vec![winding(0.0, (1.0, 0.1, 0.1))]);
        let grid = PlaneGrid {
            origin_m: Vector3::zeros(),
            column_step_m: Vector3::x(),
            row_step_m: Vector3::z(),
            columns: 0,
            rows: 3,
        };
        assert!(pair.field_per_ampere_on(&grid).is_empty());
    }
}
