//! Places labels on lines: each along a straight and free stretch, turned with the line, in a gap of the line.

use super::mark::Place;

/// Space between a label and the ends of its line. It is longer than a minus sign or a dash of the line, so that no
/// dash is taken for a sign.
const GAP: f64 = 8.5;

/// A line that is to be labelled.
pub(crate) struct LabelledLine {
    /// The line on the sheet.
    pub(crate) points: Vec<Place>,
    /// Whether its end joins its start.
    pub(crate) closed: bool,
    /// Length of the label along the line.
    pub(crate) label_width: f64,
    /// Labels of lines of the same kind keep apart from each other.
    pub(crate) kind: usize,
}

/// Where a label stands.
#[derive(Clone, Copy, Debug)]
pub(crate) struct LabelPlace {
    /// Middle of the label, on or close to its line.
    pub(crate) at: Place,
    /// Angle in degrees, clockwise, between -90 and 90: a label is never upside down.
    pub(crate) turn_deg: f64,
}

/// A line with gaps for its labels, and the places of the labels.
pub(crate) struct SetLine {
    /// The pieces of the line.
    pub(crate) pieces: Vec<Vec<Place>>,
    /// The places of its labels.
    pub(crate) labels: Vec<LabelPlace>,
}

/// Rules for placing labels.
pub(crate) struct LabelRules<'a> {
    /// Letter size of a label.
    pub(crate) height: f64,
    /// Cost of a place for a line of this kind. Smaller is better; an infinite cost excludes the place.
    pub(crate) cost: &'a dyn Fn(Place, usize) -> f64,
    /// Smallest distance between labels of the same kind.
    pub(crate) same_kind_apart: f64,
}

/// Places labels on lines in the order given, so that earlier lines choose first.
pub(crate) fn set(lines: &[LabelledLine], rules: &LabelRules<'_>) -> Vec<SetLine> {
    let mut taken: Vec<(Place, usize)> = Vec::new();
    // The places covered by the letters of labels: middle and half width.
    let mut covered: Vec<(Place, f64)> = Vec::new();
    lines
        .iter()
        .map(|line| {
            let run = Run::of(line);
            let mut chosen: Vec<(f64, LabelPlace)> = Vec::new();
            let candidates = candidates(&run, line, rules);
            // A long line gets further labels, far enough from its others.
            while let Some((arc, place)) = best(&candidates, line, rules, &taken, &covered) {
                taken.push((place.at, line.kind));
                covered.push((place.at, 0.5 * line.label_width));
                chosen.push((arc, place));
            }
            let gap = 0.5 * line.label_width + GAP;
            let gaps = chosen.iter().map(|(arc, _)| [arc - gap, arc + gap]).collect();
            SetLine {
                pieces: run.without(gaps),
                labels: chosen.into_iter().map(|(_, place)| place).collect(),
            }
        })
        .collect()
}

/// A place where a label could stand if it were the only one.
struct Candidate {
    cost: f64,
    arc: f64,
    /// Point of the line at `arc`.
    on_line: Place,
    place: LabelPlace,
}

/// All places on a line that are straight and free enough.
fn candidates(run: &Run, line: &LabelledLine, rules: &LabelRules<'_>) -> Vec<Candidate> {
    let half = 0.5 * line.label_width;
    let spare = half + GAP + 3.0;
    let length = run.length();
    if length < 2.0 * spare {
        return Vec::new();
    }
    let steps = ((length - 2.0 * spare) / 4.0).floor() as usize;
    (0..=steps).filter_map(|i| candidate(run, line, rules, spare + 4.0 * i as f64)).collect()
}

