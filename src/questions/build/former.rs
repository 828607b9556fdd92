//! The former: a core of rings between two flanges, all cut from sheet.
//!
//! The wound copper lies on the outside of the core, the floor. The two flanges differ only in their marks, so either
//! lead can leave through either flange. Bolts outside the winding hold flanges, core and spacers together.

mod plan;
mod terminal_plate;

use super::outline::{Engraving, Outline, Part, polar};
use super::request::Request;
use crate::pair::materials::{Electric, former_material};
use crate::pair::{Allowed, Bench, Cheeks};
use crate::units::{Dimension, display};
use crate::{Error, Result};
pub use plan::*;
use std::f64::consts::{FRAC_PI_2, FRAC_PI_4, PI, TAU};
pub use terminal_plate::TerminalPlate;
use terminal_plate::{CLEAR_M, Taken};

/// Thicknesses in which sheet is sold, millimetres (common practice, no source).
const SHEETS_MM: [f64; 17] =
    [0.5, 0.8, 1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 15.0, 18.0, 21.0, 24.0, 30.0];
/// A suggested wall has at least this fraction of the mean radius if that fits (common practice, no source).
const WALL_OF_RADIUS: f64 = 0.03;
/// Thread diameters and their clearance holes, millimetres (ISO 273, medium series; from memory).
const THREADS_MM: [(f64, f64); 9] = [
    (2.0, 2.4),
    (2.5, 2.9),
    (3.0, 3.4),
    (4.0, 4.5),
    (5.0, 5.5),
    (6.0, 6.6),
    (8.0, 9.0),
    (10.0, 11.0),
    (12.0, 13.5),
];
/// Mean radius divided by the thread diameter of the bolts (common practice, no source).
const RADIUS_OVER_THREAD: f64 = 32.0;
/// Number of bolts around the rim.
const BOLTS: u32 = 4;
/// Sheet thinner than this is card, whatever the former is made of (common practice, no source).
pub(super) const THIN_SHEET_M: f64 = 0.75e-3;
/// Thickness of the lining of a channel: pressboard or polyester film (common practice, no source).
const LINING_M: f64 = 0.25e-3;
/// Width of a slit, of the mean radius, and its least and largest (common practice, no source).
const SLIT_OF_RADIUS: f64 = 0.02;
const SLIT_M: [f64; 2] = [0.5e-3, 2e-3];
/// A ring thinner than this is left out.
const THINNEST_SHIM_M: f64 = 0.05e-3;

