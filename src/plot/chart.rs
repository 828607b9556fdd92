//! Curves, bands and measured points over two axes with units.
//!
//! Values go in as SI (temperatures in °C); the axes convert them.
//!
//! ```
//! use coilwright::plot::{Axis, Chart, Measured};
//! use coilwright::units::unit;
//!
//! let mut chart = Chart::new(
//!     "Calibration line",
//!     Axis::new("coil current", unit::AMPERE).from_zero(),
//!     Axis::new("coil field", unit::MILLITESLA).from_zero(),
//! );
//! chart.band("expanded uncertainty", [[0.0, 0.0, 0.0], [3.0, 2.55e-3, 2.60e-3]]);
//! chart.curve("fitted line", [[0.0, 0.0], [3.0, 2.57e-3]]);
//! chart.points("readings", [Measured { y_bar: 2e-5, ..Measured::at(1.0, 0.86e-3) }]);
//! let figure = chart.figure("coilwright 0.1.0 · North bench pair");
//! assert!(figure.svg().contains("coil field in mT"));
//! ```

use super::figure::{Dash, Figure, Place, Rect, Stroke, Text, circle};
use super::palette::{self, Colour, GRID, INK, PAPER, QUIET};
use super::ticks::Ticks;
use crate::units::Unit;

const TICK_SIZE: f64 = 12.0;
const LABEL_SIZE: f64 = 13.0;
const TITLE_SIZE: f64 = 16.0;

/// One axis: what it shows, in which unit, over which range.
#[derive(Clone, Debug)]
pub struct Axis {
    quantity: String,
    unit: Unit,
    range: Option<[f64; 2]>,
    zero: bool,
}

impl Axis {
    /// An axis over the range of the data.
    pub fn new(quantity: impl Into<String>, unit: Unit) -> Self {
        Self { quantity: quantity.into(), unit, range: None, zero: false }
    }

    /// The same, with zero on it.
    pub fn from_zero(mut self) -> Self {
        self.zero = true;
        self
    }

    /// The same, over exactly this range, in SI.
    pub fn over(mut self, range: [f64; 2]) -> Self {
        self.range = Some(range);
        self
    }

    fn label(&self) -> String {
        match self.unit.symbol {
            "" => self.quantity.clone(),
            symbol => format!("{} in {symbol}", self.quantity),
        }
    }

    /// The range shown, in the axis's unit, for data in that unit.
    fn shown(&self, data: impl Iterator<Item = f64>) -> [f64; 2] {
        if let Some([low, high]) = self.range {
            return [self.unit.from_si(low), self.unit.from_si(high)];
        }
        let (mut low, mut high) = data
            .filter(|v| v.is_finite())
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| (low.min(v), high.max(v)));
        if low > high {
            (low, high) = (0.0, 1.0);
        }
        if self.zero {
            (low, high) = (low.min(0.0), high.max(0.0));
        }
        let size = low.abs().max(high.abs());
        let pad = match high - low {
            // A single value: some room on both sides.
            span if span <= 1e-12 * size => {
                if size > 0.0 {
                    0.05 * size
                } else {
                    1.0
                }
            }
            span => 0.05 * span,
        };
        let keep_zero = |v: f64| self.zero && v == 0.0;
        [if keep_zero(low) { low } else { low - pad }, if keep_zero(high) { high } else { high + pad }]
    }
}

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

#[derive(Clone, Debug)]
enum Item {
    Curve { label: String, points: Vec<[f64; 2]>, stroke: Stroke },
    Band { label: String, points: Vec<[f64; 3]>, colour: Colour },
    Points { label: String, points: Vec<Measured>, series: usize },
    Level { label: String, y: f64 },
    Upright { label: String, x: f64 },
}

/// Curves, bands and points over two axes.
#[derive(Clone, Debug)]
pub struct Chart {
    title: String,
    x: Axis,
    y: Axis,
    items: Vec<Item>,
    series: usize,
    direct: bool,
}