fn candidate(run: &Run, line: &LabelledLine, rules: &LabelRules<'_>, arc: f64) -> Option<Candidate> {
    let half = 0.5 * line.label_width;
    let at = run.at(arc);
    let [from, to] = [run.at(arc - half), run.at(arc + half)];
    let chord = (to[0] - from[0]).hypot(to[1] - from[1]);
    // `bend` is the relative shortening of the chord compared with the line. `sag` is the distance of the line from its
    // chord, relative to the letters' height.
    let bend = (2.0 * half - chord) / (2.0 * half);
    let middle = [0.5 * (from[0] + to[0]), 0.5 * (from[1] + to[1])];
    let sag = distance(at, middle) / rules.height;
    if bend > 0.06 || sag > 0.45 {
        return None;
    }
    let between = [run.at(arc - 0.5 * half), run.at(arc + 0.5 * half)];
    let places = [from, between[0], at, between[1], to];
    let cost = 0.6 * places.map(|place| (rules.cost)(place, line.kind)).iter().sum::<f64>()
        + 40.0 * sag
        + 200.0 * bend;
    let mut turn_deg = (to[1] - from[1]).atan2(to[0] - from[0]).to_degrees();
    if turn_deg > 90.0 {
        turn_deg -= 180.0;
    } else if turn_deg < -90.0 {
        turn_deg += 180.0;
    }
    // The middle of the letters lies half-way between line and chord.
    let place = LabelPlace { at: [0.5 * (at[0] + middle[0]), 0.5 * (at[1] + middle[1])], turn_deg };
    cost.is_finite().then_some(Candidate { cost, arc, on_line: at, place })
}

/// The cheapest place that keeps clear of the labels placed so far; the first if several cost the same.
fn best(
    candidates: &[Candidate],
    line: &LabelledLine,
    rules: &LabelRules<'_>,
    taken: &[(Place, usize)],
    covered: &[(Place, f64)],
) -> Option<(f64, LabelPlace)> {
    let half = 0.5 * line.label_width;
    let is_free = |at: Place| {
        let near = |(place, kind): &(Place, usize)| {
            *kind == line.kind && distance(*place, at) < rules.same_kind_apart
        };
        let touches = |(place, other): &(Place, f64)| distance(*place, at) < other + half + 6.0;
        !taken.iter().any(near) && !covered.iter().any(touches)
    };
    candidates
        .iter()
        .filter(|candidate| is_free(candidate.on_line))
        .min_by(|a, b| a.cost.total_cmp(&b.cost))
        .map(|candidate| (candidate.arc, candidate.place))
}

fn distance(a: Place, b: Place) -> f64 {
    (a[0] - b[0]).hypot(a[1] - b[1])
}

/// A line with the length along it at each point.
struct Run {
    points: Vec<Place>,
    arcs: Vec<f64>,
    closed: bool,
}

impl Run {
    fn of(line: &LabelledLine) -> Self {
        let mut points = line.points.clone();
        if line.closed {
            points.extend(line.points.first().copied());
        }
        let mut arcs = Vec::with_capacity(points.len());
        let mut arc = 0.0;
        for (i, point) in points.iter().enumerate() {
            if i > 0 {
                arc += distance(points[i - 1], *point);
            }
            arcs.push(arc);
        }
        Self { points, arcs, closed: line.closed }
    }

    fn length(&self) -> f64 {
        self.arcs.last().copied().unwrap_or(0.0)
    }

    fn at(&self, arc: f64) -> Place {
        let arc = arc.clamp(0.0, self.length());
        let after = self.arcs.partition_point(|a| *a < arc).clamp(1, self.arcs.len() - 1);
        let (from, to) = (self.points[after - 1], self.points[after]);
        let span = self.arcs[after] - self.arcs[after - 1];
        let part = if span > 0.0 { (arc - self.arcs[after - 1]) / span } else { 0.0 };
        [from[0] + part * (to[0] - from[0]), from[1] + part * (to[1] - from[1])]
    }

