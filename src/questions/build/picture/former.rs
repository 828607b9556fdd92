//! The drawing of one former: face, section A–A, table of holes and words. Detail X is drawn in `channel.rs`.

mod holes;

use super::channel::detail;
use super::{BlockWords, PAGE, PageView, check_bar, page_scale, printing, scale_name, views as projection};
use crate::paper::Anchor;
use crate::paper::drawing::{Drawing, LETTERS, Line, Point, SMALL, Sheet, figure_below, text_width, wrapped};
use crate::questions::build::outline::polar;
use crate::questions::build::words::phrases::{limit_millimetres, millimetres};
use crate::questions::build::{BuildPapers, FormerPlan, Note, Outline, Projection};
use crate::questions::words::cautions::DEFER;
use crate::questions::words::notes::Told;
use crate::units::unit;
pub(crate) use holes::{ANGLES, hole_rows};
use holes::{COLUMN, holes};
use std::f64::consts::{FRAC_PI_2, TAU};

/// Distance from the frame to the face, and room above and below the face for letters and arrows, mm.
const LEFT: f64 = 16.0;
const ABOVE: f64 = 20.0;
const BELOW: f64 = 20.0;
/// Distance from the face to the section, mm.
const BETWEEN: f64 = 22.0;
/// Distance from the section to the column with the detail and words; holds three dimension lines, mm.
const DIMENSIONS: f64 = 38.0;
/// Height that the detail, the table and the words take in that column, mm.
const COLUMN_HEIGHT: f64 = 216.0;
/// Distance between dimension lines, mm.
const STEP: f64 = 9.0;
/// Room for the detail itself in the narrowest column, mm.
const DETAIL: Point = [58.0, 76.0];
/// Largest useful size of the detail, mm.
const LARGEST_DETAIL: Point = [130.0, 150.0];
/// Room that the detail's surroundings take in the column: beside it, and above and below it, mm.
const BESIDE_DETAIL: Point = [58.0, 140.0];
/// Height that the check bar takes at the foot of the sheet, mm.
const CHECK_BAR: f64 = 18.0;
/// Largest width of a column of words, mm.
const WIDEST_WORDS: f64 = 170.0;

/// The former at the drawing's scale.
struct Former<'a> {
    plan: &'a FormerPlan,
    scale: f64,
    mirrored: bool,
}

impl Former<'_> {
    fn mm(&self, metre: f64) -> f64 {
        self.scale * unit::MILLIMETRE.from_si(metre)
    }

    /// Diameters of bore, core and flange with their figures, as the section has them.
    fn diameters(&self) -> [(f64, String); 3] {
        let plan = self.plan;
        let core = plan.core_diameter_m;
        [
            (plan.bore_diameter_m, format!("Ø{}", millimetres(plan.bore_diameter_m))),
            (
                core.nominal,
                format!("Ø{} ±{}", millimetres(core.nominal), limit_millimetres(core.most - core.nominal)),
            ),
            (plan.flange_diameter_m, format!("Ø{}", millimetres(plan.flange_diameter_m))),
        ]
    }

    /// Room below the face, and whether the figure of a diameter stands there, because the section is too low for it.
    fn below(&self) -> (f64, bool) {
        let figures = self.diameters();
        let ends =
            figures.iter().filter_map(|(diameter_m, figure)| figure_below(self.mm(*diameter_m), figure));
        let lowest = ends.fold(0.0, f64::max);
        ((lowest + 3.0).max(BELOW), lowest > 0.0)
    }
}

