//! Colours with opacity.

use std::fmt;

/// A colour and its opacity.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Colour {
    /// Red, green and blue.
    pub rgb: [u8; 3],
    /// Opacity, from 0 (transparent) to 1 (opaque).
    pub alpha: f64,
}

impl Colour {
    /// An opaque colour written as 0xRRGGBB.
    pub(crate) const fn hex(value: u32) -> Self {
        Self { rgb: [(value >> 16) as u8, (value >> 8) as u8, value as u8], alpha: 1.0 }
    }

    /// The same colour with this opacity.
    pub(crate) const fn with_alpha(self, alpha: f64) -> Self {
        Self { rgb: self.rgb, alpha }
    }

    /// A mixture of this colour and another: `part` is the share of the other, from 0 to 1.
    pub fn towards(self, other: Self, part: f64) -> Self {
        let mix =
            |i: usize| (f64::from(self.rgb[i]) * (1.0 - part) + f64::from(other.rgb[i]) * part).round() as u8;
        Self { rgb: [mix(0), mix(1), mix(2)], alpha: self.alpha * (1.0 - part) + other.alpha * part }
    }
}

/// As SVG writes it, without the opacity: `#1f242b`.
impl fmt::Display for Colour {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let [r, g, b] = self.rgb;
        write!(f, "#{r:02x}{g:02x}{b:02x}")
    }
}

/// Colour of text and axes.
pub(crate) const INK: Colour = Colour::hex(0x1f_24_2b);
/// Colour of the lines and texts of technical drawings, in the short form of SVG: a sheet has hundreds of lines.
pub(crate) const BLACK: &str = "#000";
/// Colour of the paper of technical drawings, in the short form of SVG.
pub(crate) const WHITE: &str = "#fff";
