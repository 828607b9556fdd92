//! The pictures of one orbit: three views, with coils, bulb and gun to scale.

pub mod chart;
pub mod scale;

use crate::pair::{AxisPosition, Tube};
use crate::paper::palette::{BEAM, COPPER, GUN_METAL, INK, QUIET};
use crate::paper::{Figure, Place, Rect, Scale, Stroke, Text, View};
use crate::physics::beam::{BeamBench, Gun};
use crate::questions::orbit::{Orbit, Strike};
use crate::questions::picture::bench_parts::{
    bulb, coils, dart, dot, exit_mark, gun, gun_body, points_at_observer,
};
use crate::questions::picture::parts_key::PartsKey;
use crate::units::{Dimension, display, fixed, unit};
use nalgebra::Vector3;

/// Longer side of the plot, in points.
///
/// A sheet then fits an A4 page with margins of 10 mm at 85 % of its size or more.
const LONGEST: f64 = 500.0;
/// Width of the key beside the plot, in points.
const SIDE_WIDTH: f64 = 200.0;
const MARGIN: f64 = 28.0;
/// Smallest width of a sheet, in points; the title needs it.
const LEAST_WIDTH: f64 = 520.0;

const BEAM_STROKE: Stroke = Stroke::solid(BEAM, 2.4);
const UNIFORM_STROKE: Stroke = Stroke::dashed(INK, 1.1);

/// The heading of a view: where it is seen from and which coordinates it shows.
pub(crate) fn title(view: &View, axis: AxisPosition) -> &'static str {
    match axis {
        _ if *view == View::beam_plane() => "Beam plane, seen along the axis from coil b",
        AxisPosition::Horizontal if *view == View::side() => "Seen from the side: z and y",
        AxisPosition::Horizontal => "Seen from above: z and x",
        AxisPosition::Vertical if *view == View::side() => "Seen from the side along x: z and y",
        AxisPosition::Vertical => "Seen from the side along y: z and x",
    }
}

/// Draws the orbit in the beam plane, seen along the axis.
pub fn in_beam_plane(orbit: &Orbit, beams: &BeamBench<'_>) -> Figure {
    view(orbit, beams, View::beam_plane())
}

/// Draws the orbit in one view.
pub(crate) fn view(orbit: &Orbit, beams: &BeamBench<'_>, view: View) -> Figure {
    let [right, up] = ranges(beams, &view);
    let (wide, high) = (right[1] - right[0], up[1] - up[0]);
    let side = |length_m: f64| LONGEST * length_m / wide.max(high);
    let plot = Rect::new(MARGIN + 46.0, 110.0, side(wide), side(high));
    let width = (plot.right() + 24.0 + SIDE_WIDTH + MARGIN).max(LEAST_WIDTH);
    let setting = setting(orbit);
    let title = title(&view, beams.bench().axis);
    let described = format!("The beam at {setting}, with the coils, the bulb and the gun to scale.");
    let mut figure = Figure::new(width, plot.bottom() + 84.0, title, described);
    figure.text(Text::new(title, [MARGIN, 44.0], 20.0).bold());
    figure.text(Text::new(setting, [MARGIN, 66.0], 14.0).coloured(QUIET));
    let scale = Scale::fitting(plot, view, right, up);
    draw_parts(&mut figure, &scale, orbit, beams);
    scale.axes(&mut figure);
    key(&mut figure, [plot.right() + 24.0, plot.top + 12.0], &view, orbit, beams);
    figure.footer(&orbit.provenance.to_string());
    figure
}

fn setting(orbit: &Orbit) -> String {
    let volt = fixed(orbit.gun_voltage_volt, unit::VOLT, 0);
    let ampere = display(orbit.current_ampere, Dimension::Current, 3);
    match orbit.gun_tilt_rad {
        0.0 => format!("{volt} and {ampere}"),
        tilt => format!("{volt} and {ampere}, gun tilted by {}", display(tilt, Dimension::Angle, 2)),
    }
}

