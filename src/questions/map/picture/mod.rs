//! The picture of a field map: bands and lines of equal deviation on one plane, with the bench drawn to scale.
//!
//! The lighter a place, the better the field there agrees with the centre's: that reads the same in grey. Where the
//! field is stronger than at the centre, bands are orange and lines solid; where it is weaker, blue and dashed. Levels
//! are 1, 2 and 5 of each decade, so that neighbouring lines mean a factor of about two. Fine strokes lie over what is weaker, so
//! that grey tells the sign everywhere, also where lines are too near each other to be drawn.
//!
//! Where a limit is asked about, the picture has its boundary alone and a shade over what is within.

pub mod profiles;

use crate::pair::Bench;
use crate::paper::Colour;
use crate::paper::contour::{ContourLine, GridValues, simplified};
use crate::paper::line_labels::{LabelRules, LabelledLine};
use crate::paper::palette::{ABOVE, BEAM, BELOW, INK, PAPER, QUIET, WITHIN};
use crate::paper::{Dash, Figure, Place, Rect, Scale, Stroke, Text, View, circle, line_labels};
use crate::physics::field::Assembly;
use crate::questions::map::words::{limit, within_line};
use crate::questions::map::{FieldMap, GridAxis, Plane, PlaneMap, Within};
use crate::questions::picture::bench_parts;
use crate::questions::picture::parts_key::PartsKey;
use crate::units::{Dimension, display, fixed, fixed_down, length as length_text, unit};
use rayon::prelude::*;
use std::f64::consts::TAU;

/// The largest deviation that has a line of its own.
const TOP_LEVEL: f64 = 0.5;
/// The smallest line is at least this part of the worst deviation in the bulb.
const LEVELS_BELOW_WORST: f64 = 1.0 / 400.0;
/// Never finer than this.
const LEAST_LEVEL: f64 = 1e-6;
/// How far a drawn line may leave the traced one, in points.
const LINE_TOLERANCE: f64 = 0.03;
/// Where the next line towards zero would lie nearer than this, in points, a line is left out.
const LEAST_GAP: f64 = 2.2;
/// A stretch of line shorter than this is not worth drawing, in points.
const LEAST_STRETCH: f64 = 9.0;
/// How much paper lies over what is outside the bulb.
const VEIL: f64 = 0.55;

/// Across the strokes over what is weaker, in points.
const STROKES_APART: f64 = 9.0;
/// The longest sides of a plot, in points. A sheet fits a page of A4 with margins of 10 mm at no less than 85 % of its size.
const LONGEST: [f64; 2] = [530.0, 740.0];

const LABEL_SIZE: f64 = 11.0;
const MARGIN: f64 = 30.0;
const SIDE_WIDTH: f64 = 168.0;

/// Draws one plane of a map.
pub fn picture(map: &FieldMap, plane: Plane, bench: &Bench, assembly: &Assembly) -> Figure {
    let (values, view) = match (plane, map.axial.directions) {
        (Plane::Axial, [0, _]) => (&map.axial, View::axial_upright()),
        (Plane::Axial, _) => (&map.axial, View::axial()),
        (Plane::Mid, _) => (&map.mid, View::beam_plane()),
    };
    let [right, up] = [values.right.ends_m(), values.up.ends_m()];
    // One side is the longest allowed; the sheet follows the plot's shape.
    let length_m = |[least, most]: [f64; 2]| (most - least).max(1e-9);
    let points_per_metre = (LONGEST[0] / length_m(right)).min(LONGEST[1] / length_m(up));
    let side = |range: [f64; 2]| points_per_metre * length_m(range);
    let plot = Rect::new(MARGIN + 46.0, MARGIN + 86.0, side(right), side(up));
    let width = plot.right() + 34.0 + SIDE_WIDTH + MARGIN;
    let height = plot.bottom() + 44.0 + 26.0 + 14.0;
    let mut figure = Figure::new(width.max(560.0), height, title(map), description(map, values));
    let scale = Scale::fitting(plot, view, right, up);

    let drawn = match &map.within {
        Some(within) => Drawn::Within(*within),
        None => Drawn::Levels(levels(worst(map, values))),
    };
    let glass = bench.bulb().ok();
    let bulb = glass.and_then(|glass| {
        let radius_m = bench_parts::bulb_section_radius_m(&scale, &glass)?;
        Some((scale.place(&glass.centre_m), scale.length(radius_m)))
    });
    let Some(grid) = GridValues::new(&values.deviations, values.right.count as usize) else { return figure };
    let traced = Traced { grid, values, scale };
    match &drawn {
        Drawn::Levels(levels) => traced.fill_bands(&mut figure, levels),
        Drawn::Within(within) => traced.fill_within(&mut figure, within.limit_fraction),
    }
    if let Some((centre, radius)) = bulb {
        let mut hole = circle(centre, radius);
        hole.reverse();
        figure.area_of_rings(vec![scale.plot().corners(), hole], PAPER.with_alpha(VEIL));
    }
    let labels = traced.draw_lines(&mut figure, &drawn, bulb, bench, assembly);
    if let Drawn::Levels(levels) = &drawn {
        traced.stroke_below(&mut figure, levels, &labels);
    }
    bench_parts::coils(&mut figure, &scale, assembly);
    if let Some(glass) = glass {
        bench_parts::bulb_section(&mut figure, &scale, &glass);
    }
    if let Ok(tube) = bench.tube_with_gun() {
        for radius_m in tube.beam_radius_m.iter().flatten() {
            bench_parts::beam_circle(&mut figure, &scale, &tube, *radius_m, Stroke::solid(BEAM, 2.0));
        }
        bench_parts::gun(&mut figure, &scale, &tube);
    }
    scale.axes(&mut figure);
    headings(&mut figure, map, values);
    key(&mut figure, Rect::new(plot.right() + 34.0, plot.top, SIDE_WIDTH, plot.height), &drawn, plane, bench);
    figure.footer(&map.provenance.to_string());
    figure
}

