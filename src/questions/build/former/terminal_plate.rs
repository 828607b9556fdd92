//! The plate that holds the sockets of one coil.
//!
//! It is a piece of insulating sheet on the outer face of the coil's outer flange. A tongue between two bolts is held by
//! two screws on the bolts' circle, outside the winding; the wider part stands out beyond the rim, so that the sockets
//! have room behind them. Both flanges have the two holes, because either may be the outer one.

use crate::questions::build::outline::{Corner, Engraving, Outline, polar};
use serde::Serialize;

/// Hole for a touch-proof 4 mm socket with a thread M12, and the usual distance of two such sockets, 3/4 inch (from memory).
const SOCKET_HOLE_M: f64 = 12.2e-3;
const SOCKETS_APART_M: f64 = 19e-3;
/// Diameter that a socket's nut takes (from memory).
const SOCKET_NUT_M: f64 = 17e-3;
/// Thickness of the sheet (common practice, no source).
const THICKNESS_M: f64 = 3e-3;
/// Distance between a socket's nut and the edge of the plate, and between it and the flange.
const MARGIN_M: f64 = 2e-3;
/// Height of the letters beyond the sockets.
const LETTER_M: f64 = 3e-3;
/// Half the distance of the two screws, and half the width of the tongue beyond them, in holes.
const ASIDE_OVER_HOLE: f64 = 2.0;
const TONGUE_OVER_HOLE: f64 = 1.2;
/// Least distance of its screws from everything else.
pub(super) const CLEAR_M: f64 = 1e-3;

/// The plate with the sockets of one coil.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct TerminalPlate {
    /// Thickness of the insulating sheet.
    pub thickness_m: f64,
    /// Angle of its middle, counter-clockwise from the right, seen on the marked face.
    pub angle_rad: f64,
    /// Nominal diameter of its two screws.
    pub thread_m: f64,
    /// Diameter of their holes, in plate and flanges.
    pub screw_hole_m: f64,
    /// Distance of the two screws.
    pub screws_apart_m: f64,
    /// Distance from the axis to the middle between the screws.
    pub screws_at_m: f64,
    /// Diameter of the sockets' holes.
    pub socket_hole_m: f64,
    /// Distance of the two sockets.
    pub sockets_apart_m: f64,
    /// Distance from the axis to the middle between the sockets.
    pub sockets_at_m: f64,
    /// Distances from the axis to its inner edge, to where the tongue ends, and to its outer edge.
    pub edges_m: [f64; 3],
    /// Widths of the tongue and of the wider part.
    pub widths_m: [f64; 2],
}

/// What stands on the outer face of the flange or goes through it: a place, the radius of the hole and of what covers the
/// face there, such as a nut.
#[derive(Clone, Copy)]
pub(super) struct Taken {
    pub(super) at_m: [f64; 2],
    pub(super) hole_m: f64,
    pub(super) cover_m: f64,
}

impl TerminalPlate {
    /// The plate at an angle, for a circle of bolts and a flange of these radii.
    fn at(angle_rad: f64, [thread_m, hole_m]: [f64; 2], circle_m: f64, rim_m: f64) -> Self {
        let aside = ASIDE_OVER_HOLE * hole_m;
        let screws_at_m = (circle_m * circle_m - aside * aside).max(0.0).sqrt();
        let sockets_at_m = rim_m + MARGIN_M + 0.5 * SOCKET_NUT_M;
        Self {
            thickness_m: THICKNESS_M,
            angle_rad,
            thread_m,
            screw_hole_m: hole_m,
            screws_apart_m: 2.0 * aside,
            screws_at_m,
            socket_hole_m: SOCKET_HOLE_M,
            sockets_apart_m: SOCKETS_APART_M,
            sockets_at_m,
            edges_m: [
                screws_at_m - TONGUE_OVER_HOLE * hole_m,
                rim_m + 0.5 * MARGIN_M,
                sockets_at_m + 0.5 * SOCKET_NUT_M + MARGIN_M + LETTER_M,
            ],
            widths_m: [
                2.0 * (aside + TONGUE_OVER_HOLE * hole_m),
                SOCKETS_APART_M + SOCKET_NUT_M + 2.0 * MARGIN_M,
            ],
        }
    }

    /// The plate nearest to the right of the marked face at which nothing is in its way; `None` if there is no such place.
    ///
    /// `screw` is the thread and the hole of its screws. `slit` is the width and angle of a slit in the flange, which the
    /// screws keep clear of.
    pub(super) fn fitted(
        screw: [f64; 2],
        circle_m: f64,
        rim_m: f64,
        taken: &[Taken],
        slit: Option<[f64; 2]>,
    ) -> Option<Self> {
        let turned = (0..=180i32).flat_map(|degree| [degree, -degree]);
        turned
            .map(|degree| Self::at(f64::from(degree).to_radians(), screw, circle_m, rim_m))
            .find(|plate| plate.is_clear(taken, slit))
    }

