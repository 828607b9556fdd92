//! The picture of a field map: bands and lines of equal deviation on one plane, with the bench drawn to scale.
//!
//! The lighter a place, the better the field there agrees with the centre's: that reads the same in grey. Where the
//! field is stronger than at the centre, bands are orange and lines solid; where it is weaker, blue and dashed. Levels
//! are 1, 2 and 5 of each decade, so that neighbouring lines mean a factor of about two.

pub mod profiles;

use crate::pair::Bench;
use crate::paper::Colour;
use crate::paper::contour::{ContourLine, GridValues, simplified};
use crate::paper::line_labels::{LabelRules, LabelledLine};
use crate::paper::palette::{ABOVE, BEAM, BELOW, GLASS, INK, PAPER, QUIET};
use crate::paper::{Dash, Figure, Place, Rect, Scale, Stroke, Text, View, circle, line_labels};
use crate::physics::field::Assembly;
use crate::questions::map::{FieldMap, GridAxis, Plane, PlaneMap};
use crate::questions::picture::bench_parts;
use crate::units::{Dimension, display, fixed, unit};
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

const LABEL_SIZE: f64 = 9.5;
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
    // The longer side is a fixed length; the sheet follows the plot's shape.
    let longest = (right[1] - right[0]).max(up[1] - up[0]).max(1e-9);
    let side = |[least, most]: [f64; 2]| 740.0 * (most - least) / longest;
    let plot = Rect::new(MARGIN + 46.0, MARGIN + 86.0, side(right), side(up));
    let width = plot.right() + 34.0 + SIDE_WIDTH + MARGIN;
    let height = plot.bottom() + 44.0 + 26.0 + 14.0;
    let mut figure = Figure::new(width.max(560.0), height, title(map), description(map, values));
    let scale = Scale::fitting(plot, view, right, up);

    let levels = levels(worst(map, values));
    let glass = bench.bulb().ok();
    let bulb = glass.and_then(|glass| {
        let radius_m = bench_parts::bulb_section_radius_m(&scale, &glass)?;
        Some((scale.place(&glass.centre_m), scale.length(radius_m)))
    });
    let Some(grid) = GridValues::new(&values.deviations, values.right.count as usize) else { return figure };
    let traced = Traced { grid, values, scale };
    traced.fill_bands(&mut figure, &levels);
    if let Some((centre, radius)) = bulb {
        let mut hole = circle(centre, radius);
        hole.reverse();
        figure.area_of_rings(vec![scale.plot().corners(), hole], PAPER.with_alpha(VEIL));
    }
    traced.draw_lines(&mut figure, &levels, bulb, bench, assembly);
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
    key(
        &mut figure,
        Rect::new(plot.right() + 34.0, plot.top, SIDE_WIDTH, plot.height),
        &levels,
        plane,
        bench,
    );
    figure.footer(&map.provenance.to_string());
    figure
}

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
    let line = format!("Deviation from the field at the centre, {centre}; {plane}; {whose}");
    figure.text(Text::new(line, [MARGIN, MARGIN + 36.0], 12.5).coloured(QUIET));
}

