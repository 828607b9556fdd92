//! Hatching of cut areas by narrow lines at 45°, which run the other way in the adjacent part (ISO 128-3).

use super::{Drawing, Line, Point};

impl Drawing {
    /// Hatches the area within rings; holes follow from the even-odd rule. `rising` lines run up to the right.
    pub(crate) fn hatch(&mut self, rings: &[Vec<Point>], spacing: f64, rising: bool) {
        for [from, to] in hatching(rings, spacing, rising) {
            self.line(&[from, to], Line::Narrow);
        }
    }
}

/// The strokes that hatch an area.
fn hatching(rings: &[Vec<Point>], spacing: f64, rising: bool) -> Vec<[Point; 2]> {
    // Coordinates across and along the lines at 45°.
    let sign = if rising { 1.0 } else { -1.0 };
    let across = |[x, y]: Point| (x + sign * y) / 2f64.sqrt();
    let along = |[x, y]: Point| (x - sign * y) / 2f64.sqrt();
    let place =
        |across: f64, along: f64| [(across + along) / 2f64.sqrt(), sign * (across - along) / 2f64.sqrt()];
    let all = || rings.iter().flatten().map(|point| across(*point));
    let (least, most) = (all().fold(f64::INFINITY, f64::min), all().fold(f64::NEG_INFINITY, f64::max));
    if !(spacing > 0.0 && least.is_finite() && most.is_finite()) {
        return Vec::new();
    }
    let mut strokes = Vec::new();
    let first = (least / spacing).floor() as i64;
    let last = (most / spacing).ceil() as i64;
    for step in first..=last {
        // The offset of half a step keeps the lines off the corners of round dimensions.
        let at = (step as f64 + 0.5) * spacing;
        let mut crossings: Vec<f64> = Vec::new();
        for ring in rings {
            for (from, to) in ring.iter().zip(ring.iter().cycle().skip(1)) {
                let (one, other) = (across(*from) - at, across(*to) - at);
                if (one < 0.0) != (other < 0.0) {
                    crossings.push(along(*from) + (along(*to) - along(*from)) * one / (one - other));
                }
            }
        }
        crossings.sort_by(f64::total_cmp);
        strokes.extend(crossings.chunks_exact(2).map(|ends| [place(at, ends[0]), place(at, ends[1])]));
    }
    strokes
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn strokes_lie_within_the_area_and_outside_its_hole() {
        let square = |from: f64, to: f64| vec![[from, from], [to, from], [to, to], [from, to]];
        let rings = [square(0.0, 10.0), square(4.0, 6.0)];
        for rising in [true, false] {
            let strokes = hatching(&rings, 0.7, rising);
            // The strokes' length times their spacing is about the area.
            let length: f64 = strokes.iter().map(|[from, to]| (to[0] - from[0]).hypot(to[1] - from[1])).sum();
            assert!((0.7 * length - 96.0).abs() < 3.0, "{length}");
            for [from, to] in strokes {
                let middle = [0.5 * (from[0] + to[0]), 0.5 * (from[1] + to[1])];
                assert!(middle.iter().all(|c| (0.0..=10.0).contains(c)));
                assert!(!middle.iter().all(|c| (4.0..=6.0).contains(c)));
                assert!(((to[0] - from[0]).abs() - (to[1] - from[1]).abs()).abs() < 1e-9, "45°");
                // Up to the right on paper is down in y.
                assert_eq!((to[0] - from[0]) * (to[1] - from[1]) < 0.0, rising);
            }
        }
    }

    #[test]
    fn nothing_is_hatched_without_an_area_or_a_spacing() {
        assert!(hatching(&[], 1.0, true).is_empty());
        assert!(hatching(&[vec![[0.0, 0.0], [1.0, 0.0], [1.0, 1.0]]], 0.0, true).is_empty());
    }
}
