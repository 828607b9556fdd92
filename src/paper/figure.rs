//! A picture: marks on a sheet in drawing order, written as SVG or PNG.
//!
//! Lengths are in points, 96 to the inch. The origin is the upper left corner, and y runs down. Text is always on top
//! of lines and areas. A picture does not depend on the clock, on system fonts or on the number of threads.

use super::colour::Colour;
use super::mark::{Mark, Place, Rect, Stroke, Text, circle};
use super::palette::{PAPER, QUIET};
#[cfg(test)]
use super::{clip::clipped, font::CAPITAL_HEIGHT, mark::Anchor, palette::GRID};

/// A picture.
#[derive(Clone, Debug)]
pub struct Figure {
    pub(super) width: f64,
    pub(super) height: f64,
    pub(super) title: String,
    pub(super) description: String,
    pub(super) marks: Vec<Mark>,
    pub(super) texts: Vec<Text>,
}

impl Figure {
    /// An empty sheet. The title and the description are for readers who cannot see the picture.
    pub fn new(width: f64, height: f64, title: impl Into<String>, description: impl Into<String>) -> Self {
        let sheet = Rect::new(0.0, 0.0, width, height);
        let mut figure = Self {
            width,
            height,
            title: title.into(),
            description: description.into(),
            marks: Vec::new(),
            texts: Vec::new(),
        };
        figure.area(sheet.corners(), PAPER);
        figure
    }

    /// The whole sheet.
    pub fn sheet(&self) -> Rect {
        Rect::new(0.0, 0.0, self.width, self.height)
    }

    /// Draws a line through places. Fewer than two places draw nothing, and a place that is not finite leaves a gap.
    pub fn line(&mut self, points: impl IntoIterator<Item = Place>, stroke: Stroke) {
        let mut run: Vec<Place> = Vec::new();
        let mut runs = Vec::new();
        for point in points {
            if point.iter().all(|c| c.is_finite()) {
                run.push(point);
            } else {
                runs.push(std::mem::take(&mut run));
            }
        }
        runs.push(run);
        for points in runs.into_iter().filter(|run| run.len() > 1) {
            self.marks.push(Mark::Line { points, stroke });
        }
    }

    /// Writes the origin of the numbers as a small grey line at the foot of the sheet. A long line is set in smaller
    /// letters.
    pub(crate) fn footer(&mut self, footer: &str) {
        const SIZE: f64 = 12.0;
        let at = [28.0, self.height - 12.0];
        let text = Text::new(footer, at, SIZE).coloured(QUIET);
        let size = SIZE * ((self.width - 2.0 * at[0]) / text.width()).min(1.0);
        self.text(Text { size, ..text });
    }

    /// Draws a line that returns to its start.
    pub(crate) fn outline(&mut self, mut points: Vec<Place>, stroke: Stroke) {
        points.extend(points.first().copied());
        self.line(points, stroke);
    }

    /// Fills the area within a ring.
    pub fn area(&mut self, ring: Vec<Place>, colour: Colour) {
        self.area_of_rings(vec![ring], colour);
    }

    /// Fills an area bounded by rings. Rings in one direction are outer boundaries, rings in the opposite direction are
    /// holes.
    pub(crate) fn area_of_rings(&mut self, rings: Vec<Vec<Place>>, colour: Colour) {
        let rings: Vec<_> = rings
            .into_iter()
            .filter(|ring| ring.len() > 2 && ring.iter().flatten().all(|c| c.is_finite()))
            .collect();
        if !rings.is_empty() {
            self.marks.push(Mark::Area { rings, colour });
        }
    }

    /// Draws the outline of a circle.
    pub fn circle(&mut self, centre: Place, radius: f64, stroke: Stroke) {
        self.outline(circle(centre, radius), stroke);
    }

    /// Fills a circle.
    pub(crate) fn disc(&mut self, centre: Place, radius: f64, colour: Colour) {
        self.area(circle(centre, radius), colour);
    }

    /// Adds a line of text. An empty text, or a place that is not finite, is ignored.
    pub fn text(&mut self, text: Text) {
        if !text.content.is_empty() && text.at.iter().all(|c| c.is_finite()) {
            self.texts.push(text);
        }
    }
}

#[cfg(test)]
impl Figure {
    /// The texts that a line runs through, or that overlap another text if both are horizontal. A text counts as the
    /// box of its letters, from baseline to capital height. Grid lines and half-transparent lines do not count.
    pub(crate) fn struck_texts(&self) -> Vec<String> {
        let lines: Vec<&Vec<Place>> = (self.marks.iter())
            .filter_map(|mark| match mark {
                Mark::Line { points, stroke } if stroke.colour != GRID && stroke.colour.alpha == 1.0 => {
                    Some(points)
                }
                _ => None,
            })
            .collect();
        let is_struck = |text: &&Text| {
            let (sin, cos) = text.turn_deg.to_radians().sin_cos();
            let turned_back = |[x, y]: &Place| {
                let (x, y) = (x - text.at[0], y - text.at[1]);
                [x * cos + y * sin, y * cos - x * sin]
            };
            let letters = letters_moved(text, [0.0, 0.0]);
            let by_line = |points: &&Vec<Place>| {
                let points: Vec<Place> = points.iter().map(turned_back).collect();
                !clipped(&points, letters).is_empty()
            };
            let by_text = |other: &Text| {
                let level = text.turn_deg == 0.0 && other.turn_deg == 0.0;
                let moved = [other.at[0] - text.at[0], other.at[1] - text.at[1]];
                level && other != *text && letters.overlaps(&letters_moved(other, moved))
            };
            lines.iter().any(by_line) || self.texts.iter().any(by_text)
        };
        self.texts.iter().filter(is_struck).map(|text| text.content.clone()).collect()
    }
}

/// The box of a text's letters if it were not turned and stood at this place.
#[cfg(test)]
fn letters_moved(text: &Text, [x, y]: Place) -> Rect {
    let left = match text.anchor {
        Anchor::Start => 0.0,
        Anchor::Middle => -0.5 * text.width(),
        Anchor::End => -text.width(),
    };
    let height = CAPITAL_HEIGHT * text.size;
    Rect::new(x + left, y - height, text.width(), height)
}
