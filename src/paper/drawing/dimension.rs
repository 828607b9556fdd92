//! Dimensions on a technical drawing: projection lines, dimension lines with filled arrowheads of 15°, and figures
//! above the line.
//!
//! As in ISO 129-1:2018, values stand above the dimension line and are read from the bottom or, on vertical lines, from
//! the right (read at ulstandardspdf.com/iso-129-1-2018-pdf-free.html). Projection lines touch the outline and extend a
//! little beyond the dimension line. If there is no room between them, the arrows stand outside.

use super::{Drawing, LETTERS, Line, Point, text_width};
use crate::paper::mark::Anchor;

/// Length of an arrowhead, mm.
const ARROW: f64 = 3.0;
/// Half the width of an arrowhead, mm: tan(15°/2) of its length.
const ARROW_HALF: f64 = 0.394_957;
/// Length by which projection lines extend beyond the dimension line, mm.
const BEYOND: f64 = 2.0;
/// Distance of figures above their line, mm.
const ABOVE: f64 = 1.0;

impl Drawing {
    /// Draws a filled arrowhead with its tip at a place, pointing along a direction.
    pub(crate) fn arrowhead(&mut self, [x, y]: Point, [right, down]: Point) {
        let size = right.hypot(down);
        if size <= 0.0 {
            return;
        }
        let (right, down) = (right / size, down / size);
        let back = [x - ARROW * right, y - ARROW * down];
        self.filled(&[
            [x, y],
            [back[0] - ARROW_HALF * down, back[1] + ARROW_HALF * right],
            [back[0] + ARROW_HALF * down, back[1] - ARROW_HALF * right],
        ]);
    }

    /// Dimensions a width from one place to another along x. Its line is at y = `at`.
    pub(crate) fn dimension_across(&mut self, from: Point, to: Point, at: f64, figure: &str) {
        let (left, right) = if from[0] <= to[0] { (from, to) } else { (to, from) };
        for end in [left, right] {
            let beyond = if at >= end[1] { BEYOND } else { -BEYOND };
            self.line(&[end, [end[0], at + beyond]], Line::Narrow);
        }
        let (width, room) = (text_width(figure, LETTERS), right[0] - left[0]);
        if room >= 2.0 * ARROW + 1.0 {
            self.line(&[[left[0], at], [right[0], at]], Line::Narrow);
            self.arrowhead([left[0], at], [-1.0, 0.0]);
            self.arrowhead([right[0], at], [1.0, 0.0]);
        } else {
            self.line(&[[left[0] - 2.5 * ARROW, at], [right[0] + 2.5 * ARROW, at]], Line::Narrow);
            self.arrowhead([left[0], at], [1.0, 0.0]);
            self.arrowhead([right[0], at], [-1.0, 0.0]);
        }
        if room >= width + 1.0 && room >= 2.0 * ARROW + 1.0 {
            self.text([0.5 * (left[0] + right[0]), at - ABOVE], LETTERS, Anchor::Middle, figure);
        } else {
            // The figure stands beside the right arrow, on the extended line.
            let start = right[0] + 2.5 * ARROW;
            self.line(&[[right[0], at], [start + width + 1.0, at]], Line::Narrow);
            self.text([start, at - ABOVE], LETTERS, Anchor::Start, figure);
        }
    }

    /// Dimensions a height from one place to another along y. Its line is at x = `at`, and the figure is read from the
    /// right. Returns the y of its lower end.
    pub(crate) fn dimension_down(&mut self, from: Point, to: Point, at: f64, figure: &str) -> f64 {
        let (top, bottom) = if from[1] <= to[1] { (from, to) } else { (to, from) };
        for end in [top, bottom] {
            let beyond = if at >= end[0] { BEYOND } else { -BEYOND };
            self.line(&[end, [at + beyond, end[1]]], Line::Narrow);
        }
        let (width, room) = (text_width(figure, LETTERS), bottom[1] - top[1]);
        if room >= 2.0 * ARROW + 1.0 {
            self.line(&[[at, top[1]], [at, bottom[1]]], Line::Narrow);
            self.arrowhead([at, top[1]], [0.0, -1.0]);
            self.arrowhead([at, bottom[1]], [0.0, 1.0]);
        } else {
            self.line(&[[at, top[1] - 2.5 * ARROW], [at, bottom[1] + 2.5 * ARROW]], Line::Narrow);
            self.arrowhead([at, top[1]], [0.0, 1.0]);
            self.arrowhead([at, bottom[1]], [0.0, -1.0]);
        }
        if room >= width + 1.0 && room >= 2.0 * ARROW + 1.0 {
            self.upright([at - ABOVE, 0.5 * (top[1] + bottom[1])], LETTERS, Anchor::Middle, figure);
            bottom[1]
        } else {
            // The figure stands below the lower arrow, on the extended line.
            let head = bottom[1] + 2.5 * ARROW;
            self.line(&[[at, bottom[1]], [at, head + width + 1.0]], Line::Narrow);
            self.upright([at - ABOVE, head + width], LETTERS, Anchor::Start, figure);
            head + width + 1.0
        }
    }

