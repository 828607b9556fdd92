//! The table of holes beside the drawing of a former.

use crate::paper::Anchor;
use crate::paper::drawing::{Drawing, Line, Point, SMALL, shortened};
use crate::questions::build::FormerPlan;
use crate::questions::build::words::phrases::millimetres;
use crate::units::unit;

/// Width of that column, mm.
pub(super) const COLUMN: f64 = 116.0;

/// What the angles of the table of holes are counted from.
pub(crate) const ANGLES: &str = "Angles counter-clockwise from the right, on the marked face (M in the section); the plain flange is \
     the same seen from inside.";

/// The table of holes, its headings first.
pub(crate) fn hole_rows(plan: &FormerPlan) -> Vec<[String; 6]> {
    let millimetre = |metre: f64| millimetres(metre);
    let degrees = |rad: f64| format!("{:.1}°", unit::DEGREE.from_si(rad).rem_euclid(360.0));
    let mut rows = vec![["", "holes, both flanges", "Ø", "on Ø", "first at", "off"].map(str::to_owned)];
    let bolts = &plan.bolts.holes;
    rows.push([
        "B".into(),
        format!("bolt M{}", millimetre(plan.bolts.thread_m)),
        millimetre(bolts.diameter_m),
        millimetre(bolts.circle_diameter_m),
        degrees(bolts.first_angle_rad),
        bolts.count.to_string(),
    ]);
    if let Some(dowels) = plan.dowels {
        rows.push([
            "D".into(),
            "dowel, core too".into(),
            millimetre(dowels.diameter_m),
            millimetre(dowels.circle_diameter_m),
            degrees(dowels.first_angle_rad),
            dowels.count.to_string(),
        ]);
    }
    let start = &plan.start_hole;
    rows.push([
        "S".into(),
        "start of the wire".into(),
        millimetre(start.diameter_m),
        millimetre(2.0 * start.radius_m),
        degrees(start.angle_rad),
        "1".into(),
    ]);
    if let Some(plate) = &plan.terminals {
        let [first, _] = plate.screws_m();
        rows.push([
            "T".into(),
            format!("plate screws, {} apart", millimetre(plate.screws_apart_m)),
            millimetre(plate.screw_hole_m),
            millimetre(bolts.circle_diameter_m),
            degrees(first[1].atan2(first[0])),
            "2".into(),
        ]);
    }
    let slot = &plan.finish_slot;
    rows.push([
        "F".into(),
        "finish, slot between".into(),
        millimetre(slot.width_m),
        slot.radius_m.map(|radius| millimetre(2.0 * radius)).join("/"),
        degrees(slot.angle_rad),
        "1".into(),
    ]);
    if let Some(slit) = plan.slit {
        rows.push([
            "G".into(),
            "slit, core too".into(),
            millimetres(slit.width_m),
            "bore to rim".into(),
            degrees(slit.angle_rad),
            "1".into(),
        ]);
    }
    rows
}

/// Draws the table of holes. Returns the y of its lower edge.
pub(super) fn holes(drawing: &mut Drawing, plan: &FormerPlan, [left, top]: Point) -> f64 {
    let rows = hole_rows(plan);
    let edges = [0.0, 6.0, 46.0, 58.0, 84.0, 102.0, 112.0];
    let row_height = 6.0;
    for (index, row) in rows.iter().enumerate() {
        let y = top + row_height * index as f64;
        for (column, cell) in row.iter().enumerate() {
            let (from, to) = (left + edges[column], left + edges[column + 1]);
            drawing.rectangle([from, y], [to - from, row_height], Line::Narrow);
            let cell = shortened(cell, SMALL, to - from - 1.5);
            drawing.text([from + 1.0, y + 4.2], SMALL, Anchor::Start, &cell);
        }
    }
    let foot = top + row_height * rows.len() as f64 + 4.0;
    drawing.paragraph([left, foot], COLUMN - 4.0, SMALL, ANGLES)
}
