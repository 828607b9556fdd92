//! Traces bands and lines of equal deviation through a plane's grid, and places their labels.

use super::drawn::{Drawn, band_colour, percent};
use crate::pair::Bench;
use crate::paper::contour::{ContourLine, GridValues, simplified};
use crate::paper::line_labels::{LabelRules, LabelledLine};
use crate::paper::palette::{ABOVE, BELOW, INK, PAPER, WITHIN};
use crate::paper::{Colour, Figure, Place, Rect, Scale, Stroke, Text, line_labels};
use crate::physics::field::{Assembly, PreparedPair};
use crate::questions::map::{GridAxis, PlaneMap};
use crate::questions::picture::bench_parts;
use rayon::prelude::*;
use std::f64::consts::TAU;

/// Largest distance between a drawn line and the traced one, in points.
const LINE_TOLERANCE: f64 = 0.03;
/// Largest distance on a coarse grid: this factor times the square of the grid step in points. It takes over from a
/// step of 1.4 points on.
const PART_OF_STEP: f64 = 0.015;
/// A line is not drawn where the next line towards zero would be nearer than this, in points.
const LEAST_GAP: f64 = 2.2;
/// Stretches of line shorter than this are not drawn, in points.
const LEAST_STRETCH: f64 = 9.0;
/// Distance between neighbouring strokes over the weaker regions, in points.
const STROKES_APART: f64 = 9.0;
const LABEL_SIZE: f64 = 11.0;

/// The area that a label covers, with some room around it.
pub(super) struct Covered {
    middle: Place,
    /// Sine and cosine of the label's angle.
    turn: (f64, f64),
    half_width: f64,
}

impl Covered {
    fn holds(&self, place: Place) -> bool {
        const ROOM: f64 = 2.5;
        let (sin, cos) = self.turn;
        let (x, y) = (place[0] - self.middle[0], place[1] - self.middle[1]);
        (x * cos + y * sin).abs() < self.half_width + ROOM
            && (y * cos - x * sin).abs() < 0.5 * LABEL_SIZE + ROOM
    }
}

/// Centre and radius of a circle on the sheet.
pub(super) type Ring = (Place, f64);

/// What labels must keep clear of.
struct Ground {
    plot: Rect,
    obstacles: Vec<Rect>,
    beam: Dots,
    bulb: Option<Ring>,
}

/// Places on the sheet, sorted into squares: a search for near ones then looks at nine squares only.
struct Dots {
    near: f64,
    first: [i64; 2],
    columns: usize,
    /// The places in each square, row by row from the first.
    squares: Vec<Vec<Place>>,
}

impl Dots {
    /// Prepares the places for `any_near` with this distance.
    fn new(sheet: Rect, places: impl IntoIterator<Item = Place>, near: f64) -> Self {
        let [first, last] = [[sheet.left, sheet.top], [sheet.right(), sheet.bottom()]]
            .map(|corner| Self::square(corner, near));
        let [columns, rows] = [0, 1].map(|i| (last[i] - first[i] + 1).max(0) as usize);
        let mut dots = Self { near, first, columns, squares: vec![Vec::new(); columns * rows] };
        for place in places {
            if let Some(at) = dots.at(Self::square(place, near)) {
                dots.squares[at].push(place);
            }
        }
        dots
    }

    /// The number of a square. `None` if it lies off the sheet.
    fn at(&self, square: [i64; 2]) -> Option<usize> {
        let [column, row] = [0, 1].map(|i| usize::try_from(square[i] - self.first[i]).ok());
        let column = column.filter(|column| *column < self.columns)?;
        Some(row? * self.columns + column).filter(|at| *at < self.squares.len())
    }

    fn square(place: Place, side: f64) -> [i64; 2] {
        place.map(|coordinate| (coordinate / side).floor() as i64)
    }