/// The drawing as an SVG document.
pub(crate) fn svg(record: &BuildPapers) -> String {
    let plan = &record.former;
    let former = Former {
        plan,
        scale: record.asked.drawing_scale,
        mirrored: record.asked.projection == Projection::Third,
    };
    let flange = former.mm(plan.flange_diameter_m);
    let width = former.mm(plan.overall_width_m);
    let least = [
        LEFT + flange + BETWEEN + width + DIMENSIONS + COLUMN,
        (ABOVE + flange + former.below().0).max(COLUMN_HEIGHT) + crate::paper::drawing::BLOCK[1],
    ];
    // The smallest sheet that holds views and words.
    let mut larger_than = 0.0;
    loop {
        let sheet = Sheet::holding(least, |[w, h]| w >= least[0] && h >= least[1] && w * h > larger_than);
        let (drawing, all_words) = on_sheet(record, &former, &sheet);
        let [w, h] = sheet.room();
        if all_words || sheet.size.name == "special" {
            return drawing.svg();
        }
        larger_than = w * h;
    }
}

/// The drawing on a sheet, and whether there is room for all of its words.
fn on_sheet(record: &BuildPapers, former: &Former<'_>, sheet: &Sheet) -> (Drawing, bool) {
    let plan = former.plan;
    let flange = former.mm(plan.flange_diameter_m);
    let width = former.mm(plan.overall_width_m);
    let words = BlockWords::of(record);
    let mut drawing = sheet.drawing(&words.block(record, "Former, two off", 1));
    let [left, top, right, bottom] = sheet.frame();
    let centre = [left + LEFT + 0.5 * flange, top + ABOVE + 0.5 * flange];
    face(&mut drawing, former, centre);
    let section = left + LEFT + flange + BETWEEN;
    cross_section(&mut drawing, former, [section, centre[1]]);
    let column = section + width + DIMENSIONS;
    let [_, block] = sheet.block();
    let room = [
        (right - column - BESIDE_DETAIL[0]).clamp(DETAIL[0], LARGEST_DETAIL[0]),
        (block - top - BESIDE_DETAIL[1]).clamp(DETAIL[1], LARGEST_DETAIL[1]),
    ];
    let (foot, _) = detail(&mut drawing, record, [column, top + 6.0], room, COLUMN);
    let foot = holes(&mut drawing, former.plan, [column, foot + 6.0]);
    let under_face = [left + 8.0, centre[1] + 0.5 * flange + former.below().0 + 4.0];
    let all_words = words_beside(&mut drawing, record, sheet, [column, foot + 5.0], under_face);
    let (bar, stands_for) = check_bar(former.scale);
    drawing.check_bar([left + 8.0, bottom - 10.0], bar, &stands_for);
    (drawing, all_words)
}

/// Face and section for a page, at the largest scale at which they fit.
pub(crate) fn views(record: &BuildPapers) -> PageView {
    let plan = &record.former;
    let mirrored = record.asked.projection == Projection::Third;
    let beside = LEFT + BETWEEN + DIMENSIONS;
    let scale = page_scale(|scale| {
        let former = Former { plan, scale, mirrored };
        let flange = former.mm(plan.flange_diameter_m);
        let width = beside + flange + former.mm(plan.overall_width_m);
        width <= PAGE[0] && ABOVE + flange + former.below().0 <= PAGE[1]
    });
    let former = Former { plan, scale, mirrored };
    let flange = former.mm(plan.flange_diameter_m);
    let height = ABOVE + flange + former.below().0;
    let mut drawing = Drawing::new([PAGE[0], height + CHECK_BAR], "Former: face and section A–A");
    let centre = [LEFT + 0.5 * flange, ABOVE + 0.5 * flange];
    face(&mut drawing, &former, centre);
    cross_section(&mut drawing, &former, [LEFT + flange + BETWEEN, centre[1]]);
    let (bar, stands_for) = check_bar(scale);
    drawing.check_bar([8.0, height + CHECK_BAR - 8.0], bar, &stands_for);
    drawing
        .projection_symbol([PAGE[0] - 25.0, height + CHECK_BAR - 13.0], projection(record.asked.projection));
    PageView { scale: scale_name(scale), svg: drawing.svg() }
}