impl Chart {
    /// An empty chart.
    pub fn new(title: impl Into<String>, x: Axis, y: Axis) -> Self {
        Self { title: title.into(), x, y, items: Vec::new(), series: 0, direct: false }
    }

    /// Writes each curve's name at its right end instead of in the legend.
    pub fn label_curves_directly(&mut self) {
        self.direct = true;
    }

    /// A curve through points [x, y]; an empty label keeps it out of the legend.
    pub fn curve(&mut self, label: impl Into<String>, points: impl IntoIterator<Item = [f64; 2]>) {
        let stroke = palette::series_stroke(self.series);
        self.series += 1;
        self.curve_drawn(label, points, stroke);
    }

    /// A curve drawn in a stroke of the caller's choice.
    pub fn curve_drawn(
        &mut self,
        label: impl Into<String>,
        points: impl IntoIterator<Item = [f64; 2]>,
        stroke: Stroke,
    ) {
        self.items.push(Item::Curve { label: label.into(), points: points.into_iter().collect(), stroke });
    }

    /// A band between two curves, points [x, lower, upper], in a light shade of the next series' colour.
    pub fn band(&mut self, label: impl Into<String>, points: impl IntoIterator<Item = [f64; 3]>) {
        let colour = palette::series_colour(self.series).towards(PAPER, 0.72);
        self.items.push(Item::Band { label: label.into(), points: points.into_iter().collect(), colour });
    }

    /// Measured points with their bars.
    pub fn points(&mut self, label: impl Into<String>, points: impl IntoIterator<Item = Measured>) {
        let series = self.series;
        self.series += 1;
        self.items.push(Item::Points { label: label.into(), points: points.into_iter().collect(), series });
    }

    /// A line straight across at one ordinate, named on the line.
    pub fn level(&mut self, label: impl Into<String>, y: f64) {
        self.items.push(Item::Level { label: label.into(), y });
    }

    /// A line straight up at one abscissa, named on the line.
    pub fn upright(&mut self, label: impl Into<String>, x: f64) {
        self.items.push(Item::Upright { label: label.into(), x });
    }

    /// The chart on a sheet of its own; the footer says where it comes from.
    pub fn figure(&self, footer: &str) -> Figure {
        panels("", &[self], 1, footer)
    }

    /// What the chart shows, for readers who cannot see it.
    fn description(&self) -> String {
        let named: Vec<&str> = self.items.iter().map(Item::label).filter(|label| !label.is_empty()).collect();
        let (title, x, y) = (&self.title, self.x.label(), self.y.label());
        format!("{title}: {y} against {x}; {}.", named.join(", "))
    }

    /// Draws the chart into a rectangle of a sheet.
    pub fn draw(&self, figure: &mut Figure, rect: Rect) {
        let frame = self.frame(figure, rect);
        self.draw_axes(figure, &frame);
        for item in &self.items {
            item.draw(figure, &frame);
        }
        figure.outline(frame.plot.corners(), Stroke::solid(INK, 0.9));
        if self.direct {
            self.draw_end_labels(figure, &frame);
        }
    }

