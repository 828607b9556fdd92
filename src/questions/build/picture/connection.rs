//! A small picture for the winding sheet: how a coil is wound and how the two coils are connected.

use crate::pair::Connection;
use crate::paper::Anchor;
use crate::paper::drawing::{Drawing, LETTERS, Line, Point, SMALL};
use crate::questions::build::BuildPapers;
use std::f64::consts::PI;

/// Size of the picture, mm.
const SIZE: Point = [180.0, 56.0];

/// The picture as an SVG element. It is not to scale.
pub(crate) fn svg(record: &BuildPapers) -> String {
    let mut drawing = Drawing::new(SIZE, "Marked face with start and finish, and the coils connected");
    marked_face(&mut drawing, [30.0, 29.0]);
    layers(&mut drawing, [66.0, 14.0]);
    match record.connection {
        Connection::Series => series(&mut drawing, [128.0, 28.0]),
        Connection::Parallel => parallel(&mut drawing, [128.0, 28.0]),
    }
    drawing.svg()
}

/// Draws the marked face: the wire runs counter-clockwise from S to F.
fn marked_face(drawing: &mut Drawing, centre: Point) {
    // F leaves a little beyond S, as in the drawing of the former.
    const TURNS: f64 = 2.06;
    drawing.circle(centre, 21.0, Line::Visible);
    drawing.circle(centre, 8.5, Line::Visible);
    let at = |radius: f64, angle: f64| [centre[0] + radius * angle.cos(), centre[1] - radius * angle.sin()];
    let start = -0.6 * PI;
    let steps = 90;
    let spiral = |step: i32| {
        let part = f64::from(step) / f64::from(steps);
        at(11.5 + 6.0 * part, start + TURNS * 2.0 * PI * part)
    };
    let points: Vec<Point> = (0..=steps).map(spiral).collect();
    drawing.line(&points, Line::Narrow);
    let (before, after) = (points[30], points[31]);
    drawing.arrowhead(after, [after[0] - before[0], after[1] - before[1]]);
    drawing.dot(points[0], 1.0);
    let inside = at(5.0, start);
    drawing.text([inside[0], inside[1] + 1.0], LETTERS, Anchor::Middle, "S");
    let finish = points[points.len() - 1];
    drawing.line(&[finish, [finish[0] + 2.0, finish[1] + 6.5]], Line::Narrow);
    drawing.text([finish[0] + 5.0, finish[1] + 8.5], LETTERS, Anchor::Middle, "F");
    drawing.text([centre[0], 5.5], SMALL, Anchor::Middle, "marked face, +z towards you");
}

/// Draws the channel from the side: layers alternate in direction.
fn layers(drawing: &mut Drawing, [x, y]: Point) {
    let (width, pitch) = (22.0, 5.0);
    drawing.text([x + 0.5 * width, 5.5], SMALL, Anchor::Middle, "layers to and fro");
    for wall in [x - 2.0, x + width] {
        drawing.rectangle([wall, y], [2.0, 30.0], Line::Visible);
    }
    drawing.line(&[[x, y + 30.0], [x + width, y + 30.0]], Line::Visible);
    for layer in 0..4 {
        let at = y + 27.0 - pitch * f64::from(layer);
        let (from, to) = if layer % 2 == 0 { (x + 3.0, x + width - 3.0) } else { (x + width - 3.0, x + 3.0) };
        drawing.line(&[[from, at], [to, at]], Line::Narrow);
        drawing.arrowhead([to, at], [to - from, 0.0]);
        drawing.text([x - 4.0, at + 1.0], SMALL, Anchor::End, &(layer + 1).to_string());
    }
    drawing.text([x - 1.0, y + 35.0], SMALL, Anchor::Middle, "M");
    drawing.dot([x + 3.0, y + 27.0], 0.8);
    drawing.text([x + 0.5 * width, y + 39.0], SMALL, Anchor::Middle, "M: marked flange");
}

/// Draws a coil as a box, with the dot and S at the top and F at the bottom.
fn coil(drawing: &mut Drawing, [x, y]: Point, name: &str) {
    drawing.rectangle([x - 7.0, y - 7.0], [14.0, 14.0], Line::Visible);
    drawing.text([x, y + 1.4], LETTERS, Anchor::Middle, name);
    drawing.dot([x - 4.6, y - 4.6], 1.0);
    drawing.text([x - 3.0, y - 8.6], SMALL, Anchor::End, "S");
    drawing.text([x - 3.0, y + 11.4], SMALL, Anchor::End, "F");
}

fn terminal(drawing: &mut Drawing, at: Point, name: &str) {
    drawing.disc(at, 1.0);
    drawing.text([at[0] - 3.0, at[1] + 1.2], LETTERS, Anchor::End, name);
}

fn series(drawing: &mut Drawing, [x, y]: Point) {
    let [a, b] = [[x - 6.0, y], [x + 26.0, y]];
    drawing.text([x + 10.0, 5.5], SMALL, Anchor::Middle, "in series, fields adding");
    let (top, low) = (y - 16.0, y + 18.0);
    drawing.line(&[[x - 24.0, top], [a[0], top], [a[0], y - 7.0]], Line::Visible);
    drawing.line(
        &[
            [a[0], y + 7.0],
            [a[0], y + 13.0],
            [x + 10.0, y + 13.0],
            [x + 10.0, top],
            [b[0], top],
            [b[0], y - 7.0],
        ],
        Line::Visible,
    );
    drawing.line(&[[b[0], y + 7.0], [b[0], low], [x - 24.0, low]], Line::Visible);
    finish(drawing, [a, b], [[x - 24.0, top], [x - 24.0, low]]);
}

fn parallel(drawing: &mut Drawing, [x, y]: Point) {
    let [a, b] = [[x - 6.0, y], [x + 26.0, y]];
    drawing.text([x + 10.0, 5.5], SMALL, Anchor::Middle, "in parallel, fields adding");
    let (top, low) = (y - 16.0, y + 18.0);
    for at in [a, b] {
        drawing.line(&[[x - 24.0, top], [at[0], top], [at[0], y - 7.0]], Line::Visible);
        drawing.line(&[[at[0], y + 7.0], [at[0], low], [x - 24.0, low]], Line::Visible);
    }
    for at in [top, low] {
        drawing.dot([a[0], at], 0.9);
    }
    finish(drawing, [a, b], [[x - 24.0, top], [x - 24.0, low]]);
}

fn finish(drawing: &mut Drawing, [a, b]: [Point; 2], [plus, minus]: [Point; 2]) {
    coil(drawing, a, "a");
    coil(drawing, b, "b");
    terminal(drawing, plus, "+");
    terminal(drawing, minus, "−");
}