    fn any_near(&self, place: Place) -> bool {
        let [column, row] = Self::square(place, self.near);
        let about = (-1..=1).flat_map(|i| (-1..=1).map(move |j| [column + i, row + j]));
        about.filter_map(|square| self.at(square)).flat_map(|at| &self.squares[at]).any(|dot| {
            let (x, y) = (place[0] - dot[0], place[1] - dot[1]);
            x * x + y * y < self.near * self.near
        })
    }
}

impl Ground {
    /// Cost of a label at a place; `room` is the distance to the next line there. Infinite where no label may stand.
    fn cost(&self, place: Place, room: f64) -> f64 {
        let from = |other: &Place| (place[0] - other[0]).hypot(place[1] - other[1]);
        let is_blocked = || self.obstacles.iter().any(|rect| rect.holds(place)) || self.beam.any_near(place);
        if room < 0.55 * LABEL_SIZE || !self.plot.holds(place) || is_blocked() {
            return f64::INFINITY;
        }
        let crowded = 30.0 * (1.3 * LABEL_SIZE - room).max(0.0) / LABEL_SIZE;
        // A label outside the bulb costs more; one on the wall is not allowed.
        let outside = match self.bulb.map_or(-f64::INFINITY, |(centre, radius)| from(&centre) - radius) {
            out if out.abs() < 0.8 * LABEL_SIZE => f64::INFINITY,
            out if out > 0.0 => 60.0 + 0.05 * out,
            _ => 0.0,
        };
        crowded + outside
    }
}

/// The label of a level, its middle on the line.
fn label_text(level: f64, [x, y]: Place, turn_deg: f64) -> Text {
    let (sin, cos) = turn_deg.to_radians().sin_cos();
    // The baseline lies below the line by about a third of the letter size, so that the letters are centred on it.
    let drop = 0.36 * LABEL_SIZE;
    Text::new(percent(level), [x - drop * sin, y + drop * cos], LABEL_SIZE).centred().turned(turn_deg)
}

/// A plane's grid of deviations and its place on the sheet.
pub(super) struct Traced<'a> {
    pub(super) grid: GridValues<'a>,
    pub(super) values: &'a PlaneMap,
    pub(super) scale: Scale,
}

