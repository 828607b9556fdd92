//! Where the flat parts lie on the cutting drawing: in rows, those of one sheet together.
//!
//! The rows are as long as makes the whole fit the smallest bed of 3 to 2, the usual proportion of a laser cutter's bed
//! (common practice, no source).

use crate::questions::build::Part;
use crate::questions::build::order::PART_GAP_M;
use crate::units::unit;

/// Width over height of the bed.
const BED: f64 = 1.5;
/// Height of the words below a part, and distance of its next part below them, mm.
pub(super) const WORDS: f64 = 4.0;
pub(super) const LINE: f64 = 7.0;
/// Width of a letter over its height, at most: fonts of cutters' programs differ (common practice, no source).
const LETTER: f64 = 0.9;

/// A part in its place.
pub(super) struct Placed<'a> {
    pub(super) part: &'a Part,
    /// Middle of the part, mm.
    pub(super) centre: [f64; 2],
    /// Width and height of the part, mm.
    pub(super) size: [f64; 2],
    /// What is written below it.
    pub(super) label: String,
}

/// All parts with the width and height that they take, words included, mm.
pub(super) struct Arrangement<'a> {
    pub(super) parts: Vec<Placed<'a>>,
    pub(super) size: [f64; 2],
}

/// Gap between parts, mm.
pub(super) fn gap() -> f64 {
    unit::MILLIMETRE.from_si(PART_GAP_M)
}

/// The parts of one former in rows.
pub(super) fn arranged<'a>(parts: &'a [Part], label: impl Fn(&Part, u32) -> String) -> Arrangement<'a> {
    let all: Vec<Placed<'a>> = parts
        .iter()
        .flat_map(|part| (0..part.per_former).map(move |copy| (part, copy)))
        .map(|(part, copy)| Placed {
            part,
            centre: [0.0; 2],
            size: part.size_m().map(|metre| unit::MILLIMETRE.from_si(metre)),
            label: label(part, copy),
        })
        .collect();
    // A row ends where any number of the parts ends.
    let mut ends = vec![0.0];
    for placed in &all {
        ends.push(ends[ends.len() - 1] + cell(placed));
    }
    let lengths = ends.iter().enumerate().flat_map(|(i, from)| ends[i + 1..].iter().map(move |to| to - from));
    let widest = all.iter().map(cell).fold(0.0, f64::max);
    let bed = |[width, height]: [f64; 2]| (width / BED).max(height);
    let best = lengths
        .filter(|length| *length >= widest - 1e-9)
        .min_by(|one, other| bed(in_rows(&all, *one).1).total_cmp(&bed(in_rows(&all, *other).1)));
    let (centres, size) = in_rows(&all, best.unwrap_or(widest));
    let parts = all.into_iter().zip(centres).map(|(placed, centre)| Placed { centre, ..placed });
    Arrangement { parts: parts.collect(), size }
}

/// Width that a part and its words take in a row, with the gap to the next, mm.
fn cell(placed: &Placed<'_>) -> f64 {
    let words = LETTER * WORDS * placed.label.chars().count() as f64;
    placed.size[0].max(words) + gap()
}

/// Middles of the parts in rows of at most this length, and the size of the whole. A sheet of another kind begins a row.
fn in_rows(all: &[Placed<'_>], length: f64) -> (Vec<[f64; 2]>, [f64; 2]) {
    let sheet = |placed: &Placed<'_>| (placed.part.thickness_m, placed.part.insulates);
    let (mut centres, mut row) = (Vec::new(), Vec::new());
    let (mut left, mut foot, mut width): (f64, f64, f64) = (0.0, 0.0, 0.0);
    let mut end = |row: &mut Vec<(f64, f64)>, foot: &mut f64| {
        let highest = row.iter().map(|(_, height)| *height).fold(0.0, f64::max);
        let middle = *foot + LINE + 0.5 * highest;
        centres.extend(row.drain(..).map(|(x, _)| [x, middle]));
        *foot += highest + LINE + gap();
    };
    for (index, placed) in all.iter().enumerate() {
        let is_other = index > 0 && sheet(&all[index - 1]) != sheet(placed);
        if index > 0 && (is_other || left + cell(placed) > length + 1e-6) {
            end(&mut row, &mut foot);
            left = 0.0;
        }
        row.push((left + 0.5 * (cell(placed) - gap()), placed.size[1]));
        left += cell(placed);
        width = width.max(left - gap());
    }
    end(&mut row, &mut foot);
    (centres, [width, foot - gap()])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pair::{Bench, Former, Winding, Wire};
    use crate::questions::build::former::former_plan;
    use crate::questions::build::request::Request;

    fn parts(radius_m: f64, width_m: f64, material: &str) -> Vec<Part> {
        let winding = Winding::new(radius_m, width_m, 0.08 * radius_m, 40.0, Wire::copper(0.9e-3, 0.989e-3));
        let mut bench = Bench::unchecked("Pair", winding, 2.0 * radius_m + width_m);
        bench.former = Some(Former {
            material: Some(material.into()),
            wall_m: None,
            cheeks: crate::pair::Cheeks::Both,
            expansion_per_kelvin: None,
        });
        former_plan(&bench, &Request::default()).unwrap().parts
    }

    #[test]
    fn parts_and_words_lie_apart_in_rows_of_one_sheet_and_fill_a_bed_of_3_to_2() {
        for (radius, width) in [(0.012, 0.004), (0.05, 0.04), (0.16, 0.015), (0.16, 0.12), (1.0, 0.1)] {
            for material in ["plywood", "aluminium"] {
                let parts = parts(radius, width, material);
                let found = arranged(&parts, |part, _| format!("{}, 1 of 4, 3.5 mm sheet", part.name));
                let of = |placed: &Placed<'_>| {
                    let half_words = 0.5 * (cell(placed) - gap());
                    let [x, y] = placed.centre;
                    let [_, height] = placed.size;
                    // The part with its words below it.
                    [x - half_words, y - 0.5 * height - LINE, x + half_words, y + 0.5 * height]
                };
                for (i, one) in found.parts.iter().enumerate() {
                    let [left, foot, right, top] = of(one);
                    assert!(left >= -1e-9 && foot >= -1e-9);
                    assert!(right <= found.size[0] + 1e-9 && top <= found.size[1] + 1e-9);
                    for other in &found.parts[i + 1..] {
                        let [other_left, other_foot, other_right, other_top] = of(other);
                        let across = (other_left - right).max(left - other_right);
                        let up = (other_foot - top).max(foot - other_top);
                        assert!(across.max(up) >= gap() - 1e-9, "{radius} {width} {material}");
                        // Parts of two sheets share no row.
                        let same = one.part.thickness_m == other.part.thickness_m
                            && one.part.insulates == other.part.insulates;
                        assert!(same || up >= gap() - 1e-9);
                    }
                }
                // No long row: the bed is at most twice as large as the parts with their gaps.
                let area: f64 = found.parts.iter().map(|it| cell(it) * (it.size[1] + LINE + gap())).sum();
                let [w, h] = found.size;
                let bed = BED * (w / BED).max(h).powi(2);
                assert!(bed < 2.6 * area, "{radius} {width} {material}: {w} × {h} for {area}");
            }
        }
    }
}
