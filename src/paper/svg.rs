//! Writes a figure as an SVG document.
//!
//! plotters writes the lines and areas on a canvas of whole numbers. The canvas is so fine that the rounding is
//! invisible on a poster, and the viewBox scales it to points. Text is written here, because plotters turns it only by
//! quarter turns. It remains text that can be searched and read aloud.

use super::colour::Colour;
use super::figure::Figure;
use super::mark::{Anchor, Mark, Place, Text, Weight};
use super::markup::escaped;
use super::palette::PAPER;
use super::{font, stroke};
use plotters::backend::SVGBackend;
use plotters_backend::{BackendColor, BackendCoord, BackendStyle, DrawingBackend};
use std::fmt::Write;

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
    let mut shapes = String::new();
    let mut backend = SVGBackend::with_string(&mut shapes, (width as u32, height as u32));
    for mark in &figure.marks {
        // Writing to a string cannot fail.
        drop(draw(&mut backend, mark));
    }
    drop(backend.present());
    drop(backend);
    // The opening tag of plotters has one unit per pixel and is replaced. The rest is kept.
    let body = shapes.split_once('\n').map_or("", |(_, rest)| rest);
    let body = body.rsplit_once("</svg>").map_or(body, |(before, _)| before);

    let mut document = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{}\" height=\"{}\" viewBox=\"0 0 {width} {height}\" \
         role=\"img\" aria-labelledby=\"title description\" stroke-linejoin=\"round\" stroke-linecap=\"round\">\n\
         <title id=\"title\">{}</title>\n<desc id=\"description\">{}</desc>\n{body}",
        figure.width,
        figure.height,
        escaped(&figure.title),
        escaped(&figure.description),
    );
    writeln!(document, "<g font-family=\"{}\">", font::FAMILIES).expect("a string takes any text");
    figure.texts.iter().for_each(|text| set(&mut document, text));
    document.push_str("</g>\n</svg>\n");
    document
}

fn draw(
    backend: &mut SVGBackend<'_>,
    mark: &Mark,
) -> Result<(), plotters_backend::DrawingErrorKind<std::io::Error>> {
    match mark {
        Mark::Line { points, stroke } => {
            for piece in stroke::dashes(points, stroke) {
                backend.draw_path(
                    coordinates(&piece),
                    &Style(stroke.colour, fine(stroke.width).max(1) as u32),
                )?;
            }
            Ok(())
        }
        Mark::Area { rings, colour } => backend.fill_polygon(coordinates(&joined(rings)), &Style(*colour, 0)),
    }
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

fn set(document: &mut String, text: &Text) {
    let anchor = match text.anchor {
        Anchor::Start => "",
        Anchor::Middle => " text-anchor=\"middle\"",
        Anchor::End => " text-anchor=\"end\"",
    };
    let weight = match text.weight {
        Weight::Regular => "",
        Weight::Bold => " font-weight=\"600\"",
    };
    let (x, y) = (fine(text.at[0]), fine(text.at[1]));
    let turn = if text.turn_deg == 0.0 {
        String::new()
    } else {
        format!(" transform=\"rotate({:.2} {x} {y})\"", text.turn_deg)
    };
    let rim = if text.rim {
        let width = fine(super::RIM * text.size);
        format!(" stroke=\"{}\" stroke-width=\"{width}\" paint-order=\"stroke\"", name(PAPER))
    } else {
        String::new()
    };
    writeln!(
        document,
        "<text x=\"{x}\" y=\"{y}\" font-size=\"{}\" fill=\"{}\"{anchor}{weight}{turn}{rim}>{}</text>",
        fine(text.size),
        name(text.colour),
        escaped(&text.content),
    )
    .expect("a string takes any text");
}

fn name(colour: Colour) -> String {
    let [r, g, b] = colour.rgb;
    format!("#{r:02x}{g:02x}{b:02x}")
}

impl Figure {
    /// The picture as an SVG document.
    pub fn svg(&self) -> String {
        document(self)
    }
}