/// Plans the former of a bench.
///
/// # Errors
/// If the wall leaves no bore, or if the formers do not fit beside each other.
pub(super) fn former_plan(bench: &Bench, request: &Request) -> Result<FormerPlan> {
    let winding = &bench.winding;
    let lining_m = if conducts(bench) { LINING_M } else { 0.0 };
    let channel_width_m = winding.width_m + request.width_allowance_m + 2.0 * lining_m;
    let (wall_m, wall_stated) = wall(bench, channel_width_m)?;
    let wire_m = winding.wire.overall_diameter_m;
    let floor_m = winding.mean_radius_m - 0.5 * winding.depth_m;
    let core_m = floor_m - lining_m;
    let outer_m = winding.mean_radius_m + 0.5 * winding.depth_m;
    let depth_allowance_m = (2.0 * wire_m).max((0.02 * winding.mean_radius_m).min(3e-3)).max(0.5e-3);
    let rim_m = outer_m + depth_allowance_m;
    let (thread_m, hole_m) = thread(winding.mean_radius_m);
    let lead_m = up_to_half_millimetre(2.0 * wire_m);
    // The bolt holes stay half a hole diameter clear of the channel's rim, and one and a half thread diameters inside
    // the outer edge.
    let circle_m = up_to_half_millimetre(rim_m + hole_m);
    let flange_m = 0.5
        * up_to_millimetre(
            2.0 * (circle_m + 0.5 * hole_m + 1.5 * thread_m).max(rim_m + 1.5 * lead_m + thread_m),
        );
    let lead_turn = (2.5 * lead_m / floor_m).clamp(6f64.to_radians(), 30f64.to_radians());
    let tolerance = bench.tolerance_or_ordinary();
    // The winding runs counter-clockwise from S. A fraction of a turn carries the wire on from where whole turns end.
    let start_rad = -FRAC_PI_2 - lead_turn;
    let beyond_start = (TAU * winding.turns.fract()).rem_euclid(TAU);
    // Nearly a whole turn would bring the slot onto the hole at S. The wire is then led past S, as after whole turns.
    let past = 2.0 * lead_turn;
    let finish_rad = start_rad + if (past..TAU - past).contains(&beyond_start) { beyond_start } else { past };
    let first_bolt_rad = clear_of(finish_rad, (0.5 * hole_m + lead_m + 2e-3) / circle_m);
    let about = |radius_m: f64| Allowed {
        least: 2.0 * radius_m - tolerance.mean_radius_m,
        nominal: 2.0 * radius_m,
        most: 2.0 * radius_m + tolerance.mean_radius_m,
    };
    let plan = FormerPlan {
        material: bench.former.as_ref().and_then(|former| former.material.clone()),
        conducts: conducts(bench),
        wall_m,
        wall_stated,
        cheeks: bench.former.as_ref().map_or(Cheeks::Both, |former| former.cheeks),
        floor_diameter_m: about(floor_m),
        core_diameter_m: about(core_m),
        lining_m,
        slit: None,
        channel_width_m,
        width_allowance_m: request.width_allowance_m,
        channel_depth_m: winding.depth_m + depth_allowance_m + lining_m,
        depth_allowance_m,
        winding_diameter_m: 2.0 * outer_m,
        bore_diameter_m: 2.0 * (core_m - wall_m),
        flange_diameter_m: 2.0 * flange_m,
        overall_width_m: channel_width_m + 2.0 * wall_m,
        core: core(channel_width_m, wall_m),
        bolts: Bolts {
            thread_m,
            holes: Holes {
                count: BOLTS,
                diameter_m: hole_m,
                circle_diameter_m: 2.0 * circle_m,
                first_angle_rad: first_bolt_rad,
            },
        },
        dowels: dowels(wall_m, core_m),
        start_hole: Hole { diameter_m: lead_m, radius_m: floor_m + 0.5 * lead_m, angle_rad: start_rad },
        finish_slot: Slot {
            width_m: lead_m,
            radius_m: [outer_m - 0.5 * lead_m, rim_m + 0.5 * lead_m],
            angle_rad: finish_rad,
        },
        terminals: None,
        sheet_area_m2: 0.0,
        parts: Vec::new(),
    };
    let slit = plan.conducts.then(|| slit(&plan, &bench.title, winding.mean_radius_m));
    let plan = FormerPlan { slit, ..plan };
    let plan = FormerPlan { terminals: terminals(&plan), ..plan };
    let parts = parts(&plan, &bench.title);
    let own = parts.iter().filter(|part| !part.insulates);
    let sheet_area_m2 = own.map(|part| f64::from(part.per_former) * part.area_m2()).sum();
    Ok(FormerPlan { sheet_area_m2, parts, ..plan })
}

/// A slit as far as possible from holes, marks and the section plane of the drawing, which stands upright.
fn slit(plan: &FormerPlan, title: &str, mean_radius_m: f64) -> Slit {
    let width_m = (SLIT_OF_RADIUS * mean_radius_m).clamp(SLIT_M[0], SLIT_M[1]);
    let mut round: Vec<([f64; 2], f64)> = Vec::new();
    for holes in [Some(plan.bolts.holes), plan.dowels].into_iter().flatten() {
        round.extend(holes.centres_m().into_iter().map(|centre| (centre, 0.5 * holes.diameter_m)));
    }
    round.push((plan.start_hole.centre_m(), 0.5 * plan.start_hole.diameter_m));
    round.extend(plan.finish_slot.ends_m().map(|end| (end, 0.5 * plan.finish_slot.width_m)));
    let rim_m = 0.5 * plan.flange_diameter_m;
    round.extend([FRAC_PI_2, -FRAC_PI_2].map(|upright| (polar(rim_m, upright), 0.0)));
    for mark in marks(plan, title) {
        match mark {
            Engraving::Text { at_m, height_m, content } => {
                round.push((at_m, height_m * (0.4 * content.chars().count() as f64).max(0.6)));
            }
            Engraving::Dot { at_m, radius_m } => round.push((at_m, radius_m)),
            Engraving::ArcArrow { radius_m, angle_rad: [from, to] } => {
                let along = (0..=8).map(|n| from + (to - from) * f64::from(n) / 8.0);
                round.extend(along.map(|angle| (polar(radius_m, angle), 0.0)));
            }
        }
    }
    // Distance of the nearest of them from the middle of the slit.
    let room = |angle_rad: f64| {
        let [along_x, along_y] = polar(1.0, angle_rad);
        let beside = |([x, y], radius): &([f64; 2], f64)| match x * along_x + y * along_y > 0.0 {
            true => (x * along_y - y * along_x).abs() - radius,
            false => f64::INFINITY,
        };
        round.iter().map(beside).fold(f64::INFINITY, f64::min)
    };
    let angle_rad = (0..360)
        .map(|degree| f64::from(degree).to_radians())
        .max_by(|one, other| room(*one).total_cmp(&room(*other)))
        .unwrap_or(0.0);
    Slit { width_m, angle_rad }
}

