//! Contour lines of a grid, and the areas that they bound, by marching squares.
//!
//! A line crosses the edges of grid cells where the value passes the level. The crossing on an edge is located with the
//! cubic through the edge's ends and their outer neighbours, so lines are accurate to fourth order in the grid's step.
//! In a cell whose corners alternate, the saddle of the bilinear surface decides which corners are connected. Cells
//! with a NaN corner are skipped.

use std::borrow::Cow;
use std::sync::OnceLock;

/// Number of cells in a row that are skipped together if no line can run through any of them.
const RUN: usize = 16;

/// Values on a regular grid, one row after the other.
#[derive(Clone, Debug)]
pub struct GridValues<'a> {
    values: Cow<'a, [f64]>,
    columns: usize,
    rows: usize,
    /// Smallest and largest value of each run of cells, row by row.
    ranges: Vec<[f64; 2]>,
    /// The same grid with a border of values below every level; made on first use.
    framed: OnceLock<Box<GridValues<'static>>>,
}

/// A contour line; its points are [column, row], whole numbers at grid points.
#[derive(Clone, Debug, PartialEq)]
pub struct ContourLine {
    /// The points in order, with larger values to the left if columns run right and rows run up.
    pub points: Vec<[f64; 2]>,
    /// Whether the last point connects to the first; an open line ends at the border.
    pub closed: bool,
}

impl<'a> GridValues<'a> {
    /// A grid with `columns` columns; `None` if the values do not fill whole rows.
    pub fn new(values: &'a [f64], columns: usize) -> Option<Self> {
        let rows = values.len().checked_div(columns)?;
        (rows * columns == values.len()).then(|| Self::of(Cow::Borrowed(values), columns, rows))
    }

    fn of(values: Cow<'a, [f64]>, columns: usize, rows: usize) -> Self {
        let mut ranges = Vec::new();
        let last = columns.saturating_sub(1);
        for row in 0..rows.saturating_sub(1) {
            for first in (0..last).step_by(RUN) {
                let end = (first + RUN).min(last);
                let corners = [row, row + 1].into_iter().flat_map(|row| {
                    let from = row * columns;
                    &values[from + first..=from + end]
                });
                // `min` and `max` ignore NaN.
                ranges.push(corners.fold([f64::INFINITY, f64::NEG_INFINITY], |[least, most], value| {
                    [least.min(*value), most.max(*value)]
                }));
            }
        }
        Self { values, columns, rows, ranges, framed: OnceLock::new() }
    }

    fn at(&self, column: usize, row: usize) -> f64 {
        self.values[row * self.columns + column]
    }

    /// The lines on which the value is `level`.
    ///
    /// ```
    /// use coilwright::paper::contour::GridValues;
    /// // The distance squared from the middle of an 11 × 11 grid.
    /// let values: Vec<f64> = (0..121)
    ///     .map(|i| ((i % 11) as f64 - 5.0).powi(2) + ((i / 11) as f64 - 5.0).powi(2))
    ///     .collect();
    /// let lines = GridValues::new(&values, 11).unwrap().lines(9.0);
    /// assert!(lines.len() == 1 && lines[0].closed);
    /// let radius = (lines[0].points[0][0] - 5.0).hypot(lines[0].points[0][1] - 5.0);
    /// assert!((radius - 3.0).abs() < 1e-12);
    /// ```
    pub fn lines(&self, level: f64) -> Vec<ContourLine> {
        let mut segments = self.segments(level);
        segments.sort_unstable();
        let next: Vec<Option<usize>> = segments
            .iter()
            .map(|(_, to)| segments.binary_search_by_key(to, |(from, _)| *from).ok())
            .collect();
        let mut led = vec![false; segments.len()];
        next.iter().flatten().for_each(|next| led[*next] = true);
        let mut seen = vec![false; segments.len()];
        let mut lines = Vec::new();
        // Open lines start at a crossing that no segment leads to; all the rest are closed.
        for only_open in [true, false] {
            for start in 0..segments.len() {
                if seen[start] || (only_open && led[start]) {
                    continue;
                }
                let mut points = Vec::new();
                let mut here = Some(start);
                while let Some(segment) = here.filter(|segment| !seen[*segment]) {
                    seen[segment] = true;
                    let (from, to) = segments[segment];
                    points.push(self.crossing(from as usize, level));
                    here = next[segment];
                    if here.is_none() {
                        points.push(self.crossing(to as usize, level));
                    }
                }
                lines.push(ContourLine { points, closed: !only_open });
            }
        }
        lines
    }