impl Traced<'_> {
    fn place(&self, [column, row]: [f64; 2]) -> Place {
        let along = |axis: &GridAxis, index: f64| axis.first_m + index * axis.step_m;
        self.scale.place_seen([along(&self.values.right, column), along(&self.values.up, row)])
    }

    /// The grid column and row, as fractions, of a place on the sheet.
    fn grid_place(&self, place: Place) -> [f64; 2] {
        let [right_m, up_m] = self.scale.seen_at(place);
        let index = |axis: &GridAxis, coordinate: f64| (coordinate - axis.first_m) / axis.step_m;
        [index(&self.values.right, right_m), index(&self.values.up, up_m)]
    }

    fn places(&self, points: &[[f64; 2]]) -> Vec<Place> {
        let places: Vec<Place> = points.iter().map(|point| self.place(*point)).collect();
        // A contour is straight between grid points. Its error there grows with the square of the grid step.
        let step = self.scale.length(self.values.right.step_m);
        simplified(&places, LINE_TOLERANCE.max(PART_OF_STEP * step * step))
    }

    /// Fills the bands from the most negative level up, each over the one before.
    pub(super) fn fill_bands(&self, figure: &mut Figure, levels: &[f64]) {
        let count = levels.len();
        figure.area(self.scale.plot().corners(), band_colour(BELOW, count, count));
        let below = levels.iter().rev().enumerate().map(|(i, level)| (-level, BELOW, count - 1 - i));
        let above = levels.iter().enumerate().map(|(i, level)| (*level, ABOVE, i + 1));
        let bands: Vec<(f64, Colour, usize)> = below.chain(above).collect();
        let rings: Vec<Vec<Vec<Place>>> = bands
            .par_iter()
            .map(|(level, ..)| self.grid.area_at_least(*level).iter().map(|ring| self.places(ring)).collect())
            .collect();
        for ((_, dark, passed), rings) in bands.into_iter().zip(rings) {
            figure.area_of_rings(rings, band_colour(dark, passed, count));
        }
    }

    /// Draws fine strokes where the deviation is below minus the smallest level, clear of the labels.
    pub(super) fn stroke_below(&self, figure: &mut Figure, levels: &[f64], labels: &[Covered]) {
        let least = levels.first().copied().unwrap_or(0.0);
        let is_free = |place: Place| !labels.iter().any(|label| label.holds(place));
        strokes_below(figure, self.scale.plot(), |place| self.value(place) < -least && is_free(place));
    }

    /// Shades the region within a limit.
    pub(super) fn fill_within(&self, figure: &mut Figure, limit: f64) {
        for (level, colour) in [(-limit, WITHIN), (limit, PAPER)] {
            let rings = self.grid.area_at_least(level).iter().map(|ring| self.places(ring)).collect();
            figure.area_of_rings(rings, colour);
        }
    }

    /// The deviation at a place on the sheet, interpolated bilinearly between grid points.
    fn value(&self, place: Place) -> f64 {
        let [column, row] = self.grid_place(place);
        let columns = self.values.right.count as usize;
        let cell = |at: f64, count: u64| {
            let low = at.floor().clamp(0.0, count.saturating_sub(2) as f64);
            (low as usize, (at - low).clamp(0.0, 1.0))
        };
        let (i, across) = cell(column, self.values.right.count);
        let (j, along) = cell(row, self.values.up.count);
        let at =
            |i: usize, j: usize| self.values.deviations.get(j * columns + i).copied().unwrap_or(f64::NAN);
        let mix = |a: f64, b: f64, part: f64| a + part * (b - a);
        mix(mix(at(i, j), at(i + 1, j), across), mix(at(i, j + 1), at(i + 1, j + 1), across), along)
    }

    /// Draws the lines with their labels and returns what the labels cover. Labels outside the bulb are avoided where
    /// possible.
    pub(super) fn draw_lines(
        &self,
        figure: &mut Figure,
        drawn: &Drawn,
        bulb: Option<Ring>,
        pair: &PreparedPair,
    ) -> Vec<Covered> {
        let levels = drawn.levels();
        let mut signed: Vec<f64> = levels.iter().flat_map(|level| [*level, -*level]).collect();
        signed.sort_by(|a, b| b.abs().total_cmp(&a.abs()));
        let lines = self.labelled_lines(&signed, &levels);
        let room = |place: Place, kind: usize| {
            neighbour_step(signed[kind], &levels) / self.slope(self.grid_place(place))
        };
        let ground = Ground {
            plot: self.scale.plot().inset(14.0),
            obstacles: self.obstacles(pair.assembly()),
            beam: Dots::new(figure.sheet(), self.beam(pair.bench()), 0.8 * LABEL_SIZE),
            bulb,
        };
        let cost = |place: Place, kind: usize| ground.cost(place, room(place, kind));
        let rules = LabelRules { height: LABEL_SIZE, cost: &cost, same_kind_apart: 170.0 };
        let mut covered = Vec::new();
        for (line, set) in lines.iter().zip(line_labels::set(&lines, &rules)) {
            let level = signed[line.kind];
            let stroke = drawn.stroke(level);
            for piece in set.pieces {
                figure.line(piece, stroke);
            }
            for label in set.labels {
                let turn = label.turn_deg.to_radians().sin_cos();
                covered.push(Covered { middle: label.at, turn, half_width: 0.5 * line.label_width });
                figure.text(label_text(level, label.at, label.turn_deg).coloured(stroke.colour));
            }
        }
        covered
    }

    /// The lines of all signed levels, longest first, so that long lines choose their label places first.
    fn labelled_lines(&self, signed: &[f64], levels: &[f64]) -> Vec<LabelledLine> {
        let of_level = |(kind, level): (usize, &f64)| -> Vec<LabelledLine> {
            let label_width = Text::new(percent(*level), [0.0; 2], LABEL_SIZE).width();
            let lines = self.grid.lines(*level).into_iter();
            let lines = lines.flat_map(|line| self.uncrowded(line, *level, levels));
            lines
                .map(|ContourLine { points, closed }| {
                    let points = self.places(&points);
                    LabelledLine { points, closed, label_width, kind }
                })
                .collect()
        };
        let mut lines: Vec<LabelledLine> = signed.par_iter().enumerate().flat_map_iter(of_level).collect();
        lines.sort_by(|a, b| length(&b.points).total_cmp(&length(&a.points)));
        lines
    }

    /// Points on the circles of the smallest and the largest beam radius.
    fn beam(&self, bench: &Bench) -> Vec<Place> {
        let Ok(tube) = bench.tube_with_beam() else { return Vec::new() };
        let radii = tube.beam_radius_m.into_iter().flatten();
        radii
            .flat_map(|radius| (0..720).map(move |i| (radius, TAU * f64::from(i) / 720.0)))
            .map(|(radius, angle)| self.scale.place(&tube.circle_point_m(radius, angle)))
            .collect()
    }

    /// The stretches of a line that stay at least `LEAST_GAP` from the next line towards zero.
    fn uncrowded(&self, line: ContourLine, level: f64, levels: &[f64]) -> Vec<ContourLine> {
        let step = neighbour_step(level, levels);
        let clear: Vec<bool> = line.points.iter().map(|p| step > LEAST_GAP * self.slope(*p)).collect();
        let Some(start) = clear.iter().position(|clear| !clear) else { return vec![line] };
        let count = line.points.len();
        // A closed line is started at a point that is left out, so that no stretch is cut in two.
        let order: Vec<usize> =
            if line.closed { (start..count).chain(0..start).collect() } else { (0..count).collect() };
        order
            .chunk_by(|a, b| clear[*a] == clear[*b])
            .filter(|stretch| clear[stretch[0]])
            .map(|stretch| stretch.iter().map(|i| line.points[*i]).collect::<Vec<_>>())
            .filter(|points| {
                length(&points.iter().map(|p| self.place(*p)).collect::<Vec<_>>()) > LEAST_STRETCH
            })
            .map(|points| ContourLine { points, closed: false })
            .collect()
    }

    /// Gradient of the deviation at a grid point, per point of the sheet.
    fn slope(&self, [column, row]: [f64; 2]) -> f64 {
        let (columns, rows) = (self.values.right.count as usize, self.values.up.count as usize);
        let index = |place: f64, count: usize| (place.round().max(0.0) as usize).min(count - 1);
        let (column, row) = (index(column, columns), index(row, rows));
        let difference = |index: usize, count: usize, stride: usize, other: usize| {
            let (low, high) = (index.saturating_sub(1), (index + 1).min(count - 1));
            let value = |i: usize| self.values.deviations[i * stride + other];
            (value(high) - value(low)) / (high - low).max(1) as f64
        };
        let across = difference(column, columns, 1, row * columns);
        let along = difference(row, rows, columns, column);
        across.hypot(along) / self.scale.length(self.values.right.step_m)
    }

    /// Rectangles around the cut windings, where no label may stand.
    fn obstacles(&self, assembly: &Assembly) -> Vec<Rect> {
        let across = self.scale.view().normal();
        assembly
            .windings()
            .iter()
            .filter(|winding| winding.axis.dot(&across).abs() < 0.7)
            .flat_map(|winding| bench_parts::sections(&self.scale, winding))
            .map(|section| around(&section.corners.map(|seen| self.scale.place_seen(seen))).inset(-10.0))
            .collect()
    }
}

