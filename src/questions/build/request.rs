//! What the build papers are asked for.

use crate::error::Refused;
use crate::numeric::calendar::Day;
use crate::questions::tolerance::Wish;
use crate::{Error, Result};
use serde::Serialize;

/// What the build papers are asked for.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Request {
    /// Temperature of the copper during winding. `None` for room temperature.
    pub winding_celsius: Option<f64>,
    /// What the finished pair must meet; decides which tolerances are worth holding.
    pub wish: Wish,
    /// Reel sizes that can be bought, in kilograms of enamelled wire. Each from 1 g to 10 000 kg.
    pub reels_kg: Vec<f64>,
    /// Fraction of the wire that is lost or kept in hand.
    pub waste_fraction: f64,
    /// Length of wire left free at each end of a coil.
    pub lead_out_m: f64,
    /// Thickness of insulation between layers; 0 for none.
    pub interlayer_m: f64,
    /// Clear width of the channel beyond the wound copper.
    pub width_allowance_m: f64,
    /// Current for the field test. `None` for a round one that the coils carry for ever.
    pub test_current_ampere: Option<f64>,
    /// Direct voltage of the insulation test. `None` for the one that the spec states, or else the usual one.
    pub insulation_test_volt: Option<f64>,
    /// Arrangement of the views.
    pub projection: Projection,
    /// General tolerance for dimensions without a limit of their own.
    pub general_tolerance: ToleranceClass,
    /// Scale of the drawings: length on paper divided by the length it stands for.
    pub drawing_scale: f64,
    /// The date to print, if any.
    pub date: Option<Day>,
}

impl Default for Request {
    /// The usual values of a workshop (common practice, no source).
    fn default() -> Self {
        Self {
            winding_celsius: None,
            wish: Wish::default(),
            reels_kg: vec![0.1, 0.25, 0.5, 1.0, 2.0, 5.0, 10.0],
            waste_fraction: 0.05,
            lead_out_m: crate::physics::test_limits::FREE_END_M,
            interlayer_m: 0.0,
            width_allowance_m: 0.5e-3,
            test_current_ampere: None,
            insulation_test_volt: None,
            projection: Projection::First,
            general_tolerance: ToleranceClass::Medium,
            drawing_scale: 1.0,
            date: None,
        }
    }
}

impl Request {
    /// Refuses a wished fraction outside 1e-9 to 1, and reels outside 1 g to 10 000 kg.
    pub(super) fn check(&self) -> Result<()> {
        for (name, wanted) in [
            ("--within", self.wish.field_constant_within_fraction),
            ("beam_deviation", self.wish.beam_deviation),
        ] {
            if let Some(fraction) = wanted.filter(|wanted| !(1e-9..=1.0).contains(wanted)) {
                return Err(Refused::WishedFraction { name, fraction }.into());
            }
        }
        if self.reels_kg.is_empty() || self.reels_kg.iter().any(|kg| !(1e-3..=1e4).contains(kg)) {
            return Err(Error::value_with_hint(
                "a reel holds 1 g to 10000 kg of wire",
                "name the sizes that your supplier has: --reel \"0.5 kg,1 kg,2 kg\"",
            ));
        }
        Ok(())
    }
}

/// How the views of a drawing are arranged (ISO 128-3; ISO 5456-2).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Projection {
    /// First angle: the view from the left stands on the right.
    #[default]
    First,
    /// Third angle: the view from the right stands on the right.
    Third,
}

impl Projection {
    /// Name of the method in the trade.
    pub const fn name(self) -> &'static str {
        match self {
            Self::First => "first angle",
            Self::Third => "third angle",
        }
    }
}

/// Class of general tolerances for lengths, ISO 2768-1:1989.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum ToleranceClass {
    /// Class f.
    Fine,
    /// Class m.
    #[default]
    Medium,
    /// Class c.
    Coarse,
    /// Class v.
    VeryCoarse,
}

impl ToleranceClass {
    /// Letter of the class in the standard.
    pub const fn letter(self) -> char {
        match self {
            Self::Fine => 'f',
            Self::Medium => 'm',
            Self::Coarse => 'c',
            Self::VeryCoarse => 'v',
        }
    }

    /// Limit of the error of a length. `None` where the standard gives none: below 0.5 mm, above 4 m, and in some
    /// classes for the smallest or largest sizes.
    ///
    /// ISO 2768-1:1989 table 1 (read in DIN ISO 2768-1, scribd.com/document/585640440), millimetres, for nominal sizes
    /// up to 3, 6, 30, 120, 400, 1000, 2000 and 4000 mm. Coarse up to 6 mm is from memory: copies disagree.
    ///
    /// ```
    /// use coilwright::questions::build::ToleranceClass;
    /// assert_eq!(ToleranceClass::Medium.limit_m(0.31), Some(0.5e-3));
    /// assert_eq!(ToleranceClass::Coarse.limit_m(0.005), Some(0.3e-3));
    /// assert_eq!(ToleranceClass::Fine.limit_m(3.0), None);
    /// ```
    pub fn limit_m(self, length_m: f64) -> Option<f64> {
        const UP_TO_MM: [f64; 8] = [3.0, 6.0, 30.0, 120.0, 400.0, 1000.0, 2000.0, 4000.0];
        const NONE: f64 = f64::NAN;
        let limits_mm = match self {
            Self::Fine => [0.05, 0.05, 0.1, 0.15, 0.2, 0.3, 0.5, NONE],
            Self::Medium => [0.1, 0.1, 0.2, 0.3, 0.5, 0.8, 1.2, 2.0],
            Self::Coarse => [0.2, 0.3, 0.5, 0.8, 1.2, 2.0, 3.0, 4.0],
            Self::VeryCoarse => [NONE, 0.5, 1.0, 1.5, 2.5, 4.0, 6.0, 8.0],
        };
        let length_mm = length_m * 1e3;
        if length_mm < 0.5 {
            return None;
        }
        let row = UP_TO_MM.iter().position(|most| length_mm <= *most)?;
        Some(limits_mm[row]).filter(|limit| limit.is_finite()).map(|limit| limit / 1e3)
    }
}