/// What a plane shows.
enum Drawn {
    /// Bands and lines of these levels, on both sides of zero.
    Levels(Vec<f64>),
    /// The boundary of one limit.
    Within(Within),
}

impl Drawn {
    fn levels(&self) -> Vec<f64> {
        match self {
            Self::Levels(levels) => levels.clone(),
            Self::Within(within) => vec![within.limit_fraction],
        }
    }

    /// A colour of its areas.
    fn sample(&self) -> Colour {
        match self {
            Self::Levels(_) => band_colour(BELOW, 2, 3),
            Self::Within(_) => WITHIN,
        }
    }

    /// The line of a level.
    fn stroke(&self, level: f64) -> Stroke {
        match self {
            Self::Levels(_) => Stroke {
                colour: line_colour(level),
                width: if is_power_of_ten(level) { 1.5 } else { 0.9 },
                dash: if level > 0.0 { Dash::Solid } else { Dash::Dashed },
            },
            Self::Within(_) => BOUNDARY,
        }
    }
}

/// What a label covers: a stretch along its line, with some room about it.
struct Covered {
    middle: Place,
    turn_rad: f64,
    half_width: f64,
}

impl Covered {
    fn holds(&self, place: Place) -> bool {
        const ROOM: f64 = 2.5;
        let (sin, cos) = self.turn_rad.sin_cos();
        let (x, y) = (place[0] - self.middle[0], place[1] - self.middle[1]);
        (x * cos + y * sin).abs() < self.half_width + ROOM
            && (y * cos - x * sin).abs() < 0.5 * LABEL_SIZE + ROOM
    }
}

/// The line where a limit is reached.
const BOUNDARY: Stroke = Stroke::solid(INK, 1.5);

fn title(map: &FieldMap) -> String {
    map.provenance.spec_title.clone()
}

fn headings(figure: &mut Figure, map: &FieldMap, values: &PlaneMap) {
    let heading = Text::new(title(map), [MARGIN, MARGIN + 14.0], 21.0).bold();
    let size = 21.0 * (figure.sheet().inset(MARGIN).width / heading.width()).min(1.0);
    figure.text(Text { size, ..heading });
    let plane = match values.plane {
        Plane::Axial => "axial plane, y = 0",
        Plane::Mid => "mid-plane, z = 0",
    };
    let whose = match map.with_room_at_ampere {
        Some(current) => {
            format!("coils at {} and the room", display(current, Dimension::Current, 3))
        }
        None => "coils alone".to_owned(),
    };
    let [x, y, z] = map.centre_field_tesla_per_ampere;
    let centre = display(x.hypot(y).hypot(z), Dimension::FieldConstant, 4);
    let what = match &map.within {
        Some(within) => format!("Within {} of", limit(within)),
        None => "Deviation from".into(),
    };
    let line = format!("{what} the field at the centre, {centre}; {plane}; {whose}");
    figure.text(Text::new(line, [MARGIN, MARGIN + 36.0], 12.5).coloured(QUIET));
}