/// Distance in deviation from a level to the next one towards zero. Below the smallest level the next one is its
/// negative.
fn neighbour_step(level: f64, levels: &[f64]) -> f64 {
    let size = level.abs();
    match levels.iter().rev().find(|next| **next < size * (1.0 - 1e-9)) {
        Some(next) => size - next,
        None => 2.0 * size,
    }
}

/// The smallest rectangle around these places. Without places, a rectangle far off the sheet.
fn around(places: &[Place]) -> Rect {
    let Some(first) = places.first() else { return Rect::new(f64::MAX, f64::MAX, 0.0, 0.0) };
    let [least, most] = [f64::min, f64::max].map(|pick: fn(f64, f64) -> f64| {
        places.iter().fold(*first, |at, p| [pick(at[0], p[0]), pick(at[1], p[1])])
    });
    Rect::new(least[0], least[1], most[0] - least[0], most[1] - least[1])
}

fn length(points: &[Place]) -> f64 {
    points.windows(2).map(|p| (p[0][0] - p[1][0]).hypot(p[0][1] - p[1][1])).sum()
}

/// Draws fine strokes rising to the right over those places of a rectangle where `is_below` holds.
pub(super) fn strokes_below(figure: &mut Figure, rect: Rect, is_below: impl Fn(Place) -> bool) {
    const STEP: f64 = 1.5;
    let stroke = Stroke::solid(BELOW.towards(INK, 0.35).with_alpha(0.4), 0.5);
    let apart = STROKES_APART * std::f64::consts::SQRT_2;
    let lines = ((rect.width + rect.height) / apart).ceil() as usize;
    for from in (0..lines).map(|i| rect.left - rect.height + apart * (i as f64 + 0.5)) {
        // Parameter range along this stroke: from the left or lower edge to the right or upper edge.
        let [start, end] = [(rect.left - from).max(0.0), (rect.right() - from).min(rect.height)];
        let steps = ((end - start) / STEP).floor().max(0.0) as usize;
        let places: Vec<Place> = (0..=steps)
            .map(|i| start + STEP * i as f64)
            .map(|along| [from + along, rect.bottom() - along])
            .collect();
        let below: Vec<bool> = places.iter().map(|place| is_below(*place)).collect();
        let mut first = 0;
        for run in below.chunk_by(|a, b| a == b) {
            let last = first + run.len() - 1;
            if run[0] && last > first {
                figure.line([places[first], places[last]], stroke);
            }
            first = last + 1;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn strokes_tell_in_grey_what_is_below_and_keep_clear_of_labels() {
        let mut figure = Figure::new(100.0, 100.0, "", "");
        let label = Covered { middle: [25.0, 50.0], turn: 0.5f64.sin_cos(), half_width: 8.0 };
        let rect = Rect::new(10.0, 10.0, 80.0, 80.0);
        strokes_below(&mut figure, rect, |[x, y]| x < 50.0 && !label.holds([x, y]));
        let ends = |line: &str| -> Vec<Place> {
            let points = line.split("points=\"").nth(1).unwrap().split('"').next().unwrap();
            let pairs = points.split(' ').filter_map(|pair| pair.split_once(','));
            pairs.map(|(x, y)| [x, y].map(|number| number.parse::<f64>().unwrap() / 100.0)).collect()
        };
        let svg = figure.svg();
        let strokes: Vec<Vec<Place>> =
            svg.lines().filter(|line| line.contains("<polyline")).map(ends).collect();
        // Strokes at 45° cross the left half of the rectangle every 9 points.
        assert!(strokes.len() > 6, "{}", strokes.len());
        for stroke in &strokes {
            let [from, to] = stroke[..] else { panic!("{stroke:?}") };
            // Checked all along, because a label may lie between the ends.
            for part in (0..=20).map(|i| f64::from(i) / 20.0) {
                let [x, y] = [0, 1].map(|i| from[i] + part * (to[i] - from[i]));
                assert!(x < 50.01 && rect.holds([x, y]) && !label.holds([x, y]), "{stroke:?}");
            }
        }
    }
}