    /// Whether screws and tongue keep clear of everything.
    fn is_clear(&self, taken: &[Taken], slit: Option<[f64; 2]>) -> bool {
        let screws = self.screws_m();
        let hole = 0.5 * self.screw_hole_m;
        // A head, and a nut within the channel, take a circle of twice the thread.
        let head = self.thread_m;
        let apart = |[x, y]: [f64; 2], [u, v]: [f64; 2]| (x - u).hypot(y - v);
        let of_screws = taken.iter().all(|it| {
            screws.iter().all(|screw| {
                let apart = apart(*screw, it.at_m);
                apart >= hole + it.hole_m + CLEAR_M && apart >= head + it.cover_m
            })
        });
        let of_tongue = taken.iter().all(|it| self.distance_of_tongue_m(it.at_m) >= it.cover_m);
        let of_slit = slit.is_none_or(|[width_m, angle_rad]| {
            let [x, y] = polar(1.0, angle_rad);
            screws
                .iter()
                .all(|[u, v]| u * x + v * y < 0.0 || (u * y - v * x).abs() >= head + 0.5 * width_m + CLEAR_M)
        });
        of_screws && of_tongue && of_slit
    }

    /// Distance of a place from the tongue; 0 within it.
    fn distance_of_tongue_m(&self, [x, y]: [f64; 2]) -> f64 {
        let [right, up] = polar(1.0, self.angle_rad);
        let (out, aside) = (x * right + y * up, (y * right - x * up).abs());
        let beyond = [self.edges_m[0] - out, out - self.edges_m[1]].into_iter().fold(0.0, f64::max);
        beyond.hypot((aside - 0.5 * self.widths_m[0]).max(0.0))
    }

    /// The place at this distance from the axis and this far aside, seen on the marked face.
    fn place_m(&self, out_m: f64, aside_m: f64) -> [f64; 2] {
        let [right, up] = polar(1.0, self.angle_rad);
        [out_m * right - aside_m * up, out_m * up + aside_m * right]
    }

    /// Centres of the screws, seen on the marked face.
    pub(crate) fn screws_m(&self) -> [[f64; 2]; 2] {
        [-0.5, 0.5].map(|side| self.place_m(self.screws_at_m, side * self.screws_apart_m))
    }

    /// The corners of its edge, seen on the marked face.
    #[cfg(any(test, feature = "paper"))]
    pub(crate) fn corners_m(&self) -> [[f64; 2]; 8] {
        self.edge_m().map(|[aside, out]| self.place_m(out, -aside))
    }

    /// The corners of its edge, counter-clockwise: aside of its middle, and out from the axis.
    pub(crate) fn edge_m(&self) -> [[f64; 2]; 8] {
        let [tongue, wide] = self.widths_m.map(|width| 0.5 * width);
        let [inner, shoulder, outer] = self.edges_m;
        [
            [-tongue, inner],
            [tongue, inner],
            [tongue, shoulder],
            [wide, shoulder],
            [wide, outer],
            [-wide, outer],
            [-wide, shoulder],
            [-tongue, shoulder],
        ]
    }

    /// Middle of its height, out from the axis.
    pub(crate) fn middle_m(&self) -> f64 {
        0.5 * (self.edges_m[0] + self.edges_m[2])
    }

    /// Its outline and its holes about its own middle, the sockets at the top.
    pub(super) fn outlines(&self) -> (Outline, Vec<Outline>) {
        let middle = self.middle_m();
        let corner = |[aside, out]: [f64; 2]| Corner { x_m: aside, y_m: out - middle, bulge: 0.0 };
        let pair = |apart_m: f64, at_m: f64, hole_m: f64| {
            [-0.5, 0.5].map(|side| Outline::circle([side * apart_m, at_m - middle], 0.5 * hole_m))
        };
        let screws = pair(self.screws_apart_m, self.screws_at_m, self.screw_hole_m);
        let sockets = pair(self.sockets_apart_m, self.sockets_at_m, self.socket_hole_m);
        (Outline(self.edge_m().map(corner).to_vec()), screws.into_iter().chain(sockets).collect())
    }

    /// The letters beside its sockets, and the dot of the start.
    pub(crate) fn marks(&self) -> Vec<Engraving> {
        let aside = 0.5 * self.sockets_apart_m;
        let up = self.sockets_at_m - self.middle_m() + 0.5 * SOCKET_NUT_M + 0.5 * (MARGIN_M + LETTER_M);
        let text = |x: f64, content: &str| Engraving::Text {
            at_m: [x, up],
            height_m: LETTER_M,
            content: content.into(),
        };
        vec![
            text(-aside, "S"),
            text(aside, "F"),
            Engraving::Dot { at_m: [-aside - LETTER_M, up], radius_m: 0.3 * LETTER_M },
        ]
    }
}