fn description(map: &FieldMap, values: &PlaneMap) -> String {
    let plane = match values.plane {
        Plane::Axial => "the plane through the axis",
        Plane::Mid => "the mid-plane",
    };
    if let Some(within) = &map.within {
        return format!("The boundary of the deviation limit on {plane}, to scale. {}.", within_line(within));
    }
    match worst_in_bulb(map, values) {
        Some(worst) => format!(
            "Lines of equal deviation on {plane}, to scale; the largest deviation there in the bulb is {}.",
            percent(worst)
        ),
        None => format!("Lines of equal deviation on {plane}, to scale."),
    }
}

fn worst_in_bulb(map: &FieldMap, values: &PlaneMap) -> Option<f64> {
    let worst = match values.plane {
        Plane::Axial => map.worst_on_axial_plane,
        Plane::Mid => map.worst_on_mid_plane,
    };
    worst.map(|worst| worst.deviation)
}

/// The size of deviation that the levels must resolve.
fn worst(map: &FieldMap, values: &PlaneMap) -> f64 {
    let profiles = [&map.axis_profile, &map.x_profile, &map.y_profile];
    let largest = || profiles.iter().flat_map(|p| &p.deviation).fold(0f64, |most, d| most.max(d.abs()));
    worst_in_bulb(map, values).map_or_else(largest, f64::abs)
}

/// 1, 2 and 5 of each decade, from a small part of the worst deviation to half the field.
fn levels(worst: f64) -> Vec<f64> {
    let least = (worst * LEVELS_BELOW_WORST).clamp(LEAST_LEVEL, 1e-3) * (1.0 + 1e-9);
    let mut levels = Vec::new();
    for exponent in (1..=6).rev() {
        for digit in [1.0, 2.0, 5.0] {
            let level = digit / 10f64.powi(exponent);
            if level >= least && level <= TOP_LEVEL {
                levels.push(level);
            }
        }
    }
    levels
}

/// The band of a deviation that lies beyond `passed` of `count` levels.
fn band_colour(dark: Colour, passed: usize, count: usize) -> Colour {
    let part = passed as f64 / count.max(1) as f64;
    PAPER.towards(dark, 0.66 * part.powf(1.2))
}

fn line_colour(level: f64) -> Colour {
    if level > 0.0 { ABOVE.towards(INK, 0.4) } else { BELOW.towards(INK, 0.35) }
}

/// A deviation as its line is labelled.
fn percent(deviation: f64) -> String {
    let size = deviation.abs();
    let decimals = (0..6).find(|d| (size * 100.0 * 10f64.powi(*d)) > 0.95).unwrap_or(4) as usize;
    let sign = if deviation > 0.0 { "+" } else { "−" };
    format!("{sign}{}", fixed(size, unit::PERCENT, decimals))
}

/// A grid of deviations and where it lies on the sheet.
struct Traced<'a> {
    grid: GridValues<'a>,
    values: &'a PlaneMap,
    scale: Scale,
}