    /// Title and legend set, and the place that remains for the plot with its scales.
    fn frame(&self, figure: &mut Figure, rect: Rect) -> Frame {
        let mut top = rect.top;
        if !self.title.is_empty() {
            figure.text(Text::new(&self.title, [rect.left, top + TITLE_SIZE], TITLE_SIZE).bold());
            top += TITLE_SIZE + 10.0;
        }
        top = self.draw_legend(figure, rect, top);
        let (x, y) = (self.x.unit, self.y.unit);
        let x_range = self.x.shown(self.items.iter().flat_map(|item| item.abscissae()).map(|v| x.from_si(v)));
        let y_range = self.y.shown(self.items.iter().flat_map(|item| item.ordinates()).map(|v| y.from_si(v)));
        let y_ticks = Ticks::within(y_range, ((rect.height - 80.0) / 55.0).max(2.0) as usize);
        let widest = y_ticks.values.iter().map(|v| Text::new(y_ticks.label(*v), [0.0; 2], TICK_SIZE).width());
        let left = rect.left + widest.fold(20.0, f64::max) + 10.0;
        let names = self.end_labels().map(|(label, ..)| Text::new(label, [0.0; 2], TICK_SIZE).width());
        let right = rect.right() - names.fold(4.0, |widest, width| f64::max(widest, width + 12.0));
        let top = top + LABEL_SIZE + 13.0;
        let plot = Rect::new(left, top, (right - left).max(1.0), (rect.bottom() - 44.0 - top).max(1.0));
        let x_ticks = Ticks::within(x_range, (plot.width / 75.0).max(2.0) as usize);
        Frame { plot, x_unit: x, y_unit: y, x_range, y_range, x_ticks, y_ticks }
    }

    fn draw_axes(&self, figure: &mut Figure, frame: &Frame) {
        let plot = frame.plot;
        for &value in &frame.x_ticks.values {
            let x = frame.across(value);
            figure.line([[x, plot.top], [x, plot.bottom()]], Stroke::solid(GRID, 0.8));
            figure.line([[x, plot.bottom()], [x, plot.bottom() + 5.0]], Stroke::solid(INK, 0.9));
            let at = [x, plot.bottom() + 8.0 + TICK_SIZE];
            figure.text(Text::new(frame.x_ticks.label(value), at, TICK_SIZE).centred());
        }
        for &value in &frame.y_ticks.values {
            let y = frame.down(value);
            figure.line([[plot.left, y], [plot.right(), y]], Stroke::solid(GRID, 0.8));
            figure.line([[plot.left - 5.0, y], [plot.left, y]], Stroke::solid(INK, 0.9));
            let at = [plot.left - 9.0, y + 0.36 * TICK_SIZE];
            figure.text(Text::new(frame.y_ticks.label(value), at, TICK_SIZE).ending());
        }
        let beneath = [plot.left + 0.5 * plot.width, plot.bottom() + 40.0];
        figure.text(Text::new(self.x.label(), beneath, LABEL_SIZE).centred());
        let left = plot.left - frame.widest_y_label();
        figure.text(Text::new(self.y.label(), [left, plot.top - 13.0], LABEL_SIZE));
    }

    /// Names that stand beside the curves' right ends, with the last point and the colour.
    fn end_labels(&self) -> impl Iterator<Item = (&str, [f64; 2], Colour)> {
        self.items.iter().filter_map(|item| match item {
            Item::Curve { label, points, stroke } if self.direct && !label.is_empty() => {
                points.last().map(|last| (label.as_str(), *last, stroke.colour))
            }
            _ => None,
        })
    }

    fn draw_end_labels(&self, figure: &mut Figure, frame: &Frame) {
        let mut labels: Vec<_> = self
            .end_labels()
            .map(|(label, point, colour)| {
                (frame.place(point)[1].clamp(frame.plot.top, frame.plot.bottom()), label, colour)
            })
            .collect();
        labels.sort_by(|a, b| a.0.total_cmp(&b.0));
        // Each stands at its curve's end, or as far below as the one above it needs.
        let mut free = f64::NEG_INFINITY;
        for (y, label, colour) in labels {
            let y = y.max(free);
            free = y + TICK_SIZE + 2.0;
            let at = [frame.plot.right() + 8.0, y + 0.36 * TICK_SIZE];
            figure.text(Text::new(label, at, TICK_SIZE).coloured(colour));
        }
    }

