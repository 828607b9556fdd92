//! Detail X of the former's drawing: the channel with the wound copper in it, enlarged.

use super::scale_name;
use crate::paper::Anchor;
use crate::paper::drawing::{Drawing, LETTERS, Line, Point, SMALL, text_width};
use crate::questions::build::BuildPapers;
use crate::questions::build::former::THIN_SHEET_M;
use crate::questions::build::words::phrases::millimetres;
use crate::units::{Dimension, brief, unit};

/// Enlargement scales of ISO 5455, largest first.
const ENLARGED: [f64; 5] = [50.0, 20.0, 10.0, 5.0, 2.0];

/// Draws the detail into `room`, and its words into a column `column` wide. Returns the y of its lower edge, and the scale.
pub(super) fn detail(
    drawing: &mut Drawing,
    record: &BuildPapers,
    [left, top]: Point,
    room: Point,
    column: f64,
) -> (f64, f64) {
    let plan = &record.former;
    let winding_depth = plan.wound_depth_m();
    let rim_m = 0.5 * plan.flange_diameter_m;
    let height_m = rim_m - 0.5 * plan.bore_diameter_m;
    let fits = |scale: f64| {
        unit::MILLIMETRE.from_si(plan.overall_width_m) * scale <= room[0]
            && unit::MILLIMETRE.from_si(height_m) * scale <= room[1]
    };
    let scale =
        ENLARGED.into_iter().chain([1.0, 0.5, 0.2, 0.1, 0.05, 0.02]).find(|s| fits(*s)).unwrap_or(0.01);
    let mm = |metre: f64| scale * unit::MILLIMETRE.from_si(metre);
    let (width, wall, height) = (mm(plan.overall_width_m), mm(plan.wall_m), mm(height_m));
    let x = left + 26.0;
    let y = top + 26.0;
    let core = y + mm(rim_m - 0.5 * plan.core_diameter_m.nominal);
    let floor = core - mm(plan.lining_m);
    let bottom = y + height;
    drawing.bold([left, top + 2.0], LETTERS, Anchor::Start, &format!("X  ({})", scale_name(scale)));
    for (part, rising) in [
        (vec![[x, y], [x + wall, y], [x + wall, bottom], [x, bottom]], true),
        (vec![[x + width - wall, y], [x + width, y], [x + width, bottom], [x + width - wall, bottom]], true),
        (
            vec![[x + wall, core], [x + width - wall, core], [x + width - wall, bottom], [x + wall, bottom]],
            false,
        ),
    ] {
        drawing.hatch(std::slice::from_ref(&part), 2.0, rising);
        drawing.outline(&part, Line::Visible);
    }
    // Joints between the rings of the core.
    for ring in 1..=plan.core.rings {
        let at = x + wall + mm(f64::from(ring) * plan.wall_m);
        if at < x + width - wall - 0.2 {
            drawing.line(&[[at, core], [at, bottom]], Line::Narrow);
        }
    }
    if plan.lining_m > 0.0 {
        let lining = mm(plan.lining_m);
        let (inner_left, inner_right) = (x + wall + lining, x + width - wall - lining);
        drawing.line(
            &[[inner_left, y], [inner_left, floor], [inner_right, floor], [inner_right, y]],
            Line::Narrow,
        );
    }
    // The winding lies on the floor, in the middle of the channel.
    let (wound, depth) = (mm(plan.wound_width_m()), mm(winding_depth));
    let wound_left = x + 0.5 * (width - wound);
    drawing.rectangle([wound_left, floor - depth], [wound, depth], Line::Centre);
    if text_width("winding", SMALL) + 1.0 < wound {
        drawing.text([x + 0.5 * width, floor - 0.5 * depth + 1.0], SMALL, Anchor::Middle, "winding");
    }
    let figure = |metre: f64| millimetres(metre);
    drawing.dimension_across([x + wall, y], [x + width - wall, y], y - 6.0, &figure(plan.channel_width_m));
    let reference = format!("({})", figure(plan.wound_width_m()));
    drawing.dimension_across(
        [wound_left, floor - depth],
        [wound_left + wound, floor - depth],
        y - 15.0,
        &reference,
    );
    drawing.dimension_across([x, bottom], [x + wall, bottom], bottom + 7.0, &figure(plan.wall_m));
    let of_core = drawing.dimension_down(
        [x + width, core],
        [x + width, bottom],
        x + width + 8.0,
        &figure(0.5 * (plan.core_diameter_m.nominal - plan.bore_diameter_m)),
    );
    let of_winding = drawing.dimension_down(
        [x + width - wall, floor - depth],
        [x + width - wall, floor],
        x + width + 17.0,
        &format!("({})", figure(winding_depth)),
    );
    let of_rim = drawing.dimension_down(
        [x, y],
        [x + wall, core],
        x - 8.0,
        &figure(rim_m - 0.5 * plan.core_diameter_m.nominal),
    );
    // Words stand below figures that had no room beside the part.
    let mut foot =
        [of_core, of_winding, of_rim].into_iter().map(|end| end + 6.0).fold(bottom + 18.0, f64::max);
    let rings = match plan.core.rings {
        0 => None,
        1 => Some(format!("one ring of {} mm", figure(plan.wall_m))),
        rings => Some(format!("{rings} rings of {} mm", figure(plan.wall_m))),
    };
    let shim = (plan.core.shim_m > 0.0).then(|| {
        let card = if plan.core.shim_m < THIN_SHEET_M { ", of pressboard or card" } else { "" };
        format!("one of {} mm{card}", figure(plan.core.shim_m))
    });
    let rings_of_core = format!("core: {}", rings.into_iter().chain(shim).collect::<Vec<_>>().join(" and "));
    let lining = (plan.lining_m > 0.0).then(|| {
        format!("lining of the channel: {} mm of insulation on core and flanges", figure(plan.lining_m))
    });
    for line in [
        Some(rings_of_core),
        lining,
        Some(format!(
            "allowance over the winding: {} mm in width, {} mm at least in depth",
            figure(plan.width_allowance_m),
            figure(plan.depth_allowance_m)
        )),
        Some(format!(
            "( ) winding of {} turns, for reference",
            brief(record.winding.turns, Dimension::Number)
        )),
    ]
    .into_iter()
    .flatten()
    {
        foot = drawing.paragraph([left, foot], column - 4.0, SMALL, &line);
    }
    (foot, scale)
}
