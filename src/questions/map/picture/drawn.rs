//! What the picture of a plane shows: either levels of deviation or one limit, each with its colours and lines.

use crate::paper::palette::{ABOVE, BELOW, INK, PAPER, WITHIN};
use crate::paper::{Colour, Dash, Stroke};
use crate::questions::map::Within;
use crate::units::{fixed, unit};

/// Largest |deviation| drawn as a line.
const TOP_LEVEL: f64 = 0.5;
/// Smallest level, as a fraction of the worst |deviation| in the bulb; at most 0.001.
const LEVELS_BELOW_WORST: f64 = 1.0 / 400.0;
/// The smallest level is never below this.
const LEAST_LEVEL: f64 = 1e-6;
/// Opacity of the paper colour laid over everything outside the bulb.
pub(super) const VEIL: f64 = 0.55;
/// Stroke of the boundary where a limit is reached.
pub(super) const BOUNDARY: Stroke = Stroke::solid(INK, 1.5);

/// What the picture of a plane shows.
pub(super) enum Drawn {
    /// Bands and lines at these levels, on both sides of zero.
    Levels(Vec<f64>),
    /// The boundary of one limit.
    Within(Within),
}

impl Drawn {
    pub(super) fn levels(&self) -> Vec<f64> {
        match self {
            Self::Levels(levels) => levels.clone(),
            Self::Within(within) => vec![within.limit_fraction],
        }
    }

    /// A sample colour for the key.
    pub(super) fn sample(&self) -> Colour {
        match self {
            Self::Levels(_) => band_colour(BELOW, 2, 3),
            Self::Within(_) => WITHIN,
        }
    }

    /// The stroke for a level.
    pub(super) fn stroke(&self, level: f64) -> Stroke {
        match self {
            Self::Levels(_) => Stroke {
                colour: line_colour(level),
                width: if is_power_of_ten(level) { 1.5 } else { 0.9 },
                dash: if level > 0.0 { Dash::Solid } else { Dash::Dashed },
            },
            Self::Within(_) => BOUNDARY,
        }
    }
}

/// Levels at 1, 2 and 5 of each decade, from a small fraction of the worst |deviation| up to `TOP_LEVEL`.
pub(super) fn levels(worst: f64) -> Vec<f64> {
    let least = (worst * LEVELS_BELOW_WORST).clamp(LEAST_LEVEL, 1e-3) * (1.0 + 1e-9);
    let mut levels = Vec::new();
    for exponent in (1..=6).rev() {
        for digit in [1.0, 2.0, 5.0] {
            let level = digit / 10f64.powi(exponent);
            if level >= least && level <= TOP_LEVEL {
                levels.push(level);
            }
        }
    }
    levels
}

/// Colour of the band that lies beyond `passed` of `count` levels.
pub(super) fn band_colour(dark: Colour, passed: usize, count: usize) -> Colour {
    let part = passed as f64 / count.max(1) as f64;
    PAPER.towards(dark, 0.66 * part.powf(1.2))
}

pub(super) fn line_colour(level: f64) -> Colour {
    if level > 0.0 { ABOVE.towards(INK, 0.4) } else { BELOW.towards(INK, 0.35) }
}

/// The label of a deviation's line, for example `+0.5 %`.
pub(super) fn percent(deviation: f64) -> String {
    let size = deviation.abs();
    let decimals = (0..6).find(|d| (size * 100.0 * 10f64.powi(*d)) > 0.95).unwrap_or(4) as usize;
    let sign = if deviation > 0.0 { "+" } else { "−" };
    format!("{sign}{}", fixed(size, unit::PERCENT, decimals))
}

fn is_power_of_ten(level: f64) -> bool {
    let power = level.abs().log10();
    (power - power.round()).abs() < 1e-9
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn levels_are_one_two_and_five_of_each_decade_up_to_half_the_field() {
        let levels = levels(0.05);
        assert_eq!(&levels[..4], [2e-4, 5e-4, 1e-3, 2e-3]);
        assert_eq!(levels.last(), Some(&0.5));
        assert!(super::levels(0.0).len() < 20);
        assert!(super::levels(f64::NAN).len() < 20);
    }

    #[test]
    fn a_level_is_labelled_with_its_sign_and_no_more_digits_than_it_has() {
        let labels = [0.5, -0.02, 0.001, -2e-4, 5e-6].map(percent);
        assert_eq!(labels, ["+50 %", "−2 %", "+0.1 %", "−0.02 %", "+0.0005 %"]);
    }

    #[test]
    fn bands_darken_with_the_size_of_the_deviation_in_grey_alike_on_both_sides() {
        let grey = |c: Colour| {
            0.2126 * f64::from(c.rgb[0]) + 0.7152 * f64::from(c.rgb[1]) + 0.0722 * f64::from(c.rgb[2])
        };
        for dark in [ABOVE, BELOW] {
            let greys: Vec<f64> = (0..=12).map(|i| grey(band_colour(dark, i, 12))).collect();
            assert!(greys.windows(2).all(|pair| pair[0] > pair[1] + 1.0), "{greys:?}");
        }
    }
}
