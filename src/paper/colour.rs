//! A colour.

/// A colour with its opacity, 1 for full.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Colour {
    /// Red, green, blue.
    pub rgb: [u8; 3],
    /// 0 clear, 1 full.
    pub alpha: f64,
}

impl Colour {
    /// A full colour written as 0xRRGGBB.
    pub const fn hex(value: u32) -> Self {
        Self { rgb: [(value >> 16) as u8, (value >> 8) as u8, value as u8], alpha: 1.0 }
    }

    /// The same colour, let through.
    pub const fn with_alpha(self, alpha: f64) -> Self {
        Self { rgb: self.rgb, alpha }
    }

    /// Part of the way from this colour to another.
    pub fn towards(self, other: Self, part: f64) -> Self {
        let mix =
            |i: usize| (f64::from(self.rgb[i]) * (1.0 - part) + f64::from(other.rgb[i]) * part).round() as u8;
        Self { rgb: [mix(0), mix(1), mix(2)], alpha: self.alpha * (1.0 - part) + other.alpha * part }
    }
}

/// Text, axes.
pub const INK: Colour = Colour::hex(0x1f_24_2b);
