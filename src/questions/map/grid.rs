//! Regular grids of points on a plane or inside the bulb, and the blocks they are computed in.

use crate::Result;
use crate::error::Refused;
use crate::physics::field;
use nalgebra::Vector3;
use serde::Serialize;

/// Largest number of points in a grid.
pub const MOST_POINTS: u64 = 10_000_000;

/// Evenly spaced coordinates along one direction.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct GridAxis {
    /// Origin from which steps are counted.
    #[serde(skip)]
    anchor_m: f64,
    /// Number of steps from the origin to the first coordinate; whole or half.
    #[serde(skip)]
    first: f64,
    /// First coordinate.
    pub first_m: f64,
    /// Distance between neighbouring coordinates.
    pub step_m: f64,
    /// Number of coordinates.
    pub count: u64,
}

impl GridAxis {
    /// All multiples of the step from `least` to `most`, ends included.
    pub(crate) fn of_step([least, most]: [f64; 2], step_m: f64) -> Self {
        // An end counts as a multiple of the step if only rounding separates them.
        let first = (least / step_m - 1e-9).ceil();
        let last = (most / step_m + 1e-9).floor();
        let count = if last >= first { (last - first + 1.0) as u64 } else { 0 };
        Self { anchor_m: 0.0, first, first_m: multiple(first, step_m), step_m, count }
    }

    /// As many coordinates as fit between `least` and `most`, centred between them.
    fn centred([least, most]: [f64; 2], step_m: f64) -> Self {
        let count = ((most - least) / step_m + 1e-9).floor().min(1e18) as u64 + 1;
        let (anchor_m, first) = (0.5 * (least + most), -0.5 * (count.max(1) - 1) as f64);
        Self { anchor_m, first, first_m: anchor_m + multiple(first, step_m), step_m, count }
    }

    /// The same coordinates and those in the middle between them.
    fn halved(self) -> Self {
        let count = (2 * self.count).saturating_sub(1);
        Self { first: 2.0 * self.first, step_m: 0.5 * self.step_m, count, ..self }
    }

    /// The coordinate at an index, counted from 0.
    pub fn at_m(&self, index: u64) -> f64 {
        self.anchor_m + multiple(self.first + index as f64, self.step_m)
    }

    /// The first and the last coordinate.
    pub fn ends_m(&self) -> [f64; 2] {
        [self.at_m(0), self.at_m(self.count.saturating_sub(1))]
    }

    /// The half-open range of indices whose coordinates lie from `least` to `most`.
    fn within(&self, [least, most]: [f64; 2]) -> [u64; 2] {
        let index = |coordinate: f64| (coordinate - self.anchor_m) / self.step_m - self.first;
        let from = (index(least) - 1e-9).ceil().max(0.0) as u64;
        let to = ((index(most) + 1e-9).floor() + 1.0).clamp(0.0, self.count as f64) as u64;
        [from, to.max(from)]
    }
}

/// `steps` times the step. If 1/step is a whole number, the product is computed as a division: 7 × 0.1 mm is then 0.7
/// mm to the last bit.
fn multiple(steps: f64, step_m: f64) -> f64 {
    let per_metre = (1.0 / step_m).round();
    if 1.0 / per_metre == step_m { steps / per_metre } else { steps * step_m }
}

/// How fine a grid is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Fineness {
    /// All multiples of this step, in m.
    Step(f64),
    /// This number of points along the longest side, centred.
    Points(u64),
    /// The same, with an even number of steps along each side: half as many steps then have the same ends.
    EvenSteps(u64),
    /// All multiples of a round step: the smallest of 1, 2 or 5 times a power of ten that cuts the longest side into at
    /// most this many steps.
    RoundStep(u64),
}

impl Fineness {
    pub(super) fn axes<const N: usize>(self, ranges_m: [[f64; 2]; N]) -> Result<[GridAxis; N]> {
        let longest = ranges_m.iter().map(|[least, most]| most - least).fold(0.0, f64::max);
        match self {
            Self::Step(step_m) if !(step_m > 0.0 && step_m.is_finite()) => {
                Err(Refused::GridStep { step_m }.into())
            }
            Self::Points(0 | 1) | Self::EvenSteps(0 | 1) => Err(Refused::GridOfOnePoint.into()),
            Self::Step(step_m) => Ok(ranges_m.map(|range| GridAxis::of_step(range, step_m))),
            Self::Points(points) => {
                let step_m = longest / (points - 1) as f64;
                Ok(ranges_m.map(|range| GridAxis::centred(range, step_m)))
            }
            Self::EvenSteps(points) => {
                let step_m = longest / (points - 1) as f64;
                Ok(ranges_m.map(|range| GridAxis::centred(range, 2.0 * step_m).halved()))
            }
            Self::RoundStep(points) => {
                let step_m = round_up(longest / points as f64);
                Ok(ranges_m.map(|range| GridAxis::of_step(range, step_m)))
            }
        }
    }
}

