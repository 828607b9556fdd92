//! Prepares lines for drawing: paths, dash patterns, and the pieces of dashed lines.

use super::mark::{Place, Stroke};
use tiny_skia::{Path, PathBuilder, PathSegment, StrokeDash};

/// Adds a line or a ring to a path.
pub(super) fn add(path: &mut PathBuilder, points: &[Place], closed: bool) {
    let mut points = points.iter().map(|place| place.map(|c| c as f32));
    if let Some([x, y]) = points.next() {
        path.move_to(x, y);
        points.for_each(|[x, y]| path.line_to(x, y));
        if closed {
            path.close();
        }
    }
}

/// A line as a path. `None` if it has no extent.
pub(super) fn path(points: &[Place], closed: bool) -> Option<Path> {
    let mut path = PathBuilder::new();
    add(&mut path, points, closed);
    path.finish()
}

impl Stroke {
    /// Lengths drawn and left out in turn, in points. Empty for an unbroken line.
    pub(super) fn dash_lengths(&self) -> Vec<f64> {
        // On thin lines the dashes stay long enough to differ from dots.
        let unit = self.width.max(0.9);
        self.dash.pattern().iter().map(|length| length * unit).collect()
    }
}

/// The dash pattern in points. `None` for an unbroken line.
pub(super) fn pattern(stroke: &Stroke) -> Option<StrokeDash> {
    StrokeDash::new(stroke.dash_lengths().into_iter().map(|length| length as f32).collect(), 0.0)
}

/// The pieces of a line after its dash pattern is applied.
pub(super) fn dashes(points: &[Place], stroke: &Stroke) -> Vec<Vec<Place>> {
    let Some(pattern) = pattern(stroke) else { return vec![points.to_vec()] };
    let Some(dashed) = path(points, false).and_then(|path| path.dash(&pattern, 1.0)) else {
        return Vec::new();
    };
    let mut pieces: Vec<Vec<Place>> = Vec::new();
    for segment in dashed.segments() {
        match segment {
            PathSegment::MoveTo(at) => pieces.push(vec![[f64::from(at.x), f64::from(at.y)]]),
            PathSegment::LineTo(at) => {
                if let Some(piece) = pieces.last_mut() {
                    piece.push([f64::from(at.x), f64::from(at.y)]);
                }
            }
            // Lines are polygons, so a dashed one has no curves and is not closed.
            PathSegment::QuadTo(..) | PathSegment::CubicTo(..) | PathSegment::Close => {}
        }
    }
    pieces
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::paper::palette::INK;

    #[test]
    fn dashes_cover_their_share_of_the_line() {
        let stroke = Stroke::dashed(INK, 2.0);
        let pieces = dashes(&[[0.0, 0.0], [300.0, 0.0], [300.0, 420.0]], &stroke);
        let length = |a: Place, b: Place| (a[0] - b[0]).hypot(a[1] - b[1]);
        let covered: f64 =
            pieces.iter().flat_map(|piece| piece.windows(2)).map(|pair| length(pair[0], pair[1])).sum();
        assert!((covered / 720.0 - 4.0 / 7.2).abs() < 1e-5, "{covered}");
    }

    #[test]
    fn a_dash_goes_round_a_corner_and_an_unbroken_line_is_one_piece() {
        let corner = [[0.0, 0.0], [5.0, 0.0], [5.0, 40.0]];
        assert_eq!(dashes(&corner, &Stroke::dashed(INK, 2.0))[0], [[0.0, 0.0], [5.0, 0.0], [5.0, 3.0]]);
        assert_eq!(dashes(&corner, &Stroke::solid(INK, 2.0)), [corner.to_vec()]);
    }
}
