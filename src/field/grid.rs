//! The field on a regular grid of points, row by row.
//!
//! Where all windings share an axis and a row of the grid crosses it at right angles, every point of the row has the same
//! height, and the series about the axis at that height turns into two polynomials in ρ² (see
//! [`axis_series`](super::axis_series), θ = 90°):
//!
//! ```text
//! B_ζ = Σ b_2j P_2j(0) ρ^(2j)        B_ρ/ρ = −Σ b_2j+1/(2j + 2) P'_2j+1(0) ρ^(2j)
//! ```
//!
//! Points beyond their reach, and grids that lie otherwise, take the general way.

use super::assembly::Assembly;
use super::coaxial_group::{AxisRow, CoaxialGroup};
use crate::numeric::lanes::{Lanes, WIDEST};
use nalgebra::Vector3;
use pulp::{Simd, WithSimd};
use rayon::prelude::*;

/// A plane of points: origin + row · row step + column · column step.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Grid {
    /// The first point.
    pub origin_m: Vector3<f64>,
    /// From one point of a row to the next.
    pub column_step_m: Vector3<f64>,
    /// From one row to the next.
    pub row_step_m: Vector3<f64>,
    /// Points in a row.
    pub columns: usize,
    /// Rows.
    pub rows: usize,
}

impl Grid {
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

/// Rows computed together; whole registers of heights.
const BLOCK: usize = 2 * WIDEST;

impl Assembly {
    /// The field at the points of a grid per ampere through the ammeter, T/A, row by row; within the tolerance the same as
    /// [`field_per_ampere_at`](Self::field_per_ampere_at) those points, and much faster for coils on a common axis when
    /// the rows or the columns cross it at right angles. Memory is that of the answer: a volume is a stack of such grids.
    ///
    /// ```
    /// use coilwright::field::{Assembly, Grid, PlacedWinding, Section};
    /// use nalgebra::Vector3;
    /// let coil = |z: f64| PlacedWinding {
    ///     section: Section { mean_radius_m: 0.168, width_m: 0.021, depth_m: 0.0085 },
    ///     turns: 160.0, centre_m: Vector3::new(0.0, 0.0, z), axis: Vector3::z(), current_share: 1.0,
    /// };
    /// let pair = Assembly::new(vec![coil(-0.084), coil(0.084)]);
    /// let step = 0.01;
    /// let grid = Grid {
    ///     origin_m: Vector3::new(0.0, 0.0, -0.05), column_step_m: Vector3::x() * step, row_step_m: Vector3::z() * step,
    ///     columns: 6, rows: 11,
    /// };
    /// let field = pair.field_per_ampere_on(&grid);
    /// let same = pair.field_per_ampere(&grid.point(3, 5));
    /// assert!((field[3 * 6 + 5] - same).norm() < 1e-12 * same.norm());
    /// ```
    pub fn field_per_ampere_on(&self, grid: &Grid) -> Vec<Vector3<f64>> {
        let mut field = vec![Vector3::zeros(); grid.rows * grid.columns];
        self.fill_field_per_ampere_on(grid, &mut field);
        field
    }

    /// The same into memory that is there already: for a volume plane by plane, half of the time is new memory.
    ///
    /// # Panics
    /// If `field` has not one place a point.
    pub fn fill_field_per_ampere_on(&self, grid: &Grid, field: &mut [Vector3<f64>]) {
        assert_eq!(field.len(), grid.rows * grid.columns, "one place a point");
        if field.is_empty() {
            return;
        }
        let across = |group: &CoaxialGroup, step: &Vector3<f64>| group.axis.dot(step) == 0.0;
        match self.groups() {
            [group] if across(group, &grid.column_step_m) => self.on_rows(group, grid, field),
            [group] if across(group, &grid.row_step_m) => {
                let turned = grid.transposed();
                let mut columns = vec![Vector3::zeros(); field.len()];
                self.on_rows(group, &turned, &mut columns);
                for (index, field) in field.iter_mut().enumerate() {
                    *field = columns[(index % grid.columns) * grid.rows + index / grid.columns];
                }
            }
            _ => {
                let points: Vec<Vector3<f64>> = (0..grid.rows)
                    .flat_map(|row| (0..grid.columns).map(move |column| grid.point(row, column)))
                    .collect();
                field.copy_from_slice(&self.field_per_ampere_at(&points));
            }
        }
    }

