//! One orbit in three views, with coils, bulb and gun to scale.

pub mod chart;
pub mod scale;

use crate::pair::Tube;
use crate::paper::palette::{BEAM, INK, QUIET};
use crate::paper::{Figure, Rect, Scale, Stroke, Text, View};
use crate::physics::beam::{BeamBench, Gun};
use crate::questions::orbit::Orbit;
use crate::questions::picture::bench_parts::{bulb, coils, dot, gun};
use crate::units::{Dimension, display, fixed, unit};
use nalgebra::Vector3;

/// Sheet on which each view is drawn, in points.
const WIDTH: f64 = 760.0;
const HEIGHT: f64 = 760.0;

/// The orbit as seen in one view.
pub(crate) fn view(orbit: &Orbit, beams: &BeamBench<'_>, title: &str, view: View) -> Figure {
    let setting = format!(
        "{} and {}{}",
        fixed(orbit.gun_voltage_volt, unit::VOLT, 0),
        display(orbit.current_ampere, Dimension::Current, 3),
        if orbit.gun_tilt_rad == 0.0 {
            String::new()
        } else {
            format!(", gun tilted by {}", display(orbit.gun_tilt_rad, Dimension::Angle, 2))
        }
    );
    let mut figure = Figure::new(
        WIDTH,
        HEIGHT,
        title,
        format!("The beam at {setting}, with the coils, the bulb and the gun to scale."),
    );
    figure.text(Text::new(title, [28.0, 44.0], 20.0).bold());
    figure.text(Text::new(setting, [28.0, 66.0], 14.0).coloured(QUIET));
    let [right, up] = ranges(beams, &view);
    let scale = Scale::fitting(Rect::new(80.0, 110.0, WIDTH - 120.0, HEIGHT - 210.0), view, right, up);
    coils(&mut figure, &scale, &beams.assembly);
    if let Ok(glass) = beams.bench.bulb() {
        bulb(&mut figure, &scale, &glass);
    }
    if let Some(radius) = orbit.uniform_field_radius_m.filter(|_| view == View::beam_plane()) {
        textbook_circle(&mut figure, &scale, beams, orbit, radius);
    }
    let path = orbit.path.iter().map(|row| Vector3::new(row.x_m, row.y_m, row.z_m));
    scale.path(&mut figure, path, Stroke::solid(BEAM, 2.4));
    let direction = Gun::of(&beams.tube, orbit.gun_tilt_rad).direction;
    gun(&mut figure, &scale, &Tube { gun_direction: direction, ..beams.tube.clone() });
    if let Some(strike) = &orbit.strikes {
        let at = Vector3::new(strike.x_m, strike.y_m, strike.z_m);
        dot(&mut figure, &scale, &at);
        let [x, y] = scale.place(&at);
        let label = if strike.what == "bulb" { "strikes the glass" } else { "strikes the gun" };
        figure.text(Text::new(label, [x + 8.0, y - 8.0], 12.0).rimmed());
    }
    scale.axes(&mut figure);
    figure.text(Text::new(orbit.provenance.to_string(), [28.0, HEIGHT - 18.0], 11.0).coloured(QUIET));
    figure
}

/// The circle of a uniform field, dashed, where the real beam would run in it.
fn textbook_circle(figure: &mut Figure, scale: &Scale, beams: &BeamBench<'_>, orbit: &Orbit, radius_m: f64) {
    let sign = orbit.centre_field_tesla.signum();
    let centre = beams.tube.circle_centre_m(sign * radius_m);
    let points = (0..=180).map(|i| {
        let (sin, cos) = (std::f64::consts::TAU * f64::from(i) / 180.0).sin_cos();
        centre + Vector3::new(cos, sin, 0.0) * radius_m
    });
    scale.path(figure, points, Stroke::dashed(INK, 1.1));
    let plot = scale.plot();
    figure.line(
        [[plot.right() - 220.0, plot.top - 16.0], [plot.right() - 190.0, plot.top - 16.0]],
        Stroke::dashed(INK, 1.1),
    );
    figure.text(Text::new("in a uniform field", [plot.right() - 182.0, plot.top - 12.0], 12.0));
}

/// What the view must show: coils and bulb with a margin.
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
    for winding in beams.assembly.windings() {
        let section = winding.section;
        let outer = section.mean_radius_m + 0.5 * section.depth_m;
        let reach = |direction: &Vector3<f64>| {
            let along = winding.axis.dot(direction).abs().min(1.0);
            outer * (1.0 - along * along).sqrt() + 0.5 * section.width_m * along
        };
        include(&winding.centre_m, [reach(&view.right), reach(&view.up)]);
    }
    ranges.map(|[low, high]| [low - 0.04 * (high - low), high + 0.04 * (high - low)])
}
