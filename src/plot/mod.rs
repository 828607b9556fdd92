//! Records as pictures, SVG and PNG. Nothing is computed here that a record does not hold.
//!
//! - [`Chart`]: curves, bands and measured points over axes with units; [`panels`] puts several on one sheet.
//! - [`Scale`]: drawings to scale, a [`View`] of the bench with one millimetre alike both ways; [`bench_parts`] draws
//!   coils, bulb, gun and beam circles on it.
//! - [`contour`]: lines of equal value of a grid, and the areas they bound.
//! - [`Figure`]: the sheet beneath both, for anything else: lines, areas, text.
//!
//! Every picture is written with [`Figure::svg`] and [`Figure::png`].

pub mod beam_chart;
pub mod bench_parts;
mod calibration_line;
mod chart;
mod clip;
mod comparison;
pub mod contour;
mod figure;
mod font;
pub mod heat;
mod line_labels;
pub mod map_picture;
pub mod orbit;
pub mod palette;
pub mod profiles;
mod raster;
pub mod reading_scale;
mod scale;
mod sizing_front;
mod stroke;
mod svg;
mod ticks;
mod tolerance_spread;
pub mod weigh;

pub use calibration_line::{calibration_line, calibration_residuals};
pub use chart::{Axis, Chart, Measured, panels};
pub use comparison::comparison;
pub use figure::{Anchor, Dash, Figure, Place, Rect, Stroke, Text, circle};
pub use font::{CAPITAL_HEIGHT, Weight};
pub use palette::Colour;
pub use scale::{Scale, View};
pub use sizing_front::sizing_front;
pub use ticks::Ticks;
pub use tolerance_spread::tolerance_spread;

/// Width of the rim of paper round a text, in its size.
const RIM: f64 = 0.3;