impl Traced<'_> {
    fn place(&self, [column, row]: [f64; 2]) -> Place {
        let along = |axis: &GridAxis, index: f64| axis.first_m + index * axis.step_m;
        self.scale.place_seen([along(&self.values.right, column), along(&self.values.up, row)])
    }

    /// Where a place of the sheet lies on the grid.
    fn grid_place(&self, place: Place) -> [f64; 2] {
        let [right_m, up_m] = self.scale.seen_at(place);
        let index = |axis: &GridAxis, coordinate: f64| (coordinate - axis.first_m) / axis.step_m;
        [index(&self.values.right, right_m), index(&self.values.up, up_m)]
    }

    fn places(&self, points: &[[f64; 2]]) -> Vec<Place> {
        let places: Vec<Place> = points.iter().map(|point| self.place(*point)).collect();
        simplified(&places, LINE_TOLERANCE)
    }

    /// Paints the bands from the lowest level up, each over the last.
    fn fill_bands(&self, figure: &mut Figure, levels: &[f64]) {
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

    /// Fine strokes over what is weaker than the lowest level says, clear of the labels.
    fn stroke_below(&self, figure: &mut Figure, levels: &[f64], labels: &[Covered]) {
        let least = levels.first().copied().unwrap_or(0.0);
        let is_free = |place: Place| !labels.iter().any(|label| label.holds(place));
        strokes_below(figure, self.scale.plot(), |place| self.value(place) < -least && is_free(place));
    }

    /// Shades what lies within a limit.
    fn fill_within(&self, figure: &mut Figure, limit: f64) {
        for (level, colour) in [(-limit, WITHIN), (limit, PAPER)] {
            let rings = self.grid.area_at_least(level).iter().map(|ring| self.places(ring)).collect();
            figure.area_of_rings(rings, colour);
        }
    }

    /// The deviation at a place of the sheet, straight between the grid's points.
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

    /// Draws the lines with their labels, and returns what the labels cover; those outside the bulb stand back.
    fn draw_lines(
        &self,
        figure: &mut Figure,
        drawn: &Drawn,
        bulb: Option<(Place, f64)>,
        bench: &Bench,
        assembly: &Assembly,
    ) -> Vec<Covered> {
        let mut covered = Vec::new();
        let levels = &drawn.levels()[..];
        let mut signed: Vec<f64> = levels.iter().flat_map(|level| [*level, -*level]).collect();
        signed.sort_by(|a, b| b.abs().total_cmp(&a.abs()));
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
        // Long lines choose their label's place first.
        lines.sort_by(|a, b| length(&b.points).total_cmp(&length(&a.points)));
        let obstacles = self.obstacles(assembly);
        let plot = self.scale.plot().inset(14.0);
        let tube = bench.tube_with_beam().ok();
        let beam: Vec<Place> = (tube.iter())
            .flat_map(|tube| tube.beam_radius_m.into_iter().flatten().map(move |radius| (tube, radius)))
            .flat_map(|(tube, radius)| {
                (0..720).map(move |i| tube.circle_point_m(radius, TAU * f64::from(i) / 720.0))
            })
            .map(|point| self.scale.place(&point))
            .collect();
        let cost = |place: Place, kind: usize| {
            let room = neighbour_step(signed[kind], levels) / self.slope(self.grid_place(place));
            let blocked = obstacles.iter().any(|rect| rect.holds(place));
            if blocked || !plot.holds(place) || room < 0.55 * LABEL_SIZE {
                return f64::INFINITY;
            }
            let crowded = 30.0 * (1.3 * LABEL_SIZE - room).max(0.0) / LABEL_SIZE;
            let from_beam = |b: &Place| (place[0] - b[0]).hypot(place[1] - b[1]);
            if beam.iter().any(|b| from_beam(b) < 0.8 * LABEL_SIZE) {
                return f64::INFINITY;
            }
            let out = bulb.map_or(-f64::INFINITY, |(centre, radius)| {
                (place[0] - centre[0]).hypot(place[1] - centre[1]) - radius
            });
            // In the bulb, and not on its wall.
            let outside = match out {
                out if out.abs() < 0.8 * LABEL_SIZE => f64::INFINITY,
                out if out > 0.0 => 60.0 + 0.05 * out,
                _ => 0.0,
            };
            crowded + outside
        };
        let rules = LabelRules { height: LABEL_SIZE, cost: &cost, same_kind_apart: 170.0 };
        for (line, set) in lines.iter().zip(line_labels::set(&lines, &rules)) {
            let level = signed[line.kind];
            let stroke = drawn.stroke(level);
            for piece in set.pieces {
                figure.line(piece, stroke);
            }
            for label in set.labels {
                let turn_rad = label.turn_deg.to_radians();
                covered.push(Covered { middle: label.at, turn_rad, half_width: 0.5 * line.label_width });
                let (sin, cos) = turn_rad.sin_cos();
                // The baseline lies a third of the letters' height under the line.
                let drop = 0.36 * LABEL_SIZE;
                let at = [label.at[0] - drop * sin, label.at[1] + drop * cos];
                figure.text(
                    Text::new(percent(level), at, LABEL_SIZE)
                        .centred()
                        .turned(label.turn_deg)
                        .coloured(stroke.colour),
                );
            }
        }
        covered
    }

    /// The stretches of a line where its neighbour towards zero keeps its distance.
    fn uncrowded(&self, line: ContourLine, level: f64, levels: &[f64]) -> Vec<ContourLine> {
        let step = neighbour_step(level, levels);
        let clear: Vec<bool> = line.points.iter().map(|p| step > LEAST_GAP * self.slope(*p)).collect();
        let Some(start) = clear.iter().position(|clear| !clear) else { return vec![line] };
        let count = line.points.len();
        // A closed line is gone round from a place that is left out.
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

    /// How fast the deviation changes at a place of the grid, per point of the sheet.
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

    /// Where no label may stand: the cut windings.
    fn obstacles(&self, assembly: &Assembly) -> Vec<Rect> {
        let across = self.scale.view().normal();
        assembly
            .windings()
            .iter()
            .filter(|winding| winding.axis.dot(&across).abs() < 0.7)
            .flat_map(|winding| bench_parts::sections(&self.scale, winding))
            .map(|section| {
                let places = section.corners.map(|seen| self.scale.place_seen(seen));
                let [least, most] = [f64::min, f64::max].map(|pick: fn(f64, f64) -> f64| {
                    places.iter().fold(places[0], |at, p| [pick(at[0], p[0]), pick(at[1], p[1])])
                });
                Rect::new(least[0], least[1], most[0] - least[0], most[1] - least[1]).inset(-10.0)
            })
            .collect()
    }
}

/// From a level to the next towards zero; the lowest one's neighbour is the lowest on the other side.
fn neighbour_step(level: f64, levels: &[f64]) -> f64 {
    let size = level.abs();
    match levels.iter().rev().find(|next| **next < size * (1.0 - 1e-9)) {
        Some(next) => size - next,
        None => 2.0 * size,
    }
}

fn length(points: &[Place]) -> f64 {
    points.windows(2).map(|p| (p[0][0] - p[1][0]).hypot(p[0][1] - p[1][1])).sum()
}

fn is_power_of_ten(level: f64) -> bool {
    let power = level.abs().log10();
    (power - power.round()).abs() < 1e-9
}

/// Fine strokes over the places of a rectangle that lie below, from the lower left to the upper right.
fn strokes_below(figure: &mut Figure, rect: Rect, is_below: impl Fn(Place) -> bool) {
    const STEP: f64 = 1.5;
    let stroke = Stroke::solid(BELOW.towards(INK, 0.35).with_alpha(0.4), 0.5);
    let apart = STROKES_APART * std::f64::consts::SQRT_2;
    let lines = ((rect.width + rect.height) / apart).ceil() as usize;
    for from in (0..lines).map(|i| rect.left - rect.height + apart * (i as f64 + 0.5)) {
        // Along the line up to the rectangle's right and upper edge.
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

/// The key beside the plot: what the bands, lines and drawn parts mean.
fn key(figure: &mut Figure, rect: Rect, drawn: &Drawn, plane: Plane, bench: &Bench) {
    let bottom = match drawn {
        Drawn::Levels(levels) => levels_key(figure, rect, drawn, levels),
        Drawn::Within(within) => within_key(figure, rect, within),
    };
    parts_key(figure, [rect.left, bottom + 34.0], plane, bench, drawn.sample());
}

/// Two shades, yes and no, and what share is within. Returns its lower edge.
fn within_key(figure: &mut Figure, rect: Rect, within: &Within) -> f64 {
    let (left, mut top) = (rect.left, rect.top);
    let limit = limit(within);
    for (shade, words) in [(WITHIN, format!("within {limit}")), (PAPER, format!("beyond {limit}"))] {
        let cell = Rect::new(left, top, 30.0, 18.0);
        figure.area(cell.corners(), shade);
        figure.outline(cell.corners(), BOUNDARY);
        figure.text(Text::new(words, [left + 38.0, top + 13.0], 11.0));
        top += 26.0;
    }
    let lines = match within.bulb_volume_share {
        Some(share) => [fixed_down(share, unit::PERCENT, 1), "of the bulb's volume is within".into()],
        None => [length_text(within.reach.sphere_radius_m, 1), "is the radius of a sphere within".into()],
    };
    for (i, line) in lines.into_iter().enumerate() {
        let text = Text::new(line, [left, top + 14.0], if i == 0 { 13.0 } else { 11.0 });
        figure.text(if i == 0 { text.bold() } else { text });
        top += 17.0;
    }
    top
}

/// Bands and lines, below and above. Returns its lower edge.
fn levels_key(figure: &mut Figure, rect: Rect, drawn: &Drawn, levels: &[f64]) -> f64 {
    const STEP: f64 = 19.0;
    const BOX: f64 = 40.0;
    let (left, mut top) = (rect.left, rect.top);
    figure.text(Text::new("Deviation", [left, top + 4.0], 13.0).bold());
    top += 22.0;
    figure.text(Text::new("below", [left + 0.5 * BOX, top], 11.0).centred().coloured(line_colour(-1.0)));
    figure.text(Text::new("above", [left + 1.5 * BOX, top], 11.0).centred().coloured(line_colour(1.0)));
    top += 8.0;
    let count = levels.len();
    for passed in (0..=count).rev() {
        let y = top + (count - passed) as f64 * STEP;
        for (dark, column) in [(BELOW, 0.0), (ABOVE, 1.0)] {
            let cell = Rect::new(left + column * BOX, y, BOX, STEP);
            figure.area(cell.corners(), band_colour(dark, passed, count));
        }
        if let Some(level) = passed.checked_sub(1).map(|i| levels[i]) {
            let line = y + STEP;
            for (sign, column) in [(-1.0, 0.0), (1.0, 1.0)] {
                let from = left + column * BOX;
                figure.line([[from, line], [from + BOX, line]], drawn.stroke(sign * level));
            }
            let text = percent(level).trim_start_matches('+').to_owned();
            figure.text(Text::new(text, [left + 2.0 * BOX + 8.0, line + 4.0], 11.0));
        }
    }
    let bottom = top + (count + 1) as f64 * STEP;
    strokes_below(figure, Rect::new(left, top, BOX, bottom - STEP - top), |_| true);
    figure.outline(Rect::new(left, top, 2.0 * BOX, bottom - top).corners(), Stroke::solid(INK, 0.8));
    bottom
}

/// What the drawn parts are.
fn parts_key(figure: &mut Figure, left_top: Place, plane: Plane, bench: &Bench, sample: Colour) {
    let mut key = PartsKey::at(left_top);
    if plane == Plane::Axial {
        key.currents(figure);
    }
    if let Ok(bulb) = bench.bulb() {
        key.bulb(figure, &bulb);
        key.row(figure, "colours are paler outside it", |figure, at| paler(figure, at, sample));
    }
    if let Some([least, most]) = bench.tube_with_beam().ok().and_then(|tube| tube.beam_radius_m) {
        let [least, most] = [least, most].map(|radius| fixed(radius, unit::MILLIMETRE, 0));
        let least = least.trim_end_matches(" mm");
        key.line(figure, format!("beam, radii {least} and {most}"), Stroke::solid(BEAM, 2.0));
    }
}

/// A colour, and the same outside the bulb.
fn paler(figure: &mut Figure, [x, y]: Place, colour: Colour) {
    for (left, colour) in [(x - 13.0, colour), (x, colour.towards(PAPER, VEIL))] {
        figure.area(Rect::new(left, y - 6.0, 13.0, 12.0).corners(), colour);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    use crate::questions::map::{Request, field_map};

    #[test]
    fn the_one_percent_line_crosses_the_axis_where_the_helmholtz_field_has_fallen_so_far() {
        // Thin coils a radius R apart hold 1 % along the axis to 0.31375 R, 0.1 % to 0.17308 R. Source: the spacings of
        // Cacak and Craig, Rev. Sci. Instrum. 40, 1468 (1969), re-derived from the loop field to five digits.
        let bench = Bench::thin_pair();
        let assembly = Assembly::of(&bench);
        let map = field_map(&bench, &assembly, &Request::default()).unwrap();
        let grid = GridValues::new(&map.axial.deviations, map.axial.right.count as usize).unwrap();
        for (level, wanted) in [(-0.01, 0.31375), (-0.001, 0.17308)] {
            let row = (0.0 - map.axial.up.first_m) / map.axial.up.step_m;
            let crossings: Vec<f64> = grid
                .lines(level)
                .iter()
                .flat_map(|line| &line.points)
                .filter(|[_, y]| (y - row).abs() < 1e-9)
                .map(|[column, _]| (map.axial.right.first_m + column * map.axial.right.step_m).abs() / 0.15)
                .filter(|z| *z < 0.5)
                .collect();
            assert_eq!(crossings.len(), 2, "{level}: one on either side");
            for z in crossings {
                assert!((z - wanted).abs() < 1e-5, "{level}: {z} for {wanted}");
            }
        }
    }

    #[test]
    fn no_label_touches_a_line_the_beam_or_the_wall_of_the_bulb() {
        for name in ["window-bench", "quote-parallel", "quote-thick", "quote-used"] {
            let path = format!("{}/coil-specs/{name}.json", env!("CARGO_MANIFEST_DIR"));
            let bench = crate::files::spec::read_bench(path).unwrap();
            let assembly = Assembly::of(&bench);
            for within_fraction in [None, Some(0.01), Some(0.002)] {
                let request = Request { within_fraction, ..Request::default() };
                let map = field_map(&bench, &assembly, &request).unwrap();
                let planes = [Plane::Axial, Plane::Mid].map(|plane| picture(&map, plane, &bench, &assembly));
                for figure in planes.into_iter().chain([profiles::profiles(&map, &bench)]) {
                    assert_eq!(figure.struck_texts(), Vec::<String>::new(), "{name} {within_fraction:?}");
                }
            }
        }
    }

    #[test]
    fn strokes_tell_in_grey_what_is_below_and_keep_clear_of_labels() {
        let mut figure = Figure::new(100.0, 100.0, "", "");
        let label = Covered { middle: [25.0, 50.0], turn_rad: 0.5, half_width: 8.0 };
        let rect = Rect::new(10.0, 10.0, 80.0, 80.0);
        strokes_below(&mut figure, rect, |[x, y]| x < 50.0 && !label.holds([x, y]));
        let svg = figure.svg();
        let places: Vec<Place> = svg
            .lines()
            .filter(|line| line.contains("<polyline"))
            .flat_map(|line| line.split("points=\"").nth(1).unwrap().split('"').next().unwrap().split(' '))
            .filter_map(|pair| pair.split_once(','))
            .map(|(x, y)| [x, y].map(|number| number.parse::<f64>().unwrap() / 100.0))
            .collect();
        // The rectangle's left half is crossed every 9 points by lines at 45°.
        assert!(places.len() > 12, "{}", places.len());
        assert!(places.iter().all(|place| place[0] < 50.01 && rect.holds(*place) && !label.holds(*place)));
    }

    #[test]
    fn a_limit_has_one_boundary_a_shade_within_and_its_share_in_the_key() {
        let bench = crate::files::spec::read_bench(concat!(
            env!("CARGO_MANIFEST_DIR"),
            "/coil-specs/window-bench.json"
        ))
        .unwrap();
        let assembly = Assembly::of(&bench);
        let request = Request { within_fraction: Some(0.01), ..Request::default() };
        let map = field_map(&bench, &assembly, &request).unwrap();
        let share = fixed_down(map.within.unwrap().bulb_volume_share.unwrap(), unit::PERCENT, 1);
        let svg = picture(&map, Plane::Axial, &bench, &assembly).svg();
        let labels: Vec<&str> = ["+1 %", "−1 %", "+2 %", "−0.5 %"]
            .into_iter()
            .filter(|label| svg.contains(&format!(">{label}<")))
            .collect();
        assert_eq!(labels, ["+1 %", "−1 %"]);
        for words in ["within 1 %", "beyond 1 %", &share] {
            assert!(svg.contains(&format!(">{words}<")), "{words}");
        }
    }

    #[test]
    fn levels_are_one_two_and_five_of_each_decade_up_to_half_the_field() {
        let levels = levels(0.05);
        assert_eq!(&levels[..4], [2e-4, 5e-4, 1e-3, 2e-3]);
        assert_eq!(levels.last(), Some(&0.5));
        assert!(crate::questions::map::picture::levels(0.0).len() < 20);
        assert!(crate::questions::map::picture::levels(f64::NAN).len() < 20);
    }

    #[test]
    fn a_level_is_labelled_with_its_sign_and_no_more_digits_than_it_has() {
        let labels = [0.5, -0.02, 0.001, -2e-4, 5e-6].map(percent);
        assert_eq!(labels, ["+50 %", "−2 %", "+0.1 %", "−0.02 %", "+0.0005 %"]);
    }

    #[test]
    fn bands_darken_with_the_size_of_the_deviation_in_grey_alike_on_both_sides() {
        let grey = |c: Colour| {
            0.2126 * f64::from(c.rgb[0]) + 0.7152 * f64::from(c.rgb[1]) + 0.0722 * f64::from(c.rgb[2])
        };
        for dark in [ABOVE, BELOW] {
            let greys: Vec<f64> = (0..=12).map(|i| grey(band_colour(dark, i, 12))).collect();
            assert!(greys.windows(2).all(|pair| pair[0] > pair[1] + 1.0), "{greys:?}");
        }
    }
}