    /// The rings that bound the area where the value is at least `level`, including the grid's border. The ring of a
    /// hole runs opposite to the ring outside it.
    pub(crate) fn area_at_least(&self, level: f64) -> Vec<Vec<[f64; 2]>> {
        let framed = self.framed.get_or_init(|| Box::new(self.with_frame()));
        let inward = |[column, row]: [f64; 2]| [column - 1.0, row - 1.0];
        framed
            .lines(level)
            .into_iter()
            .filter(|line| line.closed)
            .map(|line| line.points.into_iter().map(inward).collect())
            .collect()
    }

    /// The grid with a border of values below every level. The border closes each line along the grid's edge.
    fn with_frame(&self) -> GridValues<'static> {
        let columns = self.columns + 2;
        let mut values = vec![f64::NEG_INFINITY; columns * (self.rows + 2)];
        for row in 0..self.rows {
            let from = (row + 1) * columns + 1;
            values[from..from + self.columns]
                .copy_from_slice(&self.values[row * self.columns..(row + 1) * self.columns]);
        }
        GridValues::of(Cow::Owned(values), columns, self.rows + 2)
    }

    /// For each edge that the line crosses, the edge that it crosses next. The number of an edge is twice that of the
    /// grid point at its start, plus one if the edge runs along the column.
    fn segments(&self, level: f64) -> Vec<(u32, u32)> {
        let mut segments = Vec::new();
        let last = self.columns.saturating_sub(1);
        let runs_a_row = last.div_ceil(RUN);
        for (index, [least, most]) in self.ranges.iter().enumerate() {
            if *least >= level || *most < level {
                continue;
            }
            let (row, first) = (index / runs_a_row, index % runs_a_row * RUN);
            for column in first..(first + RUN).min(last) {
                self.segments_of_cell(column, row, level, &mut segments);
            }
        }
        segments
    }

    fn segments_of_cell(&self, column: usize, row: usize, level: f64, segments: &mut Vec<(u32, u32)>) {
        let corners = [
            self.at(column, row),
            self.at(column + 1, row),
            self.at(column + 1, row + 1),
            self.at(column, row + 1),
        ];
        let inside = corners.map(|value| value >= level);
        if inside.iter().all(|i| *i == inside[0]) || corners.iter().any(|value| value.is_nan()) {
            return;
        }
        let number = |column: usize, row: usize, upward: usize| 2 * (row * self.columns + column) + upward;
        let edges = [
            number(column, row, 0),
            number(column + 1, row, 1),
            number(column, row + 1, 0),
            number(column, row, 1),
        ];
        // Going around the cell, the line leads from an edge where the inside ends to an edge where it begins. That is
        // the next such edge if the inside is connected, otherwise the one before.
        let joined = saddle(corners) >= level;
        for leave in (0..4).filter(|i| inside[*i] && !inside[(i + 1) % 4]) {
            let turn = |step: usize| if joined { (leave + step) % 4 } else { (leave + 4 - step) % 4 };
            let entry = (1..4).map(turn).find(|i| !inside[*i] && inside[(i + 1) % 4]);
            if let Some(entry) = entry {
                segments.push((edges[leave] as u32, edges[entry] as u32));
            }
        }
    }

    /// The point at which the line crosses an edge.
    fn crossing(&self, edge: usize, level: f64) -> [f64; 2] {
        let (start, upward) = (edge / 2, edge % 2);
        let (column, row) = (start % self.columns, start / self.columns);
        let (place, count, stride) =
            if upward == 1 { (row, self.rows, self.columns) } else { (column, self.columns, 1) };
        let (low, high) = (self.values[start], self.values[start + stride]);
        let part = if !low.is_finite() {
            1.0
        } else if !high.is_finite() {
            0.0
        } else {
            let outer = |there: bool, index: usize| {
                Some(index).filter(|_| there).map(|i| self.values[i]).filter(|value| value.is_finite())
            };
            let before = outer(place > 0, start.wrapping_sub(stride));
            let after = outer(place + 2 < count, start + 2 * stride);
            part_of_edge(before, low - level, high - level, after, level)
        };
        let mut at = [column as f64, row as f64];
        at[upward] += part;
        at
    }
}

