//! The field over a grid, block by block, in memory that does not grow with the grid.

use super::grid::Grid;
use crate::field::Deviation;
use nalgebra::Vector3;
use rayon::prelude::*;

/// About how many points one block has.
pub const BLOCK_POINTS: usize = 1 << 14;
/// Blocks computed at a time, so that every core has some and the next ones wait for the writer.
const BLOCKS_AT_ONCE: usize = 8;

/// The field at one point of a grid.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GridPoint {
    /// Where.
    pub point_m: Vector3<f64>,
    /// The coils' field.
    pub coils_tesla_per_ampere: Vector3<f64>,
    /// The deviation.
    pub deviation: f64,
}

/// The blocks of a grid.
pub struct GridFields<'a> {
    grid: &'a Grid,
    deviation: &'a Deviation<'a>,
    /// Rows of the grid at which blocks begin.
    next_row: u64,
}

impl<'a> GridFields<'a> {
    /// The field over a grid.
    pub fn over(grid: &'a Grid, deviation: &'a Deviation<'a>) -> Self {
        Self { grid, deviation, next_row: 0 }
    }

    /// Computes the next few blocks on all cores, applies `finish` to each on the core that computed it, and returns the
    /// results in the grid's order; none when the grid is done.
    pub fn next_blocks<T: Send>(&mut self, finish: impl Fn(&[GridPoint]) -> T + Sync) -> Option<Vec<T>> {
        let blocks: Vec<Vec<Vector3<f64>>> =
            std::iter::from_fn(|| self.next_points()).take(BLOCKS_AT_ONCE).collect();
        if blocks.is_empty() {
            return None;
        }
        let compute = |points: &Vec<Vector3<f64>>| {
            let fields = self.deviation.fields(points);
            let rows: Vec<GridPoint> = points
                .iter()
                .zip(fields)
                .map(|(point, field)| GridPoint {
                    point_m: *point,
                    coils_tesla_per_ampere: field,
                    deviation: self.deviation.of(&field),
                })
                .collect();
            finish(&rows)
        };
        Some(blocks.par_iter().map(compute).collect())
    }

    /// The points of the next block; a block is whole rows, at least one.
    fn next_points(&mut self) -> Option<Vec<Vector3<f64>>> {
        let mut points = Vec::new();
        while points.len() < BLOCK_POINTS && self.next_row < self.grid.rows() {
            self.grid.row(self.next_row, &mut points);
            self.next_row += 1;
        }
        (!points.is_empty()).then_some(points)
    }
}