/// The smallest number not below `number` that is 1, 2 or 5 times a power of ten.
fn round_up(number: f64) -> f64 {
    let power = 10f64.powf(number.log10().floor());
    let lead = number / power * (1.0 - 1e-9);
    let digit = if lead <= 1.0 {
        1.0
    } else if lead <= 2.0 {
        2.0
    } else if lead <= 5.0 {
        5.0
    } else {
        10.0
    };
    // Dividing by a whole power of ten gives the double nearest to the decimal number; multiplying by 0.1, 0.01, ...
    // may not.
    if power < 1.0 { digit / (1.0 / power).round() } else { digit * power }
}

/// A regular grid of points: a rectangle on a plane, or all points in a ball.
#[derive(Clone, Debug)]
pub struct MapGrid {
    axes: [GridAxis; 3],
    /// Radius and centre of the ball; points outside it are left out. `None` for a rectangle.
    ball: Option<(f64, Vector3<f64>)>,
    points: u64,
}

impl MapGrid {
    /// A grid on a plane on which one coordinate is zero. `zero` is the index of that coordinate; `ranges_m` holds the
    /// ranges of x, y and z.
    ///
    /// # Errors
    /// If the step is not positive and finite, if fewer than two points are wanted, or if the grid has no point or more
    /// than [`MOST_POINTS`].
    pub fn on_plane(zero: usize, ranges_m: [[f64; 2]; 3], fineness: Fineness) -> Result<Self> {
        let flat = GridAxis { anchor_m: 0.0, first: 0.0, first_m: 0.0, step_m: 0.0, count: 1 };
        let others: [usize; 2] = [[1, 2], [0, 2], [0, 1]][zero];
        let found = fineness.axes(others.map(|i| ranges_m[i]))?;
        let mut axes = [flat; 3];
        (axes[others[0]], axes[others[1]]) = (found[0], found[1]);
        Self::new(axes, None)
    }

    /// A grid of the points inside a ball.
    ///
    /// # Errors
    /// If the step is not positive and finite, if fewer than two points are wanted, or if the grid has no point or more
    /// than [`MOST_POINTS`].
    pub fn in_ball(centre_m: Vector3<f64>, radius_m: f64, fineness: Fineness) -> Result<Self> {
        let ranges = [0, 1, 2].map(|i| [centre_m[i] - radius_m, centre_m[i] + radius_m]);
        Self::new(fineness.axes(ranges)?, Some((radius_m, centre_m)))
    }

    fn new(axes: [GridAxis; 3], ball: Option<(f64, Vector3<f64>)>) -> Result<Self> {
        let mut grid = Self { axes, ball, points: 0 };
        let rows = axes[0].count.saturating_mul(axes[1].count);
        let too_many = |points: u64| {
            Refused::TooManyGridPoints { points: (points < u64::MAX).then_some(points), most: MOST_POINTS }
                .into()
        };
        if rows > MOST_POINTS {
            return Err(too_many(rows.saturating_mul(axes[2].count)));
        }
        grid.points = match ball {
            None => rows.saturating_mul(axes[2].count),
            Some(_) => (0..rows).map(|row| grid.run(row)).map(|[from, to]| to - from).sum(),
        };
        if grid.points > MOST_POINTS {
            return Err(too_many(grid.points));
        }
        if grid.points == 0 {
            return Err(Refused::GridOfNoPoint.into());
        }
        Ok(grid)
    }

    /// Number of points.
    pub fn points(&self) -> u64 {
        self.points
    }

    /// The coordinates along x, y and z.
    #[cfg(test)]
    pub(crate) fn axes(&self) -> &[GridAxis; 3] {
        &self.axes
    }

    /// Number of coordinates along x, y and z.
    #[cfg(feature = "paper")]
    pub(super) fn counts(&self) -> [u64; 3] {
        self.axes.map(|axis| axis.count)
    }

    /// The corner with the smallest coordinates.
    #[cfg(feature = "paper")]
    pub(super) fn origin_m(&self) -> [f64; 3] {
        self.axes.map(|axis| axis.first_m)
    }

    /// Distance between neighbouring points along x, y and z.
    #[cfg(feature = "paper")]
    pub(super) fn steps_m(&self) -> [f64; 3] {
        self.axes.map(|axis| axis.step_m)
    }

    /// Lengths of the array that holds the points in the grid's order: rows and columns for a plane, a single length
    /// for a ball.
    #[cfg(feature = "paper")]
    pub(super) fn lengths(&self) -> Vec<u64> {
        let [_, down, along] = self.roles();
        match self.ball {
            Some(_) => vec![self.points],
            None => vec![self.axes[down].count, self.axes[along].count],
        }
    }

