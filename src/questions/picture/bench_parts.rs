//! Coils, bulb, gun and beam circles drawn to scale on a view of the bench.

use crate::pair::{Bulb, Tube};
use crate::paper::palette::{BEAM, COPPER, GLASS, GUN_METAL, INK, PAPER};
use crate::paper::{Figure, Place, Scale, Stroke, View};
use crate::physics::beam::{GUN_BODY_LENGTH_M, GUN_BODY_RADIUS_M, Gun};
use crate::physics::field::{Assembly, PlacedWinding};
use nalgebra::Vector3;
use std::f64::consts::TAU;

/// Number of straight pieces in a circle.
const CIRCLE_STEPS: usize = 180;

/// Draws the windings: cut open where the view's plane through the origin cuts them, as rings where it looks along
/// their axis. A dot marks current towards the observer, a cross current away, at positive current.
pub(crate) fn coils(figure: &mut Figure, scale: &Scale, assembly: &Assembly) {
    for winding in assembly.windings() {
        if winding.axis.dot(&scale.view().normal()).abs() > 0.7 {
            ring(figure, scale, winding);
        } else {
            for section in sections(scale, winding) {
                scale.ring_seen(figure, &section.corners, Some(COPPER), Stroke::solid(INK, 0.8));
                let places = section.corners.map(|seen| scale.place_seen(seen));
                let middle = [0, 1].map(|i| places.iter().map(|p| p[i]).sum::<f64>() / 4.0);
                let side = |a: Place, b: Place| (a[0] - b[0]).hypot(a[1] - b[1]);
                let radius = 0.34 * side(places[0], places[1]).min(side(places[1], places[2]));
                if radius > 1.6 && scale.plot().holds(middle) {
                    current_mark(figure, middle, radius.min(9.0), section.towards_observer);
                }
            }
        }
    }
}

/// One cut of a winding.
pub(crate) struct CutSection {
    /// Its corners in the view, in turn.
    pub(crate) corners: [[f64; 2]; 4],
    towards_observer: bool,
}

/// The two places where the view's plane through the origin cuts a winding; none where it misses it.
pub(crate) fn sections(scale: &Scale, winding: &PlacedWinding) -> Vec<CutSection> {
    let view = scale.view();
    let normal = view.normal();
    let Some(outward) = normal.cross(&winding.axis).try_normalize(1e-9) else { return Vec::new() };
    // A centre off the plane brings the cut a little nearer the axis.
    let off = winding.centre_m.dot(&normal);
    let section = winding.section;
    let cut = |radius: f64| (radius * radius - off * off).max(0.0).sqrt();
    let inner = cut(section.mean_radius_m - 0.5 * section.depth_m);
    let outer = cut(section.mean_radius_m + 0.5 * section.depth_m);
    let half = 0.5 * section.width_m;
    [outward, -outward]
        .into_iter()
        .map(|outward| {
            let corner = |radius: f64, along: f64| {
                view.seen(&(winding.centre_m + outward * radius + winding.axis * along))
            };
            let flow = winding.axis.cross(&outward) * winding.current_share * winding.turns;
            CutSection {
                corners: [
                    corner(inner, -half),
                    corner(inner, half),
                    corner(outer, half),
                    corner(outer, -half),
                ],
                towards_observer: flow.dot(&normal) > 0.0,
            }
        })
        .collect()
}

/// The mark of a current that runs towards the observer, or away.
pub(crate) fn current_mark(figure: &mut Figure, [x, y]: Place, radius: f64, towards_observer: bool) {
    figure.disc([x, y], radius, PAPER);
    figure.circle([x, y], radius, Stroke::solid(INK, 0.7));
    if towards_observer {
        figure.disc([x, y], 0.32 * radius, INK);
    } else {
        let arm = 0.62 * radius;
        let stroke = Stroke::solid(INK, (0.22 * radius).clamp(0.6, 1.4));
        figure.line([[x - arm, y - arm], [x + arm, y + arm]], stroke);
        figure.line([[x - arm, y + arm], [x + arm, y - arm]], stroke);
    }
}

/// A winding seen along its axis.
fn ring(figure: &mut Figure, scale: &Scale, winding: &PlacedWinding) {
    let across = winding.axis.cross(&scale.view().up).normalize();
    let other = winding.axis.cross(&across);
    for side in [-0.5, 0.5] {
        let radius = winding.section.mean_radius_m + side * winding.section.depth_m;
        let seen: Vec<[f64; 2]> = (0..CIRCLE_STEPS)
            .map(|i| {
                let (sin, cos) = (TAU * i as f64 / CIRCLE_STEPS as f64).sin_cos();
                scale.view().seen(&(winding.centre_m + (across * cos + other * sin) * radius))
            })
            .collect();
        scale.ring_seen(figure, &seen, None, Stroke::solid(COPPER, 1.2));
    }
}