fn draw_parts(figure: &mut Figure, scale: &Scale, orbit: &Orbit, beams: &BeamBench<'_>) {
    coils(figure, scale, beams.assembly());
    if let Ok(glass) = beams.bench().bulb() {
        bulb(figure, scale, &glass);
    }
    let body = Gun::of(&beams.tube, orbit.gun_tilt_rad);
    gun_body(figure, scale, &body);
    if let Some(radius_m) = circle_of_uniform_field_m(orbit, &scale.view()) {
        circle_of_uniform_field(figure, scale, beams, orbit, radius_m);
    }
    let path = orbit.path.iter().map(|row| Vector3::new(row.x_m, row.y_m, row.z_m));
    scale.path(figure, path, BEAM_STROKE);
    gun(figure, scale, &Tube { gun_direction: body.direction, ..beams.tube.clone() });
    if let Some(strike) = &orbit.strikes {
        dot(figure, scale, &Vector3::new(strike.x_m, strike.y_m, strike.z_m));
    }
}

/// Radius of the circle in a uniform field. `None` in the views that do not show it.
fn circle_of_uniform_field_m(orbit: &Orbit, view: &View) -> Option<f64> {
    orbit.uniform_field_radius_m.filter(|_| *view == View::beam_plane())
}

/// Draws, dashed, the circle on which the beam would run in a uniform field.
fn circle_of_uniform_field(
    figure: &mut Figure,
    scale: &Scale,
    beams: &BeamBench<'_>,
    orbit: &Orbit,
    radius_m: f64,
) {
    let sign = orbit.centre_field_tesla.signum();
    let centre = beams.tube.circle_centre_m(sign * radius_m);
    let points = (0..=180).map(|i| {
        let (sin, cos) = (std::f64::consts::TAU * f64::from(i) / 180.0).sin_cos();
        centre + Vector3::new(cos, sin, 0.0) * radius_m
    });
    scale.path(figure, points, UNIFORM_STROKE);
}

/// Draws the key: one row for each thing that the view shows.
fn key(figure: &mut Figure, left_top: Place, view: &View, orbit: &Orbit, beams: &BeamBench<'_>) {
    let mut key = PartsKey::at(left_top);
    if *view == View::beam_plane() {
        key.line(figure, "coils, inner and outer edge", Stroke::solid(COPPER, 1.2));
    } else {
        key.currents(figure);
    }
    if let Ok(glass) = beams.bench().bulb() {
        key.bulb(figure, &glass);
    }
    key.row(figure, "gun, body of the usual size", |figure, [x, y]| {
        let body = Rect::new(x - 12.0, y - 5.0, 24.0, 10.0);
        figure.area(body.corners(), GUN_METAL);
        figure.outline(body.corners(), Stroke::solid(INK, 0.9));
    });
    if points_at_observer(view, &Gun::of(&beams.tube, orbit.gun_tilt_rad)) {
        key.row(figure, "gun exit, seen along the beam", exit_mark);
    } else {
        key.row(figure, "gun exit and direction", |figure, at| {
            dart(figure, [at[0] + 6.0, at[1]], [1.0, 0.0])
        });
    }
    key.line(figure, "beam", BEAM_STROKE);
    if circle_of_uniform_field_m(orbit, view).is_some() {
        key.line(figure, "beam in a uniform field", UNIFORM_STROKE);
    }
    if let Some(strike) = &orbit.strikes {
        let what = if strike.what == "bulb" { "glass" } else { "gun" };
        key.row(figure, format!("where it strikes the {what}:"), |figure, at| figure.disc(at, 3.0, INK));
        let [x, y, z] = [strike.x_m, strike.y_m, strike.z_m].map(|metre| {
            let mm = fixed(metre, unit::MILLIMETRE, 0);
            mm.trim_end_matches(" mm").replace('-', "−")
        });
        key.more(figure, format!("x {x}, y {y}, z {z} mm"));
        if let Some(side) = side_of_glass(strike, view, beams) {
            key.more(figure, side);
        }
    }
}

