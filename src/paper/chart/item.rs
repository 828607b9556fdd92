//! The items of a chart: curves, bands, measured points, horizontal and vertical lines.

use super::frame::Frame;
use super::frame::TICK_SIZE;
use crate::paper::clip::{clipped, clipped_area};
use crate::paper::colour::Colour;
use crate::paper::figure::Figure;
use crate::paper::mark::{Dash, Place, Rect, Stroke, Text, circle};
use crate::paper::palette;
use crate::paper::palette::{INK, PAPER};

/// One measured point with its bars, each a half-length in SI; zero draws none.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Measured {
    /// Abscissa.
    pub x: f64,
    /// Ordinate.
    pub y: f64,
    /// Half-length of the bar along x.
    pub x_bar: f64,
    /// Half-length of the bar along y.
    pub y_bar: f64,
}

impl Measured {
    /// A point without bars.
    pub fn at(x: f64, y: f64) -> Self {
        Self { x, y, x_bar: 0.0, y_bar: 0.0 }
    }
}

/// One item.
#[derive(Clone, Debug)]
pub(super) enum Item {
    Curve { label: String, points: Vec<[f64; 2]>, stroke: Stroke },
    Band { label: String, points: Vec<[f64; 3]>, colour: Colour },
    Points { label: String, points: Vec<Measured>, series: usize },
    Level { label: String, y: f64 },
    Upright { label: String, x: f64 },
}

impl Item {
    pub(super) fn label(&self) -> &str {
        match self {
            Self::Curve { label, .. }
            | Self::Band { label, .. }
            | Self::Points { label, .. }
            | Self::Level { label, .. }
            | Self::Upright { label, .. } => label,
        }
    }

    pub(super) fn abscissae(&self) -> Vec<f64> {
        match self {
            Self::Curve { points, .. } => points.iter().map(|p| p[0]).collect(),
            Self::Band { points, .. } => points.iter().map(|p| p[0]).collect(),
            Self::Points { points, .. } => {
                points.iter().flat_map(|p| [p.x - p.x_bar, p.x + p.x_bar]).collect()
            }
            Self::Level { .. } => Vec::new(),
            Self::Upright { x, .. } => vec![*x],
        }
    }

    pub(super) fn ordinates(&self) -> Vec<f64> {
        match self {
            Self::Curve { points, .. } => points.iter().map(|p| p[1]).collect(),
            Self::Band { points, .. } => points.iter().flat_map(|p| [p[1], p[2]]).collect(),
            Self::Points { points, .. } => {
                points.iter().flat_map(|p| [p.y - p.y_bar, p.y + p.y_bar]).collect()
            }
            Self::Level { y, .. } => vec![*y],
            Self::Upright { .. } => Vec::new(),
        }
    }

    pub(super) fn draw(&self, figure: &mut Figure, frame: &Frame) {
        match self {
            Self::Curve { points, stroke, .. } => {
                let places: Vec<Place> = points.iter().map(|p| frame.place(*p)).collect();
                for piece in clipped(&places, frame.plot) {
                    figure.line(piece, *stroke);
                }
            }
            Self::Band { points, colour, .. } => {
                let below = points.iter().map(|p| frame.place([p[0], p[1]]));
                let above = points.iter().rev().map(|p| frame.place([p[0], p[2]]));
                figure.area(clipped_area(below.chain(above).collect(), frame.plot), *colour);
            }
            Self::Points { points, series, .. } => {
                for point in points {
                    draw_measured(figure, frame, point, *series);
                }
            }
            Self::Level { label, y } => {
                let y = frame.place([0.0, *y])[1];
                if (frame.plot.top..=frame.plot.bottom()).contains(&y) {
                    let ends = [[frame.plot.left, y], [frame.plot.right(), y]];
                    figure.line(ends, Stroke { colour: INK, width: 1.2, dash: Dash::LongDash });
                    // Under the line if there is no space between it and the frame.
                    let above = y - 5.0;
                    let fits = above - TICK_SIZE >= frame.plot.top;
                    let base = if fits { above } else { y + 4.0 + 0.8 * TICK_SIZE };
                    let at = [frame.plot.right() - 8.0, base];
                    figure.text(Text::new(label, at, TICK_SIZE).ending().rimmed());
                }
            }
            Self::Upright { label, x } => {
                let x = frame.place([*x, 0.0])[0];
                if (frame.plot.left..=frame.plot.right()).contains(&x) {
                    let ends = [[x, frame.plot.top], [x, frame.plot.bottom()]];
                    figure.line(ends, Stroke { colour: INK, width: 1.2, dash: Dash::LongDash });
                    let at = [x - 5.0, frame.plot.top + 8.0];
                    figure.text(Text::new(label, at, TICK_SIZE).ending().turned(-90.0).rimmed());
                }
            }
        }
    }

    pub(super) fn draw_swatch(&self, figure: &mut Figure, rect: Rect) {
        let middle = rect.top + 0.5 * rect.height;
        match self {
            Self::Curve { stroke, .. } => figure.line([[rect.left, middle], [rect.right(), middle]], *stroke),
            Self::Band { colour, .. } => figure.area(rect.corners(), *colour),
            Self::Points { series, .. } => symbol(figure, [rect.left + 0.5 * rect.width, middle], *series),
            Self::Level { .. } | Self::Upright { .. } => {}
        }
    }
}

fn draw_measured(figure: &mut Figure, frame: &Frame, point: &Measured, series: usize) {
    let at = frame.place([point.x, point.y]);
    if !frame.plot.holds(at) {
        return;
    }
    let stroke = Stroke::solid(palette::series_colour(series), 1.2);
    for (bar, dx, dy) in [(point.x_bar, point.x_bar, 0.0), (point.y_bar, 0.0, point.y_bar)] {
        if bar > 0.0 {
            let ends = [frame.place([point.x - dx, point.y - dy]), frame.place([point.x + dx, point.y + dy])];
            for piece in clipped(&ends, frame.plot) {
                figure.line(piece, stroke);
            }
            let cap = if dx > 0.0 { [0.0, 3.5] } else { [3.5, 0.0] };
            for [x, y] in ends.into_iter().filter(|end| frame.plot.holds(*end)) {
                figure.line([[x - cap[0], y - cap[1]], [x + cap[0], y + cap[1]]], stroke);
            }
        }
    }
    symbol(figure, at, series);
}

/// The symbol of a set of points; its shape alone distinguishes it from the others.
fn symbol(figure: &mut Figure, [x, y]: Place, series: usize) {
    let colour = palette::series_colour(series);
    let ring = match series % 4 {
        0 => circle([x, y], 3.8),
        1 => vec![[x - 3.5, y - 3.5], [x + 3.5, y - 3.5], [x + 3.5, y + 3.5], [x - 3.5, y + 3.5]],
        2 => vec![[x, y - 4.8], [x + 4.4, y + 3.0], [x - 4.4, y + 3.0]],
        _ => vec![[x, y - 4.8], [x + 4.8, y], [x, y + 4.8], [x - 4.8, y]],
    };
    // The second four symbols are hollow.
    let inside = if (series / 4).is_multiple_of(2) { colour } else { PAPER };
    figure.area(ring.clone(), inside);
    figure.outline(ring, Stroke::solid(colour, 1.3));
}