/// Largest thread of the screws that hold the plate with the sockets, and the radius of a washer in threads (from memory).
const LARGEST_SCREW_M: f64 = 4e-3;
const WASHER_OVER_THREAD: f64 = 1.1;

/// The plate with the sockets, clear of bolts, leads and slit.
fn terminals(plan: &FormerPlan) -> Option<TerminalPlate> {
    let bolts = &plan.bolts;
    let thread_m = bolts.thread_m.min(LARGEST_SCREW_M);
    let (_, hole_mm) = THREADS_MM.into_iter().find(|(thread, _)| *thread >= 1e3 * thread_m - 1e-9)?;
    let taken = |at_m: [f64; 2], hole_m: f64, cover_m: f64| Taken { at_m, hole_m, cover_m };
    let round = |holes: &Holes, cover_m: f64| {
        let hole_m = 0.5 * holes.diameter_m;
        holes.centres_m().into_iter().map(|at_m| taken(at_m, hole_m, cover_m)).collect::<Vec<_>>()
    };
    let mut all = round(&bolts.holes, WASHER_OVER_THREAD * bolts.thread_m);
    all.extend(plan.dowels.iter().flat_map(|dowels| round(dowels, 0.0)));
    let start_m = 0.5 * plan.start_hole.diameter_m;
    all.push(taken(plan.start_hole.centre_m(), start_m, start_m + CLEAR_M));
    let finish_m = 0.5 * plan.finish_slot.width_m;
    all.extend(plan.finish_slot.ends_m().map(|end| taken(end, finish_m, finish_m + CLEAR_M)));
    TerminalPlate::fitted(
        [thread_m, hole_mm / 1e3],
        0.5 * bolts.holes.circle_diameter_m,
        0.5 * plan.flange_diameter_m,
        &all,
        plan.slit.map(|slit| [slit.width_m, slit.angle_rad]),
    )
}

/// The angle of the first bolt, chosen so that no bolt is within `least_rad` of the slot, or as far from it as
/// possible.
fn clear_of(slot_rad: f64, least_rad: f64) -> f64 {
    let step = TAU / f64::from(BOLTS);
    let room = |first: f64| {
        let beside = (slot_rad - first).rem_euclid(step);
        beside.min(step - beside)
    };
    let tried = [FRAC_PI_4, FRAC_PI_4 - 0.25 * step, FRAC_PI_4 + 0.25 * step];
    let clear = tried.into_iter().find(|first| room(*first) >= least_rad);
    clear.unwrap_or_else(|| {
        tried.into_iter().max_by(|a, b| room(*a).total_cmp(&room(*b))).unwrap_or(FRAC_PI_4)
    })
}

/// The wall of the spec, and `true`. Without one, and `false`: the thinnest sheet of at least `WALL_OF_RADIUS` mean
/// radii, or the thickest that fits if that does not.
fn wall(bench: &Bench, channel_width_m: f64) -> Result<(f64, bool)> {
    let winding = &bench.winding;
    let inner_m = winding.mean_radius_m - 0.5 * winding.depth_m;
    let between_m = 0.5 * (bench.spacing_m - channel_width_m);
    let fits = |wall_m: f64| wall_m < inner_m && wall_m <= between_m * (1.0 + 1e-9);
    let length = |metre: f64| display(metre, Dimension::Length, 3);
    if let Some(wall_m) = bench.former.as_ref().and_then(|former| former.wall_m) {
        return match fits(wall_m) {
            true => Ok((wall_m, true)),
            false if wall_m >= inner_m => Err(Error::value_with_hint(
                format!(
                    "a wall of {} leaves no bore in a winding of {} inner radius",
                    length(wall_m),
                    length(inner_m)
                ),
                "state a thinner `former.wall`",
            )),
            false => Err(Error::value_with_hint(
                format!(
                    "two formers with walls of {} and channels of {} do not fit into a spacing of {}",
                    length(wall_m),
                    length(channel_width_m),
                    length(bench.spacing_m)
                ),
                format!("state a `former.wall` of at most {}", length(between_m.max(0.0))),
            )),
        };
    }
    let wanted_m = WALL_OF_RADIUS * winding.mean_radius_m;
    let strong = SHEETS_MM.iter().map(|mm| mm / 1e3).find(|sheet| *sheet >= wanted_m - 1e-9);
    let thickest =
        || SHEETS_MM.iter().rev().map(|mm| mm / 1e3).find(|sheet| *sheet <= wanted_m && fits(*sheet));
    strong.filter(|sheet| fits(*sheet)).or_else(thickest).map(|sheet| (sheet, false)).ok_or_else(|| {
        Error::value_with_hint(
            format!(
                "no sheet of {} or more fits a winding of {} inner radius at a spacing of {}",
                length(SHEETS_MM[0] / 1e3),
                length(inner_m),
                length(bench.spacing_m)
            ),
            "state `former.wall`, as in \"former\": { \"wall\": \"0.3 mm\" }",
        )
    })
}