    /// Draws a leader from words to a place. The words stand on a horizontal line that runs away from the place.
    pub(crate) fn leader(&mut self, to: Point, knee: Point, words: &str, size: f64) {
        let width = text_width(words, size) + 1.0;
        let sign = if knee[0] >= to[0] { 1.0 } else { -1.0 };
        self.line(&[to, knee, [knee[0] + sign * width, knee[1]]], Line::Narrow);
        self.arrowhead(to, [to[0] - knee[0], to[1] - knee[1]]);
        self.text(at_knee(to, knee, words, size), size, Anchor::Start, words);
    }

    /// Draws a leader whose knee is the first of these at which the words stand clear of all texts written before.
    pub(crate) fn clear_leader(&mut self, to: Point, knees: impl Iterator<Item = Point>, words: &str) {
        let mut knees = knees.peekable();
        let Some(first) = knees.peek().copied() else { return };
        let is_clear = |knee: &Point| {
            let at = at_knee(to, *knee, words, LETTERS);
            self.has_room(at, LETTERS, Anchor::Start, words)
        };
        let knee = knees.find(is_clear).unwrap_or(first);
        self.leader(to, knee, words, LETTERS);
    }
}

/// How far below a height too low for its figure the figure ends; `None` if it stands within.
pub(crate) fn figure_below(height: f64, figure: &str) -> Option<f64> {
    let width = text_width(figure, LETTERS);
    let has_room = height >= width + 1.0 && height >= 2.0 * ARROW + 1.0;
    (!has_room).then_some(2.5 * ARROW + width + 1.0)
}

/// Where the words of a leader begin.
fn at_knee(to: Point, knee: Point, words: &str, size: f64) -> Point {
    let left = match knee[0] >= to[0] {
        true => knee[0] + 0.5,
        false => knee[0] - text_width(words, size) - 0.5,
    };
    [left, knee[1] - ABOVE]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_arrowhead_has_an_angle_of_15_degrees() {
        assert!((2.0 * (ARROW_HALF / ARROW).atan().to_degrees() - 15.0).abs() < 1e-3);
    }

    #[test]
    fn figures_stand_above_their_line_and_are_read_from_the_bottom_or_the_right() {
        let mut drawing = Drawing::new([100.0, 100.0], "");
        drawing.dimension_across([10.0, 50.0], [60.0, 50.0], 30.0, "50");
        let svg = drawing.svg();
        assert!(svg.contains("<text x=\"35\" y=\"29\"") && svg.contains(">50</text>"), "{svg}");
        let mut drawing = Drawing::new([100.0, 100.0], "");
        drawing.dimension_down([50.0, 10.0], [50.0, 60.0], 70.0, "Ø50");
        assert!(
            drawing.svg().contains("<text x=\"69\" y=\"35\"") && drawing.svg().contains("rotate(-90 69 35)")
        );
    }

    #[test]
    fn where_there_is_no_room_arrows_and_figure_stand_outside() {
        let mut drawing = Drawing::new([100.0, 100.0], "");
        drawing.dimension_across([10.0, 50.0], [14.0, 50.0], 30.0, "4");
        let svg = drawing.svg();
        // The left arrow comes from the left and points right.
        assert!(svg.contains("M 10 30 L 7 "), "{svg}");
        assert!(svg.contains("<text x=\"21.5\" y=\"29\""), "{svg}");
    }
}
