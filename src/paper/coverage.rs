//! How much of each pixel a shape covers, as runs of equal coverage.
//!
//! Every edge adds, row by row, the area to its right within each pixel it passes; the running sum along a row is the
//! coverage. Only pixels that an edge passes cost anything; the stretches between them come out as one run.

use super::mark::Place;

/// Rows and columns of pixels.
#[derive(Clone, Copy, Debug)]
pub(super) struct Size {
    pub columns: usize,
    pub rows: usize,
}

/// A change of the running sum from one column of a row on.
#[derive(Clone, Copy, Debug)]
struct Change {
    column: u32,
    by: f64,
}

/// Edges gathered row by row.
pub(super) struct Coverage {
    size: Size,
    first_row: usize,
    rows: Vec<Vec<Change>>,
}

impl Coverage {
    /// Of the area that rings wind round, in pixels; what lies off the sheet is drawn in to its edge.
    pub fn of(rings: &[Vec<Place>], size: Size) -> Self {
        let on_sheet = |[x, y]: Place| [x.clamp(0.0, size.columns as f64), y.clamp(0.0, size.rows as f64)];
        let (mut top, mut bottom) = (f64::INFINITY, 0.0_f64);
        for [_, y] in rings.iter().flatten().map(|place| on_sheet(*place)) {
            (top, bottom) = (top.min(y), bottom.max(y));
        }
        let first_row = if top < bottom { top as usize } else { 0 };
        let count = if top < bottom { bottom.ceil() as usize - first_row } else { 0 };
        let mut coverage = Self { size, first_row, rows: vec![Vec::new(); count] };
        if count > 0 {
            for ring in rings {
                let corners = ring.iter().map(|place| on_sheet(*place));
                let followers = corners.clone().cycle().skip(1);
                corners.zip(followers).for_each(|(from, to)| coverage.edge(from, to));
            }
        }
        coverage
    }

    fn edge(&mut self, from: Place, to: Place) {
        if from[1] == to[1] {
            return;
        }
        let (sign, [x0, y0], [x1, y1]) = if from[1] < to[1] { (1.0, from, to) } else { (-1.0, to, from) };
        let slope = (x1 - x0) / (y1 - y0);
        let mut x = x0;
        for row in y0 as usize..(y1.ceil() as usize).min(self.size.rows) {
            let bottom = (row as f64 + 1.0).min(y1);
            let height = bottom - (row as f64).max(y0);
            let next = if bottom == y1 { x1 } else { x + slope * height };
            self.piece(row, sign * height, x.min(next), x.max(next));
            x = next;
        }
    }

    /// A piece of an edge within one row: signed height, and where it begins and ends.
    fn piece(&mut self, row: usize, height: f64, left: f64, right: f64) {
        let changes = &mut self.rows[row - self.first_row];
        let mut change = |column: usize, by: f64| changes.push(Change { column: column as u32, by });
        let (first, last) = (left as usize, (right.ceil() as usize).max(left as usize + 1));
        if last == first + 1 {
            // Within one pixel: the mean place along it decides how much lies to the right.
            let within = 0.5 * (left + right) - first as f64;
            change(first, height * (1.0 - within));
            change(first + 1, height * within);
            return;
        }
        // Through several: what has passed to the left of each pixel's end, integrated.
        let per_column = height / (right - left);
        let covered = |end: f64| {
            // ∫ over x up to `end` of the share of the height that the piece has gained there.
            let end = end.clamp(left, right);
            0.5 * per_column * (end - left) * (end - left)
        };
        let mut before = 0.0;
        let mut so_far = 0.0;
        for column in first..last {
            let end = column as f64 + 1.0;
            let area = covered(end) - so_far + height * (end - right).max(0.0);
            so_far = covered(end);
            change(column, area - before);
            before = area;
        }
        change(last, height - before);
    }