    /// Sets the legend in rows from `top` and returns where it ends.
    fn draw_legend(&self, figure: &mut Figure, rect: Rect, top: f64) -> f64 {
        const SWATCH: f64 = 26.0;
        let (mut left, mut middle, mut any) = (rect.left, top + 7.0, false);
        for item in &self.items {
            let named = match item {
                Item::Curve { .. } => !self.direct,
                Item::Level { .. } | Item::Upright { .. } => false,
                Item::Band { .. } | Item::Points { .. } => true,
            };
            if !named || item.label().is_empty() {
                continue;
            }
            let width = SWATCH + 7.0 + Text::new(item.label(), [0.0; 2], TICK_SIZE).width();
            if any && left + width > rect.right() {
                (left, middle) = (rect.left, middle + 18.0);
            }
            item.draw_swatch(figure, Rect::new(left, middle - 6.0, SWATCH, 12.0));
            figure.text(Text::new(item.label(), [left + SWATCH + 7.0, middle + 0.36 * TICK_SIZE], TICK_SIZE));
            left += width + 20.0;
            any = true;
        }
        if any { middle + 14.0 } else { top }
    }
}

/// Several charts on one sheet, row by row; the footer says where they come from.
pub fn panels(title: &str, charts: &[&Chart], columns: usize, footer: &str) -> Figure {
    const MARGIN: f64 = 28.0;
    const GAP: f64 = 30.0;
    let columns = columns.clamp(1, charts.len().max(1));
    let rows = charts.len().div_ceil(columns).max(1);
    let (cell_width, cell_height) = match (columns, rows) {
        (1, 1) => (744.0, 480.0),
        (1, _) => (744.0, 330.0),
        _ => (470.0, 380.0),
    };
    let head = if title.is_empty() { 0.0 } else { 38.0 };
    let width = 2.0 * MARGIN + columns as f64 * (cell_width + GAP) - GAP;
    let height = 2.0 * MARGIN + head + rows as f64 * (cell_height + GAP) - GAP + 16.0;
    let description: Vec<String> = charts.iter().map(|chart| chart.description()).collect();
    let name = if title.is_empty() { charts.first().map_or("", |chart| &chart.title) } else { title };
    let mut figure = Figure::new(width, height, name, description.join(" "));
    figure.text(Text::new(title, [MARGIN, MARGIN + 16.0], 20.0).bold());
    for (i, chart) in charts.iter().enumerate() {
        let left = MARGIN + (i % columns) as f64 * (cell_width + GAP);
        let top = MARGIN + head + (i / columns) as f64 * (cell_height + GAP);
        chart.draw(&mut figure, Rect::new(left, top, cell_width, cell_height));
    }
    figure.footer(footer);
    figure
}

/// The plot area and the scales on it; numbers in the axes' units.
struct Frame {
    plot: Rect,
    x_unit: Unit,
    y_unit: Unit,
    x_range: [f64; 2],
    y_range: [f64; 2],
    x_ticks: Ticks,
    y_ticks: Ticks,
}

impl Frame {
    fn across(&self, x: f64) -> f64 {
        let [low, high] = self.x_range;
        self.plot.left + (x - low) / (high - low) * self.plot.width
    }

    fn down(&self, y: f64) -> f64 {
        let [low, high] = self.y_range;
        self.plot.bottom() - (y - low) / (high - low) * self.plot.height
    }

    /// Where an SI pair lies on the sheet.
    fn place(&self, [x, y]: [f64; 2]) -> Place {
        [self.across(self.x_unit.from_si(x)), self.down(self.y_unit.from_si(y))]
    }

    fn widest_y_label(&self) -> f64 {
        let widths = self
            .y_ticks
            .values
            .iter()
            .map(|v| Text::new(self.y_ticks.label(*v), [0.0; 2], TICK_SIZE).width());
        widths.fold(0.0, f64::max) + 9.0
    }
}

impl Item {
    fn label(&self) -> &str {
        match self {
            Self::Curve { label, .. }
            | Self::Band { label, .. }
            | Self::Points { label, .. }
            | Self::Level { label, .. }
            | Self::Upright { label, .. } => label,
        }
    }

