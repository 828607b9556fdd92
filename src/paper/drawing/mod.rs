//! Technical drawings as SVG in millimetres of paper: lines, hatching, dimensions, sheet and title block.
//!
//! One unit is one millimetre. The origin is the upper left corner, and y runs down. Lines have two widths, 0.5 mm and
//! 0.25 mm (ISO 128-2: ratio 2:1). Letters are 3.5 mm or 2.5 mm high (ISO 3098). Everything is black, so it prints
//! alike on any printer.

mod dimension;
mod hatch;
mod sheet;

pub(crate) use dimension::figure_below;
pub(crate) use sheet::{BLOCK, Sheet, TitleBlock, Views};

use super::colour::{BLACK, WHITE};
use super::element::{Element, Elements};
use super::mark::{Anchor, Weight};
use super::{font, wrap};
use std::fmt::Write;

/// A place on paper in mm: right, down.
pub(crate) type Point = [f64; 2];

/// Types of line, with their numbers in ISO 128-2.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Line {
    /// 01.2, continuous wide: visible edges and outlines.
    Visible,
    /// 01.1, continuous narrow: dimensions, projections, hatching.
    Narrow,
    /// 02.1, dashed narrow: hidden edges.
    Hidden,
    /// 04.1, long-dashed dotted narrow: centre lines.
    Centre,
}

impl Line {
    /// Line width in mm.
    const fn width(self) -> f64 {
        match self {
            Self::Visible => 0.5,
            Self::Narrow | Self::Hidden | Self::Centre => 0.25,
        }
    }

    /// Lengths of dashes and gaps in mm. `None` for a continuous line.
    const fn dashes(self) -> Option<&'static str> {
        match self {
            Self::Visible | Self::Narrow => None,
            Self::Hidden => Some("3 0.75"),
            Self::Centre => Some("6 0.75 0.25 0.75"),
        }
    }
}

/// Height of normal capital letters in mm.
pub(crate) const LETTERS: f64 = 3.5;
/// Height of small capital letters in mm.
pub(crate) const SMALL: f64 = 2.5;

/// A drawing in the making.
#[derive(Clone, Debug)]
pub(crate) struct Drawing {
    size: Point,
    title: String,
    body: Elements,
    /// The texts, which are drawn over all lines.
    texts: Elements,
    /// Left, top, right and bottom of each line of text.
    written: Vec<[f64; 4]>,
}

impl Drawing {
    /// An empty sheet. The title is for readers who cannot see the drawing.
    pub(crate) fn new(size: Point, title: impl Into<String>) -> Self {
        Self {
            size,
            title: title.into(),
            body: Elements::default(),
            texts: Elements::default(),
            written: Vec::new(),
        }
    }

    /// Draws a line through places.
    pub(crate) fn line(&mut self, points: &[Point], line: Line) {
        self.path(&path(points, false), line);
    }

    /// Draws a closed outline of straight lines.
    pub(crate) fn outline(&mut self, points: &[Point], line: Line) {
        self.path(&path(points, true), line);
    }

    /// Draws a rectangle given by its upper left corner and its size.
    pub(crate) fn rectangle(&mut self, [x, y]: Point, [width, height]: Point, line: Line) {
        self.outline(&[[x, y], [x + width, y], [x + width, y + height], [x, y + height]], line);
    }

    /// Draws a path given as SVG path data.
    pub(crate) fn path(&mut self, data: &str, line: Line) {
        let path = Element::path(data)
            .with("fill", "none")
            .with("stroke", BLACK)
            .with("stroke-width", line.width())
            .with_any("stroke-dasharray", line.dashes());
        self.body.add_line(&path.alone());
    }

    /// Draws a circle.
    pub(crate) fn circle(&mut self, [x, y]: Point, radius: f64, line: Line) {
        let r = number(radius);
        let data = format!(
            "M {} {} a {r} {r} 0 1 0 {} 0 a {r} {r} 0 1 0 {} 0 Z",
            number(x - radius),
            number(y),
            number(2.0 * radius),
            number(-2.0 * radius)
        );
        self.path(&data, line);
    }

    /// Fills an outline.
    pub(crate) fn filled(&mut self, points: &[Point]) {
        self.body.add_line(&Element::path(path(points, true)).with("fill", BLACK).alone());
    }

    /// Draws a filled dot.
    pub(crate) fn dot(&mut self, centre: Point, radius: f64) {
        let dot = Element::circle(centre.map(number), number(radius)).with("fill", BLACK);
        self.body.add_line(&dot.alone());
    }