    /// The runs of pixels covered in parts from 0 to 1: row, columns and coverage.
    pub fn for_each_run(mut self, mut paint: impl FnMut(usize, std::ops::Range<usize>, f64)) {
        for (row, changes) in self.rows.iter_mut().enumerate() {
            changes.sort_unstable_by_key(|change| change.column);
            let mut sum = 0.0;
            let mut at = 0;
            while at < changes.len() {
                let column = changes[at].column as usize;
                while at < changes.len() && changes[at].column as usize == column {
                    sum += changes[at].by;
                    at += 1;
                }
                let end = changes.get(at).map_or(self.size.columns, |next| next.column as usize);
                let end = end.min(self.size.columns);
                let coverage = f64::min(f64::abs(sum), 1.0);
                if column < end && coverage > 0.0 {
                    paint(self.first_row + row, column..end, coverage);
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const SIZE: Size = Size { columns: 40, rows: 30 };

    /// The coverage of every pixel.
    fn pixels(rings: &[Vec<Place>]) -> Vec<f64> {
        let mut pixels = vec![0.0; SIZE.columns * SIZE.rows];
        Coverage::of(rings, SIZE).for_each_run(|row, columns, coverage| {
            columns.for_each(|column| pixels[row * SIZE.columns + column] = coverage);
        });
        pixels
    }

    #[test]
    fn a_rectangle_between_pixels_covers_their_parts() {
        let rectangle = vec![[2.25, 3.5], [5.5, 3.5], [5.5, 6.25], [2.25, 6.25]];
        let pixels = pixels(&[rectangle]);
        let at = |column: usize, row: usize| pixels[row * SIZE.columns + column];
        for (column, row, wanted) in [
            (2, 3, 0.375),
            (3, 3, 0.5),
            (5, 3, 0.25),
            (2, 4, 0.75),
            (4, 5, 1.0),
            (5, 6, 0.125),
            (6, 4, 0.0),
            (1, 4, 0.0),
        ] {
            assert!((at(column, row) - wanted).abs() < 1e-12, "{column}, {row}: {}", at(column, row));
        }
    }

    #[test]
    fn a_turned_shape_with_a_hole_covers_its_area() {
        let ring = |radius: f64, backwards: bool| -> Vec<Place> {
            (0..200)
                .map(|i| {
                    let angle = std::f64::consts::TAU * f64::from(i) / 200.0;
                    let angle = if backwards { -angle } else { angle };
                    [18.3 + radius * angle.cos(), 14.7 + radius * angle.sin()]
                })
                .collect()
        };
        let covered: f64 = pixels(&[ring(12.0, false), ring(5.0, true)]).iter().sum();
        let polygon = |radius: f64| 100.0 * radius * radius * (std::f64::consts::TAU / 200.0).sin();
        assert!((covered - polygon(12.0) + polygon(5.0)).abs() < 1e-9, "{covered}");
    }

    #[test]
    fn a_flat_edge_through_many_pixels_covers_a_triangles_part_of_each() {
        // From (1, 1) to (31, 4): under the line, the area to the right edge of each row's pixels.
        let pixels = pixels(&[vec![[1.0, 1.0], [31.0, 4.0], [1.0, 4.0]]]);
        let covered: f64 = pixels.iter().sum();
        assert!((covered - 45.0).abs() < 1e-9, "{covered}");
        assert!(pixels.iter().all(|coverage| (0.0..=1.0).contains(coverage)));
        // The pixel at column 5, row 1: the line runs from 0.4 to 0.5 of its height.
        assert!((pixels[SIZE.columns + 5] - 0.55).abs() < 1e-12, "{}", pixels[SIZE.columns + 5]);
    }

    #[test]
    fn what_lies_off_the_sheet_is_left_out() {
        let pixels = pixels(&[vec![[-50.0, -50.0], [500.0, -50.0], [500.0, 500.0], [-50.0, 500.0]]]);
        assert!(pixels.iter().all(|coverage| (*coverage - 1.0).abs() < 1e-12));
        let off: f64 = crate::paper::coverage::tests::pixels(&[vec![[50.0, 5.0], [60.0, 5.0], [60.0, 9.0]]])
            .iter()
            .sum();
        assert_eq!(off, 0.0);
    }
}