    fn abscissae(&self) -> Vec<f64> {
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

    fn ordinates(&self) -> Vec<f64> {
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

    fn draw(&self, figure: &mut Figure, frame: &Frame) {
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
                    let at = [frame.plot.right() - 8.0, y - 5.0];
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

    fn draw_swatch(&self, figure: &mut Figure, rect: Rect) {
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

/// The sign of a set of points: its shape alone tells it from the others.
fn symbol(figure: &mut Figure, [x, y]: Place, series: usize) {
    let colour = palette::series_colour(series);
    let ring = match series % 4 {
        0 => circle([x, y], 3.8),
        1 => vec![[x - 3.5, y - 3.5], [x + 3.5, y - 3.5], [x + 3.5, y + 3.5], [x - 3.5, y + 3.5]],
        2 => vec![[x, y - 4.8], [x + 4.4, y + 3.0], [x - 4.4, y + 3.0]],
        _ => vec![[x, y - 4.8], [x + 4.8, y], [x, y + 4.8], [x - 4.8, y]],
    };
    // The second round of four is hollow.
    let inside = if (series / 4).is_multiple_of(2) { colour } else { PAPER };
    figure.area(ring.clone(), inside);
    figure.outline(ring, Stroke::solid(colour, 1.3));
}

/// The parts of a line inside a rectangle.
pub(super) fn clipped(points: &[Place], rect: Rect) -> Vec<Vec<Place>> {
    let mut pieces: Vec<Vec<Place>> = Vec::new();
    for pair in points.windows(2) {
        let Some([from, to]) = clipped_segment(pair[0], pair[1], rect) else { continue };
        match pieces.last_mut() {
            Some(piece) if piece.last() == Some(&from) => piece.push(to),
            _ => pieces.push(vec![from, to]),
        }
    }
    pieces
}

/// The part of a segment inside a rectangle (Liang and Barsky's four half-planes).
fn clipped_segment(from: Place, to: Place, rect: Rect) -> Option<[Place; 2]> {
    if !from.iter().chain(&to).all(|c| c.is_finite()) {
        return None;
    }
    let (dx, dy) = (to[0] - from[0], to[1] - from[1]);
    let (mut enter, mut leave) = (0f64, 1f64);
    for (step, room) in [
        (-dx, from[0] - rect.left),
        (dx, rect.right() - from[0]),
        (-dy, from[1] - rect.top),
        (dy, rect.bottom() - from[1]),
    ] {
        if step == 0.0 {
            if room < 0.0 {
                return None;
            }
        } else if step < 0.0 {
            enter = enter.max(room / step);
        } else {
            leave = leave.min(room / step);
        }
    }
    let at = |part: f64| match part {
        0.0 => from,
        1.0 => to,
        part => [from[0] + part * dx, from[1] + part * dy],
    };
    (enter < leave).then(|| [at(enter), at(leave)])
}

/// The part of an area inside a rectangle (one side after the other).
pub(super) fn clipped_area(ring: Vec<Place>, rect: Rect) -> Vec<Place> {
    let sides: [(usize, f64, f64); 4] =
        [(0, 1.0, rect.left), (0, -1.0, -rect.right()), (1, 1.0, rect.top), (1, -1.0, -rect.bottom())];
    sides.into_iter().fold(ring, |ring, (axis, sign, bound)| {
        let room = |p: Place| sign * p[axis] - bound;
        let mut kept = Vec::with_capacity(ring.len());
        for i in 0..ring.len() {
            let (from, to) = (ring[i], ring[(i + 1) % ring.len()]);
            if room(from) >= 0.0 {
                kept.push(from);
            }
            if (room(from) >= 0.0) != (room(to) >= 0.0) {
                let part = room(from) / (room(from) - room(to));
                kept.push([from[0] + part * (to[0] - from[0]), from[1] + part * (to[1] - from[1])]);
            }
        }
        kept
    })
}

impl Figure {
    /// A quiet line at the foot of the sheet: where the picture comes from.
    pub fn footer(&mut self, footer: &str) {
        let at = [28.0, self.height - 12.0];
        self.text(Text::new(footer, at, 10.0).coloured(QUIET));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::unit;

    fn chart() -> Chart {
        let mut chart = Chart::new(
            "Field & current <1 A>",
            Axis::new("coil current", unit::AMPERE).from_zero(),
            Axis::new("coil field", unit::MILLITESLA).from_zero(),
        );
        chart.band("uncertainty", [[0.0, 0.0, 0.0], [3.0, 2.4e-3, 2.7e-3]]);
        chart.curve("line", [[0.0, 0.0], [3.0, 2.57e-3]]);
        chart.points("readings", [Measured { y_bar: 1e-4, ..Measured::at(1.0, 0.86e-3) }]);
        chart.level("limit", 2e-3);
        chart
    }

    #[test]
    fn an_svg_names_axes_units_and_series_and_escapes_what_xml_reserves() {
        let svg = chart().figure("made here").svg();
        for wanted in
            ["coil current in A", "coil field in mT", "readings", "limit", "made here", "&lt;1 A&gt;", "2.5"]
        {
            assert!(svg.contains(wanted), "{wanted} is missing");
        }
        assert!(!svg.contains("<1 A>"));
    }

    #[test]
    fn a_png_carries_dark_letters_where_the_title_stands() {
        let png = chart().figure("made here").png().unwrap();
        let mut reader = png::Decoder::new(&png[..]).read_info().unwrap();
        let mut pixels = vec![0; reader.output_buffer_size()];
        let info = reader.next_frame(&mut pixels).unwrap();
        let dark = |left: usize, top: usize, width: usize, height: usize| {
            (top..top + height)
                .flat_map(|y| (left..left + width).map(move |x| 3 * (y * info.width as usize + x)))
                .filter(|i| pixels[*i] < 100)
                .count()
        };
        // The title's letters, two pixels a point; a paper margin to their left.
        assert!(dark(56, 56, 300, 40) > 500);
        assert_eq!(dark(0, 0, 50, info.height as usize), 0);
    }

    #[test]
    fn a_line_is_cut_where_it_leaves_the_plot_and_taken_up_where_it_returns() {
        let rect = Rect::new(0.0, 0.0, 10.0, 10.0);
        let pieces = clipped(&[[-5.0, 5.0], [5.0, 5.0], [5.0, 20.0], [8.0, 20.0], [8.0, 5.0]], rect);
        assert_eq!(pieces, [vec![[0.0, 5.0], [5.0, 5.0], [5.0, 10.0]], vec![[8.0, 10.0], [8.0, 5.0]]]);
        let area = clipped_area(vec![[-5.0, -5.0], [5.0, -5.0], [5.0, 5.0], [-5.0, 5.0]], rect);
        assert!(area.iter().all(|p| rect.holds(*p)));
    }

    #[test]
    fn empty_and_constant_and_infinite_data_still_make_a_chart() {
        for points in [vec![], vec![[1.0, 2.0]], vec![[0.0, 0.0], [1.0, f64::NAN], [2.0, f64::INFINITY]]] {
            let mut chart = Chart::new("t", Axis::new("x", unit::ONE), Axis::new("y", unit::ONE));
            chart.curve("c", points);
            let svg = chart.figure("").svg();
            assert!(!svg.contains("NaN") && !svg.contains("inf"));
            chart.figure("").png().unwrap();
        }
    }

    #[test]
    fn the_same_chart_gives_the_same_bytes() {
        assert_eq!(chart().figure("f").png().unwrap(), chart().figure("f").png().unwrap());
        assert_eq!(chart().figure("f").svg(), chart().figure("f").svg());
    }
}