fn conducts(bench: &Bench) -> bool {
    let material = bench.former.as_ref().and_then(|former| former.material.as_deref());
    material.is_some_and(|name| former_material(name).0.electric != Electric::Insulates)
}

/// Thread diameter and clearance hole for a mean radius.
fn thread(mean_radius_m: f64) -> (f64, f64) {
    let wanted_mm = mean_radius_m * 1e3 / RADIUS_OVER_THREAD;
    let largest = THREADS_MM[THREADS_MM.len() - 1];
    let (thread, hole) =
        THREADS_MM.iter().find(|(thread, _)| *thread >= wanted_mm - 1e-9).copied().unwrap_or(largest);
    (thread / 1e3, hole / 1e3)
}

fn core(channel_width_m: f64, wall_m: f64) -> Core {
    let rings = (channel_width_m / wall_m + 1e-9).floor();
    let left_m = channel_width_m - rings * wall_m;
    Core { rings: rings as u32, shim_m: if left_m > THINNEST_SHIM_M { left_m } else { 0.0 } }
}

/// Three pins in the core. `None` if its wall is too thin.
fn dowels(wall_m: f64, floor_radius_m: f64) -> Option<Holes> {
    const THINNEST_WALL_M: f64 = 3e-3;
    let diameter_m = ((0.4 * wall_m * 2e3).floor() / 2e3).min(6e-3);
    (wall_m >= THINNEST_WALL_M).then_some(Holes {
        count: 3,
        diameter_m,
        circle_diameter_m: 2.0 * floor_radius_m - wall_m,
        // This angle is clear of the drawing's cutting plane and of the leads.
        first_angle_rad: PI / 3.0,
    })
}

fn up_to_half_millimetre(metre: f64) -> f64 {
    (metre * 2e3 - 1e-9).ceil() / 2e3
}

fn up_to_millimetre(metre: f64) -> f64 {
    (metre * 1e3 - 1e-9).ceil() / 1e3
}

/// Flat parts of one former, each seen from its outer face.
fn parts(plan: &FormerPlan, title: &str) -> Vec<Part> {
    let ring = |name: String, per_former: u32, thickness_m: f64| {
        let outer_radius_m = 0.5 * plan.core_diameter_m.nominal;
        // A thin ring is of card, which does not conduct.
        let slit = plan.slit.filter(|_| thickness_m >= THIN_SHEET_M);
        let (outer, bore) = ring_outlines(plan, outer_radius_m, slit);
        Part {
            name,
            per_former,
            thickness_m,
            outer,
            holes: bore.into_iter().chain(plan.dowels.iter().flat_map(Holes::outlines)).collect(),
            engravings: Vec::new(),
            outer_radius_m: Some(outer_radius_m),
            insulates: false,
        }
    };
    let mut parts = vec![flange(plan, title, true), flange(plan, title, false)];
    if plan.core.rings > 0 {
        parts.push(ring("core ring".into(), plan.core.rings, plan.wall_m));
    }
    if plan.core.shim_m > 0.0 {
        parts.push(ring("core shim".into(), 1, plan.core.shim_m));
    }
    parts.extend(plan.terminals.as_ref().map(terminal_part));
    parts
}

fn terminal_part(plate: &TerminalPlate) -> Part {
    let (outer, holes) = plate.outlines();
    Part {
        name: "terminal plate".into(),
        per_former: 1,
        thickness_m: plate.thickness_m,
        outer,
        holes,
        engravings: plate.marks(),
        outer_radius_m: None,
        insulates: true,
    }
}

