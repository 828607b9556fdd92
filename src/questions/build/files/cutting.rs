//! The flat parts of one former in rows, as a DXF drawing for a laser cutter.
//!
//! Outlines have the true size of the parts: the cutter's program must compensate for the kerf. Every outline to cut is
//! a closed polyline. A circle is drawn as four arcs, because not every cutter accepts a polyline with two corners.

use super::arrangement::{LINE, WORDS, arranged, gap};
use crate::paper::dxf::{Corner, Dxf, Layer};
use crate::questions::build::outline::polar;
use crate::questions::build::words::phrases::millimetres;
use crate::questions::build::{BuildPapers, Engraving, Outline, Part};
use crate::units::unit;

const CUT: &str = "cut";
const ENGRAVE: &str = "engrave";
const DIMENSIONS: &str = "dimensions";

/// The drawing as DXF.
pub(super) fn dxf(record: &BuildPapers) -> String {
    let mut dxf = Dxf::new(&[
        Layer { name: CUT, colour: 1 },
        Layer { name: ENGRAVE, colour: 5 },
        Layer { name: DIMENSIONS, colour: 3 },
    ]);
    let found = arranged(&record.former.parts, label);
    for placed in &found.parts {
        let [x, y] = placed.centre;
        draw(&mut dxf, placed.part, placed.size, placed.centre);
        dxf.text(DIMENSIONS, [x, y - 0.5 * placed.size[1] - LINE], WORDS, &placed.label);
    }
    let [width, height] = found.size;
    for (row, words) in heading(record, found.size).iter().enumerate() {
        dxf.text(DIMENSIONS, [0.5 * width, height + LINE * (1.0 + row as f64)], WORDS, words);
    }
    dxf.document()
}

fn mm(metre: f64) -> f64 {
    unit::MILLIMETRE.from_si(metre)
}

/// The lines above the parts that say what the drawing is, from the lowest line up.
fn heading(record: &BuildPapers, [width, height]: [f64; 2]) -> [String; 3] {
    [
        format!(
            "{:.0} mm wide, {:.0} mm high, parts {} mm apart; a sheet of another thickness or material begins a row.",
            width.ceil(),
            height.ceil(),
            gap()
        ),
        "mm; parts of one former: cut twice for the pair. Outlines are true, the kerf is not taken off."
            .into(),
        record.provenance.to_string(),
    ]
}

fn draw(dxf: &mut Dxf, part: &Part, [width, height]: [f64; 2], centre: [f64; 2]) {
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
    let across = [-0.5, 0.5].map(|side| [centre[0] + side * width, centre[1], 0.0]);
    dxf.polyline(DIMENSIONS, &across, false);
    let size = match part.outer_radius_m {
        Some(radius_m) => format!("diameter {}", millimetres(2.0 * radius_m)),
        None => format!("{width:.1} x {height:.1}"),
    };
    dxf.text(DIMENSIONS, [centre[0], centre[1] + WORDS], WORDS, &size);
}

/// What stands below a part.
fn label(part: &Part, copy: u32) -> String {
    let thickness = millimetres(part.thickness_m);
    let which = match part.per_former {
        1 => String::new(),
        all => format!(", {} of {all}", copy + 1),
    };
    let insulating = if part.insulates { "insulating " } else { "" };
    format!("{}{which}, {thickness} mm {insulating}sheet", part.name)
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
