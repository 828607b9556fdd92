//! Writes a figure as an SVG document.
//!
//! plotters writes unbroken lines and areas, on a canvas of whole numbers. The canvas is so fine that the rounding is
//! invisible on a poster, and the viewBox scales it to points. Dashed lines and text are written here, because plotters
//! has one element for each dash, and turns text only by quarter turns. Text remains text that can be searched and read
//! aloud.

use super::colour::Colour;
use super::element::{Element, Elements};
use super::figure::Figure;
use super::mark::{Dash, Mark, Place, Stroke, Text};
use super::palette::PAPER;
use super::{font, stroke};
use plotters::backend::SVGBackend;
use plotters_backend::{BackendColor, BackendCoord, BackendStyle, DrawingBackend};

/// Canvas units per point.
const FINENESS: f64 = 100.0;

struct Style(Colour, u32);

impl BackendStyle for Style {
    fn color(&self) -> BackendColor {
        let [r, g, b] = self.0.rgb;
        BackendColor { alpha: self.0.alpha, rgb: (r, g, b) }
    }

    fn stroke_width(&self) -> u32 {
        self.1
    }
}

fn fine(length: f64) -> i32 {
    (length * FINENESS).round() as i32
}

fn coordinates(points: &[Place]) -> Vec<BackendCoord> {
    points.iter().map(|[x, y]| (fine(*x), fine(*y))).collect()
}

/// The figure as an SVG document.
pub(super) fn document(figure: &Figure) -> String {
    let (width, height) = (fine(figure.width), fine(figure.height));
    let mut inner = Elements::default();
    inner.add_line(&Element::new("title").with("id", "title").saying(&figure.title));
    inner.add_line(&Element::new("desc").with("id", "description").saying(&figure.description));
    for marks in figure.marks.chunk_by(|one, next| one.is_dashed() == next.is_dashed()) {
        if marks[0].is_dashed() {
            marks.iter().filter_map(dashed).for_each(|line| inner.add_line(&line));
        } else {
            inner.add(&unbroken(marks, [width as u32, height as u32]));
        }
    }
    let mut texts = Elements::default();
    figure.texts.iter().for_each(|text| texts.add_line(&set(text)));
    inner.add_line(&Element::new("g").with("font-family", font::FAMILIES).around_lines(&texts));
    let document = Element::document()
        .with("width", figure.width)
        .with("height", figure.height)
        .with("viewBox", format_args!("0 0 {width} {height}"))
        .with("role", "img")
        .with("aria-labelledby", "title description")
        .with("stroke-linejoin", "round")
        .with("stroke-linecap", "round");
    document.around_lines(&inner).into_text() + "\n"
}

impl Mark {
    fn is_dashed(&self) -> bool {
        matches!(self, Self::Line { stroke, .. } if stroke.dash != Dash::Solid)
    }
}

/// Width of a line, in units of the canvas.
fn width_of(stroke: &Stroke) -> u32 {
    fine(stroke.width).max(1) as u32
}

/// Lines without dashes, and areas.
fn unbroken(marks: &[Mark], size: [u32; 2]) -> Elements {
    let mut shapes = String::new();
    let mut backend = SVGBackend::with_string(&mut shapes, size.into());
    for mark in marks {
        let drawn = match mark {
            Mark::Line { points, stroke } => {
                backend.draw_path(coordinates(points), &Style(stroke.colour, width_of(stroke)))
            }
            Mark::Area { rings, colour } => {
                backend.fill_polygon(coordinates(&joined(rings)), &Style(*colour, 0))
            }
        };
        // Writing to a string cannot fail.
        drop(drawn);
    }
    drop(backend.present());
    drop(backend);
    // The opening tag of plotters has one unit per pixel and is left out, as is the end of its document.
    let body = shapes.split_once('\n').map_or("", |(_, rest)| rest);
    Elements::of_other_writer(body.rsplit_once("</svg>").map_or(body, |(before, _)| before))
}

/// A dashed line as one element. Its dashes are drawn one by one, because browsers take longer to find them
/// themselves, and they are the same as in the PNG. `None` for a mark that is not a dashed line.
fn dashed(mark: &Mark) -> Option<Elements> {
    let Mark::Line { points, stroke } = mark else { return None };
    let mut data = String::new();
    for piece in stroke::dashes(points, stroke) {
        let mut last = (0, 0);
        for (at, (x, y)) in coordinates(&piece).into_iter().enumerate() {
            // Steps from corner to corner are shorter to write than places.
            let step = if at == 0 { 'M' } else { 'l' };
            data += &format!("{step}{},{}", x - last.0, y - last.1);
            last = (x, y);
        }
    }
    let path = Element::path(data)
        .with("fill", "none")
        .with("stroke", stroke.colour)
        .with("stroke-width", width_of(stroke))
        .with_any("opacity", (stroke.colour.alpha < 1.0).then_some(stroke.colour.alpha));
    Some(path.alone())
}

/// Joins rings into one. Each is connected to the first by a line there and back, which encloses nothing.
fn joined(rings: &[Vec<Place>]) -> Vec<Place> {
    let mut path = Vec::new();
    for ring in rings {
        path.extend_from_slice(ring);
        if rings.len() > 1 {
            path.push(ring[0]);
            path.push(rings[0][0]);
        }
    }
    path
}

fn set(text: &Text) -> Elements {
    let (x, y) = (fine(text.at[0]), fine(text.at[1]));
    let turn = (text.turn_deg != 0.0).then(|| format!("rotate({:.2} {x} {y})", text.turn_deg));
    let mut element = Element::text([x, y], fine(text.size))
        .with("fill", text.colour)
        .anchored(text.anchor)
        .weighted(text.weight)
        .with_any("transform", turn);
    if text.rim {
        let width = fine(super::RIM * text.size);
        element = element.with("stroke", PAPER).with("stroke-width", width).with("paint-order", "stroke");
    }
    element.saying(&text.content)
}

impl Figure {
    /// The picture as an SVG document.
    pub fn svg(&self) -> String {
        document(self)
    }
}