/// Draws the bulb's outline as seen from outside.
pub(crate) fn bulb(figure: &mut Figure, scale: &Scale, bulb: &Bulb) {
    bulb_circle(figure, scale, bulb, bulb.radius_m);
}

/// Draws the circle in which the view's plane through the origin cuts the bulb.
pub(crate) fn bulb_section(figure: &mut Figure, scale: &Scale, bulb: &Bulb) {
    if let Some(radius_m) = bulb_section_radius_m(scale, bulb) {
        bulb_circle(figure, scale, bulb, radius_m);
    }
}

/// Radius of the circle in which the view's plane through the origin cuts the bulb, if it does.
pub(crate) fn bulb_section_radius_m(scale: &Scale, bulb: &Bulb) -> Option<f64> {
    let off = bulb.centre_m.dot(&scale.view().normal());
    let square = bulb.radius_m * bulb.radius_m - off * off;
    (square > 0.0).then(|| square.sqrt())
}

fn bulb_circle(figure: &mut Figure, scale: &Scale, bulb: &Bulb, radius_m: f64) {
    let [right, up] = scale.view().seen(&bulb.centre_m);
    let steps = CIRCLE_STEPS as f64;
    let seen: Vec<[f64; 2]> = (0..CIRCLE_STEPS)
        .map(|i| {
            let (sin, cos) = (TAU * i as f64 / steps).sin_cos();
            [right + radius_m * cos, up + radius_m * sin]
        })
        .collect();
    scale.ring_seen(figure, &seen, None, Stroke::solid(GLASS, 1.6));
}

/// Draws the circle of one radius that the beam makes from the gun exit at positive current; seen edge-on it is a line.
pub(crate) fn beam_circle(figure: &mut Figure, scale: &Scale, tube: &Tube, radius_m: f64, stroke: Stroke) {
    let points =
        (0..=CIRCLE_STEPS).map(|i| tube.circle_point_m(radius_m, TAU * i as f64 / CIRCLE_STEPS as f64));
    scale.path(figure, points, stroke);
}

/// Draws the outline of the gun's body, the cylinder behind its exit.
pub(crate) fn gun_body(figure: &mut Figure, scale: &Scale, gun: &Gun) {
    let [right, up] = scale.view().seen(&gun.direction);
    let seen = right.hypot(up).min(1.0);
    let along = if seen > 1e-9 { [right / seen, up / seen] } else { [1.0, 0.0] };
    let back_m = gun.exit_m - gun.direction.into_inner() * GUN_BODY_LENGTH_M;
    // Its ends are circles, seen from the side as ellipses: half of each is outline.
    let flattened_m = GUN_BODY_RADIUS_M * (1.0 - seen * seen).sqrt();
    let ring: Vec<[f64; 2]> = (0..=CIRCLE_STEPS)
        .map(|i| {
            let turn = TAU * i as f64 / CIRCLE_STEPS as f64 - 0.25 * TAU;
            let end_m = if 2 * i <= CIRCLE_STEPS { gun.exit_m } else { back_m };
            let [x, y] = scale.view().seen(&end_m);
            let (forward, aside) = (flattened_m * turn.cos(), GUN_BODY_RADIUS_M * turn.sin());
            [x + along[0] * forward - along[1] * aside, y + along[1] * forward + along[0] * aside]
        })
        .collect();
    scale.ring_seen(figure, &ring, Some(GUN_METAL), Stroke::solid(INK, 0.9));
}

/// Draws the gun: a dart at its exit that points the way the beam leaves, or its tip where it points at the observer.
pub(crate) fn gun(figure: &mut Figure, scale: &Scale, tube: &Tube) {
    let at = scale.place(&tube.gun_exit_m);
    if !scale.plot().holds(at) {
        return;
    }
    let gun = Gun { exit_m: tube.gun_exit_m, direction: tube.gun_direction };
    if points_at_observer(&scale.view(), &gun) {
        return exit_mark(figure, at);
    }
    let [right, up] = scale.view().seen(&gun.direction);
    let seen = right.hypot(up);
    dart(figure, at, [right / seen, -up / seen]);
}

/// Whether a view looks along the gun, so that a dart would be too short to read.
pub(crate) fn points_at_observer(view: &View, gun: &Gun) -> bool {
    let [right, up] = view.seen(&gun.direction);
    right.hypot(up) < 0.3
}

/// A dart with its tip at a place of the sheet, along a direction of the sheet.
pub(crate) fn dart(figure: &mut Figure, tip: Place, [dx, dy]: [f64; 2]) {
    let back = [tip[0] - 13.0 * dx, tip[1] - 13.0 * dy];
    let wing = |side: f64| [back[0] - side * 4.6 * dy, back[1] + side * 4.6 * dx];
    figure.area(vec![tip, wing(1.0), wing(-1.0)], BEAM);
}

