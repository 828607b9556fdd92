//! Writes a figure as a PNG file.
//!
//! tiny-skia fills and strokes, without its vector instructions: plain arithmetic gives the same bytes on every
//! machine. plotters is not used for PNG, because its polygons leave gaps where edges meet and its letters are placed
//! on whole pixels.

use super::colour::Colour;
use super::figure::Figure;
use super::mark::{Mark, Place, Stroke};
use super::palette::PAPER;
use super::{font, stroke};
use crate::error::Refused;
use crate::{Error, Result};
use tiny_skia::{Color, FillRule, LineCap, LineJoin, Paint, PathBuilder, Pixmap, Transform};

/// Pixels per point.
const PIXELS_A_POINT: f64 = 2.0;
/// Pixels per metre, for 96 points to the inch.
const PIXELS_A_METRE: f64 = PIXELS_A_POINT * 96.0 / 0.0254;
/// Largest number of pixels in a picture; real pictures are far smaller.
const MOST_PIXELS: f64 = 1e8;

/// The figure as a PNG file.
pub(super) fn png(figure: &Figure) -> Result<Vec<u8>> {
    let (width, height) = (figure.width * PIXELS_A_POINT, figure.height * PIXELS_A_POINT);
    let too_large = || Error::from(Refused::PictureTooLarge { width, height, most: MOST_PIXELS });
    if width * height > MOST_PIXELS {
        return Err(too_large());
    }
    let mut pixels = Pixmap::new(width.round() as u32, height.round() as u32).ok_or_else(too_large)?;
    pixels.fill(Color::WHITE);
    for mark in &figure.marks {
        match mark {
            Mark::Area { rings, colour } => fill(&mut pixels, rings, *colour),
            Mark::Line { points, stroke } => draw(&mut pixels, points, false, stroke),
        }
    }
    for text in &figure.texts {
        let outlines = font::outlines(text);
        if text.rim {
            let rim = Stroke::solid(PAPER, super::RIM * text.size);
            outlines.iter().for_each(|ring| draw(&mut pixels, ring, true, &rim));
        }
        fill(&mut pixels, &outlines, text.colour);
    }
    encoded(&pixels).map_err(|error| Error::value(format!("cannot encode the picture as PNG: {error}")))
}

/// Fills the area enclosed by the rings, by the winding-number rule.
fn fill(pixels: &mut Pixmap, rings: &[Vec<Place>], colour: Colour) {
    let mut path = PathBuilder::new();
    rings.iter().for_each(|ring| stroke::add(&mut path, ring, true));
    if let Some(path) = path.finish() {
        pixels.fill_path(&path, &paint(colour), FillRule::Winding, in_pixels(), None);
    }
}

/// Draws a line with round ends and joins.
fn draw(pixels: &mut Pixmap, points: &[Place], closed: bool, stroke: &Stroke) {
    let pen = tiny_skia::Stroke {
        width: stroke.width as f32,
        line_cap: LineCap::Round,
        line_join: LineJoin::Round,
        dash: stroke::pattern(stroke),
        ..tiny_skia::Stroke::default()
    };
    if let Some(path) = stroke::path(points, closed) {
        pixels.stroke_path(&path, &paint(stroke.colour), &pen, in_pixels(), None);
    }
}

fn paint(colour: Colour) -> Paint<'static> {
    let [red, green, blue] = colour.rgb;
    let mut paint = Paint::default();
    paint.set_color_rgba8(red, green, blue, (255.0 * colour.alpha).round() as u8);
    paint
}

fn in_pixels() -> Transform {
    Transform::from_scale(PIXELS_A_POINT as f32, PIXELS_A_POINT as f32)
}

fn encoded(pixels: &Pixmap) -> std::result::Result<Vec<u8>, png::EncodingError> {
    let mut file = Vec::new();
    let mut encoder = png::Encoder::new(&mut file, pixels.width(), pixels.height());
    encoder.set_color(png::ColorType::Rgb);
    encoder.set_depth(png::BitDepth::Eight);
    encoder.set_adaptive_filter(png::AdaptiveFilterType::Adaptive);
    let density = PIXELS_A_METRE.round() as u32;
    encoder.set_pixel_dims(Some(png::PixelDimensions {
        xppu: density,
        yppu: density,
        unit: png::Unit::Meter,
    }));
    let mut writer = encoder.write_header()?;
    // The sheet is opaque, so its premultiplied colours are its colours.
    let rgb: Vec<u8> =
        pixels.data().chunks_exact(4).flat_map(|pixel| [pixel[0], pixel[1], pixel[2]]).collect();
    writer.write_image_data(&rgb)?;
    writer.finish()?;
    Ok(file)
}

impl Figure {
    /// The picture as a PNG file with two pixels per point.
    ///
    /// # Errors
    /// If the picture has more than 1e8 pixels, or cannot be encoded.
    pub fn png(&self) -> Result<Vec<u8>> {
        png(self)
    }
}