    /// The plane of one z: rows run along y, columns along x. Points outside the ball are included.
    #[cfg(feature = "paper")]
    pub(super) fn level(&self, level: u64) -> field::PlaneGrid {
        let [x, y, z] = &self.axes;
        field::PlaneGrid {
            origin_m: Vector3::new(x.first_m, y.first_m, z.at_m(level)),
            column_step_m: Vector3::x() * x.step_m,
            row_step_m: Vector3::y() * y.step_m,
            columns: x.count as usize,
            rows: y.count as usize,
        }
    }

    /// For each point of [`Self::level`], whether it belongs to the grid.
    #[cfg(feature = "paper")]
    pub(super) fn inside(&self, level: u64) -> Vec<bool> {
        let [columns, rows, _] = self.counts();
        let holds = |x: u64, y: u64| {
            let [from, to] = self.run(x * rows + y);
            (from..to).contains(&level)
        };
        (0..rows).flat_map(|y| (0..columns).map(move |x| holds(x, y))).collect()
    }

    /// Indices of three coordinates: the one constant over a block, the one that varies from row to row, and the one
    /// that varies along a row.
    fn roles(&self) -> [usize; 3] {
        match self.axes.map(|axis| axis.count == 1) {
            [_, true, _] => [1, 0, 2],
            [_, _, true] => [2, 0, 1],
            _ => [0, 1, 2],
        }
    }

    /// Cuts the grid into pieces of planes, in the grid's order: x slowest, z fastest. Each piece has about `points`
    /// points, at least one row. The cut does not depend on the number of threads.
    pub(crate) fn blocks(&self, points: u64) -> impl Iterator<Item = Block<'_>> {
        let [constant, down, along] = self.roles();
        let rows = self.axes[down].count;
        let height = (points / self.axes[along].count.max(1)).clamp(1, rows);
        (0..self.axes[constant].count).flat_map(move |level| {
            (0..rows.div_ceil(height)).map(move |i| Block {
                grid: self,
                level,
                rows: [i * height, ((i + 1) * height).min(rows)],
            })
        })
    }

    fn row_at(&self, row: u64) -> [f64; 2] {
        let [x, y, _] = &self.axes;
        [x.at_m(row / y.count), y.at_m(row % y.count)]
    }

    /// The half-open range of indices along z that a row covers.
    fn run(&self, row: u64) -> [u64; 2] {
        let Some((radius, centre)) = self.ball else { return [0, self.axes[2].count] };
        let [x, y] = self.row_at(row);
        let square = radius * radius - (x - centre.x).powi(2) - (y - centre.y).powi(2);
        // A row that touches the ball in one point keeps that point in spite of rounding.
        if square < -1e-9 * radius * radius {
            return [0, 0];
        }
        let half = square.max(0.0).sqrt();
        self.axes[2].within([centre.z - half, centre.z + half])
    }
}

/// A piece of a plane of a grid.
#[derive(Debug)]
pub struct Block<'a> {
    grid: &'a MapGrid,
    level: u64,
    rows: [u64; 2],
}