/// Detail X for a page.
pub(crate) fn detail_view(record: &BuildPapers) -> PageView {
    /// Room for the detail itself, mm; its dimensions take 55 mm of the width and its words 45 mm of the height.
    const ROOM: Point = [PAGE[0] - 60.0, 90.0];
    let mut drawing = Drawing::new(PAGE, "Former: detail X");
    let (foot, scale) = detail(&mut drawing, record, [0.0, 4.0], ROOM, PAGE[0]);
    drawing.crop(foot + 2.0);
    PageView { scale: scale_name(scale), svg: drawing.svg() }
}

/// The point on paper, where y runs down, for a point relative to the centre with y up.
fn on_paper([x, y]: Point, centre: Point) -> Point {
    [centre[0] + x, centre[1] - y]
}

/// Draws the marked face, seen against +z.
fn face(drawing: &mut Drawing, former: &Former<'_>, centre: Point) {
    let plan = former.plan;
    let radius = |diameter_m: f64| 0.5 * former.mm(diameter_m);
    let rim = radius(plan.flange_diameter_m);
    match (plan.slit, plan.parts.first()) {
        (Some(slit), Some(flange)) => {
            // The slit joins rim and bore to one outline, and opens the core under the flange.
            let points = |outline: &Outline| -> Vec<Point> {
                let place = |at_m: [f64; 2]| on_paper(at_m.map(|metre| former.mm(metre)), centre);
                outline.points_m().into_iter().map(place).collect()
            };
            drawing.line(&points(&flange.outer), Line::Visible);
            let (core, from) = (radius(plan.core_diameter_m.nominal), slit.angle_rad);
            let open = 0.5 * slit.width_m / (0.5 * plan.core_diameter_m.nominal);
            let at = |step: i32| from + open + (TAU - 2.0 * open) * f64::from(step) / 120.0;
            let hidden =
                (0..=120).map(|step| on_paper([core * at(step).cos(), core * at(step).sin()], centre));
            drawing.line(&hidden.collect::<Vec<_>>(), Line::Hidden);
        }
        _ => {
            drawing.circle(centre, rim, Line::Visible);
            drawing.circle(centre, radius(plan.bore_diameter_m), Line::Visible);
            drawing.circle(centre, radius(plan.core_diameter_m.nominal), Line::Hidden);
        }
    }
    drawing.circle(centre, radius(plan.bolts.holes.circle_diameter_m), Line::Centre);
    let place = |at_m: [f64; 2]| on_paper(at_m.map(|metre| former.mm(metre)), centre);
    for (holes, diameter_m) in [(Some(plan.bolts.holes), plan.bolts.holes.diameter_m)]
        .into_iter()
        .chain([(plan.dowels, plan.dowels.map_or(0.0, |dowels| dowels.diameter_m))])
    {
        for at in holes.iter().flat_map(|holes| holes.centres_m()) {
            drawing.circle(place(at), radius(diameter_m), Line::Visible);
            drawing.centre_mark(place(at), radius(diameter_m) + 1.5);
        }
    }
    let start = place(plan.start_hole.centre_m());
    drawing.circle(start, radius(plan.start_hole.diameter_m), Line::Visible);
    drawing.centre_mark(start, radius(plan.start_hole.diameter_m) + 1.5);
    if let Some(plate) = plan.terminals {
        for at in plate.screws_m().map(place) {
            drawing.circle(at, radius(plate.screw_hole_m), Line::Visible);
            drawing.centre_mark(at, radius(plate.screw_hole_m) + 1.5);
        }
    }
    slot(drawing, former, centre);
    drawing.centre_mark(centre, rim + 5.0);
    cutting_plane(drawing, former, centre, rim);
    drawing.bold([centre[0] - rim, centre[1] - rim - 15.0], LETTERS, Anchor::Start, "Marked face (+z)");
    letters(drawing, former, centre, rim);
}