    /// The pieces of the line that remain without these stretches.
    fn without(&self, mut gaps: Vec<[f64; 2]>) -> Vec<Vec<Place>> {
        if gaps.is_empty() {
            return vec![self.points.clone()];
        }
        gaps.sort_by(|a, b| a[0].total_cmp(&b[0]));
        let mut pieces = Vec::new();
        let mut from = 0.0;
        for [start, end] in gaps {
            pieces.push(self.between(from, start));
            from = end;
        }
        let mut last = self.between(from, self.length());
        if self.closed {
            // The start of a closed line is no gap, so the pieces before and after it are joined.
            last.extend(pieces.remove(0).into_iter().skip(1));
        }
        pieces.push(last);
        pieces.retain(|piece| piece.len() > 1);
        pieces
    }

    fn between(&self, from: f64, to: f64) -> Vec<Place> {
        if to <= from {
            return Vec::new();
        }
        let inner = self.points.iter().zip(&self.arcs).filter(|(_, arc)| **arc > from && **arc < to);
        let mut piece = vec![self.at(from)];
        piece.extend(inner.map(|(point, _)| *point));
        piece.push(self.at(to));
        piece
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::paper::circle;

    fn rules(cost: &dyn Fn(Place, usize) -> f64) -> LabelRules<'_> {
        LabelRules { height: 10.0, cost, same_kind_apart: 150.0 }
    }

    #[test]
    fn a_label_lies_on_its_line_upright_and_the_line_leaves_it_room() {
        let ring =
            LabelledLine { points: circle([200.0, 200.0], 90.0), closed: true, label_width: 30.0, kind: 0 };
        let set = &set(&[ring], &rules(&|_, _| 0.0))[0];
        assert!(!set.labels.is_empty());
        for label in &set.labels {
            assert!((distance(label.at, [200.0, 200.0]) - 90.0).abs() < 2.0);
            assert!(label.turn_deg.abs() <= 90.0);
            for point in set.pieces.iter().flatten() {
                assert!(distance(*point, label.at) > 21.0, "{point:?} runs into {label:?}");
            }
        }
        let drawn: f64 =
            set.pieces.iter().flat_map(|p| p.windows(2)).map(|pair| distance(pair[0], pair[1])).sum();
        let wanted = std::f64::consts::TAU * 90.0 - 47.0 * set.labels.len() as f64;
        assert!((drawn - wanted).abs() < 1.0, "{drawn} for {wanted}");
    }

    #[test]
    fn the_gap_is_longer_than_a_minus_sign_and_than_a_dash() {
        use crate::paper::{Dash, Text};
        assert!(Text::new("−", [0.0; 2], 11.0).width() < GAP);
        // The widest dashed line that has labels.
        assert!(1.5 * Dash::Dashed.pattern()[0] < GAP);
    }

    #[test]
    fn labels_do_not_touch_and_keep_out_of_forbidden_places() {
        let line = |y: f64, kind| LabelledLine {
            points: vec![[0.0, y], [400.0, y]],
            closed: false,
            label_width: 40.0,
            kind,
        };
        let cost = |[x, _]: Place, _: usize| if x < 200.0 { f64::INFINITY } else { 0.0 };
        let found = set(&[line(10.0, 0), line(14.0, 1), line(18.0, 2)], &rules(&cost));
        let places: Vec<Place> = found.iter().flat_map(|line| line.labels.iter().map(|l| l.at)).collect();
        assert!(places.len() >= 3);
        for (i, a) in places.iter().enumerate() {
            assert!(a[0] >= 200.0);
            assert!(places[..i].iter().all(|b| distance(*a, *b) >= 40.0));
        }
    }

    #[test]
    fn a_line_shorter_than_its_label_has_none_and_stays_whole() {
        let short =
            LabelledLine { points: vec![[0.0, 0.0], [20.0, 0.0]], closed: false, label_width: 30.0, kind: 0 };
        let set = &set(&[short], &rules(&|_, _| 0.0))[0];
        assert!(set.labels.is_empty());
        assert_eq!(set.pieces, [vec![[0.0, 0.0], [20.0, 0.0]]]);
    }
}
