//! Lines as shapes: dashes, and the ring round a stroke.

use super::mark::{Dash, Place, Stroke};

/// The pieces of a line that its dash pattern leaves.
pub(super) fn dashes(points: &[Place], stroke: &Stroke) -> Vec<Vec<Place>> {
    if stroke.dash == Dash::Solid {
        return vec![points.to_vec()];
    }
    // Thin lines keep dashes that can still be told from dots.
    let unit = stroke.width.max(0.9);
    let pattern: Vec<f64> = stroke.dash.pattern().iter().map(|length| length * unit).collect();
    let mut pieces = Vec::new();
    let mut piece = vec![points[0]];
    let (mut step, mut left) = (0, pattern[0]);
    for pair in points.windows(2) {
        let [from, to] = [pair[0], pair[1]];
        let length = (to[0] - from[0]).hypot(to[1] - from[1]);
        let mut done = 0.0;
        while length - done > left {
            done += left;
            let part = done / length;
            let at = [from[0] + part * (to[0] - from[0]), from[1] + part * (to[1] - from[1])];
            if step % 2 == 0 {
                piece.push(at);
                pieces.push(std::mem::take(&mut piece));
            } else {
                piece = vec![at];
            }
            step = (step + 1) % pattern.len();
            left = pattern[step];
        }
        left -= length - done;
        if step % 2 == 0 {
            piece.push(to);
        }
    }
    if step % 2 == 0 && piece.len() > 1 {
        pieces.push(piece);
    }
    pieces
}

/// The ring that bounds a stroke of some width with round ends and round outer corners; two rings where it closes.
pub(super) fn rings(points: &[Place], width: f64) -> Vec<Vec<Place>> {
    let mut path: Vec<Place> = Vec::with_capacity(points.len());
    for &point in points {
        if path.last().is_none_or(|last| distance(*last, point) > 1e-3) {
            path.push(point);
        }
    }
    let half = 0.5 * width;
    match path[..] {
        [] => Vec::new(),
        [only] => vec![super::mark::circle(only, half)],
        _ if path.len() > 3 && distance(path[0], path[path.len() - 1]) <= 1e-3 => {
            path.pop();
            let backwards: Vec<Place> = path.iter().rev().copied().collect();
            vec![side(&path, half, true), side(&backwards, half, true)]
        }
        _ => {
            let mut ring = side(&path, half, false);
            path.reverse();
            ring.extend(side(&path, half, false));
            vec![ring]
        }
    }
}

fn distance(a: Place, b: Place) -> f64 {
    (a[0] - b[0]).hypot(a[1] - b[1])
}

/// The line that runs beside a path on its left, half a width away; an open one begins with the round cap at its start.
fn side(path: &[Place], half: f64, closed: bool) -> Vec<Place> {
    let count = path.len();
    let normal = |from: Place, to: Place| {
        let length = distance(from, to);
        [(to[1] - from[1]) / length, -(to[0] - from[0]) / length]
    };
    let mut out = Vec::with_capacity(count + 8);
    if !closed {
        let [x, y] = normal(path[0], path[1]);
        arc(&mut out, path[0], [-x, -y], [x, y], half);
    }
    let corners = if closed { 0..count } else { 1..count - 1 };
    for i in corners {
        let here = path[i];
        let before = normal(path[(i + count - 1) % count], here);
        let after = normal(here, path[(i + 1) % count]);
        let cross = before[0] * after[1] - before[1] * after[0];
        let dot = before[0] * after[0] + before[1] * after[1];
        if cross > 0.05 || dot < -0.9 {
            arc(&mut out, here, before, after, half);
        } else {
            // The bisector, as long as a mitre but never longer than a sharp inner corner allows.
            let reach = half / (0.5 * (1.0 + dot)).max(0.1).sqrt();
            let sum = [before[0] + after[0], before[1] + after[1]];
            let length = sum[0].hypot(sum[1]).max(1e-9);
            out.push([here[0] + reach * sum[0] / length, here[1] + reach * sum[1] / length]);
        }
    }
    if !closed {
        let [x, y] = normal(path[count - 2], path[count - 1]);
        out.push([path[count - 1][0] + half * x, path[count - 1][1] + half * y]);
    }
    out
}

/// Points on the circle round a corner, from one normal to the other, turning as the outer side of a left turn does.
fn arc(out: &mut Vec<Place>, centre: Place, from: Place, to: Place, radius: f64) {
    let start = from[1].atan2(from[0]);
    let mut sweep = to[1].atan2(to[0]) - start;
    if sweep < 0.0 {
        sweep += std::f64::consts::TAU;
    }
    let steps = (sweep / 0.4).ceil().max(1.0) as usize;
    for i in 0..=steps {
        let (sin, cos) = (start + sweep * i as f64 / steps as f64).sin_cos();
        out.push([centre[0] + radius * cos, centre[1] + radius * sin]);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::paper::palette::INK;

    fn area(ring: &[Place]) -> f64 {
        (0..ring.len())
            .map(|i| {
                let (a, b) = (ring[i], ring[(i + 1) % ring.len()]);
                0.5 * (a[0] * b[1] - b[0] * a[1])
            })
            .sum()
    }

    #[test]
    fn a_straight_stroke_covers_its_length_times_its_width_and_two_half_discs() {
        let ring = &rings(&[[0.0, 0.0], [10.0, 0.0], [20.0, 0.0]], 2.0)[0];
        let wanted = 40.0 + std::f64::consts::PI;
        assert!((area(ring).abs() - wanted).abs() < 0.1, "{} for {wanted}", area(ring));
    }

    #[test]
    fn a_closed_stroke_covers_the_ring_between_two_circles() {
        let mut points = crate::paper::mark::circle([0.0, 0.0], 10.0);
        points.push(points[0]);
        let covered: f64 = rings(&points, 2.0).iter().map(|ring| area(ring)).sum();
        let wanted = std::f64::consts::PI * (121.0 - 81.0);
        assert!((covered.abs() / wanted - 1.0).abs() < 0.02, "{covered} for {wanted}");
    }

    #[test]
    fn dashes_cover_their_share_of_the_line() {
        let stroke = Stroke::dashed(INK, 2.0);
        let pieces = dashes(&[[0.0, 0.0], [300.0, 0.0], [300.0, 420.0]], &stroke);
        let covered: f64 =
            pieces.iter().flat_map(|p| p.windows(2)).map(|pair| distance(pair[0], pair[1])).sum();
        assert!((covered / 720.0 - 4.0 / 7.2).abs() < 1e-9, "{covered}");
    }
}