/// Which side of the bulb a strike lies on, if the view shows it inside the bulb's outline. `None` near the outline and
/// on the gun.
fn side_of_glass(strike: &Strike, view: &View, beams: &BeamBench<'_>) -> Option<&'static str> {
    let bulb = beams.bench().bulb().ok().filter(|_| strike.what == "bulb")?;
    let from_centre = Vector3::new(strike.x_m, strike.y_m, strike.z_m) - bulb.centre_m;
    match from_centre.dot(&view.normal()) / bulb.radius_m {
        towards if towards > 0.2 => Some("on the wall on your side"),
        towards if towards < -0.2 => Some("on the wall on the far side"),
        _ => None,
    }
}

/// The ranges that a view must show: coils and bulb, with a margin.
fn ranges(beams: &BeamBench<'_>, view: &View) -> [[f64; 2]; 2] {
    let mut ranges = [[f64::INFINITY, f64::NEG_INFINITY]; 2];
    let mut include = |centre: &Vector3<f64>, reach_m: [f64; 2]| {
        let seen = view.seen(centre);
        for i in 0..2 {
            ranges[i][0] = ranges[i][0].min(seen[i] - reach_m[i]);
            ranges[i][1] = ranges[i][1].max(seen[i] + reach_m[i]);
        }
    };
    if let Some(glass) = beams.tube.bulb() {
        include(&glass.centre_m, [glass.radius_m; 2]);
    }
    for winding in beams.assembly().windings() {
        include(&winding.centre_m, [view.right, view.up].map(|direction| winding.half_extent_m(&direction)));
    }
    ranges.map(|[low, high]| [low - 0.04 * (high - low), high + 0.04 * (high - low)])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::spec::read_bench;
    use crate::physics::beam::Setting;
    use crate::questions::orbit::{Request, orbit};

    fn window_bench() -> crate::pair::Bench {
        read_bench(concat!(env!("CARGO_MANIFEST_DIR"), "/coil-specs/window-bench.json")).unwrap()
    }

    const VIEWS: [fn() -> View; 3] = [View::beam_plane, View::side, View::axial];

    #[test]
    fn every_view_names_all_that_it_shows_and_no_name_is_struck() {
        let bench = window_bench();
        let beams = BeamBench::prepare(&bench, None).unwrap();
        for (gun_voltage_volt, current_ampere, gun_tilt_rad) in
            [(200.0, 1.4, 0.0), (300.0, 0.5, 0.0), (200.0, 1.4, 0.35)]
        {
            let setting = Setting { gun_voltage_volt, current_ampere, gun_tilt_rad };
            let record = orbit(&beams, &Request::at(setting)).unwrap();
            for shown in VIEWS {
                let figure = view(&record, &beams, shown());
                assert_eq!(figure.struck_texts(), Vec::<String>::new(), "{setting:?}");
                let svg = figure.svg();
                for name in ["bulb, radius 82 mm", "gun, body of the usual size", ">beam<"] {
                    assert!(svg.contains(name), "{name}");
                }
                assert_eq!(svg.contains("where it strikes the glass"), record.strikes.is_some());
            }
        }
    }

    #[test]
    fn a_view_across_the_axis_is_called_by_where_it_is_seen_from() {
        let [side, across] = [View::side(), View::axial()];
        assert_eq!(title(&across, AxisPosition::Horizontal), "Seen from above: z and x");
        assert_eq!(title(&side, AxisPosition::Horizontal), "Seen from the side: z and y");
        assert_eq!(title(&across, AxisPosition::Vertical), "Seen from the side along y: z and x");
    }

    #[test]
    fn a_place_on_the_glass_inside_the_outline_is_told_by_its_side() {
        let bench = window_bench();
        let beams = BeamBench::prepare(&bench, None).unwrap();
        let strike = |x_m: f64, z_m: f64| Strike { what: "bulb", x_m, y_m: 0.0, z_m };
        // The side view looks along +x, so what lies at -x is on the near side.
        let side = View::side();
        assert_eq!(side_of_glass(&strike(-0.082, 0.0), &side, &beams), Some("on the wall on your side"));
        assert_eq!(side_of_glass(&strike(0.082, 0.0), &side, &beams), Some("on the wall on the far side"));
        assert_eq!(side_of_glass(&strike(0.0, 0.082), &side, &beams), None);
        assert_eq!(side_of_glass(&Strike { what: "gun", ..strike(0.082, 0.0) }, &side, &beams), None);
    }
}