    /// Draws a circle filled with the paper's colour.
    pub(crate) fn disc(&mut self, centre: Point, radius: f64) {
        let disc = Element::circle(centre.map(number), number(radius))
            .with("fill", WHITE)
            .with("stroke", BLACK)
            .with("stroke-width", Line::Narrow.width());
        self.body.add_line(&disc.alone());
    }

    /// Draws a cross of centre lines over a circle.
    pub(crate) fn centre_mark(&mut self, [x, y]: Point, reach: f64) {
        self.line(&[[x - reach, y], [x + reach, y]], Line::Centre);
        self.line(&[[x, y - reach], [x, y + reach]], Line::Centre);
    }

    /// Writes a line of text. `at` is on its baseline.
    pub(crate) fn text(&mut self, at: Point, size: f64, anchor: Anchor, content: &str) {
        self.set(at, size, anchor, Weight::Regular, 0.0, content);
    }

    /// Writes a line of bold text.
    pub(crate) fn bold(&mut self, at: Point, size: f64, anchor: Anchor, content: &str) {
        self.set(at, size, anchor, Weight::Bold, 0.0, content);
    }

    /// Writes a line of text that is read from the right.
    pub(crate) fn upright(&mut self, at: Point, size: f64, anchor: Anchor, content: &str) {
        self.set(at, size, anchor, Weight::Regular, -90.0, content);
    }

    fn set(&mut self, at: Point, size: f64, anchor: Anchor, weight: Weight, turn: f64, content: &str) {
        self.written.push(text_box(at, size, anchor, weight, turn, content));
        let [x, y] = at.map(number);
        let turn = (turn != 0.0).then(|| format!("rotate({turn} {x} {y})"));
        // `size` is the height of capitals; the font's size is larger.
        let text = Element::text([x, y], number(size / font::CAPITAL_HEIGHT))
            .anchored(anchor)
            .weighted(weight)
            .with_any("transform", turn);
        // The texts are written into a group that surrounds letters with paper, so that no line strikes them through.
        self.texts.add_line(&text.saying(content));
    }

    /// Whether a line of text has room here beside all texts written before.
    pub(crate) fn has_room(&self, at: Point, size: f64, anchor: Anchor, content: &str) -> bool {
        let own = text_box(at, size, anchor, Weight::Regular, 0.0, content);
        let meet = |other: &[f64; 4]| {
            own[0] < other[2] && other[0] < own[2] && own[1] < other[3] && other[1] < own[3]
        };
        !self.written.iter().any(meet)
    }

    /// Makes the sheet end at this y.
    pub(crate) fn crop(&mut self, height: f64) {
        self.size[1] = height;
    }

    /// Writes text broken into lines no wider than `width`. Returns the y below the last line.
    pub(crate) fn paragraph(&mut self, [x, y]: Point, width: f64, size: f64, content: &str) -> f64 {
        let mut foot = y;
        for line in wrapped(content, size, width) {
            self.text([x, foot], size, Anchor::Start, &line);
            foot += 1.65 * size;
        }
        foot
    }

    /// Draws a bar of a stated length to check the print with a ruler.
    pub(crate) fn check_bar(&mut self, [x, y]: Point, length: f64, stands_for: &str) {
        let data = format!(
            "M {0} {1} h {2} M {0} {3} v 6 M {4} {3} v 6",
            number(x),
            number(y),
            number(length),
            number(y - 3.0),
            number(x + length)
        );
        let bar = Element::new("path").with("id", "check-bar").with("d", data).with("fill", "none");
        self.body.add_line(&bar.with("stroke", BLACK).with("stroke-width", 0.35).alone());
        let text = format!("check bar: {} mm on paper{stands_for}", number(length));
        self.text([x + 0.5 * length, y + 5.0], SMALL, Anchor::Middle, &text);
    }

    /// The drawing as an SVG document.
    pub(crate) fn svg(&self) -> String {
        let [width, height] = self.size.map(number);
        let sheet = Element::new("rect").with("width", &width).with("height", &height).with("fill", WHITE);
        let texts = Element::new("g")
            .with("stroke", WHITE)
            .with("stroke-width", 0.9)
            .with("paint-order", "stroke")
            .around_lines(&self.texts);
        let mut body = self.body.clone();
        body.add_line(&texts);
        let drawn = Element::new("g").with("font-family", font::FAMILIES).with("stroke-linejoin", "round");
        let mut inner = Elements::default();
        inner.add_line(&Element::new("title").with("id", "title").saying(&self.title));
        inner.add_line(&sheet.alone());
        inner.add_line(&drawn.around_lines(&body));
        Element::picture_in_mm([width, height]).around_lines(&inner).into_text() + "\n"
    }
}

