//! The key of a map's picture: explains its bands, lines and drawn parts.

use super::drawn::{BOUNDARY, Drawn, VEIL, band_colour, line_colour, percent};
use super::traced::strokes_below;
use crate::pair::Bench;
use crate::paper::palette::{ABOVE, BEAM, BELOW, INK, PAPER, WITHIN};
use crate::paper::{Colour, Figure, Place, Rect, Stroke, Text};
use crate::questions::map::words::limit;
use crate::questions::map::{Plane, Within};
use crate::questions::picture::parts_key::PartsKey;
use crate::units::{fixed, fixed_down, length, unit};

/// Draws the key beside the plot.
pub(super) fn key(figure: &mut Figure, rect: Rect, drawn: &Drawn, plane: Plane, bench: &Bench) {
    let bottom = match drawn {
        Drawn::Levels(levels) => levels_key(figure, rect, drawn, levels),
        Drawn::Within(within) => within_key(figure, rect, within),
    };
    parts_key(figure, [rect.left, bottom + 34.0], plane, bench, drawn.sample());
}

/// Explains the two shades, within and beyond the limit, and gives the share within. Returns the y of its lower edge.
fn within_key(figure: &mut Figure, rect: Rect, within: &Within) -> f64 {
    let (left, mut top) = (rect.left, rect.top);
    let limit = limit(within);
    for (shade, words) in [(WITHIN, format!("within {limit}")), (PAPER, format!("beyond {limit}"))] {
        let cell = Rect::new(left, top, 30.0, 18.0);
        figure.area(cell.corners(), shade);
        figure.outline(cell.corners(), BOUNDARY);
        figure.text(Text::new(words, [left + 38.0, top + 13.0], 11.0));
        top += 26.0;
    }
    let lines = match within.bulb_volume_share {
        Some(share) => [fixed_down(share, unit::PERCENT, 1), "of the bulb's volume is within".into()],
        None => [length(within.reach.sphere_radius_m, 1), "is the radius of a sphere within".into()],
    };
    for (i, line) in lines.into_iter().enumerate() {
        let text = Text::new(line, [left, top + 14.0], if i == 0 { 13.0 } else { 11.0 });
        figure.text(if i == 0 { text.bold() } else { text });
        top += 17.0;
    }
    top
}

/// Explains the bands and lines, below and above zero. Returns the y of its lower edge.
fn levels_key(figure: &mut Figure, rect: Rect, drawn: &Drawn, levels: &[f64]) -> f64 {
    const STEP: f64 = 19.0;
    const BOX: f64 = 40.0;
    let (left, mut top) = (rect.left, rect.top);
    figure.text(Text::new("Deviation", [left, top + 4.0], 13.0).bold());
    top += 22.0;
    figure.text(Text::new("below", [left + 0.5 * BOX, top], 11.0).centred().coloured(line_colour(-1.0)));
    figure.text(Text::new("above", [left + 1.5 * BOX, top], 11.0).centred().coloured(line_colour(1.0)));
    top += 8.0;
    let count = levels.len();
    for passed in (0..=count).rev() {
        let y = top + (count - passed) as f64 * STEP;
        for (dark, column) in [(BELOW, 0.0), (ABOVE, 1.0)] {
            let cell = Rect::new(left + column * BOX, y, BOX, STEP);
            figure.area(cell.corners(), band_colour(dark, passed, count));
        }
        if let Some(level) = passed.checked_sub(1).map(|i| levels[i]) {
            let line = y + STEP;
            for (sign, column) in [(-1.0, 0.0), (1.0, 1.0)] {
                let from = left + column * BOX;
                figure.line([[from, line], [from + BOX, line]], drawn.stroke(sign * level));
            }
            let text = percent(level).trim_start_matches('+').to_owned();
            figure.text(Text::new(text, [left + 2.0 * BOX + 8.0, line + 4.0], 11.0));
        }
    }
    let bottom = top + (count + 1) as f64 * STEP;
    strokes_below(figure, Rect::new(left, top, BOX, bottom - STEP - top), |_| true);
    figure.outline(Rect::new(left, top, 2.0 * BOX, bottom - top).corners(), Stroke::solid(INK, 0.8));
    bottom
}

/// Explains the drawn parts of the bench.
fn parts_key(figure: &mut Figure, left_top: Place, plane: Plane, bench: &Bench, sample: Colour) {
    let mut key = PartsKey::at(left_top);
    if plane == Plane::Axial {
        key.currents(figure);
    }
    if let Ok(bulb) = bench.bulb() {
        key.bulb(figure, &bulb);
        key.row(figure, "colours are paler outside it", |figure, at| paler(figure, at, sample));
    }
    if let Some([least, most]) = bench.tube_with_beam().ok().and_then(|tube| tube.beam_radius_m) {
        let [least, most] = [least, most].map(|radius| fixed(radius, unit::MILLIMETRE, 0));
        let least = least.trim_end_matches(" mm");
        key.line(figure, format!("beam, radii {least} and {most}"), Stroke::solid(BEAM, 2.0));
    }
}

/// Draws a colour beside the paler one used outside the bulb.
fn paler(figure: &mut Figure, [x, y]: Place, colour: Colour) {
    for (left, colour) in [(x - 13.0, colour), (x, colour.towards(PAPER, VEIL))] {
        figure.area(Rect::new(left, y - 6.0, 13.0, 12.0).corners(), colour);
    }
}
