//! The field over a grid, computed block by block so that the memory needed does not grow with the grid.

use super::grid::{Block, MapGrid};
use crate::physics::field::Deviation;
use nalgebra::Vector3;
use rayon::prelude::*;

/// Approximate number of points in a block.
const BLOCK_POINTS: u64 = 1 << 12;
/// Blocks computed together: enough to keep every core busy while finished blocks wait for the writer.
const BLOCKS_AT_ONCE: usize = 8;

/// The field at one point of a grid.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GridPoint {
    /// Position.
    pub point_m: Vector3<f64>,
    /// Field of the coils alone.
    pub coils_tesla_per_ampere: Vector3<f64>,
    /// Deviation from the centre field; includes a background field if there is one.
    pub deviation: f64,
}

/// Computes the field over a grid on all cores, a few blocks at a time. `finish` is called on each block by the thread
/// that computed it. The results are returned in the grid's order.
pub fn grid_fields<'a, T: Send + 'a>(
    grid: &'a MapGrid,
    deviation: &'a Deviation<'_>,
    finish: impl Fn(&[GridPoint]) -> T + Sync + 'a,
) -> impl Iterator<Item = Vec<T>> + 'a {
    let mut blocks = grid.blocks(BLOCK_POINTS);
    std::iter::from_fn(move || {
        let next: Vec<Block<'_>> = blocks.by_ref().take(BLOCKS_AT_ONCE).collect();
        let compute = |block: &Block<'_>| {
            let fields = deviation.fields_on(&block.plane());
            let points: Vec<GridPoint> = block
                .points_m()
                .map(|(index, point_m)| GridPoint {
                    point_m,
                    coils_tesla_per_ampere: fields[index],
                    deviation: deviation.of(&fields[index]),
                })
                .collect();
            finish(&points)
        };
        (!next.is_empty()).then(|| next.par_iter().map(compute).collect())
    })
}

/// Computes the coils' field per ampere over the box round a grid, on all cores, one level of constant z after the
/// other. `finish` gets the fields of a level, x varying fastest, and for each point whether it belongs to the grid.
#[cfg(feature = "paper")]
pub(super) fn level_fields<'a, T: Send + 'a>(
    grid: &'a MapGrid,
    deviation: &'a Deviation<'_>,
    finish: impl Fn(&[Vector3<f64>], &[bool]) -> T + Sync + 'a,
) -> impl Iterator<Item = Vec<T>> + 'a {
    let mut levels = 0..grid.counts()[2];
    std::iter::from_fn(move || {
        let next: Vec<u64> = levels.by_ref().take(BLOCKS_AT_ONCE).collect();
        let compute = |level: &u64| finish(&deviation.fields_on(&grid.level(*level)), &grid.inside(*level));
        (!next.is_empty()).then(|| next.par_iter().map(compute).collect())
    })
}