    fn on_rows(&self, group: &CoaxialGroup, grid: &Grid, field: &mut [Vector3<f64>]) {
        field.par_chunks_mut(BLOCK * grid.columns).enumerate().for_each(|(block, field)| {
            let rows = block * BLOCK..(block * BLOCK + BLOCK).min(grid.rows);
            self.on_block(group, grid, rows, field);
        });
    }

    fn on_block(
        &self,
        group: &CoaxialGroup,
        grid: &Grid,
        rows: std::ops::Range<usize>,
        field: &mut [Vector3<f64>],
    ) {
        let height = |row: usize| group.axis.dot(&(grid.point(row, 0) - group.centre_m));
        let from_axis = |row: usize, column: usize| {
            let from_centre = grid.point(row, column) - group.centre_m;
            from_centre - group.axis * group.axis.dot(&from_centre)
        };
        let heights: Vec<f64> = rows.clone().map(height).collect();
        // Along a straight row the distance from the axis is largest at an end.
        let farthest = |row: usize| from_axis(row, 0).norm().max(from_axis(row, grid.columns - 1).norm());
        let series = group.rows(&heights, rows.clone().map(farthest).fold(0.0, f64::max));
        let mut rest = Vec::new();
        let mut values = RowValues::new(grid.columns);
        for (k, row) in rows.enumerate() {
            let first = k * grid.columns;
            let Some(series) = series.as_ref().map(|rows| &rows[k]) else {
                rest.extend((0..grid.columns).map(|column| (first + column, grid.point(row, column))));
                continue;
            };
            let start = from_axis(row, 0);
            let out = &mut field[first..first + grid.columns];
            self.instruction_set().run(FillRow {
                row: series,
                start: &start,
                step: &grid.column_step_m,
                axis: &group.axis,
                values: &mut values,
                out,
            });
            // A NaN is within no reach.
            let is_served = |rho: f64| rho <= series.reach_m;
            if !is_served(farthest(row)) {
                let beyond = |&column: &usize| !is_served(from_axis(row, column).norm());
                rest.extend(
                    (0..grid.columns).filter(beyond).map(|column| (first + column, grid.point(row, column))),
                );
            }
        }
        let points: Vec<Vector3<f64>> = rest.iter().map(|(_, point)| *point).collect();
        for ((index, _), value) in rest.iter().zip(self.field_per_ampere_at(&points)) {
            field[*index] = value;
        }
    }
}

/// One row: the number of each column, B_ζ and B_ρ/ρ, padded to whole registers.
struct RowValues {
    column: Vec<f64>,
    axial: Vec<f64>,
    radial_over_rho: Vec<f64>,
}

impl RowValues {
    fn new(columns: usize) -> Self {
        let padded = columns.next_multiple_of(WIDEST);
        let column = (0..padded).map(|column| column as f64).collect();
        Self { column, axial: vec![0.0; padded], radial_over_rho: vec![0.0; padded] }
    }
}

struct FillRow<'a> {
    row: &'a AxisRow,
    /// From the axis to the first point, and on to the next.
    start: &'a Vector3<f64>,
    step: &'a Vector3<f64>,
    axis: &'a Vector3<f64>,
    values: &'a mut RowValues,
    out: &'a mut [Vector3<f64>],
}

