//! A figure as a PNG file.
//!
//! Shapes become exact coverage, pixel by pixel ([`coverage`](super::coverage)), which is laid over the sheet. plotters'
//! own polygons leave gaps where edges meet and its letters sit on whole pixels, so neither is used.

use super::colour::Colour;
use super::coverage::{Coverage, Size};
use super::figure::Figure;
use super::mark::{Mark, Place};
use super::palette::PAPER;
use super::{font, stroke};
use crate::error::Refused;
use crate::{Error, Result};

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
        return Err(Refused::PictureTooLarge { width, height, most: MOST_PIXELS }.into());
    }
    let (width, height) = (width.round() as u32, height.round() as u32);
    let size = Size { columns: width as usize, rows: height as usize };
    let mut canvas = Canvas { pixels: vec![0xff; 3 * size.columns * size.rows], size };
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
    encoded(&canvas.pixels, width, height)
        .map_err(|error| Error::value(format!("cannot encode the picture as PNG: {error}")))
}

/// Red, green and blue of each pixel, row by row.
struct Canvas {
    pixels: Vec<u8>,
    size: Size,
}

/// Below this part of a colour nothing shows.
const LEAST_ALPHA: f64 = 2e-3;
/// Steps in which a colour is laid over another.
const ALPHA_STEPS: f64 = 256.0;

impl Canvas {
    /// Fills the area that the rings wind round.
    fn fill(&mut self, rings: &[Vec<Place>], colour: Colour) {
        let in_pixels =
            |ring: &Vec<Place>| ring.iter().map(|place| place.map(|c| c * PIXELS_A_POINT)).collect();
        let rings: Vec<Vec<Place>> = rings.iter().map(in_pixels).collect();
        let (pixels, columns) = (&mut self.pixels, self.size.columns);
        Coverage::of(&rings, self.size).for_each_run(|row, run, coverage| {
            let alpha = coverage * colour.alpha;
            if alpha > LEAST_ALPHA {
                let start = row * columns;
                blend(&mut pixels[3 * (start + run.start)..3 * (start + run.end)], colour.rgb, alpha);
            }
        });
    }
}

/// Lays a colour over a run of pixels, in steps of 1/256.
fn blend(pixels: &mut [u8], rgb: [u8; 3], alpha: f64) {
    if alpha >= 1.0 - 1.0 / ALPHA_STEPS {
        fill_with(pixels, rgb);
        return;
    }
    let part = (alpha * ALPHA_STEPS).floor() as u16;
    for pixel in pixels.chunks_exact_mut(3) {
        for (old, new) in pixel.iter_mut().zip(rgb) {
            let step = (u16::from(old.abs_diff(new)) * part / ALPHA_STEPS as u16) as u8;
            *old = if new > *old { *old + step } else { *old - step };
        }
    }
}

/// One colour for a whole run: what is filled already is copied, twice as much each time.
fn fill_with(pixels: &mut [u8], rgb: [u8; 3]) {
    const SHORT: usize = 3 * 16;
    let short = pixels.len().min(SHORT);
    pixels[..short].chunks_exact_mut(3).for_each(|pixel| pixel.copy_from_slice(&rgb));
    let mut filled = short;
    while filled < pixels.len() {
        let more = filled.min(pixels.len() - filled);
        pixels.copy_within(..more, filled);
        filled += more;
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