/// The value at the saddle of the bilinear surface through four corners, given in order around the cell.
fn saddle([a, b, c, d]: [f64; 4]) -> f64 {
    (a * c - b * d) / (a + c - b - d)
}

/// The zero between 0 and 1 of the cubic through `low` at 0, `high` at 1 (of opposite sign) and the values beyond them.
/// `before` and `after` are `None` at the grid's border; the polynomial then has a lower degree. Newton's method,
/// started from the chord and kept within its bracket by bisection.
fn part_of_edge(before: Option<f64>, low: f64, high: f64, after: Option<f64>, level: f64) -> f64 {
    // Coefficients of t, t² and t³. The constant term is `low`.
    let straight = high - low;
    let [first, second, third] = match (before, after) {
        (Some(before), Some(after)) => {
            // Newton's form of the cubic through -1, 0, 1 and 2, with half of a second difference and a sixth of the
            // third.
            let (left, right) = (before - level - 2.0 * low + high, low - 2.0 * high + (after - level));
            let third = (right - left) / 6.0;
            let second = 0.5 * left;
            // low + straight t + left/2 t (t − 1) + (right − left)/6 (t + 1) t (t − 1).
            [straight - second - third, second, third]
        }
        (Some(before), None) => {
            let bend = 0.5 * (before - level - 2.0 * low + high);
            [straight - bend, bend, 0.0]
        }
        (None, Some(after)) => {
            let bend = 0.5 * (low - 2.0 * high + after - level);
            [straight - bend, bend, 0.0]
        }
        (None, None) => [straight, 0.0, 0.0],
    };
    let (mut left, mut right) = (0.0, 1.0);
    let mut t = low / (low - high);
    for _ in 0..60 {
        let value = low + t * (first + t * (second + t * third));
        if value == 0.0 || right - left < 1e-15 {
            break;
        }
        if (value < 0.0) == (low < 0.0) {
            left = t;
        } else {
            right = t;
        }
        // A Newton step, or bisection if that step would leave the bracket.
        let slope = first + t * (2.0 * second + t * 3.0 * third);
        let newton = t - value / slope;
        let next = if newton > left && newton < right { newton } else { 0.5 * (left + right) };
        if (next - t).abs() < 1e-14 {
            return next;
        }
        t = next;
    }
    t
}

/// A line through a subset of the points that differs from the given line by at most `tolerance` (Douglas and Peucker).
pub(crate) fn simplified(points: &[[f64; 2]], tolerance: f64) -> Vec<[f64; 2]> {
    if points.len() < 3 {
        return points.to_vec();
    }
    let mut keep = vec![false; points.len()];
    (keep[0], keep[points.len() - 1]) = (true, true);
    let mut spans = vec![(0, points.len() - 1)];
    while let Some((first, last)) = spans.pop() {
        let farthest = (first + 1..last)
            .map(|i| (square_to_segment(points[i], points[first], points[last]), i))
            .max_by(|a, b| a.0.total_cmp(&b.0));
        if let Some((square, i)) = farthest
            && square > tolerance * tolerance
        {
            keep[i] = true;
            spans.extend([(first, i), (i, last)]);
        }
    }
    points.iter().zip(keep).filter(|(_, keep)| *keep).map(|(point, _)| *point).collect()
}