/// The outer edge of a ring and its bore, or both in one outline where a slit opens the ring.
fn ring_outlines(plan: &FormerPlan, outer_m: f64, slit: Option<Slit>) -> (Outline, Option<Outline>) {
    let bore_m = 0.5 * plan.bore_diameter_m;
    match slit {
        Some(slit) => (Outline::slit_ring(outer_m, bore_m, slit.width_m, slit.angle_rad), None),
        None => (Outline::circle([0.0; 2], outer_m), Some(Outline::circle([0.0; 2], bore_m))),
    }
}

/// A flange: the marked one, or the plain one, which is seen from its own outer face and so is mirrored.
fn flange(plan: &FormerPlan, title: &str, marked: bool) -> Part {
    let mirrored = |[x, y]: [f64; 2]| if marked { [x, y] } else { [-x, y] };
    let circle = |centre: [f64; 2], diameter_m: f64| Outline::circle(mirrored(centre), 0.5 * diameter_m);
    let around = |holes: &Holes| {
        holes.centres_m().into_iter().map(|centre| circle(centre, holes.diameter_m)).collect::<Vec<_>>()
    };
    let [inner, outer] = plan.finish_slot.ends_m().map(mirrored);
    let mirrored_slit = |slit: Slit| match marked {
        true => slit,
        false => Slit { angle_rad: PI - slit.angle_rad, ..slit },
    };
    let rim_m = 0.5 * plan.flange_diameter_m;
    let (rim, bore) = ring_outlines(plan, rim_m, plan.slit.map(mirrored_slit));
    let mut holes: Vec<Outline> = bore.into_iter().collect();
    holes.extend(around(&plan.bolts.holes));
    holes.extend(plan.dowels.iter().flat_map(around));
    holes.push(circle(plan.start_hole.centre_m(), plan.start_hole.diameter_m));
    holes.push(Outline::slot(inner, outer, plan.finish_slot.width_m));
    if let Some(plate) = &plan.terminals {
        holes.extend(plate.screws_m().map(|screw| circle(screw, plate.screw_hole_m)));
    }
    Part {
        name: if marked { "flange, marked face" } else { "flange, plain face" }.into(),
        per_former: 1,
        thickness_m: plan.wall_m,
        outer: rim,
        holes,
        engravings: if marked { marks(plan, title) } else { Vec::new() },
        outer_radius_m: Some(rim_m),
        insulates: false,
    }
}

/// The marks on the marked face, which is turned towards +z on both formers.
fn marks(plan: &FormerPlan, title: &str) -> Vec<Engraving> {
    let rim_m = 0.5 * plan.flange_diameter_m;
    let channel_m = 0.5 * plan.winding_diameter_m - 0.5 * plan.channel_depth_m;
    let room_m = rim_m - 0.5 * plan.bore_diameter_m;
    let height_m = (0.18 * room_m).clamp(0.5e-3, 6e-3);
    let step = 3.0 * height_m / channel_m;
    let beside = |radius: f64, angle: f64| polar(radius, angle);
    let text = |at_m: [f64; 2], content: &str| Engraving::Text { at_m, height_m, content: content.into() };
    let start = plan.start_hole.angle_rad - step.max(2.0 * plan.start_hole.diameter_m / channel_m);
    let finish = plan.finish_slot.angle_rad + step.max(2.0 * plan.finish_slot.width_m / channel_m);
    let mut marks = vec![
        text(beside(channel_m, start), "S"),
        Engraving::Dot { at_m: beside(channel_m, start - step), radius_m: 0.4 * height_m },
        text(beside(channel_m, finish), "F"),
        text(beside(channel_m, 0.0), "+z"),
        Engraving::ArcArrow { radius_m: channel_m, angle_rad: [PI - 0.75, PI - 0.15] },
    ];
    // The title stands at the top, unless the finish slot is there.
    let to_top = (plan.finish_slot.angle_rad - FRAC_PI_2).rem_euclid(TAU);
    if to_top.min(TAU - to_top) > FRAC_PI_4 {
        marks.push(Engraving::Text {
            at_m: beside(channel_m, FRAC_PI_2),
            // Small enough for the title to stay where the ring of the flange is nearly straight.
            height_m: height_m.min(0.8 * channel_m / title.chars().count().max(1) as f64),
            content: title.into(),
        });
    }
    marks
}

#[cfg(test)]
mod tests;
