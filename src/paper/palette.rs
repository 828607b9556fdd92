//! The colours of every picture, defined once.
//!
//! Lines of one chart differ in lightness, hue *and* dash, so that a picture can be read from a black-and-white printer
//! and by people who cannot tell red from green. A sign is never shown by hue alone: values above zero are orange and
//! solid, values below are blue and dashed.

pub(crate) use super::colour::INK;

use super::colour::Colour;
use super::mark::{Dash, Stroke};

/// Colour of the paper.
pub(crate) const PAPER: Colour = Colour::hex(0xff_ff_ff);
/// Less prominent text: subtitles, notes.
pub(crate) const QUIET: Colour = Colour::hex(0x5e_66_70);
/// Grid lines.
pub(crate) const GRID: Colour = Colour::hex(0xde_e2_e6);
/// Copper: the sections of the windings.
pub(crate) const COPPER: Colour = Colour::hex(0xb8_6b_3c);
/// Glass: the wall of the bulb.
pub(crate) const GLASS: Colour = Colour::hex(0x33_3a_42);
/// The body of the gun.
pub(crate) const GUN_METAL: Colour = Colour::hex(0xc9_ce_d3);
/// The glow of the beam.
pub(crate) const BEAM: Colour = Colour::hex(0x7a_2f_8f);
/// What lies within a limit.
pub(crate) const WITHIN: Colour = Colour::hex(0xb9_d9_cd);
/// Deviation above zero at its darkest.
pub(crate) const ABOVE: Colour = Colour::hex(0x9a_42_00);
/// Deviation below zero at its darkest.
pub(crate) const BELOW: Colour = Colour::hex(0x0b_4a_8f);

const SERIES: [(Colour, Dash); 6] = [
    (Colour::hex(0x0e_4f_94), Dash::Solid),
    (Colour::hex(0xd0_61_12), Dash::Dashed),
    (Colour::hex(0x1b_8f_78), Dash::DashDot),
    (Colour::hex(0x6d_2a_68), Dash::Dotted),
    (Colour::hex(0xb0_8d_00), Dash::LongDash),
    (Colour::hex(0x4a_50_57), Dash::Dashed),
];

/// The colour of the n-th line or set of points of a chart, counted from 0. The colours repeat after six.
pub(crate) fn series_colour(index: usize) -> Colour {
    SERIES[index % SERIES.len()].0
}

/// The stroke of the n-th line of a chart: colour and dash pattern together.
pub(crate) fn series_stroke(index: usize) -> Stroke {
    let (colour, dash) = SERIES[index % SERIES.len()];
    Stroke { colour, width: 1.8, dash }
}
