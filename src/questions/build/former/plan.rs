//! The dimensions of a former, with its holes, slots and parts.

use super::terminal_plate::TerminalPlate;
use crate::pair::{Allowed, Cheeks};
use crate::questions::build::outline::{Outline, Part, polar};
use serde::Serialize;
use std::f64::consts::TAU;

/// The former of a coil. The pair has two alike.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct FormerPlan {
    /// Material. `None` if the spec does not state it.
    pub material: Option<String>,
    /// Whether the material conducts. A closed ring of it is then a shorted turn.
    pub conducts: bool,
    /// Thickness of the sheet: that of each flange, and the radial thickness of the core.
    pub wall_m: f64,
    /// Whether the spec states `wall_m`. If not, it is suggested.
    pub wall_stated: bool,
    /// Which cheeks remain on the finished coil.
    pub cheeks: Cheeks,
    /// Diameter of the floor on which the first layer lies.
    pub floor_diameter_m: Allowed,
    /// Diameter of the core as it is cut. The floor is this and the lining on it.
    pub core_diameter_m: Allowed,
    /// Thickness of the insulation that lines the channel of a former that conducts; 0 for another.
    pub lining_m: f64,
    /// The slit that opens the rings of a former that conducts. `None` for another.
    pub slit: Option<Slit>,
    /// Width of the channel between the flanges as they are cut, without lining.
    pub channel_width_m: f64,
    /// The part of `channel_width_m` beyond the wound copper and the lining.
    pub width_allowance_m: f64,
    /// Depth of the channel: from the core to the rim that a flange must at least reach.
    pub channel_depth_m: f64,
    /// The part of `channel_depth_m` beyond the wound copper and the lining.
    pub depth_allowance_m: f64,
    /// Outer diameter of the wound copper.
    pub winding_diameter_m: f64,
    /// Diameter of the bore through the core and the flanges.
    pub bore_diameter_m: f64,
    /// Outer diameter of the flanges.
    pub flange_diameter_m: f64,
    /// Distance between the outer faces of the flanges.
    pub overall_width_m: f64,
    /// How the core is built up from rings.
    pub core: Core,
    /// The bolts that hold formers and spacers together.
    pub bolts: Bolts,
    /// Pins that keep flanges and core concentric. `None` if the wall is too thin for them.
    pub dowels: Option<Holes>,
    /// The hole at the floor through which the start of the wire leaves.
    pub start_hole: Hole,
    /// The slot through which the finish of the wire leaves.
    pub finish_slot: Slot,
    /// The plate with the sockets of the coil. `None` if there is no room for its screws.
    pub terminals: Option<TerminalPlate>,
    /// Total area of the former's own sheet in the parts of one former.
    pub sheet_area_m2: f64,
    /// Flat parts of one former.
    pub parts: Vec<Part>,
}

/// Stacked rings that together are as wide as the channel.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Core {
    /// Number of rings cut from the same sheet as the flanges.
    pub rings: u32,
    /// Thickness of one additional ring; 0 if none is needed.
    pub shim_m: f64,
}

/// Equal holes, evenly spaced on a circle.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Holes {
    /// Number of holes.
    pub count: u32,
    /// Diameter of each hole.
    pub diameter_m: f64,
    /// Diameter of the circle through their centres.
    pub circle_diameter_m: f64,
    /// Angle of the first hole, counter-clockwise from the right, seen on the marked face.
    pub first_angle_rad: f64,
}

/// Bolts through both formers and the spacers between them.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Bolts {
    /// Nominal diameter of the thread.
    pub thread_m: f64,
    /// Clearance holes for the bolts (ISO 273, medium series; from memory).
    pub holes: Holes,
}

/// A round hole.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Hole {
    /// Diameter of the hole.
    pub diameter_m: f64,
    /// Distance of its centre from the axis.
    pub radius_m: f64,
    /// Its angle, counter-clockwise from the right, seen on the marked face.
    pub angle_rad: f64,
}

/// A slit through flanges and core, from the bore to the rim.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Slit {
    /// Width of the slit: the thickness of the insulator that closes it.
    pub width_m: f64,
    /// Its angle, counter-clockwise from the right, seen on the marked face.
    pub angle_rad: f64,
}

/// A slot along a radius, with round ends.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Slot {
    /// Width of the slot.
    pub width_m: f64,
    /// Distances from the axis to the centres of its round ends.
    pub radius_m: [f64; 2],
    /// Its angle, counter-clockwise from the right, seen on the marked face.
    pub angle_rad: f64,
}

impl FormerPlan {
    /// Width of the channel inside its lining.
    pub(crate) fn clear_width_m(&self) -> f64 {
        self.channel_width_m - 2.0 * self.lining_m
    }

    /// Width of the wound copper.
    #[cfg(any(test, feature = "paper"))]
    pub(crate) fn wound_width_m(&self) -> f64 {
        self.clear_width_m() - self.width_allowance_m
    }

    /// Depth of the wound copper.
    #[cfg(any(test, feature = "paper"))]
    pub(crate) fn wound_depth_m(&self) -> f64 {
        self.channel_depth_m - self.lining_m - self.depth_allowance_m
    }
}

impl Holes {
    /// Centres of the holes, seen on the marked face.
    pub(crate) fn centres_m(&self) -> Vec<[f64; 2]> {
        let angle = |n: u32| self.first_angle_rad + TAU * f64::from(n) / f64::from(self.count);
        (0..self.count).map(|n| polar(0.5 * self.circle_diameter_m, angle(n))).collect()
    }

    pub(super) fn outlines(&self) -> impl Iterator<Item = Outline> + '_ {
        self.centres_m().into_iter().map(|centre| Outline::circle(centre, 0.5 * self.diameter_m))
    }
}

impl Slot {
    /// Centres of the slot's two ends, seen on the marked face.
    pub(crate) fn ends_m(&self) -> [[f64; 2]; 2] {
        self.radius_m.map(|radius| polar(radius, self.angle_rad))
    }
}

impl Hole {
    /// Centre of the hole, seen on the marked face.
    pub(crate) fn centre_m(&self) -> [f64; 2] {
        polar(self.radius_m, self.angle_rad)
    }
}
