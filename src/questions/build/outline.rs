//! Closed outlines made of straight lines and arcs, and the flat parts that they bound.

use serde::Serialize;
use std::f64::consts::{FRAC_PI_8, TAU};

/// A corner of an outline, and the shape of the edge to the next corner.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Corner {
    /// Coordinate to the right.
    pub x_m: f64,
    /// Coordinate upward.
    pub y_m: f64,
    /// Tangent of a quarter of the angle of the arc to the next corner, positive if the arc runs counter-clockwise; 0
    /// for a straight edge.
    pub bulge: f64,
}

/// A closed outline. The last corner is joined to the first.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Outline(pub Vec<Corner>);

impl Outline {
    /// A circle made of four quarter arcs, counter-clockwise.
    pub fn circle([x, y]: [f64; 2], radius_m: f64) -> Self {
        // For a quarter arc: tan(90°/4).
        let bulge = FRAC_PI_8.tan();
        let corner = |[right, up]: [f64; 2]| Corner { x_m: x + right, y_m: y + up, bulge };
        Self([[radius_m, 0.0], [0.0, radius_m], [-radius_m, 0.0], [0.0, -radius_m]].map(corner).to_vec())
    }

    /// A ring about the origin that a slit of parallel edges opens at an angle: one outline, outside counter-clockwise and back
    /// along the bore. The slit is narrower than the bore.
    pub fn slit_ring(outer_m: f64, bore_m: f64, slit_m: f64, angle_rad: f64) -> Self {
        let half = |radius: f64| (0.5 * slit_m / radius).min(1.0).asin();
        let arcs = |radius: f64, from: f64, to: f64| {
            let step = (to - from) / 4.0;
            let corner = move |n: i32| {
                let [x_m, y_m] = polar(radius, from + step * f64::from(n));
                // The last corner begins a straight edge of the slit.
                Corner { x_m, y_m, bulge: if n < 4 { (step / 4.0).tan() } else { 0.0 } }
            };
            (0..=4).map(corner)
        };
        let (beyond, within) = (half(outer_m), half(bore_m));
        let outside = arcs(outer_m, angle_rad + beyond, angle_rad + TAU - beyond);
        let inside = arcs(bore_m, angle_rad + TAU - within, angle_rad + within);
        Self(outside.chain(inside).collect())
    }

    /// A slot with round ends, counter-clockwise. `from` and `to` are the centres of its ends.
    pub fn slot(from: [f64; 2], to: [f64; 2], width_m: f64) -> Self {
        let (dx, dy) = (to[0] - from[0], to[1] - from[1]);
        let length = dx.hypot(dy);
        if length <= 0.0 {
            return Self::circle(from, 0.5 * width_m);
        }
        // Half the width, to the right of the direction from `from` to `to`.
        let side = [0.5 * width_m * dy / length, -0.5 * width_m * dx / length];
        let corner = |end: [f64; 2], sign: f64, bulge: f64| Corner {
            x_m: end[0] + sign * side[0],
            y_m: end[1] + sign * side[1],
            bulge,
        };
        Self(vec![
            corner(from, 1.0, 0.0),
            corner(to, 1.0, 1.0),
            corner(to, -1.0, 0.0),
            corner(from, -1.0, 1.0),
        ])
    }

    /// Area enclosed, positive if the outline runs counter-clockwise. It is the area of the polygon plus a segment for
    /// each arc, r² (θ − sin θ)/2 with θ = 4 arctan b, r = chord (1 + b²)/(4 b) and b the bulge.
    pub fn area_m2(&self) -> f64 {
        self.edges()
            .map(|(from, to)| {
                let polygon = 0.5 * (from.x_m * to.y_m - to.x_m * from.y_m);
                let bulge = from.bulge;
                if bulge == 0.0 {
                    return polygon;
                }
                let chord = (to.x_m - from.x_m).hypot(to.y_m - from.y_m);
                let radius = chord * (1.0 + bulge * bulge) / (4.0 * bulge);
                let angle = 4.0 * bulge.atan();
                polygon + 0.5 * radius * radius * (angle - angle.sin())
            })
            .sum()
    }

    /// Each corner with the next one.
    fn edges(&self) -> impl Iterator<Item = (&Corner, &Corner)> {
        self.0.iter().zip(self.0.iter().cycle().skip(1))
    }

    /// Points along the outline, close enough together on its arcs for a drawing; the first is repeated at the end.
    pub(crate) fn points_m(&self) -> Vec<[f64; 2]> {
        const STEPS: i32 = 90;
        let mut points = Vec::new();
        for (from, to) in self.edges() {
            points.push([from.x_m, from.y_m]);
            if from.bulge == 0.0 {
                continue;
            }
            // The centre lies beside the middle of the chord.
            let (dx, dy) = (to.x_m - from.x_m, to.y_m - from.y_m);
            let aside = (1.0 - from.bulge * from.bulge) / (4.0 * from.bulge);
            let centre = [0.5 * (from.x_m + to.x_m) - aside * dy, 0.5 * (from.y_m + to.y_m) + aside * dx];
            let (x, y) = (from.x_m - centre[0], from.y_m - centre[1]);
            let step = 4.0 * from.bulge.atan() / f64::from(STEPS);
            points.extend((1..STEPS).map(|n| {
                let (sin, cos) = (step * f64::from(n)).sin_cos();
                [centre[0] + x * cos - y * sin, centre[1] + x * sin + y * cos]
            }));
        }
        points.extend(points.first().copied());
        points
    }

