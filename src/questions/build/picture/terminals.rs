//! The drawing of the plate that holds the sockets of one coil.

use super::{BlockWords, PAGE, PageView, check_bar, printing, scale_name};
use crate::paper::Anchor;
use crate::paper::drawing::{Drawing, LETTERS, Line, Point, SMALL, Sheet};
use crate::questions::build::words::phrases::millimetres;
use crate::questions::build::{BuildPapers, TerminalPlate};
use crate::questions::words::cautions::DEFER;
use crate::units::unit;

/// Room round the plate for its dimensions: left, above, right, below, mm.
const ROUND: [f64; 4] = [46.0, 30.0, 38.0, 34.0];
/// Distance between dimension lines, mm.
const STEP: f64 = 9.0;
/// Width of the words beside the plate, mm.
const COLUMN: f64 = 112.0;
/// Enlargements of ISO 5455, and the largest height of the plate on paper, mm.
const SCALES: [f64; 3] = [2.0, 1.0, 0.5];
const HIGHEST: f64 = 120.0;
/// Height that the check bar takes, mm.
const CHECK_BAR: f64 = 18.0;

/// The drawing as an SVG document. `None` if there is no plate.
pub(crate) fn svg(record: &BuildPapers) -> Option<String> {
    let plate = record.former.terminals.as_ref()?;
    let scale = scale(plate);
    let size = size(plate, scale);
    let least = [ROUND[0] + size[0] + ROUND[2] + COLUMN, 170.0 + crate::paper::drawing::BLOCK[1]];
    let sheet = Sheet::holding(least, |[w, h]| w >= least[0] && h >= least[1].min(190.0));
    let words = BlockWords { scale: scale_name(scale), material: material(plate), ..BlockWords::of(record) };
    let mut drawing = sheet.drawing(&words.block(record, "Terminal plate, two off", 3));
    let [left, top, right, bottom] = sheet.frame();
    let corner = [left + ROUND[0], top + ROUND[1]];
    draw(&mut drawing, plate, scale, corner);
    let column = [corner[0] + size[0] + ROUND[2], top + 10.0];
    let mut y = column[1];
    let mut all = sentences(record, plate);
    all.extend([printing(&sheet, record, scale), DEFER.into()]);
    for sentence in all {
        y = drawing.paragraph([column[0], y], right - column[0] - 4.0, SMALL, &sentence) + 1.5;
    }
    let (bar, stands_for) = check_bar(scale);
    drawing.check_bar([left + 8.0, bottom - 10.0], bar, &stands_for);
    Some(drawing.svg())
}

/// The plate for a page.
pub(crate) fn view(record: &BuildPapers) -> Option<PageView> {
    let plate = record.former.terminals.as_ref()?;
    let scale = scale(plate);
    let height = ROUND[1] + size(plate, scale)[1] + ROUND[3];
    let mut drawing = Drawing::new([PAGE[0], height + CHECK_BAR], "Terminal plate");
    draw(&mut drawing, plate, scale, [ROUND[0], ROUND[1]]);
    let (bar, stands_for) = check_bar(scale);
    drawing.check_bar([8.0, height + CHECK_BAR - 8.0], bar, &stands_for);
    Some(PageView { scale: scale_name(scale), svg: drawing.svg() })
}

fn material(plate: &TerminalPlate) -> String {
    format!("insulating sheet, {} mm", millimetres(plate.thickness_m))
}

/// Width and height of the plate on paper.
fn size(plate: &TerminalPlate, scale: f64) -> Point {
    let [tongue, wide] = plate.widths_m;
    let mm = |metre: f64| scale * unit::MILLIMETRE.from_si(metre);
    [mm(wide.max(tongue)), mm(plate.edges_m[2] - plate.edges_m[0])]
}

/// The largest scale at which the plate fits.
fn scale(plate: &TerminalPlate) -> f64 {
    SCALES.into_iter().find(|scale| size(plate, *scale)[1] <= HIGHEST).unwrap_or(0.2)
}