/// Square of the distance from a point to a segment.
fn square_to_segment(point: [f64; 2], from: [f64; 2], to: [f64; 2]) -> f64 {
    let (dx, dy) = (to[0] - from[0], to[1] - from[1]);
    let (px, py) = (point[0] - from[0], point[1] - from[1]);
    let square = dx * dx + dy * dy;
    let part = if square > 0.0 { ((px * dx + py * dy) / square).clamp(0.0, 1.0) } else { 0.0 };
    (px - part * dx).powi(2) + (py - part * dy).powi(2)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn grid(columns: usize, rows: usize, f: impl Fn(f64, f64) -> f64) -> Vec<f64> {
        (0..columns * rows).map(|i| f((i % columns) as f64, (i / columns) as f64)).collect()
    }

    fn area(ring: &[[f64; 2]]) -> f64 {
        (0..ring.len())
            .map(|i| {
                let (a, b) = (ring[i], ring[(i + 1) % ring.len()]);
                0.5 * (a[0] * b[1] - b[0] * a[1])
            })
            .sum()
    }

    #[test]
    fn a_circle_of_a_quadratic_is_one_closed_line_exact_to_rounding() {
        let values = grid(41, 31, |x, y| (x - 20.3).powi(2) + (y - 14.8).powi(2));
        let lines = GridValues::new(&values, 41).unwrap().lines(90.0);
        assert_eq!(lines.len(), 1);
        assert!(lines[0].closed);
        for [x, y] in &lines[0].points {
            let radius = (x - 20.3).hypot(y - 14.8);
            assert!((radius - 90f64.sqrt()).abs() < 1e-12, "{radius}");
        }
    }

    #[test]
    fn crossings_of_a_smooth_field_are_of_fourth_order_in_the_step() {
        // On the level 0.5 of exp(-r²/2), r = √(2 ln 2).
        let error = |step: f64| {
            let half = (2.0 / step) as usize;
            let f = |i: f64, j: f64| {
                let (x, y) = ((i - half as f64) * step, (j - half as f64) * step);
                (-0.5 * (x * x + y * y)).exp()
            };
            let values = grid(2 * half + 1, 2 * half + 1, f);
            let lines = GridValues::new(&values, 2 * half + 1).unwrap().lines(0.5);
            assert_eq!(lines.len(), 1);
            let wanted = (2.0 * 2f64.ln()).sqrt();
            let radius = |p: &[f64; 2]| ((p[0] - half as f64) * step).hypot((p[1] - half as f64) * step);
            lines[0].points.iter().map(|p| (radius(p) - wanted).abs()).fold(0.0, f64::max)
        };
        let (coarse, fine) = (error(0.2), error(0.1));
        assert!(coarse < 2e-4, "{coarse}");
        assert!(coarse / fine > 11.0, "halving the step divides the error by {}", coarse / fine);
    }

    #[test]
    fn at_a_saddle_the_surface_decides_which_corners_hang_together() {
        // f = x y about the middle of a cell. Above the saddle's level the two positive corners are separate.
        let values = grid(2, 2, |x, y| (x - 0.5) * (y - 0.5));
        let grid = GridValues::new(&values, 2).unwrap();
        for (level, same_side) in [(0.01, true), (-0.01, false)] {
            let lines = grid.lines(level);
            assert_eq!(lines.len(), 2, "{level}");
            for line in lines {
                let product = |p: &[f64; 2]| (p[0] - 0.5) + (p[1] - 0.5);
                let sides = line.points.iter().map(product).collect::<Vec<_>>();
                // If the positive corners are separate, each line cuts off one corner of the rising diagonal; if they
                // are connected, one of the falling diagonal.
                assert_eq!(sides[0] * sides[1] > 0.0, same_side, "{line:?}");
            }
        }
    }

    #[test]
    fn larger_values_lie_to_the_left_and_a_ring_with_a_hole_has_its_area() {
        let values = grid(61, 61, |x, y| {
            let r = (x - 30.0).hypot(y - 30.0);
            -(r - 15.0).powi(2)
        });
        let rings = GridValues::new(&values, 61).unwrap().area_at_least(-25.0);
        assert_eq!(rings.len(), 2);
        let areas: Vec<f64> = rings.iter().map(|ring| area(ring)).collect();
        let wanted = std::f64::consts::PI * (400.0 - 100.0);
        assert!((areas.iter().sum::<f64>() / wanted - 1.0).abs() < 2e-3, "{areas:?}");
        assert!(areas.iter().any(|a| *a > 0.0) && areas.iter().any(|a| *a < 0.0));
    }

    #[test]
    fn an_area_that_reaches_the_border_is_closed_along_it() {
        let values = grid(11, 5, |x, _| x);
        let rings = GridValues::new(&values, 11).unwrap().area_at_least(2.5);
        assert_eq!(rings.len(), 1);
        assert!((area(&rings[0]) - 7.5 * 4.0).abs() < 1e-9);
        let lines = GridValues::new(&values, 11).unwrap().lines(2.5);
        assert_eq!(lines.len(), 1);
        assert!(!lines[0].closed && lines[0].points.iter().all(|p| (p[0] - 2.5).abs() < 1e-12));
    }

    #[test]
    fn a_level_that_no_value_passes_and_a_grid_without_cells_have_no_lines() {
        let values = grid(5, 5, |x, y| x + y);
        assert!(GridValues::new(&values, 5).unwrap().lines(100.0).is_empty());
        assert!(GridValues::new(&[1.0, 3.0], 2).unwrap().lines(2.0).is_empty());
        assert!(GridValues::new(&[1.0, 3.0, 2.0], 2).is_none());
        assert!(GridValues::new(&[], 0).is_none());
    }

    #[test]
    fn a_value_that_is_not_a_number_leaves_a_gap_and_no_more() {
        let mut values = grid(9, 9, |x, _| x);
        values[4 * 9 + 4] = f64::NAN;
        let lines = GridValues::new(&values, 9).unwrap().lines(3.5);
        assert_eq!(lines.len(), 2);
        assert!(lines.iter().flat_map(|line| &line.points).all(|p| p.iter().all(|c| c.is_finite())));
    }

    #[test]
    fn a_simplified_line_stays_within_its_tolerance() {
        let wave: Vec<[f64; 2]> = (0..500).map(|i| [i as f64 * 0.1, (i as f64 * 0.02).sin()]).collect();
        let few = simplified(&wave, 1e-3);
        assert!(few.len() < 170, "{}", few.len());
        for point in &wave {
            let nearest = few.windows(2).map(|pair| square_to_segment(*point, pair[0], pair[1]).sqrt());
            assert!(nearest.fold(f64::INFINITY, f64::min) <= 1e-3);
        }
    }

    proptest! {
        #[test]
        fn every_line_closes_or_ends_at_the_border(
            values in prop::collection::vec(-1.0..1.0f64, 56),
            level in -0.9..0.9f64,
        ) {
            let at_border = |p: &[f64; 2]| {
                p[0] == 0.0 || p[0] == 7.0 || p[1] == 0.0 || p[1] == 6.0
            };
            for line in GridValues::new(&values, 8).unwrap().lines(level) {
                if !line.closed {
                    prop_assert!(at_border(&line.points[0]) && at_border(line.points.last().unwrap()));
                }
                for pair in line.points.windows(2) {
                    let step = (pair[0][0] - pair[1][0]).hypot(pair[0][1] - pair[1][1]);
                    prop_assert!(step <= 2f64.sqrt() + 1e-12, "{step}");
                }
            }
            let whole: f64 = GridValues::new(&values, 8).unwrap().area_at_least(-2.0).iter().map(|r| area(r)).sum();
            prop_assert!((whole - 42.0).abs() < 1e-9);
        }
    }
}
