//! Drawings to scale: a view of the bench with the same scale in both directions.

use super::clip::{clipped, clipped_area};
use super::colour::Colour;
use super::figure::Figure;
use super::mark::{Place, Rect, Stroke, Text};
use super::palette::INK;
use super::ticks::Ticks;
use crate::units::unit;
use nalgebra::Vector3;

const TICK_SIZE: f64 = 12.0;

/// A view of the bench: the bench directions that run right and up on the sheet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct View {
    /// Unit vector that runs right.
    pub right: Vector3<f64>,
    /// Unit vector that runs up.
    pub up: Vector3<f64>,
}

impl View {
    /// Looks along −y: z to the right, x up. Shows the plane y = 0 of a bench with a horizontal axis.
    pub fn axial() -> Self {
        Self { right: Vector3::z(), up: Vector3::x() }
    }

    /// Looks along y: x to the right, z up. Shows the plane y = 0 of a bench with a vertical axis.
    pub(crate) fn axial_upright() -> Self {
        Self { right: Vector3::x(), up: Vector3::z() }
    }

    /// Looks along x: z to the right, y up.
    pub fn side() -> Self {
        Self { right: Vector3::z(), up: Vector3::y() }
    }

    /// Looks along −z: x to the right, y up. Shows the beam plane as seen from beyond coil b.
    pub(crate) fn beam_plane() -> Self {
        Self { right: Vector3::x(), up: Vector3::y() }
    }

    /// Unit vector towards the observer.
    pub fn normal(&self) -> Vector3<f64> {
        self.right.cross(&self.up)
    }

    /// Position of a point in the view: right, up.
    pub fn seen(&self, point_m: &Vector3<f64>) -> [f64; 2] {
        [point_m.dot(&self.right), point_m.dot(&self.up)]
    }

    /// Name of the bench axis along one of the view's directions: `x`, `y` or `z`.
    fn name(direction: &Vector3<f64>) -> &'static str {
        ["x", "y", "z"][direction.iamax()]
    }
}

/// Maps a part of the bench, to scale, to a part of the sheet.
#[derive(Clone, Copy, Debug)]
pub struct Scale {
    view: View,
    plot: Rect,
    origin: Place,
    points_per_metre: f64,
}

impl Scale {
    /// The largest scale at which a range of the view fits a rectangle. The ranges are [least, most] to the right and
    /// [least, most] up. The plot is centred in the rectangle and shows exactly that range.
    pub(crate) fn fitting(rect: Rect, view: View, right_m: [f64; 2], up_m: [f64; 2]) -> Self {
        let (wide, high) = ((right_m[1] - right_m[0]).max(1e-12), (up_m[1] - up_m[0]).max(1e-12));
        let points_per_metre = (rect.width / wide).min(rect.height / high);
        let (width, height) = (wide * points_per_metre, high * points_per_metre);
        let plot = Rect::new(
            rect.left + 0.5 * (rect.width - width),
            rect.top + 0.5 * (rect.height - height),
            width,
            height,
        );
        let origin = [plot.left - right_m[0] * points_per_metre, plot.bottom() + up_m[0] * points_per_metre];
        Self { view, plot, origin, points_per_metre }
    }

    /// The part of the sheet that the plot covers.
    pub(crate) fn plot(&self) -> Rect {
        self.plot
    }

    /// The view.
    pub(crate) fn view(&self) -> View {
        self.view
    }

    /// Length on the sheet, in points, of a length on the bench.
    pub fn length(&self, length_m: f64) -> f64 {
        length_m * self.points_per_metre
    }

    /// Length on the bench of a length on the sheet in points.
    pub(crate) fn length_m(&self, points: f64) -> f64 {
        points / self.points_per_metre
    }

    /// Place on the sheet of a point of the bench.
    pub fn place(&self, point_m: &Vector3<f64>) -> Place {
        self.place_seen(self.view.seen(point_m))
    }

    /// Place on the sheet of a position in the view.
    pub(crate) fn place_seen(&self, [right_m, up_m]: [f64; 2]) -> Place {
        [self.origin[0] + self.length(right_m), self.origin[1] - self.length(up_m)]
    }

    /// Position in the view of a place on the sheet.
    pub(crate) fn seen_at(&self, [x, y]: Place) -> [f64; 2] {
        [self.length_m(x - self.origin[0]), self.length_m(self.origin[1] - y)]
    }