/// Draws the plate with its sockets at the top, its upper left corner here.
fn draw(drawing: &mut Drawing, plate: &TerminalPlate, scale: f64, [left, top]: Point) {
    let mm = |metre: f64| scale * unit::MILLIMETRE.from_si(metre);
    let [width, height] = size(plate, scale);
    let (middle, foot) = (left + 0.5 * width, top + height);
    let place = |aside_m: f64, out_m: f64| [middle + mm(aside_m), top + mm(plate.edges_m[2] - out_m)];
    let corners = plate.edge_m().map(|[aside, out]| place(aside, out));
    drawing.outline(&corners, Line::Visible);
    drawing.line(&[[middle, top - 4.0], [middle, foot + 4.0]], Line::Centre);
    let pair = |apart_m: f64, out_m: f64| [-0.5, 0.5].map(|side| place(side * apart_m, out_m));
    let sockets = pair(plate.sockets_apart_m, plate.sockets_at_m);
    let screws = pair(plate.screws_apart_m, plate.screws_at_m);
    for (places, diameter_m) in [(sockets, plate.socket_hole_m), (screws, plate.screw_hole_m)] {
        for at in places {
            drawing.circle(at, 0.5 * mm(diameter_m), Line::Visible);
            drawing.centre_mark(at, 0.5 * mm(diameter_m) + 1.5);
        }
    }
    for mark in plate.marks() {
        use crate::questions::build::Engraving::{ArcArrow, Dot, Text};
        match mark {
            Text { at_m: [x, y], height_m, content } => {
                let [x, y] = place(x, y + plate.middle_m());
                drawing.text([x, y + 0.5 * mm(height_m)], mm(height_m), Anchor::Middle, &content);
            }
            Dot { at_m: [x, y], radius_m } => drawing.dot(place(x, y + plate.middle_m()), mm(radius_m)),
            ArcArrow { .. } => {}
        }
    }
    let figure = |metre: f64| millimetres(metre);
    let [tongue, wide] = plate.widths_m;
    // From the edge, because the letters stand between it and the sockets.
    let above = |[x, _]: Point| [x, top];
    drawing.dimension_across(above(sockets[0]), above(sockets[1]), top - 9.0, &figure(plate.sockets_apart_m));
    let [upper_left, upper_right] = [-0.5, 0.5].map(|side| place(side * wide, plate.edges_m[2]));
    drawing.dimension_across(upper_left, upper_right, top - 9.0 - STEP, &figure(wide));
    drawing.dimension_across(screws[0], screws[1], foot + 8.0, &figure(plate.screws_apart_m));
    let [lower_left, lower_right] = [-0.5, 0.5].map(|side| place(side * tongue, plate.edges_m[0]));
    drawing.dimension_across(lower_left, lower_right, foot + 8.0 + STEP, &figure(tongue));
    let right = left + width;
    drawing.dimension_down(
        sockets[1],
        screws[1],
        right + STEP,
        &figure(plate.sockets_at_m - plate.screws_at_m),
    );
    drawing.dimension_down(
        upper_right,
        lower_right,
        right + 2.0 * STEP,
        &figure(plate.edges_m[2] - plate.edges_m[0]),
    );
    let shoulder = place(-0.5 * wide, plate.edges_m[1]);
    drawing.dimension_down(sockets[0], shoulder, left - 8.0, &figure(plate.sockets_at_m - plate.edges_m[1]));
    drawing.dimension_down(screws[0], lower_left, left - 8.0, &figure(plate.screws_at_m - plate.edges_m[0]));
    let holes = [(sockets[0], plate.socket_hole_m, 0.35), (screws[0], plate.screw_hole_m, -0.35)];
    for (at, diameter_m, up) in holes {
        let radius = 0.5 * mm(diameter_m);
        let to = [at[0] - radius * 0.937, at[1] - radius * up];
        let words = format!("2× Ø{}", figure(diameter_m));
        // That of the screws runs below the dimensions at the left.
        let knee = if up > 0.0 { to[1] - 10.0 * up } else { foot + 10.0 };
        drawing.leader(to, [left - 17.0, knee], &words, LETTERS);
    }
}

/// What the plate is for, where it belongs and what to mind.
pub(crate) fn sentences(record: &BuildPapers, plate: &TerminalPlate) -> Vec<String> {
    let degrees = unit::DEGREE.from_si(plate.angle_rad).rem_euclid(360.0);
    vec![
        format!(
            "One for each coil, on the outer face of its outer flange: coil a the plain face, coil b the marked face. It is held by two \
             screws M{} through the holes T of that flange, its middle at {degrees:.0}° on the marked face, the sockets beyond the rim.",
            millimetres(plate.thread_m)
        ),
        "Insulating sheet, as ordered; a metal plate would lay the sockets on one another. Its outline and holes are in former.dxf, \
         on their own row."
            .into(),
        format!(
            "The holes of {} mm are for the usual touch-proof sockets with a thread M12: measure yours before you cut, also the room that \
             their nuts take.",
            millimetres(plate.socket_hole_m)
        ),
        "S with the dot is the start of the coil, F the finish. Lead both ends along the flange, fixed and insulated, with slack at the \
         sockets; bridge and leads plug in from outside."
            .into(),
        format!(
            "Screws {} mm from the axis, sockets {} mm. The rim of the flange lies {} mm from the axis.",
            millimetres(plate.screws_at_m),
            millimetres(plate.sockets_at_m),
            millimetres(0.5 * record.former.flange_diameter_m)
        ),
    ]
}