/// The gun's exit as seen along the beam.
pub(crate) fn exit_mark(figure: &mut Figure, at: Place) {
    figure.disc(at, 4.0, PAPER);
    figure.circle(at, 4.0, Stroke::solid(BEAM, 1.4));
    figure.disc(at, 1.5, BEAM);
}

/// Marks one point of the bench with a dot.
pub(crate) fn dot(figure: &mut Figure, scale: &Scale, point_m: &Vector3<f64>) {
    let at = scale.place(point_m);
    if scale.plot().holds(at) {
        figure.disc(at, 3.0, INK);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::paper::Rect;
    use crate::physics::field::Section;

    fn winding(axis: Vector3<f64>) -> PlacedWinding {
        PlacedWinding {
            section: Section { mean_radius_m: 0.15, width_m: 0.02, depth_m: 0.01 },
            turns: 100.0,
            centre_m: Vector3::new(0.0, 0.0, 0.075),
            axis,
            current_share: 1.0,
        }
    }

    #[test]
    fn the_guns_body_is_a_rectangle_from_the_side_and_a_circle_from_the_front() {
        let gun = Gun::new(Vector3::new(0.04, 0.0, 0.0), Vector3::y()).unwrap();
        let outline = |view: View| {
            let rect = Rect::new(0.0, 0.0, 400.0, 400.0);
            let scale = Scale::fitting(rect, view, [-0.1, 0.1], [-0.1, 0.1]);
            let mut figure = Figure::new(400.0, 400.0, "", "");
            gun_body(&mut figure, &scale, &gun);
            let svg = figure.svg();
            let line = svg.lines().find(|line| line.contains("<polyline")).unwrap();
            let points = line.split("points=\"").nth(1).unwrap();
            let number = |text: &str| text.parse::<f64>().unwrap() / 100.0;
            let mut ends = [f64::INFINITY, f64::NEG_INFINITY, f64::INFINITY, f64::NEG_INFINITY];
            for point in points[..points.find('"').unwrap()].split_whitespace() {
                let (x, y) = point.split_once(',').unwrap();
                let [x, y] = [number(x), number(y)];
                ends = [ends[0].min(x), ends[1].max(x), ends[2].min(y), ends[3].max(y)];
            }
            ends
        };
        // Two points a millimetre, the origin at [200, 200], y down: 35 to 45 mm, 0 to −30 mm and −5 to 5 mm. The SVG counts in
        // hundredths of a point.
        for (view, wanted) in [
            (View::beam_plane(), [270.0, 290.0, 200.0, 260.0]),
            (View::axial(), [190.0, 210.0, 110.0, 130.0]),
        ] {
            let found = outline(view);
            assert!(found.iter().zip(wanted).all(|(a, b)| (a - b).abs() < 0.1), "{found:?} {wanted:?}");
        }
    }

    #[test]
    fn a_straight_winding_is_cut_into_two_upright_rectangles_with_opposite_currents() {
        let scale =
            Scale::fitting(Rect::new(0.0, 0.0, 100.0, 100.0), View::axial(), [-0.2, 0.2], [-0.2, 0.2]);
        let cuts = sections(&scale, &winding(Vector3::z()));
        for cut in &cuts {
            for [z, x] in cut.corners {
                assert!((z - 0.065).abs() < 1e-12 || (z - 0.085).abs() < 1e-12, "{z}");
                assert!((x.abs() - 0.145).abs() < 1e-12 || (x.abs() - 0.155).abs() < 1e-12, "{x}");
            }
        }
        // Field along +z needs current along +y at +x (right-hand rule); the observer looks along -y.
        for cut in &cuts {
            assert_eq!(cut.towards_observer, cut.corners[0][1] > 0.0);
        }
    }

    #[test]
    fn a_tilted_winding_is_cut_along_its_own_plane() {
        let tilt = 0.1f64;
        let scale =
            Scale::fitting(Rect::new(0.0, 0.0, 100.0, 100.0), View::axial(), [-0.2, 0.2], [-0.2, 0.2]);
        let axis = Vector3::new(tilt.sin(), 0.0, tilt.cos());
        for cut in sections(&scale, &winding(axis)) {
            let [z, x] =
                (0..2).map(|i| cut.corners.iter().map(|c| c[i]).sum::<f64>() / 4.0).collect::<Vec<_>>()[..]
            else {
                unreachable!("two coordinates")
            };
            assert!(((z - 0.075).hypot(x) - 0.15).abs() < 1e-12);
            assert!(
                ((z - 0.075) * tilt.cos() + x * tilt.sin()).abs() < 1e-12,
                "the cut lies across the axis"
            );
        }
    }
}
