//! The building blocks of pages and pictures: text pages, columns, charts, drawings to scale, SVG and PNG. They do not
//! depend on any question.
//!
//! - [`Chart`]: curves, bands and measured points over axes with units; [`panels`] puts several on one sheet.
//! - [`Scale`]: drawings to scale, a [`View`] of the bench with the same scale in both directions.
//! - [`contour`]: contour lines of a grid, and the areas they bound.
//! - [`Figure`]: the sheet beneath both, for anything else: lines, areas, text.
//!
//! Every picture is written with [`Figure::svg`] and [`Figure::png`].

mod canvas;
mod chart;
mod clip;
pub(crate) mod colour;
pub mod columns;
pub mod contour;
pub(crate) mod drawing;
pub(crate) mod dxf;
pub(crate) mod element;
mod figure;
pub(crate) mod font;
pub(crate) mod line_labels;
mod mark;
pub mod markup;
pub mod page;
pub(crate) mod palette;
mod raster;
mod scale;
mod stroke;
mod svg;
mod ticks;
pub(crate) mod wrap;

pub use canvas::CanvasSteps;
pub use chart::{Axis, Chart, Measured, panels};
pub use colour::Colour;
pub use figure::Figure;
pub use font::CAPITAL_HEIGHT;
pub use mark::{Anchor, Dash, Place, Rect, Stroke, Text, Weight, circle};
pub use scale::{Scale, View};
pub use ticks::Ticks;

/// Width of the rim around a text, relative to its letter size.
const RIM: f64 = 0.3;