    /// The ranges shown: [least, most] to the right and [least, most] up.
    pub(crate) fn range_m(&self) -> [[f64; 2]; 2] {
        let [left, bottom] = self.seen_at([self.plot.left, self.plot.bottom()]);
        let [right, top] = self.seen_at([self.plot.right(), self.plot.top]);
        [[left, right], [bottom, top]]
    }

    /// Draws a path through points of the bench, clipped to the plot.
    pub fn path(
        &self,
        figure: &mut Figure,
        points_m: impl IntoIterator<Item = Vector3<f64>>,
        stroke: Stroke,
    ) {
        let places: Vec<Place> = points_m.into_iter().map(|point| self.place(&point)).collect();
        for piece in clipped(&places, self.plot) {
            figure.line(piece, stroke);
        }
    }

    /// Draws, and fills if `fill` is given, a closed path through positions in the view, clipped to the plot.
    pub(crate) fn ring_seen(
        &self,
        figure: &mut Figure,
        ring: &[[f64; 2]],
        fill: Option<Colour>,
        stroke: Stroke,
    ) {
        let mut places: Vec<Place> = ring.iter().map(|seen| self.place_seen(*seen)).collect();
        if let Some(colour) = fill {
            figure.area(clipped_area(places.clone(), self.plot), colour);
        }
        places.extend(places.first().copied());
        for piece in clipped(&places, self.plot) {
            figure.line(piece, stroke);
        }
    }

    /// Draws the frame of the plot, with scales in millimetres below it and at its left.
    pub(crate) fn axes(&self, figure: &mut Figure) {
        let plot = self.plot;
        let [right_m, up_m] = self.range_m();
        let mm = |range: [f64; 2]| range.map(|v| unit::MILLIMETRE.from_si(v));
        let across = Ticks::within(mm(right_m), (plot.width / 70.0).max(2.0) as usize);
        for &value in &across.values {
            let x = self.place_seen([unit::MILLIMETRE.to_si(value), 0.0])[0];
            figure.line([[x, plot.bottom()], [x, plot.bottom() + 5.0]], Stroke::solid(INK, 0.9));
            let at = [x, plot.bottom() + 8.0 + TICK_SIZE];
            figure.text(Text::new(across.label(value), at, TICK_SIZE).centred());
        }
        let along = Ticks::within(mm(up_m), (plot.height / 60.0).max(2.0) as usize);
        let mut widest = 0f64;
        for &value in &along.values {
            let y = self.place_seen([0.0, unit::MILLIMETRE.to_si(value)])[1];
            figure.line([[plot.left - 5.0, y], [plot.left, y]], Stroke::solid(INK, 0.9));
            let label =
                Text::new(along.label(value), [plot.left - 9.0, y + 0.36 * TICK_SIZE], TICK_SIZE).ending();
            widest = widest.max(label.width());
            figure.text(label);
        }
        figure.outline(plot.corners(), Stroke::solid(INK, 0.9));
        let beneath = [plot.left + 0.5 * plot.width, plot.bottom() + 38.0];
        figure.text(Text::new(format!("{} in mm", View::name(&self.view.right)), beneath, 13.0).centred());
        let above = [plot.left - widest - 9.0, plot.top - 14.0];
        figure.text(Text::new(format!("{} in mm", View::name(&self.view.up)), above, 13.0));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_millimetre_is_as_long_across_as_up_and_the_range_is_kept() {
        let rect = Rect::new(10.0, 20.0, 500.0, 300.0);
        let scale = Scale::fitting(rect, View::axial(), [-0.2, 0.2], [-0.1, 0.3]);
        let [o, z, x] = [Vector3::zeros(), Vector3::z() * 0.1, Vector3::x() * 0.1].map(|p| scale.place(&p));
        assert!((z[0] - o[0] - (o[1] - x[1])).abs() < 1e-9);
        assert!((z[1] - o[1]).abs() < 1e-9 && (x[0] - o[0]).abs() < 1e-9);
        let [right, up] = scale.range_m();
        for (got, wanted) in right.into_iter().chain(up).zip([-0.2, 0.2, -0.1, 0.3]) {
            assert!((got - wanted).abs() < 1e-12, "{got} for {wanted}");
        }
        assert!(rect.holds([scale.plot().left, scale.plot().top]));
    }

    #[test]
    fn every_view_is_right_handed_towards_the_observer() {
        assert_eq!(View::beam_plane().normal(), Vector3::z());
        assert_eq!(View::axial().normal(), Vector3::y());
        assert_eq!(View::axial_upright().normal(), -Vector3::y());
        assert_eq!(View::side().normal(), -Vector3::x());
    }
}