impl WithSimd for FillRow<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) {
        let splat = |value: f64| Lanes::splat(simd, value);
        // (ρ/scale)² = |start + i step|²/scale². Near the axis it is small against its terms; what it loses, the field
        // loses only against its own size there.
        let scale2 = 1.0 / (self.row.scale_m * self.row.scale_m);
        let square = splat(self.start.norm_squared() * scale2);
        let cross = splat(2.0 * self.start.dot(self.step) * scale2);
        let slope = splat(self.step.norm_squared() * scale2);
        let column = S::as_simd_f64s(&self.values.column).0;
        let axial = S::as_mut_simd_f64s(&mut self.values.axial).0;
        let radial = S::as_mut_simd_f64s(&mut self.values.radial_over_rho).0;
        let mut first = 0;
        // Four registers at once hide the latency of Horner's rule.
        while first + 4 <= column.len() {
            let mut x = [square; 4];
            for i in 0..4 {
                x[i] = parabola(Lanes::new(simd, column[first + i]), [square, cross, slope]);
            }
            store(&mut axial[first..first + 4], horner(&self.row.axial, &x));
            store(&mut radial[first..first + 4], horner(&self.row.radial_over_rho, &x));
            first += 4;
        }
        for i in first..column.len() {
            let x = [parabola(Lanes::new(simd, column[i]), [square, cross, slope])];
            store(&mut axial[i..=i], horner(&self.row.axial, &x));
            store(&mut radial[i..=i], horner(&self.row.radial_over_rho, &x));
        }
        let values = self.values.column.iter().zip(&self.values.axial).zip(&self.values.radial_over_rho);
        for (out, ((&column, &axial), &radial)) in self.out.iter_mut().zip(values) {
            *out = (self.start + self.step * column) * radial + self.axis * axial;
        }
    }
}

#[inline(always)]
fn parabola<S: Simd>(x: Lanes<S>, [constant, linear, square]: [Lanes<S>; 3]) -> Lanes<S> {
    square.mul_add(x, linear).mul_add(x, constant)
}

#[inline(always)]
fn horner<S: Simd, const U: usize>(coefficients: &[f64], x: &[Lanes<S>; U]) -> [Lanes<S>; U] {
    let mut sum = [x[0].all(0.0); U];
    for &coefficient in coefficients.iter().rev() {
        let coefficient = x[0].all(coefficient);
        for i in 0..U {
            sum[i] = sum[i].mul_add(x[i], coefficient);
        }
    }
    sum
}

#[inline(always)]
fn store<S: Simd, const U: usize>(out: &mut [S::f64s], values: [Lanes<S>; U]) {
    for (out, value) in out.iter_mut().zip(values) {
        *out = value.value();
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::field::{PlacedWinding, Section};

    fn winding(z: f64, section: (f64, f64, f64)) -> PlacedWinding {
        PlacedWinding {
            section: Section { mean_radius_m: section.0, width_m: section.1, depth_m: section.2 },
            turns: 1.0,
            centre_m: Vector3::new(0.0, 0.0, z),
            axis: Vector3::z(),
            current_share: 1.0,
        }
    }

    fn check(name: &str, assembly: &Assembly, grid: &Grid) {
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
        let plane = Grid {
            origin_m: Vector3::new(-1.3, 0.0, -0.9),
            column_step_m: Vector3::x() * 0.057,
            row_step_m: Vector3::z() * 0.11,
            columns: 47,
            rows: 18,
        };
        check("rows across the axis", &pair, &plane);
        check("columns across the axis", &pair, &plane.transposed());
        let slice =
            Grid { origin_m: Vector3::new(-0.7, -0.6, 0.31), row_step_m: Vector3::y() * 0.1, ..plane };
        check("a slice at one height", &pair, &slice);
        let oblique = Grid {
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
    fn an_empty_grid_has_no_field() {
        let pair = Assembly::new(vec![winding(0.0, (1.0, 0.1, 0.1))]);
        let grid = Grid {
            origin_m: Vector3::zeros(),
            column_step_m: Vector3::x(),
            row_step_m: Vector3::z(),
            columns: 0,
            rows: 3,
        };
        assert!(pair.field_per_ampere_on(&grid).is_empty());
    }
}