fn slot(drawing: &mut Drawing, former: &Former<'_>, centre: Point) {
    let slot = &former.plan.finish_slot;
    let [inner, outer] = slot.ends_m().map(|at_m| on_paper(at_m.map(|metre| former.mm(metre)), centre));
    let half = 0.5 * former.mm(slot.width_m);
    let (dx, dy) = (outer[0] - inner[0], outer[1] - inner[1]);
    let length = dx.hypot(dy).max(1e-9);
    let side = [-half * dy / length, half * dx / length];
    let n = crate::paper::drawing::number;
    let data = format!(
        "M {} {} L {} {} A {h} {h} 0 0 0 {} {} L {} {} A {h} {h} 0 0 0 {} {} Z",
        n(inner[0] + side[0]),
        n(inner[1] + side[1]),
        n(outer[0] + side[0]),
        n(outer[1] + side[1]),
        n(outer[0] - side[0]),
        n(outer[1] - side[1]),
        n(inner[0] - side[0]),
        n(inner[1] - side[1]),
        n(inner[0] + side[0]),
        n(inner[1] + side[1]),
        h = n(half),
    );
    drawing.path(&data, Line::Visible);
}

/// Draws the trace of section plane A–A through the axis, with arrows in the direction of view.
fn cutting_plane(drawing: &mut Drawing, former: &Former<'_>, centre: Point, rim: f64) {
    let sight = if former.mirrored { -1.0 } else { 1.0 };
    for end in [-1.0, 1.0] {
        let y = centre[1] + end * (rim + 2.0);
        drawing.line(&[[centre[0], y], [centre[0], y + end * 6.0]], Line::Visible);
        let at = y + end * 5.0;
        drawing.line(&[[centre[0], at], [centre[0] + sight * 8.0, at]], Line::Narrow);
        drawing.arrowhead([centre[0] + sight * 8.0, at], [sight, 0.0]);
        drawing.text([centre[0] - sight * 4.0, at + 1.5], LETTERS, Anchor::Middle, "A");
    }
}

/// Draws the letters that name the holes, and the marks on the face.
fn letters(drawing: &mut Drawing, former: &Former<'_>, centre: Point, rim: f64) {
    let plan = former.plan;
    let place = |at_m: [f64; 2]| on_paper(at_m.map(|metre| former.mm(metre)), centre);
    // The letter stands beyond the rim, as near to its hole as other texts allow.
    let mut name = |at: Point, by: f64, turn: f64, letter: &str| {
        let natural = (at[1] - centre[1]).atan2(at[0] - centre[0]);
        let turned =
            (0..=18i32).flat_map(|step| [step, -step]).map(|step| natural + 0.0873 * f64::from(step));
        let knees = turned.flat_map(|angle| {
            [0.0, 5.0].map(|more| {
                let far = rim + by + more;
                [centre[0] + far * angle.cos() + turn, centre[1] + far * angle.sin()]
            })
        });
        drawing.clear_leader(at, knees, letter);
    };
    let bolts = plan.bolts.holes.centres_m();
    if let Some(bolt) = bolts.first() {
        name(place(*bolt), 6.0, 0.0, "B");
    }
    if let Some(dowel) = plan.dowels.and_then(|dowels| dowels.centres_m().first().copied()) {
        name(place(dowel), 5.0, 0.0, "D");
    }
    if let Some(plate) = plan.terminals {
        name(place(plate.screws_m()[1]), 6.0, 0.0, "T");
    }
    name(place(plan.start_hole.centre_m()), 6.0, -3.0, "S");
    let finish = place(plan.finish_slot.ends_m()[1]);
    let (across, is_above) = (finish[0] - centre[0], plan.finish_slot.angle_rad.sin() > 0.0);
    // At the top it keeps clear of the section's letter and arrow.
    let turn = if is_above && across.abs() < 12.0 { 12.0f64.copysign(across) } else { 3.0 };
    name(finish, 6.0, turn, "F");
    if let Some(slit) = plan.slit {
        let across = polar(0.5 * plan.flange_diameter_m, slit.angle_rad);
        name(place(across), 6.0, 3.0f64.copysign(across[0]), "G");
    }
    // The engraved dot beside the start.
    for engraving in plan.parts.iter().take(1).flat_map(|part| &part.engravings) {
        if let crate::questions::build::Engraving::Dot { at_m, radius_m } = engraving {
            drawing.dot(place(*at_m), former.mm(*radius_m).max(0.6));
        }
    }
    winding_arrow(drawing, former, centre);
}

