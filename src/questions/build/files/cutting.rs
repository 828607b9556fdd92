//! The flat parts of one former, side by side, as a DXF drawing for a laser cutter.
//!
//! Outlines have the true size of the parts: the cutter's program must compensate for the kerf. Every outline to cut is
//! a closed polyline. A circle is drawn as four arcs, because not every cutter accepts a polyline with two corners.

use crate::paper::dxf::{Corner, Dxf, Layer};
use crate::questions::build::outline::polar;
use crate::questions::build::words::phrases::millimetres;
use crate::questions::build::{BuildPapers, Engraving, Outline, Part};
use crate::units::unit;

const CUT: &str = "cut";
const ENGRAVE: &str = "engrave";
const DIMENSIONS: &str = "dimensions";
/// Gap between parts, mm.
const GAP: f64 = 8.0;
/// Letter height of the words beside the parts, and distance between their lines, mm.
const WORDS: f64 = 4.0;
const LINE: f64 = 7.0;

/// The drawing as DXF.
pub(super) fn dxf(record: &BuildPapers) -> String {
    let mut dxf = Dxf::new(&[
        Layer { name: CUT, colour: 1 },
        Layer { name: ENGRAVE, colour: 5 },
        Layer { name: DIMENSIONS, colour: 3 },
    ]);
    let mut left = 0.0;
    let mut highest: f64 = 0.0;
    for part in &record.former.parts {
        let radius = mm(part.outer_radius_m);
        for copy in 0..part.per_former {
            let centre = [left + radius, radius];
            draw(&mut dxf, part, centre);
            label(&mut dxf, part, copy, [left + radius, -LINE]);
            left += 2.0 * radius + GAP;
        }
        highest = highest.max(2.0 * radius);
    }
    for (row, words) in heading(record).iter().enumerate() {
        dxf.text(DIMENSIONS, [0.5 * left, highest + LINE * (1.0 + row as f64)], WORDS, words);
    }
    dxf.document()
}

fn mm(metre: f64) -> f64 {
    unit::MILLIMETRE.from_si(metre)
}

/// The lines above the parts that say what the drawing is, from the lowest line up.
fn heading(record: &BuildPapers) -> [String; 2] {
    [
        "mm; parts of one former: cut twice for the pair. Outlines are true, the kerf is not taken off."
            .into(),
        record.provenance.to_string(),
    ]
}

fn draw(dxf: &mut Dxf, part: &Part, centre: [f64; 2]) {
    let closed = |dxf: &mut Dxf, outline: &Outline, layer: &str| {
        dxf.polyline(layer, &corners(outline, centre), true);
    };
    for hole in &part.holes {
        closed(dxf, hole, CUT);
    }
    closed(dxf, &part.outer, CUT);
    for engraving in &part.engravings {
        match engraving {
            Engraving::Text { at_m, height_m, content } => {
                let [x, y] = at_m.map(mm);
                dxf.text(ENGRAVE, [centre[0] + x, centre[1] + y], mm(*height_m), content);
            }
            Engraving::Dot { at_m, radius_m } => closed(dxf, &Outline::circle(*at_m, *radius_m), ENGRAVE),
            Engraving::ArcArrow { radius_m, angle_rad } => arrow(dxf, centre, mm(*radius_m), *angle_rad),
        }
    }
    let radius = mm(part.outer_radius_m);
    let across = |dxf: &mut Dxf, half: f64, up: f64| {
        dxf.polyline(
            DIMENSIONS,
            &[[centre[0] - half, centre[1] + up, 0.0], [centre[0] + half, centre[1] + up, 0.0]],
            false,
        );
    };
    across(dxf, radius, 0.0);
    dxf.text(
        DIMENSIONS,
        [centre[0], centre[1] + WORDS],
        WORDS,
        &format!("diameter {}", millimetres(2.0 * part.outer_radius_m)),
    );
}

/// Writes below a part what it is.
fn label(dxf: &mut Dxf, part: &Part, copy: u32, at: [f64; 2]) {
    let thickness = millimetres(part.thickness_m);
    let which = match part.per_former {
        1 => String::new(),
        all => format!(", {} of {all}", copy + 1),
    };
    dxf.text(DIMENSIONS, at, WORDS, &format!("{}{which}, {thickness} mm sheet", part.name));
}

fn corners(outline: &Outline, centre: [f64; 2]) -> Vec<Corner> {
    outline
        .0
        .iter()
        .map(|corner| [centre[0] + mm(corner.x_m), centre[1] + mm(corner.y_m), corner.bulge])
        .collect()
}

/// Draws an arc with two barbs at its end.
fn arrow(dxf: &mut Dxf, centre: [f64; 2], radius: f64, [from, to]: [f64; 2]) {
    let at = |radius: f64, angle: f64| {
        let [x, y] = polar(radius, angle);
        [centre[0] + x, centre[1] + y]
    };
    let corner = |[x, y]: [f64; 2], bulge: f64| [x, y, bulge];
    let bulge = ((to - from) / 4.0).tan();
    dxf.polyline(ENGRAVE, &[corner(at(radius, from), bulge), corner(at(radius, to), 0.0)], false);
    let (back, side) = (to - 0.25 * (to - from), 0.06 * radius * (to - from));
    let barbs = [at(radius + side, back), at(radius, to), at(radius - side, back)];
    dxf.polyline(ENGRAVE, &barbs.map(|place| corner(place, 0.0)), false);
}
