//! The items that a chart can show: curves, bands, measured points, and horizontal and vertical lines.

use super::frame::Frame;
use super::frame::TICK_SIZE;
use crate::paper::clip::{clipped, clipped_area};
use crate::paper::colour::Colour;
use crate::paper::figure::Figure;
use crate::paper::mark::{Dash, Place, Rect, Stroke, Text, circle};
use crate::paper::palette;
use crate::paper::palette::{INK, PAPER};

/// Half the side of the square that a point's symbol covers, in points.
const SYMBOL: f64 = 5.0;
/// Distance of a label from the frame, along its line, in points.
const AWAY: f64 = 8.0;
/// Distances between a level and its label beyond the usual one, in letter sizes, the nearest first.
const FARTHER: [f64; 3] = [0.0, 1.2, 2.4];
/// Number of steps in which a label can move from the end of its line to the middle.
const SLIDES: u32 = 40;

/// Distances by which a label can move from its first place, up to half of `room`.
fn slides(room: f64) -> impl Iterator<Item = f64> {
    (0..=SLIDES).map(move |i| 0.5 * room.max(0.0) * f64::from(i) / f64::from(SLIDES))
}

/// A measured point with its bars. A bar of length zero is not drawn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Measured {
    /// Abscissa in SI units.
    pub x: f64,
    /// Ordinate in SI units.
    pub y: f64,
    /// Half the length of the bar along x, in SI units.
    pub x_bar: f64,
    /// Half the length of the bar along y, in SI units.
    pub y_bar: f64,
}

impl Measured {
    /// A point without bars.
    pub fn at(x: f64, y: f64) -> Self {
        Self { x, y, x_bar: 0.0, y_bar: 0.0 }
    }
}

/// A label and the rectangle that it takes on the sheet.
#[derive(Clone)]
pub(super) struct PlacedLabel {
    pub(super) text: Text,
    pub(super) taken: Rect,
}