    /// The outline shifted by these distances.
    pub fn moved(&self, [x, y]: [f64; 2]) -> Self {
        let corner = |corner: &Corner| Corner { x_m: corner.x_m + x, y_m: corner.y_m + y, ..*corner };
        Self(self.0.iter().map(corner).collect())
    }
}

/// A mark burnt or scratched into a part's face.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
#[serde(tag = "mark", rename_all = "snake_case")]
pub enum Engraving {
    /// A line of text, centred on its position.
    Text {
        /// Position of the text.
        at_m: [f64; 2],
        /// Height of capital letters.
        height_m: f64,
        /// The text.
        content: String,
    },
    /// A filled dot.
    Dot {
        /// Centre of the dot.
        at_m: [f64; 2],
        /// Radius of the dot.
        radius_m: f64,
    },
    /// An arrow along an arc around the part's centre.
    ArcArrow {
        /// Radius of the arc.
        radius_m: f64,
        /// Angles of its start and end, counter-clockwise from x.
        angle_rad: [f64; 2],
    },
}

/// A flat part, centred at the origin and seen from its outer face.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Part {
    /// Name of the part.
    pub name: String,
    /// Number of these parts in one former.
    pub per_former: u32,
    /// Thickness of the sheet.
    pub thickness_m: f64,
    /// Outer edge of the part.
    pub outer: Outline,
    /// Holes in the part.
    pub holes: Vec<Outline>,
    /// Marks on the outer face.
    pub engravings: Vec<Engraving>,
    /// Radius of the outer edge; `None` if it is not round.
    pub outer_radius_m: Option<f64>,
    /// Whether it is cut from insulating sheet, whatever the former is of.
    pub insulates: bool,
}

impl Part {
    /// Width and height, of which the origin is the middle.
    pub(crate) fn size_m(&self) -> [f64; 2] {
        let points = self.outer.points_m();
        [0, 1].map(|axis| 2.0 * points.iter().map(|point| point[axis].abs()).fold(0.0, f64::max))
    }

    /// Area of the face without the holes.
    pub fn area_m2(&self) -> f64 {
        self.outer.area_m2().abs() - self.holes.iter().map(|hole| hole.area_m2().abs()).sum::<f64>()
    }
}

/// The point at this radius and angle.
pub(crate) fn polar(radius_m: f64, angle_rad: f64) -> [f64; 2] {
    let (sin, cos) = angle_rad.rem_euclid(TAU).sin_cos();
    [radius_m * cos, radius_m * sin]
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use std::f64::consts::PI;

    #[test]
    fn a_slit_takes_its_own_area_from_a_ring_wherever_it_lies() {
        let (outer, bore, slit) = (0.184, 0.150, 2e-3);
        // Between the circles the slit is √(R² − w²/4) long at its edges; beyond that it takes a segment of each circle.
        let segment = |radius: f64| {
            let half = (0.5 * slit / radius).asin();
            radius * radius * (half - half.sin() * half.cos())
        };
        let edge = |radius: f64| (radius * radius - 0.25 * slit * slit).sqrt();
        let of_slit = slit * (edge(outer) - edge(bore)) + segment(outer) - segment(bore);
        let wanted = PI * (outer * outer - bore * bore) - of_slit;
        for angle in [0.0, 0.7, 3.0, 5.5] {
            let ring = Outline::slit_ring(outer, bore, slit, angle);
            assert_relative_eq!(ring.area_m2(), wanted, max_relative = 1e-9);
            // Its straight edges are as far apart as the slit is wide.
            let [one, other] = [ring.0[4], ring.0[0]];
            assert_relative_eq!((one.x_m - other.x_m).hypot(one.y_m - other.y_m), slit, max_relative = 1e-9);
        }
    }

    #[test]
    fn a_circle_and_a_slot_have_their_areas_wherever_they_lie() {
        let circle = Outline::circle([0.3, -0.2], 0.05);
        assert_relative_eq!(circle.area_m2(), PI * 0.05 * 0.05, max_relative = 1e-12);
        assert_relative_eq!(circle.moved([1.0, 2.0]).area_m2(), PI * 0.05 * 0.05, max_relative = 1e-11);
        // A rectangle of 30 mm by 4 mm and two half circles of 4 mm diameter.
        let slot = Outline::slot([0.0, 0.1], [0.018, 0.124], 0.004);
        assert_relative_eq!(slot.area_m2(), 0.03 * 0.004 + PI * 0.002 * 0.002, max_relative = 1e-12);
        assert_relative_eq!(
            Outline::slot([0.0; 2], [0.0; 2], 0.01).area_m2(),
            PI * 25e-6,
            max_relative = 1e-12
        );
    }
}