/// Left, top, right and bottom of a line of text, in mm; descenders are included.
pub(crate) fn text_box(
    [x, y]: Point,
    size: f64,
    anchor: Anchor,
    weight: Weight,
    turn: f64,
    content: &str,
) -> [f64; 4] {
    /// Depth of descenders, in heights of capitals.
    const BELOW: f64 = 0.25;
    let width = font::width(content, size / font::CAPITAL_HEIGHT, weight);
    let from = match anchor {
        Anchor::Start => 0.0,
        Anchor::Middle => -0.5 * width,
        Anchor::End => -width,
    };
    match turn == 0.0 {
        true => [x + from, y - size, x + from + width, y + BELOW * size],
        // Read from the right: along it y runs up.
        false => [x - size, y - from - width, x + BELOW * size, y - from],
    }
}

/// Width of a text in mm.
pub(crate) fn text_width(content: &str, size: f64) -> f64 {
    font::width(content, size / font::CAPITAL_HEIGHT, Weight::Regular)
}

/// Text broken between words into lines no wider than `width` mm. A longer word is cut.
pub(crate) fn wrapped(content: &str, size: f64, width: f64) -> Vec<String> {
    let lines = wrap::wrapped(content, |line| text_width(line, size) <= width);
    lines.iter().map(|line| shortened(line, size, width)).collect()
}

/// Text cut to a width in mm, with an ellipsis if something is missing.
pub(crate) fn shortened(content: &str, size: f64, width: f64) -> String {
    if text_width(content, size) <= width {
        return content.to_owned();
    }
    let mut cut = String::new();
    for character in content.chars() {
        let longer = format!("{cut}{character}…");
        if text_width(&longer, size) > width {
            break;
        }
        cut.push(character);
    }
    cut + "…"
}

/// Millimetres to three decimals, without trailing zeros.
pub(crate) fn number(millimetre: f64) -> String {
    let text = format!("{millimetre:.3}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".into() } else { text.into() }
}

fn path(points: &[Point], closed: bool) -> String {
    let mut data = String::new();
    for (index, [x, y]) in points.iter().enumerate() {
        let letter = if index == 0 { "M" } else { " L" };
        // Writing to a string cannot fail.
        let _: std::fmt::Result = write!(data, "{letter} {} {}", number(*x), number(*y));
    }
    if closed {
        data.push_str(" Z");
    }
    data
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn wide_lines_are_twice_as_wide_as_narrow_ones() {
        assert_eq!(Line::Visible.width(), 2.0 * Line::Narrow.width());
    }

    #[test]
    fn a_drawing_is_in_millimetres_and_its_text_is_inert() {
        let mut drawing = Drawing::new([210.0, 297.0], "A <b> & c");
        drawing.text([10.0, 20.0], LETTERS, Anchor::Start, "<script>");
        drawing.circle([50.0, 50.0], 12.5, Line::Visible);
        let svg = drawing.svg();
        assert!(svg.contains("width=\"210mm\" height=\"297mm\" viewBox=\"0 0 210 297\""));
        assert!(svg.contains("&lt;script&gt;") && !svg.contains("<script>") && svg.contains("A &lt;b&gt;"));
        assert!(svg.contains("M 37.5 50 a 12.5 12.5 0 1 0 25 0 a 12.5 12.5 0 1 0 -25 0 Z"));
    }

    #[test]
    fn texts_stand_over_lines_drawn_before_and_after_them_with_paper_round_their_letters() {
        let mut drawing = Drawing::new([100.0, 100.0], "");
        drawing.text([10.0, 20.0], LETTERS, Anchor::Start, "12");
        drawing.line(&[[0.0, 19.0], [50.0, 19.0]], Line::Visible);
        let svg = drawing.svg();
        let [rim, text, line] = ["paint-order=\"stroke\"", ">12</text>", "M 0 19 L 50 19"]
            .map(|part| svg.find(part).unwrap_or_else(|| panic!("{part}: {svg}")));
        assert!(line < rim && rim < text, "{svg}");
    }

    #[test]
    fn text_is_broken_to_its_column_and_cut_where_a_word_is_longer() {
        let lines = wrapped("one two three four five", SMALL, 18.0);
        assert!(lines.len() > 1 && lines.iter().all(|line| text_width(line, SMALL) <= 18.0), "{lines:?}");
        assert!(shortened("incomprehensibilities", SMALL, 10.0).ends_with('…'));
        assert_eq!(shortened("short", SMALL, 100.0), "short");
    }
}
