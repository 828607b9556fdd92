//! Clips lines and areas to a rectangle.

use super::mark::{Place, Rect};

/// The pieces of a line inside a rectangle.
pub(super) fn clipped(points: &[Place], rect: Rect) -> Vec<Vec<Place>> {
    let mut pieces: Vec<Vec<Place>> = Vec::new();
    for pair in points.windows(2) {
        let Some([from, to]) = clipped_segment(pair[0], pair[1], rect) else { continue };
        match pieces.last_mut() {
            Some(piece) if piece.last() == Some(&from) => piece.push(to),
            _ => pieces.push(vec![from, to]),
        }
    }
    pieces
}

/// The part of a segment inside a rectangle, by the method of Liang and Barsky. `None` if there is none.
fn clipped_segment(from: Place, to: Place, rect: Rect) -> Option<[Place; 2]> {
    if !from.iter().chain(&to).all(|c| c.is_finite()) {
        return None;
    }
    let (dx, dy) = (to[0] - from[0], to[1] - from[1]);
    let (mut enter, mut leave) = (0f64, 1f64);
    for (step, room) in [
        (-dx, from[0] - rect.left),
        (dx, rect.right() - from[0]),
        (-dy, from[1] - rect.top),
        (dy, rect.bottom() - from[1]),
    ] {
        if step == 0.0 {
            if room < 0.0 {
                return None;
            }
        } else if step < 0.0 {
            enter = enter.max(room / step);
        } else {
            leave = leave.min(room / step);
        }
    }
    let at = |part: f64| match part {
        0.0 => from,
        1.0 => to,
        part => [from[0] + part * dx, from[1] + part * dy],
    };
    (enter < leave).then(|| [at(enter), at(leave)])
}

/// The part of an area inside a rectangle, clipped at one side after the other.
pub(super) fn clipped_area(ring: Vec<Place>, rect: Rect) -> Vec<Place> {
    let sides: [(usize, f64, f64); 4] =
        [(0, 1.0, rect.left), (0, -1.0, -rect.right()), (1, 1.0, rect.top), (1, -1.0, -rect.bottom())];
    sides.into_iter().fold(ring, |ring, (axis, sign, bound)| {
        let room = |p: Place| sign * p[axis] - bound;
        let mut kept = Vec::with_capacity(ring.len());
        for i in 0..ring.len() {
            let (from, to) = (ring[i], ring[(i + 1) % ring.len()]);
            if room(from) >= 0.0 {
                kept.push(from);
            }
            if (room(from) >= 0.0) != (room(to) >= 0.0) {
                let part = room(from) / (room(from) - room(to));
                kept.push([from[0] + part * (to[0] - from[0]), from[1] + part * (to[1] - from[1])]);
            }
        }
        kept
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_is_cut_where_it_leaves_the_plot_and_taken_up_where_it_returns() {
        let rect = Rect::new(0.0, 0.0, 10.0, 10.0);
        let pieces = clipped(&[[-5.0, 5.0], [5.0, 5.0], [5.0, 20.0], [8.0, 20.0], [8.0, 5.0]], rect);
        assert_eq!(pieces, [vec![[0.0, 5.0], [5.0, 5.0], [5.0, 10.0]], vec![[8.0, 10.0], [8.0, 5.0]]]);
        let area = clipped_area(vec![[-5.0, -5.0], [5.0, -5.0], [5.0, 5.0], [-5.0, 5.0]], rect);
        assert!(area.iter().all(|p| rect.holds(*p)));
    }
}