impl Block<'_> {
    /// The block's whole rectangle, including points outside the ball.
    pub fn plane(&self) -> field::PlaneGrid {
        let [_, down, along] = self.grid.roles();
        let step = |i: usize| Vector3::ith(i, self.grid.axes[i].step_m);
        field::PlaneGrid {
            origin_m: self.point_m(self.rows[0], 0),
            column_step_m: step(along),
            row_step_m: step(down),
            columns: self.grid.axes[along].count as usize,
            rows: (self.rows[1] - self.rows[0]) as usize,
        }
    }

    /// The block's points that belong to the grid, each with its index in the rectangle.
    pub(crate) fn points_m(&self) -> impl Iterator<Item = (usize, Vector3<f64>)> {
        let columns = self.grid.axes[self.grid.roles()[2]].count;
        (self.rows[0]..self.rows[1]).flat_map(move |row| {
            let [from, to] = match self.grid.ball {
                Some(_) => self.grid.run(self.level * self.grid.axes[1].count + row),
                None => [0, columns],
            };
            let first = (row - self.rows[0]) * columns;
            (from..to).map(move |column| ((first + column) as usize, self.point_m(row, column)))
        })
    }

    fn point_m(&self, row: u64, column: u64) -> Vector3<f64> {
        let mut point = Vector3::zeros();
        for (i, index) in self.grid.roles().into_iter().zip([self.level, row, column]) {
            point[i] = self.grid.axes[i].at_m(index);
        }
        point
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn all(grid: &MapGrid) -> Vec<Vector3<f64>> {
        grid.blocks(100)
            .flat_map(|block| block.points_m().map(|(_, point)| point).collect::<Vec<_>>())
            .collect()
    }

    #[test]
    fn a_step_gives_its_multiples_and_the_centre_exactly() {
        let grid = MapGrid::on_plane(1, [[-0.01, 0.01], [0.0; 2], [-0.0055, 0.0055]], Fineness::Step(0.001))
            .unwrap();
        let points = all(&grid);
        assert_eq!(points.len() as u64, grid.points());
        assert_eq!(grid.points(), 21 * 11);
        assert!(points.contains(&Vector3::zeros()));
        assert!(points.iter().all(|p| p.y == 0.0));
        assert_eq!(grid.axes()[0].ends_m(), [-0.01, 0.01]);
        assert_eq!(grid.axes()[2].ends_m(), [-0.005, 0.005]);
    }

    #[test]
    fn a_number_of_points_spans_the_longest_side_end_to_end() {
        let grid =
            MapGrid::on_plane(2, [[-0.03, 0.05], [-0.01, 0.01], [0.0; 2]], Fineness::Points(9)).unwrap();
        let [x, y, z] = grid.axes();
        assert_eq!((x.count, y.count, z.count), (9, 3, 1));
        assert!((x.ends_m()[0] + 0.03).abs() < 1e-15 && (x.ends_m()[1] - 0.05).abs() < 1e-15);
    }

    #[test]
    fn a_ball_holds_exactly_the_multiples_within_its_radius() {
        let centre = Vector3::new(0.001, -0.002, 0.0);
        let grid = MapGrid::in_ball(centre, 0.01, Fineness::Step(0.001)).unwrap();
        let mut wanted = 0;
        for i in -20..=20i32 {
            for j in -20..=20i32 {
                for k in -20..=20i32 {
                    wanted += u64::from((i - 1).pow(2) + (j + 2).pow(2) + k.pow(2) <= 100);
                }
            }
        }
        assert_eq!(grid.points(), wanted);
        let points = all(&grid);
        assert_eq!(points.len() as u64, wanted);
        assert!(points.iter().all(|p| (p - centre).norm() <= 0.01 * (1.0 + 1e-9)));
    }

    #[test]
    fn blocks_follow_each_other_in_the_grids_order_and_are_pieces_of_planes() {
        let planes = [0, 1, 2].map(|zero| {
            MapGrid::on_plane(zero, [[-0.01, 0.01], [-0.02, 0.02], [-0.03, 0.03]], Fineness::Step(0.005))
                .unwrap()
        });
        let ball = MapGrid::in_ball(Vector3::new(0.0, 0.001, 0.0), 0.01, Fineness::Step(0.002)).unwrap();
        for grid in planes.iter().chain([&ball]) {
            let points = all(grid);
            let order = |p: &Vector3<f64>| (p.x, p.y, p.z);
            assert!(points.windows(2).all(|pair| order(&pair[0]) < order(&pair[1])));
            for block in grid.blocks(30) {
                let plane = block.plane();
                for (index, point) in block.points_m() {
                    let same = plane.point(index / plane.columns, index % plane.columns);
                    assert!((point - same).norm() < 1e-16, "{point} {same}");
                }
            }
        }
    }

    #[test]
    fn ten_million_points_pass_and_one_more_row_is_refused_in_words() {
        let side = |points: f64| [[0.0, (points - 1.0) * 1e-4], [0.0; 2], [0.0, 999.0 * 1e-4]];
        assert_eq!(MapGrid::on_plane(1, side(10_000.0), Fineness::Step(1e-4)).unwrap().points(), MOST_POINTS);
        let refused = MapGrid::on_plane(1, side(10_001.0), Fineness::Step(1e-4)).unwrap_err();
        assert_eq!(refused.to_string(), "a grid of 10001000 points is too large: at most 10000000");
        assert!(refused.hint().unwrap().contains("--step"));
        // A step so small that the number of points overflows is refused as well.
        assert!(MapGrid::on_plane(1, side(10.0), Fineness::Step(1e-300)).is_err());
        for step in [0.0, -1e-3, f64::NAN, f64::INFINITY] {
            assert!(MapGrid::on_plane(1, side(10.0), Fineness::Step(step)).is_err(), "{step}");
        }
    }

    #[test]
    fn a_round_step_is_one_two_or_five_of_a_decade_and_no_more_points_than_asked() {
        for (length, wanted) in [(0.4, 2e-3), (0.156, 1e-3), (0.0101, 1e-4), (1.02, 1e-2)] {
            let grid =
                MapGrid::on_plane(1, [[0.0, length], [0.0; 2], [0.0, length]], Fineness::RoundStep(201))
                    .unwrap();
            assert_eq!(grid.axes()[0].step_m, wanted, "{length}");
            assert!(grid.axes()[0].count <= 202);
        }
    }
}