/// Words beside the winding arrow.
const WIND_THIS_WAY: &str = "wind this way";

/// Draws the engraved arrow, which shows the direction of winding.
fn winding_arrow(drawing: &mut Drawing, former: &Former<'_>, centre: Point) {
    for engraving in former.plan.parts.iter().take(1).flat_map(|part| &part.engravings) {
        let crate::questions::build::Engraving::ArcArrow { radius_m, angle_rad: [from, to] } = engraving
        else {
            continue;
        };
        let radius = former.mm(*radius_m);
        let at = |angle: f64| on_paper([radius * angle.cos(), radius * angle.sin()], centre);
        let steps: Vec<Point> =
            (0..=24).map(|step| at(from + (to - from) * f64::from(step) / 24.0)).collect();
        drawing.line(&steps, Line::Narrow);
        // The direction counter-clockwise at an angle is a quarter turn further on.
        let direction = [(to + FRAC_PI_2).cos(), -(to + FRAC_PI_2).sin()];
        drawing.arrowhead(at(*to), direction);
        let middle = 0.5 * (from + to);
        // The words stand inside the bore, their nearer end clear of its edge.
        let bore = former.mm(0.5 * former.plan.bore_diameter_m);
        let place = on_paper([(bore - 5.0) * middle.cos(), (bore - 5.0) * middle.sin()], centre);
        let anchor = if middle.cos() < 0.0 { Anchor::Start } else { Anchor::End };
        if text_width(WIND_THIS_WAY, SMALL) + 10.0 < bore {
            drawing.text(place, SMALL, anchor, WIND_THIS_WAY);
        }
    }
}

/// Draws section A–A: the upper and the lower side of the ring are cut.
fn cross_section(drawing: &mut Drawing, former: &Former<'_>, [x, axis]: Point) {
    let plan = former.plan;
    let (wall, width) = (former.mm(plan.wall_m), former.mm(plan.overall_width_m));
    let radius = |diameter_m: f64| 0.5 * former.mm(diameter_m);
    let (rim, floor, bore) =
        (radius(plan.flange_diameter_m), radius(plan.core_diameter_m.nominal), radius(plan.bore_diameter_m));
    for side in [-1.0, 1.0] {
        let rectangle = |from: f64, to: f64, inner: f64, outer: f64| {
            vec![
                [x + from, axis + side * outer],
                [x + to, axis + side * outer],
                [x + to, axis + side * inner],
                [x + from, axis + side * inner],
            ]
        };
        let spacing = (0.25 * wall).clamp(1.2, 3.0);
        for (part, rising) in [
            (rectangle(0.0, wall, bore, rim), true),
            (rectangle(width - wall, width, bore, rim), true),
            (rectangle(wall, width - wall, bore, floor), false),
        ] {
            drawing.hatch(std::slice::from_ref(&part), spacing, rising);
            drawing.outline(&part, Line::Visible);
        }
    }
    // Edges of the bore, seen beyond the section plane.
    for at in [0.0, wall, width - wall, width] {
        let line = if at == 0.0 || at == width { Line::Visible } else { Line::Narrow };
        drawing.line(&[[x + at, axis - bore], [x + at, axis + bore]], line);
    }
    drawing.line(&[[x - 5.0, axis], [x + width + 5.0, axis]], Line::Centre);
    drawing.bold([x + 0.5 * width, axis - rim - 15.0], LETTERS, Anchor::Middle, "A–A");
    let marked = if former.mirrored { x } else { x + width };
    drawing.text([marked, axis + rim + 5.0], SMALL, Anchor::Middle, "M");
    let right = x + width;
    let edges = [right, right - wall, right];
    for (step, ((diameter_m, figure), edge)) in former.diameters().iter().zip(edges).enumerate() {
        let half = radius(*diameter_m);
        let at = right + STEP * (step as f64 + 1.0);
        drawing.dimension_down([edge, axis - half], [edge, axis + half], at, figure);
    }
    // Where figures of diameters stand below the section, the width is told above it.
    let (side, at) = if former.below().1 { (-1.0, -7.0) } else { (1.0, 12.0) };
    drawing.dimension_across(
        [x, axis + side * rim],
        [right, axis + side * rim],
        axis + side * rim + at,
        &millimetres(plan.overall_width_m),
    );
    // A line around the part that the detail shows. A circle would leave the sheet around a wide section.
    let (high, around) = (rim - bore, 2.0);
    drawing.rectangle(
        [x - around, axis - rim - around],
        [width + 2.0 * around, high + 2.0 * around],
        Line::Narrow,
    );
    drawing.text([x - 2.0, axis - rim - 3.0], LETTERS, Anchor::End, "X");
}

