//! The elements of a picture: places, rectangles, lines and texts. Lengths are in points.

use super::colour::{Colour, INK};

/// A place on the sheet: right, down.
pub type Place = [f64; 2];

/// A rectangle on the sheet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rect {
    /// Left edge.
    pub left: f64,
    /// Upper edge.
    pub top: f64,
    /// Width.
    pub width: f64,
    /// Height.
    pub height: f64,
}

impl Rect {
    /// A rectangle by its left and upper edge and its size.
    pub const fn new(left: f64, top: f64, width: f64, height: f64) -> Self {
        Self { left, top, width, height }
    }

    /// Right edge.
    pub fn right(&self) -> f64 {
        self.left + self.width
    }

    /// Lower edge.
    pub fn bottom(&self) -> f64 {
        self.top + self.height
    }

    /// The four corners, in order around the rectangle.
    pub(crate) fn corners(&self) -> Vec<Place> {
        vec![
            [self.left, self.top],
            [self.right(), self.top],
            [self.right(), self.bottom()],
            [self.left, self.bottom()],
        ]
    }

    /// The same rectangle, smaller by a margin on each side.
    pub(crate) fn inset(&self, margin: f64) -> Self {
        Self::new(
            self.left + margin,
            self.top + margin,
            (self.width - 2.0 * margin).max(0.0),
            (self.height - 2.0 * margin).max(0.0),
        )
    }

    /// Whether the interiors of two rectangles overlap.
    pub(super) fn overlaps(&self, other: &Self) -> bool {
        self.left < other.right()
            && other.left < self.right()
            && self.top < other.bottom()
            && other.top < self.bottom()
    }

    /// Whether a place lies inside or on the edge.
    pub fn holds(&self, [x, y]: Place) -> bool {
        (self.left..=self.right()).contains(&x) && (self.top..=self.bottom()).contains(&y)
    }
}

/// The dash pattern of a line.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Dash {
    /// Unbroken line.
    Solid,
    /// Dashes.
    Dashed,
    /// Long dashes.
    LongDash,
    /// Dots.
    Dotted,
    /// Dashes and dots in alternation.
    DashDot,
}

impl Dash {
    /// Lengths drawn and left out in turn, in line widths.
    pub(super) const fn pattern(self) -> &'static [f64] {
        match self {
            Self::Solid => &[],
            Self::Dashed => &[4.0, 3.2],
            Self::LongDash => &[9.0, 3.5],
            Self::Dotted => &[0.4, 2.6],
            Self::DashDot => &[6.0, 2.8, 0.4, 2.8],
        }
    }
}

/// How a line is drawn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stroke {
    /// Colour of the line.
    pub colour: Colour,
    /// Width of the line.
    pub width: f64,
    /// Dash pattern of the line.
    pub dash: Dash,
}

impl Stroke {
    /// An unbroken line.
    pub(crate) const fn solid(colour: Colour, width: f64) -> Self {
        Self { colour, width, dash: Dash::Solid }
    }

    /// A dashed line.
    pub(crate) const fn dashed(colour: Colour, width: f64) -> Self {
        Self { colour, width, dash: Dash::Dashed }
    }
}

/// Which point of a text lies at its place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Anchor {
    /// The start of the text.
    Start,
    /// The middle of the text.
    Middle,
    /// The end of the text.
    End,
}

impl Anchor {
    /// The name in SVG.
    pub(crate) const fn name(self) -> &'static str {
        match self {
            Self::Start => "start",
            Self::Middle => "middle",
            Self::End => "end",
        }
    }

    /// The name in CSS and on a canvas.
    pub(super) const fn in_css(self) -> &'static str {
        match self {
            Self::Middle => "center",
            Self::Start | Self::End => self.name(),
        }
    }
}

/// A line of text. Its place is on the baseline.
#[derive(Clone, Debug, PartialEq)]
pub struct Text {
    /// Words of the text.
    pub content: String,
    /// Place of the anchor.
    pub at: Place,
    /// Letter size.
    pub size: f64,
    /// Regular or bold.
    pub weight: Weight,
    /// Which point of the text lies at `at`.
    pub anchor: Anchor,
    /// Angle in degrees, clockwise as seen.
    pub turn_deg: f64,
    /// Colour of the letters.
    pub colour: Colour,
    /// Whether a rim in the paper's colour separates the letters from what lies beneath.
    pub rim: bool,
}

impl Text {
    /// Dark regular text that starts at a place.
    pub fn new(content: impl Into<String>, at: Place, size: f64) -> Self {
        Self {
            content: content.into(),
            at,
            size,
            weight: Weight::Regular,
            anchor: Anchor::Start,
            turn_deg: 0.0,
            colour: INK,
            rim: false,
        }
    }

    /// The text, bold.
    pub(crate) fn bold(mut self) -> Self {
        self.weight = Weight::Bold;
        self
    }

    /// The text, centred on its place.
    pub(crate) fn centred(mut self) -> Self {
        self.anchor = Anchor::Middle;
        self
    }

    /// The text, ending at its place.
    pub fn ending(mut self) -> Self {
        self.anchor = Anchor::End;
        self
    }

    /// The text, in a colour.
    pub(crate) fn coloured(mut self, colour: Colour) -> Self {
        self.colour = colour;
        self
    }

    /// The text, turned clockwise about its place.
    pub fn turned(mut self, degrees: f64) -> Self {
        self.turn_deg = degrees;
        self
    }

    /// The text, with a rim of paper round it.
    pub(crate) fn rimmed(mut self) -> Self {
        self.rim = true;
        self
    }
}

/// One mark on the sheet.
#[derive(Clone, Debug)]
pub(super) enum Mark {
    Line { points: Vec<Place>, stroke: Stroke },
    Area { rings: Vec<Vec<Place>>, colour: Colour },
}

/// A circle as a ring, with enough points to look round at poster size.
pub fn circle([x, y]: Place, radius: f64) -> Vec<Place> {
    let steps = (24.0 + 6.0 * radius.abs().max(1.0).sqrt()).min(400.0) as usize;
    (0..steps)
        .map(|i| {
            let (sin, cos) = (std::f64::consts::TAU * i as f64 / steps as f64).sin_cos();
            [x + radius * cos, y + radius * sin]
        })
        .collect()
}

/// Regular or bold.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Weight {
    /// Regular.
    Regular,
    /// Bold, for headings.
    Bold,
}