/// An item of a chart.
#[derive(Clone, Debug)]
pub(super) enum Item {
    Curve {
        label: String,
        points: Vec<[f64; 2]>,
        stroke: Stroke,
    },
    Band {
        label: String,
        points: Vec<[f64; 3]>,
        colour: Colour,
    },
    Points {
        label: String,
        points: Vec<Measured>,
        series: usize,
    },
    /// A horizontal line. If it is the limit of a series, it has that series' colour.
    Level {
        label: String,
        y: f64,
        of: Option<usize>,
    },
    Upright {
        label: String,
        x: f64,
    },
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
            Self::Level { .. } | Self::Upright { .. } => {
                for line in self.lines(frame) {
                    if line.iter().all(|end| frame.plot.holds(*end)) {
                        figure.line(line, Stroke { colour: self.ink(), width: 1.2, dash: Dash::LongDash });
                    }
                }
            }
        }
    }

    /// The lines that a label must not cross: curves, levels, uprights, the edges of bands and the bars of points.
    pub(super) fn lines(&self, frame: &Frame) -> Vec<Vec<Place>> {
        let places = |points: Vec<[f64; 2]>| points.into_iter().map(|point| frame.place(point)).collect();
        match self {
            Self::Curve { points, .. } => vec![places(points.clone())],
            Self::Band { points, .. } => vec![
                places(points.iter().map(|p| [p[0], p[1]]).collect()),
                places(points.iter().map(|p| [p[0], p[2]]).collect()),
            ],
            Self::Points { points, .. } => points
                .iter()
                .flat_map(|p| {
                    [
                        vec![[p.x - p.x_bar, p.y], [p.x + p.x_bar, p.y]],
                        vec![[p.x, p.y - p.y_bar], [p.x, p.y + p.y_bar]],
                    ]
                })
                .map(places)
                .collect(),
            Self::Level { y, .. } => {
                let y = frame.place([0.0, *y])[1];
                vec![vec![[frame.plot.left, y], [frame.plot.right(), y]]]
            }
            Self::Upright { x, .. } => {
                let x = frame.place([*x, 0.0])[0];
                vec![vec![[x, frame.plot.top], [x, frame.plot.bottom()]]]
            }
        }
    }

    /// The squares that the symbols of points cover.
    pub(super) fn symbols(&self, frame: &Frame) -> Vec<Rect> {
        let Self::Points { points, .. } = self else { return Vec::new() };
        let places = points.iter().map(|p| frame.place([p.x, p.y]));
        places.map(|[x, y]| Rect::new(x - SYMBOL, y - SYMBOL, 2.0 * SYMBOL, 2.0 * SYMBOL)).collect()
    }

    /// The places inside the frame where the label of a level or an upright can stand, the usual one first. They are on
    /// either side of its line, from the ends towards the middle.
    pub(super) fn label_places(&self, frame: &Frame) -> Vec<PlacedLabel> {
        let plot = frame.plot;
        let lines = self.lines(frame);
        let (Self::Level { .. } | Self::Upright { .. }, [line]) = (self, &lines[..]) else {
            return Vec::new();
        };
        if self.label().is_empty() || !line.iter().all(|end| plot.holds(*end)) {
            return Vec::new();
        }
        let mut places = match self {
            Self::Level { .. } => self.beside_level(plot, line[0][1]),
            _ => [self.along_upright(plot, line[0][0]), self.beside_upright(plot, line[0][0])].concat(),
        };
        let inside = |place: &PlacedLabel| {
            plot.holds([place.taken.left, place.taken.top])
                && plot.holds([place.taken.right(), place.taken.bottom()])
        };
        if places.iter().any(inside) {
            places.retain(inside);
        } else {
            places.truncate(1);
        }
        places
    }

    fn text(&self, at: Place) -> Text {
        Text::new(self.label(), at, TICK_SIZE).rimmed().coloured(self.ink())
    }

    /// Places above and below a level, from its right end first. Those farther from it come last: they help where bars cross it
    /// everywhere.
    fn beside_level(&self, plot: Rect, y: f64) -> Vec<PlacedLabel> {
        let length = self.text([0.0; 2]).width();
        let over_and_under = |left: f64, ending: bool, away: f64| {
            [y - 5.0 - away, y + 4.0 + 0.8 * TICK_SIZE + away].map(|base| PlacedLabel {
                // A label is anchored at the end next to the frame. A viewer whose letters have other widths then still
                // keeps that distance.
                text: match ending {
                    true => self.text([left + length, base]).ending(),
                    false => self.text([left, base]),
                },
                taken: Rect::new(left, base - TICK_SIZE, length, 1.2 * TICK_SIZE),
            })
        };
        let along = move |away: f64| {
            slides(plot.width - length - 2.0 * AWAY).flat_map(move |slide| {
                let [left, right] = [plot.left + AWAY + slide, plot.right() - AWAY - slide - length];
                [over_and_under(right, true, away), over_and_under(left, false, away)].concat()
            })
        };
        FARTHER.iter().flat_map(|lines| along(lines * TICK_SIZE)).collect()
    }

    /// Places along an upright on either side, from its top first.
    fn along_upright(&self, plot: Rect, x: f64) -> Vec<PlacedLabel> {
        let length = self.text([0.0; 2]).width();
        let both_sides = |top: f64, ending: bool| {
            [x - 5.0, x + 4.0 + 0.8 * TICK_SIZE].map(|base| PlacedLabel {
                text: match ending {
                    true => self.text([base, top]).ending().turned(-90.0),
                    false => self.text([base, top + length]).turned(-90.0),
                },
                taken: Rect::new(base - TICK_SIZE, top, 1.2 * TICK_SIZE, length),
            })
        };
        slides(plot.height - length - 2.0 * AWAY)
            .flat_map(|slide| {
                let [top, low] = [plot.top + AWAY + slide, plot.bottom() - AWAY - slide - length];
                [both_sides(top, true), both_sides(low, false)].concat()
            })
            .collect()
    }

    /// Places for horizontal text beside an upright, from the top down. They help where crossing lines leave no place
    /// along it.
    fn beside_upright(&self, plot: Rect, x: f64) -> Vec<PlacedLabel> {
        let length = self.text([0.0; 2]).width();
        let both_sides = |top: f64| {
            let base = top + TICK_SIZE;
            let taken = |left: f64| Rect::new(left, top, length, 1.2 * TICK_SIZE);
            [
                PlacedLabel { text: self.text([x - 6.0, base]).ending(), taken: taken(x - 6.0 - length) },
                PlacedLabel { text: self.text([x + 6.0, base]), taken: taken(x + 6.0) },
            ]
        };
        let room = plot.height - 1.2 * TICK_SIZE - 2.0 * AWAY;
        slides(2.0 * room).flat_map(|slide| both_sides(plot.top + AWAY + slide)).collect()
    }

    /// The colour of a level or an upright, and of its label.
    fn ink(&self) -> Colour {
        match self {
            Self::Level { of: Some(series), .. } => palette::series_colour(*series),
            _ => INK,
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

/// Draws the symbol of a set of points. The symbols of up to eight sets differ in shape or filling, not only in colour.
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
