//! The picture of a field map: bands and lines of equal deviation on one plane, with the bench drawn to scale.
//!
//! Lightness shows how small the deviation is, also in a grey print. Orange bands and solid lines mean a field stronger
//! than at the centre, blue bands and dashed lines a weaker one. Levels are 1, 2 and 5 of each decade, so neighbouring
//! levels differ by a factor of 2 to 2.5. Fine strokes cover the weaker regions: a grey print then shows the sign even
//! where the lines are too close to be drawn.
//!
//! If a limit is given, the picture shows only its boundary, and shades what lies within.

mod drawn;
mod key;
pub mod profiles;
mod traced;

use crate::paper::contour::GridValues;
use crate::paper::palette::{BEAM, PAPER, QUIET};
use crate::paper::{Figure, Rect, Scale, Stroke, Text, View, circle};
use crate::physics::field::PreparedPair;
use crate::questions::map::words::{limit, within_line};
use crate::questions::map::{FieldMap, Plane, PlaneMap};
use crate::questions::picture::bench_parts;
use crate::units::{Dimension, display};
use drawn::{Drawn, VEIL, levels, percent};
use key::key;
use traced::Traced;

/// Largest width and height of a plot, in points. A sheet then fits an A4 page with margins of 10 mm at 85 % of its
/// size or more.
const LONGEST: [f64; 2] = [530.0, 740.0];

const MARGIN: f64 = 30.0;
const SIDE_WIDTH: f64 = 168.0;

/// Geometry of a picture: the sheet, the plot, and the part of the bench that the plot shows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MapLayout {
    /// Width and height of the sheet, in points.
    pub sheet: [f64; 2],
    /// The part of the sheet that the plane fills, in points.
    pub plot: Rect,
    /// Indices (0, 1, 2 for x, y, z) of the directions that run right and up.
    pub directions: [usize; 2],
    /// Ends of the range that runs right.
    pub right_m: [f64; 2],
    /// Ends of the range that runs up.
    pub up_m: [f64; 2],
}

/// Lays out the picture of one plane. The plot is as large as `LONGEST` allows; the sheet follows the plot's shape.
pub fn layout(map: &FieldMap, plane: Plane) -> MapLayout {
    let values = match plane {
        Plane::Axial => &map.axial,
        Plane::Mid => &map.mid,
    };
    let [right, up] = [values.right.ends_m(), values.up.ends_m()];
    let length_m = |[least, most]: [f64; 2]| (most - least).max(1e-9);
    let points_per_metre = (LONGEST[0] / length_m(right)).min(LONGEST[1] / length_m(up));
    let side = |range: [f64; 2]| points_per_metre * length_m(range);
    let plot = Rect::new(MARGIN + 46.0, MARGIN + 86.0, side(right), side(up));
    let width = plot.right() + 34.0 + SIDE_WIDTH + MARGIN;
    let height = plot.bottom() + 44.0 + 26.0 + 14.0;
    let sheet = [width.max(560.0), height];
    MapLayout { sheet, plot, directions: values.directions, right_m: right, up_m: up }
}

/// Draws one plane of a map.
pub fn picture(map: &FieldMap, plane: Plane, pair: &PreparedPair) -> Figure {
    let (bench, assembly) = (pair.bench(), pair.assembly());
    let (values, view) = match (plane, map.axial.directions) {
        (Plane::Axial, [0, _]) => (&map.axial, View::axial_upright()),
        (Plane::Axial, _) => (&map.axial, View::axial()),
        (Plane::Mid, _) => (&map.mid, View::beam_plane()),
    };
    let MapLayout { sheet, plot, right_m, up_m, .. } = layout(map, plane);
    let mut figure = Figure::new(sheet[0], sheet[1], title(map), description(map, values));
    let scale = Scale::fitting(plot, view, right_m, up_m);

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
    let labels = traced.draw_lines(&mut figure, &drawn, bulb, pair);
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

/// The worst |deviation|, from which the levels follow: that in the bulb, or that on the profiles if there is none in
/// the bulb.
fn worst(map: &FieldMap, values: &PlaneMap) -> f64 {
    let profiles = [&map.axis_profile, &map.x_profile, &map.y_profile];
    let largest = || profiles.iter().flat_map(|p| &p.deviation).fold(0f64, |most, d| most.max(d.abs()));
    worst_in_bulb(map, values).map_or_else(largest, f64::abs)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pair::Bench;
    use crate::questions::map::{Request, field_map};
    use crate::units::{fixed_down, unit};

    #[test]
    fn the_one_percent_line_crosses_the_axis_where_the_helmholtz_field_has_fallen_so_far() {
        // For thin coils a radius R apart the deviation along the axis is -1 % at 0.31375 R and -0.1 % at 0.17308 R.
        // Source: the spacings of Cacak and Craig, Rev. Sci. Instrum. 40, 1468 (1969), derived again from the loop
        // field to five digits.
        let bench = Bench::thin_pair();
        let pair = PreparedPair::of(&bench);
        let map = field_map(&pair, &Request::default()).unwrap();
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
            let pair = PreparedPair::of(&bench);
            for within_fraction in [None, Some(0.01), Some(0.002)] {
                let request = Request { within_fraction, ..Request::default() };
                let map = field_map(&pair, &request).unwrap();
                let planes = [Plane::Axial, Plane::Mid].map(|plane| picture(&map, plane, &pair));
                for figure in planes.into_iter().chain([profiles::profiles(&map, &bench)]) {
                    assert_eq!(figure.struck_texts(), Vec::<String>::new(), "{name} {within_fraction:?}");
                }
            }
        }
    }

    #[test]
    fn a_limit_has_one_boundary_a_shade_within_and_its_share_in_the_key() {
        let bench = crate::files::spec::read_bench(concat!(
            env!("CARGO_MANIFEST_DIR"),
            "/coil-specs/window-bench.json"
        ))
        .unwrap();
        let pair = PreparedPair::of(&bench);
        let request = Request { within_fraction: Some(0.01), ..Request::default() };
        let map = field_map(&pair, &request).unwrap();
        let share = fixed_down(map.within.unwrap().bulb_volume_share.unwrap(), unit::PERCENT, 1);
        let svg = picture(&map, Plane::Axial, &pair).svg();
        let labels: Vec<&str> = ["+1 %", "−1 %", "+2 %", "−0.5 %"]
            .into_iter()
            .filter(|label| svg.contains(&format!(">{label}<")))
            .collect();
        assert_eq!(labels, ["+1 %", "−1 %"]);
        for words in ["within 1 %", "beyond 1 %", &share] {
            assert!(svg.contains(&format!(">{words}<")), "{words}");
        }
    }
}
