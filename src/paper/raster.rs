//! A figure as a PNG file.
//!
//! Shapes become exact coverage, pixel by pixel, which plotters' bitmap blends onto the sheet. plotters' own polygons
//! leave gaps where edges meet and its letters sit on whole pixels, so neither is used.

use super::colour::Colour;
use super::figure::Figure;
use super::mark::{Mark, Place};
use super::palette::PAPER;
use super::{font, stroke};
use crate::{Error, Result};
use ab_glyph_rasterizer::{Rasterizer, point};
use plotters::backend::BitMapBackend;
use plotters_backend::{BackendColor, DrawingBackend};

/// Pixels in a point.
const PIXELS_A_POINT: f64 = 2.0;
/// 96 points to the inch.
const PIXELS_A_METRE: f64 = PIXELS_A_POINT * 96.0 / 0.0254;
/// No picture of ours comes near this.
const MOST_PIXELS: f64 = 1e8;

/// The whole file.
pub(super) fn png(figure: &Figure) -> Result<Vec<u8>> {
    let (width, height) = (figure.width * PIXELS_A_POINT, figure.height * PIXELS_A_POINT);
    if width * height > MOST_PIXELS {
        return Err(Error::value(format!(
            "a picture of {width} × {height} pixels is too large: at most {MOST_PIXELS} in all"
        )));
    }
    let (width, height) = (width.round() as u32, height.round() as u32);
    let mut pixels = vec![0xff; 3 * width as usize * height as usize];
    {
        let mut canvas =
            Canvas { backend: BitMapBackend::with_buffer(&mut pixels, (width, height)), width, height };
        for mark in &figure.marks {
            match mark {
                Mark::Area { rings, colour } => canvas.fill(rings, *colour),
                Mark::Line { points, stroke } => {
                    for piece in stroke::dashes(points, stroke) {
                        canvas.fill(&stroke::rings(&piece, stroke.width), stroke.colour);
                    }
                }
            }
        }
        for text in &figure.texts {
            let outlines = font::outlines(text);
            if text.rim {
                for ring in &outlines {
                    let mut closed = ring.clone();
                    closed.push(ring[0]);
                    canvas.fill(&stroke::rings(&closed, super::RIM * text.size), PAPER);
                }
            }
            canvas.fill(&outlines, text.colour);
        }
    }
    encoded(&pixels, width, height)
        .map_err(|error| Error::value(format!("cannot encode the picture as PNG: {error}")))
}

struct Canvas<'a> {
    backend: BitMapBackend<'a>,
    width: u32,
    height: u32,
}

impl Canvas<'_> {
    /// Fills the area that the rings wind round.
    fn fill(&mut self, rings: &[Vec<Place>], colour: Colour) {
        let (width, height) = (f64::from(self.width), f64::from(self.height));
        // Work in pixels on the part of the sheet that the shape touches.
        let on_sheet =
            |[x, y]: Place| [(x * PIXELS_A_POINT).clamp(0.0, width), (y * PIXELS_A_POINT).clamp(0.0, height)];
        let (mut left, mut right, mut top, mut bottom) = (width, 0f64, height, 0f64);
        for [x, y] in rings.iter().flatten().map(|place| on_sheet(*place)) {
            (left, right, top, bottom) = (left.min(x), right.max(x), top.min(y), bottom.max(y));
        }
        let (left, top) = (left.floor(), top.floor());
        if right <= left || bottom <= top {
            return;
        }
        let (columns, rows) = ((right - left).ceil() as usize + 1, (bottom - top).ceil() as usize + 1);
        let mut rasterizer = Rasterizer::new(columns, rows);
        for ring in rings {
            let corner = |i: usize| {
                let [x, y] = on_sheet(ring[i % ring.len()]);
                point((x - left) as f32, (y - top) as f32)
            };
            (0..ring.len()).for_each(|i| rasterizer.draw_line(corner(i), corner(i + 1)));
        }
        let [r, g, b] = colour.rgb;
        rasterizer.for_each_pixel_2d(|x, y, coverage| {
            let alpha = f64::from(coverage.abs().min(1.0)) * colour.alpha;
            let (x, y) = (x + left as u32, y + top as u32);
            if alpha > 2e-3 && x < self.width && y < self.height {
                let colour = BackendColor { alpha, rgb: (r, g, b) };
                // The pixel lies on the sheet, and a bitmap in memory takes it.
                drop(self.backend.draw_pixel((x as i32, y as i32), colour));
            }
        });
    }
}

fn encoded(pixels: &[u8], width: u32, height: u32) -> std::result::Result<Vec<u8>, png::EncodingError> {
    let mut file = Vec::new();
    let mut encoder = png::Encoder::new(&mut file, width, height);
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
    writer.write_image_data(pixels)?;
    writer.finish()?;
    Ok(file)
}

impl Figure {
    /// The picture as a PNG file with two pixels a point.
    ///
    /// # Errors
    /// The picture is too large to hold as pixels.
    pub fn png(&self) -> Result<Vec<u8>> {
        png(self)
    }
}
