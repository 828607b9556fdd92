//! The font of the pictures: Inter, which is embedded in the program (`fonts`, SIL Open Font License 1.1).

use super::mark::{Anchor, Place, Text, Weight};
use ab_glyph::{Font, FontRef, OutlineCurve, Point};
use std::sync::LazyLock;

/// Font families that an SVG viewer tries in order. The later ones are about as wide as the first.
pub(crate) const FAMILIES: &str = "Inter, 'Helvetica Neue', Helvetica, Arial, 'Liberation Sans', sans-serif";

static REGULAR: LazyLock<FontRef<'static>> =
    LazyLock::new(|| embedded(include_bytes!("fonts/Inter-Regular-subset.otf")));
static BOLD: LazyLock<FontRef<'static>> =
    LazyLock::new(|| embedded(include_bytes!("fonts/Inter-SemiBold-subset.otf")));

fn embedded(bytes: &'static [u8]) -> FontRef<'static> {
    // The bytes are part of the program and not input; a test loads both fonts.
    FontRef::try_from_slice(bytes).expect("the embedded font is whole")
}

fn font(weight: Weight) -> &'static FontRef<'static> {
    match weight {
        Weight::Regular => &REGULAR,
        Weight::Bold => &BOLD,
    }
}

/// Points per font unit at a letter size in points.
fn scale(font: &FontRef<'_>, size: f64) -> f64 {
    size / f64::from(font.units_per_em().unwrap_or(1000.0))
}

/// Length of a text along its baseline, in the unit of `size`.
pub(crate) fn width(content: &str, size: f64, weight: Weight) -> f64 {
    let font = font(weight);
    let mut previous = None;
    let mut units = 0.0;
    for c in content.chars() {
        let glyph = font.glyph_id(c);
        units += previous.map_or(0.0, |before| f64::from(font.kern_unscaled(before, glyph)));
        units += f64::from(font.h_advance_unscaled(glyph));
        previous = Some(glyph);
    }
    units * scale(font, size)
}

/// Height of a capital letter above the baseline, as a fraction of the letter size.
pub const CAPITAL_HEIGHT: f64 = 0.727;

/// The outlines of a text at its place on the sheet, as closed rings.
pub(super) fn outlines(text: &Text) -> Vec<Vec<Place>> {
    let font = font(text.weight);
    let scale = scale(font, text.size);
    let (sin, cos) = text.turn_deg.to_radians().sin_cos();
    let shift = match text.anchor {
        Anchor::Start => 0.0,
        Anchor::Middle => -0.5 * text.width(),
        Anchor::End => -text.width(),
    };
    let mut rings: Vec<Vec<Place>> = Vec::new();
    let mut pen = 0.0;
    let mut previous = None;
    for c in text.content.chars() {
        let glyph = font.glyph_id(c);
        pen += previous.map_or(0.0, |before| f64::from(font.kern_unscaled(before, glyph)));
        let place = |p: Point| {
            let (along, up) = (shift + (pen + f64::from(p.x)) * scale, f64::from(p.y) * scale);
            [text.at[0] + along * cos + up * sin, text.at[1] + along * sin - up * cos]
        };
        let mut end: Option<Point> = None;
        for curve in font.outline(glyph).map(|outline| outline.curves).unwrap_or_default() {
            let (start, points) = flatten(&curve);
            if end != Some(start) {
                rings.push(vec![place(start)]);
            }
            end = points.last().copied();
            if let Some(ring) = rings.last_mut() {
                ring.extend(points.into_iter().map(place));
            }
        }
        pen += f64::from(font.h_advance_unscaled(glyph));
        previous = Some(glyph);
    }
    rings
}

/// The start of a curve, and points along it up to its end.
fn flatten(curve: &OutlineCurve) -> (Point, Vec<Point>) {
    const STEPS: usize = 8;
    let steps = || (1..=STEPS).map(|i| i as f32 / STEPS as f32);
    let mix = |t: f32, a: Point, b: Point| Point { x: a.x + t * (b.x - a.x), y: a.y + t * (b.y - a.y) };
    match *curve {
        OutlineCurve::Line(a, b) => (a, vec![b]),
        OutlineCurve::Quad(a, b, c) => {
            (a, steps().map(|t| if t == 1.0 { c } else { mix(t, mix(t, a, b), mix(t, b, c)) }).collect())
        }
        OutlineCurve::Cubic(a, b, c, d) => {
            let at = |t: f32| {
                let (ab, bc, cd) = (mix(t, a, b), mix(t, b, c), mix(t, c, d));
                mix(t, mix(t, ab, bc), mix(t, bc, cd))
            };
            (a, steps().map(|t| if t == 1.0 { d } else { at(t) }).collect())
        }
    }
}

impl Text {
    /// Length of the text along its baseline, in points.
    pub fn width(&self) -> f64 {
        width(&self.content, self.size, self.weight)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_weights_draw_every_sign_that_quantities_need() {
        for weight in [Weight::Regular, Weight::Bold] {
            for c in "AZaz09äéßłșΩµμαβγρφΔ−×·±≤≥≈√∞°²³⁻¹₀₁∂∑∫′″–…‰→←€Жя".chars()
            {
                let glyph = font(weight).glyph_id(c);
                assert_ne!(glyph.0, 0, "{c} is missing");
                assert!(font(weight).outline(glyph).is_some(), "{c} is blank");
            }
        }
    }

    #[test]
    fn a_text_is_as_wide_as_its_outlines_and_stands_on_its_baseline() {
        let text = Text::new("HIJKH", [10.0, 50.0], 20.0);
        let rings = outlines(&text);
        let (mut left, mut right, mut top, mut bottom) = (f64::MAX, f64::MIN, f64::MAX, f64::MIN);
        for [x, y] in rings.into_iter().flatten() {
            (left, right, top, bottom) = (left.min(x), right.max(x), top.min(y), bottom.max(y));
        }
        assert!((right - left - text.width()).abs() < 4.0, "side bearings only: {left} to {right}");
        assert!((bottom - 50.0).abs() < 0.5, "{bottom}");
        assert!((50.0 - top - CAPITAL_HEIGHT * 20.0).abs() < 0.5, "{top}");
    }

    #[test]
    fn an_anchor_moves_the_text_by_its_own_width() {
        let start = outlines(&Text::new("end", [0.0, 0.0], 12.0));
        let ending = Text::new("end", [0.0, 0.0], 12.0).ending();
        let moved = outlines(&ending);
        assert!((start[0][0][0] - moved[0][0][0] - ending.width()).abs() < 1e-9);
    }
}