fn description(map: &FieldMap, values: &PlaneMap) -> String {
    let plane = match values.plane {
        Plane::Axial => "the plane through the axis",
        Plane::Mid => "the mid-plane",
    };
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

    /// Draws the lines with their labels; those outside the bulb stand back.
    fn draw_lines(
        &self,
        figure: &mut Figure,
        levels: &[f64],
        bulb: Option<(Place, f64)>,
        bench: &Bench,
        assembly: &Assembly,
    ) {
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
                (0..120).map(move |i| tube.circle_point_m(radius, TAU * f64::from(i) / 120.0))
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
            let near_beam = beam.iter().any(|b| (place[0] - b[0]).powi(2) + (place[1] - b[1]).powi(2) < 81.0);
            let out = bulb.map_or(-f64::INFINITY, |(centre, radius)| {
                (place[0] - centre[0]).hypot(place[1] - centre[1]) - radius
            });
            // In the bulb, and not on its wall.
            let outside = match out {
                out if out.abs() < 6.0 => f64::INFINITY,
                out if out > 0.0 => 60.0 + 0.05 * out,
                _ => 0.0,
            };
            crowded + outside + if near_beam { 70.0 } else { 0.0 }
        };
        let rules = LabelRules { height: LABEL_SIZE, cost: &cost, same_kind_apart: 170.0 };
        for (line, set) in lines.iter().zip(line_labels::set(&lines, &rules)) {
            let level = signed[line.kind];
            let colour = line_colour(level);
            let main = is_power_of_ten(level);
            let stroke = Stroke {
                colour,
                width: if main { 1.5 } else { 0.9 },
                dash: if level > 0.0 { Dash::Solid } else { Dash::Dashed },
            };
            for piece in set.pieces {
                figure.line(piece, stroke);
            }
            for label in set.labels {
                let (sin, cos) = label.turn_deg.to_radians().sin_cos();
                // The baseline lies a third of the letters' height under the line.
                let drop = 0.36 * LABEL_SIZE;
                let at = [label.at[0] - drop * sin, label.at[1] + drop * cos];
                figure.text(
                    Text::new(percent(level), at, LABEL_SIZE)
                        .centred()
                        .turned(label.turn_deg)
                        .coloured(colour),
                );
            }
        }
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

/// The key beside the plot: what the bands, lines and drawn parts mean.
fn key(figure: &mut Figure, rect: Rect, levels: &[f64], plane: Plane, bench: &Bench) {
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
                let stroke = Stroke {
                    colour: line_colour(sign),
                    width: if is_power_of_ten(level) { 1.5 } else { 0.9 },
                    dash: if sign > 0.0 { Dash::Solid } else { Dash::Dashed },
                };
                let from = left + column * BOX;
                figure.line([[from, line], [from + BOX, line]], stroke);
            }
            let text = percent(level).trim_start_matches('+').to_owned();
            figure.text(Text::new(text, [left + 2.0 * BOX + 8.0, line + 4.0], 11.0));
        }
    }
    let bottom = top + (count + 1) as f64 * STEP;
    figure.outline(Rect::new(left, top, 2.0 * BOX, bottom - top).corners(), Stroke::solid(INK, 0.8));
    parts_key(figure, [left, bottom + 34.0], plane, bench);
}

/// What the drawn parts are.
fn parts_key(figure: &mut Figure, [left, mut y]: Place, plane: Plane, bench: &Bench) {
    let mut row = |figure: &mut Figure, text: String, draw: &dyn Fn(&mut Figure, Place)| {
        draw(figure, [left + 15.0, y]);
        figure.text(Text::new(text, [left + 38.0, y + 4.0], 11.0));
        y += 20.0;
    };
    if plane == Plane::Axial {
        row(figure, "coil, current towards you".into(), &|figure, [x, y]| {
            bench_parts::current_mark(figure, [x, y], 6.0, true);
        });
        row(figure, "coil, current away".into(), &|figure, [x, y]| {
            bench_parts::current_mark(figure, [x, y], 6.0, false);
        });
    }
    if let Ok(bulb) = bench.bulb() {
        row(figure, format!("bulb, radius {}", fixed(bulb.radius_m, unit::MILLIMETRE, 0)), &|figure, at| {
            figure.circle(at, 7.0, Stroke::solid(GLASS, 1.6))
        });
    }
    if let Some([least, most]) = bench.tube_with_beam().ok().and_then(|tube| tube.beam_radius_m) {
        let [least, most] = [least, most].map(|radius| fixed(radius, unit::MILLIMETRE, 0));
        let least = least.trim_end_matches(" mm");
        row(figure, format!("beam, radii {least} and {most}"), &|figure, [x, y]| {
            figure.line([[x - 13.0, y], [x + 13.0, y]], Stroke::solid(BEAM, 2.0));
        });
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