/// How the former must be finished.
pub(crate) const EDGES: &str =
    "Break all edges that touch wire; no burr, no screw head in the channel. Lay out from former.dxf.";

/// The general tolerance at the largest and at the smallest dimension without a limit of its own.
pub(crate) fn general_tolerance(record: &BuildPapers) -> String {
    let class = record.asked.general_tolerance;
    let limits = [record.former.flange_diameter_m, record.former.channel_width_m].map(|length_m| {
        class.limit_m(length_m).map_or_else(
            || format!("none for {} mm, agree on one", millimetres(length_m)),
            |limit_m| format!("±{} mm for {} mm", limit_millimetres(limit_m), millimetres(length_m)),
        )
    });
    format!(
        "Without a limit of its own a dimension has ISO 2768-1, class {}: {}.",
        class.letter(),
        limits.join(", ")
    )
}

/// Writes what the workshop must know: in the column, and what has no room there under the face. Returns whether all of it has
/// room.
fn words_beside(
    drawing: &mut Drawing,
    record: &BuildPapers,
    sheet: &Sheet,
    column: Point,
    under_face: Point,
) -> bool {
    let ([_, _, right, bottom], [block_left, block_top]) = (sheet.frame(), sheet.block());
    let scale = record.asked.drawing_scale;
    let mut words =
        vec![printing(sheet, record, scale), DEFER.into(), general_tolerance(record), EDGES.into()];
    // Notes on the former come first.
    let (of_former, rest): (Vec<&Note>, Vec<&Note>) =
        record.notes.iter().partition(|note| note.is_of_former());
    words.extend(of_former.into_iter().chain(rest).map(Note::sentence));
    let width = (right - column[0] - 4.0).min(WIDEST_WORDS);
    let left = set_words(drawing, &words, column, width, block_top - 2.0);
    let width = (column[0].min(block_left) - under_face[0] - 8.0).min(WIDEST_WORDS);
    let left = set_words(drawing, left, under_face, width, bottom - CHECK_BAR);
    if let [_, ..] = left {
        let more = format!("{} more notes stand in build.json.", left.len());
        drawing.paragraph([under_face[0], bottom - CHECK_BAR], width, SMALL, &more);
    }
    left.is_empty()
}

/// Writes paragraphs one below the other as far as there is room, and returns the rest.
fn set_words<'a>(
    drawing: &mut Drawing,
    words: &'a [String],
    [left, top]: Point,
    width: f64,
    bottom: f64,
) -> &'a [String] {
    let mut y = top;
    for (index, sentence) in words.iter().enumerate() {
        let lines = wrapped(sentence, SMALL, width).len() as f64;
        if y + 1.65 * SMALL * lines > bottom {
            return &words[index..];
        }
        y = drawing.paragraph([left, y], width, SMALL, sentence) + 1.0;
    }
    &[]
}
